"""The findings of the current place in words, and what a person says of them."""

from __future__ import annotations

from dataclasses import replace

import pytest
from pytestqt.qtbot import QtBot

from app.desk.desk_model import DeskModel
from app.score.page_marks import Certainty
from app.tonality import finding_words
from app.tonality.finding_words import Around
from app.tonality.findings_model import ALONE, FindingsModel
from app.tonality.own_values import own_value
from core.analysis.scales import ScaleInUse
from core.errors import InvalidEntryError, StorageError
from core.notebook.judgements import judgements_of
from core.notebook.values import Ruling
from core.score.findings import Finding
from core.score.places import Passage
from tests.app import barcarolle


@pytest.fixture
def desk_with_piece(qtbot: QtBot, desk: DeskModel) -> DeskModel:
    return barcarolle.on(qtbot, desk)


@pytest.fixture
def model(desk_with_piece: DeskModel) -> FindingsModel:
    found = FindingsModel(desk_with_piece)
    # Chords, scales and what else may be found are other tests' matter: form and key alone.
    bare = dict.fromkeys(("scale_regions", "key_regions", "harmony", "cadences"), ())
    bare |= {"tonic_rivals": ()}
    known = {name for name in bare if hasattr(barcarolle.analysis(), name)}
    analysis = replace(barcarolle.analysis(), **{name: bare[name] for name in known})
    found.show_analysis(analysis, ())
    return found


def titles(model: FindingsModel) -> list[str]:
    return [each.title for each in model.here]


def index_of(model: FindingsModel, kind: str) -> int:
    return next(i for i, each in enumerate(model.here) if each.kind == kind)


def test_with_nothing_selected_the_piece_is_told(model: FindingsModel) -> None:
    assert titles(model)[0] == "G minor"
    letters = model.here[1].title.split()
    assert letters[:2] == ["A", "A"]
    assert "A″" in letters
    assert all(each.passage is None for each in model.here)


def test_only_what_leads_has_words_for_how_sure_it_is(model: FindingsModel) -> None:
    assert model.here[0].sureness == "sure, 0.95"
    assert model.here[0].certainty is Certainty.SOLID
    assert model.here[1].sureness == f"{model.here[1].confidence:.2f}"


def test_a_place_tells_what_returns_there(model: FindingsModel, desk_with_piece: DeskModel) -> None:
    desk_with_piece.select_measures(2, 3)
    returns = model.here[index_of(model, "section")]
    assert returns.title.startswith("Returns at m. 9, varied")
    assert "one measure shorter; at m. 20" in returns.title
    assert returns.why == "Sounds twice."
    assert returns.place == ""
    desk_with_piece.select_measures(8, 8)
    there = model.here[index_of(model, "section")]
    assert there.title.startswith("Returns A of m. 1, varied")


def test_a_statement_says_which_it_is(model: FindingsModel, desk_with_piece: DeskModel) -> None:
    desk_with_piece.select_measures(0, 3)
    model.set_statement(barcarolle.analysis().statements[1])
    section = model.here[index_of(model, "section")]
    assert section.why == "Sounds twice; this is the 2nd statement."


def test_measures_next_to_a_finding_do_not_tell_it(
    model: FindingsModel, desk_with_piece: DeskModel
) -> None:
    desk_with_piece.select_measures(4, 4)
    assert not any(title.startswith("Returns at m. 9") for title in titles(model))


def test_places_are_said_where_several_sections_are_selected(
    model: FindingsModel, desk_with_piece: DeskModel
) -> None:
    desk_with_piece.select_measures(0, 7)
    places = [each.place for each in model.here if each.kind == "section"]
    assert places[:2] == ["m. 1 to 4", "m. 5 to 8"]


def test_too_many_are_counted_and_not_shown(
    model: FindingsModel, desk_with_piece: DeskModel
) -> None:
    found = barcarolle.analysis().form.sections[0]
    many = [
        replace(found, value=replace(found.value, passage=Passage.of_measures(m, m)))
        for m in range(9)
    ]
    form = replace(barcarolle.analysis().form, sections=tuple(many), facts=())
    model.show_analysis(replace(barcarolle.analysis(), form=form, statements=()), ())
    desk_with_piece.select_measures(0, 9)
    assert sum(each.kind == "section" for each in model.here) == 6
    assert model.left_out >= 3


def test_evidence_is_lit_while_why_is_open(
    qtbot: QtBot, model: FindingsModel, desk_with_piece: DeskModel
) -> None:
    assert model.evidence == ()
    with qtbot.waitSignal(model.evidence_changed):
        model.toggle_why(0)
    assert barcarolle.analysis().key is not None
    assert model.evidence == barcarolle.analysis().key.evidence
    model.toggle_why(1)
    assert [each.is_open for each in model.here[:2]] == [False, True]
    model.toggle_why(0)
    with qtbot.waitSignal(model.evidence_changed):
        desk_with_piece.select_measures(0, 0)
    assert model.evidence == ()


def test_a_confirmed_finding_is_kept_and_undone(
    model: FindingsModel, desk_with_piece: DeskModel
) -> None:
    model.confirm(0)
    assert model.here[0].sureness == "confirmed"
    assert desk_with_piece.piece is not None
    kept = judgements_of(desk_with_piece.store, desk_with_piece.piece.id)
    assert [(each.ruling, each.value.text) for each in kept] == [(Ruling.CONFIRMED, "G minor")]
    desk_with_piece.undo_stack.undo()
    assert model.here[0].judgement is None
    desk_with_piece.undo_stack.redo()
    assert model.here[0].is_confirmed
    model.confirm(0)
    assert model.here[0].judgement is None
    desk_with_piece.undo_stack.undo()
    assert model.here[0].is_confirmed


def test_an_overruled_finding_keeps_both_words(
    model: FindingsModel, desk_with_piece: DeskModel
) -> None:
    model.confirm(0)
    model.overrule(0, "d minor")
    shown = model.here[0]
    assert (shown.is_overruled, shown.title, shown.own_value) == (True, "G minor", "D minor")
    assert shown.certainty is Certainty.SOLID
    assert len(model.judgements) == 1
    desk_with_piece.undo_stack.undo()
    assert model.here[0].is_confirmed


def test_a_finding_may_be_refused_without_another_value(model: FindingsModel) -> None:
    model.overrule(0)
    assert model.here[0].is_overruled
    assert model.here[0].own_value == ""


def test_a_judgement_survives_another_analysis(
    model: FindingsModel, desk_with_piece: DeskModel
) -> None:
    desk_with_piece.select_measures(4, 7)
    model.overrule(index_of(model, "section"), "B, a reminiscence of A")
    kept, analysis = model.judgements, model.analysis
    assert analysis is not None
    model.show_analysis(None)
    model.show_analysis(replace(analysis), kept)
    assert model.here[index_of(model, "section")].own_value == "B, a reminiscence of A"


def test_a_word_that_no_finding_answers_to_stands_alone(
    model: FindingsModel, desk_with_piece: DeskModel
) -> None:
    desk_with_piece.select_measures(4, 7)
    model.confirm(index_of(model, "section"))
    analysis = model.analysis
    assert analysis is not None
    without = replace(analysis, form=type(analysis.form)(), statements=())
    model.show_analysis(without, model.judgements)
    alone = model.here[index_of(model, "section")]
    assert (alone.title, alone.why, alone.is_found) == ("B", ALONE, False)
    assert alone.place == "m. 5 to 8"
    model.withdraw(index_of(model, "section"))
    assert model.judgements == ()


def test_the_letters_are_not_judged(qtbot: QtBot, model: FindingsModel) -> None:
    with qtbot.waitSignal(model._desk.notice) as told:
        model.confirm(1)
    assert "judged at their sections" in told.args[0]
    assert model.judgements == ()


def test_a_word_that_can_not_be_kept_is_said_and_not_shown(
    qtbot: QtBot,
    model: FindingsModel,
    desk_with_piece: DeskModel,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def refuse() -> None:
        raise StorageError("notebook.postil", "the disk is full; free some space and try again.")

    with monkeypatch.context() as full_disk:
        full_disk.setattr(desk_with_piece.store, "unit_of_work", refuse)
        with qtbot.waitSignal(desk_with_piece.notice) as told:
            model.confirm(0)
    assert "disk is full" in str(told.args[0])
    assert model.here[0].judgement is None
    assert desk_with_piece.undo_stack.count() == 0


def test_states_are_said_in_words(desk_with_piece: DeskModel) -> None:
    model = FindingsModel(desk_with_piece)
    assert model.state == ""
    model.set_progress("Looking at keys")
    assert model.state == "Looking at keys…"
    model.set_failure(StorageError("notebook.postil", "it is locked."))
    assert model.state.endswith("notebook.postil: it is locked.")
    assert model.state.startswith("Nothing could be found out")
    model.show_analysis(barcarolle.analysis(), ())
    assert model.state == ""
    assert model.failure == ""


def test_a_failure_is_forgotten_with_its_piece(
    model: FindingsModel, desk_with_piece: DeskModel
) -> None:
    model.set_failure("The file is too large.")
    desk_with_piece.close_piece()
    assert model.failure == ""
    assert model.here == ()
    assert model.state == ""


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("G minor", "G minor"),
        ("b flat  major", "Bb major"),
        ("B♭ major", "Bb major"),
        ("f# Dorian", "F# Dorian"),
        ("a harmonic minor", "A harmonic minor"),
        ("bb minor", "Bb minor"),
        ("e aeolian", "E natural minor"),
        ("C# whole tone", "C# whole-tone"),
        ("g Phrygian dominant", "G Phrygian dominant"),
        ("d harmonic minor with raised fourth", "D harmonic minor with raised fourth"),
        ("d natural minor with #4 and 7", "D natural minor with raised fourth and leading note"),
    ],
)
def test_keys_are_read_as_they_are_typed(typed: str, kept: str) -> None:
    value = own_value("global key", typed)
    assert value is not None
    assert value.text == kept


@pytest.mark.parametrize("typed", ["H minor", "G", "G foo", "minor", "G dorian with salt"])
def test_what_is_no_key_is_refused(typed: str) -> None:
    with pytest.raises(InvalidEntryError, match='as in "G minor"'):
        own_value("global key", typed)


@pytest.mark.parametrize(
    ("scale", "title"),
    [
        (ScaleInUse(tonic=1, scale="dorian"), "G Dorian"),
        (ScaleInUse(tonic=1, scale="dorian", bent=("b2",)), "G Dorian, second bent"),
        (
            ScaleInUse(tonic=-2, scale="natural minor", altered=("#4",), bent=("7",)),
            "B♭ natural minor with raised fourth, seventh bent",
        ),
    ],
)
def test_scales_are_named_with_their_bent_degrees(scale: ScaleInUse, title: str) -> None:
    around = Around(analysis=barcarolle.analysis(), score=barcarolle.score())
    finding = Finding(kind="scale region", value=scale, confidence=0.8)
    assert finding_words.scale_words(finding, around).title == title


def test_a_runner_up_has_its_number(model: FindingsModel) -> None:
    assert model.here[0].runner_up.startswith("Runner-up: G major, 0.05. It would need a B natural")
