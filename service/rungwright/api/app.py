"""The service, put together. Everything it stands on is given to it."""

from __future__ import annotations

from typing import Any

from fastapi import FastAPI

from rungwright import __version__
from rungwright.api import (
    catalogue,
    checks,
    cupboards,
    health,
    keeping,
    kept,
    kept_ladders,
    ladder_prints,
    ladders,
    learning,
    prints,
    problems,
    recommendations,
    rosters,
    runs,
    sections,
)
from rungwright.api.access import Access
from rungwright.api.contract import contract
from rungwright.api.retention import keeping_well
from rungwright.rulebase import CompiledRules
from rungwright.settings import Settings
from rungwright.store import Store

_ABOUT = """Proposes adjustments to hands-on engineering challenges, each with its reason and its computed effect.

Types are strict and unknown fields are refused. Every failure is a problem detail (RFC 9457) whose `errors` point at
the fields that are wrong. Only counts about a section are taken, never anything about a student.
"""

_TAGS = [
    {"name": "recommendations", "description": "What to change for a section, and why."},
    {"name": "learning", "description": "What a school's own runs say about the weights."},
    {"name": "sections", "description": "Class groups that are kept from lesson to lesson."},
    {"name": "cupboards", "description": "What there is, what planned lessons reserve, what taught ones took."},
    {"name": "runs", "description": "What a section did and how it went, as counts of groups."},
    {"name": "decisions", "description": "What was kept, changed and declined, and what that says about the rules."},
    {"name": "checks", "description": "One check of a build, or one value measured in the classroom."},
    {"name": "ladders", "description": "One shared set of rungs for a challenge; documents go in and come out whole."},
    {"name": "kept ladders", "description": "A school's ladders: drafts, versions, edits at once, sections on rungs."},
    {"name": "prints", "description": "The lesson on paper, in a table and in a calendar."},
    {"name": "catalogue", "description": "What a request may name; the rules and what stands behind them."},
    {"name": "service", "description": "Whether it lives and whether it is ready."},
]


def create_app(settings: Settings, rules: CompiledRules, store: Store | None = None) -> FastAPI:
    """The service over a rule base that is ready to run and a database that is up to date.

    Without a `store` it answers what needs nothing kept. The caller closes both when the service has stopped.
    """
    app = FastAPI(
        title="Rungwright",
        summary="Pitch a hands-on engineering challenge for each class section.",
        description=_ABOUT,
        version=__version__,
        openapi_tags=_TAGS,
        # The documentation pages of the framework load from outside; classrooms often cannot.
        docs_url=None,
        redoc_url=None,
        # A redirect to the other form of an address would be an answer without a problem detail.
        redirect_slashes=False,
        lifespan=keeping_well(store, settings.keep_days),
    )
    app.state.settings = settings
    problems.install(app)
    keeping.install(app)
    app.add_middleware(Access, store=store, calls_a_minute=settings.calls_a_minute)
    keeper = keeping.Keeper(store)
    recommendations.add_routes(app, rules, keeper)
    learning.add_routes(app, rules)
    checks.add_routes(app)
    ladders.add_routes(app, rules)
    kept_ladders.add_routes(app, keeper, rules)
    ladder_prints.add_routes(app, rules, keeper)
    prints.add_routes(app, rules, keeper)
    kept.add_routes(app, keeper, rules.base)
    sections.add_routes(app, keeper, rules.base)
    cupboards.add_routes(app, keeper, rules.base)
    runs.add_routes(app, keeper, rules)
    rosters.add_routes(app, keeper)
    catalogue.add_routes(app, rules.base)
    health.add_routes(app, rules, store)

    def openapi() -> dict[str, Any]:
        if app.openapi_schema is None:
            app.openapi_schema = contract(app)
        return app.openapi_schema

    app.openapi = openapi
    return app
