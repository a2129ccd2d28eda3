"""The tokens of the look: colours by role, the two font families, light and dark.

Everything that paints asks here by role and repaints on ``changed``; no colour is written
anywhere else. The style sheet of the window is derived from the same table in ``style_sheet``.
"""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from pathlib import Path

from PySide6.QtCore import QObject, QSettings, Qt, Signal
from PySide6.QtGui import QColor, QFont, QFontDatabase, QGuiApplication, QPalette

from app.style_sheet import style_sheet
from core.resources import resources

LIGHT: Mapping[str, str] = {
    "desk": "#EFEDE8",
    "page": "#FFFFFF",
    "panel": "#F8F7F4",
    "print": "#1C1A18",
    "quiet": "#66625C",
    "graphite": "#5A6472",
    "ink": "#8C3B2E",
    "field": "#FFFFFF",
    "hairline": "#DAD6CE",
    "hairline2": "#E7E3DC",
    "heard": "#2F6B4F",
    "contrary": "#8A4B08",
}
DARK: Mapping[str, str] = {
    "desk": "#1B1C1E",
    "page": "#26282B",
    "panel": "#212326",
    "print": "#E9E6E1",
    "quiet": "#A5A099",
    "graphite": "#9AA6B5",
    "ink": "#E0907F",
    "field": "#1B1C1E",
    "hairline": "#383B3F",
    "hairline2": "#2D3033",
    "heard": "#86C7A5",
    "contrary": "#E2AE6B",
}
VEILS: Mapping[str, tuple[str, float, float]] = {
    "here": ("print", 0.08, 0.10),
    "graphite_wash": ("graphite", 0.14, 0.18),
}
"""Roles that are another role, thinned: its name, opacity in light, in dark."""

SANS_FAMILY, SERIF_FAMILY = "Inter", "EB Garamond"
LINING_FIGURES = "lnum"


class Choice(StrEnum):
    """What the person wants: follow the platform, or one of the two."""

    SYSTEM = "system"
    LIGHT = "light"
    DARK = "dark"


class Theme(QObject):
    """Colours and fonts for one program.

    Parameters
    ----------
    settings : QSettings, optional
        Where the choice is remembered; nowhere without it.
    """

    changed = Signal()

    def __init__(self, settings: QSettings | None = None, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._settings = settings
        self._choice = _as_choice(self._remembered("look/theme", Choice.SYSTEM.value))
        self._keeps_page_white = self._remembered("look/keep_page_white", "false") == "true"
        self._is_platform_dark = False
        self.follow_platform()

    @property
    def choice(self) -> Choice:
        """System, light or dark, as the person chose."""
        return self._choice

    @property
    def is_dark(self) -> bool:
        """Whether the window is dark now."""
        if self._choice is Choice.SYSTEM:
            return self._is_platform_dark
        return self._choice is Choice.DARK

    @property
    def keeps_page_white(self) -> bool:
        """Whether the page stays white in the dark."""
        return self._keeps_page_white

    def choose(self, choice: Choice) -> None:
        """Set and remember light, dark or the platform's."""
        self._choice = choice
        self._remember("look/theme", choice.value)
        self.changed.emit()

    def keep_page_white(self, is_white: bool) -> None:
        """Set and remember whether the page stays white in the dark."""
        self._keeps_page_white = is_white
        self._remember("look/keep_page_white", "true" if is_white else "false")
        self.changed.emit()

    def follow_platform(self) -> None:
        """Take light or dark from the platform, now and whenever it changes."""
        hints = QGuiApplication.styleHints() if QGuiApplication.instance() else None
        if hints is None:
            return
        hints.colorSchemeChanged.connect(
            self._on_platform_scheme_changed, Qt.ConnectionType.UniqueConnection
        )
        self._is_platform_dark = hints.colorScheme() is Qt.ColorScheme.Dark

    def color(self, role: str) -> QColor:
        """The colour of a role in the window. Raises ValueError for an unknown role."""
        return _color(role, self.is_dark)

    def page_color(self, role: str) -> QColor:
        """The colour of a role on the page, which may stay white in the dark."""
        return _color(role, self.is_dark and not self._keeps_page_white)

    def sans(self, size_px: int, weight: int = 400) -> QFont:
        """The window's font."""
        return _font(SANS_FAMILY, QFont.StyleHint.SansSerif, size_px, weight)

    def serif(self, size_px: int, weight: int = 400, italic: bool = False) -> QFont:
        """The font of music text and of a person's words, with lining figures."""
        font = _font(SERIF_FAMILY, QFont.StyleHint.Serif, size_px, weight)
        font.setItalic(italic)
        return font

    def palette(self) -> QPalette:
        """The platform's roles in our colours, for what no style sheet reaches."""
        palette = QPalette()
        roles = QPalette.ColorRole
        for role, name in {
            roles.Window: "panel",
            roles.WindowText: "print",
            roles.Base: "field",
            roles.AlternateBase: "panel",
            roles.Text: "print",
            roles.PlaceholderText: "quiet",
            roles.Button: "panel",
            roles.ButtonText: "print",
            roles.ToolTipBase: "panel",
            roles.ToolTipText: "print",
            roles.Highlight: "graphite",
            roles.HighlightedText: "page",
            roles.Link: "graphite",
            roles.Mid: "hairline",
        }.items():
            palette.setColor(role, self.color(name))
        return palette

    def stylesheet(self) -> str:
        """The window's QSS, derived from the tokens."""
        return style_sheet(self.color)

    def _on_platform_scheme_changed(self, scheme: Qt.ColorScheme) -> None:
        was_dark, self._is_platform_dark = self.is_dark, scheme is Qt.ColorScheme.Dark
        if self.is_dark is not was_dark:
            self.changed.emit()

    def _remembered(self, key: str, otherwise: str) -> str:
        if self._settings is None:
            return otherwise
        return str(self._settings.value(key, otherwise))

    def _remember(self, key: str, value: str) -> None:
        if self._settings is not None:
            self._settings.setValue(key, value)


def _as_choice(text: str) -> Choice:
    return Choice(text) if text in set(Choice) else Choice.SYSTEM


def _color(role: str, is_dark: bool) -> QColor:
    tokens = DARK if is_dark else LIGHT
    if role in VEILS:
        base, light, dark = VEILS[role]
        color = QColor(tokens[base])
        color.setAlphaF(dark if is_dark else light)
        return color
    if role in {"not_shown", "cannot_tell"}:
        return QColor(tokens["quiet"])
    if role not in tokens:
        raise ValueError(f"role {role!r} is not a token; one of {', '.join((*tokens, *VEILS))}?")
    return QColor(tokens[role])


_loaded: dict[str, str] = {}
"""Family wanted to family found; fonts are loaded once a process, when first asked for."""


def _font(family: str, hint: QFont.StyleHint, size_px: int, weight: int) -> QFont:
    font = QFont(_loaded_family(family))
    font.setStyleHint(hint)
    font.setPixelSize(size_px)
    font.setWeight(QFont.Weight(weight))
    font.setFeature(QFont.Tag(LINING_FIGURES), 1)
    # Hinted stems snap to whole pixels, and the spacing of small text comes out uneven.
    font.setHintingPreference(QFont.HintingPreference.PreferNoHinting)
    return font


def _loaded_family(family: str) -> str:
    if family not in _loaded:
        _loaded[family] = family
        for path in _font_files(family):
            QFontDatabase.addApplicationFont(str(path))
    return _loaded[family]


def _font_files(family: str) -> list[Path]:
    """The family's files among the bundled fonts; none while they are not there."""
    folder = resources() / "fonts"
    key = family.replace(" ", "").casefold()
    files = [*folder.rglob("*.ttf"), *folder.rglob("*.otf")]
    return sorted(path for path in files if path.name.casefold().startswith(key))
