"""What DEVELOPERS.md says: the answer taken apart is the program's, and each worked example works."""

from __future__ import annotations

import importlib
import json
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path
from types import ModuleType

import pytest

from rungwright.api.demo import demo
from rungwright.checks.kinds import Kind
from rungwright.domain.ask import RecommendationRequest
from rungwright.recommend import recommend
from rungwright.rulebase import CompiledRules, default_folder, load_rule_base, run_cases

PAGE = (Path(__file__).resolve().parents[1] / "DEVELOPERS.md").read_text(encoding="utf-8")
ROWS = re.findall(r"^\| (?:resolve|start|measure|infer|size|choose|compose) \|.*\| (\S+) \| `([^`]+)` \|$", PAGE, re.M)
FILES = dict(re.findall(r"^```yaml\n# (rules/\S+)\n(.+?)^```", PAGE, re.M | re.S))
BLOCKS = re.findall(r"^```\n(sed .+?)\n```", PAGE, re.M | re.S)
COMMANDS = [line for block in BLOCKS for line in block.splitlines()]
CODE = re.findall(r"^```python\n# [^\n]+\n(.+?)^```", PAGE, re.M | re.S)


@pytest.fixture(scope="module")
def answer():
    with_rules = CompiledRules(load_rule_base(default_folder()))
    request = RecommendationRequest.model_validate({**demo(), "include": ["explanation"]})
    return recommend(request, with_rules).model_dump(mode="json", by_alias=True)


def found(answer, pointer: str):
    """`a.b`; in lists of checks and proposals by kind or lever; `a#` counts."""
    at = answer
    for part in pointer.removesuffix("#").split("."):
        if isinstance(at, list):
            at = next(item for item in at if part in (item.get("kind"), item.get("lever")))
        else:
            at = at[part]
    return len(at) if pointer.endswith("#") else at


def test_the_page_is_read():
    assert len(ROWS) >= 19 and len(FILES) == 3 and len(COMMANDS) == 7 and len(CODE) == 2


@pytest.mark.parametrize(("number", "pointer"), ROWS)
def test_each_number_of_the_answer_taken_apart_stands_where_it_is_said(answer, number, pointer):
    assert found(answer, pointer) == pytest.approx(float(number), abs=1e-9)


@pytest.fixture(scope="module")
def grown(tmp_path_factory):
    """The rules with every worked example added."""
    root = tmp_path_factory.mktemp("checkout")
    shutil.copytree(default_folder(), root / "rules")
    for path, text in FILES.items():
        target = root / path
        assert not target.exists(), path
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_text(text, encoding="utf-8")
    for command in COMMANDS:
        line, _, to = command.partition(" > ")
        made = subprocess.run(shlex.split(line), cwd=root, check=True, capture_output=True, text=True).stdout
        if to:
            (root / to).write_text(made, encoding="utf-8")
    return load_rule_base(root / "rules")


def test_the_examples_load_and_the_cases_of_the_rule_pass(grown):
    rule = "adjust/shelter/wind/longer_wind_for_a_surplus"
    assert rule in grown.rules and "wind_seconds" in grown.levers and "cork_disc" in grown.materials
    results = [r for r in run_cases(grown) if r.rule == rule]
    assert len(results) == 5
    assert [r for r in results if not r.passed] == []


def test_the_new_rule_lever_material_and_challenge_answer(grown):
    asked = {**demo(), "challenge": "fire_lookout", "include": ["explanation", "kit"]}
    asked["section"] = {**asked["section"], "materials": None}
    asked["runs"] = [
        {
            "challenge": "fire_lookout",
            "on": "2026-10-14",
            "groups": 9,
            "results": [
                {"criterion": name, "first": {"met": met, "of": 9}, "end": {"met": met, "of": 9}}
                for name, met in (("wind", 9), ("dry", 6), ("load", 5))
            ],
        }
    ]
    with_rules = CompiledRules(grown)
    made = recommend(RecommendationRequest.model_validate(asked), with_rules)
    assert made.challenge.label == "Fire lookout"
    proposed = {(c["lever"], c["to"]) for c in made.explanation.candidates}
    assert ("wind_seconds", 20) in proposed
    sticks = next(item for item in made.kit.items if item.lever == "rigid_pieces")
    assert sticks.material == "craft_stick"
    corks = {**asked["section"], "materials": [{"material": "cork_disc", "quantity": 400}]}
    made = recommend(RecommendationRequest.model_validate({**asked, "section": corks}), with_rules)
    assert next(item for item in made.kit.items if item.lever == "rigid_pieces").material == "cork_disc"


def test_the_calculator_answers(monkeypatch):
    module = ModuleType("rungwright.checks.shadow")
    exec(compile(CODE[0], "DEVELOPERS.md", "exec"), vars(module))
    monkeypatch.setitem(sys.modules, module.__name__, module)
    monkeypatch.setattr(importlib.import_module("rungwright.checks"), "shadow", module, raising=False)
    kind = eval(CODE[1], {"Kind": Kind})
    made = kind.answer(kind.model.model_validate_json(json.dumps(kind.example)))
    # The tangent of 45 degrees is 1.
    assert made.value.value == pytest.approx(1000)
    assert made.sources[0].id in load_rule_base(default_folder()).sources
