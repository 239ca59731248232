"""The pages and the HTTP interface as one service."""

from __future__ import annotations

import logging
from dataclasses import dataclass
from typing import ClassVar

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route
from starlette.types import ASGIApp, Receive, Scope, Send

from rungwright.api.access import not_kept
from rungwright.api.app import create_app
from rungwright.api.problems import MEANINGS, ProblemError, ProblemType, answer, internal
from rungwright.rulebase import CompiledRules
from rungwright.settings import Settings
from rungwright.store import NotAllowed, NotThere, Stale, Store, StoreUnavailable
from rungwright.web import (
    answer_pages,
    api_page,
    check_pages,
    cupboard_pages,
    door_pages,
    ladder_edits,
    ladder_looks,
    ladder_pages,
    lesson_page,
    line_pages,
    new_year_pages,
    result_pages,
    rule_pages,
    run_pages,
    section_pages,
    sheet_pages,
    words_page,
)
from rungwright.web.assets import FOLDER
from rungwright.web.desk import Desk, View, open_desk, read_form
from rungwright.web.door import SIGN_IN, Door

OF_THE_INTERFACE = ("/v1/", "/healthz", "/readyz", "/metrics", "/openapi.json")
"""Addresses that the HTTP interface answers; all others are pages."""

log = logging.getLogger("rungwright.web")


@dataclass(frozen=True)
class TroublePage(View):
    template: ClassVar[str] = "trouble.html"
    title: str
    detail: str
    errors: list[str]
    typed: list[tuple[str, str]]
    """fields of a form that could not be kept, to be sent again"""


class Site:
    """One ASGI service: each address goes to the interface or to the pages."""

    def __init__(self, interface: ASGIApp, pages: ASGIApp):
        self.interface, self.pages = interface, pages

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        of_pages = scope["type"] == "http" and not scope["path"].startswith(OF_THE_INTERFACE)
        await (self.pages if of_pages else self.interface)(scope, receive, send)


def create_site(settings: Settings, rules: CompiledRules, store: Store) -> Site:
    """Over a rule base that is ready to run and a database that is up to date; the caller closes both."""
    interface = create_app(settings, rules, store)
    desk = open_desk(rules, store)
    pages = Starlette(
        routes=[
            Route(FOLDER + "{name:path}", desk.assets.answer),
            *door_pages.routes(desk),
            *section_pages.routes(desk),
            *new_year_pages.routes(desk),
            *answer_pages.routes(desk),
            *sheet_pages.routes(desk),
            *line_pages.routes(desk),
            *lesson_page.routes(desk),
            *result_pages.routes(desk),
            *run_pages.routes(desk),
            *cupboard_pages.routes(desk),
            *ladder_pages.routes(desk),
            *ladder_edits.routes(desk),
            *ladder_looks.routes(desk),
            *rule_pages.routes(desk),
            *check_pages.routes(desk),
            *words_page.routes(desk),
            *api_page.routes(desk, interface.openapi),
        ],
        exception_handlers=_handlers(desk),
    )
    return Site(interface, Door(_Refused(pages, desk), store))


class _Refused:
    """Shows what the door refused as a page. A form that it could not let in just now is not lost."""

    def __init__(self, app: ASGIApp, desk: Desk):
        self.app, self.desk = app, desk

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        error = scope.get("state", {}).get("problem")
        if error is None:
            await self.app(scope, receive, send)
            return
        request = Request(scope, receive)
        if request.method == "POST" and error.kind is ProblemType.NOT_KEPT:
            try:
                await read_form(request)
            except ProblemError as unread:
                error = unread
        await _trouble(self.desk, request, error)(scope, receive, send)


def _handlers(desk: Desk) -> dict[object, object]:
    def known(request: Request, error: ProblemError) -> Response:
        return _trouble(desk, request, error)

    def not_there(request: Request, error: NotThere) -> Response:
        return _trouble(desk, request, ProblemError(ProblemType.NOT_FOUND, str(error)))

    def not_allowed(request: Request, error: NotAllowed) -> Response:
        return _trouble(desk, request, ProblemError(ProblemType.NOT_ALLOWED, str(error)))

    def stale(request: Request, error: Stale) -> Response:
        return _trouble(desk, request, ProblemError(ProblemType.CHANGED_MEANWHILE, str(error)))

    def unavailable(request: Request, error: StoreUnavailable) -> Response:
        return _trouble(desk, request, not_kept(error))

    def http(request: Request, error: HTTPException) -> Response:
        kind = ProblemType.METHOD_NOT_ALLOWED if error.status_code == 405 else ProblemType.NOT_FOUND
        return _trouble(desk, request, ProblemError(kind, "There is no such page; the start page leads everywhere."))

    def unexpected(request: Request, error: Exception) -> Response:
        log.error("page failed: %s %s", request.method, request.url.path, exc_info=error)
        return _trouble(desk, request, internal())

    return {
        ProblemError: known,
        NotThere: not_there,
        NotAllowed: not_allowed,
        Stale: stale,
        StoreUnavailable: unavailable,
        HTTPException: http,
        Exception: unexpected,
    }


def _trouble(desk: Desk, request: Request, error: ProblemError) -> Response:
    """A page for who reads pages, a problem detail for who does not."""
    if "text/html" not in request.headers.get("accept", ""):
        return answer(error, request)
    meaning = MEANINGS[error.kind]
    typed = _typed(request) if error.kind is ProblemType.NOT_KEPT else []
    view = TroublePage(meaning.title, str(error), [f"{p.pointer}: {p.detail}" for p in error.errors], typed)
    shown = desk.show(request, view, meaning.status)
    shown.headers.update(error.headers or {})
    return shown


def _typed(request: Request) -> list[tuple[str, str]]:
    """A key is not shown again, not even to who typed it."""
    form = getattr(request.state, "form", None)
    return [] if form is None or request.url.path == SIGN_IN else [(k, str(v)) for k, v in form.multi_items()]
