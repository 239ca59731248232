"""The other commands."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from rungwright.api.demo import demo
from rungwright.rulebase import default_folder

RULE = "adjust/shelter/load/second_spot_for_a_surplus"


def test_batch_answers_each_line(run, tmp_path):
    wrong = {**demo(), "challenge": "sheltr"}
    for name, raw in {
        "lines.ndjson": "\n".join(map(json.dumps, [demo(), wrong])),
        "list.json": json.dumps([demo(), wrong]),
    }.items():
        (tmp_path / name).write_text(raw, encoding="utf-8")
        result = run("batch", str(tmp_path / name))
        assert result.exit_code == 0, result.stderr
        first, second = map(json.loads, result.stdout.splitlines())
        assert first["index"] == 0 and first["recommendation"]["asked"] == "harder"
        assert second["index"] == 1 and second["problem"]["errors"][0]["pointer"] == "/challenge"


@pytest.mark.parametrize("raw", ["", "[1, 2"])
def test_a_batch_that_cannot_be_read(run, raw):
    result = run("batch", "-", given=raw)
    assert result.exit_code == 2
    assert result.stderr.startswith("standard input: ")


def test_rules_check_list_and_show(run):
    assert run("rules", "check").stdout.startswith("Sound: ")
    assert RULE in run("rules", "list", "--stage", "adjust").stdout
    assert RULE not in run("rules", "list", "--stage", "limit").stdout
    shown = run("rules", "show", RULE)
    assert shown.exit_code == 0
    for word in ("When", "Then", "propose", "load_positions", "Because", "Stands on"):
        assert word in shown.stdout


def test_an_unknown_rule_offers_the_nearest(run):
    result = run("rules", "show", RULE + "es")
    assert result.exit_code == 2
    assert result.stderr.strip() == f"there is no rule '{RULE}es'; did you mean '{RULE}'?"


def test_rules_explain(run, example):
    every = run("rules", "explain", example).stdout
    one = run("rules", "explain", example, RULE).stdout
    assert every.count("fired: ") + every.count("did not fire: ") > 10
    assert one.startswith(RULE)
    assert "fire" in one


@pytest.mark.parametrize("engine", ["clips", "plain"])
def test_rules_test(run, engine):
    result = run("rules", "test", "--engine", engine)
    assert result.exit_code == 0, result.stdout
    assert "cases pass." in result.stdout


@pytest.fixture
def broken(tmp_path: Path) -> Path:
    folder = tmp_path / "rules"
    shutil.copytree(default_folder(), folder)
    path = folder / f"{RULE}.yaml"
    path.write_text(path.read_text(encoding="utf-8").replace("load_positions, steps", "load_position, steps"))
    return folder


@pytest.mark.parametrize("command", [["rules", "check"], ["doctor"], ["recommend", "--demo", "grade_4_harder"]])
def test_a_broken_rule_base_is_told_at_its_line(run, broken, monkeypatch, command):
    monkeypatch.setenv("RUNGWRIGHT_RULES", str(broken))
    result = run(*command)
    assert result.exit_code == 2
    assert f"{RULE}.yaml:" in result.stderr and "load_positions" in result.stderr


def test_doctor_tells_what_runs(run, monkeypatch):
    monkeypatch.setenv("RUNGWRIGHT_ENGINE", "clips")
    result = run("doctor")
    assert result.exit_code == 0, result.output
    assert "clips, because RUNGWRIGHT_ENGINE is clips" in result.stdout
    for word in ("python", "rule base", "digest", "cases", "starting guesses"):
        assert word in result.stdout


def test_a_wrong_setting_is_one_line(run, monkeypatch):
    monkeypatch.setenv("RUNGWRIGHT_ENGINE", "none")
    result = run("doctor")
    assert (result.exit_code, result.stderr) == (2, "RUNGWRIGHT_ENGINE is 'none'; use one of auto, durable, clips\n")


@pytest.mark.parametrize("host", ["0.0.0.0", "::", "192.0.2.7", "school.example"])
def test_serve_stays_on_this_computer(run, host):
    result = run("serve", "--host", host)
    assert result.exit_code == 2
    assert "no keys" in result.stderr and "127.0.0.1" in result.stderr


def test_contract_prints_the_committed_file(run, tmp_path):
    committed = Path(__file__).resolve().parents[2] / "openapi" / "openapi.json"
    assert run("contract", "--to", str(tmp_path / "c.json")).exit_code == 0
    assert (tmp_path / "c.json").read_bytes() == committed.read_bytes()


def test_a_fault_of_the_program_is_told_without_a_traceback(run, example, monkeypatch):
    def broken(*_: object) -> None:
        raise AttributeError("inside")

    monkeypatch.setattr("rungwright.cli.recommend.recommend_for", broken)
    result = run("recommend", example)
    assert result.exit_code == 1
    assert "Something went wrong inside rungwright: AttributeError: inside." in result.stderr
    assert "Traceback" not in result.stderr
