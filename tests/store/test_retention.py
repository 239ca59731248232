"""While the service runs, what is too old is forgotten."""

from __future__ import annotations

import asyncio
import threading
import time
from datetime import timedelta

from sqlalchemy import update

from rungwright.api import retention
from rungwright.api.retention import keeping_well
from rungwright.store.tables import LogRow
from rungwright.store.types import now
from tests.store.conftest import made


def lines(store) -> int:
    with store.reading() as session:
        return session.query(LogRow).count()


def live(store, days) -> None:
    async def a_while() -> None:
        async with keeping_well(store, days)(None):
            for _ in range(100):
                await asyncio.sleep(0.02)
                if lines(store) == 0:
                    return

    asyncio.run(a_while())


def test_the_service_forgets_by_itself_where_it_is_told_to(store, client, section):
    made(client, "/v1/sections", {"section": section})
    with store.writing() as session:
        session.execute(update(LogRow).values(at=now() - timedelta(days=31)))
    for days, left in ((None, 1), (32, 1), (30, 0)):
        live(store, days)
        assert lines(store) == left
    assert len(client.get("/v1/sections").json()["items"]) == 1


def test_a_service_that_stops_waits_for_what_it_is_forgetting(store, monkeypatch):
    """Else its connection is left open when the store is closed."""
    began, done = threading.Event(), threading.Event()

    def slow(store, days) -> None:
        with store.writing():
            began.set()
            time.sleep(0.3)
        done.set()

    monkeypatch.setattr(retention, "forget_once", slow)

    async def stopped_at_work() -> None:
        async with keeping_well(store, 30)(None):
            while not began.is_set():
                await asyncio.sleep(0.01)

    asyncio.run(stopped_at_work())
    assert done.is_set() and store.engine.pool.checkedout() == 0
