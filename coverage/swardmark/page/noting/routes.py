"""The addresses to which browsers send notes, and ask to take one back."""

from __future__ import annotations

import asyncio

from fastapi import FastAPI
from starlette.requests import ClientDisconnect, Request
from starlette.responses import JSONResponse, Response

from swardmark.common.errors import SwardmarkError
from swardmark.door.uploads import UPLOADS, TooLarge, TooSlow
from swardmark.page.desk import Desk
from swardmark.page.noting import sentences
from swardmark.page.noting.notes import note_of
from swardmark.page.places.plain import plain

MOST_BYTES = 50_000
WALK_S = 20.0
"""Heights are typed one after the other: they count when none has come for so long, or at the end of the grid."""


def add_note_routes(app: FastAPI, desk: Desk) -> None:
    """Give the app the addresses of notes."""

    @app.put("/notes")
    async def put_note(request: Request) -> Response:
        try:
            note = note_of(await UPLOADS.whole(request.stream().__aiter__(), most_bytes=MOST_BYTES))
            if not desk.has_lawn:
                return JSONResponse({"state": "lost", "say": sentences.NO_LAWN})
            answer = await asyncio.to_thread(desk.notes.keep, note)
        except (ClientDisconnect, TooSlow, TooLarge):
            return Response(status_code=400)
        except SwardmarkError as error:
            return JSONResponse({"state": "refused", "say": plain(str(error))})
        desk.changed()
        if note.kind == "height":
            desk.measure_later(WALK_S)
        else:
            desk.measure_soon()
        return JSONResponse({"state": answer.state, "say": answer.say, "undo": answer.undo})

    @app.put("/notes/back")
    async def take_back(request: Request) -> Response:
        try:
            said = await asyncio.to_thread(desk.notes.take_back, request.query_params.get("key", ""))
        except SwardmarkError as error:
            return JSONResponse({"say": plain(str(error)), "bad": True})
        desk.changed()
        desk.measure_soon()
        return JSONResponse({"say": said})
