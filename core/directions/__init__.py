"""What the printed words of a score say: language, kind, normal form and translation.

``reading.read_direction`` reads one text, ``score_directions.meanings_of`` all directions of a
score. The words are data (``resources/lexicon``); how they are put together is the grammar here.
Nothing is imported at this level: the command line reads words without waiting for scores.
"""
