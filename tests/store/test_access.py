"""Who may do what: keys, workspaces that never see one another on any route, and needs that only their owner sees."""

from __future__ import annotations

import asyncio
import json
import pathlib
import re
from datetime import timedelta

import httpx
import pytest
from fastapi.routing import APIRoute
from sqlalchemy import update

from rungwright.api.access import OPEN, Allowance
from rungwright.api.app import create_app
from rungwright.api.demo import ladder_demo
from rungwright.api.problems import ProblemError
from rungwright.domain.keeping import Role
from rungwright.settings import Settings
from rungwright.store.keys import add_key, renew_key, revoke_key
from rungwright.store.tables import KeyRow, LogRow
from rungwright.store.types import now
from tests.api.in_process import client_of
from tests.store.conftest import made

NEEDS = {"reading": 2, "mobility": 1}


def operations(app):
    """Every route of the app, in the contract or not: method and path."""
    for route in app.routes:
        if isinstance(route, APIRoute):
            yield from ((method, route.path_format) for method in sorted(route.methods))


@pytest.fixture
def filled(with_key, section, run_body):
    """A client of one workspace, with one of everything; and the ids of it, by address."""
    teacher = with_key("teacher", "Ridge School")
    cupboard = made(teacher, "/v1/cupboards", {"label": "Science room", "materials": []})
    body = {"section": {**section, "supports": NEEDS}, "cupboard_id": cupboard["id"]}
    kept = made(teacher, "/v1/sections", body)
    run = made(teacher, f"/v1/sections/{kept['id']}/runs", {"run": run_body})
    lesson = {"section_id": kept["id"], "on": "2026-11-25", "materials": []}
    ask = {"challenge": "shelter", "section_id": kept["id"], "ask": {"direction": "easier"}, "include": ["kit"]}
    answer = made(teacher, "/v1/recommendations", ask)
    decision = {"proposal": answer["proposals"][0]["id"], "choice": "kept"}
    made(teacher, f"/v1/recommendations/{answer['id']}/decisions", decision)
    lesson_id = made(teacher, "/v1/lessons", lesson)["id"]
    draft = {"ladder": ladder_demo("check")["ladder"]}
    ladder = made(with_key("coach", "Ridge School"), "/v1/ladders", draft)["id"]
    of_ladder = ("", "/edits", "/merge", "/fork", "/report", "/history", "/compare", "/file", "/sections")
    of_ladder += ("/wall_chart.pdf", "/hand_out.pdf")
    ids = {
        "/v1/cupboards/{id}": cupboard["id"],
        "/v1/sections/{id}": kept["id"],
        "/v1/sections/{id}/runs": kept["id"],
        "/v1/sections/{id}/rollover": kept["id"],
        "/v1/runs/{id}": run["id"],
        "/v1/runs/{id}/history": run["id"],
        "/v1/lessons/{id}": lesson_id,
        "/v1/recommendations/{id}": answer["id"],
        "/v1/recommendations/{id}/explanation": answer["id"],
        "/v1/recommendations/{id}/decisions": answer["id"],
        **{"/v1/ladders/{id}" + part: ladder for part in of_ladder},
    }
    bodies = {
        "/v1/cupboards/{id}": {"label": "theirs", "materials": []},
        "/v1/sections/{id}": {"section": {**section, "label": "theirs"}},
        "/v1/sections/{id}/runs": {"run": run_body},
        "/v1/sections/{id}/rollover": {},
        "/v1/runs/{id}": {"run": run_body},
        "/v1/lessons/{id}": lesson,
        "/v1/recommendations/{id}/decisions": decision,
        "/v1/ladders/{id}": draft,
        "/v1/ladders/{id}/edits": {"edits": [{"do": "name", "name": "theirs"}]},
        "/v1/ladders/{id}/merge": {"from_version": 1, **draft},
        "/v1/ladders/{id}/fork": {"name": "theirs"},
        "/v1/ladders/{id}/sections": {"section_id": kept["id"], "now_on": "r1"},
    }
    return teacher, ids, bodies


def shared_routes(app):
    """Routes about the rule base, which all share, or about kinds of failure."""
    catalogue = {"challenges", "levers", "materials", "sources", "rules", "problems", "criteria", "standards"}
    return {path for _, path in operations(app) if path.split("/")[2:3] and path.split("/")[2] in catalogue}


def test_another_workspace_sees_and_changes_nothing_on_any_route(filled, with_key, app):
    owner, ids, bodies = filled
    stranger = with_key("coach", "Valley School")
    shared = shared_routes(app)
    walked = set()
    for method, path in operations(app):
        if "{id}" not in path or path in shared:
            continue
        url = path.replace("{id}", ids[path])
        response = stranger.request(method, url, json=bodies.get(path), headers={"if-match": "*"})
        assert response.status_code == 404, (method, path, response.text)
        walked.add(path)
    assert walked == set(ids), "a route with an id is in this walk"
    lists = [path for method, path in operations(app) if method == "GET" and "{" not in path and path not in shared]
    lists = [path for path in lists if not path.startswith(OPEN)]
    assert {
        "/v1/sections",
        "/v1/cupboards",
        "/v1/lessons",
        "/v1/recommendations",
        "/v1/decisions",
        "/v1/ladders",
    } <= set(lists)
    for path in lists:
        assert owner.get(path).json()["items"] and stranger.get(path).json()["items"] == [], path
    for path, body in {
        "/v1/recommendations": {"challenge": "shelter", "section_id": ids["/v1/sections/{id}"]},
        "/v1/lessons": bodies["/v1/lessons/{id}"],
        "/v1/sections": {**bodies["/v1/sections/{id}"], "cupboard_id": ids["/v1/cupboards/{id}"]},
    }.items():
        assert stranger.post(path, json=body).status_code == 422, path
    line = stranger.post(
        "/v1/recommendations/batch", json=[{"challenge": "shelter", "section_id": ids["/v1/sections/{id}"]}]
    )
    assert json.loads(line.text)["problem"]["status"] == 422
    for path in ("/v1/sections/{id}", "/v1/cupboards/{id}", "/v1/runs/{id}", "/v1/lessons/{id}", "/v1/ladders/{id}"):
        assert owner.get(path.replace("{id}", ids[path])).headers["etag"] == '"1"', "nothing was changed"


def test_every_route_wants_a_key_once_there_are_keys(filled, app):
    _, ids, bodies = filled
    nobody = client_of(app)
    for method, path in operations(app):
        url = path.replace("{id}", ids.get(path, "x"))
        response = nobody.request(method, url, json=bodies.get(path))
        if path.startswith(OPEN):
            assert response.status_code != 401, path
        else:
            assert response.status_code == 401, (method, path)
            assert response.headers["www-authenticate"] == "Bearer"
            assert response.headers["content-type"] == "application/problem+json"


@pytest.mark.parametrize("role", ["teacher", "coach", "planner"])
def test_needs_are_seen_by_their_owner_alone(filled, with_key, role):
    owner, ids, _ = filled
    section_id = ids["/v1/sections/{id}"]
    assert owner.get(f"/v1/sections/{section_id}").json()["section"]["supports"] == NEEDS
    other = with_key(role, "Ridge School")
    texts = [other.get(path).text for path in ("/v1/sections", f"/v1/sections/{section_id}", "/v1/recommendations")]
    texts.append(other.get(f"/v1/sections/{section_id}/runs").text)
    texts.append(other.get("/v1/decisions").text)
    assert '"supports":null' in texts[0]
    for text in texts:
        assert re.findall(r'"supports":(?!null)|mobility|"reading":', text) == []
    # What was worked out with needs would tell that there are some: their owner alone finds it again.
    assert other.get(f"/v1/recommendations/{ids['/v1/recommendations/{id}']}").status_code == 404
    ask = {"challenge": "shelter", "section_id": section_id, "ask": {"direction": "easier"}}
    theirs = other.post("/v1/recommendations", json=ask).json()
    bare = other.post("/v1/recommendations", json=ask | {"keep": False}).json()
    assert theirs["before"]["settings"] == bare["before"]["settings"]
    mine = owner.post("/v1/recommendations", json=ask | {"keep": False}).json()
    assert mine["before"]["settings"] != theirs["before"]["settings"], "the owner's answer uses them"
    line = json.loads(owner.post("/v1/recommendations/batch", json=[ask]).text)
    assert line["recommendation"]["before"]["settings"] == theirs["before"]["settings"], "a batch does not"


def test_a_coach_changes_a_section_and_its_needs_stay(filled, with_key, section):
    owner, ids, _ = filled
    url = f"/v1/sections/{ids['/v1/sections/{id}']}"
    coach = with_key("coach", "Ridge School")
    response = coach.put(
        url,
        json={"section": {**section, "label": "Kestrel 4C", "supports": {"sensory": 5}}},
        headers={"if-match": '"1"'},
    )
    assert response.status_code == 200 and response.json()["section"]["supports"] is None
    assert owner.get(url).json()["section"]["supports"] == NEEDS
    owner.put(url, json={"section": {**section, "supports": {"sensory": 1}}}, headers={"if-match": "*"})
    assert owner.get(url).json()["section"]["supports"] == {"sensory": 1}


def test_access_settings_of_a_run_are_seen_by_the_owner_alone(filled, with_key, run_body):
    owner, ids, _ = filled
    told = {**run_body, "settings": {"load_positions": 1, "talk_frames": True}}
    run = made(owner, f"/v1/sections/{ids['/v1/sections/{id}']}/runs", {"run": told})
    other = with_key("coach", "Ridge School").get(f"/v1/runs/{run['id']}").json()
    assert run["run"]["settings"] == told["settings"]
    assert other["run"]["settings"] == {"load_positions": 1}
    assert "talk_frames" not in other["settings"]


def test_the_id_of_an_answer_made_with_needs_is_not_shown_to_others(filled, with_key):
    owner, ids, _ = filled
    answer = ids["/v1/recommendations/{id}"]
    body = {"section_id": ids["/v1/sections/{id}"], "on": "2026-11-25", "recommendation_id": answer}
    url = f"/v1/lessons/{made(owner, '/v1/lessons', body)['id']}"
    coach = with_key("coach", "Ridge School")
    assert coach.get(url).json()["recommendation_id"] is None and answer not in coach.get("/v1/lessons").text
    theirs = {**body, "recommendation_id": None, "materials": [], "state": "dropped"}
    assert coach.put(url, json=theirs, headers={"if-match": "*"}).status_code == 200
    assert owner.get(url).json()["recommendation_id"] == answer


def test_a_planner_asks_and_reads_and_changes_nothing(filled, with_key, app):
    _, ids, bodies = filled
    planner = with_key("planner", "Ridge School")
    for method, path in operations(app):
        if path in bodies and method in ("POST", "PUT") and "recommendations" not in path:
            url = path.replace("{id}", ids[path])
            response = planner.request(method, url, json=bodies[path], headers={"if-match": "*"})
            assert response.status_code == 403, (method, path)
    for path in ("/v1/sections", "/v1/cupboards", "/v1/ladders"):
        body = bodies[path + "/{id}"]
        assert planner.post(path, json=body).status_code == 403
    ask = {"challenge": "shelter", "section_id": ids["/v1/sections/{id}"]}
    answer = made(planner, "/v1/recommendations", ask)
    url = f"/v1/recommendations/{answer['id']}"
    assert planner.get(url).json() == answer
    if answer["proposals"]:
        decision = {"proposal": answer["proposals"][0]["id"], "choice": "kept"}
        assert planner.post(f"{url}/decisions", json=decision).status_code == 403


def test_a_teacher_leaves_the_sections_of_others_alone(filled, with_key):
    _, ids, bodies = filled
    other = with_key("teacher", "Ridge School")
    for method, path in (("PUT", "/v1/sections/{id}"), ("POST", "/v1/sections/{id}/runs"), ("PUT", "/v1/runs/{id}"),
                         ("POST", "/v1/sections/{id}/rollover"), ("PUT", "/v1/lessons/{id}")):  # fmt: skip
        url = path.replace("{id}", ids[path])
        response = other.request(method, url, json=bodies[path], headers={"if-match": "*"})
        assert response.status_code == 403, path
    assert made(other, "/v1/sections", bodies["/v1/sections/{id}"])["mine"] is True


def test_a_teacher_reads_the_ladders_and_a_coach_edits_them(filled, with_key, app):
    teacher, ids, bodies = filled
    coach = with_key("coach", "Ridge School")
    paths = [path for path in bodies if path.startswith("/v1/ladders")]
    assert len(paths) == 5
    for path in paths:
        methods = {method for method, known in operations(app) if known == path} & {"POST", "PUT"}
        for method in methods:
            asked = {"json": bodies[path], "headers": {"if-match": "*"}}
            url = path.replace("{id}", ids[path])
            assert teacher.request(method, url, **asked).status_code == 403, path
            assert coach.request(method, url, **asked).status_code in (200, 201), path
    assert teacher.post("/v1/ladders", json=bodies["/v1/ladders/{id}"]).status_code == 403
    for method, path in operations(app):
        if method == "GET" and path.startswith("/v1/ladders/{id}") and not path.endswith("/compare"):
            assert teacher.get(path.replace("{id}", ids[path])).status_code == 200, path


def test_the_first_key_takes_over_what_the_one_person_had(app, store, section):
    alone = client_of(app)
    body = {"section": {**section, "supports": NEEDS}}
    id = made(alone, "/v1/sections", body)["id"]
    answer = made(alone, "/v1/recommendations", {"challenge": "shelter", "section_id": id})
    with store.writing() as session:
        _, key = add_key(session, label="Room 12", role=Role.TEACHER)
    assert alone.get("/v1/sections").status_code == 401
    alone.headers["authorization"] = f"bearer {key}"
    assert alone.get(f"/v1/sections/{id}").json()["section"]["supports"] == NEEDS
    assert alone.get(f"/v1/recommendations/{answer['id']}").status_code == 200


def test_keys_end_and_are_renewed(app, store):
    client = client_of(app)

    def status(key):
        return client.get("/v1/sections", headers={"authorization": f"Bearer {key}"}).status_code

    with store.writing() as session:
        row, key = add_key(session, label="x", role=Role.TEACHER, days=1)
    assert status(key) == 200 and status(key + "x") == 401 and status("") == 401
    with store.writing() as session:
        session.execute(update(KeyRow).values(expires_at=now() - timedelta(seconds=1)))
    assert status(key) == 401
    with store.writing() as session:
        _, second = renew_key(session, row.id)
    assert (status(key), status(second)) == (401, 200)
    with store.writing() as session:
        revoke_key(session, row.id)
    assert status(second) == 401


def test_a_key_is_nowhere_in_the_database(store, database):
    with store.writing() as session:
        _, key = add_key(session, label="x", role=Role.TEACHER)
    with store.reading() as session:
        row = session.query(KeyRow).one()
        assert key not in json.dumps({c.name: str(getattr(row, c.name)) for c in KeyRow.__table__.columns})
    if database.startswith("sqlite"):
        folder = database.removeprefix("sqlite:///").rsplit("/", 1)[0]
        assert not [p for p in pathlib.Path(folder).iterdir() if key.encode() in p.read_bytes()]


def test_the_log_tells_who_did_what_and_nothing_of_what_was_sent(filled, store):
    with store.reading() as session:
        rows = session.query(LogRow).order_by(LogRow.id).all()
    assert [(r.did, r.what) for r in rows] == [
        ("made", "cupboard"), ("made", "section"), ("made", "run"), ("kept", "recommendation"),
        ("decided", "decision"), ("made", "lesson"), ("made", "ladder"),
    ]  # fmt: skip
    assert {r.caller for r in rows} != {None}


def test_without_keys_only_the_names_of_this_computer_are_answered(client):
    for host, status in (
        ("localhost:8000", 200), ("127.0.0.1", 200), ("[::1]:8000", 200),
        ("rebound.test", 401), ("localhost.rebound.test", 401), ("10.0.0.7:8000", 401),
    ):  # fmt: skip
        assert client.get("/v1/sections", headers={"host": host}).status_code == status, host


def test_without_keys_nobody_else_is_answered_whatever_name_they_use(app):
    async def asked() -> int:
        transport = httpx.ASGITransport(app, client=("10.0.0.7", 50000))
        async with httpx.AsyncClient(transport=transport, base_url="http://localhost") as client:
            return (await client.get("/v1/sections")).status_code

    assert asyncio.run(asked()) == 401


def test_too_many_calls(rules, store):
    app = create_app(Settings(calls_a_minute=5), rules, store)
    with store.writing() as session:
        _, key = add_key(session, label="x", role=Role.PLANNER)
    client = client_of(app)
    good = {"authorization": f"Bearer {key}"}
    statuses = [client.get("/v1/sections", headers=good).status_code for _ in range(7)]
    assert statuses[:5] == [200] * 5 and statuses[-1] == 429
    response = client.get("/v1/sections", headers=good)
    assert int(response.headers["retry-after"]) >= 1
    wrong = [client.get("/v1/sections", headers={"authorization": "Bearer x"}).status_code for _ in range(25)]
    assert wrong[0] == 401 and wrong[-1] == 429


def test_an_allowance_is_refilled_steadily():
    time = [0.0]
    allowance = Allowance(60, clock=lambda: time[0])
    for _ in range(60):
        allowance.use("a")
    with pytest.raises(ProblemError):
        allowance.use("a")
    allowance.use("b")
    time[0] = 2.5
    allowance.use("a")
    allowance.use("a")
    with pytest.raises(ProblemError):
        allowance.use("a")
