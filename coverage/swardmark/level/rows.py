"""level.csv, level_spots.csv and the JSON document: what each column and key is."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from swardmark.level.cutfill import CutFill
from swardmark.level.lows import LevelSpot
from swardmark.level.remeasure import Volume
from swardmark.level.review import LevelReview
from swardmark.level.telling import level_sentences, spot_sentences

LEVEL_COLUMNS = {
    "date": "day of the measurement",
    "point": "the photo point whose ground frame x and y are in",
    "x_m": "meters to the right of the square's corner mark 0",
    "y_m": "meters away from the square's corner mark 0",
    "height_mm": "height of the ground above the designed fall there, smoothed, in millimeters",
    "se_mm": "its standard error in millimeters",
    "how": "how it was measured: string, board, laser, photos or pegs",
    "fill_mm": "depth to fill there, in millimeters; 0 outside the low spots",
    "cut_mm": "height to take off there, in millimeters; 0 outside the high spots",
}
LEVEL_SPOT_COLUMNS = {
    "date": "day of the measurement",
    "point": "the photo point",
    "kind": "low, high, deepest or puddle",
    "spot": "its letter on the map, or its name",
    "x_m": "where it is deepest, or highest, in meters",
    "y_m": "the same, away from mark 0",
    "area_m2": "its area in square meters",
    "deepest_mm": "greatest depth, or height, under the straightedge in millimeters",
    "mean_mm": "mean depth in millimeters",
    "litres": "volume to fill, or to cut, in liters",
    "low_litres": "lower end of its 95 % interval",
    "high_litres": "upper end of its 95 % interval",
}
TABLE_STEP_M = 0.25
"""level.csv has a line every 0.25 m; the map in the report is finer."""


def level_rows(review: LevelReview) -> list[dict[str, Any]]:
    """Return the rows of level.csv: the smoothed map of each photo point on a lattice."""
    return [row for one in review.maps for row in _map_rows(one)]


def level_spot_rows(review: LevelReview) -> list[dict[str, Any]]:
    """Return the rows of level_spots.csv: low and high spots, then hollows that were measured singly."""
    rows = [
        _spot_row(one, kind, spot)
        for one in review.maps
        for kind, spots in (("low", one.low), ("high", one.high))
        for spot in spots
    ]
    for one in review.hollows:
        volume = one.volume
        values = (
            one.date.isoformat(), one.point, one.how, one.name, round(one.x_m, 2), round(one.y_m, 2),
            round(one.area_m2, 3), round(one.deepest_mm, 1), round(volume.litres / one.area_m2, 1),
            round(volume.litres, 1), round(volume.low_litres, 1), round(volume.high_litres, 1),
        )  # fmt: skip
        rows.append(dict(zip(LEVEL_SPOT_COLUMNS, values, strict=True)))
    return rows


def level_document(review: LevelReview) -> dict[str, Any]:
    """Return the JSON document; the keys up to `high_spots` are frozen. What is not known is null."""
    fill, cut = review.fill, review.cut
    median, high = review.deviation_mm
    rows = level_spot_rows(review)
    return {
        "lawn": review.lawn.name,
        "fill_litres": _known(fill, "litres"),
        "fill_low_litres": _known(fill, "low_litres"),
        "fill_high_litres": _known(fill, "high_litres"),
        "deviation_mm": _number(high),
        "low_spots": [row for row in rows if row["kind"] != "high"],
        "high_spots": [row for row in rows if row["kind"] == "high"],
        "deviation_median_mm": _number(median),
        "cut_litres": _known(cut, "litres"),
        "cut_low_litres": _known(cut, "low_litres"),
        "cut_high_litres": _known(cut, "high_litres"),
        "maps": [_map_facts(one) for one in review.maps],
        "before": [_map_facts(one) for one in review.before],
        "straightedge": [
            {
                "date": one.date.isoformat(),
                "point": one.point,
                "layings": one.layings,
                "gap_mm": round(one.gap_mm, 2),
                "gap_low_mm": round(one.low_mm, 2),
                "gap_high_mm": round(one.high_mm, 2),
            }
            for one in review.layings
        ],
        "outdated": [{"date": day.isoformat(), "sand": sand.isoformat()} for day, sand in review.outdated],
        "sentences": [*level_sentences(review), *spot_sentences(review)],
    }


def _map_rows(one: CutFill) -> list[dict[str, Any]]:
    step = max(1, round(TABLE_STEP_M / one.raster.cell_m))
    how = " and ".join(one.hows)
    rows = []
    for row in range(step // 2, one.raster.inside.shape[0], step):
        for col in range(step // 2, one.raster.inside.shape[1], step):
            if one.raster.inside[row, col]:
                values = (
                    one.date.isoformat(), one.point,
                    round(float(one.raster.x_m[col]), 2), round(float(one.raster.y_m[row]), 2),
                    *(round(float(part[row, col]), 1) for part in (one.height_mm, one.se_mm)), how,
                    *(round(float(part[row, col]), 1) for part in (one.fill_mm, one.cut_mm)),
                )  # fmt: skip
                rows.append(dict(zip(LEVEL_COLUMNS, values, strict=True)))
    return rows


def _spot_row(one: CutFill, kind: str, spot: LevelSpot) -> dict[str, Any]:
    values = (
        one.date.isoformat(), one.point, kind, spot.letter, round(spot.x_m, 2), round(spot.y_m, 2),
        round(spot.area_m2, 3), round(spot.deepest_mm, 1), round(spot.mean_mm, 1), round(spot.litres, 1),
        round(spot.low_litres, 1), round(spot.high_litres, 1),
    )  # fmt: skip
    return dict(zip(LEVEL_SPOT_COLUMNS, values, strict=True))


def _map_facts(one: CutFill) -> dict[str, Any]:
    return {
        "date": one.date.isoformat(),
        "point": one.point,
        "how": list(one.hows),
        "readings": one.readings,
        "area_m2": round(one.raster.area_m2, 2),
        "spacing_m": round(one.raster.spacing_m, 3),
        "scale_m": one.surface.scale_m,
        "reading_error_mm": round(one.surface.error_mm, 2),
        "fall_percent": round(one.measured_fall.percent, 2),
        "fall_direction_deg": round(one.measured_fall.direction_deg, 1),
        "straightedge_m": one.straightedge_m,
        "fill_litres": round(one.fill.litres, 1),
        "deviation_mm": round(one.deviation_mm[1], 1),
        "seen_share": round(one.seen_share, 3),
        "se_mm": round(float(np.median(one.se_mm[one.raster.inside])), 2),
    }


def _known(volume: Volume | None, name: str) -> float | None:
    return None if volume is None else round(getattr(volume, name), 1)


def _number(value: float) -> float | None:
    return round(value, 1) if math.isfinite(value) else None
