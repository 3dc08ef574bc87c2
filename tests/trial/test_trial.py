"""A season of plots to its trial: covers by day, two photo points, missing plots, days to recover, tables."""

from __future__ import annotations

import csv
import math
from dataclasses import replace

import numpy as np
import pytest
from trial_lawns import lawn_text, recovering, season_of_plots

from swardmark.common.errors import UsageError
from swardmark.trial.figure import trial_figure
from swardmark.trial.plots import Seen, combined
from swardmark.trial.recovery import area_span, area_under_curve, first_day
from swardmark.trial.tables import MEAN_COLUMNS, PLOT_COLUMNS, SHEETS, mean_rows, write_trial
from swardmark.trial.terminal import trial_lines
from swardmark.trial.trial import trial_of

PLAN = (
    ("bare", "6 mm", "12 mm"),
    ("12 mm", "bare", "6 mm"),
    ("6 mm", "12 mm", "bare"),
    ("bare", "12 mm", "6 mm"),
)
HALF_WAY = {"bare": 8.0, "6 mm": 14.0, "12 mm": 26.0}
DAYS = (0, 4, 8, 12, 16, 20, 24, 30)


@pytest.fixture(scope="module")
def trial(tmp_path_factory):
    folder = tmp_path_factory.mktemp("trial")
    season = season_of_plots(folder, lawn_text(PLAN), DAYS, recovering(PLAN, HALF_WAY))
    return trial_of(season)


def test_the_means_of_a_day_are_those_of_its_plots(trial):
    covers = recovering(PLAN, HALF_WAY)
    day = trial.days[4]
    assert day.day == 16
    for one in day.analysis.means:
        own = [covers("main", plot.name, 16)[0] for plot in trial.plots if plot.treatment == one.treatment]
        assert one.plots == len(own) == 4
        assert one.mean == pytest.approx(np.mean(own))
    assert [one.letters for one in day.analysis.means] == ["a", "b", "c"]
    assert not any("missing" in note for note in trial.notes)


def test_the_area_orders_the_treatments_and_is_that_of_their_means(trial):
    means = [one.mean for one in trial.area.means]
    assert means == sorted(means, reverse=True)
    assert trial.area_span == (0, 30)
    for number, one in enumerate(trial.area.means):
        curve = [day.analysis.means[number].mean for day in trial.days]
        assert one.mean == pytest.approx(np.trapezoid(curve, DAYS))


def test_days_to_half_cover_lie_where_the_truth_is(trial):
    """The plots' own half-way days are known: 50 % is reached 0.2 days after the middle of a logistic up to 98 %."""
    for one in trial.recovery:
        half, ninety = one.days_to
        assert half.earliest <= half.day <= half.latest
        assert half.earliest - 1.5 <= HALF_WAY[one.treatment] <= half.latest + 1.5
        assert half.day < (ninety.day or math.inf)
    days = [one.days_to[0].day for one in trial.recovery]
    assert days == sorted(days)


def test_a_cover_that_is_not_reached_is_said_to_be_over_the_horizon(tmp_path):
    slow = dict(HALF_WAY, **{"12 mm": 90.0})
    season = season_of_plots(tmp_path, lawn_text(PLAN), DAYS, recovering(PLAN, slow))
    found = trial_of(season)
    ninety = found.recovery[2].days_to[1]
    assert ninety.day is None and ninety.latest is None
    said = trial_lines(found)
    assert f"over {ninety.horizon:.0f}" in "\n".join(said)
    assert "3 treatments in 4 blocks, 12 plots, 8 days of photos" in said[0]
    assert "1 treatment, 1 plot, 1 day of photos" in trial_lines(one_plot(found))[0]


def one_plot(trial):
    plots = (replace(trial.plots[0], block=""),)
    return replace(trial, treatments=trial.treatments[:1], plots=plots, days=trial.days[:1])


def test_hidden_plots_are_missing_and_said(tmp_path):
    truth = recovering(PLAN, HALF_WAY)

    def cover(point, zone, day):
        return None if zone == "plot 203" or (zone == "plot 101" and day == 12) else truth(point, zone, day)

    found = trial_of(season_of_plots(tmp_path, lawn_text(PLAN), DAYS, cover))
    said = "\n".join(found.notes)
    assert "Seen in no photo, and missing: plot 203." in said
    assert "1 of 11 on 15 June" in said
    assert [one.plots for one in found.days[3].analysis.means] == [3, 3, 4]
    assert found.days[3].analysis.error.df == 4
    assert math.isnan(found.area_pct_days[[plot.name for plot in found.plots].index("plot 203")])
    assert found.area.plots == 11, "one hidden day costs no area"


def test_a_plot_seen_from_two_points_is_combined_by_precision(tmp_path):
    truth = recovering(PLAN, HALF_WAY)

    def cover(point, zone, day):
        if point == "far":
            return (truth(point, zone, day)[0] + 2.0, 4.0) if zone in ("plot 101", "plot 102") else None
        return None if zone == "plot 102" else truth(point, zone, day)

    season = season_of_plots(tmp_path, lawn_text(PLAN, points=("main", "far")), DAYS, cover)
    found = trial_of(season)
    assert len(found.plots) == 12
    names = [plot.name for plot in found.plots]
    day = found.days[4]
    assert day.cover_pct[names.index("plot 101")] == pytest.approx(truth("", "plot 101", 16)[0] + 2.0 / 5)
    assert day.sd_pct[names.index("plot 101")] == pytest.approx((1 / 4 + 1 / 16) ** -0.5)
    assert day.cover_pct[names.index("plot 102")] == pytest.approx(truth("", "plot 102", 16)[0] + 2.0)
    assert "1 plot was seen from more than one photo point" in "\n".join(found.notes)


def test_values_that_disagree_are_less_sure():
    alike, apart = combined([Seen(50, 2), Seen(51, 2)]), combined([Seen(40, 2), Seen(60, 2)])
    assert alike.sd_pct == pytest.approx(2**0.5)
    assert apart.cover_pct == pytest.approx(50)
    assert apart.sd_pct == pytest.approx(10)


def test_area_needs_both_ends_and_bridges_the_middle():
    nan = math.nan
    days = (0, 4, 8, 12)
    assert area_under_curve(days, np.array([0, 40, 80, 100.0]), (0, 12)) == pytest.approx(80 + 240 + 360)
    assert area_under_curve(days, np.array([0, nan, 80, 100.0]), (0, 12)) == pytest.approx(320 + 360)
    assert math.isnan(area_under_curve(days, np.array([nan, 40, 80, 100.0]), (0, 12)))
    assert math.isnan(area_under_curve(days, np.array([0, nan, nan, nan]), (0, 12)))
    covers = np.array([[nan, nan, 1], [1, 1, 1], [2, 2, nan], [nan, nan, nan]])
    assert area_span(days, covers) == (4, 8)


def test_the_first_day_lies_between_two_days():
    day = np.array([0.0, 10.0, 20.0])
    assert first_day(day, np.array([0.0, 40.0, 60.0]), 50.0) == pytest.approx(15.0)
    assert first_day(day, np.array([60.0, 40.0, 60.0]), 50.0) == 0.0
    assert first_day(day, np.array([0.0, 40.0, 49.0]), 50.0) is None


ZONE = '[[zone]]\nname = "{name}"\npoint = "{point}"\noutline_m = [[3, 2], [4, 2], [4, 3]]\n{more}'


@pytest.mark.parametrize(
    ("zones", "said"),
    [
        ([ZONE.format(name="a", point="main", more="")], "no zone has a treatment"),
        (
            [ZONE.format(name="a", point=p, more=f'treatment = "{p}"\n') for p in ("main", "far")],
            "'a' has two treatments or two blocks",
        ),
        (
            [
                ZONE.format(name="a", point="main", more='treatment = "x"\nblock = 1\n'),
                ZONE.format(name="b", point="main", more='treatment = "x"\n'),
            ],
            "'b' has no block",
        ),
    ],
)
def test_plots_that_cannot_be_are_told(tmp_path, zones, said):
    from swardmark.lawn.toml import parse_lawn
    from swardmark.trial.plots import plots_of

    with pytest.raises(UsageError, match=r"lawn\.toml") as told:
        plots_of(parse_lawn('name = "x"\n' + "".join(zones), folder=tmp_path))
    assert said in str(told.value)


def test_frames_for_r_are_long_and_wide(trial):
    long, wide = trial.to_frame(), trial.to_frame(wide=True)
    assert list(long.columns) == list(PLOT_COLUMNS)
    assert len(long) == 12 * len(DAYS)
    covers = [f"cover_pct_day_{day}" for day in DAYS]
    assert list(wide.columns) == ["plot", "treatment", "block", *covers, "area_pct_days"]
    again = long.pivot(index="plot", columns="day", values="cover_pct")
    np.testing.assert_allclose(
        again.to_numpy(), wide.sort_values("plot").iloc[:, 3:-1].to_numpy(), atol=0.006
    )


def test_tables_and_workbook_hold_the_same(trial, tmp_path):
    import pandas as pd

    *_, workbook = paths = write_trial(trial, folder=tmp_path, xlsx=True)
    assert [path.name for path in paths] == [
        "trial.csv", "trial_recovery.csv", "trial_anova.csv", "trial_plots.csv", "trial.xlsx",
    ]  # fmt: skip
    rows = list(csv.DictReader(paths[0].open(encoding="utf-8")))
    assert list(rows[0]) == list(MEAN_COLUMNS)
    assert len(rows) == len(mean_rows(trial)) == 3 * len(DAYS)
    sheets = pd.read_excel(workbook, sheet_name=None)
    assert tuple(sheets) == SHEETS
    assert sheets["means"]["cover_pct"].tolist() == [float(row["cover_pct"]) for row in rows]


def test_a_treatment_that_a_spreadsheet_would_run_is_text(tmp_path):
    import openpyxl

    plan = [["=1+1" if name == "bare" else name for name in row] for row in PLAN]
    half = {("=1+1" if name == "bare" else name): day for name, day in HALF_WAY.items()}
    found = trial_of(season_of_plots(tmp_path, lawn_text(plan), DAYS, recovering(plan, half)))
    book = openpyxl.load_workbook(write_trial(found, folder=tmp_path, xlsx=True)[-1])
    assert book["means"]["C2"].value == "'=1+1"
    assert book["means"]["C2"].data_type == "s"


def test_the_figure_has_a_line_for_each_treatment_and_a_bar_for_each_day(trial):
    above, below = trial_figure(trial).axes
    assert len(above.containers) == 3
    texts = [text.get_text() for text in above.texts]
    assert all(any(text.startswith(name) for text in texts) for name in trial.treatments)
    heights = [bar.get_height() for bar in below.containers[0]]
    assert heights == pytest.approx([day.analysis.lsd for day in trial.days])
