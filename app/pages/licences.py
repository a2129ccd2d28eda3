"""Postil and what it is built on, each with its version and the text of its licence.

Versions and licences are those of the packages that are installed, texts the files that came
with them; nothing is written down here that could go out of date.
"""

from __future__ import annotations

import platform
import re
import sysconfig
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from importlib import metadata
from pathlib import Path
from typing import Any

from core.resources import resources

FONTS = {"Inter": "inter", "EB Garamond": "eb_garamond"}
_LICENCE_FILE = re.compile(r"(^|/)(licen[sc]es?|copying|notice)[^/]*(/[^/]+)?$", re.IGNORECASE)
_NAME = re.compile(r"[\w.-]+")
_CLASSIFIER = "License :: OSI Approved :: "
_LONGEST_NAME = 60
"""Some packages put the whole text where the name of the licence belongs."""
NO_TEXT = "Its package came without the text of the licence."


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """Something with a licence.

    Parameters
    ----------
    name : str
        As its package has it.
    distribution : str
        Name of the package; empty for what is no package.
    folder : str
        Of a font: its folder among the resources; else empty.
    """

    name: str
    distribution: str = ""
    folder: str = ""


def entries() -> tuple[Entry, ...]:
    """Postil, its fonts, Python, and every package that it needs and that is installed."""
    fonts = (Entry(name=name, folder=folder) for name, folder in FONTS.items())
    packages = (Entry(name=name, distribution=name) for name in _needed())
    return (Entry(name="Postil", distribution="postil"), *fonts, Entry(name="Python"), *packages)


def summary(entry: Entry) -> str:
    """Name, version and licence in a line."""
    if entry.folder:
        return f"{entry.name}, a font: SIL Open Font License 1.1"
    if not entry.distribution:
        return f"{entry.name} {platform.python_version()}: Python Software Foundation License"
    found = _distribution(entry.distribution)
    if found is None:
        return f"{entry.name} {version()}, not installed: MIT"
    return f"{entry.name} {found.version}: {_licence(found)}"


def text(entry: Entry) -> str:
    """The licence in full."""
    return "\n\n".join(_texts(entry)).strip() or NO_TEXT


def version() -> str:
    """Postil's version, also where it runs from its folder without being installed."""
    found = _distribution("postil")
    return str(_project()["version"]) if found is None else found.version


def _needed() -> Iterator[str]:
    own = _distribution("postil")
    required = _project()["dependencies"] if own is None else own.requires or ()
    wanted = [_NAME.match(each) for each in required if "extra ==" not in each]
    # One package stands once for each version of Python.
    for name in dict.fromkeys(found[0] for found in wanted if found):
        if _distribution(name) is not None:
            yield name


def _project() -> dict[str, Any]:
    """What the folder of Postil says of it."""
    with (resources().parent / "pyproject.toml").open("rb") as file:
        project: dict[str, Any] = tomllib.load(file)["project"]
    return project


def _distribution(name: str) -> metadata.Distribution | None:
    try:
        return metadata.distribution(name)
    except metadata.PackageNotFoundError:
        return None


def _licence(found: metadata.Distribution) -> str:
    fields = found.metadata
    given = [*(fields.get_all("License-Expression") or ()), *(fields.get_all("License") or ())]
    named = given[0] if given else ""
    if named and "\n" not in named and len(named) <= _LONGEST_NAME:
        return named
    classified = [
        value.removeprefix(_CLASSIFIER)
        for value in fields.get_all("Classifier") or ()
        if value.startswith(_CLASSIFIER)
    ]
    return ", ".join(classified) or "see its text"


def _texts(entry: Entry) -> Iterator[str]:
    if entry.folder:
        yield _read(resources() / "fonts" / entry.folder / "OFL.txt")
        return
    if not entry.distribution:
        yield _read(Path(sysconfig.get_path("stdlib")) / "LICENSE.txt")
        return
    found = _distribution(entry.distribution)
    if found is None:
        yield _read(resources().parent / "LICENSE")
        return
    for file in found.files or ():
        if _LICENCE_FILE.search(str(file)) and Path(file).suffix not in {".py", ".pyc"}:
            yield _read(Path(str(found.locate_file(file))))


def _read(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8", errors="replace")
    except OSError:
        return ""
