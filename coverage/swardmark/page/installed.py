"""The page on a phone's home screen: its manifest, and what is shown where the page cannot be reached.

A browser installs a page that it trusts (https with a certificate it knows, or this machine itself) and that has a
manifest (W3C Web Application Manifest) and a service worker. The worker keeps one small page: it takes photos in, which
wait in the browser as those do that are chosen on the page itself, and opens the page as soon as it answers.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from fastapi import FastAPI
from starlette.responses import FileResponse, HTMLResponse, JSONResponse, Response

from swardmark.common.text import clean
from swardmark.page import sentences
from swardmark.page.desk import Desk
from swardmark.page.places.notes import note_forms
from swardmark.page.routes import SCRIPTS
from swardmark.page.shown import lawn_key, photo_points
from swardmark.report.html import render

TEMPLATES = Path(__file__).parent / "templates"
ICON = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 32 32"><rect width="32" height="32" rx="6" fill="#E9CF9B"/>'
    '<path d="M16 28C15 18 10 12 5 9c7 1 11 6 11 13 0-9 3-15 9-19-4 6-7 13-7 25z" fill="#2F6B4F"/></svg>'
)
HEAD = (
    '<link rel="manifest" href="/manifest.webmanifest" crossorigin="use-credentials">'
    '<meta name="theme-color" content="#2F6B4F">'
    "<script>if (navigator.serviceWorker) { navigator.serviceWorker.register('/worker.js').catch(() => {});"
    " navigator.serviceWorker.ready.then((known) => known.active.postMessage('loaded')); }</script>"
)
"""What the page's head says of it. A manifest is fetched without cookies unless it is said otherwise."""
FRESH = {"cache-control": "no-cache"}


def add_shell(app: FastAPI, desk: Desk) -> None:
    """Give the app the addresses that an installed page needs."""

    @app.get("/manifest.webmanifest")
    async def manifest() -> Response:
        return JSONResponse(_manifest(desk), media_type="application/manifest+json", headers=FRESH)

    @app.get("/icon.svg")
    async def icon() -> Response:
        return Response(ICON, media_type="image/svg+xml", headers={"cache-control": "max-age=604800"})

    @app.get("/worker.js")
    async def worker() -> Response:
        return FileResponse(SCRIPTS / "worker.js", headers=FRESH)

    @app.get("/js/unreached.js")
    async def script() -> Response:
        return FileResponse(SCRIPTS / "unreached.js", headers=FRESH)

    @app.get("/unreached")
    async def unreached() -> Response:
        return HTMLResponse(unreached_page(desk), headers=FRESH)


def unreached_page(desk: Desk) -> str:
    """Return what is shown where the page cannot be reached."""
    known = desk.has_lawn
    lawn = {"key": lawn_key(desk), "name": _name(desk), "points": photo_points(desk) if known else []}
    values = {
        "say": sentences,
        "lawn": lawn,
        "known": known,
        "forms": note_forms(desk.lawn()) if known else [],
    }
    return render("unreached.html.j2", values, templates=TEMPLATES)


def _manifest(desk: Desk) -> dict[str, Any]:
    return {
        "id": "/",
        "name": _name(desk),
        "short_name": _name(desk)[:12].strip(),
        "start_url": "/",
        "scope": "/",
        "display": "standalone",
        "background_color": "#F6F2E8",
        "theme_color": "#2F6B4F",
        "icons": [{"src": "/icon.svg", "sizes": "any", "type": "image/svg+xml", "purpose": "any"}],
    }


def _name(desk: Desk) -> str:
    return clean(desk.lawn().name, most=60) if desk.has_lawn else "swardmark"
