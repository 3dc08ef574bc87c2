"""The page's addresses besides the page itself: photos in, pictures and files out."""

from __future__ import annotations

import asyncio
import datetime as dt
from pathlib import Path
from urllib.parse import quote

from fastapi import FastAPI
from starlette.requests import ClientDisconnect, Request
from starlette.responses import FileResponse, JSONResponse, PlainTextResponse, Response

from swardmark.common.errors import NoDate, PhotoRefused, SwardmarkError
from swardmark.door.uploads import UPLOADS, TooLarge, TooSlow
from swardmark.lawn.folder import Added, safe_name
from swardmark.lawn.toml import MAIN_POINT
from swardmark.page import sentences
from swardmark.page.desk import Desk
from swardmark.page.pictures import Pictures
from swardmark.page.places.plain import plain
from swardmark.photo.day import FIRST_YEAR, is_to_come
from swardmark.photo.header import kind_of, read_header

MOST_PHOTO_BYTES = 60_000_000
MOST_PHOTOS = 2000
AT_ONCE = 3
DOWNLOADS = {
    "cover.csv": "out", "outlook.csv": "out", "spots.csv": "out", "report.html": "out", "lawn.ics": "out",
    "readings.csv": "", "diary.csv": "", "lawn.toml": "",
}  # fmt: skip
"""What can be taken away, and the folder below the lawn's own in which it stands."""
SCRIPTS = Path(__file__).with_name("js")


class _NotNow(PhotoRefused):
    """A photo that is not taken now, through no fault of its own: the browser keeps it."""


def add_routes(app: FastAPI, desk: Desk, pictures: Pictures) -> None:
    """Give the app the page's addresses."""
    places = asyncio.Semaphore(AT_ONCE)

    @app.put("/photos")
    async def put_photo(request: Request) -> Response:
        return await _take_photo(request, desk, places)

    @app.get("/js/waiting.js")
    async def waiting_script() -> Response:
        return FileResponse(SCRIPTS / "waiting.js", headers={"cache-control": "no-cache"})

    @app.get("/_nicegui/{version}/static/quasar.umd.prod.js")
    async def plain_script(version: str) -> Response:
        return FileResponse(SCRIPTS / "plain.js", headers={"cache-control": "private, max-age=604800"})

    @app.get("/picture/{size}/{name:path}")
    async def picture(size: str, name: str) -> Response:
        return _picture(await pictures.photo(name, size))

    @app.get("/ground/{point}/{name:path}")
    async def ground(point: str, name: str) -> Response:
        return _picture(await pictures.ground(point, name))

    @app.get("/take/{name}")
    async def take(name: str) -> Response:
        path = desk.folder / DOWNLOADS[name] / name if name in DOWNLOADS else Path("/nowhere")
        if not path.is_file() or path.is_symlink() or path.parent.is_symlink():
            return PlainTextResponse(sentences.NO_FILE, 404)
        return FileResponse(path, filename=name, headers={"cache-control": "no-store"})

    @app.get("/healthz")
    async def healthz() -> Response:
        return PlainTextResponse("ok")


async def _take_photo(request: Request, desk: Desk, places: asyncio.Semaphore) -> Response:
    """Read one photo from the request, whole and within the limits, look at it, and add it to the lawn."""
    name = name_of(request)
    refused = 200 if request.query_params.get("calm") else 422  # a browser's console calls 422 an error
    try:
        if not desk.has_lawn:
            raise _NotNow("there is no lawn yet", where=name, remedy="Begin it first")
        if len(desk.lawn().photos()) >= MOST_PHOTOS:
            raise _NotNow(f"there are {MOST_PHOTOS} photos already", where=name, remedy="Use swardmark add")
        data = await whole_body(request, name)
        date = _day(request.query_params.get("date"), name)
        read_header(data, name=name)
        clean = safe_name(name, kind_of(data) or "JPEG")
        point = request.query_params.get("point", MAIN_POINT)
        async with places:
            added = await asyncio.to_thread(desk.add, data, clean, point=point, date=date)
    except ClientDisconnect:
        return Response(status_code=400)
    except PhotoRefused as refusal:
        desk.refuse(refusal)
        again = {"again": True} if isinstance(refusal, _NotNow) else {}
        return JSONResponse({"state": "refused", "say": _sentence(refusal)} | again, refused)
    except SwardmarkError as error:
        return JSONResponse({"state": "refused", "say": plain(str(error)), "again": True}, refused)
    desk.changed()
    if added.added or (added.known and date is not None):
        desk.measure_soon()
    return JSONResponse(_answer(added, date))


def name_of(request: Request) -> str:
    """Return what a photo that is sent is called, without folders."""
    return Path(request.query_params.get("name", "photo").replace("\\", "/")).name[:250] or "photo"


async def whole_body(request: Request, name: str) -> bytes:
    """Collect the request's body in memory; too large or too slow is refused before it is whole."""
    large, slow = f"larger than {MOST_PHOTO_BYTES // 1_000_000} MB", "the connection is too slow"
    try:
        if int(request.headers.get("content-length", "0")) > MOST_PHOTO_BYTES:
            raise TooLarge
        return await UPLOADS.whole(request.stream().__aiter__(), most_bytes=MOST_PHOTO_BYTES)
    except TooLarge:
        raise PhotoRefused(large, where=name, remedy="Export it as a JPEG") from None
    except TooSlow:
        raise _NotNow(slow, where=name, remedy="Try again closer to the router") from None


def _answer(added: Added, date: dt.datetime | None) -> dict[str, object]:
    if added.added:
        return {"state": "added", "say": sentences.ADDED}
    if added.known:
        template = sentences.DAY_CHANGED if date is not None else sentences.KNOWN
        return {"state": "known", "say": template.format(photo=added.known[0])}
    refusal = added.refused[0]
    needs_day = isinstance(refusal, NoDate)
    say = sentences.NO_DATE if needs_day else _sentence(refusal)
    return {"state": "refused", "say": say, "needs_day": needs_day}


def _sentence(refusal: PhotoRefused) -> str:
    text = f"{refusal.what[0].upper()}{refusal.what[1:]}."
    return f"{text} {refusal.remedy}." if refusal.remedy else text


def _day(text: str | None, name: str) -> dt.datetime | None:
    if not text:
        return None
    try:
        day = dt.datetime.fromisoformat(text).replace(tzinfo=None)
    except ValueError:
        raise PhotoRefused(f"{text!r} is not a day", where=name, remedy="Write it as 2026-06-09") from None
    if day.year < FIRST_YEAR or is_to_come(day):
        raise PhotoRefused(f"{day.date()} cannot be the day", where=name, remedy="Give the day it was taken")
    return day


def _picture(data: bytes | None) -> Response:
    if data is None:
        return PlainTextResponse(sentences.NO_PICTURE, 404)
    return Response(data, media_type="image/webp", headers={"cache-control": "private, max-age=86400"})


def picture_address(size: str, name: str, version: str = "") -> str:
    """Return the address of a photo's picture."""
    return f"/picture/{size}/{quote(name)}" + (f"?{version}" if version else "")


def ground_address(point: str, name: str, version: str = "") -> str:
    """Return the address of the ground seen straight down in a photo."""
    return f"/ground/{quote(point, safe='')}/{quote(name)}" + (f"?{version}" if version else "")
