"""Stacks of ground maps of an invented lawn with known bare discs, drawn straight on the lattice.

Grass thickens by a logistic in patches; each point is leaf or ground by a field that is correlated over 2 cm, as
clumps of leaves are. The leaves of a near rim hide part of a disc, as seen from a camera at 1.6 m.
"""

from dataclasses import dataclass

import numpy as np
from scipy import ndimage

from swardmark.canopy.index import NOT_SEEN, UNREADABLE, GroundMap, byte_of
from swardmark.canopy.scale import LeafScale

SCALE = LeafScale(0.10, 0.09, 0.11, "photos", bare=0.03, full=0.26, mixed=0.0)
SPACING = 0.01
CAMERA = (0.5, -1.0, 1.6)
DAYS = (0.0, 3.0, 6.0, 9.0, 12.0, 16.0, 21.0, 28.0)


@dataclass(frozen=True)
class Disc:
    x_m: float
    y_m: float
    radius_m: float
    cover: float = 0.02


def draw(
    discs,
    *,
    seed,
    days=DAYS,
    patchy=0.25,
    ceiling=0.96,
    leaf_m=0.03,
    view=((-2.0, 3.0), (-0.4, 4.6)),
    shadows=True,
    slant=True,
):
    """Return one GroundMap per day; `leaf_m` is the height of leaves times their screening.

    Covers are those from straight above; with `slant` they are seen from the camera's side, by the step of
    docs/how-it-works.md.
    """
    rng = np.random.default_rng(seed)
    (x0, x1), (y0, y1) = view
    x = np.arange(round(x0 / SPACING), round(x1 / SPACING)) * SPACING
    y = np.arange(round(y0 / SPACING), round(y1 / SPACING)) * SPACING
    gx, gy = np.meshgrid(x, y)
    t50 = 8 * np.exp(patchy * _field(rng, gx.shape, 15))
    clumps = _ranks(_field(rng, gx.shape, 1.2))
    bare = {disc: _hidden(gx, gy, disc, leaf_m) for disc in discs}
    seen = (np.abs(gx - 0.5) < 1.2 + 0.45 * (gy + 1)) & ~((gx > -0.1) & (gx < 1.1) & (gy > -0.1) & (gy < 1.1))
    away = np.hypot(gx - CAMERA[0], gy - CAMERA[1])
    power = np.cos(np.arctan2(away, CAMERA[2])) ** -0.7 if slant else 1.0
    maps = []
    for day in days:
        cover = ceiling / (1 + np.exp(-2.4 * (day / t50 - 1)))
        for disc in discs:
            cover = cover * (1 - bare[disc]) + bare[disc] * np.minimum(disc.cover, cover)
        leaf = (clumps < 1 - (1 - cover) ** power) ^ (rng.random(gx.shape) < 0.01)
        index = np.where(leaf, rng.normal(0.26, 0.05, gx.shape), rng.normal(0.03, 0.02, gx.shape))
        values = (np.clip(np.rint((index + 0.30) / 0.004), 0, 253) + 2).astype(np.uint8)
        values[rng.random(gx.shape) < 0.02] = UNREADABLE
        if shadows:
            values[_shadow(rng, gx, gy)] = UNREADABLE
        values[~seen] = NOT_SEEN
        maps.append(GroundMap(values, round(y0 / SPACING), round(x0 / SPACING), SPACING))
    assert byte_of(SCALE.value) > 2
    return maps


def random_discs(seed, *, count=6, radii=(0.1, 0.75), gap_m=0.35):
    """Place discs in view, clear of the square and of each other."""
    rng = np.random.default_rng(1000 + seed)
    discs = []
    for _ in range(4000):
        radius = rng.uniform(*radii)
        y = rng.uniform(1.2 + radius, 3.9 - radius * 0.2)
        half = 1.2 + 0.45 * (y - radius + 1) - radius - 0.15
        disc = Disc(
            float(rng.uniform(max(0.5 - half, -2 + radius + 0.1), min(0.5 + half, 2.9 - radius))),
            float(y),
            radius,
        )
        clear = all(
            np.hypot(disc.x_m - o.x_m, disc.y_m - o.y_m) > disc.radius_m + o.radius_m + gap_m for o in discs
        )
        if clear and disc.y_m + radius < 4.3:
            discs.append(disc)
        if len(discs) == count:
            break
    return discs


def _hidden(gx, gy, disc, leaf_m):
    """Bare share of each point: the disc, without the strip that the leaves of its near rim hide."""
    distance = np.hypot(gx - CAMERA[0], gy - CAMERA[1])
    ux, uy = (gx - CAMERA[0]) / distance, (gy - CAMERA[1]) / distance
    bare = np.ones(gx.shape, bool)
    for share in np.linspace(0, 1, 5):
        back = share * leaf_m * distance / CAMERA[2]
        bare &= np.hypot(gx - back * ux - disc.x_m, gy - back * uy - disc.y_m) < disc.radius_m
    return ndimage.gaussian_filter(bare.astype(float), 1.0)


def _shadow(rng, gx, gy):
    """A hard shadow too dark to read: a moving bar."""
    angle, offset = rng.uniform(0, np.pi), rng.uniform(-1, 4)
    return np.abs(gx * np.cos(angle) + gy * np.sin(angle) - offset) < 0.08


def _field(rng, shape, sigma):
    field = ndimage.gaussian_filter(rng.normal(size=shape), sigma, mode="wrap")
    return field / field.std()


def _ranks(field):
    from scipy.stats import norm

    return norm.cdf(field)
