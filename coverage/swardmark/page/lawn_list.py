"""The page of a folder of lawns: their list, who needs the keeper first, and each lawn's own page behind its name.

The list stands at once with the lawns' names; what each needs is judged afterwards and put in order. A lawn's page is a
process of its own, begun when it is first asked for, so that one lawn's work never holds up another's.
"""

from __future__ import annotations

import asyncio
import datetime as dt
import json
import signal
import subprocess
import sys
import threading
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any

from fastapi import FastAPI
from starlette.responses import HTMLResponse, JSONResponse, PlainTextResponse, RedirectResponse, Response

from swardmark.common.errors import SwardmarkError
from swardmark.common.text import clean, showable
from swardmark.lawn.toml import read_lawn
from swardmark.lawns.standing import by_need, standings
from swardmark.page import sentences
from swardmark.report.html import render

TEMPLATES = Path(__file__).parent / "templates"
STARTS_WITHIN_S = 30.0
KEPT_S = 60.0
"""What the lawns need is judged anew after this long."""


class LawnPages:
    """The pages of the lawns, each a process of its own.

    Parameters
    ----------
    folders : sequence of Path
        The lawns.
    words : sequence of str
        Options of the command line that each page gets: `--lan` and what belongs to it.
    """

    def __init__(self, folders: Sequence[Path], words: Sequence[str] = ()) -> None:
        self.folders, self._words = tuple(folders), tuple(words)
        self._running: dict[int, _LawnPage] = {}
        self._lock = threading.Lock()

    def link(self, number: int) -> str | None:
        """Return a link into a lawn's page, beginning it if it does not run; None if it does not start."""
        with self._lock:
            known = self._running.get(number)
            if known is None or not known.is_running:
                known = self._running[number] = _LawnPage(self.folders[number], self._words)
        return known.link()

    def close(self) -> None:
        """End all pages."""
        for one in self._running.values():
            one.close()


class _LawnPage:
    """One lawn's page; its newest one-time link is the last line that it printed."""

    def __init__(self, folder: Path, words: Sequence[str]) -> None:
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
        ]
        self._process = subprocess.Popen([*command, *words], stdout=subprocess.PIPE, text=True)
        self._told, self._address = threading.Event(), ""
        threading.Thread(target=self._listen, daemon=True).start()

    @property
    def is_running(self) -> bool:
        return self._process.poll() is None

    def link(self) -> str | None:
        self._told.wait(STARTS_WITHIN_S)
        return self._address or None

    def close(self) -> None:
        if self.is_running:
            self._process.send_signal(signal.SIGINT)
            with suppress(subprocess.TimeoutExpired):
                self._process.wait(10)
        if self.is_running:
            self._process.kill()

    def _listen(self) -> None:
        assert self._process.stdout is not None
        for line in self._process.stdout:
            with suppress(ValueError, KeyError):
                self._address = json.loads(line)["address"]
            self._told.set()
        self._told.set()


class Needs:
    """What the lawns need, judged when it is asked for and kept for a minute."""

    def __init__(self, folders: Sequence[Path]) -> None:
        self._folders, self._lock = tuple(folders), threading.Lock()
        self._known: tuple[float, list[dict[str, Any]]] | None = None

    def now(self, clock: float) -> list[dict[str, Any]]:
        """Return each lawn's number, need and sentence, who needs the keeper most first."""
        with self._lock:
            if self._known is None or clock - self._known[0] > KEPT_S:
                self._known = clock, self._judged()
            return self._known[1]

    def _judged(self) -> list[dict[str, Any]]:
        number = {folder: n for n, folder in enumerate(self._folders)}
        found = list(standings(self._folders, on=dt.date.today(), each=lambda _: None))
        ranked = [
            {"lawn": number[one.folder], "need": one.need, "kind": one.need.replace(" ", "-"),
             "sentence": clean(one.sentence, most=400)}
            for one in by_need(found)
        ]  # fmt: skip
        broken = [
            {"lawn": number[one.folder], "need": sentences.NOT_READ, "kind": "",
             "sentence": clean(one.fault, most=400)}
            for one in found if one.fault
        ]  # fmt: skip
        return [*ranked, *broken]


def list_app(folders: Sequence[Path], pages: LawnPages) -> FastAPI:
    """Return the app of the list of lawns."""
    app = FastAPI(openapi_url=None, docs_url=None, redoc_url=None)
    needs = Needs(folders)

    @app.get("/")
    async def the_list() -> Response:
        return HTMLResponse(
            await asyncio.to_thread(_list_html, folders), headers={"cache-control": "no-store"}
        )

    @app.get("/needs")
    async def what_they_need() -> Response:
        clock = asyncio.get_running_loop().time()
        return JSONResponse(await asyncio.to_thread(needs.now, clock), headers={"cache-control": "no-store"})

    @app.get("/lawn/{number}")
    async def one(number: int) -> Response:
        if not 0 <= number < len(folders):
            return PlainTextResponse(sentences.NO_FILE, 404)
        link = await asyncio.to_thread(pages.link, number)
        if link is None:
            return PlainTextResponse(sentences.LAWN_DOES_NOT_OPEN, 503)
        return RedirectResponse(link, 303, headers={"cache-control": "no-store"})

    @app.get("/healthz")
    async def healthz() -> Response:
        return PlainTextResponse("ok")

    return app


def _list_html(folders: Sequence[Path]) -> str:
    rows = [
        {"number": n, "name": _name(folder), "folder": showable(folder.name)}
        for n, folder in enumerate(folders)
    ]
    return render("lawn_list.html.j2", {"say": sentences, "rows": rows}, templates=TEMPLATES)


def _name(folder: Path) -> str:
    try:
        return clean(read_lawn(folder).name, most=60)
    except SwardmarkError:
        return showable(folder.name)
