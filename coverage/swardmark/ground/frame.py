"""Find the square as a plain light frame without marks: found for certain, or refused.

Light, thin, closed outlines are sought on a reduced copy. Each candidate is laid flat, and counts as a frame only if
all four bars are seen: straight on both their edges, lighter than the ground on both sides, of one width all round, and
with the same kind of ground inside as outside. Paving, fence panels, walls and table tops fail at least one of these.
The outer edge of the frame is the square. Corners are numbered as the photographer sees them.

The blue channel is used throughout: sand and grass are both dark in it, white and pale wood are not.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from swardmark.common.errors import PhotoRefused
from swardmark.ground.edges import Edge, FloatArray, crossing, fit_edge, is_convex, linear_light, robust_line
from swardmark.ground.homography import GeometryError, apply, homography
from swardmark.ground.square import FoundBy, NoSquare, Square
from swardmark.ground.trust import trusted_plane

BLUE = 2
SEARCH_SIDE_PX = 1200
LEAST_AREA = 0.004
"""Smallest share of the photo's area that a frame covers."""
MOST_FILLED = 0.65
"""Largest share of a frame's outline that may be as light as its bars in the reduced copy."""
FLAT_PX = 400
"""Pixels to which the candidate's side is laid flat for the checks."""
FLAT_MARGIN = 0.12
STRAIGHT_PX = 2.5
"""How far an edge laid flat may stray from its line."""
BAR_SHARES = (0.012, 0.10)
"""Width of a bar as share of the side, least and most."""
MOST_UNEVEN = 1.5
"""Widest bar over narrowest, seen flat."""
LEAST_AGREE = 0.6
"""Share of a bar's length along which both edges must be seen on straight lines."""
LEAST_STEP = 12.0
"""Coded steps by which a bar is lighter than the ground on either side (median)."""
MOST_COLOR_STEP = 0.10
"""Difference between the chromaticities of the ground inside and outside."""
LEAST_TEXTURE = 8.0
"""Coded steps between the darkest and the lightest tenth inside: ground is never as even as a panel."""
SAME_SHARE = 0.04
REMEDY = "Use corner marks (swardmark target), or mark the corners by hand: swardmark mark"
UNIT_SQUARE = np.array([[0, 0], [1, 0], [1, 1], [0, 1]], float)


@dataclass(frozen=True)
class _Bar:
    """One bar laid flat: place of its outer edge (from the outline, inward) and its width, in shares of the side."""

    outer: float
    tilt: float
    width: float


def find_frame(
    rgb: NDArray[np.uint8],
    *,
    side_m: float = 1.0,
    focal_px: float | None = None,
    near: FloatArray | None = None,
    name: str = "photo",
) -> Square:
    """Find a plain light frame.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (rows, cols, 3)
        The photo, upright.
    side_m : float
        The frame's side, outer edge to outer edge, meters.
    focal_px : float, optional
        Focal length from EXIF, pixels.
    near : ndarray, shape (4, 2), optional
        The frame's corners in another photo of the point; they tell which corner is which.
    name : str
        How error lines call the photo.

    Raises
    ------
    NoSquare
        Nothing looks like a frame.
    PhotoRefused
        There is more than one, or none that certainly lies on the ground.
    """
    frames: list[Square] = []
    refusal: PhotoRefused | None = None
    for outline in _outlines(rgb):
        frame = _measured(rgb, outline)
        if frame is None or any(_is_same(frame.corners_px, other.corners_px) for other in frames):
            continue
        try:
            trusted_plane(
                frame, side_m=side_m, size=(rgb.shape[1], rgb.shape[0]), focal_px=focal_px, name=name
            )
            frames.append(frame)
        except PhotoRefused as error:
            refusal = error
    if len(frames) > 1:
        raise PhotoRefused(
            "more than one light frame", where=name, remedy="Leave one in view, or mark it by hand"
        )
    if not frames:
        raise refusal or NoSquare("no corner mark and no light frame found", where=name, remedy=REMEDY)
    corners = frames[0].corners_px if near is None else _numbered_like(frames[0].corners_px, near)
    return Square(corners, FoundBy.LIGHT_FRAME, frames[0].error_px)


def _outlines(rgb: NDArray[np.uint8]) -> list[FloatArray]:
    """Return four-sided outlines of light, hollow things, shape (4, 2), largest first, in photo pixels."""
    import cv2

    scale = min(1.0, SEARCH_SIDE_PX / max(rgb.shape))
    size = (round(rgb.shape[1] * scale), round(rgb.shape[0] * scale))
    small = cv2.resize(rgb, size, interpolation=cv2.INTER_AREA) if scale < 1 else rgb
    blue = np.asarray(cv2.GaussianBlur(np.ascontiguousarray(small[..., BLUE]), (0, 0), 1.0), np.uint8)
    ratio = np.array([rgb.shape[1] / size[0], rgb.shape[0] / size[1]])
    quads: list[tuple[float, FloatArray]] = []
    for mask in _light_masks(blue):
        shapes, _ = cv2.findContours(mask, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_SIMPLE)
        for shape in shapes:
            hull = np.asarray(cv2.convexHull(shape), np.int32)
            area = cv2.contourArea(hull)
            if area < LEAST_AREA * blue.size or not _is_hollow(mask, hull):
                continue
            quad = _four_sided(hull, area)
            if quad is not None:
                quads.append((area, (quad + 0.5) * ratio - 0.5))
    quads.sort(key=lambda pair: -pair[0])
    distinct: list[FloatArray] = []
    for _, quad in quads:
        if not any(_is_same(quad, other) for other in distinct):
            distinct.append(quad)
    return distinct


def _light_masks(blue: NDArray[np.uint8]) -> list[NDArray[np.uint8]]:
    """Where the blurred blue channel is lighter than its surroundings, by several measures of lighter."""
    import cv2

    masks = []
    for block, above in ((31, 10), (31, 22), (61, 16), (61, 32), (121, 30)):
        mask = cv2.adaptiveThreshold(blue, 255, cv2.ADAPTIVE_THRESH_MEAN_C, cv2.THRESH_BINARY, block, -above)
        masks.append(np.asarray(cv2.morphologyEx(mask, cv2.MORPH_CLOSE, np.ones((5, 5), np.uint8)), np.uint8))
    return masks


def _is_hollow(mask: NDArray[np.uint8], hull: NDArray[np.int32]) -> bool:
    import cv2

    x, y, width, height = cv2.boundingRect(hull)
    inside = np.zeros((height, width), np.uint8)
    cv2.fillConvexPoly(inside, hull - (x, y), 1)
    light = (mask[y : y + height, x : x + width] > 0) & (inside > 0)
    return bool(light.sum() < MOST_FILLED * inside.sum())


def _four_sided(hull: NDArray[np.int32], area: float) -> FloatArray | None:
    """Simplify a hull to four corners, numbered from the near left; None if that does not describe it."""
    import cv2

    around = cv2.arcLength(hull, True)
    for tolerance in (0.01, 0.02, 0.03, 0.05):
        simple = cv2.approxPolyDP(hull, tolerance * around, True)
        if len(simple) == 4:
            quad = simple.reshape(4, 2).astype(float)
            if abs(cv2.contourArea(simple) / area - 1) < 0.12:
                return _numbered(quad)
    return None


def _numbered(quad: FloatArray) -> FloatArray:
    """Order corners near left, near right, far right, far left, as the photographer sees them."""
    x, y = (quad - quad.mean(axis=0)).T
    quad = quad[np.argsort(-np.arctan2(y, x))]
    near = [quad[n, 1] + quad[(n + 1) % 4, 1] for n in range(4)]
    return np.roll(quad, -int(np.argmax(near)), axis=0)


def _numbered_like(corners: FloatArray, other: FloatArray) -> FloatArray:
    turns = [np.roll(corners, n, axis=0) for n in range(4)]
    return min(turns, key=lambda turned: float(np.abs(turned - other).sum()))


def _measured(rgb: NDArray[np.uint8], outline: FloatArray) -> Square | None:
    """Check an outline laid flat, and fit the frame's outer edges in the photo; None if it is no frame."""
    try:
        coarse = _bars(rgb, outline)
        outline = outline if coarse is None else _outer_corners(outline, coarse)
        bars = None if coarse is None else _bars(rgb, outline)
        if bars is None:
            return None
        outline = _outer_corners(outline, bars)
        if not is_convex(outline) or not _same_ground(rgb, outline, bars):
            return None
        return _fitted(rgb, outline, bars)
    except GeometryError:
        return None


def _bars(rgb: NDArray[np.uint8], outline: FloatArray) -> list[_Bar] | None:
    """Find the four bars along the sides 0-1, 1-2, 2-3, 3-0 of an outline; None unless all are sound and alike."""
    flat = _laid_flat(rgb, outline)[..., BLUE].astype(float)
    bars = []
    for turned in (flat, np.rot90(flat, -1), np.rot90(flat, 2), np.rot90(flat)):
        bar = _bar(turned)
        if bar is None:
            return None
        bars.append(bar)
    widths = [bar.width for bar in bars]
    return bars if max(widths) < MOST_UNEVEN * min(widths) else None


def _laid_flat(rgb: NDArray[np.uint8], outline: FloatArray) -> NDArray[np.uint8]:
    """Warp an outline to a square picture, side 0-1 at the bottom."""
    import cv2

    side = FLAT_PX * np.array([[0, 1], [1, 1], [1, 0], [0, 0]], float) + FLAT_MARGIN * FLAT_PX
    whole = round(FLAT_PX * (1 + 2 * FLAT_MARGIN))
    flat = cv2.warpPerspective(
        rgb,
        homography(outline, side),
        (whole, whole),
        flags=cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REPLICATE,
    )
    return np.asarray(flat, np.uint8)


def _bar(flat: FloatArray) -> _Bar | None:
    """Find the bar along the bottom side of a flat picture."""
    margin = round(FLAT_MARGIN * FLAT_PX)
    columns = flat[:, margin + round(0.06 * FLAT_PX) : -margin - round(0.06 * FLAT_PX)]
    inward = columns[::-1][: margin + round(0.25 * FLAT_PX)]
    inward = inward[:, : inward.shape[1] // 8 * 8].reshape(len(inward), -1, 8).mean(axis=2)
    rise = np.diff(inward, axis=0)
    rise = rise[:-1] + rise[1:]
    reach = slice(margin - round(0.07 * FLAT_PX), margin + round(0.07 * FLAT_PX))
    outer = _edge_rows(rise, reach.start, reach.stop)
    if outer is None:
        return None
    places = np.arange(inward.shape[1])
    line = outer[0] * places + outer[1]
    falls = np.stack(
        [_shifted(-rise, line + step) for step in range(2, round(1.2 * BAR_SHARES[1] * FLAT_PX))]
    )
    width = 2 + int(np.argmax(np.median(falls, axis=1)))
    tolerance = max(3.0, 0.35 * width)
    inner = np.stack([_shifted(-rise, line + width + step) for step in np.arange(-tolerance, tolerance + 1)])
    shift = inner.argmax(axis=0) - tolerance
    slope, offset, _ = robust_line(places.astype(float), shift + width)
    near = np.abs(shift + width - slope * places - offset) < max(STRAIGHT_PX, 0.2 * width)
    bar = np.stack([_shifted(inward, line + share * width) for share in (0.35, 0.5, 0.65)]).mean(axis=0)
    before = np.stack([_shifted(inward, line - 0.5 * width - step) for step in (1, 3, 5)]).mean(axis=0)
    after = np.stack([_shifted(inward, line + 1.5 * width + step) for step in (1, 3, 5)]).mean(axis=0)
    clear = (bar > before + LEAST_STEP / 2) & (bar > after + LEAST_STEP / 2)
    middle = offset + slope * places.mean()
    share = middle / FLAT_PX
    sound = min(near.mean(), clear.mean(), outer[2]) >= LEAST_AGREE and abs(slope) * len(places) < 0.5 * width
    light = min(np.median(bar - before), np.median(bar - after)) >= LEAST_STEP
    if not (sound and light and BAR_SHARES[0] <= share <= BAR_SHARES[1]):
        return None
    tilt = outer[0] * len(places) / 0.88
    return _Bar((line.mean() - margin + 2) / FLAT_PX, tilt / FLAT_PX, float(share))


def _edge_rows(rise: FloatArray, first: int, last: int) -> tuple[float, float, float] | None:
    """Fit the line along which a picture's rows step up most: slope and offset in rows per column, and agreement."""
    part = rise[first:last]
    rows = part.argmax(axis=0).astype(float) + first
    columns = np.arange(len(rows), dtype=float)
    start = np.median(rows)
    keep = np.abs(rows - start) < 0.03 * FLAT_PX
    if keep.mean() < LEAST_AGREE:
        return None
    slope, offset, _ = robust_line(columns[keep], rows[keep])
    agree = np.abs(rows - slope * columns - offset) < STRAIGHT_PX
    return slope, offset, float(agree.mean())


def _shifted(picture: FloatArray, rows: FloatArray) -> FloatArray:
    """Read one value per column, at the nearest of the given rows."""
    at = np.clip(np.rint(rows).astype(int), 0, len(picture) - 1)
    return np.asarray(picture[at, np.arange(picture.shape[1])])


def _outer_corners(outline: FloatArray, bars: list[_Bar]) -> FloatArray:
    """Move an outline to the outer edges found by its bars."""
    lines = []
    for n, bar in enumerate(bars):
        start, end = UNIT_SQUARE[n], UNIT_SQUARE[(n + 1) % 4]
        along = end - start
        inward = np.array([-along[1], along[0]])
        first, last = start + inward * (bar.outer - bar.tilt / 2), end + inward * (bar.outer + bar.tilt / 2)
        across = np.array([(last - first)[1], -(last - first)[0]])
        lines.append(Edge(np.array([*across, across @ first]), 1.0))
    corners = np.array([crossing(lines[n - 1], lines[n]) for n in range(4)])
    return np.asarray(apply(homography(UNIT_SQUARE, outline), corners))


def _same_ground(rgb: NDArray[np.uint8], outline: FloatArray, bars: list[_Bar]) -> bool:
    """Whether the ground inside the frame is of the same kind as the ground around it."""
    flat = _laid_flat(rgb, outline).astype(float)
    margin, wide = round(FLAT_MARGIN * FLAT_PX), round(max(bar.width for bar in bars) * FLAT_PX) + 4
    ring = np.ones(flat.shape[:2], bool)
    ring[margin - 4 : -margin + 4, margin - 4 : -margin + 4] = False
    inside = flat[margin + wide : -margin - wide, margin + wide : -margin - wide].reshape(-1, 3)
    within, around = np.median(inside, axis=0), np.median(flat[ring], axis=0)
    color = np.abs(within / max(within.sum(), 1) - around / max(around.sum(), 1)).max()
    if np.subtract(*np.percentile(inside[:, BLUE], [90, 10])) < LEAST_TEXTURE:
        return False
    return bool(color < MOST_COLOR_STEP and 0.4 < (within.sum() + 30) / (around.sum() + 30) < 2.5)


def _fitted(rgb: NDArray[np.uint8], outline: FloatArray, bars: list[_Bar]) -> Square | None:
    """Fit the outer edges in the photo itself; None where the photo does not bear out the bars laid flat."""
    low = np.maximum(np.floor(outline.min(axis=0)).astype(int) - 24, 0)
    high = np.ceil(outline.max(axis=0)).astype(int) + 25
    light = linear_light(np.ascontiguousarray(rgb[low[1] : high[1], low[0] : high[0], BLUE]))
    local, edges = outline - low, []
    to_photo = homography(UNIT_SQUARE, local)
    for n, bar in enumerate(bars):
        start, end = local[n], local[(n + 1) % 4]
        middle = (UNIT_SQUARE[n] + UNIT_SQUARE[(n + 1) % 4]) / 2
        inner = apply(to_photo, middle + (0.5 - middle) * 2 * bar.width)
        normal = np.array([(end - start)[1], -(end - start)[0]]) / np.linalg.norm(end - start)
        thick = abs(float(normal @ (inner - start)))
        reach = float(np.clip(0.6 * thick, 2.0, 8.0))
        edge = fit_edge(light, start, end, start + end - local.mean(axis=0), reach=reach, lighter=False)
        if edge.share < LEAST_AGREE / 2:
            return None
        edges.append(edge)
    corners = np.array([crossing(edges[n - 1], edges[n]) for n in range(4)])
    moved = np.linalg.norm(corners - local, axis=1)
    if not np.isfinite(moved).all() or moved.max() > 0.02 * np.linalg.norm(local[1] - local[0]) + 3:
        return None
    return Square(
        corners + low, FoundBy.LIGHT_FRAME, float(np.sqrt(np.mean([edge.spread**2 for edge in edges])))
    )


def _is_same(one: FloatArray, other: FloatArray) -> bool:
    side = np.linalg.norm(one[1] - one[0])
    return bool(np.linalg.norm(one - other, axis=1).max() < SAME_SHARE * side)
