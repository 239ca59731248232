"""Every failure of every route is one problem detail (RFC 9457)."""

from __future__ import annotations

import json
from typing import Any

import httpx
import pytest

from rungwright.api.problems import MEANINGS, Problem, ProblemType

METHODS = ("GET", "POST", "PUT", "PATCH", "DELETE")
POSTS = ("/v1/recommendations", "/v1/recommendations/batch", "/v1/checks/snow", "/v1/calibrations/fan")


def problem_in(response: httpx.Response, status: int, kind: ProblemType) -> Problem:
    assert response.status_code == status, response.text
    assert response.headers["content-type"] == "application/problem+json"
    problem = Problem.model_validate_json(response.content)
    assert (problem.status, problem.type, problem.title) == (status, kind, MEANINGS[kind].title)
    assert problem.detail
    assert problem.instance == response.request.url.path
    return problem


def paths(client: httpx.Client) -> dict[str, Any]:
    return client.get("/openapi.json").json()["paths"]


def test_every_route_refuses_other_methods_and_says_which_it_takes(client):
    walked = 0
    for path, operations in {**paths(client), "/openapi.json": {"get": {}, "head": {}}}.items():
        for method in METHODS:
            if method.lower() in operations:
                continue
            response = client.request(method, path.replace("{id}", "x"))
            problem_in(response, 405, ProblemType.METHOD_NOT_ALLOWED)
            assert response.headers["allow"] == ", ".join(sorted(m.upper() for m in operations)), path
            walked += 1
    assert walked > 60


def test_every_route_of_one_entry_says_404_for_an_unknown_id_and_offers_the_nearest(client):
    for path in [p for p, o in paths(client).items() if p.endswith("{id}") and o["get"]["tags"] == ["catalogue"]]:
        listed = client.get(path.removesuffix("/{id}")).json()["items"]
        known = listed[0]["id"]
        assert client.get(path.replace("{id}", known)).status_code == 200
        problem = problem_in(client.get(path.replace("{id}", known + "x")), 404, ProblemType.NOT_FOUND)
        assert repr(known) in problem.detail


@pytest.mark.parametrize("path", ["/", "/docs", "/redoc", "/v1", "/v1/", "/v1/levers/", "/v2/levers", "/v1/rules/"])
def test_an_unknown_address_is_a_problem_and_never_a_redirect(client, path):
    problem_in(client.get(path), 404, ProblemType.NOT_FOUND)


@pytest.mark.parametrize("path", POSTS)
@pytest.mark.parametrize(
    "body",
    [
        b"", b" ", b"{", b"[1,", b"nul", b"{'a': 1}", b'{"a": 1,}', b"\xff\xfe{}", b'{"a": 1, "a": 2}', b'{"a": NaN}',
        b"[-Infinity]", b'{"a": 1e999}', b"[" + b"9" * 5000 + b"]", b'{"a": "\\ud800"}', b"[" * 100_000,
        b'{"a":' * 100_000, b'"\x01"',
    ],
)  # fmt: skip
def test_what_is_not_json(client, path, body):
    response = client.post(path, content=body, headers={"content-type": "application/json"})
    problem = problem_in(response, 400, ProblemType.MALFORMED_JSON)
    assert problem.errors == []


@pytest.mark.parametrize("path", POSTS)
@pytest.mark.parametrize(
    "headers",
    [
        {},
        {"content-type": "text/plain"},
        {"content-type": "application/xml"},
        {"content-type": "multipart/form-data; boundary=x"},
        {"content-type": "application/json; charset=latin-1"},
        {"content-type": "application/json", "content-encoding": "gzip"},
    ],
)
def test_bodies_of_another_type(client, path, headers):
    response = client.post(path, content=b"{}", headers=headers)
    problem_in(response, 415, ProblemType.UNSUPPORTED_MEDIA_TYPE)
    assert "application/json" in response.headers["accept"]


@pytest.mark.parametrize(("path", "limit"), [(POSTS[0], 1024**2), (POSTS[1], 8 * 1024**2), (POSTS[2], 1024**2)])
@pytest.mark.parametrize("declared", [True, False])
def test_bodies_beyond_the_limit(client, path, limit, declared):
    body = b" " * limit + b"{}"
    content = body if declared else iter([body])
    response = client.post(path, content=content, headers={"content-type": "application/json"})
    assert ("content-length" in response.request.headers) == declared
    problem_in(response, 413, ProblemType.TOO_LARGE)


def test_a_declared_length_is_enough_to_refuse(client):
    headers = {"content-type": "application/json", "content-length": "9" * 30}
    problem_in(client.post(POSTS[0], content=b"{}", headers=headers), 413, ProblemType.TOO_LARGE)


@pytest.mark.parametrize(
    "query", ["limit=0", "limit=501", "limit=x", "limit=NaN", "stage=later", "cursor=" + "x" * 300]
)
def test_a_wrong_query(client, query):
    problem = problem_in(client.get(f"/v1/rules?{query}"), 400, ProblemType.INVALID_QUERY)
    assert [e.pointer for e in problem.errors] == ["/" + query.split("=")[0]]


def test_an_unknown_parameter_is_refused(client):
    problem = problem_in(client.get("/v1/rules?limt=5"), 400, ProblemType.INVALID_QUERY)
    assert problem.errors[0].pointer == "/limt"


def test_a_failure_inside_leaks_nothing_but_is_logged(client, request_body, monkeypatch, caplog):
    def broken(*_: object) -> None:
        raise RuntimeError("secret words of the inside")

    monkeypatch.setattr("rungwright.api.answering.recommend", broken)
    response = client.post(POSTS[0], json=request_body)
    problem_in(response, 500, ProblemType.INTERNAL_ERROR)
    assert "secret" not in response.text and "Traceback" not in response.text
    assert "secret" in caplog.text

    response = client.post(POSTS[1], json=[request_body])
    assert response.status_code == 200
    line = json.loads(response.text)
    assert line["index"] == 0 and line["problem"]["status"] == 500
    assert "secret" not in response.text


def test_rules_that_cannot_run_are_not_ready(client, rules, monkeypatch):
    def broken(*_: object) -> None:
        raise RuntimeError("secret")

    monkeypatch.setattr(rules, "infer", broken)
    problem_in(client.get("/readyz"), 503, ProblemType.NOT_READY)


def test_each_kind_of_problem_has_an_address_that_explains_it(client):
    assert set(MEANINGS) == set(ProblemType)
    for kind, meaning in MEANINGS.items():
        assert client.get(kind).json() == meaning.model_dump(mode="json")
