"""Sources that nothing names, and where that is no mistake."""

from __future__ import annotations

import pytest

from rungwright.rulebase import RuleBaseError, load_rule_base
from rungwright.rulebase.checks.sources import unused_sources
from tests.rulebase.conftest import edit

EXTRA = "wood_handbook: {kind: handbook, title: Wood Handbook}\nstarting_guess: {"


def test_each_source_is_named_by_something(small):
    assert unused_sources(small) == []


def test_one_that_nothing_names_is_told_at_its_place(copy):
    edit(copy / "sources.yaml", "starting_guess: {", EXTRA)
    with pytest.raises(RuleBaseError) as caught:
        load_rule_base(copy)
    [problem] = caught.value.problems
    assert (problem.path.name, problem.line, problem.column) == ("sources.yaml", 2, 1)
    assert problem.message == "nothing names the source 'wood_handbook': name it or take it out"


def test_one_that_the_code_cites_says_where(copy):
    edit(copy / "sources.yaml", "starting_guess: {", EXTRA.replace("title", "used_by: measure/statics, title"))
    assert load_rule_base(copy).sources["wood_handbook"].used_by == "measure/statics"


def test_a_pack_that_retires_the_last_rule_of_a_source_still_loads(tmp_path, copy):
    edit(copy / "sources.yaml", "starting_guess: {", EXTRA)
    edit(copy / "caution/short_time.yaml", "source: common_practice", "source: wood_handbook")
    pack = tmp_path / "ours"
    pack.mkdir()
    (pack / "pack.yaml").write_text('name: ours\nversion: "1"\nretire: [caution/short_time]\n', encoding="utf-8")
    base = load_rule_base(copy, [pack])
    assert "caution/short_time" not in base.rules
