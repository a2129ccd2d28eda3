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
_LICENCE_FILE = re.compile(
    r"^([^,/\n]+\.dist-info/(?:licenses/)?[^,\n]*(?:licen[sc]e|copying|notice)[^,\n]*),",
    re.IGNORECASE | re.MULTILINE,
)
_NAME = re.compile(r"[\w.-]+")
_CLASSIFIER = "License :: OSI Approved :: "
_LONGEST_NAME = 60
"""Some packages put the whole text where the name of the licence belongs."""
NO_TEXT = "Its package came without the text of the licence."
SAME_LICENCE = {"pyside6-essentials": "verovio", "pyside6-addons": "verovio"}
"""Packages that come without a text to one that brings that of the same licence (LGPL 3.0)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """Something with a licence.

    Parameters
    ----------
    name : str
        As it is asked for: what installs Postil writes names of packages in small letters.
    distribution : str
        Name of the package; empty for what is no package.
    folder : str
        Of a font: its folder among the resources; else empty.
    """

    name: str
    distribution: str = ""
    folder: str = ""


def entries() -> tuple[Entry, ...]:
    """Postil, its fonts, Python, and every package that it may need, installed or not."""
    fonts = (Entry(name=name, folder=folder) for name, folder in FONTS.items())
    packages = (Entry(name=name, distribution=name) for name in _needed())
    return (Entry(name="Postil", distribution="postil"), *fonts, Entry(name="Python"), *packages)


def is_here(entry: Entry) -> bool:
    """Whether it is on this machine; what an older Python needs may not be."""
    is_package = bool(entry.distribution) and entry.distribution != "postil"
    return not is_package or _distribution(entry.distribution) is not None


def summary(entry: Entry) -> str:
    """Name, version and licence in a line."""
    if entry.folder:
        return f"{entry.name}, a font: SIL Open Font License 1.1"
    if not entry.distribution:
        return f"{entry.name} {platform.python_version()}: Python Software Foundation License"
    found = _distribution(entry.distribution)
    if found is None:
        return f"{entry.name} {version()}, not installed: MIT"
    own_name = found.metadata["Name"].replace("_", "-")
    if entry.distribution == "postil":
        own_name = entry.name
    return f"{own_name} {found.version}: {_licence(found)}"


def text(entry: Entry) -> str:
    """The licence in full."""
    own = "\n\n".join(_texts(entry)).strip()
    other = SAME_LICENCE.get(entry.name.lower())
    if own or other is None:
        return own or NO_TEXT
    return (
        f"{NO_TEXT} That of {other} is the same:\n\n{text(Entry(name=other, distribution=other))}"
    )


def version() -> str:
    """Postil's version, also where it runs from its folder without being installed."""
    found = _distribution("postil")
    return str(_project()["version"]) if found is None else found.version


def _needed() -> Iterator[str]:
    own = _distribution("postil")
    required = _project()["dependencies"] if own is None else own.requires or ()
    wanted = [_NAME.match(each) for each in required if "extra ==" not in each]
    # One package stands once for each version of Python.
    yield from dict.fromkeys(found[0] for found in wanted if found)


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
    # The list of files as text: taken apart, that of a large package takes a tenth of a second.
    for file in _LICENCE_FILE.findall(found.read_text("RECORD") or ""):
        yield _read(Path(str(found.locate_file(file))))


def _read(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8", errors="replace")
    except OSError:
        return ""
