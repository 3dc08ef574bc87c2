"""Zones of the lawn: trial plots laid out in a grid, zones that share ground, and named patches where none are drawn.

Plots are numbered as on a trial plan: plot 203 is the third from the left in the second row from where the
photographer stands.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, Any, Literal

import numpy as np
from pydantic import BeforeValidator, Field, model_validator

from swardmark.lawn.photos import MAIN_POINT
from swardmark.lawn.settings import Label, Length, Name, Table, Zone

LEAST_PATCH_M2 = 0.2
"""Named patches of which less is seen, in the mean of all photos, are left out."""
LEAST_OVERLAP_M2 = 0.05
"""Zones that share less ground than this, about a shovel's, are drawn side by side by hand."""
MOST_PLOTS = 2000
Pair = tuple[Length, Length]


def _as_pair(value: Any) -> Any:
    return (value, value) if isinstance(value, int | float) else value


class PlotGrid(Table):
    """A grid of trial plots seen from one photo point, with what each plot was given.

    `treatments` has one list a row, nearest row first; an empty text leaves a place without a plot. `blocks` makes each
    row or each column a block, or names the block of each place as `treatments` does. Sizes and gaps are one number or
    [across, deep], in meters; `origin` is the near left corner of plot 101, in meters from the square's corner 0.
    """

    rows: int = Field(
        ge=1,
        le=99,
        description="rows of plots, counted away from you; `[[plots]]` several times for several photo points",
    )
    columns: int = Field(ge=1, le=99, description="plots in a row, counted from the left")
    size_m: Annotated[Pair, BeforeValidator(_as_pair)] = Field(
        description="side of a plot, or `[across, deep]` [m]"
    )
    gap_m: Annotated[Pair, BeforeValidator(_as_pair)] = Field(
        default=(0.0, 0.0), description="between plots, or `[across, deep]` [m]"
    )
    origin: tuple[float, float] = Field(
        default=(0.0, 0.0),
        description="near left corner of the first plot, `[x, y]` in meters from the square's corner 0",
    )
    point: Name = Field(default=MAIN_POINT, description="the photo point in whose frame the grid lies")
    treatments: tuple[tuple[Label, ...], ...] = Field(
        description='one list a row, nearest row first; `""` where there is no plot'
    )
    blocks: Literal["rows", "columns"] | tuple[tuple[Label, ...], ...] = Field(
        default="rows",
        description="rows or columns where each is a block, or one list a row as in treatments",
    )

    @model_validator(mode="after")
    def _fits(self) -> PlotGrid:
        if min(self.size_m) < 0.1:
            raise ValueError(f"plots of {min(self.size_m):g} m are too small; the least side is 0.1 m")
        if self.rows * self.columns > MOST_PLOTS:
            raise ValueError(f"{self.rows * self.columns} plots; the most is {MOST_PLOTS}")
        for name, lists in (("treatments", self.treatments), ("blocks", self.blocks)):
            if isinstance(lists, str):
                continue
            if len(lists) != self.rows:
                raise ValueError(f"{name} has {len(lists)} lists for {self.rows} rows; write one list a row")
            odd = next((n for n, line in enumerate(lists, 1) if len(line) != self.columns), None)
            if odd is not None:
                raise ValueError(
                    f"list {odd} of {name} has {len(lists[odd - 1])} entries for {self.columns} columns"
                )
        return self

    def zones(self) -> tuple[Zone, ...]:
        """Return the plots as zones, row by row from the nearest."""
        (across, deep), (gap_x, gap_y), (left, near) = self.size_m, self.gap_m, self.origin
        plots = []
        for row, line in enumerate(self.treatments):
            for column, treatment in enumerate(line):
                if not treatment:
                    continue
                x, y = left + column * (across + gap_x), near + row * (deep + gap_y)
                outline = ((x, y), (x + across, y), (x + across, y + deep), (x, y + deep))
                plots.append(
                    Zone(
                        name=f"plot {row + 1}{column + 1:02d}",
                        outline_m=tuple((round(a, 6), round(b, 6)) for a, b in outline),
                        point=self.point,
                        treatment=treatment,
                        block=self._block(row, column),
                    )
                )
        return tuple(plots)

    def _block(self, row: int, column: int) -> str | None:
        if isinstance(self.blocks, str):
            return str(1 + (row if self.blocks == "rows" else column))
        return self.blocks[row][column] or None


def overlaps(zones: Sequence[Zone]) -> list[tuple[str, str, float]]:
    """Return the pairs of zones of one photo point that share ground: both names and square meters, most first."""
    boxes = [(*np.min(zone.outline_m, axis=0), *np.max(zone.outline_m, axis=0)) for zone in zones]
    order = sorted(range(len(zones)), key=lambda n: boxes[n][0])
    near: list[tuple[int, int]] = []
    for at, one in enumerate(order):
        _, bottom, right, top = boxes[one]
        for other in order[at + 1 :]:
            if boxes[other][0] >= right:
                break
            apart = boxes[other][1] >= top or boxes[other][3] <= bottom
            if not apart and zones[one].point == zones[other].point:
                near.append((min(one, other), max(one, other)))
    return _shared_ground(zones, near) if near else []


def _shared_ground(zones: Sequence[Zone], pairs: Sequence[tuple[int, int]]) -> list[tuple[str, str, float]]:
    import shapely

    shapes = {n: shapely.Polygon(zones[n].outline_m) for pair in pairs for n in pair}
    found = [(zones[a].name, zones[b].name, float(shapes[a].intersection(shapes[b]).area)) for a, b in pairs]
    return sorted((one for one in found if one[2] >= LEAST_OVERLAP_M2), key=lambda one: -one[2])


def patch_zones(point: str, side_m: float) -> tuple[Zone, ...]:
    """Divide the ground around the square into patches named from where the photographer stands."""
    columns = {"left": (-2.0, 0.0), "middle": (0.0, side_m), "right": (side_m, side_m + 2.0)}
    rows = {"near": (-1.5, side_m / 2), "far": (side_m / 2, side_m + 2.5)}
    return tuple(
        Zone(
            name=f"{depth} {place}",
            outline_m=((left, front), (right, front), (right, back), (left, back)),
            point=point,
        )
        for depth, (front, back) in rows.items()
        for place, (left, right) in columns.items()
    )
