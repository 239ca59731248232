"""Who may see the pages: the one person of this computer, or who has signed in with a key.

A session lives in a signed cookie with the id of the key. The secret is made anew at each start of the service, so
that a restart signs everybody out; a key that is revoked ends its sessions at once.
"""

from __future__ import annotations

import hashlib
import hmac
import secrets
import time
from urllib.parse import quote, urlsplit

from fastapi.concurrency import run_in_threadpool
from starlette.datastructures import MutableHeaders
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from rungwright.api.access import WRONG_KEYS_A_MINUTE, Allowance, is_loopback, not_kept
from rungwright.api.problems import ProblemError, ProblemType
from rungwright.store import ONE_PERSON, Caller, Store, StoreUnavailable
from rungwright.store.keys import any_key, caller_of_key, caller_with
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


class Sessions:
    """Makes and reads the cookie: id of the key, last second, signature."""

    def __init__(self) -> None:
        self._secret = secrets.token_bytes(32)

    def made(self, caller: Caller) -> str:
        said = f"{caller.key}.{int(time.time()) + SESSION_S}"
        return f"{said}.{self._signature(said)}"

    def key_of(self, cookie: str) -> str | None:
        said, _, signature = cookie.rpartition(".")
        key, _, until = said.rpartition(".")
        if not hmac.compare_digest(self._signature(said).encode(), signature.encode()) or int(until) < time.time():
            return None
        return key

    def _signature(self, said: str) -> str:
        return hmac.new(self._secret, said.encode(), hashlib.sha256).hexdigest()


class Door:
    """Sets `request.state.caller`, or leads to signing in; refuses forms of other sites; adds the headers of safety."""

    def __init__(self, app: ASGIApp, store: Store):
        self.app, self.store, self.sessions = app, store, Sessions()
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
                key = self.sessions.key_of(request.cookies[COOKIE]) if COOKIE in request.cookies else None
                caller = caller_of_key(session, key) if key else None
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

    def sign_in(self, request: Request, key: str) -> Caller | None:
        """The caller of a key; None for one that is not good. Raises ProblemError 429."""
        with self.store.reading() as session:
            caller = caller_with(session, key.strip())
        if caller is None:
            self.wrong.use(request.client.host if request.client else "")
        return caller


def _of_this_site(request: Request) -> bool:
    """Browsers say where a form came from; one that says nothing is not a browser's."""
    said = request.headers.get("sec-fetch-site")
    if said is not None:
        return said in ("same-origin", "none")
    origin = request.headers.get("origin")
    return origin is not None and urlsplit(origin).netloc == request.headers.get("host")
