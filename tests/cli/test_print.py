"""`rungwright print` and `rungwright late`."""

from __future__ import annotations

import json
import stat
from pathlib import Path

import pytest

from rungwright.sheets import SheetName


def test_all_writes_every_sheet_and_says_where(run, example, tmp_path):
    to = tmp_path / "lesson"
    result = run("print", "all", example, "--to", str(to), "--start", "2026-12-01T09:15")
    assert result.exit_code == 0, result.output
    names = {*(f"{name}.pdf" for name in SheetName), "kit.csv", "lesson.ics"}
    assert {path.name for path in to.iterdir()} == names
    for name in names:
        assert str(to / name) in result.stdout
    assert stat.S_IMODE((to / "brief.pdf").stat().st_mode) & 0o444


@pytest.mark.parametrize("what", ["brief", "kit", "teacher"])
def test_one_sheet_writes_that_sheet(run, example, tmp_path, what):
    assert run("print", what, example, "--to", str(tmp_path), "--paper", "a4", "--large").exit_code == 0
    assert {path.stem for path in tmp_path.iterdir()} == {what}


def test_all_leaves_out_what_nobody_needs_and_says_so(run, example, tmp_path):
    request = json.loads(Path(example).read_text(encoding="utf-8"))
    names = ("craft_stick", "copy_paper", "foil", "masking_tape", "index_card")
    request["section"]["materials"] = [{"material": name, "quantity": 500} for name in names]
    result = run("print", "all", "-", "--to", str(tmp_path), given=json.dumps(request))
    assert result.exit_code == 0
    assert "No letter" in result.output
    assert not (tmp_path / "letter.pdf").exists()


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("print", "brief", "--language", "fr"), "--language: there is no language 'fr'"),
        (("print", "brief", "--story", "9"), "--story: there are the stories 1 to 2"),
        (("print", "letter", "--needed-by", "soon"), "--needed-by: 'soon' is not a day"),
        (("print", "calendar"), "--start: tell when each lesson starts"),
        (("print", "calendar", "--start", "noon"), "--start: 'noon' is not a time"),
        (("print", "calendar", "--start", "2026-12-01T09:15", "--start", "2026-12-02T09:15"), "--start: 1 starts"),
        (("late", "--minutes-left", "-3"), "cannot be below 0"),
        (("late", "--minutes-left", "5", "--untested", "40"), "from 1 to 9 groups"),
    ],
)
def test_what_is_wrong_is_told_and_nothing_is_written(run, tmp_path, arguments, told):
    to = ("--to", str(tmp_path)) if arguments[0] == "print" else ()
    result = run(*arguments, "--demo", "grade_4_harder", *to)
    assert result.exit_code == 2, result.output
    assert told in result.stderr
    assert not list(tmp_path.iterdir())


def test_a_folder_that_cannot_be_written_is_told(run, tmp_path):
    (tmp_path / "file").write_text("in the way")
    result = run("print", "kit", "--demo", "grade_4_harder", "--to", str(tmp_path / "file"))
    assert result.exit_code == 2
    assert "cannot be written" in result.stderr


def test_late_says_what_all_can_still_do(run):
    result = run("late", "--demo", "grade_4_harder", "--minutes-left", "6", "--untested", "5")
    assert result.exit_code == 0
    assert "the 5 groups that are left can still do wind and rain alike" in " ".join(result.stdout.split())


def test_lines_are_shown_with_their_ids_and_edited_by_them(run, example, tmp_path):
    shown = run("print", "brief", example, "--lines", "--to", str(tmp_path / "out"))
    assert shown.exit_code == 0
    assert "brief en" in shown.stdout and "  need: " in shown.stdout
    assert not (tmp_path / "out").exists()
    edits = tmp_path / "edits.yaml"
    edits.write_text("brief: {en: {reword: {need: Our own story.}, remove: [kit/nothing]}}\n")
    again = run("print", "brief", example, "--lines", "--edits", str(edits))
    assert "  need: Our own story." in again.stdout
    written = run("print", "brief", example, "--edits", str(edits), "--to", str(tmp_path / "out"))
    assert written.exit_code == 0
    assert "kit/nothing" in written.stderr


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("brif: {en: {}}\n", "did you mean 'brief'"),
        ("brief: {en: {rewrod: {}}}\n", "/brief/en/rewrod"),
        ("brief: {en: {remove: [safety/rules_first]}}\n", "--edits: the line 'safety/rules_first' keeps people safe"),
        ("[]\n", "sheets map to languages"),
    ],
)
def test_edits_that_cannot_be_are_told(run, example, tmp_path, text, told):
    edits = tmp_path / "edits.yaml"
    edits.write_text(text)
    result = run("print", "brief", example, "--edits", str(edits), "--to", str(tmp_path / "out"))
    assert result.exit_code == 2
    assert told in result.stderr
    assert not (tmp_path / "out").exists()
