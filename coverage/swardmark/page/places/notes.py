"""What the keeper read and did: one form for a reading, one for the diary, and their lines, each of which can go."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any, get_args

from nicegui.element import Element

from swardmark.common.units import format_depth
from swardmark.lawn.editing import add_diary_entry, add_reading
from swardmark.lawn.edits.lines import remove_line
from swardmark.lawn.readings import (
    DIARY_FILE,
    READINGS_FILE,
    DiaryEntry,
    Reading,
    What,
    read_diary,
    read_readings,
)
from swardmark.lawn.toml import Lawn
from swardmark.page.desk import Desk
from swardmark.page.forms import Choice, Field, button, words
from swardmark.page.places import sentences
from swardmark.page.places.keeping import keep
from swardmark.words.phrases import day_text

MOST_LINES = 20


class Notes:
    """Readings and diary, below the answer."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        lawn = desk.lawn()
        self.unit = "in" if lawn.units == "us" else "mm"
        self._seen: Any = None
        with Element("div").classes("sm-two"):
            with Element("div"):
                self._diary_form()
                self.diary = Element("ul").classes("sm-lines")
            with Element("div"):
                self._reading_form([zone.name for zone in lawn.zone])
                self.readings = Element("ul").classes("sm-lines")
        self.refresh()

    def refresh(self) -> None:
        """Show the lines as the files have them now."""
        lawn = self.desk.lawn()
        diary, readings = read_diary(self.desk.folder), read_readings(self.desk.folder)
        if self._seen == (diary, readings, lawn.units):
            return
        self._seen = diary, readings, lawn.units
        self.zone.offer(_zone_options([zone.name for zone in lawn.zone]))
        _show(self.diary, [(entry, _diary_words(entry, lawn)) for entry in diary], self._removing(DIARY_FILE))
        _show(
            self.readings,
            [(one, _reading_words(one, lawn)) for one in readings],
            self._removing(READINGS_FILE),
        )

    def _removing(self, name: str) -> Callable[[Any], Callable[[], Any]]:
        return lambda row: (
            lambda: keep(
                self.desk, [name], lambda: remove_line(self.desk.folder, name, row), sentences.LINE_REMOVED
            )
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

        def act() -> None:
            values = {
                "date": day.value, "zone": zone.value, "spot": spot.value,
                f"height_{self.unit}": height.value, f"dip_{self.unit}": dip.value,
                "firm": firm.value, "note": note.value,
            }  # fmt: skip
            if keep(self.desk, [READINGS_FILE], lambda: add_reading(self.desk.folder, values)):
                for field in (height, dip, spot, note):
                    field.clear()

        button(sentences.SAVE_READING, act)

    def _diary_form(self) -> None:
        words("h3", sentences.DIARY)
        day = Field(sentences.DAY, kind="date", value=dt.date.today().isoformat())
        what = Choice(sentences.WHAT, [(word, word) for word in get_args(What)], value="watered")
        amount = Field(sentences.AMOUNT, hint=sentences.AMOUNT_HINT)
        note = Field(sentences.NOTE)

        def act() -> None:
            values = {"date": day.value, "what": what.value, "amount": amount.value, "note": note.value}
            if keep(self.desk, [DIARY_FILE], lambda: add_diary_entry(self.desk.folder, values)):
                amount.clear()
                note.clear()

        button(sentences.SAVE_ENTRY, act)


def _show(box: Element, lines: list[tuple[Any, str]], removing: Callable[[Any], Callable[[], Any]]) -> None:
    """Show the newest lines, each with its own way out."""
    box.clear()
    with box:
        for row, text in list(reversed(lines))[:MOST_LINES]:
            with Element("li"):
                words("span", text)
                out = button(sentences.REMOVE, removing(row), "sm-plain sm-small")
                out.props["aria-label"] = sentences.REMOVE_LINE.format(line=text)


def _diary_words(entry: DiaryEntry, lawn: Lawn) -> str:
    parts = (day_text(entry.date, lawn.date_form), entry.what, entry.amount, entry.note)
    return sentences.JOINED.join(part for part in parts if part)


def _reading_words(one: Reading, lawn: Lawn) -> str:
    parts = [day_text(one.date, lawn.date_form), one.zone]
    if one.height_mm is not None:
        parts.append(sentences.LEAF_OF.format(height=format_depth(one.height_mm, units=lawn.units)))
    if one.dip_mm is not None:
        parts.append(sentences.DIP_OF.format(depth=format_depth(one.dip_mm, units=lawn.units)))
    if one.firm is not None:
        parts.append(sentences.IS_FIRM if one.firm else sentences.IS_SOFT)
    return sentences.JOINED.join(part for part in (*parts, one.note) if part)


def _zone_options(zones: list[str]) -> list[tuple[str, str]]:
    return [("", sentences.WHOLE_LAWN), *((name, name) for name in dict.fromkeys(zones))]
