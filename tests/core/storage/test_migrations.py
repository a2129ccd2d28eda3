"""Bringing an older notebook up to date: on a copy, whole or not at all."""

from __future__ import annotations

import errno
import shutil
from collections.abc import Iterator
from contextlib import closing
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, Engine, create_engine, inspect

from core.errors import NewerNotebookError, StorageError
from core.notebook.values import AnalysisKey, Anchor, AnchorKind
from core.score.places import Passage, Place
from core.storage import migrating, open_store, open_store_url
from core.storage.migrating import upgrade
from core.storage.schema import APPLICATION_ID, REVISIONS, SCHEMA, Schema, create_tables
from core.storage.sqlite_files import BUILDING, connect, create_file, file_engine
from core.storage.tables import METADATA
from tests.contracts.stores import postgres_schema
from tests.core.storage.notebooks import (
    add_edition,
    add_piece,
    add_remark,
    answer,
    run,
    titles,
)

REBUILD = """
import sqlalchemy as sa
from alembic import op

revision = "later"
down_revision = "{head}"


def upgrade():
    with op.batch_alter_table("pieces", recreate="always") as batch:
        batch.add_column(sa.Column("nickname", sa.Text))
"""
BREAK_LINKS = REBUILD + '    op.execute("DELETE FROM pieces")\n'
FAIL = REBUILD + '    op.execute("INSERT INTO nowhere VALUES (1)")\n'


def later_schema(folder: Path, script: str) -> Schema:
    """This Postil's migrations and one more."""
    migrations = folder / "migrations"
    shutil.copytree(SCHEMA.migrations, migrations, ignore=shutil.ignore_patterns("__pycache__"))
    (migrations / "versions" / "rev_later.py").write_text(script.format(head=REVISIONS[-1]))
    return Schema(revisions=(*REVISIONS, "later"), migrations=migrations)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A notebook of today with a piece, an edition and a remark."""
    path = tmp_path / "library" / "notebook.postil"
    store = open_store(path)
    piece = add_piece(store)
    add_edition(store, piece)
    add_remark(store, piece)
    store.close()
    return path


def names(folder: Path) -> list[str]:
    return sorted(each.name for each in folder.iterdir())


def content(path: Path) -> list[str]:
    with closing(connect(path, "ro")) as connection:
        return list(connection.iterdump())


# --------------------------------------------------------- tables and migrations say the same


def described(connection: Connection) -> dict[str, Any]:
    """All that the database itself tells about its tables."""
    found = inspect(connection)
    return {
        table: (
            [{**column, "type": str(column["type"])} for column in found.get_columns(table)],
            found.get_pk_constraint(table),
            sorted(found.get_foreign_keys(table), key=str),
            sorted(found.get_indexes(table), key=str),
            sorted(found.get_unique_constraints(table), key=str),
        )
        for table in sorted(found.get_table_names())
        if table != "alembic_version"
    }


@pytest.fixture
def empty_pair(tmp_path: Path) -> Iterator[tuple[Engine, Engine]]:
    pair = tuple(
        file_engine(tmp_path / name, "rwc", pragmas=BUILDING) for name in ("made", "migrated")
    )
    yield pair
    for engine in pair:
        engine.dispose()


def test_a_new_notebook_has_the_tables_that_migrations_make(
    empty_pair: tuple[Engine, Engine],
) -> None:
    made, migrated = empty_pair
    with made.begin() as one, migrated.begin() as other:
        create_tables(one)
        upgrade(other, SCHEMA)
        assert described(one) == described(other)
        assert len(described(one)) == len(METADATA.tables) - 1
        sql = "SELECT name, sql FROM sqlite_master WHERE sql LIKE '%AUTOINCREMENT%' ORDER BY name"
        assert [row.name for row in one.exec_driver_sql(sql)] == [
            row.name for row in other.exec_driver_sql(sql)
        ]
        stamped = "SELECT version_num FROM alembic_version"
        assert one.exec_driver_sql(stamped).scalar() == other.exec_driver_sql(stamped).scalar()
        assert compare_metadata(MigrationContext.configure(other), METADATA) == []


def test_the_same_on_postgresql() -> None:
    with postgres_schema() as first, postgres_schema() as second:
        engines = [
            create_engine(url.replace("postgresql:", "postgresql+psycopg:"))
            for url in (first, second)
        ]
        with engines[0].begin() as one, engines[1].begin() as other:
            create_tables(one)
            upgrade(other, SCHEMA)
            assert described(one) == described(other)
            assert compare_metadata(MigrationContext.configure(other), METADATA) == []
        for engine in engines:
            engine.dispose()


def test_the_list_of_revisions_is_that_of_the_migrations() -> None:
    config = Config()
    config.set_main_option("script_location", str(SCHEMA.migrations))
    scripts = ScriptDirectory.from_config(config).walk_revisions()
    assert tuple(reversed([script.revision for script in scripts])) == REVISIONS


# ------------------------------------------------------------------------------ SQLite's files


def test_an_older_notebook_is_migrated_and_kept(tmp_path: Path, path: Path) -> None:
    before = content(path)
    store = open_store(path, later_schema(tmp_path, REBUILD))
    assert not store.is_read_only
    with store.unit_of_work() as work:
        (piece,) = work.pieces.all()
        # With foreign keys on, rebuilding "pieces" would have taken these along.
        (edition,) = work.editions.of_piece(piece.id)
        assert work.editions.original(edition.id) == b"original"
        assert [remark.body for remark in work.remarks.of_piece(piece.id)] == ["Sing."]
    add_piece(store, "Added")
    store.close()
    assert answer(path, "SELECT version_num FROM alembic_version") == "later"
    assert answer(path, "SELECT nickname FROM pieces") is None
    assert answer(path, "PRAGMA integrity_check") == "ok"
    kept = path.with_name(f"{path.name}.before-{REVISIONS[-1]}")
    assert content(kept) == before
    assert names(path.parent) == sorted([path.name, kept.name, path.name + ".lock"])


def first_notebook(path: Path) -> None:
    """A notebook as the first tables had it, with a piece, an edition and a remark."""
    engine = file_engine(path, "rwc", pragmas=BUILDING)
    with engine.begin() as connection:
        upgrade(connection, SCHEMA, "0001")
        connection.exec_driver_sql(f"PRAGMA application_id = {APPLICATION_ID}")
    engine.dispose()
    moment = "'2025-03-01 18:30:00.000000'"
    run(
        path,
        f"""
        INSERT INTO pieces VALUES (7, 'Barcarolle', '', {moment}, NULL);
        INSERT INTO editions VALUES (8, 7, '{"ab" * 32}', 1, 'a.mxl', {moment});
        INSERT INTO edition_bytes VALUES (8, 'canonical', 'original');
        INSERT INTO remarks VALUES (9, 7, 'reading', 'Sing.', {moment}, {moment}, 'UTC');
        INSERT INTO anchors (remark_id, kind, score_sha256, start_measure_index,
            start_offset_num, start_offset_den, end_measure_index, end_offset_num,
            end_offset_den, fingerprint)
            VALUES (9, 'passage', '{"ab" * 32}', 2, 1, 2, 4, 0, 1, '0:48');
        """,
    )


def test_the_first_notebooks_open_with_their_remarks_where_they_hung(tmp_path: Path) -> None:
    path = tmp_path / "notebook.postil"
    first_notebook(path)
    store = open_store(path)
    with store.unit_of_work() as work:
        (remark,) = work.remarks.of_piece(7)
        start = Place(measure_index=2, offset_quarters=Fraction(1, 2))
        assert remark.anchor == Anchor(
            kind=AnchorKind.PASSAGE,
            score_sha256="ab" * 32,
            passage=Passage(start=start, end=Place(measure_index=4)),
            fingerprint="0:48",
        )
        assert work.judgements.of_piece(7) == ()
        key = AnalysisKey(score_sha256="ab" * 32, canonical_version=1, analyser_version=1)
        work.analyses.put(key, b"payload")
        assert work.analyses.get(key) == b"payload"
        work.pieces.remove(7)
        assert work.analyses.get(key) is None
    store.close()
    assert path.with_name(path.name + ".before-0001").exists()


def test_what_was_only_in_the_log_is_migrated_too(tmp_path: Path, path: Path) -> None:
    copy = path.with_name("copy.postil")
    store = open_store(path)
    add_piece(store, "Only in the log")
    for suffix in ("", "-wal"):  # as a killed process would leave them
        shutil.copy(path.with_name(path.name + suffix), copy.with_name(copy.name + suffix))
    store.close()
    assert copy.with_name(copy.name + "-wal").stat().st_size > 0
    store = open_store(copy, later_schema(tmp_path, REBUILD))
    assert titles(store) == ["Barcarolle", "Only in the log"]
    store.close()


def test_an_earlier_copy_is_never_written_over(tmp_path: Path, path: Path) -> None:
    kept = path.with_name(f"{path.name}.before-{REVISIONS[-1]}")
    kept.write_bytes(b"a person's own")
    open_store(path, later_schema(tmp_path, REBUILD)).close()
    assert kept.read_bytes() == b"a person's own"
    assert kept.with_name(kept.name + "-2").exists()


def test_a_migration_that_fails_changes_nothing(tmp_path: Path, path: Path) -> None:
    before = content(path)
    with pytest.raises(Exception, match="nowhere"):
        open_store(path, later_schema(tmp_path, FAIL))
    assert content(path) == before
    assert names(path.parent) == sorted([path.name, path.name + ".lock"])
    store = open_store(path)
    assert titles(store) == ["Barcarolle"]
    store.close()


def test_a_swap_that_fails_changes_nothing(
    tmp_path: Path, path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_paths: Path) -> None:
        raise PermissionError(errno.EACCES, "no")

    before = content(path)
    monkeypatch.setattr(migrating, "put_in_place", refuse)
    with pytest.raises(StorageError, match="can't be written; choose another place"):
        open_store(path, later_schema(tmp_path, REBUILD))
    assert content(path) == before
    assert names(path.parent) == sorted([path.name, path.name + ".lock"])


def test_a_migration_that_breaks_links_changes_nothing(tmp_path: Path, path: Path) -> None:
    before = content(path)
    with pytest.raises(StorageError, match=r"2 of its rows point to nothing\. Nothing was"):
        open_store(path, later_schema(tmp_path, BREAK_LINKS))
    assert content(path) == before
    assert names(path.parent) == sorted([path.name, path.name + ".lock"])


def test_a_notebook_that_is_read_elsewhere_is_not_swapped(tmp_path: Path, path: Path) -> None:
    first = open_store(path)
    reader = open_store(path)
    with reader.unit_of_work() as work:
        work.pieces.all()
        first.close()
        with pytest.raises(StorageError, match="has to be brought up to date, and another"):
            open_store(path, later_schema(tmp_path, REBUILD))
    reader.close()
    assert names(path.parent)[0] == path.name


def test_an_older_notebook_that_is_held_elsewhere(tmp_path: Path, path: Path) -> None:
    first = open_store(path)
    with pytest.raises(StorageError, match="can't be brought up to date while it is open"):
        open_store(path, later_schema(tmp_path, REBUILD))
    first.close()


def test_today_s_postil_refuses_tomorrow_s_notebook(tmp_path: Path, path: Path) -> None:
    open_store(path, later_schema(tmp_path, REBUILD)).close()
    before = path.read_bytes()
    with pytest.raises(NewerNotebookError, match="version later of its tables"):
        open_store(path)
    assert path.read_bytes() == before


def test_an_unfinished_migration_is_no_hindrance(tmp_path: Path, path: Path) -> None:
    path.with_name(path.name + ".migrating").write_bytes(b"half a copy")
    store = open_store(path, later_schema(tmp_path, REBUILD))
    assert titles(store) == ["Barcarolle"]
    store.close()


def test_a_new_file_is_stamped_with_the_newest_revision(tmp_path: Path) -> None:
    create_file(tmp_path / "new.postil")
    assert (
        answer(tmp_path / "new.postil", "SELECT version_num FROM alembic_version")
        == (REVISIONS[-1])
    )


# --------------------------------------------------------------------------------- PostgreSQL


def test_a_server_s_notebook_is_migrated_in_place(tmp_path: Path) -> None:
    with postgres_schema() as url:
        store = open_store_url(url)
        add_remark(store, add_piece(store))
        store.close()
        later = later_schema(tmp_path, REBUILD.replace(', recreate="always"', ""))
        store = open_store_url(url, later)
        assert titles(store) == ["Barcarolle"]
        store.close()
        with pytest.raises(NewerNotebookError, match="version later of its tables"):
            open_store_url(url)


def test_a_server_s_failed_migration_changes_nothing(tmp_path: Path) -> None:
    with postgres_schema() as url:
        open_store_url(url).close()
        script = FAIL.replace(', recreate="always"', "")
        with pytest.raises(Exception, match="nowhere"):
            open_store_url(url, later_schema(tmp_path, script))
        store = open_store_url(url)
        add_piece(store)
        store.close()
