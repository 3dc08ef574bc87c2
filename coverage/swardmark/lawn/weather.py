"""Daily temperatures, and the two ways of counting days by them.

weather.csv holds date, tmin_c, tmax_c (or tmin_f, tmax_f; or tmin, tmax with a column unit of C or F). A NOAA
GHCN-Daily file (station CSV; tenths of a degree; https://www.ncei.noaa.gov/pub/data/ghcn/daily/readme.txt) put there
under the same name is recognized by its content.

Growing degree-days are counted by either method of McMaster & Wilhelm 1997, Agric. For. Meteorol. 87:291-300, doi
10.1016/S0168-1923(97)00027-0; the two differ by a factor of two on cool-night days, so the method is always named.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np
from pydantic import Field

from swardmark.common.errors import FileError
from swardmark.lawn.tables import Day, Line, Row, check_row, number, read_text, table_lines

WEATHER_FILE = "weather.csv"
COLUMNS = {
    "date": "the day, as 2026-06-09",
    "tmin_c": "lowest air temperature [°C]",
    "tmax_c": "highest air temperature [°C]",
    "tmin_f": "or lowest [°F]",
    "tmax_f": "or highest [°F]",
    "tmin": "or lowest, in the unit of the column unit",
    "tmax": "or highest, in the unit of the column unit",
    "unit": "C or F, for tmin and tmax",
}
GHCN_LINE = re.compile(r'^"?[A-Z]{2}[A-Z0-9_\-]{9}"?,"?\d{8}"?,"?[A-Z0-9]{4}"?,', re.MULTILINE)
GHCN_LIMIT_TENTHS = 600
MOST_NIGHT_C = 45.0
"""The warmest night on record had 42.6 °C (Oman, June 2018; from memory): what lies above is Fahrenheit."""

GddMethod = Literal["mean", "lifted"]


class Temperatures(Row):
    """One day's lowest and highest air temperature [degrees C]."""

    date: Day
    tmin_c: float = Field(ge=-70, le=60)
    tmax_c: float = Field(ge=-70, le=60)


@dataclass(frozen=True)
class Weather:
    """Daily temperatures in the order of their days, and where they came from."""

    days: tuple[Temperatures, ...]
    source: str

    def until(self, as_of: dt.date) -> Weather:
        """Return what was known on a day."""
        return Weather(tuple(day for day in self.days if day.date <= as_of), self.source)


def growing_degree_days(
    tmin: np.ndarray | float,
    tmax: np.ndarray | float,
    *,
    base: float,
    method: GddMethod = "mean",
    cap: float | None = None,
) -> np.ndarray:
    """Return growing degree-days of single days, in the unit of the arguments.

    Parameters
    ----------
    tmin, tmax : array_like
        Lowest and highest temperature of each day.
    base : float
        Temperature below which nothing grows.
    method : {"mean", "lifted"}
        "mean" compares the day's mean with the base (method 1 of McMaster & Wilhelm 1997); "lifted" first lifts both
        temperatures to the base (method 2), and counts more on days with cool nights.
    cap : float, optional
        Temperatures above it count as the cap.
    """
    low, high = np.asarray(tmin, float), np.asarray(tmax, float)
    if cap is not None:
        low, high = np.minimum(low, cap), np.minimum(high, cap)
    if method == "lifted":
        low, high = np.maximum(low, base), np.maximum(high, base)
    return np.maximum((low + high) / 2.0 - base, 0.0)


def read_weather(folder: Path | str) -> Weather | None:
    """Read weather.csv of a lawn folder, or return None where there is none.

    Raises
    ------
    FileError
        A line cannot be understood, or the unit is not stated.
    """
    path = Path(folder) / WEATHER_FILE
    text = read_text(path)
    return None if text is None or not text.strip() else parse_weather(text, where=str(path))


def parse_weather(text: str, *, where: str = WEATHER_FILE) -> Weather:
    """Turn the text of a weather.csv or a GHCN-Daily station file into days, oldest first."""
    head = "\n".join(text.splitlines()[:3])
    if GHCN_LINE.search(head):
        return _parse_ghcn(text, where)
    rows: dict[dt.date, Temperatures] = {}
    for line in table_lines(text, columns=COLUMNS, needed=("date",), where=where):
        day = _day(line, where)
        if day is not None and day.date in rows:
            raise FileError(f"{day.date} is given twice", where=line.where, remedy="Keep one line a day")
        if day is not None:
            rows[day.date] = day
    return Weather(tuple(rows[date] for date in sorted(rows)), Path(where).name)


def _day(line: Line, where: str) -> Temperatures | None:
    """Return a day in degrees C, or None where a temperature is missing."""
    found: list[float] = []
    for name in ("tmin", "tmax"):
        values = [_celsius(line, f"{name}{unit}") for unit in ("_c", "_f", "")]
        given = [value for value in values if value is not None]
        if len(given) > 1:
            raise FileError(f"{name} is given in two units", where=line.where, remedy="Keep one of them")
        found += given
    if len(found) < 2:
        return None
    if found[0] > found[1]:
        what = f"the lowest temperature ({found[0]:.1f} C) is above the highest ({found[1]:.1f} C)"
        raise FileError(what, where=line.where, remedy="Swap them")
    if found[0] > MOST_NIGHT_C:
        what = f"no night is as warm as {found[0]:.0f} degrees C"
        remedy = "If these are degrees F, name the columns tmin_f and tmax_f"
        raise FileError(what, where=line.where, remedy=remedy)
    return check_row(
        Temperatures, line, {"date": line.cells.get("date"), "tmin_c": found[0], "tmax_c": found[1]}
    )


def _celsius(line: Line, column: str) -> float | None:
    value = number(line, column)
    if value is None:
        return None
    unit = (
        column[-1:].upper()
        if column.endswith(("_c", "_f"))
        else line.cells.get("unit", "").strip("° ").upper()
    )
    if unit not in ("C", "F"):
        remedy = "Name the columns tmin_c and tmax_c, or tmin_f and tmax_f, or add a column unit with C or F"
        raise FileError(f"the unit of {column} is not stated", where=line.where, remedy=remedy)
    return value if unit == "C" else (value - 32.0) / 1.8


def _parse_ghcn(text: str, where: str) -> Weather:
    stations: dict[str, dict[str, dict[str, float]]] = {}
    for at, cells in _ghcn_cells(text, where):
        station, day, element, value, flag = cells[0], cells[1], cells[2], cells[3], cells[5]
        if element not in ("TMIN", "TMAX") or flag or value == "-9999":
            continue
        try:
            tenths = int(value)
        except ValueError:
            raise FileError(
                f"{value!r} is not a whole number", where=at, remedy="Download the file again"
            ) from None
        if abs(tenths) > GHCN_LIMIT_TENTHS:
            what = f"{element} {tenths} is not a temperature in tenths of a degree C"
            raise FileError(what, where=at, remedy="Use the GHCN-Daily file as published")
        stations.setdefault(station, {}).setdefault(day, {})[element] = tenths / 10.0
    if not stations:
        raise FileError(
            "no TMIN and TMAX in this GHCN-Daily file", where=where, remedy="Choose another station"
        )
    name = max(stations, key=lambda key: len(stations[key]))
    days = [
        _ghcn_day(day, values, where)
        for day, values in sorted(stations[name].items())
        if {"TMIN", "TMAX"} <= values.keys() and values["TMIN"] <= values["TMAX"]
    ]
    return Weather(tuple(days), f"GHCN-Daily station {name}")


def _ghcn_cells(text: str, where: str) -> Iterator[tuple[str, list[str]]]:
    for number_, line in enumerate(text.splitlines(), start=1):
        cells = [cell.strip().strip('"') for cell in line.split(",")]
        if not line.strip() or cells[0].upper() in ("ID", "STATION"):
            continue
        at = f"{where}:{number_}"
        if len(cells) < 7:
            what = "not a GHCN-Daily line (ID,YYYYMMDD,ELEMENT,VALUE,M,Q,S,TIME)"
            raise FileError(what, where=at, remedy="Download the station's file again")
        yield at, cells


def _ghcn_day(day: str, values: dict[str, float], where: str) -> Temperatures:
    date = f"{day[:4]}-{day[4:6]}-{day[6:8]}"
    line = Line(where, {})
    return check_row(Temperatures, line, {"date": date, "tmin_c": values["TMIN"], "tmax_c": values["TMAX"]})
