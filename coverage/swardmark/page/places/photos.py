"""The place Photos: a grid of all photos, each of which opens large, and two days compared."""

from __future__ import annotations

import datetime as dt
from typing import Any

from nicegui.element import Element

from swardmark.common.errors import SwardmarkError
from swardmark.lawn.edits.aside import Where, put_back, set_aside
from swardmark.lawn.marks import MARKS_FILE, PhotoMarks, write_marks
from swardmark.measure.hand_marks import mark_square
from swardmark.page import shown
from swardmark.page.desk import Desk
from swardmark.page.elements import PhotoRows, Wipe
from swardmark.page.forms import button, tell, words
from swardmark.page.places import sentences
from swardmark.page.places.counting import CountPlace
from swardmark.page.places.keeping import done, keep
from swardmark.page.places.plain import plain


class PhotosPlace:
    """All photos, the newest first."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self._compared: Any = None
        words("h2", sentences.PHOTOS)
        self.refused = Element("ul").classes("sm-refused")
        self.rows = PhotoRows(rows=shown.photo_rows(desk))
        self.rows.on("corners", self._mark)
        self.rows.on("aside", self._aside)
        self.rows.on("day", self._day)
        self.compare = Element("div")
        self.count = CountPlace(desk)
        self.refresh()

    def refresh(self) -> None:
        """Show what is new."""
        self.rows.show(rows=shown.photo_rows(self.desk))
        self._show_refusals()
        self.count.refresh()
        if self._compared is not self.desk.standing:
            self._compared = self.desk.standing
            self._show_compared()

    def _show_refusals(self) -> None:
        self.refused.clear()
        with self.refused:
            for name, sentence in shown.refusal_rows(self.desk):
                with Element("li").classes("sm-bad"):
                    words("strong", sentences.NOT_TAKEN_IN.format(photo=name))
                    words("span", plain(sentence))
            if self.desk.upload_refusals:
                with Element("li"):
                    button(sentences.CLEAR_LIST, self.desk.forget_refusals, "sm-plain sm-small")

    def _show_compared(self) -> None:
        self.compare.clear()
        season = self.desk.season
        with self.compare:
            for place in season.points if season is not None else ():
                if len(place.entries) > 1:
                    title = sentences.TWO_DAYS if len(season.points) == 1 else sentences.TWO_DAYS_FROM
                    words("h3", title.format(point=place.name))
                    Wipe(days=shown.wipe_days(self.desk, place.name))

    def _mark(self, event: Any) -> None:
        try:
            name = str(event.args["name"])
            file = next(f for f in self.desk.lawn().photos() if f.name == name)
            corners = [(float(x), float(y)) for x, y in event.args["corners"]]
        except (KeyError, TypeError, ValueError, StopIteration):
            tell(sentences.CORNERS_UNREADABLE, bad=True)
        else:
            keep(self.desk, [MARKS_FILE], lambda: mark_square(file.path, corners), sentences.CORNERS_KEPT)

    def _day(self, event: Any) -> None:
        try:
            name = str(event.args["name"])
            day = dt.datetime.combine(dt.date.fromisoformat(str(event.args["day"])), dt.time(12))
        except (KeyError, ValueError):
            return
        keep(
            self.desk,
            [MARKS_FILE],
            lambda: write_marks(self.desk.folder, {name: PhotoMarks(taken_at=day)}),
            sentences.DAY_KEPT,
        )

    def _aside(self, event: Any) -> None:
        name, here, what = (str(event.args[part]) for part in ("name", "where", "what"))
        folder = self.desk.folder
        aside: Where = "bin" if "bin" in (here, what) else "left_out"
        try:
            if what == "back":
                moved = put_back(folder, name, aside)
                done(self.desk, sentences.PUT_BACK, undo=lambda: set_aside(folder, moved, aside))
            else:
                moved = set_aside(folder, name, aside)
                said = sentences.BINNED if aside == "bin" else sentences.LEFT_OUT
                done(self.desk, said, undo=lambda: put_back(folder, moved, aside))
        except SwardmarkError as error:
            tell(plain(str(error)), bad=True)
