"""The values that judging the first mow gives; no computing here."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Literal

from swardmark.forecast.rows import LawnForecast


@dataclass(frozen=True)
class Check:
    """One condition of the first mow."""

    name: str
    state: Literal["met", "not met", "unknown"]
    detail: str


@dataclass(frozen=True)
class FirstMow:
    """Whether and when the lawn is ready for its first mow, and what is still missing.

    `days_to_go` counts from the day of the forecast to `mow_on`; `mowed_on` is the first mow that the diary notes.
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


@dataclass(frozen=True)
class MowStep:
    """One mowing on the way back to the usual height: the day, the leaf before it and the height of cut [mm]."""

    on: dt.date
    leaf_mm: float
    cut_mm: float


@dataclass(frozen=True, kw_only=True)
class LawnOutlook(LawnForecast):
    """The forecast of a lawn, its first mow and the mowings on the way back to the usual height."""

    first_mow: FirstMow
    way_back: tuple[MowStep, ...] = ()
