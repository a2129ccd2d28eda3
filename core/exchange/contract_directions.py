"""A direction's meaning as the fields of ``postil directions --json``.

Conventions: the fields of CONTRACT's ``directions``, without the place; an alternative is an
object with ``normal_form`` and ``translation``.
"""

from __future__ import annotations

from core.directions.meaning import Meaning

CONFIDENCE_DECIMALS = 4


def meaning_fields(meaning: Meaning) -> dict[str, object]:
    """The fields, in the contract's order; ``confidence`` behind them."""
    return {
        "text": meaning.text,
        "language": meaning.language,
        "category": list(meaning.categories),
        "normal_form": meaning.normal_form,
        "translation": meaning.translation,
        "known": meaning.is_known,
        "alternatives": [
            {"normal_form": other.normal_form, "translation": other.translation}
            for other in meaning.alternatives
        ],
        "confidence": round(meaning.confidence, CONFIDENCE_DECIMALS),
    }
