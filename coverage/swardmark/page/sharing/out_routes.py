"""The addresses of what is made to be taken away, and of a backup that comes back."""

from __future__ import annotations

import asyncio

from fastapi import FastAPI
from starlette.requests import Request
from starlette.responses import JSONResponse, PlainTextResponse, Response

from swardmark.common.errors import SwardmarkError
from swardmark.common.text import clean
from swardmark.page.desk import Desk
from swardmark.page.places import sentences
from swardmark.page.places.plain import plain
from swardmark.page.sharing.coming_back import bring_back
from swardmark.page.sharing.handing_out import backup_zip, picture_to_show, target_pdf
from swardmark.words.calendar import season_calendar

MOST_BACKUP_BYTES = 80_000_000


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
        data = bytearray()
        async for chunk in request.stream():
            data += chunk
            if len(data) > MOST_BACKUP_BYTES:
                return JSONResponse({"state": "refused", "say": sentences.BACKUP_TOO_LARGE})
        try:
            await asyncio.to_thread(bring_back, bytes(data), desk.folder)
        except SwardmarkError as error:
            return JSONResponse({"state": "refused", "say": plain(str(error))})
        desk.changed()
        return JSONResponse({"state": "done"})

    @app.get("/backup.zip")
    async def backup() -> Response:
        if not desk.has_lawn:
            return PlainTextResponse(sentences.NO_COURSE, 404)
        data = await asyncio.to_thread(backup_zip, desk.folder)
        return _file(data, "application/zip", sentences.BACKUP_NAME)


def _file(data: bytes, kind: str, name: str) -> Response:
    shown = clean(name, most=80)
    headers = {"content-disposition": f'attachment; filename="{shown}"', "cache-control": "no-store"}
    return Response(data, media_type=kind, headers=headers)
