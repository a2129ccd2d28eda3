"""Versions and licences are those of what is installed."""

from __future__ import annotations

from importlib import metadata

import pytest

from app.pages import licences
from app.pages.licences import Entry, entries, is_here, summary, text, version


def test_every_package_that_postil_needs_is_named() -> None:
    names = [entry.name for entry in entries()]
    assert names[:4] == ["Postil", "Inter", "EB Garamond", "Python"]
    assert {"verovio", "music21", "sqlalchemy", "numpy", "msgspec"} <= {n.lower() for n in names}
    assert "pytest" not in names


@pytest.mark.parametrize(
    "entry", [entry for entry in entries() if is_here(entry)], ids=lambda entry: entry.name
)
def test_each_has_a_licence(entry: Entry) -> None:
    line = summary(entry)
    assert line.lower().startswith(entry.name.lower())
    assert "see its text" not in line or len(text(entry)) > 200


@pytest.mark.parametrize("name", ["verovio", "numpy", "music21"])
def test_versions_are_those_installed(name: str) -> None:
    assert metadata.version(name) in summary(Entry(name=name, distribution=name))


def test_texts_are_whole() -> None:
    by_name = {entry.name: entry for entry in entries()}
    assert "WITHOUT WARRANTY OF ANY KIND" in text(by_name["Postil"])
    assert "SIL OPEN FONT LICENSE" in text(by_name["EB Garamond"])


def test_a_package_is_called_what_it_calls_itself() -> None:
    assert summary(Entry(name="sqlalchemy", distribution="sqlalchemy")).startswith("SQLAlchemy ")


@pytest.mark.parametrize("name", ["PySide6-Essentials", "pyside6-essentials"])
def test_qt_has_the_text_of_its_licence_too(name: str) -> None:
    """Its package brings none; Verovio's is under the same one."""
    qt = Entry(name=name, distribution=name)
    assert "LGPL-3.0-only" in summary(qt)
    assert "LGPL-3.0-only" in summary(Entry(name="verovio", distribution="verovio"))
    assert "GNU LESSER GENERAL PUBLIC LICENSE" in text(qt)


def test_what_is_not_installed_is_not_here() -> None:
    assert not is_here(Entry(name="Nothing", distribution="no-such-package-of-anybody"))
    assert is_here(Entry(name="Python"))


def test_run_from_its_folder_it_still_knows(monkeypatch: pytest.MonkeyPatch) -> None:
    given = licences._distribution
    monkeypatch.setattr(
        licences, "_distribution", lambda name: None if name == "postil" else given(name)
    )
    assert version()[0].isdigit()
    names = [entry.name for entry in entries()]
    assert "lxml" in names
    assert "WITHOUT WARRANTY" in text(entries()[0])
