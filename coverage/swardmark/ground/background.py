"""The fixed background of a photo, fence, path, wall: points that can be found again on another day.

Corners (Shi and Tomasi 1994, CVPR 593-600), spread over the photo, get upright binary descriptors (Calonder, Lepetit,
Strecha and Fua 2010, BRIEF, ECCV 778-792). Grass matches nothing from one day to the next.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from swardmark.common.color import gray_of
from swardmark.common.packing import packed_text, unpacked_text
from swardmark.ground.edges import FloatArray
from swardmark.ground.plane import GroundPlane

MATCH_SIDE_PX = 1000
"""Longer side of the reduced copies that are compared."""
CELLS, MOST_IN_CELL = 10, 14
SQUARE_MARGIN = 0.2
"""Ground around the square, as share of its size in the photo, that gives no points."""
SEARCH_REACH = 0.16
"""How far a point may have shifted, as share of the photo's longer side."""
MOST_RATIO = 0.85
"""Distance to the best partner over that to the second best (Lowe 2004, IJCV 60(2):91-110)."""

STRIP_ROWS = 128
MOST_UNLIKE, MOST_UNLIKE_NEAR = 48, 64
"""Bits of 256 by which a point's descriptor may differ when it is looked for at one place, and when near one."""
PATCH_PX = 32
"""Room that a descriptor needs around its point."""
ASIDE_PX = np.array([[dx, 0] for dx in (*range(-76, -11, 8), *range(16, 81, 8))])
"""Where points are looked for that a fence, a wall or a path repeats: level, up to a slab or a wide board aside, and as
densely as descriptors need it, to the left between the steps to the right."""
NEAREST_M = 2.0
"""Nothing of the background stands nearer to the camera, unless it lies on the ground."""


@dataclass(frozen=True, eq=False)
class Background:
    """What of a photo's background can be found again.

    Attributes
    ----------
    points : ndarray of float32, shape (N, 2)
        Places in upright photo pixels.
    bits : ndarray of uint8, shape (N, 32)
        Binary descriptors.
    """

    points: NDArray[np.float32]
    bits: NDArray[np.uint8]

    def packed(self) -> str:
        """Return it as text for the record, some 50 letters a point."""
        places = np.rint(self.points * 8).astype("<u4").tobytes()
        return packed_text(places + self.bits.tobytes())

    @staticmethod
    def unpacked(text: str) -> Background:
        """Read back what `packed` wrote; raises ValueError where it is damaged."""
        data = unpacked_text(text, most=40 * CELLS**2 * MOST_IN_CELL)
        count, rest = divmod(len(data), 40)
        if rest:
            raise ValueError("background points are damaged")
        points = (np.frombuffer(data, "<u4", 2 * count).reshape(count, 2) / 8).astype(np.float32)
        return Background(points, np.frombuffer(data, np.uint8, 32 * count, 8 * count).reshape(count, 32))


class Reduced(NamedTuple):
    """A small, slightly blurred gray copy of a photo, and photo pixels per pixel of it in x and y."""

    gray: NDArray[np.uint8]
    ratio: FloatArray


class Seen(NamedTuple):
    """How many points are seen again, are most alike there, and are alike but more so aside."""

    seen: int
    here: int
    aside: int


def background_of(picture: NDArray[np.uint8], corners_px: FloatArray | None) -> Background:
    """Pick points of the background, spread over the photo, outside the square.

    Parameters
    ----------
    picture : ndarray of uint8, shape (rows, cols, 3) or (rows, cols)
        The photo, or the photo in gray.
    corners_px : ndarray, shape (4, 2), or None
        The square's corners, if it is in the photo.
    """
    return background_in(reduced(picture), corners_px)


def background_in(small: Reduced, corners_px: FloatArray | None) -> Background:
    """Return what `background_of` does, of a photo that is reduced already; corners are those in the photo."""
    import cv2

    gray, ratio = small
    mask = np.full(gray.shape, 255, np.uint8)
    if corners_px is not None:
        center = corners_px.mean(axis=0)
        around = (center + (corners_px - center) * (1 + 2 * SQUARE_MARGIN)) / ratio
        cv2.fillConvexPoly(mask, np.rint(around).astype(np.int32), 0)
    places, peaks = _spread_corners(gray, mask)
    kept, bits = _described(gray, places)
    return Background(np.maximum((peaks[kept] + 0.5) * ratio - 0.5, 0).astype(np.float32), bits)


def seen_again(small: Reduced, known: Background, places_px: FloatArray, *, least: int = 0) -> Seen:
    """Look for the points of a background at the places foretold, and aside of them.

    Parameters
    ----------
    small : Reduced
        The photo, reduced.
    known : Background
        Points of the reference photo, N of them.
    places_px : ndarray, shape (K, N, 2)
        Where the points are seen, in K ways; the one that most of them agree with counts.
    least : int
        Where fewer are seen, nothing is looked for aside.
    """
    unlike = _unlike(small.gray, known, (places_px + 0.5) / small.ratio - 0.5)
    way = (unlike <= MOST_UNLIKE).sum(axis=1).argmax()
    here = unlike[way]
    seen = int((here <= MOST_UNLIKE).sum())
    if seen < max(least, 1):
        return Seen(seen, 0, 0)
    there = (places_px[way] + 0.5) / small.ratio - 0.5
    aside = _unlike(small.gray, known, there + ASIDE_PX[:, None]).min(axis=0)
    is_here = (here <= MOST_UNLIKE) & (here < aside)
    return Seen(seen, int(is_here.sum()), int(((aside <= MOST_UNLIKE) & (aside < here)).sum()))


def _unlike(gray: NDArray[np.uint8], known: Background, places: FloatArray) -> NDArray[np.int64]:
    """Return by how many bits of 256 points differ from what is seen at places, both (K, N); all where it is beyond."""
    there = np.rint(places).clip(-1, max(gray.shape)).astype(np.int64)
    points, base = np.arange(len(known.points)), max(gray.shape) + 2
    _, first, way_to = np.unique(
        (points * base + there[..., 1]) * base + there[..., 0], return_index=True, return_inverse=True
    )
    at, bits = _described(gray, there.reshape(-1, 2)[first].astype(float))
    differ = np.full(len(first), 256)
    differ[at] = np.unpackbits(known.bits[first[at] % len(points)] ^ bits, axis=1).sum(axis=1)
    return np.asarray(differ[way_to.reshape(there.shape[:2])])


def matched(
    one: Background,
    other: Background,
    *,
    size: tuple[int, int],
    other_size: tuple[int, int],
    near: NDArray[np.bool_] | None = None,
) -> FloatArray:
    """Pair the points of two backgrounds of about the same view, upright or lengthwise.

    Parameters
    ----------
    size, other_size : tuple of int
        Width and height of the two photos, pixels.
    near : ndarray of bool, shape (points of one, points of other), optional
        Which points may be one; else those that shifted by `SEARCH_REACH` at most.

    Returns
    -------
    ndarray, shape (N, 2, 2)
        For each pair the place in `one` and in `other`.
    """
    import cv2

    if min(len(one.points), len(other.points)) < 2:
        return np.zeros((0, 2, 2))
    close = (_within_reach(one, other, size, other_size) if near is None else near).astype(np.uint8)
    matcher, most_unlike = cv2.BFMatcher(cv2.NORM_HAMMING), 256 if near is None else MOST_UNLIKE_NEAR
    back = {
        m[0].queryIdx: m[0].trainIdx for m in matcher.knnMatch(other.bits, one.bits, 1, close.T.copy()) if m
    }
    pairs = []
    for found in matcher.knnMatch(one.bits, other.bits, 2, close):
        if not found or found[0].distance > most_unlike:
            continue
        if len(found) > 1 and found[0].distance > MOST_RATIO * found[1].distance:
            continue
        if back.get(found[0].trainIdx) == found[0].queryIdx:
            pairs.append((one.points[found[0].queryIdx], other.points[found[0].trainIdx]))
    return np.array(pairs, float).reshape(-1, 2, 2)


def _within_reach(
    one: Background, other: Background, size: tuple[int, int], other_size: tuple[int, int]
) -> NDArray[np.bool_]:
    first, second = (
        (background.points - np.array(of, np.float32) / 2) / np.float32(max(of))
        for background, of in ((one, size), (other, other_size))
    )
    gap = first[:, None] - second
    return np.asarray((gap**2).sum(axis=2) < SEARCH_REACH**2)


def reduced(picture: NDArray[np.uint8]) -> Reduced:
    """Return a small, slightly blurred gray copy, and photo pixels per pixel of it in x and y."""
    import cv2

    gray = gray_of(np.ascontiguousarray(picture))
    rows, cols = gray.shape
    scale = min(1.0, MATCH_SIDE_PX / max(rows, cols))
    size = (round(cols * scale), round(rows * scale))
    small = cv2.resize(gray, size, interpolation=cv2.INTER_LINEAR) if scale < 1 else gray
    smooth = np.asarray(cv2.GaussianBlur(small, (0, 0), 1.0), np.uint8)
    return Reduced(smooth, np.array([cols / size[0], rows / size[1]]))


Sights = Callable[..., tuple[FloatArray, ...]]


def lines_of_sight(reference: GroundPlane, points_px: FloatArray) -> Sights:
    """Follow the lines of sight of a reference photo's points, shape (N, 2), from the ground up to NEAREST_M.

    Returns
    -------
    callable
        Takes the matrix of a camera, and the turns (..., 3, 3) and places (..., 3) of one or many; gives the pixels,
        each (..., N, 2), where it sees the far and near ends. With walls (..., 2) it also gives where it sees what is
        on the ground before the wall or on the wall. A wall stands upright; it is given by the direction to it from the
        reference's camera over its distance, so that a wall at (0, 0) is infinitely far.
    """
    home = np.array(reference.pose.position_m)
    back = np.linalg.inv(reference.camera_matrix @ reference.rotation)
    ray = np.column_stack([points_px, np.ones(len(points_px))]) @ back.T
    ray /= np.linalg.norm(ray, axis=1, keepdims=True)
    from_ground = np.maximum(-ray[:, 2:] / home[2], 0.0)
    nearest = np.maximum(from_ground, 1 / NEAREST_M)

    def sights(
        matrix: FloatArray, rotation: FloatArray, place: FloatArray, wall: FloatArray | None = None
    ) -> tuple[FloatArray, ...]:
        to_pixel, shift = np.swapaxes(matrix @ rotation, -1, -2), (home - place)[..., None, :]
        near = [from_ground, nearest]
        if wall is not None:
            near.append(np.clip((wall @ ray[:, :2].T)[..., None], from_ground, nearest))
        return tuple(_flat((ray + inverse * shift) @ to_pixel) for inverse in near)

    return sights


def _flat(points: FloatArray) -> FloatArray:
    return points[..., :2] / np.maximum(points[..., 2:], 1e-6)


def _described(gray: NDArray[np.uint8], places: FloatArray) -> tuple[NDArray[np.intp], NDArray[np.uint8]]:
    """Return which places, shape (N, 2), lie far enough inside the picture, and their descriptors, shape (N, 32)."""
    import cv2

    limit = np.array(gray.shape[::-1]) - 1 - PATCH_PX
    at = np.flatnonzero(((places >= PATCH_PX) & (places <= limit)).all(axis=1))
    keypoints = cv2.KeyPoint.convert(places[at].astype(np.float32), size=31.0)  # type: ignore[call-overload]
    _, bits = cv2.ORB.create(nlevels=1).compute(gray, keypoints)
    return at, np.zeros((0, 32), np.uint8) if bits is None else np.asarray(bits, np.uint8)


def _spread_corners(gray: NDArray[np.uint8], mask: NDArray[np.uint8]) -> tuple[FloatArray, FloatArray]:
    """Return the strongest corners of each cell of a grid, strongest first within the photo, to a pixel and less."""
    import cv2

    strength = _corner_strength(gray)
    strength[mask == 0] = 0
    peaks = (strength >= cv2.dilate(strength, np.ones((7, 7), np.uint8))) & (strength > 1e-5)
    y, x = np.divmod(np.flatnonzero(peaks), gray.shape[1])
    rank = np.argsort(-strength[y, x], kind="stable")
    x, y = x[rank], y[rank]
    cell = (y * CELLS // gray.shape[0]) * CELLS + x * CELLS // gray.shape[1]
    order = np.argsort(cell, kind="stable")
    first = np.searchsorted(cell[order], cell[order], side="left")
    keep = np.sort(order[np.arange(len(order)) - first < MOST_IN_CELL])
    places = np.stack([x[keep], y[keep]], axis=1)
    smooth = np.asarray(cv2.GaussianBlur(strength, (0, 0), 1.0), np.float32)
    return places.astype(float), places + _beyond_pixels(smooth, places)


def _corner_strength(gray: NDArray[np.uint8]) -> NDArray[np.float32]:
    """Return the smaller eigenvalue of the gradient's products around each pixel, strip by strip.

    What the library keeps in between is larger than the picture, and fits the processor's cache for a strip only.
    """
    import cv2

    strips = []
    for top in range(0, len(gray), STRIP_ROWS):
        above = min(top, 2)
        strip = cv2.cornerMinEigenVal(gray[top - above : top + STRIP_ROWS + 2], 3)
        strips.append(strip[above : above + STRIP_ROWS])
    return np.concatenate(strips)


def _beyond_pixels(strength: NDArray[np.float32], places: NDArray[np.intp]) -> FloatArray:
    """Return how far the peak of a parabola lies from each place, along x and y, at most a pixel, shape (N, 2)."""
    x, y = np.clip(places, 1, np.array(strength.shape[::-1]) - 2).T
    here, off = strength[y, x], []
    for low, high in ((strength[y, x - 1], strength[y, x + 1]), (strength[y - 1, x], strength[y + 1, x])):
        bend = np.maximum(2 * here - low - high, 1e-12)
        off.append(np.where(2 * here > low + high, (high - low) / 2 / bend, 0.0).clip(-1, 1))
    return np.stack(off, axis=1)
