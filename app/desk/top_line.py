"""The one line that says where one is; at its right the field that does everything."""

from __future__ import annotations

from math import ceil

from PySide6.QtCore import QPointF, QSize, Qt, Signal
from PySide6.QtGui import (
    QFontMetricsF,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPalette,
    QResizeEvent,
)
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QSizePolicy,
    QWidget,
)

from app import sign_text
from app.desk.desk_model import DeskModel
from app.desk.shortcuts import key_of
from app.form.form_model import FormModel
from app.form.place_words import PlaceWords
from app.theme import Theme
from app.tonality.signs import spoken

HEIGHT, TOGGLE_WIDTH = 44, 180
FIELD_WIDTH, FIELD_HEIGHT = 308, 28
SPACE = "Space plays it, and stops it"
LEAST_TITLE, LEAST_PLACE = 96, 64
"""In a narrow window statements give way before the title does."""
WIDTHS = ((TOGGLE_WIDTH, FIELD_WIDTH, 0), (160, 220, 0), (84, 148, 0), (84, 148, 24))
"""Of the toggle, of the field, and of what Space will play (0: as wide as its words), from a wide
window to a narrow one; then words end in "…"."""
LEAST_WIDTH = 560
_NO_LIMIT = 16_777_215
"""Qt's own, which PySide6 doesn't name."""
KEY_HEIGHT = 18
"""Of the little box in which a key is named."""


class TopLine(QFrame):
    """Shelf toggle, title, place, statement, key, what is being done, and "do…"."""

    shelf_toggled = Signal()
    do_asked = Signal()

    def __init__(self, desk: DeskModel, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("topLine")
        self.setAccessibleName("Where you are")
        self.setFixedHeight(HEIGHT)
        self._desk, self._theme = desk, theme
        self._toggle = QPushButton("Shelf")
        self._title, self._place, self._busy = _Elided(), _Elided(LEAST_PLACE), _Elided()
        self._statements, self._key = _Statements(), _Signed()
        self._hearing = _Elided(0)
        self._told = (self._place, self._statements, self._key, self._busy)
        self._rules = [_rule() for _ in self._told]
        self._words: PlaceWords | None = None
        self._instead = "", ""
        self.field = DoField(theme)
        self._lay_out()
        self._toggle.clicked.connect(self.shelf_toggled)
        self.field.asked.connect(self.do_asked)
        for signal in (desk.piece_opened, desk.selection_changed, desk.pieces_changed):
            signal.connect(self.refresh)
        desk.score_read.connect(self.refresh)
        desk.busy_changed.connect(self._on_busy_changed)
        theme.changed.connect(self._take_theme)
        self._take_theme()
        self.refresh()

    def refresh(self) -> None:
        """Show the piece and the current place."""
        if self._instead[0]:
            self._title.setText(self._instead[0])
            self._title.setToolTip("")
            self._place.setText(self._instead[1])
            self._show_rules()
            return
        piece = self._desk.piece
        self._title.setText("" if piece is None else piece.title)
        self._title.setToolTip("" if piece is None else f"{piece.title}\n{piece.composer}".strip())
        place = self._desk.where() if self._desk.selection is not None else ""
        self._place.setText(place)
        self._show_rules()

    def show_instead(self, title: str, words: str) -> None:
        """Speak of something else than the open piece; an empty title, of the piece again."""
        self._instead = title, words
        self.refresh()

    def take_form(self, form: FormModel) -> None:
        """Tell statement and key of the current place too; once."""
        self._words = PlaceWords(form, self)
        self._words.changed.connect(self._on_words_changed)

    def show_hearing(self, words: str) -> None:
        """What Space will play; nothing where there is nothing to play."""
        self._hearing.setText(f"▶ {words}" if words else "")
        self._hearing.setToolTip(SPACE if words else "")
        self._hearing.setAccessibleName(f"Space plays {words}" if words else "")
        self._fit()

    def show_tempo(self, reason: str) -> None:
        """Where the tempo comes from, once it is known, in the tip of what Space will play."""
        tip = SPACE if self._hearing.text() else ""
        self._hearing.setToolTip(f"{tip}\nTempo: {reason}" if reason else tip)
        self._hearing.setAccessibleDescription(f"Tempo: {reason}" if reason else "")

    def show_shelf_folded(self, is_folded: bool) -> None:
        """Turn the toggle's triangle."""
        self._toggle.setText("Shelf ▸" if is_folded else "Shelf ▾")
        self._toggle.setAccessibleName("Unfold the shelf" if is_folded else "Fold the shelf")

    def minimumSizeHint(self) -> QSize:
        """Never what keeps a window from being narrow."""
        return QSize(LEAST_WIDTH, HEIGHT)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        """Narrow the toggle and the field, as far as the words need it; those give way last."""
        for toggle, field, hearing in WIDTHS:
            self._toggle.setFixedWidth(toggle)
            self.field.setFixedWidth(field)
            self._hearing.setMaximumWidth(hearing or _NO_LIMIT)
            if self._row.sizeHint().width() <= self.width():
                return

    def _lay_out(self) -> None:
        row = self._row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 12, 0)
        row.setSpacing(12)
        self._toggle.setFixedSize(TOGGLE_WIDTH, FIELD_HEIGHT)
        self._toggle.setProperty("role", "toggle")
        self._toggle.setToolTip(f"Fold or unfold the shelf ({key_of('fold_shelf')})")
        row.addWidget(self._toggle)
        row.addWidget(self._title)
        for rule, label in zip(self._rules, self._told, strict=True):
            row.addWidget(rule, 0, Qt.AlignmentFlag.AlignVCenter)
            row.addWidget(label)
        row.addStretch(1)
        row.addWidget(self._hearing)
        row.addWidget(self.field)
        for label in (self._statements, self._key, self._hearing):
            label.setProperty("role", "quiet")
        self._busy.setProperty("role", "quiet")

    def _take_theme(self) -> None:
        self._toggle.setFont(self._theme.sans(13))
        self._title.setFont(self._theme.serif(20))
        self._place.setFont(self._theme.sans(13, 500))
        for label in (self._statements, self._key):
            label.setFont(self._theme.sans(13))
        self._busy.setFont(self._theme.sans(13))
        self._hearing.setFont(self._theme.sans(13))

    def _on_words_changed(self) -> None:
        assert self._words is not None
        self._statements.setText(self._words.statements)
        self._statements.setToolTip(self._words.statements)
        self._key.setText(self._words.key)
        self._show_rules()

    def _on_busy_changed(self, what: str) -> None:
        self._busy.setText(what)
        self._show_rules()

    def _show_rules(self) -> None:
        has_title = bool(self._title.text())
        of_piece = (self._statements, self._key)
        for rule, label in zip(self._rules, self._told, strict=True):
            has_text = bool(label.text()) and not (self._instead[0] and label in of_piece)
            label.setVisible(has_text)
            rule.setVisible(has_text and has_title)
        self._fit()


class DoField(QFrame):
    """What looks like a field and opens the palette."""

    asked = Signal()

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("doField")
        self.setAccessibleName(f"Do… ({key_of('do')})")
        self.setFixedSize(FIELD_WIDTH, FIELD_HEIGHT)
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.setCursor(Qt.CursorShape.IBeamCursor)
        self._words, self._key = QLabel("do…"), QLabel(key_of("do").replace("+", " "))
        self._words.setProperty("role", "quiet")
        self._key.setProperty("role", "key")
        self._key.setFixedHeight(KEY_HEIGHT)
        row = QHBoxLayout(self)
        row.setContentsMargins(8, 0, 8, 0)
        row.addWidget(self._words, 1)
        row.addWidget(self._key)
        self._theme = theme
        theme.changed.connect(self._take_theme)
        self._take_theme()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        self.asked.emit()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space):
            self.asked.emit()
        else:
            super().keyPressEvent(event)

    def _take_theme(self) -> None:
        self._words.setFont(self._theme.sans(13))
        self._key.setFont(self._theme.sans(11))


class _Elided(QLabel):
    """A line that ends in "…" where there is no room for the whole of it."""

    def __init__(self, least: int = LEAST_TITLE) -> None:
        super().__init__()
        self._least = least
        self.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Preferred)

    def minimumSizeHint(self) -> QSize:
        whole = super().minimumSizeHint()
        return QSize(min(self._least, whole.width()), whole.height())

    def shown(self) -> str:
        """What is drawn of the text."""
        metrics = self.fontMetrics()
        return metrics.elidedText(self.text(), Qt.TextElideMode.ElideRight, self.width())

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setPen(self.palette().color(QPalette.ColorRole.WindowText))
        painter.drawText(self.rect(), Qt.AlignmentFlag.AlignVCenter, self.shown())


class _Statements(_Elided):
    """Where there is no room, the letters without the numbers."""

    def minimumSizeHint(self) -> QSize:
        width = self.fontMetrics().horizontalAdvance(self._letters())
        return QSize(width, super().minimumSizeHint().height())

    def shown(self) -> str:
        whole = self.text()
        has_room = self.fontMetrics().horizontalAdvance(whole) <= self.width()
        return whole if has_room else self._letters()

    def _letters(self) -> str:
        return self.text().partition(",")[0]


class _Signed(QLabel):
    """A line with accidentals, which the window's font lacks."""

    def setText(self, text: str) -> None:
        super().setText(text)
        self.setAccessibleName(spoken(text))

    def sizeHint(self) -> QSize:
        width = ceil(sign_text.advance(self.text(), self.font()))
        return QSize(width, super().sizeHint().height())

    def minimumSizeHint(self) -> QSize:
        return self.sizeHint()

    def paintEvent(self, event: QPaintEvent) -> None:
        if spoken(self.text()) == self.text():
            super().paintEvent(event)
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(self.palette().color(QPalette.ColorRole.WindowText))
        metrics = QFontMetricsF(self.font())
        base = (self.height() - metrics.height()) / 2 + metrics.ascent()
        sign_text.draw(painter, QPointF(0, base), self.text(), self.font())


def _rule() -> QFrame:
    rule = QFrame()
    rule.setProperty("role", "rule")
    rule.setFixedSize(1, 12)
    return rule
