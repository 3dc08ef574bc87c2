"""A photo point's scale held against points that an eye counted, and set right as far as they tell.

The ends of the scale, bare and full, and its lean each lie in a range that its doubt describes (`LeafScale.moved`): a
turn of 1 is the end of that range. The counts decide how far to turn them, all of a photo point together: the turns
that minimize

    sum over counts of ((counted cover - tool's cover) / its standard error)^2 + sum of (turn / prior sd)^2

which is least squares with a normal prior about no turn (ridge regression; Hoerl and Kennard 1970, Technometrics
12(1):55-67), averaged over a narrow and a wide prior. The prior shrinks what few points say, and leaves alone what the
counted ground tells nothing of.

What doubt is left is the covariance of that fit, as independent moves of the scale (the columns of its Cholesky
factor): it says by itself that a count of half-covered ground tells less of closed turf. Where counts of several photos
disagree more than their own errors allow, it is as much larger. A count that agrees with the tool hardly moves
anything, and leaves less doubt all the same.

A zone counted on a photo taken straight down tells of the slant step: its power is moved by the same rule, against the
cover that the slant step makes of the zone.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from swardmark.canopy.blades import HIGHEST_POWER, LOWEST_POWER
from swardmark.canopy.scale import LeafScale, Turns

LEAST_POINTS = 30
"""With fewer counted points the scale stays as the photos say."""
BEYOND_CHANCE = 1.96
TURN_SDS = {0.5: 0.75, 1.25: 0.25}
"""How far the right scale of a lawn lies from the tool's, in half-widths of the range that it called probable, one
standard deviation, and on what share of lawns: on most that range holds 95 %, on some it was too narrow. With these the
rest of drawn series holds (tests/canopy/test_counted.py, tests/benchmarks/counts.py)."""
MOST_TURN, DIFFERENCE = 5.0, 0.05
"""Farthest turn, and the step by which the fit feels its way: the leaf shares go in steps of the index."""
LEAST_SD = 0.015
"""Standard error of a count at the least: a photo's own light moves its cover by as much against the others'."""


TYPICAL_SD = 0.05
"""A photo taken straight down shows a part of the zone that is typical of it to this share of the ground, one standard
deviation. Common practice, no source."""


@dataclass(frozen=True, eq=False)
class CountedGround:
    """What an eye counted of a piece of ground in one photo, beside all that the photo shows of it.

    Attributes
    ----------
    values : ndarray of int, shape (254,)
        How many of the ground's readable points hold each of the map values 2..255.
    cover, sd : float
        Counted cover as a share 0..1, and its standard error.
    points : int
        Points that were told.
    """

    values: NDArray[np.int64]
    cover: float
    sd: float
    points: int


@dataclass(frozen=True)
class CountedDown:
    """What an eye counted of a zone on a photo taken straight down, beside what the slant step makes of the zone.

    Attributes
    ----------
    cover, sd : float
        Counted cover as a share 0..1, and its standard error.
    measured, measured_sd : float
        The zone's cover at the scale's own power, and its doubt without that about the power.
    per_power : float
        Change of the measured cover with the power.
    points : int
        Points that were told.
    """

    cover: float
    sd: float
    measured: float
    measured_sd: float
    per_power: float
    points: int


def slant_fitted_to_counts(scale: LeafScale, counted: Sequence[CountedDown]) -> LeafScale:
    """Move the power of the slant step toward counts of photos taken straight down; as it is where too little was."""
    points = sum(one.points for one in counted)
    if points < LEAST_POINTS:
        return scale
    weights = [1 / (max(one.sd, LEAST_SD) ** 2 + one.measured_sd**2 + TYPICAL_SD**2) for one in counted]
    per_power = [one.per_power for one in counted]
    gaps = [one.cover - one.measured for one in counted]
    told = float(np.dot(weights, np.square(per_power)))
    pull = float(np.dot(weights, np.multiply(per_power, gaps)))
    known = 1 / scale.slant_sd**2 + told
    power = float(np.clip(scale.slant + pull / known, LOWEST_POWER, HIGHEST_POWER))
    return replace(scale, slant=round(power, 4), slant_sd=round(known**-0.5, 4), counted_down=points)


def fitted_to_counts(scale: LeafScale, counted: Sequence[CountedGround]) -> LeafScale:
    """Hold a photo point's scale against what was counted by eye; the scale itself where too little was.

    Parameters
    ----------
    scale : LeafScale
        As the photos alone give it.
    counted : sequence of CountedGround
        All counts of the photo point.
    """
    points = sum(one.points for one in counted)
    if points < LEAST_POINTS:
        return scale
    cover = np.array([one.cover for one in counted])
    sd = np.array([max(one.sd, LEAST_SD) for one in counted])
    gap = (cover - _covers(scale, counted)) / sd
    is_apart = abs((gap / sd).sum()) > BEYOND_CHANCE * np.sqrt((1 / sd**2).sum())
    turns, left = _fit(scale, counted, cover, sd)
    source = "counts" if is_apart else scale.source
    return scale.moved(*turns).told(left, counted=points, source=source)


def _fit(
    scale: LeafScale, counted: Sequence[CountedGround], cover: NDArray[np.float64], sd: NDArray[np.float64]
) -> tuple[Turns, list[Turns]]:
    """Return the turns that fit the counts best, and the doubt that is left, as moves of 95 % half-width.

    Both are means over the priors, each weighed by how well the counts agree with it (Laplace's approximation).
    """
    fits = [_fit_once(scale, counted, cover, sd, prior_sd) for prior_sd in TURN_SDS]
    log_weight = [
        np.log(share) - cost + np.linalg.slogdet(spread)[1] / 2 - len(turns) * np.log(prior_sd)
        for (turns, spread, cost), (prior_sd, share) in zip(fits, TURN_SDS.items(), strict=True)
    ]
    weight = np.exp(np.array(log_weight) - max(log_weight))
    weight /= weight.sum()
    mean = np.sum([w * turns for w, (turns, _, _) in zip(weight, fits, strict=True)], axis=0)
    spread = np.sum(
        [
            w * (own + np.outer(turns - mean, turns - mean))
            for w, (turns, own, _) in zip(weight, fits, strict=True)
        ],
        axis=0,
    )
    return _turns(mean), [_turns(move) for move in BEYOND_CHANCE * np.linalg.cholesky(spread).T]


def _fit_once(
    scale: LeafScale,
    counted: Sequence[CountedGround],
    cover: NDArray[np.float64],
    sd: NDArray[np.float64],
    prior_sd: float,
) -> tuple[NDArray[np.float64], NDArray[np.float64], float]:
    """Return the best turns under one prior, their covariance, and half the sum of squares."""
    from scipy.optimize import least_squares

    def misfit(turns: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.concatenate([(cover - _covers(scale.moved(*turns), counted)) / sd, turns / prior_sd])

    fit = least_squares(misfit, np.zeros(3), bounds=(-MOST_TURN, MOST_TURN), diff_step=DIFFERENCE)
    spread = np.linalg.inv(fit.jac.T @ fit.jac)
    if len(counted) > 1:
        gaps = fit.fun[: len(counted)]
        spread *= max(1.0, float(gaps @ gaps) / (len(counted) - 1))
    return np.asarray(fit.x), spread, float(fit.cost)


def _turns(values: NDArray[np.float64]) -> Turns:
    bare, full, lean = (round(float(value), 4) for value in values)
    return bare, full, lean


def _covers(scale: LeafScale, counted: Sequence[CountedGround]) -> NDArray[np.float64]:
    """Return what a scale says of each ground, 0..1."""
    shares = scale.leaf_shares()
    return np.array([np.clip(one.values @ shares / max(int(one.values.sum()), 1), 0, 1) for one in counted])
