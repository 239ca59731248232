"""The service, put together. Everything it stands on is given to it."""

from __future__ import annotations

from typing import Any

from fastapi import FastAPI

from rungwright import __version__
from rungwright.api import catalogue, health, prints, problems, recommendations
from rungwright.api.contract import contract
from rungwright.rulebase import CompiledRules
from rungwright.settings import Settings

_ABOUT = """Proposes adjustments to hands-on engineering challenges, each with its reason and its computed effect.

Types are strict and unknown fields are refused. Every failure is a problem detail (RFC 9457) whose `errors` point at
the fields that are wrong. Only counts about a section are taken, never anything about a student.
"""

_TAGS = [
    {"name": "recommendations", "description": "What to change for a section, and why."},
    {"name": "prints", "description": "The lesson on paper, in a table and in a calendar."},
    {"name": "catalogue", "description": "What a request may name; the rules and what stands behind them."},
    {"name": "service", "description": "Whether it lives and whether it is ready."},
]


def create_app(settings: Settings, rules: CompiledRules) -> FastAPI:
    """The service over a rule base that is ready to run. The caller closes `rules` when the service has stopped."""
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
    )
    app.state.settings = settings
    problems.install(app)
    recommendations.add_routes(app, rules)
    prints.add_routes(app, rules)
    catalogue.add_routes(app, rules.base)
    health.add_routes(app, rules)

    def openapi() -> dict[str, Any]:
        if app.openapi_schema is None:
            app.openapi_schema = contract(app)
        return app.openapi_schema

    app.openapi = openapi
    return app
