"""Spots: places that stayed bare or lagged, from the stack of ground maps of one photo point.

A place is a spot when it is clearly below the lawn on the last dates and was covered a week late or not at
all. Its outline is drawn on the map itself, half-way between the cover inside the spot and that of the turf
around it. A photo sees cover, not height: a spot says where to put the straightedge, not how deep the dip
is.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from swardmark.canopy.cover import straight_down
from swardmark.canopy.index import GroundMap
from swardmark.canopy.scale import LeafScale
from swardmark.common.units import format_length
from swardmark.lawn.toml import Zone
from swardmark.measure.zonal import angles_from
from swardmark.relevel.borders import borders_of
from swardmark.relevel.cells import CellHistory, cell_cover, cell_history, first_day_at, isotonic, over_dates
from swardmark.relevel.outlines import (
    Ground,
    corners_of,
    fine_ground,
    give_back_hidden_strip,
    local_cover,
    polygon_of,
    rings_of,
    seen_mask,
)
from swardmark.relevel.regions import bare_places

if TYPE_CHECKING:
    from shapely import Polygon

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]
Outline = tuple[tuple[float, float], ...]

CELL_M = 0.10
"""Side of the cells whose cover is followed over the dates, in meters."""
CLOSED_COVER = 2 / 3
"""Ground that had this share of the lawn's cover on one of the last photos has closed, whatever the others showed."""
LEAST_AREA_M2 = 0.02
"""Smaller places are not spots: runners close a gap of this width by themselves within weeks."""
LEAST_LAWN_COVER = 0.60
"""Below this the lawn itself has not grown back, and every place would be a spot."""
LEAST_PHOTOS, LEAST_SPAN_DAYS = 3, 5.0
LEAF_HEIGHT_MM = 25.0
PACE_M = 0.75


@dataclass(frozen=True)
class Spot:
    """A place that stayed bare or lagged behind the lawn.

    Attributes
    ----------
    number : int
        Its number on the picture and in all tables, counted from near to far.
    outline_m : tuple of (x, y)
        Corners in meters from the square's corner mark 0.
    cover_pct, lawn_cover_pct : float
        Cover inside the outline, and of the lawn's median cell, on the last dates, in percent;
        as from straight above where the camera's place is known.
    lag_days : float
        Days by which it was covered later than the lawn's median cell; so far, if it is still bare.
    is_bare : bool
        Whether most of it had not been covered by the last date.
    at_edge : bool
        Whether it reaches the edge of the ground in view and may go on beyond it.
    seasons_seen : int
        Seasons in a row in which a spot was seen here.
    """

    number: int
    point: str
    zone: str
    outline_m: Outline
    x_m: float
    y_m: float
    area_m2: float
    cover_pct: float
    lawn_cover_pct: float
    lag_days: float
    is_bare: bool
    at_edge: bool
    seasons_seen: int = 1

    @property
    def polygon(self) -> Polygon:
        """The outline as a shapely polygon."""
        from shapely import Polygon

        return Polygon(self.outline_m)

    @property
    def severity(self) -> float:
        """Share of the lawn's cover that is missing here, 0..1."""
        return float(np.clip(1 - self.cover_pct / max(self.lawn_cover_pct, 1e-9), 0, 1))


@dataclass(frozen=True)
class SpotSearch:
    """What was looked at, and what was found there; `note` says why nothing could be looked for.

    `ground_m` holds the outlines of the ground that was searched, in meters; `left_out_m` those of bare
    places along the edge of the view, which are more likely a path or a bed; `lawn_day` is the day on which
    the lawn's median cell was covered.
    """

    point: str
    spots: tuple[Spot, ...] = ()
    ground_m: tuple[Outline, ...] = ()
    ground_m2: float = 0.0
    lawn_cover_pct: float = math.nan
    lawn_day: float = math.nan
    left_out_m: tuple[Outline, ...] = ()
    note: str = ""


def find_spots(
    maps: Sequence[GroundMap],
    days: Sequence[float],
    *,
    scale: LeafScale,
    other_seasons: Sequence[GroundMap] = (),
    point: str = "main",
    zones: Sequence[Zone] = (),
    outline_m: Sequence[tuple[float, float]] | None = None,
    camera_m: tuple[float, float, float] | None = None,
    leaf_height_mm: float = LEAF_HEIGHT_MM,
) -> SpotSearch:
    """Find the spots of one photo point that stayed bare or lagged.

    Parameters
    ----------
    maps : sequence of GroundMap
        The ground maps of one season, on one lattice.
    days : sequence of float
        Days since the leveling, one for each map; maps from before it only tell what is lawn.
    scale : LeafScale
        The photo point's scale from color to leaf.
    other_seasons : sequence of GroundMap
        Maps of other seasons; a place at the edge that was green in one of them is lawn.
    point : str
        Name of the photo point.
    zones : sequence of Zone
        Zones of this photo point; they name the spots.
    outline_m : sequence of (x, y), optional
        The lawn's outline in meters; outside it nothing is searched. By default all ground that is seen
        well is.
    camera_m : (x, y, height), optional
        Where the camera stood, in meters; with it the strip that the near rim's leaves hide is given back.
    leaf_height_mm : float
        Height of the leaves around the spots, in millimeters.

    Returns
    -------
    SpotSearch
        No spots is a good answer; `note` is set where the photos do not allow one.
    """
    from shapely import Polygon

    ordered = sorted(zip(days, maps, strict=True), key=lambda pair: pair[0])
    others = [*other_seasons, *(m for day, m in ordered if day < 0)]
    ordered = [(day, m) for day, m in ordered if day >= 0]
    if len(ordered) < LEAST_PHOTOS or ordered[-1][0] - ordered[0][0] < LEAST_SPAN_DAYS:
        note = f"spots need at least {LEAST_PHOTOS} photos over {LEAST_SPAN_DAYS:.0f} days"
        return SpotSearch(point, note=note)
    whole = fine_ground([*others, *(m for _, m in ordered)], scale)
    shown = whole.on(slice(len(others), None))
    seen = seen_mask(shown)
    searched = seen & shown.rasterise(Polygon(outline_m).buffer(0)) if outline_m is not None else seen
    area = float(searched.sum()) * shown.step_m**2
    if area < LEAST_AREA_M2:
        return SpotSearch(point, note="none of the lawn is seen well enough to look for spots")
    ground = shown.within(searched)
    side = max(1, round(CELL_M / ground.step_m))
    dates = np.array([day for day, _ in ordered], float)
    view_deg = _view_angles(ground, camera_m)
    cells = cell_cover(ground.leaf, ground.readable, side)
    history = cell_history(
        straight_down(cells, _view_angles(ground, camera_m, side), power=ground.slant), dates
    )
    base = SpotSearch(point, (), rings_of(searched, ground), area, 100 * history.lawn_cover, history.lawn_day)
    if not history.lawn_cover >= LEAST_LAWN_COVER:
        share = (
            "not seen" if math.isnan(history.lawn_cover) else f"only {100 * history.lawn_cover:.0f} % covered"
        )
        return replace(base, note=f"the lawn itself is {share}: spots show once it has grown back")
    outlines = [zone.outline_m for zone in zones] + ([outline_m] if outline_m is not None else [])
    borders = borders_of(shown, seen, history, others=whole.on(slice(len(others))), outlines=outlines)
    late = local_cover(ground, history.late, searched, view_deg=view_deg)
    best = over_dates(late, "max")
    sharp = np.where(best >= CLOSED_COVER * history.lawn_cover, best, over_dates(late, "median"))
    found, left_out = [], []
    for place in bare_places(ground, searched, history, sharp, borders, cell_m=CELL_M, view_deg=view_deg):
        shape = polygon_of(place.region, sharp, place.level, ground)
        shape = shape if shape is None else give_back_hidden_strip(shape, camera_m, leaf_height_mm / 1000)
        if shape is None or shape.area < LEAST_AREA_M2:
            continue
        if place.is_lawn:
            spot = _spot(shape, place.region, ground, history, dates, view_deg)
            at_edge = borders.meets_edge(place.region)
            found.append(replace(spot, point=point, zone=_zone_of(shape, zones), at_edge=at_edge))
        else:
            left_out.append(corners_of(shape))
            area -= shape.area
    found.sort(key=lambda spot: (round(spot.y_m, 1), spot.x_m))
    numbered = tuple(replace(spot, number=n) for n, spot in enumerate(found, start=1))
    return replace(base, spots=numbered, left_out_m=tuple(left_out), ground_m2=max(area, 0.0))


def whereabouts(
    x_m: float, y_m: float, *, square_side_m: float, units: Literal["metric", "us"] = "metric"
) -> str:
    """Say in words where a place lies from the square, looking along the side from mark 0 to mark 3.

    Examples
    --------
    >>> whereabouts(4.2, 2.4, square_side_m=1.0)
    '3.2 m right of the square and 1.4 m beyond it (about 5 paces)'
    """
    across, along = (round(max(place - square_side_m, -place, 0.0), 2) for place in (x_m, y_m))
    parts = []
    if across:
        parts.append(f"{format_length(across, units=units)} {'right' if x_m > 0 else 'left'} of the square")
    if along:
        side = "beyond" if y_m > 0 else "before"
        parts.append(f"{format_length(along, units=units)} {side} {'it' if parts else 'the square'}")
    paces = max(1, round(math.hypot(across, along) / PACE_M))
    if not parts:
        return "inside the square"
    return f"{' and '.join(parts)} (about {paces} pace{'s' if paces > 1 else ''})"


def _spot(
    shape: Polygon,
    region: Mask,
    ground: Ground,
    history: CellHistory,
    days: Floats,
    view_deg: Floats,
) -> Spot:
    """Follow the spot's own cover over the dates, as the cells' was."""
    points = ground.readable[:, region].sum(axis=1)
    seen = np.where(points > 0, ground.leaf[:, region].sum(axis=1) / np.maximum(points, 1), np.nan)
    series = straight_down(seen, float(view_deg[region].mean()), power=ground.slant)
    last = int(history.late[-1])
    covered_on = float(first_day_at(isotonic(series[: last + 1]), days[: last + 1], history.bare_limit))
    late = series[history.late]
    middle = shape.centroid
    return Spot(
        number=0,
        point="",
        zone="",
        outline_m=corners_of(shape),
        x_m=float(middle.x),
        y_m=float(middle.y),
        area_m2=float(shape.area),
        cover_pct=100 * float(np.median(late[np.isfinite(late)])),
        lawn_cover_pct=100 * history.lawn_cover,
        lag_days=max(0.0, min(covered_on, float(days[last])) - history.lawn_day),
        is_bare=math.isinf(covered_on),
        at_edge=False,
    )


def _view_angles(ground: Ground, camera_m: tuple[float, float, float] | None, side: int = 1) -> Floats:
    """Return the view zenith angle of each cell of `side` fine squares, degrees; 0 where the camera is not known."""
    rows, cols = (-(-length // side) for length in ground.shape)
    if camera_m is None:
        return np.zeros((rows, cols))
    step, half = side * ground.step_m, (side - 1) / 2 * ground.step_m
    x, y = ground.x0_m + half + step * np.arange(cols), ground.y0_m + half + step * np.arange(rows)
    return np.asarray(angles_from(camera_m, x, y), float)


def _zone_of(shape: Polygon, zones: Sequence[Zone]) -> str:
    """Name the zone that holds most of a spot; empty where none holds any."""
    from shapely import Polygon

    shares = [(Polygon(zone.outline_m).intersection(shape).area, zone.name) for zone in zones]
    area, name = max(shares, default=(0.0, ""), key=lambda share: share[0])
    return name if area > 0 else ""
