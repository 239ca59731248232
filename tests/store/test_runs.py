"""Runs: entered by counts or by grid, corrected without losing what stood there, and what they teach."""

from __future__ import annotations

import json

import pytest

from rungwright.domain.lever import LeverKind
from rungwright.domain.run import Run
from tests.store.conftest import made


@pytest.fixture
def kept(client, section):
    return made(client, "/v1/sections", {"section": section})["id"]


GRID = {
    "challenge": "shelter",
    "on": "2026-11-20",
    "groups": 3,
    "grid": [
        {"first": {"load": "yes", "dry": "no"}, "end": {"load": "yes", "dry": "yes"}},
        {"first": {"load": "no", "dry": "with_help"}, "end": {"load": "not_tested"}},
        {"first": {}, "end": {}},
    ],
    "flags": ["many_absent"],
    "minutes_over": -3,
    "positions_held": {"of": 2, "counts": [0, 1, 2]},
}


def test_counts_and_grids_are_kept_as_sent(client, kept, run_body):
    for body in (run_body, GRID):
        run = made(client, f"/v1/sections/{kept}/runs", {"run": body})
        assert client.get(f"/v1/runs/{run['id']}").json() == run
        assert Run.model_validate_json(json.dumps(run["run"])) == Run.model_validate_json(json.dumps(body))
    assert [r["run"]["on"] for r in client.get(f"/v1/sections/{kept}/runs").json()["items"]] == [
        "2026-10-14",
        "2026-11-20",
    ]


def test_settings_not_told_are_those_of_the_day_and_stay_when_the_section_changes(
    client, kept, section, run_body, rules
):
    run = made(client, f"/v1/sections/{kept}/runs", {"run": run_body})
    open_levers = {k for k, lever in rules.base.levers.items() if lever.kind != LeverKind.ACCESS}
    assert set(run["settings"]) == open_levers
    assert run["settings"]["load_positions"] == 1, "as told"
    small = {**section, "sessions": [{"minutes": 25}], "grades": ["08"]}
    client.put(f"/v1/sections/{kept}", json={"section": small}, headers={"if-match": "*"})
    assert client.get(f"/v1/runs/{run['id']}").json()["settings"] == run["settings"]
    corrected = {**run_body, "minutes_over": 5}
    after = client.put(f"/v1/runs/{run['id']}", json={"run": corrected}, headers={"if-match": '"1"'}).json()
    assert after["settings"] == run["settings"], "a corrected count is about the same lesson"


def test_a_correction_keeps_the_old_value(client, kept, run_body):
    run = made(client, f"/v1/sections/{kept}/runs", {"run": run_body})
    url = f"/v1/runs/{run['id']}"
    for groups, tag in ((8, '"1"'), (7, '"2"')):
        better = {**run_body, "groups": groups, "results": [{"criterion": "load", "end": {"met": 5, "of": groups}}]}
        assert client.put(url, json={"run": better}, headers={"if-match": tag}).status_code == 200
    assert client.put(url, json={"run": run_body}, headers={"if-match": '"1"'}).status_code == 412
    history = client.get(f"{url}/history").json()["items"]
    assert [(past["version"], past["run"]["groups"]) for past in history] == [(2, 8), (1, 9)]
    assert history[1]["run"] == run["run"]
    assert client.get(url).json()["run"]["groups"] == 7


def test_stored_runs_teach_unless_withdrawn_or_replaced(client, kept, run_body):
    ask = {"challenge": "shelter", "section_id": kept, "keep": False}

    def evidence(**more):
        return client.post("/v1/recommendations", json={**ask, **more}).json()["summary"]["evidence"]

    assert "No earlier run" in evidence()
    run = made(client, f"/v1/sections/{kept}/runs", {"run": run_body})
    assert "one earlier run" in evidence()
    assert "No earlier run" in evidence(runs=[])
    assert "2 earlier runs" in evidence(runs=[run_body, {**run_body, "on": "2026-10-20"}])
    withdrawn = {"run": run_body, "withdrawn": True}
    client.put(f"/v1/runs/{run['id']}", json=withdrawn, headers={"if-match": "*"})
    assert "No earlier run" in evidence()
    assert client.get(f"/v1/sections/{kept}/runs").json()["items"][0]["withdrawn"] is True


def test_a_stored_run_is_the_same_evidence_as_one_that_is_sent(client, kept, run_body):
    made(client, f"/v1/sections/{kept}/runs", {"run": run_body})
    ask = {"challenge": "shelter", "section_id": kept, "keep": False, "ask": {"direction": "harder"}}
    stored = client.post("/v1/recommendations", json=ask).json()
    sent = client.post("/v1/recommendations", json={**ask, "runs": [run_body]}).json()
    assert stored["after"] == sent["after"] and stored["proposals"]


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"challenge": "sheltr"}, "/challenge"),
        ({"settings": {"load_position": 1}}, "/run/settings/load_position"),
        ({"results": [{"criterion": "loads"}]}, "/run/results/0/criterion"),
        ({"results": [{"criterion": "load", "end": {"met": 10, "of": 9}}]}, "/run/results/0/end"),
        ({"names": ["x"]}, "/run/names"),
    ],
)
def test_what_is_wrong_is_told_at_its_field(client, kept, run_body, change, pointer):
    response = client.post(f"/v1/sections/{kept}/runs", json={"run": {**run_body, **change}})
    assert response.status_code == 422
    assert [e["pointer"] for e in response.json()["errors"]] == [
        pointer if pointer != "/challenge" else "/run/challenge"
    ]


def test_a_section_that_is_not_there(client, run_body):
    for response in (client.get("/v1/sections/x/runs"), client.post("/v1/sections/x/runs", json={"run": run_body})):
        assert response.status_code == 404
