"""What a request may not say, and how the answer helps to mend it."""

from __future__ import annotations

import copy
import json
from typing import Any

import httpx
import pytest

from rungwright.api.fields import LONGEST, MOST_TOLD

PATH = "/v1/recommendations"


def errors(client: httpx.Client, body: Any) -> dict[str, str]:
    response = client.post(PATH, json=body)
    assert response.status_code == 422, response.text
    assert response.headers["content-type"] == "application/problem+json"
    told = response.json()["errors"]
    pointers = [e["pointer"] for e in told]
    assert len(set(pointers)) == len(pointers), "one message a field"
    return {e["pointer"]: e["detail"] for e in told}


def changed(body: dict[str, Any], pointer: str, value: Any) -> dict[str, Any]:
    body = copy.deepcopy(body)
    *way, last = pointer.strip("/").split("/")
    here: Any = body
    for part in way:
        here = here[int(part)] if isinstance(here, list) else here.setdefault(part, {})
    here[int(last) if isinstance(here, list) else last] = value
    return body


UNKNOWN = {
    "/challenge": ("sheltr", "shelter"),
    "/settings/load_position": (2, "load_positions"),
    "/settings/load_place": ("markd", "marked"),
    "/section/materials/0/material": ("craft_stik", "craft_stick"),
    "/section/tools": (["scisors"], "scissors"),
    "/section/exclusions": (["latx"], "latex"),
    "/section/stations": ([{"test": "lod", "copies": 1}], "load"),
    "/runs/0/results/0/criterion": ("loads", "load"),
    "/ask/pinned": (["load_position"], "load_positions"),
    "/ask/declined": (["load_position"], "load_positions"),
    "/section/studnets": (27, "students"),
    "/section/sessions/0/minuts": (60, "minutes"),
    "/ask/directon": ("harder", "direction"),
    "/runs/0/group": (9, "groups"),
    "/sectoin": ({}, "section"),
}


@pytest.mark.parametrize("pointer", UNKNOWN)
def test_a_typing_mistake_is_told_at_its_field_with_the_nearest_name(client, request_body, pointer):
    value, nearest = UNKNOWN[pointer]
    told = errors(client, changed(request_body, pointer, value))
    ((at, detail),) = told.items()
    assert at.startswith(pointer)
    assert repr(nearest) in detail


WRONG_TYPES = {
    "/challenge": [3, None, True, ["shelter"]],
    "/section": [None, [], "Kestrel 4B"],
    "/section/label": [3, None, "", "x" * 81],
    "/section/grades": ["04", [], [True], ["14"], [4.5], [None], None],
    "/section/students": ["27", 27.5, 27.0, True, 0, 61, None, -1],
    "/section/sessions/0/minutes": ["60", 4, 241],
    "/section/adults": [0, 13, "1"],
    "/section/materials/0/quantity": ["150", -1, True],
    "/section/supports": [{"reading": "two"}, {"reading": -1}, {"sadness": 1}, []],
    "/settings/load_positions": [None, [], {}, "two", True, 0, 4],
    "/settings/budget": ["yes", 1, 0],
    "/ask/direction": ["Harder", "up", None, 1],
    "/ask/notches": [0, 4, 1.5, "1"],
    "/ask/band": [[0.9, 0.7], [0.7], [0.7, 0.72], [0, 1], [0.7, 0.8, 0.9], "0.7", None],
    "/ask/max_changes": [0, 4],
    "/runs/0/on": ["14.10.2026", 20261014, "2026-02-30", None],
    "/runs/0/groups": ["9", 0, 61],
    "/runs/0/results/0/end": [{"met": 10, "of": 9}, {"met": 1}, 9],
    "/runs/0/challenge": ["footbridge"],
    "/include": [["everything"], "kit"],
    "/units": ["SI"],
    "/language": ["xx"],
}


@pytest.mark.parametrize(("pointer", "value"), [(p, v) for p, values in WRONG_TYPES.items() for v in values])
def test_types_are_strict_and_values_bounded(client, request_body, pointer, value):
    told = errors(client, changed(request_body, pointer, value))
    # A rule about several fields of one object is told at that object.
    assert all(at.startswith(pointer) or pointer.startswith(at) for at in told), told
    for detail in told.values():
        assert "Input" not in detail and "pydantic" not in detail and "type=" not in detail


def test_each_wrong_field_is_told_once(client, request_body):
    body = changed(changed(request_body, "/section/students", "many"), "/ask/direction", "up")
    body = changed(changed(body, "/settings/load_positions", [1]), "/section/names", ["Ana"])
    del body["section"]["grades"]
    assert errors(client, body) == {
        "/section/grades": "this field is required",
        "/section/students": "must be a whole number",
        "/section/names": errors(client, body)["/section/names"],
        "/settings/load_positions": "must be a number, a text, or true or false",
        "/ask/direction": "must be 'easier', 'fit' or 'harder'",
    }


def test_a_whole_challenge_is_told_about_as_a_whole_challenge(client, request_body):
    told = errors(client, changed(request_body, "/challenge", {"id": "mine", "famly": "shelter"}))
    assert told["/challenge/famly"] == "'famly' is not a known field; did you mean 'family'?"
    assert told["/challenge/presets"] == "this field is required"


def test_a_whole_challenge_of_the_catalogue_can_be_sent_back(client, request_body):
    whole = client.get("/v1/challenges/shelter").json()
    by_id = client.post(PATH, json=request_body).json()
    inline = client.post(PATH, json=changed(request_body, "/challenge", whole)).json()
    assert inline["proposals"]
    for ours, theirs in zip(by_id["proposals"], inline["proposals"], strict=True):
        assert {**ours, "id": ""} == {**theirs, "id": ""}


def test_pointers_are_escaped(client, request_body):
    assert list(errors(client, changed(request_body, "/section", {**request_body["section"], "a/b~c": 1}))) == [
        "/section/a~1b~0c"
    ]


def test_long_values_and_many_mistakes_give_a_short_answer(client, request_body):
    body = changed(request_body, "/section/grades", ["x" * 10_000] * 13)
    body = changed(body, "/section/" + "k" * 100_000, 1)
    body["settings"] = {f"lever_{i}": [] for i in range(80)}
    response = client.post(PATH, json=body)
    assert response.status_code == 422
    told = response.json()["errors"]
    assert len(told) <= MOST_TOLD
    assert all(len(e["detail"]) <= LONGEST for e in told)
    assert len(response.content) < 30_000


def test_deep_and_wide_bodies_do_no_harm(client, request_body):
    deep: Any = 1
    for _ in range(500):
        deep = {"a": deep}
    assert list(errors(client, changed(request_body, "/section/deep", deep))) == ["/section/deep"]
    wide = {**request_body, "section": {**request_body["section"], **{f"f{i}": i for i in range(20_000)}}}
    assert len(errors(client, wide)) == MOST_TOLD


def test_grades_are_read_as_people_write_them(client, request_body):
    answers = [
        client.post(PATH, json=changed(request_body, "/section/grades", [grade])).json() for grade in ("04", "4", 4)
    ]
    assert {a["id"] for a in answers} == {answers[0]["id"]}


def test_a_byte_order_mark_and_parameters_of_the_type_are_taken(client, request_body):
    raw = b"\xef\xbb\xbf" + json.dumps(request_body).encode()
    response = client.post(PATH, content=raw, headers={"content-type": "Application/JSON; charset=UTF-8"})
    assert response.status_code == 200
