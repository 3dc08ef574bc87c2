"""The page: its places, one on a phone and two on a wide screen, and the pulse that keeps every tab up to date."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path
from typing import Any

from fastapi import Request
from nicegui import ui
from nicegui.element import Element

from swardmark.common.errors import SwardmarkError
from swardmark.page import sentences
from swardmark.page.begin import begin_section
from swardmark.page.desk import Desk
from swardmark.page.elements import Intake, Places
from swardmark.page.forms import Notices, section, tell, words
from swardmark.page.installed import HEAD
from swardmark.page.memory import SilentTabs
from swardmark.page.places.course import CoursePlace
from swardmark.page.places.leveling import NextPlace
from swardmark.page.places.notes import Notes
from swardmark.page.places.photos import PhotosPlace
from swardmark.page.places.plain import plain
from swardmark.page.places.settings import SettingsPlace
from swardmark.page.places.today import TodayPlace
from swardmark.page.places.zones import ZonesPlace
from swardmark.page.sharing.share import SharePlace
from swardmark.page.shown import intake

PULSE_S = 0.6
LOOK = Path(__file__).with_name("look.css")
BUILT: dict[str, Callable[[Desk], Any]] = {
    "course": lambda desk: (
        _folded(CoursePlace, sentences.COURSE)(desk),
        _folded(Notes, sentences.NOTES)(desk),
    ),
    "photos": PhotosPlace,
    "zones": ZonesPlace,
    "next": NextPlace,
    "settings": SettingsPlace,
    "share": SharePlace,
}
"""The places that are built when they are first gone to; "course" stands beside or below Today."""


def _folded(place: Callable[[Desk], Any], title: str) -> Callable[[Desk], Any]:
    """Return a place below a heading that opens it; a wide screen shows it open."""

    def build(desk: Desk) -> Any:
        with Element("details").classes("sm-fold"):
            with Element("summary"):
                words("h2", title)
            return place(desk)

    return build


def lay_out(desk: Desk) -> None:
    """Register the page; each tab that opens gets its own places over the same desk."""
    silent = SilentTabs()

    @ui.page("/", title="swardmark", language="en-US")
    def page(request: Request) -> None:
        silent.add(ui.context.client)
        ui.add_head_html(HEAD)
        ui.add_css(LOOK.read_text(encoding="utf-8"))
        with Element("div").classes("sm-page"):
            Notices()
            try:
                _build(desk, request.headers.get("accept-language", ""))
            except SwardmarkError as error:
                with section("trouble", sentences.UNREADABLE):
                    words("p", str(error), "sm-bad")
                    words("p", sentences.UNREADABLE_REMEDY, "sm-quiet")


def _build(desk: Desk, languages: str) -> None:
    if not desk.has_lawn:
        _head("swardmark")
        begin_section(desk, languages)
        return
    lawn = desk.lawn()
    ui.page_title(lawn.name)
    _head(lawn.name, share=True)
    Tab(desk)
    if (desk.trouble or not desk.standing.entries) and lawn.photos():
        desk.measure_soon()


def _head(title: str, *, share: bool = False) -> None:
    with Element("header").classes("sm-head"):
        words("h1", title)
        if share:
            words("a", sentences.SHARE)._props["href"] = "#share"


class Tab:
    """The places of one tab, and what brings them up to date."""

    def __init__(self, desk: Desk) -> None:
        self.desk, self.version, self.trouble = desk, -1, ""
        self.built: dict[str, Any] = {}
        self.boxes: dict[str, Element] = {}
        self.nav = Places(
            places=sentences.PLACES, others=["share"], label=sentences.PLACES_LABEL, first="today"
        )
        with Element("div").classes("sm-columns"):
            with Element("div").classes("sm-first"):
                self.today = TodayPlace(desk)
                self.intake = Intake(**intake(desk))
                self.intake.on("trouble", lambda event: tell(str(event.args), bad=True))
            with Element("div").classes("sm-second"):
                for name in BUILT:
                    self.boxes[name] = Element("section").classes("sm-place").props(f'id="{name}"')
        self.nav.on("go", self._go)
        ui.timer(PULSE_S, self.beat)

    async def beat(self) -> None:
        """Show progress, and whatever changed since the last beat."""
        self.today.show_progress()
        self.desk.keep_up(dt.date.today())
        if self.version == self.desk.version:
            return
        self.version = self.desk.version
        try:
            self.today.refresh()
            self.intake.show(**intake(self.desk))
            for place in self.built.values():
                for part in place if isinstance(place, tuple) else (place,):
                    await _refreshed(part)
        except SwardmarkError as error:
            self._tell_trouble(str(error))
        self._tell_trouble(self.desk.trouble)

    async def _go(self, event: Any) -> None:
        """Build the place that was gone to, with what stands beside Today."""
        name = "course" if event.args == "today" else str(event.args)
        if name not in self.built and name in BUILT:
            with self.boxes[name]:
                try:
                    place = self.built[name] = BUILT[name](self.desk)
                    if isinstance(place, NextPlace):
                        await place.refresh()
                except SwardmarkError as error:
                    self._tell_trouble(str(error))
        ui.run_javascript("window.dispatchEvent(new Event('sm-built'))")

    def _tell_trouble(self, trouble: str) -> None:
        if trouble and trouble != self.trouble:
            tell(plain(trouble), bad=True)
        self.trouble = trouble


async def _refreshed(part: Any) -> None:
    waiting = part.refresh()
    if waiting is not None:
        await waiting
