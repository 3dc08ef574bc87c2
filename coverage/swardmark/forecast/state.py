"""The state that the zones of a lawn share: growth as usual, paused, at its end, dormant, level, or closing.

A dry spell, the end of the season and the browning of dormancy come to all zones at once. Every kind of trouble in the
bank is split into cells by when it begins (a ceiling by how high it is), and the lawn is in one of these states or in
none. A zone's weights say how likely each state is; a zone's prior is then that of the lawn as its *other* zones show
it, as with the pace in growth.py. Neighboring cells count in part, so that zones on both sides of an edge agree.

Method: a mixture with a latent class of the lawn, summed out; Gelman et al., Bayesian Data Analysis, 3rd ed., ch. 22.
"""

from __future__ import annotations

from functools import cache, lru_cache
from typing import NamedTuple

import numpy as np

from swardmark.bank import priors as p
from swardmark.bank.bank import CurveBank
from swardmark.bank.members import FIRST, KIND, SECOND, Members, share_of

NEXT_CELL = 0.4


class _Block(NamedTuple):
    """The cells of one state: first cell, how many begins, how many lengths."""

    state: str
    first: int
    begins: int
    lengths: int


BLOCKS = (
    _Block("closes", 1, 1, 1),
    _Block("levels off", 2, 6, 1),
    _Block("stops", 8, 8, 1),
    _Block("pauses", 16, 8, 2),
    _Block("dies back", 32, 8, 1),
)
CELLS = 40
KINDS_OF = {
    "dies back": ("dies back", "dies back and recovers"),
}
_KINDS_IN = {
    block.state: np.isin(
        np.arange(len(p.KINDS)), [KIND[k] for k in KINDS_OF.get(block.state, (block.state,))]
    )
    for block in BLOCKS
}


def cells_of(members: Members) -> np.ndarray:
    """Return the cell of each member; 0 for those that no state of a lawn explains."""
    cell = np.zeros(len(members.kind), dtype=int)
    for block in BLOCKS:
        of = np.flatnonzero(_KINDS_IN[block.state][members.kind])
        begin = np.minimum(share_of(members.score[FIRST, of]) * block.begins, block.begins - 1).astype(int)
        length = np.minimum(share_of(members.score[SECOND, of]) * block.lengths, block.lengths - 1).astype(
            int
        )
        cell[of] = block.first + begin * block.lengths + length
    return cell


def share_states(weight: np.ndarray, bank: CurveBank, expected: p.LawnPrior = p.ANY_LAWN) -> np.ndarray:
    """Return by how much the other zones make each cell more likely for a zone, shape (zones, cells).

    Parameters
    ----------
    weight : ndarray, shape (zones, members)
        Each zone's own weights over the bank; rows sum to 1.
    bank : CurveBank
        One that knows the numbers of its members; otherwise the factors are 1, and for a zone alone that no past season
        speaks of.
    expected : LawnPrior, optional
        What past seasons say of the lawn.
    """
    if bank.members is None or (len(weight) < 2 and expected == p.ANY_LAWN):
        return np.ones((len(weight), CELLS))
    ratio, (log_prior, times) = _states(bank), _expected(expected.times)
    evidence = p.STATE_TEMPER * np.log(np.maximum(in_cells(weight, bank) @ ratio, 1e-30))
    share = evidence.sum(axis=0) - evidence + log_prior
    share = np.exp(share - share.max(axis=1, keepdims=True))
    return np.asarray((share / share.sum(axis=1, keepdims=True)) @ ratio.T) * times


def state_shares(weight: np.ndarray, bank: CurveBank) -> dict[str, float]:
    """Return the share of zones in each state, from their own weights, without what they say to each other."""
    cells = in_cells(weight, bank).mean(axis=0)
    return {b.state: float(cells[b.first : b.first + b.begins * b.lengths].sum()) for b in BLOCKS}


def in_cells(weight: np.ndarray, bank: CurveBank) -> np.ndarray:
    """Return the zones' weights summed by cell, shape (zones, cells)."""
    return weight @ _one_hot(bank)


@lru_cache(maxsize=16)
def bank_cells(bank: CurveBank) -> np.ndarray:
    """Return `cells_of` the members of a bank."""
    assert bank.members is not None
    return cells_of(bank.members)


@lru_cache(maxsize=16)
def _one_hot(bank: CurveBank) -> np.ndarray:
    return np.eye(CELLS, dtype=np.float32)[bank_cells(bank)]


@lru_cache(maxsize=16)
def _states(bank: CurveBank) -> np.ndarray:
    """Return the cells' prior in each state over that on the whole, shape (cells, states)."""
    cells = np.bincount(bank_cells(bank), weights=bank.prior, minlength=CELLS)
    near = _near() / np.maximum(cells @ _near(), 1e-12)
    ratio = 1.0 - p.LAWN_STATE_SHARE + p.LAWN_STATE_SHARE * near
    ratio[:, 0] = 1.0
    return np.asarray(ratio)


@lru_cache(maxsize=64)
def _expected(times: tuple[float, ...]) -> tuple[np.ndarray, np.ndarray]:
    """Return the log prior of each state of a lawn, and how many times likelier each cell is for a zone."""
    prior, each = np.zeros(CELLS), np.full(CELLS, times[-1])
    for block, factor in zip(BLOCKS, times, strict=False):
        count = block.begins * block.lengths
        cells = slice(block.first, block.first + count)
        prior[cells], each[cells] = p.LAWN_STATES[block.state] / count, factor
    prior[0] = 1.0 - prior.sum()
    return np.log(prior * each), each


@cache
def _near() -> np.ndarray:
    """Return how far each cell counts as each state."""
    near = np.zeros((CELLS, CELLS))
    for block in BLOCKS:
        count = block.begins * block.lengths
        place = [divmod(i, block.lengths) for i in range(count)]
        for i, (begin, length) in enumerate(place):
            for j, (other, other_length) in enumerate(place):
                steps = abs(begin - other) + abs(length - other_length)
                near[block.first + j, block.first + i] = NEXT_CELL**steps if steps < 3 else 0.0
    return near
