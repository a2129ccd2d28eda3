"""From the open piece to what the window shows of it: analysis, form line, overlays, hearing."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from app.desk.selection import Selection
from app.tonality.overlays import OverlayKind
from app.window import MainWindow
from core.notebook.values import AnchorKind
from core.resources import sample_library
from core.score.places import Passage

WAIT = 60_000

Opened = Callable[[], AbstractContextManager[MainWindow]]


def wait_for_analysis(qtbot: QtBot, window: MainWindow) -> None:
    window.desk.bring_in([sample_library() / "barcarolle.musicxml"])
    qtbot.waitUntil(lambda: bool(window.finding_out.overlays.sections), timeout=WAIT)


def test_a_piece_is_looked_through_behind_its_page(qtbot: QtBot, open_window: Opened) -> None:
    with open_window() as window:
        wait_for_analysis(qtbot, window)
        out = window.finding_out
        assert out.findings.here
        assert [box.label for box in out.form.boxes][:3] == ["A", "A", "B"]
        assert out.overlays.sections
        out.put_away(OverlayKind.LETTERS, True)
        assert out.overlays.sections == ()
        out.put_away(OverlayKind.LETTERS, False)
        assert out.overlays.sections


def test_what_was_found_is_kept(qtbot: QtBot, open_window: Opened) -> None:
    with open_window() as window:
        wait_for_analysis(qtbot, window)
        qtbot.waitUntil(lambda: _is_kept(window), timeout=WAIT)


def _is_kept(window: MainWindow) -> bool:
    from core.notebook.kept_analyses import kept

    score = window.desk.score
    assert score is not None
    return (
        kept(window.desk.store, score.sha256, canonical_version=score.canonical_version) is not None
    )


def test_a_why_lights_its_evidence(qtbot: QtBot, open_window: Opened) -> None:
    with open_window() as window:
        wait_for_analysis(qtbot, window)
        window.desk.select_measures(0, 3)
        findings = window.finding_out.findings
        with_evidence = next(i for i, shown in enumerate(findings.here) if shown.evidence)
        findings.toggle_why(with_evidence)
        assert window.finding_out.overlays.evidence == findings.here[with_evidence].evidence
        findings.close_why()
        assert window.finding_out.overlays.evidence == ()


def test_a_person_s_word_wins_wherever_it_is_shown(qtbot: QtBot, open_window: Opened) -> None:
    with open_window() as window:
        wait_for_analysis(qtbot, window)
        out = window.finding_out
        qtbot.waitUntil(lambda: bool(out.form.keys), timeout=WAIT)
        lane, rules, words = out.form.keys, out.overlays.keys, window.top_line._words
        assert words is not None
        window.desk.select_measures(0, 3)
        index = next(i for i, shown in enumerate(out.findings.here) if shown.is_leading)
        out.findings.overrule(index, "c lydian")
        assert out.form.keys[0].name == "C Lydian"
        assert out.overlays.keys[0].label == "C Lydian"
        qtbot.waitUntil(lambda: words.key == "C Lydian", timeout=2000)
        window.desk.undo_stack.undo()
        assert (out.form.keys, out.overlays.keys) == (lane, rules)
        index = next(i for i, shown in enumerate(out.findings.here) if shown.kind == "section")
        out.findings.overrule(index, "Song")
        assert [box.label for box in out.form.boxes][:3] == ["Song", "Song", "B"]
        assert out.overlays.sections[0].letter == "Song"


def test_a_remark_hangs_on_the_chosen_statement(qtbot: QtBot, open_window: Opened) -> None:
    with open_window() as window:
        wait_for_analysis(qtbot, window)
        analysis = window.finding_out.analysis
        assert analysis is not None
        second = analysis.statements[1]
        window.finding_out.choose_passage(second.passage)
        window.finding_out.choose_statement(second)
        place = window.desk.place_to_write()
        assert place is not None
        assert place[1].kind is AnchorKind.STATEMENT
        assert place[1].statement_number == 2
        # A part of that sounding: the remark stays at its own measures.
        window.desk.select(
            Selection(kind=AnchorKind.PASSAGE, passage=Passage.of_measures(1, 1)), second
        )
        place = window.desk.place_to_write()
        assert place is not None
        assert (place[1].statement_number, place[1].passage) == (2, Passage.of_measures(1, 1))
        window.desk.select_measures(0, 0)
        assert window.desk.statement is None


def test_a_statement_is_played_as_its_part_of_the_order(qtbot: QtBot, open_window: Opened) -> None:
    with open_window() as window:
        wait_for_analysis(qtbot, window)
        analysis = window.finding_out.analysis
        assert analysis is not None
        second = analysis.statements[1]
        assert window.finding_out.statement_order(second) == (0, 1, 2, 3)
        assert window.finding_out.statement_order(None) is None


def test_what_space_will_play_is_said_and_written_as_a_file(
    qtbot: QtBot, open_window: Opened, tmp_path: Path
) -> None:
    with open_window() as window:
        wait_for_analysis(qtbot, window)
        said: list[str] = []
        window.hearing.words_changed.connect(said.append)
        window.desk.select_measures(2, 3)
        assert said[-1] == "m. 3 to 4, 100 %, both hands"
        window.doing.do("slower")
        window.doing.do("loop")
        window.doing.do("hand")
        assert said[-1] == "m. 3 to 4 looped, 90 %, right hand"
        target = tmp_path / "passage.wav"
        window.hearing.ask_for_path = lambda title, suffix: str(target)
        with qtbot.waitSignal(window.hearing.listening.exported, timeout=WAIT):
            window.doing.do("export_wav")
        assert target.read_bytes()[:4] == b"RIFF"


@pytest.mark.parametrize("panel", ["form", "here"])
def test_the_form_line_folds_like_the_panels(qtbot: QtBot, open_window: Opened, panel: str) -> None:
    with open_window() as window:
        wait_for_analysis(qtbot, window)
        widget = window.form_line if panel == "form" else window.here
        assert widget.isVisibleTo(window)
        window.doing.do(f"fold_{panel}")
        assert not widget.isVisibleTo(window)
        window.doing.do(f"fold_{panel}")
        assert widget.isVisibleTo(window)


def test_a_point_chosen_in_the_form_line_is_a_place(qtbot: QtBot, open_window: Opened) -> None:
    with open_window() as window:
        wait_for_analysis(qtbot, window)
        analysis = window.finding_out.analysis
        assert analysis is not None
        start = analysis.statements[0].passage.start
        window.finding_out.choose_passage(type(analysis.statements[0].passage).at(start))
        assert isinstance(window.desk.selection, Selection)
        assert window.desk.selection.kind is AnchorKind.PLACE
