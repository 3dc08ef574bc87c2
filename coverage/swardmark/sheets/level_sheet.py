"""The sheets on which heights are read, and the tables in which they are typed in.

A grid sheet is plan and form in one: a box for each place, laid out as the places lie on the lawn, far rows at the top.
The straightedge sheet shows where each laying lies, with five boxes for its ticks. Beside each sheet stands a CSV with
the places filled in, as heights.csv has them.
"""

from __future__ import annotations

import io
import math
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from swardmark.common.errors import UsageError
from swardmark.common.files import write_whole
from swardmark.common.units import FOOT_M, Units, format_length
from swardmark.drawing.palette import INK, QUIET, RULE, drawing_style, plain_label
from swardmark.lawn.heights import HEIGHT_COLUMNS
from swardmark.level import sentences
from swardmark.level.places import SLIDE_M, TICKS_M, GridPlace, Laying
from swardmark.level.telling import edge_text
from swardmark.sheets import sentences as say
from swardmark.sheets.paper import blank_page, paper_size
from swardmark.words.tables import to_csv

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from swardmark.lawn.toml import Lawn

MARGIN_MM = 14.0
BOX_MM, MOST_BOX_MM = (13.0, 9.5), (22.0, 15.0)
HEAD_MM = 56.0
"""Room for title and instructions at the top of each page."""
AXIS_MM = 10.0
ROW_MM = 7.4


def write_grid_sheet(
    places: Sequence[GridPlace], lawn: Lawn, *, folder: Path, paper: str = "a4"
) -> tuple[Path, Path]:
    """Write the sheet of a string grid and its table; returns both paths.

    Parameters
    ----------
    places : sequence of GridPlace
        Row by row, as `grid_places` gives them.
    lawn : Lawn
        Its name, units and photo point.
    folder : Path
        The lawn's out folder.
    paper : {"a4", "letter"}
        Paper size.

    Raises
    ------
    UsageError
        The paper is unknown, or a file cannot be written.
    """
    size = paper_size(paper)
    columns, rows = places[-1].column, places[-1].row
    across = int((size[0] - 2 * MARGIN_MM - AXIS_MM) // BOX_MM[0])
    down = int((size[1] - HEAD_MM - 2 * MARGIN_MM - AXIS_MM) // BOX_MM[1])
    pages = [
        [p for p in places if left < p.column <= left + across and bottom < p.row <= bottom + down]
        for bottom in range(0, rows, down)
        for left in range(0, columns, across)
    ]
    table, column = "heights-grid.csv", _column(lawn.units)
    spacing = places[1].x_m - places[0].x_m if columns > 1 else places[columns].y_m - places[0].y_m
    how = _filled(
        sentences.SHEET_HOW,
        length=format_length(places[-1].y_m - places[0].y_m, units=lawn.units),
        spacing=format_length(spacing, units=lawn.units),
        unit=_unit(lawn.units),
        start=_start(places[0].x_m, places[0].y_m, lawn.units),
        file=table,
        column=column,
    )
    title = sentences.SHEET_TITLE.format(lawn=plain_label(lawn.name, most=28))
    pdf = _pages(
        size, [partial(_grid_page, places=part, title=title, how=how, units=lawn.units) for part in pages]
    )
    rows_of = [
        {"date": "", "point": _point(lawn), "place": p.number, "x_m": p.x_m, "y_m": p.y_m, "how": "string"}
        for p in places
    ]  # fmt: skip
    return _written(folder, "level-grid.pdf", pdf, table, rows_of)


def write_layings_sheet(
    layings: Sequence[Laying],
    lawn: Lawn,
    *,
    folder: Path,
    paper: str = "a4",
    size_m: tuple[float, float],
    start_m: tuple[float, float] = (0.0, 0.0),
) -> tuple[Path, Path]:
    """Write the sheet of straightedge places and its table; returns both paths. Arguments as in `write_grid_sheet`."""
    size = paper_size(paper)
    least_m, edge_m = TICKS_M[-1] - TICKS_M[0] + 2 * SLIDE_M, lawn.level.straightedge_m
    if edge_m < least_m - 1e-9:
        edge, least = (format_length(m, units=lawn.units) for m in (edge_m, least_m))
        what = say.SHORT_EDGE.format(edge=edge)
        raise UsageError(what, where="--layings", remedy=say.SHORT_EDGE_REMEDY.format(least=least))
    table = "heights-straightedge.csv"
    how = _filled(
        sentences.LAYINGS_HOW,
        tick=format_length(TICKS_M[1] - TICKS_M[0], units=lawn.units),
        edge=edge_text(lawn.level.straightedge_m, lawn.units),
        unit=_unit(lawn.units),
        file=table,
        column=_column(lawn.units),
    )
    title = sentences.LAYINGS_TITLE.format(lawn=plain_label(lawn.name, most=28))

    def plan(axes: Axes) -> None:
        _head(axes, title, how)
        _layings_plan(axes, layings, size_m, start_m, lawn.units)

    most = int((size[1] - 3 * MARGIN_MM - ROW_MM) // ROW_MM)
    parts = [layings[n : n + most] for n in range(0, len(layings), most)]
    forms = [partial(_layings_form, layings=part, title=title, units=lawn.units) for part in parts]
    rows_of = [
        {"date": "", "point": _point(lawn), "place": one.number, "x_m": x, "y_m": y, "how": "straightedge"}
        for one in layings
        for x, y in one.ticks_m
    ]
    return _written(folder, "level-straightedge.pdf", _pages(size, [plan, *forms]), table, rows_of)


def _grid_page(
    axes: Axes, *, places: Sequence[GridPlace], title: str, how: Sequence[str], units: Units
) -> None:
    from matplotlib.patches import Rectangle

    _head(axes, title, how)
    width, height = axes.get_xlim()[1], axes.get_ylim()[1]
    first_column, first_row = places[0].column, places[0].row
    columns, rows = places[-1].column - first_column + 1, places[-1].row - first_row + 1
    room = (width - 2 * MARGIN_MM - AXIS_MM) / columns, (height - HEAD_MM - 2 * MARGIN_MM - AXIS_MM) / rows
    box = tuple(min(most, one) for most, one in zip(MOST_BOX_MM, room, strict=True))
    left, bottom = MARGIN_MM + AXIS_MM, height - HEAD_MM - MARGIN_MM - box[1] * rows
    for place in places:
        x = left + (place.column - first_column) * box[0]
        y = bottom + (place.row - first_row) * box[1]
        axes.add_patch(Rectangle((x, y), *box, fill=False, edgecolor=QUIET, lw=0.6))
        axes.text(x + 0.9, y + box[1] - 0.8, str(place.number), size=6, color=QUIET, va="top")
        if place.row == first_row:
            axes.text(x + box[0] / 2, bottom - 2.5, _meters(place.x_m, units), size=7, ha="center", va="top")
        if place.column == first_column:
            axes.text(left - 1.5, y + box[1] / 2, _meters(place.y_m, units), size=7, ha="right", va="center")
    name = "ft" if units == "us" else "m"
    axes.text(left + box[0] * columns / 2, bottom - 7.5, say.GRID_RIGHT.format(unit=name), size=8, ha="center",
              va="top", color=QUIET)  # fmt: skip
    axes.text(left + box[0] * columns / 2, bottom + box[1] * rows + 1.5, say.GRID_FAR.format(unit=name), size=8,
              ha="center", color=QUIET)  # fmt: skip


def _layings_plan(
    axes: Axes,
    layings: Sequence[Laying],
    size_m: tuple[float, float],
    start_m: tuple[float, float],
    units: Units,
) -> None:
    from matplotlib.patches import Rectangle

    width, height = axes.get_xlim()[1], axes.get_ylim()[1]
    scale = min((width - 4 * MARGIN_MM) / size_m[0], (height - HEAD_MM - 4 * MARGIN_MM) / size_m[1])
    left, bottom = (width - size_m[0] * scale) / 2, height - HEAD_MM - 2 * MARGIN_MM - size_m[1] * scale
    axes.add_patch(
        Rectangle((left, bottom), size_m[0] * scale, size_m[1] * scale, fill=False, edgecolor=QUIET, lw=0.8)
    )
    step = FOOT_M * 5 if units == "us" else 1.0
    for n in range(int(size_m[0] / step + 1e-6) + 1):
        axes.plot(
            [left + n * step * scale] * 2, [bottom, bottom + size_m[1] * scale], color=RULE, lw=0.4, zorder=0
        )
        axes.text(
            left + n * step * scale,
            bottom - 2,
            _meters(start_m[0] + n * step, units),
            size=7,
            ha="center",
            va="top",
        )
    for n in range(int(size_m[1] / step + 1e-6) + 1):
        axes.plot(
            [left, left + size_m[0] * scale], [bottom + n * step * scale] * 2, color=RULE, lw=0.4, zorder=0
        )
        axes.text(
            left - 2,
            bottom + n * step * scale,
            _meters(start_m[1] + n * step, units),
            size=7,
            ha="right",
            va="center",
        )
    for one in layings:
        x = [left + (a - start_m[0]) * scale for a, _ in one.ticks_m]
        y = [bottom + (b - start_m[1]) * scale for _, b in one.ticks_m]
        axes.plot(x, y, color=INK, lw=1.6, marker="|" if one.along_x else "_", markersize=6)
        shift = (0, 3.2) if one.along_x else (3.2, 0)
        middle = len(x) // 2
        axes.text(x[middle] + shift[0], y[middle] + shift[1], str(one.number), size=9, weight="bold", ha="center",
                  va="center")  # fmt: skip
    name = "ft" if units == "us" else "m"
    axes.text(
        width / 2,
        bottom - 8,
        say.GRID_RIGHT.format(unit=name),
        size=8,
        ha="center",
        va="top",
        color=QUIET,
    )


def _layings_form(axes: Axes, *, layings: Sequence[Laying], title: str, units: Units) -> None:
    from matplotlib.patches import Rectangle

    width, height = axes.get_xlim()[1], axes.get_ylim()[1]
    axes.text(MARGIN_MM, height - MARGIN_MM, title, size=13, weight="bold", va="center")
    y = height - MARGIN_MM - 11
    heads = ((MARGIN_MM, say.FORM_PLACE), (MARGIN_MM + 14, say.FORM_FIRST), (MARGIN_MM + 48, say.FORM_LAID))
    for x, head in heads:
        axes.text(x, y, head, size=8, color=QUIET, va="center")
    box = (width - 2 * MARGIN_MM - 72) / len(TICKS_M)
    for n in range(len(TICKS_M)):
        axes.text(
            MARGIN_MM + 72 + (n + 0.5) * box,
            y,
            say.FORM_TICK.format(number=n + 1),
            size=8,
            color=QUIET,
            ha="center",
            va="center",
        )
    for one in layings:
        y -= ROW_MM
        x_m, y_m = one.ticks_m[0]
        name = "ft" if units == "us" else "m"
        axes.text(MARGIN_MM, y, str(one.number), size=11, weight="bold", va="center")
        axes.text(
            MARGIN_MM + 14, y, f"{_meters(x_m, units)}, {_meters(y_m, units)} {name}", size=9, va="center"
        )
        axes.text(MARGIN_MM + 48, y, say.FORM_RIGHT if one.along_x else say.FORM_AWAY, size=9, va="center")
        for n in range(len(one.ticks_m)):
            axes.add_patch(Rectangle((MARGIN_MM + 72 + n * box, y - ROW_MM / 2), box, ROW_MM, fill=False,
                                     edgecolor=QUIET, lw=0.6))  # fmt: skip


def _head(axes: Axes, title: str, how: Sequence[str]) -> None:
    height = axes.get_ylim()[1]
    axes.text(MARGIN_MM, height - MARGIN_MM, title, size=16, weight="bold", va="center")
    for n, line in enumerate((*how, sentences.CARE)):
        last = n == len(how)
        text = line if not last else line.replace("; take", ";\ntake")
        axes.text(
            MARGIN_MM,
            height - MARGIN_MM - 8 - 5.2 * n,
            text,
            size=8.2,
            va="top",
            color=QUIET if last else INK,
        )


def _filled(lines: Sequence[str], **fields: str) -> tuple[str, ...]:
    return tuple(line.format(**fields) for line in lines)


def _pages(size_mm: tuple[float, float], draws: Sequence[Callable[[Axes], None]]) -> bytes:
    from matplotlib.backends.backend_pdf import PdfPages

    out = io.BytesIO()
    with drawing_style(), PdfPages(out, metadata={"Title": "swardmark level", "CreationDate": None}) as pages:
        for draw in draws:
            figure, axes = blank_page(size_mm)
            draw(axes)
            pages.savefig(figure)
    return out.getvalue()


def _written(
    folder: Path, name: str, pdf: bytes, table: str, rows: Sequence[dict[str, Any]]
) -> tuple[Path, Path]:
    """Write sheet and table; a table that was filled in already is kept, and a new name taken."""
    path = folder / table
    number = 1
    text = to_csv(HEIGHT_COLUMNS, [{**dict.fromkeys(HEIGHT_COLUMNS, ""), **row} for row in rows])
    while path.exists() and path.read_bytes() != text.encode():
        number += 1
        path = folder / table.replace(".csv", f"-{number}.csv")
    return write_whole(folder / name, pdf), write_whole(path, text)


def _point(lawn: Lawn) -> str:
    return lawn.point[0].name if lawn.point else "main"


def _column(units: Units) -> str:
    return "drop_in" if units == "us" else "drop_mm"


def _unit(units: Units) -> str:
    return say.UNIT_INCHES if units == "us" else "mm"


def _start(x_m: float, y_m: float, units: Units) -> str:
    if x_m == y_m == 0:
        return say.GRID_FROM_MARK
    name = "ft" if units == "us" else "m"
    return say.GRID_FROM.format(x=_meters(x_m, units), y=_meters(y_m, units), unit=name)


def _meters(value: float, units: Units) -> str:
    shown = value / FOOT_M if units == "us" else value
    return f"{shown:.2f}".rstrip("0").rstrip(".") if math.isfinite(shown) else ""
