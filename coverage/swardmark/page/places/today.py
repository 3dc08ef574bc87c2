"""The place Today: the answer, the card of the day, and the camera."""

from __future__ import annotations

import datetime as dt
from typing import Any

from nicegui.element import Element

from swardmark.lawn.editing import add_diary_entry, add_reading, confirm
from swardmark.lawn.edits.lines import remove_line
from swardmark.lawn.readings import DIARY_FILE, READINGS_FILE, read_diary
from swardmark.lawn.toml import LAWN_FILE
from swardmark.page.desk import Desk
from swardmark.page.elements import TodayCard
from swardmark.page.places import sentences
from swardmark.page.places.answer import answer
from swardmark.page.places.card import card, done_entry, is_done
from swardmark.page.places.keeping import keep
from swardmark.page.walk.part import SandDay
from swardmark.season import known_unseen


class TodayPlace:
    """What the keeper sees first."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self._shown: Any = None
        with Element("section").classes("sm-place").props('id="today"'):
            self.body = TodayCard(
                answer=answer(desk),
                card=self._card(),
                progress=progress_of(desk),
                words=sentences.TODAY_WORDS,
            )
            self.sand_day = SandDay(desk)
        self.body.on("tick", self._tick)
        self.body.on("leaf", self._leaf)
        self.body.on("look", self._look)

    def refresh(self) -> None:
        """Show what is new."""
        if self._shown is not self.desk.standing:
            self._shown = self.desk.standing
            self.body.show(answer=answer(self.desk))
        self.body.show(card=self._card())
        self.sand_day.refresh()

    def show_progress(self) -> None:
        """Show what is under way."""
        self.body.show(progress=progress_of(self.desk))

    def _card(self) -> dict[str, Any]:
        known = self.desk.standing.known or known_unseen(self.desk.folder, on=dt.date.today())
        lawn = self.desk.lawn()
        diary = tuple(line for line in read_diary(self.desk.folder) if line.date <= known.as_of)
        self._diary = diary
        return card(known, lawn=lawn, diary=diary)

    def _tick(self, event: Any) -> None:
        key, on, day = str(event.args["key"]), bool(event.args["on"]), dt.date.today()
        line = next((one for one in self._card()["lines"] if one["key"] == key), None)
        if line is None:
            return
        noted = is_done(key, line["do"], day, self._diary)
        if on:
            keep(
                self.desk,
                [DIARY_FILE],
                lambda: add_diary_entry(self.desk.folder, done_entry(key, line["do"], day)),
                sentences.NOTED,
            )
        elif noted is not None:
            keep(
                self.desk,
                [DIARY_FILE],
                lambda: remove_line(self.desk.folder, DIARY_FILE, noted),
                sentences.NOTED_NO_MORE,
            )

    def _leaf(self, event: Any) -> None:
        unit = "in" if self.desk.lawn().units == "us" else "mm"
        values = {"date": dt.date.today().isoformat(), f"height_{unit}": str(event.args)}
        keep(
            self.desk,
            [READINGS_FILE],
            lambda: add_reading(self.desk.folder, values),
            sentences.LEAF_KEPT.format(height=str(event.args), unit=unit),
        )

    def _look(self, event: Any) -> None:
        name, on = str(event.args["name"]), bool(event.args["on"])
        _, revision = self.desk.lawn_and_revision()
        day = dt.date.today() if on else None
        keep(self.desk, [LAWN_FILE], lambda: confirm(self.desk.folder, name, day, revision=revision))


def progress_of(desk: Desk) -> dict[str, Any]:
    """Return what is under way, in words and as a part of the whole; no words where nothing is."""
    now = desk.progress
    if not now.what:
        return {"words": "", "part": 0}
    template = sentences.PROGRESS if now.total else sentences.PROGRESS_BEGINS
    count = min(now.done + 1, now.total)
    words = template.format(what=now.what, count=count, total=now.total)
    return {"words": words, "part": now.done / now.total if now.total else 0}
