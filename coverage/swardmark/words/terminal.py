"""What the terminal shows: the verdict, compact tables, and the course of cover in a few signs.

On a terminal rich draws color and tables; where a table would not fit, each row stands on lines of its own. When piped,
or with NO_COLOR, the same content is plain aligned text: no color, no lines, nothing cut off. Where the console cannot
print Unicode, blocks become digits (tens of percent).
Names from files are printed without control signs.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from textwrap import wrap
from typing import TYPE_CHECKING

from swardmark.common.text import clean
from swardmark.common.units import format_area
from swardmark.relevel import advice
from swardmark.words import sentences
from swardmark.words.counting import counted_lines
from swardmark.words.noted import noted_lines
from swardmark.words.phrases import day_text, next_photo_dates, percent_text, short_months
from swardmark.words.rows import ZoneWords, spot_words, zones_in_words

if TYPE_CHECKING:
    from rich.console import Console

    from swardmark.forecast.rows import ZoneOutlook
    from swardmark.measure.covers import LawnCovers
    from swardmark.relevel.planning import RelevelPlan
    from swardmark.season import Season

BLOCKS = "▁▂▃▄▅▆▇█"
ASCII_SIGNS = {"²": "2", "³": "3", "°": " deg", "·": "-", "–": "-", "’": "'", "“": '"', "”": '"', "…": "..."}
STYLES = {
    "filling in": "green", "full": "green", "slow": "yellow", "stalled": "bold yellow", "losing ground": "bold red",
    "too early to say": "dim",
}  # fmt: skip
NAME_WIDTH, STACKED_NAME_WIDTH = 40, 26
MOST_SIGNS = 24
LEAST_TABLE_WIDTH = 100
"""A narrower terminal gets each row on lines of its own."""
BOX_SLACK = 2
UNBROKEN = "\N{NO-BREAK SPACE}"


def show_outlook(season: Season, console: Console) -> None:
    """Print the verdict, what is missing for the first mow, and one row for each zone."""
    outlook, mow = season.outlook, season.outlook.first_mow
    _say(console, mow.sentence, style="bold")
    for note in outlook.notes:
        _say(console, note)
    zones = zones_in_words(season)
    series = [*outlook.zones, *([outlook.whole] if len(outlook.zones) > 1 else [])]
    if outlook.whole_without_flagged is not None:
        series.append(outlook.whole_without_flagged)
    rows = [_outlook_row(words, zone, console) for words, zone in zip(zones, series, strict=True)]
    _table(console, sentences.OUTLOOK_HEADS, rows, lead=4, styles=[STYLES[words.status] for words in zones])
    for words in (words for words in zones[: len(outlook.zones)] if words.flagged):
        name = clean(words.name, most=NAME_WIDTH)
        line = sentences.ABOUT_ZONE.format(zone=name, why=words.why, look_for=words.look_for)
        _say(console, line.rstrip())
    if mow.missing and mow.mowed_on is None:
        _say(console, sentences.STILL_MISSING)
        for line in mow.missing:
            _say(console, sentences.LISTED.format(line=line))
        _say(console, mow.caution)
        _say(console, mow.footnote)
    day = day_text(next_photo_dates(season)[0], season.lawn.date_form)
    _say(console, sentences.NEXT_PHOTO.format(day=day))


def show_covers(season: LawnCovers, console: Console) -> None:
    """Print each zone's newest cover with its interval, and its course over all photos."""
    rows = [
        (_zone_name(zone.name, point.name, season), *_cover_cells(season, point.name, zone.name, console))
        for point in season.points
        for zone in point.parts
    ]
    _table(console, sentences.COVER_HEADS, rows, lead=3)
    if any(point.zones_are_patches for point in season.points):
        _say(console, sentences.NO_ZONES_DRAWN)
    for line in (*noted_lines(season.points), *counted_lines(season.points)):
        _say(console, line)


def show_plan(plan: RelevelPlan, console: Console) -> None:
    """Print the re-level plan: its sentences, the spots, and each caution beside its action."""
    for n, line in enumerate(advice.plan_sentences(plan)):
        _say(console, line, style="bold" if n == 0 else "")
    words = [spot_words(item, plan.lawn) for item in plan.spots]
    rows = [(w.number, w.where, w.area, w.cover, w.depth, w.sand, w.priority, w.when) for w in words]
    if rows:
        _table(console, sentences.PLAN_HEADS, rows, lead=2)
        _say(console, sentences.MAP_IS_IN_THE_REPORT.format(folder=plan.lawn.folder))
    for action, text in advice.cautions(plan):
        _say(console, sentences.CAUTION.format(action=action, text=text))


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


def _outlook_row(words: ZoneWords, zone: ZoneOutlook, console: Console) -> tuple[str, ...]:
    name = clean(words.name, most=NAME_WIDTH)
    return (
        f"{clean(words.point, most=20)}: {name}" if words.point else name,
        words.status,
        words.cover,
        course(zone.observed_pct, unicode=_knows_unicode(console)),
        f"{zone.gain_pct_per_day:+z.1f}" if math.isfinite(zone.gain_pct_per_day) else "",
        short_months(words.mow),
        short_months(words.full),
        words.chance,
    )


def _cover_cells(season: LawnCovers, point: str, zone: str, console: Console) -> tuple[str, ...]:
    seen = [row for row in season.covers_of(point, zone) if math.isfinite(row.cover.cover_pct)]
    if not seen:
        return (sentences.NOT_IN_VIEW, "", "", "", "", "")
    last, units = seen[-1], season.lawn.units
    return (
        percent_text(last.cover.cover_pct),
        course([row.cover.cover_pct for row in seen], unicode=_knows_unicode(console)),
        sentences.INTERVAL.format(low=last.cover.low_pct, high=last.cover.high_pct),
        day_text(last.taken_at.date(), season.lawn.date_form),
        sentences.VIEW.format(degrees=last.cover.view_deg),
        format_area(last.cover.area_m2, units=units),
    )


def _zone_name(zone: str, point: str, season: LawnCovers) -> str:
    name = clean(zone, most=NAME_WIDTH)
    return name if len(season.points) == 1 else f"{clean(point, most=20)}: {name}"


def _knows_unicode(console: Console) -> bool:
    return console.encoding.lower().replace("-", "").startswith("utf")


def _is_plain(console: Console) -> bool:
    return not console.is_terminal or console.no_color or not _knows_unicode(console)


def _say(console: Console, text: str, *, style: str = "") -> None:
    from rich.text import Text

    line = _printable(clean(text, most=2000), console)
    console.print(Text(line, style="" if _is_plain(console) else style), soft_wrap=not console.is_terminal)


def _table(
    console: Console,
    heads: Sequence[str],
    rows: Sequence[Sequence[str]],
    *,
    lead: int,
    styles: Sequence[str] = (),
) -> None:
    """Print a table; on a terminal that is too narrow for it, each row stands on lines of its own.

    Piped output keeps one line a row, whatever its length, for programs that read it.

    Parameters
    ----------
    console : Console
        Where it is printed.
    heads, rows : sequence
        The table's cells.
    lead : int
        How many columns stand side by side above the others in the stacked form.
    styles : sequence of str
        A rich style for each row.
    """
    cells = [[_printable(cell, console) for cell in row] for row in rows]
    lines = _aligned([list(heads), *cells])
    wide = max(map(cell_width, lines)) + BOX_SLACK
    if console.is_terminal and (console.width < LEAST_TABLE_WIDTH or wide > console.width):
        _stack(console, heads, cells, lead, styles)
    elif _is_plain(console):
        for line in lines:
            _say_raw(console, line)
    else:
        _draw(console, heads, cells, styles)


def _stack(
    console: Console, heads: Sequence[str], rows: Sequence[Sequence[str]], lead: int, styles: Sequence[str]
) -> None:
    """Print each row as a line of its leading cells and, below it, the others behind their heads."""
    from rich.text import Text

    names = [[clean(row[0], most=STACKED_NAME_WIDTH), *row[1:lead]] for row in rows]
    for number, (line, row) in enumerate(zip(_aligned(names), rows, strict=True)):
        style = "" if _is_plain(console) or not styles else styles[number]
        for part in wrap(line, console.width, subsequent_indent="  ", drop_whitespace=False):
            console.print(Text(part.rstrip(), style=style))
        pairs = [
            sentences.STACKED_CELL.format(head=head, cell=cell).replace(" ", UNBROKEN)
            for head, cell in zip(heads[lead:], row[lead:], strict=True)
            if cell
        ]
        for part in wrap("; ".join(pairs), console.width - 2):
            console.print(Text(f"  {part.replace(UNBROKEN, ' ')}"))


def _draw(
    console: Console, heads: Sequence[str], rows: Sequence[Sequence[str]], styles: Sequence[str]
) -> None:
    from rich import box
    from rich.table import Table
    from rich.text import Text

    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, collapse_padding=True, header_style="bold")
    for head in heads:
        table.add_column(head, no_wrap=True)
    for n, row in enumerate(rows):
        table.add_row(*(Text(cell) for cell in row), style=styles[n] if styles else "")
    console.print(table)


def cell_width(line: str) -> int:
    """Return how many columns of a terminal a line takes."""
    from rich.cells import cell_len

    return cell_len(line)


def _aligned(rows: Sequence[Sequence[str]]) -> list[str]:
    widths = [max(cell_width(row[n]) for row in rows) for n in range(len(rows[0]))]
    return [
        "  ".join(
            cell + " " * (width - cell_width(cell)) for cell, width in zip(row, widths, strict=True)
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
