"""Who gets in: real requests on the loopback, as a hostile page, a rebound name or a guessing neighbor sends them.

Sources: RFC 9110 (Host, status codes), the Fetch standard (Origin, Sec-Fetch-Site; fetch.spec.whatwg.org,
w3.org/TR/fetch-metadata), RFC 6265bis (HttpOnly, SameSite), RFC 6455 section 10.2 (a server checks a socket's Origin).
"""

from __future__ import annotations

import asyncio
import contextlib
import socket
import sys

import pytest
from page_serving import GOING_THERE, serving

from swardmark.door.gate import COOKIE, Gate, is_own_host, opens_a_page
from swardmark.door.passes import MOST_TRIES, Passes, Remembered
from swardmark.page.memory import trim


@pytest.fixture(scope="module")
def home(tmp_path_factory):
    """A page on this machine alone, on a lawn that does not exist yet."""
    with serving(tmp_path_factory.mktemp("gate") / "lawn") as served:
        yield served


@pytest.fixture(scope="module")
def lan(tmp_path_factory):
    """A page in the home network."""
    with serving(tmp_path_factory.mktemp("gate") / "lawn", "--lan", "--plain", inside=False) as served:
        yield served


def socket_answer(served, *lines: str) -> str:
    """Ask for a web socket by hand and return the first line of the answer."""
    ask = [
        "GET /_nicegui_ws/socket.io/?EIO=4&transport=websocket HTTP/1.1", "Upgrade: websocket", "Connection: Upgrade",
        "Sec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==", "Sec-WebSocket-Version: 13", *lines,
        *([f"Cookie: {served.cookie}"] if served.cookie else []),
    ]  # fmt: skip
    with socket.create_connection(("127.0.0.1", served.port), timeout=10) as link:
        link.sendall(("\r\n".join(ask) + "\r\n\r\n").encode())
        return link.recv(4096).decode("latin-1").split("\r\n")[0]


def test_the_page_answers_to_this_machines_names_alone(home):
    assert home.ask("GET", "/")[0] == 200
    assert home.ask("GET", "/", Host=f"localhost:{home.port}")[0] == 200
    for name in ("lawn.example.com", "127.0.0.1.nip.io", "192.168.1.5", f"lawn.example.com:{home.port}", ""):
        for path in ("/", "/healthz", "/take/lawn.toml", "/_nicegui/3/static/nicegui.js"):
            assert home.ask("GET", path, Host=name)[0] == 403, (name, path)


def test_only_this_machine_can_connect(home):
    """Bound to 127.0.0.1: another of this machine's own addresses is not listened on."""
    with pytest.raises(OSError, match="refused"):
        socket.create_connection(("127.0.0.2", home.port), timeout=5)


def test_requests_that_another_page_makes_are_refused(home):
    own = f"http://127.0.0.1:{home.port}"
    assert home.ask("PUT", "/photos?name=a.jpg", b"x", Origin=own)[0] == 422
    for origin in ("http://lawn.example.com", "null", f"https://127.0.0.1:{home.port}", "http://127.0.0.1:1"):
        assert home.ask("PUT", "/photos?name=a.jpg", b"x", Origin=origin)[0] == 403
        assert (
            home.ask("POST", "/_nicegui_ws/socket.io/?EIO=4&transport=polling", b"x", Origin=origin)[0] == 403
        )
    assert home.ask("GET", "/picture/view/a.jpg", Sec_Fetch_Site="cross-site")[0] == 403
    link = {"Sec_Fetch_Site": "cross-site", "Sec_Fetch_Dest": "document"}
    assert home.ask("GET", "/", **link)[0] == 200
    assert home.ask("GET", "/take/lawn.toml", **link)[0] == 403


def test_a_web_socket_needs_the_pages_own_origin(home):
    host = f"Host: 127.0.0.1:{home.port}"
    assert " 101 " in socket_answer(home, host, f"Origin: http://127.0.0.1:{home.port}")
    for wrong in ([host], [host, "Origin: http://lawn.example.com"], ["Host: lawn.example.com"]):
        assert " 403 " in socket_answer(home, *wrong)


def test_the_page_says_what_it_may_load(home):
    headers = home.ask_whole("GET", "/")[2]
    assert "default-src 'self'" in headers["content-security-policy"]
    assert "frame-ancestors 'none'" in headers["content-security-policy"]
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["referrer-policy"] == "no-referrer"


def test_in_the_home_network_nothing_is_answered_without_the_link(lan):
    for path in ("/", "/healthz", "/take/cover.csv", "/picture/thumb/a.jpg", "/_nicegui/3/static/nicegui.js"):
        assert lan.ask("GET", path)[0] == 403, path
        assert lan.ask("GET", path, Cookie=f"swardmark_pass_{lan.port}=guess")[0] == 403, path
    assert lan.ask("PUT", "/photos?name=a.jpg", b"x")[0] == 403
    host = f"Host: 127.0.0.1:{lan.port}"
    assert " 403 " in socket_answer(lan, host, f"Origin: http://127.0.0.1:{lan.port}")
    assert lan.ask("GET", "/", Host="lawn.example.com")[0] == 403


def test_the_link_works_once_and_gives_a_cookie_that_no_script_can_read(lan):
    path = lan.link
    status, _, headers = lan.ask_whole("GET", path, **GOING_THERE)
    assert (status, headers["location"]) == (303, "/")
    cookie = headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=Lax" in cookie
    assert "Max-Age" not in cookie
    given = cookie.split(";")[0]
    assert path.rsplit("/", 1)[1] not in given
    assert lan.ask("GET", "/", Cookie=given)[0] == 200
    assert lan.ask("GET", path, **GOING_THERE)[0] == 403
    host = f"Host: 127.0.0.1:{lan.port}"
    assert " 101 " in socket_answer(lan, host, f"Origin: http://127.0.0.1:{lan.port}", f"Cookie: {given}")


PREVIEWS = [
    ("HEAD", GOING_THERE), ("OPTIONS", GOING_THERE), ("POST", GOING_THERE), ("GET", {}), ("GET", {"Accept": "*/*"}),
    ("GET", {**GOING_THERE, "Sec-Purpose": "prefetch"}), ("GET", {**GOING_THERE, "Purpose": "prefetch"}),
    ("GET", {**GOING_THERE, "Sec-Purpose": "prefetch;prerender"}), ("GET", {**GOING_THERE, "X-Purpose": "preview"}),
    ("GET", {"Sec-Fetch-Mode": "cors", "Sec-Fetch-Dest": "empty", "Sec-Fetch-Site": "none"}),
    ("GET", {"Sec-Fetch-Mode": "navigate", "Sec-Fetch-Dest": "iframe", "Sec-Fetch-Site": "none"}),
    ("GET", {"Accept": "text/html"}), ("GET", {"Upgrade-Insecure-Requests": "1", "Accept": "image/*"}),
]  # fmt: skip


@pytest.mark.parametrize(("method", "headers"), PREVIEWS)
def test_no_preview_uses_a_link_up(lan, method, headers):
    link = lan.link
    assert lan.ask(method, link, **headers)[0] == 403
    assert lan.link == link


def test_a_link_works_in_a_browser_that_says_less_to_a_plain_address(lan):
    """To http in a home network browsers send no Sec-Fetch headers (the address is not potentially trustworthy)."""
    headers = {"Upgrade-Insecure-Requests": "1", "Accept": "text/html,application/xhtml+xml"}
    assert lan.ask("GET", lan.link, **headers)[0] == 303
    scope = {"type": "http", "method": "GET"}
    assert opens_a_page(scope, {"upgrade-insecure-requests": "1", "accept": "text/html"})
    assert not opens_a_page({"type": "websocket"}, {})


def test_on_this_machine_too_nobody_gets_in_without_the_link(home):
    """Another user of the machine can reach 127.0.0.1 as well."""
    for path in ("/", "/healthz", "/take/lawn.toml", "/_nicegui/3/static/nicegui.js"):
        assert home.ask("GET", path, Cookie="a=b")[0] == 403
    host = f"Host: 127.0.0.1:{home.port}"
    assert (
        home.ask("PUT", "/photos?name=a.jpg", b"x", Cookie="a=b", Host=host.removeprefix("Host: "))[0] == 403
    )


@pytest.mark.parametrize("left", [True, False])
def test_what_fails_because_its_client_left_is_no_fault(left):
    """A client that leaves in the middle of a request: no traceback, and so no log that fills; a real fault is one."""
    passes = Passes()
    cookie = f"{COOKIE.format(port=8000)}={passes.enter(passes.token)}"

    async def app(scope, receive, send):
        await receive()
        raise KeyError("REQUEST_METHOD")

    async def receive():
        return {"type": "http.disconnect"} if left else {"type": "http.request", "body": b""}

    async def send(message):
        raise AssertionError(message)

    headers = [(b"host", b"127.0.0.1:8000"), (b"cookie", cookie.encode())]
    scope = {"type": "http", "method": "GET", "path": "/", "headers": headers, "client": ("127.0.0.1", 9)}
    with contextlib.nullcontext() if left else pytest.raises(KeyError):
        asyncio.run(Gate(app, port=8000, passes=passes)(scope, receive, send))


def test_guesses_are_stopped_by_the_address_that_they_come_from():
    passes = Passes()
    right = passes.token
    assert all(passes.enter(f"guess {n}", "192.168.1.9") is None for n in range(MOST_TRIES))
    assert passes.is_stopped("192.168.1.9")
    assert passes.enter(right, "192.168.1.9") is None
    assert not passes.is_stopped("192.168.1.8")
    assert passes.enter(right, "192.168.1.8") is not None


def test_no_other_user_of_this_machine_locks_the_keeper_out():
    passes = Passes()
    assert all(passes.enter(f"guess {n}", "127.0.0.1") is None for n in range(3 * MOST_TRIES))
    assert passes.is_stopped("127.0.0.1")
    assert passes.enter(passes.token, "127.0.0.1") is not None


def test_a_remembered_pass_outlives_a_restart_and_can_be_taken_back(run, tmp_path, monkeypatch):
    lawn, home = tmp_path / "lawn", tmp_path / "home"
    with serving(lawn, "--remember", home=home) as served:
        port, cookie = served.port, served.cookie
        headers = served.ask_whole("GET", served.link, **GOING_THERE)[2]
        assert f"Max-Age={180 * 24 * 3600}" in headers["set-cookie"]
    (kept,) = (home / "swardmark").glob("passes.json")
    assert kept.stat().st_mode & 0o777 == 0o600
    assert cookie.split("=", 1)[1] not in kept.read_text()
    value = cookie.split("=", 1)[1]
    with serving(lawn, "--remember", home=home, inside=False) as served:
        assert served.ask("GET", "/healthz", Cookie=f"swardmark_pass_{served.port}={value}")[0] == 200
        assert served.ask("GET", "/healthz", Cookie=f"swardmark_pass_{served.port}={value[:-1]}x")[0] == 403
        monkeypatch.setenv("XDG_STATE_HOME", str(home))
        assert run("page", lawn, "--forget").code == 0
        assert served.ask("GET", "/healthz", Cookie=f"swardmark_pass_{served.port}={value}")[0] == 403
    with serving(lawn, home=home, inside=False) as served:
        assert served.ask("GET", "/healthz", Cookie=f"swardmark_pass_{served.port}={value}")[0] == 403
    assert port


def test_remembered_passes_belong_to_one_lawn_and_end(tmp_path, monkeypatch):
    from swardmark.door import passes as module

    one, other = Remembered(tmp_path / "a", place=tmp_path), Remembered(tmp_path / "b", place=tmp_path)
    one.add("cookie")
    assert one.holds("cookie")
    assert not other.holds("cookie")
    assert one.forget() == 1
    assert not one.holds("cookie")
    one.add("cookie")
    later = module.time.time() + module.REMEMBER_S + 1
    monkeypatch.setattr(module.time, "time", lambda: later)
    assert not one.holds("cookie")
    (tmp_path / "passes.json").write_text("[1, 2")
    assert not one.holds("cookie")


@pytest.mark.skipif(sys.platform != "linux", reason="malloc_trim is glibc's")
def test_free_memory_goes_back_to_the_machine():
    """Small pieces, as those of a tab, that were freed below one that is still held: only malloc_trim returns them."""
    pieces = [bytes(4000) for _ in range(20_000)]
    held = pieces[-1]
    del pieces
    assert trim()
    assert len(held) == 4000


def test_tokens_are_long_and_new_each_time():
    """At least 128 bits (OWASP Session Management Cheat Sheet asks for 64 of entropy and more): 24 and 32 bytes."""
    seen = []
    passes = Passes(on_used=seen.append)
    first = passes.token
    cookie = passes.enter(first)
    assert cookie is not None
    assert len(first) >= 32
    assert len(cookie) >= 43
    assert seen == [passes.token]
    assert first not in (passes.token, cookie)
    assert passes.is_valid(cookie)
    assert not passes.is_valid("")


@pytest.mark.parametrize(
    ("host", "numeric", "own"),
    [
        ("127.0.0.1:8177", False, True), ("localhost:8177", False, True), ("[::1]:8177", False, True),
        ("127.0.0.1", False, False), ("127.0.0.1:80", False, False), ("192.168.1.5:8177", False, False),
        ("192.168.1.5:8177", True, True), ("[fe80::1]:8177", True, True), ("mybox.local:8177", True, False),
        ("localhost.example.com:8177", True, False), ("", True, False), (":8177", True, False),
        ("a:b:8177", True, False),
    ],
)  # fmt: skip
def test_host_names(host, numeric, own):
    assert is_own_host(host, 8177, numeric=numeric) is own
