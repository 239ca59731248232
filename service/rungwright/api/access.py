"""Who asks: a key in `Authorization`, or nobody but the one person of this computer where there are no keys."""

from __future__ import annotations

import ipaddress
import threading
import time
from collections.abc import Callable

from fastapi import Request
from fastapi.concurrency import run_in_threadpool
from starlette.types import ASGIApp, Receive, Scope, Send

from rungwright.api.problems import PREFIX, ProblemError, ProblemType, answer
from rungwright.store import ONE_PERSON, Caller, Store, StoreUnavailable
from rungwright.store.keys import any_key, caller_with

OPEN = ("/healthz", "/readyz", "/openapi.json", PREFIX)
"""Addresses that need no key: they tell nothing of a workspace."""

WRONG_KEYS_A_MINUTE = 20
"""Keys that are not good, of one address."""


def bearer(request: Request) -> str | None:
    scheme, _, key = request.headers.get("authorization", "").partition(" ")
    return key.strip() if scheme.lower() == "bearer" and key.strip() else None


class Access:
    """Sets `request.state.caller`, or answers 401 or 429 itself."""

    def __init__(self, app: ASGIApp, store: Store | None, calls_a_minute: int):
        self.app, self.store = app, store
        self._calls, self._wrong = Allowance(calls_a_minute), Allowance(WRONG_KEYS_A_MINUTE)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http" or scope["path"].startswith(OPEN):
            await self.app(scope, receive, send)
            return
        request = Request(scope)
        try:
            request.state.caller = await run_in_threadpool(self.caller_of, request)
        except ProblemError as error:
            await answer(error, request)(scope, receive, send)
            return
        await self.app(scope, receive, send)

    def caller_of(self, request: Request) -> Caller:
        """Raises ProblemError 401, 429, 503."""
        if self.store is None:
            return ONE_PERSON
        key = bearer(request)
        try:
            with self.store.reading() as session:
                caller = caller_with(session, key) if key else None
                needed = caller is None and any_key(session)
        except StoreUnavailable as error:
            raise not_kept(error) from error
        where = request.client.host if request.client else ""
        if caller is not None:
            self._calls.use(caller.key or "")
            return caller
        if not needed:
            _of_this_computer(request)
            return ONE_PERSON
        if key:
            self._wrong.use(where)
        raise ProblemError(
            ProblemType.NO_KEY,
            "This key is not good here." if key else "Send your key as `Authorization: Bearer ...`.",
            (),
            {"WWW-Authenticate": "Bearer"},
        )


def _of_this_computer(request: Request) -> None:
    """From this computer, by its own name: a page of elsewhere can make a name of its own point at it."""
    if not (request.client and is_loopback(request.client.host) and is_loopback(request.url.hostname or "")):
        raise ProblemError(
            ProblemType.NO_KEY,
            "Without keys only this computer is answered, by its own name: localhost or 127.0.0.1.",
            (),
            {"WWW-Authenticate": "Bearer"},
        )


def is_loopback(host: str) -> bool:
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def not_kept(error: Exception) -> ProblemError:
    return ProblemError(ProblemType.NOT_KEPT, str(error), (), {"Retry-After": "5"})


class Allowance:
    """So many uses a minute for each name, refilled steadily."""

    MOST_NAMES = 10_000

    def __init__(self, a_minute: int, clock: Callable[[], float] = time.monotonic):
        self._most, self._clock = float(a_minute), clock
        self._left: dict[str, tuple[float, float]] = {}
        self._lock = threading.Lock()

    def use(self, name: str) -> None:
        """Raises ProblemError 429."""
        with self._lock:
            now = self._clock()
            left, before = self._left.pop(name, (self._most, now))
            left = min(self._most, left + (now - before) * self._most / 60)
            # Names are in order of their last use: the one that goes has waited longest and is full again soonest.
            if len(self._left) >= self.MOST_NAMES:
                del self._left[next(iter(self._left))]
            self._left[name] = (left - 1 if left >= 1 else left, now)
        if left < 1:
            wait = max(1, round((1 - left) * 60 / self._most))
            raise ProblemError(ProblemType.TOO_MANY, f"Too many calls; wait {wait} s.", (), {"Retry-After": str(wait)})
