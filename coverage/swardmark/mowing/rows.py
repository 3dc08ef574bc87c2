"""The values that judging the first mow gives; no computing here."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Literal

from swardmark.forecast.rows import LawnForecast


@dataclass(frozen=True)
class Check:
    """One condition of the first mow; `look` is the setting under [confirmed] that a look at the ground is kept in."""

    name: str
    state: Literal["met", "not met", "unknown"]
    detail: str
    look: str = ""


@dataclass(frozen=True)
class Part:
    """One part of the lawn at the first mow: its cover with the 95 % interval [%], its ground, and whether it is ready.

    `share` is its share of the ground in view, 0..1; `ready_on`, `earliest` and `latest` are the day of its cover with
    the 80 % window, None while no date can be named.
    """

    point: str
    name: str
    cover_pct: float
    low_pct: float
    high_pct: float
    area_m2: float
    share: float
    ready: bool
    ready_on: dt.date | None = None
    earliest: dt.date | None = None
    latest: dt.date | None = None


@dataclass(frozen=True)
class FirstMow:
    """Whether and when the lawn is ready for its first mow, and what is still missing.

    Attributes
    ----------
    ready : bool
        Whether to mow now: enough ground is ready and nothing stands against it, or the leaf is overdue.
    sentence : str
        What to do, in a sentence.
    mow_on, mow_earliest, mow_latest : date or None
        The day on which enough ground has the cover, with its window.
    days_to_go : int or None
        Days to `mow_on`.
    chance : float
        The chance that enough ground has the cover by `mow_latest`; this season, where no day is named.
    checks : tuple of Check
        Cover, leaf height, and the keeper's own looks.
    missing : tuple of str
        What is not met yet, one line each.
    caution : str
        What to take care of with the mower.
    mowed_on : date or None
        The first mow that the diary notes.
    parts : tuple of Part
        The parts of the lawn, in their order.
    overdue : bool
        Whether the leaf stands too high for the target: an alarm, whatever the cover.
    set_mower_mm : float or None
        The height of cut for the first mow [mm]: the target, or what the one-third rule allows.
    footnote : str
        Where the rule of cover comes from.
    old_photo : date or None
        The day of the newest photo where it is too old to say whether the lawn may be mown today: long ago it showed
        the cover, or the window that it gave has passed.
    """

    ready: bool
    sentence: str
    mow_on: dt.date | None
    mow_earliest: dt.date | None
    mow_latest: dt.date | None
    days_to_go: int | None
    chance: float
    checks: tuple[Check, ...]
    missing: tuple[str, ...]
    caution: str
    mowed_on: dt.date | None = None
    parts: tuple[Part, ...] = ()
    overdue: bool = False
    set_mower_mm: float | None = None
    footnote: str = ""
    old_photo: dt.date | None = None

    @property
    def is_due(self) -> bool:
        """Whether mowing is the thing to do now, once the ground allows it."""
        cover, height, *looks = self.checks
        allowed = all(check.state != "not met" for check in looks)
        return allowed and (self.overdue or (cover.state == "met" and height.state != "not met"))

    @property
    def steer_round(self) -> tuple[Part, ...]:
        """The parts that are not ready."""
        return tuple(part for part in self.parts if not part.ready)


@dataclass(frozen=True)
class MowStep:
    """One mowing on the way back to the usual height: the day, the leaf before it and the height of cut [mm]."""

    on: dt.date
    leaf_mm: float
    cut_mm: float


@dataclass(frozen=True, kw_only=True)
class LawnOutlook(LawnForecast):
    """The forecast of a lawn, its first mow and the mowings ahead on the way back to the usual height."""

    first_mow: FirstMow
    way_back: tuple[MowStep, ...] = ()
