"""A photo point's scale set right by points that an eye counted, where the two differ beyond chance.

The ends of the scale, bare and full, each lie in a range that its doubt describes (`LeafScale.moved`): a turn of 1 is
the end of that range. The counts decide how far to turn them, all of a photo point together: the turns that minimize

    sum over counts of ((counted cover - tool's cover) / its standard error)^2 + (turns of bare and full / TURN_SD)^2

which is least squares with a normal prior about no turn (ridge regression; Hoerl and Kennard 1970, Technometrics
12(1):55-67). The prior shrinks what few points say, and leaves alone the end that the counted ground tells nothing of.
What doubt is left is that of covers such as the counted ones; where counts of several photos disagree more than their
own errors allow, it is as much larger. A hundred points leave about as much doubt as the photos alone, several hundred
leave less.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from swardmark.canopy.scale import LeafScale

LEAST_POINTS = 30
"""With fewer counted points the scale stays as the photos say."""
BEYOND_CHANCE = 1.96
TURN_SD = 1.0
"""How far the right scale of a lawn whose counts differ beyond chance lies from the tool's, in half-widths of the range
that it called probable, one standard deviation: that range was then too narrow for this lawn."""
BARE_TURNS, FULL_TURNS = np.linspace(-2, 2, 17), np.linspace(-4, 6, 81)
LEAST_SD = 0.005
"""Standard error of a count at the least: the answers of a hundred points are never surer."""


@dataclass(frozen=True, eq=False)
class CountedGround:
    """What an eye counted of a piece of ground in one photo, beside all that the photo shows of it.

    Attributes
    ----------
    values : ndarray of int, shape (254,)
        How many of the ground's readable points hold each of the map values 2..255.
    cover, sd : float
        Counted cover as a share 0..1, and its standard error.
    points : int
        Points that were told.
    """

    values: NDArray[np.int64]
    cover: float
    sd: float
    points: int


def fitted_to_counts(scale: LeafScale, counted: Sequence[CountedGround]) -> LeafScale:
    """Turn a photo point's scale toward what was counted by eye; the scale itself where there is no reason to.

    Parameters
    ----------
    scale : LeafScale
        As the photos alone give it.
    counted : sequence of CountedGround
        All counts of the photo point.
    """
    points = sum(one.points for one in counted)
    if points < LEAST_POINTS:
        return scale
    sd = np.array([max(one.sd, LEAST_SD) for one in counted])
    cover = np.array([one.cover for one in counted])

    def gaps(bare: float, full: float) -> NDArray[np.float64]:
        return np.asarray((cover - _covers(scale.moved(bare, full), counted)) / sd)

    if abs((gaps(0, 0) / sd).sum()) <= BEYOND_CHANCE * np.sqrt((1 / sd**2).sum()):
        return scale
    turns = [(bare, full) for bare in BARE_TURNS for full in FULL_TURNS]
    cost = [(gaps(*turn) ** 2).sum() + np.sum(np.square(turn)) / TURN_SD**2 for turn in turns]
    bare, full = turns[int(np.argmin(cost))]
    slopes = np.stack(
        [gaps(bare + 0.5, full) - gaps(bare - 0.5, full), gaps(bare, full + 0.5) - gaps(bare, full - 0.5)]
    )
    left = np.linalg.inv(slopes @ slopes.T + np.eye(2) / TURN_SD**2)
    shrunk = np.einsum("ig,ij,jg->g", slopes, left, slopes) / np.maximum((slopes**2).sum(axis=0), 1e-12)
    left_sd = float(np.sqrt(shrunk.mean()))
    if len(counted) > 1:
        left_sd *= np.sqrt(max(1.0, float((gaps(bare, full) ** 2).sum()) / (len(counted) - 1)))
    doubt = min(1.0, BEYOND_CHANCE * left_sd)
    return scale.moved(float(bare), float(full), doubts=(doubt, doubt), counted=points)


def _covers(scale: LeafScale, counted: Sequence[CountedGround]) -> NDArray[np.float64]:
    """Return what a scale says of each ground, 0..1."""
    shares = scale.leaf_shares()
    return np.array([np.clip(one.values @ shares / max(int(one.values.sum()), 1), 0, 1) for one in counted])
