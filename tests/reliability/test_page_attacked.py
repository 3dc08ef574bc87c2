"""The page under attack, over real HTTP on the loopback, with requests that no honest browser or library would send.

Sources: RFC 9112 (one Host header, absolute-form targets, framing), OWASP's page on path traversal. Honest requests and
who is let in are tested with the page itself.
"""

from __future__ import annotations

import contextlib
import socket
import sys
import time
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "page"))
from page_serving import serving

from swardmark.page.gate import MOST_TRIES

SECRET = b"not for the network"


@pytest.fixture(scope="module")
def home(tmp_path_factory):
    """A page on this machine alone, with a secret beside the lawn folder."""
    folder = tmp_path_factory.mktemp("attacked")
    (folder / "secret.txt").write_bytes(SECRET)
    (folder / "lawn/photos").mkdir(parents=True)
    (folder / "lawn/lawn.toml").write_text('name = "a"')
    with serving(folder / "lawn") as served:
        yield served


def sent(served, raw: bytes, *, wait_s: float = 5) -> bytes:
    """Send bytes as they are and return all that comes back."""
    with socket.create_connection(("127.0.0.1", served.port), timeout=wait_s) as link:
        answer = b""
        with contextlib.suppress(OSError):
            link.sendall(raw)
            while part := link.recv(65536):
                answer += part
        return answer


def status_of(answer: bytes) -> int:
    return int(answer.split(b" ", 2)[1]) if answer.startswith(b"HTTP/1.1 ") else 0


def asking(served, target: str, *lines: str) -> bytes:
    head = [
        f"GET {target} HTTP/1.1",
        *(lines or (f"Host: 127.0.0.1:{served.port}",)),
        "Connection: close",
        "",
        "",
    ]
    return "\r\n".join(head).encode("latin-1")


def test_no_way_of_writing_a_path_leads_out_of_the_folder(home):
    ways = (
        "../",
        "..%2f",
        "%2e%2e/",
        "%2e%2e%2f",
        "..%5c",
        "..\\",
        "....//",
        "%252e%252e%252f",
        "..;/",
        "%c0%ae%c0%ae/",
    )
    starts = ("/", "/take/", "/picture/view/", "/ground/main/", "/_nicegui/3/static/", "/_nicegui/")
    for start in starts:
        for way in ways:
            for steps in (1, 2, 6):
                for target in ("secret.txt", "lawn/lawn.toml", "etc/passwd"):
                    answer = sent(home, asking(home, start + way * steps + target))
                    assert status_of(answer) in (400, 403, 404, 405), (start, way, target, answer[:80])
                    assert SECRET not in answer
                    assert b"root:" not in answer
    for target in (
        "/take//etc/passwd",
        "/picture/view//etc/passwd",
        "/picture/view/%00",
        "/take/lawn.toml%00.csv",
    ):
        assert status_of(sent(home, asking(home, target))) in (400, 403, 404), target


def test_names_in_other_places_open_no_door(home):
    own = f"Host: 127.0.0.1:{home.port}"
    for lines in (
        (own, "Host: lawn.example.com"),
        ("Host: lawn.example.com", own),
        ("X-Forwarded-Host: lawn.example.com",),
        ("Host: lawn.example.com", f"X-Forwarded-Host: 127.0.0.1:{home.port}"),
        (own, "Origin: http://lawn.example.com", "Referer: http://127.0.0.1/"),
    ):
        assert status_of(sent(home, asking(home, "/take/lawn.toml", *lines))) in (400, 403), lines
    absolute = sent(home, asking(home, "http://lawn.example.com/take/lawn.toml", "Host: lawn.example.com"))
    assert status_of(absolute) in (400, 403)


@pytest.mark.parametrize(
    "lines",
    [
        ["Content-Length: 5", "Content-Length: 50"],
        ["Content-Length: -5"],
        ["Content-Length: 9" + "9" * 30],
        ["Content-Length: 5", "Transfer-Encoding: chunked"],
        ["Transfer-Encoding: chunked, identity"],
        ["X: " + "a" * 100_000],
        ["X" + str(n) + ": a" for n in range(5000)],
    ],
    ids=["two lengths", "negative", "huge", "both", "odd coding", "long header", "many headers"],
)
def test_framing_that_two_readers_would_read_differently_is_refused(home, lines):
    raw = "\r\n".join(
        ["PUT /photos?name=a.jpg HTTP/1.1", f"Host: 127.0.0.1:{home.port}", *lines, "", "0\r\n\r\nGET /"]
    )
    assert status_of(sent(home, raw.encode())) in (0, 400, 413, 422, 431, 501)
    assert home.ask("GET", "/healthz")[0] == 200


def test_garbage_neither_ends_nor_upsets_it(home):
    rng = np.random.default_rng(5)
    plain = asking(home, "/picture/view/a.jpg")
    statuses = set()
    for _ in range(80):
        raw = bytearray(plain)
        for place in rng.integers(len(raw), size=rng.integers(1, 6)):
            raw[place] = rng.integers(256)
        answer = sent(
            home, bytes(raw) if rng.random() < 0.7 else rng.bytes(int(rng.integers(1, 4000))), wait_s=0.2
        )
        statuses.add(status_of(answer))
        assert status_of(answer) < 500, answer[:200]
        assert b"Traceback" not in answer
    assert 400 in statuses
    assert home.process.poll() is None
    assert home.ask("GET", "/healthz") == (200, "ok")


def test_connections_that_say_nothing_keep_no_one_out(home):
    with contextlib.ExitStack() as held:
        for _ in range(100):
            link = held.enter_context(socket.create_connection(("127.0.0.1", home.port), timeout=5))
            link.sendall(b"GET / HTTP/1.1\r\nHost: ")
        start = time.monotonic()
        assert home.ask("GET", "/healthz")[0] == 200
        assert time.monotonic() - start < 2


def test_guessing_the_link_over_http_is_stopped(tmp_path):
    with serving(tmp_path / "lawn", "--lan") as lan:
        right = "/enter/" + lan.address.rsplit("/", 1)[1]
        answers = [lan.ask("GET", f"/enter/{n:032d}")[0] for n in range(MOST_TRIES + 3)]
        assert answers == [403] * MOST_TRIES + [429] * 3
        assert lan.ask("GET", right)[0] == 429
        assert lan.ask("GET", "/", Cookie="swardmark_pass=" + "a" * 43)[0] == 403
