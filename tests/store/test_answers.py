"""Kept answers and decisions."""

from __future__ import annotations

import json

import pytest

from rungwright.api.demo import demo
from tests.store.conftest import made


@pytest.fixture
def kept(client, section, run_body):
    id = made(client, "/v1/sections", {"section": section})["id"]
    made(client, f"/v1/sections/{id}/runs", {"run": run_body})
    return id


@pytest.fixture
def answer(client, kept):
    return made(
        client, "/v1/recommendations", {"challenge": "shelter", "section_id": kept, "ask": {"direction": "harder"}}
    )


def test_an_answer_is_kept_as_it_was_given_and_never_changes(client, kept, answer):
    url = f"/v1/recommendations/{answer['id']}"
    assert client.get(url).json() == answer
    again = client.post(
        "/v1/recommendations", json={"challenge": "shelter", "section_id": kept, "ask": {"direction": "harder"}}
    )
    assert again.status_code == 200 and again.json() == answer, "created_at too"
    assert again.headers["location"] == url
    assert [a["id"] for a in client.get(f"/v1/recommendations?section_id={kept}").json()["items"]] == [answer["id"]]


def test_keeping_is_for_who_asks_for_it(client, kept):
    inline = client.post("/v1/recommendations", json=demo())
    assert inline.status_code == 200
    assert client.get(f"/v1/recommendations/{inline.json()['id']}").status_code == 404
    assert client.post("/v1/recommendations", json={**demo(), "keep": True}).status_code == 201
    assert client.get(f"/v1/recommendations/{inline.json()['id']}").status_code == 200
    ask = {"challenge": "shelter", "section_id": kept, "keep": False}
    assert client.post("/v1/recommendations", json=ask).status_code == 200


def test_the_explanation_names_every_rule_whether_asked_for_or_not(client, answer, rules):
    assert answer["explanation"] is None
    explained = client.get(f"/v1/recommendations/{answer['id']}/explanation").json()
    fired = {c["rule"] for c in explained["considered"] if c["fired"]}
    assert {p["rule"]["id"] for p in answer["proposals"]} <= fired
    assert len(explained["considered"]) > 100


def test_today_changes_the_answer_and_not_the_section(client, kept):
    ask = {"challenge": "shelter", "section_id": kept, "keep": False}
    usual = client.post("/v1/recommendations", json=ask).json()
    today = {"present": 20, "adults": 2, "minutes": 45}
    other = client.post("/v1/recommendations", json={**ask, "today": today}).json()
    assert (usual["section"]["students"], other["section"]["students"]) == (27, 20)
    assert (usual["section"]["minutes"], other["section"]["minutes"]) == (60, 45)
    assert other["section"]["group_sizes"] == [3, 3, 3, 3, 3, 3, 2]
    assert client.get(f"/v1/sections/{kept}").json()["section"]["students"] == 27
    inline = client.post("/v1/recommendations", json={**demo(), "today": today})
    assert inline.status_code == 422


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"section_id": "nowhere"}, "/section_id"),
        ({"section_id": None}, ""),
        ({"section": demo()["section"]}, ""),
    ],
)
def test_exactly_one_section_that_is_there(client, kept, change, pointer):
    response = client.post("/v1/recommendations", json={"challenge": "shelter", "section_id": kept, **change})
    assert response.status_code == 422
    assert [e["pointer"] for e in response.json()["errors"]] == [pointer]


def test_decisions_are_added_and_the_last_one_counts(client, answer):
    url = f"/v1/recommendations/{answer['id']}/decisions"
    first, second = answer["proposals"][0]["id"], answer["proposals"][-1]["id"]
    keep = made(client, url, {"proposal": first, "choice": "kept"})
    assert made(client, url, {"proposal": first, "choice": "kept"}) == keep, "said twice, it stands once"
    made(client, url, {"proposal": second, "choice": "declined", "reason": "no_time", "note": "The fan is broken."})
    made(client, url, {"proposal": first, "choice": "declined", "reason": "no_material"})
    made(client, url, {"proposal": first, "choice": "kept"})
    listed = client.get(url).json()["items"]
    assert [d["choice"] for d in listed] == ["kept", "declined", "declined", "kept"]
    pooled = {r["rule"]: r for r in client.get("/v1/decisions").json()["items"]}
    rules = {p["id"]: p["rule"]["id"] for p in answer["proposals"]}
    assert (pooled[rules[first]]["kept"], pooled[rules[first]]["declined"]) == (1, 0)
    if first != second:
        assert pooled[rules[second]]["reasons"] == {"no_time": 1}


def test_a_changed_proposal_has_the_value_used_in_the_end(client, answer, rules):
    url = f"/v1/recommendations/{answer['id']}/decisions"
    proposal = answer["proposals"][0]
    lever = rules.base.levers[proposal["lever"]]
    other = next(s for s in lever.settings if s not in (proposal["to"], proposal["from"]))
    assert made(client, url, {"proposal": proposal["id"], "choice": "changed", "value": other})["value"] == other
    for body, pointer in (
        ({"choice": "changed"}, ""),
        ({"choice": "kept", "value": other}, ""),
        ({"choice": "declined"}, ""),
        ({"choice": "declined", "reason": "no_tyme"}, "/reason"),
        ({"choice": "changed", "value": proposal["to"]}, "/value"),
        ({"choice": "changed", "value": "no such setting"}, "/value"),
        ({"choice": "kept", "proposal": "nowhere"}, "/proposal"),
        ({"choice": "kept", "student": "x"}, "/student"),
    ):
        response = client.post(url, json={"proposal": proposal["id"], **body})
        assert response.status_code == 422, body
        assert [e["pointer"] for e in response.json()["errors"]] == [pointer], body


def test_a_batch_takes_kept_sections_and_keeps_nothing(client, kept):
    ask = {"challenge": "shelter", "section_id": kept}
    response = client.post("/v1/recommendations/batch", json=[ask, {**ask, "keep": True}, {**ask, "section_id": "x"}])
    lines = [json.loads(line) for line in response.text.splitlines()]
    assert "one earlier run" in lines[0]["recommendation"]["summary"]["evidence"]
    assert lines[1]["problem"]["errors"][0]["pointer"] == "/keep"
    assert lines[2]["problem"]["errors"][0]["pointer"] == "/section_id"
    assert client.get("/v1/recommendations").json()["items"] == []
