"""What the keeper read and did: one form for the diary, one for a reading, and their lines, each of which can go.

The forms send by themselves (js/note.js), so that a note waits in the browser where the page is out of reach.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, get_args

from nicegui.element import Element

from swardmark.common.units import format_depth
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
from swardmark.page.elements import NoteForm
from swardmark.page.forms import button, words
from swardmark.page.places import sentences
from swardmark.page.places.keeping import keep
from swardmark.words.phrases import day_text

MOST_LINES = 20


class Notes:
    """Readings and diary, below the answer."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        lawn = desk.lawn()
        self._seen: Any = None
        self.forms, self.lines = [], []
        with Element("div").classes("sm-two"):
            for form in note_forms(lawn):
                with Element("div"):
                    words("h3", form["words"]["title"])
                    self.forms.append(NoteForm(**form))
                    self.lines.append(Element("ul").classes("sm-lines"))
        self.refresh()

    def refresh(self) -> None:
        """Show the lines as the files have them now."""
        lawn = self.desk.lawn()
        diary, readings = read_diary(self.desk.folder), read_readings(self.desk.folder)
        for shown, form in zip(self.forms, note_forms(lawn), strict=True):
            shown.show(**form)
        if self._seen == (diary, readings, lawn.units):
            return
        self._seen = diary, readings, lawn.units
        _show(
            self.lines[0], [(entry, _diary_words(entry, lawn)) for entry in diary], self._removing(DIARY_FILE)
        )
        _show(
            self.lines[1],
            [(one, _reading_words(one, lawn)) for one in readings],
            self._removing(READINGS_FILE),
        )

    def _removing(self, name: str) -> Callable[[Any], Callable[[], Any]]:
        return lambda row: (
            lambda: keep(
                self.desk, [name], lambda: remove_line(self.desk.folder, name, row), sentences.LINE_REMOVED
            )
        )


def note_forms(lawn: Lawn) -> list[dict[str, Any]]:
    """Return the forms of the diary and of a reading, as the page's and the unreached page's scripts show them."""
    unit = "in" if lawn.units == "us" else "mm"
    day = _field("date", sentences.DAY, "date")
    diary = [
        day,
        _field("what", sentences.WHAT, options=[(word, word) for word in get_args(What)], value="watered"),
        _field("amount", sentences.AMOUNT, hint=sentences.AMOUNT_HINT),
        _field("note", sentences.NOTE),
    ]
    reading = [
        day,
        _field("zone", sentences.ZONE, options=_zone_options([zone.name for zone in lawn.zone])),
        _field(f"height_{unit}", sentences.LEAF_HEIGHT.format(unit=unit), "number"),
        _field(f"dip_{unit}", sentences.DIP.format(unit=unit), "number"),
        _field("spot", sentences.DIP_SPOT, "number"),
        _field("firm", sentences.FIRM, options=list(sentences.FIRM_ANSWERS.items())),
        _field("note", sentences.NOTE),
    ]
    return [
        {"kind": "diary", "fields": diary, "words": {"title": sentences.DIARY, "keep": sentences.SAVE_ENTRY}},
        {
            "kind": "reading",
            "fields": reading,
            "words": {"title": sentences.READING, "keep": sentences.SAVE_READING},
        },
    ]


def depth_form(spot: int, lawn: Lawn) -> dict[str, Any]:
    """Return the form of a spot's depth."""
    unit = "in" if lawn.units == "us" else "mm"
    fields = [_field(f"dip_{unit}", sentences.SPOT_DEPTH.format(unit=unit), "number")]
    names = {"title": sentences.SPOT.format(number=spot), "keep": sentences.KEEP}
    return {"kind": "depth", "fields": fields, "fixed": {"spot": str(spot)}, "words": names}


def _field(name: str, label: str, kind: str = "text", **more: Any) -> dict[str, Any]:
    return {"name": name, "label": label, "kind": kind, "value": "", "options": None, "hint": "", **more}


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
        template = sentences.DIP_OF_SPOT if one.spot else sentences.DIP_OF
        parts.append(template.format(spot=one.spot, depth=format_depth(one.dip_mm, units=lawn.units)))
    if one.firm is not None:
        parts.append(sentences.IS_FIRM if one.firm else sentences.IS_SOFT)
    return sentences.JOINED.join(part for part in (*parts, one.note) if part)


def _zone_options(zones: list[str]) -> list[tuple[str, str]]:
    return [("", sentences.WHOLE_LAWN), *((name, name) for name in dict.fromkeys(zones))]
