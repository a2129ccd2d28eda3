"""The current measure in words, and pointing by words."""

from __future__ import annotations

from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from app.desk.desk_model import DeskModel
from app.score.accessible_list import MeasureList, MeasureModel, measure_rows
from core.score.reading import ReadScore, read_bytes


def test_a_measure_is_told_in_the_order_it_is_heard(barcarolle: ReadScore) -> None:
    rows = measure_rows(barcarolle.score, 3)
    words = [row.words for row in rows if row.staff == 1]
    assert words[:3] == ["A 4, quarter", "G 4, eighth", "G 4, dotted quarter"]
    assert [row.onset for row in rows] == sorted(row.onset for row in rows)


def test_printed_words_come_before_the_notes_they_stand_over(barcarolle: ReadScore) -> None:
    rows = measure_rows(barcarolle.score, 4)
    assert rows[0].words == "printed: un poco più mosso"


def test_accidentals_rests_ties_and_grace_notes_are_named() -> None:
    score = read_bytes(
        b"""<score-partwise version="4.0"><part-list><score-part id="P1"><part-name/>
        </score-part></part-list><part id="P1"><measure number="1"><attributes>
        <divisions>2</divisions><time><beats>4</beats><beat-type>4</beat-type></time></attributes>
        <note><grace/><pitch><step>B</step><octave>4</octave></pitch></note>
        <note><pitch><step>F</step><alter>1</alter><octave>5</octave></pitch><duration>2</duration>
        <tie type="start"/></note>
        <note><pitch><step>F</step><alter>1</alter><octave>5</octave></pitch><duration>2</duration>
        <tie type="stop"/></note>
        <note><rest/><duration>3</duration></note>
        <note><pitch><step>E</step><alter>-2</alter><octave>4</octave></pitch><duration>1</duration>
        </note></measure></part></score-partwise>""",
        name="own.musicxml",
    ).score
    assert [row.words for row in measure_rows(score, 0)] == [
        "B 4, grace note",
        "F sharp 5, quarter",
        "F sharp 5, quarter, held over",
        "dotted quarter rest",
        "E double flat 4, eighth",
    ]


def test_the_list_follows_the_current_place(qtbot: QtBot, desk: DeskModel) -> None:
    measures = MeasureList(desk)
    qtbot.addWidget(measures)
    desk.select_measures(6, 6)
    assert measures.measure_model.measure_number == "7"
    assert measures.accessibleName() == "Measure 7"


def test_a_row_says_beat_staff_and_note(desk: DeskModel) -> None:
    model = MeasureModel(desk)
    first = model.index(0).data(Qt.ItemDataRole.AccessibleTextRole)
    assert first == "beat 1, staff 1: printed: Andantino dotted quarter = 46"


def test_moving_in_the_list_moves_the_current_place(qtbot: QtBot, desk: DeskModel) -> None:
    measures = MeasureList(desk)
    qtbot.addWidget(measures)
    with qtbot.waitExposed(measures):
        measures.show()
    measures.activateWindow()
    measures.setFocus()
    qtbot.waitUntil(measures.hasFocus)
    qtbot.keyClick(measures, Qt.Key.Key_Down)
    qtbot.keyClick(measures, Qt.Key.Key_Down)
    assert desk.selection is not None
    row = measures.measure_model.rows[measures.currentIndex().row()]
    assert desk.selection.element_id == row.element_id
