"""The tables of a trial: frozen columns with their units in the names, as CSV, as frames and as a workbook."""

from __future__ import annotations

import io
import math
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any

from swardmark.common.errors import missing_extra
from swardmark.common.files import write_whole
from swardmark.common.text import plain_cell
from swardmark.trial import sentences
from swardmark.trial.rows import PLOT_COLUMNS, BlockAnalysis, DaysTo, Trial, plot_rows
from swardmark.words.tables import to_csv, to_frame

if TYPE_CHECKING:
    import pandas as pd

MEAN_COLUMNS = {
    "date": "the day of the photos",
    "day": "days since the leveling",
    "treatment": "the treatment",
    "plots": "plots that the mean is of",
    "cover_pct": "mean cover, adjusted for blocks where plots are missing, percent",
    "se_pct": "its standard error, from the error mean square",
    "letters": "treatments that share a letter do not differ significantly at 0.05 (protected LSD)",
    "lsd_pct": "least significant difference at 0.05 of that day, points of cover",
    "cv_pct": "coefficient of variation of that day, percent",
    "f": "F of the treatments",
    "p": "its probability",
    "error_df": "degrees of freedom of the error",
    "error_mean_square_pct2": "error mean square, points squared",
}
RECOVERY_COLUMNS = {
    "treatment": "the treatment",
    "area_plots": "plots that the area is the mean of",
    "area_pct_days": "area under the recovery curve, percent times days",
    "area_se_pct_days": "its standard error",
    "area_letters": "treatments that share a letter do not differ significantly at 0.05 (protected LSD)",
    "area_lsd_pct_days": "least significant difference at 0.05 of the areas",
    "area_first_day": "first day of the area, since the leveling",
    "area_last_day": "its last day",
    "curve_plots": "plots with a forecast, of which the days below are the mean curve's",
    "days_to_50pct": "days from the leveling to 50 % cover; empty where not reached by horizon_day",
    "days_to_50pct_low": "earliest day of its 95 % interval",
    "days_to_50pct_high": "latest day; empty where after horizon_day",
    "days_to_90pct": "days from the leveling to 90 % cover; empty where not reached by horizon_day",
    "days_to_90pct_low": "earliest day of its 95 % interval",
    "days_to_90pct_high": "latest day; empty where after horizon_day",
    "horizon_day": "the last day of the curves: an empty day is over this one (censored)",
}
ANOVA_COLUMNS = {
    "measure": "cover, or area: that under the recovery curve",
    "unit": "pct or pct_days; squares are in its square",
    "date": "the day of the photos; empty for the area",
    "day": "days since the leveling",
    "source": "blocks, treatments (adjusted for blocks), error, total",
    "df": "degrees of freedom",
    "sum_of_squares": "sum of squares",
    "mean_square": "mean square",
    "f": "F",
    "p": "its probability",
}
PLACES = {"f": 3, "p": 5, "sum_of_squares": 4, "mean_square": 4, "error_mean_square_pct2": 4}
SHEETS = ("means", "recovery", "anova", "plots", "plots wide")


def mean_rows(trial: Trial) -> list[dict[str, Any]]:
    """Return the rows of trial.csv: one per day and treatment."""
    rows = []
    for day in trial.days:
        analysis = day.analysis
        shared = {
            "lsd_pct": analysis.lsd,
            "cv_pct": analysis.cv_pct,
            "f": analysis.treatments.f,
            "p": analysis.treatments.p,
            "error_df": analysis.error.df,
            "error_mean_square_pct2": analysis.error.mean_square,
        }
        for one in analysis.means:
            own = {
                "date": day.date,
                "day": day.day,
                "treatment": one.treatment,
                "plots": one.plots,
                "cover_pct": one.mean,
                "se_pct": one.se,
                "letters": one.letters,
            }
            rows.append(_rounded(own | shared))
    return rows


def recovery_rows(trial: Trial) -> list[dict[str, Any]]:
    """Return the rows of trial_recovery.csv: one per treatment."""
    area, (first, last) = trial.area, trial.area_span
    rows = []
    for number, one in enumerate(trial.recovery):
        mean = area.means[number] if area is not None else None
        row = {
            "treatment": one.treatment,
            "area_plots": mean.plots if mean else 0,
            "area_pct_days": mean.mean if mean else math.nan,
            "area_se_pct_days": mean.se if mean else math.nan,
            "area_letters": mean.letters if mean else "",
            "area_lsd_pct_days": area.lsd if area else math.nan,
            "area_first_day": first if area else None,
            "area_last_day": last if area else None,
            "curve_plots": one.plots,
        }
        for days_to in one.days_to:
            row |= _days(days_to)
        horizon = one.days_to[0].horizon
        rows.append(_rounded(row | {"horizon_day": horizon if math.isfinite(horizon) else None}))
    return rows


def anova_rows(trial: Trial) -> list[dict[str, Any]]:
    """Return the rows of trial_anova.csv: four per day, then four for the area."""
    rows = []
    for day in trial.days:
        rows += _anova(day.analysis, {"measure": "cover", "unit": "pct", "date": day.date, "day": day.day})
    if trial.area is not None:
        rows += _anova(trial.area, {"measure": "area", "unit": "pct_days", "date": None, "day": None})
    return rows


def write_trial(trial: Trial, *, folder: Path, xlsx: bool = False) -> list[Path]:
    """Write trial.csv, trial_recovery.csv, trial_anova.csv and trial_plots.csv, and trial.xlsx if wanted."""
    if xlsx and find_spec("openpyxl") is None:
        raise missing_extra(sentences.XLSX_NEEDS, "xlsx", where="--xlsx")
    tables = (
        ("trial.csv", MEAN_COLUMNS, mean_rows(trial)),
        ("trial_recovery.csv", RECOVERY_COLUMNS, recovery_rows(trial)),
        ("trial_anova.csv", ANOVA_COLUMNS, anova_rows(trial)),
        ("trial_plots.csv", PLOT_COLUMNS, plot_rows(trial)),
    )
    written = [write_whole(folder / name, to_csv(columns, rows)) for name, columns, rows in tables]
    if xlsx:
        frames = [to_frame(columns, rows) for _, columns, rows in tables]
        written.append(write_whole(folder / "trial.xlsx", _workbook([*frames, trial.to_frame(wide=True)])))
    return written


def _workbook(frames: list[pd.DataFrame]) -> bytes:
    import pandas as pd

    out = io.BytesIO()
    with pd.ExcelWriter(out, engine="openpyxl") as book:
        for name, frame in zip(SHEETS, frames, strict=True):
            plain = frame.map(lambda cell: plain_cell(cell) if isinstance(cell, str) else cell)
            plain.to_excel(book, sheet_name=name, index=False, freeze_panes=(1, 0))
    return out.getvalue()


def _anova(analysis: BlockAnalysis, about: dict[str, Any]) -> list[dict[str, Any]]:
    sources = (analysis.blocks, analysis.treatments, analysis.error, analysis.total)
    return [
        _rounded(
            about
            | {
                "source": one.name,
                "df": one.df,
                "sum_of_squares": one.sum_of_squares,
                "mean_square": one.mean_square,
                "f": one.f,
                "p": one.p,
            }
        )
        for one in sources
    ]


def _days(days_to: DaysTo) -> dict[str, float | None]:
    name = f"days_to_{days_to.cover_pct:.0f}pct"
    return {name: days_to.day, f"{name}_low": days_to.earliest, f"{name}_high": days_to.latest}


def _rounded(row: dict[str, Any]) -> dict[str, Any]:
    """Round the numbers of a row; two places, unless `PLACES` says otherwise."""
    return {
        name: round(value, PLACES.get(name, 2)) + 0.0
        if isinstance(value, float) and math.isfinite(value)
        else value
        for name, value in row.items()
    }
