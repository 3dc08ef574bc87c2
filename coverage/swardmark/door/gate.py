"""Who may speak to the page: the Gate in front of everything, web sockets and static files included.

On this machine alone only the addresses 127.0.0.1, ::1 and localhost are answered, so that no outside name that was
made to point here (DNS rebinding) gets in; in the home network only numeric ones. In both only who has the pass that a
one-time link gave is let in, and a request that a page of another origin made is refused (the Fetch standard's Origin
and Sec-Fetch-Site headers). Only a browser that goes to a link uses it up: no preview, no prefetch, no other method.
"""

from __future__ import annotations

import contextlib
import ipaddress
from collections.abc import Callable, Iterable
from http.cookies import CookieError, SimpleCookie
from typing import Any

import h11

from swardmark.door import sentences
from swardmark.door.passes import Passes

COOKIE = "swardmark_pass_{port}"
"""Cookies do not know ports: two pages on one machine would log each other out."""
MOST_BODY_BYTES = 80_000_000
MOST_BACKUP_BYTES = 4_100_000_000
"""Of a lawn that comes back: its files with what a zip file adds to them. It goes to the disk as it comes."""
LARGE_BODIES = {"/restore": MOST_BACKUP_BYTES}
LINK = "/enter/"
PORTS = {"http": 80, "https": 443}
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


class Gate:
    """ASGI middleware in front of the page.

    Parameters
    ----------
    app : ASGI application
        The page.
    port : int
        The port that a Host header must name.
    passes : Passes
        What lets a request in.
    lan : bool
        Whether other machines of the home network are answered too.
    scheme : str
        http or https.
    """

    def __init__(
        self, app: Any, *, port: int, passes: Passes, lan: bool = False, scheme: str = "http"
    ) -> None:
        self.app, self.port, self.passes, self.lan, self.scheme = app, port, passes, lan, scheme
        self.cookie = COOKIE.format(port=port)

    async def __call__(self, scope: Any, receive: Any, send: Any) -> None:
        """Let a request in, or refuse it with the reason; one whose client broke the protocol gets no answer."""
        with contextlib.suppress(h11.LocalProtocolError):
            await self._answer(scope, receive, send)

    async def _answer(self, scope: Any, receive: Any, send: Any) -> None:
        if scope["type"] not in ("http", "websocket"):
            await self.app(scope, receive, send)
            return
        headers = {
            name.decode("latin-1").lower(): value.decode("latin-1") for name, value in scope["headers"]
        }
        if refusal := self._refusal(scope, headers):
            await _refuse(scope, send, *refusal)
        elif scope["path"].startswith(LINK):
            await self._enter(scope, headers, send)
        elif not self.passes.is_valid(_cookie(headers, self.cookie)):
            await _refuse(scope, send, 403, sentences.OPEN_THE_LINK)
        else:
            await self._let_through(scope, receive, _with_headers(send) if scope["type"] == "http" else send)

    async def _let_through(self, scope: Any, receive: Any, send: Any) -> None:
        """Pass a request on; what fails because its client left in the middle is no fault, and nobody waits for it."""
        left = False

        async def listen() -> Any:
            nonlocal left
            message = await receive()
            left = left or message["type"] == "http.disconnect"
            return message

        try:
            await self.app(scope, listen, send)
        except Exception:
            if not left:
                raise

    def _refusal(self, scope: Any, headers: dict[str, str]) -> tuple[int, str] | None:
        """Return status and reason why a request is not let in, or None."""
        host = headers.get("host", "")
        names = [name.lower() for name, _ in scope["headers"]]
        if names.count(b"host") != 1 or names.count(b"origin") > 1:
            return 400, sentences.ONE_HOST
        if not is_own_host(host, self.port, numeric=self.lan, plain_port=PORTS[self.scheme]):
            return 403, sentences.OTHER_NAME
        origin, is_socket = headers.get("origin"), scope["type"] == "websocket"
        if origin is None and is_socket:
            return 403, sentences.NO_ORIGIN
        if origin is not None and origin != f"{self.scheme}://{host}":
            return 403, sentences.FROM_ELSEWHERE
        if headers.get("sec-fetch-site", "none") not in ("none", "same-origin"):
            opens_page = headers.get("sec-fetch-dest") == "document" and scope.get("method") == "GET"
            if (
                is_socket
                or not opens_page
                or not (scope["path"] == "/" or scope["path"].startswith("/enter/"))
            ):
                return 403, sentences.FROM_ELSEWHERE
        length, most = headers.get("content-length", "0"), LARGE_BODIES.get(scope["path"], MOST_BODY_BYTES)
        if not length.isdecimal() or int(length) > most:
            return 413, sentences.TOO_LARGE.format(megabytes=most // 1_000_000)
        return None

    async def _enter(self, scope: Any, headers: dict[str, str], send: Any) -> None:
        address = scope["client"][0] if scope.get("client") else ""
        if not opens_a_page(scope, headers):
            await _refuse(scope, send, 403, sentences.OPEN_IN_BROWSER)
            return
        cookie = self.passes.enter(scope["path"].removeprefix(LINK), address)
        if cookie is None:
            stopped = self.passes.is_stopped(address)
            await _refuse(
                scope, send, *((429, sentences.WRONG_LINKS) if stopped else (403, sentences.LINK_USED))
            )
            return
        value = f"{self.cookie}={cookie}; Path=/; HttpOnly; SameSite=Lax"
        value += "; Secure" if self.scheme == "https" else ""
        value += f"; Max-Age={self.passes.lasts_s}" if self.passes.lasts_s else ""
        redirect = [(b"location", b"/"), (b"set-cookie", value.encode()), (b"cache-control", b"no-store")]
        await send({"type": "http.response.start", "status": 303, "headers": [*redirect, *HEADERS]})
        await send({"type": "http.response.body", "body": b""})


def opens_a_page(scope: Any, headers: dict[str, str]) -> bool:
    """Tell whether a request is a browser going to an address, and not a preview, a prefetch or a program.

    Browsers say so in Sec-Fetch-Mode and Sec-Fetch-Dest (Fetch Metadata Request Headers, W3C), but not to a plain http
    address in the home network; there Upgrade-Insecure-Requests, which only goes with navigations, says it.
    """
    if scope["type"] != "http" or scope["method"] != "GET":
        return False
    told = " ".join(headers.get(name, "") for name in ("purpose", "sec-purpose", "x-purpose", "x-moz"))
    if "prefetch" in told.lower() or "preview" in told.lower() or "prerender" in told.lower():
        return False
    if "sec-fetch-mode" in headers or "sec-fetch-dest" in headers:
        return headers.get("sec-fetch-mode") == "navigate" and headers.get("sec-fetch-dest") == "document"
    return headers.get("upgrade-insecure-requests") == "1" and "text/html" in headers.get("accept", "")


def is_own_host(host: str, port: int, *, numeric: bool, plain_port: int = 80) -> bool:
    """Tell whether a Host header is one that this page answers to.

    A numeric address cannot be another site's name that was pointed here, so in the home network every one will do.
    """
    name, _, given = host.rpartition(":") if not host.endswith("]") else (host, "", "")
    if not name:
        name, given = host, str(plain_port)
    if given != str(port):
        return False
    if name == "localhost":
        return True
    try:
        address = ipaddress.ip_address(name.strip("[]"))
    except ValueError:
        return False
    return numeric or address.is_loopback


def _cookie(headers: dict[str, str], name: str) -> str:
    try:
        found = SimpleCookie(headers.get("cookie", "")).get(name)
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
