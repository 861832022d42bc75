"""Who may speak to the workbench: this page, from this machine, and nobody else.

A page in a browser can be made to send requests to any address, also to this machine's own. So
every request must name us as its host, none may come from another page, and what is not on the
loopback address needs the token that was printed at the start.
"""

from __future__ import annotations

import hmac
from dataclasses import dataclass
from http.cookies import CookieError, SimpleCookie
from typing import Any
from urllib.parse import parse_qs

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

COOKIE = "fiddlehead_token"
PAGE_POLICY = (
    "default-src 'self'; img-src 'self' data: blob:; frame-src 'self'; object-src 'none'; "
    "frame-ancestors 'none'; base-uri 'none'; form-action 'self'"
)
FILE_POLICY = (
    "sandbox; default-src 'none'; img-src 'self' data:; style-src 'unsafe-inline'; "
    "font-src data:; frame-ancestors 'self'"
)
"""For files of the project: whatever stands in them, it is shown and never run."""
READING = ("GET", "HEAD")


@dataclass(frozen=True)
class Door:
    """Where the workbench listens and whom it lets in.

    hosts : names this server answers to, with port; empty when any may be used (token needed)
    token : ``""`` on the loopback address
    """

    hosts: frozenset[str]
    token: str = ""

    def refusal(self, scope: Scope) -> Response | None:
        """The answer to a request that may not come in; ``None`` for one that may."""
        headers = Headers(scope=scope)
        host = headers.get("host", "")
        if self.hosts and host not in self.hosts:
            return PlainTextResponse("This address is not served here.\n", status_code=421)
        origin = headers.get("origin")
        if origin is not None and origin not in (f"http://{host}", f"https://{host}"):
            return PlainTextResponse("Other pages may not speak to this one.\n", status_code=403)
        site = headers.get("sec-fetch-site", "none")
        reading = scope.get("method", "") in READING and scope["type"] == "http"
        if site not in ("same-origin", "none") and not (reading and _opens_a_page(headers)):
            return PlainTextResponse("Other pages may not speak to this one.\n", status_code=403)
        return self._without_token(scope, headers) if self.token else None

    def _without_token(self, scope: Scope, headers: Headers) -> Response | None:
        offered = parse_qs(scope.get("query_string", b"").decode("latin-1")).get("token", [""])[0]
        if scope["type"] == "http" and scope["path"] == "/" and self._fits(offered):
            answer = RedirectResponse("/", status_code=303)
            answer.set_cookie(COOKIE, offered, httponly=True, samesite="strict", path="/")
            return answer
        if self._fits(_cookie(headers)):
            return None
        return PlainTextResponse(
            "Open the link with the token that fiddlehead serve has printed.\n", status_code=401
        )

    def _fits(self, offered: str) -> bool:
        return hmac.compare_digest(offered.encode(), self.token.encode())


def _opens_a_page(headers: Headers) -> bool:
    """A person followed a link to us: nothing is read by the page that held the link."""
    return headers.get("sec-fetch-mode") == "navigate"


def _cookie(headers: Headers) -> str:
    jar: SimpleCookie = SimpleCookie()
    try:
        jar.load(headers.get("cookie", ""))
    except CookieError:
        return ""
    return jar[COOKIE].value if COOKIE in jar else ""


class Guard:
    """Turns away what :class:`Door` refuses, and writes the browser's rules on each answer."""

    def __init__(self, app: ASGIApp, door: Door) -> None:
        self.app = app
        self.door = door

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request (ASGI)."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        refusal = self.door.refusal(scope)
        if scope["type"] != "http":
            await send({"type": "websocket.close", "code": 1008})
            return

        async def send_with_rules(message: Message) -> None:
            if message["type"] == "http.response.start":
                _write_rules(MutableHeaders(scope=message), scope["path"])
            await send(message)

        app: Any = self.app if refusal is None else refusal
        await app(scope, receive, send_with_rules)


def _write_rules(headers: MutableHeaders, path: str) -> None:
    headers["content-security-policy"] = FILE_POLICY if path.startswith("/files/") else PAGE_POLICY
    headers["x-content-type-options"] = "nosniff"
    headers["referrer-policy"] = "no-referrer"
    headers["cross-origin-opener-policy"] = "same-origin"
    headers["cross-origin-resource-policy"] = "same-origin"
    headers["cache-control"] = "no-cache"
