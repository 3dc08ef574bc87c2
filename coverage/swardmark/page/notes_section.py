"""Notes and take away: what the keeper measured, did and confirmed; and the files to take along."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any, get_args

from nicegui import ui
from nicegui.element import Element

from swardmark.common.errors import SwardmarkError
from swardmark.lawn.editing import add_diary_entry, add_reading, confirm
from swardmark.lawn.readings import What
from swardmark.page.desk import Desk
from swardmark.page.forms import Choice, Field, button, link, section, tell, words
from swardmark.words.phrases import day_text

CONFIRMATIONS = {
    "dry": "The surface is dry",
    "firm": "It is firm under the heel",
    "tug_test_passed": "A tug does not lift the turf",
    "no_loose_ridges": "No loose ridges of sand",
}
FILES = {
    "cover.csv": "Cover, every photo and zone",
    "outlook.csv": "Outlook, every zone",
    "spots.csv": "Spots to level",
    "readings.csv": "Your readings",
    "diary.csv": "Your diary",
}


class NotesSection:
    """The section Notes."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        lawn = desk.lawn()
        self.unit = "in" if lawn.units == "us" else "mm"
        with section("notes", "Notes"):
            words("h3", "Before the first mow, tick what you found on the ground")
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
            for check, text in CONFIRMATIONS.items():
                day = getattr(lawn.confirmed, check)
                with Element("li"):
                    words("span", f"{text}{': ' + day_text(day, lawn.units) if day else ''}")
                    label, new = ("Take back", None) if day else ("Yes, today", dt.date.today())
                    button(label, self._confirming(check, new, revision), "sm-small sm-plain")

    def _confirming(self, check: str, day: dt.date | None, revision: str) -> Callable[[], bool]:
        return lambda: self._keep(lambda: confirm(self.desk.folder, check, day, revision=revision), "Kept.")

    def _reading_form(self, zones: list[str]) -> None:
        words("h3", "A reading")
        day = Field("Day", kind="date", value=dt.date.today().isoformat())
        zone = self.zone = Choice("Zone", _zone_options(zones))
        height = Field(f"Leaf height, {self.unit}", kind="number")
        dip = Field(f"Dip under a straightedge, {self.unit}", kind="number")
        spot = Field("Spot number, for a dip", kind="number")
        firm = Choice("Firm under the heel?", [("", "not looked at"), ("yes", "yes"), ("no", "no")])
        note = Field("Note")

        def keep() -> None:
            values = {
                "date": day.value, "zone": zone.value, "spot": spot.value,
                f"height_{self.unit}": height.value, f"dip_{self.unit}": dip.value,
                "firm": firm.value, "note": note.value,
            }  # fmt: skip
            if self._keep(lambda: add_reading(self.desk.folder, values), "Kept in readings.csv."):
                for field in (height, dip, spot, note):
                    field.clear()

        button("Keep the reading", keep)

    def _diary_form(self) -> None:
        words("h3", "The diary")
        day = Field("Day", kind="date", value=dt.date.today().isoformat())
        what = Choice("What", [(word, word) for word in get_args(What)], value="watered")
        amount = Field("How much", hint="As you say it: 10 mm, 20 minutes.")
        note = Field("Note")

        def keep() -> None:
            values = {"date": day.value, "what": what.value, "amount": amount.value, "note": note.value}
            if self._keep(lambda: add_diary_entry(self.desk.folder, values), "Kept in diary.csv."):
                amount.clear()
                note.clear()

        button("Keep the entry", keep)

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
    return [("", "the whole lawn"), *((name, name) for name in dict.fromkeys(zones))]


class TakeSection:
    """The section Take away."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        with section("take", "Take away"):
            words("p", "The report is one file that opens anywhere, without the internet.", "sm-quiet")
            self.report = button("Write and download the report", self._report)
            self.files = Element("div").classes("sm-files")
        self.refresh()

    def refresh(self) -> None:
        """Offer the files that are there."""
        there = [
            name for name in FILES if any((self.desk.folder / part / name).is_file() for part in ("out", "."))
        ]
        if getattr(self, "_there", None) == there:
            return
        self._there = there
        self.files.clear()
        with self.files:
            for name in there:
                link(f"{FILES[name]} ({name})", f"/take/{name}")

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
