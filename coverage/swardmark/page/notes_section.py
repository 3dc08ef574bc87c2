"""Notes and sharing: what the keeper measured, did and confirmed; and the files to download."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any, get_args

from nicegui import ui
from nicegui.element import Element

from swardmark.common.errors import SwardmarkError
from swardmark.lawn.editing import add_diary_entry, add_reading, confirm
from swardmark.lawn.readings import What
from swardmark.page import sentences
from swardmark.page.desk import Desk
from swardmark.page.forms import Choice, Field, button, link, section, tell, words
from swardmark.words.phrases import day_text


class NotesSection:
    """The section Notes."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        lawn = desk.lawn()
        self.unit = "in" if lawn.units == "us" else "mm"
        with section("notes", sentences.SECTIONS["notes"]):
            words("h3", sentences.TICK)
            self.confirmed = Element("ul").classes("sm-confirm")
            with Element("div").classes("sm-two"):
                with Element("div"):
                    self._reading_form([zone.name for zone in lawn.zone])
                with Element("div"):
                    self._diary_form()
        self.refresh()

    def refresh(self) -> None:
        """Show the confirmations as the file has them now."""
        lawn, revision = self.desk.lawn_and_revision()
        if getattr(self, "_seen", None) == (revision,):
            return
        self._seen = (revision,)
        self.zone.offer(_zone_options([zone.name for zone in lawn.zone]))
        self.confirmed.clear()
        with self.confirmed:
            for check, text in sentences.CONFIRMATIONS.items():
                day = getattr(lawn.confirmed, check)
                with Element("li"):
                    template = sentences.CONFIRMED_ON if day else "{check}"
                    words("span", template.format(check=text, day=day_text(day, lawn.units)))
                    label, new = (sentences.UNDO, None) if day else (sentences.YES_TODAY, dt.date.today())
                    button(label, self._confirming(check, new, revision), "sm-small sm-plain")

    def _confirming(self, check: str, day: dt.date | None, revision: str) -> Callable[[], bool]:
        return lambda: self._keep(
            lambda: confirm(self.desk.folder, check, day, revision=revision), sentences.SAVED
        )

    def _reading_form(self, zones: list[str]) -> None:
        words("h3", sentences.READING)
        day = Field(sentences.DAY, kind="date", value=dt.date.today().isoformat())
        zone = self.zone = Choice(sentences.ZONE, _zone_options(zones))
        height = Field(sentences.LEAF_HEIGHT.format(unit=self.unit), kind="number")
        dip = Field(sentences.DIP.format(unit=self.unit), kind="number")
        spot = Field(sentences.DIP_SPOT, kind="number")
        firm = Choice(sentences.FIRM, list(sentences.FIRM_ANSWERS.items()))
        note = Field(sentences.NOTE)

        def keep() -> None:
            values = {
                "date": day.value, "zone": zone.value, "spot": spot.value,
                f"height_{self.unit}": height.value, f"dip_{self.unit}": dip.value,
                "firm": firm.value, "note": note.value,
            }  # fmt: skip
            if self._keep(lambda: add_reading(self.desk.folder, values), sentences.READING_SAVED):
                for field in (height, dip, spot, note):
                    field.clear()

        button(sentences.SAVE_READING, keep)

    def _diary_form(self) -> None:
        words("h3", sentences.DIARY)
        day = Field(sentences.DAY, kind="date", value=dt.date.today().isoformat())
        what = Choice(sentences.WHAT, [(word, word) for word in get_args(What)], value="watered")
        amount = Field(sentences.AMOUNT, hint=sentences.AMOUNT_HINT)
        note = Field(sentences.NOTE)

        def keep() -> None:
            values = {"date": day.value, "what": what.value, "amount": amount.value, "note": note.value}
            if self._keep(lambda: add_diary_entry(self.desk.folder, values), sentences.ENTRY_SAVED):
                amount.clear()
                note.clear()

        button(sentences.SAVE_ENTRY, keep)

    def _keep(self, act: Callable[[], Any], said: str) -> bool:
        try:
            act()
        except SwardmarkError as error:
            tell(str(error), bad=True)
            self.refresh()
            return False
        tell(said)
        self.desk.changed()
        self.desk.measure_soon()
        return True


def _zone_options(zones: list[str]) -> list[tuple[str, str]]:
    return [("", sentences.WHOLE_LAWN), *((name, name) for name in dict.fromkeys(zones))]


class TakeSection:
    """The section Share."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        with section("take", sentences.SECTIONS["take"]):
            words("p", sentences.REPORT_INTRO, "sm-quiet")
            self.report = button(sentences.REPORT_BUTTON, self._report)
            self.files = Element("div").classes("sm-files")
        self.refresh()

    def refresh(self) -> None:
        """Offer the files that are there."""
        there = [
            name
            for name in sentences.FILES
            if any((self.desk.folder / part / name).is_file() for part in ("out", "."))
        ]
        if getattr(self, "_there", None) == there:
            return
        self._there = there
        self.files.clear()
        with self.files:
            for name in there:
                link(sentences.FILE.format(what=sentences.FILES[name], name=name), f"/take/{name}")

    async def _report(self) -> None:
        self.report.props("disabled")
        try:
            await self.desk.report()
        except SwardmarkError as error:
            tell(str(error), bad=True)
        else:
            ui.download("/take/report.html", "report.html")
        finally:
            self.report.props(remove="disabled")
