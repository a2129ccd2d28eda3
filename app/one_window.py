"""One window a notebook: a later start hands its scores to the window that is there, and ends.

A window listens on a Unix socket of its own user's; its name follows from the notebook. Whoever
starts looks whether the socket is there (next to nothing is imported for that), sends which
notebook it means, on which display it would open, the token that lets a window come forward, and
paths, each ended by a zero byte, and waits for the answer. Where there is none in time, or the
window is on a display that this person may not see, it goes on by itself, and the store lets it
read only. On systems without such sockets every start goes on by itself.
"""

from __future__ import annotations

import os
import stat
import sys
import zlib
from collections.abc import Sequence
from pathlib import Path

from app.kept_where import HOME_VARIABLE, NOTEBOOK

TAKEN, NOT_OURS, ELSEWHERE = b"taken", b"not ours", b"elsewhere"
ANSWER_SECONDS = 3.0
"""So long a window may be busy before it counts as hanging."""
LONGEST_BYTES = 1 << 20
NO_ANSWER = (
    "postil: A window has this notebook open already and doesn't answer. This one can only read "
    "it; close the other one to write."
)
ON_ANOTHER_DISPLAY = (
    "postil: A window has this notebook open on another display. This one can only read it; close "
    "the other one to write."
)
DISPLAYS = ("WAYLAND_DISPLAY", "DISPLAY")
TOKENS = ("XDG_ACTIVATION_TOKEN", "DESKTOP_STARTUP_ID")
"""Where the desktop leaves what lets a window come forward (freedesktop.org)."""


def notebook_key(notebook: str | None = None) -> str:
    """What tells one notebook from another, for this user.

    Parameters
    ----------
    notebook : str or None
        Its file; None for this person's own.
    """
    if notebook is None and (home := os.environ.get(HOME_VARIABLE)):
        notebook = str(Path(home, NOTEBOOK))
    if notebook is None:
        return "own " + os.environ.get("XDG_DATA_HOME", "")
    return str(Path(notebook).resolve())


def socket_path(key: str) -> Path | None:
    """Where the window on a notebook listens; None where this user has no safe place for it."""
    folder = _folder()
    # The name need not tell every notebook from every other: the whole key is sent, too.
    name = f"postil-{zlib.crc32(os.fsencode(key)):08x}"
    return None if folder is None else folder / name


def hand_over(scores: Sequence[str], key: str) -> bool:
    """Give scores to the window on a notebook, or only have it come forward.

    Returns
    -------
    bool
        Whether a window took them; otherwise this process opens one.
    """
    path = socket_path(key)
    if path is None or not path.exists():
        return False
    import socket

    with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as line:
        line.settimeout(ANSWER_SECONDS)
        try:
            line.connect(str(path))
            line.sendall(_call(key, scores))
            line.shutdown(socket.SHUT_WR)
            answer = line.recv(64)
        except TimeoutError:
            sys.stderr.write(NO_ANSWER + "\n")
            return False
        except OSError:
            # Left behind by a window that ended in a crash.
            return False
    if answer == ELSEWHERE:
        sys.stderr.write(f"{ON_ANOTHER_DISPLAY}\n")
    return answer == TAKEN


def display() -> str:
    """Where this process would open a window."""
    return next((os.environ[name] for name in DISPLAYS if os.environ.get(name)), "")


def _call(key: str, scores: Sequence[str]) -> bytes:
    token = next((os.environ[name] for name in TOKENS if os.environ.get(name)), "")
    parts = (key, display(), token, *(str(Path(score).absolute()) for score in scores))
    return b"".join(os.fsencode(part) + b"\0" for part in parts)


def _folder() -> Path | None:
    """A folder that nobody but this user can read or write."""
    if not hasattr(os, "getuid"):
        return None
    given = os.environ.get("XDG_RUNTIME_DIR")
    if given and _is_safe(Path(given)):
        return Path(given)
    folder = Path(os.environ.get("TMPDIR") or "/tmp", f"postil-{os.getuid()}")
    try:
        folder.mkdir(mode=0o700, exist_ok=True)
    except OSError:
        return None
    return folder if _is_safe(folder) else None


def _is_safe(folder: Path) -> bool:
    """Whether it is this user's own, and closed to all others; no link either."""
    try:
        found = folder.lstat()
    except OSError:
        return False
    is_own = found.st_uid == os.getuid()
    return stat.S_ISDIR(found.st_mode) and is_own and not stat.S_IMODE(found.st_mode) & 0o077
