"""The valley around a fit: all values that fit nearly as well, drawn by their probability.

Where the background fixes a direction badly, the curvature at the optimum says little of how far one can go along it.
So the probability itself is sampled: importance sampling from Student's t whose spread is refitted to the first draws
(Oh and Berger 1992, J. Stat. Comput. Simul. 41:143-168). The draws are fixed: a fit always gives one answer.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from swardmark.ground.edges import FloatArray

DRAWS, ROUNDS = 192, 3
FREEDOM = 5.0
WIDER = 1.4
"""The proposal is wider than what it was fitted to, so that nothing of the valley is missed."""


def valley(
    unlikely: Callable[[FloatArray], float], best: FloatArray, spread: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Draw values from a valley.

    Parameters
    ----------
    unlikely : callable
        Minus the logarithm of the probability of values, up to a constant.
    best : ndarray, shape (n,)
        Where it is least, about.
    spread : ndarray, shape (n, n)
        First guess of the covariance.

    Returns
    -------
    draws : ndarray, shape (DRAWS, n)
        The values drawn last.
    weights : ndarray, shape (DRAWS,)
        Their weights; the sum is 1.
    """
    rng, count = np.random.default_rng(0), len(best)
    center, weights = np.asarray(best, float), np.full(DRAWS, 1 / DRAWS)
    draws = np.repeat(center[None], DRAWS, axis=0)
    for _ in range(ROUNDS):
        root = np.linalg.cholesky(WIDER**2 * spread + 1e-14 * np.eye(count))
        step = rng.standard_normal((DRAWS, count)) / np.sqrt(rng.chisquare(FREEDOM, DRAWS) / FREEDOM)[:, None]
        draws = center + step @ root.T
        proposed = -(FREEDOM + count) / 2 * np.log1p((step**2).sum(axis=1) / FREEDOM)
        log_weights = -np.array([unlikely(values) for values in draws]) - proposed
        weights = np.exp(log_weights - log_weights.max())
        weights /= weights.sum()
        center = weights @ draws
        spread = (weights[:, None] * (draws - center)).T @ (draws - center) + 0.02 * spread
    return draws, weights
