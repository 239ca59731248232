"""Ladders over HTTP: whole documents in and out."""

from __future__ import annotations

import copy
import json

import pytest
from jsonschema import Draft202012Validator

from rungwright.api.demo import ladder_demo
from rungwright.api.ladders import WORK


@pytest.mark.parametrize("name", WORK)
def test_the_example_of_each_route_keeps_the_contract_both_ways(name, client, app):
    spec = app.openapi()
    post = spec["paths"][f"/v1/ladders/{name}"]["post"]
    whole = {"$schema": "https://json-schema.org/draft/2020-12/schema", "components": spec["components"]}
    body = post["requestBody"]["content"]["application/json"]
    answered = post["responses"]["200"]["content"]["application/json"]["schema"]
    (example,) = body["examples"].values()
    assert example["value"] == ladder_demo(name)
    Draft202012Validator({**whole, **body["schema"]}).validate(example["value"])
    response = client.post(f"/v1/ladders/{name}", json=example["value"])
    assert response.status_code == 200, response.text
    Draft202012Validator({**whole, **answered}).validate(response.json())


def test_a_drafted_ladder_goes_back_in_as_it_came(client):
    drafted = client.post("/v1/ladders/draft", json=ladder_demo("draft")).json()
    assert drafted["report"]["sound"]
    checked = client.post("/v1/ladders/check", json={"ladder": drafted["ladder"]}).json()
    assert checked["ladder"] == drafted["ladder"] and checked["report"] == drafted["report"]


def errors(client, name: str, body: dict) -> dict[str, str]:
    response = client.post(f"/v1/ladders/{name}", json=body)
    assert response.status_code == 422, response.text
    return {e["pointer"]: e["detail"] for e in response.json()["errors"]}


@pytest.mark.parametrize(
    ("name", "way", "value", "pointer", "words"),
    [
        ("draft", ["challenge"], "sheltr", "/challenge", "did you mean 'shelter'"),
        ("draft", ["grades"], ["5", "3"], "", "from the lowest to the highest"),
        ("draft", ["grades"], ["5", "13"], "/grades/1", "is not a grade"),
        ("draft", ["rung"], 3, "/rung", "did you mean 'rungs'"),
        ("draft", ["rungs"], 1, "/rungs", "at least 2"),
        ("check", ["ladder", "rungs", 0, "nmae"], "x", "/ladder/rungs/0/nmae", "did you mean 'name'"),
        ("check", ["ladder", "rungs", 0, "settings", "entry"], "hatch", "/ladder/rungs/0/settings/entry", "open_side"),
        ("check", ["edits", 0, "rung"], "r3", "/edits/0/rung", "did you mean"),
        ("check", ["edits", 0, "do"], "shuffle", "/edits/0", "rename"),
        ("place", ["sections", 0, "section", "studnets"], 3, "/sections/0/section/studnets", "did you mean 'students'"),
        ("place", ["sections", 0, "now_on"], "r7", "/sections/0/now_on", "rung of this ladder"),
        ("compare", ["second", "challenge"], "span", "/second/challenge", "known are shelter"),
        ("merge", ["second", "id"], "another", "/second/id", "no edit of"),
    ],
)
def test_what_is_wrong_is_told_at_its_field(name, way, value, pointer, words, client):
    body = copy.deepcopy(ladder_demo(name))
    here = body
    for part in way[:-1]:
        here = here[part]
    here[way[-1]] = value
    told = errors(client, name, body)
    assert pointer in told and words in told[pointer], told


def test_a_student_or_a_support_has_no_field_in_a_ladder(client):
    for field in ("students_names", "supports"):
        body = copy.deepcopy(ladder_demo("check"))
        body["ladder"]["usual"][field] = {"reading": 2}
        assert f"/ladder/usual/{field}" in errors(client, "check", body)


def test_an_edit_that_is_refused_says_why_and_nothing_is_stored(client):
    body = {**ladder_demo("check"), "edits": [{"do": "reorder", "order": ["r2", "r1"]}]}
    assert "cannot stand above" in errors(client, "check", body)["/edits/0"]
    again = client.post("/v1/ladders/check", json=ladder_demo("check")).json()
    assert [r["id"] for r in again["ladder"]["rungs"]] == ["r1", "r2"]


def test_no_share_and_no_odds_stand_in_the_words(client):
    text = json.dumps(client.post("/v1/ladders/place", json=ladder_demo("place")).json())
    for word in ("logit", "posterior", "credible", "%"):
        assert word not in text
