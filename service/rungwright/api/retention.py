"""While the service runs, what is too old is forgotten once a day."""

from __future__ import annotations

import asyncio
import contextlib
import logging
from collections.abc import AsyncIterator, Callable
from contextlib import AbstractAsyncContextManager, asynccontextmanager

from fastapi import FastAPI
from fastapi.concurrency import run_in_threadpool

from rungwright.store import Store, StoreUnavailable
from rungwright.store.forget import forget_old, wipe

A_DAY_S = 86_400

log = logging.getLogger("rungwright.api")


def forgetting(store: Store | None, days: int | None) -> Callable[[FastAPI], AbstractAsyncContextManager[None]]:
    """The lifespan of the service. `days` None: nothing is forgotten by itself."""

    @asynccontextmanager
    async def lifespan(_: FastAPI) -> AsyncIterator[None]:
        if store is None or days is None:
            yield
            return
        task = asyncio.create_task(_daily(store, days))
        try:
            yield
        finally:
            task.cancel()
            with contextlib.suppress(asyncio.CancelledError):
                await task

    return lifespan


async def _daily(store: Store, days: int) -> None:
    while True:
        try:
            await run_in_threadpool(forget_once, store, days)
        except StoreUnavailable:
            log.exception("what is older than %d days could not be forgotten; it is tried again tomorrow", days)
        await asyncio.sleep(A_DAY_S)


def forget_once(store: Store, days: int) -> None:
    """Raises StoreUnavailable."""
    with store.writing() as session:
        gone = +forget_old(session, days)
    if gone:
        wipe(store)
        log.info("forgotten, older than %d days: %s", days, dict(gone))
