"""Every example is executed and its answer compared."""

from __future__ import annotations

import importlib.util
import json
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

import pytest

from rungwright.api.app import create_app
from rungwright.api.demo import demo, demo_names, school_demo
from rungwright.rulebase import CompiledRules
from rungwright.settings import Settings, open_rules
from tests.api.in_process import client_of

EXAMPLES = Path(__file__).resolve().parents[1] / "examples"
FOLDERS = sorted(path.parent.name for path in EXAMPLES.glob("*/request.json"))


def script(name: str) -> ModuleType:
    spec = importlib.util.spec_from_file_location(f"examples_{name}", EXAMPLES / f"{name}.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def rules() -> Iterator[CompiledRules]:
    rules = open_rules(Settings())
    yield rules
    rules.close()


@pytest.mark.parametrize("name", FOLDERS)
def test_the_answer_is_the_one_in_the_folder(name, rules):
    refresh = script("refresh")
    kept = json.loads((EXAMPLES / name / "answer.json").read_text(encoding="utf-8"))
    answer = refresh.answer_to(EXAMPLES / name, rules)
    assert refresh.same_each_time(answer) == refresh.same_each_time(kept), "python examples/refresh.py"


def test_the_answers_for_the_school_are_those_in_the_folder(rules, monkeypatch):
    monkeypatch.setenv("COLUMNS", "100")
    kept = (EXAMPLES / "school" / "answers.txt").read_text(encoding="utf-8")
    assert script("refresh").school_told(rules) == kept, "python examples/refresh.py"


def test_the_school_of_the_package_is_the_example():
    assert school_demo() == json.loads((EXAMPLES / "school" / "batch.json").read_text(encoding="utf-8"))


def test_the_ladder_is_the_one_that_is_drafted(rules):
    """All but which rule base drafted it, which says nothing about the rungs."""
    kept = json.loads((EXAMPLES / "ladders" / "ladder.json").read_text(encoding="utf-8"))
    drafted = script("refresh").ladder_drafted(rules).model_dump(mode="json")
    assert {**drafted, "made_with": None} == {**kept, "made_with": None}, "python examples/refresh.py"


@pytest.mark.parametrize("name", demo_names())
def test_the_demo_of_the_package_is_the_example(name):
    assert demo(name) == json.loads((EXAMPLES / name / "request.json").read_text(encoding="utf-8"))


def test_each_example_is_described():
    readme = (EXAMPLES / "README.md").read_text(encoding="utf-8")
    assert [name for name in FOLDERS if f"`{name}`" not in readme] == []


def test_the_planning_client_shows_every_section_and_the_mistake(rules):
    with client_of(create_app(Settings(), rules)) as client:
        lines = list(script("planning_client").plan(client))
    labels = [request["section"]["label"] for request in school_demo()]
    for number, label in enumerate(labels, 1):
        assert any(line.startswith(f"{number}. {label}: ") for line in lines)
    assert lines[-1].startswith(f"{len(labels) + 1}. not answered: ")
    assert "did you mean 'students'?" in lines[-1]


def test_the_planning_client_tells_a_wrong_request(rules):
    with client_of(create_app(Settings(), rules)) as client, pytest.raises(ValueError, match=r"^/challenge: 'sheltr'"):
        script("planning_client").one_section(client, {**demo(), "challenge": "sheltr"})
