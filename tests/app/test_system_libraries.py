from __future__ import annotations

import ctypes
import importlib.util
import os
import re
import struct
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from app import system_libraries

on_linux = pytest.mark.skipif(sys.platform != "linux", reason="only Linux can lack libraries")

# Every Linux that runs numpy has these.
ALWAYS_THERE = re.compile(r"lib(c|m|dl|pthread|rt|resolv|stdc\+\+|gcc_s)\.so\.\d+|ld-linux.*")
# In one package with libbrotlidec.
COMES_ALONG = {"libbrotlicommon.so.1"}

MODULES = ("Core", "DBus", "Gui", "Multimedia", "Network", "PrintSupport", "Svg", "Test", "Widgets")
PLUGINS = (
    "platforms/libqoffscreen.so",
    "platforms/libqwayland.so",
    "platforms/libqxcb.so",
    "imageformats/libqsvg.so",
    "multimedia/libffmpegmediaplugin.so",
    "xcbglintegrations/libqxcb-egl-integration.so",
    "xcbglintegrations/libqxcb-glx-integration.so",
)


@pytest.fixture
def lacking(monkeypatch: pytest.MonkeyPatch) -> str:
    """A machine that lacks one library of the window; its package."""
    for table in (system_libraries.WINDOW, system_libraries.EVERYTHING):
        monkeypatch.setitem(table, "libpostil-nowhere.so.9", "libpostil-nowhere9")
    return "libpostil-nowhere9"


@on_linux
def test_a_missing_library_is_named_by_its_package(lacking: str) -> None:
    assert lacking in system_libraries.missing_packages()


@on_linux
def test_the_sentence_can_be_pasted(lacking: str) -> None:
    sentence = system_libraries.explain_missing()

    assert sentence is not None
    assert re.search(rf"sudo apt-get install .*{lacking}$", sentence)


def test_the_machine_that_runs_the_tests_lacks_nothing() -> None:
    assert system_libraries.explain_missing() is None


@on_linux
def test_the_libraries_of_x_count_where_x_is_the_display(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(system_libraries.XCB, "libpostil-nowhere.so.9", "libxcb-nowhere0")
    monkeypatch.setitem(system_libraries.EVERYTHING, "libpostil-nowhere.so.9", "libxcb-nowhere0")
    monkeypatch.delenv("QT_QPA_PLATFORM", raising=False)
    monkeypatch.delenv("WAYLAND_DISPLAY", raising=False)

    monkeypatch.setenv("DISPLAY", ":0")
    assert "libxcb-nowhere0" in system_libraries.missing_packages()

    monkeypatch.delenv("DISPLAY")
    assert "libxcb-nowhere0" not in system_libraries.missing_packages()


@on_linux
@pytest.mark.parametrize(
    ("environment", "expected"),
    [
        ({}, False),
        ({"QT_QPA_PLATFORM": "offscreen"}, True),
        ({"QT_QPA_PLATFORM": "offscreen:size=800x600"}, True),
        # Nobody listens there: Qt would abort.
        ({"DISPLAY": ":9731"}, False),
        ({"QT_QPA_PLATFORM": "xcb", "DISPLAY": ":9731"}, False),
        ({"WAYLAND_DISPLAY": "postil-nowhere"}, False),
    ],
    ids=str,
)
def test_whether_there_is_a_display(environment: dict[str, str], expected: bool) -> None:
    assert system_libraries.has_display(environment) is expected


@on_linux
def test_without_a_display_postil_says_so_and_offers_the_command_line() -> None:
    child = _run_python(["-m", "app.main", "demo"], DISPLAY=":9731")

    assert child.returncode == 1
    assert child.stderr.strip() == system_libraries.no_display_sentence()
    assert "postil analyse SCORE" in child.stderr


@on_linux
def test_with_a_library_missing_postil_names_the_package_and_never_meets_qt() -> None:
    program = """
import sys
from app import system_libraries
system_libraries.WINDOW["libpostil-nowhere.so.9"] = "libpostil-nowhere9"
system_libraries.EVERYTHING.update(system_libraries.WINDOW)
from app.main import run
status = run([])
assert not any(name.startswith("PySide6") for name in sys.modules)
sys.exit(status)
"""
    child = _run_python(["-c", program], QT_QPA_PLATFORM="offscreen")

    assert (child.returncode, child.stdout) == (1, "")
    assert child.stderr.strip().endswith("sudo apt-get install libpostil-nowhere9")


@on_linux
def test_fetched_libraries_are_found_by_this_process_and_its_children(tmp_path: Path) -> None:
    folder = tmp_path / "usr" / "lib" / "x86_64-linux-gnu"
    folder.mkdir(parents=True)
    # One file is named as most are, one as that of pulseaudio which has its number before ".so".
    for name in ("libpostil-fetched.so.1", "libpostil-fetched-too-16.1.so"):
        (folder / name).write_bytes(_some_library().read_bytes())
    program = f"""
import subprocess, sys
from pathlib import Path
from app import system_libraries
system_libraries.use_fetched_libraries(Path({str(tmp_path)!r}))
maps = Path("/proc/self/maps").read_text()
print("libpostil-fetched.so.1" in maps and "libpostil-fetched-too-16.1.so" in maps)
child = "import ctypes; ctypes.CDLL('libpostil-fetched.so.1'); print(True)"
subprocess.run([sys.executable, "-c", child], check=True)
"""
    child = _run_python(["-u", "-c", program])

    assert child.stdout.split() == ["True", "True"], child.stderr


def test_where_nothing_was_fetched_nothing_changes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("LD_LIBRARY_PATH", "as it was")

    system_libraries.use_fetched_libraries(tmp_path)

    assert os.environ["LD_LIBRARY_PATH"] == "as it was"


@on_linux
def test_the_table_names_all_that_pyside_needs() -> None:
    """Reads the installed PySide6, so a new release that needs more is noticed here."""
    needed = set(_needed_from_outside(_pyside_folder()))

    assert {name for name in needed if not ALWAYS_THERE.fullmatch(name)} <= (
        system_libraries.EVERYTHING.keys() | COMES_ALONG
    )
    assert {"libEGL.so.1", "libxcb-cursor.so.0", "libpulse.so.0"} <= needed


def _run_python(arguments: list[str], **settings: str) -> subprocess.CompletedProcess[str]:
    unset = {"DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM"}
    kept = {name: value for name, value in os.environ.items() if name not in unset}
    return subprocess.run(
        [sys.executable, *arguments],
        env={**kept, **settings},
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )


def _some_library() -> Path:
    """A library of this system, by the path that the linker found."""
    ctypes.CDLL("libz.so.1")
    maps = Path("/proc/self/maps").read_text(encoding="utf-8")
    return Path(re.findall(r"\S*/libz\.so\S*", maps)[0])


def _pyside_folder() -> Path:
    spec = importlib.util.find_spec("PySide6")
    assert spec is not None
    assert spec.origin is not None
    return Path(spec.origin).parent


def _needed_from_outside(pyside: Path) -> Iterator[str]:
    places = (pyside / "Qt" / "lib", pyside, pyside.parent / "shiboken6")
    waiting = [pyside / f"Qt{name}.abi3.so" for name in MODULES]
    waiting += [pyside / "Qt" / "plugins" / name for name in PLUGINS]
    seen = set()
    while waiting:
        path = waiting.pop()
        for name in _needed_by(path):
            inside = [place / name for place in places if (place / name).exists()]
            if not inside:
                yield name
            elif inside[0] not in seen:
                seen.add(inside[0])
                waiting.append(inside[0])


def _needed_by(path: Path) -> list[str]:
    """DT_NEEDED of a 64-bit little-endian ELF file (System V ABI, "Dynamic Section")."""
    data = path.read_bytes()
    headers_at, _, _, _, _, size, count, _ = struct.unpack_from("<QIHHHHHH", data, 40)
    sections = [
        struct.unpack_from("<IIQQQQIIQQ", data, headers_at + i * size) for i in range(count)
    ]
    names = []
    for section in sections:
        section_type, offset, length, link = section[1], section[4], section[5], section[6]
        if section_type != 6:  # SHT_DYNAMIC
            continue
        strings_at = sections[link][4]
        for at in range(offset, offset + length, 16):
            tag, value = struct.unpack_from("<QQ", data, at)
            if tag == 1:  # DT_NEEDED
                start = strings_at + value
                names.append(data[start : data.index(b"\0", start)].decode())
    return names
