"""One service for all tests of the HTTP interface."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import httpx
import pytest
from fastapi import FastAPI

from rungwright.api.app import create_app
from rungwright.api.demo import demo
from rungwright.rulebase import CompiledRules
from rungwright.settings import Settings, open_rules, open_store
from rungwright.store import Store
from tests.api.in_process import client_of


@pytest.fixture(scope="session")
def rules() -> Iterator[CompiledRules]:
    rules = open_rules(Settings())
    yield rules
    rules.close()


@pytest.fixture(scope="session")
def store(tmp_path_factory) -> Iterator[Store]:
    store = open_store(Settings(data=tmp_path_factory.mktemp("data")))
    yield store
    store.close()


@pytest.fixture(scope="session")
def app(rules: CompiledRules, store: Store) -> FastAPI:
    return create_app(Settings(), rules, store)


@pytest.fixture(scope="session")
def client(app: FastAPI) -> httpx.Client:
    return client_of(app)


@pytest.fixture
def request_body() -> dict[str, Any]:
    """A request that is fine; each test may change its own copy."""
    return demo()
