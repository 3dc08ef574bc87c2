"""Who gets in: real requests on the loopback, as a hostile page, a rebound name or a guessing neighbor sends them.

Sources: RFC 9110 (Host, status codes), the Fetch standard (Origin, Sec-Fetch-Site; fetch.spec.whatwg.org,
w3.org/TR/fetch-metadata), RFC 6265bis (HttpOnly, SameSite), RFC 6455 section 10.2 (a server checks a socket's Origin).
"""

from __future__ import annotations

import socket

import pytest
from page_serving import serving

from swardmark.page.gate import MOST_TRIES, Passes, is_own_host


@pytest.fixture(scope="module")
def home(tmp_path_factory):
    """A page on this machine alone, on a lawn that does not exist yet."""
    with serving(tmp_path_factory.mktemp("gate") / "lawn") as served:
        yield served


@pytest.fixture(scope="module")
def lan(tmp_path_factory):
    """A page in the home network."""
    with serving(tmp_path_factory.mktemp("gate") / "lawn", "--lan") as served:
        yield served


def socket_answer(served, *lines: str) -> str:
    """Ask for a web socket by hand and return the first line of the answer."""
    ask = [
        "GET /_nicegui_ws/socket.io/?EIO=4&transport=websocket HTTP/1.1", "Upgrade: websocket", "Connection: Upgrade",
        "Sec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==", "Sec-WebSocket-Version: 13", *lines,
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
        assert lan.ask("GET", path, Cookie="swardmark_pass=guess")[0] == 403, path
    assert lan.ask("PUT", "/photos?name=a.jpg", b"x")[0] == 403
    host = f"Host: 127.0.0.1:{lan.port}"
    assert " 403 " in socket_answer(lan, host, f"Origin: http://127.0.0.1:{lan.port}")
    assert lan.ask("GET", "/", Host="lawn.example.com")[0] == 403


def test_the_link_works_once_and_gives_a_cookie_that_no_script_can_read(lan):
    path = "/enter/" + lan.address.rsplit("/", 1)[1]
    status, _, headers = lan.ask_whole("GET", path)
    assert (status, headers["location"]) == (303, "/")
    cookie = headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=Lax" in cookie
    given = cookie.split(";")[0]
    assert path.rsplit("/", 1)[1] not in given
    assert lan.ask("GET", "/", Cookie=given)[0] == 200
    assert lan.ask("GET", path)[0] == 403
    host = f"Host: 127.0.0.1:{lan.port}"
    assert " 101 " in socket_answer(lan, host, f"Origin: http://127.0.0.1:{lan.port}", f"Cookie: {given}")


def test_guesses_are_stopped_and_then_even_the_right_link_waits():
    passes = Passes()
    right = passes.token
    assert all(passes.enter(f"guess {n}") is None for n in range(MOST_TRIES))
    assert passes.is_stopped()
    assert passes.enter(right) is None


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
