"""What a rule base holds once it is read, its digest, and packs over it."""

from __future__ import annotations

import pytest
import yaml

from rungwright.rulebase import RuleBaseError, load_rule_base, run_cases
from rungwright.rulebase.marked import read_marked
from tests.rulebase.conftest import SMALL, edit

SPOT = "adjust/load/second_spot"


def test_the_path_is_the_id_and_the_first_folder_the_stage(small):
    assert list(small.rules) == sorted(small.rules)
    assert small.rules[SPOT].stage == "adjust"
    assert small.levers["load_positions"].id == "load_positions"


def test_parameters_are_put_in(small):
    assert small.rules[SPOT].when[0].tests["groups_last"] == {"at least": 4}
    assert small.rules["limit/weight_cap"].bound.tests() == [("at_most", 400)]


def test_conditions_count_the_tests_of_when_and_unless(small):
    assert small.rules[SPOT].conditions == 9


def test_now_has_a_property_for_each_lever(small):
    now = small.vocabulary.schema["now"]
    assert now["load_positions"] == "number"
    assert now["load_place"] == "word"
    assert now["base_tray"] == "yes_no"


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("no", "no"),
        ("on", "on"),
        ("yes", "yes"),
        ("True", "True"),
        ("01", "01"),
        ("1:30", "1:30"),
        ("0x1F", "0x1F"),
        ("1_000", "1_000"),
        (".inf", ".inf"),
        ("2024-01-01", "2024-01-01"),
        ("true", True),
        ("null", None),
        ("0", 0),
        ("-7", -7),
        ("2.5", 2.5),
        ("'3'", "3"),
        ('"true"', "true"),
    ],
)
def test_plain_words_are_read_as_yaml_1_2_reads_them(tmp_path, text, value):
    path = tmp_path / "x.yaml"
    path.write_text(f"a: {text}\n", encoding="utf-8")
    read = read_marked(path).data["a"]
    assert read == value
    assert type(read) is type(value)


def test_the_digest_changes_with_content_and_not_with_layout_or_comments(small, copy):
    assert load_rule_base(copy).digest == small.digest
    path = copy / f"{SPOT}.yaml"
    data = yaml.load(path.read_text(encoding="utf-8"), Loader=yaml.BaseLoader)
    assert list(data)[:2] == ["title", "families"]
    edit(path, "principle: P3", "# of the catalogue\nprinciple:   'P3'")
    assert load_rule_base(copy).digest == small.digest
    edit(path, "rank: 2", "rank: 3")
    assert load_rule_base(copy).digest != small.digest


@pytest.fixture
def pack(tmp_path):
    folder = tmp_path / "ours"
    folder.mkdir()
    return folder


def write_pack(folder, text):
    (folder / "pack.yaml").write_text(f'name: ours\nversion: "2"\n{text}', encoding="utf-8")


def test_a_pack_adds_retires_and_sets(small, pack):
    write_pack(
        pack,
        """\
retire: [caution/short_time]
set:
  limit/weight_cap:
    parameters: {grams: 500}
    cases:
      fires:
        facts: [{now: {base_tray: false}}]
        gives: {lever: load_mass_g, at most: 500}
        says: Without a tray the weight may fall on the table.
      others:
        - {near_miss: there is a tray, set: {now.base_tray: true}, fires: no}
        - {missing_fact: not told, drop: [now.base_tray], fires: no}
""",
    )
    (pack / "limit").mkdir()
    ours = (SMALL / "limit/no_tester_in_k_2.yaml").read_text(encoding="utf-8").replace("[tester]", "[marked]")
    (pack / "limit/ours.yaml").write_text(ours, encoding="utf-8")
    base = load_rule_base(SMALL, [pack])
    assert set(base.rules) == set(small.rules) - {"caution/short_time"} | {"limit/ours"}
    assert base.rules["limit/weight_cap"].bound.at_most == 500
    assert base.version == "1.0+ours-2"
    assert base.digest != small.digest
    assert all(result.passed for result in run_cases(base, "plain"))


@pytest.mark.parametrize(
    ("text", "place", "message"),
    [
        ("retire: [limit/no_such]\n", (3, 10), "there is no rule limit/no_such"),
        ("set:\n  limit/wait_cap: {parameters: {grams: 500}}\n", (4, 3), "there is no rule limit/wait_cap"),
        ("set:\n  limit/weight_cap: {parameters: {gram: 5}}\n", (4, 35), "has no parameter gram"),
        ("set:\n  limit/weight_cap: {parameters: {grams: 500}}\n", (4, 3), "brings its own cases"),
        ("retires: []\n", (3, 1), "'retires' is not a key here; did you mean 'retire'?"),
    ],
)
def test_a_mistake_of_a_pack_is_told_at_its_place(pack, text, place, message):
    write_pack(pack, text)
    with pytest.raises(RuleBaseError) as caught:
        load_rule_base(SMALL, [pack])
    [problem] = caught.value.problems
    assert problem.path.name == "pack.yaml"
    assert (problem.line, problem.column) == place
    assert message in problem.message


def test_a_pack_may_not_take_the_id_of_a_rule_that_is_there(pack):
    write_pack(pack, "")
    (pack / "limit").mkdir()
    (pack / "limit/weight_cap.yaml").write_bytes((SMALL / "limit/weight_cap.yaml").read_bytes())
    with pytest.raises(RuleBaseError, match="is there already"):
        load_rule_base(SMALL, [pack])
