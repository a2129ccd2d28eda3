"""Forms that are general knowledge of the repertoire (common practice), on music21's corpus.

A classic rag has strains of 16 measures, each repeated but for the return of the first one:
AA BB A CC DD. The first movement of a quartet of about 1790 parts at the repeat sign after its
exposition. A minuet is played again after its trio.
"""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import pytest

from core.notebook.analyses import Analysis, analyse_file

music21 = pytest.importorskip("music21")
CORPUS = Path(music21.__file__).parent / "corpus"


def analysis_of(name: str) -> Analysis:
    return analyse_file(CORPUS / name)


def top_level(analysis: Analysis) -> list[tuple[str, int]]:
    tops = [found.value for found in analysis.form.sections if found.value.parent is None]
    return [(section.family, section.passage.start.measure_index) for section in tops]


def test_the_strains_of_a_rag() -> None:
    analysis = analysis_of("joplin/maple_leaf_rag.mxl")
    assert [family for family, _ in top_level(analysis)] == ["A", "B", "A", "C", "D"]
    outer = [
        s for s in analysis.statements if analysis.form.sections[s.section].value.parent is None
    ]
    assert "".join(s.label.rstrip("'") for s in outer) == "AABBACCDD"


def test_the_bass_and_chords_of_a_rag() -> None:
    patterns = [f.value.pattern for f in analysis_of("joplin/maple_leaf_rag.mxl").accompaniment]
    assert patterns.count("bass and chords") >= len(patterns) / 3


@pytest.mark.parametrize("name", ["haydn/opus74no1/movement1.mxl", "mozart/k458/movement1.mxl"])
def test_an_exposition_ends_at_its_repeat_sign(name: str) -> None:
    analysis = analysis_of(name)
    order = analysis.playing_order.measure_indices
    back = next(b for a, b in pairwise(order) if b < a)
    repeated = order.index(back) + order[order.index(back) :].index(back, 1) - 1
    edges = [start for _, start in top_level(analysis)]
    assert any(abs(edge - (order[repeated] + 1)) <= 1 for edge in edges)
