"""The values of a trial, and the rows of its plots. Cover is in percent; days count from the leveling; NaN: unknown."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from swardmark.common.phrases import DateForm

if TYPE_CHECKING:
    import numpy as np
    import pandas as pd

LEVEL = 0.05
"""The level of significance of tests, least significant differences and letters."""
PLOT_COLUMNS = {
    "plot": "the plot",
    "treatment": "its treatment",
    "block": "its block",
    "date": "the day of the photos",
    "day": "days since the leveling",
    "cover_pct": "its cover, percent; empty where it was not seen",
    "sd_pct": "standard deviation of that measurement, points of cover",
}


@dataclass(frozen=True)
class Plot:
    """One plot: its name, treatment and block, and the photo points that it is drawn at."""

    name: str
    treatment: str
    block: str
    points: tuple[str, ...]


@dataclass(frozen=True)
class TreatmentMean:
    """A treatment's mean.

    Attributes
    ----------
    treatment : str
    plots : int
        Plots that it is the mean of.
    mean : float
        Adjusted for blocks by least squares; the plain mean where no plot is missing.
    se : float
        Its standard error, from the error mean square.
    letters : str
        Treatments that share a letter do not differ significantly; "" where there is no test.
    """

    treatment: str
    plots: int
    mean: float
    se: float
    letters: str = ""


@dataclass(frozen=True)
class Source:
    """One line of an analysis of variance; blocks first, treatments adjusted for blocks."""

    name: str
    df: int
    sum_of_squares: float
    mean_square: float
    f: float
    p: float


@dataclass(frozen=True, eq=False)
class BlockAnalysis:
    """The analysis of variance of a randomized complete block.

    Attributes
    ----------
    means : tuple of TreatmentMean
        In the order of the treatments in lawn.toml.
    blocks, treatments, error, total : Source
        Lines of the analysis.
    lsd : float
        Least significant difference at 0.05; with missing plots, that of a pair of typical precision.
    cv_pct : float
        Coefficient of variation [%].
    difference_se : ndarray, shape (treatments, treatments)
        Standard error of each difference of two means.
    connected : bool
        Whether all treatments can be compared; where not, means are plain and nothing is tested.
    """

    means: tuple[TreatmentMean, ...]
    blocks: Source
    treatments: Source
    error: Source
    total: Source
    lsd: float
    cv_pct: float
    difference_se: np.ndarray
    connected: bool

    @property
    def plots(self) -> int:
        """Plots that the analysis is made of."""
        return sum(mean.plots for mean in self.means)


@dataclass(frozen=True, eq=False)
class TrialDay:
    """One day of photos: cover of each plot, NaN where it was not seen, and the analysis of the day."""

    date: dt.date
    day: int
    cover_pct: tuple[float, ...]
    sd_pct: tuple[float, ...]
    analysis: BlockAnalysis


@dataclass(frozen=True)
class DaysTo:
    """Days from the leveling until a treatment's mean curve reaches a cover, with its 95 % interval.

    `earliest`, `day` and `latest` are None where the cover is not reached within the forecast's `horizon`: the day is
    censored, over `horizon`. All are NaN-free; `known` is False where no plot has a forecast yet.
    """

    cover_pct: float
    day: float | None
    earliest: float | None
    latest: float | None
    horizon: float
    known: bool = True


@dataclass(frozen=True)
class TreatmentRecovery:
    """How a treatment recovers: days to 50 and 90 %."""

    treatment: str
    plots: int
    days_to: tuple[DaysTo, ...]


@dataclass(frozen=True, eq=False)
class Trial:
    """A trial as it stands.

    Attributes
    ----------
    lawn : str
        The lawn's name.
    units : str
        What is shown, metric or us.
    date_form : str
        How dates are written: day month, month day or iso.
    as_of, day_zero : date
        The season's day, and the leveling that days count from.
    treatments : tuple of str
        In the order of lawn.toml.
    plots : tuple of Plot
        In the order of lawn.toml.
    days : tuple of TrialDay
        Oldest first.
    area : BlockAnalysis or None
        Of the area under each plot's recovery curve [percent times days]; None with photos of one day alone.
    area_pct_days : tuple of float
        That area, plot by plot.
    area_span : (int, int)
        First and last day of that area.
    recovery : tuple of TreatmentRecovery
        One per treatment.
    notes : tuple of str
        What is missing or odd.
    """

    lawn: str
    units: str
    date_form: DateForm
    as_of: dt.date
    day_zero: dt.date
    treatments: tuple[str, ...]
    plots: tuple[Plot, ...]
    days: tuple[TrialDay, ...]
    area: BlockAnalysis | None
    area_pct_days: tuple[float, ...]
    area_span: tuple[int, int]
    recovery: tuple[TreatmentRecovery, ...]
    notes: tuple[str, ...]

    def to_frame(self, *, wide: bool = False) -> pd.DataFrame:
        """Return the plots' covers as a table for R or pandas.

        Parameters
        ----------
        wide : bool
            One row a plot with a column for each day, `cover_pct_day_12`, instead of one row per plot and day.
        """
        import pandas as pd

        rows = _wide_rows(self) if wide else plot_rows(self)
        return pd.DataFrame(rows, columns=None if wide else list(PLOT_COLUMNS))

    def __repr__(self) -> str:
        return (
            f"Trial({self.lawn!r}, treatments={len(self.treatments)}, plots={len(self.plots)}, "
            f"days={len(self.days)})"
        )


def plot_rows(trial: Trial) -> list[dict[str, Any]]:
    """Return the rows of trial_plots.csv: one per plot and day."""
    return [
        {
            "plot": plot.name,
            "treatment": plot.treatment,
            "block": plot.block,
            "date": day.date,
            "day": day.day,
            "cover_pct": _hundredths(cover),
            "sd_pct": _hundredths(sd),
        }
        for day in trial.days
        for plot, cover, sd in zip(trial.plots, day.cover_pct, day.sd_pct, strict=True)
    ]


def _wide_rows(trial: Trial) -> list[dict[str, Any]]:
    return [
        {"plot": plot.name, "treatment": plot.treatment, "block": plot.block}
        | {f"cover_pct_day_{day.day}": day.cover_pct[number] for day in trial.days}
        | {"area_pct_days": trial.area_pct_days[number]}
        for number, plot in enumerate(trial.plots)
    ]


def _hundredths(value: float) -> float:
    return round(value, 2) + 0.0 if math.isfinite(value) else value
