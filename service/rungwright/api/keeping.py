"""How the routes of kept things work: one transaction a request, versions, creates that may be sent twice."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any, TypeVar

from fastapi import FastAPI, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import Response
from pydantic import BaseModel, ConfigDict, Field
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from rungwright.api.access import not_kept
from rungwright.api.body import JSON, ONE_LIMIT, media_type, parsed, read_body
from rungwright.api.fields import validate
from rungwright.api.problems import ProblemError, ProblemType, answer, invalid
from rungwright.api.views import Page
from rungwright.domain.keeping import Text
from rungwright.domain.strict import Strict
from rungwright.recommend.problem import FieldProblem
from rungwright.store import Caller, NotAllowed, NotThere, Stale, Store, StoreUnavailable
from rungwright.store.entries import Slice
from rungwright.store.repeats import OtherRequest, made_before, remember

T = TypeVar("T")
D = TypeVar("D", bound=Strict)


class PageQuery(BaseModel):
    model_config = ConfigDict(extra="forbid")

    limit: int = Field(default=50, ge=1, le=200, description="entries on one page")
    cursor: Text | None = Field(default=None, max_length=60, description="`next` of the page before")


class ArchiveQuery(PageQuery):
    archived: bool = Field(default=False, description="those that were archived instead of those in use")


class SectionQuery(PageQuery):
    section_id: Text | None = Field(default=None, max_length=60, description="only those of this section")


@dataclass(frozen=True)
class Keeper:
    """The store, as the routes use it."""

    store: Store | None

    def open(self) -> Store:
        """Raises ProblemError 503."""
        if self.store is None:
            raise ProblemError(ProblemType.NOT_KEPT, "This service runs without a place to keep things.")
        return self.store

    async def read(self, request: Request, work: Callable[[Session, Caller], T]) -> T:
        """Work that only reads, in a thread and a transaction of its own."""

        def done() -> T:
            with self.open().reading() as session:
                return work(session, request.state.caller)

        return await run_in_threadpool(done)

    async def write(self, request: Request, work: Callable[[Session, Caller], T]) -> T:
        """Work that is done as a whole or not at all."""

        def done() -> T:
            with self.open().writing() as session:
                return work(session, request.state.caller)

        return await run_in_threadpool(found_or_made, done)

    async def create(
        self,
        request: Request,
        work: Callable[[Session, Caller], str],
        show: Callable[[Session, Caller, str], BaseModel],
        raw: bytes,
        *,
        at: str | None = None,
    ) -> Response:
        """201 with what `work` has made, or has made before for the same Idempotency-Key.

        `at`: the address below which it is found; by default that of the request.
        """
        key = request.headers.get("idempotency-key")
        if key is not None and not (1 <= len(key) <= 200):
            raise ProblemError(ProblemType.BAD_REQUEST, "An Idempotency-Key has 1 to 200 characters.")
        said = f"{request.method} {request.url.path}\n".encode() + raw

        def done() -> BaseModel:
            with self.open().writing() as session:
                caller = request.state.caller
                made = made_before(session, caller, key, said) if key else None
                if made is None:
                    made = work(session, caller)
                    if key:
                        remember(session, caller, key, said, made)
                return show(session, caller, made)

        try:
            view = await run_in_threadpool(found_or_made, done)
        except OtherRequest as error:
            raise ProblemError(ProblemType.INVALID_REQUEST, str(error)) from None
        return shown(view, 201, {"Location": f"{at or request.url.path}/{view.id}"})

    async def replace(
        self,
        request: Request,
        id: str,
        work: Callable[[Session, Caller, set[int] | None], Any],
        show: Callable[[Session, Caller, str], BaseModel],
    ) -> Response:
        """200 with the new version. `work` gets the versions that may be changed, None for any."""

        def write(caller: Caller, versions: set[int] | None) -> BaseModel:
            with self.open().writing() as session:
                work(session, caller, versions)
                return show(session, caller, id)

        return await self.replace_by(request, id, write, show)

    async def replace_by(
        self,
        request: Request,
        id: str,
        write: Callable[[Caller, set[int] | None], BaseModel],
        show: Callable[[Session, Caller, str], BaseModel],
    ) -> Response:
        """As `replace`, for a change that is worked out at length: `write` opens its transactions itself."""
        versions = versions_of(request)

        def done() -> BaseModel:
            try:
                return write(request.state.caller, versions)
            except Stale as error:
                with self.open().reading() as session:
                    current = show(session, request.state.caller, id)
                raise ProblemError(
                    ProblemType.CHANGED_MEANWHILE,
                    str(error),
                    (),
                    {"ETag": etag(current)},
                    current.model_dump(mode="json", by_alias=True),
                ) from None

        return shown(await run_in_threadpool(done), 200)


def found_or_made(work: Callable[[], T]) -> T:
    """Work that makes an entry where there is none. Where the same was made at the same time, it now is there."""
    try:
        return work()
    except IntegrityError:
        return work()


def versions_of(request: Request) -> set[int] | None:
    """The versions that `If-Match` names, None for `*`; a tag of another kind matches none. Raises ProblemError 428."""
    said = request.headers.get("if-match")
    if said is None:
        raise ProblemError(ProblemType.NO_VERSION, "Send the `ETag` of what you read as `If-Match`.")
    if said.strip() == "*":
        return None
    tags = [tag.strip() for tag in said.split(",")]
    inside = [tag[1:-1] for tag in tags if len(tag) > 2 and tag[0] == tag[-1] == '"']
    return {int(tag) for tag in inside if tag.isascii() and tag.isdigit() and len(tag) < 10}


def etag(view: BaseModel) -> str:
    return f'"{view.version}"'


def shown(view: BaseModel, status: int = 200, headers: dict[str, str] | None = None) -> Response:
    tag = {"ETag": etag(view)} if hasattr(view, "version") else {}
    return Response(view.model_dump_json(by_alias=True), status, {**tag, **(headers or {})}, JSON)


def page_of(found: Slice[Any], show: Callable[[Any], T]) -> Page[T]:
    return Page(items=[show(row) for row in found.items], next=found.next)


async def draft_of(request: Request, model: type[D]) -> tuple[D, bytes]:
    """The draft in the body, and the body. Raises ProblemError 400, 413, 415, 422."""
    media_type(request, JSON)
    raw = await read_body(request, ONE_LIMIT)
    draft = validate(model, parsed(raw))
    if isinstance(draft, list):
        raise invalid(draft)
    return draft, raw


@contextmanager
def named_in(pointer: str, what: str) -> Iterator[None]:
    """An entry that the body names and that is not there is told at its field."""
    try:
        yield
    except NotThere as error:
        if error.what != what:
            raise
        raise invalid([FieldProblem(pointer, f"there is no {what} {error.id[:60]!r} here")]) from None


def install(app: FastAPI) -> None:
    """Give the store's failures the shape of all failures."""

    async def not_there(request: Request, error: NotThere) -> Response:
        return answer(ProblemError(ProblemType.NOT_FOUND, str(error)), request)

    async def not_allowed(request: Request, error: NotAllowed) -> Response:
        return answer(ProblemError(ProblemType.NOT_ALLOWED, str(error)), request)

    async def unavailable(request: Request, error: StoreUnavailable) -> Response:
        return answer(not_kept(error), request)

    app.add_exception_handler(NotThere, not_there)
    app.add_exception_handler(NotAllowed, not_allowed)
    app.add_exception_handler(StoreUnavailable, unavailable)
