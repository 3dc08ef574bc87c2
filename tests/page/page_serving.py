"""A page served in a process of its own on a free port, asked over real HTTP."""

from __future__ import annotations

import http.client
import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True)
class Served:
    """A running page."""

    process: subprocess.Popen
    port: int
    address: str

    def ask(self, method: str, path: str, body: bytes | None = None, **headers: str) -> tuple[int, str]:
        """Send one request as it is, and return status and text; names of headers are written with _ for -."""
        status, text, _ = self.ask_whole(method, path, body, **headers)
        return status, text

    def ask_whole(self, method: str, path: str, body: bytes | None = None, **headers: str):
        link = http.client.HTTPConnection("127.0.0.1", self.port, timeout=20)
        try:
            named = {name.replace("_", "-"): value for name, value in headers.items()}
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
def serving(folder: Path, *words: str, cwd: Path | None = None) -> Iterator[Served]:
    """Run `swardmark page` on a free port until the end of the block."""
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
    process = subprocess.Popen(
        command, env=known, cwd=cwd, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    try:
        assert process.stdout is not None
        said = process.stdout.readline()
        assert said, process.stderr.read() if process.stderr else ""
        told = json.loads(said)
        served = Served(process, told["port"], told["address"])
        _wait_for(served)
        yield served
    finally:
        if process.poll() is None:
            process.send_signal(signal.SIGINT)
        try:
            process.communicate(timeout=15)
        except subprocess.TimeoutExpired:
            process.kill()
            process.communicate()


def _wait_for(served: Served) -> None:
    end = time.monotonic() + 30
    while time.monotonic() < end:
        try:
            served.ask("GET", "/healthz")
            return
        except OSError:
            time.sleep(0.1)
    raise AssertionError("the page did not start within 30 s")
