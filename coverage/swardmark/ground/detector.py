"""Look for the corner marks in a photo, on reduced copies: roughly where each lies, for marks.py to refine.

The whole photo is searched coarse first; where the square was in another photo of the point, only its surroundings.
"""

from __future__ import annotations

from collections.abc import Container
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from swardmark.ground.edges import FloatArray

if TYPE_CHECKING:
    import cv2

MARK_IDS = (0, 1, 2, 3)

Candidates = dict[int, list[FloatArray]]


class Look(NamedTuple):
    """How the detector tells ink from paper: windows of its adaptive threshold, pixels of the reduced copy, and how
    many 8-bit steps ink must lie below their mean."""

    least: int
    most: int
    step: int
    darker: int


SWIFT, QUICK, THOROUGH = Look(15, 15, 10, darker=20), Look(15, 15, 10, darker=7), Look(7, 47, 20, darker=7)
"""Few blades of grass are 20 steps darker than what is around them, and outlining them all is what takes the time."""
SEARCHES = ((960, SWIFT), (1280, QUICK), (1600, THOROUGH), (3200, THOROUGH), (6400, THOROUGH))
"""Longer side to which the photo is reduced for the search, and how; in turn until all four marks are found."""
NEAR_SIDE_PX = 640
"""Longer side to which the surroundings of the last square are reduced."""
NEAR_MARGIN = 0.3


def search_marks(rgb: NDArray[np.uint8], *, more: Container[int] = ()) -> Candidates:
    """Look for the corner marks in the whole photo, coarse first; returns id -> quads, each of shape (4, 2), pixels.

    Where a mark with one of the ids in `more` is seen, the search goes on to the full size for all of them; they may be
    small, so that the coarsest search is left out.
    """
    found: Candidates = {}
    longer = max(rgb.shape)
    for side, look in SEARCHES[1:] if more else SEARCHES:
        scale = min(1.0, side / longer)
        for mark, quads in _detect(rgb, scale, look, more).items():
            known = found.setdefault(mark, [])
            known.extend(quad for quad in quads if not any(_is_same(quad, other) for other in known))
        if set(found) == set(MARK_IDS) or (scale == 1 and look is THOROUGH):
            break
    return found


def search_near(
    rgb: NDArray[np.uint8],
    near: FloatArray,
    *,
    side_px: int = NEAR_SIDE_PX,
    look: Look = SWIFT,
) -> Candidates:
    """Look for the marks around where the square was, in surroundings reduced to `side_px`."""
    low, high = near.min(axis=0), near.max(axis=0)
    margin = NEAR_MARGIN * float((high - low).max())
    limit = np.array([rgb.shape[1], rgb.shape[0]])
    x0, y0 = np.clip(low - margin, 0, limit).astype(int)
    x1, y1 = np.clip(high + margin, 0, limit).astype(int)
    if min(x1 - x0, y1 - y0) < 32:
        return {}
    crop = rgb[y0:y1, x0:x1]
    found = _detect(crop, min(1.0, side_px / max(crop.shape)), look)
    return {mark: [quad + np.array([x0, y0]) for quad in quads] for mark, quads in found.items()}


def _detect(rgb: NDArray[np.uint8], scale: float, look: Look, more: Container[int] = ()) -> Candidates:
    """Run the detector on a reduced gray copy; quads in the pixels of `rgb`."""
    import cv2

    rows, cols = rgb.shape[:2]
    small = rgb
    if scale < 1:
        size = (round(cols * scale), round(rows * scale))
        small = np.asarray(cv2.resize(rgb, size, interpolation=cv2.INTER_LINEAR), np.uint8)
    gray = cv2.cvtColor(np.ascontiguousarray(small), cv2.COLOR_RGB2GRAY)
    ratio = np.array([cols / gray.shape[1], rows / gray.shape[0]])
    quads, ids, _ = _detector(look).detectMarkers(gray)
    found: Candidates = {}
    for quad, mark in zip(quads, [] if ids is None else ids.ravel(), strict=True):
        if int(mark) in MARK_IDS or int(mark) in more:
            found.setdefault(int(mark), []).append((quad.reshape(4, 2).astype(float) + 0.5) * ratio - 0.5)
    return found


def _detector(look: Look) -> cv2.aruco.ArucoDetector:
    import cv2

    settings = cv2.aruco.DetectorParameters()
    settings.minMarkerPerimeterRate = 0.02
    settings.adaptiveThreshWinSizeMin, settings.adaptiveThreshWinSizeMax = look.least, look.most
    settings.adaptiveThreshWinSizeStep, settings.adaptiveThreshConstant = look.step, look.darker
    return cv2.aruco.ArucoDetector(cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50), settings)


def _is_same(one: FloatArray, other: FloatArray) -> bool:
    return bool(np.linalg.norm(one.mean(axis=0) - other.mean(axis=0)) < 0.5 * np.ptp(one, axis=0).max())
