"""Whether this machine can open a window at all, asked before Qt is touched.

Qt aborts where a shared library or the display is missing. Here both are looked at first, so that
a person gets one sentence instead. Only Linux can lack something: elsewhere PySide6 brings all.

``app/install.py`` uses this module too: standard library only, and no Qt.
"""

from __future__ import annotations

import ctypes
import os
import sys
from collections.abc import Iterable, Mapping
from pathlib import Path

# What the libraries and plugins of PySide6 6.11 and 6.12 need beyond themselves, libc and
# libstdc++ (read with readelf), with the Debian package that holds it.
WINDOW = {
    "libEGL.so.1": "libegl1",
    "libGL.so.1": "libgl1",
    "libX11.so.6": "libx11-6",
    "libbrotlidec.so.1": "libbrotli1",
    "libdbus-1.so.3": "libdbus-1-3",
    "libfontconfig.so.1": "libfontconfig1",
    "libfreetype.so.6": "libfreetype6",
    "libglib-2.0.so.0": "libglib2.0-0",
    "libgssapi_krb5.so.2": "libgssapi-krb5-2",
    "libgthread-2.0.so.0": "libglib2.0-0",
    "libxkbcommon.so.0": "libxkbcommon0",
    "libz.so.1": "zlib1g",
    "libzstd.so.1": "libzstd1",
}
XCB = {
    "libX11-xcb.so.1": "libx11-xcb1",
    "libxcb-cursor.so.0": "libxcb-cursor0",
    "libxcb-glx.so.0": "libxcb-glx0",
    "libxcb-icccm.so.4": "libxcb-icccm4",
    "libxcb-image.so.0": "libxcb-image0",
    "libxcb-keysyms.so.1": "libxcb-keysyms1",
    "libxcb-randr.so.0": "libxcb-randr0",
    "libxcb-render-util.so.0": "libxcb-render-util0",
    "libxcb-render.so.0": "libxcb-render0",
    "libxcb-shape.so.0": "libxcb-shape0",
    "libxcb-shm.so.0": "libxcb-shm0",
    "libxcb-sync.so.1": "libxcb-sync1",
    "libxcb-util.so.1": "libxcb-util1",
    "libxcb-xfixes.so.0": "libxcb-xfixes0",
    "libxcb-xkb.so.1": "libxcb-xkb1",
    "libxcb.so.1": "libxcb1",
    "libxkbcommon-x11.so.0": "libxkbcommon-x11-0",
}
WAYLAND = {
    "libwayland-client.so.0": "libwayland-client0",
    "libwayland-cursor.so.0": "libwayland-cursor0",
    "libwayland-egl.so.1": "libwayland-egl1",
}
# A window opens without these: QtMultimedia and python-rtmidi say themselves what they lack.
SOUND_AND_MIDI = {
    "libXext.so.6": "libxext6",
    "libXrandr.so.2": "libxrandr2",
    "libasound.so.2": "libasound2",
    "libbz2.so.1": "libbz2-1.0",
    "libdrm.so.2": "libdrm2",
    "libpulse.so.0": "libpulse0",
}
EVERYTHING = {**WINDOW, **XCB, **WAYLAND, **SOUND_AND_MIDI}

# Where app/install.py unpacks what it may not install: a tree like that of the system.
FETCHED = Path(sys.prefix) / "system"


def missing_packages() -> tuple[str, ...]:
    """Debian packages without which no window opens here, sorted; empty where one opens."""
    if sys.platform != "linux":
        return ()
    use_fetched_libraries()
    return packages_of(missing_libraries(WINDOW) + _missing_platform_libraries())


def explain_missing() -> str | None:
    """A sentence that names the packages to install, or None where nothing is missing."""
    missing = missing_packages()
    if not missing:
        return None
    count, them = (
        ("a library", "it") if len(missing) == 1 else (f"{len(missing)} libraries", "them")
    )
    return (
        f"Postil can't open its window: this system lacks {count} that Qt needs. In a checkout "
        f"python3 app/install.py gets {them}, without root too; or install {them} yourself (names "
        f"on Debian and Ubuntu): sudo apt-get install {' '.join(missing)}"
    )


def has_display(environment: Mapping[str, str] = os.environ) -> bool:
    """Whether a window would be seen, or Qt was told of a platform that needs no screen.

    Ask after ``missing_packages``: a display server is found by talking to it, since Qt aborts
    where one is named that doesn't answer.
    """
    if sys.platform != "linux":
        return True
    if environment.get("QT_QPA_PLATFORM", "").split(":")[0] not in {"", "xcb", "wayland"}:
        return True
    return _wayland_answers(environment) or _x_server_answers(environment)


def no_display_sentence() -> str:
    """What to say where there is no display."""
    return (
        "There is no display here, so Postil can't open its window. The command line works: "
        "postil analyse SCORE tells what a score is made of, postil --help names the rest."
    )


def missing_libraries(wanted: Iterable[str]) -> tuple[str, ...]:
    """Those of the wanted libraries (file names, "libEGL.so.1") that can't be loaded."""
    return tuple(library for library in wanted if not _loads(library))


def packages_of(libraries: Iterable[str]) -> tuple[str, ...]:
    """The Debian packages that hold these libraries, sorted, each once."""
    return tuple(sorted({EVERYTHING[library] for library in libraries}))


def use_fetched_libraries(tree: Path = FETCHED) -> None:
    """Make this process and its children find the libraries that app/install.py fetched.

    The dynamic linker reads LD_LIBRARY_PATH once, at the start of a process. So in this one they
    are loaded by their paths: what is loaded already satisfies whoever needs it by its name.
    Children inherit the variable. Where nothing was fetched, nothing happens.
    """
    folders = fetched_folders(tree)
    before = os.environ.get("LD_LIBRARY_PATH", "").split(os.pathsep)
    if not folders or str(folders[0]) in before:
        return
    after = [*map(str, folders), *filter(None, before)]
    os.environ["LD_LIBRARY_PATH"] = os.pathsep.join(after)
    _use_fetched_data(tree)
    _load_in_order_of_need(folders)


def fetched_folders(tree: Path = FETCHED) -> tuple[Path, ...]:
    """The folders of the tree that hold libraries; pulseaudio keeps half of its own apart."""
    patterns = ("lib/*-linux-gnu*", "usr/lib/*-linux-gnu*", "usr/lib/*-linux-gnu*/pulseaudio")
    return tuple(folder for pattern in patterns for folder in sorted(tree.glob(pattern)))


def _use_fetched_data(tree: Path) -> None:
    """Point libraries at data of the tree that the system has none of."""
    data = {
        "FONTCONFIG_FILE": ("/etc/fonts/fonts.conf", "fonts.conf"),
        "XKB_CONFIG_ROOT": ("/usr/share/X11/xkb", "usr/share/X11/xkb"),
        "XLOCALEDIR": ("/usr/share/X11/locale", "usr/share/X11/locale"),
    }
    for variable, (of_the_system, of_the_tree) in data.items():
        if not Path(of_the_system).exists() and (tree / of_the_tree).exists():
            os.environ.setdefault(variable, str(tree / of_the_tree))


def _load_in_order_of_need(folders: Iterable[Path]) -> None:
    """Load every library; one that needs another not yet loaded comes in a later round."""
    waiting = [path for folder in folders for path in sorted(folder.glob("*.so*"))]
    while waiting:
        left = [path for path in waiting if not _loads(str(path))]
        if len(left) == len(waiting):
            return
        waiting = left


def _loads(library: str) -> bool:
    try:
        ctypes.CDLL(library)
    except OSError:
        return False
    return True


def _missing_platform_libraries() -> tuple[str, ...]:
    """What the platform of this display lacks; one of two that work is enough."""
    missing = [missing_libraries(libraries) for libraries in _platforms(os.environ)]
    return min(missing, key=len, default=())


def _platforms(environment: Mapping[str, str]) -> list[dict[str, str]]:
    """The libraries of every platform that Qt may choose here, none if it needs no screen."""
    chosen = environment.get("QT_QPA_PLATFORM", "").split(":")[0]
    if chosen:
        return [{"xcb": XCB, "wayland": WAYLAND}.get(chosen, {})]
    displays = {"DISPLAY": XCB, "WAYLAND_DISPLAY": WAYLAND}
    return [libraries for name, libraries in displays.items() if environment.get(name)]


def _x_server_answers(environment: Mapping[str, str]) -> bool:
    if not (name := environment.get("DISPLAY")) or not _loads("libxcb.so.1"):
        return False
    xcb = ctypes.CDLL("libxcb.so.1")
    xcb.xcb_connect.restype = ctypes.c_void_p
    xcb.xcb_connect.argtypes = [ctypes.c_char_p, ctypes.c_void_p]
    xcb.xcb_connection_has_error.argtypes = [ctypes.c_void_p]
    xcb.xcb_disconnect.argtypes = [ctypes.c_void_p]
    connection = xcb.xcb_connect(name.encode(), None)
    answers = bool(xcb.xcb_connection_has_error(connection) == 0)
    xcb.xcb_disconnect(connection)
    return answers


def _wayland_answers(environment: Mapping[str, str]) -> bool:
    if not (name := environment.get("WAYLAND_DISPLAY")) or not _loads("libwayland-client.so.0"):
        return False
    wayland = ctypes.CDLL("libwayland-client.so.0")
    wayland.wl_display_connect.restype = ctypes.c_void_p
    wayland.wl_display_connect.argtypes = [ctypes.c_char_p]
    wayland.wl_display_disconnect.argtypes = [ctypes.c_void_p]
    display = wayland.wl_display_connect(name.encode())
    if display:
        wayland.wl_display_disconnect(display)
    return bool(display)
