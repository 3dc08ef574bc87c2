"""Cover counted by eye: which points to show the keeper, and what the answers say of all points.

Counting points is the trade's reference for cover. Points are drawn at random within three strata of the tool's own
certainty (ground, unsure, leaf), more where it is unsure, each with a known chance. The estimate is the difference
estimator of survey sampling: what the tool says of every point, corrected by what the eye says of the drawn ones,

    cover = mean over all points of tool + sum over strata of (share of the stratum) x mean of (eye - tool) there,

so it is right whatever the color rule says, and exact where the rule is good (Sarndal, Swensson and Wretman 1992, Model
Assisted Survey Sampling, section 6.3; the variance is that of a stratified sample, section 3.7). In a stratum without a
single disagreement the sample variance is zero and says too little; a fifth of a disagreement is added to each stratum.

An eye errs too. Points that were shown twice tell how often: two looks that err independently with the chance e
disagree with the chance 2 e (1 - e). The estimate is then freed of that error, (seen - e) / (1 - 2 e), the usual
correction for a test that errs alike both ways (Rogan and Gladen 1978, Am. J. Epidemiol. 107(1):71-76).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

STRATA = ("ground", "unsure", "leaf")
STRATUM_LIMITS = (0.2, 0.8)
"""Leaf share below which the tool is sure of ground, and above which it is sure of leaf."""
GUESSED_SD = {"ground": 0.25, "unsure": 0.5, "leaf": 0.25}
"""How far eye and tool differ, guessed, by which the points are shared out (Neyman 1934)."""
LEAST_IN_STRATUM = 12
ADDED_DISAGREEMENT = 0.2
LEAST_REPEATS = 20
"""Fewer points shown twice say too little of the counter's own error to correct for it."""


@dataclass(frozen=True)
class Draw:
    """A point drawn to be shown: its place among all points, its stratum, and its chance of being drawn."""

    at: int
    stratum: str
    chance: float


@dataclass(frozen=True)
class Answer:
    """What the eye said of one drawn point.

    Attributes
    ----------
    stratum, chance
        As drawn.
    leaf : bool or None
        True for leaf, False for ground, None where the eye could not tell.
    tool : float
        The leaf share that the tool gives the point, 0..1.
    again : tuple of bool
        What was said when the same point was shown again.
    """

    stratum: str
    chance: float
    leaf: bool | None
    tool: float
    again: tuple[bool, ...] = ()


@dataclass(frozen=True)
class EyeCover:
    """Cover as counted by eye, of what the photo shows.

    Attributes
    ----------
    cover_pct, low_pct, high_pct : float
        Estimate and its 95 % interval, percent.
    tool_pct : float
        What the tool says of the same ground, percent.
    points, cannot_tell : int
        Points that were answered, and those that the eye could not tell.
    eye_error_pct : float
        How often the eye errs, by the points shown twice, percent; NaN where too few were.
    """

    cover_pct: float
    low_pct: float
    high_pct: float
    tool_pct: float
    points: int
    cannot_tell: int
    eye_error_pct: float = float("nan")

    @property
    def differs(self) -> bool:
        """Whether the tool's cover lies outside what the eye leaves open."""
        return not self.low_pct <= self.tool_pct <= self.high_pct


def strata_of(leaf_share: ArrayLike) -> NDArray[np.intp]:
    """Return each point's stratum as an index into STRATA, by the tool's leaf share."""
    return np.asarray(np.digitize(np.asarray(leaf_share, float), STRATUM_LIMITS), np.intp)


def draw_points(leaf_share: ArrayLike, *, points: int, seed: int) -> list[Draw]:
    """Draw points to be counted by eye.

    Parameters
    ----------
    leaf_share : array_like, shape (N,)
        The tool's leaf share of every readable point of the ground, 0..1.
    points : int
        How many to draw; all of them where there are no more.
    seed : int
        The same seed draws the same points.

    Returns
    -------
    list of Draw
        In a random order, so that strata are not shown one after the other.
    """
    rng = np.random.default_rng(seed)
    stratum = strata_of(leaf_share)
    drawn = []
    for number, count in enumerate(_shared_out(np.bincount(stratum, minlength=len(STRATA)), points)):
        inside = np.flatnonzero(stratum == number)
        chosen = rng.choice(inside, count, replace=False)
        drawn += [Draw(int(at), STRATA[number], count / len(inside)) for at in chosen]
    return [drawn[n] for n in rng.permutation(len(drawn))]


def count_cover(answers: Sequence[Answer], *, tool_mean: float) -> EyeCover:
    """Estimate the cover of all points from those that were counted by eye.

    Parameters
    ----------
    answers : sequence of Answer
        At least two that could be told.
    tool_mean : float
        The mean of the tool's leaf share over all points, 0..1.

    Raises
    ------
    ValueError
        Fewer than two points could be told.
    """
    told = [answer for answer in answers if answer.leaf is not None]
    if len(told) < 2:
        raise ValueError("at least two points that could be told are needed")
    gap, variance, freedom = _mean_gap(answers)
    cover = tool_mean + gap
    error, error_variance = _eye_error(told)
    if np.isfinite(error):
        straight = 1 - 2 * error
        variance = variance / straight**2 + ((2 * cover - 1) / straight**2) ** 2 * error_variance
        cover = (cover - error) / straight
    half = _student(freedom) * float(np.sqrt(variance))
    low, high = (float(np.clip(cover + way * half, 0, 1)) for way in (-1, 1))
    return EyeCover(
        cover_pct=100 * float(np.clip(cover, 0, 1)),
        low_pct=100 * low,
        high_pct=100 * high,
        tool_pct=100 * float(np.clip(tool_mean, 0, 1)),
        points=len(told),
        cannot_tell=len(answers) - len(told),
        eye_error_pct=100 * error,
    )


def _shared_out(sizes: NDArray[np.intp], points: int) -> list[int]:
    """Share points out over strata, in proportion to size times the guessed spread, a few to each at the least."""
    points = min(points, int(sizes.sum()))
    weight = sizes * np.array([GUESSED_SD[name] for name in STRATA])
    least = np.minimum(sizes, min(LEAST_IN_STRATUM, points // (2 * len(STRATA))))
    shares = least.astype(int)
    while (left := points - int(shares.sum())) > 0:
        room = sizes - shares
        wanted = np.where(room > 0, weight, 0.0)
        target = np.floor(left * wanted / wanted.sum()).astype(int)
        if not target.any():
            target[int(np.argmax(np.where(room > 0, weight / np.maximum(shares, 1), -1.0)))] = 1
        shares += np.minimum(target, room)
    return [int(count) for count in shares]


def _mean_gap(answers: Sequence[Answer]) -> tuple[float, float, float]:
    """Return the mean of eye minus tool over all points, its variance, and the degrees of freedom (Satterthwaite)."""
    by_stratum: Mapping[str, list[Answer]] = {
        name: [answer for answer in answers if answer.stratum == name] for name in STRATA
    }
    size = {name: sum(1 / answer.chance for answer in own) for name, own in by_stratum.items()}
    total = sum(size.values())
    gap, variance, crowd = 0.0, 0.0, 0.0
    for name, own in by_stratum.items():
        told = [answer for answer in own if answer.leaf is not None]
        if not own:
            continue
        share = size[name] / total
        if not told:
            variance += (share * 0.5) ** 2
            continue
        gaps = np.array([float(bool(answer.leaf)) - answer.tool for answer in told])
        spread = (float(((gaps - gaps.mean()) ** 2).sum()) + ADDED_DISAGREEMENT) / max(len(told) - 1, 1)
        part = share**2 * (1 - len(told) / size[name]) * spread / len(told)
        gap += share * float(gaps.mean())
        variance += part
        crowd += part**2 / max(len(told) - 1, 1)
    return gap, variance, variance**2 / crowd if crowd > 0 else np.inf


def _eye_error(told: Sequence[Answer]) -> tuple[float, float]:
    """Return how often the eye errs, and the variance of that; NaN where too few points were shown twice."""
    looks = [(bool(answer.leaf), again) for answer in told for again in answer.again]
    if len(looks) < LEAST_REPEATS:
        return float("nan"), 0.0
    apart = min((sum(one != other for one, other in looks)) / len(looks), 0.45)
    error = (1 - float(np.sqrt(1 - 2 * apart))) / 2
    safe = (apart * len(looks) + ADDED_DISAGREEMENT) / (len(looks) + 1)
    return error, safe * (1 - safe) / len(looks) / (4 * (1 - 2 * safe))


def _student(freedom: float) -> float:
    """Return the half-width of a 95 % interval in standard errors."""
    from scipy.stats import t

    return float(t.ppf(0.975, max(freedom, 4.0)))
