"""The keeper's own file, lawn.toml, as checked values: Lawn, PhotoPoint, Zone, Leveling.

The file is text, written once by `swardmark start` and from then on by the keeper alone. Every fault in it is
told in one line with the file, the line number and the way to put it right. Lengths on the ground are meters,
heights and depths millimeters; the field names carry the unit.
"""

from __future__ import annotations

import datetime as dt
import re
import tomllib
from pathlib import Path
from typing import Any, Literal, get_args

from pydantic import BaseModel, Field, ValidationError, ValidationInfo, field_validator, model_validator

from swardmark.common.errors import FileError, UsageError, check_path
from swardmark.common.files import read_text
from swardmark.common.phrases import DateForm
from swardmark.common.text import nearest
from swardmark.common.units import metric_settings, us_names
from swardmark.lawn.grasses import PASS_SLACK_MM, SHORT_GRASS_NAMES, WARM_SEASON, Grass, frost_day, grass_row
from swardmark.lawn.level_notes import LevelSettings, Probe, Puddle
from swardmark.lawn.photos import MAIN_POINT, PhotoFile, photo_files
from swardmark.lawn.settings import (
    US_SAND,
    Confirmed,
    Leveling,
    MeasureSettings,
    Mowing,
    Name,
    Outline,
    OutlookSettings,
    PhotoPoint,
    Receipt,
    SandSettings,
    Table,
    Zone,
)
from swardmark.lawn.zones import PlotGrid

__all__ = [
    "LAWN_FILE", "MAIN_POINT", "REST_OF_LAWN", "WARM_SEASON", "WHOLE_LAWN", "Confirmed", "Grass", "Lawn", "Leveling",
    "MeasureSettings", "Mowing", "Name", "Outline", "OutlookSettings", "PhotoPoint", "PlotGrid", "Receipt",
    "SandSettings", "Zone", "parse_lawn", "read_lawn",
]  # fmt: skip

LAWN_FILE = "lawn.toml"
MOST_ZONES = 2000


class Lawn(Table):
    """Everything lawn.toml says, and the folder it stands in."""

    name: Name = Field(description="what reports call the lawn")
    grass: Grass = Field(
        default="other warm-season",
        description="which grass grows there; it sets what recovery is expected (short names such as zoysia do)",
    )
    units: Literal["metric", "us"] = Field(
        default="metric", description="what reports show; files stay metric"
    )
    dates: DateForm | None = Field(
        default=None,
        description="how dates are written: `day month` (14 June), `month day` (June 14) or `iso` (2026-06-14); by the "
        "units where not given",
    )
    square_side_m: float = Field(
        default=1.0,
        ge=0.2,
        le=5,
        description="side of the reference square, outer black corner to outer black corner [m]",
    )
    mark_side_mm: float = Field(
        default=120.0,
        ge=20,
        le=2000,
        description="side of a printed black mark, by which the square's side is checked [mm]",
    )
    leveling: tuple[Leveling, ...] = ()
    point: tuple[PhotoPoint, ...] = ()
    plots: tuple[PlotGrid, ...] = ()
    zone: tuple[Zone, ...] = Field(default=(), max_length=MOST_ZONES, validate_default=True)
    lawn_outline_m: Outline | None = Field(
        default=None,
        description="the whole lawn's outline as `[[x, y], ...]` in meters from the square's corner 0; "
        "each photo point lays it at its own square",
    )
    area_m2: float | None = Field(
        default=None,
        gt=0,
        le=1e7,
        description="the whole lawn's area, where no outline is drawn [m²]; for the sand of a whole topdressing",
    )
    first_frost: str | None = Field(
        default=None,
        description="the usual day of the first frost, as 10-25; nothing is leveled in the eight weeks before it, and "
        "without weather.csv growth ends about then",
    )
    measure: MeasureSettings = MeasureSettings()
    outlook: OutlookSettings = OutlookSettings()
    mowing: Mowing = Mowing()
    sand: SandSettings = SandSettings()
    receipt: tuple[Receipt, ...] = ()
    level: LevelSettings = LevelSettings()
    probe: tuple[Probe, ...] = ()
    puddle: tuple[Puddle, ...] = ()
    confirmed: Confirmed = Confirmed()
    folder: Path = Field(default=Path(), exclude=True)

    @model_validator(mode="before")
    @classmethod
    def _sand_of_its_units(cls, table: Any) -> Any:
        sand = table.get("sand", {}) if isinstance(table, dict) else None
        if not isinstance(sand, dict) or table.get("units") != "us":
            return table
        own = metric_settings(sand, frozenset(SandSettings.model_fields))
        return {**table, "sand": US_SAND | own}

    @field_validator("first_frost")
    @classmethod
    def _is_a_day_of_the_year(cls, day: str | None) -> str | None:
        if day is not None:
            try:
                frost_day(day)
            except ValueError:
                raise ValueError("write the month and the day, such as 10-25") from None
        return day

    @field_validator("plots", mode="before")
    @classmethod
    def _one_grid_or_several(cls, plots: Any) -> Any:
        return (plots,) if isinstance(plots, dict) else plots

    @field_validator("zone")
    @classmethod
    def _plots_are_zones(cls, zones: tuple[Zone, ...], info: ValidationInfo) -> tuple[Zone, ...]:
        return (*zones, *(plot for grid in info.data.get("plots", ()) for plot in grid.zones()))

    @field_validator("grass", mode="before")
    @classmethod
    def _short_names(cls, grass: Any) -> Any:
        if not isinstance(grass, str):
            return grass
        word = " ".join(grass.lower().replace(".", "").split())
        return SHORT_GRASS_NAMES.get(word, word)

    @model_validator(mode="after")
    def _names_are_unique(self) -> Lawn:
        seen: set[tuple[str, str]] = set()
        for zone in self.zone:
            if (zone.point, zone.name) in seen:
                raise ValueError(f"two zones of the photo point '{zone.point}' are named '{zone.name}'")
            if zone.name in OWN_NAMES:
                raise ValueError(
                    f"'{zone.name}' is the name of {OWN_NAMES[zone.name]}; give the zone another name"
                )
            seen.add((zone.point, zone.name))
        if len({point.name for point in self.point}) < len(self.point):
            raise ValueError("two photo points have the same name")
        return self

    @property
    def is_warm_season(self) -> bool:
        """Whether the grass grows by summer heat (bermudagrass, zoysiagrass and the like)."""
        return self.grass in WARM_SEASON

    @property
    def leveling_dates(self) -> tuple[dt.date, ...]:
        """All leveling days, oldest first."""
        return tuple(sorted(level.date for level in self.leveling))

    def depth_of(self, leveling: Leveling) -> float | None:
        """Return the mean depth of a leveling [mm]: as given, else its sand over the lawn's area, else unknown."""
        if leveling.depth_mm is not None or leveling.sand_m3 is None or self.area_m2 is None:
            return leveling.depth_mm
        return leveling.sand_m3 / self.area_m2 * 1000

    @property
    def pass_mm(self) -> float:
        """Depth of one pass over the lawn [mm]: the keeper's, lowered to what the grass stands."""
        most = grass_row(self.grass).pass_mm.value
        return most if self.sand.pass_depth_mm > most + PASS_SLACK_MM else self.sand.pass_depth_mm

    def leveled_before(self, day: dt.date) -> dt.date | None:
        """Return the latest leveling day that is not after `day`, or None."""
        return max((d for d in self.leveling_dates if d <= day), default=None)

    def side_of(self, point: str) -> float:
        """Return the square's side in meters at a photo point."""
        sides = {p.name: p.square_side_m for p in self.point}
        return sides.get(point) or self.square_side_m

    def zones_of(self, point: str) -> tuple[Zone, ...]:
        """Return the zones that the keeper drew at a photo point, in file order."""
        return tuple(zone for zone in self.zone if zone.point == point)

    @property
    def date_form(self) -> DateForm:
        """How dates are written: as the keeper wants it, else by the units."""
        return self.dates or ("month day" if self.units == "us" else "day month")

    @property
    def ground_m2(self) -> float | None:
        """The lawn's area in square meters: as the keeper gave it, else inside its outline, else unknown."""
        from shapely import Polygon

        if self.area_m2 is not None or self.lawn_outline_m is None:
            return self.area_m2
        return float(Polygon(self.lawn_outline_m).buffer(0).area)

    def photos(self) -> list[PhotoFile]:
        """List the photos of the folder, ordered by photo point, then by name."""
        return sorted(photo_files(self.folder / "photos"), key=lambda photo: (photo.point, photo.name))


WHOLE_LAWN, REST_OF_LAWN = "whole lawn", "rest of the lawn"
OWN_NAMES = {WHOLE_LAWN: "the total", REST_OF_LAWN: "the ground that no zone covers"}


def read_lawn(folder: Path | str) -> Lawn:
    """Read and check `lawn.toml` in a lawn folder.

    Raises
    ------
    FileError
        The file is missing, is not TOML, or says something that cannot be; with its line.
    """
    check_path(folder, name="folder", where="read_lawn")
    folder = Path(folder)
    path = folder / LAWN_FILE
    if not folder.is_dir():
        raise UsageError(
            "no such folder", where=str(folder), remedy=f"Begin one with: swardmark start {folder}"
        )
    try:
        text = read_text(path)
    except FileNotFoundError:
        inside = sorted(folder.glob(f"*/{LAWN_FILE}"))
        remedy = f"Begin one with: swardmark start {folder}"
        if inside:
            remedy = f"Name one of the lawns in it, such as {inside[0].parent}"
        raise FileError(f"no {LAWN_FILE} in this folder", where=str(folder), remedy=remedy) from None
    return parse_lawn(text, folder=folder, where=str(path))


def parse_lawn(text: str, *, folder: Path = Path(), where: str = LAWN_FILE) -> Lawn:
    """Turn the text of a lawn.toml into a Lawn; `where` names the file in error lines."""
    try:
        table = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        line = re.search(r"line (\d+)", str(error))
        remedy = "Text stands in quotes, days are written 2026-06-03, lists in [ ]"
        at = f"{where}:{line[1]}" if line else where
        raise FileError(
            f"not valid TOML ({str(error) or 'nested too deep'})", where=at, remedy=remedy
        ) from None
    if "folder" in table:
        raise FileError(
            "'folder' is not a setting", where=f"{where}:{_line_of(text, ('folder',))}", remedy="Delete it"
        )
    try:
        return Lawn(**table, folder=folder)
    except ValidationError as error:
        raise _first_fault(error, text, where) from None
    except TypeError:
        raise FileError("a setting has no name", where=where, remedy="Write: name = value") from None


def _first_fault(error: ValidationError, text: str, where: str) -> FileError:
    faults = error.errors(include_url=False)
    fault = faults[0]
    loc = tuple(part for part in fault["loc"] if part not in ("float", "literal['auto']"))
    spot = ".".join(str(part + 1) if isinstance(part, int) else str(part) for part in loc)
    message = fault["msg"].removeprefix("Value error, ")
    if fault["type"] == "extra_forbidden":
        meant = nearest(str(loc[-1]), _settings_beside(loc))
        what = f"'{spot}' is not a setting"
        remedy = f"Did you mean '{meant}'?" if meant else "Check its spelling, or delete the line"
    elif fault["type"] == "literal_error":
        choices = re.findall(r"'([^']*)'", fault["ctx"]["expected"])
        meant = nearest(str(fault["input"]), choices)
        what = f"'{spot}': {fault['input']!r:.60} is not known"
        remedy = f"Did you mean '{meant}'?" if meant else f"Choose one of: {', '.join(choices)}"
    elif fault["type"] == "missing":
        what, remedy = f"'{spot}' is missing", "Add it"
    else:
        given = "" if isinstance(fault["input"], dict | list) else f", not {fault['input']!r:.60}"
        what = f"'{spot}': {message}{given if fault['type'] != 'value_error' else ''}" if spot else message
        remedy = "Change it and save the file"
    more = f" ({len(faults) - 1} more after this one)" if len(faults) > 1 else ""
    line = _line_of(text, loc)
    return FileError(f"{what}{more}", where=f"{where}:{line}" if line else where, remedy=remedy)


def _settings_beside(loc: tuple[Any, ...]) -> list[str]:
    """Return the names of the settings in the table where an unknown one stands."""
    table: Any = Lawn
    for part in (part for part in loc[:-1] if isinstance(part, str)):
        kinds = [table.model_fields[part].annotation]
        while not isinstance(kinds[0], type) or not issubclass(kinds[0], BaseModel):
            kinds = [kind for outer in kinds for kind in get_args(outer) if kind is not type(None)]
        table = kinds[0]
    return list(table.model_fields)


def _line_of(text: str, loc: tuple[Any, ...]) -> int | None:
    """Find the line of a key: the n-th [[table]] or the [table], then the key below it."""
    lines = text.splitlines()
    start, keys = 0, [part for part in loc if isinstance(part, str)]
    if not keys:
        return None
    if len(keys) > 1 or (len(loc) > 1 and isinstance(loc[1], int)):
        nth = next((part for part in loc if isinstance(part, int)), 0)
        headers = [
            n for n, line in enumerate(lines) if re.match(rf"\s*\[+\s*{re.escape(keys[0])}\s*\]+", line)
        ]
        if nth < len(headers):
            start = headers[nth]
        keys = keys[1:] or keys
    names = (keys[0], *us_names(keys[0]))
    for number in range(start, len(lines)):
        if re.match(rf'\s*"?({"|".join(map(re.escape, names))})"?\s*=', lines[number]):
            return number + 1
    return start + 1 if start else None
