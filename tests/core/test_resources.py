from __future__ import annotations

from pathlib import Path

import pytest

import core.resources
from core.resources import resources, sample_library

CHECKOUT = Path(__file__).resolve().parents[2]


def test_a_checkout_has_its_data_beside_core() -> None:
    assert resources() == CHECKOUT / "resources"
    assert (sample_library() / "barcarolle.musicxml").is_file()


def test_data_inside_the_package_comes_first(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(core.resources, "_PACKAGE", tmp_path / "core")
    for folder in ("core/_resources", "resources"):
        (tmp_path / folder).mkdir(parents=True)

    assert resources() == tmp_path / "core" / "_resources"


def test_data_that_is_missing_is_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(core.resources, "_PACKAGE", tmp_path / "core")

    with pytest.raises(FileNotFoundError, match=r"sample_library belongs to Postil.*missing"):
        sample_library()
