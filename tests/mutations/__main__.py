"""Damage small files of every format, and see what becomes of them.

    python -m tests.mutations --seed 1 --count 2000

Each file is read, kept in a notebook and analysed. It may be sent back with a sentence; it may not
crash, take more than 10 s or 1 GB, or leave anything half kept. What fails is printed with the
command that does it again; exit status 1 then. The same seed damages the same files the same way,
as long as the sources are the same.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from pathlib import Path

from tests.mutations.crew import outcomes, source_of
from tests.mutations.sources import sources
from tests.mutations.trying import FAILED, Outcome, damaged


def main() -> int:
    """Run what the command line asks for."""
    parser = argparse.ArgumentParser(prog="python -m tests.mutations", description=__doc__)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--count", type=int, default=2000, help="files to damage")
    parser.add_argument("--first", type=int, default=0, help="number of the first of them")
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--write", type=Path, help="a folder for the files that failed")
    parser.add_argument("--sentences", action="store_true", help="print what each was told")
    options = parser.parse_args()
    counts: Counter[tuple[str, str]] = Counter()
    slowest, largest = 0.0, 0
    indices = range(options.first, options.first + options.count)
    for outcome in outcomes(indices, seed=options.seed, jobs=options.jobs):
        suffix = source_of(outcome.index, sources()).name.rpartition(".")[2]
        counts[suffix, outcome.kind] += 1
        slowest, largest = max(slowest, outcome.seconds), max(largest, outcome.peak_bytes)
        if outcome.kind == FAILED:
            _tell(outcome, options.seed, options.write)
        elif options.sentences:
            print(f"{outcome.index} {outcome.damage}: {outcome.said}")
    for (suffix, kind), count in sorted(counts.items()):
        print(f"{suffix:9} {kind:8} {count}")
    print(f"slowest {slowest:.1f} s of the processor, largest {largest / 2**20:.0f} MB")
    return any(kind == FAILED for _, kind in counts)


def _tell(outcome: Outcome, seed: int, folder: Path | None) -> None:
    source = source_of(outcome.index, sources())
    data, damage = damaged(source, seed=seed, index=outcome.index)
    print(f"FAILED {outcome.index} ({source.name}: {damage}):\n{outcome.said}")
    print(f"again: python -m tests.mutations --seed {seed} --first {outcome.index} --count 1\n")
    if folder is not None:
        folder.mkdir(parents=True, exist_ok=True)
        (folder / f"{seed}-{outcome.index}-{source.name}").write_bytes(data)
    sys.stdout.flush()


if __name__ == "__main__":
    sys.exit(main())
