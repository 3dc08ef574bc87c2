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

    straightedge_m: float = Field(default=2.4, ge=0.9, le=6)
    fall: tuple[float, float] | None = None
    keep_low_m: tuple[Outline, ...] = ()

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

    date: Day
    point: Name = MAIN_POINT
    x_m: float = Field(ge=-1000, le=1000)
    y_m: float = Field(ge=-1000, le=1000)
    ground: Literal["low", "level", "high"] | None = None
    sand_mm: float | None = Field(default=None, ge=0, le=500)
    soil: Literal["wet", "moist", "dry"] | None = None
    light: Literal["sun", "shade"] | None = None
    note: str = ""

    @model_validator(mode="after")
    def _says_something(self) -> Probe:
        if all(answer is None for answer in (self.ground, self.sand_mm, self.soil, self.light)):
            raise ValueError("a probe answers one of ground, sand_mm, soil and light at least")
        return self


class Puddle(Table):
    """The edge of standing water on one day: a level line. One of a puddle's outlines gives the deepest water."""

    date: Day
    name: Name = "puddle"
    point: Name = MAIN_POINT
    outline_m: Outline
    deepest_mm: float | None = Field(default=None, gt=0, le=500)
