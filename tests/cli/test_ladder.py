"""`rungwright ladder` with files."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

FOLDER = Path(__file__).resolve().parents[2] / "examples" / "ladders"
LADDER, SECTIONS = str(FOLDER / "ladder.json"), str(FOLDER / "sections.json")


@pytest.fixture
def edits(tmp_path):
    def edits(*made: dict) -> str:
        path = tmp_path / f"edits{len(list(tmp_path.iterdir()))}.json"
        path.write_text(json.dumps(made), encoding="utf-8")
        return str(path)

    return edits


def words(text: str) -> str:
    return " ".join(text.split())


def test_the_rungs_are_shown_as_steps_with_reasons(run):
    result = run("ladder", "show", LADDER)
    assert result.exit_code == 0, result.output
    told = words(result.stdout)
    assert "1. First refuge (grades K and 1)" in told
    assert "Make the whole roof work." in told and "(3-5-ETS1-3)" in told
    assert "Why: Each group has 12 stiff pieces now. With 5 stiff pieces, it must choose a form" in told
    assert max(map(len, result.stdout.splitlines())) <= 80


def test_a_draft_is_written_whole_and_read_again(run, tmp_path):
    path = tmp_path / "ladder.json"
    drafted = run("ladder", "draft", "--grades", "3-5", "--to", str(path), "--json")
    assert drafted.exit_code == 0, drafted.output
    assert json.loads(path.read_text("utf-8")) == json.loads(drafted.stdout)["ladder"]
    assert [p.name for p in tmp_path.iterdir()] == ["ladder.json"]
    checked = run("ladder", "check", str(path))
    assert checked.exit_code == 0 and "Nothing to mend." in checked.stdout


def test_edits_are_made_and_kept(run, tmp_path, edits):
    to = tmp_path / "edited.json"
    made = run(
        "ladder", "check", LADDER, "--edits", edits({"do": "rename", "rung": "r2", "name": "Sides"}), "--to", str(to)
    )
    assert made.exit_code == 0, made.output
    told = run("ladder", "compare", LADDER, str(to))
    assert told.stdout.strip() == "- Two spots: name: Sides instead of Two spots."
    assert run("ladder", "compare", LADDER, LADDER).stdout.strip() == "The two ladders are alike."


def test_an_edit_that_is_refused_says_why_and_writes_nothing(run, tmp_path, edits):
    to = tmp_path / "edited.json"
    result = run("ladder", "check", LADDER, "--edits", edits({"do": "remove", "rung": "r9"}), "--to", str(to))
    assert result.exit_code == 2 and "/0/rung: 'r9' is not a known rung of this ladder" in words(result.stderr)
    assert not to.exists()


def test_what_must_be_mended_ends_with_a_failure(run, edits):
    change = {"do": "set", "rung": "r1", "settings": {"load_place": "tester"}}
    result = run("ladder", "check", LADDER, "--edits", edits(change))
    assert result.exit_code == 1 and "To mend before it is published" in result.stdout


def test_sections_are_placed(run):
    result = run("ladder", "place", LADDER, SECTIONS)
    assert result.exit_code == 0, result.output
    told = words(result.stdout)
    assert "Kestrel 4B (grade 4): " in told and "One rung up: " in told
    assert "three sections together" in told and "Week of 2026-11-30" in told


def test_two_edits_are_merged_and_a_clash_ends_with_a_failure(run, tmp_path, edits):
    files = []
    for i, name in enumerate(("Sides", "Walls")):
        files.append(str(tmp_path / f"coach{i}.json"))
        changes = edits({"do": "rename", "rung": "r2", "name": name})
        assert run("ladder", "check", LADDER, "--edits", changes, "--to", files[-1]).exit_code == 0
    clean = run("ladder", "merge", LADDER, files[0], LADDER)
    assert clean.exit_code == 0 and "Nothing clashes." in clean.stdout
    clash = run("ladder", "merge", LADDER, *files)
    assert clash.exit_code == 1
    assert "one says Sides, the other Walls; it was Two spots" in words(clash.stdout)


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["draft"], "give --grades, such as --grades K-12, or a request file"),
        (["draft", "--grades", "3-5-7"], "give the lowest and the highest grade"),
        (["draft", "--grades", "3-13"], "'13' is not a grade"),
        (["draft", "--grades", "3-5", "--challenge", "sheltr"], "did you mean 'shelter'"),
        (["show", SECTIONS], "must be an object"),
        (["show", "nowhere.json"], "nowhere.json: cannot be read"),
    ],
)
def test_what_cannot_be_used_is_told_in_one_line(arguments, told, run):
    result = run("ladder", *arguments)
    assert result.exit_code == 2 and told in words(result.stderr), result.stderr


def test_a_ladder_is_printed_as_a_chart_and_a_hand_out(run, tmp_path):
    made = run("ladder", "print", LADDER, "--to", str(tmp_path / "out"), "--paper", "a4")
    assert made.exit_code == 0, made.output
    files = sorted((tmp_path / "out").iterdir())
    assert [file.name for file in files] == ["hand_out.pdf", "wall_chart.pdf"]
    assert all(file.read_bytes().startswith(b"%PDF") for file in files)
    again = run("ladder", "print", LADDER, "--to", str(tmp_path / "again"), "--paper", "a4")
    assert again.exit_code == 0
    assert [(tmp_path / "again" / file.name).read_bytes() for file in files] == [file.read_bytes() for file in files]


def test_a_paper_that_is_not_known_is_told_and_nothing_is_written(run, tmp_path):
    wrong = run("ladder", "print", LADDER, "--to", str(tmp_path / "out"), "--paper", "a5")
    assert wrong.exit_code == 2 and "did you mean 'a4'" in wrong.stderr
    assert not (tmp_path / "out").exists()
