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
from typing import Annotated, Any, Literal

from pydantic import (
    AfterValidator,
    BaseModel,
    ConfigDict,
    Field,
    ValidationError,
    field_validator,
    model_validator,
)

from swardmark.common.errors import FileError, UsageError
from swardmark.common.files import UNSHOWABLE, read_text
from swardmark.lawn.photos import MAIN_POINT, PhotoFile, photo_files
from swardmark.lawn.tables import Day

LAWN_FILE = "lawn.toml"

Grass = Literal[
    "bermudagrass", "zoysiagrass", "st augustinegrass", "centipedegrass", "seashore paspalum", "buffalograss",
    "tall fescue", "kentucky bluegrass", "perennial ryegrass", "fine fescue", "creeping bentgrass",
    "other warm-season", "other cool-season",
]  # fmt: skip


def _can_be_shown(name: str) -> str:
    if UNSHOWABLE.search(name):
        raise ValueError("holds characters that cannot be shown, such as a line break")
    return name


def _checked_outline(outline: Corners) -> Corners:
    from shapely import Polygon
    from shapely.validation import explain_validity

    if len(outline) > 1 and outline[0] == outline[-1]:
        outline = outline[:-1]
    if len(outline) < 3:
        raise ValueError(f"an outline needs at least three corners, this one has {len(outline)}")
    if any(not abs(value) < 1000 for corner in outline for value in corner):
        raise ValueError("corners are meters from the square and lie within 1000 m")
    shape = Polygon(outline)
    if not shape.is_valid:
        raise ValueError(f"the outline crosses itself ({explain_validity(shape)}): list its corners in order")
    if shape.area < 0.01:
        raise ValueError(
            f"the outline encloses {shape.area * 1e4:.0f} cm2; the least that can be measured is 100"
        )
    return outline


Corners = tuple[tuple[float, float], ...]
Outline = Annotated[Corners, AfterValidator(_checked_outline)]
Name = Annotated[str, Field(min_length=1, max_length=200), AfterValidator(_can_be_shown)]


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, str_strip_whitespace=True)

    @field_validator("*", mode="before")
    @classmethod
    def _no_setting_is_yes_or_no(cls, value: Any) -> Any:
        if isinstance(value, bool):
            raise ValueError(f"no setting is {str(value).lower()}")
        return value


class Leveling(_Table):
    """One leveling with sand: its day and the mean depth that was spread."""

    date: Day
    depth_mm: float = Field(default=6.0, gt=0, le=51)
    note: str = ""


class PhotoPoint(_Table):
    """A fixed place from which the same ground is photographed each time."""

    name: Name = MAIN_POINT
    square_side_m: float | None = Field(default=None, ge=0.2, le=5)
    note: str = ""

    @field_validator("name")
    @classmethod
    def _is_a_folder_name(cls, name: str) -> str:
        if re.search(r'[/\\:*?"<>|\x00-\x1f]', name) or name.strip(". ") == "":
            raise ValueError("a photo point's name is also its folder's name: leave out / \\ : * ? \" < > |")
        return name


class Zone(_Table):
    """A part of the ground, as an outline in meters from the square's corner mark 0."""

    name: Name
    outline_m: Outline
    point: Name = MAIN_POINT

    @property
    def area_m2(self) -> float:
        """Ground area inside the outline, in square meters."""
        from shapely import Polygon

        return float(Polygon(self.outline_m).area)


class MeasureSettings(_Table):
    """How photos are read; a change here makes the photos be measured again."""

    point_spacing_mm: float = Field(default=10.0, ge=5, le=100)
    max_view_deg: float = Field(default=75.0, ge=10, le=80)
    max_footprint_mm: float = Field(default=15.0, gt=0, le=200)
    damping: float = Field(default=100.0, ge=0, le=1000)
    threshold: float | Literal["auto"] = "auto"

    @field_validator("threshold")
    @classmethod
    def _in_range(cls, value: float | str) -> float | str:
        if not isinstance(value, str) and not -0.2 <= value <= 0.6:
            raise ValueError('the threshold is an excess-green value between -0.2 and 0.6, or "auto"')
        return value


class OutlookSettings(_Table):
    """What counts as ready and full, and how days are weighed by warmth."""

    first_mow_cover_pct: float = Field(default=70.0, gt=0, lt=100)
    full_cover_pct: float = Field(default=90.0, gt=0, lt=100)
    mow_at_times_target: Literal[1.5, 1.33] = 1.5  # type: ignore[valid-type]
    base_temperature_c: float | None = Field(default=None, ge=-5, le=20)


class Mowing(_Table):
    """Heights of cut, for the way down before the sand and the way back after it."""

    usual_height_mm: float | None = Field(default=None, gt=0, le=200)
    target_height_mm: float | None = Field(default=None, gt=0, le=200)
    scalp_height_mm: float | None = Field(default=None, gt=0, le=200)


class SandSettings(_Table):
    """Depths and containers for the sand order; densities and sources are in docs/how-it-works."""

    pass_depth_mm: float = Field(default=6.0, gt=0, le=51)
    settling_pct: float = Field(default=0.0, ge=0, le=50)
    passes_per_season: int = Field(default=2, ge=1, le=12)
    scoop_m3: float = Field(default=0.382, ge=0.01, le=20)
    bag_litres: float = Field(default=14.16, ge=1, le=2000)
    bucket_litres: float = Field(default=18.93, ge=1, le=1000)
    barrow_litres: float = Field(default=169.9, ge=1, le=1000)
    payload_kg: float = Field(default=700.0, ge=1, le=100_000)
    price_per_m3: float | None = Field(default=None, ge=0, le=1e6)
    delivery_price: float = Field(default=0.0, ge=0, le=1e6)


class Confirmed(_Table):
    """The keeper's own checks on the ground before the first mow, each with the day it was made."""

    dry: Day | None = None
    firm: Day | None = None
    tug_test_passed: Day | None = None
    no_loose_ridges: Day | None = None


class Lawn(_Table):
    """Everything lawn.toml says, and the folder it stands in."""

    name: Name
    grass: Grass = "other warm-season"
    units: Literal["metric", "us"] = "metric"
    square_side_m: float = Field(default=1.0, ge=0.2, le=5)
    leveling: tuple[Leveling, ...] = ()
    point: tuple[PhotoPoint, ...] = ()
    zone: tuple[Zone, ...] = ()
    lawn_outline_m: Outline | None = None
    area_m2: float | None = Field(default=None, gt=0, le=1e7)
    measure: MeasureSettings = MeasureSettings()
    outlook: OutlookSettings = OutlookSettings()
    mowing: Mowing = Mowing()
    sand: SandSettings = SandSettings()
    confirmed: Confirmed = Confirmed()
    folder: Path = Field(default=Path(), exclude=True)

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
            if zone.name == WHOLE_LAWN:
                raise ValueError(f"'{WHOLE_LAWN}' is the name of the total; give the zone another name")
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

    def photos(self) -> list[PhotoFile]:
        """List the photos of the folder, ordered by photo point, then by name."""
        return sorted(photo_files(self.folder / "photos"), key=lambda photo: (photo.point, photo.name))


WHOLE_LAWN = "whole lawn"
WARM_SEASON = frozenset({
    "bermudagrass", "zoysiagrass", "st augustinegrass", "centipedegrass", "seashore paspalum", "buffalograss",
    "other warm-season",
})  # fmt: skip

SHORT_GRASS_NAMES = {
    "bermuda": "bermudagrass", "zoysia": "zoysiagrass", "centipede": "centipedegrass", "paspalum": "seashore paspalum",
    "st augustine": "st augustinegrass", "saint augustine": "st augustinegrass", "buffalo": "buffalograss",
    "fescue": "tall fescue", "bluegrass": "kentucky bluegrass", "ryegrass": "perennial ryegrass",
    "bentgrass": "creeping bentgrass", "warm-season": "other warm-season", "cool-season": "other cool-season",
}  # fmt: skip


def read_lawn(folder: Path | str) -> Lawn:
    """Read and check `lawn.toml` in a lawn folder.

    Raises
    ------
    FileError
        The file is missing, is not TOML, or says something that cannot be; with its line.
    """
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
            remedy = f"Give one of the lawns in it, such as {inside[0].parent}; measure alone takes them all"
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
        what, remedy = f"'{spot}' is not a setting", "Check its spelling, or delete the line"
    elif fault["type"] == "missing":
        what, remedy = f"'{spot}' is missing", "Add it"
    else:
        given = "" if isinstance(fault["input"], dict | list) else f", not {fault['input']!r:.60}"
        what = f"'{spot}': {message}{given if fault['type'] != 'value_error' else ''}" if spot else message
        remedy = "Change it and save the file"
    more = f" ({len(faults) - 1} more after this one)" if len(faults) > 1 else ""
    line = _line_of(text, loc)
    return FileError(f"{what}{more}", where=f"{where}:{line}" if line else where, remedy=remedy)


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
    for number in range(start, len(lines)):
        if re.match(rf'\s*"?{re.escape(keys[0])}"?\s*=', lines[number]):
            return number + 1
    return start + 1 if start else None
