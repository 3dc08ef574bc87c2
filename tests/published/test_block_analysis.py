"""The analysis of a randomized complete block against a handbook's example, a reference library and a published LSD."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
import pytest

from swardmark.trial.analysis import block_analysis

# Gomez & Gomez 1984, Statistical Procedures for Agricultural Research, p. 26: rice yield in kg/ha at six seeding rates,
# four blocks. Yields as in the agridat collection (github.com/kwstat/agridat, data/gomez.seedrate.txt); the
# figures that the test wants were computed from those yields. The book was not retrieved: its print is unchecked.
SEED_RATES = {
    "25": (5113, 5398, 5307, 4678),
    "50": (5346, 5952, 4719, 4264),
    "75": (5272, 5713, 5483, 4749),
    "100": (5164, 4831, 4986, 4410),
    "125": (4804, 4848, 4432, 4748),
    "150": (5254, 4542, 4919, 4098),
}
# NTEP bermudagrass test bg07, table 6C (https://ntep.org/data/bg07/bg07_10-4/bg0710t06c.txt): six of its entries on
# five days, and the LSD printed below each column. Its CV runs from 7 to 17 %.
NTEP = {
    "Midlawn": (18.3, 21.3, 41.7, 57.3, 71.7),
    "OKC 1119": (46.3, 56.3, 78.3, 87.3, 94.0),
    "OKC 1134": (40.7, 51.3, 78.3, 88.0, 97.0),
    "Patriot": (22.3, 26.3, 43.3, 63.3, 81.0),
    "Premier": (30.7, 43.3, 66.7, 79.0, 88.7),
    "Tifway": (45.7, 50.7, 74.0, 84.3, 94.0),
}
NTEP_LSD = (9.9, 11.6, 15.4, 9.9, 13.1)


def long(table):
    rows = [(value, name, str(block)) for name, values in table.items() for block, value in enumerate(values)]
    return tuple(zip(*rows, strict=True))


def test_the_seeding_rates_of_the_handbook():
    found = block_analysis(*long(SEED_RATES))
    assert [one.mean for one in found.means] == pytest.approx(
        [5124.00, 5070.25, 5304.25, 4847.75, 4708.00, 4703.25], abs=0.005
    )
    squares = [part.sum_of_squares for part in (found.blocks, found.treatments, found.error, found.total)]
    assert [round(one) for one in squares] == [1_944_361, 1_198_331, 1_658_376, 4_801_068]
    assert (found.blocks.df, found.treatments.df, found.error.df, found.total.df) == (3, 5, 15, 23)
    assert round(found.error.mean_square) == 110_558
    assert round(found.treatments.f, 2) == 2.17
    assert round(found.treatments.p, 3) == 0.113
    assert round(found.cv_pct, 1) == 6.7
    assert round(found.lsd) == 501
    assert {one.letters for one in found.means} == {"a"}, "the F test is not significant"


def missing(table, *holes):
    rows = {name: list(values) for name, values in table.items()}
    for name, block in holes:
        rows[name][block] = math.nan
    return rows


@pytest.mark.parametrize(
    "table",
    [
        SEED_RATES,
        missing(SEED_RATES, ("50", 1)),
        missing(SEED_RATES, ("25", 0), ("75", 0), ("150", 3), ("150", 2)),
        {name: values[:2] for name, values in missing(SEED_RATES, ("100", 1)).items()},
    ],
    ids=["balanced", "one missing", "four missing", "two blocks, one missing"],
)
def test_a_reference_library_finds_the_same(table):
    """Against statsmodels: sums of squares, F and P, adjusted means, and every standard error, to 1e-8."""
    from statsmodels.formula.api import ols
    from statsmodels.stats.anova import anova_lm

    values, treatments, blocks = long(table)
    found = block_analysis(values, treatments, blocks)
    frame = pd.DataFrame({"y": values, "t": treatments, "b": blocks}).dropna()
    frame["t"] = pd.Categorical(frame["t"], list(table))
    fit = ols("y ~ C(b) + C(t)", frame).fit()
    lines = anova_lm(fit, typ=1)
    for ours, theirs in ((found.blocks, "C(b)"), (found.treatments, "C(t)"), (found.error, "Residual")):
        assert ours.df == lines.loc[theirs, "df"]
        assert ours.sum_of_squares == pytest.approx(lines.loc[theirs, "sum_sq"], rel=1e-8)
        assert ours.mean_square == pytest.approx(lines.loc[theirs, "mean_sq"], rel=1e-8)
    assert found.treatments.f == pytest.approx(lines.loc["C(t)", "F"], rel=1e-8)
    assert found.treatments.p == pytest.approx(lines.loc["C(t)", "PR(>F)"], rel=1e-8)

    names, levels = list(table), sorted(set(blocks))
    parameters = list(fit.params.index)
    contrasts = np.zeros((len(names), len(parameters)))
    contrasts[:, 0] = 1.0
    for number, name in enumerate(names[1:], 1):
        contrasts[number, parameters.index(f"C(t)[T.{name}]")] = 1.0
    for level in levels[1:]:
        contrasts[:, parameters.index(f"C(b)[T.{level}]")] = 1 / len(levels)
    means = fit.t_test(contrasts)
    assert [one.mean for one in found.means] == pytest.approx(means.effect, rel=1e-8)
    assert [one.se for one in found.means] == pytest.approx(means.sd.ravel(), rel=1e-8)
    for one in range(len(names)):
        for other in range(one + 1, len(names)):
            pair = fit.t_test(contrasts[one] - contrasts[other])
            assert found.difference_se[one, other] == pytest.approx(pair.sd.item(), rel=1e-8)
    critical = (fit.conf_int(0.05)[1] - fit.params).iloc[0] / fit.bse.iloc[0]
    typical = np.sqrt(np.mean(found.difference_se[np.triu_indices(len(names), 1)] ** 2))
    assert found.lsd == pytest.approx(critical * typical, rel=1e-8)
    assert found.cv_pct == pytest.approx(100 * np.sqrt(fit.mse_resid) / frame["y"].mean(), rel=1e-8)


def test_the_published_means_are_those_of_three_plots():
    """Plots are rated in whole percent, so means of three end in .0, .3 or .7."""
    tenths = {round(10 * value) % 10 for values in NTEP.values() for value in values}
    assert tenths == {0, 3, 7}


@pytest.mark.parametrize("day", range(5))
def test_a_published_lsd_fits_the_published_coefficient_of_variation(day):
    """Ratings of single plots are not published, so an LSD cannot be computed anew.

    What can be checked: with the error that the printed LSD needs between means of three plots, our analysis gives the
    printed LSD back, and the coefficient of variation that it then gives lies where the table's do, 7 to 17 %. Six
    entries stand for all of the test here, with their own 10 degrees of freedom. As means of two plots day 21 would
    have 5.8 %, as means of six day 0 22.6 %.
    """
    means = np.array([values[day] for values in NTEP.values()])
    rng = np.random.default_rng(day)
    error = rng.normal(size=(6, 3))
    error -= error.mean(axis=0) + error.mean(axis=1)[:, None] - error.mean()
    blocks = np.array([-3.0, 0.0, 3.0])

    def analyzed(scale):
        plots = dict(zip(NTEP, means[:, None] + blocks + scale * error, strict=True))
        return block_analysis(*long(plots))

    scale = NTEP_LSD[day] / analyzed(1.0).lsd
    found = analyzed(scale)
    assert found.lsd == pytest.approx(NTEP_LSD[day], abs=1e-9)
    assert found.error.mean_square == pytest.approx(1.5 * (NTEP_LSD[day] / 2.2281) ** 2, rel=1e-4)
    assert [one.mean for one in found.means] == pytest.approx(means, abs=1e-9)
    assert 6.5 <= found.cv_pct <= 17.5
