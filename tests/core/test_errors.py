"""Errors reach people as sentences, and cross from one process to another.

An error that doesn't survive pickling breaks a process pool for good.
"""

from __future__ import annotations

import importlib
import pickle
import pkgutil
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path

import pytest

import core
from core.errors import (
    AlignmentError,
    ConflictError,
    InvalidEntryError,
    MissingError,
    NewerNotebookError,
    PostilError,
    StorageError,
    UnreadableFileError,
    UnsupportedScoreError,
)

EXAMPLES = {
    PostilError: PostilError("It went wrong."),
    UnreadableFileError: UnreadableFileError("a/b.mxl", "It is cut off.", "line 12"),
    UnsupportedScoreError: UnsupportedScoreError(Path("a/b.mxl"), "It has no notes."),
    InvalidEntryError: InvalidEntryError("title", "", "a piece needs a title"),
    MissingError: MissingError("remark", 7),
    ConflictError: ConflictError("piece", 3),
    StorageError: StorageError("a/notebook", "the disk is full."),
    NewerNotebookError: NewerNotebookError("0009", "0001"),
    AlignmentError: AlignmentError("Tuesday", "No note of it is in the score."),
}

SENTENCES = {
    PostilError: "It went wrong.",
    UnreadableFileError: "b.mxl, line 12: It is cut off.",
    UnsupportedScoreError: "b.mxl: It has no notes.",
    InvalidEntryError: "title '': a piece needs a title",
    MissingError: "There is no remark 7 in this notebook.",
    ConflictError: "The piece 3 is already in this notebook, or was changed meanwhile.",
    StorageError: f"{Path('a/notebook')}: the disk is full.",
    NewerNotebookError: "This notebook was written by a newer Postil (version 0009 of its tables; "
    "this one knows 0001). Nothing was changed. Update Postil to open it.",
    AlignmentError: "Tuesday: No note of it is in the score.",
}


def all_errors(base: type[PostilError] = PostilError) -> set[type[PostilError]]:
    return {base}.union(*(all_errors(each) for each in base.__subclasses__()))


def test_every_error_of_core_has_an_example_here() -> None:
    for module in pkgutil.walk_packages(core.__path__, "core."):
        if ".migrations." not in module.name:  # only Alembic can load those
            importlib.import_module(module.name)
    ours = {each for each in all_errors() if each.__module__.startswith("core.")}
    assert ours == set(EXAMPLES) == set(SENTENCES)


@pytest.mark.parametrize("kind", EXAMPLES)
def test_an_error_survives_pickling(kind: type[PostilError]) -> None:
    error = EXAMPLES[kind]
    again = pickle.loads(pickle.dumps(error))
    assert type(again) is kind
    assert again.args == error.args
    assert vars(again) == vars(error)
    assert str(again) == str(error)


@pytest.mark.parametrize("kind", EXAMPLES)
def test_an_error_is_a_sentence(kind: type[PostilError]) -> None:
    assert str(EXAMPLES[kind]) == SENTENCES[kind]


def test_a_file_without_a_place_is_named_alone() -> None:
    assert str(UnreadableFileError("a/b.mxl", "It is cut off.")) == "b.mxl: It is cut off."


def refuse(key: int) -> None:
    raise MissingError("remark", key)


def test_an_error_crosses_from_a_worker() -> None:
    with ProcessPoolExecutor(1, mp_context=get_context("spawn")) as pool:
        for key in (7, 8):  # the pool outlives the first
            with pytest.raises(MissingError, match=f"no remark {key} ") as caught:
                pool.submit(refuse, key).result()
            assert caught.value.key == key
