"""One broken fixture for each mistake: what is said, and at which file, line and column.

A fixture spoils one file of the small rule base. Each line of `says` is the beginning of one problem, in order.
"""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml

from rungwright.rulebase import RuleBaseError, load_rule_base
from tests.rulebase.conftest import edit

BROKEN = sorted((Path(__file__).parent / "broken").glob("*.yaml"))


@pytest.mark.parametrize("fixture", BROKEN, ids=[path.stem for path in BROKEN])
def test_a_mistake_is_told_at_its_place(fixture, copy):
    spoiled = yaml.safe_load(fixture.read_text(encoding="utf-8"))
    for change in spoiled["edits"]:
        edit(copy / spoiled["file"], change["replace"], change["by"])
    with pytest.raises(RuleBaseError) as caught:
        load_rule_base(copy)
    said = [f"{p.path.relative_to(copy)}:{p.line}:{p.column}: {p.message}" for p in caught.value.problems]
    assert len(said) == len(spoiled["says"]), said
    for got, start in zip(said, spoiled["says"], strict=True):
        assert got.startswith(start)


def test_the_mistakes_of_all_files_are_told_at_once(copy):
    edit(copy / "sources.yaml", "kind: starting_guess", "kind: guess")
    edit(copy / "levers/load_place.yaml", "monotone: true", "monotone: perhaps")
    with pytest.raises(RuleBaseError) as caught:
        load_rule_base(copy)
    assert [p.path.name for p in caught.value.problems] == ["load_place.yaml", "sources.yaml"]
    assert len(str(caught.value).splitlines()) == 2


def test_a_folder_that_is_not_there(tmp_path):
    with pytest.raises(RuleBaseError, match="there is no such folder"):
        load_rule_base(tmp_path / "nowhere")


def test_an_empty_file_and_bytes_that_are_no_text(copy):
    (copy / "tools.yaml").write_text("", encoding="utf-8")
    (copy / "sources.yaml").write_bytes(b"a: \xff")
    with pytest.raises(RuleBaseError) as caught:
        load_rule_base(copy)
    said = {p.path.name: p.message for p in caught.value.problems}
    assert "empty" in said["tools.yaml"]
    assert "UTF-8" in said["sources.yaml"]


def test_an_anchor_inside_itself_is_a_mistake_and_no_crash(copy):
    (copy / "tools.yaml").write_text("scissors: &a [*a]\n", encoding="utf-8")
    with pytest.raises(RuleBaseError, match="nested too deep"):
        load_rule_base(copy)


def test_a_file_in_no_known_folder_is_not_passed_over(copy):
    (copy / "adjst").mkdir()
    (copy / "adjst/rule.yaml").write_bytes((copy / "limit/weight_cap.yaml").read_bytes())
    with pytest.raises(RuleBaseError, match="nothing reads this file"):
        load_rule_base(copy)
