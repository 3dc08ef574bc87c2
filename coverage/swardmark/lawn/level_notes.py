"""What lawn.toml says of level ground: [level], [[probe]] and [[puddle]].

A probe answers four questions about one place, on the spot, with a straightedge, a screwdriver and a look at the sky.
They decide what the place needs: sand goes on measured low ground alone.
"""

from __future__ import annotations

from typing import Literal

from pydantic import Field, field_validator, model_validator

from swardmark.lawn.photos import MAIN_POINT
from swardmark.lawn.settings import Name, Outline, Table
from swardmark.lawn.tables import Day

DIRECTIONS = {"away": 0.0, "right": 90.0, "toward": 180.0, "left": 270.0}
"""Named directions of a fall as seen from the photo point, in degrees clockwise from y."""


class LevelSettings(Table):
    """What the ground is to be level under, and which way it is meant to fall."""

    straightedge_m: float = Field(
        default=2.4,
        ge=0.9,
        le=6,
        description="length of the straightedge that the ground is to be level under [m]; 8 ft",
    )
    fall: tuple[float, float] | None = Field(
        default=None,
        description='the fall that is meant, `[percent, "away"]` (or toward, left, right, degrees); else as measured',
    )
    keep_low_m: tuple[Outline, ...] = Field(
        default=(),
        description="outlines of swales and drains where nothing is filled, each as `[[x, y], ...]`",
    )

    @field_validator("fall", mode="before")
    @classmethod
    def _named_direction(cls, value: object) -> object:
        if value is None:
            return value
        if not (isinstance(value, list | tuple) and len(value) == 2):
            raise ValueError('write percent and direction, such as [2, "away"]')
        percent, direction = value
        if isinstance(direction, str):
            if direction.lower() not in DIRECTIONS:
                raise ValueError("the direction is away, toward, left, right, or degrees clockwise from away")
            direction = DIRECTIONS[direction.lower()]
        return percent, direction

    @field_validator("fall")
    @classmethod
    def _likely_fall(cls, value: tuple[float, float] | None) -> tuple[float, float] | None:
        if value is not None and not (0 <= value[0] <= 25 and -360 <= value[1] <= 360):
            raise ValueError("a fall is 0 to 25 percent, and its direction within 360 degrees")
        return value


class Probe(Table):
    """Four answers about one place: the straightedge, the sand over the crowns, the soil, and the light."""

    date: Day = Field(description="the day on which you looked")
    point: Name = Field(default=MAIN_POINT, description="the photo point whose frame x and y are in")
    x_m: float = Field(
        ge=-1000, le=1000, description="where: meters from the square's corner 0 along its near side"
    )
    y_m: float = Field(ge=-1000, le=1000, description="and meters away from you along its left side")
    ground: Literal["low", "level", "high"] | None = Field(
        default=None, description="under a straightedge: low, level or high"
    )
    sand_mm: float | None = Field(
        default=None,
        ge=0,
        le=500,
        description="how thick the sand lies over the crowns: push a screwdriver in, or cut a plug [mm]",
    )
    soil: Literal["wet", "moist", "dry"] | None = Field(
        default=None, description="a day after rain or watering: wet, moist or dry"
    )
    light: Literal["sun", "shade"] | None = Field(
        default=None, description="sun (six hours or more) or shade"
    )
    note: str = Field(default="", description="anything you want to remember")

    @model_validator(mode="after")
    def _says_something(self) -> Probe:
        if all(answer is None for answer in (self.ground, self.sand_mm, self.soil, self.light)):
            raise ValueError("a probe answers one of ground, sand_mm, soil and light at least")
        return self


class Puddle(Table):
    """The edge of standing water on one day: a level line. One of a puddle's outlines gives the deepest water."""

    date: Day = Field(description="the day of the puddle")
    name: Name = Field(
        default="puddle", description="what you call it; outlines of one name are one puddle as it dries"
    )
    point: Name = Field(default=MAIN_POINT, description="the photo point whose frame the outline is in")
    outline_m: Outline = Field(
        description="the water's edge as `[[x, y], ...]` in meters from the square's corner 0"
    )
    deepest_mm: float | None = Field(
        default=None,
        gt=0,
        le=500,
        description="the water at its deepest [mm]; one outline of a puddle must have it",
    )
