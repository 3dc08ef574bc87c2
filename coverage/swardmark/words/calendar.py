"""lawn.ics: what is to do on the days ahead, and the first-mow window, as all-day events with an alarm.

Written to RFC 5545 (Desruisseaux 2009, Internet Calendaring and Scheduling): CRLF line ends, lines folded at 75
octets, text escaped (sections 3.1 and 3.3.11). The same season gives the same text, and an event keeps its UID from
one export to the next, so a calendar replaces instead of doubling it.
"""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from swardmark.common.text import clean
from swardmark.mowing.agenda import days_ahead, routines
from swardmark.mowing.today import Line
from swardmark.words import sentences

if TYPE_CHECKING:
    from swardmark.season import Season

MOST_OCTETS = 75
AHEAD_DAYS, MOST_DAYS = 60, 120
FIRST_MOW = "first mow"
_ALARM = ("BEGIN:VALARM", "ACTION:DISPLAY", f"DESCRIPTION:{sentences.ALARM}", "TRIGGER:PT7H", "END:VALARM")
"""At seven in the morning of the first day (RFC 5545, section 3.6.6)."""


@dataclass(frozen=True)
class Event:
    """One all-day event; `last` is its last day, `key` what its UID is made of; `alarm` rings in the morning."""

    key: str
    first: dt.date
    last: dt.date
    title: str
    text: str
    alarm: bool = False


def season_calendar(season: Season) -> str:
    """Return the season's calendar as RFC 5545 text."""
    return calendar_of(event_lines(season))


def event_lines(season: Season, *, own: str = "") -> tuple[str, ...]:
    """Return the lines of a season's events; `own` tells lawns of one name apart in a calendar of many."""
    name = clean(season.lawn.name)
    return tuple(line for event in events(season) for line in _event_lines(event, name, season.as_of, own))


def calendar_of(lines: Iterable[str]) -> str:
    """Return a calendar of events' lines as RFC 5545 text."""
    head = ("BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//swardmark//lawn calendar//EN", "CALSCALE:GREGORIAN")
    return "".join(f"{fold(line)}\r\n" for line in (*head, *lines, "END:VCALENDAR"))


def events(season: Season) -> tuple[Event, ...]:
    """Return the season's events in the order of their days: what is to do day by day, and the first-mow window."""
    return tuple(sorted((*_first_mow(season), *_agenda(season)), key=lambda e: (e.first, e.last, e.key)))


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


def _first_mow(season: Season) -> Iterator[Event]:
    mow = season.outlook.first_mow
    if mow.mowed_on is not None or mow.mow_earliest is None or mow.mow_latest is None:
        return
    missing = [sentences.LISTED.format(line=line) for line in mow.missing]
    checks = [sentences.MOW_CHECKS, *missing] if missing else []
    text = "\n".join([mow.sentence, *checks, mow.caution])
    key = f"{FIRST_MOW} {season.day_zero.isoformat()}"
    yield Event(key, mow.mow_earliest, mow.mow_latest, sentences.MOW_TITLE, text, alarm=True)


def _agenda(season: Season) -> Iterator[Event]:
    """Yield the list of the day and of the days ahead; what is done day after day is one event over those days."""
    known = season.known
    coming = known.coming(season.as_of)
    days = max(AHEAD_DAYS, 1 + (coming - season.as_of).days if coming is not None else 0)
    dated = [
        *(line for line in season.today.lines if not line.is_routine),
        *days_ahead(known, min(days, MOST_DAYS)),
    ]
    for line in dated:
        if not line.key.startswith(FIRST_MOW):
            yield Event(line.key, line.date, line.date, line.do, _why(line), alarm=True)
    for line, last in routines(known, min(days, MOST_DAYS)):
        if not line.key.startswith(FIRST_MOW):
            yield Event(line.key, line.date, last, line.do, _why(line))


def _why(line: Line) -> str:
    return "\n".join(part for part in (line.why, line.careful) if part)


def _event_lines(event: Event, lawn: str, as_of: dt.date, own: str) -> tuple[str, ...]:
    uid = hashlib.sha256(f"{lawn}{own}\n{event.key}".encode()).hexdigest()[:24]
    return (
        "BEGIN:VEVENT",
        f"UID:{uid}@swardmark.invalid",
        f"DTSTAMP:{as_of:%Y%m%d}T000000Z",
        f"DTSTART;VALUE=DATE:{event.first:%Y%m%d}",
        f"DTEND;VALUE=DATE:{event.last + dt.timedelta(days=1):%Y%m%d}",
        f"SUMMARY:{escape(clean(sentences.EVENT_TITLE.format(title=event.title, lawn=lawn)))}",
        f"DESCRIPTION:{escape(event.text)}",
        "TRANSP:TRANSPARENT",
        *(_ALARM if event.alarm else ()),
        "END:VEVENT",
    )
