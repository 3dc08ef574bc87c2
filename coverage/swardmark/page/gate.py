"""Who may speak to the page: the Gate in front of everything, web sockets and static files included.

On this machine alone: only the addresses 127.0.0.1, ::1 and localhost are answered, so that no outside name that was
made to point here (DNS rebinding) gets in. In the home network: only numeric addresses, and only with the cookie that
a one-time link gave. In both: a request that a page of another origin made is refused (the Fetch standard's Origin and
Sec-Fetch-Site headers).
"""

from __future__ import annotations

import hmac
import ipaddress
import secrets
import time
from collections.abc import Callable, Iterable
from http.cookies import CookieError, SimpleCookie
from typing import Any

from swardmark.page import sentences

COOKIE = "swardmark_pass"
MOST_TRIES, TRIES_WINDOW_S = 10, 300
MOST_BODY_BYTES = 80_000_000
MOST_PASSES = 12
HEADERS = (
    (b"content-security-policy",
     b"default-src 'self'; script-src 'self' 'unsafe-inline' 'unsafe-eval'; style-src 'self' 'unsafe-inline'; "
     b"img-src 'self' data: blob:; media-src 'self' blob:; connect-src 'self'; font-src 'self' data:; "
     b"object-src 'none'; base-uri 'self'; form-action 'self'; frame-ancestors 'none'"),
    (b"x-content-type-options", b"nosniff"),
    (b"x-frame-options", b"DENY"),
    (b"referrer-policy", b"no-referrer"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"cross-origin-opener-policy", b"same-origin"),
)  # fmt: skip


class Passes:
    """One-time links and the cookies that they turn into; guesses are counted and stopped.

    Parameters
    ----------
    on_used : callable, optional
        Called with the next link's token when one was used up.
    """

    def __init__(self, on_used: Callable[[str], None] | None = None) -> None:
        self.token = secrets.token_urlsafe(24)
        self._cookies: list[str] = []
        self._wrong: list[float] = []
        self._on_used = on_used

    def enter(self, token: str) -> str | None:
        """Use the one-time token up and return a cookie, or None if it is not the one."""
        if self.is_stopped():
            return None
        if not _same(token, self.token):
            self._wrong.append(time.monotonic())
            return None
        self.token = secrets.token_urlsafe(24)
        cookie = secrets.token_urlsafe(32)
        self._cookies = [*self._cookies, cookie][-MOST_PASSES:]
        if self._on_used is not None:
            self._on_used(self.token)
        return cookie

    def is_stopped(self) -> bool:
        """Whether there were too many wrong guesses of late."""
        since = time.monotonic() - TRIES_WINDOW_S
        self._wrong = [moment for moment in self._wrong if moment > since]
        return len(self._wrong) >= MOST_TRIES

    def is_valid(self, cookie: str) -> bool:
        """Whether a cookie was given out; takes the same time for every guess."""
        matches = [_same(cookie, known) for known in self._cookies]
        return any(matches)


class Gate:
    """ASGI middleware in front of the page.

    Parameters
    ----------
    app : ASGI application
        The page.
    port : int
        The port that a Host header must name.
    passes : Passes, optional
        In the home network: what lets a request in. Absent on this machine alone.
    """

    def __init__(self, app: Any, *, port: int, passes: Passes | None = None) -> None:
        self.app, self.port, self.passes = app, port, passes

    async def __call__(self, scope: Any, receive: Any, send: Any) -> None:
        """Let a request in, or refuse it with the reason."""
        if scope["type"] not in ("http", "websocket"):
            await self.app(scope, receive, send)
            return
        headers = {
            name.decode("latin-1").lower(): value.decode("latin-1") for name, value in scope["headers"]
        }
        if refusal := self._refusal(scope, headers):
            await _refuse(scope, send, *refusal)
        elif self.passes is not None and scope["path"].startswith("/enter/"):
            await self._enter(scope, send)
        elif self.passes is not None and not self.passes.is_valid(_cookie(headers)):
            await _refuse(scope, send, 403, sentences.OPEN_THE_LINK)
        else:
            await self.app(scope, receive, _with_headers(send) if scope["type"] == "http" else send)

    def _refusal(self, scope: Any, headers: dict[str, str]) -> tuple[int, str] | None:
        """Return status and reason why a request is not let in, or None."""
        host = headers.get("host", "")
        names = [name.lower() for name, _ in scope["headers"]]
        if names.count(b"host") != 1 or names.count(b"origin") > 1:
            return 400, sentences.ONE_HOST
        if not is_own_host(host, self.port, numeric=self.passes is not None):
            return 403, sentences.OTHER_NAME
        origin, is_socket = headers.get("origin"), scope["type"] == "websocket"
        if origin is None and is_socket:
            return 403, sentences.NO_ORIGIN
        if origin is not None and origin != f"http://{host}":
            return 403, sentences.FROM_ELSEWHERE
        if headers.get("sec-fetch-site", "none") not in ("none", "same-origin"):
            opens_page = headers.get("sec-fetch-dest") == "document" and scope.get("method") == "GET"
            if (
                is_socket
                or not opens_page
                or not (scope["path"] == "/" or scope["path"].startswith("/enter/"))
            ):
                return 403, sentences.FROM_ELSEWHERE
        length = headers.get("content-length", "0")
        if not length.isdigit() or int(length) > MOST_BODY_BYTES:
            return 413, sentences.TOO_LARGE.format(megabytes=MOST_BODY_BYTES // 1_000_000)
        return None

    async def _enter(self, scope: Any, send: Any) -> None:
        assert self.passes is not None
        if self.passes.is_stopped():
            await _refuse(scope, send, 429, sentences.WRONG_LINKS)
            return
        cookie = self.passes.enter(scope["path"].removeprefix("/enter/"))
        if cookie is None or scope["type"] != "http":
            await _refuse(scope, send, 403, sentences.LINK_USED)
            return
        value = f"{COOKIE}={cookie}; Path=/; HttpOnly; SameSite=Lax"
        redirect = [(b"location", b"/"), (b"set-cookie", value.encode()), (b"cache-control", b"no-store")]
        await send({"type": "http.response.start", "status": 303, "headers": [*redirect, *HEADERS]})
        await send({"type": "http.response.body", "body": b""})


def is_own_host(host: str, port: int, *, numeric: bool) -> bool:
    """Tell whether a Host header is one that this page answers to.

    A numeric address cannot be another site's name that was pointed here, so in the home network every one will do.
    """
    name, _, given = host.rpartition(":") if not host.endswith("]") else (host, "", "")
    if not name:
        name, given = host, "80"
    if given != str(port):
        return False
    if name == "localhost":
        return True
    try:
        address = ipaddress.ip_address(name.strip("[]"))
    except ValueError:
        return False
    return numeric or address.is_loopback


def _same(given: str, known: str) -> bool:
    return hmac.compare_digest(given.encode("utf-8", "replace"), known.encode())


def _cookie(headers: dict[str, str]) -> str:
    try:
        found = SimpleCookie(headers.get("cookie", "")).get(COOKIE)
    except CookieError:
        return ""
    return found.value if found else ""


async def _refuse(scope: Any, send: Any, status: int, reason: str) -> None:
    if scope["type"] == "websocket":
        await send({"type": "websocket.close", "code": 1008, "reason": reason})
        return
    headers: Iterable[tuple[bytes, bytes]] = ((b"content-type", b"text/plain; charset=utf-8"), *HEADERS)
    await send({"type": "http.response.start", "status": status, "headers": list(headers)})
    await send({"type": "http.response.body", "body": reason.encode()})


def _with_headers(send: Any) -> Callable:
    async def sending(message: Any) -> None:
        if message["type"] == "http.response.start":
            named = {name.lower() for name, _ in message.get("headers", ())}
            more = [pair for pair in HEADERS if pair[0] not in named]
            message = {**message, "headers": [*message.get("headers", ()), *more]}
        await send(message)

    return sending
