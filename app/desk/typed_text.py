"""Which keys write: a list or a page hands what they type to its field of search or its margin."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent

_WRITING = Qt.KeyboardModifier.ShiftModifier | Qt.KeyboardModifier.KeypadModifier


def typed_text(event: QKeyEvent) -> str:
    """What the key writes; empty for Space, for a key that writes nothing and for a shortcut."""
    text = event.text()
    is_plain = not event.modifiers() & ~_WRITING
    return text if is_plain and text.isprintable() and text.strip() else ""
