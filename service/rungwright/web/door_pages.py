"""Signing in with a key and out again."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from rungwright.web.desk import Desk, View, go_to, posted
from rungwright.web.door import COOKIE, SESSION_S, SIGN_IN


@dataclass(frozen=True)
class SignInPage(View):
    template: ClassVar[str] = "sign_in.html"
    to: str
    wrong: bool


def routes(desk: Desk) -> list[Route]:
    def sign_in(request: Request) -> Response:
        return desk.show(request, SignInPage(_inside(request.query_params.get("to", "/")), wrong=False))

    def check(request: Request, form: FormData) -> Response:
        to = _inside(str(form.get("to", "/")))
        text = request.state.door.sign_in(request, str(form.get("key", "")))
        if text is None:
            return desk.show(request, SignInPage(to, wrong=True), 403)
        answer = go_to(to)
        answer.set_cookie(
            COOKIE,
            text,
            max_age=SESSION_S,
            httponly=True,
            secure=request.url.scheme == "https",
            samesite="lax",
        )
        return answer

    def sign_out(request: Request, form: FormData) -> Response:
        request.state.door.sign_out(request)
        answer = go_to(SIGN_IN)
        answer.delete_cookie(COOKIE)
        return answer

    return [
        Route(SIGN_IN, sign_in),
        Route(SIGN_IN, posted(check), methods=["POST"]),
        Route("/sign-out", posted(sign_out), methods=["POST"]),
    ]


def _inside(address: str) -> str:
    """An address of this site; anything else leads to the start."""
    return address if address.startswith("/") and not address.startswith(("//", "/\\")) else "/"
