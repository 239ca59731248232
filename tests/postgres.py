"""A PostgreSQL server of the tests' own: no system service, a folder of its own, gone afterwards."""

from __future__ import annotations

import contextlib
import os
import pwd
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from pathlib import Path

LACKING = "PostgreSQL is not installed; on Debian: apt-get install postgresql"


def programs() -> Path | None:
    """The folder of initdb and pg_ctl."""
    places = sorted(Path("/usr/lib/postgresql").glob("*/bin"), key=lambda p: -int(p.parent.name))
    found = shutil.which("initdb")
    places += [Path(found).parent] if found else []
    return next((place for place in places if (place / "initdb").exists()), None)


class Server:
    """`url` of its database; it can be stopped and started like one that is upgraded under a running service."""

    def __init__(self, programs: Path, folder: str):
        self._programs, self._folder = programs, folder
        self._who: dict = {}
        if os.geteuid() == 0:  # the server refuses to run as root
            user = next(u for u in map(_user, ("postgres", "nobody")) if u)
            os.chown(folder, user.pw_uid, user.pw_gid)
            self._who = {"user": user.pw_uid, "group": user.pw_gid, "extra_groups": []}
        self.run("initdb", "-U", "app", "--auth=trust", "--no-sync", "-E", "UTF8", "--locale=C.UTF-8")
        self.start()

    def address(self, database: str) -> str:
        return f"postgresql+psycopg://app@/{database}?host={self._folder}"

    def start(self) -> None:
        quick = "-c fsync=off -c full_page_writes=off -c shared_buffers=32MB -c max_connections=200"
        options = f"-k {self._folder} -c listen_addresses='' {quick}"
        self.run("pg_ctl", "-w", "-l", f"{self._folder}/log", "-o", options, "start")

    def stop(self) -> None:
        self.run("pg_ctl", "-w", "-m", "immediate", "stop")

    def run(self, program: str, *arguments: str) -> None:
        subprocess.run(
            [str(self._programs / program), "-D", f"{self._folder}/data", *arguments],
            check=True,
            cwd="/",
            env={k: v for k, v in os.environ.items() if not k.startswith("PG")},
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.STDOUT,
            **self._who,
        )


@contextlib.contextmanager
def server(programs: Path) -> Iterator[Server]:
    # Short, and in the system's folder: the path of a socket has 107 bytes at most.
    folder = tempfile.mkdtemp(prefix="rwpg", dir="/tmp")
    running = None
    try:
        running = Server(programs, folder)
        yield running
    finally:
        with contextlib.suppress(subprocess.CalledProcessError):
            if running is not None:
                running.stop()
        shutil.rmtree(folder, ignore_errors=True)


def _user(name: str) -> pwd.struct_passwd | None:
    try:
        return pwd.getpwnam(name)
    except KeyError:
        return None
