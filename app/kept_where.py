"""Where this person's notebook, settings and log lie; the same for every process of Postil.

``POSTIL_HOME`` in the environment names another folder for all of them. Almost nothing is
imported here: a second start asks this before anything else is loaded.
"""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path

HOME_VARIABLE = "POSTIL_HOME"
NOTEBOOK, SETTINGS, LOG = "notebook.postil", "window.ini", "postil.log"
NOTEBOOK_SUFFIX = ".postil"


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """The files of one notebook."""

    notebook: Path
    settings: Path

    @property
    def log(self) -> Path:
        """What went wrong, where this platform keeps logs; one for all notebooks."""
        return _log_folder() / LOG


def home() -> Path:
    """The folder of this person's notebook."""
    if chosen := os.environ.get(HOME_VARIABLE):
        return Path(chosen)
    from platformdirs import user_data_path

    return user_data_path("Postil", appauthor=False)


def kept_in(folder: Path) -> Kept:
    """The files of the notebook in a folder."""
    return Kept(notebook=folder / NOTEBOOK, settings=folder / SETTINGS)


def kept_at(notebook: Path) -> Kept:
    """The files of a notebook under any name; its settings beside it under the same."""
    notebook = notebook.absolute()
    if notebook.name == NOTEBOOK:
        return kept_in(notebook.parent)
    return Kept(notebook=notebook, settings=notebook.with_suffix(".ini"))


def _log_folder() -> Path:
    if chosen := os.environ.get(HOME_VARIABLE):
        return Path(chosen)
    from platformdirs import user_log_path

    return user_log_path("Postil", appauthor=False)
