"""What the zones of a lawn share in their growth: its pace, and the form of its curve.

Grass, weather and care are the same for all zones of a lawn, so a lawn has a pace of its own, about which its zones
lie, and a form of growth, which most of them follow. The zones' weighed banks say how likely each pace and form of the
lawn is; a zone's prior is then that of the lawn as its *other* zones show it, not that of all lawns. A zone with its
own photos is still weighed by them first: a slow one stays slow.

Method: normal hierarchical model with known variances, its lawn level summed over a grid, Gelman et al., Bayesian Data
Analysis, 3rd ed., section 5.4. The pace is the half-way day before any trouble, so zones in trouble speak of it as far
as their first photos do.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from swardmark.bank import priors as p
from swardmark.bank.bank import CurveBank
from swardmark.bank.members import FAMILIES, PACE

# Paces of a lawn, in standard deviations of the prior of zones.
PACES = np.linspace(-3.2, 3.2, 17)


# Grid on which a zone's factor is told for members that are not in the bank.
GRID = np.linspace(-5.0, 5.0, 51)


def share_growth(weight: np.ndarray, bank: CurveBank, expected: p.LawnPrior = p.ANY_LAWN) -> np.ndarray:
    """Return how likely the other zones make each pace and form of the lawn for a zone, shape (zones, lawns).

    Parameters
    ----------
    weight : ndarray, shape (zones, members)
        Each zone's own weights over the bank; rows sum to 1.
    bank : CurveBank
        One that knows the numbers of its members.
    expected : LawnPrior, optional
        What past seasons say of the lawn.
    """
    evidence = _evidence(weight, bank)
    others = evidence.sum(axis=0) - evidence + _log_prior(expected)
    share = np.exp(others - others.max(axis=1, keepdims=True))
    return np.asarray(share / share.sum(axis=1, keepdims=True))


def pace_shown(weight: np.ndarray, bank: CurveBank) -> tuple[float, float]:
    """Return mean and variance of the lawn's pace as all of its zones show it, under the prior of any lawn."""
    log_share = _evidence(weight, bank).sum(axis=0) + _log_prior(p.ANY_LAWN)
    share = np.exp(log_share - log_share.max()).reshape(len(PACES), FAMILIES).sum(axis=1)
    share /= share.sum()
    mean = float(share @ PACES)
    return mean, float(share @ (PACES - mean) ** 2)


def growth_factors(share: np.ndarray, bank: CurveBank) -> np.ndarray:
    """Return by how much each member of the bank gains for each zone, shape (zones, members)."""
    return np.asarray(share.astype(np.float32) @ _lawns(bank).T)


def growth_table(share: np.ndarray) -> np.ndarray:
    """Return the log of that factor on `GRID`, for each family, shape (zones, paces, families)."""
    pace, form = np.meshgrid(GRID, np.arange(FAMILIES), indexing="ij")
    factors = share @ _ratio(pace.ravel(), form.ravel()).T
    return np.asarray(np.log(np.maximum(factors, 1e-30)).reshape(len(share), *pace.shape))


@lru_cache(maxsize=16)
def _lawns(bank: CurveBank) -> np.ndarray:
    """Return the members' prior on each lawn over that on all, shape (members, lawns)."""
    assert bank.members is not None
    return _ratio(bank.members.score[PACE], bank.members.family).astype(np.float32)


def _log_prior(expected: p.LawnPrior) -> np.ndarray:
    """Return the log prior of each pace and form of a lawn."""
    log_prior = np.repeat(-0.5 * (PACES - expected.pace) ** 2 / expected.pace_variance, FAMILIES)
    return np.asarray(log_prior - np.log(np.exp(log_prior).sum()))


def _evidence(weight: np.ndarray, bank: CurveBank) -> np.ndarray:
    """Return the log evidence of each zone for each lawn, shape (zones, lawns)."""
    return np.log(np.maximum(weight.astype(np.float32) @ _lawns(bank), 1e-30)).astype(float)


def _ratio(pace: np.ndarray, form: np.ndarray) -> np.ndarray:
    spread = 1.0 - p.LAWN_PACE_SHARE
    off = (pace[:, None] - PACES) ** 2 / spread
    paced = np.exp(0.5 * (pace[:, None] ** 2 - off)) / np.sqrt(spread)
    formed = p.LAWN_FORM_SHARE * FAMILIES * np.eye(FAMILIES)[form] + 1.0 - p.LAWN_FORM_SHARE
    return np.asarray((paced[:, :, None] * formed[:, None, :]).reshape(len(pace), -1))
