"""The card of the day as plain values: each line with its own control, so that no line sends the keeper to a file."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from swardmark.common.text import clean
from swardmark.lawn.readings import DiaryEntry
from swardmark.lawn.toml import Lawn
from swardmark.mowing.agenda import today
from swardmark.mowing.checks import keepers_looks
from swardmark.page.places import sentences
from swardmark.page.places.plain import plain
from swardmark.words.phrases import day_text

if TYPE_CHECKING:
    from swardmark.mowing.today import Known, Line

DONE_AS = {
    "water": "watered", "watered": "watered", "water less": "watered", "feed": "fed", "edge": "edged",
    "spread": "sanded", "way up": "mowed", "first mow": "mowed", "mow as usual": "mowed", "note mowing": "mowed",
}  # fmt: skip
"""What the diary calls the doing of a line; what is not here is kept as a note with the line's words."""
PAGE_WORDS = {
    "leaf": sentences.DO_LEAF,
    "looks": sentences.DO_LOOKS,
    "note mowing": sentences.DO_NOTE_MOWING,
    "usual": sentences.DO_USUAL,
    "set date": sentences.DO_SET_DATE,
    "level again": sentences.DO_LEVEL_AGAIN,
}
"""Lines that the page says in its own words, because their control stands beside them."""
LINKS = {
    "set date": ("settings/leveling", sentences.TO_LEVELING),
    "level again": ("settings/leveling", sentences.TO_LEVELING),
    "usual": ("settings/mowing.usual_height_mm", sentences.TO_HEIGHTS_OF_CUT),
    "probe": ("next/heights", sentences.TO_STRAIGHTEDGE),
    "refused": ("settings/leveling", sentences.TO_LEVELING),
    "plan": ("settings/leveling", sentences.TO_LEVELING),
}


def card(known: Known, *, lawn: Lawn, diary: Sequence[DiaryEntry]) -> dict[str, Any]:
    """Return the card of the day of knowledge; `lawn` and `diary` are as they stand now, for what is ticked already."""
    now = today(known)
    lines = [line for line in now.lines if not (_kind(line) == "note mowing" and _has_first_mow(now.lines))]
    return {
        "title": sentences.CARD.format(day=day_text(known.as_of, lawn.date_form), phase=now.phase),
        "lines": [_line(line, known, lawn, diary) for line in lines],
    }


def done_entry(key: str, do: str, day: dt.date) -> dict[str, object]:
    """Return the diary line that notes the doing of a line of the card."""
    what = DONE_AS.get(_kind_of(key), "note")
    note = "" if what != "note" else sentences.DONE_NOTE.format(do=do)
    return {"date": day.isoformat(), "what": what, "note": note}


def is_done(key: str, do: str, day: dt.date, diary: Sequence[DiaryEntry]) -> bool:
    """Tell whether the diary notes the doing of a line of the card on a day."""
    return noted_line(done_entry(key, do, day), diary) is not None


def noted_line(wanted: Mapping[str, object], diary: Sequence[DiaryEntry]) -> DiaryEntry | None:
    """Return the diary line that says what `done_entry` would write; None if there is none."""
    wanted = {"note": "", **wanted}
    for entry in reversed(diary):
        same = (entry.date.isoformat(), entry.what) == (wanted["date"], wanted["what"])
        if same and wanted["note"] in ("", entry.note):
            return entry
    return None


def _line(line: Line, known: Known, lawn: Lawn, diary: Sequence[DiaryEntry]) -> dict[str, Any]:
    kind = _kind(line)
    do = plain(clean(_words_of(line, known, lawn), most=400))
    link = LINKS.get(kind)
    if _wants_target(line, lawn):
        link = ("settings/mowing.target_height_mm", sentences.TO_HEIGHTS_OF_CUT)
    asks = kind in ("leaf", "looks", "photo") or link is not None
    return {
        "key": line.key,
        "do": do,
        "why": plain(line.why),
        "careful": line.careful,
        "tick": not asks,
        "done": not asks and is_done(line.key, do, known.as_of, diary),
        "entry": {} if asks else done_entry(line.key, do, known.as_of),
        "leaf": _unit(lawn) if kind == "leaf" else "",
        "looks": looks(lawn, known) if kind == "looks" else [],
        "photo": kind == "photo",
        "link": {"to": f"#{link[0]}", "text": link[1]} if link else None,
    }


def looks(lawn: Lawn, known: Known) -> list[dict[str, Any]]:
    """Return the keeper's own looks at the ground: name, words with the day, and whether each still counts."""
    day = known.as_of
    checks = keepers_looks(lawn, zero=known.zero(day), as_of=day, readings=known.readings)
    counts = {check.look for check in checks if check.state == "met"}
    rows = []
    for name, words in sentences.LOOKS.items():
        on = getattr(lawn.confirmed, name) if name in counts else None
        said = sentences.LOOK_ON.format(look=words, day=day_text(on, lawn.date_form)) if on else words
        rows.append({"name": name, "words": said, "on": name in counts})
    return rows


def _words_of(line: Line, known: Known, lawn: Lawn) -> str:
    """Return what a line asks for in the page's words; the sentence above the photo is not said twice."""
    kind = _kind(line)
    if _wants_target(line, lawn):
        return sentences.DO_TARGET
    if kind == "first mow":
        said = known.outlook.first_mow.sentence if known.outlook is not None else ""
        return sentences.DO_FIRST_MOW if line.do == said else line.do
    return PAGE_WORDS.get(kind, line.do)


def _wants_target(line: Line, lawn: Lawn) -> bool:
    return _kind(line) == "first mow" and lawn.mowing.target_height_mm is None


def _has_first_mow(lines: Sequence[Line]) -> bool:
    return any(_kind(line) == "first mow" for line in lines)


def _kind(line: Line) -> str:
    return _kind_of(line.key)


def _kind_of(key: str) -> str:
    """Return what a line is about: its key without days, photo points and numbers."""
    for kind in sorted({*PAGE_WORDS, *DONE_AS, *LINKS, "photo", "looks", "leaf"}, key=len, reverse=True):
        if re.search(rf"(^|\s){kind}(\s\d+)?(\s\d{{4}}-\d\d-\d\d(\s\d+)?)?$", key):
            return kind
    return ""


def _unit(lawn: Lawn) -> str:
    return "in" if lawn.units == "us" else "mm"
