"""A program among threads, closed, chosen, and on a machine that lacks an engine."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from types import SimpleNamespace

import pytest

from rungwright.engine import EngineError, Firing, Template, available, choose, compile_rules, port

from .random_rules import random_base
from .random_rules import stages as random_stages
from .small import criterion, has, no, rule, run, schema, section, stages

RULES = [
    rule(has("section", "s"), has("criterion", "c", ("share", "<", 0.5)), id="weak", makes=[Template("finding")]),
    rule(has("section", "s"), no("criterion", ("share", "<", 0.5)), id="strong"),
    rule(has("finding", "f"), id="found", stage="second"),
]


def _said(firings: list[Firing]) -> list[tuple[str, dict[str, object]]]:
    return [(firing.rule, dict(firing.matched)) for firing in firings]


def test_threads_share_a_program(engine: str) -> None:
    sets = [
        [section(grade=grade), *(criterion(name=f"{grade} {i}", share=i / 10) for i in range(grade))]
        for grade in range(12)
    ]
    with compile_rules(stages, schema, RULES, engine) as program:
        alone = [_said(program.run(facts)) for facts in sets]
        start = threading.Barrier(4)

        def work(turn: int) -> bool:
            start.wait()
            order = [(place + turn) % len(sets) for place in range(len(sets))] * 5
            return all(_said(program.run(sets[place])) == alone[place] for place in order)

        with ThreadPoolExecutor(4) as pool:
            assert all(pool.map(work, range(4)))


def test_programs_do_not_disturb_each_other(engine: str) -> None:
    with compile_rules(stages, schema, RULES, engine) as one, compile_rules(stages, schema, RULES[1:2], engine) as two:
        for _ in range(3):
            assert len(one.run([section(grade=1)])) == 1
            assert len(two.run([section(grade=1), criterion(share=0.1)])) == 0


def test_a_run_leaves_nothing_for_the_next(engine: str) -> None:
    with compile_rules(stages, schema, RULES, engine) as program:
        for _ in range(3):
            assert [f.rule for f in program.run([section(grade=1), criterion(share=0.1)])] == ["weak", "found"]
            assert [f.rule for f in program.run([section(grade=1)])] == ["strong"]


def test_a_closed_program_says_so(engine: str) -> None:
    program = compile_rules(stages, schema, RULES, engine)
    program.close()
    program.close()
    with pytest.raises(EngineError, match="closed; compile the rules again"):
        program.run([section(grade=1)])


def test_auto_is_durable_where_it_imports(durable: str) -> None:
    assert choose() == choose("auto") == durable


def test_without_durable_auto_is_clips(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "durable_rules_engine", None)
    monkeypatch.delitem(sys.modules, "rungwright.engine.durable", raising=False)
    assert choose("auto") == "clips"
    assert "durable_rules_engine" in str(available()["durable"])
    assert available()["clips"] is available()["plain"] is True
    with pytest.raises(EngineError, match=r"engine durable is not usable here \(.*\); set another engine, or auto"):
        compile_rules(stages, schema, RULES, "durable")
    assert len(run("auto", RULES, [section(grade=1)])) == 1


def test_an_unknown_engine_is_named(engine: str) -> None:
    assert choose(engine) == engine
    with pytest.raises(EngineError, match="engine 'drools' is not one of auto, durable, clips, plain"):
        choose("drools")


def test_a_stage_that_does_not_compile_closes_those_that_did(monkeypatch: pytest.MonkeyPatch) -> None:
    closed: list[str] = []

    def make(rules: object) -> SimpleNamespace:
        if len(made) == 2:
            raise EngineError("no more")
        made.append(rules)
        return SimpleNamespace(close=lambda: closed.append("closed"))

    made: list[object] = []
    monkeypatch.setattr(port, "_load", lambda name: make)
    with pytest.raises(EngineError, match="no more"):
        compile_rules(stages, schema, RULES, "plain")
    assert closed == ["closed", "closed"]


def _python(code: str, **environment: str) -> str:
    path = os.pathsep.join([str(Path(__file__).parents[1]), *filter(None, sys.path)])
    done = subprocess.run(
        [sys.executable, "-c", code],
        env={**os.environ, "PYTHONPATH": path, **environment},
        capture_output=True,
        text=True,
        check=True,
    )
    return done.stdout


def test_no_engine_library_is_imported_before_it_is_asked_for() -> None:
    code = "import sys, rungwright.engine; print([m for m in sys.modules if m.split('.')[0] in %r])"
    assert _python(code % (("clips", "durable_rules_engine", "durable"),)).strip() == "[]"


def test_answers_do_not_depend_on_the_hash_seed(engine: str) -> None:
    code = (
        "from engine.random_rules import random_base, stages\n"
        "from rungwright.engine import compile_rules\n"
        "for seed in range(6):\n"
        "    base = random_base(seed)\n"
        f"    with compile_rules(stages, base.schema, base.rules, {engine!r}) as program:\n"
        "        print([program.run(facts) for facts in base.fact_sets])\n"
    )
    first, *others = (_python(code, PYTHONHASHSEED=seed) for seed in ("0", "1", "2"))
    assert "Firing(" in first
    assert others == [first, first]


def test_rule_order_changes_the_order_of_firings_only(engine: str) -> None:
    base = random_base(3)
    with (
        compile_rules(random_stages, base.schema, base.rules, engine) as given,
        compile_rules(random_stages, base.schema, base.rules[::-1], engine) as turned,
    ):
        for facts in base.fact_sets:
            assert sorted(map(repr, _said(given.run(facts)))) == sorted(map(repr, _said(turned.run(facts))))
