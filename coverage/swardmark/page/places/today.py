"""The place Today: the answer, the card of the day, and the camera."""

from __future__ import annotations

import datetime as dt
from typing import Any

from nicegui.element import Element

from swardmark.lawn.readings import read_diary
from swardmark.page.desk import Desk
from swardmark.page.elements import TodayCard
from swardmark.page.places import sentences
from swardmark.page.places.answer import answer
from swardmark.page.places.card import card
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
        return card(known, lawn=lawn, diary=diary)


def progress_of(desk: Desk) -> dict[str, Any]:
    """Return what is under way, in words and as a part of the whole; no words where nothing is."""
    now = desk.progress
    if not now.what:
        return {"words": "", "part": 0}
    template = sentences.PROGRESS if now.total else sentences.PROGRESS_BEGINS
    count = min(now.done + 1, now.total)
    words = template.format(what=now.what, count=count, total=now.total)
    return {"words": words, "part": now.done / now.total if now.total else 0}
