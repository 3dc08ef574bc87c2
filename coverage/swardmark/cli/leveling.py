"""The command `level`: heights to cut and fill, and the sheets on which heights are read."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Annotated

import typer

from swardmark.cli.console import (
    AsOfOption,
    JsonOption,
    LawnFolder,
    QuietOption,
    day,
    document,
    end_with,
    out_folder,
    say,
)
from swardmark.common.errors import UsageError

if TYPE_CHECKING:
    from pathlib import Path

    from swardmark.lawn.toml import Lawn
    from swardmark.relief.readings import ReliefReading

LEAST_EDGE_M, MOST_EDGE_M = 0.9, 6.0
MOST_SIDE_M = 200.0
BARE = {"metric": "m", "us": "ft"}
"""The unit of a length that comes without one."""


def level(
    folder: LawnFolder,
    grid: Annotated[
        str | None,
        typer.Option(metavar="SPACING", help="Print the sheet of a string grid, such as 0.75m or 2ft."),
    ] = None,
    layings: Annotated[
        int | None,
        typer.Option(min=8, max=60, help="Print a sheet with this many straightedge places, drawn by lot."),
    ] = None,
    size: Annotated[
        str, typer.Option(metavar="WxL", help="Ground of the sheet, such as 6x8m or 20x26ft.")
    ] = "6x8m",
    at: Annotated[
        str, typer.Option(metavar="X,Y", help="Near left corner of the sheet, in meters from corner mark 0.")
    ] = "0,0",
    seed: Annotated[int, typer.Option(min=0, help="Another number draws other straightedge places.")] = 1,
    carry: Annotated[
        bool, typer.Option("--carry", help="Print the sheet for the day of the sand: loads for each square.")
    ] = False,
    paper: Annotated[str, typer.Option(help="a4 or letter.")] = "a4",
    straightedge: Annotated[
        str | None,
        typer.Option(help="Length of the straightedge, such as 2.4m or 8ft; else as in lawn.toml."),
    ] = None,
    point: Annotated[
        str | None, typer.Option(help="Measure the photos of the sand at this photo point only.")
    ] = None,
    as_of: AsOfOption = None,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> None:
    """Measured heights to cut and fill; writes level.csv. With --grid or --layings: the sheet to fill in."""
    from swardmark.lawn.toml import read_lawn

    lawn = read_lawn(folder)
    if grid is not None or layings is not None:
        _sheet(lawn, grid, layings, size, at, seed, paper, as_json=as_json, quiet=quiet)
        return
    _review(lawn, straightedge, as_of, point, paper if carry else None, as_json=as_json, quiet=quiet)


def _review(
    lawn: Lawn, straightedge: str | None, as_of: str | None, point: str | None, carry: str | None,
    *, as_json: bool, quiet: bool,
) -> None:  # fmt: skip
    from swardmark.common.units import parse_length
    from swardmark.level.review import level_review
    from swardmark.level.rows import level_document
    from swardmark.level.telling import level_sentences, spot_sentences
    from swardmark.relief.dips import STRAIGHTEDGE_M
    from swardmark.relief.folder import relief_of
    from swardmark.relief.telling import relief_document, relief_sentences
    from swardmark.sheets.carry_sheet import write_carry_sheet
    from swardmark.words.tables import write_level

    bare = BARE[lawn.units]
    edge = None if straightedge is None else parse_length(straightedge, bare=bare, where="--straightedge")
    if edge is not None and not LEAST_EDGE_M <= edge <= MOST_EDGE_M:
        raise UsageError(f"{straightedge!r} is no straightedge for a lawn", where="--straightedge",
                         remedy=f"Give {LEAST_EDGE_M:g} to {MOST_EDGE_M:g} m")  # fmt: skip
    until = day(as_of, "--as-of")
    relief = relief_of(lawn, point=point, straightedge_m=edge or STRAIGHTEDGE_M)
    review = level_review(lawn, as_of=until, straightedge_m=edge, more=relief.sources())
    written = [] if review.is_empty else write_level(review, folder=out_folder(lawn.folder))
    written += _relief_maps(relief.sand, lawn)
    if carry is not None:
        written.append(write_carry_sheet(review, folder=out_folder(lawn.folder), paper=carry))
    told = relief_sentences(
        relief, units=lawn.units, dates=lawn.date_form, straightedge_m=edge or STRAIGHTEDGE_M
    )
    for line in () if quiet or as_json else (*told, *level_sentences(review), *spot_sentences(review)):
        say(line)
    document(
        {
            **level_document(review),
            "relief": relief_document(relief),
            "refused": [str(refusal) for refusal in relief.refusals],
            "written": [str(path) for path in written],
        },
        wanted=as_json,
    )
    end_with([str(refusal) for refusal in relief.refusals])


def _relief_maps(readings: tuple[ReliefReading, ...], lawn: Lawn) -> list[Path]:
    from swardmark.common.files import write_whole
    from swardmark.drawing.figures import figure_bytes
    from swardmark.drawing.relief_map import relief_map

    written = []
    for one in readings:
        when = f"{one.relief.taken_at:%Y-%m-%d-%H%M}"
        path = out_folder(lawn.folder) / f"relief-{one.point}-{when}.png"
        written.append(write_whole(path, figure_bytes(relief_map(one.relief, units=lawn.units), "png")))
    return written


def _sheet(
    lawn: Lawn, grid: str | None, layings: int | None, size: str, at: str, seed: int, paper: str,
    *, as_json: bool, quiet: bool,
) -> None:  # fmt: skip
    from swardmark.common.units import parse_length
    from swardmark.level import sentences
    from swardmark.level.places import grid_places, straightedge_layings
    from swardmark.sheets.level_sheet import write_grid_sheet, write_layings_sheet

    if grid is not None and layings is not None:
        raise UsageError("two sheets at once", where="--grid", remedy="Give --grid or --layings")
    bare = BARE[lawn.units]
    width, length = _size(size, bare)
    start, folder = _corner(at), out_folder(lawn.folder)
    if grid is not None:
        places = grid_places(width, length, parse_length(grid, bare=bare, where="--grid"), start_m=start)
        sheet, table = write_grid_sheet(places, lawn, folder=folder, paper=paper)
        count = len(places)
    else:
        assert layings is not None
        drawn = straightedge_layings(width, length, layings=layings, seed=seed, start_m=start)
        sheet, table = write_layings_sheet(
            drawn, lawn, folder=folder, paper=paper, size_m=(width, length), start_m=start
        )
        count = len(drawn)
    say(sentences.WROTE.format(sheet=sheet, table=table), silent=quiet or as_json)
    document({"sheet": str(sheet), "table": str(table), "places": count}, wanted=as_json)


def _size(text: str, bare: str) -> tuple[float, float]:
    """Read a size such as 6x8m, 6mx8 or 20x26ft, in meters; a side without unit is in the other's, or the lawn's."""
    from swardmark.common.units import parse_length

    parts = re.split(r"\s*[x×*]\s*", text.strip(), maxsplit=1)
    remedy = "Write it as 6x8m or 20x26ft"
    if len(parts) != 2:
        raise UsageError(f"{text!r} is not a size", where="--size", remedy=remedy)
    first, second = (re.sub(r"^[\d.,/ -]+", "", part) for part in parts)
    unit = second or first or bare
    width, length = (parse_length(part, bare=unit, where="--size") for part in parts)
    if not (0.5 <= width <= MOST_SIDE_M and 0.5 <= length <= MOST_SIDE_M):
        raise UsageError(f"{text!r} is no lawn's size", where="--size", remedy=remedy)
    return width, length


def _corner(text: str) -> tuple[float, float]:
    try:
        x, y = (float(part) for part in text.split(","))
    except ValueError:
        x = y = float("nan")
    if not (abs(x) <= 1000 and abs(y) <= 1000):
        raise UsageError(f"{text!r} is not a corner", where="--at", remedy="Write meters as -3,0.5")
    return x, y
