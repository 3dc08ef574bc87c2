"""Photos to cameras and surface: first views from the marks, then ties and adjustment, twice."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from swardmark.bundle.adjust import (
    FOCAL_SD_KNOWN,
    FOCAL_SD_UNKNOWN,
    Bundle,
    Priors,
    Sightings,
    adjust,
)
from swardmark.bundle.camera import Floats, Lens, first_view
from swardmark.bundle.flat import FlatPhoto, apart_deg, lay_flat, smoothed
from swardmark.bundle.lattice import Lattice, lattice_round
from swardmark.bundle.ties import CLOSE, WIDE, find_ties
from swardmark.photo.decode import Photo
from swardmark.relief.marks import Corners, laid_corners
from swardmark.relief.refusals import check_arc, check_fit, check_marks, check_stand, check_ties
from swardmark.relief.surface import smooth_surface

USUAL_FOCAL_SHARE = 0.75
"""Focal length of a phone as a share of the photo's longer side, where the camera does not tell."""


@dataclass(frozen=True, eq=False)
class Solved:
    """Cameras and surface of a set.

    Attributes
    ----------
    bundle : Bundle
        The adjustment.
    seen : Sightings
        What it was given: the marks' corners, then the ties.
    priors : Priors
        What was known beforehand.
    flats : list of FlatPhoto
        The photos, laid on the surface.
    surface_m : ndarray, shape (N, N)
        Heights of the fine points in meters.
    apart_deg : ndarray, shape (photos, photos)
        Angle between cameras seen from the square's middle.
    ties : tuple of int
        Sightings of each photo that are ties.
    marks_m : dict of int to ndarray, shape (4, 2)
        Where the marks lie.
    """

    bundle: Bundle
    seen: Sightings
    priors: Priors
    lattice: Lattice
    flats: list[FlatPhoto]
    surface_m: Floats
    apart_deg: Floats
    ties: tuple[int, ...]
    marks_m: dict[int, Floats]


def mark_bundle(
    photos: list[Photo], marks: list[Corners], *, side_m: float
) -> tuple[Bundle, Sightings, Priors, dict[int, Floats]]:
    """Return cameras, sightings and priors from the marks alone."""
    names, width = [photo.name for photo in photos], float(max(photos[0].size))
    laid = laid_corners(marks, names, side_m=side_m, width_px=width)
    numbers = list(laid)
    corners = np.concatenate([np.column_stack([quad, np.zeros(4)]) for quad in laid.values()])
    view, point, pixels = [], [], []
    for n, one in enumerate(marks):
        for number, quad in one.items():
            view += [n] * 4
            point += [4 * numbers.index(number) + k for k in range(4)]
            pixels.append(quad)
    seen = Sightings(np.array(view), np.array(point), np.concatenate(pixels))
    known = photos[0].focal_px
    focal = known or USUAL_FOCAL_SHARE * width
    center = (np.array(photos[0].size, float) - 1) / 2
    lens = Lens(focal, center)
    views = tuple(
        first_view(corners[seen.point[seen.view == n]], seen.pixels[seen.view == n], lens)
        for n in range(len(photos))
    )
    priors = Priors(focal, FOCAL_SD_KNOWN if known else FOCAL_SD_UNKNOWN, width, center, corners)
    bundle = adjust(seen, lens, views, corners, priors)
    return bundle, seen, priors, laid


def solve(photos: list[Photo], marks: list[Corners], *, side_m: float) -> Solved:
    """Work out cameras and surface of a set of photos.

    Raises
    ------
    PhotoRefused
        The photos stand too far apart, do not show the same ground, or do not fit together.
    """
    names = [photo.name for photo in photos]
    middle = np.array([side_m / 2, side_m / 2])
    bundle, corners, priors, laid = mark_bundle(photos, marks, side_m=side_m)
    apart = apart_deg(bundle.views, middle)
    check_stand(bundle.views, middle, names)
    check_arc(apart, names)
    lattice = lattice_round(middle, np.stack([view.position_m[:2] for view in bundle.views]))
    surface: Floats = np.zeros((lattice.size, lattice.size))
    grays = [smoothed(photo.rgb) for photo in photos]
    count = len(priors.marks_m)
    flats: list[FlatPhoto] = []
    for search in (WIDE, CLOSE):
        flats.clear()
        flats = lay_flat(grays, bundle.lens, bundle.views, surface, lattice)
        ties, places = find_ties(
            flats, bundle.lens, bundle.views, surface, lattice, search=search, apart_deg=apart
        )
        check_ties(ties, names)
        seen = Sightings(
            np.concatenate([corners.view, ties.view]),
            np.concatenate([corners.point, ties.point + count]),
            np.concatenate([corners.pixels, ties.pixels]),
        )
        points = np.concatenate([bundle.points_m[:count], places])
        bundle = adjust(seen, bundle.lens, bundle.views, points, priors)
        surface = smooth_surface(bundle.points_m[count:], lattice)
    check_marks(bundle, seen, list(laid), names)
    check_fit(bundle, priors, names[0])
    flats.clear()
    flats = lay_flat(grays, bundle.lens, bundle.views, surface, lattice)
    sightings = tuple(int(n) for n in np.bincount(ties.view, minlength=len(photos)))
    return Solved(bundle, seen, priors, lattice, flats, surface, apart, sightings, laid)


def laid_again(solved: Solved, surface_m: Floats) -> Solved:
    """Return the photos laid on another surface."""
    grays, bundle = [flat.gray for flat in solved.flats], solved.bundle
    solved.flats.clear()  # only one laying in memory at a time
    solved.flats.extend(lay_flat(grays, bundle.lens, bundle.views, surface_m, solved.lattice))
    return replace(solved, surface_m=surface_m)


def without(solved: Solved, photo: int) -> Bundle:
    """Return the adjustment without one of the photos."""
    kept = solved.seen.view != photo
    seen = solved.seen.only(kept)
    others = [n for n in range(len(solved.flats)) if n != photo]
    number = np.full(len(solved.flats), -1)
    number[others] = np.arange(len(others))
    seen = replace(seen, view=number[seen.view])
    views = [solved.bundle.views[n] for n in others]
    return adjust(seen, solved.bundle.lens, views, solved.bundle.points_m, solved.priors, rounds=6)
