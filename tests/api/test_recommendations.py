"""One answer over HTTP."""

from __future__ import annotations

import json
from concurrent.futures import ThreadPoolExecutor

import pytest

from rungwright.domain.ask import RecommendationRequest
from rungwright.domain.recommendation import Recommendation
from rungwright.recommend import recommend

PATH = "/v1/recommendations"


def but_time(answer: dict) -> dict:
    return {k: v for k, v in answer.items() if k != "created_at"}


def test_the_answer_is_that_of_the_flow(client, rules, request_body):
    response = client.post(PATH, json=request_body)
    assert response.status_code == 200
    assert response.headers["content-type"] == "application/json"
    expected = recommend(RecommendationRequest.model_validate(request_body), rules)
    assert but_time(response.json()) == but_time(json.loads(expected.model_dump_json(by_alias=True)))


def test_every_field_is_present_and_numbers_are_finite(client, request_body):
    answer = client.post(PATH, json=request_body).json()
    assert set(answer) == set(Recommendation.model_fields)
    assert "from" in answer["proposals"][0] and "from_" not in answer["proposals"][0]
    json.dumps(answer, allow_nan=False)


def test_equal_requests_get_equal_answers(client, request_body):
    first, second = (client.post(PATH, json=request_body).json() for _ in range(2))
    assert first["created_at"] != second["created_at"]
    assert but_time(first) == but_time(second)


@pytest.mark.parametrize("part", ["timetable", "kit", "brief", "explanation"])
def test_parts_are_there_when_asked_for(client, request_body, part):
    asked = client.post(PATH, json={**request_body, "include": [part]}).json()
    assert [p for p in ("timetable", "kit", "brief", "explanation") if asked[p] is not None] == [part]


def test_the_least_request_is_answered(client):
    least = {
        "challenge": "shelter",
        "section": {
            "label": "Heron 2",
            "grades": ["02"],
            "students": 22,
            "group_size": 2,
            "sessions": [{"minutes": 45}, {"minutes": 45}],
        },
    }
    answer = client.post(PATH, json=least).json()
    assert answer["asked"] == "fit"
    assert len(answer["assumptions"]) >= 3


def test_requests_at_the_same_time_do_not_disturb_one_another(client, request_body):
    asked = [{**request_body, "ask": {"direction": direction}} for direction in ("easier", "fit", "harder")] * 4
    alone = [but_time(client.post(PATH, json=body).json()) for body in asked[:3]] * 4
    with ThreadPoolExecutor(6) as pool:
        together = list(pool.map(lambda body: but_time(client.post(PATH, json=body).json()), asked))
    assert together == alone
