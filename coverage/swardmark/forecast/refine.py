"""New members of the bank between those that carry a zone's weight.

After some photos a few of the bank's members may hold nearly all of the weight, and what they say is chance. Then as
many are drawn again from all of them under a flattened likelihood and moved, by steps that are differences of two other
members, until the likelihood is whole: a sequence of populations that ends in the zone's own belief. At the end the
numbers of which photos may tell nothing yet, such as how long a pause will last, are drawn anew. The random numbers
are fixed and the same for all zones, so the same photos give the same answer whatever the order of the zones.

Method: resample-move sequential Monte Carlo (Del Moral, Doucet & Jasra 2006, J. R. Statist. Soc. B 68:411-436, doi
10.1111/j.1467-9868.2006.00553.x) with differential-evolution moves (ter Braak 2006, Stat. Comput. 16:239-249, doi
10.1007/s11222-006-8769-1).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from swardmark.bank import priors as p
from swardmark.bank.bank import CurveBank, bank_of
from swardmark.bank.members import FIRST, NUMBERS, PACE, SECOND, Members, cover_of
from swardmark.forecast.growth import GRID
from swardmark.forecast.state import cells_of

SEED = 20240607
# Powers of the likelihood, and how many moves the population makes under each.
POWERS, MOVES = (1 / 16, 1 / 4, 1.0), (2, 2, 4)
# Numbers of which the photos may tell nothing yet: when trouble begins and how long it lasts.
ANEW = (SECOND, FIRST)
# Members that must carry the weight under a power before the population starts from the bank.
START_MEMBERS = 96
# Zones with fewer members apart than this go on moving.
APART_MEMBERS, MORE_MOVES = 120, 8
JUMPS, JITTER, CHANGED_SHARE = (0.9, 0.5, 0.25), 0.02, 0.6
ZONES_AT_ONCE = 64
REFINED_STEP_DAYS = 1.0
# Late in the season curves are all but straight from one fourth day to the next.
LATE_DAYS = (60.0, 4)


class Target(NamedTuple):
    """A zone's likelihood: its photos, and the scales of their error, of which any may hold.

    Each scale has its inverse square, `narrow`, a weight of the photos, `power`, and a constant.
    """

    day: np.ndarray
    level: np.ndarray
    narrow: np.ndarray
    power: np.ndarray
    constant: np.ndarray


def refine(
    bank: CurveBank,
    weight: np.ndarray,
    targets: Sequence[Target],
    log_state: np.ndarray,
    log_growth: np.ndarray,
    *,
    count: int,
) -> list[CurveBank]:
    """Return a bank of its own for each zone, its members of equal weight.

    Parameters
    ----------
    bank : CurveBank
        The bank that the zones share; it knows the numbers of its members.
    weight : ndarray, shape (zones, members)
        The zones' weights over it; rows sum to 1.
    targets : sequence of Target
        The zones' photos.
    log_state : ndarray, shape (zones, cells)
        Log factors of the cells of `state.py`.
    log_growth : ndarray, shape (zones, paces, families)
        Log factors on the grid of `growth.py`.
    count : int
        Members drawn for each zone.
    """
    banks: list[CurveBank] = []
    for first in range(0, len(weight), ZONES_AT_ONCE):
        at = slice(first, first + ZONES_AT_ONCE)
        population = _Population(bank, weight[at], targets[at], log_state[at], log_growth[at], count)
        banks += population.banks()
    return banks


class _Population:
    """The members of some zones, `count` of each, zone after zone."""

    def __init__(
        self,
        bank: CurveBank,
        weight: np.ndarray,
        targets: Sequence[Target],
        log_state: np.ndarray,
        log_growth: np.ndarray,
        count: int,
    ) -> None:
        assert bank.members is not None
        self.bank, self.count, self.zones = bank, count, len(weight)
        assert bank.row is not None
        self.row = bank.row
        self.log_state, self.log_growth = log_state, log_growth
        self._pad(targets)
        self.rng = np.random.default_rng(SEED)
        ratio = np.log(np.maximum(weight, 1e-37) / bank.prior)
        start = [_starting_power(row, bank.prior) for row in ratio]
        chosen = np.concatenate([
            _systematic(bank.prior * np.exp(POWERS[s] * (row - row.max())), count)
            for s, row in zip(start, ratio, strict=True)
        ])  # fmt: skip
        self.members = bank.members[chosen]
        self.log_fit = self._log_fit(self.members, np.arange(self.zones))
        self._anneal(np.array(start))

    def banks(self) -> list[CurveBank]:
        """Return one bank per zone, its members of equal weight."""
        every = bank_of(
            self.members,
            np.ones(len(self.log_fit)),
            self.row,
            step_days=REFINED_STEP_DAYS,
            late_days=LATE_DAYS,
        )
        even = np.full(self.count, 1.0 / self.count)
        of = [slice(zone * self.count, (zone + 1) * self.count) for zone in range(self.zones)]
        return [
            CurveBank(
                np.ascontiguousarray(every.cover_pct[:, at]), even, REFINED_STEP_DAYS, every.season_days,
                self.members[at], self.row,
            )
            for at in of
        ]  # fmt: skip

    def _anneal(self, start: np.ndarray) -> None:
        for step, (power, moves) in enumerate(zip(POWERS, MOVES, strict=True)):
            on = np.flatnonzero(start <= step)
            if not len(on):
                continue
            for zone in on[start[on] < step]:
                self._resample(zone, power - POWERS[step - 1])
            for move in range(moves):
                self._move(on, power, JUMPS[move % len(JUMPS)])
        for number in ANEW:
            self._draw_anew(number)
        for move in range(MORE_MOVES):
            few = np.array([i for i in range(self.zones) if self._apart(i) < APART_MEMBERS], dtype=int)
            if not len(few):
                return
            self._move(few, 1.0, JUMPS[move % len(JUMPS)])

    def _apart(self, zone: int) -> float:
        """Return how many members are apart: 1 over the sum of squared shares of equal ones."""
        times = np.unique(self._of(self.log_fit, zone), return_counts=True)[1]
        return float(self.count**2 / (times @ times))

    def _resample(self, zone: int, gain: float) -> None:
        fit = self._of(self.log_fit, zone)
        drawn = zone * self.count + _systematic(np.exp(gain * (fit - fit.max())), self.count)
        at = slice(zone * self.count, (zone + 1) * self.count)
        self.members.score[:, at] = self.members.score[:, drawn]
        self.members.kind[at], self.members.family[at] = self.members.kind[drawn], self.members.family[drawn]
        self.log_fit[at] = self.log_fit[drawn]

    def _move(self, zones: np.ndarray, power: float, jump: float) -> None:
        """Step each member along the difference of two others of its zone, where the belief allows it."""
        count = self.count
        one, other = (self.rng.permutation(count) for _ in range(2))
        noise = JITTER * self.rng.standard_normal((NUMBERS, count))
        some = self.rng.random((NUMBERS, count)) < CHANGED_SHARE
        dice = np.log(self.rng.random(count))
        first = (zones * count)[:, None]
        at = (first + np.arange(count)).ravel()
        score = self.members.score
        step = jump * (score[:, (first + one).ravel()] - score[:, (first + other).ravel()])
        new = Members(
            self.members.kind[at],
            self.members.family[at],
            np.clip(
                score[:, at] + np.tile(some, len(zones)) * (step + np.tile(noise, len(zones))), -5.0, 5.0
            ),
        )
        log_fit = self._log_fit(new, zones)
        gain = power * (log_fit - self.log_fit[at])
        gain += 0.5 * ((score[:, at] ** 2).sum(axis=0) - (new.score**2).sum(axis=0))
        taken = np.tile(dice, len(zones)) < gain
        goes = at[taken]
        self.members.score[:, goes], self.log_fit[goes] = new.score[:, taken], log_fit[taken]

    def _draw_anew(self, number: int) -> None:
        """Draw one number of every member again from its prior, where the belief allows it."""
        score = self.members.score.copy()
        score[number] = np.tile(np.clip(self.rng.standard_normal(self.count), -5.0, 5.0), self.zones)
        dice = np.tile(np.log(self.rng.random(self.count)), self.zones)
        new = Members(self.members.kind, self.members.family, score)
        log_fit = self._log_fit(new, np.arange(self.zones))
        taken = dice < log_fit - self.log_fit
        self.members.score[number, taken], self.log_fit[taken] = score[number, taken], log_fit[taken]

    def _log_fit(self, members: Members, zones: np.ndarray) -> np.ndarray:
        """Log of likelihood times what the other zones say, of `count` members for each of the zones."""
        cover = cover_of(members, np.repeat(self.day[:, zones], self.count, axis=1), self.row)
        square = (cover - np.repeat(self.level[:, zones], self.count, axis=1)) ** 2
        square = square.reshape(len(self.day), len(zones), self.count)
        log_fit = np.full(square.shape[1:], -np.inf)
        for narrow, power, constant in zip(self.narrow, self.power, self.constant, strict=True):
            of = np.flatnonzero(np.isfinite(constant[zones]))
            if not len(of):
                continue
            fit = np.log1p(square[:, of] * narrow[:, zones[of], None])
            fit = np.einsum("pz,pzm->zm", power[:, zones[of]], fit) + constant[zones[of], None]
            log_fit[of] = np.logaddexp(log_fit[of], fit)
        log_fit = log_fit.ravel()
        zone = np.repeat(zones, self.count)
        return np.asarray(
            log_fit + self.log_state[zone, cells_of(members)] + self._growth(members, zone), dtype=float
        )

    def _growth(self, members: Members, zone: np.ndarray) -> np.ndarray:
        place = np.clip((members.score[PACE] - GRID[0]) / (GRID[1] - GRID[0]), 0, len(GRID) - 1.001)
        low = place.astype(int)
        table, family = self.log_growth, members.family
        below, above = table[zone, low, family], table[zone, low + 1, family]
        return np.asarray(below + (place - low) * (above - below))

    def _pad(self, targets: Sequence[Target]) -> None:
        most = max((len(one.day) for one in targets), default=0)
        parts = max((len(one.constant) for one in targets), default=0)
        self.day, self.level = np.zeros((2, most, self.zones), np.float32)
        self.narrow, self.power = np.zeros((2, parts, most, self.zones), np.float32)
        self.constant = np.full((parts, self.zones), -np.inf)
        for zone, one in enumerate(targets):
            n, k = len(one.day), len(one.constant)
            self.day[:n, zone], self.level[:n, zone] = one.day, one.level
            self.narrow[:k, :n, zone] = one.narrow
            self.power[:k, :n, zone] = -0.5 * (p.ERROR_FREEDOM + 1) * one.power
            self.constant[:k, zone] = one.constant

    def _of(self, values: np.ndarray, zone: int) -> np.ndarray:
        return np.asarray(values[zone * self.count : (zone + 1) * self.count])


def _starting_power(log_ratio: np.ndarray, prior: np.ndarray) -> int:
    """Return the highest power under which enough members of the bank carry the weight."""
    for step in range(len(POWERS) - 1, 0, -1):
        weight = prior * np.exp(POWERS[step] * (log_ratio - log_ratio.max()))
        if weight.sum() ** 2 >= START_MEMBERS * (weight @ weight):
            return step
    return 0


def _systematic(weight: np.ndarray, count: int) -> np.ndarray:
    """Return `count` numbers of members, each drawn in proportion to its weight, evenly spread."""
    total = np.cumsum(weight)
    return np.minimum(np.searchsorted(total, (np.arange(count) + 0.5) / count * total[-1]), len(weight) - 1)
