"""The light of a photo, which shifts all of its zones alike, estimated from all of them together.

Every photo has one offset, added to the cover of each zone in it. Its prior has two parts: usual light, a small normal
shift, and rarely a bad photo, a large one. The cover predicted by the zone's other photos is a normal distribution, its
mean and variance taken from the curve bank; the residual is offset plus the zone's own error (Student's t). The offset
that corrects a zone is that which the *other* zones of the photo show, so no zone explains its own fall away, and the
doubt that remains about it widens the error of the photo. Corrected photos give better expectations, hence a second
round. A zone that is alone in a photo learns nothing of its light: its photo stays as it is.

Method: a random effect of the photo in a mixed model, predicted by its conditional mean (Robinson 1991, "That BLUP is a
good thing", Statistical Science 6:15-32, doi 10.1214/ss/1177011926), on a grid because neither the prior nor the error
is normal; two-part prior for gross errors after Box and Tiao 1968, Biometrika 55:119-129, doi 10.1093/biomet/55.1.119.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from swardmark.bank import priors as p
from swardmark.bank.bank import CurveBank
from swardmark.forecast.growth import growth_factors, share_growth
from swardmark.forecast.state import bank_cells, share_states

GRID_PCT = np.arange(-60.0, 60.5, 0.5)
SCALE_PCT = p.ERROR_SCALES_PCT[1]
LIGHT_VARIANCE = p.LIGHT_SHARE * SCALE_PCT**2
# No offset needs more than so many zones; and two photos before tell too little of the third to tell its light.
MOST_ZONES, LEAST_PHOTOS = 40, 4
CHANGED_PCT = 7.0


@dataclass(frozen=True, eq=False)
class Light:
    """The light of a zone's photos as its other zones show it.

    Attributes
    ----------
    offset_pct : ndarray, shape (photos,)
        By how much the photo reads too high [points].
    doubt : ndarray, shape (photos,)
        Variance of that, over the variance of usual light; 1 where nothing is known.
    bad : ndarray, shape (photos,)
        Chance that the photo is a bad one, from all of its zones.
    odd : ndarray, shape (photos,)
        Chance that it is a bad one or the whole lawn has fallen.
    shared : ndarray of bool, shape (photos,)
        Whether the photo shows another zone.
    """

    offset_pct: np.ndarray
    doubt: np.ndarray
    bad: np.ndarray
    odd: np.ndarray
    shared: np.ndarray


def shared_light(
    days: Sequence[np.ndarray],
    covers_pct: Sequence[np.ndarray],
    sds_pct: Sequence[np.ndarray],
    photos: Sequence[np.ndarray],
    bank: CurveBank,
) -> list[Light]:
    """Return the light of the photos of one photo point, zone by zone.

    Parameters
    ----------
    days, covers_pct, sds_pct : sequence of ndarray, shape (photos,)
        Days since leveling, cover and its standard deviation [points] of each zone; no NaN.
    photos : sequence of ndarray, shape (photos,)
        Which photo each is, as `photo_keys` numbers them.
    bank : CurveBank
        The plausible recoveries.
    """
    known = np.unique(np.concatenate(photos))
    at = [np.searchsorted(known, keys) for keys in photos]
    lights = [_unknown(len(day)) for day in days]
    if len(days) < 2 or len(known) < LEAST_PHOTOS:
        return lights
    step = -(-len(days) // MOST_ZONES)
    speakers = range(0, len(days), step)
    row_of = {i: row for row, i in enumerate(speakers)}
    few = bank.thinned
    curves = [few.at(days[i]) for i in speakers]
    seen = np.zeros((len(speakers) + 1, len(known)), dtype=bool)
    for i, row in row_of.items():
        seen[row, at[i]] = True
    heard = seen.sum(axis=0) > seen
    confirmed = np.zeros(len(known), dtype=bool)
    for last_round in (False, True):
        fits = [_fit(curves[row], covers_pct[i], sds_pct[i], lights[i]) for i, row in row_of.items()]
        told = _told(fits, [at[i] == len(known) - 1 for i in speakers], few)
        left, variance = np.full((2, len(speakers), len(known)), np.nan)
        for i, row in row_of.items():
            mean, doubt = _expected(curves[row], fits[row], told[row])
            left[row, at[i]] = covers_pct[i] - mean
            variance[row, at[i]] = doubt + _own_variance(sds_pct[i])
        offset, doubt, bad, odd = offsets(left, variance)
        offset, doubt = np.where(heard, offset, 0.0), np.where(heard, doubt, 1.0)
        bad, odd = np.where(heard, bad, 0.0), np.where(heard, odd, 0.0)
        confirmed |= _confirmed(offset[-1])
        usual = confirmed if last_round else confirmed | _seem_bad_by_another(bad[-1], fits, at[::step], few)
        offset, doubt = np.where(usual, 0.0, offset), np.where(usual, 1.0, doubt)
        bad, odd = bad * ~usual, odd * ~usual
        of = [(row_of.get(i, -1), on) for i, on in enumerate(at)]
        lights = [Light(offset[one], doubt[one], bad[one], odd[one], heard[one]) for one in of]
    return lights


def _confirmed(offset: np.ndarray) -> np.ndarray:
    """Whether a photo and its neighbor err alike and by much: then it is the lawn that has changed, not the light."""
    alike = np.abs(offset[1:] + offset[:-1]) / 2.0 > CHANGED_PCT
    alike &= np.minimum(np.abs(offset[1:]), np.abs(offset[:-1])) > CHANGED_PCT / 2.0
    alike &= offset[1:] * offset[:-1] > 0
    none = np.zeros(1, dtype=bool)
    return np.asarray(np.concatenate([none, alike]) | np.concatenate([alike, none]))


def _seem_bad_by_another(
    bad: np.ndarray, fits: Sequence[np.ndarray], at: Sequence[np.ndarray], bank: CurveBank
) -> np.ndarray:
    """Whether a photo seems bad, but the others agree better without another one: that one makes it seem so."""
    photos = np.flatnonzero(bad > 0.5)
    rest = np.zeros(len(bad))
    for photo in photos if len(photos) > 1 else []:
        for fit, on in zip(fits, at, strict=True):
            others = bank.log_prior + fit[on != photo].sum(axis=0)
            rest[photo] += others.max() + np.log(np.exp(others - others.max()).sum())
    seem = bad > 0.5
    if len(photos) > 1:
        seem[photos[np.argmax(rest[photos])]] = False
    return seem if len(photos) > 1 else np.zeros(len(bad), dtype=bool)


def offsets(
    left_pct: np.ndarray,
    variance: np.ndarray,
    *,
    freedom: float = p.ERROR_FREEDOM,
    bad_share: float = p.BAD_PHOTO_SHARE,
) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Return the offset of each photo as the other zones show it.

    Parameters
    ----------
    left_pct, variance : ndarray, shape (zones, photos)
        Cover less what was expected [points], and squared scale of its error without the light; NaN where the zone was
        not seen.
    freedom, bad_share : float
        Degrees of freedom of the error; prior chance of a bad photo.

    Returns
    -------
    offset, doubt : ndarray, shape (zones + 1, photos)
        Mean [points] and variance over that of usual light, without the zone itself; the last row leaves none out.
    bad : ndarray, shape (photos,)
        Chance of a bad photo. That of the newest one is less where the whole lawn may have fallen instead: no later
        photo confirms or denies it.
    odd : ndarray, shape (photos,)
        Chance of a bad photo or of such a fall.
    """
    off = left_pct[:, :, None] - GRID_PCT
    log_fit = -0.5 * (freedom + 1.0) * np.log1p(off**2 / (freedom * variance[:, :, None]))
    log_fit = np.concatenate([np.nan_to_num(log_fit), np.zeros((1, *log_fit.shape[1:]))])
    usual = (1.0 - bad_share) * _normal(np.sqrt(LIGHT_VARIANCE))
    bad = bad_share * _normal(p.BAD_PHOTO_SD_PCT)
    lawn = (bad_share > 0) * p.LAWN_FALL_SHARE * _normal(p.LAWN_FALL_SD_PCT, -p.LAWN_FALL_PCT)
    every = np.tile(usual + bad, (left_pct.shape[1], 1))
    every[-1] += lawn
    share = log_fit.sum(axis=0) - log_fit + np.log(every)
    share = np.exp(share - share.max(axis=-1, keepdims=True))
    share /= share.sum(axis=-1, keepdims=True)
    mean = share @ GRID_PCT
    spread = share @ GRID_PCT**2 - mean**2
    odd = (share[-1] * (1.0 - usual / every)).sum(axis=1)
    return mean, spread / LIGHT_VARIANCE, (share[-1] * bad / every).sum(axis=1), odd


def photo_keys(day: np.ndarray) -> np.ndarray:
    """Return a number for each photo of a point, whether it shows the zone or not: its day, and the order within it."""
    return day + 1e-6 * (np.arange(len(day)) - np.searchsorted(day, day))


def _normal(sd: float, mean: float = 0.0) -> np.ndarray:
    return np.exp(-0.5 * ((GRID_PCT - mean) / sd) ** 2) / sd


def _own_variance(sd: np.ndarray) -> np.ndarray:
    """Return the squared scale of a photo's error without its light."""
    return (1.0 - p.LIGHT_SHARE) * np.maximum(SCALE_PCT, sd) ** 2


def _fit(curves: np.ndarray, cover: np.ndarray, sd: np.ndarray, light: Light) -> np.ndarray:
    """Return the log likelihood of each photo, shape (photos, members)."""
    scale = np.maximum(SCALE_PCT, sd) ** 2 * (1.0 + p.LIGHT_SHARE * (light.doubt - 1.0))
    square = (curves - (cover - light.offset_pct).astype(np.float32)[:, None]) ** 2
    fit = np.log1p(square * (1.0 / (p.ERROR_FREEDOM * scale)).astype(np.float32)[:, None])
    fit *= np.float32(-0.5 * (p.ERROR_FREEDOM + 1.0) * p.TEMPER)
    return np.asarray(fit)


def _told(fits: Sequence[np.ndarray], newest: Sequence[np.ndarray], bank: CurveBank) -> list[np.ndarray]:
    """Return the log prior of each zone's photos once it has heard the others, shape (photos, members).

    What the newest photo itself shows is not heard before it is judged: a bad one would call itself a dying lawn.
    """
    every = np.stack([bank.log_prior + fit.sum(axis=0) for fit in fits])
    last = np.stack([fit[new].sum(axis=0) for fit, new in zip(fits, newest, strict=True)])
    heard, before = (_heard(log_weight, bank) for log_weight in (every, every - last))
    return [np.where(new[:, None], one, other) for new, one, other in zip(newest, before, heard, strict=True)]


def _heard(log_weight: np.ndarray, bank: CurveBank) -> np.ndarray:
    if bank.members is None:
        return np.tile(bank.log_prior, (len(log_weight), 1))
    weight = np.exp(log_weight - log_weight.max(axis=1, keepdims=True))
    weight /= weight.sum(axis=1, keepdims=True)
    state = share_states(weight, bank)[:, bank_cells(bank)]
    weight *= state
    weight /= weight.sum(axis=1, keepdims=True)
    growth = growth_factors(share_growth(weight, bank), bank)
    return np.asarray(bank.log_prior + np.log(state * growth)).astype(np.float32)


def _expected(curves: np.ndarray, fit: np.ndarray, log_prior: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return mean and variance of the cover expected on each photo given the zone's other photos."""
    others = log_prior + fit.sum(axis=0) - fit
    weight = np.exp(others - others.max(axis=1, keepdims=True, initial=-np.inf))
    weight /= weight.sum(axis=1, keepdims=True)
    mean = (weight * curves).sum(axis=1)
    return mean, (weight * (curves - mean[:, None]) ** 2).sum(axis=1)


def _unknown(count: int) -> Light:
    none = np.zeros(count)
    return Light(none, np.ones(count), none, none, np.zeros(count, dtype=bool))
