"""Who may speak to the page: this machine's browser, opened by the link, and no other site.

Pure ASGI: it answers for itself where a request does not pass, and adds the headers that keep a
page to itself. A body over the limit is read to its end and thrown away, since a browser that is
cut off in the middle of sending shows no answer.
"""

from __future__ import annotations

import secrets
from http.cookies import CookieError, SimpleCookie
from urllib.parse import parse_qs

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

BODY_LIMIT = 50 * 1024 * 1024  # bytes; the reader's own limit
DRAINED = 1024 * 1024 * 1024  # bytes of an over-long body that are read to be thrown away
ENTRY = "/enter"
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
_HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",  # 'no-referrer' would turn the Origin of a form to 'null'
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "cache-control": "no-store",
}


class Guard:
    """Wraps the page; `token` is what the link carries, `port` the one that is listened on."""

    def __init__(self, app: ASGIApp, port: int, token: str) -> None:
        self._app, self._token = app, token
        self._hosts = {f"127.0.0.1:{port}", f"localhost:{port}"}
        self._cookie = f"triage-{port}"  # browsers do not part cookies by port
        self._session = secrets.token_urlsafe(32)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return

        async def sending(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in _HEADERS.items():
                    headers.setdefault(name, value)
            await send(message)

        refused = self._refused(scope)
        if refused is not None:
            await refused(scope, receive, sending)
            return
        body = _Body(receive)
        if _stated_length(scope) > BODY_LIMIT:
            await body.drain()
            await too_long()(scope, receive, sending)
            return
        await self._app(scope, body.receive, sending)

    def _refused(self, scope: Scope) -> Response | None:
        headers = Headers(scope=scope)
        host = headers.get("host", "")
        if host not in self._hosts:
            return _plain("This page answers on 127.0.0.1 only.", 403)
        if scope["path"] == ENTRY and scope["method"] == "GET":
            return self._entered(scope)
        if not secrets.compare_digest(self._presented(headers), self._session):
            return _plain("Open the link that `triage page` printed; it lets this browser in.", 403)
        site = headers.get("sec-fetch-site", "same-origin")
        if scope["method"] not in ("GET", "HEAD"):
            if headers.get("origin") != f"http://{host}" or site not in ("same-origin", "none"):
                return _plain("Another site asked for this; nothing was changed.", 403)
        elif site == "cross-site":
            return _plain("Another site asked for this page.", 403)
        return None

    def _entered(self, scope: Scope) -> Response:
        given = parse_qs(scope["query_string"].decode("latin-1")).get("token", [""])[0]
        if not secrets.compare_digest(given.encode(), self._token.encode()):
            return _plain("This link is not the one that `triage page` printed.", 403)
        response = RedirectResponse("/", status_code=303)
        response.set_cookie(self._cookie, self._session, httponly=True, samesite="strict", path="/")
        return response

    def _presented(self, headers: Headers) -> str:
        try:
            morsel = SimpleCookie(headers.get("cookie", "")).get(self._cookie)
        except CookieError:
            return ""
        return morsel.value if morsel and morsel.value.isascii() else ""


class TooLongError(Exception):
    """The body goes on past the limit; the application answers with `too_long`."""


class _Body:
    """The body as it comes in, counted."""

    def __init__(self, receive: Receive) -> None:
        self._receive, self._seen, self._ended = receive, 0, False

    async def receive(self) -> Message:
        """The next part; `TooLongError` past the limit, once nothing more comes."""
        message = await self._next()
        if self._seen > BODY_LIMIT:
            await self.drain()
            raise TooLongError
        return message

    async def drain(self) -> None:
        """Read what is left and keep nothing of it."""
        while not self._ended and self._seen < DRAINED:
            await self._next()

    async def _next(self) -> Message:
        message = await self._receive()
        self._seen += len(message.get("body", b""))
        self._ended = message["type"] != "http.request" or not message.get("more_body", False)
        return message


def _stated_length(scope: Scope) -> int:
    stated = Headers(scope=scope).get("content-length", "0")
    return int(stated) if stated.isdecimal() else 0


def too_long() -> Response:
    """The answer to more than is read."""
    return _plain(
        "That is more than the 50 MB that are read at once. Nothing was kept. Go back, cut out the "
        "releases of interest, and paste those.",
        413,
    )


def _plain(words: str, status: int) -> Response:
    return PlainTextResponse(words + "\n", status_code=status)
