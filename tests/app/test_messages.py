"""The one exit for errors: sentences for what can be acted on, a report for bugs."""

from __future__ import annotations

import logging
import sys

import pytest
from pytestqt.qtbot import QtBot

from app.messages import AT_MOST, BUG, Message, Messages
from core.errors import UnreadableFileError


def test_an_error_that_can_be_acted_on_is_its_sentence(qtbot: QtBot) -> None:
    messages = Messages()
    with qtbot.waitSignal(messages.changed):
        messages.tell(UnreadableFileError("a.mxl", "It is no score.", "line 3"))
    assert messages.shown == (Message(text="a.mxl, line 3: It is no score."),)


def test_a_bug_is_logged_and_has_a_report(qtbot: QtBot, caplog: pytest.LogCaptureFixture) -> None:
    messages = Messages()
    with caplog.at_level(logging.ERROR, "postil"):
        try:
            raise RuntimeError("measure without end")
        except RuntimeError as error:
            messages.tell(error)
    assert messages.shown[0].text == BUG
    assert "RuntimeError: measure without end" in messages.shown[0].report
    assert "test_messages.py" in messages.shown[0].report
    assert "unexpected error" in caplog.text


def test_the_same_twice_stands_once_and_last(qtbot: QtBot) -> None:
    messages = Messages()
    for text in ("one", "two", "one"):
        messages.tell(text)
    assert [message.text for message in messages.shown] == ["two", "one"]


def test_the_last_one_is_dismissed_first(qtbot: QtBot) -> None:
    messages = Messages()
    messages.tell("one")
    messages.tell("two")
    assert messages.dismiss_last()
    assert [message.text for message in messages.shown] == ["one"]
    assert messages.dismiss_last()
    assert not messages.dismiss_last()


def test_a_flood_is_bounded(qtbot: QtBot) -> None:
    messages = Messages()
    for number in range(AT_MOST + 10):
        messages.tell(f"file {number}")
    assert len(messages.shown) == AT_MOST
    assert messages.shown[-1].text == f"file {AT_MOST + 9}"


def test_what_nobody_caught_is_caught(qtbot: QtBot) -> None:
    messages = Messages()
    messages.catch_unhandled()
    try:
        sys.excepthook(ValueError, ValueError("stray"), None)
    finally:
        messages.let_go()
    assert "ValueError: stray" in messages.shown[0].report
    assert sys.excepthook is sys.__excepthook__
