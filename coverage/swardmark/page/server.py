"""Serving the page: on this machine alone, or in the home network by https; with a one-time link, never further out.

NiceGUI is given a temporary folder for whatever it would store, so that nothing appears beside the keeper's files.
"""

from __future__ import annotations

import datetime as dt
import json
import logging
import os
import signal
import socket
import sys
import tempfile
import threading
import webbrowser
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from swardmark.common.errors import UsageError
from swardmark.door import sentences
from swardmark.door.certificate import Certificate, given_certificate, own_certificate
from swardmark.door.gate import LINK, Gate
from swardmark.door.passes import Passes, Remembered
from swardmark.lawns.folders import lawn_folders
from swardmark.page.desk import Desk
from swardmark.page.memory import give_back_memory

LOOPBACK, EVERYWHERE = "127.0.0.1", "0.0.0.0"


def serve(
    folder: Path,
    *,
    port: int = 8177,
    lan: bool = False,
    show: bool = True,
    quiet: bool = False,
    as_json: bool = False,
    plain: bool = False,
    certificate: Path | None = None,
    key: Path | None = None,
    remember: bool = False,
) -> None:
    """Serve the page of a lawn folder, or the list of a folder of lawns, until it is stopped with Ctrl-C.

    Parameters
    ----------
    folder : Path
        The lawn folder; a lawn that is not there yet is begun on the page. A folder of lawns shows their list.
    port : int
        Port to listen on; 0 takes a free one.
    lan : bool
        Listen in the home network too, and let in only who opens the one-time link.
    show : bool
        Open the page in the browser.
    quiet, as_json : bool
        Print nothing, or one JSON line with each link, in place of words.
    plain : bool
        In the home network: without encryption.
    certificate, key : Path, optional
        The keeper's own certificate and its key, in place of the one that is made here.
    remember : bool
        Let devices that were let in come back after a restart.

    Raises
    ------
    UsageError
        The folder is a file, or the port is taken.
    """
    folder = Path(folder)
    if folder.exists() and not folder.is_dir():
        raise UsageError("is a file, not a folder", where=str(folder), remedy="Choose another name")
    secure = _certificate(lan=lan, plain=plain, certificate=certificate, key=key)
    listener = _listen(EVERYWHERE if lan else LOOPBACK, port)
    port = listener.getsockname()[1]
    teller = _Teller(port, lan=lan, quiet=quiet, as_json=as_json, secure=secure)
    kept = Remembered(folder) if remember else None
    passes = Passes(on_used=teller.next_link, remembered=kept)
    with _scratch_storage(), listener:
        app, close = _of_many(folder, lan=lan, plain=plain, certificate=certificate, key=key) or _of_one(
            folder
        )
        gate = Gate(app, port=port, passes=passes, lan=lan, scheme=teller.scheme)
        server = _server(gate, secure)
        teller.first(passes.token)
        if kept is not None:
            teller.remembered(kept.last_until(), folder)
        if show:
            threading.Timer(0.8, webbrowser.open, [teller.own_address(passes.token)]).start()
        _stop_gently(server)
        stop_giving = give_back_memory()
        try:
            server.run(sockets=[listener])
        except KeyboardInterrupt:
            pass
        finally:
            stop_giving()
            close()


class _Teller:
    """What is said in the terminal: where the page is, and in the home network the link and its code."""

    def __init__(
        self, port: int, *, lan: bool, quiet: bool, as_json: bool, secure: Certificate | None
    ) -> None:
        self.port, self.lan, self.quiet, self.as_json, self.secure = port, lan, quiet, as_json, secure
        self.address = own_lan_address() if lan else LOOPBACK
        self.scheme = "https" if secure else "http"

    def own_address(self, token: str) -> str:
        """Return the link for a browser on this machine."""
        return f"{self.scheme}://{LOOPBACK}:{self.port}{LINK}{token}"

    def link(self, token: str) -> str:
        return f"{self.scheme}://{self.address}:{self.port}{LINK}{token}"

    def first(self, token: str) -> None:
        """Say where the page is."""
        if self.as_json:
            self._document(token)
        elif not self.quiet:
            if self.lan:
                self._code(token, sentences.SCAN_FIRST)
                self._of_encryption()
            else:
                print(sentences.PAGE_IS_AT.format(address=self.link(token)), flush=True)
                print(sentences.LINK_IS_YOURS, flush=True)
            print(sentences.STOP_WITH, flush=True)

    def next_link(self, token: str) -> None:
        """Show the next one-time link after one was used."""
        if self.as_json:
            self._document(token)
        elif self.lan and not self.quiet:
            self._code(token, sentences.SCAN_NEXT)
        elif not self.quiet:
            print(sentences.PAGE_IS_AT.format(address=self.link(token)), flush=True)

    def remembered(self, until: float | None, folder: Path) -> None:
        """Say that devices may come back."""
        if until is not None and not self.quiet and not self.as_json:
            day = dt.date.fromtimestamp(until).isoformat()
            print(sentences.REMEMBERED.format(day=day, folder=folder), flush=True)

    def _document(self, token: str) -> None:
        told = {"address": self.link(token), "port": self.port, "lan": self.lan}
        more = {"fingerprint": self.secure.fingerprint} if self.secure else {}
        print(json.dumps(told | more), flush=True)

    def _of_encryption(self) -> None:
        if self.secure is None:
            print(sentences.NOT_ENCRYPTED, flush=True)
        elif self.secure.is_own:
            print(sentences.OWN_CERTIFICATE.format(fingerprint=self.secure.fingerprint), flush=True)

    def _code(self, token: str, words: str) -> None:
        import segno

        print(words, flush=True)
        if sys.stdout.isatty():
            segno.make(self.link(token), error="m").terminal(compact=True)
        print(self.link(token), flush=True)
        print(sentences.LINK_ONCE, flush=True)


def _certificate(*, lan: bool, plain: bool, certificate: Path | None, key: Path | None) -> Certificate | None:
    """Return what the page speaks https with; None where it does not."""
    if (certificate is None) != (key is None):
        remedy = "Give --certificate FILE and --key FILE"
        raise UsageError("a certificate needs its key", where="--certificate", remedy=remedy)
    if certificate is not None and key is not None:
        return given_certificate(certificate, key)
    return own_certificate(own_lan_address()) if lan and not plain else None


def _stop_gently(server: Any) -> None:
    """End as with Ctrl-C where the terminal is closed or the process is asked to end, so that nothing is left behind.

    uvicorn stops on SIGTERM and then raises it again; that must find a handler that lets the clean-up go on.
    """

    def stop(*_: object) -> None:
        server.should_exit = True

    for name in ("SIGTERM", "SIGHUP"):
        if hasattr(signal, name) and threading.current_thread() is threading.main_thread():
            signal.signal(getattr(signal, name), stop)


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


def _of_many(
    folder: Path, *, lan: bool, plain: bool, certificate: Path | None, key: Path | None
) -> tuple[Any, Callable[[], None]] | None:
    """Return the list of a folder of lawns, and what ends it; None where the folder is a lawn, or holds none."""
    from swardmark.page.lawn_list import LawnPages, list_app

    lawns = lawn_folders(folder.resolve())
    if not lawns:
        return None
    words = [word for word, wanted in (("--lan", lan), ("--plain", plain)) if wanted]
    if certificate is not None and key is not None:
        words += ["--certificate", str(certificate.resolve()), "--key", str(key.resolve())]
    pages = LawnPages(lawns, words)
    return list_app(lawns, pages), pages.close


def _of_one(folder: Path) -> tuple[Any, Callable[[], None]]:
    """Return the page of one lawn, and what ends it."""
    from swardmark.page.pictures import Pictures

    desk = Desk(folder.resolve())
    desk.sweep()
    pictures = Pictures(desk)

    def close() -> None:
        pictures.close()
        desk.close()

    return _app(desk, pictures), close


def _app(desk: Desk, pictures: Any) -> Any:
    from fastapi import FastAPI
    from nicegui import ui

    from swardmark.page.installed import ICON, add_shell
    from swardmark.page.layout import lay_out
    from swardmark.page.noting.routes import add_note_routes
    from swardmark.page.routes import add_routes
    from swardmark.page.sharing.out_routes import add_out_routes
    from swardmark.page.walk.routes import add_walk_routes

    app = FastAPI(openapi_url=None, docs_url=None, redoc_url=None)
    add_routes(app, desk, pictures)
    add_out_routes(app, desk)
    add_walk_routes(app, desk)
    add_note_routes(app, desk)
    add_shell(app, desk)
    lay_out(desk)
    ui.run_with(app, title="swardmark", favicon=ICON, tailwind=False, show_welcome_message=False)
    return app


def _server(app: Any, secure: Certificate | None) -> Any:
    import uvicorn

    from swardmark.door.pace import PacedProtocol

    for name in ("nicegui", "engineio"):  # they write out whatever a stranger asks for
        logging.getLogger(name).setLevel(logging.CRITICAL)
    config = uvicorn.Config(
        app,
        http=PacedProtocol,
        ssl_certfile=str(secure.certificate) if secure else None,
        ssl_keyfile=str(secure.key) if secure else None,
        log_level="error",
        access_log=False,
        server_header=False,
        timeout_graceful_shutdown=2,
        timeout_keep_alive=30,
        h11_max_incomplete_event_size=32_768,
        ws_max_size=2_000_000,
        limit_concurrency=600,
    )
    return uvicorn.Server(config)
