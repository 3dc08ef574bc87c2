"""Analysis of variance of a randomized complete block, by least squares, so that plots may be missing.

The model is additive: value = treatment + block + error. Without a missing plot this is the analysis of the handbooks
(Gomez & Gomez 1984, Statistical Procedures for Agricultural Research, ch. 2). With missing plots, treatments are
adjusted for blocks and each mean is the one expected over all blocks alike. With one block it is the analysis of a
completely randomized design.

Letters are protected: where the F test of the treatments is not significant at 0.05, all treatments share one.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from swardmark.trial.letters import letters
from swardmark.trial.rows import LEVEL, BlockAnalysis, Source, TreatmentMean

NAN = math.nan
NO_ERROR = 1e-12
"""A root mean square of the residuals below this share of the largest value is rounding, not error."""


def block_analysis(
    values: Sequence[float], treatments: Sequence[str], blocks: Sequence[str], *, order: Sequence[str] = ()
) -> BlockAnalysis:
    """Analyze one value a plot; plots whose value is NaN are missing.

    Parameters
    ----------
    values : sequence of float
        One per plot.
    treatments, blocks : sequence of str
        Of the same plots.
    order : sequence of str
        The treatments in the order wanted; as they come if absent. One without a plot keeps its place, with NaN.
    """
    known = [n for n, value in enumerate(values) if math.isfinite(value)]
    names = tuple(order) or tuple(dict.fromkeys(treatments))
    given = np.array([values[n] for n in known], float)
    row_of = {name: n for n, name in enumerate(dict.fromkeys(treatments[n] for n in known))}
    column_of = {name: n for n, name in enumerate(dict.fromkeys(blocks[n] for n in known))}
    row = np.array([row_of[treatments[n]] for n in known], int)
    column = np.array([column_of[blocks[n]] for n in known], int)
    fit = _Fit(given, row, column, len(row_of), len(column_of))
    counts = np.bincount(row, minlength=len(row_of))
    means = [
        TreatmentMean(name, int(counts[n]), *fit.mean_and_se(n))
        if (n := row_of.get(name)) is not None
        else TreatmentMean(name, 0, NAN, NAN)
        for name in names
    ]
    if fit.testable:
        signs = letters(list(fit.mean), fit.differ)
        means = [
            replace(one, letters=signs[row_of[one.treatment]]) if one.treatment in row_of else one
            for one in means
        ]
    difference = np.full((len(names), len(names)), NAN)
    at = [n for n, name in enumerate(names) if name in row_of]
    rows = [row_of[names[n]] for n in at]
    difference[np.ix_(at, at)] = fit.difference_se[np.ix_(rows, rows)]
    return BlockAnalysis(
        tuple(means),
        *fit.sources,
        lsd=fit.lsd,
        cv_pct=fit.cv_pct,
        difference_se=difference,
        connected=fit.connected,
    )


class _Fit:
    """The least squares of one table of plots: sums of squares, means and what their differences err by."""

    def __init__(
        self, value: np.ndarray, row: np.ndarray, column: np.ndarray, rows: int, columns: int
    ) -> None:
        middle = float(value.mean()) if len(value) else NAN
        centered = value - middle
        design = (
            np.hstack([np.eye(rows)[row], _sum_to_zero(columns)[column]]) if len(value) else np.zeros((0, 0))
        )
        rank = int(np.linalg.matrix_rank(design)) if len(value) else 0
        self.connected = rank == rows + columns - 1 and rows > 0
        fitted = design @ np.linalg.lstsq(design, centered, rcond=None)[0] if len(value) else centered
        by_block = _group_means(centered, column, columns)[column] if len(value) else centered
        error_df, treatment_df = len(value) - rank, max(rank - columns, 0)
        left = float(((centered - fitted) ** 2).sum())
        floor = len(value) * (NO_ERROR * float(np.abs(value).max(initial=0.0))) ** 2
        left = 0.0 if left <= floor else left
        self.error_ms = left / error_df if error_df > 0 else NAN
        self.sources = (
            self._source("blocks", max(columns - 1, 0), float((by_block**2).sum())),
            self._source(
                "treatments",
                treatment_df,
                float(((fitted - by_block) ** 2).sum()),
                error_df if self.connected else 0,
            ),
            Source("error", error_df, left, self.error_ms, NAN, NAN),
            Source("total", max(len(value) - 1, 0), float((centered**2).sum()), NAN, NAN, NAN),
        )
        self._means(design, centered, middle, row, rows)
        self._differences(error_df)
        self.cv_pct = 100 * math.sqrt(self.error_ms) / middle if middle > 0 else NAN

    @property
    def testable(self) -> bool:
        return self.connected and len(self.mean) > 1 and math.isfinite(self.sources[1].p)

    def mean_and_se(self, number: int) -> tuple[float, float]:
        return float(self.mean[number]), math.sqrt(self.variance[number] * self.error_ms)

    def _source(self, name: str, df: int, squares: float, error_df: int = 0) -> Source:
        """Return a line of the analysis; blocks are not tested, for they are not randomized."""
        from scipy.stats import f as f_distribution

        mean_square = squares / df if df > 0 else NAN
        if error_df <= 0 or df <= 0 or not self.error_ms > 0:
            return Source(name, df, squares, mean_square, NAN, NAN)
        ratio = mean_square / self.error_ms
        return Source(name, df, squares, mean_square, ratio, float(f_distribution.sf(ratio, df, error_df)))

    def _means(
        self, design: np.ndarray, centered: np.ndarray, middle: float, row: np.ndarray, rows: int
    ) -> None:
        if not self.connected:
            self.mean = _group_means(centered, row, rows) + middle
            self.variance = np.full(rows, NAN)
            self.pair_variance = np.full((rows, rows), NAN)
            return
        inverse = np.linalg.inv(design.T @ design)
        self.mean = (inverse @ (design.T @ centered))[:rows] + middle
        own = inverse[:rows, :rows]
        self.variance = np.diag(own)
        self.pair_variance = np.add.outer(self.variance, self.variance) - 2 * own

    def _differences(self, error_df: int) -> None:
        from scipy.stats import t as t_distribution

        rows = len(self.mean)
        variance = np.clip(self.pair_variance, 0.0, None) * self.error_ms
        np.fill_diagonal(variance, 0.0)
        self.difference_se = np.sqrt(variance)
        critical = float(t_distribution.ppf(1 - LEVEL / 2, error_df)) if error_df > 0 else NAN
        pairs = variance[np.triu_indices(rows, 1)]
        self.lsd = critical * math.sqrt(float(pairs.mean())) if len(pairs) and self.error_ms > 0 else NAN
        protected = self.sources[1].p < LEVEL
        apart = np.abs(np.subtract.outer(self.mean, self.mean)) > critical * self.difference_se
        self.differ = apart if protected else np.zeros((rows, rows), dtype=bool)


def _sum_to_zero(levels: int) -> np.ndarray:
    """Return contrasts that make treatment means averages over all blocks alike, shape (levels, levels - 1)."""
    return np.vstack([np.eye(levels - 1), -np.ones((1, levels - 1))])


def _group_means(value: np.ndarray, group: np.ndarray, groups: int) -> np.ndarray:
    counts = np.bincount(group, minlength=groups)
    return np.asarray(np.bincount(group, weights=value, minlength=groups) / np.maximum(counts, 1))
