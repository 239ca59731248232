"""`learn` and `recommend --weights`."""

from __future__ import annotations

import json

import pytest

from rungwright.domain.weights import Weights

RUN = {"challenge": "shelter", "on": "2026-10-14", "groups": 9, "settings": {"load_positions": 1}}
SECTION = {"label": "Kestrel 4B", "grades": ["04"], "students": 27, "group_size": 3, "sessions": [{"minutes": 60}]}


def runs(first, second):
    made = []
    for i, met in enumerate((first, second)):
        results = [{"criterion": "load", "first": {"met": met, "of": 9}}]
        made.append({**RUN, "on": f"2026-1{i}-14", "settings": {"load_positions": i + 1}, "results": results})
    return made


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "runs.json"
    sections = [{"section": SECTION, "runs": runs(8, 5)}, {"section": SECTION, "runs": runs(7, 6)[:1]}]
    path.write_text(json.dumps({"challenge": "shelter", "sections": sections}))
    return path


def test_it_writes_a_document_and_says_what_was_learned(run, file, tmp_path):
    to = tmp_path / "weights.json"
    done = run("learn", str(file), str(file), "--to", str(to))
    assert done.exit_code == 0, done.output
    weights = Weights.model_validate_json(to.read_text())
    assert weights.data.sections == 2 and weights.data.nothing_to_compare == 2
    said = " ".join(done.stdout.split())
    assert "Compared 4 runs of 2 sections, 36 groups in all." in said
    assert "Still a starting guess" in said and "Learned here" not in said
    assert "Left out 2 runs: the only one of their section, with nothing to compare." in said
    assert "How much classes and groups differ is a starting guess, moved a little by 4 sections (54 groups)." in said
    assert list(tmp_path.glob("*.part")) == []


def test_recommend_uses_it_and_names_its_version(run, file, tmp_path, example, monkeypatch):
    to = tmp_path / "weights.json"
    assert run("learn", str(file), "--to", str(to)).exit_code == 0
    version = Weights.model_validate_json(to.read_text()).version
    said = json.loads(run("recommend", example, "--json", "--weights", str(to)).stdout)
    assert said["model"]["weights_version"] == version
    monkeypatch.setenv("RUNGWRIGHT_WEIGHTS", str(to))
    assert json.loads(run("recommend", example, "--json").stdout)["model"]["weights_version"] == version
    monkeypatch.delenv("RUNGWRIGHT_WEIGHTS")
    assert json.loads(run("recommend", example, "--json").stdout)["model"]["weights_version"] == "starting"


def test_earlier_weights_are_kept_and_other_files_are_left_alone(run, file, tmp_path):
    to = tmp_path / "weights.json"
    assert run("learn", str(file), "--to", str(to)).exit_code == 0
    first = to.read_text()
    version = Weights.model_validate_json(first).version
    done = run("learn", str(file), str(file), "--to", str(to))
    assert done.exit_code == 0 and f"weights.{version}.json" in done.stdout
    assert (tmp_path / f"weights.{version}.json").read_text() == first != to.read_text()
    before = file.read_text()
    done = run("learn", str(file), "--to", str(file))
    assert done.exit_code == 2 and "nothing is lost" in done.stderr and file.read_text() == before
    assert list(tmp_path.glob("*.part")) == []


def test_a_file_that_is_no_weights_is_told(run, file, example):
    done = run("recommend", example, "--weights", str(file))
    assert done.exit_code == 2 and "is no document of learnt weights" in done.stderr
    done = run("recommend", example, "--weights", "nowhere.json")
    assert done.exit_code == 2 and "nowhere.json" in done.stderr


def test_a_wrong_file_of_runs_is_told_at_its_field(run, tmp_path):
    path = tmp_path / "runs.json"
    path.write_text(json.dumps({"challenge": "shelter", "sections": [{"section": SECTION, "rums": []}]}))
    done = run("learn", str(path))
    assert done.exit_code == 2 and "/sections/0/rums" in done.stderr


def test_help_says_that_starting_guesses_stay(run):
    assert "starting guesses stay" in " ".join(run("learn", "--help").stdout.split())
