"""The facts of a photo, put together in one place from what the steps of measuring made."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from swardmark.canopy.index import GroundMap
from swardmark.canopy.scale import value_counts
from swardmark.ground.align import Kept
from swardmark.ground.background import Background, background_of
from swardmark.ground.plane import GroundPlane
from swardmark.ground.square import Square
from swardmark.measure import sentences
from swardmark.measure.check import Fitness
from swardmark.photo.decode import Photo, opencv_version
from swardmark.record.facts import packed_counts
from swardmark.record.store import PhotoFacts

if TYPE_CHECKING:
    from swardmark.measure.one_photo import IndexedGround

FOOTPRINT_EVERY = 16
"""Every so many points along rows and columns are enough for a photo's typical footprint."""


def facts_of(
    photo: Photo,
    square: Square | None,
    fitness: Fitness,
    frame: Kept,
    indexed: IndexedGround,
    *,
    is_reference: bool,
) -> PhotoFacts:
    """Put together what was found out, in pixels of the file whatever size it was read at."""
    plane, times = frame.plane.enlarged(photo.reduction), photo.reduction
    corners = square.corners_px if square else np.zeros((0, 2))
    notes = (*photo.notes, *(square.notes if square else ()), *frame.notes)
    return PhotoFacts(
        opencv=opencv_version(),
        size=plane.size,
        corners_px=tuple((round(float(x), 3), round(float(y), 3)) for x, y in photo.in_file(corners)),
        square=square.how.value if square else "none",
        error_px=round(square.error_px * times, 3) if square else float("nan"),
        to_photo=tuple(float(value) for value in plane.to_photo.ravel()),
        camera_m=plane.pose.position_m,
        pitch_deg=plane.pose.pitch_deg,
        focal_px=plane.pose.focal_px,
        focal_from=plane.pose.focal_from,
        notes=notes if indexed.is_balanced else (*notes, sentences.NO_WHITE),
        findings=tuple((fault.name, fault.value) for fault in fitness.faults),
        moved_m=frame.moved_m,
        alignment_px=frame.error_px * times,
        alignment_cm=frame.error_cm,
        background=_packed_background(photo, corners) if is_reference or not frame.is_confirmed else "",
        is_unplaced=not frame.is_confirmed,
        sharpness=fitness.sharpness,
        sand_light=fitness.sand_light,
        map_counts=packed_counts(value_counts(indexed.ground_map)),
        full_index=indexed.full.green,
        closed=indexed.full.closed,
        leaf_light=indexed.leaf_light,
        leaf_edges=(indexed.edges.across, indexed.edges.along),
        footprint_mm=_typical_footprint_mm(frame.plane, indexed.ground_map),
    )


def unplaced_facts(photo: Photo, square: Square, own: GroundPlane) -> PhotoFacts:
    """Return what is kept of a photo whose ground is not that of the reference: enough to compare it with others."""
    plane = own.enlarged(photo.reduction)
    return PhotoFacts(
        opencv=opencv_version(),
        size=plane.size,
        corners_px=tuple((float(x), float(y)) for x, y in photo.in_file(square.corners_px)),
        square=square.how.value,
        to_photo=tuple(float(value) for value in plane.to_photo.ravel()),
        camera_m=plane.pose.position_m,
        pitch_deg=plane.pose.pitch_deg,
        focal_px=plane.pose.focal_px,
        focal_from=plane.pose.focal_from,
        background=_packed_background(photo, square.corners_px),
        is_unplaced=True,
    )


def _typical_footprint_mm(plane: GroundPlane, ground_map: GroundMap) -> float:
    """Return how much ground a pixel sees, the median over the map."""
    rows, cols = np.nonzero(ground_map.values[::FOOTPRINT_EVERY, ::FOOTPRINT_EVERY])
    if not len(rows):
        return float("nan")
    points = np.stack(
        [ground_map.x_m[FOOTPRINT_EVERY * cols], ground_map.y_m[FOOTPRINT_EVERY * rows]], axis=-1
    )
    return round(float(np.median(plane.footprint_mm(points))), 3)


def _packed_background(photo: Photo, corners_px: NDArray[np.float64]) -> str:
    found = background_of(photo.gray, corners_px)
    in_file = photo.in_file(found.points).astype(np.float32)
    return Background(in_file, found.bits).packed()
