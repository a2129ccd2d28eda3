"""Frozen values as JSON and back, told apart by their types.

Not pickle: a notebook may come from somebody else, and to unpickle is to run what it says. What
is read is held against the annotations of the dataclasses, field by field.

Conventions: a fraction is text ("7/2"), the rest as ``msgspec`` writes it.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Hashable
from fractions import Fraction
from functools import lru_cache
from typing import Any, TypeVar, cast

import msgspec
import numpy as np

ValueT = TypeVar("ValueT")

_ADDRESS = re.compile(r" at 0x[0-9a-f]+")
FRACTIONS_REMEMBERED = 4096
"""Onsets come again and again, and to read one anew takes longer than to look it up."""


def to_json(value: object) -> bytes:
    """A value of dataclasses, enums, tuples, fractions, texts and numbers as JSON (UTF-8).

    Raises
    ------
    TypeError
        Something in it is none of these.
    """
    return msgspec.json.encode(value, enc_hook=_plain)


def from_json(kind: type[ValueT], data: bytes) -> ValueT:
    """A value of that type.

    Raises
    ------
    ValueError
        The data are damaged, or of another type.
    """
    try:
        value: ValueT = _decoder(cast("Hashable", kind)).decode(data)
    # An ArithmeticError is "1/0"; a RecursionError ten thousand brackets.
    except (msgspec.MsgspecError, ValueError, ArithmeticError, RecursionError) as error:
        raise ValueError(f"data hold no {kind.__name__}: {error}") from error
    return value


@lru_cache(maxsize=16)
def shape_of(kind: type) -> str:
    """A short name for all fields and types that a value of this type is made of.

    Two versions of a program that give the same name can read each other's JSON; a field that
    was added, with a default or not, gives another one.
    """
    # Names of functions that make defaults carry their address.
    described = _ADDRESS.sub("", repr(msgspec.inspect.type_info(kind)))
    return hashlib.sha256(described.encode()).hexdigest()[:16]


@lru_cache(maxsize=16)
def _decoder(kind: Hashable) -> msgspec.json.Decoder[Any]:
    return msgspec.json.Decoder(kind, dec_hook=_special)


def _plain(value: object) -> object:
    if isinstance(value, Fraction):
        return str(value)
    if isinstance(value, np.generic):
        return value.item()
    raise TypeError(f"{type(value).__name__} can't be kept as JSON: {value!r}")


def _special(kind: type, data: object) -> object:
    if kind is Fraction and isinstance(data, str):
        return _fraction(data)
    raise ValueError(f"{data!r} is no {kind.__name__}")


@lru_cache(maxsize=FRACTIONS_REMEMBERED)
def _fraction(text: str) -> Fraction:
    return Fraction(text)
