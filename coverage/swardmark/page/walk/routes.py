"""The addresses of the walk: photos are sent to one, and the map of the measured ground is had from the other."""

from __future__ import annotations

import asyncio
import datetime as dt
from functools import partial

from fastapi import FastAPI
from starlette.requests import ClientDisconnect, Request
from starlette.responses import JSONResponse, PlainTextResponse, Response

from swardmark.common.errors import SwardmarkError
from swardmark.lawn.folder import safe_name
from swardmark.lawn.toml import MAIN_POINT
from swardmark.page.desk import Desk
from swardmark.page.places.plain import plain
from swardmark.page.routes import name_of, whole_body
from swardmark.page.shown import photo_points
from swardmark.page.walk import sentences
from swardmark.page.walk.part import walk_shown
from swardmark.page.walk.photos import draw_map, take_photo
from swardmark.photo.day import is_to_come
from swardmark.photo.header import kind_of


def add_walk_routes(app: FastAPI, desk: Desk) -> None:
    """Give the app the addresses of the walk."""
    one_at_a_time = asyncio.Semaphore(1)

    @app.put("/walk")
    async def put_photo(request: Request) -> Response:
        name, point = name_of(request), request.query_params.get("point", MAIN_POINT)
        try:
            data = await whole_body(request, name)
            if not desk.has_lawn or point not in photo_points(desk):
                return Response(status_code=404)
            lawn, clean = desk.lawn(), safe_name(name, kind_of(data) or "JPEG")
            taken = _moment(request.query_params.get("taken", ""))
            async with one_at_a_time:
                one = await asyncio.to_thread(take_photo, lawn, data, clean, point=point, taken=taken)
        except ClientDisconnect:
            return Response(status_code=400)
        except SwardmarkError as error:
            return JSONResponse({"state": "refused", "say": plain(str(error))})
        if not one.kept:
            return JSONResponse({"state": "refused", "say": plain(one.walk.text)})
        desk.changed()
        return JSONResponse({"state": "added", "walk": walk_shown(one.walk), "late": one.is_late})

    @app.get("/walk/map/{point}")
    async def get_map(point: str) -> Response:
        try:
            drawn = await asyncio.to_thread(desk.ask, partial(draw_map, point=point))
        except SwardmarkError:
            drawn = b""
        if not drawn:
            return PlainTextResponse(sentences.NO_MAP, 404)
        return Response(drawn, media_type="image/png", headers={"cache-control": "private, max-age=86400"})


def _moment(text: str) -> dt.datetime | None:
    """Return a moment that a browser wrote in its own time; None if it is none, or to come."""
    try:
        moment = dt.datetime.fromisoformat(text)
    except ValueError:
        return None
    return None if moment.tzinfo is not None or moment.year < 2000 or is_to_come(moment) else moment
