"""The page: its sections one below the other, and the pulse that keeps every tab up to date."""

from __future__ import annotations

from pathlib import Path

from fastapi import Request
from nicegui import ui
from nicegui.element import Element

from swardmark.common.errors import SwardmarkError
from swardmark.page import sentences
from swardmark.page.begin import LawnSection, begin_section
from swardmark.page.desk import Desk
from swardmark.page.forms import section, words
from swardmark.page.notes_section import NotesSection, TakeSection
from swardmark.page.photo_section import PhotosSection, ZonesSection
from swardmark.page.reading_section import LevelingSection, OutlookSection

PULSE_S = 0.6
LOOK = Path(__file__).with_name("look.css")


def lay_out(desk: Desk) -> None:
    """Register the page; each tab that opens gets its own sections over the same desk."""

    @ui.page("/", title="swardmark")
    def page(request: Request) -> None:
        ui.add_css(LOOK.read_text(encoding="utf-8"))
        with Element("main").classes("sm-page"):
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
    _head(desk.lawn().name)
    with Element("nav").classes("sm-nav").props(f'aria-label="{sentences.SECTIONS_LABEL}"'):
        for anchor, text in sentences.SECTIONS.items():
            words("a", text)._props["href"] = f"#{anchor}"
    Pulse(desk)
    if not desk.standing.entries and desk.lawn().photos():
        desk.measure_soon()


def _head(title: str) -> None:
    with Element("header").classes("sm-head"):
        words("p", "swardmark", "sm-mark")
        words("h1", title)


class Pulse:
    """The sections of one tab, and what brings them up to date."""

    def __init__(self, desk: Desk) -> None:
        self.desk, self.version = desk, -1
        self.trouble = words("p", "", "sm-bad sm-trouble")
        self.lawn = LawnSection(desk)
        self.photos = PhotosSection(desk)
        self.zones = ZonesSection(desk)
        self.outlook = OutlookSection(desk)
        self.leveling = LevelingSection(desk)
        self.notes = NotesSection(desk)
        self.take = TakeSection(desk)
        with Element("div").classes("sm-progress").props('role="status"') as self.strip:
            self.strip_words = words("span", "")
            self.strip_bar = Element("progress").props('max="1"')
        ui.timer(PULSE_S, self.beat)

    async def beat(self) -> None:
        """Show progress, and whatever changed since the last beat."""
        self._show_progress()
        if self.version == self.desk.version:
            return
        self.version = self.desk.version
        try:
            for part in (self.lawn, self.photos, self.zones, self.outlook, self.notes, self.take):
                part.refresh()
            await self.leveling.refresh()
            self.trouble.set_text(self.desk.trouble)
        except SwardmarkError as error:
            self.trouble.set_text(str(error))

    def _show_progress(self) -> None:
        now = self.desk.progress
        self.strip.classes(add="on" if now.what else "off", remove="off" if now.what else "on")
        if now.what:
            template = sentences.PROGRESS if now.total else sentences.PROGRESS_BEGINS
            self.strip_words.set_text(template.format(**vars(now)))
            self.strip_bar._props["value"] = now.done / now.total if now.total else 0.05
            self.strip_bar.update()
