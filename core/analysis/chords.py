"""Chords, beat by beat: the root and quality that account best for what sounds.

Conventions: roots and basses are pitch classes (C is 0); a chord is a row of ``QUALITIES`` and a
root. What sounds in a beat is compared with every chord of the table: the share of the sound
that belongs to it, less what is missing of it, with an advantage for a root in the bass.
Where more than four tenths of the sound lie outside the best chord, none is claimed.

Source of the table: common practice.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from core.analysis.slices import NO_BASS, Floats, Ints, Slices

QUALITIES: tuple[tuple[str, tuple[int, ...]], ...] = (
    ("major", (0, 4, 7)),
    ("minor", (0, 3, 7)),
    ("diminished", (0, 3, 6)),
    ("dominant seventh", (0, 4, 7, 10)),
    ("diminished seventh", (0, 3, 6, 9)),
    ("half-diminished seventh", (0, 3, 6, 10)),
    ("minor seventh", (0, 3, 7, 10)),
    ("major seventh", (0, 4, 7, 11)),
    ("augmented", (0, 4, 8)),
)
"""Names, and semitones above the root."""
QUALITY_INDEX = {name: index for index, (name, _) in enumerate(QUALITIES)}
NO_CHORD = -1
MISSING, PER_TONE, ROOT_IN_BASS = 0.12, 0.02, 0.1
"""Lost for each tone that is missing and for each tone of the chord; won by the bass."""
OF_AUGMENTED = 0.18
"""Lost more for a tone missing of an augmented chord, where chords are named for a reader: two
tones a major third or minor sixth apart are part of a plain triad to him."""
FULL_TONE = 0.12
"""Share of the sound from which on a tone counts as fully there."""
LEAST_COVERED = 0.6


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Chords:
    """The chord of each slice.

    Parameters
    ----------
    quality : shape (n,)
        Row of ``QUALITIES``, or ``NO_CHORD``.
    root, bass : shape (n,)
        Pitch classes; -1 where there is none.
    covered : shape (n,)
        Share of the sound that belongs to the chord, 0 to 1.
    """

    quality: Ints
    root: Ints
    bass: Ints
    covered: Floats

    def __len__(self) -> int:
        return len(self.root)

    @property
    def changes(self) -> Ints:
        """Slices in which another chord begins (or none), the first one included."""
        name = self.quality * 12 + self.root
        return np.flatnonzero(np.r_[True, name[1:] != name[:-1]]) if len(name) else name

    def pace(self, quarters: Floats) -> float:
        """Changes of root a quarter; ``quarters`` are the lengths of the slices."""
        named = self.quality != NO_CHORD
        changes = np.count_nonzero(np.diff(self.root[named]))
        return float(changes / max(float(quarters[named].sum()), 1.0))


def _templates() -> Floats:
    tones = np.zeros((12, 12 * len(QUALITIES)))
    for number, (_, steps) in enumerate(QUALITIES):
        for root in range(12):
            tones[[(root + step) % 12 for step in steps], 12 * number + root] = 1
    return tones


_TONES = _templates()
_SIZES = _TONES.sum(axis=0)
_ROOTS = np.tile(np.arange(12), len(QUALITIES))
_AUGMENTED = np.repeat([float(name == "augmented") for name, _ in QUALITIES], 12)


def chords_of(slices: Slices, *, is_for_reader: bool = False) -> Chords:
    """The chord of every slice; see ``chords_in``."""
    bass = np.where(slices.bass == NO_BASS, -1, 7 * slices.bass % 12)
    return chords_in(slices.pitch_classes, bass, is_for_reader=is_for_reader)


def chords_in(pitch_classes: Floats, bass: Ints, *, is_for_reader: bool = False) -> Chords:
    """The chord of each row.

    Parameters
    ----------
    pitch_classes : shape (n, 12)
        How long each sounds, in any unit.
    bass : shape (n,)
        Pitch class of the bass; -1 for none.
    is_for_reader : bool
        Whether an augmented chord needs all its tones: it does where it is named, and not where
        it is evidence for a key.
    """
    sounding = pitch_classes.sum(axis=1, keepdims=True)
    covered, fit = fits_in(pitch_classes, bass, is_for_reader=is_for_reader)
    best = fit.argmax(axis=1)
    share = covered[np.arange(len(best)), best]
    is_clear = (sounding[:, 0] > 0) & (share > LEAST_COVERED)
    return Chords(
        quality=np.where(is_clear, best // 12, NO_CHORD),
        root=np.where(is_clear, best % 12, -1),
        bass=bass,
        covered=np.where(is_clear, share, 0.0),
    )


def fits_in(
    pitch_classes: Floats, bass: Ints, *, is_for_reader: bool = False
) -> tuple[Floats, Floats]:
    """Of every chord in each row: the share of the sound that belongs to it, and how well it fits.

    Parameters
    ----------
    pitch_classes, bass, is_for_reader
        As in ``chords_in``.

    Returns
    -------
    covered, fit : each of shape (n, 12 * len(QUALITIES))
        Column ``12 * quality + root``.
    """
    sounding = pitch_classes.sum(axis=1, keepdims=True)
    shares = pitch_classes / np.maximum(sounding, 1e-9)
    covered = shares @ _TONES
    there = np.minimum(shares / FULL_TONE, 1.0) @ _TONES
    missing = MISSING + OF_AUGMENTED * _AUGMENTED if is_for_reader else MISSING
    fit = covered - missing * (_SIZES - there) - PER_TONE * _SIZES
    fit += ROOT_IN_BASS * (_ROOTS[np.newaxis, :] == bass[:, np.newaxis])
    return covered, fit
