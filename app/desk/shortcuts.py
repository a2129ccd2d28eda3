"""Keys of the actions as this platform has them: its own where it has any, then ours."""

from __future__ import annotations

import re
from functools import lru_cache

from PySide6.QtGui import QGuiApplication, QKeySequence

from app.desk.action_table import ACTIONS, HELD_KEYS
from app.desk.actions import Action

_PORTABLE = QKeySequence.SequenceFormat.PortableText
_NATIVE = QKeySequence.SequenceFormat.NativeText
_MODIFIERS = re.compile(r"\b(Ctrl|Alt|Shift)(\+?)(?![a-z])")


def sequences(action: Action) -> list[QKeySequence]:
    """All keys that do an action, the first one to be shown.

    Raises
    ------
    RuntimeError
        There is no application yet: Qt would read the platform's keys from nowhere.
    """
    own = [QKeySequence(keys, _PORTABLE) for keys in action.keys]
    if not action.standard:
        return own
    if QGuiApplication.instance() is None:
        raise RuntimeError("what keys this platform has is known once there is an application")
    found = QKeySequence.keyBindings(QKeySequence.StandardKey[action.standard])
    return [*found, *(keys for keys in own if keys not in found)]


@lru_cache
def shown(action: Action) -> tuple[str, ...]:
    """The keys to be named, as this platform writes them: the first, and others of ours."""
    every = sequences(action)
    own = [QKeySequence(keys, _PORTABLE) for keys in action.keys]
    # A platform's further keys are those of its past, or of rare keyboards.
    named = [keys for keys in every if keys == every[0] or keys in own]
    return tuple(keys.toString(_NATIVE) for keys in named)


@lru_cache
def key_of(action_id: str) -> str:
    """The key to be named for an action; empty where it has none."""
    action = next(action for action in ACTIONS if action.id == action_id)
    return next(iter(shown(action)), "")


def key_rows() -> tuple[tuple[str, str, str], ...]:
    """Group, keys as this platform writes them, what they do; those that panes handle too."""
    rows = [(action.group, ", ".join(shown(action)), action.name) for action in ACTIONS]
    held = [(group, native_words(keys), native_words(does)) for group, keys, does in HELD_KEYS]
    return (*(row for row in rows if row[1]), *held)


def native_words(text: str) -> str:
    """A sentence whose modifier keys are named as this platform names them."""

    def named(found: re.Match[str]) -> str:
        sample = QKeySequence(f"{found[1]}+A", _PORTABLE).toString(_NATIVE)
        return sample.removesuffix("A") if found[2] else sample.removesuffix("A").removesuffix("+")

    return _MODIFIERS.sub(named, text)
