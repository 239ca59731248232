"""Every test here runs on SQLite and on PostgreSQL, each time in a database of its own made by the real migrations."""

from __future__ import annotations

import itertools
import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest
from sqlalchemy import create_engine, text

from rungwright.api.app import create_app
from rungwright.api.demo import demo
from rungwright.domain.keeping import Role
from rungwright.rulebase import CompiledRules
from rungwright.settings import Settings, open_rules
from rungwright.store import Store, prepare
from rungwright.store.keys import add_key, add_workspace
from tests import postgres
from tests.api.in_process import client_of

_numbers = itertools.count()


@pytest.fixture(scope="session")
def rules() -> Iterator[CompiledRules]:
    rules = open_rules(Settings())
    yield rules
    rules.close()


@pytest.fixture(scope="session")
def postgres_server() -> Iterator[postgres.Server]:
    programs = postgres.programs()
    if programs is None:
        wanted = os.environ.get("CI") or os.environ.get("REQUIRE_POSTGRES") == "1"
        pytest.fail(postgres.LACKING) if wanted else pytest.skip(postgres.LACKING)
    with postgres.server(programs) as server:
        yield server


@pytest.fixture(params=["sqlite", "postgresql"])
def database(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """Address of an empty database."""
    if request.param == "sqlite":
        return f"sqlite:///{tmp_path / 'rungwright.sqlite3'}"
    server = request.getfixturevalue("postgres_server")
    name = f"t{next(_numbers)}"
    engine = create_engine(server.address("postgres"), isolation_level="AUTOCOMMIT")
    with engine.connect() as connection:
        connection.execute(text(f"CREATE DATABASE {name}"))
    engine.dispose()
    return server.address(name)


@pytest.fixture
def store(database: str) -> Iterator[Store]:
    store = Store(database)
    prepare(store)
    yield store
    store.close()


@pytest.fixture
def app(rules: CompiledRules, store: Store):
    return create_app(Settings(calls_a_minute=100_000), rules, store)


@pytest.fixture
def client(app) -> httpx.Client:
    """The one person of this computer."""
    return client_of(app)


@pytest.fixture
def with_key(app, store: Store) -> Callable[..., httpx.Client]:
    """Makes a client with a key of its own: `with_key(role, workspace)`; workspaces are made as they are named."""
    places: dict[str, str] = {"local": "local"}

    def make(role: str = "teacher", workspace: str = "local") -> httpx.Client:
        with store.writing() as session:
            if workspace not in places:
                places[workspace] = add_workspace(session, workspace).id
            _, key = add_key(session, label=role, role=Role(role), workspace=places[workspace])
        client = client_of(app)
        client.headers["authorization"] = f"Bearer {key}"
        return client

    return make


@pytest.fixture
def section() -> dict[str, Any]:
    return {k: v for k, v in demo()["section"].items() if k != "materials"}


@pytest.fixture
def run_body() -> dict[str, Any]:
    return demo()["runs"][0]


def made(client: httpx.Client, path: str, body: dict[str, Any], **headers: str) -> dict[str, Any]:
    response = client.post(path, json=body, headers=headers)
    assert response.status_code == 201, response.text
    return response.json()
