"""Is a photo fit to measure? The pixels, and what needs the square and the ground: slant, size, rim, low sun, wet sand.

The geometry's findings, next to those of photo/fitness.py:

    square               found or not (no value)                                         not found: unfit
    square at the rim    least distance of a corner from the photo's edge / longer side  < 0.015 fair
    square too small     how far ground 2 m beyond the square may lie off, cm            > 6 fair, > 30 unfit
    slant                view angle from the vertical at the square's middle, deg        > 65 fair, > max_view_deg unfit
    flat camera          camera axis below the horizontal, deg                           < 20 fair
    photo turned         how far the photo is turned from upright, deg                   > 60 fair
    low sun              red over blue (linear) of the square's white                    > 1.8 fair
    wet sand             sand's light over the white's, against the point's own history  < 0.78 fair
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from swardmark.canopy.index import excess_green
from swardmark.common.color import Colors, linear_of
from swardmark.common.errors import PhotoRefused, check_path
from swardmark.ground.find import find_square, hand_square
from swardmark.ground.homography import FloatArray, apply
from swardmark.ground.plane import GroundPlane, is_measurable
from swardmark.ground.square import FoundBy, Square
from swardmark.ground.trust import PRINTED_MARK_MM, trusted_plane, with_side_checked
from swardmark.measure import sentences
from swardmark.photo.decode import WORKING_SIDE_PX, Photo, read_photo
from swardmark.photo.findings import FAIR, GOOD, NEVER, PIXEL_RULES, SOFTER, UNFIT, Finding, Rule
from swardmark.photo.fitness import against, findings_of, pixel_findings
from swardmark.photo.look import look_at

LEVELS = (GOOD, FAIR, UNFIT)
CORNER_ERROR_PX = 0.6
"""Root mean square error of corners refined on straight edges, as measured on drawn scenes."""
BEYOND_M = 2.0
MAX_VIEW_DEG, MAX_FOOTPRINT_MM = 75.0, 15.0
"""Where no lawn.toml says otherwise."""
LEAST_SAND = 0.05
SAND_DAMPING = 100.0
"""Sand in shade counts as sand, whatever its faint color."""
RIM = Rule("square at the rim", 0.015, -NEVER, *sentences.RIM, low_is_bad=True)
SMALL = Rule("square too small", 6.0, 30.0, *sentences.SMALL)
"""A zone 1 m across that is shifted by 6 cm trades 6 % of its ground for its neighbor's, by 30 cm a third."""
SLANT = Rule("slant", 65.0, 75.0, *sentences.SLANT)
"""At 60 degrees half-covered ground may show as 75 % covered (drawn scenes); beyond 75 nothing is measured."""
FLAT = Rule("flat camera", 20.0, -NEVER, *sentences.FLAT, low_is_bad=True)
TURNED = Rule("photo turned", 60.0, NEVER, *sentences.TURNED)
"""Measured all the same: where the square's marks lie does not depend on which side of the photo is up."""
LOW_SUN = Rule("low sun", 1.8, NEVER, *sentences.LOW_SUN)
"""Drawn lawns: 0.94-1.06 under sun, cloud, shade and dusk with a working white balance."""
LEAST_LIGHT = 1e-6
WET_SAND = Rule("wet sand", 0.78, -NEVER, *sentences.WET_SAND, low_is_bad=True)
"""Drawn lawns: dry sand stays at 0.86-1.2 of its median from day to day, soaked sand reads 0.72."""

RULES = {rule.name: rule for rule in (*PIXEL_RULES, RIM, SMALL, SLANT, FLAT, TURNED, LOW_SUN, WET_SAND)}


@dataclass(frozen=True)
class Fitness:
    """What was found about a photo's fitness.

    Attributes
    ----------
    findings : tuple of Finding
        Everything that was looked at, good or not.
    sand_light : float
        Light of the sand over that of the square's white, 0..1; kept, it is the `sand_history`. NaN if unknown.
    """

    findings: tuple[Finding, ...]
    sand_light: float = float("nan")

    @property
    def sharpness(self) -> float:
        """Variance of the Laplacian on the measured ground; kept, it is the `history` of later photos."""
        return next((f.value for f in self.findings if f.name == "sharpness"), float("nan"))

    @property
    def level(self) -> str:
        """The worst level: "good", "fair" or "unfit"."""
        return max((finding.level for finding in self.findings), key=LEVELS.index, default=GOOD)

    @property
    def faults(self) -> tuple[Finding, ...]:
        """The findings that are not good, unfit ones first."""
        return tuple(
            sorted((f for f in self.findings if f.level != GOOD), key=lambda f: -LEVELS.index(f.level))
        )

    @property
    def sentences(self) -> tuple[str, ...]:
        """What is wrong and how to retake the photo, one line per fault, the worst first."""
        return tuple(fault.words for fault in self.faults)


def check_photo(
    photo: Photo | Path | str,
    *,
    side_m: float = 1.0,
    history: Sequence[float] = (),
    sand_history: Sequence[float] = (),
    marks: Sequence[Sequence[float]] | None = None,
    mark_mm: float = PRINTED_MARK_MM,
) -> Fitness:
    """Judge a photo: find its square, and look at pixels and geometry.

    Parameters
    ----------
    photo : Photo, Path or str
        A decoded photo or its file.
    side_m : float
        The square's side, meters.
    history, sand_history : sequence of float
        `sharpness` and `sand_light` of earlier photos from the same point.
    marks : sequence, shape (4, 2), optional
        The square's corners by hand, upright pixels of the file.
    mark_mm : float
        Side of a printed black mark, by which the square's side is checked, millimeters.

    Raises
    ------
    PhotoRefused
        The file is no photo at all. A square that is not found is a finding.
    """
    known: dict[str, Any] = {"side_m": side_m, "history": history, "sand_history": sand_history}
    if not isinstance(photo, Photo):
        check_path(photo, name="photo", where="check_photo")
        reduced = read_photo(photo, least_side=WORKING_SIDE_PX)
        fitness = check_photo(reduced, marks=marks, mark_mm=mark_mm, **known)
        is_found = all(f.name != "square" or f.level == GOOD for f in fitness.findings)
        if is_found or reduced.reduction == 1:
            return fitness
        photo = read_photo(photo)
    try:
        if marks is None:
            square = find_square(photo.rgb, focal_px=photo.focal_px, name=photo.name)
        else:
            square = hand_square(photo.rgb, photo.here(marks), name=photo.name)
        plane = trusted_plane(
            square, side_m=side_m, size=photo.size, focal_px=photo.focal_px, name=photo.name
        )
        square = with_side_checked(square, side_m=side_m, mark_mm=mark_mm, name=photo.name)
    except PhotoRefused as refusal:
        what = f"{refusal.what[:1].upper()}{refusal.what[1:]}."
        missing = Finding("square", UNFIT, float("nan"), what, f"{refusal.remedy}.")
        return Fitness((*pixel_findings(photo.rgb, history=history), missing))
    return check_ground(photo, square, plane, **known)


def check_ground(
    photo: Photo,
    square: Square,
    plane: GroundPlane,
    *,
    side_m: float,
    max_view_deg: float = MAX_VIEW_DEG,
    max_footprint_mm: float = MAX_FOOTPRINT_MM,
    history: Sequence[float] = (),
    sand_history: Sequence[float] = (),
) -> Fitness:
    """Judge a photo whose square and ground plane are known already, as in a measuring run.

    Parameters
    ----------
    photo, square, plane
        The decoded photo, its square, and the ground plane laid by the square.
    side_m : float
        The square's side, meters.
    max_view_deg, max_footprint_mm : float
        Ground seen at a flatter angle, or by larger pixels, is not measured.
    history, sand_history : sequence of float
        `sharpness` and `sand_light` of earlier photos from the same point.
    """
    outline = ground_outline(plane, max_view_deg=max_view_deg, max_footprint_mm=max_footprint_mm)
    slant = replace(SLANT, unfit=max_view_deg, fair=min(SLANT.fair, max_view_deg))
    white = white_of(photo.rgb, plane, side_m=side_m, how=square.how)
    look = look_at(photo.rgb, outline_px=outline, gray=photo.gray)
    sand = _sand_light(look.colors, white) if outline is not None else float("nan")
    middle = plane.view_deg([side_m / 2, side_m / 2])
    findings = (
        *findings_of(look, history=history),
        Finding("square", GOOD, float("nan")),
        RIM.judge(_rim(square.corners_px, photo.size)),
        SMALL.judge(_far_error_cm(square, plane, side_m)),
        slant.judge(float(middle)),
        FLAT.judge(plane.pose.pitch_deg),
        TURNED.judge(90.0 * (2 - abs(2 - plane.quarter_turns))),
        LOW_SUN.judge(float(white[0] / max(white[2], LEAST_LIGHT))),
        WET_SAND.judge(against(sand, sand_history)),
    )
    return Fitness(findings, sand)


def against_history(
    sharpness: float, sand_light: float, *, history: Sequence[float], sand_history: Sequence[float]
) -> tuple[Finding, ...]:
    """Judge what a photo's own numbers say against those of earlier photos of its photo point."""
    softer, wet = SOFTER.judge(against(sharpness, history)), WET_SAND.judge(against(sand_light, sand_history))
    return tuple(finding for finding in (softer, wet) if finding.level != GOOD)


def kept_findings(kept: Sequence[tuple[str, float]]) -> tuple[Finding, ...]:
    """Return the findings of a measured photo, from the names and values that were kept."""
    return tuple(RULES[name].judge(value, at_most=FAIR) for name, value in kept if name in RULES)


def ground_outline(
    plane: GroundPlane, *, max_view_deg: float = MAX_VIEW_DEG, max_footprint_mm: float = MAX_FOOTPRINT_MM
) -> FloatArray | None:
    """Return the convex outline of the measurable ground, shape (N, 2), pixels; None if there is hardly any."""
    import cv2

    width, height = plane.size
    grid = np.stack(
        np.meshgrid(np.linspace(0, width - 1, 48), np.linspace(0, height - 1, 36)), axis=-1
    ).reshape(-1, 2)
    with np.errstate(invalid="ignore"):
        seen = is_measurable(
            plane,
            apply(plane.to_ground, grid),
            max_view_deg=max_view_deg,
            max_footprint_mm=max_footprint_mm,
            margin_px=0.5,
        )
    if seen.sum() < 12:
        return None
    return np.asarray(cv2.convexHull(grid[seen].astype(np.float32))[:, 0], float)


def white_of(rgb: NDArray[np.uint8], plane: GroundPlane, *, side_m: float, how: FoundBy) -> FloatArray:
    """Return the linear red, green and blue (0..1) of the square's white at its best lit corner; NaN if unknown.

    The white is a mark's paper margin, 4-14 mm outside its outer edges, or a light frame's bar, as far inside.
    """
    along = np.linspace(0.005, 0.08, 12)
    out = np.array([0.004, 0.007, 0.010, 0.014]) * (1 if how is FoundBy.LIGHT_FRAME else -1)
    first = np.stack(np.meshgrid(along, out), axis=-1).reshape(-1, 2)
    corner = np.concatenate([first, first[:, ::-1]])
    corners = np.array([[0, 0], [1, 0], [1, 1], [0, 1]])
    points = corners[:, None] * side_m + corner * (1 - 2 * corners[:, None])
    pixels = np.rint(plane.pixels(points))
    seen = np.asarray(((pixels >= 0) & (pixels < plane.size)).all(axis=2))
    best = np.full(3, np.nan)
    for at, inside in zip(pixels, seen, strict=True):
        if np.count_nonzero(inside) < len(at) // 2:
            continue
        col, row = at[inside].astype(np.intp).T
        colors = rgb[row, col]
        color = colors[np.argsort(colors[:, 1])[len(colors) // 2 :]].mean(axis=0)
        if color.max() < 250 and not linear_of(color[1]) <= best[1]:
            best = linear_of(color)
    return best


def _sand_light(colors: Colors, white: FloatArray) -> float:
    """Return the light of the brighter half of the sand over the white's; NaN with little sand or unknown white."""
    if not np.isfinite(white).all():
        return float("nan")
    red, green, blue = colors
    index = excess_green(colors, damping=SAND_DAMPING)
    sand = green[(index < 0.05) & (red > blue) & (red >= 60)]
    if not len(sand) or len(sand) < LEAST_SAND * len(green):
        return float("nan")
    return float(linear_of(np.quantile(sand, 0.75)) / white[1])


def _rim(corners_px: FloatArray, size: tuple[int, int]) -> float:
    far = np.array(size) - 1 - corners_px
    return float(min(corners_px.min(), far.min()) / max(size))


def _far_error_cm(square: Square, plane: GroundPlane, side_m: float) -> float:
    """Propagate the corners' error to where a pixel 2 m beyond the square is thought to lie, root mean square in cm."""
    error = max(CORNER_ERROR_PX, square.error_px if np.isfinite(square.error_px) else 0.0)
    moves = np.concatenate([np.zeros((1, 4, 2)), error * np.eye(8).reshape(8, 4, 2)])
    to_photo = _from_unit_square(square.corners_px + moves)
    pixel = apply(to_photo[0], [0.5, 1 + BEYOND_M / side_m])
    away = np.linalg.solve(to_photo, np.append(pixel, 1.0)[:, None])[..., 0]
    meters = side_m * away[:, :2] / away[:, 2:]
    return 100 * float(np.sqrt(((meters[1:] - meters[0]) ** 2).sum()))


def _from_unit_square(corners_px: FloatArray) -> FloatArray:
    """Return the homographies, shape (N, 3, 3), from the unit square to corners, shape (N, 4, 2) (Heckbert 1989)."""
    first, second, third, fourth = np.moveaxis(corners_px, 1, 0)
    one, two, bent = second - third, fourth - third, first - second + third - fourth
    area = one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]
    g = ((bent[:, 0] * two[:, 1] - bent[:, 1] * two[:, 0]) / area)[:, None]
    h = ((one[:, 0] * bent[:, 1] - one[:, 1] * bent[:, 0]) / area)[:, None]
    plane = np.stack([second - first + g * second, fourth - first + h * fourth, first], axis=-1)
    last = np.concatenate([g, h, np.ones_like(g)], axis=1)
    return np.concatenate([plane, last[:, None]], axis=1)
