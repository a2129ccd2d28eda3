"""Install Postil from a checkout: ``python3 app/install.py``, with ``--tests`` for the tests too.

Makes ``.venv`` beside this folder and installs Postil in it, with the system libraries that
its window needs and this machine lacks: as root on Debian and Ubuntu by apt-get, as anybody else
by unpacking the same packages inside ``.venv``. Standard library only, and no Qt.
"""

from __future__ import annotations

import argparse
import importlib.util
import os
import re
import shutil
import subprocess
import sys
import venv
from collections.abc import Iterable, Sequence
from pathlib import Path

if sys.version_info < (3, 11):  # noqa: UP036  (nothing has checked it before this file runs)
    sys.exit(f"Postil needs Python 3.11 or newer; {sys.executable} is {sys.version.split()[0]}.")

CHECKOUT = Path(__file__).resolve().parent.parent
if __name__ == "__main__":
    # As a script's folder app/ stands first in the path, its names before Python's own.
    sys.path[0] = str(CHECKOUT)

from app import system_libraries  # noqa: E402  (needs the path above)

ENVIRONMENT = CHECKOUT / ".venv"
FETCHED = ENVIRONMENT / system_libraries.FETCHED.name
# Debian keeps pip out of Python; this package holds it as a wheel.
PIP_PACKAGE = "python3-pip-whl"
# Ubuntu 24.04 and Debian 13 renamed what has 64-bit times.
RENAMED = {"libasound2": "libasound2t64", "libglib2.0-0": "libglib2.0-0t64"}
# Graphics drivers come along with libegl1 and libgl1. They are large, and the window paints
# without them: unpacked in .venv they would serve nobody.
DRIVERS = re.compile(r"mesa|llvm|libz3|libdrm-|libsensors|libgbm|vulkan")
# Without a wheel python-rtmidi has to be built, which takes these two.
ALSA_HEADER = Path("/usr/include/alsa/asoundlib.h")
RTMIDI_WHEELS_END = (3, 13)

FONT_SETTINGS = """<?xml version="1.0"?>
<!DOCTYPE fontconfig SYSTEM "fonts.dtd">
<fontconfig>
  <dir>/usr/share/fonts</dir>
  <dir>{tree}/usr/share/fonts</dir>
  <cachedir prefix="xdg">fontconfig</cachedir>
</fontconfig>
"""


def main(arguments: Sequence[str] | None = None) -> int:
    """Install; 0 when the window (or the test run) can start afterwards."""
    parser = argparse.ArgumentParser(description="Install Postil in .venv, from this checkout.")
    parser.add_argument("--tests", action="store_true", help="also what the tests need")
    wish = parser.parse_args(arguments)
    try:
        python = make_environment()
        add_system_libraries()
        give_it_pip(python)
        install_postil(python, with_tests=wish.tests)
        add_live_midi(python)
    except (OSError, subprocess.CalledProcessError) as failure:
        return _fail(failure)
    if sentence := _what_the_window_lacks():
        print(sentence, file=sys.stderr)
        return 1
    print(f"Postil is installed. It starts with {python.parent / 'postil'}")
    return 0


def make_environment() -> Path:
    """Make ``.venv`` unless there is one of this Python; its interpreter."""
    scripts = "Scripts" if os.name == "nt" else "bin"
    python = ENVIRONMENT / scripts / ("python.exe" if os.name == "nt" else "python")
    if _version_of(python) != sys.version_info[:2]:
        print(f"Making {ENVIRONMENT}", flush=True)
        has_pip = importlib.util.find_spec("ensurepip") is not None
        builder = venv.EnvBuilder(with_pip=has_pip, symlinks=os.name != "nt", clear=True)
        builder.create(ENVIRONMENT)
    return python


def add_system_libraries() -> None:
    """Install or unpack what the window needs, where this is Linux with apt-get."""
    if sys.platform != "linux" or not shutil.which("apt-get"):
        return
    system_libraries.use_fetched_libraries(FETCHED)
    missing = system_libraries.missing_libraries(system_libraries.EVERYTHING)
    if not missing:
        return
    packages = system_libraries.packages_of(missing)
    print(f"System packages that are missing: {' '.join(packages)}", flush=True)
    try:
        _install_or_fetch(packages)
    except subprocess.CalledProcessError as failure:
        # No reason to stop: the command line works without a window.
        print(f"They could not be had: {_words(failure)}", file=sys.stderr)


def give_it_pip(python: Path) -> None:
    """Put pip into an environment that was made without."""
    if _run_quietly([python, "-m", "pip", "--version"]):
        return
    if not shutil.which("apt-get"):
        raise FileNotFoundError(
            f"{sys.executable} comes without ensurepip. Install the package of your system that "
            "brings it (python3-venv on Debian and Ubuntu), and run this again."
        )
    fetch([PIP_PACKAGE], alone=True)
    wheel = next(FETCHED.glob("usr/share/python-wheels/pip-*.whl"))
    _run([python, wheel / "pip", "install", "--quiet", "--no-index", wheel])


def install_postil(python: Path, *, with_tests: bool) -> None:
    """Install this checkout so that a change in it needs no second installation."""
    print("Installing Postil and what it is built on (several hundred megabytes)", flush=True)
    project = f"{CHECKOUT}[test]" if with_tests else str(CHECKOUT)
    quiet = [] if sys.stdout.isatty() else ["--quiet"]
    _run([python, "-m", "pip", "install", *quiet, "--editable", project])


def add_live_midi(python: Path) -> None:
    """Build python-rtmidi where there is no wheel and a compiler is at hand; else say so."""
    if sys.version_info < RTMIDI_WHEELS_END or _run_quietly([python, "-c", "import rtmidi"]):
        return
    can_build = shutil.which("c++") and (sys.platform != "linux" or ALSA_HEADER.exists())
    build: list[str | Path] = [python, "-m", "pip", "install", "-e", f"{CHECKOUT}[midi]"]
    if can_build and _run_quietly(build):
        return
    print(
        "Live MIDI is off: python-rtmidi has no ready build for this Python. Everything else "
        "works. With a C++ compiler and the ALSA headers (g++ libasound2-dev) run this again, "
        "or use Python 3.11 or 3.12."
    )


def fetch(packages: Iterable[str], *, alone: bool = False) -> None:
    """Unpack Debian packages and (unless ``alone``) what they need into ``.venv``, without root.

    apt-get gets folders of its own for its lists: those of the system may be empty, or old.
    """
    work = FETCHED / "apt"
    for folder in ("state/lists/partial", "cache/archives/partial", "packages"):
        (work / folder).mkdir(parents=True, exist_ok=True)
    settings = (f"Dir::State={work}/state", f"Dir::Cache={work}/cache", "APT::Sandbox::User=root")
    apt = ["apt-get", "-q", *(part for setting in settings for part in ("-o", setting))]
    _run([*apt, "update"], stdout=subprocess.DEVNULL)
    wanted = [_name_here(package, apt[2:]) for package in packages]
    names = wanted if alone else _with_what_they_need(wanted, apt)
    _run([*apt, "download", *names], cwd=work / "packages", stdout=subprocess.DEVNULL)
    for package in sorted((work / "packages").glob("*.deb")):
        _run(["dpkg-deb", "-x", package, FETCHED])
    shutil.rmtree(work)
    (FETCHED / "fonts.conf").write_text(FONT_SETTINGS.format(tree=FETCHED), encoding="utf-8")


def _with_what_they_need(packages: Sequence[str], apt: Sequence[str]) -> list[str]:
    plan = _run([*apt, "-s", "--no-install-recommends", "install", *packages], capture=True)
    # "Inst name [old] (new ...)" would replace a package that is installed: not ours to do.
    names = re.findall(r"^Inst (\S+) \(", plan, re.MULTILINE)
    return [name for name in names if not DRIVERS.search(name)]


def _install_or_fetch(packages: Sequence[str]) -> None:
    if os.geteuid() != 0:
        print(f"Unpacking them in {FETCHED}, since only root may install them", flush=True)
        fetch(packages)
        return
    print("Installing them with apt-get", flush=True)
    _run(["apt-get", "-q", "update"], stdout=subprocess.DEVNULL)
    names = [_name_here(package, []) for package in packages]
    install = ["apt-get", "-q", "-y", "--no-install-recommends", "install", *names]
    _run(install, stdout=subprocess.DEVNULL)


def _name_here(package: str, options: Sequence[str]) -> str:
    """The package's name in this release."""
    newer = RENAMED.get(package)
    return newer if newer and _run_quietly(["apt-cache", *options, "show", newer]) else package


def _what_the_window_lacks() -> str | None:
    system_libraries.use_fetched_libraries(FETCHED)
    return system_libraries.explain_missing()


def _version_of(python: Path) -> tuple[int, int] | None:
    """Major and minor version of an interpreter, None where there is none that runs."""
    question = "import sys; print(*sys.version_info[:2])"
    try:
        major, minor = _run([python, "-c", question], capture=True).split()
    except (OSError, subprocess.CalledProcessError):
        return None
    return int(major), int(minor)


def _run(
    command: Sequence[str | Path],
    *,
    cwd: Path | None = None,
    stdout: int | None = None,
    capture: bool = False,
) -> str:
    """Run a command to its good end; what it printed, if that was asked for."""
    done = subprocess.run(
        command,
        cwd=cwd,
        check=True,
        env={**os.environ, "DEBIAN_FRONTEND": "noninteractive", "LC_ALL": "C.UTF-8"},
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE if capture else stdout,
        stderr=subprocess.PIPE if capture else None,
        text=True,
    )
    return done.stdout or ""


def _run_quietly(command: Sequence[str | Path]) -> bool:
    try:
        _run(command, capture=True)
    except (OSError, subprocess.CalledProcessError):
        return False
    return True


def _words(failure: subprocess.CalledProcessError) -> str:
    return f"`{' '.join(map(str, failure.cmd))}` ended with status {failure.returncode}"


def _fail(failure: OSError | subprocess.CalledProcessError) -> int:
    if isinstance(failure, subprocess.CalledProcessError):
        print(f"Postil is not installed: {_words(failure)}.", file=sys.stderr)
        print(failure.stderr or "What it said stands above.", file=sys.stderr)
    else:
        print(f"Postil is not installed: {failure}", file=sys.stderr)
    return 1


if __name__ == "__main__":
    sys.exit(main())
