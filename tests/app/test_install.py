from __future__ import annotations

import ast
import subprocess
import sys
import zipfile
from collections.abc import Sequence
from pathlib import Path

import pytest

from app import install, system_libraries

CHECKOUT = Path(__file__).resolve().parents[2]
on_linux = pytest.mark.skipif(sys.platform != "linux", reason="apt-get is a Linux thing")

# What apt-get of Debian 12 prints for a plan; the versions do not matter.
PLAN = """\
Reading package lists...
Inst libglvnd0 (1.6.0-1 Debian:12/stable [amd64])
Inst libdrm-common (2.4.114-1 Debian:12/stable [all])
Inst libdrm2 (2.4.114-1+b1 Debian:12/stable [amd64])
Inst libgl1-mesa-dri (22.3.6-1 Debian:12/stable [amd64])
Inst libc6 [2.36-9] (2.36-10 Debian:12/stable [amd64])
Inst libegl1 (1.6.0-1 Debian:12/stable [amd64])
Conf libglvnd0 (1.6.0-1 Debian:12/stable [amd64])
"""


def test_an_old_python_reads_far_enough_to_say_that_it_is_too_old() -> None:
    source = (CHECKOUT / "app" / "install.py").read_text(encoding="utf-8")

    tree = ast.parse(source, feature_version=(3, 8))

    first_own_import = next(
        node.lineno
        for node in tree.body
        if isinstance(node, ast.ImportFrom) and node.module == "app"
    )
    assert source[: source.index("Postil needs Python 3.11")].count("\n") < first_own_import


def test_the_plan_leaves_out_drivers_and_what_is_installed(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(install, "_run", lambda *_, **__: PLAN)

    names = install._with_what_they_need(["libegl1"], ["apt-get"])

    assert names == ["libglvnd0", "libdrm2", "libegl1"]


@on_linux
@pytest.mark.parametrize(("user", "expected"), [(0, "apt-get -q -y"), (1000, "fetched")])
def test_root_installs_and_anybody_else_unpacks(
    user: int, expected: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    done: list[str] = []
    monkeypatch.setattr("os.geteuid", lambda: user)
    monkeypatch.setattr(install, "_run", lambda command, **_: done.append(" ".join(command)))
    monkeypatch.setattr(install, "fetch", lambda packages: done.append("fetched"))

    install._install_or_fetch(["libegl1"])

    assert done[-1].startswith(expected)


@on_linux
def test_packages_that_cannot_be_had_do_not_end_the_installation(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def refuse(packages: Sequence[str]) -> None:
        raise subprocess.CalledProcessError(100, ["apt-get", "update"])

    monkeypatch.setattr("shutil.which", lambda _: "/usr/bin/apt-get")
    monkeypatch.setattr(system_libraries, "missing_libraries", lambda _: ("libEGL.so.1",))
    monkeypatch.setattr(install, "_install_or_fetch", refuse)

    install.add_system_libraries()

    assert (
        "They could not be had: `apt-get update` ended with status 100" in capsys.readouterr().err
    )


def test_a_step_that_fails_is_named_with_its_status(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fail() -> Path:
        raise subprocess.CalledProcessError(2, ["python", "-m", "pip"], stderr="no such index")

    monkeypatch.setattr(install, "make_environment", fail)

    assert install.main([]) == 1
    assert capsys.readouterr().err == (
        "Postil is not installed: `python -m pip` ended with status 2.\nno such index\n"
    )


def test_an_interpreter_that_is_not_there_has_no_version(tmp_path: Path) -> None:
    assert install._version_of(tmp_path / "python") is None
    assert install._version_of(Path(sys.executable)) == sys.version_info[:2]


def test_ci_runs_what_the_readme_tells() -> None:
    readme = (CHECKOUT / "README.md").read_text(encoding="utf-8")
    ci = (CHECKOUT / ".ci" / "run").read_text(encoding="utf-8")
    told = [line for line in readme.splitlines() if "app/install.py --tests" in line]

    install_command, test_command = told[0].split(" && ")
    assert install_command in ci
    assert test_command in ci


@pytest.mark.slow
def test_a_wheel_carries_its_data_inside_core_and_finds_it_there(tmp_path: Path) -> None:
    build = [sys.executable, "-m", "hatchling", "build", "--target", "wheel"]
    subprocess.run(
        [*build, "--directory", str(tmp_path)], cwd=CHECKOUT, check=True, capture_output=True
    )
    site = tmp_path / "site"
    with zipfile.ZipFile(next(tmp_path.glob("postil-*.whl"))) as wheel:
        wheel.extractall(site)
    program = """
from core.resources import resources, sample_library
print(resources())
print(sample_library())
"""
    child = subprocess.run(
        # -I would hide the variable; what it guards against can't be in an empty folder.
        [sys.executable, "-c", program],
        cwd=tmp_path,
        env={"PYTHONPATH": str(site)},
        check=True,
        capture_output=True,
        text=True,
    )
    resources, sample_library = map(Path, child.stdout.split())

    assert {path.name for path in site.iterdir() if "dist-info" not in path.name} == {"app", "core"}
    assert resources == site / "core" / "_resources"
    assert (resources / "fonts" / "inter" / "Inter-Medium.ttf").is_file()
    assert (resources / "fonts" / "eb_garamond" / "OFL.txt").is_file()
    assert sample_library == site / "core" / "_sample_library"
    assert (sample_library / "barcarolle.musicxml").is_file()
    assert (sample_library / "notebook.toml").is_file()
