"""The addresses of what is made to be taken away, and of a backup that comes back."""

from __future__ import annotations

import asyncio
import tempfile
from contextlib import aclosing, suppress

from fastapi import FastAPI
from starlette.requests import ClientDisconnect, Request
from starlette.responses import JSONResponse, PlainTextResponse, Response, StreamingResponse

from swardmark.common.errors import SwardmarkError
from swardmark.common.text import clean
from swardmark.door.gate import MOST_BACKUP_BYTES
from swardmark.door.uploads import UPLOADS, TooLarge, TooSlow
from swardmark.page.desk import Desk
from swardmark.page.places import sentences
from swardmark.page.places.plain import plain
from swardmark.page.sharing.coming_back import bring_back, check_room
from swardmark.page.sharing.handing_out import backup_parts, picture_to_show, target_pdf
from swardmark.words.calendar import season_calendar


def add_out_routes(app: FastAPI, desk: Desk) -> None:
    """Give the app the addresses of pictures, sheets and the backup."""

    @app.get("/share.jpg")
    async def share() -> Response:
        season = desk.season
        if season is None:
            return PlainTextResponse(sentences.NO_COURSE, 404)
        data = await asyncio.to_thread(picture_to_show, season)
        return _file(data, "image/jpeg", "lawn.jpg")

    @app.get("/calendar.ics")
    async def calendar() -> Response:
        season = desk.season
        if season is None:
            return PlainTextResponse(sentences.NO_COURSE, 404)
        text = await asyncio.to_thread(season_calendar, season)
        return _file(text.encode(), "text/calendar", "lawn.ics")

    @app.get("/print/{paper}")
    async def target(paper: str) -> Response:
        if paper not in sentences.PRINTS:
            return PlainTextResponse(sentences.NO_SHEET, 404)
        try:
            data = await asyncio.to_thread(target_pdf, paper.removesuffix(".pdf"), desk.lawn().square_side_m)
        except SwardmarkError as error:
            return PlainTextResponse(plain(str(error)), 422)
        return _file(data, "application/pdf", f"target-{paper}")

    @app.put("/restore")
    async def restore(request: Request) -> Response:
        try:
            await _restore(request, desk)
        except ClientDisconnect:
            return Response(status_code=400)
        except TooLarge:
            return JSONResponse({"state": "refused", "say": sentences.BACKUP_TOO_LARGE})
        except TooSlow:
            return JSONResponse({"state": "refused", "say": sentences.BACKUP_TOO_SLOW})
        except SwardmarkError as error:
            return JSONResponse({"state": "refused", "say": plain(str(error))})
        desk.changed()
        return JSONResponse({"state": "done"})

    @app.get("/backup.zip")
    async def backup() -> Response:
        if not desk.has_lawn:
            return PlainTextResponse(sentences.NO_COURSE, 404)
        headers = _taken_away(sentences.BACKUP_NAME)
        return StreamingResponse(backup_parts(desk.folder), media_type="application/zip", headers=headers)


async def _restore(request: Request, desk: Desk) -> None:
    """Write a backup to the lawn's own disk as it comes, in a file without a name, and bring the lawn back from it."""
    check_room(desk.folder, int(request.headers.get("content-length", "0")))
    is_new = not desk.folder.exists()
    desk.folder.mkdir(parents=True, exist_ok=True)
    try:
        with tempfile.TemporaryFile(dir=desk.folder) as kept:
            body = UPLOADS.parts(request.stream().__aiter__(), most_bytes=MOST_BACKUP_BYTES)
            async with aclosing(body) as parts:
                async for part in parts:
                    await asyncio.to_thread(kept.write, part)
            kept.seek(0)
            await asyncio.to_thread(bring_back, kept, desk.folder)
    finally:
        if is_new:
            with suppress(OSError):
                desk.folder.rmdir()


def _file(data: bytes, kind: str, name: str) -> Response:
    return Response(data, media_type=kind, headers=_taken_away(name))


def _taken_away(name: str) -> dict[str, str]:
    shown = clean(name, most=80)
    return {"content-disposition": f'attachment; filename="{shown}"', "cache-control": "no-store"}
