"""Sections: kept, changed, archived, taken into a new year."""

from __future__ import annotations

import json

import pytest
from sqlalchemy import text

from tests.store.conftest import made


def test_what_was_sent_is_what_is_kept(client, section):
    response = client.post("/v1/sections", json={"section": section})
    assert response.status_code == 201
    kept = response.json()
    assert response.headers["location"] == f"/v1/sections/{kept['id']}"
    assert response.headers["etag"] == '"1"'
    assert {k: v for k, v in kept["section"].items() if k in section} == section
    again = client.get(response.headers["location"])
    assert again.json() == kept and again.headers["etag"] == '"1"'


def test_what_a_section_measured_is_kept_and_used(client, section):
    measured = {"stick_thickness_mm": [1.95, 1.85], "friction": [0.3], "weight_g": 250}
    id = made(client, "/v1/sections", {"section": {**section, "measured": measured}})["id"]
    kept = client.get(f"/v1/sections/{id}").json()["section"]["measured"]
    assert {k: v for k, v in kept.items() if v} == {**measured, "stick_thickness_mm": [1.85, 1.95]}
    asked = {"challenge": "shelter", "section_id": id, "ask": {"direction": "fit"}, "runs": []}
    answer = made(client, "/v1/recommendations", asked)
    load = next(c for c in answer["before"]["checks"] if c["kind"] == "load")
    assert load["numbers"]["weight_g"] == 250 and "sticks of 1.85 to 1.95 mm" in load["text"]
    # The room stays the same in a new year
    up = client.post(f"/v1/sections/{id}/rollover", json={})
    assert up.status_code == 201 and up.json()["section"]["measured"] == kept


def test_a_section_that_was_kept_before_anything_could_be_measured_is_read(client, store, section):
    id = made(client, "/v1/sections", {"section": section})["id"]
    with store.writing() as session:
        old = {k: v for k, v in section.items() if k != "measured"}
        session.execute(text("update sections set body = :body where id = :id"), {"body": json.dumps(old), "id": id})
    assert client.get(f"/v1/sections/{id}").json()["section"]["measured"] is None


def test_a_change_needs_the_version_it_changes(client, section):
    id = made(client, "/v1/sections", {"section": section})["id"]
    changed = {"section": {**section, "students": 26}}
    without = client.put(f"/v1/sections/{id}", json=changed)
    assert without.status_code == 428 and without.json()["type"] == "/v1/problems/no-version"
    first = client.put(f"/v1/sections/{id}", json=changed, headers={"if-match": '"1"'})
    assert first.status_code == 200 and first.headers["etag"] == '"2"'
    late = client.put(f"/v1/sections/{id}", json={"section": section}, headers={"if-match": '"1"'})
    assert late.status_code == 412
    assert late.headers["etag"] == '"2"'
    assert late.json()["current"] == first.json()
    assert client.get(f"/v1/sections/{id}").json()["section"]["students"] == 26


def test_if_match_may_name_several_versions_or_any(client, section):
    id = made(client, "/v1/sections", {"section": section})["id"]
    for tag, then in (('"1"', '"2"'), ('"7", "2"', '"3"'), ("*", '"4"')):
        response = client.put(f"/v1/sections/{id}", json={"section": section}, headers={"if-match": tag})
        assert (response.status_code, response.headers["etag"]) == (200, then)
    for tag in ('W/"4"', "4", '""', '"x"', "", '"99999999999"'):
        late = client.put(f"/v1/sections/{id}", json={"section": section}, headers={"if-match": tag})
        assert late.status_code == 412, tag


def test_an_archived_section_leaves_the_list_and_can_come_back(client, section):
    id = made(client, "/v1/sections", {"section": section})["id"]
    client.put(f"/v1/sections/{id}", json={"section": section, "archived": True}, headers={"if-match": "*"})
    assert client.get("/v1/sections").json()["items"] == []
    assert [s["id"] for s in client.get("/v1/sections?archived=true").json()["items"]] == [id]
    client.put(f"/v1/sections/{id}", json={"section": section}, headers={"if-match": "*"})
    assert [s["id"] for s in client.get("/v1/sections").json()["items"]] == [id]


@pytest.mark.parametrize(
    ("change", "pointer", "told"),
    [
        ({"tools": ["scisors"]}, "/section/tools/0", "scissors"),
        ({"stations": [{"test": "lod", "copies": 1}]}, "/section/stations/0/test", "load"),
        ({"supports": {"reading": 28}}, "/section/supports/reading", "28 is more than"),
        ({"studnets": 4}, "/section/studnets", "students"),
    ],
)
def test_what_is_wrong_is_told_at_its_field(client, section, change, pointer, told):
    response = client.post("/v1/sections", json={"section": {**section, **change}})
    assert response.status_code == 422
    ((error),) = response.json()["errors"]
    assert error["pointer"] == pointer and told in error["detail"]
    assert client.get("/v1/sections").json()["items"] == []


def test_pages_stay_right_while_sections_are_added(client, section):
    ids = [made(client, "/v1/sections", {"section": section})["id"] for _ in range(7)]
    seen, cursor = [], ""
    while True:
        page = client.get(f"/v1/sections?limit=3{cursor}").json()
        seen += [s["id"] for s in page["items"]]
        if page["next"] is None:
            break
        if len(ids) < 12:
            ids.append(made(client, "/v1/sections", {"section": section})["id"])
        cursor = f"&cursor={page['next']}"
    assert sorted(seen) == sorted(ids) and len(set(seen)) == len(seen)


def test_the_same_create_twice_makes_one(client, section):
    body = {"section": section}
    first = client.post("/v1/sections", json=body, headers={"idempotency-key": "a1"})
    again = client.post("/v1/sections", json=body, headers={"idempotency-key": "a1"})
    assert (first.status_code, again.status_code) == (201, 201)
    assert first.json() == again.json() and first.headers["location"] == again.headers["location"]
    assert len(client.get("/v1/sections").json()["items"]) == 1
    other = client.post("/v1/sections", json={"section": {**section, "label": "x"}}, headers={"idempotency-key": "a1"})
    assert other.status_code == 422 and "another request" in other.json()["detail"]
    assert made(client, "/v1/sections", body, **{"idempotency-key": "a2"})["id"] != first.json()["id"]


def test_a_new_year_takes_the_section_up_a_grade(client, section, run_body):
    old = made(client, "/v1/sections", {"section": {**section, "grades": ["03", "04"], "supports": {"reading": 2}}})
    made(client, f"/v1/sections/{old['id']}/runs", {"run": run_body})
    new = made(client, f"/v1/sections/{old['id']}/rollover", {"label": "Kestrel 5B", "students": 25})
    assert new["section"]["grades"] == ["04", "05"]
    assert (new["section"]["label"], new["section"]["students"]) == ("Kestrel 5B", 25)
    assert new["section"]["supports"] is None, "needs are looked at anew"
    assert new["follows_id"] == old["id"]
    assert client.get(f"/v1/sections/{old['id']}").json()["archived"] is True
    assert client.get(f"/v1/sections/{new['id']}/runs").json()["items"] == []
    ask = {"challenge": "shelter", "section_id": new["id"]}
    assert "one earlier run" in client.post("/v1/recommendations", json=ask).json()["summary"]["evidence"]


def test_where_most_students_are_new_earlier_runs_teach_nothing(client, section, run_body):
    old = made(client, "/v1/sections", {"section": {**section, "grades": ["12"]}})
    made(client, f"/v1/sections/{old['id']}/runs", {"run": run_body})
    new = made(client, f"/v1/sections/{old['id']}/rollover", {"grade_up": False, "most_are_new": True})
    assert (new["follows_id"], new["section"]["grades"]) == (None, ["12"])
    ask = {"challenge": "shelter", "section_id": new["id"]}
    assert "No earlier run" in client.post("/v1/recommendations", json=ask).json()["summary"]["evidence"]


def test_grade_12_is_the_last(client, section):
    last = made(client, "/v1/sections", {"section": {**section, "grades": ["12"]}})
    response = client.post(f"/v1/sections/{last['id']}/rollover", json={})
    assert response.status_code == 422 and "12" in response.json()["errors"][0]["detail"]
    assert client.get(f"/v1/sections/{last['id']}").json()["archived"] is False


def test_texts_that_a_database_cannot_hold_are_refused_or_not_found(client, section):
    """PostgreSQL's text has no NUL (PostgreSQL manual, 8.3 Character Types)."""
    for path in ("/v1/sections/%00", "/v1/runs/a%00b", "/v1/recommendations/%00", "/v1/sections/%00/runs"):
        assert client.get(path).status_code == 404, path
    for path in ("/v1/sections?cursor=%00", "/v1/lessons?section_id=%00", "/v1/recommendations?section_id=%00"):
        assert client.get(path).status_code == 400, path
    odd = "a\0b"
    for path, body in {
        "/v1/cupboards": {"label": odd, "materials": []},
        "/v1/sections": {"section": section, "cupboard_id": odd},
        "/v1/recommendations": {"challenge": "shelter", "section_id": odd},
    }.items():
        assert client.post(path, json=body).status_code == 422, path
    kept = made(client, "/v1/sections", {"section": {**section, "label": odd}})
    assert client.get(f"/v1/sections/{kept['id']}").json()["section"]["label"] == odd
