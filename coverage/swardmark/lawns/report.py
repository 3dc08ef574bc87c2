"""One report of many lawns: who needs the keeper first, each lawn's picture and curve, and the sand for all.

Up to `MOST_IN_ONE` lawns stand in one file; more get an index and a page each below lawns/, so that a phone opens it.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from swardmark.common.files import write_whole
from swardmark.common.phrases import DateForm, date_words, plural
from swardmark.common.text import clean
from swardmark.common.units import format_area
from swardmark.drawing.pictures import FolderPhotos, PhotoSource, data_address, encode, shrink
from swardmark.lawns import sentences as say
from swardmark.lawns.curve import HEIGHT, WIDTH, Course, Curve, course_of, curve_of
from swardmark.lawns.sand import LawnSpots, plan_lawns, plan_lines, spots_of
from swardmark.lawns.standing import Standing
from swardmark.report.html import render
from swardmark.season import Season
from swardmark.words.calendar import calendar_of, event_lines

TEMPLATES = Path(__file__).parent / "templates"
REPORT_FILE, CALENDAR_FILE, PAGES = "report.html", "lawns.ics", "lawns"
MOST_IN_ONE = 200
PICTURE_PX, PICTURE_BYTES = 480, 28_000


@dataclass(frozen=True, eq=False)
class Card:
    """What the report shows of one lawn; made while its season is at hand."""

    cover: str
    ground: str
    parts: tuple[str, ...]
    course: Course
    picture: str
    newest: str
    dates: DateForm
    calendar: tuple[str, ...]
    spots: LawnSpots | None


def card_of(season: Season, *, photos: PhotoSource | None = None) -> Card:
    """Return what the report of many lawns shows of a season; pixels come from the lawn's folder, or from `photos`."""
    whole, units = season.outlook.whole, season.lawn.units
    entry = max((e for point in season.points for e in point.entries), key=lambda e: (e.taken_at, e.name))
    rgb = (photos or FolderPhotos(season.lawn.folder)).picture(entry, longest_px=PICTURE_PX)
    picture = ""
    if rgb is not None:
        data = encode(shrink(rgb, PICTURE_PX), most_bytes=PICTURE_BYTES)
        picture = data_address(data, "image/webp")
    known = whole.cover_pct == whole.cover_pct
    return Card(
        cover=say.COVER.format(cover=whole.cover_pct) if known else "",
        ground=say.COVER_OF.format(area=format_area(whole.area_m2, units=units)) if known else "",
        parts=tuple(clean(zone.zone, most=40) for zone in season.outlook.zones if zone.flagged),
        course=course_of(whole),
        picture=picture,
        newest=date_words(entry.taken_at.date(), season.lawn.date_form) if entry.taken_at else "",
        dates=season.lawn.date_form,
        calendar=event_lines(season, own=season.lawn.folder.resolve().name),
        spots=spots_of(season.lawn.folder, season.relevel) if season.relevel is not None else None,
    )


def write_lawns_report(
    ranked: Sequence[Standing[Card]], *, on: dt.date, folder: Path, faults: Sequence[str] = ()
) -> list[Path]:
    """Write the report and the calendar of many lawns; the report's path comes first.

    Parameters
    ----------
    ranked : sequence of Standing
        The lawns in the order of their need, with their cards.
    on : date
        The day of which is spoken.
    folder : Path
        Where to write.
    faults : sequence of str
        What could not be read.
    """
    last_day = max((one.more.course.last_day for one in ranked if one.more is not None), default=0.0)
    rows = [_row(number, one, last_day) for number, one in enumerate(ranked, start=1)]
    spots = [one.more.spots for one in ranked if one.more is not None and one.more.spots is not None]
    form: DateForm = next((one.more.dates for one in ranked if one.more is not None), "day month")
    values = {
        "say": say,
        "title": say.TITLE.format(count=len(ranked), day=date_words(on, form, year=True)),
        "rows": rows,
        "sand": tuple(plan_lines(plan_lawns(spots))) if spots else (),
        "faults": [clean(fault, most=400) for fault in faults],
        "unread": plural(len(faults), *say.NOT_READ_LINK).format(count=len(faults)),
        "width": WIDTH,
        "height": HEIGHT,
    }
    written = []
    apart = len(ranked) > MOST_IN_ONE
    if apart:
        for row in rows:
            text = render("lawn_card.html.j2", values | {"row": row}, templates=TEMPLATES)
            written.append(write_whole(folder / PAGES / f"{row['file']}", text))
    index = render("lawns.html.j2", values | {"apart": apart}, templates=TEMPLATES)
    page = write_whole(folder / REPORT_FILE, index)
    lines = [line for one in ranked if one.more is not None for line in one.more.calendar]
    calendar = write_whole(folder / CALENDAR_FILE, calendar_of(lines))
    return [page, calendar, *written]


def _row(number: int, one: Standing[Card], last_day: float) -> dict[str, Any]:
    """Return one lawn as the templates read it."""
    card, own = one.more, (one.row or {})["lawn"]
    curve = curve_of(card.course, last_day=last_day) if card is not None else Curve("", "", ())
    return {
        "number": number,
        "file": f"{number:03d}.html",
        "need": one.need,
        "kind": one.need.replace(" ", "-"),
        "name": clean(one.name, most=60),
        "folder": "" if own == one.name else own,
        "sentence": clean(one.sentence, most=600),
        "lines": [(clean(line.do, most=400), line.why, line.careful) for line in one.now.lines] if one.now else [],
        "stale": one.last_photo,
        "card": card,
        "curve": curve,
        "curve_alt": _curve_alt(one.name, card.course) if card is not None else "",
        "picture_alt": say.NEWEST_ALT.format(lawn=one.name, day=card.newest) if card is not None else "",
        "span": say.DAY.format(day=last_day),
    }  # fmt: skip


def _curve_alt(lawn: str, course: Course) -> str:
    if not course.days:
        return ""
    return say.CURVE_ALT.format(
        lawn=lawn, first=course.cover[0], first_day=course.days[0], last=course.cover[-1], last_day=course.days[-1]
    )  # fmt: skip
