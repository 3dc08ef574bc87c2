"""Measured heights of the ground: the keeper's heights.csv, and the value that every source of heights gives.

heights.csv has the columns date, point, place, x_m, y_m, height_mm, how, note. Heights are relative to any one datum
on a day and negative is lower. In place of height_mm a line may have height_in, or what was measured downward from a
string or a straightedge: drop_mm or drop_in. Inches may be fractions, such as `1 3/8`. `how` is one of

- string, board, laser: heights below one string, level board or laser plane; they make a surface,
- straightedge, wedge: gaps below a straightedge, read at ticks; `place` says which of them belong to one laying,
- deepest: the deepest point of a hollow below a straightedge, with the hollow's width in width_m where it is known.

A file that is not there is an empty one, and it is never written here. `Heights` is the seam to all other sources of
heights: whoever measures heights in another way (from photos, from pegs) returns `Heights` of one point and one day,
with its own `how`, and hands them to `swardmark.level.review.level_review`.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Literal

import numpy as np
from numpy.typing import NDArray
from pydantic import Field, field_validator

from swardmark.common.errors import FileError, UsageError
from swardmark.common.numbers import number_alone
from swardmark.lawn.photos import MAIN_POINT
from swardmark.lawn.tables import Day, Line, Row, check_row, number, read_text, table_lines

Floats = NDArray[np.float64]

HEIGHTS_FILE = "heights.csv"
HEIGHT_COLUMNS = {
    "date": "day of the reading, as 2026-06-09",
    "point": "the photo point whose ground frame x and y are in; main if empty",
    "place": "number of the place on the sheet; ticks with the same number belong to one laying of the straightedge",
    "x_m": "where: meters from the square's corner 0 along its near side",
    "y_m": "and meters away from you along its left side",
    "height_mm": "height above any one datum of that day, lower is negative [mm]",
    "height_in": "or in inches, such as 1 3/8",
    "drop_mm": "or how far it lies below the string or straightedge [mm]",
    "drop_in": "or that in inches, such as 1 3/8",
    "how": "string, board, laser (above one datum); straightedge, wedge (a gap under it); deepest (of one hollow)",
    "width_m": "for deepest: how wide the hollow is [m]",
    "note": "anything you want to remember",
}
LENGTHS = {"height_mm": 1.0, "height_in": 25.4, "drop_mm": -1.0, "drop_in": -25.4}
"""Columns that a height may stand in, and what one of their units is in millimeters upward."""

READING_SE_MM = {
    "string": 2.0, "board": 1.5, "laser": 1.5, "straightedge": 1.0, "wedge": 0.5, "deepest": 2.0,
}  # fmt: skip
"""Standard error of one reading in turf, in millimeters: what a second keeper would differ by (our judgment)."""
SURFACE_HOWS = frozenset({"string", "board", "laser", "photos", "pegs"})
"""Heights above one datum, which make a surface."""
TILTLESS_HOWS = frozenset({"photos", "pegs"})
"""Heights that photos gave: the tilt of the ground is not in them."""
GAP_HOWS = frozenset({"straightedge", "wedge"})

Text = Annotated[str, Field(max_length=2000)]
Place = Annotated[float, Field(ge=-1000, le=1000)]
How = Literal["string", "board", "laser", "straightedge", "wedge", "deepest"]


@dataclass(frozen=True, eq=False)
class Heights:
    """Heights of one photo point on one day, measured in one way.

    Attributes
    ----------
    date : date
        Day of the measurement.
    point : str
        Photo point whose ground frame x and y are in.
    x_m, y_m : ndarray, shape (N,)
        Places in meters, in the ground frame of the photo point.
    height_mm : ndarray, shape (N,)
        Heights in millimeters above one datum; lower ground is more negative.
    se_mm : ndarray, shape (N,)
        Standard error of each height, in millimeters.
    how : str
        string, board, laser, photos or pegs.
    """

    date: dt.date
    point: str
    x_m: Floats
    y_m: Floats
    height_mm: Floats
    se_mm: Floats
    how: str

    def __post_init__(self) -> None:
        columns = (self.x_m, self.y_m, self.height_mm, self.se_mm)
        if len({column.shape for column in columns}) > 1 or self.x_m.ndim != 1:
            raise ValueError("places, heights and errors must have one length")
        if not all(np.isfinite(column).all() for column in columns) or not (self.se_mm > 0).all():
            raise ValueError("places, heights and errors must be finite, and errors positive")

    def told(self) -> tuple[object, ...]:
        """Return all of it as plain values, which a hash can be taken of."""
        columns = (self.x_m, self.y_m, self.height_mm, self.se_mm)
        return self.date, self.point, self.how, [column.tolist() for column in columns]


class HeightReading(Row):
    """One line of heights.csv; the height in millimeters, upward."""

    date: Day
    point: Text = MAIN_POINT
    place: Text = ""
    x_m: Place
    y_m: Place
    height_mm: float = Field(ge=-1000, le=1000)
    how: How = "string"
    width_m: float | None = Field(default=None, gt=0, le=50)
    note: Text = ""

    @field_validator("how", mode="before")
    @classmethod
    def _lower_case(cls, value: object) -> object:
        return value.lower() if isinstance(value, str) else value


def read_heights(folder: Path | str) -> tuple[HeightReading, ...]:
    """Read heights.csv of a lawn folder, oldest first; empty where there is none.

    Raises
    ------
    FileError
        A line cannot be understood; with its number, the column and the remedy.
    """
    path = Path(folder) / HEIGHTS_FILE
    return parse_heights(read_text(path) or "", where=str(path))


def parse_heights(text: str, *, where: str = HEIGHTS_FILE) -> tuple[HeightReading, ...]:
    """Turn the text of a heights.csv into checked rows, oldest first; places without a height are left out."""
    if not text.strip():
        return ()
    rows = []
    for line in table_lines(text, columns=HEIGHT_COLUMNS, needed=("date", "x_m", "y_m"), where=where):
        height = _height_mm(line)
        if height is None:
            continue
        words = {
            name: line.cells[name] for name in ("date", "point", "place", "how", "note") if name in line.cells
        }
        numbers = {name: number(line, name) for name in ("x_m", "y_m", "width_m") if name in line.cells}
        rows.append(check_row(HeightReading, line, words | numbers | {"height_mm": height}))
    return tuple(sorted(rows, key=lambda row: row.date))


def surface_heights(rows: Sequence[HeightReading]) -> tuple[Heights, ...]:
    """Gather the rows that make a surface by photo point, day and way of measuring, oldest first."""
    groups: dict[tuple[dt.date, str, str], list[HeightReading]] = {}
    for row in rows:
        if row.how in SURFACE_HOWS:
            groups.setdefault((row.date, row.point, row.how), []).append(row)
    return tuple(
        Heights(
            date=date,
            point=point,
            x_m=np.array([row.x_m for row in group]),
            y_m=np.array([row.y_m for row in group]),
            height_mm=np.array([row.height_mm for row in group]),
            se_mm=np.full(len(group), READING_SE_MM[how]),
            how=how,
        )
        for (date, point, how), group in sorted(groups.items())
    )


def inches(text: str) -> float:
    """Read inches as a ruler shows them: `3/8`, `1 3/8`, `-1 3/8`, `1.375` or `1,375`.

    Raises
    ------
    ValueError
        The text is neither a number nor a fraction.

    Examples
    --------
    >>> inches("-1 3/8")
    -1.375
    """
    text = text.strip()
    value = number_alone(text[1:] if text.startswith(("+", "-")) else text, thousands=False)
    if value is None:
        raise ValueError(f"{text!r:.60} is not a number of inches")
    return -value if text.startswith("-") else value


def _height_mm(line: Line) -> float | None:
    """Return the height of a line in millimeters upward, from whichever column it stands in."""
    filled = [name for name in LENGTHS if name in line.cells]
    if not filled:
        return None
    if len(filled) > 1:
        raise FileError(
            f"both {filled[0]} and {filled[1]} are filled in", where=line.where, remedy="Keep one of them"
        )
    name = filled[0]
    if not name.endswith("_in"):
        value = number(line, name)
        return None if value is None else value * LENGTHS[name]
    try:
        value = inches(line.cells[name])
    except ValueError:
        value = float("nan")
    if not abs(value) < 1e4:
        what = f"{name}: {line.cells[name]!r:.60} is not a number of inches"
        raise FileError(what, where=line.where, remedy="Write it as 3/8, 1 3/8 or 1.375")
    return value * LENGTHS[name]


def day_of(rows: Sequence[HeightReading], day: dt.date | None) -> dt.date:
    """Return the newest day of readings that is not after `day`.

    Raises
    ------
    UsageError
        There is none.
    """
    days = [row.date for row in rows if day is None or row.date <= day]
    if not days:
        raise UsageError("no heights up to that day", where=HEIGHTS_FILE, remedy="Choose a later --as-of day")
    return max(days)
