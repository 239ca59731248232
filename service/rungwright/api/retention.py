"""While the service runs, what is too old is forgotten once a day; when it stops, the data is left in one file."""

from __future__ import annotations

import asyncio
import contextlib
import logging
from collections.abc import AsyncIterator, Callable
from contextlib import AbstractAsyncContextManager, asynccontextmanager

from fastapi import FastAPI
from fastapi.concurrency import run_in_threadpool

from rungwright.store import Store, StoreUnavailable
from rungwright.store.forget import forget_old

A_DAY_S = 86_400

log = logging.getLogger("rungwright.api")


def keeping_well(store: Store | None, days: int | None) -> Callable[[FastAPI], AbstractAsyncContextManager[None]]:
    """The lifespan of the service. `days` None: nothing is forgotten by itself."""

    @asynccontextmanager
    async def lifespan(_: FastAPI) -> AsyncIterator[None]:
        ends = asyncio.Event()
        task = asyncio.create_task(_daily(store, days, ends)) if store is not None and days is not None else None
        yield
        if task is not None:
            # Not cancelled: its thread would go on, with a connection that nobody closes any more.
            ends.set()
            await task
        if store is not None:
            # The signal that stops a server may end its process before whoever opened the store can close it.
            with contextlib.suppress(StoreUnavailable):
                await run_in_threadpool(store.settle)

    return lifespan


async def _daily(store: Store, days: int, ends: asyncio.Event) -> None:
    while not ends.is_set():
        try:
            await run_in_threadpool(forget_once, store, days)
        except StoreUnavailable:
            log.exception("what is older than %d days could not be forgotten; it is tried again tomorrow", days)
        with contextlib.suppress(TimeoutError):
            await asyncio.wait_for(ends.wait(), A_DAY_S)


def forget_once(store: Store, days: int) -> None:
    """Raises StoreUnavailable."""
    with store.writing() as session:
        gone = +forget_old(session, days)
    if gone:
        store.settle()
        log.info("forgotten, older than %d days: %s", days, dict(gone))
