"""Commands about what is kept."""

from __future__ import annotations

import json
import os
import re
import stat
import zipfile
from pathlib import Path

import pytest

from rungwright.api.demo import demo
from rungwright.domain.keeping import SectionDraft
from rungwright.domain.section import Section
from rungwright.settings import Settings, open_store
from rungwright.store import ONE_PERSON, Sections
from tests.store.test_roster import a_class, enrolled, files


@pytest.fixture
def kept() -> str:
    """A section with needs; its id."""
    store = open_store(Settings.from_env())
    section = Section.model_validate({**demo()["section"], "supports": {"mobility": 1}})
    with store.writing() as session:
        id = Sections(session, ONE_PERSON).add(SectionDraft(section=section)).id
    store.close()
    return id


def test_a_key_is_shown_once_and_ends(run):
    assert "There are no keys" in run("keys", "list").stdout
    added = run("keys", "add", "Room 12", "--role", "coach", "--days", "30")
    assert added.exit_code == 0
    key = re.search(r"rungwright_\S{40,}", added.stdout)[0]
    listed = run("keys", "list").stdout
    id = listed.split()[0]
    assert "coach" in listed and "good until" in listed and "Room 12" in listed and key not in listed
    renewed = run("keys", "renew", id).stdout
    assert re.search(r"rungwright_\S{40,}", renewed)[0] != key
    assert "good no more" in run("keys", "revoke", id).stdout
    assert "ended" in run("keys", "list").stdout


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["keys", "revoke", "x"], "There is no key 'x' here"),
        (["keys", "add", " "], "1 to 80 characters"),
        (["keys", "add", "x", "--workspace", "Ridge School"], "there is no workspace 'Ridge School'"),
        (["keys", "add", "x", "--new-workspace"], "there is a workspace 'local' already"),
        (["forget"], "exactly one of"),
        (["forget", "--section", "x", "--yes"], "There is no section 'x' here"),
        (["restore", "nowhere.json"], "nowhere.json: cannot be read"),
        (["import", "nowhere.json"], "nowhere.json: cannot be read"),
        (["roster", "nowhere"], "nowhere: cannot be read"),
        (["export", "nowhere/x.json"], "nowhere/x.json: cannot be written"),
        (["backup", "x.json"], "nothing to back up"),
    ],
)
def test_what_cannot_be_done_is_told_in_a_line(run, tmp_path, monkeypatch, arguments, told):
    monkeypatch.chdir(tmp_path)
    done = run(*arguments)
    assert done.exit_code == 2 and told in done.stderr
    assert "Traceback" not in done.output
    assert list(tmp_path.iterdir()) == []


def test_a_backup_comes_back_whole(run, kept, tmp_path):
    file = tmp_path / "all.json"
    assert run("backup", str(file)).exit_code == 0
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    assert "is there already" in run("backup", str(file)).stderr
    assert run("forget", "--section", kept, "--yes").exit_code == 0
    assert run("restore", str(file)).exit_code == 0
    again = tmp_path / "again.json"
    run("backup", str(again))
    assert again.read_bytes() == file.read_bytes()
    assert "--replace" in run("restore", str(file)).stderr
    assert run("restore", str(file), "--replace").exit_code == 0
    assert [p.name for p in tmp_path.iterdir()] in (["all.json", "again.json"], ["again.json", "all.json"])


def test_a_workspace_goes_elsewhere_without_needs(run, kept, tmp_path, monkeypatch):
    file = tmp_path / "school.json"
    assert run("export", str(file)).exit_code == 0
    assert kept in file.read_text() and "mobility" not in file.read_text()
    assert "is here already" in run("import", str(file)).stderr
    monkeypatch.setenv("RUNGWRIGHT_DATA", str(tmp_path / "elsewhere"))
    assert "1 sections" in run("import", str(file)).stdout
    second = tmp_path / "second.json"
    run("export", str(second))
    assert second.read_bytes() == file.read_bytes()


def test_a_roster_from_a_folder_and_a_zip(run, tmp_path):
    school = files(
        [a_class("a", "Kestrel 4A", "04"), a_class("b", "Kestrel 5B", "")], [enrolled("a", "u"), enrolled("b", "v")]
    )
    for name, text in school.items():
        (tmp_path / name).write_bytes(text.encode())
    dry = run("roster", str(tmp_path), "--dry-run").stdout
    assert "made" in dry and "Nothing was changed" in dry
    assert "skipped   classes.csv line 3: it has no grade" in dry
    packed = tmp_path / "roster.zip"
    with zipfile.ZipFile(packed, "w") as archive:
        for name, text in school.items():
            archive.writestr(name, text)
    assert "made      Kestrel 4A: grade 04, 1 student" in run("roster", str(packed)).stdout
    assert "unchanged Kestrel 4A" in run("roster", str(packed), "--grade", "5").stdout
    assert "'13' is not a grade" in run("roster", str(packed), "--grade", "13").stderr


def test_forgetting_asks_first_and_the_log_tells(run, kept):
    assert "made section" in run("log").stdout
    assert "Nothing was forgotten" in run("forget", "--section", kept, given="n\n").stderr
    assert "Forgotten: nothing" in run("forget", "--older-than", "30", "--yes").stdout
    assert "1 sections" in run("forget", "--workspace", "local", "--yes").stdout
    assert run("log").stdout == ""


def test_other_computers_are_answered_only_where_there_are_keys(run):
    done = run("serve", "--host", "0.0.0.0", "--port", "0")
    assert done.exit_code == 2
    assert "there are no keys" in done.stderr and "rungwright keys add" in done.stderr


def test_a_data_folder_that_cannot_be_used_is_told(run, tmp_path, monkeypatch):
    (tmp_path / "file").write_text("x")
    monkeypatch.setenv("RUNGWRIGHT_DATA", str(tmp_path / "file"))
    done = run("keys", "list")
    assert done.exit_code == 2 and "RUNGWRIGHT_DATA" in done.stderr
    monkeypatch.setenv("RUNGWRIGHT_DATABASE_URL", "mysql://x")
    assert "must begin with postgresql://" in run("keys", "list").stderr


def test_the_folder_of_the_data_is_closed_to_others(run):
    run("keys", "list")
    folder = Path(os.environ["RUNGWRIGHT_DATA"])
    assert (folder / "rungwright.sqlite3").exists()
    assert stat.S_IMODE((folder / "rungwright.sqlite3").stat().st_mode) & 0o077 == 0


def test_doctor_says_where_things_are_kept(run, kept):
    assert "up to date (form 0003)" in " ".join(run("doctor").stdout.split())


def test_an_exported_file_is_json_that_people_can_read(run, kept, tmp_path):
    file = tmp_path / "school.json"
    run("export", str(file))
    assert json.loads(file.read_text())["format"] == "rungwright workspace"
