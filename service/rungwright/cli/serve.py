"""`rungwright serve`."""

from __future__ import annotations

import ipaddress
import socket

import typer

from rungwright.cli.terminal import BadInput, opened


def run(host: str, port: int) -> None:
    import uvicorn

    from rungwright.api.app import create_app

    if not _is_loopback(host):
        raise BadInput(
            f"{host!r} can be reached from other computers, and this version has no keys to tell callers apart; "
            "use 127.0.0.1"
        )
    with opened() as (settings, rules), _listening(host, port) as listener:
        name = f"[{host}]" if ":" in host else host
        typer.echo(f"Rungwright answers at http://{name}:{listener.getsockname()[1]} (stop with Ctrl+C)")
        config = uvicorn.Config(create_app(settings, rules), log_level="warning", server_header=False)
        uvicorn.Server(config).run(sockets=[listener])


def _is_loopback(host: str) -> bool:
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


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
