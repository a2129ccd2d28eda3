"""Print to PDF…: the paper, what is printed over the music, how far it is, and how to stop it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QLocale, Qt
from PySide6.QtWidgets import (
    QAbstractButton,
    QButtonGroup,
    QCheckBox,
    QHBoxLayout,
    QLabel,
    QProgressBar,
    QPushButton,
    QRadioButton,
    QWidget,
)

from app.pages.page import Page
from app.printing.print_wish import Paper, Printed, PrintWish
from app.printing.print_work import paper_theme
from app.printing.printing import Printing, beside
from app.tonality.overlays import OverlayKind

if TYPE_CHECKING:
    from app.window import MainWindow

WIDTH, HEIGHT, TARGET = 480, 460, 28
PAPER_REMEMBERED = "print/paper"
"""Name of what is remembered: 1 for A4, 2 for Letter."""
OVERLAYS = {
    OverlayKind.KEYS: "Keys and scales",
    OverlayKind.BENT: "Bent degrees",
    OverlayKind.LETTERS: "Section letters",
}
BRACKETS = "Brackets of remarks, with their numbers"
WORDS = "The remarks' words, on sheets after the music"
CHOOSE, STOP = "Choose a file and print…", "Stop printing"
WHITE = "The page is white and the print black, whatever the window looks like."
NO_SCORE = "Print to PDF: the score is still being read; try again in a moment."


@dataclass(frozen=True, slots=True, kw_only=True)
class _Wished:
    """What the boxes say."""

    paper: Paper
    kinds: frozenset[OverlayKind]
    has_brackets: bool
    has_words: bool


class PrintPage(Page):
    """Made when it is first asked for; as it was left when it is opened again.

    Attributes
    ----------
    choose_file : callable
        Asks the person for a path; replaced in tests.
    printing : Printing
    """

    def __init__(self, window: MainWindow) -> None:
        super().__init__("Print to PDF", window.theme, window, width=WIDTH, height=HEIGHT)
        self._main, self._desk = window, window.desk
        self.choose_file: Callable[[], str] = self._ask_for_file
        self.printing = Printing(self)
        self.papers = {paper: QRadioButton(paper.title) for paper in Paper}
        self.overlays = {kind: QCheckBox(words) for kind, words in OVERLAYS.items()}
        self.brackets, self.words = QCheckBox(BRACKETS), QCheckBox(WORDS)
        self.begin, self.stop = QPushButton(CHOOSE), QPushButton(STOP)
        self.bar, self.told = QProgressBar(), QLabel()
        self._headings = [QLabel("Paper"), QLabel("Over the music")]
        self._quiet = QLabel(WHITE)
        self._group = QButtonGroup(self)
        self._lay_out()
        self._listen()
        self._show_busy(False)
        self.take_theme()

    def first(self) -> QWidget:
        return self.stop if self.printing.is_busy else self._chosen_paper()

    def open(self) -> None:
        if not self.printing.is_busy:
            self._take_what_is_shown()
        super().open()

    def shut_down(self) -> None:
        """Give up what is being printed: the window closes."""
        self.printing.shut_down()

    def take_theme(self) -> None:
        super().take_theme()
        for heading in self._headings:
            heading.setFont(self._theme.serif(20))
        for widget in (*self.findChildren(QAbstractButton), self._quiet, self.told):
            widget.setFont(self._theme.sans(13))

    # ------------------------------------------------------------------ making

    def _lay_out(self) -> None:
        remembered = self._main.remembered.number(PAPER_REMEMBERED)
        imperial = QLocale().measurementSystem() is QLocale.MeasurementSystem.ImperialUSSystem
        usual = Paper.LETTER if imperial else Paper.A4
        chosen = {1: Paper.A4, 2: Paper.LETTER}.get(remembered, usual)
        self.column.addWidget(self._headings[0])
        row = QHBoxLayout()
        for paper, button in self.papers.items():
            self._group.addButton(button)
            button.setChecked(paper is chosen)
            row.addWidget(button)
        row.addStretch(1)
        self.column.addLayout(row)
        self.column.addSpacing(8)
        self.column.addWidget(self._headings[1])
        for box in (*self.overlays.values(), self.brackets, self.words):
            self.column.addWidget(box)
        for choice in self.findChildren(QAbstractButton):
            choice.setMinimumHeight(TARGET)
        self._quiet.setWordWrap(True)
        self._quiet.setProperty("role", "quiet")
        self.column.addWidget(self._quiet)
        self.column.addStretch(1)
        self._lay_out_foot()

    def _lay_out_foot(self) -> None:
        self.bar.setTextVisible(False)
        self.bar.setRange(0, 1000)
        self.bar.setFixedHeight(6)
        self.bar.setAccessibleName("How much is printed")
        self.told.setProperty("role", "quiet")
        self.column.addWidget(self.told)
        self.column.addWidget(self.bar)
        foot = QHBoxLayout()
        foot.addStretch(1)
        for button in (self.stop, self.begin):
            button.setProperty("role", "act")
            button.setMinimumHeight(TARGET)
            button.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
            foot.addWidget(button)
        self.begin.setDefault(True)
        self.column.addLayout(foot)

    def _listen(self) -> None:
        self.begin.clicked.connect(self._begin)
        self.stop.clicked.connect(self.printing.stop)
        self.printing.progress_changed.connect(self._show_progress)
        self.printing.printed.connect(self._on_printed)
        self.printing.failed.connect(self._desk.notice)
        self.printing.over.connect(lambda: self._show_busy(False))

    # ------------------------------------------------------------------ printing

    def _begin(self) -> None:
        if self._desk.score is None:
            self._desk.notice.emit(NO_SCORE)
            return
        path = self.choose_file()
        if not path:
            return
        target = Path(path if path.lower().endswith(".pdf") else f"{path}.pdf")
        wished = self._wished()
        self._main.remembered.set_number(PAPER_REMEMBERED, 2 if wished.paper is Paper.LETTER else 1)
        self._show_busy(True)
        self.printing.begin(self._wish(target, wished))

    def _wished(self) -> _Wished:
        return _Wished(
            paper=next(paper for paper, button in self.papers.items() if button.isChecked()),
            kinds=frozenset(kind for kind, box in self.overlays.items() if box.isChecked()),
            has_brackets=self.brackets.isChecked(),
            has_words=self.words.isChecked(),
        )

    def _wish(self, target: Path, wished: _Wished) -> PrintWish:
        desk, out = self._desk, self._main.finding_out
        piece, score = desk.piece, desk.score
        assert piece is not None
        assert score is not None
        numbered = desk.numbered()
        placed = {remark.id for _, remark in numbered}
        on_all = [(None, remark) for remark in desk.remarks if remark.id not in placed]
        return PrintWish(
            path=target,
            beside=beside(target),
            paper=wished.paper,
            title=piece.title,
            composer=piece.composer,
            canonical=desk.canonical,
            sha256=score.sha256,
            overlays=out.overlays_in(paper_theme(), wished.kinds),
            numbered=numbered if wished.has_brackets else (),
            listed=(*on_all, *numbered) if wished.has_words else (),
        )

    def _ask_for_file(self) -> str:
        return self._main.hearing.ask_for_path("Print to PDF", ".pdf")

    # ------------------------------------------------------------------ showing

    def _chosen_paper(self) -> QWidget:
        return next(button for button in self.papers.values() if button.isChecked())

    def _take_what_is_shown(self) -> None:
        """Offer what the score shows at present."""
        shown = self._main.finding_out.shown_kinds
        for kind, box in self.overlays.items():
            box.setChecked(kind in shown)
        view = self._main.view
        has_brackets = view is None or view.marking.has_glosses
        self.brackets.setChecked(has_brackets)
        self.words.setChecked(has_brackets)

    def _show_busy(self, is_busy: bool) -> None:
        had_keyboard = self.begin.hasFocus() or self.stop.hasFocus()
        for widget in (self.bar, self.told, self.stop):
            widget.setVisible(is_busy)
        self.begin.setVisible(not is_busy)
        self.bar.setValue(0)
        self.told.setText("Getting ready" if is_busy else "")
        if had_keyboard and self.isVisible():
            (self.stop if is_busy else self.begin).setFocus(Qt.FocusReason.OtherFocusReason)

    def _show_progress(self, share: float, word: str) -> None:
        self.bar.setValue(round(1000 * share))
        self.told.setText(word[:1].upper() + word[1:])

    def _on_printed(self, printed: Printed) -> None:
        sheets = "1 page" if printed.sheets == 1 else f"{printed.sheets} pages"
        self._desk.notice.emit(f"{printed.path.name} is written, {sheets}.")
        if self.isVisible():
            self.close_and_go_back()
