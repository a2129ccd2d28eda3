"""The settings: how it looks, where it sounds, and what is remembered and where."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QAbstractButton,
    QButtonGroup,
    QCheckBox,
    QLabel,
    QRadioButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from app.kept_where import Kept
from app.pages.page import Page
from app.sound.listening import Listening
from app.theme import Choice, Theme

WIDTH, HEIGHT, TARGET = 560, 560, 28
LOOKS = {Choice.SYSTEM: "As the system", Choice.LIGHT: "Light", Choice.DARK: "Dark"}
WHITE = "Keep the page white in the dark"
PIANO = "The built-in piano"
ASKING = "Looking for MIDI ports…"
NO_PORT = "There is no MIDI port on this machine."
CAUTION = "On headphones, keep the level moderate."
REMEMBERED = (
    "The window remembers its size, what is folded, how large the page is, the folder of the "
    "files that you brought in last, and the piece and place where you left."
)


class SettingsPage(Page):
    """What can be set; each takes effect at once."""

    def __init__(
        self, theme: Theme, listening: Listening, kept: Kept | None, parent: QWidget
    ) -> None:
        super().__init__("Settings", theme, parent, width=WIDTH, height=HEIGHT)
        self._listening, self._kept = listening, kept
        self.looks = {choice: QRadioButton(words) for choice, words in LOOKS.items()}
        self.white = QCheckBox(WHITE)
        self.outputs: dict[str | None, QRadioButton] = {}
        self.why_no_port = _sentence(ASKING)
        self._headings: list[QLabel] = []
        self._caution = _sentence(CAUTION)
        self._sentences = [
            self.why_no_port,
            self._caution,
            _sentence(REMEMBERED),
            *self._paths(),
        ]
        self._inner, self._sound = QWidget(), QVBoxLayout()
        self._look_group, self._sound_group = QButtonGroup(self), QButtonGroup(self)
        self._lay_out()
        self._listen()
        self._show_ports(())
        self.why_no_port.setText(ASKING)
        self.take_theme()

    def first(self) -> QWidget:
        return self.looks[self._theme.choice]

    def open(self) -> None:
        super().open()
        self._listening.ask_ports()

    def take_theme(self) -> None:
        super().take_theme()
        for heading in self._headings:
            heading.setFont(self._theme.serif(20))
        for widget in (*self._inner.findChildren(QAbstractButton), *self._sentences):
            widget.setFont(self._theme.sans(13))
        self.looks[self._theme.choice].setChecked(True)
        self.white.setChecked(self._theme.keeps_page_white)

    def _lay_out(self) -> None:
        column = QVBoxLayout(self._inner)
        column.setContentsMargins(4, 0, 12, 4)
        column.setSpacing(2)
        self._add_heading(column, "How it looks")
        for button in (*self.looks.values(), self.white):
            button.setMinimumHeight(TARGET)
            column.addWidget(button)
        for button in self.looks.values():
            self._look_group.addButton(button)
        self._add_heading(column, "Where it sounds")
        self._sound.setSpacing(2)
        column.addLayout(self._sound)
        column.addWidget(self.why_no_port)
        column.addWidget(self._caution)
        self._add_heading(column, "What is remembered")
        for sentence in self._sentences[2:]:
            column.addWidget(sentence)
            column.addSpacing(4)
        column.addStretch(1)
        around = QScrollArea()
        around.setWidgetResizable(True)
        around.setWidget(self._inner)
        around.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.column.addWidget(around, 1)

    def _paths(self) -> list[QLabel]:
        kept = self._kept
        if kept is None:
            return []
        paths = {"Notebook": kept.notebook, "Settings": kept.settings, "Log": kept.log}
        return [_sentence(f"{name}: {path}", is_selectable=True) for name, path in paths.items()]

    def _add_heading(self, column: QVBoxLayout, words: str) -> None:
        heading = QLabel(words)
        self._headings.append(heading)
        if len(self._headings) > 1:
            column.addSpacing(16)
        column.addWidget(heading)

    def _listen(self) -> None:
        for choice, button in self.looks.items():
            button.clicked.connect(lambda _on=False, choice=choice: self._theme.choose(choice))
        self.white.clicked.connect(self._theme.keep_page_white)
        self._listening.ports_told.connect(self._show_ports)
        self._listening.manner_changed.connect(self._show_chosen_port)

    def _show_ports(self, ports: tuple[str, ...]) -> None:
        """The piano, every port that there is, and why there is none."""
        for button in self.outputs.values():
            self._sound_group.removeButton(button)
            button.hide()
            button.deleteLater()
        chosen = self._listening.port
        names = (None, *ports, *([chosen] if chosen and chosen not in ports else []))
        self.outputs = {name: self._output(name) for name in names}
        self.why_no_port.setVisible(not ports)
        self.why_no_port.setText(self._listening.why_no_port or NO_PORT)
        self._show_chosen_port()

    def _output(self, name: str | None) -> QRadioButton:
        button = QRadioButton(PIANO if name is None else name)
        button.setMinimumHeight(TARGET)
        button.setFont(self._theme.sans(13))
        self._sound_group.addButton(button)
        self._sound.addWidget(button)
        button.clicked.connect(lambda _on=False: self._listening.use_port(name))
        return button

    def _show_chosen_port(self) -> None:
        if (button := self.outputs.get(self._listening.port)) is not None:
            button.setChecked(True)


def _sentence(words: str, *, is_selectable: bool = False) -> QLabel:
    label = QLabel(words)
    label.setWordWrap(True)
    label.setTextFormat(Qt.TextFormat.PlainText)
    label.setProperty("role", "quiet")
    if is_selectable:
        flags = Qt.TextInteractionFlag
        label.setTextInteractionFlags(flags.TextSelectableByMouse | flags.TextSelectableByKeyboard)
        label.setAccessibleName(words)
    return label
