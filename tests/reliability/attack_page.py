"""Attack a running page: hostile requests, stalled clients, thousands of loads; it answers on and gives memory back.

    python tests/reliability/attack_page.py --requests 4000 --stalled 60 --loads 2000 --seed 1

The page serves a copy of the sample lawn. Requests are whole ones with bytes changed, paths that lead out, odd framing,
false hosts and origins, noise, photos cut off. Ends with exit code 1 where the page ends, answers with a fault of its
own (5xx), shows a file from outside, keeps an honest client waiting for over 2 s, or holds on to memory.
"""

from __future__ import annotations

import argparse
import contextlib
import shutil
import socket
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "page"))
from page_serving import Served, serving

SAMPLE = Path(__file__).parents[2] / "sample_images" / "tern_cottage"
SECRET = b"not for the network"
LONGEST_S = 2.0
MOST_GROWTH_MIB, MOST_LEAK_MIB = 95.0, 10.0
"""What the visitors that come at once may add for good, and what may be added after half of the loads: nothing, but for
the noise of the allocator."""
REST_S = 90.0
"""A tab that was loaded and never heard of again is forgotten after a minute."""
TARGETS = (
    "/", "/photos?name=a.jpg", "/picture/thumb/2026-06-03.jpg", "/ground/main/2026-06-03.jpg", "/take/cover.csv",
    "/take/lawn.toml", "/healthz", "/_nicegui_ws/socket.io/?EIO=4&transport=polling", "/enter/" + "0" * 32,
    "/../secret.txt", "/take/..%2f..%2fsecret.txt", "/picture/view/%2e%2e/%2e%2e/secret.txt", "/take/%00",
)  # fmt: skip
METHODS = ("GET", "PUT", "POST", "HEAD", "OPTIONS", "DELETE", "TRACE", "PATCH", "CONNECT", "G\0T")
LINES = (
    "Host: lawn.example.com", "Origin: http://lawn.example.com", "Content-Length: -1", "Content-Length: 99999999999",
    "Transfer-Encoding: chunked", "Upgrade: websocket", "Range: bytes=0-,0-,0-", "Cookie: swardmark_pass=" + "a" * 4000,
    "X: " + "y" * 40_000, "Sec-Fetch-Site: cross-site", "Expect: 100-continue", "Content-Encoding: gzip",
)  # fmt: skip


@dataclass
class Tally:
    """What was answered, and what was wrong."""

    statuses: Counter = field(default_factory=Counter)
    faults: list[str] = field(default_factory=list)
    slowest_s: float = 0.0
    memory_mib: list[float] = field(default_factory=list)


def attack(
    requests: int, stalled: int, loads: int, seed: int, told: Callable[[str], None] = lambda _: None
) -> Tally:
    """Attack a page in all ways and return what came of it."""
    tally, rng = Tally(), np.random.default_rng(seed)
    with tempfile.TemporaryDirectory(prefix="swardmark-attack-") as scratch:
        lawn = Path(
            shutil.copytree(SAMPLE, Path(scratch) / "lawn", ignore=shutil.ignore_patterns("record*", "out"))
        )
        (Path(scratch) / "secret.txt").write_bytes(SECRET)
        with serving(lawn) as page:
            _load(page, tally, max(5, loads // 20))
            tally.memory_mib.append(memory_mib(page.process.pid))
            for number in range(requests):
                _one(page, number, rng, tally)
                if number % 500 == 499:
                    told(f"{number + 1} of {requests} requests: {len(tally.faults)} faults")
            told(f"memory {memory_mib(page.process.pid):.0f} MiB after the requests")
            _stall(page, stalled, tally)
            by_part = []
            for part in range(0, loads, 200):
                _load(page, tally, min(200, loads - part))
                by_part.append(memory_mib(page.process.pid))
                told(f"{min(part + 200, loads)} of {loads} loads: {by_part[-1]:.0f} MiB")
            tally.memory_mib.append(memory_mib(page.process.pid))
            said = page.log.read_text(encoding="utf-8", errors="replace")
            if "Traceback" in said:
                tally.faults.append(f"the page said on stderr: {said[-600:]!r}")
            time.sleep(REST_S)
            _load(page, tally, 1)
            tally.memory_mib.append(memory_mib(page.process.pid))
    grown = tally.memory_mib[-1] - tally.memory_mib[0]
    if grown > MOST_GROWTH_MIB:
        tally.faults.append(f"memory grew by {grown:.0f} MiB")
    leaked = by_part[-1] - by_part[len(by_part) // 2] if by_part else 0.0
    if leaked > MOST_LEAK_MIB:
        tally.faults.append(f"memory still grew by {leaked:.0f} MiB in the later half of the loads")
    return tally


def memory_mib(pid: int) -> float:
    """Return the memory that a process holds, MiB (Linux)."""
    pages = int(Path(f"/proc/{pid}/statm").read_text().split()[1])
    return pages * 4096 / 2**20


def hostile(page: Served, rng: np.random.Generator) -> bytes:
    """Return one request that no honest client sends."""
    if rng.random() < 0.1:
        return rng.bytes(int(rng.integers(1, 5000)))
    method = METHODS[rng.integers(len(METHODS))] if rng.random() < 0.5 else "GET"
    lines = [f"Host: 127.0.0.1:{page.port}"]
    if rng.random() < 0.7:
        lines.append(f"Cookie: {page.cookie}")
    lines += [LINES[n] for n in rng.integers(len(LINES), size=rng.integers(0, 4))]
    body = rng.bytes(int(rng.integers(0, 3000))) if method in ("PUT", "POST") else b""
    if body:
        lines.append(f"Content-Length: {len(body)}")
    head = "\r\n".join(
        [f"{method} {TARGETS[rng.integers(len(TARGETS))]} HTTP/1.1", *lines, "Connection: close", "", ""]
    )
    raw = bytearray(head.encode("latin-1") + body)
    if rng.random() < 0.5:
        for place in rng.integers(len(raw), size=rng.integers(1, 6)):
            raw[place] = rng.integers(256)
    return bytes(raw)


def _one(page: Served, number: int, rng: np.random.Generator, tally: Tally) -> None:
    raw, answer = hostile(page, rng), b""
    with (
        contextlib.suppress(OSError),
        socket.create_connection(("127.0.0.1", page.port), timeout=0.5) as link,
    ):
        link.sendall(raw)
        link.shutdown(socket.SHUT_WR)
        while part := link.recv(65536):
            answer += part
    status = answer[9:12].decode("latin-1") if answer.startswith(b"HTTP/1.1 ") else "none"
    tally.statuses[status] += 1
    if status.startswith("5") and status != "501":
        tally.faults.append(f"request {number}: {answer[:200]!r} to {raw[:200]!r}")
    if SECRET in answer or b"Traceback" in answer:
        tally.faults.append(f"request {number}: {answer[:300]!r}")
    if number % 100 == 0:
        _honest(page, tally, f"after request {number}")


def _stall(page: Served, clients: int, tally: Tally) -> None:
    """Begin uploads and send no more of them; meanwhile an honest photo and an honest look are answered."""
    lines = ["PUT /photos?name=s.jpg HTTP/1.1", f"Host: 127.0.0.1:{page.port}", f"Cookie: {page.cookie}"]
    head = "\r\n".join([*lines, "Content-Length: 500000", "", ""]).encode()
    with contextlib.ExitStack() as held:
        for number in range(clients):
            link = socket.create_connection(("127.0.0.1", page.port), timeout=10)
            held.enter_context(contextlib.closing(link))
            link.sendall(head + bytes(100) if number % 2 else head[:60])
        _honest(page, tally, f"beside {clients} stalled clients")
        start = time.monotonic()
        status, _ = page.ask("PUT", "/photos?name=2026-06-09.jpg", b"not a photo")
        tally.slowest_s = max(tally.slowest_s, time.monotonic() - start)
        if status != 422 or time.monotonic() - start > LONGEST_S:
            tally.faults.append(
                f"an upload beside stalled ones: {status} after {time.monotonic() - start:.1f} s"
            )


def _load(page: Served, tally: Tally, times: int) -> None:
    for number in range(times):
        status, text = page.ask("GET", "/")
        if status != 200 or "Tern Cottage" not in text:
            tally.faults.append(f"load {number}: {status}")


def _honest(page: Served, tally: Tally, when: str) -> None:
    start = time.monotonic()
    try:
        status = page.ask("GET", "/healthz")[0]
    except OSError as error:
        status = repr(error)
    taken = time.monotonic() - start
    tally.slowest_s = max(tally.slowest_s, taken)
    if status != 200 or taken > LONGEST_S:
        tally.faults.append(f"{when}: {status} after {taken:.1f} s")


def main() -> int:
    """Attack the page and print what came of it."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--requests", type=int, default=4000)
    parser.add_argument("--stalled", type=int, default=60)
    parser.add_argument("--loads", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    tally = attack(
        options.requests, options.stalled, options.loads, options.seed, lambda line: print(line, flush=True)
    )
    print(*tally.faults[:20], sep="\n")
    print("answers:", ", ".join(f"{status} {count}" for status, count in sorted(tally.statuses.items())))
    print(
        f"memory {' -> '.join(f'{one:.0f}' for one in tally.memory_mib)} MiB; slowest {tally.slowest_s:.1f} s"
    )
    print(f"{len(tally.faults)} faults")
    return 1 if tally.faults else 0


if __name__ == "__main__":
    sys.exit(main())
