"""The recovery of a zone: the curve bank, weighed by what the photos showed.

Every photo multiplies the weight of each member of the bank by a robust likelihood (Student's t, 4 degrees of freedom).
The scale of the error is not known; three are tried and averaged by their evidence over all zones of the lawn. Every
answer - which day, how sure, what cover next week - is then a weighted share or quantile of the bank. There is no
optimizer, so nothing can fail to converge, and the same photos always give the same answer.

The zones of a lawn share information twice: before weighing, the light of the photos they appear in (light.py); after
it, the lawn's pace and form of growth (growth.py).

Method: Bayesian model averaging over a fixed sample (importance weights), Gelman et al., Bayesian Data Analysis, 3rd
ed., chapters 7 and 10; tempering of the likelihood because photos of one zone err together.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np

from swardmark.forecast import priors as p
from swardmark.forecast.bank import CurveBank, draw_bank
from swardmark.forecast.growth import share_growth
from swardmark.forecast.light import Light, photo_keys, shared_light

__all__ = [
    "Band", "Crossing", "CurveBank", "Recovery", "draw_bank", "fit_recovery", "fit_zones", "whole_lawn",
]  # fmt: skip

DRAWS = 512
CONFIRM_SHARE = 0.015
CONFIRM_SCALES = 2.5


@dataclass(frozen=True)
class Band:
    """Cover over days: median and the limits of the 80 % and 95 % bands [%]; `day` counts from leveling."""

    day: np.ndarray
    median: np.ndarray
    low80: np.ndarray
    high80: np.ndarray
    low95: np.ndarray
    high95: np.ndarray


@dataclass(frozen=True)
class Crossing:
    """When a cover is first reached, given that it is this season: median and 80 % window [days], and the chance.

    The days are NaN where no likely member of the bank gets there.
    """

    day: float
    earliest: float
    latest: float
    chance: float


@dataclass(frozen=True, eq=False)
class Recovery:
    """A zone's weighed curve bank.

    Attributes
    ----------
    bank : CurveBank
        The plausible recoveries.
    weight : ndarray, shape (members,)
        Share of belief in each of them; sums to 1.
    day, observed_pct : ndarray, shape (photos,)
        What the photos showed [days since leveling, %].
    held_out : ndarray of bool, shape (photos,)
        A last photo far outside its band, not used until the next one confirms it.
    surprising : bool
        Whether the last photo lies far outside the band of the earlier ones, held out or not.
    scale_pct : float
        Expected scale of a photo's error [points].
    """

    bank: CurveBank
    weight: np.ndarray
    day: np.ndarray
    observed_pct: np.ndarray
    held_out: np.ndarray
    scale_pct: float
    surprising: bool = False

    def cover(self, day: np.ndarray | float) -> Band:
        """Return median, 80 % and 95 % band of the true cover on the given days."""
        days = np.atleast_1d(np.asarray(day, dtype=float))
        values = np.sort(self.bank.at(days, self.draws), axis=1)
        at = (np.array([0.5, 0.1, 0.9, 0.025, 0.975]) * (values.shape[1] - 1)).round().astype(int)
        return Band(days, *(values[:, i].astype(float) for i in at))

    @cached_property
    def draws(self) -> np.ndarray:
        """Evenly spread members of the weighed bank (their numbers, repeated by weight)."""
        total = np.cumsum(self.weight)
        return np.searchsorted(total, (np.arange(DRAWS) + 0.5) / DRAWS * total[-1])

    def chance_by(self, cover_pct: float, day: float) -> float:
        """Return the chance that a cover has been reached by a day."""
        return float(self.weight @ (self.bank.first_day(cover_pct)[0] <= day))

    def chance_above(self, cover_pct: float, day: float) -> float:
        """Return the chance that the cover on a day is at least `cover_pct`."""
        return float(self.weight @ (self.bank.at(day)[0] >= cover_pct))

    def crossing(self, cover_pct: float) -> Crossing:
        """Return when a cover is first reached this season: conditional median, 80 % window, and the chance."""
        days, order = self.bank.first_day(cover_pct)
        newest = float(self.day[-1]) if len(self.day) else 0.0
        until = max(self.bank.season_days, newest + p.LEAST_AHEAD_DAYS)
        sure = np.cumsum(self.weight[order[: np.searchsorted(days, until, side="right", sorter=order)]])
        chance = float(min(sure[-1], 1.0)) if len(sure) else 0.0
        if chance < 0.005:
            return Crossing(np.nan, np.nan, np.nan, chance)
        at = np.minimum(np.searchsorted(sure, np.array([0.5, 0.1, 0.9]) * sure[-1]), len(sure) - 1)
        middle, earliest, latest = (float(d) for d in days[order[at]])
        return Crossing(middle, earliest, latest, chance)

    def gain_pct_per_day(self, day: float, *, span_days: float = 5.0) -> float:
        """Return the expected gain per day over the `span_days` before a day [points per day]."""
        start = max(day - span_days, 0.0)
        rows = self.bank.at(np.array([start, day]))
        return float(self.weight @ (rows[1] - rows[0])) / max(day - start, 1e-9)

    def chance_fallen(self, points: float, day: float) -> float:
        """Return the chance that the cover on a day lies more than `points` under its earlier best."""
        last = max(int(np.ceil(day / self.bank.step_days)), 1)
        best = self.bank.cover_pct[: last + 1].max(axis=0)
        return float(self.weight @ (best - self.bank.at(day)[0] > points))


def fit_recovery(
    day: np.ndarray, cover_pct: np.ndarray, *, bank: CurveBank, sd_pct: np.ndarray | None = None
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
    """
    return fit_zones([day], [cover_pct], bank=bank, sd_pct=None if sd_pct is None else [sd_pct])[0]


def fit_zones(
    days: Sequence[np.ndarray],
    covers_pct: Sequence[np.ndarray],
    *,
    bank: CurveBank,
    sd_pct: Sequence[np.ndarray] | None = None,
    points: Sequence[str] | None = None,
    photos: Sequence[np.ndarray] | None = None,
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
        Photo point of each zone, one for all where not given; which photos they are (`shared_light.photo_keys`).
    """
    kept = photos or [photo_keys(np.asarray(day, float)) for day in days]
    series = [
        _Series.seen(day, cover, None if sd_pct is None else sd_pct[i], kept[i])
        for i, (day, cover) in enumerate(zip(days, covers_pct, strict=True))
    ]
    if not series:
        return ()
    zones = [
        _Zone(bank, one, light) for one, light in zip(series, _lights(series, points, bank), strict=True)
    ]
    _hold_out_together(zones)
    evidence = sum(zone.evidence for zone in zones)
    scale_share = np.exp(evidence - np.max(evidence))
    scale_share /= scale_share.sum()
    weights = share_growth(np.stack([zone.weight(scale_share) for zone in zones]), bank)
    scale = float(scale_share @ np.array(p.ERROR_SCALES_PCT))
    return tuple(zone.recovery(weight, scale) for zone, weight in zip(zones, weights, strict=True))


def whole_lawn(recoveries: Sequence[Recovery], areas: Sequence[float], *, count: int = DRAWS) -> Recovery:
    """Return the recovery of the area-weighted total, the zones' fortunes coupled by a Gaussian copula (0.6).

    Within a zone the members are ranked by their cover ten days after the newest photo; good draws of one zone go
    with good draws of the others, as weather and care are shared.
    """
    from scipy.special import ndtr

    share = np.asarray(areas, float) / np.sum(areas)
    noise = np.random.default_rng(20240607).standard_normal((len(share) + 1, count))
    noise = (noise - noise.mean(axis=1, keepdims=True)) / noise.std(axis=1, keepdims=True)
    ranks = ndtr(np.sqrt(p.ZONE_COUPLING) * noise[0] + np.sqrt(1 - p.ZONE_COUPLING) * noise[1:])
    newest = max((float(r.day[-1]) for r in recoveries if len(r.day)), default=0.0)
    bank = recoveries[0].bank
    daily = np.ascontiguousarray(bank.cover_pct[:: round(1 / bank.step_days)].T)
    order = np.argsort(bank.at(newest + 10.0)[0])
    total = np.zeros((count, daily.shape[1]), dtype=np.float32)
    for recovery, part, rank in zip(recoveries, share, ranks, strict=True):
        ladder = np.cumsum(recovery.weight[order])
        members = order[np.minimum(np.searchsorted(ladder / ladder[-1], rank), len(order) - 1)]
        total += np.float32(part) * daily[members]
    scale = float(np.mean([r.scale_pct for r in recoveries]))
    day, cover, held = _area_mean(recoveries, share)
    even = np.full(count, 1.0 / count)
    bank = CurveBank(np.ascontiguousarray(total.T), even, 1.0, bank.season_days)
    return Recovery(bank, even, day, cover, held, scale)


def _area_mean(
    recoveries: Sequence[Recovery], share: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return the days on which nine tenths of the area were seen, the mean cover there, and whether held out."""
    days = np.unique(np.concatenate([r.day for r in recoveries]))
    seen, total, held = (np.zeros(len(days)) for _ in range(3))
    for recovery, part in zip(recoveries, share, strict=True):
        at = np.searchsorted(days, recovery.day)
        seen[at] += part
        total[at] += part * recovery.observed_pct
        held[at] += part * recovery.held_out
    enough = seen > 0.9
    return days[enough], total[enough] / seen[enough], held[enough] > 0.5


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

    def __init__(self, bank: CurveBank, series: _Series, light: Light) -> None:
        self.bank, self.day, self.cover, self.light = bank, series.day, series.cover, light
        self.level = self.cover - light.offset_pct
        doubt = np.sqrt(1.0 + p.LIGHT_SHARE * (light.doubt - 1.0))
        self.scales = np.maximum(np.array(p.ERROR_SCALES_PCT)[:, None], series.sd) * doubt
        curves = bank.at(self.day) if len(self.day) else np.empty((0, len(bank.prior)), np.float32)
        self.held_out, self.far_out = np.zeros(len(self.day), dtype=bool), False
        fit = self._log_fit(curves)
        self._weigh(self._log_weight(fit, len(self.day)))
        if len(self.day) > 3:
            self.earlier = self._log_weight(fit, len(self.day) - 1)
            self.far_out = self._is_far_out(curves[-1])

    def hold_out(self) -> None:
        """Weigh the bank by the photos before the last one."""
        self.held_out[-1] = True
        self._weigh(self.earlier)

    def weight(self, scale_share: np.ndarray) -> np.ndarray:
        weight = scale_share @ self.share
        return weight / weight.sum()

    def recovery(self, weight: np.ndarray, scale: float) -> Recovery:
        return Recovery(self.bank, weight, self.day, self.cover, self.held_out, scale, self.far_out)

    def _weigh(self, log_weight: np.ndarray) -> None:
        top = log_weight.max(axis=1, keepdims=True)
        weight = np.exp(log_weight - top)
        total = weight.sum(axis=1, dtype=float)
        self.evidence = top[:, 0] + np.log(total)
        self.share = weight / total.astype(np.float32)[:, None]

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

    def _is_far_out(self, last: np.ndarray) -> bool:
        """Whether almost no belief from the earlier photos lies near or beyond the last one."""
        weight = np.exp(self.earlier - self.earlier.max()).sum(axis=0)
        weight /= weight.sum()
        margin = CONFIRM_SCALES * self.scales[1, -1]
        low = weight @ (last <= self.level[-1] + margin)
        high = weight @ (last >= self.level[-1] - margin)
        return bool(min(low, high) < CONFIRM_SHARE)


def _hold_out_together(zones: Sequence[_Zone]) -> None:
    """Hold out the newest photo where it is more likely a bad one than not.

    Zones of one photo tell that together. Those that are alone in theirs cannot: they are held out where the photo lies
    far outside the bands of half of them or more. One zone far out alone is as often a true loss (half of the cases on
    simulated lawns), and Student's t limits the harm if it is not.
    """
    newest = max((zone.day[-1] for zone in zones if len(zone.day)), default=0.0)
    shown = [zone for zone in zones if len(zone.day) and zone.day[-1] == newest]
    alone = [zone for zone in shown if not zone.light.shared[-1]]
    far_out = [zone for zone in alone if zone.far_out]
    bad = [zone for zone in shown if zone.light.bad[-1] > 0.5 and len(zone.day) > 3]
    for zone in bad + (far_out if 2 * len(far_out) >= len(alone) else []):
        zone.hold_out()
