"""Bundle adjustment: lens, views and points that fit all sightings best.

Gauss-Newton with damping; the points are eliminated (Schur complement), so that the equations are dense and small, 5
and 8 for each photo. Sightings far off count less, 1 / (1 + (e / 2.5 s)^2) with s the robust spread of each round.
Priors keep what photos of flat
ground cannot tell: the lens near that of any phone, and the marks near where they were laid.

Source: B. Triggs, P. McLauchlan, R. Hartley and A. Fitzgibbon 2000, Bundle adjustment: a modern synthesis, LNCS 1883,
298-372, from memory; weights of Cauchy.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from swardmark.bundle.camera import OWN, SHARED, Floats, Lens, View, derivatives, moved, project

Indices = NDArray[np.intp]

REFERENCE_PX = 2000
"""Width for which spreads in pixels are given; they grow with the photo."""
FOCAL_SD_KNOWN, FOCAL_SD_UNKNOWN = 0.02, 0.30
CENTER_SD_PX, SHIFT_SD_PX, K1_SD, K2_SD = 12.0, 5.0, 0.05, 0.01
MARK_SD_M = (0.003, 0.003, 0.030)
"""How well marks lie in their places: 3 mm along the ground; up and down nothing is known of the ground."""
SIGHTING_SD_PX = 0.12
FAR = 2.5
ROUNDS = 12


@dataclass(frozen=True, eq=False)
class Sightings:
    """Which point is seen where.

    Attributes
    ----------
    view, point : ndarray of int, shape (N,)
        Number of the photo and of the point.
    pixels : ndarray, shape (N, 2)
        Where.
    """

    view: Indices
    point: Indices
    pixels: Floats

    def only(self, kept: NDArray[np.bool_]) -> Sightings:
        """Return some of them."""
        return Sightings(self.view[kept], self.point[kept], self.pixels[kept])


@dataclass(frozen=True, eq=False)
class Bundle:
    """Lens, views and points, and how well they fit.

    Attributes
    ----------
    points_m : ndarray, shape (P, 3)
        Points in the ground frame in meters; the first are the marks' corners.
    rest_px : ndarray, shape (N, 2)
        Seen minus fitted, of each sighting.
    spread_px : float
        Robust standard deviation of one coordinate of the rests.
    """

    lens: Lens
    views: tuple[View, ...]
    points_m: Floats
    rest_px: Floats
    spread_px: float


@dataclass(frozen=True, eq=False)
class Priors:
    """What is known beforehand.

    Attributes
    ----------
    focal_px, focal_sd : float
        Focal length and its standard error as a share of it.
    width_px : float
        Longer side of the photos.
    center_px : ndarray, shape (2,)
        Middle of the photo.
    marks_m : ndarray, shape (M, 3)
        Where the corners of the marks were laid; the first M points.
    """

    focal_px: float
    focal_sd: float
    width_px: float
    center_px: Floats
    marks_m: Floats
    marks_sd_m: tuple[float, float, float] = MARK_SD_M


def adjust(
    seen: Sightings,
    lens: Lens,
    views: Sequence[View],
    points_m: Floats,
    priors: Priors,
    *,
    rounds: int = ROUNDS,
) -> Bundle:
    """Fit lens, views and points to sightings.

    Parameters
    ----------
    seen : Sightings
        What is seen where.
    lens, views, points_m : Lens, sequence of View, ndarray of shape (P, 3)
        Where to begin.
    priors : Priors
        What is known beforehand.
    rounds : int
        Most steps.
    """
    at = Bundle(lens, tuple(views), points_m, np.zeros_like(seen.pixels), SIGHTING_SD_PX)
    at = _with_rests(at, seen)
    damping, cost = 1e-4, np.inf
    for _ in range(rounds):
        weight = _weights(at)
        now = _cost(at, weight, priors)
        step, point_step = _step(at, seen, weight, priors, damping)
        new_lens, new_views = moved(at.lens, at.views, step)
        tried = _with_rests(
            replace(at, lens=new_lens, views=new_views, points_m=at.points_m + point_step), seen
        )
        after = _cost(tried, weight, priors)
        if not after <= now:
            damping = min(damping * 20, 1e3)
            continue
        at, damping, cost = tried, max(damping / 10, 1e-9), now - after
        if cost < 1e-5 * now:
            break
    return at


def triangulated(
    seen: Sightings, lens: Lens, views: Sequence[View], points_m: Floats, *, rounds: int = 3
) -> Floats:
    """Return the points, shape (P, 3), that fit their sightings under fixed lens and views."""
    points = points_m.copy()
    for _ in range(rounds):
        rest, _, _, by_point = _linear(seen, lens, views, points)
        normal = np.zeros((len(points), 3, 3))
        right = np.zeros((len(points), 3))
        np.add.at(normal, seen.point, np.einsum("nki,nkj->nij", by_point, by_point))
        np.add.at(right, seen.point, np.einsum("nki,nk->ni", by_point, rest))
        normal += np.eye(3) * (1e-6 * lens.focal_px**2)
        points += np.linalg.solve(normal, right[..., None])[..., 0]
    return points


def _with_rests(at: Bundle, seen: Sightings) -> Bundle:
    rest = np.empty_like(seen.pixels)
    for n, view in enumerate(at.views):
        own = seen.view == n
        rest[own] = seen.pixels[own] - project(at.points_m[seen.point[own]], at.lens, view)
    rest = np.where(np.isfinite(rest), rest, 1e3)
    spread = 1.4826 * float(np.median(np.abs(rest)))
    return replace(at, rest_px=rest, spread_px=max(spread, 1e-4))


def _weights(at: Bundle) -> Floats:
    far = (at.rest_px**2).sum(axis=1) / (2 * (FAR * at.spread_px) ** 2)
    return 1 / (1 + far) / max(at.spread_px, 0.02) ** 2


def _linear(
    seen: Sightings, lens: Lens, views: Sequence[View], points_m: Floats
) -> tuple[Floats, Floats, Floats, Floats]:
    """Return rests and derivatives of all sightings, in their order."""
    count = len(seen.view)
    rest, by_lens = np.empty((count, 2)), np.empty((count, 2, SHARED))
    by_view, by_point = np.empty((count, 2, OWN)), np.empty((count, 2, 3))
    for n, view in enumerate(views):
        own = np.flatnonzero(seen.view == n)
        pixels, by_lens[own], by_view[own], by_point[own] = derivatives(points_m[seen.point[own]], lens, view)
        rest[own] = seen.pixels[own] - pixels
    return rest, by_lens, by_view, by_point


def _step(
    at: Bundle, seen: Sightings, weight: Floats, priors: Priors, damping: float
) -> tuple[Floats, Floats]:
    rest, by_lens, by_view, by_point = _linear(seen, at.lens, at.views, at.points_m)
    size, points = SHARED + OWN * len(at.views), len(at.points_m)
    root = np.sqrt(weight)[:, None]
    rest, by_lens, by_view, by_point = (
        rest * root,
        *(part * root[..., None] for part in (by_lens, by_view, by_point)),
    )
    normal, right = np.zeros((size, size)), np.zeros(size)
    corner = np.zeros((points, 3, 3))
    corner_right = np.zeros((points, 3))
    mixed = np.zeros((points, 3, size))
    np.add.at(corner, seen.point, np.einsum("nki,nkj->nij", by_point, by_point))
    np.add.at(corner_right, seen.point, np.einsum("nki,nk->ni", by_point, rest))
    np.add.at(mixed[:, :, :SHARED], seen.point, np.einsum("nki,nkj->nij", by_point, by_lens))
    for n in range(len(at.views)):
        own = np.flatnonzero(seen.view == n)
        part = slice(SHARED + OWN * n, SHARED + OWN * (n + 1))
        a, b = by_lens[own].reshape(-1, SHARED), by_view[own].reshape(-1, OWN)
        normal[:SHARED, :SHARED] += a.T @ a
        normal[:SHARED, part] = a.T @ b
        normal[part, :SHARED] = normal[:SHARED, part].T
        normal[part, part] = b.T @ b
        right[:SHARED] += a.T @ rest[own].ravel()
        right[part] = b.T @ rest[own].ravel()
        mixed[seen.point[own], :, part] = np.einsum("nki,nkj->nij", by_point[own], by_view[own])
    known, off = _prior_terms(at, priors)
    normal[np.diag_indices(size)] += known
    right += known * off
    marks = len(priors.marks_m)
    hold = 1 / np.array(priors.marks_sd_m) ** 2
    corner[:marks] += np.diag(hold)
    corner_right[:marks] += hold * (priors.marks_m - at.points_m[:marks])
    diagonal = np.arange(3)
    corner[:, diagonal, diagonal] *= 1 + damping
    corner[:, diagonal, diagonal] += 1e-2
    normal[np.diag_indices(size)] *= 1 + damping
    solved = np.linalg.solve(corner, np.concatenate([mixed, corner_right[..., None]], axis=2))
    flat = mixed.reshape(-1, size)
    reduced = normal - flat.T @ solved[:, :, :size].reshape(-1, size)
    step = np.linalg.solve(reduced, right - flat.T @ solved[:, :, size].ravel())
    return step, solved[:, :, size] - solved[:, :, :size] @ step


def _prior_terms(at: Bundle, priors: Priors) -> tuple[Floats, Floats]:
    """Return weight of each number's prior, and how far it is from where the prior wants it, shape (5 + 8 N,)."""
    share = priors.width_px / REFERENCE_PX
    sd = np.concatenate([
        [priors.focal_sd * priors.focal_px, CENTER_SD_PX * share, CENTER_SD_PX * share, K1_SD, K2_SD],
        np.tile([np.inf] * 6 + [SHIFT_SD_PX * share] * 2, len(at.views)),
    ])  # fmt: skip
    lens = at.lens
    center = priors.center_px - lens.center_px
    off = np.concatenate([
        [priors.focal_px - lens.focal_px, center[0], center[1], -lens.k1, -lens.k2],
        *(np.concatenate([np.zeros(6), -view.shift_px]) for view in at.views),
    ])  # fmt: skip
    return 1 / sd**2, off


def _cost(at: Bundle, weight: Floats, priors: Priors) -> float:
    known, off = _prior_terms(at, priors)
    marks = (priors.marks_m - at.points_m[: len(priors.marks_m)]) / priors.marks_sd_m
    return float((weight[:, None] * at.rest_px**2).sum() + (known * off**2).sum() + (marks**2).sum())
