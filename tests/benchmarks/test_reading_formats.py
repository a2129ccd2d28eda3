"""Reading Humdrum, ABC, MEI and MIDI, against music21's own parse of the same file.

A person waits for it when a score is brought in. Limit: music21's parse and 30 % more, for all
that Postil makes of the file (canonical form and tables). Medians of five, both sides in turns in
one run, in time of the processor, garbage collected before each. The pieces are those of music21's
corpus; MIDI is written from them by music21, MEI by Verovio.

    python -m pytest tests/benchmarks/test_reading_formats.py -s
"""

from __future__ import annotations

import gc
import statistics
import time
import warnings
from collections.abc import Callable
from pathlib import Path

import pytest

from core.score.reading import read_score
from tests.reference.readings import corpus_folder

LIMIT = 1.3
ROUNDS = 5


def written_midi(folder: Path) -> Path:
    from music21 import converter

    path = folder / "written.mid"
    converter.parse(corpus_folder() / "schumann_robert/opus48no2.mxl").write("midi", path)
    return path


def written_mei(folder: Path) -> Path:
    import verovio

    path, toolkit = folder / "written.mei", verovio.toolkit()
    score = read_score(corpus_folder() / "joplin/maple_leaf_rag.mxl").score
    toolkit.loadData(score.canonical.decode())
    path.write_text(toolkit.getMEI({}), encoding="utf-8")
    return path


FILES: dict[str, Callable[[Path], Path]] = {
    "Humdrum, a piano piece": lambda _: corpus_folder() / "chopin/mazurka06-2.krn",
    "Humdrum, a mass": lambda _: corpus_folder() / "palestrina/Gloria_14_f.krn",
    "ABC, a tune": lambda _: corpus_folder() / "ryansMammoth/SmithsReel.abc",
    "MEI, a piano piece": written_mei,
    "MIDI, a song": written_midi,
}


@pytest.mark.parametrize("what", FILES)
def test_reading_keeps_near_the_parse(what: str, tmp_path: Path) -> None:
    from music21 import converter

    def parse() -> None:
        converter.parse(path, forceSource=True)

    def read() -> None:
        read_score(path)

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        path = FILES[what](tmp_path)
        spent: dict[Callable[[], None], list[float]] = {parse: [], read: []}
        for round_number in range(ROUNDS + 1):
            for work, seconds in spent.items():
                gc.collect()
                start = time.process_time()
                work()
                if round_number:  # the first imports
                    seconds.append(time.process_time() - start)
    parsing, reading = (statistics.median(seconds) for seconds in spent.values())
    print(f"\n{what}: {parsing:.3f} s, {reading:.3f} s, ratio {reading / parsing:.2f}")
    assert reading <= LIMIT * parsing
