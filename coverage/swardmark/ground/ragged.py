"""Marks bitten by blades: a second, tolerant search where the square was in other photos of the point.

The detector of marks.py needs each mark's outline whole. Here the pattern of the marks, laid by the known square, is
compared with the photo as a whole: by normalized correlation over shifts, sizes and turns of the square, and then by
maximizing the enhanced correlation coefficient over the homography (Evangelidis and Psarakis 2008, IEEE PAMI
30(10):1858-1865). A blade across an edge costs a little correlation and moves nothing. The blue channel is used, in
which blades and ink are both dark: only the white of a mark can be bitten.

A square is believed if the cells of all four marks read as printed; grass, sand and other marks never do.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from itertools import product

import numpy as np
from numpy.typing import NDArray

from swardmark.ground import sentences
from swardmark.ground.edges import FloatArray, is_convex, refine_corners
from swardmark.ground.homography import GeometryError, apply, homography, rescaled
from swardmark.ground.marks import THOROUGH, UNIT_SQUARE, laid_mark, search_near
from swardmark.ground.square import FoundBy, Square

BLUE = 2
FINE_SIDE_PX = 1600
"""Longer side to which the surroundings are reduced for the detector."""
CELLS, MARGIN = 6, 1
"""Cells across a mark with its black border, and cells of white around it."""
CELL_PX = 4.0
"""Pixels of a cell's width in the reduced copy that is searched."""
REACH = 0.3
"""How far the square may have shifted, as share of its larger side in the photo."""
SIZES, TURNS_DEG = (0.85, 0.92, 1.0, 1.08, 1.17), (-6.0, -3.0, 0.0, 3.0, 6.0)
FINER = 3.0
"""The square is laid at last in a copy so much finer: in the first, far marks of a large square are too small."""
COARSER = 2
"""The square as a whole is searched at half that size, where the perspective of another day matters less."""
MARK_BY_MARK = (4.0, 2.0, 1.0)
"""Then each mark by itself, up to so many cells away."""
BESIDE_CELLS = 1.5
LEAST_ALIKE = 0.2
"""Mean correlation of the four marks at the place from which the homography is refined."""
LEAST_START = 0.5
LEAST_CELLS, LEAST_EACH = 0.75, 0.5
"""Correlation of the cells' means with the print: the mean of the four marks at the start, and at last, and of each."""
AGREE_PX, LEAST_AGREE, MOST_SHIFT = 1.0, 9, 0.012
"""Corners of the sixteen agree within so many pixels; with so many of them, of all marks, the square is laid by those,
unless that moves it by more than this share of its side."""
ERROR_PX = 0.7
"""Corners laid by the correlation are off by this, root mean square (drawn scenes)."""
_COMPLEX = np.array([1, 1j])


@dataclass(frozen=True, eq=False)
class _Crop:
    """The reduced blue channel around the known square, its first pixel in the photo, and photo pixels per pixel."""

    blue: NDArray[np.float32]
    low: FloatArray
    ratio: float

    def here(self, photo_px: FloatArray) -> FloatArray:
        return np.asarray((photo_px - self.low + 0.5) / self.ratio - 0.5)

    def in_photo(self, px: FloatArray) -> FloatArray:
        return np.asarray((px + 0.5) * self.ratio - 0.5 + self.low)


def find_ragged(rgb: NDArray[np.uint8], near: FloatArray, *, mark_share: float) -> Square | None:
    """Find a square whose marks are partly overgrown.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (rows, cols, 3)
        The photo, upright.
    near : ndarray, shape (4, 2)
        The square's corners in another photo of the point.
    mark_share : float
        Side of a black mark as share of the square's side.

    Returns
    -------
    Square or None
        None where the print is not seen for certain.
    """
    if not is_convex(near) or not 0.02 < mark_share < 0.4:
        return None
    crop, fine = (_cropped(rgb, near, mark_share, finer) for finer in (1.0, FINER))
    if crop is None or fine is None:
        return None
    for start in _starts(rgb, near, crop, mark_share):
        try:
            corners = _settled(crop, fine, start, mark_share)
        except GeometryError:
            continue
        if corners is not None:
            break
    else:
        return None
    found = _on_edges(rgb, fine.in_photo(corners), mark_share)
    if (found < -0.5).any() or (found > np.array(rgb.shape[1::-1]) - 0.5).any():
        return None
    return Square(
        found, FoundBy.CORNER_MARKS, ERROR_PX * max(1.0, fine.ratio), (sentences.RAGGED,), mark_share
    )


def _cropped(rgb: NDArray[np.uint8], near: FloatArray, share: float, finer: float) -> _Crop | None:
    import cv2

    low, high = near.min(axis=0), near.max(axis=0)
    margin = (REACH + 0.1) * float((high - low).max())
    limit = np.array([rgb.shape[1], rgb.shape[0]])
    x0, y0 = np.clip(low - margin, 0, limit).astype(int)
    x1, y1 = np.clip(high + margin, 0, limit).astype(int)
    cell = share / CELLS * float(np.linalg.norm(near[1] - near[0]))
    ratio = max(1.0, cell / CELL_PX / finer)
    size = (int((x1 - x0) / ratio), int((y1 - y0) / ratio))
    if min(size) < 32:
        return None
    blue = cv2.extractChannel(np.ascontiguousarray(rgb[y0:y1, x0:x1]), BLUE)
    if ratio > 1:
        blue = cv2.resize(blue, size, interpolation=cv2.INTER_AREA)
    return _Crop(np.asarray(blue, np.float32), np.array([x0, y0], float), ratio)


def _seen_near(rgb: NDArray[np.uint8], near: FloatArray, crop: _Crop, share: float) -> dict[int, FloatArray]:
    """Return the marks that the detector does find about where they were, id -> corners in the crop, shape (4, 2)."""
    found, reach = {}, REACH * float(np.ptp(near, axis=0).max())
    to_photo = homography(UNIT_SQUARE, near)
    for mark, quads in search_near(rgb, near, side_px=FINE_SIDE_PX, look=THOROUGH).items():
        there = apply(to_photo, laid_mark(mark, share)).mean(axis=0)
        close = [quad for quad in quads if np.linalg.norm(quad.mean(axis=0) - there) < reach]
        if len(close) == 1:
            found[mark] = crop.here(close[0])
    return found


def _starts(rgb: NDArray[np.uint8], near: FloatArray, crop: _Crop, share: float) -> Iterator[FloatArray]:
    """Yield about where the square may lie, shape (4, 2): by the marks that the detector sees, then as a whole."""
    seen, known = _seen_near(rgb, near, crop, share), crop.here(near)
    if len(seen) >= 2:
        laid = np.concatenate([laid_mark(mark, share) for mark in seen])
        yield apply(homography(laid, np.concatenate(list(seen.values()))), UNIT_SQUARE)
    for mark, quad in seen.items():
        there = apply(homography(UNIT_SQUARE, known), laid_mark(mark, share)) @ _COMPLEX
        now, middle = quad @ _COMPLEX, there.mean()
        turn = np.vdot(there - middle, now - now.mean()) / np.vdot(there - middle, there - middle)
        moved = now.mean() + turn * (known @ _COMPLEX - middle)
        yield np.stack([moved.real, moved.imag], axis=-1)
    coarse = _placed_coarsely(crop, known, share)
    if coarse is not None:
        yield coarse


def _settled(crop: _Crop, fine: _Crop, corners: FloatArray, share: float) -> FloatArray | None:
    """Lay the square, in the finer copy, mark by mark and by its whole print; None unless all marks read as printed."""
    cell = share / CELLS * float(np.linalg.norm(corners[1] - corners[0]))
    for cells in MARK_BY_MARK:
        corners = _placed_singly(crop.blue, corners, share, max(2, round(cells * cell)))
    if _cells_alike(crop.blue, corners, share).mean() < LEAST_START:
        return None
    whole = _refined(crop, corners, share)
    laid = [] if whole is None else [fine.here(crop.in_photo(whole))]
    if fine.ratio < crop.ratio:
        reach = max(2, round(2 * crop.ratio / fine.ratio))
        laid.append(_placed_singly(fine.blue, fine.here(crop.in_photo(corners)), share, reach))
    alike = [_cells_alike(fine.blue, one, share) if is_convex(one) else np.zeros(4) for one in laid]
    best = max(range(len(laid)), key=lambda n: float(alike[n].mean()), default=None)
    if best is None or alike[best].min() < LEAST_EACH or alike[best].mean() < LEAST_CELLS:
        return None
    return laid[best]


def _placed_coarsely(crop: _Crop, near: FloatArray, share: float) -> FloatArray | None:
    """Return about where the square lies, from half the size."""
    import cv2

    size = (round(crop.blue.shape[1] / COARSER), round(crop.blue.shape[0] / COARSER))
    coarse = np.asarray(cv2.resize(crop.blue, size, interpolation=cv2.INTER_AREA), np.float32)
    corners = _placed_whole(coarse, (near + 0.5) / COARSER - 0.5, share)
    return None if corners is None else (corners + 0.5) * COARSER - 0.5


def _placed_whole(blue: NDArray[np.float32], near: FloatArray, share: float) -> FloatArray | None:
    """Return the best place by the mean correlation of all marks over shifts, sizes and turns.

    Each mark may lie a little beside its place in the whole, as under another perspective.
    """
    import cv2

    cell = share / CELLS * float(np.linalg.norm(near[1] - near[0]))
    beside = np.ones((2 * round(BESIDE_CELLS * cell) + 1,) * 2, np.uint8)
    middle, reach = near.mean(axis=0), round(REACH * float(np.ptp(near, axis=0).max()))
    best, where = LEAST_ALIKE, None
    for size, turn in product(SIZES, np.radians(TURNS_DEG)):
        spin = size * np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
        corners = middle + (near - middle) @ spin
        to_photo = homography(UNIT_SQUARE, corners)
        single = [_alike_by_shift(blue, to_photo, mark, share, reach) for mark in range(4)]
        alike = np.mean([cv2.dilate(one, beside) for one in single], axis=0)
        peak = np.unravel_index(int(alike.argmax()), alike.shape)
        if alike[peak] > best:
            best, where = float(alike[peak]), corners + np.array([peak[1], peak[0]]) - reach
    return where


def _placed_singly(blue: NDArray[np.float32], corners: FloatArray, share: float, reach: int) -> FloatArray:
    """Shift each mark by itself to where it is most alike, and lay the square by the four."""
    to_photo = homography(UNIT_SQUARE, corners)
    laid, seen = [], []
    for mark in range(4):
        alike = _alike_by_shift(blue, to_photo, mark, share, reach)
        peak = np.unravel_index(int(alike.argmax()), alike.shape)
        middle = _sheet(mark, share).mean(axis=0)
        laid.append(middle)
        seen.append(apply(to_photo, middle) + np.array([peak[1], peak[0]]) - reach)
    return np.asarray(apply(homography(laid, seen), UNIT_SQUARE))


def _alike_by_shift(
    blue: NDArray[np.float32], to_photo: FloatArray, mark: int, share: float, reach: int
) -> FloatArray:
    """Return the correlation of a mark for each shift of up to `reach` pixels, rows and columns."""
    import cv2

    sheet = apply(to_photo, _sheet(mark, share))
    low = np.floor(sheet.min(axis=0)).astype(int)
    width, height = np.ceil(sheet.max(axis=0)).astype(int) - low + 1
    print_on, weight = _drawn(homography(_SHEET_PX, sheet - low), mark, (int(width), int(height)))
    rows = np.arange(low[1] - reach, low[1] + height + reach).clip(0, blue.shape[0] - 1)
    cols = np.arange(low[0] - reach, low[0] + width + reach).clip(0, blue.shape[1] - 1)
    alike = cv2.matchTemplate(blue[np.ix_(rows, cols)], print_on, cv2.TM_CCOEFF_NORMED, mask=weight)
    return np.nan_to_num(alike, nan=0.0, posinf=0.0, neginf=0.0).clip(-1, 1)


def _refined(crop: _Crop, corners: FloatArray, share: float) -> FloatArray | None:
    """Move the corners, shape (4, 2), to where the print's correlation is largest over all homographies."""
    import cv2

    print_on, weight = _layout(share)
    to_layout = homography(corners, _LAYOUT_PX).astype(np.float32)
    rules = (cv2.TERM_CRITERIA_EPS | cv2.TERM_CRITERIA_COUNT, 25, 1e-4)
    try:
        for blur in (5, 3):
            _, found_there = cv2.findTransformECC(
                crop.blue, print_on, to_layout, cv2.MOTION_HOMOGRAPHY, rules, weight, blur
            )
            to_layout = np.asarray(found_there, np.float32)
    except cv2.error:
        return None
    found = apply(np.linalg.inv(np.asarray(to_layout, float)), _LAYOUT_PX)
    side = float(np.linalg.norm(corners[1] - corners[0]))
    return found if np.linalg.norm(found - corners, axis=1).max() < 0.15 * side else None


def _on_edges(rgb: NDArray[np.uint8], corners: FloatArray, share: float) -> FloatArray:
    """Lay the square by those corners of its marks whose edges are seen straight; as it was where too few are."""
    import cv2

    to_photo, side = homography(UNIT_SQUARE, corners), float(np.linalg.norm(corners[1] - corners[0]))
    laid = np.stack([laid_mark(mark, share) for mark in range(4)])
    seen = refine_corners(rgb, apply(to_photo, laid))
    fitted, agree = cv2.findHomography(laid.reshape(-1, 1, 2), seen.reshape(-1, 1, 2), cv2.RANSAC, AGREE_PX)
    if fitted is None or agree.reshape(4, 4).sum(axis=1).min() < 1 or agree.sum() < LEAST_AGREE:
        return corners
    found = apply(np.asarray(fitted, float), UNIT_SQUARE)
    return found if np.linalg.norm(found - corners, axis=1).max() < MOST_SHIFT * side else corners


def _cells_alike(blue: NDArray[np.float32], corners: FloatArray, share: float) -> FloatArray:
    """Return how well the cells of each mark read as printed: correlation of their means, shape (4,)."""
    import cv2

    to_photo = homography(UNIT_SQUARE, corners)
    inside = (np.arange(3) + 0.5) / 3
    line = ((np.arange(CELLS + 2 * MARGIN)[:, None] + inside).ravel() - MARGIN) / CELLS
    alike = np.zeros(4)
    for mark in range(4):
        x, y = UNIT_SQUARE[mark] * (1 - share)
        across, down = np.meshgrid(x + share * line, y + share * (1 - line))
        at = apply(to_photo, np.stack([across, down], axis=-1)).astype(np.float32)
        read = cv2.remap(blue, at[..., 0], at[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
        count = CELLS + 2 * MARGIN
        means = read.reshape(count, 3, count, 3).mean(axis=(1, 3))
        light = np.quantile(means, [0.15, 0.85])
        if light[1] - light[0] > 12:
            means = means.clip(*light)
            alike[mark] = np.corrcoef(means.ravel(), _print(mark).ravel())[0, 1]
    return alike


@cache
def _print(mark: int) -> NDArray[np.float32]:
    """Return a mark's cells with the white around them, from its top down, 0 ink to 1 paper."""
    import cv2

    book = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    cells = cv2.aruco.generateImageMarker(book, mark, CELLS, borderBits=1) > 127
    return np.pad(cells, MARGIN, constant_values=True).astype(np.float32)


_FINE, _OVER = 8, 3
_WIDE = (CELLS + 2 * MARGIN) * _FINE
_SHEET_PX = np.array([[-0.5, -0.5], [_WIDE - 0.5, -0.5], [_WIDE - 0.5, _WIDE - 0.5], [-0.5, _WIDE - 0.5]])
_LAYOUT_SIDE = 360
_LAYOUT_RIM = 0.05
"""Room around the square in the picture of its layout, as share of its side."""
_FIRST = _LAYOUT_RIM * _LAYOUT_SIDE - 0.5
_LAYOUT_PX = _FIRST + _LAYOUT_SIDE * np.array([[0, 1], [1, 1], [1, 0], [0, 0]], float)


def _sheet(mark: int, share: float) -> FloatArray:
    """Corners of a mark with its white in the unit square: top left, top right, bottom right, bottom left."""
    x, y = UNIT_SQUARE[mark] * (1 - share)
    rim = share * MARGIN / CELLS
    left, right, bottom, top = x - rim, x + share + rim, y - rim, y + share + rim
    return np.array([[left, top], [right, top], [right, bottom], [left, bottom]])


def _drawn(
    to_picture: FloatArray, mark: int, size: tuple[int, int]
) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Draw a mark into a picture; returns it, 0 ink to 255 paper, and where it lies (1, else 0)."""
    import cv2

    fine = 255 * np.kron(_print(mark), np.ones((_FINE, _FINE), np.float32))
    matrix = rescaled(np.eye(3), _OVER, _OVER) @ to_picture
    large = (_OVER * size[0], _OVER * size[1])
    drawn = cv2.warpPerspective(fine, matrix, large, flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    inside = cv2.warpPerspective(np.ones_like(fine), matrix, large, flags=cv2.INTER_LINEAR)
    drawn, inside = (cv2.resize(part, size, interpolation=cv2.INTER_AREA) for part in (drawn, inside))
    return np.asarray(drawn, np.float32), (np.asarray(inside) > 0.5).astype(np.float32)


def _layout(share: float) -> tuple[NDArray[np.float32], NDArray[np.uint8]]:
    """Draw the square with its four marks seen from above; returns the picture and where its marks are."""
    whole = round(_LAYOUT_SIDE * (1 + 2 * _LAYOUT_RIM))
    picture, weight = np.zeros((whole, whole), np.float32), np.zeros((whole, whole), np.uint8)
    to_picture = homography(UNIT_SQUARE, _LAYOUT_PX)
    for mark in range(4):
        sheet = apply(to_picture, _sheet(mark, share))
        drawn, inside = _drawn(homography(_SHEET_PX, sheet), mark, (whole, whole))
        picture[inside > 0] = drawn[inside > 0]
        weight[inside > 0] = 255
    return picture, weight
