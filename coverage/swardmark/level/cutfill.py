"""Cut and fill of one photo point on one day: from heights to maps in millimeters, spots, volumes and roughness.

Read from the top: one surface through all heights of the day (surface.py), the designed fall taken out, the hollows and
rises under a straightedge (closing.py), the spots among them (lows.py), and their volume set right by measuring known
ground with the same readings (remeasure.py).
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
from numpy.typing import NDArray

from swardmark.common.errors import UsageError
from swardmark.lawn.heights import HEIGHTS_FILE, Heights
from swardmark.level.closing import close_under_line, line_cells, open_under_line
from swardmark.level.ground import Fall, Outline, Raster, fall_of, raster_of
from swardmark.level.joining import unknown_of
from swardmark.level.lows import LevelSpot, Rule, find_spots, letter_of, outline_of
from swardmark.level.remeasure import Z95, Remeasured, Volume, noise_maps, remeasure
from swardmark.level.shapes import FLAT
from swardmark.level.surface import Surface, fit_surface

Floats = NDArray[np.float64]
Labels = NDArray[np.intp]

STRAIGHTEDGE_M = 2.4
LEAST_READINGS = 9
MOST_READINGS = 650
"""More readings than this are averaged in blocks: the surface takes memory and time by their square and cube."""
LEAST_DEEPEST_MM, DEEPEST_SE, EDGE_SE = 4.75, 2.5, 1.6
"""A spot is 4.75 mm deep at least (less is level; our judgment), and deeper than 2.5 standard errors of the surface,
which on drawn lawns with places every 0.75 m invents a spot on every second lawn (tests/benchmarks/level.py)."""

MOST_DEEPER = 1.5
"""A hollow's deepest point lies between the places as its sand does, and is set right by the same factor, up to this:
on drawn bowls it reads 6 mm too little with places every 0.75 m, and 2 mm so."""


@dataclass(frozen=True, eq=False)
class CutFill:
    """Cut and fill of one photo point on one day; maps have the shape (rows, cols) of the raster.

    Attributes
    ----------
    height_mm : ndarray
        Height above the fall in millimeters.
    se_mm : ndarray
        Its standard error in millimeters.
    fill_mm, cut_mm : ndarray
        Depth below, and height above, the straightedge in the spots, in millimeters; 0 elsewhere.
    gap_mm : ndarray
        Deviation under the straightedge everywhere in millimeters, low negative.
    fall : Fall
        What was taken out; `measured_fall` is the plane through the readings.
    low, high : tuple of LevelSpot
        Low spots to fill and high spots to cut.
    fill, cut : Volume
        Their volumes.
    deviation_mm : tuple of float
        Median and 95th percentile of the deviation under the straightedge, in millimeters.
    seen_share : float
        Share of the sand that readings as far apart as these show.
    """

    date: dt.date
    point: str
    hows: tuple[str, ...]
    readings: int
    raster: Raster
    surface: Surface
    height_mm: Floats
    se_mm: Floats
    fill_mm: Floats
    cut_mm: Floats
    gap_mm: Floats
    fall: Fall
    measured_fall: Fall
    low: tuple[LevelSpot, ...]
    high: tuple[LevelSpot, ...]
    fill: Volume
    cut: Volume
    deviation_mm: tuple[float, float]
    seen_share: float
    straightedge_m: float

    def covers(self, x_m: float, y_m: float) -> bool:
        """Return whether a place in meters lies on measured ground."""
        return self.cell_at(x_m, y_m) is not None

    def cell_at(self, x_m: float, y_m: float) -> tuple[int, int] | None:
        """Return row and column of a place in meters; None where nothing was measured."""
        row, col = (round(float(at)) for at in self.raster.to_cells(np.array([[x_m, y_m]]))[:, 0])
        rows, cols = self.raster.inside.shape
        known = 0 <= row < rows and 0 <= col < cols and bool(self.raster.inside[row, col])
        return (row, col) if known else None


def cut_and_fill(
    heights: Sequence[Heights],
    *,
    straightedge_m: float = STRAIGHTEDGE_M,
    fall: Fall | None = None,
    outline_m: Outline | None = None,
    kept_low_m: Sequence[Outline] = (),
) -> CutFill:
    """Evaluate all heights of one photo point on one day.

    Parameters
    ----------
    heights : sequence of Heights
        One or more sources, each above its own datum. The fall is that of the sources that know it (joining.py).
    straightedge_m : float
        Length of the straight line that the ground is to be level under, in meters.
    fall : Fall, optional
        The designed fall; the plane through the readings by default.
    outline_m : sequence of (x, y), optional
        The lawn's outline in meters.
    kept_low_m : sequence of outlines
        Swales and drains, where nothing is filled.

    Raises
    ------
    UsageError
        Too few readings, or all on one line.
    """
    sources = sorted(heights, key=lambda part: unknown_of(part.how))
    places, height, error, source = _pooled(sources)
    unknown = tuple(unknown_of(part.how) for part in sources)
    try:
        if len(height) < LEAST_READINGS:
            raise ValueError
        surface = fit_surface(places, height, error, source=source, unknown=unknown)
    except ValueError:
        what = f"{len(height)} heights on {heights[0].date} make no surface"
        remedy = f"Read {LEAST_READINGS} places at least, in rows 0.5 to 1 m apart both ways"
        raise UsageError(what, where=HEIGHTS_FILE, remedy=remedy) from None
    raster = raster_of(places, outline_m=outline_m)
    weights = surface.undulation_weights(raster.places_m)
    cells = line_cells(straightedge_m, raster.cell_m)
    measured_fall = fall_of(*surface.plane[1:])
    tilt = 0.0 if fall is None else _tilt(raster, surface.plane, fall)
    ground = (weights @ surface.height_mm).reshape(raster.inside.shape) + tilt
    noise = noise_maps(weights, surface.se_mm, ground.shape)
    fillable = raster.inside & ~raster.covers(kept_low_m) if kept_low_m else raster.inside
    raised = float((close_under_line(noise, raster.inside, cells=cells) - noise)[:, raster.inside].mean())
    wobble = noise.std(axis=0)
    rule = Rule(np.maximum(LEAST_DEEPEST_MM, DEEPEST_SE * wobble), np.maximum(1.0, EDGE_SE * wobble))

    def lows_of(undulation: NDArray[np.floating]) -> tuple[NDArray[np.floating], Labels]:
        depth = close_under_line(undulation, raster.inside, cells=cells) - undulation - raised
        depth = np.where(fillable, depth.clip(0), 0.0)
        return depth, find_spots(depth, rule)

    rise = (_rise(ground, raster, cells) - raised).clip(0)
    rises = find_spots(rise, rule)
    leveled = ground - np.where(rises > 0, rise, 0.0)
    depth, lows = lows_of(leveled)
    again = partial(
        remeasure, raster=raster, places_m=places, weights=weights, noise=noise, find=lows_of, cells=cells
    )
    low_again, high_again = again(depth, lows), again(rise, rises)
    low = _spots(depth, lows, raster, low_again)
    high = _spots(rise, rises, raster, high_again, after=len(low))
    gap = np.where(raster.inside, rise - depth, np.nan)
    se = surface.predict(raster.places_m)[1].reshape(ground.shape)
    return CutFill(
        date=heights[0].date,
        point=heights[0].point,
        hows=tuple(dict.fromkeys(part.how for part in heights)),
        readings=sum(len(part.height_mm) for part in heights),
        raster=raster,
        surface=surface,
        height_mm=ground,
        se_mm=se,
        fill_mm=np.where(lows > 0, depth, 0.0),
        cut_mm=np.where(rises > 0, rise, 0.0),
        gap_mm=gap,
        fall=fall or measured_fall,
        measured_fall=measured_fall,
        low=low,
        high=high,
        fill=low_again.total,
        cut=high_again.total,
        deviation_mm=_deviation(gap),
        seen_share=low_again.seen_share,
        straightedge_m=straightedge_m,
    )


def _pooled(heights: Sequence[Heights]) -> tuple[Floats, Floats, Floats, NDArray[np.intp]]:
    """Return places, heights, errors and datum numbers of all sources, averaged in blocks where there are too many."""
    most = max(1, MOST_READINGS // max(1, len(heights)))
    parts = [_thinned(part, most) for part in heights]
    places, height, error = (np.concatenate([part[n] for part in parts]) for n in range(3))
    source = np.concatenate([np.full(len(part[1]), n, np.intp) for n, part in enumerate(parts)])
    return places, height, error, source


def _thinned(part: Heights, most: int) -> tuple[Floats, Floats, Floats]:
    places = np.column_stack([part.x_m, part.y_m])
    if len(places) <= most:
        return places, part.height_mm, part.se_mm
    extent = np.ptp(places, axis=0)
    side = math.sqrt(max(extent[0] * extent[1], 1e-6) / most)
    while True:
        block = np.floor((places - places.min(axis=0)) / side).astype(int)
        _, number, count = np.unique(block, axis=0, return_inverse=True, return_counts=True)
        if len(count) <= most:
            break
        side *= 1.05
    number = number.ravel()

    def mean(values: Floats) -> Floats:
        return np.bincount(number, weights=values) / count

    return np.column_stack([mean(places[:, 0]), mean(places[:, 1])]), mean(part.height_mm), mean(part.se_mm)


def _rise(ground: Floats, raster: Raster, cells: int) -> Floats:
    """Return how far ground stands above the straightedge and above the middle height of the ground around it.

    The straightedge alone would call the sound ground between two hollows high.
    """
    from scipy.ndimage import median_filter

    filled = close_under_line(ground, raster.inside, cells=cells)
    above_line = filled - open_under_line(filled, raster.inside, cells=cells)
    middle = median_filter(filled, size=cells, mode="nearest")
    return np.where(raster.inside, np.minimum(above_line, ground - middle), 0.0)


def _tilt(raster: Raster, plane: Floats, fall: Fall) -> Floats:
    """Return how the measured plane differs from the designed one, about its middle, in millimeters."""
    x, y = np.meshgrid(raster.x_m, raster.y_m)
    designed = fall.slopes
    tilt: Floats = (plane[1] - designed[0]) * (x - x.mean()) + (plane[2] - designed[1]) * (y - y.mean())
    return tilt


def _spots(
    depth: NDArray[np.floating], numbers: Labels, raster: Raster, again: Remeasured, *, after: int = 0
) -> tuple[LevelSpot, ...]:
    """Describe each numbered spot; lettered from near to far, `after` so many others of the map."""
    found = []
    for n in range(1, int(numbers.max(initial=0)) + 1):
        mask = numbers == n
        row, col = np.unravel_index(int(np.argmax(np.where(mask, depth, -1.0))), depth.shape)
        litres = float(depth[mask].sum()) * raster.cell_m2 * again.factor
        wide = min(Z95 * again.spread.get(n, 0.0), 1.5)
        area = float(mask.sum()) * raster.cell_m2
        deepest = float(depth[mask].max()) * min(again.factor, MOST_DEEPER)
        found.append(
            LevelSpot(
                letter="",
                x_m=float(raster.x_m[col]),
                y_m=float(raster.y_m[row]),
                area_m2=area,
                deepest_mm=max(deepest, litres / area / FLAT),
                mean_mm=litres / area,
                litres=litres,
                low_litres=max(0.0, litres * (1 - wide)),
                high_litres=litres * (1 + wide),
                outline_m=outline_of(mask, raster),
            )
        )
    found.sort(key=lambda spot: (round(spot.y_m, 1), spot.x_m))
    return tuple(replace(spot, letter=letter_of(n)) for n, spot in enumerate(found, start=after))


def _deviation(gap_mm: Floats) -> tuple[float, float]:
    """Return median and 95th percentile of the deviation under the straightedge, in millimeters."""
    known = np.abs(gap_mm[np.isfinite(gap_mm)])
    median, high = np.percentile(known, [50, 95]) if known.size else (math.nan, math.nan)
    return float(median), float(high)
