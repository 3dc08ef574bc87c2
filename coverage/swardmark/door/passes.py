"""One-time links and the passes that they turn into: who was let in, for this run or, where wanted, for longer.

A link holds 192 bits of chance and works once; the pass that a browser gets for it holds 256 and is kept in a cookie
that no script can read. Of passes that outlive the run only hashes are stored, in a file of the user's own (mode 600):
whoever reads it can let no one in.
"""

from __future__ import annotations

import hashlib
import hmac
import json
import os
import secrets
import time
from collections import OrderedDict
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any

from swardmark.common.files import write_whole

MOST_TRIES, TRIES_WINDOW_S = 10, 300
MOST_PASSES, MOST_ADDRESSES = 12, 2000
REMEMBER_S = 180 * 24 * 3600
PASSES_FILE = "passes.json"
LOOPBACK = ("127.0.0.1", "::1")


class Passes:
    """One-time links and the cookies that they turn into; wrong links are counted by the address they come from.

    Parameters
    ----------
    on_used : callable, optional
        Called with the next link's token when one was used up.
    remembered : Remembered, optional
        Where passes are kept beyond this run.
    """

    def __init__(
        self, on_used: Callable[[str], None] | None = None, remembered: Remembered | None = None
    ) -> None:
        self.token = secrets.token_urlsafe(24)
        self._cookies: list[str] = []
        self._wrong: OrderedDict[str, list[float]] = OrderedDict()
        self._on_used = on_used
        self._remembered = remembered

    @property
    def lasts_s(self) -> int | None:
        """How long a browser keeps its pass; None as long as it is open."""
        return REMEMBER_S if self._remembered is not None else None

    def enter(self, token: str, address: str = "") -> str | None:
        """Use the one-time token up and return a pass, or None if it is not the one or too many were wrong before.

        On this machine itself the right link always works: all its users have the same address.
        """
        if self.is_stopped(address) and address not in LOOPBACK:
            return None
        if not _same(token, self.token):
            self._count_wrong(address)
            return None
        self.token = secrets.token_urlsafe(24)
        cookie = secrets.token_urlsafe(32)
        self._cookies = [*self._cookies, cookie][-MOST_PASSES:]
        if self._remembered is not None:
            self._remembered.add(cookie)
        if self._on_used is not None:
            self._on_used(self.token)
        return cookie

    def is_stopped(self, address: str = "") -> bool:
        """Whether there were too many wrong links from an address of late; no other address is kept out by it."""
        since = time.monotonic() - TRIES_WINDOW_S
        late = [moment for moment in self._wrong.get(address, ()) if moment > since]
        return len(late) >= MOST_TRIES

    def is_valid(self, cookie: str) -> bool:
        """Whether a pass was given out; takes the same time for every guess."""
        matches = [_same(cookie, known) for known in self._cookies]
        return any(matches) or (self._remembered is not None and self._remembered.holds(cookie))

    def _count_wrong(self, address: str) -> None:
        since = time.monotonic() - TRIES_WINDOW_S
        late = [moment for moment in self._wrong.pop(address, ()) if moment > since]
        self._wrong[address] = [*late, time.monotonic()]
        while len(self._wrong) > MOST_ADDRESSES:
            self._wrong.popitem(last=False)


class Remembered:
    """Hashes of the passes of one lawn that outlive a run, in a file of the user's own.

    Parameters
    ----------
    folder : Path
        The lawn folder, by which its passes are told from those of others.
    place : Path, optional
        Folder of the file; by default the user's own for such things.
    """

    def __init__(self, folder: Path, *, place: Path | None = None) -> None:
        self._lawn = str(folder.resolve())
        self._path = (place or own_place()) / PASSES_FILE

    def add(self, cookie: str) -> None:
        """Keep a pass beyond this run."""
        known = self._read()
        rows = known.setdefault(self._lawn, {})
        rows[_hash(cookie)] = time.time() + REMEMBER_S
        newest = sorted(rows, key=lambda one: rows[one])[-MOST_PASSES:]
        known[self._lawn] = {one: rows[one] for one in newest}
        self._write(known)

    def holds(self, cookie: str) -> bool:
        """Whether a pass was kept and is still good."""
        wanted, rows = _hash(cookie), self._read().get(self._lawn, {})
        matches = [_same(wanted, known) and until > time.time() for known, until in rows.items()]
        return any(matches)

    def last_until(self) -> float | None:
        """Return when the last kept pass ends [s since 1970]; None without any."""
        return max(
            (until for until in self._read().get(self._lawn, {}).values() if until > time.time()),
            default=None,
        )

    def forget(self) -> int:
        """Turn all kept passes of the lawn away; returns how many there were."""
        known = self._read()
        gone = known.pop(self._lawn, {})
        self._write(known)
        return len(gone)

    def _read(self) -> dict[str, dict[str, float]]:
        try:
            kept: Any = json.loads(self._path.read_text("utf-8"))
            return {
                str(lawn): {str(one): float(until) for one, until in rows.items()}
                for lawn, rows in kept.items()
            }
        except (OSError, ValueError, AttributeError, TypeError):
            return {}

    def _write(self, known: dict[str, dict[str, float]]) -> None:
        self._path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        with suppress(OSError):
            self._path.parent.chmod(0o700)
        write_whole(self._path, json.dumps({lawn: rows for lawn, rows in known.items() if rows}))
        self._path.chmod(0o600)


def own_place() -> Path:
    """Return the folder for what the page keeps of its own on this machine (XDG base directories, else the home)."""
    base = os.environ.get("XDG_STATE_HOME") or (
        os.environ.get("LOCALAPPDATA") if os.name == "nt" else str(Path.home() / ".local" / "state")
    )
    return Path(base or Path.home()) / "swardmark"


def _same(given: str, known: str) -> bool:
    return hmac.compare_digest(given.encode("utf-8", "replace"), known.encode())


def _hash(cookie: str) -> str:
    return hashlib.sha256(cookie.encode("utf-8", "replace")).hexdigest()
