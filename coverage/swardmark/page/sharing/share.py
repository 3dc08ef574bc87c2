"""The place Share: the report, one picture, the calendar, what is printed, the tables, and everything in one file."""

from __future__ import annotations

from nicegui import ui
from nicegui.element import Element

from swardmark.common.errors import SwardmarkError
from swardmark.page.desk import Desk
from swardmark.page.forms import button, link, tell, words
from swardmark.page.places import sentences
from swardmark.page.places.plain import plain
from swardmark.page.sharing.sand_form import SandForm


class SharePlace:
    """Everything that leaves the page."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self._there: list[str] | None = None
        words("h2", sentences.SHARE)
        with Element("div").classes("sm-two"):
            with Element("div"):
                words("h3", sentences.REPORT)
                words("p", sentences.REPORT_INTRO, "sm-quiet")
                self.report = button(sentences.REPORT_BUTTON, self._report)
                words("h3", sentences.PICTURE)
                words("p", sentences.PICTURE_INTRO, "sm-quiet")
                self.picture = Element("div")
                words("h3", sentences.PRINTED)
                with Element("div").classes("sm-files"):
                    for name, text in sentences.PRINTS.items():
                        link(text, f"/print/{name}")
            with Element("div"):
                words("h3", sentences.BACKUP)
                words("p", sentences.BACKUP_INTRO, "sm-quiet")
                link(sentences.BACKUP_BUTTON, "/backup.zip", "sm-button")
                words("h3", sentences.TABLES)
                self.files = Element("div").classes("sm-files")
        SandForm(desk)
        self.refresh()

    def refresh(self) -> None:
        """Offer the files that are there."""
        there = [
            name
            for name in sentences.FILES
            if any((self.desk.folder / part / name).is_file() for part in ("out", "."))
        ]
        if self.desk.season is not None:
            there.append("picture")
        if self._there == there:
            return
        self._there = there
        for box in (self.files, self.picture):
            box.clear()
        with self.files:
            if self.desk.season is not None:
                link(sentences.CALENDAR_BUTTON, "/calendar.ics")
            for name in there:
                if name in sentences.FILES:
                    link(sentences.FILES[name], f"/take/{name}")
        with self.picture:
            if self.desk.season is not None:
                link(sentences.PICTURE_BUTTON, "/share.jpg")
            else:
                words("p", sentences.NO_COURSE, "sm-quiet")

    async def _report(self) -> None:
        self.report.props("disabled")
        try:
            await self.desk.report()
        except SwardmarkError as error:
            tell(plain(str(error)), bad=True)
        else:
            ui.download("/take/report.html", "report.html")
        finally:
            self.report.props(remove="disabled")
