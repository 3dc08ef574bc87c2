"""The guide for five photos on an arc: drawn from above, with what is still missing, and the answer below it."""

from __future__ import annotations

import asyncio
import datetime as dt
import re
from functools import partial
from typing import Any
from urllib.parse import quote

from nicegui import ui
from nicegui.element import Element

from swardmark.common.errors import SwardmarkError
from swardmark.lawn.toml import Lawn
from swardmark.mowing.today import phase_on
from swardmark.page.desk import Desk
from swardmark.page.elements import WalkCard
from swardmark.page.forms import tell, words
from swardmark.page.places.plain import plain
from swardmark.page.shown import photo_points
from swardmark.page.walk import sentences
from swardmark.page.walk.answer import Answer, answer_of
from swardmark.page.walk.photos import measure_walks, put_away, review_of, walk_so_far
from swardmark.relief.arc import STAND_M, WANTED_PHOTOS, ArcSoFar, arc_so_far
from swardmark.season import known_unseen

TO_ANSWER = "document.querySelector('.sm-walk-answer').scrollIntoView({block: 'start'})"


class WalkPart:
    """One guide: the newest set of a photo point, and what it says of the sand."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.point = photo_points(desk)[0]
        self._said: object = None
        self._faults: tuple[str, ...] = ()
        side = sentences.WORDS["side"].format(metric=f"{STAND_M:.1f} m", feet=f"{STAND_M / 0.3048:.0f} ft")
        with Element("div").props('id="walk"'):
            words("h3", sentences.TITLE)
            words("p", sentences.INTRO, "sm-quiet")
            self.card = WalkCard(
                walk=walk_shown(arc_so_far([])), points=photo_points(desk), point=self.point, busy=False,
                wanted=WANTED_PHOTOS, words=sentences.WORDS | {"side": side},
            )  # fmt: skip
            self.answer = Element("div").classes("sm-walk-answer").props('aria-live="polite"')
        self.card.on("point", self._choose)
        self.card.on("measure", self._measure)
        self.card.on("over", self._over)

    async def refresh(self) -> None:
        """Show what the newest set has and what was measured."""
        try:
            lawn = self.desk.lawn()
            walk, answer = await asyncio.to_thread(_standing, lawn, self.point)
        except SwardmarkError as error:
            tell(plain(str(error)), bad=True)
            return
        self.card.show(walk=walk_shown(walk), points=photo_points(self.desk), point=self.point)
        said = (answer, self._faults, self.point)
        if said != self._said:
            self._said = said
            self._say(answer)

    async def _choose(self, event: Any) -> None:
        if str(event.args) in photo_points(self.desk):
            self.point, self._faults = str(event.args), ()
            await self.refresh()

    async def _measure(self) -> None:
        self.card.show(busy=True)
        try:
            self._faults = await self.desk.do(partial(measure_walks, point=self.point), sentences.MEASURING)
        except SwardmarkError as error:
            tell(plain(str(error)), bad=True)
        finally:
            self.card.show(busy=False)
        await self.refresh()
        ui.run_javascript(TO_ANSWER)
        self.desk.measure_soon()

    async def _over(self) -> None:
        try:
            await asyncio.to_thread(put_away, self.desk.lawn(), point=self.point)
        except SwardmarkError as error:
            tell(plain(str(error)), bad=True)
        else:
            tell(sentences.PUT_AWAY)
        self._faults = ()
        self.desk.changed()
        await self.refresh()

    def _say(self, answer: Answer | None) -> None:
        self.answer.clear()
        with self.answer:
            for line in self._faults:
                words("p", plain(line), "sm-bad")
            if answer is None:
                return
            words("p", plain(answer.of), "sm-quiet")
            with Element("ol"):
                for step in answer.steps:
                    with Element("li"):
                        words("strong", _unbroken(plain(step.do)))
                        for line in step.more:
                            words("p", _unbroken(plain(line)))
            if answer.map_key:
                picture = Element("img").classes("sm-walk-map")
                picture._props.update(
                    src=f"/walk/map/{quote(self.point, safe='')}?{answer.map_key}",
                    alt=answer.map_alt,
                    loading="lazy",
                )
            for line in answer.notes:
                words("p", plain(line))
            if answer.caution:
                words("p", answer.caution, "sm-caution")


class SandDay:
    """On the day of the sand: what five photos are good for, and the way to the guide; nothing on other days."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.box = Element("div").classes("sm-sand-day")
        self._on = False

    def refresh(self) -> None:
        """Show it on the day of the sand."""
        today = dt.date.today()
        known = self.desk.standing.known or known_unseen(self.desk.folder, on=today)
        on = phase_on(known, today) == "sand day"
        if on == self._on:
            return
        self._on = on
        self.box.clear()
        if on:
            with self.box:
                words("h2", sentences.TITLE)
                words("p", sentences.INTRO_TODAY)
                words("a", sentences.GO, "sm-button sm-plain")._props["href"] = "#next/walk"


def walk_shown(walk: ArcSoFar) -> dict[str, Any]:
    """Return a walk as the guide draws it: places that are had, the next one, and those that follow."""
    return {
        "text": walk.text,
        "had": list(walk.places_deg),
        "coming": list(walk.coming_deg),
        "photos": sum(not one.fault for one in walk.photos),
        "can_measure": walk.can_measure,
    }


def _unbroken(text: str) -> str:
    """Return text in which no amount is torn from its unit at the end of a line."""
    return re.sub(r"(?<=\d) (?=(mm|cm|m|m²|L|in|ft|gal|sq ft|cu ft)\b)", "\u00a0", text)


def _standing(lawn: Lawn, point: str) -> tuple[ArcSoFar, Answer | None]:
    review = review_of(lawn)
    return walk_so_far(lawn, point=point), answer_of(review, lawn, point=point)
