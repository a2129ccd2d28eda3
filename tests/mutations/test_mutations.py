"""The script that damages files: the same seed does the same, and what fails is seen to fail."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from core.errors import UnreadableFileError
from tests.mutations import trying
from tests.mutations.crew import LONGEST_SECONDS, MOST_BYTES, outcomes, within_limits
from tests.mutations.mutating import mutated
from tests.mutations.sources import sources
from tests.mutations.trying import FAILED, READ, REFUSED, Outcome, Trial, damaged


def test_the_same_seed_damages_the_same_way() -> None:
    for source in sources():
        again = [damaged(source, seed=3, index=index) for index in (0, 1, 0)]
        assert again[0] == again[2] != again[1]


def test_every_way_gives_bytes_from_any_bytes() -> None:
    chance = random.Random(0)
    for source in sources():
        for data in (source.data, b"", b"x", b"<a>1</a>"):
            for _ in range(8):
                changed, done = mutated(source._replace(data=data), chance)
                assert isinstance(changed, bytes)
                assert done


@pytest.fixture
def trial(tmp_path: Path) -> Trial:
    made = Trial.begun(tmp_path)
    yield made
    made.end()


def test_whole_files_are_read_kept_and_analysed(trial: Trial) -> None:
    small = [source for source in sources() if source.name.startswith("small.")]
    for source in small:
        kind, said = trial.take(source.data, source.name)
        assert (kind, said.partition(" ")[2]) == (READ, "notes")
    assert trial.take(b"%PDF", "a.mid")[0] == REFUSED


def test_a_crash_is_a_failure(trial: Trial, monkeypatch: pytest.MonkeyPatch) -> None:
    def crash(*_: object, **__: object) -> None:
        raise IndexError("list index out of range")

    monkeypatch.setattr(trying, "read_bytes", crash)
    outcome = trial.outcome(sources()[0], seed=1, index=0)
    assert outcome.kind == FAILED
    assert "IndexError: list index out of range" in outcome.said


def test_what_is_half_kept_is_a_failure(trial: Trial, monkeypatch: pytest.MonkeyPatch) -> None:
    trial.count = 1
    monkeypatch.setattr(
        trying, "damaged", lambda source, **_: (b"%PDF", "a picture of something else")
    )
    outcome = trial.outcome(sources()[0], seed=1, index=0)
    assert outcome.kind == FAILED
    assert "1 pieces were kept; there are [0, 0, 0]" in outcome.said


def test_what_is_no_sentence_is_a_failure(trial: Trial, monkeypatch: pytest.MonkeyPatch) -> None:
    def mumble(*_: object, name: str) -> None:
        raise UnreadableFileError(name, "broken\n")

    monkeypatch.setattr(trying, "read_bytes", mumble)
    assert "No sentence" in trial.outcome(sources()[0], seed=1, index=0).said


@pytest.mark.parametrize(
    ("seconds", "peak", "kind"),
    [(1, 1, READ), (LONGEST_SECONDS + 1, 1, FAILED), (1, MOST_BYTES + 1, FAILED)],
)
def test_time_and_memory_are_limited(seconds: float, peak: int, kind: str) -> None:
    outcome = Outcome(0, READ, "a.xml", "cut_off", "3 notes", seconds, peak)
    assert within_limits(outcome).kind == kind


@pytest.mark.slow
def test_workers_take_their_cases_and_a_hang_is_given_up() -> None:
    done = list(outcomes(range(4), seed=1, jobs=1))
    assert sorted(outcome.index for outcome in done) == [0, 1, 2, 3]
    assert {outcome.kind for outcome in done} <= {READ, REFUSED}
    (given_up,) = outcomes([0], seed=1, jobs=1, patience=0.01)
    assert given_up.kind == FAILED
    assert given_up.said.startswith("No answer in 0 s.")
