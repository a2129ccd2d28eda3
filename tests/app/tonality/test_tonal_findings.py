"""Keys, scales, chords and cadences of a place: which are told, in what words, and judged."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from pytestqt.qtbot import QtBot

from app.desk.desk_model import DeskModel
from app.desk.selection import Selection
from app.theme import Theme
from app.tonality.findings_model import FindingsModel
from app.tonality.overlays import OverlayKind, overlays_of
from app.tonality.shown_finding import ShownFinding
from core.notebook.judgements import judgements_of
from core.notebook.kept_analyses import packed, unpacked
from core.notebook.values import AnchorKind, Ruling
from core.score.places import Passage, Place
from tests.app import barcarolle


@pytest.fixture
def desk_with_piece(qtbot: QtBot, desk: DeskModel) -> DeskModel:
    return barcarolle.on(qtbot, desk)


@pytest.fixture
def model(desk_with_piece: DeskModel) -> FindingsModel:
    found = FindingsModel(desk_with_piece)
    found.show_analysis(barcarolle.analysis(), ())
    return found


def of_kind(model: FindingsModel, kind: str) -> list[ShownFinding]:
    return [each for each in model.here if each.kind == kind]


def index_of(model: FindingsModel, kind: str) -> int:
    return next(i for i, each in enumerate(model.here) if each.kind == kind)


def select_beat(desk: DeskModel, measure: int, onset: Fraction, length: Fraction) -> None:
    start = Place(measure_index=measure, offset_quarters=onset)
    end = replace(start, offset_quarters=onset + length)
    passage = Passage(start=start, end=end)
    desk.select(Selection(kind=AnchorKind.PASSAGE, passage=passage))


def test_the_scale_leads_with_its_palette_and_its_reasons(
    model: FindingsModel, desk_with_piece: DeskModel
) -> None:
    desk_with_piece.select_measures(2, 3)
    leading = model.here[0]
    assert (leading.kind, leading.title) == ("scale region", "G Dorian, second bent")
    assert leading.is_leading
    assert [each.label for each in leading.degrees] == "1 ♭2 2 ♭3 4 5 6 ♭7".split()
    assert [each.label for each in leading.degrees if each.is_bent] == ["♭2"]
    assert leading.why == (
        "E is natural in all 3 places, against the signature. F is never raised. "
        "A♭ stands for A in m. 3, and gives way in m. 4."
    )
    assert leading.runner_up.startswith("Runner-up: G melodic minor")
    assert leading.runner_up.endswith("It would need an F♯; there is none.")
    assert model.tonality == leading.title


def test_the_evidence_of_a_scale_is_what_its_reasons_speak_of(
    model: FindingsModel, desk_with_piece: DeskModel
) -> None:
    desk_with_piece.select_measures(2, 3)
    notes = barcarolle.score().notes
    rows = [notes.row_of(note_id) for note_id in model.here[0].evidence]
    letters = {"CDEFGAB"[notes.step[row]] for row in rows}
    assert letters == {"E", "F", "A"}


def test_a_key_that_the_scale_tells_is_not_told_again(
    model: FindingsModel, desk_with_piece: DeskModel
) -> None:
    desk_with_piece.select_measures(0, 0)
    assert of_kind(model, "key region") == []
    assert len(of_kind(model, "scale region")) == 1


def test_over_two_keys_each_says_where_it_holds(
    model: FindingsModel, desk_with_piece: DeskModel
) -> None:
    desk_with_piece.select_measures(3, 5)
    tonal = [each for each in model.here if each.kind.endswith("region")]
    assert [each.title for each in tonal] == ["G Dorian, second bent", "B♭ major"]
    assert [each.place for each in tonal] == ["m. 1 to 4", "m. 5 to 8"]
    assert model.tonality == ""


def test_one_chord_is_told_by_itself_and_more_in_a_line(
    model: FindingsModel, desk_with_piece: DeskModel
) -> None:
    select_beat(desk_with_piece, 3, Fraction(0), Fraction(1))
    (chord,) = of_kind(model, "harmony")
    assert chord.title == "V7 in G minor: D dominant seventh"
    assert chord.why == "83 % of what sounds belongs to it; the rest is G."
    desk_with_piece.select_measures(2, 3)
    assert of_kind(model, "harmony") == []
    (line,) = of_kind(model, "chords")
    assert line.title == "i6, ♭II6, V7, i in G minor"
    assert not line.is_arguable


def test_a_line_of_chords_is_not_judged_as_one(
    qtbot: QtBot, model: FindingsModel, desk_with_piece: DeskModel
) -> None:
    desk_with_piece.select_measures(2, 3)
    with qtbot.waitSignal(desk_with_piece.notice) as told:
        model.confirm(index_of(model, "chords"))
    assert "judged one by one" in told.args[0]
    assert model.judgements == ()


def test_a_judged_chord_stands_by_itself_among_others(
    model: FindingsModel, desk_with_piece: DeskModel
) -> None:
    select_beat(desk_with_piece, 3, Fraction(0), Fraction(1))
    model.confirm(index_of(model, "harmony"))
    desk_with_piece.select_measures(2, 3)
    (chord,) = of_kind(model, "harmony")
    assert chord.is_confirmed
    (line,) = of_kind(model, "chords")
    assert line.title == "i6, ♭II6, i in G minor"


def test_a_cadence_is_told_where_it_arrives(
    model: FindingsModel, desk_with_piece: DeskModel
) -> None:
    desk_with_piece.select_measures(3, 3)
    (cadence,) = of_kind(model, "cadence")
    assert cadence.title == "Authentic cadence in G minor"
    assert cadence.why == "The dominant goes to G on its root, and the phrase rests there."


@pytest.mark.parametrize(
    ("kind", "own"),
    [
        ("scale region", "G natural minor with raised fourth"),
        ("harmony", "D seventh without its third"),
        ("cadence", "no cadence, a breath"),
    ],
)
def test_a_word_on_any_of_them_survives_a_new_analysis_and_the_store(
    model: FindingsModel, desk_with_piece: DeskModel, kind: str, own: str
) -> None:
    select_beat(desk_with_piece, 3, Fraction(3, 2), Fraction(1))
    model.overrule(index_of(model, kind), own)
    assert desk_with_piece.piece is not None
    (kept,) = judgements_of(desk_with_piece.store, desk_with_piece.piece.id)
    assert (kept.finding_kind, kept.ruling) == (kind, Ruling.OVERRULED)
    again = unpacked(packed(barcarolle.analysis()))
    assert again is not None
    assert again == barcarolle.analysis()
    model.show_analysis(None)
    model.show_analysis(again, (kept,))
    shown = model.here[index_of(model, kind)]
    assert (shown.is_overruled, shown.own_value, shown.is_found) == (True, own, True)


def test_a_judged_region_is_told_even_where_another_one_leads(
    model: FindingsModel, desk_with_piece: DeskModel
) -> None:
    desk_with_piece.select_measures(0, 0)
    analysis = barcarolle.analysis()
    model.confirm(0)
    (scale, *others) = analysis.scale_regions
    unsure = replace(scale, confidence=0.1)
    changed = replace(analysis, scale_regions=(unsure, *others))
    model.show_analysis(changed, model.judgements)
    assert len(of_kind(model, "key region")) == 1
    assert of_kind(model, "scale region")[0].is_confirmed


def test_rules_and_bent_degrees_lie_over_the_score(qapp: object) -> None:
    analysis = barcarolle.analysis()
    shown = overlays_of(analysis, Theme(), kinds=frozenset(OverlayKind))
    labels = [rule.label for rule in shown.keys]
    assert labels[:2] == ["G Dorian", "B♭ major"]
    assert labels[-1] == "G major"
    ends = [rule.passage.end.moment for rule in shown.keys[:-1]]
    assert ends == [rule.passage.start.moment for rule in shown.keys[1:]]
    bent = [(each.label, each.note_id) for each in shown.bent]
    assert bent[0] == ("♭2", analysis.bent_degrees[0].evidence[0])
    away = overlays_of(analysis, Theme(), kinds={OverlayKind.KEYS})
    assert away.bent == ()


def test_of_a_scale_that_no_rule_names_no_degree_is_marked(qapp: object) -> None:
    analysis = barcarolle.analysis()
    unsure = tuple(
        replace(found, confidence=0.1) if found.value.bent else found
        for found in analysis.scale_regions
    )
    shown = overlays_of(
        replace(analysis, scale_regions=unsure), Theme(), kinds=frozenset(OverlayKind)
    )
    assert shown.bent == ()
