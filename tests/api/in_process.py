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


def client_of(app: Callable) -> httpx.Client:
    return httpx.Client(transport=InProcess(app), base_url="http://localhost")
