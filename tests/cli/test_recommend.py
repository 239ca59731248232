"""`rungwright recommend`: readable, complete, and clear about what is wrong."""

from __future__ import annotations

import json

import pytest

from rungwright.api.demo import demo
from rungwright.cli.answer import dots
from rungwright.recommend.wording import SCHOOL_RULES

YAML = """\
challenge: shelter
section:
  label: Kestrel 4B
  grades: [04]
  students: 27
  group_size: 3
  sessions: [{minutes: 60}]
runs:
  - challenge: shelter
    on: 2026-10-14
    groups: 2
    grid:
      - {first: {load: no}, end: {load: yes, dry: not_tested}}
      - {end: {load: no}}
ask: {direction: harder}
"""


def test_it_says_what_is_proposed_and_why(run, example):
    result = run("recommend", example)
    assert result.exit_code == 0, result.output
    answer = json.loads(run("recommend", example, "--json").stdout)
    said = " ".join(result.stdout.split())
    assert answer["summary"]["headline"] in said
    assert answer["proposals"]
    for proposal in answer["proposals"]:
        assert f"{proposal['from_text']} → {proposal['to_text']}" in said
        assert proposal["reason"]["text"] in said
        assert proposal["rule"]["id"] in said
        assert proposal["basis"][0]["supports"] in said
    for held in answer["held_back"]:
        assert held["text"] in said
    for check in answer["after"]["checks"]:
        assert check["verdict"].replace("_", " ") in said and check["text"] in said
    for prompt in answer["prompts"]:
        assert all(question in said for question in prompt["questions"])
    assert said.count(SCHOOL_RULES) == 1
    for caution in answer["cautions"]:
        assert caution["text"].removesuffix(f" {SCHOOL_RULES}") in said
    assert "Minutes: " in said
    # The change stands first, then at once its reason.
    assert said.index("→") < said.index(answer["proposals"][0]["reason"]["text"]) < said.index("What it does")


def test_lines_fit_the_window(run, example, monkeypatch):
    for columns in (40, 72, 100):
        monkeypatch.setenv("COLUMNS", str(columns))
        lines = run("recommend", example, "--why").stdout.splitlines()
        # An id is never broken, so that it can be copied.
        long = [line for line in lines if len(line) > columns and len(line.split()[-1]) < columns // 2]
        assert long == []


def test_a_dot_is_a_group():
    assert dots(5, 8, 9) == "●●●●●◐◐◐○"
    assert dots(0, 1, 1) == "◐"


def test_terminals_without_the_signs_get_plain_ones(run, example, monkeypatch):
    monkeypatch.setattr("rungwright.cli.answer.can_show", lambda signs: False)
    assert dots(5, 8, 9) == "#####+++."


def test_the_demo_is_the_example(run, example):
    but_time = [
        json.loads(run("recommend", *how, "--json").stdout) for how in ((example,), ("--demo", "grade_4_harder"))
    ]
    for answer in but_time:
        del answer["created_at"]
    assert but_time[0] == but_time[1]


def test_options_change_what_is_asked(run, example):
    answer = json.loads(run("recommend", example, "--json", "--direction", "easier", "--units", "us").stdout)
    assert answer["asked"] == "easier"
    assert any(" oz" in check["text"] for check in answer["after"]["checks"])
    assert all(" g " not in check["text"] for check in answer["after"]["checks"])


def test_why_shows_the_proof_and_every_rule(run, example):
    said = " ".join(run("recommend", example, "--why").stdout.split())
    considered = json.loads(run("recommend", example, "--why", "--json").stdout)["explanation"]["considered"]
    assert considered
    assert all(entry["rule"] in said for entry in considered)
    assert "Proof" in said


def test_yaml_is_read_as_people_write_it(run, tmp_path):
    path = tmp_path / "request.yaml"
    path.write_text(YAML, encoding="utf-8")
    result = run("recommend", str(path), "--json")
    assert result.exit_code == 0, result.output
    assert json.loads(result.stdout)["section"]["grades"] == ["04"]
    assert run("recommend", "-", "--json", given=YAML).exit_code == 0


def test_standard_input_takes_json(run):
    assert run("recommend", "-", given=json.dumps(demo())).exit_code == 0


WRONG = {
    '{"challenge": "shelter"}': "standard input: /section: this field is required",
    "{": "standard input: expecting property name",
    "": "standard input: it is empty",
    "challenge: shelter\nchallenge: span": "standard input: the key 'challenge' stands twice in one object",
    "a: &x 1\nb: *x": "standard input: aliases (*) are not read, line 2",
    "a: [": "standard input: while parsing",
    "3: 4": "standard input: the key 3 at line 1 is not a text",
    "- 1": "standard input: must be an object",
    json.dumps(
        {**demo(), "challenge": "sheltr"}
    ): "standard input: /challenge: 'sheltr' is not a known challenge; did you",
    json.dumps(
        {**demo(), "settings": {"load_position": 2}}
    ): "standard input: /settings/load_position: 'load_position'",
}


@pytest.mark.parametrize("given", WRONG)
def test_what_is_wrong_is_one_clear_line(run, given):
    result = run("recommend", "-", given=given)
    assert result.exit_code == 2
    assert result.stdout == ""
    assert WRONG[given] in result.stderr
    assert "Traceback" not in result.stderr


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["nowhere.json"], "nowhere.json: cannot be read"),
        (["."], ".: cannot be read"),
        ([], "give either a request file"),
        (["x.json", "--demo", "grade_4_harder"], "give either a request file"),
        (["--demo", "grade_5"], "there is no demo 'grade_5'; there is grade_4_harder"),
        (["--demo", "grade_4_harder", "--direction", "up"], "direction"),
    ],
)
def test_wrong_arguments(run, arguments, told):
    result = run("recommend", *arguments)
    assert result.exit_code == 2
    assert told in result.stderr
