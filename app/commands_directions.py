"""``postil directions``: what printed words mean, without a score.

Apart from the other commands, so that it does not wait for what reads scores.
"""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Iterator, Sequence
from contextlib import suppress

from app.main import SOME_FAILED, SUCCESS, WRONG_USAGE
from core.directions.meaning import Meaning
from core.directions.reading import read_direction
from core.exchange.contract_directions import meaning_fields

_INTERRUPTED = 130
_LABEL_WIDTH = 14


def directions(texts: Sequence[str], *, from_input: bool, as_json: bool, to: str) -> int:
    """Print what each direction means, in the order given; the exit status."""
    if bool(texts) == from_input:
        print(
            "postil directions: give the words to read, or --stdin to read them from standard "
            "input, one direction a line.",
            file=sys.stderr,
        )
        return WRONG_USAGE
    for stream in (sys.stdin, sys.stdout, sys.stderr):
        # A test's stream may have no encoding to set.
        with suppress(AttributeError):
            stream.reconfigure(encoding="utf-8", errors="replace")  # type: ignore[union-attr]
    try:
        for text in _lines() if from_input else texts:
            meaning = read_direction(text, to=to)
            print(_json(meaning) if as_json else report(meaning))
        sys.stdout.flush()
    except KeyboardInterrupt:
        return _INTERRUPTED
    except BrokenPipeError:
        # The reader (head, less) has seen enough; Python must not flush again when it ends.
        with suppress(OSError, ValueError):
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return SOME_FAILED
    return SUCCESS


def _lines() -> Iterator[str]:
    """Lines of standard input; only a line feed ends one, an empty line is a direction too."""
    for line in sys.stdin:
        yield line.removesuffix("\n").removesuffix("\r")


def _json(meaning: Meaning) -> str:
    # A lone surrogate of a command line's odd bytes can't be written as UTF-8.
    text = json.dumps(meaning_fields(meaning), ensure_ascii=False, allow_nan=False)
    return text.encode("utf-8", "replace").decode("utf-8")


def report(meaning: Meaning) -> str:
    """A few lines for a reader."""
    rows = [
        ("means", meaning.translation or "not understood"),
        ("or", "; ".join(dict.fromkeys(other.translation for other in meaning.alternatives))),
        ("written out", meaning.normal_form if meaning.normal_form != meaning.text else ""),
        ("kind", ", ".join(meaning.categories)),
        ("language", meaning.language or ""),
        ("standing", "" if meaning.is_known else "no standard meaning"),
    ]
    shown = [f"  {label:<{_LABEL_WIDTH}}{text}" for label, text in rows if text]
    return "\n".join([meaning.text.encode("utf-8", "replace").decode(), *shown])
