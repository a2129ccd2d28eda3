"""Where the data that comes with Postil is, in a checkout and where it is installed.

A checkout has ``resources`` and ``sample_library`` beside ``core``. A wheel carries them inside
``core``, so that no general name lands among everybody's packages.
"""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent


def resources() -> Path:
    """The folder of what Postil works with: fonts, icons, tables."""
    return _folder("resources")


def sample_library() -> Path:
    """The folder of the invented pieces that the demo shows."""
    return _folder("sample_library")


def _folder(name: str) -> Path:
    installed = _PACKAGE / f"_{name}"
    folder = installed if installed.is_dir() else _PACKAGE.parent / name
    if not folder.is_dir():
        raise FileNotFoundError(
            f"{folder}: the folder {name} belongs to Postil and is missing. Install Postil again."
        )
    return folder
