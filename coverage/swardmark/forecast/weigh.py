"""Weighing the curve bank by what the photos of a lawn's zones showed.

Every photo multiplies the weight of each member of the bank by a robust likelihood (Student's t, 4 degrees of freedom).
The scale of the error is not known; three are tried and averaged by their evidence over all zones of the lawn. There is
no optimizer, so nothing can fail to converge, and the same photos always give the same answer.

The zones of a lawn share information: before weighing, the light of the photos they appear in (light.py); after it, the
lawn's state, pace and form of growth (state.py, growth.py). Where few members carry the weight, new ones are drawn
between them (refine.py).

Method: Bayesian model averaging over a fixed sample (importance weights), Gelman et al., Bayesian Data Analysis, 3rd
ed., chapters 7 and 10; tempering of the likelihood because photos of one zone err together.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from swardmark.bank import priors as p
from swardmark.bank.bank import THIN, CurveBank, mix_banks
from swardmark.bank.members import FAMILIES
from swardmark.forecast.growth import GRID, growth_factors, growth_table, share_growth
from swardmark.forecast.light import Light, photo_keys, shared_light
from swardmark.forecast.recovery import Recovery
from swardmark.forecast.refine import Target, refine
from swardmark.forecast.state import CELLS, bank_cells, share_states

# Members that are drawn anew where fewer than ENOUGH_MEMBERS carry the weight.
REFINED, ENOUGH_MEMBERS, MANY_ZONES = 288, 256, 200
CONFIRM_SHARE = 0.015
CONFIRM_SCALES = 2.5
# A newest photo is believed in part from this chance of being bad. It is said from that of being odd, or, of a zone
# that is the lawn's only one, where so little belief lies near or beyond it.
DOUBT_BAD, SAID_ODD, SAID_SHARE = 0.1, 0.04, 0.06


def fit_recovery(
    day: np.ndarray,
    cover_pct: np.ndarray,
    *,
    bank: CurveBank,
    sd_pct: np.ndarray | None = None,
    members: int = REFINED,
) -> Recovery:
    """Weigh the bank by one zone's photos.

    Parameters
    ----------
    day : array_like, shape (n,)
        Days since leveling, rising.
    cover_pct : array_like, shape (n,)
        Cover [%]; NaN where the zone was not seen.
    bank : CurveBank
        From `draw_bank`.
    sd_pct : array_like, shape (n,), optional
        Standard deviation of each photo's cover [points]; a photo is never trusted beyond it.
    members : int
        As in `fit_zones`.
    """
    sds = None if sd_pct is None else [sd_pct]
    return fit_zones([day], [cover_pct], bank=bank, sd_pct=sds, members=members)[0]


def fit_zones(
    days: Sequence[np.ndarray],
    covers_pct: Sequence[np.ndarray],
    *,
    bank: CurveBank,
    sd_pct: Sequence[np.ndarray] | None = None,
    points: Sequence[str] | None = None,
    photos: Sequence[np.ndarray] | None = None,
    expected: p.LawnPrior = p.ANY_LAWN,
    members: int = REFINED,
) -> tuple[Recovery, ...]:
    """Weigh the bank by the photos of each zone, as `fit_recovery` does for one.

    The zones share the scale of the error and the lawn's growth; those of one photo point also the light of its photos.

    Parameters
    ----------
    days, covers_pct, sd_pct : sequence of array_like, shape (n,)
        One entry per zone.
    bank : CurveBank
        From `draw_bank`.
    points, photos : optional
        Photo point of each zone, one for all where not given; which photos they are (`light.photo_keys`).
    expected : LawnPrior, optional
        What past seasons say of the lawn.
    members : int
        How many new members are drawn where few carry the weight; 0 leaves the bank as it is.
    """
    kept = photos or [photo_keys(np.asarray(day, float)) for day in days]
    series = [
        _Series.seen(day, cover, None if sd_pct is None else sd_pct[i], kept[i])
        for i, (day, cover) in enumerate(zip(days, covers_pct, strict=True))
    ]
    if not series:
        return ()
    zones = [
        _Zone(bank, one, light, every=1 if len(series) <= MANY_ZONES else THIN)
        for one, light in zip(series, _lights(series, points, bank), strict=True)
    ]
    _doubt_newest(zones, [""] * len(zones) if points is None else points)
    evidence = sum(zone.evidence for zone in zones)
    scale_share = np.exp(evidence - np.max(evidence))
    scale_share /= scale_share.sum()
    scale = float(scale_share @ np.array(p.ERROR_SCALES_PCT))
    trust = np.array([zone.trust for zone in zones])
    belief = _Belief.of(zones, scale_share, expected, newest=True)
    without = belief
    if (trust < 1.0).any():
        without = _Belief.of(zones, scale_share, expected, newest=False)
    weights = trust[:, None] * belief.weight + (1.0 - trust)[:, None] * without.weight
    recoveries = [zone.recovery(weight, scale) for zone, weight in zip(zones, weights, strict=True)]
    if members and bank.members is not None:
        seen = np.array([len(zone.day) > 0 for zone in zones])
        few = np.flatnonzero(seen & ((effective(weights) < ENOUGH_MEMBERS) | (trust < 1.0)))
        count = members if len(zones) <= MANY_ZONES else members // 2
        banks = belief.refined(few, count)
        torn = few[trust[few] < 1.0]
        apart = dict(zip(torn, without.refined(torn, count), strict=True))
        for i, one in zip(few, banks, strict=True):
            mixed = mix_banks(one, apart[i], float(trust[i])) if i in apart else one
            recoveries[i] = replace(recoveries[i], bank=mixed, weight=mixed.prior)
    return tuple(recoveries)


class _Belief(NamedTuple):
    """What the zones' photos say, with the newest one that is in doubt or without it, once they heard each other."""

    bank: CurveBank
    targets: list[Target]
    weight: np.ndarray
    state: np.ndarray
    growth: np.ndarray | None

    @classmethod
    def of(
        cls, zones: Sequence[_Zone], scale_share: np.ndarray, expected: p.LawnPrior, *, newest: bool
    ) -> _Belief:
        bank = zones[0].bank
        own = np.stack([zone.weight(scale_share, newest=newest) for zone in zones])
        targets = [zone.target(scale_share, newest=newest) for zone in zones]
        return cls(bank, targets, *hear_each_other(own, bank, expected))

    def refined(self, of: np.ndarray, count: int) -> list[CurveBank]:
        """Return a bank of its own for some of the zones."""
        targets = [self.targets[i] for i in of]
        growth = np.zeros((len(of), len(GRID), FAMILIES))
        if self.growth is not None:
            growth = growth_table(self.growth[of])
        return refine(self.bank, self.weight[of], targets, np.log(self.state[of]), growth, count=count)


def effective(weight: np.ndarray) -> np.ndarray:
    """Return the effective members of each row of weights: 1 over the sum of their squares (Kish 1965)."""
    return np.asarray(weight.sum(axis=1) ** 2 / (weight**2).sum(axis=1))


def hear_each_other(
    own: np.ndarray, bank: CurveBank, expected: p.LawnPrior
) -> tuple[np.ndarray, np.ndarray, np.ndarray | None]:
    """Return the zones' weights after hearing the others and the past, and the factors of state and shares of growth.

    A zone that is alone hears nothing: its factors are 1 and there are no shares.
    """
    if bank.members is None or (len(own) < 2 and expected == p.ANY_LAWN):
        return own, np.ones((len(own), CELLS)), None
    state = share_states(own, bank, expected)
    weights = own * state.astype(own.dtype)[:, bank_cells(bank)]
    weights /= weights.sum(axis=1, keepdims=True)
    growth = share_growth(weights, bank, expected)
    weights *= growth_factors(growth, bank)
    return weights / weights.sum(axis=1, keepdims=True), state, growth


class _Series(NamedTuple):
    """The photos that show a zone."""

    day: np.ndarray
    cover: np.ndarray
    sd: np.ndarray
    photo: np.ndarray

    @classmethod
    def seen(cls, day: np.ndarray, cover: np.ndarray, sd: np.ndarray | None, photo: np.ndarray) -> _Series:
        day, cover = np.asarray(day, float), np.asarray(cover, float)
        sd = np.zeros(len(day)) if sd is None else np.nan_to_num(np.asarray(sd, float))
        shown = np.isfinite(cover)
        return cls(day[shown], np.clip(cover[shown], 0.0, 100.0), sd[shown], photo[shown])


def _lights(series: Sequence[_Series], points: Sequence[str] | None, bank: CurveBank) -> list[Light]:
    """Return the light of each zone's photos, found point by point."""
    groups: dict[str, list[int]] = {}
    for i in range(len(series)):
        groups.setdefault("" if points is None else points[i], []).append(i)
    lights: dict[int, Light] = {}
    for group in groups.values():
        days, covers, sds, photos = zip(*(series[i] for i in group), strict=True)
        lights.update(zip(group, shared_light(days, covers, sds, photos, bank), strict=True))
    return [lights[i] for i in range(len(series))]


class _Zone:
    """One zone's photos against all members of the bank, for each scale of the error."""

    def __init__(self, bank: CurveBank, series: _Series, light: Light, *, every: int) -> None:
        self.bank, self.day, self.cover, self.light = bank, series.day, series.cover, light
        self.sd, self.level = series.sd, self.cover - light.offset_pct
        doubt = np.sqrt(1.0 + p.LIGHT_SHARE * (light.doubt - 1.0))
        self.scales = np.maximum(np.array(p.ERROR_SCALES_PCT)[:, None], series.sd) * doubt
        curves = bank.at(self.day) if len(self.day) else np.empty((0, len(bank.prior)), np.float32)
        self.held_out, self.far_out = np.zeros(len(self.day), dtype=bool), False
        self.surprising, self.share_beyond, self.trust = False, 1.0, 1.0
        fit = self._log_fit(curves)
        self.history = self._history(fit[1, :, ::every], every)
        self.share, self.evidence = _weighed(self._log_weight(fit, len(self.day)))
        self.with_last = self.evidence
        self.earlier = self.share, self.evidence
        if len(self.day) > 3:
            earlier = self._log_weight(fit, len(self.day) - 1)
            self.earlier = _weighed(earlier)
            self.share_beyond = self._share_beyond(earlier, curves[-1])
            self.far_out = self.share_beyond < CONFIRM_SHARE

    def doubt(self, bad: float) -> None:
        """Believe the newest photo, as it reads in usual light, only with the chance that it is not a bad one."""
        self.trust = min(max(1.0 - bad, p.LEAST_TRUST), 1.0)
        self.held_out[-1] = self.trust < 0.5
        self.level[-1] = self.cover[-1]
        self.scales[:, -1] = np.maximum(np.array(p.ERROR_SCALES_PCT), self.sd[-1])
        fit = self._log_fit(self.bank.at(self.day))
        self.share, self.with_last = _weighed(self._log_weight(fit, len(self.day)))
        self.evidence = self.earlier[1] if self.held_out[-1] else self.with_last

    def weight(self, scale_share: np.ndarray, *, newest: bool) -> np.ndarray:
        """Return the weights of the members, with or without a newest photo that is in doubt."""
        weight = scale_share @ (self.share if newest or self.trust == 1.0 else self.earlier[0])
        return np.asarray(weight / weight.sum())

    def target(self, scale_share: np.ndarray, *, newest: bool) -> Target:
        """Return what the zone's members are weighed by, for any member."""
        count = len(self.day) - (not newest and self.trust < 1.0)
        day, scales = self.day[:count], self.scales[:, :count]
        if not count:
            return Target(day, self.level, scales, scales, np.zeros(len(scales)))
        photo = p.TEMPER * p.WEIGHT_PER_DAY ** (day[-1] - day)
        # Each scale's evidence is taken out again: how likely the scales are is settled over all zones.
        evidence = self.with_last if count == len(self.day) else self.earlier[1]
        # Scales that a photo's own error makes equal are one.
        held = np.append((scales[1:] != scales[:-1]).any(axis=1), True)
        each = np.add.reduceat(scale_share, np.flatnonzero(np.append(True, held[:-1])))
        scales = scales[held]
        said = np.log(np.maximum(each, 1e-30)) - np.log(scales) @ photo - evidence[held]
        narrow = 1.0 / (p.ERROR_FREEDOM * scales**2)
        return Target(day, self.level[:count], narrow, np.tile(photo, (len(scales), 1)), said)

    def recovery(self, weight: np.ndarray, scale: float) -> Recovery:
        return Recovery(
            self.bank, weight, self.day, self.cover, self.held_out, scale, self.surprising, self.history
        )

    def _log_fit(self, curves: np.ndarray) -> np.ndarray:
        """Log of 1 + r^2 / (freedom scale^2), shape (scales, photos, members)."""
        square = (curves - self.level[:, None].astype(np.float32)) ** 2
        out = np.empty((len(self.scales), *square.shape), dtype=np.float32)
        for part, scale in zip(out, self.scales, strict=True):
            np.multiply(square, (1.0 / (p.ERROR_FREEDOM * scale**2))[:, None].astype(np.float32), out=part)
            np.log1p(part, out=part)
        return out

    def _log_weight(self, fit: np.ndarray, count: int) -> np.ndarray:
        """Log of prior times tempered, aging Student's t of the first photos, shape (scales, members)."""
        if not count:
            return np.tile(self.bank.log_prior, (len(self.scales), 1))
        photo = p.TEMPER * p.WEIGHT_PER_DAY ** (self.day[count - 1] - self.day[:count])
        power = (-0.5 * (p.ERROR_FREEDOM + 1) * photo).astype(np.float32)
        narrow = -(np.log(self.scales[:, :count]) @ photo).astype(np.float32)
        rows = [power @ part[:count] + less for part, less in zip(fit, narrow, strict=True)]
        return self.bank.log_prior + np.stack(rows)

    def _history(self, fit: np.ndarray, every: int) -> np.ndarray:
        """Return the weights of the members after each photo, at the middle scale of the error."""
        aged = np.tril(p.WEIGHT_PER_DAY ** (self.day[:, None] - self.day))
        aged *= -0.5 * (p.ERROR_FREEDOM + 1) * p.TEMPER
        said = aged.astype(np.float32) @ fit + self.bank.log_prior[::every]
        weight = np.exp(said - said.max(axis=1, keepdims=True, initial=-np.inf))
        return np.asarray(weight / weight.sum(axis=1, keepdims=True))

    def _share_beyond(self, earlier: np.ndarray, last: np.ndarray) -> float:
        """Return how much belief from the earlier photos lies near or beyond the last one."""
        weight = np.exp(earlier - earlier.max()).sum(axis=0)
        weight /= weight.sum()
        margin = CONFIRM_SCALES * self.scales[1, -1]
        low = weight @ (last <= self.level[-1] + margin)
        high = weight @ (last >= self.level[-1] - margin)
        return float(min(low, high))


def _weighed(log_weight: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return weights that sum to 1, and the log evidence, for each scale of the error."""
    top = log_weight.max(axis=1, keepdims=True)
    weight = np.exp(log_weight - top)
    total = weight.sum(axis=1, dtype=float)
    return weight / total.astype(np.float32)[:, None], top[:, 0] + np.log(total)


def _doubt_newest(zones: Sequence[_Zone], points: Sequence[str]) -> None:
    """Doubt each photo point's newest photo as far as it may be a bad one; points of one day are judged together."""
    newest: dict[str, float] = {}
    for zone, point in zip(zones, points, strict=True):
        if len(zone.day):
            newest[point] = max(newest.get(point, 0.0), float(zone.day[-1]))
    for day in sorted(set(newest.values())):
        _doubt_photos([
            zone
            for zone, point in zip(zones, points, strict=True)
            if len(zone.day) > 3 and zone.day[-1] == day == newest[point]
        ])  # fmt: skip


def _doubt_photos(shown: Sequence[_Zone]) -> None:
    """Hold a newest photo of these zones out where it is more likely bad than not.

    Zones of one photo tell that together. Those that are alone in theirs cannot: they are held out where the photo lies
    far outside the bands of half of them or more. One zone far out alone is as often a true loss (half of the cases on
    simulated lawns), and Student's t limits the harm if it is not.
    """
    alone = [zone for zone in shown if not zone.light.shared[-1]]
    far_out = [zone for zone in alone if zone.far_out]
    for zone in shown:
        bad = float(zone.light.bad[-1])
        zone.surprising = zone.far_out or float(zone.light.odd[-1]) > SAID_ODD
        if not zone.light.shared[-1] and len(shown) == 1:
            zone.surprising |= zone.share_beyond < SAID_SHARE
        if zone.light.shared[-1] and bad > DOUBT_BAD:
            zone.doubt(bad)
    if 2 * len(far_out) >= len(alone):
        for zone in far_out:
            zone.doubt(1.0)
