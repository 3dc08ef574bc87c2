"""What the terminal shows: the verdict, compact tables, and the course of cover in a few signs.

On a terminal rich draws color and tables. When piped, or with NO_COLOR, the same content is plain aligned text: no
color, no lines, nothing cut off. Where the console cannot print Unicode, blocks become digits (tens of percent).
Names from files are printed without control signs.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from swardmark.common.units import format_area, format_depth
from swardmark.relevel import advice
from swardmark.words.phrases import (
    chance_text,
    clean,
    day_text,
    full_text,
    mow_text,
    next_photo_dates,
    percent_text,
    short_months,
)

if TYPE_CHECKING:
    from rich.console import Console

    from swardmark.forecast.rows import ZoneOutlook
    from swardmark.measure.covers import LawnCovers
    from swardmark.relevel.planning import RelevelPlan
    from swardmark.season import Season

BLOCKS = "▁▂▃▄▅▆▇█"
ASCII_SIGNS = {"²": "2", "°": " deg", "·": "-", "–": "-", "’": "'", "“": '"', "”": '"', "…": "..."}
STYLES = {
    "filling in": "green", "full": "green", "slow": "yellow", "stalled": "bold yellow", "losing ground": "bold red",
    "too early to say": "dim",
}  # fmt: skip
NAME_WIDTH = 40
MOST_SIGNS = 24


def show_outlook(season: Season, console: Console) -> None:
    """Print the verdict, what is missing for the first mow, and one line for each zone."""
    outlook, mow = season.outlook, season.outlook.first_mow
    _say(console, mow.sentence, style="bold")
    for note in outlook.notes:
        _say(console, note)
    heads = (
        "zone",
        "status",
        "cover",
        "course",
        "points a day",
        "cover to mow",
        "full",
        "chance full by day 28",
    )
    rows = [_outlook_row(zone, season, console) for zone in outlook.zones]
    if len(outlook.zones) > 1:
        rows.append(_outlook_row(outlook.whole, season, console))
    if outlook.whole_without_flagged is not None:
        row = _outlook_row(outlook.whole_without_flagged, season, console)
        rows.append(("without the flagged", *row[1:]))
    _table(console, heads, rows, styles=[STYLES[row[1]] for row in rows])
    for zone in (zone for zone in outlook.zones if zone.flagged):
        _say(console, f"{clean(zone.zone, most=NAME_WIDTH)}: {zone.why} {zone.look_for}".rstrip())
    if mow.missing and mow.mowed_on is None:
        _say(console, "Still missing before the first mow:")
        for line in mow.missing:
            _say(console, f"- {line}")
        _say(console, mow.caution)
        _say(console, mow.footnote)
    _say(console, f"Next photo: {day_text(next_photo_dates(season)[0], season.lawn.units)}.")


def show_covers(season: LawnCovers, console: Console) -> None:
    """Print each zone's newest cover with its interval, and its course over all photos."""
    rows = []
    for point in season.points:
        for zone in point.zones:
            covers = season.covers_of(point.name, zone.name)
            seen = [row for row in covers if math.isfinite(row.cover.cover_pct)]
            if not seen:
                rows.append((_zone_name(zone.name, point.name, season), "", "not in view", "", "", "", ""))
                continue
            last = seen[-1]
            rows.append(
                (
                    _zone_name(zone.name, point.name, season),
                    day_text(last.taken_at.date(), season.lawn.units),
                    percent_text(last.cover.cover_pct),
                    f"{last.cover.low_pct:.0f} to {last.cover.high_pct:.0f} %",
                    course([row.cover.cover_pct for row in seen], unicode=_knows_unicode(console)),
                    f"{last.cover.view_deg:.0f} deg",
                    format_area(last.cover.area_m2, units=season.lawn.units),
                )
            )
    _table(console, ("zone", "newest", "cover", "95 % interval", "course", "view", "area"), rows)
    if any(point.zones_are_patches for point in season.points):
        _say(console, "No zones are drawn: the ground in view was divided into named patches.")


def show_plan(plan: RelevelPlan, console: Console) -> None:
    """Print the re-level plan: its sentences, the spots, and each caution beside its action."""
    units = plan.lawn.units
    for n, line in enumerate(advice.plan_sentences(plan)):
        _say(console, line, style="bold" if n == 0 else "")
    rows = [
        (
            str(item.spot.number),
            advice.where_is(item, plan.lawn),
            format_area(item.spot.area_m2, units=units),
            percent_text(item.spot.cover_pct),
            "measure it" if item.depth_mm is None else format_depth(item.depth_mm, units=units),
            advice.sand_of(item, plan.lawn),
            "" if item.priority is None else str(item.priority),
            _season(item),
        )
        for item in plan.spots
    ]
    if rows:
        _table(console, ("spot", "where", "area", "cover", "dip", "sand", "priority", "when"), rows)
        _say(console, f"The map with the numbers is in the report: swardmark report {plan.lawn.folder}")
    for action, text in advice.cautions(plan):
        _say(console, f"{action}: {text}")


def course(values: Sequence[float], *, unicode: bool = True, most: int = MOST_SIGNS) -> str:
    """Return cover over the photos as one sign each, 0 to 100 %: blocks, or digits that mean tens of percent.

    Examples
    --------
    >>> course([2, 35, 99])
    '▁▃█'
    >>> course([2, 35, 99], unicode=False)
    '039'
    """
    kept = [value for value in values if math.isfinite(value)][-most:]
    signs = BLOCKS if unicode else "0123456789"
    return "".join(signs[min(len(signs) - 1, max(0, int(value / 100 * len(signs))))] for value in kept)


def _outlook_row(zone: ZoneOutlook, season: Season, console: Console) -> tuple[str, ...]:
    units = season.lawn.units
    return (
        _zone_name(zone.zone, zone.point, season),
        zone.status,
        percent_text(zone.cover_pct),
        course(zone.observed_pct, unicode=_knows_unicode(console)),
        f"{zone.gain_pct_per_day:+.1f}" if math.isfinite(zone.gain_pct_per_day) else "",
        short_months(mow_text(zone, units)),
        short_months(full_text(zone, units)),
        chance_text(zone.chance_full_by_day28),
    )


def _zone_name(zone: str, point: str, season: LawnCovers) -> str:
    name = clean(zone, most=NAME_WIDTH)
    return name if len(season.points) == 1 or point == "all" else f"{clean(point, most=20)}: {name}"


def _season(item: advice.SpotPlan) -> str:
    if item.passes_now:
        part = "" if item.passes == 1 else f", {item.passes_now} of {item.passes} passes"
        return f"coming season{part}"
    return "later" if item.season else ("no sand" if not item.passes else "beyond one season")


def _knows_unicode(console: Console) -> bool:
    return console.encoding.lower().replace("-", "").startswith("utf")


def _is_plain(console: Console) -> bool:
    return not console.is_terminal or console.no_color or not _knows_unicode(console)


def _say(console: Console, text: str, *, style: str = "") -> None:
    from rich.text import Text

    line = _printable(clean(text, most=2000), console)
    console.print(Text(line, style="" if _is_plain(console) else style), soft_wrap=not console.is_terminal)


def _table(
    console: Console, heads: Sequence[str], rows: Sequence[Sequence[str]], *, styles: Sequence[str] = ()
) -> None:
    """Print a table: drawn by rich on a terminal, aligned columns otherwise."""
    cells = [[_printable(cell, console) for cell in row] for row in rows]
    if _is_plain(console):
        for line in _aligned([list(heads), *cells]):
            _say_raw(console, line)
        return
    from rich import box
    from rich.table import Table
    from rich.text import Text

    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, collapse_padding=True, header_style="bold")
    for head in heads:
        table.add_column(head, overflow="fold", no_wrap=head in ("cover", "course", "status"))
    for n, row in enumerate(cells):
        table.add_row(*(Text(cell) for cell in row), style=styles[n] if styles else "")
    console.print(table)


def _aligned(rows: Sequence[Sequence[str]]) -> list[str]:
    from rich.cells import cell_len

    widths = [max(cell_len(row[n]) for row in rows) for n in range(len(rows[0]))]
    return [
        "  ".join(
            cell + " " * (width - cell_len(cell)) for cell, width in zip(row, widths, strict=True)
        ).rstrip()
        for row in rows
    ]


def _say_raw(console: Console, line: str) -> None:
    from rich.text import Text

    console.print(Text(line), soft_wrap=True)


def _printable(text: str, console: Console) -> str:
    """Return text that the console's encoding can print."""
    if _knows_unicode(console):
        return text
    for sign, plain in ASCII_SIGNS.items():
        text = text.replace(sign, plain)
    return text.encode(console.encoding, "replace").decode(console.encoding)
