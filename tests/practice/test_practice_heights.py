"""The practice lawn's heights: readings lie about the truth, and the truth has the volumes of its bowls."""

from __future__ import annotations

import csv
import datetime as dt
import io

import numpy as np
import pytest

from swardmark.lawn.heights import parse_heights, surface_heights
from swardmark.level.cutfill import cut_and_fill
from swardmark.practice.heights import OLD_DIP, OPEN_MIDDLE, READING_SD_MM, height_mm, heights_files

LEVELED = dt.date(2026, 6, 3)


def test_readings_lie_about_the_truth():
    files = heights_files(LEVELED, seed=4)
    truth = {
        (row["date"], row["x_m"], row["y_m"]): float(row["true_height_mm"])
        for row in csv.DictReader(io.StringIO(files["heights_truth.csv"]))
    }
    rows = parse_heights(files["heights.csv"])
    off = [row.height_mm - truth[row.date.isoformat(), f"{row.x_m:.2f}", f"{row.y_m:.2f}"] for row in rows]
    assert np.std(off) == pytest.approx(READING_SD_MM, rel=0.15)
    assert len({row.date for row in rows}) == 2


def test_what_is_measured_of_them_holds_the_true_volume():
    """A 95 % interval may miss now and then: of eight draws, each before and after the sand, at most two of sixteen."""
    held = []
    for seed in range(1, 9):
        before, after = surface_heights(parse_heights(heights_files(LEVELED, seed=seed)["heights.csv"]))
        for part, is_filled in ((before, False), (after, True)):
            true = OLD_DIP.litres(is_filled=is_filled) + OPEN_MIDDLE.litres(is_filled=is_filled)
            one = cut_and_fill([part])
            held.append(one.fill.low_litres <= true <= one.fill.high_litres)
            assert one.measured_fall.percent == pytest.approx(1.5, abs=0.2)
        assert any(abs(spot.y_m - OPEN_MIDDLE.y_m) < 0.4 for spot in cut_and_fill([after]).low)
    assert sum(held) >= 14


def test_the_field_is_the_paraboloids():
    at = np.arange(-1.5, 4, 0.02)
    x, y = np.meshgrid(at, at)
    dip = -(height_mm(x, y, is_filled=False) + 15 * y)
    near = np.hypot(x - OLD_DIP.x_m, y - OLD_DIP.y_m) < OLD_DIP.width_m / 2
    alone = near & (np.hypot(x - OPEN_MIDDLE.x_m, y - OPEN_MIDDLE.y_m) > OPEN_MIDDLE.width_m / 2)
    assert dip[alone].sum() * 0.02**2 == pytest.approx(OLD_DIP.litres(is_filled=False), rel=0.01)
