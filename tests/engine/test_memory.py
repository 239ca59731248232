"""Neither thousands of runs nor tens of reloads take memory that is not given back."""

from __future__ import annotations

import gc
import os
from collections.abc import Callable
from pathlib import Path

import pytest

from rungwright.engine import Ref, Template, compile_rules

from .small import criterion, has, no, rule, schema, section, stages

MEGABYTE = 1 << 20
_statm = Path("/proc/self/statm")
pytestmark = pytest.mark.skipif(not _statm.exists(), reason="reads memory from /proc/self/statm")

RULES = [
    rule(
        has("section", "s", ("grade", ">=", level)),
        has("criterion", "c", ("share", "<", 0.5), ("grade", "<=", Ref("s", "grade"))),
        no("criterion", ("name", "==", f"word {level}")),
        makes=[Template("finding", (("name", Ref("c", "name")), ("grade", level)))],
        id=f"find {level}",
    )
    for level in range(3)
]
RULES.append(rule(has("finding", "f", ("grade", ">", 1)), stage="second", id="read"))


def _growth(step: Callable[[int], None], warm_up: int, steps: int) -> int:
    """Bytes by which resident memory grows over the steps that follow the warm-up."""

    def resident() -> int:
        gc.collect()
        return int(_statm.read_text().split()[1]) * os.sysconf("SC_PAGE_SIZE")

    for number in range(warm_up):
        step(number)
    before = resident()
    for number in range(warm_up, warm_up + steps):
        step(number)
    return resident() - before


def test_runs_take_no_memory(engine: str) -> None:
    with compile_rules(stages, schema, RULES, engine) as program:

        def step(number: int) -> None:
            facts = [criterion(name=f"new {number} {i}", share=0.1 * i, grade=i) for i in range(5)]
            assert program.run([section(grade=5, label=f"label {number}"), *facts])

        # One lost fact a run would be over 2 MB, a lost session far more.
        assert _growth(step, warm_up=300, steps=2000) < MEGABYTE


def test_reloads_take_no_memory(engine: str) -> None:
    def step(number: int) -> None:
        with compile_rules(stages, schema, RULES, engine) as program:
            assert program.run([section(grade=5, label=str(number)), criterion(share=0.1, grade=1)])

    # One ruleset or environment lost a reload would be 30 MB or more.
    assert _growth(step, warm_up=10, steps=60) < 4 * MEGABYTE


def test_failed_runs_take_no_memory(engine: str) -> None:
    with compile_rules(stages, schema, RULES, engine) as program:

        def step(number: int) -> None:
            with pytest.raises(ValueError, match="grade"):
                program.run([section(grade=5), section(grade=str(number))])

        assert _growth(step, warm_up=200, steps=1000) < MEGABYTE
