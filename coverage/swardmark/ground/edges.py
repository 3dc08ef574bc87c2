"""Straight edges to a fraction of a pixel, and corners where they cross.

An edge is sampled along many short profiles across it; each profile gives the place where it turns light (or dark),
and a line is fitted to those places by iteratively re-weighted least squares with Geman and McClure's weights (Zhang
1997, Image and Vision Computing 15(1):59-76), so that a blade or a stain across the edge does not pull the line.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from swardmark.common.color import gray_of

FloatArray = NDArray[np.float64]
LEAST_SPREAD_PX = 0.05
_CODED = np.arange(256) / 255
_LINEAR = np.where(_CODED <= 0.04045, _CODED / 12.92, ((_CODED + 0.055) / 1.055) ** 2.4).astype(np.float32)
CROP_MARGIN_PX = 16
REACH_SHARE, ACROSS_SHARE, REACH_PX = 0.12, 0.25, (1.5, 12.0)
"""How far from its place an edge is looked for: shares of its length and of the mark's extent across it, whichever is
less, and at least and at most these pixels. The next edge that turns light outward lies a third inside."""
WEAK = 0.3
LEAST_PROFILES, MOST_PROFILES, ROUNDS = 4, 120, 4
"""Profiles across an edge, one a pixel of its length, and how often they are weighted anew."""
FIRST_PROFILES, FIRST_ROUNDS, FIRST_TIMES = 16, 2, 2
"""The same where corners are only brought near their place, and how often. Drawn marks found from two starts then end
0.03 pixels apart in the mean, and 0.06 where all profiles are read twice from the start (scenes of squares.py)."""
MOVES, MOVES_PX, PLAIN_MOVES = 0.2, 3.0, 0.35
"""How far a corner may move: this share of its shorter edge and at least these pixels, or the larger share where both
its edges are plain. The detector traces ink on a reduced copy, where a blade across it cuts a corner by a sixth."""
PLAIN_SHARE, PLAIN_SPREAD_PX = 0.9, 0.4
"""An edge is plain where so many of its profiles agree, and so well."""


@dataclass(frozen=True, eq=False)
class Edge:
    """A straight edge in a photo.

    Attributes
    ----------
    line : ndarray, shape (3,)
        a, b, c of a x + b y = c, with (a, b) of unit length.
    share : float
        Share of the profiles that agree with the line.
    spread : float
        Robust spread of those profiles' edge places about the line, pixels.
    """

    line: FloatArray
    share: float
    spread: float = 0.0


def fit_edge(
    gray: NDArray[np.float32],
    start: FloatArray,
    end: FloatArray,
    outward: FloatArray,
    *,
    reach: float,
    lighter: bool = True,
) -> Edge:
    """Fit a line to the edge that runs about from `start` to `end`, pixels; see `fit_edges`."""
    ends = np.stack([start, end])[None]
    return fit_edges(gray, ends, np.asarray(outward)[None], reach=np.array([reach]), lighter=lighter)[0]


def fit_edges(
    gray: NDArray[np.float32],
    ends: FloatArray,
    outward: FloatArray,
    *,
    reach: FloatArray,
    lighter: bool = True,
) -> list[Edge]:
    """Fit lines to edges.

    Parameters
    ----------
    gray : ndarray of float32, shape (rows, cols)
        One channel of the photo, linear in light: the blur of a lens is symmetric in light, not in coded values.
    ends : ndarray, shape (edges, 2, 2)
        About where each edge begins and ends, pixels.
    outward : ndarray, shape (edges, 2)
        A point on the side of each edge called its outside, pixels.
    reach : ndarray, shape (edges,)
        How far to look on both sides, pixels.
    lighter : bool
        Whether the outside is the lighter one.
    """
    lines = _lines(gray, ends, outward, reach=reach, lighter=lighter, most=MOST_PROFILES, rounds=ROUNDS)
    values = zip(*(part.tolist() for part in lines[1:]), strict=True)
    return [
        Edge(np.append(across, far), share, spread)
        for across, (far, share, spread) in zip(lines.across, values, strict=True)
    ]


def linear_light(coded: NDArray[np.uint8]) -> NDArray[np.float32]:
    """Undo the sRGB coding (IEC 61966-2-1) of 8-bit values; returns 0..1 of the same shape."""
    return _LINEAR[coded]


def robust_line(where: FloatArray, values: FloatArray) -> tuple[float, float, NDArray[np.bool_]]:
    """Fit values = slope * where + offset; returns slope, offset and which values lie within 3 robust spreads."""
    slope, offset, near = _robust_lines(where[None], values[None], np.ones((1, len(where)), bool))
    return float(slope[0]), float(offset[0]), near[0]


def crossing(one: Edge, two: Edge) -> FloatArray:
    """Return where two edges' lines cross, shape (2,); infinite if they are parallel."""
    return _crossings(one.line[:2], one.line[2], two.line[:2], two.line[2])


def refine_corners(picture: NDArray[np.uint8], quads: FloatArray) -> FloatArray:
    """Move the corners of quads, shape (quads, 4, 2), to the crossings of straight lines fitted to their edges."""
    strip, shift = _strip_of_crops(picture, quads)
    light = linear_light(strip)
    local = quads - shift
    for _ in range(FIRST_TIMES):
        local = _refined(light, local, profiles=FIRST_PROFILES, rounds=FIRST_ROUNDS)
    return np.asarray(_refined(light, local, profiles=MOST_PROFILES, rounds=ROUNDS) + shift)


def is_convex(corners: FloatArray) -> bool:
    """Whether corners 0..3 run round a convex quad as those of a square seen from above do (y down: turning left)."""
    edges = np.roll(corners, -1, axis=0) - corners
    turns = edges[:, 0] * np.roll(edges[:, 1], -1) - edges[:, 1] * np.roll(edges[:, 0], -1)
    return bool((turns < 0).all())


def _strip_of_crops(picture: NDArray[np.uint8], quads: FloatArray) -> tuple[NDArray[np.uint8], FloatArray]:
    """Return gray crops around quads below each other, and each quad's shift to them, shape (quads, 1, 2)."""

    low = np.floor(quads.min(axis=1)).astype(int) - CROP_MARGIN_PX
    width, height = (np.ceil(quads.max(axis=1)).astype(int) + CROP_MARGIN_PX + 1 - low).max(axis=0)
    crops = [_gray_crop(picture, int(x), int(y), int(width), int(height)) for x, y in low]
    down = np.stack([np.zeros(len(low), int), height * np.arange(len(low))], axis=1)
    return np.concatenate(crops), (low - down)[:, None].astype(float)


def _gray_crop(picture: NDArray[np.uint8], x: int, y: int, width: int, height: int) -> NDArray[np.uint8]:
    """Cut a gray piece out of the photo; beyond its edges their pixels go on."""
    import cv2

    rows, cols = picture.shape[:2]
    left, top, right, bottom = max(x, 0), max(y, 0), min(x + width, cols), min(y + height, rows)
    if right <= left or bottom <= top:
        row, col = np.arange(y, y + height), np.arange(x, x + width)
        return gray_of(picture[np.ix_(row.clip(0, rows - 1), col.clip(0, cols - 1))])
    gray = gray_of(picture[top:bottom, left:right])
    beyond = (top - y, y + height - bottom, left - x, x + width - right)
    return np.asarray(
        cv2.copyMakeBorder(gray, *beyond, cv2.BORDER_REPLICATE) if any(beyond) else gray, np.uint8
    )


def _refined(light: NDArray[np.float32], quads: FloatArray, *, profiles: int, rounds: int) -> FloatArray:
    center = quads.mean(axis=1, keepdims=True)
    after = quads[:, [1, 2, 3, 0]]
    edges = np.linalg.norm(after - quads, axis=2)
    ends = np.stack([quads, after], axis=2)
    outward = ends.sum(axis=2) - center
    across = ACROSS_SHARE * _extent_across(quads, edges)
    reach = np.clip(np.minimum(REACH_SHARE * edges, across), *REACH_PX)
    known = {"reach": reach.ravel(), "lighter": True, "most": profiles, "rounds": rounds}
    lines = _lines(light, ends.reshape(-1, 2, 2), outward.reshape(-1, 2), **known)
    normal, far = lines.across.reshape(-1, 4, 2), lines.far.reshape(-1, 4)
    corners = _crossings(normal[:, [3, 0, 1, 2]], far[:, [3, 0, 1, 2]], normal, far)
    plain = ((lines.share >= PLAIN_SHARE) & (lines.spread <= PLAIN_SPREAD_PX)).reshape(edges.shape)
    plain &= plain[:, [3, 0, 1, 2]]
    shorter = np.minimum(edges, edges[:, [3, 0, 1, 2]])
    most = np.maximum(MOVES_PX, np.where(plain, PLAIN_MOVES, MOVES) * shorter)
    return np.where((np.linalg.norm(corners - quads, axis=2) < most)[..., None], corners, quads)


def _crossings(one: FloatArray, one_far: ArrayLike, two: FloatArray, two_far: ArrayLike) -> FloatArray:
    """Return where lines n . p = far cross, of normals (..., 2); infinite where they are parallel."""
    one_far, two_far = np.asarray(one_far), np.asarray(two_far)
    determinant = one[..., 0] * two[..., 1] - one[..., 1] * two[..., 0]
    x, y = one_far * two[..., 1] - one[..., 1] * two_far, one[..., 0] * two_far - one_far * two[..., 0]
    parallel = np.abs(determinant) < 1e-6
    across = np.stack([x, y], axis=-1) / np.where(parallel, 1.0, determinant)[..., None]
    return np.where(parallel[..., None], np.inf, across)


class _Lines(NamedTuple):
    """Lines fitted to edges: normals, shape (N, 2), their distances, the shares that agree, and the spreads."""

    across: FloatArray
    far: FloatArray
    share: FloatArray
    spread: FloatArray


def _lines(
    gray: NDArray[np.float32],
    ends: FloatArray,
    outward: FloatArray,
    *,
    reach: FloatArray,
    lighter: bool,
    most: int,
    rounds: int,
) -> _Lines:
    """Fit lines to edges as `fit_edges` does, by at most so many profiles each and in so many rounds of weighting."""
    start, along = ends[:, 0], ends[:, 1] - ends[:, 0]
    length = np.linalg.norm(along, axis=1)
    along = along / np.maximum(length, 1e-9)[:, None]
    normal = np.stack([along[:, 1], -along[:, 0]], axis=1)
    normal[((outward - ends.mean(axis=1)) * normal).sum(axis=1) < 0] *= -1
    places = length[:, None] * np.linspace(0.12, 0.88, int(np.clip(length.max(), 12, most)))
    middle, keep = _turning_places(gray, start, along, normal, places, reach, lighter)
    slope, offset, near = _robust_lines(places, middle, keep, rounds=rounds)
    spread = 1.4826 * _medians(np.abs(middle - slope[:, None] * places - offset[:, None]), keep)
    first = start + normal * offset[:, None]
    last = start + along * length[:, None] + normal * (slope * length + offset)[:, None]
    across = np.stack([last[:, 1] - first[:, 1], first[:, 0] - last[:, 0]], axis=1)
    across /= np.maximum(np.linalg.norm(across, axis=1), 1e-9)[:, None]
    found = keep.sum(axis=1) >= LEAST_PROFILES
    line = np.where(found[:, None], across, normal)
    far = (line * np.where(found[:, None], first, start)).sum(axis=1)
    share = np.where(found, near.sum(axis=1) / places.shape[1], 0.0)
    return _Lines(line, far, share, np.where(found, spread, 0.0))


def _extent_across(quads: FloatArray, edges: FloatArray) -> FloatArray:
    """Return how far each mark reaches across each of its edges, shape (quads, 4), pixels: its area over the edge."""
    one, two = quads[:, 2] - quads[:, 0], quads[:, 3] - quads[:, 1]
    area = np.abs(one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0])[:, None] / 2
    return np.asarray(area / np.maximum(edges, 1e-9))


def _turning_places(
    gray: NDArray[np.float32],
    start: FloatArray,
    along: FloatArray,
    normal: FloatArray,
    places: FloatArray,
    reach: FloatArray,
    lighter: bool,
) -> tuple[FloatArray, NDArray[np.bool_]]:
    """Read profiles across edges; return where each turns light, from the edge's start line, and which are clear."""
    offsets = np.arange(0, 2 * reach.max() + 0.25, 0.5) - reach[:, None]
    line = (start[:, None] + along[:, None] * places[..., None]).astype(np.float32)
    across = (normal[:, None] * offsets[..., None]).astype(np.float32)
    read = _read(gray, *(line[:, :, None, axis] + across[:, None, :, axis] for axis in range(2)))
    rise = read[..., 1:] - read[..., :-1] if lighter else read[..., :-1] - read[..., 1:]
    rise = np.maximum(rise, 0) * (offsets[:, 1:] < reach[:, None] + 0.25)[:, None]
    rise *= rise >= np.float32(WEAK) * rise.max(axis=2, keepdims=True)
    strength = rise.sum(axis=2, dtype=float)
    keep = strength > np.maximum(WEAK * _medians(strength, np.ones(strength.shape, bool)), 1e-6)[:, None]
    middle = np.einsum("epk,ek->ep", rise, (offsets[:, :-1] + offsets[:, 1:]) / 2)
    return np.where(keep, middle / np.where(keep, strength, 1), 0.0), keep


def _robust_lines(
    where: FloatArray, values: FloatArray, keep: NDArray[np.bool_], *, rounds: int = ROUNDS
) -> tuple[FloatArray, FloatArray, NDArray[np.bool_]]:
    """Fit a line to each row of the arrays, shape (lines, points), by the points to keep."""
    weight = keep.astype(float)
    for _ in range(rounds):
        total = np.maximum(weight.sum(axis=1), 1e-12)[:, None]
        x = where - (weight * where).sum(axis=1)[:, None] / total
        y = values - (weight * values).sum(axis=1)[:, None] / total
        slope = (weight * x * y).sum(axis=1) / np.maximum((weight * x * x).sum(axis=1), 1e-12)
        rest = np.abs(y - slope[:, None] * x)
        spread = np.maximum(1.4826 * _medians(rest, keep), LEAST_SPREAD_PX)[:, None]
        weight = keep / (1 + (rest / (2 * spread)) ** 2) ** 2
    offset = (values - y)[:, 0] - slope * (where - x)[:, 0]
    return slope, offset, keep & (rest < 3 * np.clip(spread, 0.3, 1.0))


def _medians(values: FloatArray, keep: NDArray[np.bool_]) -> FloatArray:
    """Return the median of each row's points to keep; 0 where there are none."""
    ordered, count = np.sort(np.where(keep, values, np.inf), axis=1), keep.sum(axis=1)
    row = np.arange(len(ordered))
    both = (
        ordered[row, np.maximum(count - 1, 0) // 2]
        + ordered[row, np.minimum(count // 2, values.shape[1] - 1)]
    )
    return np.where(count > 0, both / 2, 0.0)


def _read(gray: NDArray[np.float32], x: NDArray[np.float32], y: NDArray[np.float32]) -> NDArray[np.float32]:
    """Read a channel between its pixels."""
    import cv2

    flat = (-1, x.shape[-1])
    read = cv2.remap(
        gray, x.reshape(flat), y.reshape(flat), cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
    )
    return np.asarray(read, np.float32).reshape(x.shape)
