"""Find the square by its four corner marks, with corners refined on straight edges.

The marks are OpenCV's ArUco marks of DICT_4X4_50 with ids 0, 1, 2, 3 (Garrido-Jurado, Munoz-Salinas, Madrid-Cuevas and
Marin-Jimenez 2014, Pattern Recognition 47(6):2280-2292), laid inside the square so that each mark's outer black corner
is the square's corner: 0 near left, 1 near right, 2 far right, 3 far left. A mark may be turned in its place when all
four are seen: the outer corner is the one farthest from the square's middle. When one is hidden, the other three must
lie with their tops toward the far side.

The photo is searched where the square was last, then as a whole on a reduced copy; only crops are read in full.
"""

from __future__ import annotations

from collections.abc import Container, Iterator
from contextlib import suppress
from itertools import product
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from swardmark.common.color import gray_of
from swardmark.common.errors import PhotoRefused
from swardmark.ground.edges import FloatArray, is_convex, refine_corners
from swardmark.ground.homography import GeometryError, apply, homography
from swardmark.ground.square import FoundBy, NoSquare, Square

if TYPE_CHECKING:
    import cv2


class Look(NamedTuple):
    """How the detector tells ink from paper: windows of its adaptive threshold, pixels of the reduced copy, and how
    many 8-bit steps ink must lie below their mean."""

    least: int
    most: int
    step: int
    darker: int


MARK_IDS = (0, 1, 2, 3)
CLEAR, SWIFT, QUICK = (Look(15, 15, 10, darker=steps) for steps in (40, 20, 7))
THOROUGH = Look(7, 47, 20, darker=7)
"""Ink in the sun is 40 steps darker than what is around it, and few blades of grass are; outlining all that is dark is
what takes the time."""
SEARCHES = ((960, CLEAR), (960, SWIFT), (1280, QUICK), (1600, THOROUGH), (3200, THOROUGH), (6400, THOROUGH))
"""Longer side to which the photo is reduced for the search, and how; in turn until all four marks are found."""
NEAR_SIDE_PX = 640
"""Longer side to which the surroundings of the last square are reduced."""
NEAR_MARGIN = 0.3
FAULT_SHARE, FAULT_PX = 0.035, 0.5
"""A mark may differ from a square by this share of its size plus this many pixels."""
MARK_SHARES = (0.03, 0.4)
"""Side of a mark as share of the square's side, least and most."""
OUTER_UNTURNED = np.array([3, 2, 1, 0])
"""The outer corner of marks 0..3 whose tops point to the far side (a mark's corners: top left, then clockwise)."""
MOST_GUESS_SHARE = 0.006
"""A hidden corner is worked out only if its standard error stays below this share of the square's shortest side."""
UNIT_SQUARE = np.array([[0, 0], [1, 0], [1, 1], [0, 1]], float)
MOST_ALIKE = 3
RETAKE = "Photograph the whole square, all four marks flat, dry and in view"


Candidates = dict[int, list[FloatArray]]


def find_marks(picture: NDArray[np.uint8], *, near: FloatArray | None = None, name: str = "photo") -> Square:
    """Find the square by its corner marks.

    Parameters
    ----------
    picture : ndarray of uint8, shape (rows, cols, 3) or (rows, cols)
        The photo, upright, or the photo in gray.
    near : ndarray, shape (4, 2), optional
        Where the square was in another photo of the point; searched first.
    name : str
        How error lines call the photo.

    Raises
    ------
    NoSquare
        No corner mark is seen.
    PhotoRefused
        Too few marks are visible, or they do not lie on a square.
    """
    if near is not None:
        for look in (CLEAR, SWIFT):
            marks = search_near(picture, near, look=look)
            if len(marks) == len(MARK_IDS):
                with suppress(PhotoRefused):
                    return _choose(picture, marks, name)
    marks = search_marks(picture)
    if not marks:
        raise NoSquare("no corner mark found", where=name, remedy=RETAKE)
    return _choose(picture, marks, name)


def are_mirrored(rgb: NDArray[np.uint8]) -> bool:
    """Whether three marks or more are seen in the photo's mirror image."""
    side, look = SEARCHES[2]
    return len(_detect(gray_of(rgb)[:, ::-1], min(1.0, side / max(rgb.shape)), look)) >= 3


def square_of(marks_px: FloatArray, *, name: str = "photo") -> Square:
    """Turn the corners of the four marks, shape (4 marks, 4 corners, 2), into the square.

    Raises
    ------
    PhotoRefused
        The marks differ in size, are not square on the ground, or stand in the wrong order.
    """
    try:
        to_unit = homography(marks_px.mean(axis=1), UNIT_SQUARE)
        outer = np.abs(apply(to_unit, marks_px) - 0.5).sum(axis=2).argmax(axis=1)
        corners = marks_px[np.arange(4), outer]
        to_unit = homography(corners, UNIT_SQUARE)
    except GeometryError:
        raise PhotoRefused("the corner marks stand in a line", where=name, remedy=RETAKE) from None
    if not is_convex(corners):
        remedy = "Seen from where you stand: 0 near left, 1 near right, 2 far right, 3 far left"
        raise PhotoRefused("the corner marks are in the wrong order", where=name, remedy=remedy)
    error, faults, sizes = _misfit(marks_px, to_unit)
    allowed = FAULT_SHARE + FAULT_PX / _shortest_edges(marks_px)
    unlike = np.abs(sizes / np.median(sizes) - 1)
    if (faults > allowed).any() or (unlike > 1.5 * allowed).any():
        what = f"the corner marks do not lie flat on a square (shape off by {max(faults.max(), unlike.max()):.0%})"
        raise PhotoRefused(what, where=name, remedy="Lay them flat, in one plane, and check both diagonals")
    if not MARK_SHARES[0] < float(np.median(sizes)) < MARK_SHARES[1]:
        raise PhotoRefused(
            "the corner marks have an unlikely size", where=name, remedy="Print them with swardmark target"
        )
    return Square(corners, FoundBy.CORNER_MARKS, error, mark_share=float(np.median(sizes)))


def square_of_three(marks_px: dict[int, FloatArray], *, name: str = "photo") -> Square:
    """Work out the square from three marks, id -> corners of shape (4, 2), all with their tops to the far side.

    Raises
    ------
    PhotoRefused
        The three do not lie square to each other, or do not fix the hidden corner well enough.
    """
    from scipy.optimize import minimize_scalar

    hidden = next(mark for mark in MARK_IDS if mark not in marks_px)
    ids = [mark for mark in MARK_IDS if mark != hidden]
    seen = np.concatenate([marks_px[mark] for mark in ids])

    def rest(share: float) -> FloatArray:
        layout = np.concatenate([laid_mark(mark, share) for mark in ids])
        return np.asarray(apply(homography(layout, seen), layout) - seen)

    remedy = f"Uncover corner mark {hidden}, and lay all marks with their tops to the far side"
    try:
        share = float(
            minimize_scalar(lambda s: float((rest(s) ** 2).sum()), bounds=MARK_SHARES, method="bounded").x
        )
        layout = np.concatenate([laid_mark(mark, share) for mark in ids])
        missing = UNIT_SQUARE[hidden]
        guesses = np.array([
            apply(homography(np.delete(layout, n, axis=0), np.delete(seen, n, axis=0)), missing) for n in range(12)
        ])  # fmt: skip
        guess = apply(homography(layout, seen), missing)
    except GeometryError:
        raise PhotoRefused("three corner marks stand in a line", where=name, remedy=remedy) from None
    corners = np.array([guess if m == hidden else marks_px[m][OUTER_UNTURNED[m]] for m in MARK_IDS])
    error = float(np.sqrt((rest(share) ** 2).sum(axis=1).mean()))
    jackknife = float(np.sqrt(11 / 12 * ((guesses - guesses.mean(axis=0)) ** 2).sum()))
    sides = np.linalg.norm(np.roll(corners, -1, axis=0) - corners, axis=1)
    edges = _shortest_edges(np.stack(list(marks_px.values())))
    is_laid_square = error < FAULT_PX + 0.01 * float(edges.mean()) and jackknife < MOST_GUESS_SHARE * float(
        sides.min()
    )
    if not (is_laid_square and is_convex(corners)):
        what = f"corner mark {hidden} not found, and the other three do not fix the square"
        raise PhotoRefused(what, where=name, remedy=remedy)
    note = f"corner mark {hidden} is hidden; its place was worked out from the other three"
    return Square(corners, FoundBy.THREE_CORNER_MARKS, error, (note,), share)


def search_marks(picture: NDArray[np.uint8], *, more: Container[int] = ()) -> Candidates:
    """Look for the corner marks in the whole photo, coarse first; returns id -> quads, each of shape (4, 2), pixels.

    Where a mark with one of the ids in `more` is seen, the search goes on to the full size for all of them; they may be
    small, so that the coarsest search is left out.
    """
    found: Candidates = {}
    gray = gray_of(picture)
    longer = max(gray.shape)
    for side, look in SEARCHES[2:] if more else SEARCHES:
        scale = min(1.0, side / longer)
        for mark, quads in _detect(gray, scale, look, more).items():
            known = found.setdefault(mark, [])
            known.extend(quad for quad in quads if not any(_is_same(quad, other) for other in known))
        if set(found) == set(MARK_IDS) or (scale == 1 and look is THOROUGH):
            break
    return found


def search_near(
    picture: NDArray[np.uint8],
    near: FloatArray,
    *,
    side_px: int = NEAR_SIDE_PX,
    look: Look = SWIFT,
) -> Candidates:
    """Look for the marks around where the square was, in surroundings reduced to `side_px`."""
    low, high = near.min(axis=0), near.max(axis=0)
    margin = NEAR_MARGIN * float((high - low).max())
    limit = np.array([picture.shape[1], picture.shape[0]])
    x0, y0 = np.clip(low - margin, 0, limit).astype(int)
    x1, y1 = np.clip(high + margin, 0, limit).astype(int)
    if min(x1 - x0, y1 - y0) < 32:
        return {}
    crop = gray_of(picture[y0:y1, x0:x1])
    found = _detect(crop, min(1.0, side_px / max(crop.shape)), look)
    return {mark: [quad + np.array([x0, y0]) for quad in quads] for mark, quads in found.items()}


def laid_mark(mark: int, share: float) -> FloatArray:
    """Corners of an unturned mark in the unit square: top left, top right, bottom right, bottom left."""
    x, y = UNIT_SQUARE[mark] * (1 - share)
    return np.array([[x, y + share], [x + share, y + share], [x + share, y], [x, y]])


def _choose(picture: NDArray[np.uint8], marks: Candidates, name: str) -> Square:
    """Build the one square that the marks allow; refuse if there is none or more than one."""
    seen = [(mark, quad) for mark, quads in marks.items() for quad in quads[:MOST_ALIKE]]
    refined: Candidates = {}
    for (mark, _), quad in zip(
        seen, refine_corners(picture, np.stack([quad for _, quad in seen])), strict=True
    ):
        refined.setdefault(mark, []).append(quad)
    squares, refusals = [], []
    for chosen in _choices(refined):
        try:
            whole = len(chosen) == len(MARK_IDS)
            squares.append(
                square_of(_stacked(chosen), name=name) if whole else square_of_three(chosen, name=name)
            )
        except PhotoRefused as refusal:
            refusals.append(refusal)
    if len(squares) > 1:
        raise PhotoRefused("more than one set of corner marks", where=name, remedy="Leave one square in view")
    if squares:
        return squares[0]
    if refusals:
        raise refusals[0]
    missing = ", ".join(str(mark) for mark in MARK_IDS if mark not in marks)
    raise PhotoRefused(f"corner marks {missing} not found", where=name, remedy=RETAKE)


def _choices(marks: Candidates) -> Iterator[dict[int, FloatArray]]:
    if len(marks) >= 3:
        for quads in product(*marks.values()):
            yield dict(zip(marks, quads, strict=True))


def _stacked(marks: dict[int, FloatArray]) -> FloatArray:
    return np.stack([marks[mark] for mark in MARK_IDS])


def _detect(gray: NDArray[np.uint8], scale: float, look: Look, more: Container[int] = ()) -> Candidates:
    """Run the detector on a reduced copy of a gray picture; quads in that picture's pixels."""
    import cv2

    rows, cols = gray.shape
    small = np.ascontiguousarray(gray)
    if scale < 1:
        size = (round(cols * scale), round(rows * scale))
        small = np.asarray(cv2.resize(gray, size, interpolation=cv2.INTER_LINEAR), np.uint8)
    ratio = np.array([cols / small.shape[1], rows / small.shape[0]])
    quads, ids, _ = _detector(look).detectMarkers(small)
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


def _shortest_edges(marks_px: FloatArray) -> FloatArray:
    return np.asarray(np.linalg.norm(np.roll(marks_px, -1, axis=1) - marks_px, axis=2).min(axis=1))


def _misfit(marks_px: FloatArray, to_unit: FloatArray) -> tuple[float, FloatArray, FloatArray]:
    """Compare the marks with squares of any turn: rms distance in pixels, fault of each mark's shape, and its side."""
    laid = apply(to_unit, marks_px) @ np.array([1, 1j])
    centers = laid.mean(axis=1, keepdims=True)
    clockwise = (-1j) ** np.arange(4)
    radius = ((laid - centers) @ clockwise.conj())[:, None] / 4
    model = centers + radius * clockwise
    faults = np.sqrt((np.abs(model - laid) ** 2).mean(axis=1)) / np.abs(radius[:, 0])
    fitted = apply(np.asarray(np.linalg.inv(to_unit), float), np.stack([model.real, model.imag], axis=-1))
    error = float(np.sqrt(((fitted - marks_px) ** 2).sum(axis=-1).mean()))
    return error, faults, np.abs(radius[:, 0]) * np.sqrt(2)
