"""What is known of a season before its first photo: the depth of its sand, and past seasons.

Every season that was photographed to its end is one row: the lawn's pace, and the share of its zones that met a trouble
or closed.
The seasons of a grass tell where the paces of lawns lie and how far apart, those of the lawn itself where it lies among
them. A few seasons move the prior a little: it counts as much as a stated number of them.

Method: normal hierarchical model (places, lawns, years), its spread by its conditional mean; states of the lawn as a
multinomial with a Dirichlet prior. Gelman et al., Bayesian Data Analysis, 3rd ed., sections 3.4 and 5.4; Casella 1985,
"An introduction to empirical Bayes data analysis", The American Statistician 39(2):83-87.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from pydantic import Field

from swardmark.bank import priors as p
from swardmark.bank.bank import CurveBank, draw_bank
from swardmark.common.errors import FileError
from swardmark.common.phrases import plural
from swardmark.forecast import sentences
from swardmark.forecast.growth import pace_shown
from swardmark.forecast.recovery import Recovery
from swardmark.forecast.rows import ZoneSeries
from swardmark.forecast.series import seen_zones
from swardmark.forecast.state import KINDS_OF, state_shares
from swardmark.forecast.timeaxis import lawn_axis
from swardmark.forecast.weigh import fit_zones
from swardmark.lawn.grasses import grass_row
from swardmark.lawn.tables import Day, Row, check_row, read_text, table_lines
from swardmark.lawn.toml import Lawn
from swardmark.lawn.weather import Weather

PAST_FILE = "past.csv"
PAST_COLUMNS = {
    "lawn": "the lawn's folder",
    "grass": "its grass",
    "leveled_on": "the leveling that the season began with",
    "last_photo": "the newest photo that counts",
    "zones": "zones with photos enough",
    "half_way_days": "day of half the final cover, on the forecast's days, under sand of one pass",
    "half_way_log_sd": "standard deviation of its logarithm",
    "closes": "share of the zones, 0 to 1, that closed without a long tail",
    "levels_off": "that leveled off",
    "stops": "whose growth ran out",
    "pauses": "that paused and went on",
    "dies_back": "that lost ground",
}
LEAST_PHOTOS, FROM_PER_T50, UNTIL_PER_T50 = 5, 3.0, 60.0 / 9.0
"""A season counts from so many photos, seen to so many half-way days of its grass; later photos say no more of it."""
# The variance of a lawn's pace, in units of that of zones: how far the grass's center may be off, and between lawns.
# The second counts as eight lawns, and half of it stays with a lawn from year to year; the shares of the states count
# as twelve seasons. Our judgment.
CENTER_VARIANCE, LAWNS_VARIANCE, LAWNS_COUNT, STAYS, STATES_COUNT = 0.25, 0.40, 8.0, 0.5, 12.0
LEAST_LAWNS_VARIANCE = 0.12


class PastSeason(Row):
    """One past season of a lawn, the columns of past.csv."""

    lawn: str
    grass: str
    leveled_on: Day
    last_photo: Day
    zones: int = Field(ge=1)
    half_way_days: float = Field(gt=0, le=1000)
    half_way_log_sd: float = Field(gt=0, le=5)
    closes: float = Field(ge=0, le=1)
    levels_off: float = Field(ge=0, le=1)
    stops: float = Field(ge=0, le=1)
    pauses: float = Field(ge=0, le=1)
    dies_back: float = Field(ge=0, le=1)

    def is_same_time(self, other: PastSeason) -> bool:
        """Tell whether two seasons of one lawn overlap: they are one, of which the day of the sand was corrected."""
        return self.leveled_on <= other.last_photo and other.leveled_on <= self.last_photo

    @property
    def states(self) -> np.ndarray:
        """Shares of the states of `priors.LAWN_STATES`, in its order."""
        return np.array([getattr(self, name.replace(" ", "_")) for name in p.LAWN_STATES])


def slower_under(lawn: Lawn, zero: dt.date) -> float:
    """Return how many times later the half-way day comes under the sand of a leveling: 1 up to the depth of a pass.

    As the square root of the depth over the pass that the grass stands (our judgment: no trial of depths over home
    lawns was found; 25 mm at once gave poorer sod than thin lifts).
    """
    depths = [mm for level in lawn.leveling if level.date == zero and (mm := lawn.depth_of(level))]
    pass_mm = grass_row(lawn.grass).pass_mm.value
    return round(max(1.0, max(depths, default=0.0) / pass_mm) ** 0.5, 1)


def folder_name(lawn: Lawn) -> str:
    """Return the name that a lawn has in past.csv: its folder's."""
    return lawn.folder.resolve().name


def past_seasons(
    series: Sequence[ZoneSeries], *, lawn: Lawn, as_of: dt.date, weather: Weather | None = None
) -> Iterator[PastSeason]:
    """Yield the seasons of a lawn up to a day that were seen to their end, oldest first.

    Parameters
    ----------
    series : sequence of ZoneSeries
        The measured cover of each zone, of all seasons.
    lawn : Lawn
        Grass and leveling dates.
    as_of : date
        Nothing dated later is read.
    weather : optional
        From weather.csv.
    """
    zeros = sorted({day for day in lawn.leveling_dates if day <= as_of})
    ends = [*(day - dt.timedelta(days=1) for day in zeros[1:]), as_of][: len(zeros)]
    for zero, end in zip(zeros, ends, strict=True):
        seen = seen_zones(series, zero=zero, as_of=end)
        last = max((one.source.taken_on[-1] for one in seen if one.source.taken_on), default=None)
        if last is None or max(len(one.day) for one in seen) < LEAST_PHOTOS:
            continue
        axis = lawn_axis(lawn, zero, weather, as_of=end)
        slower = slower_under(lawn, zero)
        bank = draw_bank(lawn.grass, slower)
        assert bank.row is not None
        until = UNTIL_PER_T50 * bank.row.t50_days
        days = [axis.model_days(one.day) for one in seen]
        kept = [day <= until for day in days]
        fits = fit_zones(
            [day[at] for day, at in zip(days, kept, strict=True)],
            [one.cover_pct[at] for one, at in zip(seen, kept, strict=True)],
            bank=bank,
            sd_pct=[one.sd_pct[at] for one, at in zip(seen, kept, strict=True)],
            points=[one.source.point for one in seen],
            photos=[one.photo[at] for one, at in zip(seen, kept, strict=True)],
            members=0,
        )
        row = season_row(
            fits,
            bank,
            lawn=folder_name(lawn),
            grass=lawn.grass,
            leveled_on=zero,
            last_photo=last,
            slower=slower,
        )
        if row is not None:
            yield row


def expected_of(
    lawn: Lawn,
    series: Sequence[ZoneSeries],
    past: Iterable[PastSeason],
    *,
    zero: dt.date,
    as_of: dt.date,
    weather: Weather | None = None,
) -> tuple[p.LawnPrior, list[str]]:
    """Return what past seasons say of the season that began at `zero`, as it was known on a day, and what to note.

    Parameters
    ----------
    lawn, series, weather
        As for `past_seasons`; the lawn's own seasons with photos are read from them.
    past : iterable of PastSeason
        Other lawns' seasons, and those of this one whose photos are gone.
    zero, as_of : date
        The leveling, and the day of the forecast.
    """
    own_name, before = folder_name(lawn), zero - dt.timedelta(days=1)
    past = tuple(past)
    seen = list(past_seasons(series, lawn=lawn, as_of=before, weather=weather))
    kept = [row for row in past if row.lawn == own_name and row.last_photo < zero]
    rows = [*seen, *(row for row in kept if not any(map(row.is_same_time, seen)))]
    own = [row for row in rows if row.grass == lawn.grass]
    others = [
        row for row in past if row.lawn != own_name and row.last_photo <= as_of and row.grass == lawn.grass
    ]
    others = [row for row in others if row.model_copy(update={"lawn": own_name}) not in own]  # folder renamed
    if not own and not others:
        return p.ANY_LAWN, []
    if own and others:
        template = sentences.PAST_BOTH
    elif own:
        template = plural(len(own), sentences.PAST_OWN_ONE, sentences.PAST_OWN)
    else:
        template = plural(len(others), sentences.PAST_OTHERS_ONE, sentences.PAST_OTHERS)
    note = template.format(own=len(own), others=len(others))
    return lawn_prior([*own, *others], lawn=own_name, grass=lawn.grass), [note]


def season_row(
    fits: Sequence[Recovery],
    bank: CurveBank,
    *,
    lawn: str,
    grass: str,
    leveled_on: dt.date,
    last_photo: dt.date,
    slower: float = 1.0,
) -> PastSeason | None:
    """Return a season as a row, from its zones' own recoveries; None where it was not seen to its end.

    Parameters
    ----------
    fits : sequence of Recovery
        The zones after their last photo, on the bank that they share.
    bank : CurveBank
        That bank.
    lawn, grass, leveled_on, last_photo
        Columns of the row.
    slower : float
        By how much the season's sand slowed it (`slower_under`); taken out again.
    """
    row = bank.row
    assert row is not None
    own = [
        fit for fit in fits if fit.history is not None and _seen_to_its_end(fit.day, row.t50_days / slower)
    ]
    if not own:
        return None
    weight = np.stack([fit.history[-1] for fit in own if fit.history is not None])
    few = bank if weight.shape[1] == len(bank.prior) else bank.thinned
    mean, variance = pace_shown(weight, few)
    # What the photos alone say: the prior of any lawn is taken out again.
    alone = 1.0 / max(1.0 / variance - 1.0 / p.LAWN_PACE_SHARE, 1e-2)
    mean = float(np.clip(mean * alone / variance, -3.2, 3.2))
    shares = state_shares(weight, few)
    return PastSeason(
        lawn=lawn,
        grass=grass,
        leveled_on=leveled_on,
        last_photo=last_photo,
        zones=len(own),
        half_way_days=round(row.t50_days / slower * float(np.exp(row.t50_log_sd * mean)), 2),
        half_way_log_sd=round(max(row.t50_log_sd * float(np.sqrt(alone)), 1e-3), 3),
        **{name.replace(" ", "_"): round(shares[name], 3) for name in p.LAWN_STATES},
    )


def lawn_prior(past: Iterable[PastSeason], *, lawn: str, grass: str) -> p.LawnPrior:
    """Return what past seasons of a grass say of a lawn; what is expected of any lawn where there are none.

    Parameters
    ----------
    past : iterable of PastSeason
        Seasons of this lawn and of others; those of other grasses are left out.
    lawn, grass : str
        The lawn's name, as in its rows, and its grass.
    """
    rows = [season for season in past if season.grass == grass]
    if not rows:
        return p.ANY_LAWN
    prior = p.prior_of(grass)
    pace = np.log(np.array([row.half_way_days for row in rows]) / prior.t50_days) / prior.t50_log_sd
    noise = (np.array([row.half_way_log_sd for row in rows]) / prior.t50_log_sd) ** 2
    names = np.array([row.lawn for row in rows])
    mean, variance = _pace_ahead(pace, noise, names, lawn)
    troubles = _usual_shares()
    usual = np.array([*troubles, 1.0 - sum(troubles)])
    seen = np.array([[*row.states, 1.0 - row.states.sum()] for row in rows])
    times = (STATES_COUNT + seen.sum(axis=0) / usual) / (STATES_COUNT + len(rows))
    return p.LawnPrior(round(mean, 3), round(variance, 3), tuple(float(factor) for factor in times.round(3)))


def read_past(path: Path) -> tuple[PastSeason, ...]:
    """Read a past.csv; none where there is no such file, or one with other columns, which is not ours.

    Raises
    ------
    FileError
        A line cannot be understood.
    """
    text = read_text(path)
    if text is None or text.partition("\n")[0].strip() != ",".join(PAST_COLUMNS):
        return ()
    lines = table_lines(text, columns=PAST_COLUMNS, needed=tuple(PAST_COLUMNS), where=str(path))
    rows: dict[tuple[str, dt.date], PastSeason] = {}
    for line in lines:
        row = check_row(PastSeason, line, {"lawn": "", **line.cells})
        if (row.lawn, row.leveled_on) in rows:
            what = f"the season of {row.lawn} from {row.leveled_on} is given twice"
            raise FileError(what, where=line.where, remedy="Keep one line a season")
        rows[row.lawn, row.leveled_on] = row
    return tuple(rows.values())


def past_rows(kept: Iterable[PastSeason], now: Iterable[PastSeason]) -> list[dict[str, Any]]:
    """Return the rows of a past.csv by lawn and leveling: those it held, and those found now in their place."""
    now = tuple(now)
    old = [row for row in kept if not any(row.lawn == new.lawn and row.is_same_time(new) for new in now)]
    rows = {(season.lawn, season.leveled_on): season for season in (*old, *now)}
    return [rows[key].model_dump(mode="json") for key in sorted(rows)]


def _usual_shares() -> list[float]:
    """Return the share of zones in each state of `priors.LAWN_STATES` on any lawn."""
    share = {kind.name: kind.prior_share for kind in p.KINDS}
    whole = sum(share.values())
    return [sum(share[kind] for kind in KINDS_OF.get(name, (name,))) / whole for name in p.LAWN_STATES]


def _seen_to_its_end(day: np.ndarray, t50_days: float) -> bool:
    return len(day) >= LEAST_PHOTOS and float(day[-1]) >= FROM_PER_T50 * t50_days


def _pace_ahead(pace: np.ndarray, noise: np.ndarray, names: np.ndarray, lawn: str) -> tuple[float, float]:
    """Return mean and variance of a lawn's pace in a season to come."""
    spread, center, unsure = LAWNS_VARIANCE, 0.0, CENTER_VARIANCE
    groups = [np.flatnonzero(names == name) for name in np.unique(names)]
    for _ in range(8):
        # Each lawn's mean over its years, its own errors averaged.
        mean = np.array([pace[of].mean() for of in groups])
        error = np.array([(1.0 - STAYS) * spread / len(of) + noise[of].mean() / len(of) for of in groups])
        narrow = 1.0 / (STAYS * spread + error)
        unsure = 1.0 / (1.0 / CENTER_VARIANCE + narrow.sum())
        center = unsure * float(narrow @ mean)
        seen = float(((pace - center) ** 2 - noise).sum())
        spread = max((LAWNS_COUNT * LAWNS_VARIANCE + seen) / (LAWNS_COUNT + len(pace)), LEAST_LAWNS_VARIANCE)
    own = np.flatnonzero(names == lawn)
    stays, ahead = STAYS * spread, center
    if len(own):
        known = stays / (stays + (1.0 - STAYS) * spread / len(own) + float(noise[own].mean()) / len(own))
        ahead, stays = center + known * float(pace[own].mean() - center), stays * (1.0 - known)
    return float(ahead), float(unsure + stays + (1.0 - STAYS) * spread)
