"""All directions of a score: what belongs together joined, what is printed twice told once.

Conventions: onsets in ticks from the start of the score, as in ``core.score.score``. Pieces are
joined in one staff, over at most ``MOST_MEASURES_APART`` measures from piece to piece.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from core.directions.folding import folded
from core.directions.meaning import Meaning
from core.directions.reading import is_one_word, is_open, read_direction
from core.score.score import RawDirection, Score

MOST_MEASURES_APART = 2
_MOST_PIECES = 6
_SPOKEN_KINDS = {"words", "dynamics"}
_SIGNS = {
    "segno": ("sign", "the sign to which one returns"),
    "coda": ("coda sign", "the sign of the closing passage"),
}
"""Signs without words: their name, and what they mean. Common practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DirectionMeaning:
    """A direction at its place, with what it means.

    Parameters
    ----------
    meaning : Meaning
    kind : str
        As ``RawDirection``, of the first piece.
    direction_ids : tuple of str
        Ids of all that is told here: pieces in order, then what repeats them in other staves.
    measure_index, onset, part, staff : int
        Where the first piece stands.
    end_onset : int
        Where the last piece stands.
    """

    meaning: Meaning
    kind: str
    direction_ids: tuple[str, ...]
    measure_index: int
    onset: int
    part: int
    staff: int
    end_onset: int


class _Joined(NamedTuple):
    """Pieces that are one direction."""

    text: str
    pieces: tuple[RawDirection, ...]


def meanings_of(score: Score, *, to: str = "en") -> tuple[DirectionMeaning, ...]:
    """What is printed in a score means this, in the order of the score.

    Wedges are told as the words they stand for; other lines and signs without words are left out,
    but for segno and coda. The language of most of a score's words decides between equals.

    Raises
    ------
    ValueError
        As ``read_direction``.
    """
    joined = _without_doubles(_joined(score.directions))
    context = _main_language(one.text for one, _ in joined if one.pieces[0].kind == "words")
    return tuple(_told(one, doubles, context, to) for one, doubles in joined)


def _told(one: _Joined, doubles: Sequence[str], context: str | None, to: str) -> DirectionMeaning:
    first = one.pieces[0]
    return DirectionMeaning(
        meaning=_meaning(one, context, to),
        kind=first.kind,
        direction_ids=(*(piece.id for piece in one.pieces), *doubles),
        measure_index=first.measure_index,
        onset=first.onset,
        part=first.part,
        staff=first.staff,
        end_onset=one.pieces[-1].onset,
    )


def _meaning(one: _Joined, context: str | None, to: str) -> Meaning:
    kind = one.pieces[0].kind
    if kind == "rehearsal":
        return Meaning(
            text=one.text,
            categories=("structure navigation",),
            normal_form=one.text,
            is_known=True,
            confidence=1.0,
        )
    if kind in _SIGNS and not one.text:
        name, meaning = _SIGNS[kind]
        return Meaning(
            text="",
            categories=("structure navigation",),
            normal_form=name,
            translation=meaning,
            is_known=True,
            confidence=1.0,
        )
    return read_direction(one.text, context_language=context, to=to)


def _main_language(texts: Iterable[str]) -> str | None:
    """The commonest language of the words; None where there is none."""
    counts = Counter(read_direction(text).language for text in texts)
    for absent in (None, "mix"):
        counts.pop(absent, None)
    return max(counts, key=lambda language: counts[language]) if counts else None


# ------------------------------------------------------------------------------- joining


def _joined(directions: Sequence[RawDirection]) -> list[_Joined]:
    """Pieces joined, staff by staff, put back in the order of the score."""
    told = [d for d in directions if d.text or d.kind in _SIGNS]
    order = {id(direction): position for position, direction in enumerate(told)}
    streams: dict[tuple[int, int], list[RawDirection]] = {}
    found = []
    for direction in told:
        if direction.kind in _SPOKEN_KINDS:
            streams.setdefault((direction.part, direction.staff), []).append(direction)
        else:
            found.append(_Joined(text=direction.text, pieces=(direction,)))
    for stream in streams.values():
        found += _joined_stream(stream)
    return sorted(found, key=lambda one: order[id(one.pieces[0])])


def _joined_stream(stream: Sequence[RawDirection]) -> Iterator[_Joined]:
    position = 0
    while position < len(stream):
        pieces = _syllables(stream, position) or _phrase(stream, position)
        joint = " - " if _is_syllables(pieces) else " "
        yield _Joined(text=joint.join(piece.text for piece in pieces), pieces=tuple(pieces))
        position += len(pieces)


def _is_syllables(pieces: Sequence[RawDirection]) -> bool:
    return len(pieces) > 1 and is_one_word(_spelled(pieces))


def _spelled(pieces: Sequence[RawDirection]) -> str:
    return " - ".join(piece.text for piece in pieces)


def _syllables(stream: Sequence[RawDirection], start: int) -> list[RawDirection]:
    """The longest run that spells one word ("cre", "scen", "do"); empty without one."""
    if stream[start].kind != "words":
        return []
    best: list[RawDirection] = []
    run = _run(stream, start)
    if is_one_word(run[0].text) and not run[0].text.rstrip().endswith("-"):
        return []
    for length in range(2, len(run) + 1):
        if is_one_word(_spelled(run[:length])):
            best = run[:length]
    return best


def _run(stream: Sequence[RawDirection], start: int) -> list[RawDirection]:
    """Words from ``start`` on that stand near enough to one another."""
    run = [stream[start]]
    for direction in stream[start + 1 : start + _MOST_PIECES]:
        apart = direction.measure_index - run[-1].measure_index
        if direction.kind != "words" or apart > MOST_MEASURES_APART:
            break
        run.append(direction)
    return run


def _phrase(stream: Sequence[RawDirection], start: int) -> list[RawDirection]:
    """A direction with what it waits for ("poco", "a", "poco", "cresc."; "più", "f")."""
    pieces = [stream[start]]
    while len(pieces) < _MOST_PIECES and start + len(pieces) < len(stream):
        follower = stream[start + len(pieces)]
        if not _belongs(pieces, follower):
            break
        pieces.append(follower)
    # What still waits at the end was not split: the pieces stand each for itself.
    text = " ".join(piece.text for piece in pieces)
    return pieces if len(pieces) == 1 or not is_open(text) or _is_gradual(text) else pieces[:1]


def _belongs(pieces: Sequence[RawDirection], follower: RawDirection) -> bool:
    last = pieces[-1]
    apart = follower.measure_index - last.measure_index
    text = " ".join(piece.text for piece in pieces)
    if last.kind != "words" or apart > MOST_MEASURES_APART or not is_open(text):
        return False
    if follower.kind == "dynamics":
        return apart == 0
    return apart <= 1 and not follower.text[:1].isupper()


def _is_gradual(text: str) -> bool:
    return folded(text).strip(" .") == "poco a poco"


def _without_doubles(joined: Sequence[_Joined]) -> list[tuple[_Joined, tuple[str, ...]]]:
    """Each direction once, with the ids of those that say the same at the same onset."""
    found: dict[tuple[int, str, str], tuple[_Joined, list[str]]] = {}
    for one in joined:
        first = one.pieces[0]
        key = (first.onset, first.kind, folded(one.text))
        if key in found:
            found[key][1].extend(piece.id for piece in one.pieces)
        else:
            found[key] = (one, [])
    return [(one, tuple(ids)) for one, ids in found.values()]
