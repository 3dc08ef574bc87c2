"""Closing and opening under a straightedge: against windows taken one by one, and against volumes in closed form.

Volumes: paraboloid pi r^2 h / 2, cone pi r^2 h / 3, frustum of a cone pi h (R^2 + R r + r^2) / 3 (solid geometry).
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from swardmark.level.closing import close_under_line, line_cells, open_under_line

CELL_M, LINE_M = 0.02, 2.4
CELLS = line_cells(LINE_M, CELL_M)


def hollow(depth_of, *, half_m: float = 1.5, tilt=(0.0, 0.0)) -> np.ndarray:
    at = np.arange(-half_m, half_m + 1e-9, CELL_M)
    x, y = np.meshgrid(at, at)
    return -depth_of(np.hypot(x, y)) + tilt[0] * x + tilt[1] * y


def litres(heights: np.ndarray) -> float:
    inside = np.ones(heights.shape, bool)
    return float((close_under_line(heights, inside, cells=CELLS) - heights).sum()) * CELL_M**2


@pytest.mark.parametrize(
    ("depth_of", "volume"),
    [
        (lambda r: 30 * np.clip(1 - (r / 0.8) ** 2, 0, None), math.pi * 0.8**2 * 30 / 2),
        (lambda r: 30 * np.clip(1 - r / 0.8, 0, None), math.pi * 0.8**2 * 30 / 3),
        (
            lambda r: 20 * np.clip((0.8 - r) / 0.3, 0, 1),
            math.pi * 20 * (0.8**2 + 0.8 * 0.5 + 0.5**2) / 3,
        ),
        (lambda r: 0 * r, 0.0),
    ],
    ids=["paraboloid", "cone", "frustum", "plane"],
)
def test_a_hollow_takes_the_volume_of_its_solid(depth_of, volume):
    """On a lattice of 2 cm the sums agree with the solids within 0.3 %."""
    assert litres(hollow(depth_of)) == pytest.approx(volume, rel=0.003, abs=1e-9)


def test_the_closing_is_the_lowest_of_the_highest_windows():
    rng = np.random.default_rng(3)
    heights, cells = rng.normal(0, 5, (9, 17)), 5
    inside = rng.uniform(size=heights.shape) > 0.1
    half = cells // 2
    expected = heights.copy()
    for row, col in np.argwhere(inside):
        reached = []
        for line, ground, at in ((heights[row], inside[row], col), (heights[:, col], inside[:, col], row)):
            highest = [
                max(line[k] for k in range(max(0, c - half), min(len(line), c + half + 1)) if ground[k])
                for c in range(at - half, at + half + 1)
            ]
            reached.append(min(highest))
        expected[row, col] = max(reached)
    assert close_under_line(heights, inside, cells=cells) == pytest.approx(expected)


@settings(max_examples=25, deadline=None)
@given(tilt=st.tuples(st.floats(-50, 50), st.floats(-50, 50)), add=st.floats(-500, 500))
def test_a_plane_of_any_fall_takes_no_fill_and_a_constant_changes_nothing(tilt, add):
    plane = hollow(lambda r: 0 * r, half_m=0.8, tilt=tilt)
    assert litres(plane) == pytest.approx(0, abs=1e-6)
    bowl = hollow(lambda r: 20 * np.clip(1 - (r / 0.5) ** 2, 0, None), half_m=0.8)
    assert litres(bowl + add) == pytest.approx(litres(bowl), rel=1e-9)


def test_a_hollow_wider_than_the_edge_is_left():
    """Down to where it is as wide as the edge, it is level enough to be called so."""
    wide = hollow(lambda r: 10 * np.clip(1 - (r / 1.45) ** 2, 0, None))
    assert litres(wide) < 0.9 * math.pi * 1.45**2 * 10 / 2


def test_opening_is_closing_upside_down():
    mound = -hollow(lambda r: 25 * np.clip(1 - (r / 0.6) ** 2, 0, None))
    inside = np.ones(mound.shape, bool)
    cut = mound - open_under_line(mound, inside, cells=CELLS)
    assert float(cut.sum()) * CELL_M**2 == pytest.approx(math.pi * 0.6**2 * 25 / 2, rel=0.003)


def test_ground_outside_is_left_alone_and_holds_nothing_up():
    heights = np.zeros((25, 31))
    heights[:, 10:14] = -8
    inside = np.ones(heights.shape, bool)
    inside[:, 14:] = False
    inside[0] = inside[-1] = False
    heights[:, 14:] = 99
    closed = close_under_line(heights, inside, cells=9)
    assert closed[:, 14:] == pytest.approx(99)
    assert closed[1:-1, 10:14] == pytest.approx(-8), (
        "a hollow at the rim has nothing beyond it for the edge to rest on"
    )
