"""What every page works with, and how one is answered."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, ClassVar
from urllib.parse import parse_qsl

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from rungwright.api.body import ONE_LIMIT, read_body
from rungwright.api.keeping import Keeper
from rungwright.api.problems import ProblemError, ProblemType
from rungwright.domain.keeping import Role
from rungwright.recommend.wording import sentence
from rungwright.rulebase import CompiledRules, RuleBase
from rungwright.store import Caller, Store
from rungwright.web import saying
from rungwright.web.assets import Assets


class View:
    """What a template is given, as `page`. Each page has a view of its own with every field typed."""

    template: ClassVar[str]


@dataclass(frozen=True)
class Desk:
    rules: CompiledRules
    store: Store
    assets: Assets
    templates: Environment

    @property
    def base(self) -> RuleBase:
        return self.rules.base

    @property
    def keeper(self) -> Keeper:
        return Keeper(self.store)

    def show(self, request: Request, view: View, status: int = 200) -> Response:
        """The page of a view."""
        caller: Caller | None = getattr(request.state, "caller", None)
        text = self.templates.get_template(view.template).render(
            page=view,
            at=request.url.path,
            signed_in=caller is not None and caller.key is not None,
            may_write=caller is not None and caller.role != Role.PLANNER,
            may_coach=caller is not None and caller.role == Role.COACH,
        )
        return HTMLResponse(text, status)


def open_desk(rules: CompiledRules, store: Store) -> Desk:
    assets = Assets()
    templates = Environment(
        loader=PackageLoader("rungwright.web"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    templates.globals.update(asset=assets.address)
    templates.filters.update(
        sentence=sentence,
        day=saying.day,
        number=saying.number,
        capital=saying.capital,
        minutes=saying.minutes,
        code=saying.code,
    )
    # Drawings of the sheets are our own files, or made with everything escaped.
    templates.filters.update(picture=Markup)
    return Desk(rules, store, assets, templates)


MOST_FIELDS = 3000
"""Fields of one form: a grid of 60 groups has some hundreds."""


def posted(work: Callable[[Request, FormData], Response]) -> Callable[[Request], Any]:
    """A route that reads a form and then works in a thread. Raises ProblemError 400, 413, 415 for another body."""

    async def endpoint(request: Request) -> Response:
        return await run_in_threadpool(work, request, await read_form(request))

    return endpoint


async def read_form(request: Request) -> FormData:
    """What was typed, also as `request.state.form`. Raises ProblemError 400, 413, 415."""
    if request.headers.get("content-type", "").split(";")[0].strip() != "application/x-www-form-urlencoded":
        raise ProblemError(ProblemType.UNSUPPORTED_MEDIA_TYPE, "Send the form of the page.")
    raw = await read_body(request, ONE_LIMIT)
    try:
        fields = parse_qsl(raw.decode(), keep_blank_values=True, max_num_fields=MOST_FIELDS, errors="strict")
    except ValueError:
        raise ProblemError(ProblemType.BAD_REQUEST, "The form cannot be read; send it from its page.") from None
    request.state.form = FormData(fields)
    return request.state.form


def go_to(address: str) -> Response:
    """To another page, after something was written."""
    return RedirectResponse(address, 303)
