"""A small sound rule base, whole and as a copy that a test may spoil."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from rungwright.rulebase import RuleBase, load_rule_base

SMALL = Path(__file__).parent / "small"


@pytest.fixture(scope="session")
def small() -> RuleBase:
    return load_rule_base(SMALL)


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    return Path(shutil.copytree(SMALL, tmp_path / "small"))


def edit(path: Path, old: str, new: str) -> None:
    """Replace every `old` in a file that has it."""
    text = path.read_text(encoding="utf-8")
    assert old in text, f"{path.name} has no {old!r}"
    path.write_text(text.replace(old, new), encoding="utf-8")
