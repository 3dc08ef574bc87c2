"""How it goes: the curves, what the first mow waits for, and each zone, one tap below the answer."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any

from nicegui.element import Element

from swardmark.lawn.editing import confirm
from swardmark.lawn.toml import LAWN_FILE
from swardmark.page import shown
from swardmark.page.desk import Desk
from swardmark.page.elements import Curves
from swardmark.page.forms import TickLine, words
from swardmark.page.places import sentences
from swardmark.page.places.card import looks
from swardmark.page.places.keeping import keep
from swardmark.page.places.plain import plain
from swardmark.season import Season
from swardmark.words.rows import zones_in_words

STATE_SIGNS = {"met": "✓", "not met": "✗", "unknown": "?"}


class CoursePlace:
    """What the answer rests on; beside it on a wide screen, below it on a phone."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self._shown: Any = None
        self.body = Element("div")
        self.refresh()

    def refresh(self) -> None:
        """Show the latest season, if it is not shown already."""
        _, revision = self.desk.lawn_and_revision()
        standing = self.desk.standing
        if self._shown == (id(standing), revision):
            return
        self._shown = id(standing), revision
        self.body.clear()
        with self.body:
            if standing.season is None:
                words("p", plain(standing.fault) or sentences.NO_COURSE, "sm-quiet")
                return
            Curves(**shown.curves(self.desk))
            _checks(self.desk, standing.season)
            zone_rows(standing.season)


def _checks(desk: Desk, season: Season) -> None:
    """Show what the first mow waits for; the keeper's own looks are ticked here."""
    mow = (desk.standing.outlook or season.outlook).first_mow
    words("h3", sentences.BEFORE_FIRST_MOW)
    with Element("ul").classes("sm-checks"):
        for check in mow.checks:
            if check.look:
                continue
            with Element("li").classes(f"sm-{check.state.replace(' ', '-')}"):
                words("b", STATE_SIGNS[check.state])
                with Element("span"):
                    words("span", sentences.CHECK.format(name=check.name, detail=plain(check.detail)))
                    if check.name == mow.checks[1].name and check.state == "unknown":
                        words("a", sentences.TO_HEIGHTS_OF_CUT)._props["href"] = (
                            "#settings/mowing.target_height_mm"
                        )
    lawn, _ = desk.lawn_and_revision()
    for look in looks(lawn, desk.standing.known or season.known):
        TickLine(look["words"], look["on"], _looking(desk, look["name"]))
    if mow.caution:
        words("p", mow.caution, "sm-caution")


def _looking(desk: Desk, name: str) -> Callable[[bool], None]:
    def set_it(on: bool) -> None:
        _, revision = desk.lawn_and_revision()
        day = dt.date.today() if on else None
        keep(desk, [LAWN_FILE], lambda: confirm(desk.folder, name, day, revision=revision))

    return set_it


def zone_rows(season: Season | None) -> None:
    """Show each zone with its status, and why."""
    if season is None:
        return
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
                words("p", plain(row.why))
                if row.look_for:
                    words("p", plain(row.look_for), "sm-quiet")
                words("p", sentences.FULL.format(full=row.full), "sm-quiet")
    for note in season.outlook.notes:
        words("p", plain(note), "sm-note")
