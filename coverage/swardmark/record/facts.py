"""What is kept of a photo besides its map: where the square lay, where the camera stood, what its background shows."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from swardmark.common.packing import packed_text, unpacked_text
from swardmark.ground.align import Kept
from swardmark.ground.background import Background, background_of
from swardmark.ground.square import Square
from swardmark.photo.decode import Photo
from swardmark.record.shelf import damaged
from swardmark.record.store import Entry, PhotoFacts

COUNTS_BYTES = 256 * 4


def facts_of(photo: Photo, square: Square | None, frame: Kept, *, is_reference: bool) -> PhotoFacts:
    """Put together what was found out, in pixels of the file whatever size it was read at."""
    plane, times = frame.plane.enlarged(photo.reduction), photo.reduction
    corners = square.corners_px if square else np.zeros((0, 2))
    return PhotoFacts(
        size=plane.size,
        corners_px=tuple((round(float(x), 3), round(float(y), 3)) for x, y in photo.in_file(corners)),
        square=square.how if square else "none",
        error_px=round(square.error_px * times, 3) if square else float("nan"),
        to_photo=tuple(float(value) for value in plane.to_photo.ravel()),
        camera_m=plane.pose.position_m,
        pitch_deg=plane.pose.pitch_deg,
        focal_px=plane.pose.focal_px,
        focal_from=plane.pose.focal_from,
        notes=photo.notes + (square.notes if square else ()) + frame.notes,
        moved_m=frame.moved_m,
        alignment_px=frame.error_px * times,
        alignment_cm=frame.error_cm,
        background=_packed_background(photo, corners) if is_reference else "",
    )


def packed_counts(counts: NDArray[np.int64]) -> str:
    """Return a map's value counts as text for the record, some 500 letters."""
    return packed_text(counts.astype("<u4").tobytes())


def pooled_counts(entries: Iterable[Entry], *, record: Path) -> NDArray[np.int64]:
    """Add up the value counts of measured photos, shape (256,), without unpacking a map.

    Raises
    ------
    UsageError
        Those of a photo are damaged.
    """
    total = np.zeros(256, np.int64)
    for entry in entries:
        try:
            raw = unpacked_text(entry.facts.map_counts, most=COUNTS_BYTES)
            total += np.frombuffer(raw, "<u4", len(total))
        except ValueError:
            raise damaged(entry.name, record) from None
    return total


def _packed_background(photo: Photo, corners_px: NDArray[np.float64]) -> str:
    found = background_of(photo.rgb, corners_px)
    in_file = photo.in_file(found.points).astype(np.float32)
    return Background(in_file, found.bits).packed()
