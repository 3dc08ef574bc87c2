"""Counting by eye: points of the newest photo as crops for a thumb, each answer kept at once and taken back by Undo."""

from __future__ import annotations

import asyncio
import base64
from typing import TYPE_CHECKING, Any

from nicegui.element import Element

from swardmark.common.errors import SwardmarkError
from swardmark.lawn.counts import COUNTS_FILE, read_counts
from swardmark.lawn.edits.undo import Change, take_back, with_undo
from swardmark.measure.count_round import begin_round, estimate_so_far, keep_answer, places_px
from swardmark.page.desk import Desk
from swardmark.page.elements import CountCard
from swardmark.page.forms import Choice, button, tell, words
from swardmark.page.places import sentences
from swardmark.page.places.plain import plain
from swardmark.photo.decode import read_photo
from swardmark.sheets.contact_sheet import PointCrop, point_crops
from swardmark.words.counting import counted_lines

if TYPE_CHECKING:
    from swardmark.measure.count_round import CountRound

POINTS = 60
PAUSE_S = 20.0
"""A round in which nothing was said for so long is taken for stopped: what was counted counts."""


class CountPlace:
    """A round of points, one after the other."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.round: CountRound | None = None
        self.crops: list[PointCrop] = []
        self.said: list[str] = []
        self.kept: list[tuple[Change, ...]] = []
        self.place = Element("section")
        with self.place:
            words("h3", sentences.COUNT)
            words("p", sentences.COUNT_INTRO.format(points=POINTS), "sm-quiet")
            self.counted = Element("ul").classes("sm-lines")
            self._told: tuple[str, ...] = ()
            self.zone = Choice(sentences.ZONE, self._zones())
            button(sentences.COUNT_BEGIN, self._begin, "sm-plain")
            self.body = Element("div")

    def refresh(self) -> None:
        """Offer the zones as they are now, and say what was counted; a round under way goes on.

        Nothing is shown while there is no measured photo to count on.
        """
        self.zone.offer(self._zones())
        season = self.desk.season
        self.place.set_visibility(season is not None)
        told = counted_lines(season.points) if season is not None else ()
        if told == self._told:
            return
        self._told = told
        self.counted.clear()
        with self.counted:
            for line in told:
                with Element("li"):
                    words("span", plain(line))

    def _zones(self) -> list[tuple[str, str]]:
        names = dict.fromkeys(zone.name for zone in self.desk.lawn().zone)
        return [("", sentences.WHOLE_LAWN), *((name, name) for name in names)]

    async def _begin(self) -> None:
        if self.desk.season is None:
            tell(sentences.NO_COURSE, bad=True)
            return
        try:
            self.round, self.crops = await asyncio.to_thread(self._drawn, self.zone.value)
        except SwardmarkError as error:
            tell(plain(str(error)), bad=True)
            return
        self.said, self.kept = [], []
        self.body.clear()
        with self.body:
            self.card = CountCard(**self._card())
        self.card.on("said", self._say)
        self.card.on("undo", self._undo)

    def _drawn(self, zone: str) -> tuple[CountRound, list[PointCrop]]:
        seed = len(read_counts(self.desk.folder)) + 1  # each round draws other points
        counting = begin_round(self.desk.season, zone=zone, points=POINTS, seed=seed)
        path = self.desk.folder / "photos" / counting.photo
        return counting, point_crops(read_photo(path).rgb, places_px(counting))

    def _say(self, event: Any) -> None:
        counting, number = self.round, len(self.said)
        if counting is None or number >= len(counting.points):
            return
        word = str(event.args)
        try:
            _, changes = with_undo(
                self.desk.folder,
                [COUNTS_FILE],
                lambda: keep_answer(self.desk.folder, counting, number, word, is_first=number == 0),
            )
        except SwardmarkError as error:
            tell(plain(str(error)), bad=True)
            return
        self.said.append(word)
        self.kept.append(changes)
        self.card.show(**self._card())
        self.desk.measure_later(0.0 if len(self.said) == len(counting.points) else PAUSE_S)

    def _undo(self) -> None:
        if not self.kept:
            return
        try:
            take_back(self.desk.folder, self.kept[-1])
        except SwardmarkError as error:
            tell(plain(str(error)), bad=True)
            return
        self.kept.pop()
        self.said.pop()
        self.desk.measure_later(PAUSE_S)
        self.card.show(**self._card())

    def _card(self) -> dict[str, Any]:
        assert self.round is not None
        number, total = len(self.said), len(self.crops)
        now = self.crops[number] if number < total else None
        return {
            "number": number,
            "total": total,
            "crop": _address(now),
            "next": _address(self.crops[number + 1]) if number + 1 < total else "",
            "ring": {"x": now.ring_x, "y": now.ring_y, "r": now.ring_radius} if now else None,
            "said": self._so_far(),
            "words": sentences.COUNT_WORDS,
        }

    def _so_far(self) -> str:
        assert self.round is not None
        cover = estimate_so_far(self.round, self.said)
        if cover is None:
            return ""
        fields = {
            "eye": cover.cover_pct,
            "low": cover.low_pct,
            "high": cover.high_pct,
            "tool": cover.tool_pct,
        }
        return sentences.COUNT_SO_FAR.format(**fields)


def _address(crop: PointCrop | None) -> str:
    return f"data:image/jpeg;base64,{base64.b64encode(crop.jpeg).decode('ascii')}" if crop is not None else ""
