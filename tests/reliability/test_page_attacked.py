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
from page_serving import GOING_THERE, serving

from swardmark.door.passes import MOST_TRIES

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
        f"Cookie: {served.cookie}",
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
    own = [f"Host: 127.0.0.1:{home.port}", f"Cookie: {home.cookie}"]
    raw = "\r\n".join(["PUT /photos?name=a.jpg HTTP/1.1", *own, *lines, "", "0\r\n\r\nGET /"])
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
    with serving(tmp_path / "lawn", "--lan", "--plain", inside=False) as lan:
        answers = [lan.ask("GET", f"/enter/{n:032d}", **GOING_THERE)[0] for n in range(MOST_TRIES + 3)]
        assert answers == [403] * (MOST_TRIES - 1) + [429] * 4
        assert lan.ask("GET", "/", Cookie=f"swardmark_pass_{lan.port}=" + "a" * 43)[0] == 403
        assert lan.let_in(), "from this machine itself the right link always works"


def stalled(served, *, sent_bytes: int = 100, length: int = 500_000) -> socket.socket:
    """Begin an upload and send no more of it."""
    link = socket.create_connection(("127.0.0.1", served.port), timeout=10)
    lines = [
        "PUT /photos?name=stalled.jpg HTTP/1.1",
        f"Host: 127.0.0.1:{served.port}",
        f"Cookie: {served.cookie}",
    ]
    link.sendall("\r\n".join([*lines, f"Content-Length: {length}", "", ""]).encode() + bytes(sent_bytes))
    return link


@pytest.mark.parametrize("clients", [3, 30])
def test_uploads_that_stall_hold_up_no_other(home, clients):
    """Three of them held up all others as long as they liked."""
    with contextlib.ExitStack() as held:
        for _ in range(clients):
            held.enter_context(contextlib.closing(stalled(home)))
        start = time.monotonic()
        status, said = home.ask("PUT", "/photos?name=2026-06-09.jpg", b"not a photo")
        assert (status, "Not a photo" in said) == (422, True)
        assert time.monotonic() - start < 4


def test_a_stalled_upload_is_given_up(monkeypatch):
    import asyncio

    from swardmark.door import uploads

    async def body(parts: int, pause_s: float, size: int = 1000):
        for _ in range(parts):
            yield bytes(size)
            await asyncio.sleep(pause_s)

    def taken(*parts) -> int:
        return len(asyncio.run(uploads.Uploads().whole(body(*parts), most_bytes=10_000_000)))

    monkeypatch.setattr(uploads, "SILENT_S", 0.2)
    monkeypatch.setattr(uploads, "DRIPPING_S", 0.5)
    assert taken(3, 0.01) == 3000
    with pytest.raises(uploads.TooSlow):
        taken(2, 1.0)
    start = time.monotonic()
    with pytest.raises(uploads.TooSlow):
        taken(1000, 0.02)
    assert time.monotonic() - start < 2
    assert taken(30, 0.03, 50_000) == 1_500_000
    with pytest.raises(uploads.TooLarge):
        taken(30, 0, 500_000)


def test_headers_that_never_end_are_cut_off(tmp_path, monkeypatch):
    """Ten seconds for a request's headers, also where they drip and on a connection that was used before."""
    import asyncio

    import uvicorn

    from swardmark.door import pace

    monkeypatch.setattr(pace, "HEADER_WAIT_S", 0.4)

    async def app(scope, receive, send):
        if scope["type"] == "http":
            await send({"type": "http.response.start", "status": 200, "headers": [(b"content-length", b"2")]})
            await send({"type": "http.response.body", "body": b"ok"})

    async def closed_after(port: int, raw: bytes, *, drip: bool) -> float:
        reader, writer = await asyncio.open_connection("127.0.0.1", port)
        start = time.monotonic()
        writer.write(raw)
        with contextlib.suppress(OSError):
            while time.monotonic() - start < 5:
                if drip:
                    writer.write(b"x")
                try:
                    if not await asyncio.wait_for(reader.read(1000), 0.1):
                        break
                except TimeoutError:
                    continue
        writer.close()
        return time.monotonic() - start

    async def run_all() -> list[float]:
        config = uvicorn.Config(app, port=0, http=pace.PacedProtocol, log_level="error", lifespan="off")
        server = uvicorn.Server(config)
        task = asyncio.create_task(server.serve())
        while not server.started:
            await asyncio.sleep(0.02)
        port = server.servers[0].sockets[0].getsockname()[1]
        whole = b"GET / HTTP/1.1\r\nHost: a\r\n\r\n"
        half = b"GET / HTTP/1.1\r\nHost: a\r\nX: "
        cases = [(b"", False), (half, False), (half, True), (whole + half, False)]
        taken = await asyncio.gather(*(closed_after(port, raw, drip=drip) for raw, drip in cases))
        server.should_exit = True
        await task
        return list(taken)

    taken = asyncio.run(run_all())
    assert all(0.3 < one < 2 for one in taken), taken


@pytest.mark.parametrize("name", ["SIGTERM", "SIGHUP", "SIGINT"])
def test_whoever_ends_it_nothing_is_left_behind(tmp_path, monkeypatch, name):
    import signal

    room = tmp_path / "room"
    room.mkdir()
    monkeypatch.setenv("TMPDIR", str(room))
    with serving(tmp_path / "lawn") as served:
        own = set(room.glob("swardmark-page-*"))
        served.process.send_signal(getattr(signal, name))
        assert served.process.wait(15) == 0
    assert own
    assert not own & set(room.glob("swardmark-page-*"))


def test_https_in_the_home_network_with_a_certificate_made_here(tmp_path):
    """The certificate names this machine's addresses, may sign nothing, and is kept for the next start."""
    from cryptography import x509

    lawn, own = tmp_path / "lawn", tmp_path / "home"
    with serving(lawn, "--lan", home=own) as served:
        assert served.scheme == "https"
        assert served.ask("GET", "/healthz") == (200, "ok")
        fingerprint = served.said[0]["fingerprint"]
        headers = served.ask_whole("GET", served.link, **GOING_THERE)[2]
        assert "; Secure" in headers["set-cookie"]
        with socket.create_connection(("127.0.0.1", served.port), timeout=5) as plain:
            plain.sendall(b"GET / HTTP/1.1\r\nHost: a\r\n\r\n")
            assert not plain.recv(100).startswith(b"HTTP/1.1 200")
    made = x509.load_pem_x509_certificate((own / "swardmark/page-certificate.pem").read_bytes())
    assert (own / "swardmark/page-key.pem").stat().st_mode & 0o777 == 0o600
    assert made.extensions.get_extension_for_class(x509.BasicConstraints).value.ca is False
    assert (made.not_valid_after_utc - made.not_valid_before_utc).days <= 398
    files = [str(own / "swardmark" / name) for name in ("page-certificate.pem", "page-key.pem")]
    with serving(lawn, "--lan", home=own) as served:
        assert served.said[0]["fingerprint"] == fingerprint
    with serving(lawn, "--certificate", files[0], "--key", files[1]) as served:
        assert served.ask("GET", "/healthz") == (200, "ok")


@pytest.mark.parametrize(
    "words", [("--certificate", "no.pem"), ("--certificate", "no.pem", "--key", "no.pem")]
)
def test_a_certificate_that_cannot_be_used_is_one_line(run, tmp_path, words):
    outcome = run("page", tmp_path / "lawn", "--no-open", *words)
    assert outcome.code == 2
    assert len(outcome.err.splitlines()) == 1
    assert "--certificate" in outcome.err
