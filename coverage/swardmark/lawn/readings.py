"""What the keeper measured and did: readings.csv and diary.csv.

readings.csv: date, zone, height_mm (leaf height), dip_mm (depth of a low spot under a straightedge), firm (yes or no),
note; and, for dips, spot, x_m and y_m. Heights and dips may be given in inches as height_in and dip_in.
diary.csv: date, what (watered, fed, rain, mowed, edged, sanded or note), amount (as the keeper says it), note.
A file that is not there is an empty one. Neither is ever written here.
"""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field, field_validator

from swardmark.lawn.tables import Day, Row, check_row, length_mm, number, read_text, table_lines

READINGS_FILE, DIARY_FILE = "readings.csv", "diary.csv"
READINGS_COLUMNS = {
    "date": "day of the reading, as 2026-06-09",
    "point": "the photo point, where two points have zones of the same name, or a frame of x and y each",
    "zone": "where it was read; empty for the whole lawn",
    "height_mm": "leaf height [mm]",
    "height_in": "or leaf height in inches",
    "dip_mm": "depth of a low spot under a straightedge [mm]",
    "dip_in": "or that depth in inches",
    "firm": "yes or no: firm underfoot?",
    "note": "anything you want to remember",
    "spot": "number of the spot in spots.csv that a dip belongs to",
    "x_m": "or where the dip is: meters from the square's corner 0 along its near side",
    "y_m": "and meters away from you along its left side",
}
DIARY_COLUMNS = {
    "date": "the day, as 2026-06-09",
    "what": "watered, fed, rain, mowed, edged, sanded or note",
    "amount": "how much, as you would say it",
    "note": "anything you want to remember",
}
YES, NO = ("yes", "y", "true", "1", "firm"), ("no", "n", "false", "0", "soft")

Text = Annotated[str, Field(max_length=2000)]
What = Literal["watered", "fed", "rain", "mowed", "edged", "sanded", "note"]


class Reading(Row):
    """One line of readings.csv; what was not measured is None or ""."""

    date: Day
    point: Text = ""
    zone: Text = ""
    height_mm: float | None = Field(default=None, gt=0, le=500)
    dip_mm: float | None = Field(default=None, ge=0, le=300)
    firm: bool | None = None
    note: Text = ""
    spot: Text = ""
    x_m: float | None = Field(default=None, ge=-1000, le=1000)
    y_m: float | None = Field(default=None, ge=-1000, le=1000)

    @field_validator("firm", mode="before")
    @classmethod
    def _yes_or_no(cls, value: object) -> object:
        if not isinstance(value, str):
            return value
        word = value.lower()
        if word not in YES + NO:
            raise ValueError("write yes or no")
        return word in YES


class DiaryEntry(Row):
    """One line of diary.csv."""

    date: Day
    what: What
    amount: Text = ""
    note: Text = ""

    @field_validator("what", mode="before")
    @classmethod
    def _lower_case(cls, value: object) -> object:
        return value.lower() if isinstance(value, str) else value


def read_readings(folder: Path | str) -> tuple[Reading, ...]:
    """Read readings.csv of a lawn folder, oldest first; empty where there is none.

    Raises
    ------
    FileError
        A line cannot be understood; with its number, the column and the remedy.
    """
    path = Path(folder) / READINGS_FILE
    return parse_readings(read_text(path) or "", where=str(path))


def parse_readings(text: str, *, where: str = READINGS_FILE) -> tuple[Reading, ...]:
    """Turn the text of a readings.csv into checked rows, oldest first."""
    if not text.strip():
        return ()
    rows = []
    for line in table_lines(text, columns=READINGS_COLUMNS, needed=("date",), where=where):
        values = {
            key: line.cells[key]
            for key in ("date", "point", "zone", "firm", "note", "spot")
            if key in line.cells
        }
        lengths = {"height_mm": length_mm(line, "height"), "dip_mm": length_mm(line, "dip")}
        place = {key: number(line, key) for key in ("x_m", "y_m")}
        rows.append(check_row(Reading, line, values | lengths | place))
    return tuple(sorted(rows, key=lambda row: row.date))


def read_diary(folder: Path | str) -> tuple[DiaryEntry, ...]:
    """Read diary.csv of a lawn folder, oldest first; empty where there is none. Raises as `read_readings`."""
    path = Path(folder) / DIARY_FILE
    return parse_diary(read_text(path) or "", where=str(path))


def parse_diary(text: str, *, where: str = DIARY_FILE) -> tuple[DiaryEntry, ...]:
    """Turn the text of a diary.csv into checked rows, oldest first."""
    if not text.strip():
        return ()
    lines = table_lines(text, columns=DIARY_COLUMNS, needed=("date", "what"), where=where)
    return tuple(
        sorted((check_row(DiaryEntry, line, dict(line.cells)) for line in lines), key=lambda row: row.date)
    )


def days_since_water(diary: tuple[DiaryEntry, ...], as_of: dt.date) -> int | None:
    """Return the days from the last watering or rain in the diary to a day, or None if none is noted."""
    wet = [entry.date for entry in diary if entry.what in ("watered", "rain") and entry.date <= as_of]
    return (as_of - max(wet)).days if wet else None
