"""Robust least squares down a valley: the lowest place, and places along it from which to go down again.

Robust least squares has many low places where a background is poor, and long flat valleys. So many starts go down
together: Gauss-Newton steps with Levenberg's damping and the weights of Geman and McClure (Zhang 1997, Image and Vision
Computing 15(1):59-76), the weights ever narrower. Further starts are drawn along the valley. The draws are fixed: a fit
always gives one answer.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from swardmark.ground.edges import FloatArray

Function = Callable[[FloatArray], FloatArray]
"""What gives something for each of many sets of values, shape (..., n)."""

FREEDOM, WIDER = 5.0, 1.4
"""What is drawn is wider than the valley by its curvature, so that nothing of it is missed."""
STEPS, SETTLED = 10, 1e-4
"""Steps down at each width of the weights, and the change of what is minimized at which no more are needed."""
LEAST_MATCHES, LEAST_AGREEING, LEAST_SHARE = 12, 15, 0.12
"""Points of which a fit can be made, and that must agree in it: of drawn yards 12 once did by chance."""
OVER_CHANCE = 5.0
"""How many times as many points as by chance agree with a fit, where they were looked for by a fit before it."""
MOST_ERROR_CM = 12.0
_STEP = 1e-5


@dataclass(frozen=True, eq=False)
class Fit:
    """A robust fit.

    Attributes
    ----------
    values : ndarray
        The unknowns; the last two are the wall's.
    matches, on_surface : int
        Matches that agree, and those that agree with lying on ground or wall.
    share : float
        Share of all matches that agree.
    error_px : float
        Root mean square residual of those, photo pixels.
    error_cm : float
        Standard error of ground points about 3 m ahead of the camera, root mean square, centimeters.
    unlikely : float
        Minus the logarithm of the probability of the values, up to a constant of the pairs.
    by_chance : float
        Matches that would have been found by chance, where an earlier fit told where to look; else NaN.
    """

    values: FloatArray
    matches: int
    on_surface: int
    share: float
    error_px: float
    error_cm: float
    unlikely: float = np.inf
    by_chance: float = np.nan

    @property
    def wall(self) -> FloatArray:
        """Direction to the wall over its distance, 1/m, shape (2,)."""
        return self.values[-2:]

    @property
    def is_firm(self) -> bool:
        """Whether enough of the background agrees, and fixes the frame well enough."""
        agree = min(self.matches, 2 * self.on_surface)
        if np.isnan(self.by_chance):
            is_clear = agree >= LEAST_AGREEING and self.share >= LEAST_SHARE
        else:
            is_clear = agree >= max(LEAST_MATCHES, OVER_CHANCE * self.by_chance)
        return is_clear and self.error_cm <= MOST_ERROR_CM


def descended(
    residuals: Function, weight: FloatArray, held: Function, starts: FloatArray, *, scale: float
) -> tuple[FloatArray, FloatArray]:
    """Go down from many starts at once to where robust residuals are least.

    Parameters
    ----------
    residuals : callable
        Gives the residuals of M points for sets of values, shape (..., M, 2).
    weight : ndarray, shape (M,)
        Weights of the points.
    held : callable
        Gives what is held without limit, a prior, over its spread; shape (..., K).
    starts : ndarray, shape (S, n)
        Where to begin.
    scale : float
        Residual at which a point counts half.

    Returns
    -------
    values : ndarray, shape (S, n)
        Where each start came down.
    height : ndarray, shape (S,)
        What is left there.
    """

    def height_at(values: FloatArray) -> FloatArray:
        far = (residuals(values) ** 2).sum(axis=-1) / scale**2
        return np.asarray((weight * far / (1 + far)).sum(axis=-1) + (held(values) ** 2).sum(axis=-1))

    values, count = np.array(starts, float), starts.shape[1]
    height, damping = height_at(values), np.full(len(values), 1e-3)
    for _ in range(STEPS):
        now, prior = residuals(values), held(values)
        nearby = values[:, None] + _STEP * np.eye(count)
        slope = (residuals(nearby) - now[:, None]).reshape(len(values), count, -1) / _STEP
        slope_held = (held(nearby) - prior[:, None]) / _STEP
        trust = weight / (scale * (1 + (now**2).sum(axis=-1) / scale**2)) ** 2
        weighed = slope * np.repeat(trust, 2, axis=-1)[:, None]
        normal = weighed @ slope.swapaxes(1, 2) + slope_held @ slope_held.swapaxes(1, 2)
        down = (weighed @ now.reshape(len(now), -1, 1) + slope_held @ prior[..., None])[..., 0]
        ridge = damping[:, None] * np.einsum("sii->si", normal) + 1e-12
        tried = values - np.linalg.solve(normal + ridge[..., None] * np.eye(count), down[..., None])[..., 0]
        after = height_at(tried)
        lower = after < height
        gain = np.where(lower, height - after, 0.0)
        values[lower], height[lower] = tried[lower], after[lower]
        damping = np.where(lower, damping / 10, damping * 10)
        if gain.max() < SETTLED and (damping > 1).all():
            break
    return values, height


def around(center: FloatArray, spread: FloatArray, count: int, rng: np.random.Generator) -> FloatArray:
    """Draw values, shape (count, n), from Student's t a little wider than a covariance, shape (n, n)."""
    size = len(center)
    root = np.linalg.cholesky(WIDER**2 * spread + 1e-14 * np.eye(size))
    step = rng.standard_normal((count, size)) / np.sqrt(rng.chisquare(FREEDOM, count) / FREEDOM)[:, None]
    return np.asarray(center + step @ root.T)


def slopes_of(function: Function, values: FloatArray) -> FloatArray:
    """Return the numerical derivative of what a function gives, shape (outputs, n), at one set of values."""
    steps = _STEP * np.eye(len(values))
    rise = function(values + steps) - function(values - steps)
    return np.asarray(rise.reshape(len(values), -1).T / (2 * _STEP))
