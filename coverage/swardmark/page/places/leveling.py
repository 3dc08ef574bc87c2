"""The place Next leveling: spots and sand, anew with every change of budget or price."""

from __future__ import annotations

import asyncio
from typing import Any

from nicegui.element import Element

from swardmark.common.errors import SwardmarkError
from swardmark.common.files import own_folder
from swardmark.common.numbers import number_alone
from swardmark.common.units import CUBIC_YARD_M3
from swardmark.lawn.toml import Lawn
from swardmark.page import shown
from swardmark.page.desk import Desk
from swardmark.page.elements import NoteForm, SpotSheet
from swardmark.page.forms import Field, words
from swardmark.page.places import sentences
from swardmark.page.places.heights import HeightsPart, ProbePart
from swardmark.page.places.notes import depth_form
from swardmark.page.places.plain import plain
from swardmark.page.walk.part import WalkPart
from swardmark.relevel.advice import cautions, plan_sentences
from swardmark.relevel.planning import RelevelPlan, budget_of
from swardmark.season import Season, relevel_plan_of
from swardmark.words.rows import spot_words
from swardmark.words.tables import write_spots


class NextPlace:
    """The place Next leveling: spots and sand, anew with every change of budget or price."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self._shown: Any = None
        self._turn = 0
        self._probed: Any = None
        lawn = desk.lawn()
        self.us = lawn.units == "us"
        self._own_price = own_price_text(lawn, us=self.us)
        words("h2", sentences.NEXT)
        with Element("div").classes("sm-fields"):
            self.money = Field(sentences.BUDGET, kind="number", on_change=self.recompute)
            each = sentences.PRICE_YARD if self.us else sentences.PRICE_M3
            self.price = Field(each, kind="number", value=self._own_price, on_change=self.recompute)
            self.delivery = Field(sentences.DELIVERY, kind="number", on_change=self.recompute)
            self.whole = Field(sentences.WHOLE_SPOTS, kind="checkbox", value=False, on_change=self.recompute)
        self.body = Element("div").props('aria-live="polite"')
        self.probe = Element("div")
        self.walk = WalkPart(desk)
        HeightsPart(desk)

    async def refresh(self) -> None:
        """Plan anew when the season is another one, and show what the walk around the square has."""
        await self.walk.refresh()
        self._follow_price()
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
            self._say(plain(str(error)))
            return
        except ValueError:
            self._say(sentences.NOT_NUMBERS)
            return
        if turn == self._turn:
            self._show(plan)

    def _follow_price(self) -> None:
        """Show the price of Settings when it was changed there, unless another one was tried here."""
        now = own_price_text(self.desk.lawn(), us=self.us)
        if now != self._own_price:
            if str(self.price.value) == self._own_price:
                self.price.put(now)
            self._own_price = now

    def _plan(self, season: Season) -> RelevelPlan:
        per_m3 = price_tried(str(self.price.value), season.lawn, us=self.us)
        money, delivery = _number(str(self.money.value)), _number(str(self.delivery.value))
        budget = budget_of(season.lawn, money=money, price_per_m3=per_m3, delivery_price=delivery)
        plan = relevel_plan_of(season, budget=budget, whole_only=bool(self.whole.value))
        write_spots(plan, folder=own_folder(self.desk.folder, "out"))
        return plan

    def _say(self, line: str) -> None:
        self.body.clear()
        with self.body:
            words("p", plain(line), "sm-quiet")

    def _show(self, plan: RelevelPlan) -> None:
        self.body.clear()
        with self.body:
            for line in plan_sentences(plan):
                words("p", plain(line))
            for sheet in shown.spot_sheets(self.desk, plan):
                SpotSheet(**sheet)
            with Element("ul").classes("sm-spots"):
                for item in plan.spots:
                    spot = spot_words(item, plan.lawn)
                    with Element("li").classes("sm-chosen" if spot.is_chosen else ""):
                        words("strong", sentences.SPOT.format(number=spot.number))
                        words("span", plain(spot.area), "sm-number")
                        words("span", spot.when, "sm-status-word")
                        words(
                            "p",
                            plain(
                                sentences.SPOT_ABOUT.format(
                                    where=spot.where, depth=spot.depth, sand=spot.sand
                                )
                            ),
                        )
                        if item.needs_measuring:
                            NoteForm(**depth_form(item.spot.number, plan.lawn))
            for action, text in cautions(plan):
                words(
                    "p",
                    sentences.CAUTION.format(action=f"{action[0].upper()}{action[1:]}", text=text),
                    "sm-caution",
                )
        spots = [(item.spot.number, item.spot.point, item.spot.x_m, item.spot.y_m) for item in plan.spots]
        if (plan.lawn.units, spots) != self._probed:  # answers that are being tapped stand
            self._probed = plan.lawn.units, spots
            self.probe.clear()
            with self.probe:
                ProbePart(self.desk, plan)


def own_price_text(lawn: Lawn, *, us: bool) -> str:
    """Return the lawn's own price of sand as it is entered, per cubic yard or cubic meter; empty without one."""
    price = lawn.sand.price_per_m3
    return "" if price is None else f"{price * CUBIC_YARD_M3 if us else price:.2f}"


def price_tried(text: str, lawn: Lawn, *, us: bool) -> float | None:
    """Return a price of sand per m³ that was entered; None where it is the lawn's own, which is not rounded."""
    price = _number(text) if text != own_price_text(lawn, us=us) else None
    return price / CUBIC_YARD_M3 if price is not None and us else price


def _number(text: str) -> float | None:
    if not text.strip():
        return None
    value = number_alone(text)
    if value is None:
        raise ValueError(text)
    return value
