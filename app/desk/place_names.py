"""Places in words: "m. 3, beat 2, to m. 4".

Conventions (common practice): beats count from 1 inside the printed measure. Where the upper
figure is 6, 9, 12 ... the beat is three units (dotted); an additive signature over 8 or 16
counts its groups; every other signature counts its own units. Without a signature quarter notes
are counted. A pickup, and the second half of a cut measure, count from where they stand in a full
measure. The end of a passage is exclusive, and named by the last beat that is inside.
"""

from __future__ import annotations

from fractions import Fraction

from core.score.places import Passage, Place
from core.score.score import Measure, Score

_PARTS_OF_A_BEAT = {
    Fraction(1, 2): "½",
    Fraction(1, 3): "⅓",
    Fraction(2, 3): "⅔",
    Fraction(1, 4): "¼",
    Fraction(3, 4): "¾",
}


def passage_name(score: Score, passage: Passage) -> str:
    """A passage, or a point, in words."""
    start, end = passage.start, passage.end
    if passage.is_point:
        return point_name(score, start)
    end_index, ends_with_measure = _last_measure(score, end)
    first, last = _measure_name(score, start.measure_index), _measure_name(score, end_index)
    begins_with_measure = start.offset_quarters == 0
    if first == last:
        if begins_with_measure and ends_with_measure:
            return first
        return _inside_one_measure(score, start, end, end_index)
    begin = first if begins_with_measure else f"{first}, {_beat_at(score, start)},"
    if ends_with_measure:
        is_short = begins_with_measure and first.startswith("m. ")
        finish = _bare(score, end_index) if is_short else last
    else:
        finish = f"{last}, {_beat_before(score, end)}"
    return f"{begin} to {finish}"


def point_name(score: Score, place: Place) -> str:
    """A point in words: "m. 3, beat 2"."""
    return f"{_measure_name(score, place.measure_index)}, {_beat_at(score, place)}"


def beat_name(score: Score, place: Place) -> str:
    """A point inside its measure in words: "beat 2"."""
    return _beat_at(score, place)


def measure_index_of_number(score: Score, text: str) -> int | None:
    """Index of the first measure with this printed number; None where there is none."""
    wanted = text.strip().casefold()
    for prefix in ("measure", "m."):
        wanted = wanted.removeprefix(prefix).strip()
    return next((m.index for m in score.measures if m.number.casefold() == wanted), None)


def beats(signature: str | None) -> tuple[Fraction, ...]:
    """Lengths of the beats of one measure in quarter notes; empty without a signature.

    Examples
    --------
    >>> [str(beat) for beat in beats("6/8")]
    ['3/2', '3/2']
    """
    upper, _, lower = (signature or "").rpartition("/")
    if not lower.isdecimal() or not all(group.strip().isdecimal() for group in upper.split("+")):
        return ()
    unit, groups = Fraction(4, int(lower)), [int(group) for group in upper.split("+")]
    if len(groups) > 1 and int(lower) >= 8:
        return tuple(unit * group for group in groups)
    count = sum(groups)
    if len(groups) == 1 and count > 3 and count % 3 == 0:
        return (3 * unit,) * (count // 3)
    return (unit,) * count


def _measure_name(score: Score, index: int) -> str:
    measure = score.measures[min(index, len(score.measures) - 1)]
    if measure.index == 0 and measure.is_implicit:
        return "pickup"
    return f"m. {_bare(score, index)}"


def _bare(score: Score, index: int) -> str:
    """The printed number; the position in the file, in brackets, where none is printed."""
    measure = score.measures[min(index, len(score.measures) - 1)]
    return measure.number or f"[{measure.index + 1}]"


def _last_measure(score: Score, end: Place) -> tuple[int, bool]:
    """The last measure that is inside, and whether the passage reaches its end."""
    if end.offset_quarters == 0:
        return end.measure_index - 1, True
    measure = score.measures[min(end.measure_index, len(score.measures) - 1)]
    return measure.index, end.offset_quarters >= score.quarters(measure.duration)


def _inside_one_measure(score: Score, start: Place, end: Place, end_index: int) -> str:
    end_quarters = end.offset_quarters
    if end.measure_index > end_index:
        end_quarters = score.quarters(score.measures[end_index].duration)
    name = _measure_name(score, start.measure_index)
    first = _beat_at(score, start)
    last = _beat_before(score, Place(measure_index=end_index, offset_quarters=end_quarters))
    word, _, figure = first.partition(" ")
    last_figure = last.partition(" ")[2]
    if figure == last_figure:
        return f"{name}, {first}"
    return f"{name}, {word}s {figure} to {last_figure}"


def _beat_at(score: Score, place: Place) -> str:
    """The beat at a place, with the part of it that has gone by ("beat 2½")."""
    measure = score.measures[min(place.measure_index, len(score.measures) - 1)]
    word, number, part = _counted(score, measure, place.offset_quarters)
    return f"{word} {number}{_PARTS_OF_A_BEAT.get(part, '')}"


def _beat_before(score: Score, end: Place) -> str:
    """The last beat that is inside an exclusive end."""
    measure = score.measures[min(end.measure_index, len(score.measures) - 1)]
    word, number, part = _counted(score, measure, end.offset_quarters)
    return f"{word} {number if part else max(number - 1, 1)}"


def _counted(score: Score, measure: Measure, offset: Fraction) -> tuple[str, int, Fraction]:
    """The unit's word, its number from 1, and the part of it that has gone by."""
    lengths = beats(measure.signature)
    if not lengths:
        return "quarter", int(offset) + 1, offset % 1
    if measure.is_implicit and measure.nominal_duration:
        offset += max(Fraction(0), score.quarters(measure.nominal_duration - measure.duration))
    number = 1
    for length in lengths:
        if offset < length:
            return "beat", number, offset / length
        offset, number = offset - length, number + 1
    # A measure longer than its signature goes on in beats of the last length.
    return "beat", number + int(offset / lengths[-1]), offset / lengths[-1] % 1
