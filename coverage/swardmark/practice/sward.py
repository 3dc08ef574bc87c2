"""A sward that comes through the sand: every blade site has its day of emergence.

Within a stand the sites' order is fixed by a patchy random field, and the days are set so that the expected
cover, seen straight down, follows the stand's own course. The cover that the blades then really have is
found by drawing them (truth.py); the course is only what the stand was sown for.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from swardmark.common.color import linear_of
from swardmark.practice.blades import Blades, Habit, build_blades
from swardmark.practice.fields import Bounds, Floats, Raster, empty_raster, random_field
from swardmark.practice.scene import OPEN_LAWN_M, Camera, Ground

Outline = Sequence[tuple[float, float]]

FULL_LEAF_AREA = 4.6
"""Flat leaf area per ground area when every site has a full-grown blade."""
THIN_FROM_M = 3.9
"""Farther from the camera than this, blades are fewer and as much wider; measured zones lie nearer."""
_RIM_M = 0.12
_LAST_DAY = 150


@dataclass(frozen=True)
class Course:
    """How cover comes back: start + (ceiling - start) * (1 - 2 ** -((day / half_day) ** power)).

    Attributes
    ----------
    start_pct, ceiling_pct : float
        Cover on the day of the sand, and the cover it tends to [%].
    half_day : float
        Day on which half the way is done.
    power : float
        1 begins at once; larger holds back first and then hurries.
    grown_days : float
        Age of the blades that stand on day 0 [days]; 60 is a grown sward.
    """

    start_pct: float = 14.0
    ceiling_pct: float = 96.0
    half_day: float = 10.5
    power: float = 1.9
    grown_days: float = 4.0

    def cover_pct(self, day: NDArray | float) -> NDArray:
        """Return the intended cover [%] on days after the leveling."""
        done = 1 - 2.0 ** -((np.maximum(day, 0.0) / self.half_day) ** self.power)
        return self.start_pct + (self.ceiling_pct - self.start_pct) * done


def steady(cover_pct: float) -> Course:
    """Return the course of a grown sward whose cover stays as it is [%]."""
    return Course(start_pct=cover_pct, ceiling_pct=cover_pct, grown_days=60.0)


@dataclass(frozen=True)
class Stand:
    """A part of the lawn with its own course; an empty outline stands for the rest of the lawn."""

    course: Course = field(default_factory=Course)
    outline_m: Outline = ()
    habit: Habit = field(default_factory=Habit)


@dataclass(frozen=True, eq=False)
class Sward:
    """All blade sites of a lawn, grown or not yet; see `sow`."""

    root: Floats
    emergence: Floats
    grown_days: Floats
    length_m: Floats
    width_m: Floats
    angles: Floats
    color: Floats
    living: NDArray[np.bool_]
    chance: Floats

    def on_day(self, day: float) -> Blades:
        """Return the blades that have come through by this day after the leveling."""
        out = np.flatnonzero(self.emergence <= day)
        age = day - self.emergence[out] + self.grown_days[out]
        azimuth, lean, twist = self.angles[out].T
        return build_blades(
            self.root[out],
            length_m=self.length_m[out] * _grown(age),
            width_m=self.width_m[out],
            azimuth=azimuth,
            lean=lean * (0.75 + 0.25 * _grown(age)),
            twist=twist,
            color=self.color[out] * _youth(age),
            living=self.living[out],
            chance=self.chance[out],
        )


def sow(
    stands: Sequence[Stand],
    *,
    camera: Camera,
    ground: Ground,
    seed: int,
    patchiness: float = 0.5,
    discs: Sequence[tuple[float, float, float]] = (),
) -> Sward:
    """Sow the part of the lawn that a camera sees.

    Parameters
    ----------
    stands : sequence of Stand
        The first one without an outline is the rest of the lawn; with none, the rest stays bare.
    camera : Camera
        Where the photos are taken from; blades are sown with a margin around its view.
    ground : Ground
        Fence and path, where nothing grows.
    seed : int
        Same seed, same sward.
    patchiness : float
        0 blades come anywhere, to 0.95 they come in patches and tufts.
    discs : sequence of tuple
        x, y and diameter [m] of round places where no blade is rooted.
    """
    rng = np.random.default_rng([seed, 1])
    bounds = _bounds(camera, ground)
    labels = _labels(rng, stands, bounds)
    densest = max(_sites_per_m2(stand.habit) for stand in stands)
    root = _scatter(rng, camera, bounds, densest)
    label = labels.at(root)
    wanted = np.array([0.0] + [_sites_per_m2(stand.habit) / densest for stand in stands])[label]
    away = np.hypot(*(root - camera.position_m[:2]).T)
    thinned = np.minimum(1.0, (THIN_FROM_M / away) ** 2)
    keep = (rng.random(len(root)) < wanted * thinned) & _is_lawn(root, ground, discs)
    root, label, thinned = root[keep], label[keep], thinned[keep]
    patches = random_field(rng, bounds, 0.01, {0.015: 0.4, 0.06: 0.35, 0.25: 0.25}).at(root)
    order = np.sqrt(patchiness) * patches + np.sqrt(1 - patchiness) * rng.standard_normal(len(root))
    parts = []
    for number, stand in enumerate(stands, start=1):
        mine = np.flatnonzero(label == number)
        parts.append(_sow_stand(rng, stand, root[mine], order[mine], thinned[mine], patchiness))
    return Sward(*(_single(np.concatenate(column)) for column in zip(*parts, strict=True)))


def _single(values: NDArray) -> NDArray:
    """Keep numbers in single precision: the error on the ground is under a micrometer."""
    return values if values.dtype == np.bool_ else values.astype(np.float32)


def _sow_stand(
    rng: np.random.Generator, stand: Stand, root: Floats, order: Floats, thinned: Floats, patchiness: float
) -> tuple[NDArray, ...]:
    habit, n = stand.habit, len(root)
    rank = np.empty(n)
    rank[np.argsort(order, kind="stable")] = (np.arange(n) + 0.5) / max(n, 1)
    days, share = _emergence(stand.course, patchiness)
    emergence = np.where(rank <= share[-1], np.interp(rank, share, days), np.inf)
    living = rng.random(n) >= habit.dead_share
    emergence[~living & (rank < 0.4)] = 0.0
    twist = np.radians(25) * rng.standard_normal(n)
    angles = np.column_stack([rng.uniform(0, 2 * np.pi, n), _lean(rng, n, habit), twist])
    angles[~living, 1] = np.maximum(angles[~living, 1], np.radians(rng.uniform(35, 70, (~living).sum())))
    grown = np.where(emergence > 0, 0.0, stand.course.grown_days * rng.uniform(0.5, 1.5, n))
    grown[~living] = 10.0
    length = 1e-3 * habit.length_mm * rng.lognormal(-0.03, 0.25, n)
    width = 1e-3 * habit.width_mm * rng.lognormal(-0.01, 0.15, n) / thinned
    color = np.where(living[:, None], _leaf_color(rng, n, habit.green), _straw_color(rng, n))
    return root, emergence, grown, length, width, angles, color, living, rng.random(n)


def _emergence(course: Course, patchiness: float) -> tuple[Floats, Floats]:
    """Return days and the share of sites out by each, so that the expected cover follows the course."""
    days = np.arange(0.0, _LAST_DAY, 0.5)
    wanted = _leaf_share(course.cover_pct(days) / 100, patchiness)
    born = np.zeros(len(days))
    born[0] = wanted[0] / _grown(np.array([course.grown_days]))[0]
    first = _grown(days + course.grown_days)
    later = _grown(days)
    for k in range(1, len(days)):
        standing = born[0] * first[k] + np.dot(born[1:k], later[k - 1 : 0 : -1])
        born[k] = max(0.0, wanted[k] - standing) / later[0]
    share = np.minimum(np.cumsum(born), 1.0)
    return days, share


def _leaf_share(cover: Floats, patchiness: float) -> Floats:
    """Return which share of the full leaf area gives a cover, blades falling at random within patches.

    With a patch's own share q the ground is hidden with probability 1 - exp(-q * FULL_LEAF_AREA) (Poisson); q
    follows the normal patch field, so the mean is taken over it by Gauss-Hermite quadrature.
    """
    from scipy.special import ndtr, ndtri

    node, weight = np.polynomial.hermite_e.hermegauss(41)
    weight = weight / weight.sum()
    share = np.linspace(1e-4, 0.9999, 600)
    reach = (ndtri(share)[:, None] + np.sqrt(patchiness) * node) / np.sqrt(1 - patchiness)
    hidden = (1 - np.exp(-FULL_LEAF_AREA * ndtr(reach))) @ weight
    return np.interp(cover, hidden, share)


def _sites_per_m2(habit: Habit) -> float:
    """Return how many sites give FULL_LEAF_AREA of living leaf."""
    rng = np.random.default_rng(0)
    n = 4000
    trial = Stand(steady(99.0), habit=habit)
    columns = _sow_stand(rng, trial, np.zeros((n, 2)), np.arange(n, dtype=np.float64), np.ones(n), 0.0)
    blades = Sward(*columns).on_day(0)
    return FULL_LEAF_AREA / float(blades.flat_area_m2[blades.living].mean()) / (1 - habit.dead_share)


def _grown(age: NDArray) -> NDArray:
    """Return a blade's length as a share of its full length, at an age [days]."""
    return 0.3 + 0.7 * (1 - np.exp(-np.maximum(age, 0.0) / 8.0))


def _youth(age: NDArray) -> NDArray:
    """Return the color factors of young blades, lighter and yellower, shape (N, 3)."""
    tint = np.array([0.35, 0.30, 0.15], np.float32)
    return 1 + np.exp(-np.maximum(age, 0.0) / 6.0)[:, None] * tint


def _lean(rng: np.random.Generator, n: int, habit: Habit) -> Floats:
    spread = rng.normal(habit.lean_deg, 0.28 * habit.lean_deg, n)
    return np.radians(spread.clip(4, 85))


def _leaf_color(rng: np.random.Generator, n: int, green: float) -> Floats:
    """Mix deep green and yellow-green, linear reflectance."""
    deep, mid, light = (linear_of(c) for c in ((50, 84, 34), (86, 122, 50), (136, 156, 72)))
    tone = (rng.normal(1 - green, 0.22, n)).clip(0, 1)[:, None]
    mixed = np.where(tone < 0.5, deep + (mid - deep) * 2 * tone, mid + (light - mid) * (2 * tone - 1))
    return mixed * rng.lognormal(0, 0.14, n)[:, None]


def _straw_color(rng: np.random.Generator, n: int) -> Floats:
    pale, brown = linear_of([206, 186, 136]), linear_of([142, 118, 84])
    mix = rng.random(n)[:, None]
    return (pale * mix + brown * (1 - mix)) * rng.lognormal(0, 0.12, n)[:, None]


def _bounds(camera: Camera, ground: Ground) -> Bounds:
    """Return x0, y0, x1, y1 [m] of the lawn that may come into view."""
    far = ground.fence_y_m if ground.fence_y_m is not None else camera.position_m[1] + OPEN_LAWN_M
    width, height = camera.size_px
    heights = np.linspace(-0.1, 1.1, 25) * height
    rim = np.array([(x, y) for x in (0, width / 2, width) for y in heights], np.float64)
    spots = camera.to_ground(rim)
    ahead = np.column_stack([spots, np.zeros(len(spots))])
    depth = camera.project(ahead)[1]
    spots = spots[(depth > 0) & (depth < 14)]
    low, high = spots.min(axis=0) - 0.3, spots.max(axis=0) + 0.3
    return float(low[0]), float(low[1]), float(high[0]), float(min(high[1], far))


def _scatter(rng: np.random.Generator, camera: Camera, bounds: Bounds, per_m2: float) -> Floats:
    """Scatter roots evenly over the part of the bounds that the camera sees, with a margin."""
    x0, y0, x1, y1 = bounds
    size = np.array(camera.size_px, np.float64)
    margin = 0.12 * size[0]
    parts = []
    for low in np.arange(y0, y1, 0.5):
        high = min(low + 0.5, y1)
        n = rng.poisson(per_m2 * (x1 - x0) * (high - low))
        root = np.column_stack([rng.uniform(x0, x1, n), rng.uniform(low, high, n)])
        pixel, depth = camera.project(np.column_stack([root, np.zeros(n)]))
        inside = ((pixel > -margin) & (pixel < size + margin)).all(axis=1) & (depth > 0.1)
        parts.append(root[inside])
    return np.concatenate(parts)


def _labels(rng: np.random.Generator, stands: Sequence[Stand], bounds: Bounds) -> Raster:
    """Return 1 + the stand's number, 2 cm lattice; a stand reaches a wavering decimeter past its outline."""
    import cv2

    blank = empty_raster(bounds, 0.02)
    wobble = random_field(rng, bounds, 0.02, {0.16: 0.6, 0.05: 0.4}).values
    reach = np.full(blank.values.shape, _RIM_M, np.float32)
    rest = next((k for k, stand in enumerate(stands, start=1) if not stand.outline_m), 0)
    label = np.full(blank.values.shape, rest, np.uint8)
    for number, stand in enumerate(stands, start=1):
        if not stand.outline_m:
            continue
        outline = np.rint((np.array(stand.outline_m) - (blank.x0, blank.y0)) / blank.cell_m).astype(np.int32)
        outside = cv2.fillPoly(np.ones(label.shape, np.uint8), [outline], 0)
        past = cv2.distanceTransform(outside, cv2.DIST_L2, 3) * blank.cell_m
        past = np.where(outside == 0, -1.0, past + 0.07 * wobble)
        label[past < reach] = number
        reach = np.minimum(reach, past).astype(np.float32)
    return Raster(label, blank.x0, blank.y0, blank.cell_m)


def _is_lawn(root: Floats, ground: Ground, discs: Sequence[tuple[float, float, float]]) -> NDArray[np.bool_]:
    lawn = np.ones(len(root), np.bool_)
    if ground.path_x_m is not None:
        left, right = ground.path_x_m
        lawn &= (root[:, 0] < left) | (root[:, 0] > right)
    if ground.fence_y_m is not None:
        lawn &= root[:, 1] < ground.fence_y_m - 0.25
    for x, y, diameter in discs:
        lawn &= np.hypot(root[:, 0] - x, root[:, 1] - y) > diameter / 2
    return lawn
