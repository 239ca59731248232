"""The program as it is started from a shell."""

from __future__ import annotations

import json
import os
import re
import signal
import subprocess
import sys
from pathlib import Path

import httpx
import pytest

PROGRAM = [sys.executable, "-c", "from rungwright.cli import main; main()"]


def program(*arguments: str, **settings: str) -> subprocess.CompletedProcess[bytes]:
    kept = {k: v for k, v in os.environ.items() if not k.startswith("RUNGWRIGHT_") or k == "RUNGWRIGHT_DATA"}
    return subprocess.run([*PROGRAM, *arguments], capture_output=True, timeout=60, env={**kept, **settings})


def test_help_and_version():
    assert b"recommend" in program("--help").stdout
    assert program("--version").stdout.startswith(b"rungwright ")


def test_starting_loads_nothing_heavy():
    heavy = ("numpy", "pydantic", "fastapi", "uvicorn", "clips", "durable", "sqlalchemy", "alembic")
    code = f"import sys, rungwright.cli.app; print([m for m in {heavy} if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60)
    assert done.stdout.strip() == "[]", done.stderr


def test_a_recommendation_needs_no_database(tmp_path):
    code = (
        "import sys; sys.argv = ['rungwright', 'recommend', '--demo', 'grade_4_harder']\n"
        "from rungwright.cli import main\n"
        "try: main()\n"
        "finally: print([m for m in ('sqlalchemy', 'alembic', 'platformdirs') if m in sys.modules], file=sys.stderr)"
    )
    env = {**os.environ, "RUNGWRIGHT_DATA": str(tmp_path / "nowhere")}
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60, env=env)
    assert done.stderr.strip() == "[]" and "Kestrel 4B" in done.stdout
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("encoding", ["ascii", "latin-1", "utf-8"])
def test_any_terminal_can_show_an_answer(encoding):
    done = program("recommend", "--demo", "grade_4_harder", PYTHONIOENCODING=encoding)
    assert (done.returncode, done.stderr) == (0, b"")
    shown = done.stdout.decode(encoding)
    assert ("●" if encoding == "utf-8" else "#") in shown
    assert ("→" if encoding == "utf-8" else "->") in shown
    assert "?" not in shown.split("Ask the groups")[0]


def test_a_reader_that_leaves_is_no_error():
    done = subprocess.run(
        ["bash", "-o", "pipefail", "-c", '"$@" | head -n 1', "x", *PROGRAM, "rules", "list"],
        capture_output=True,
        timeout=60,
    )
    assert done.stderr == b""


def test_serve_answers_at_the_address_it_prints():
    server = subprocess.Popen(
        [*PROGRAM, "serve", "--port", "0"], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    try:
        address = re.search(r"http://127\.0\.0\.1:\d+", server.stdout.readline())[0]
        with httpx.Client(base_url=address, timeout=30) as client:
            assert client.get("/readyz").json()["status"] == "ready"
            assert client.get("/nowhere").headers["content-type"] == "application/problem+json"
            big = client.post(
                "/v1/recommendations", content=b" " * 2_000_000, headers={"content-type": "application/json"}
            )
            assert big.status_code == 413
            batch = client.post("/v1/recommendations/batch", json=[{}])
            assert json.loads(batch.text)["problem"]["status"] == 422
    finally:
        server.send_signal(signal.SIGINT)
        _, err = server.communicate(timeout=30)
    assert err == ""


def test_a_taken_port_is_told(tmp_path):
    import socket

    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        done = program("serve", "--port", str(taken.getsockname()[1]))
    assert done.returncode == 2
    assert b"cannot listen on 127.0.0.1 port" in done.stderr


@pytest.mark.parametrize("sign", [signal.SIGTERM, signal.SIGINT])
def test_a_server_that_is_stopped_leaves_the_data_in_one_file(sign):
    server = subprocess.Popen([*PROGRAM, "serve", "--port", "0"], stdout=subprocess.PIPE, text=True)
    try:
        address = re.search(r"http://127\.0\.0\.1:\d+", server.stdout.readline())[0]
        cupboard = {"label": "Science room", "materials": []}
        assert httpx.post(f"{address}/v1/cupboards", json=cupboard, timeout=30).status_code == 201
    finally:
        server.send_signal(sign)
        server.communicate(timeout=60)
    folder = Path(os.environ["RUNGWRIGHT_DATA"])
    assert b"Science room" in (folder / "rungwright.sqlite3").read_bytes()
    journal = folder / "rungwright.sqlite3-wal"
    assert not journal.exists() or journal.stat().st_size == 0
