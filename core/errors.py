"""Errors that a person can act on.

Anything else that is raised is a bug. Every class passes all its arguments to
``super().__init__``, so that it survives pickling between processes.
"""

from __future__ import annotations

from pathlib import Path


class PostilError(Exception):
    """Something expected went wrong, and the person can act on it."""


class UnreadableFileError(PostilError):
    """A file can't be read as a score.

    Parameters
    ----------
    path : str or pathlib.Path
        The file as the person named it.
    reason : str
        What is wrong and what to do, as sentences.
    place : str
        Where in the file ("line 12", "measure 4 of part P1"); empty where it has none.
    """

    def __init__(self, path: str | Path, reason: str, place: str = "") -> None:
        super().__init__(path, reason, place)
        self.path, self.reason, self.place = Path(path), reason, place

    def __str__(self) -> str:
        where = f", {self.place}" if self.place else ""
        return f"{self.path.name}{where}: {self.reason}"


class UnsupportedScoreError(PostilError):
    """A score is well formed, and holds something that Postil can't work with.

    Parameters
    ----------
    path : str or pathlib.Path
        The file as the person named it.
    feature : str
        What can't be worked with and what to do, as sentences.
    """

    def __init__(self, path: str | Path, feature: str) -> None:
        super().__init__(path, feature)
        self.path, self.feature = Path(path), feature

    def __str__(self) -> str:
        return f"{self.path.name}: {self.feature}"


class InvalidEntryError(PostilError):
    """Something typed or chosen breaks a rule: ``field``, its ``value``, the ``rule``."""

    def __init__(self, field: str, value: object, rule: str) -> None:
        super().__init__(field, value, rule)
        self.field, self.value, self.rule = field, value, rule

    def __str__(self) -> str:
        return f"{self.field} {self.value!r}: {self.rule}"


class MissingError(PostilError):
    """There is no such thing in the notebook: its ``kind`` ("remark") and ``key``."""

    def __init__(self, kind: str, key: object) -> None:
        super().__init__(kind, key)
        self.kind, self.key = kind, key

    def __str__(self) -> str:
        return f"There is no {self.kind} {self.key} in this notebook."


class ConflictError(PostilError):
    """The thing is already there, or was changed meanwhile: its ``kind`` and ``key``."""

    def __init__(self, kind: str, key: object) -> None:
        super().__init__(kind, key)
        self.kind, self.key = kind, key

    def __str__(self) -> str:
        return f"The {self.kind} {self.key} is already in this notebook, or was changed meanwhile."


class StorageError(PostilError):
    """The notebook's file can't be read or written: its ``path`` and the ``reason``."""

    def __init__(self, path: str | Path, reason: str) -> None:
        super().__init__(path, reason)
        self.path, self.reason = Path(path), reason

    def __str__(self) -> str:
        return f"{self.path}: {self.reason}"


class NewerNotebookError(PostilError):
    """A newer Postil wrote this notebook: the version ``found`` and the one ``supported``."""

    def __init__(self, found: str, supported: str) -> None:
        super().__init__(found, supported)
        self.found, self.supported = found, supported

    def __str__(self) -> str:
        return (
            f"This notebook was written by a newer Postil (version {self.found} of its tables; "
            f"this one knows {self.supported}). Nothing was changed. Update Postil to open it."
        )


class AlignmentError(PostilError):
    """A take can't be aligned to its score: the ``take`` and the ``reason``."""

    def __init__(self, take: str, reason: str) -> None:
        super().__init__(take, reason)
        self.take, self.reason = take, reason

    def __str__(self) -> str:
        return f"{self.take}: {self.reason}"
