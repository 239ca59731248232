"""Many sections in one call."""

from __future__ import annotations

import copy
import json
from typing import Any

import httpx
import pytest

from rungwright.api.batch import MOST

PATH = "/v1/recommendations/batch"
NDJSON = {"content-type": "application/x-ndjson"}


def lines(response: httpx.Response) -> list[dict[str, Any]]:
    assert response.status_code == 200, response.text
    assert response.headers["content-type"] == "application/x-ndjson"
    assert response.text == "" or response.text.endswith("\n")
    return [json.loads(line) for line in response.text.splitlines()]


@pytest.fixture
def three(request_body) -> list[dict[str, Any]]:
    """Good, wrong, good."""
    wrong, easier = copy.deepcopy(request_body), copy.deepcopy(request_body)
    wrong["section"]["materials"][0]["material"] = "craft_stik"
    easier["ask"]["direction"] = "easier"
    return [request_body, wrong, easier]


def test_answers_stand_in_order_and_one_that_is_wrong_stops_no_other(client, three):
    first, second, third = lines(client.post(PATH, json=three))
    assert [first["index"], second["index"], third["index"]] == [0, 1, 2]
    assert first["recommendation"]["asked"] == "harder"
    assert third["recommendation"]["asked"] == "easier"
    assert set(second) == {"index", "problem"}
    assert second["problem"]["status"] == 422
    assert second["problem"]["errors"] == [
        {
            "pointer": "/section/materials/0/material",
            "detail": "'craft_stik' is not a known material; did you mean 'craft_stick'?",
        }
    ]


def test_ndjson_gives_the_same(client, three):
    raw = "\n".join(json.dumps(r) for r in three)

    def but_time(found: list[dict]) -> list[dict]:
        for line in found:
            line.get("recommendation", {}).pop("created_at", None)
        return found

    assert but_time(lines(client.post(PATH, content=raw, headers=NDJSON))) == but_time(
        lines(client.post(PATH, json=three))
    )


def test_each_answer_is_that_of_one_call(client, three):
    for line, request in zip(lines(client.post(PATH, json=three)), three, strict=True):
        one = client.post("/v1/recommendations", json=request).json()
        if "recommendation" in line:
            assert line["recommendation"]["id"] == one["id"]
        else:
            assert line["problem"]["errors"] == one["errors"]


def test_a_broken_line_is_told_at_its_place(client, request_body):
    good = json.dumps(request_body)
    raw = "\r\n".join([good, '{"a": NaN}', "", "{", '"shelter"', good])
    found = lines(client.post(PATH, content=raw, headers=NDJSON))
    assert [line["index"] for line in found] == [0, 1, 2, 3, 4]
    assert [line.get("problem", {}).get("status") for line in found] == [None, 400, 400, 422, None]


def test_an_empty_list_has_no_answers(client):
    assert lines(client.post(PATH, json=[])) == []


@pytest.mark.parametrize("body", [{}, "x", 3, None])
def test_what_is_not_a_list_is_refused(client, body):
    response = client.post(PATH, content=json.dumps(body), headers={"content-type": "application/json"})
    assert response.status_code == 422
    assert response.headers["content-type"] == "application/problem+json"


@pytest.mark.parametrize("headers", [NDJSON, {"content-type": "application/json"}])
def test_more_than_the_most_is_refused_before_any_work(client, headers):
    raw = "\n".join(["1"] * (MOST + 1)) if headers is NDJSON else json.dumps([1] * (MOST + 1))
    response = client.post(PATH, content=raw, headers=headers)
    assert response.status_code == 413
    assert str(MOST) in response.json()["detail"]


def test_the_most_is_taken(client):
    found = lines(client.post(PATH, json=[1] * MOST))
    assert [line["index"] for line in found] == list(range(MOST))
