"""A page served in a process of its own on a free port, asked over real HTTP."""

from __future__ import annotations

import contextlib
import http.client
import json
import os
import signal
import ssl
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

GOING_THERE = {"Sec-Fetch-Mode": "navigate", "Sec-Fetch-Dest": "document", "Sec-Fetch-Site": "none"}
"""What a browser says when its user goes to an address (Fetch Metadata Request Headers, W3C)."""


@dataclass
class Served:
    """A running page, and the links that it prints."""

    process: subprocess.Popen
    port: int
    said: list[dict]
    scheme: str = "http"
    cookie: str = ""
    log: Path = Path()
    """What the page says on stderr: a file, since nobody reads a pipe and a full one would stop the page."""

    @property
    def address(self) -> str:
        """The link that works now."""
        time.sleep(0.1)  # the page prints the next one as one is used
        return self.said[-1]["address"]

    @property
    def link(self) -> str:
        """The link that works now, without its host."""
        return "/enter/" + self.address.rsplit("/", 1)[1]

    def let_in(self) -> str:
        """Use the link as a browser would, and return the pass."""
        status, _, headers = self.ask_whole("GET", self.link, **GOING_THERE)
        assert status == 303, status
        return headers["set-cookie"].split(";")[0]

    def ask(self, method: str, path: str, body: Any = None, **headers: str) -> tuple[int, str]:
        """Send one request with the pass, and return status and text; names of headers are written with _ for -."""
        status, text, _ = self.ask_whole(method, path, body, **headers)
        return status, text

    def ask_whole(self, method: str, path: str, body: Any = None, **headers: str):
        named = {name.replace("_", "-"): value for name, value in headers.items()}
        if self.cookie:
            named.setdefault("Cookie", self.cookie)
        if self.scheme == "https":
            trusting = ssl._create_unverified_context()
            link = http.client.HTTPSConnection("127.0.0.1", self.port, timeout=20, context=trusting)
        else:
            link = http.client.HTTPConnection("127.0.0.1", self.port, timeout=20)
        try:
            link.request(method, path, body, named)
            answer = link.getresponse()
            return answer.status, answer.read().decode("utf-8", "replace"), answer.headers
        finally:
            link.close()

    def kill(self) -> None:
        """End it as a power cut would."""
        self.process.send_signal(signal.SIGKILL)
        self.process.wait(10)


@contextmanager
def serving(
    folder: Path, *words: str, cwd: Path | None = None, inside: bool = True, home: Path | None = None
) -> Iterator[Served]:
    """Run `swardmark page` on a free port until the end of the block, with a pass if `inside`.

    What the page keeps of its own goes into `home`, by default a folder that is deleted at the end.
    """
    command = [
        sys.executable,
        "-m",
        "swardmark",
        "page",
        str(folder),
        "--port",
        "0",
        "--no-open",
        "--json",
        *words,
    ]
    known = {name: value for name, value in os.environ.items() if not name.startswith(("PYTEST", "NICEGUI"))}
    own = tempfile.TemporaryDirectory(prefix="page-serving-")
    known["XDG_STATE_HOME"] = str(home or own.name)
    log = Path(own.name) / "stderr.txt"
    with log.open("w", encoding="utf-8") as stderr:
        process = subprocess.Popen(
            command, env=known, cwd=cwd, stdout=subprocess.PIPE, stderr=stderr, text=True
        )
    try:
        assert process.stdout is not None
        said = process.stdout.readline()
        assert said, log.read_text(encoding="utf-8")
        lines = [json.loads(said)]
        reader = threading.Thread(target=_collect, args=(process, lines), daemon=True)
        reader.start()
        served = Served(process, lines[0]["port"], lines, lines[0]["address"].partition(":")[0], log=log)
        _wait_for(served)
        if inside:
            served.cookie = served.let_in()
        yield served
    finally:
        if process.poll() is None:
            process.send_signal(signal.SIGINT)
        try:
            process.wait(15)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()
        if process.stdout is not None:
            process.stdout.close()
        own.cleanup()


def _collect(process: subprocess.Popen, lines: list[dict]) -> None:
    """Take in the links that the page prints."""
    with contextlib.suppress(ValueError, OSError):
        for line in process.stdout or ():
            lines.append(json.loads(line))


def _wait_for(served: Served) -> None:
    end = time.monotonic() + 30
    while time.monotonic() < end:
        try:
            served.ask("GET", "/healthz")
            return
        except OSError:
            time.sleep(0.1)
    raise AssertionError("the page did not start within 30 s")


def soon(shown: Any) -> Any:
    """Playwright's own check, asked again until it holds: a page that changes shows its parts one after the other.

    Imported late, for the tests with a browser are left out where Playwright is absent.
    """
    from playwright.sync_api import expect

    expect.set_options(timeout=60_000)
    return expect(shown)
