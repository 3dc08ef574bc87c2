"""Grass blades as bent ribbons of two segments, and how they look from any side.

A blade rises from its root to a knee and bends over from there to the tip. It is a flat ribbon: its width
lies level but for a twist, and the upper half tapers to a fifth.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.floating]
TIP_SHARE = 0.2
_HALF_WIDTHS = ((0.5, 0.5), (0.5, 0.5 * TIP_SHARE))


@dataclass(frozen=True)
class Habit:
    """How the blades of a sward are built (means; single blades vary around them).

    Attributes
    ----------
    length_mm, width_mm : float
        Length along the blade and width at its base when full grown [mm].
    lean_deg : float
        Mean angle of the blade from the vertical [deg]; the upper half bends over.
    dead_share : float
        Share of straw-colored dead blades, 0..1.
    green : float
        0 yellow-green to 1 deep green.
    """

    length_mm: float = 32.0
    width_mm: float = 3.0
    lean_deg: float = 55.0
    dead_share: float = 0.06
    green: float = 0.5


@dataclass(frozen=True, eq=False)
class Blades:
    """The blades that stand on one day.

    Attributes
    ----------
    root, knee, tip : ndarray, shape (N, 3)
        Points along the middle of each blade [m].
    side : ndarray, shape (N, 3)
        Unit vector across the blade.
    width_m : ndarray, shape (N,)
        Width at the base [m].
    color : ndarray, shape (N, 3)
        Reflectance in red, green and blue, linear 0..1.
    living : ndarray of bool, shape (N,)
        False for dead, straw-colored blades.
    chance : ndarray, shape (N,)
        A fixed random number 0..1 of each blade, for its light.
    """

    root: Floats
    knee: Floats
    tip: Floats
    side: Floats
    width_m: Floats
    color: Floats
    living: NDArray[np.bool_]
    chance: Floats

    def __len__(self) -> int:
        return len(self.root)

    def only(self, keep: NDArray | slice) -> Blades:
        """Return the blades chosen by a mask or by indices."""
        return Blades(*(getattr(self, part.name)[keep] for part in fields(self)))

    @property
    def flat_area_m2(self) -> Floats:
        """Area of each blade's two segments seen straight down, shape (N,) [m2]."""
        lower = np.abs(_cross(self.knee - self.root, self.side)) * self.width_m
        upper = np.abs(_cross(self.tip - self.knee, self.side)) * self.width_m * (1 + TIP_SHARE) / 2
        return lower + upper


@dataclass(frozen=True, eq=False)
class Strips:
    """Blade segments as strips in a picture: lower halves first, then upper halves."""

    start: Floats
    end: Floats
    half_start: Floats
    half_end: Floats

    def only(self, keep: NDArray) -> Strips:
        """Return the strips chosen by a mask or by indices, in that order."""
        return Strips(self.start[keep], self.end[keep], self.half_start[keep], self.half_end[keep])


def as_strips(blades: Blades, project: Callable[[Floats], Floats]) -> Strips:
    """Project blades into a picture; `project` turns points (N, 3) [m] into pixels (N, 2)."""
    root, knee, tip = project(blades.root), project(blades.knee), project(blades.tip)
    edge = project(blades.knee + blades.side * blades.width_m[:, None]) - knee
    parts = []
    for (start, end), shares in zip(((root, knee), (knee, tip)), _HALF_WIDTHS, strict=True):
        run = end - start
        across = np.abs(_cross(run, edge)) / np.maximum(np.hypot(run[:, 0], run[:, 1]), 1e-9)
        parts.append((start, end, across * shares[0], across * shares[1]))
    return Strips(*(np.concatenate(pair) for pair in zip(*parts, strict=True)))


def build_blades(
    root: Floats,
    *,
    length_m: Floats,
    width_m: Floats,
    azimuth: Floats,
    lean: Floats,
    twist: Floats,
    color: Floats,
    living: NDArray[np.bool_],
    chance: Floats,
) -> Blades:
    """Build blades from roots (N, 2) [m], sizes [m] and angles [rad].

    The lower half leans by 0.7 and the upper half by 1.3 of `lean`, at most 85 degrees.
    """
    most = root.dtype.type(np.radians(85.0))
    lower, upper = np.minimum(0.7 * lean, most), np.minimum(1.3 * lean, most)
    east, north, half = np.cos(azimuth), np.sin(azimuth), 0.5 * length_m
    away_low, away_high = half * np.sin(lower), half * np.sin(upper)
    start = np.column_stack([root, np.zeros_like(length_m)])
    knee = start + np.column_stack([away_low * east, away_low * north, half * np.cos(lower)])
    tip = knee + np.column_stack([away_high * east, away_high * north, half * np.cos(upper)])
    flat, steep, level = np.cos(twist), np.sin(twist), np.sin(twist) * np.cos(upper)
    side = np.column_stack([level * east - flat * north, level * north + flat * east, -steep * np.sin(upper)])
    return Blades(start, knee, tip, side, width_m, color, living, chance)


def _cross(a: Floats, b: Floats) -> Floats:
    return a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
