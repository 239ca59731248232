"""Who may see the pages: the one person of this computer, or who has signed in with a key.

A cookie holds a random text whose digest is kept (`store.sign_ins`): a restart of the service signs nobody out, signing
out ends it for good, and a key that is revoked ends its sign-ins at once.
"""

from __future__ import annotations

from urllib.parse import quote, urlsplit

from fastapi.concurrency import run_in_threadpool
from starlette.datastructures import MutableHeaders
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from rungwright.api.access import WRONG_KEYS_A_MINUTE, Allowance, is_loopback, not_kept
from rungwright.api.problems import ProblemError, ProblemType
from rungwright.store import ONE_PERSON, Store, StoreUnavailable
from rungwright.store.keys import any_key, caller_with
from rungwright.store.sign_ins import sign_in, sign_out, signed_in
from rungwright.web.assets import FOLDER

COOKIE = "rungwright_session"
SIGN_IN = "/sign-in"
SESSION_S = 12 * 3600
"""A school day: a tablet that stays in a classroom must not stay signed in overnight."""

HEADERS = {
    "Content-Security-Policy": "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; "
    "font-src 'self'; connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'",
    "Cross-Origin-Opener-Policy": "same-origin",
    # With no referrer at all a browser hides the origin of a form too, by which a form of elsewhere is told.
    "Referrer-Policy": "same-origin",
    "X-Content-Type-Options": "nosniff",
}


class Door:
    """Sets `request.state.caller`, or leads to signing in; refuses forms of other sites; adds the headers of safety."""

    def __init__(self, app: ASGIApp, store: Store):
        self.app, self.store = app, store
        self.wrong = Allowance(WRONG_KEYS_A_MINUTE)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        request = Request(scope)
        request.state.door = self
        is_file = request.url.path.startswith(FOLDER)

        async def safely(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                headers.update(HEADERS)
                headers.setdefault("Cache-Control", "no-store")
            await send(message)

        if not is_file:
            try:
                away = await run_in_threadpool(self._let_in, request)
            except ProblemError as error:
                request.state.problem = error
            else:
                if away is not None:
                    await away(scope, receive, safely)
                    return
        await self.app(scope, receive, safely)

    def _let_in(self, request: Request) -> Response | None:
        """Where to go instead, if anywhere. Raises ProblemError 401, 403, 503."""
        if request.method not in ("GET", "HEAD") and not _of_this_site(request):
            raise ProblemError(
                ProblemType.NOT_ALLOWED, "This form came from another site; open the page and try again."
            )
        try:
            with self.store.reading() as session:
                caller = signed_in(session, request.cookies[COOKIE]) if COOKIE in request.cookies else None
                needed = caller is None and any_key(session)
        except StoreUnavailable as error:
            raise not_kept(error) from error
        if needed:
            if request.url.path == SIGN_IN:
                return None
            wanted = request.url.path + (f"?{request.url.query}" if request.url.query else "")
            return RedirectResponse(f"{SIGN_IN}?to={quote(wanted)}" if request.method == "GET" else SIGN_IN, 303)
        if caller is None and not is_loopback(request.url.hostname or ""):
            # A page of elsewhere can make a name of its own point at this computer.
            raise ProblemError(
                ProblemType.NO_KEY,
                "Without keys only this computer is answered, by its own name: localhost or 127.0.0.1.",
            )
        request.state.caller = caller or ONE_PERSON
        return None

    def sign_in(self, request: Request, key: str) -> str | None:
        """The text for the cookie; None for a key that is not good. Raises ProblemError 429."""
        with self.store.writing() as session:
            caller = caller_with(session, key.strip())
            if caller is not None:
                return sign_in(session, caller, seconds=SESSION_S)
        self.wrong.use(request.client.host if request.client else "")
        return None

    def sign_out(self, request: Request) -> None:
        with self.store.writing() as session:
            sign_out(session, request.cookies.get(COOKIE, ""))


def _of_this_site(request: Request) -> bool:
    """Browsers say where a form came from; one that says nothing is not a browser's."""
    said = request.headers.get("sec-fetch-site")
    if said is not None:
        return said in ("same-origin", "none")
    origin = request.headers.get("origin")
    return origin is not None and urlsplit(origin).netloc == request.headers.get("host")
