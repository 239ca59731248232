"""Backups, workspace files and forgetting."""

from __future__ import annotations

import copy
import json
import re
from datetime import timedelta
from pathlib import Path

import pytest
from sqlalchemy import update

from rungwright.api.app import create_app
from rungwright.api.demo import ladder_demo
from rungwright.domain.keeping import Role
from rungwright.domain.own_lines import Added, Edits
from rungwright.settings import Settings
from rungwright.store import LOCAL, ONE_PERSON, Caller, NotThere, OwnLines, Store, WrongVersion, prepare
from rungwright.store.backup import NotEmpty, backup, restore
from rungwright.store.forget import forget_old, forget_section, forget_workspace
from rungwright.store.keys import add_key, add_workspace
from rungwright.store.tables import AnswerRow, Base, LadderRow, LogRow, PastLadderRow, SectionRow
from rungwright.store.types import now
from rungwright.store.upgrade import migrate
from rungwright.store.workspace_file import BadFile, export, read_in
from tests.api.in_process import client_of
from tests.store.conftest import made

HIDDEN = {"talk_frames", "test_seat", "reading_partner", "test_place", "brief_form"}


@pytest.fixture
def full(client, store, section, run_body) -> dict[str, str]:
    """A workspace with one of everything; the section with needs has an answer that was worked out with them."""
    cupboard = made(
        client, "/v1/cupboards", {"label": "Science room", "materials": [{"material": "foil", "quantity": 0.1}]}
    )
    needs = {**section, "label": "With needs", "supports": {"mobility": 3}}
    plain, private = (
        made(client, "/v1/sections", {"section": s, "cupboard_id": cupboard["id"]})["id"] for s in (section, needs)
    )
    told = {**run_body, "settings": {"load_positions": 1, "talk_frames": True}}
    run = made(client, f"/v1/sections/{plain}/runs", {"run": told})
    client.put(f"/v1/runs/{run['id']}", json={"run": {**told, "minutes_over": 2.5}}, headers={"if-match": "*"})
    ask = {"challenge": "shelter", "ask": {"direction": "easier"}}
    for id in (plain, private):
        answer = made(client, "/v1/recommendations", {**ask, "section_id": id})
        decision = {"proposal": answer["proposals"][0]["id"], "choice": "kept", "note": f"note on {id}"}
        made(client, f"/v1/recommendations/{answer['id']}/decisions", decision)
    lesson = {"section_id": private, "on": "2026-11-25", "materials": [], "recommendation_id": answer["id"]}
    made(client, "/v1/lessons", lesson)
    made(client, f"/v1/sections/{plain}/rollover", {})
    ladder = f"/v1/ladders/{made(client, '/v1/ladders', {'ladder': ladder_demo('check')['ladder']})['id']}"
    publish = {"do": "publish", "on": "2026-11-20", "by": "Coaches of Kestrel Ridge"}
    for edit in (publish, {"do": "revise"}, {"do": "rename", "rung": "r1", "name": "First"}):
        assert client.put(f"{ladder}/edits", json={"edits": [edit]}, headers={"if-match": "*"}).status_code == 200
    place = {"section_id": private, "now_on": "r1", "week": "2026-12-02", "met": {"grade": "03", "rung": "r1"}}
    assert client.put(f"{ladder}/sections", json=place, headers={"if-match": "*"}).status_code == 200
    with store.writing() as session:
        edits = Edits(reword={"need": "Our own story."}, add=[Added(after="need", text="It is cold.")])
        OwnLines(session, ONE_PERSON).put(plain, "shelter", "brief", "en", edits)
    return {"plain": plain, "private": private}


def exported(store: Store, workspace: str = LOCAL) -> dict:
    with store.reading() as session:
        # Through the text of a file and back, as when it is sent.
        return json.loads(json.dumps(export(session, Caller(workspace, None, Role.COACH), hidden=HIDDEN)))


def test_an_exported_workspace_read_in_elsewhere_is_the_same(full, store, tmp_path):
    file = exported(store)
    parts = ("cupboards", "sections", "runs", "past_runs", "lessons", "own_lines")
    assert {name: len(file[name]) for name in parts} == {
        "cupboards": 1, "sections": 3, "runs": 1, "past_runs": 1, "lessons": 1, "own_lines": 1,
    }  # fmt: skip
    assert [len(file[name]) for name in ("ladders", "past_ladders", "rung_places")] == [1, 3, 1]
    elsewhere = Store(f"sqlite:///{tmp_path / 'elsewhere.sqlite3'}")
    prepare(elsewhere)
    with elsewhere.writing() as session:
        read_in(session, ONE_PERSON, file)
    assert exported(elsewhere) == file
    elsewhere.close()


def test_a_file_of_version_1_is_read(full, store, tmp_path):
    """Before there were ladders and a teacher's own lines."""
    file, since = exported(store), ("ladders", "past_ladders", "rung_places", "own_lines")
    older = {name: part for name, part in file.items() if name not in since} | {"version": 1}
    elsewhere = Store(f"sqlite:///{tmp_path / 'elsewhere.sqlite3'}")
    prepare(elsewhere)
    with elsewhere.writing() as session:
        assert read_in(session, ONE_PERSON, older)["sections"] == 3
    assert exported(elsewhere) == {**file, **{name: [] for name in since}}
    with pytest.raises(BadFile, match="must be a list"), elsewhere.writing() as session:
        read_in(session, ONE_PERSON, {**older, "version": 2})
    elsewhere.close()


def test_needs_and_what_tells_of_them_are_in_no_exported_file(full, store):
    file = exported(store)
    text = json.dumps(file)
    assert not re.findall(r"mobility|talk_frames\W+true", text)
    assert [len(file[name]) for name in ("answers", "decisions")] == [1, 1]
    assert f"note on {full['private']}" not in text and f"note on {full['plain']}" in text
    assert file["lessons"][0]["recommendation_id"] is None, "a digest of needs, among others"
    assert all(run["body"]["settings"] == {"load_positions": 1} for run in file["runs"])


def test_what_was_read_in_can_be_used(full, store, app, tmp_path, rules):
    elsewhere = Store(f"sqlite:///{tmp_path / 'elsewhere.sqlite3'}")
    prepare(elsewhere)
    with elsewhere.writing() as session:
        key, text = add_key(session, label="x", role=Role.TEACHER)
        read_in(session, Caller(LOCAL, None, Role.COACH), exported(store), owner=key.id)
    client = client_of(create_app(Settings(), rules, elsewhere))
    client.headers["authorization"] = f"Bearer {text}"
    for path in ("/v1/sections", "/v1/cupboards", "/v1/lessons", "/v1/recommendations", "/v1/decisions", "/v1/ladders"):
        assert client.get(path).json()["items"], path
    assert all(s["mine"] for s in client.get("/v1/sections").json()["items"])
    elsewhere.close()


def change(file, at, value):
    file = copy.deepcopy(file)
    here = file
    *way, last = at
    for part in way:
        here = here[part]
    here[last] = value
    return file


WRONG = [
    (["format"], "x", "not a workspace"),
    (["version"], 3, "/version: 3 cannot be read"),
    (["version"], 1, "/ladders: is not known in version 1"),
    (["past_ladders", 0, "ladder_id"], "elsewhere", "/past_ladders/0/ladder_id: there is no 'elsewhere'"),
    (["ladders", 0, "body", "rungs"], [], "/ladders/0/body/rungs"),
    (["rung_places", 0, "met"], {"grade": "14"}, "/rung_places/0/met/grade"),
    (["more"], [], "/more: is not known"),
    (["runs"], None, "/runs: must be a list"),
    (["runs", 0], {}, "/runs/0: has other fields"),
    (["runs", 0, "section_id"], "elsewhere", "/runs/0/section_id: there is no 'elsewhere'"),
    (["sections", 0, "cupboard_id"], "elsewhere", "/sections/0/cupboard_id"),
    (["runs", 0, "body", "groups"], 99, "/runs/0/body/groups"),
    (["runs", 0, "taught_on"], "soon", "/runs/0/taught_on"),
    (["runs", 0, "created_at"], "2026-11-25", "/runs/0/created_at: must have a time zone"),
    (["lessons", 0, "state"], "eaten", "/lessons/0/state"),
    (["sections", 0, "body", "supports"], {"mobility": 1}, "/sections/0/body: supports never"),
    (["sections", 0, "body", "names"], ["x"], "/sections/0/body/names"),
    (["answers", 0, "answer"], "{}", "/answers/0/answer"),
    (["cupboards", 0, "label"], "x" * 81, "/cupboards/0/label: must have at most 80"),
    (["cupboards", 0, "label"], "a\0b", "/cupboards/0/label: must not hold"),
    (["cupboards", 0, "version"], "1", "/cupboards/0/version"),
]


def test_a_file_that_is_wrong_is_told_and_adds_nothing(full, store, tmp_path):
    file = exported(store)
    elsewhere = Store(f"sqlite:///{tmp_path / 'elsewhere.sqlite3'}")
    prepare(elsewhere)
    for at, value, told in WRONG:
        with pytest.raises(BadFile) as caught, elsewhere.writing() as session:
            read_in(session, ONE_PERSON, change(file, at, value))
        assert told in str(caught.value), at
    twice = {**file, "runs": file["runs"] * 2}
    with pytest.raises(BadFile, match="/runs: two entries are the same"), elsewhere.writing() as session:
        read_in(session, ONE_PERSON, twice)
    assert not any(rows for name, rows in exported(elsewhere).items() if name not in ("format", "version", "label"))
    elsewhere.close()


def test_a_file_is_not_read_in_over_what_is_there(full, store):
    before = exported(store)
    with pytest.raises(BadFile, match="is here already"), store.writing() as session:
        other = add_workspace(session, "Valley School")
        read_in(session, Caller(other.id, None, Role.COACH), before)
    assert exported(store) == before


@pytest.mark.parametrize("target", ["sqlite", "postgresql"])
def test_a_backup_brings_everything_back_into_either_database(full, store, target, tmp_path, request):
    saved = json.loads(json.dumps(backup(store)))
    assert set(saved["tables"]) == set(Base.metadata.tables)
    assert len(saved["tables"]["needs"]) == 1, "needs too: it is for its owner"
    url = f"sqlite:///{tmp_path / 'elsewhere.sqlite3'}"
    if target == "postgresql":
        url = request.getfixturevalue("postgres_server").address("postgres")
    elsewhere = Store(url)
    restore(elsewhere, saved)
    assert json.loads(json.dumps(backup(elsewhere))) == saved
    prepare(elsewhere)
    with pytest.raises(NotEmpty):
        restore(elsewhere, saved)
    restore(elsewhere, saved, replace=True)
    assert exported(elsewhere) == exported(store)
    migrate(elsewhere, "base")
    elsewhere.close()


SPOILED = [
    lambda b: b.update(format="x"),
    lambda b: b.update(form="9999"),
    lambda b: b["tables"].pop("runs"),
    lambda b: b["tables"]["runs"][0].pop("body"),
    lambda b: b["tables"]["runs"][0].update(section_id="nowhere"),
    lambda b: b.pop("tables"),
]


def test_a_backup_that_is_not_whole_changes_nothing(full, store):
    saved = json.loads(json.dumps(backup(store)))
    before = exported(store)
    for spoil in SPOILED:
        spoiled = copy.deepcopy(saved)
        spoil(spoiled)
        with pytest.raises(WrongVersion):
            restore(store, spoiled, replace=True)
        assert exported(store) == before


def test_a_forgotten_section_is_gone_to_the_last_byte(full, store, client, database):
    with store.writing() as session:
        gone = forget_section(session, ONE_PERSON, full["private"])
    assert gone["sections"] == 1 and gone["answers"] == 1 and gone["decisions"] == 1
    store.settle()
    assert client.get(f"/v1/sections/{full['private']}").status_code == 404
    assert full["private"] not in json.dumps(backup(store))
    assert client.get(f"/v1/sections/{full['plain']}").status_code == 200
    if database.startswith("sqlite"):
        folder = Path(database.removeprefix("sqlite:///")).parent
        for file in folder.glob("rungwright.sqlite3*"):
            assert b"With needs" not in file.read_bytes(), file
    with pytest.raises(NotThere), store.writing() as session:
        forget_section(session, ONE_PERSON, full["private"])


def test_a_forgotten_year_leaves_the_one_that_follows(full, store, client):
    new = next(s for s in client.get("/v1/sections").json()["items"] if s["follows_id"])
    with store.writing() as session:
        forget_section(session, ONE_PERSON, full["plain"])
    assert client.get(f"/v1/sections/{new['id']}").json()["follows_id"] is None


def test_a_forgotten_workspace_takes_its_keys_along(full, store, with_key, section):
    other = with_key("teacher", "Valley School")
    made(other, "/v1/sections", {"section": section})
    with store.writing() as session:
        (place,) = {row.workspace_id for row in session.query(SectionRow)} - {LOCAL}
        forget_workspace(session, place)
    assert other.get("/v1/sections").status_code != 200 or other.get("/v1/sections").json()["items"] != []
    assert place not in json.dumps(backup(store))
    with store.writing() as session:
        forget_workspace(session, LOCAL)
    assert [exported(store)[name] for name in ("sections", "ladders", "past_ladders", "rung_places")] == [[]] * 4


def test_what_is_too_old_is_forgotten_and_the_rest_stays(full, store, client):
    with store.writing() as session:
        assert not +forget_old(session, 400)
    long_ago = now() - timedelta(days=401)
    with store.writing() as session:
        session.execute(update(AnswerRow).values(created_at=long_ago))
        session.execute(update(LogRow).values(at=long_ago))
        session.execute(update(SectionRow).where(SectionRow.archived).values(updated_at=long_ago))
        session.execute(update(PastLadderRow).values(replaced_at=long_ago))
    with store.writing() as session:
        gone = forget_old(session, 400)
    assert gone["past_ladders"] == 2 and gone["ladders"] == 0
    assert [row["published"] for row in exported(store)["past_ladders"]] == [1], "what was published stays"
    assert (gone["answers"], gone["decisions"], gone["sections"], gone["runs"]) == (2, 2, 1, 1)
    assert len(client.get("/v1/sections").json()["items"]) == 2
    assert len(client.get("/v1/cupboards").json()["items"]) == 1


def test_a_ladder_that_was_put_away_long_ago_is_forgotten_whole(full, store):
    with store.writing() as session:
        session.execute(update(LadderRow).values(archived=True, updated_at=now() - timedelta(days=401)))
    with store.writing() as session:
        gone = forget_old(session, 400)
    assert (gone["ladders"], gone["past_ladders"]) == (1, 3)
    assert [exported(store)[name] for name in ("ladders", "past_ladders", "rung_places")] == [[], [], []]
