"""Serving the page: on this machine alone, or with a one-time link in the home network; nothing ever goes further out.

NiceGUI is given a temporary folder for whatever it would store, so that nothing appears beside the keeper's files.
"""

from __future__ import annotations

import json
import os
import socket
import sys
import tempfile
import threading
import webbrowser
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from swardmark.common.errors import UsageError
from swardmark.page import sentences
from swardmark.page.desk import Desk
from swardmark.page.gate import Gate, Passes

LOOPBACK, EVERYWHERE = "127.0.0.1", "0.0.0.0"
ICON = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 32 32"><rect width="32" height="32" rx="6" fill="#E9CF9B"/>'
    '<path d="M16 28C15 18 10 12 5 9c7 1 11 6 11 13 0-9 3-15 9-19-4 6-7 13-7 25z" fill="#2F6B4F"/></svg>'
)


def serve(
    folder: Path,
    *,
    port: int = 8177,
    lan: bool = False,
    show: bool = True,
    quiet: bool = False,
    as_json: bool = False,
) -> None:
    """Serve the page of a lawn folder until it is stopped with Ctrl-C.

    Parameters
    ----------
    folder : Path
        The lawn folder; a lawn that is not there yet is begun on the page.
    port : int
        Port to listen on; 0 takes a free one.
    lan : bool
        Listen in the home network too, and let in only who opens the one-time link.
    show : bool
        Open the page in the browser.
    quiet, as_json : bool
        Print nothing, or one JSON line with the address, in place of words.

    Raises
    ------
    UsageError
        The folder is a file, or the port is taken.
    """
    folder = Path(folder)
    if folder.exists() and not folder.is_dir():
        raise UsageError("is a file, not a folder", where=str(folder), remedy="Choose another name")
    listener = _listen(EVERYWHERE if lan else LOOPBACK, port)
    port = listener.getsockname()[1]
    teller = _Teller(port, lan=lan, quiet=quiet, as_json=as_json)
    passes = Passes(on_used=teller.next_link) if lan else None
    with _scratch_storage(), listener:
        desk = Desk(folder.resolve())
        desk.sweep()
        server = _server(_app(desk), port=port, passes=passes)
        teller.first(passes.token if passes else None)
        if show:
            threading.Timer(
                0.8, webbrowser.open, [teller.own_address(passes.token if passes else None)]
            ).start()
        try:
            server.run(sockets=[listener])
        except KeyboardInterrupt:
            pass
        finally:
            desk.close()


class _Teller:
    """What is said in the terminal: where the page is, and in the home network the link and its code."""

    def __init__(self, port: int, *, lan: bool, quiet: bool, as_json: bool) -> None:
        self.port, self.lan, self.quiet, self.as_json = port, lan, quiet, as_json
        self.address = own_lan_address() if lan else LOOPBACK

    def own_address(self, token: str | None) -> str:
        """Return the address for a browser on this machine."""
        return f"http://{LOOPBACK}:{self.port}/" + (f"enter/{token}" if token else "")

    def link(self, token: str | None) -> str:
        return f"http://{self.address}:{self.port}/" + (f"enter/{token}" if token else "")

    def first(self, token: str | None) -> None:
        """Say where the page is."""
        if self.as_json:
            print(json.dumps({"address": self.link(token), "port": self.port, "lan": self.lan}), flush=True)
        elif not self.quiet:
            if self.lan:
                self._code(token, sentences.SCAN_FIRST)
            else:
                print(sentences.PAGE_IS_AT.format(address=self.link(token)), flush=True)
            print(sentences.STOP_WITH, flush=True)

    def next_link(self, token: str) -> None:
        """Show the next one-time link after one was used."""
        if not self.quiet and not self.as_json:
            self._code(token, sentences.SCAN_NEXT)

    def _code(self, token: str | None, words: str) -> None:
        import segno

        print(words, flush=True)
        if sys.stdout.isatty():
            segno.make(self.link(token), error="m").terminal(compact=True)
        print(self.link(token), flush=True)
        print(sentences.LINK_ONCE, flush=True)


def own_lan_address() -> str:
    """Return this machine's address in the home network; asks the routing table alone, nothing is sent."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asking:
        try:
            asking.connect(("192.0.2.1", 9))  # TEST-NET-1 of RFC 5737: no one's address
            return str(asking.getsockname()[0])
        except OSError:
            return LOOPBACK


def _listen(host: str, port: int) -> socket.socket:
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    if os.name == "posix":
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((host, port))
    except OSError as error:
        listener.close()
        remedy = "Choose another with --port, or --port 0 for a free one"
        raise UsageError(
            f"the port {port} cannot be used ({error.strerror})", where="page", remedy=remedy
        ) from None
    return listener


@contextmanager
def _scratch_storage() -> Iterator[None]:
    with tempfile.TemporaryDirectory(prefix="swardmark-page-", ignore_cleanup_errors=True) as room:
        os.environ["NICEGUI_STORAGE_PATH"] = room
        yield


def _app(desk: Desk) -> Any:
    from fastapi import FastAPI
    from nicegui import ui

    from swardmark.page.layout import lay_out
    from swardmark.page.pictures import Pictures
    from swardmark.page.routes import add_routes
    from swardmark.page.sharing.out_routes import add_out_routes

    app = FastAPI(openapi_url=None, docs_url=None, redoc_url=None)
    add_routes(app, desk, Pictures(desk))
    add_out_routes(app, desk)
    lay_out(desk)
    ui.run_with(app, title="swardmark", favicon=ICON, tailwind=False, show_welcome_message=False)
    return app


def _server(app: Any, *, port: int, passes: Passes | None) -> Any:
    import uvicorn

    config = uvicorn.Config(
        Gate(app, port=port, passes=passes),
        log_level="error",
        access_log=False,
        server_header=False,
        timeout_graceful_shutdown=2,
        timeout_keep_alive=30,
        h11_max_incomplete_event_size=32_768,
        ws_max_size=2_000_000,
        limit_concurrency=200,
    )
    return uvicorn.Server(config)
