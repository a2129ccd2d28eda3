"""Postil on this user's desktop: an entry in the menu, its icon, the kinds of files it opens.

By the specifications of freedesktop.org: Desktop Entry 1.4, Icon Theme 0.13, Shared MIME-info
Database 0.21 and the XDG Base Directories. All of it is put into the user's own data folder, by
an explicit command, and taken away by the same. Two entries: one stands in the menu and opens the
window, the other opens files and stands nowhere (``NoDisplay``, which is meant for that): what
a menu starts is given no file, and ``postil open`` wants one.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

from app.main import SOME_FAILED, SUCCESS
from core.resources import resources

ICON_SIZES = (16, 22, 24, 32, 48, 64, 128, 256)
MENU, FILES, MIME = "postil.desktop", "postil-open.desktop", "postil.xml"
KINDS = (
    "application/vnd.recordare.musicxml",
    "application/vnd.recordare.musicxml+xml",
    "application/mei+xml",
    "text/vnd.abc",
    "text/x-humdrum",
    "audio/midi",
    "application/x-postil-notebook",
)
"""Media types: those registered with IANA where there are any, else names of our own."""
NOT_HERE = (
    "postil: Only desktops that follow freedesktop.org (Linux, BSD) can be told of Postil so far."
)
_RESERVED = " \t\n\"'\\><~|&;$*?#()`"
"""An argument of Exec with one of these is quoted (Desktop Entry 1.4, "The Exec key")."""


def install_desktop() -> int:
    """``postil install-desktop``: put all in its place; the exit status."""
    if not _is_known_here():
        return SOME_FAILED
    written = []
    for path, content in _files(command()):
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)
        written.append(path)
    _refresh()
    for path in written:
        print(path)
    print("Postil is in the menu, and opens scores. Away with it: postil install-desktop --remove")
    return SUCCESS


def remove_desktop() -> int:
    """``postil install-desktop --remove``: take all of it away; the exit status."""
    if not _is_known_here():
        return SOME_FAILED
    there = [path for path, _ in _files(command()) if path.exists()]
    for path in there:
        path.unlink()
        print(path)
    _refresh()
    print("Postil is no longer in the menu." if there else "Postil was not in the menu.")
    return SUCCESS


def command() -> str:
    """The program that runs now, as an argument of ``Exec``."""
    beside = Path(sys.executable).parent / "postil"
    started = Path(sys.argv[0]).absolute()
    if started.name == "postil":
        return _quoted(str(started))
    if beside.is_file():
        return _quoted(str(beside))
    return f"{_quoted(sys.executable)} -m app.main"


def data_home() -> Path:
    """The user's data folder (XDG Base Directories)."""
    given = os.environ.get("XDG_DATA_HOME", "")
    # A path that is not absolute counts as none there.
    return Path(given) if given.startswith("/") else Path.home() / ".local" / "share"


def _files(program: str) -> Iterator[tuple[Path, bytes]]:
    home, given = data_home(), resources() / "desktop"
    for name in (MENU, FILES):
        text = (given / name).read_text(encoding="utf-8")
        filled = text.replace("@COMMAND@", program).replace("@KINDS@", "".join(map(_entry, KINDS)))
        yield home / "applications" / name, filled.encode()
    yield home / "mime" / "packages" / MIME, (given / MIME).read_bytes()
    icons = home / "icons" / "hicolor"
    for size in ICON_SIZES:
        drawn = resources() / "icons" / f"postil-{size}.png"
        yield icons / f"{size}x{size}" / "apps" / "postil.png", drawn.read_bytes()
    vector = resources() / "icons" / "postil.svg"
    yield icons / "scalable" / "apps" / "postil.svg", vector.read_bytes()


def _entry(kind: str) -> str:
    return f"{kind};"


def _quoted(argument: str) -> str:
    """An argument as Exec has it: quoted, its special letters escaped, and that once more.

    The value of a key is unescaped before it is taken apart (Desktop Entry 1.4).
    """
    argument = argument.replace("%", "%%")
    if not any(letter in _RESERVED for letter in argument):
        return argument
    for letter in '\\"`$':
        argument = argument.replace(letter, "\\" + letter)
    return '"' + argument.replace("\\", "\\\\") + '"'


def _refresh() -> None:
    """Have the desktop read again what it keeps in tables; it does so by itself in time."""
    home = data_home()
    for program, folder in (
        ("update-mime-database", home / "mime"),
        ("update-desktop-database", home / "applications"),
        ("gtk-update-icon-cache", home / "icons" / "hicolor"),
    ):
        found = shutil.which(program)
        if found is None or not folder.is_dir():
            continue
        quietly = ["--ignore-theme-index", "--quiet"] if program.startswith("gtk") else []
        subprocess.run([found, *quietly, str(folder)], check=False, capture_output=True, timeout=60)


def _is_known_here() -> bool:
    if sys.platform in {"win32", "darwin"}:
        print(NOT_HERE, file=sys.stderr)
        return False
    return True
