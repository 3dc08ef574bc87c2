"""lawn.ics: next photos, the first-mow window and the steps before the next sand, as all-day events.

Written to RFC 5545 (Desruisseaux 2009, Internet Calendaring and Scheduling): CRLF line ends, lines folded at 75
octets, text escaped (sections 3.1 and 3.3.11). The same season gives the same text, and an event keeps its UID from
one export to the next, so a calendar replaces instead of doubling it.
"""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from swardmark.common.text import clean
from swardmark.common.units import format_cut
from swardmark.mowing.preparation import preparation_calendar
from swardmark.words import sentences
from swardmark.words.phrases import next_photo_dates

if TYPE_CHECKING:
    from swardmark.season import Season

MOST_OCTETS = 75


@dataclass(frozen=True)
class Event:
    """One all-day event; `last` is its last day, `key` what its UID is made of."""

    key: str
    first: dt.date
    last: dt.date
    title: str
    text: str


def season_calendar(season: Season) -> str:
    """Return the season's calendar as RFC 5545 text."""
    name = clean(season.lawn.name)
    lines = [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        "PRODID:-//swardmark//lawn calendar//EN",
        "CALSCALE:GREGORIAN",
        *(line for event in events(season) for line in _event_lines(event, name, season.as_of)),
        "END:VCALENDAR",
    ]
    return "".join(f"{fold(line)}\r\n" for line in lines)


def events(season: Season) -> tuple[Event, ...]:
    """Return the season's events in the order of their days."""
    return tuple(
        sorted(
            (*_photos(season), *_first_mow(season), *_way_back(season), *_preparation(season)),
            key=lambda e: e.first,
        )
    )


def escape(text: str) -> str:
    """Escape a text value: backslash, semicolon, comma and line break (RFC 5545, 3.3.11)."""
    for sign in ("\\", ";", ","):
        text = text.replace(sign, f"\\{sign}")
    return text.replace("\r\n", "\n").replace("\n", "\\n")


def fold(line: str) -> str:
    """Fold a line so that none is longer than 75 octets, never inside a letter (RFC 5545, 3.1)."""
    parts, current = [], b""
    for sign in line:
        octets = sign.encode()
        if len(current) + len(octets) > MOST_OCTETS:
            parts.append(current)
            current = b" "
        current += octets
    return b"\r\n".join([*parts, current]).decode()


def _photos(season: Season) -> Iterator[Event]:
    for day in next_photo_dates(season):
        yield Event(f"photo {day.isoformat()}", day, day, sentences.PHOTO_TITLE, sentences.PHOTO_TEXT)


def _first_mow(season: Season) -> Iterator[Event]:
    mow = season.outlook.first_mow
    if mow.mowed_on is not None or mow.mow_earliest is None or mow.mow_latest is None:
        return
    missing = [sentences.LISTED.format(line=line) for line in mow.missing]
    checks = [sentences.MOW_CHECKS, *missing] if missing else []
    text = "\n".join([mow.sentence, *checks, mow.caution])
    key = f"first mow {season.day_zero.isoformat()}"
    yield Event(key, mow.mow_earliest, mow.mow_latest, sentences.MOW_TITLE, text)


def _way_back(season: Season) -> Iterator[Event]:
    """Yield the mowings after the first one that lie ahead; the first has its window."""
    units = season.lawn.units
    ahead = season.outlook.way_back[0 if season.outlook.first_mow.mowed_on else 1 :]
    for n, step in enumerate(ahead, start=1):
        if step.on >= season.as_of:
            leaf, cut = format_cut(step.leaf_mm, step.cut_mm, units=units)
            text = f"{sentences.MOW_AT_TEXT.format(leaf=leaf)}\n{season.outlook.first_mow.caution}"
            key = f"way back {season.day_zero.isoformat()} {n}"
            yield Event(key, step.on, step.on, sentences.MOW_AT_TITLE.format(cut=cut), text)


def _preparation(season: Season) -> Iterator[Event]:
    lawn = season.lawn
    coming = [day for day in lawn.leveling_dates if day > season.as_of]
    for day in coming[:1]:
        steps = preparation_calendar(
            day,
            usual_mm=lawn.mowing.usual_height_mm,
            scalp_mm=lawn.mowing.scalp_height_mm,
            units=lawn.units,
        )
        for n, step in enumerate(steps):
            yield Event(f"before {day.isoformat()} {n}", step.date, step.date, step.what, step.caution)


def _event_lines(event: Event, lawn: str, as_of: dt.date) -> tuple[str, ...]:
    uid = hashlib.sha256(f"{lawn}\n{event.key}".encode()).hexdigest()[:24]
    return (
        "BEGIN:VEVENT",
        f"UID:{uid}@swardmark.invalid",
        f"DTSTAMP:{as_of:%Y%m%d}T000000Z",
        f"DTSTART;VALUE=DATE:{event.first:%Y%m%d}",
        f"DTEND;VALUE=DATE:{event.last + dt.timedelta(days=1):%Y%m%d}",
        f"SUMMARY:{escape(clean(sentences.EVENT_TITLE.format(title=event.title, lawn=lawn)))}",
        f"DESCRIPTION:{escape(event.text)}",
        "TRANSP:TRANSPARENT",
        "END:VEVENT",
    )
