"""Runs in, a document of weights out, nothing stored."""

from __future__ import annotations

import pytest

from rungwright.domain.weights import Weights


def body(request_body, **changes):
    run = request_body["runs"][0]
    harder = {**run, "settings": {"load_positions": 2}, "on": "2026-11-14"}
    return {
        "challenge": "shelter",
        "sections": [{"section": request_body["section"], "runs": [run, harder]}],
        **changes,
    }


def test_it_answers_a_document_that_can_be_used(client, request_body):
    answer = client.post("/v1/learning", json=body(request_body))
    assert answer.status_code == 200
    weights = Weights.model_validate_json(answer.text)
    assert weights.data.sections == 1 and weights.data.runs == 2
    spots = next(w for w in weights.weights if w.lever == "load_positions")
    assert spots.sections == 1 and not spots.learned_here
    assert client.post("/v1/learning", json=body(request_body)).json() == answer.json()


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"challenge": "sheltr"}, "/challenge"),
        ({"sections": []}, "/sections"),
        ({"student": "x"}, "/student"),
    ],
)
def test_what_is_wrong_is_told_at_its_field(client, request_body, change, pointer):
    answer = client.post("/v1/learning", json=body(request_body, **change))
    assert answer.status_code == 422
    assert [e["pointer"] for e in answer.json()["errors"]] == [pointer]


def test_a_wrong_run_is_told_at_its_field(client, request_body):
    data = body(request_body)
    data["sections"][0]["runs"][1] = {**data["sections"][0]["runs"][1], "settings": {"load_positions": 9}}
    answer = client.post("/v1/learning", json=data)
    assert answer.status_code == 422
    assert [e["pointer"] for e in answer.json()["errors"]] == ["/sections/0/runs/1/settings/load_positions"]
