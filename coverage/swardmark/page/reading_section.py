"""Outlook and next leveling: the verdict first, then curves and ground, the zones, the spots and the sand."""

from __future__ import annotations

import asyncio
from typing import Any

from nicegui.element import Element

from swardmark.common.errors import SwardmarkError
from swardmark.common.files import own_folder
from swardmark.common.units import CUBIC_YARD_M3
from swardmark.page import sentences, shown
from swardmark.page.desk import Desk
from swardmark.page.elements import Curves, SpotSheet, Wipe
from swardmark.page.forms import Field, section, words
from swardmark.relevel.advice import cautions, plan_sentences
from swardmark.relevel.planning import RelevelPlan, budget_of
from swardmark.season import Season, relevel_plan_of
from swardmark.words.rows import spot_words, zones_in_words
from swardmark.words.tables import write_spots

STATE_SIGNS = {"met": "✓", "not met": "✗", "unknown": "?"}


class OutlookSection:
    """The section Outlook."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self._shown: Any = None
        with section("outlook", sentences.SECTIONS["outlook"]):
            self.body = Element("div")
        self.refresh()

    def refresh(self) -> None:
        """Show the latest season, if it is not shown already."""
        standing = self.desk.standing
        if self._shown is standing and standing is not None:
            return
        self._shown = standing
        self.body.clear()
        with self.body:
            if standing.season is None:
                words("p", standing.fault or sentences.NO_OUTLOOK)
            else:
                _checks(standing.season)
                Curves(**shown.curves(self.desk))
                for place in standing.season.points:
                    Wipe(days=shown.wipe_days(self.desk, place.name))
                _zones(standing.season)


def _checks(season: Season) -> None:
    mow = season.outlook.first_mow
    words("h3", sentences.BEFORE_FIRST_MOW)
    with Element("ul").classes("sm-checks"):
        for check in mow.checks:
            with Element("li").classes(f"sm-{check.state.replace(' ', '-')}"):
                words("b", STATE_SIGNS[check.state])
                words(
                    "span",
                    sentences.CHECK.format(name=check.name, detail=check.detail)
                    if check.detail
                    else check.name,
                )
    if mow.caution:
        words("p", mow.caution, "sm-caution")


def _zones(season: Season) -> None:
    words("h3", sentences.ZONE_BY_ZONE)
    with Element("ul").classes("sm-status"):
        for row in zones_in_words(season):
            with Element("li").classes("sm-flagged" if row.flagged else ""):
                name = (
                    sentences.ZONE_OF_POINT.format(point=row.point, zone=row.name) if row.point else row.name
                )
                words("strong", name)
                words("span", row.cover, "sm-number")
                words("span", row.status, "sm-status-word")
                words("p", row.why)
                if row.look_for:
                    words("p", row.look_for, "sm-quiet")
                words("p", sentences.FULL.format(full=row.full), "sm-quiet")
    for note in season.outlook.notes:
        words("p", note, "sm-note")


class LevelingSection:
    """The section Next leveling: spots and sand, anew with every change of budget or price."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self._shown: Any = None
        self._turn = 0
        lawn = desk.lawn()
        self.us = lawn.units == "us"
        price = lawn.sand.price_per_m3
        first = "" if price is None else f"{price * CUBIC_YARD_M3 if self.us else price:.2f}"
        with section("leveling", sentences.SECTIONS["leveling"]):
            with Element("div").classes("sm-fields"):
                self.money = Field(sentences.BUDGET, kind="number", on_change=self.recompute)
                each = sentences.PRICE_YARD if self.us else sentences.PRICE_M3
                self.price = Field(each, kind="number", value=first, on_change=self.recompute)
                self.delivery = Field(sentences.DELIVERY, kind="number", on_change=self.recompute)
                self.whole = Field(
                    sentences.WHOLE_SPOTS, kind="checkbox", value=False, on_change=self.recompute
                )
            self.body = Element("div").props('aria-live="polite"')

    async def refresh(self) -> None:
        """Plan anew when the season is another one."""
        if self._shown is not self.desk.standing:
            self._shown = self.desk.standing
            await self.recompute()

    async def recompute(self) -> None:
        """Plan with the budget and prices as they stand, and write spots.csv."""
        self._turn += 1
        turn, season = self._turn, self.desk.season
        if season is None:
            self._say(sentences.NO_SPOTS)
            return
        try:
            plan = await asyncio.to_thread(self._plan, season)
        except SwardmarkError as error:
            self._say(str(error))
            return
        except ValueError:
            self._say(sentences.NOT_NUMBERS)
            return
        if turn == self._turn:
            self._show(plan)

    def _plan(self, season: Season) -> RelevelPlan:
        price = _number(self.price.value)
        per_m3 = price / CUBIC_YARD_M3 if price is not None and self.us else price
        money, delivery = _number(self.money.value), _number(self.delivery.value)
        budget = budget_of(season.lawn, money=money, price_per_m3=per_m3, delivery_price=delivery)
        plan = relevel_plan_of(season, budget=budget, whole_only=bool(self.whole.value))
        write_spots(plan, folder=own_folder(self.desk.folder, "out"))
        return plan

    def _say(self, line: str) -> None:
        self.body.clear()
        with self.body:
            words("p", line, "sm-quiet")

    def _show(self, plan: RelevelPlan) -> None:
        self.body.clear()
        with self.body:
            for line in plan_sentences(plan):
                words("p", line)
            for sheet in shown.spot_sheets(self.desk, plan):
                SpotSheet(**sheet)
            with Element("ul").classes("sm-spots"):
                for spot in (spot_words(item, plan.lawn) for item in plan.spots):
                    with Element("li").classes("sm-chosen" if spot.is_chosen else ""):
                        words("strong", sentences.SPOT.format(number=spot.number))
                        words("span", spot.area, "sm-number")
                        words("span", spot.when, "sm-status-word")
                        words(
                            "p",
                            sentences.SPOT_ABOUT.format(where=spot.where, depth=spot.depth, sand=spot.sand),
                        )
            for action, text in cautions(plan):
                words(
                    "p",
                    sentences.CAUTION.format(action=f"{action[0].upper()}{action[1:]}", text=text),
                    "sm-caution",
                )


def _number(text: str) -> float | None:
    return float(text.replace(",", ".")) if str(text).strip() else None
