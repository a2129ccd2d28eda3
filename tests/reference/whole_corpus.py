"""Every MusicXML and MXL score of music21's corpus, read three ways, in figures.

    python -m tests.reference.whole_corpus [--only BEGINNING] [--jobs 2]

Takes about an hour on two cores. For each score that differs it prints what differs and whether
the explanations of ``explained`` hold; the last lines count.
"""

from __future__ import annotations

import argparse
from collections import Counter
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor

from tests.reference.explained import REASONS
from tests.reference.readings import (
    Reading,
    by_music21,
    by_partitura,
    by_postil,
    corpus_folder,
    corpus_scores,
    differences,
)


def compared(name: str) -> tuple[str, int, str, str]:
    """Name, notes, and the verdicts on music21 and partitura; empty where all agrees."""
    path = corpus_folder() / name
    try:
        written, sounding = (by_postil(path, sounding=s) for s in (False, True))
    except Exception as error:  # noqa: BLE001  (a survey goes on, and says what happened)
        return name, 0, f"not read by Postil: {error!r}", ""
    return (
        name,
        sum(map(len, written)),
        _verdict(by_music21, path, written, written),
        _verdict(by_partitura, path, written, sounding),
    )


def _verdict(read: Callable[..., Reading], path: object, written: Reading, ours: Reading) -> str:
    try:
        theirs = read(path)
    except Exception as error:  # noqa: BLE001  (their reader's errors are of any kind)
        return f"fails with {type(error).__name__}"
    kinds = differences(ours, theirs)
    if not kinds:
        return ""
    reasons = [name for name, (_, holds) in REASONS.items() if holds(written, ours, theirs)]
    return f"{'+'.join(kinds)}: {reasons[0] if reasons else 'UNEXPLAINED'}"


def main() -> None:
    """Read the scores and print the figures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--only", default="", help="names that begin so, as bach/ or mozart/")
    parser.add_argument("--jobs", type=int, default=2)
    options = parser.parse_args()
    names = [name for name in corpus_scores() if name.startswith(options.only)]
    counts: dict[str, Counter[str]] = {"music21": Counter(), "partitura": Counter()}
    notes = 0
    with ProcessPoolExecutor(options.jobs) as pool:
        for name, count, *verdicts in pool.map(compared, names):
            notes += count
            for reader, verdict in zip(counts, verdicts, strict=True):
                counts[reader][verdict or "agrees"] += 1
                if verdict:
                    print(f"{name}: {reader}: {verdict}", flush=True)
    print(f"{len(names)} scores, {notes} notes")
    for reader, verdicts_counted in counts.items():
        print(f"{reader}: " + "; ".join(f"{n} {v}" for v, n in verdicts_counted.most_common()))


if __name__ == "__main__":
    main()
