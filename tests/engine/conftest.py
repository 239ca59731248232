"""Which engines the tests can use here."""

from __future__ import annotations

import os
import sys

import pytest

from rungwright.engine import available

engines = ("durable", "clips", "plain")


def need(engine: str) -> str:
    """The engine's name, if it can be used; else the test is skipped, or fails where continuous integration has it."""
    reason = available()[engine]
    if reason is not True:
        message = f"{engine} cannot be used here: {reason}"
        if engine != "durable" or (os.environ.get("CI") == "true" and sys.version_info < (3, 13)):
            pytest.fail(message)
        pytest.skip(message)
    return engine


@pytest.fixture(params=engines)
def engine(request: pytest.FixtureRequest) -> str:
    """Each engine in turn."""
    return need(request.param)


@pytest.fixture
def durable() -> str:
    """The durable engine."""
    return need("durable")


@pytest.fixture
def every_engine() -> tuple[str, ...]:
    """All engines that can be used here, to be held against each other."""
    reasons = available()
    if os.environ.get("CI") == "true":
        need("durable")
    return tuple(name for name in engines if reasons[name] is True)
