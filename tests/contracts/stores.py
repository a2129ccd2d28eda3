"""The stores that the contract is tested on; a fixture ``store`` that is each of them in turn."""

from __future__ import annotations

import os
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from core.notebook.ports import NotebookStore
from core.storage import open_store, open_store_url
from tests.contracts.fake_store import FakeStore

POSTGRES = "POSTIL_TEST_POSTGRES"
KINDS = ("fake", "sqlite", "postgresql")


def postgres_url() -> str:
    """The server that tests may use, or a skipped test."""
    url = os.environ.get(POSTGRES, "")
    if not url:
        pytest.skip(f"{POSTGRES} names no server; .ci/postgres starts one")
    return url


@contextmanager
def postgres_schema() -> Iterator[str]:
    """The URL of an empty corner of the server, gone afterwards."""
    import psycopg

    url = postgres_url()
    name = f"postil_{uuid.uuid4().hex}"
    with psycopg.connect(url, autocommit=True) as connection:
        connection.execute(f'CREATE SCHEMA "{name}"'.encode())
        try:
            yield f"{url}{'&' if '?' in url else '?'}options=-csearch_path%3D{name}"
        finally:
            connection.execute("SET client_min_messages = warning")
            connection.execute(f'DROP SCHEMA "{name}" CASCADE'.encode())


@contextmanager
def opened(kind: str, folder: Path) -> Iterator[NotebookStore]:
    """An empty store of that kind."""
    if kind == "fake":
        yield FakeStore()
    elif kind == "sqlite":
        sqlite = open_store(folder / "notebook.postil")
        yield sqlite
        sqlite.close()
    else:
        with postgres_schema() as url:
            server = open_store_url(url)
            yield server
            server.close()


@pytest.fixture(params=KINDS)
def store(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[NotebookStore]:
    with opened(request.param, tmp_path) as one:
        yield one
