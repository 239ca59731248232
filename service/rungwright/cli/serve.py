"""`rungwright serve`."""

from __future__ import annotations

import socket
from typing import TYPE_CHECKING

import typer

from rungwright.cli.terminal import BadInput, opened, opened_store

if TYPE_CHECKING:
    from rungwright.rulebase import CompiledRules
    from rungwright.settings import Settings
    from rungwright.store import Store


def run(host: str, port: int) -> None:
    with opened_store() as store, opened() as (settings, rules):
        _check_keys(host, store)
        _answer(host, port, settings, rules, store)


def _answer(host: str, port: int, settings: Settings, rules: CompiledRules, store: Store) -> None:
    import uvicorn

    from rungwright.web.demo_school import first_start
    from rungwright.web.site import create_site

    first_start(store, rules)
    with _listening(host, port) as listener:
        name = f"[{host}]" if ":" in host else host
        typer.echo(f"Rungwright answers at http://{name}:{listener.getsockname()[1]}/ (stop with Ctrl+C)")
        typer.echo("Open it in a browser for the pages; planning tools ask below /v1, see /api.")
        config = uvicorn.Config(create_site(settings, rules, store), log_level="warning", server_header=False)
        uvicorn.Server(config).run(sockets=[listener])


def _check_keys(host: str, store: Store) -> None:
    """Raises BadInput where others could reach what is kept without showing who they are."""
    from rungwright.api.access import is_loopback
    from rungwright.store.keys import any_key

    if is_loopback(host):
        return
    with store.reading() as session:
        if not any_key(session):
            raise BadInput(
                f"{host!r} can be reached from other computers, and there are no keys to tell callers apart.",
                'Make one first: rungwright keys add "Room 12" --role teacher',
                "Or answer this computer only: --host 127.0.0.1",
            )


def _listening(host: str, port: int) -> socket.socket:
    """Bound before the address is printed, so that what is printed is true."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    listener = socket.socket(family, socket.SOCK_STREAM)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((host, port))
        listener.listen(128)
    except OSError as error:
        listener.close()
        raise BadInput(f"cannot listen on {host} port {port}: {error.strerror or error}; try --port 0") from None
    return listener
