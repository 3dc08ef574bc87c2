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

from swardmark.forecast import priors as p
from swardmark.forecast.bank import CurveBank

GRID_PCT = np.arange(-60.0, 60.5, 0.5)
SCALE_PCT = p.ERROR_SCALES_PCT[1]
LIGHT_VARIANCE = p.LIGHT_SHARE * SCALE_PCT**2
ROUNDS = 2
# The expectations need no more than every eighth recovery of the bank, and no offset more than so many zones.
THIN, MOST_ZONES = 8, 40


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
    shared : ndarray of bool, shape (photos,)
        Whether the photo shows another zone.
    """

    offset_pct: np.ndarray
    doubt: np.ndarray
    bad: np.ndarray
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
    if len(days) < 2:
        return lights
    speakers = range(0, len(days), -(-len(days) // MOST_ZONES))
    row_of = {i: row for row, i in enumerate(speakers)}
    curves = [bank.at(days[i], slice(None, None, THIN)) for i in speakers]
    seen = np.zeros((len(speakers) + 1, len(known)), dtype=bool)
    for i, row in row_of.items():
        seen[row, at[i]] = True
    heard = seen.sum(axis=0) > seen
    for _ in range(ROUNDS):
        left, variance = np.full((2, len(speakers), len(known)), np.nan)
        for i, row in row_of.items():
            mean, doubt = _expected(curves[row], covers_pct[i], sds_pct[i], lights[i], bank.log_prior[::THIN])
            left[row, at[i]] = covers_pct[i] - mean
            variance[row, at[i]] = doubt + _own_variance(sds_pct[i])
        offset, doubt, bad = offsets(left, variance)
        offset, doubt, bad = (
            np.where(heard, offset, 0.0),
            np.where(heard, doubt, 1.0),
            np.where(heard, bad, 0.0),
        )
        of = [(row_of.get(i, -1), on) for i, on in enumerate(at)]
        lights = [Light(offset[one], doubt[one], bad[one], heard[one]) for one in of]
    return lights


def offsets(
    left_pct: np.ndarray,
    variance: np.ndarray,
    *,
    freedom: float = p.ERROR_FREEDOM,
    bad_share: float = p.BAD_PHOTO_SHARE,
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
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
        Chance of a bad photo.
    """
    off = left_pct[:, :, None] - GRID_PCT
    log_fit = -0.5 * (freedom + 1.0) * np.log1p(off**2 / (freedom * variance[:, :, None]))
    log_fit = np.concatenate([np.nan_to_num(log_fit), np.zeros((1, *log_fit.shape[1:]))])
    usual = (1.0 - bad_share) * _normal(np.sqrt(LIGHT_VARIANCE))
    bad = bad_share * _normal(p.BAD_PHOTO_SD_PCT)
    share = log_fit.sum(axis=0) - log_fit + np.log(usual + bad)
    share = np.exp(share - share.max(axis=-1, keepdims=True))
    share /= share.sum(axis=-1, keepdims=True)
    mean = share @ GRID_PCT
    spread = share @ GRID_PCT**2 - mean**2
    return mean, spread / LIGHT_VARIANCE, share[-1] @ (bad / (usual + bad))


def photo_keys(day: np.ndarray) -> np.ndarray:
    """Return a number for each photo of a point, whether it shows the zone or not: its day, and the order within it."""
    return day + 1e-6 * (np.arange(len(day)) - np.searchsorted(day, day))


def _normal(sd: float) -> np.ndarray:
    return np.exp(-0.5 * (GRID_PCT / sd) ** 2) / sd


def _own_variance(sd: np.ndarray) -> np.ndarray:
    """Return the squared scale of a photo's error without its light."""
    return (1.0 - p.LIGHT_SHARE) * np.maximum(SCALE_PCT, sd) ** 2


def _expected(
    curves: np.ndarray, cover: np.ndarray, sd: np.ndarray, light: Light, log_prior: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Return mean and variance of the cover expected on each photo given the zone's other photos."""
    scale = np.maximum(SCALE_PCT, sd) ** 2 * (1.0 + p.LIGHT_SHARE * (light.doubt - 1.0))
    square = (curves - (cover - light.offset_pct).astype(np.float32)[:, None]) ** 2
    fit = np.log1p(square * (1.0 / (p.ERROR_FREEDOM * scale)).astype(np.float32)[:, None])
    fit *= np.float32(-0.5 * (p.ERROR_FREEDOM + 1.0) * p.TEMPER)
    others = log_prior + fit.sum(axis=0) - fit
    weight = np.exp(others - others.max(axis=1, keepdims=True, initial=-np.inf))
    weight /= weight.sum(axis=1, keepdims=True)
    mean = (weight * curves).sum(axis=1)
    return mean, (weight * (curves - mean[:, None]) ** 2).sum(axis=1)


def _unknown(count: int) -> Light:
    none = np.zeros(count)
    return Light(none, np.ones(count), none, np.zeros(count, dtype=bool))
