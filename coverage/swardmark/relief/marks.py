"""The marks of relief photos: all sixteen corners of the square's four, over several photos.

The boards may lie tilted or in dips, more than a cover photo allows: their heights are measured here.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from swardmark.bundle.camera import Floats
from swardmark.ground.edges import refine_corners
from swardmark.ground.homography import GeometryError, apply, homography
from swardmark.ground.marks import MARK_IDS, search_marks
from swardmark.photo.decode import Photo
from swardmark.relief.refusals import refused
from swardmark.relief.sentences import BENT_MARK, FEW_MARKS, NO_WHOLE_SQUARE, STRANGE_MARKS

UNIT = np.array([[0, 0], [1, 0], [1, 1], [0, 1]], float)
MOST_MISFIT_PX = 0.8
"""Corners of one mark fit a square in perspective to so many pixels, at 2000 px of width."""
LEAST_MARKS = 3
PEG_IDS = range(10, 46)
"""Marks on pegs; 0 to 3 are those of the square."""
MARK_SHARES = (0.03, 0.4)
"""Side of a mark as share of the square's, least and most."""

Corners = dict[int, Floats]
"""Number of a mark -> its corners, from its own top left clockwise, shape (4, 2)."""


def see_marks(photo: Photo, *, more: Sequence[int] = ()) -> Corners:
    """Return the corners of the square's marks in a photo, in pixels, and of further marks where they are asked for.

    Raises
    ------
    PhotoRefused
        Fewer than three marks are seen.
    """
    found = {}
    for number, quads in search_marks(photo.rgb, more=more).items():
        corners = refine_corners(photo.rgb, np.stack(quads))
        largest = np.ptp(corners, axis=1).sum(axis=1).argmax()
        found[number] = corners[largest]
    seen = sum(number in MARK_IDS for number in found)
    if seen < LEAST_MARKS:
        raise refused(FEW_MARKS, where=photo.name, marks=seen)
    return dict(sorted(found.items()))


def laid_corners(seen: list[Corners], names: list[str], *, side_m: float, width_px: float) -> Corners:
    """Return where the corners of the marks lie on the ground in meters: the mean over the photos that show all four.

    Raises
    ------
    PhotoRefused
        No photo shows all four marks, they do not stand on a square, or one is bent or covered.
    """
    whole = [n for n, one in enumerate(seen) if len(one) == len(MARK_IDS)]
    if not whole:
        raise refused(NO_WHOLE_SQUARE, where=names[0])
    laid: Corners = {}
    every = [_on_ground(seen[n], side_m=side_m, name=names[n], width_px=width_px) for n in whole]
    for number in MARK_IDS:
        laid[number] = np.mean([one[number] for one in every], axis=0)
    return laid


def _on_ground(corners_px: Corners, *, side_m: float, name: str, width_px: float) -> Corners:
    """Return the marks of one photo on the ground, moved so that their outer corners are the square's."""
    quads = np.stack([corners_px[number] for number in MARK_IDS])
    try:
        unit = apply(homography(quads.mean(axis=1), UNIT), quads)
        outer = np.abs(unit - 0.5).sum(axis=2).argmax(axis=1)
        to_ground = homography(quads[np.arange(4), outer], side_m * UNIT)
        to_photo = np.asarray(np.linalg.inv(to_ground), float)
    except (GeometryError, np.linalg.LinAlgError):
        raise refused(STRANGE_MARKS, where=name) from None
    laid = apply(to_ground, quads)
    shares = np.linalg.norm(np.roll(laid, -1, axis=1) - laid, axis=2).mean(axis=1) / side_m
    if not (np.isfinite(laid).all() and MARK_SHARES[0] < shares.min() and shares.max() < MARK_SHARES[1]):
        raise refused(STRANGE_MARKS, where=name)
    for number, quad, seen in zip(MARK_IDS, laid, quads, strict=True):
        misfit = _misfit(quad, seen, to_photo) * 2000 / width_px
        if misfit > MOST_MISFIT_PX * _TILTED:
            raise refused(BENT_MARK, where=name, number=number, misfit=misfit)
    return dict(zip(MARK_IDS, laid, strict=True))


_TILTED = 5.0
"""A board that lies tilted by a tenth looks bent by a few pixels before its tilt is known."""


def _misfit(laid: Floats, seen: Floats, to_photo: Floats) -> float:
    """Return the rms distance, in pixels, of a mark's corners from the nearest square on the ground."""
    z = laid @ np.array([1, 1j])
    round_ = (-1j) ** np.arange(4)
    square = z.mean() + ((z - z.mean()) * round_.conj()).mean() * round_
    fitted = apply(np.asarray(to_photo, np.float64), np.stack([square.real, square.imag], axis=-1))
    return float(np.sqrt(((fitted - seen) ** 2).sum(axis=1).mean()))
