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

from swardmark.forecast import priors as p
from swardmark.forecast.bank import FAMILIES, CurveBank

# Paces of a lawn, in standard deviations of the prior of zones.
PACES = np.linspace(-3.2, 3.2, 17)


def share_growth(weight: np.ndarray, bank: CurveBank) -> np.ndarray:
    """Return the zones' weights once each has heard the others.

    Parameters
    ----------
    weight : ndarray, shape (zones, members)
        Each zone's own weights over the bank; rows sum to 1.
    bank : CurveBank
        One that knows the pace of its members; otherwise, and for a zone alone, the weights stay as they are.
    """
    if bank.pace is None or len(weight) < 2:
        return weight
    ratio, log_prior = _lawns(bank)
    evidence = np.log(np.maximum(weight.astype(np.float32) @ ratio, 1e-30)).astype(float)
    others = evidence.sum(axis=0) - evidence + log_prior
    share = np.exp(others - others.max(axis=1, keepdims=True))
    share /= share.sum(axis=1, keepdims=True)
    shared = weight * (share.astype(np.float32) @ ratio.T)
    return shared / shared.sum(axis=1, keepdims=True)


@lru_cache(maxsize=16)
def _lawns(bank: CurveBank) -> tuple[np.ndarray, np.ndarray]:
    """Return the members' prior on each lawn over that on all, shape (members, lawns), and the lawns' log prior."""
    assert bank.pace is not None and bank.form is not None
    spread = 1.0 - p.LAWN_PACE_SHARE
    off = (bank.pace[:, None] - PACES) ** 2 / spread
    pace = np.exp(0.5 * (bank.pace[:, None] ** 2 - off)) / np.sqrt(spread)
    form = p.LAWN_FORM_SHARE * FAMILIES * np.eye(FAMILIES)[bank.form] + 1.0 - p.LAWN_FORM_SHARE
    ratio = (pace[:, :, None] * form[:, None, :]).reshape(len(pace), -1)
    prior = np.exp(-0.5 * PACES**2 / p.LAWN_PACE_SHARE)
    log_prior = np.log(np.repeat(prior / prior.sum() / FAMILIES, FAMILIES))
    return ratio.astype(np.float32), log_prior
