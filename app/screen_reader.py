"""What a screen reader calls the parts that are drawn by hand.

Qt knows of a widget of our own only that it is a frame or an area, which is read out as nothing.
Here each is given the role of what it is to the person; its name it sets itself.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

from PySide6.QtCore import QObject
from PySide6.QtGui import QAccessible, QAccessibleInterface
from PySide6.QtWidgets import QAccessibleWidget, QWidget

ROLES: Mapping[str, QAccessible.Role] = {
    "DoField": QAccessible.Role.Button,
    "ScoreView": QAccessible.Role.Canvas,
    "FormLine": QAccessible.Role.Chart,
    "FindingView": QAccessible.Role.ListItem,
    "RemarkView": QAccessible.Role.ListItem,
    "BringingView": QAccessible.Role.Pane,
}
"""By the name of the class."""


@lru_cache(maxsize=1)
def tell_roles() -> None:
    """Tell Qt, once a process."""
    QAccessible.installFactory(_described)


def _described(class_name: str, part: QObject) -> QAccessibleInterface | None:
    """A widget with its role; None for those that Qt knows itself."""
    role = ROLES.get(class_name)
    if role is None or not isinstance(part, QWidget):
        return None
    return QAccessibleWidget(part, role)
