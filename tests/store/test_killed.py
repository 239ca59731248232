"""A server that is killed at work: every write that it acknowledged is there afterwards, and none by halves."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import threading

import httpx

from rungwright.store import ONE_PERSON, Runs, Sections, Store
from rungwright.store.tables import LogRow, NeedRow

PROGRAM = [sys.executable, "-c", "from rungwright.cli import main; main()", "serve", "--port", "0"]
WRITERS, ENOUGH = 4, 60


def test_acknowledged_writes_outlive_a_kill(database, store, section, run_body, tmp_path):
    env = {k: v for k, v in os.environ.items() if not k.startswith("RUNGWRIGHT_")}
    where = {"RUNGWRIGHT_DATABASE_URL": database, "RUNGWRIGHT_DATA": str(tmp_path)}
    server = subprocess.Popen(PROGRAM, stdout=subprocess.PIPE, text=True, env={**env, **where}, start_new_session=True)
    acknowledged: list[str] = []
    enough = threading.Event()

    def write(address: str) -> None:
        with httpx.Client(base_url=address, timeout=10) as client:
            while True:
                try:
                    kept = client.post("/v1/sections", json={"section": {**section, "supports": {"reading": 2}}})
                    run = client.post(f"/v1/sections/{kept.json()['id']}/runs", json={"run": run_body})
                except httpx.HTTPError:
                    return
                acknowledged.extend((kept.json()["id"], run.json()["id"]))
                if len(acknowledged) >= ENOUGH:
                    enough.set()

    try:
        address = re.search(r"http://127\.0\.0\.1:\d+", server.stdout.readline())[0]
        # The demo school of a first start.
        at_first = kept_in(database)
        writers = [threading.Thread(target=write, args=(address,)) for _ in range(WRITERS)]
        for writer in writers:
            writer.start()
        assert enough.wait(60)
    finally:
        server.send_signal(signal.SIGKILL)
        server.wait(30)
    for writer in writers:
        writer.join(30)
    server.stdout.close()

    there, runs, with_needs, logged = (now - first for now, first in zip(kept_in(database), at_first, strict=True))
    assert len(acknowledged) >= ENOUGH
    assert set(acknowledged) <= there | runs
    # A section, its needs and its line in the log are one transaction.
    assert with_needs == there
    assert logged == there | runs
    assert len(there) + len(runs) - len(acknowledged) <= 2 * WRITERS, "at most what was on its way"


def kept_in(database) -> tuple[set[str], ...]:
    """Ids of the sections, of their runs, of the sections with needs, of what the log tells of."""
    store = Store(database)
    with store.reading() as session:
        there = {row.id for row in Sections(session, ONE_PERSON).list(after=None, limit=10_000).items}
        runs = {r.id for id in there for r in Runs(session, ONE_PERSON).list(id, after=None, limit=10).items}
        needs = {need.section_id for need in session.query(NeedRow)}
        logged = {line.entry_id for line in session.query(LogRow)}
    store.close()
    return there, runs, needs, logged
