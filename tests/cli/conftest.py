"""Commands run in this process, away from the settings of whoever runs the tests."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from rungwright.cli.app import app

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


@pytest.fixture(autouse=True)
def _no_settings(monkeypatch, tmp_path_factory):
    others = ("DATABASE_URL", "KEEP_DAYS", "CALLS_A_MINUTE")
    for name in ("ENGINE", "RULES", "PACKS", "WEIGHTS", "TRACEBACK", *others):
        monkeypatch.delenv(f"RUNGWRIGHT_{name}", raising=False)
    monkeypatch.setenv("RUNGWRIGHT_DATA", str(tmp_path_factory.mktemp("data")))
    monkeypatch.setenv("COLUMNS", "80")


@pytest.fixture
def run() -> Callable[..., Result]:
    def run(*arguments: str, given: str | bytes | None = None) -> Result:
        return CliRunner().invoke(app, list(arguments), input=given)

    return run


@pytest.fixture
def example() -> str:
    return str(EXAMPLES / "grade_4_harder" / "request.json")
