"""A database that cannot be used while pages are: told plainly, what was typed is kept, nothing is written half."""

from __future__ import annotations

import html
import os
import re
import sqlite3
from collections.abc import Iterator

import httpx
import pytest
from sqlalchemy import event

from rungwright.settings import Settings
from rungwright.store import Store, prepare
from rungwright.store.backup import backup
from rungwright.web.demo_school import first_start
from rungwright.web.site import create_site
from tests import postgres
from tests.api.in_process import client_of
from tests.web.test_keeping import held, lessons
from tests.web.test_pages import form_of, kept_plan, sections

SENT_AGAIN = re.compile(r'<form method="post" action="([^"]+)" class="apart">(.*?)</form>', re.DOTALL)


def told(answer: httpx.Response, words: str) -> tuple[str, dict[str, str]]:
    """Where the form is sent again, and what is in it."""
    assert answer.status_code == 503 and answer.headers["retry-after"] == "5"
    assert words in answer.text and "What you typed is still here" in answer.text
    action, inside = SENT_AGAIN.search(answer.text).groups()
    return action, {name: unescaped(value) for name, value in form_of(inside).items()}


def unescaped(value: str | list[str]) -> str | list[str]:
    return html.unescape(value) if isinstance(value, str) else [html.unescape(one) for one in value]


def forms(client: httpx.Client) -> list[tuple[str, dict[str, object]]]:
    """One of each kind: something new, a change, a plan, results, a withdrawal, another amount."""
    section = sections(client)["Kestrel 4B"]
    plan = kept_plan(client, "Kestrel 8B")
    run = re.search(r'href="(/results/\w+)/correct"', client.get(f"{section}/results").text)[1]
    cupboard = "/cupboards/" + client.get("/v1/cupboards").json()["items"][0]["id"]
    new = {**form_of(client.get("/sections/new").text), "label": "Ferry", "grade": ["05"]}
    return [
        ("/sections", new),
        (section, {**form_of(client.get(section).text), "label": 'Kestrel "4B" & more'}),
        (cupboard, {**form_of(client.get(cupboard).text), "label": "A cupboard of another name"}),
        (f"{section}/plans", {"query": "ask=easier&minutes=50", "then": "plan"}),
        (f"{plan}/results", {"by": "count", "on": "2026-11-20", "groups": "9", "end.load": "7"}),
        (f"{run}/correct", {**form_of(client.get(f"{run}/correct").text), "end.load": "6"}),
        (f"{run}/counting", {"version": "1", "do": "withdraw"}),
    ]


def test_a_locked_file_is_told_and_what_was_typed_is_sent_again(client, store, tmp_path, monkeypatch):
    typed = forms(client)
    before = backup(store)
    monkeypatch.setattr("rungwright.store.database.WAIT_S", 0.2)
    store.engine.dispose()
    other = sqlite3.connect(tmp_path / "data" / "rungwright.sqlite3", isolation_level=None)
    with at_most(store, "busy_timeout=100"):
        other.execute("BEGIN IMMEDIATE")
        again = [told(client.post(path, data=data), "in use by another program") for path, data in typed]
        assert client.get("/").status_code == 200, "reading goes on"
        other.execute("ROLLBACK")
    other.close()
    assert backup(store) == before
    for (path, data), (action, fields) in zip(typed, again, strict=True):
        assert action == path
        answer = client.post(action, data=fields)
        # Of the two that change the same results, the second is late.
        assert answer.status_code == (409 if path.endswith("/counting") else 303), (path, answer.text)
        assert {str(v) for v in data.values() if isinstance(v, str)} <= {str(v) for v in fields.values()}
    assert "Ferry" in sections(client) and 'Kestrel "4B" & more' in html.unescape(client.get("/").text)


def test_a_full_disk_is_told_and_nothing_is_written_half(client, store):
    before, there = backup(store), held(client)
    with store.engine.connect() as connection:
        pages = connection.exec_driver_sql("PRAGMA page_count").scalar()
    full = 0
    with at_most(store, f"max_page_count={pages}"):
        for n in range(12):
            answer = client.post(f"{sections(client)['Kestrel 4B']}/plans", data=plan_of(n))
            if answer.status_code == 503:
                full += 1
                action, fields = told(answer, "disk that holds the data is full")
        assert full > 2
    kept = len(backup(store)["tables"]["answers"]) - len(before["tables"]["answers"])
    assert kept == 12 - full
    after = backup(store)["tables"]
    decided = {row["place"] for row in after["decisions"]}
    assert {row["place"] for row in after["answers"]} <= decided | {r["place"] for r in before["tables"]["answers"]}
    assert [state for state, _ in lessons(client, "Kestrel 4B")].count("planned") == (1 if kept else 0)
    assert kept or held(client) == there
    assert client.post(action, data=fields).status_code == 303


def plan_of(n: int) -> dict[str, str]:
    return {"query": f"ask={('easier', 'harder')[n % 2]}&minutes={40 + n}", "then": "plan"}


class at_most:
    """Connections of the store are opened anew with a pragma, and afterwards without it."""

    def __init__(self, store: Store, pragma: str):
        self.store, self.pragma = store, pragma

    def _set(self, connection, _) -> None:
        connection.execute(f"PRAGMA {self.pragma}").close()

    def __enter__(self) -> None:
        self.store.engine.dispose()
        event.listen(self.store.engine, "connect", self._set)

    def __exit__(self, *_: object) -> None:
        event.remove(self.store.engine, "connect", self._set)
        self.store.engine.dispose()


def test_a_key_is_not_shown_again(client, store, tmp_path):
    other = sqlite3.connect(tmp_path / "data" / "rungwright.sqlite3", isolation_level=None)
    with at_most(store, "busy_timeout=100"):
        other.execute("BEGIN IMMEDIATE")
        answer = client.post("/sign-in", data={"key": "rungwright_secret"})
    other.close()
    assert answer.status_code == 503 and "rungwright_secret" not in answer.text and "still here" not in answer.text


@pytest.fixture(scope="module")
def postgres_server() -> Iterator[postgres.Server]:
    programs = postgres.programs()
    if programs is None:
        wanted = os.environ.get("CI") or os.environ.get("REQUIRE_POSTGRES") == "1"
        pytest.fail(postgres.LACKING) if wanted else pytest.skip(postgres.LACKING)
    with postgres.server(programs) as server:
        yield server


def test_a_restart_of_postgresql_loses_nothing_that_was_typed(postgres_server, rules):
    store = Store(postgres_server.address("postgres"))
    prepare(store)
    first_start(store, rules)
    client = client_of(create_site(Settings(), rules, store))
    client.headers.update({"Accept": "text/html", "Sec-Fetch-Site": "same-origin"})
    typed = forms(client)
    before = backup(store)
    postgres_server.stop()
    try:
        again = [told(client.post(path, data=data), "does not answer just now") for path, data in typed]
        looked = client.get("/")
        assert looked.status_code == 503 and "does not answer just now" in looked.text
    finally:
        postgres_server.start()
    assert backup(store) == before
    for path, fields in again:
        answer = client.post(path, data=fields)
        assert answer.status_code == (409 if path.endswith("/counting") else 303), (path, answer.text)
    assert client.post(*again[0][:1], data=again[0][1]).status_code == 303
    assert list(sections(client)).count("Ferry") == 1
    store.close()
