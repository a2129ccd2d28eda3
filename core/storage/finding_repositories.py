"""Judgements and kept analyses in tables: what the ports of ``core.notebook`` ask."""

from __future__ import annotations

from dataclasses import asdict, replace

from sqlalchemy import and_, bindparam, select

from core.errors import MissingError
from core.notebook.values import AnalysisKey, Judgement
from core.storage import rows
from core.storage.access import KEY, Access
from core.storage.repositories import EDITION_BY_HASH, PIECE
from core.storage.tables import ANALYSES, JUDGEMENTS

JUDGEMENT = select(JUDGEMENTS).where(JUDGEMENTS.c.id == KEY)
JUDGEMENTS_OF_PIECE = (
    select(JUDGEMENTS)
    .where(JUDGEMENTS.c.piece_id == KEY)
    .order_by(JUDGEMENTS.c.edited_at.desc(), JUDGEMENTS.c.id.desc())
)
CHANGE_JUDGEMENT = JUDGEMENTS.update().where(JUDGEMENTS.c.id == KEY)
REMOVE_JUDGEMENT = JUDGEMENTS.delete().where(JUDGEMENTS.c.id == KEY)


class SqlJudgements:
    """JudgementRepository."""

    def __init__(self, access: Access) -> None:
        self._access = access

    def add(self, judgement: Judgement) -> Judgement:
        """Store a new judgement (id 0) or a withdrawn one under its old id."""
        self._access.refuse_known(JUDGEMENT, "judgement", judgement.id)
        self._access.require(PIECE, "piece", judgement.piece_id)
        columns = rows.with_id(judgement, rows.judgement_columns(judgement))
        return replace(judgement, id=self._access.insert(JUDGEMENTS, columns, "judgement"))

    def get(self, judgement_id: int) -> Judgement:
        """The judgement. Raises MissingError."""
        return rows.judgement_of(self._access.require(JUDGEMENT, "judgement", judgement_id))

    def of_piece(self, piece_id: int) -> tuple[Judgement, ...]:
        """All judgements of the piece, the one edited last first."""
        found = self._access.all(JUDGEMENTS_OF_PIECE, key=piece_id)
        return tuple(rows.judgement_of(row) for row in found)

    def replace(self, judgement: Judgement) -> None:
        """Write every field anew. Raises MissingError."""
        columns = rows.judgement_columns(judgement)
        self._access.change(CHANGE_JUDGEMENT, "judgement", judgement.id, columns)

    def remove(self, judgement_id: int) -> None:
        """Remove it. Raises MissingError."""
        self._access.change(REMOVE_JUDGEMENT, "judgement", judgement_id)


# Named unlike the columns: SQLAlchemy keeps those names for the values of an update.
IS_KEY = and_(
    ANALYSES.c.score_sha256 == bindparam("its_score_sha256"),
    ANALYSES.c.canonical_version == bindparam("its_canonical_version"),
    ANALYSES.c.analyser_version == bindparam("its_analyser_version"),
    ANALYSES.c.settings == bindparam("its_settings"),
)
IS_OLDER = and_(
    ANALYSES.c.score_sha256 == bindparam("its_score_sha256"),
    ANALYSES.c.analyser_version < bindparam("its_analyser_version"),
)
PAYLOAD = select(ANALYSES.c.payload).where(IS_KEY)
REMOVE_ANALYSIS = ANALYSES.delete().where(IS_KEY)
REMOVE_OLDER = ANALYSES.delete().where(IS_OLDER)


class SqlAnalyses:
    """AnalysisRepository."""

    def __init__(self, access: Access) -> None:
        self._access = access

    def get(self, key: AnalysisKey) -> bytes | None:
        """What is kept under the key; None for nothing."""
        row = self._access.first(PAYLOAD, **_parameters(key))
        return None if row is None else bytes(row[0])

    def put(self, key: AnalysisKey, payload: bytes) -> None:
        """Keep it, in place of what is there; drop what earlier versions made."""
        if self._access.first(EDITION_BY_HASH, key=key.score_sha256) is None:
            raise MissingError("score", key.score_sha256)
        parameters = _parameters(key)
        self._access.write(REMOVE_ANALYSIS, parameters)
        self._access.write(
            REMOVE_OLDER,
            {name: parameters[name] for name in ("its_score_sha256", "its_analyser_version")},
        )
        self._access.insert(ANALYSES, {**asdict(key), "payload": payload}, "analysis")


def _parameters(key: AnalysisKey) -> dict[str, object]:
    return {f"its_{name}": value for name, value in asdict(key).items()}
