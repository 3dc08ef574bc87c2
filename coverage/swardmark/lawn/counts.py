"""Points counted by eye: counts.csv, the keeper's file, and the sheet that is filled in for it.

counts.csv: photo, point, zone, x_m, y_m (the place on the ground) or x_px, y_px (of a photo taken straight down, which
has no ground frame), stratum and chance as the point was drawn, said (leaf, ground or cannot tell), by, note. A point
that was shown again has a line of its own. A file that is not there is an empty one.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field, field_validator

from swardmark.common.errors import FileError, UsageError
from swardmark.common.files import back_up, write_whole
from swardmark.common.text import plain_cell
from swardmark.lawn.lock import files_lock
from swardmark.lawn.tables import Row, check_row, number, read_text, table_lines

COUNTS_FILE = "counts.csv"
COUNTS_COLUMNS = (
    "photo", "point", "zone", "x_m", "y_m", "x_px", "y_px", "stratum", "chance", "said", "by", "note",
)  # fmt: skip
SHEET_COLUMNS = ("number", "said", *(name for name in COUNTS_COLUMNS if name != "said"))
LEAST_OVERLAP, CLEAR_OVERLAP = 4, 10
"""So many answers in the order of a sheet are of that sheet, where no other of its points is answered, and where some
are: points shown again are mixed, and 10 of them come in one order once in 3.6 million times."""
Place = tuple[str, str, float | None, float | None]
LEAF, GROUND, CANNOT_TELL = "leaf", "ground", "cannot tell"
SAID = {"leaf": LEAF, "l": LEAF, "ground": GROUND, "g": GROUND, "cannot tell": CANNOT_TELL, "?": CANNOT_TELL}

Text = Annotated[str, Field(max_length=2000)]


class Count(Row):
    """One point counted by eye."""

    photo: Annotated[str, Field(min_length=1, max_length=2000)]
    point: Text = "main"
    zone: Text = ""
    x_m: float | None = Field(default=None, ge=-1000, le=1000)
    y_m: float | None = Field(default=None, ge=-1000, le=1000)
    x_px: float | None = Field(default=None, ge=0, le=100_000)
    y_px: float | None = Field(default=None, ge=0, le=100_000)
    stratum: Literal["ground", "unsure", "leaf"]
    chance: float = Field(gt=0, le=1)
    said: Literal["leaf", "ground", "cannot tell"]
    by: Text = ""
    note: Text = ""

    @field_validator("said", mode="before")
    @classmethod
    def _in_full(cls, value: object) -> object:
        word = str(value).strip().lower()
        if word not in SAID:
            raise ValueError("write leaf, ground or ? (cannot tell)")
        return SAID[word]

    @property
    def place(self) -> Place:
        """What makes two lines the same point: photo, zone and the place on it."""
        first, second = (self.x_m, self.y_m) if self.x_m is not None else (self.x_px, self.y_px)
        return self.photo, self.zone, first, second

    @property
    def is_straight_down(self) -> bool:
        """Whether the point lies on a photo taken straight down."""
        return self.x_m is None


def read_counts(folder: Path | str) -> tuple[Count, ...]:
    """Read counts.csv of a lawn folder; empty where there is none.

    Raises
    ------
    FileError
        A line cannot be understood; with its number, the column and the remedy.
    """
    path = Path(folder) / COUNTS_FILE
    return parse_counts(read_text(path) or "", where=str(path))


def parse_counts(text: str, *, where: str = COUNTS_FILE, is_sheet: bool = False) -> tuple[Count, ...]:
    """Turn the text of a counts.csv into checked rows; of a sheet the lines without an answer are left out."""
    if not text.strip():
        return ()
    columns = SHEET_COLUMNS if is_sheet else COUNTS_COLUMNS
    rows = []
    for line in table_lines(text, columns=columns, needed=("photo", "said"), where=where):
        if is_sheet and "said" not in line.cells:
            continue
        numbers = {key: number(line, key) for key in ("x_m", "y_m", "x_px", "y_px", "chance")}
        words = {key: value for key, value in line.cells.items() if key not in (*numbers, "number")}
        row = check_row(
            Count, line, words | {key: value for key, value in numbers.items() if value is not None}
        )
        if (row.x_m is None or row.y_m is None) and (row.x_px is None or row.y_px is None):
            raise FileError("no place", where=line.where, remedy="Fill in x_m and y_m as the sheet had them")
        rows.append(row)
    return tuple(rows)


def add_counts(folder: Path, counts: Sequence[Count], *, keep_copy: bool = True) -> Path:
    """Add lines to counts.csv; the file as it was is kept under a dated name beside it.

    `keep_copy` is left out where answers are added one by one: lines are only added, and one copy a round is enough.

    Raises
    ------
    UsageError
        There is nothing to add.
    """
    if not counts:
        raise UsageError("no point has an answer", where=COUNTS_FILE, remedy="Fill in the column said")
    path = folder / COUNTS_FILE
    with files_lock(folder):
        rows = [count.model_dump() for count in (*read_counts(folder), *counts)]
        if keep_copy:
            back_up(path)
        return write_whole(path, _table(COUNTS_COLUMNS, rows))


def new_answers(known: Sequence[Count], sheet: Sequence[Count], *, where: str) -> list[Count]:
    """Return the answers of a filled sheet that are not kept yet: one taken in again, or filled further, counts once.

    It is known by its points, which each sheet has in an order of its own, and by who counted; points that are shown
    again, or counted by someone else, come in another order or under another name.

    Raises
    ------
    UsageError
        An answer that is kept is another one now.
    """
    by, order = {count.by for count in sheet}, {count.place: n for n, count in enumerate(sheet)}
    asked = [count for count in known if count.by in by and count.place in order]
    kept = {count.place: count for count in _of_sheet(asked, order)}
    if other := sum(count.said != kept[count.place].said for count in sheet if count.place in kept):
        what = f"{other} answers are others than those kept of these points"
        raise UsageError(what, where=where, remedy=f"Correct them in {COUNTS_FILE}")
    return [count for count in sheet if count.place not in kept]


def _of_sheet(asked: Sequence[Count], order: Mapping[Place, int]) -> Iterator[Count]:
    """Yield the answers that were taken in with a sheet: those that follow each other in its order."""
    places = len({count.place for count in asked})
    run: list[Count] = []
    for count in (*asked, None):
        if count is not None and (not run or order[count.place] > order[run[-1].place]):
            run.append(count)
            continue
        if len(run) >= CLEAR_OVERLAP or (len(run) >= LEAST_OVERLAP and len(run) == places):
            yield from run
        run = [] if count is None else [count]


def sheet_text(rows: Sequence[Mapping[str, object]]) -> str:
    """Return the CSV that is filled in beside a contact sheet: number and an empty answer first."""
    return _table(SHEET_COLUMNS, [{"number": n, **row} for n, row in enumerate(rows, start=1)])


def _table(columns: Sequence[str], rows: Sequence[Mapping[str, object]]) -> str:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(columns)
    for row in rows:
        cells = (row.get(name) for name in columns)
        writer.writerow(["" if cell is None else _cell(cell) for cell in cells])
    return out.getvalue()


def _cell(value: object) -> object:
    if isinstance(value, float):
        return f"{value:.6g}"
    return plain_cell(value) if isinstance(value, str) else str(value)
