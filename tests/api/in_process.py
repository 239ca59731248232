"""A client that calls the service without a socket."""

from __future__ import annotations

import asyncio
from collections.abc import Callable

import httpx


class InProcess(httpx.BaseTransport):
    """What a server would answer, a failure of the service included: it is an answer of 500, not an exception."""

    def __init__(self, app: Callable):
        self._asgi = httpx.ASGITransport(app, raise_app_exceptions=False)

    def handle_request(self, request: httpx.Request) -> httpx.Response:
        async def answer() -> httpx.Response:
            sent = httpx.Request(
                request.method, request.url, headers=request.headers, stream=httpx.ByteStream(request.read())
            )
            response = await self._asgi.handle_async_request(sent)
            return httpx.Response(response.status_code, headers=response.headers, content=await response.aread())

        return asyncio.run(answer())


def from_this_computer(app: Callable) -> Callable:
    """The app, called as by a browser on the same computer; for tools that make up names of clients and hosts."""

    async def called(scope: dict, receive: Callable, send: Callable) -> None:
        if scope["type"] == "http":
            headers = [(name, value) for name, value in scope["headers"] if name != b"host"]
            scope = {**scope, "client": ("127.0.0.1", 50000), "headers": [(b"host", b"localhost"), *headers]}
        await app(scope, receive, send)

    return called


def client_of(app: Callable) -> httpx.Client:
    return httpx.Client(transport=InProcess(app), base_url="http://localhost")
