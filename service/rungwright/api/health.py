"""Whether the service lives, and whether it can answer."""

from __future__ import annotations

import logging

from fastapi import FastAPI

from rungwright import __version__
from rungwright.api.documented import failures
from rungwright.api.problems import ProblemError, ProblemType
from rungwright.api.views import Alive, Ready
from rungwright.rulebase import CompiledRules
from rungwright.store import Store
from rungwright.store.keys import any_key

log = logging.getLogger("rungwright.api")


def add_routes(app: FastAPI, rules: CompiledRules, store: Store | None) -> None:
    @app.get("/healthz", operation_id="health", tags=["service"], summary="Whether the service lives")
    async def health() -> Alive:
        return Alive(status="ok", version=__version__)

    @app.get(
        "/readyz",
        operation_id="readiness",
        tags=["service"],
        summary="Whether the service can answer",
        responses=failures(503),
    )
    def readiness() -> Ready:
        """Runs the rules once on no facts, so the first real request need not prepare them; looks into the data."""
        try:
            for family in sorted({challenge.family for challenge in rules.base.challenges.values()}):
                rules.infer([], family)
                rules.advise([], family)
        except Exception as error:
            log.exception("the rules cannot be run")
            raise ProblemError(ProblemType.NOT_READY, "The rules cannot be run. The log says more.") from error
        if store is not None:
            with store.reading() as session:
                any_key(session)
        return Ready(
            status="ready",
            data="none" if store is None else store.engine.dialect.name,
            engine=rules.engine,
            rule_base_version=rules.base.version,
            rule_base_digest=rules.base.digest,
        )
