"""WAV and MIDI on the disk: whole, or not at all."""

from __future__ import annotations

import wave
from pathlib import Path

import numpy as np
import pytest

from core.errors import StorageError
from core.exchange.sound_file import write_midi, write_wav
from core.score.places import Passage
from core.takes.playing import Performance, perform
from tests.core.takes.small_passages import two_hands


@pytest.fixture
def played() -> Performance:
    return perform(two_hands(), Passage.of_measures(0, 0))


def names_in(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_a_wav_file_lasts_as_long_as_the_passage_and_its_tail(
    tmp_path: Path, played: Performance
) -> None:
    path = tmp_path / "passage.wav"
    assert write_wav(played, path)
    with wave.open(str(path)) as sound:
        assert (sound.getframerate(), sound.getsampwidth(), sound.getnchannels()) == (44100, 2, 2)
        seconds = sound.getnframes() / 44100
        samples = np.frombuffer(sound.readframes(sound.getnframes()), dtype="<i2")
    assert 4 <= seconds <= 5.5
    assert 1000 < np.abs(samples).max() < 32767
    assert names_in(tmp_path) == ["passage.wav"]


def test_an_export_that_is_given_up_leaves_nothing(tmp_path: Path, played: Performance) -> None:
    assert not write_wav(played, tmp_path / "passage.wav", is_wanted=lambda: False)
    assert names_in(tmp_path) == []


def test_a_folder_that_is_not_there_is_one_sentence(tmp_path: Path, played: Performance) -> None:
    path = tmp_path / "gone" / "passage.mid"
    with pytest.raises(StorageError, match=r"passage\.mid: It could not be written \(No such file"):
        write_midi(played, path)


def test_what_stood_there_stays_when_the_disk_is_full(
    tmp_path: Path, played: Performance, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "passage.wav"
    path.write_bytes(b"before")

    def full(_: object, __: bytes) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(wave.Wave_write, "writeframesraw", full)
    with pytest.raises(StorageError, match=r"No space left on device.*make room"):
        write_wav(played, path)
    assert path.read_bytes() == b"before"
    assert names_in(tmp_path) == ["passage.wav"]
