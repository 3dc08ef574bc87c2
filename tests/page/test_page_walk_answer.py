"""What the page says of measured photos: dips to drag, ground that is level, turf, and what dragging again did."""

from __future__ import annotations

import datetime as dt
import re

import numpy as np
import pytest

from swardmark.bundle.lattice import lattice_round
from swardmark.lawn.folder import start_lawn
from swardmark.lawn.toml import Lawn
from swardmark.page.walk.answer import _sand, answer_of
from swardmark.relief.dips import find_hollows
from swardmark.relief.measure import Relief
from swardmark.relief.readings import ReliefReading, ReliefReview

LATTICE = lattice_round(np.array([0.5, 0.5]))


@pytest.fixture
def lawn(tmp_path) -> Lawn:
    return start_lawn(tmp_path / "lawn", leveled=dt.date(2026, 6, 3))


def reading(deepest_mm: float, *, minute: int = 0, leaf_pct: float = 0.0) -> ReliefReading:
    """Return sand with one bowl in the square's middle."""
    x, y = np.moveaxis(LATTICE.places_m, -1, 0)
    away = np.hypot(x - 0.5, y - 0.5)
    height = -deepest_mm * np.exp(-(away**2) / 0.06)
    height[away > 1.5] = np.nan
    error = np.where(np.isfinite(height), 0.4, np.nan)
    hollows = find_hollows(height, error, LATTICE)
    when = dt.datetime(2026, 6, 3, 10, minute)
    marks = np.zeros((4, 4, 2))
    relief = Relief(
        when, LATTICE, height, error, hollows, leaf_pct, tuple(f"{n}.jpg" for n in range(5)), 0.1, marks
    )
    return ReliefReading("main", when.date(), relief)


def test_a_dip_says_drag_twice_across_it(lawn):
    answer = answer_of(ReliefReview((reading(14.0),)), lawn, point="main")
    (step,) = answer.steps
    assert step.do == "Drag twice across 1: 13 mm low, 2.4 L."
    assert step.more[0].startswith("50 cm to the right of corner mark 0 and 50 cm farther away. Ground")
    assert answer.notes[0].startswith("Deeper than two passes of 6 mm (1): fill half")
    assert answer.caution.startswith("Dry sand dust") and answer.map_key == "2026-06-03-100000"


def test_after_dragging_again_it_says_what_was_and_what_is(lawn):
    answer = answer_of(ReliefReview((reading(14.0), reading(4.0, minute=20))), lawn, point="main")
    assert answer.steps[0].do.startswith("Level: no dip of 10 mm")
    assert any("was 13 mm low, is" in note for note in answer.notes)
    assert answer.caution == ""


def test_turf_gets_places_and_neither_depth_nor_sand(lawn):
    answer = answer_of(ReliefReview((reading(14.0, leaf_pct=40.0),)), lawn, point="main")
    said = " ".join([*(step.do for step in answer.steps), *answer.notes])
    assert said.startswith("Probe 1 with a straightedge") and re.search(r"\d (mm|L)\b", said) is None


def test_nothing_is_said_of_another_photo_point(lawn):
    assert answer_of(ReliefReview((reading(14.0),)), lawn, point="gate") is None
    assert answer_of(ReliefReview(), lawn, point="main") is None


def test_feet_and_inches(lawn):
    us = lawn.model_copy(update={"units": "us"})
    answer = answer_of(ReliefReview((reading(14.0),)), us, point="main")
    assert answer.steps[0].do == "Drag twice across 1: 1/2 in low, 0.62 gal."
    assert answer.map_alt.endswith("; 1 low spot with its number")
    assert _sand(0.1, us) == "0.026 gal" and _sand(0.0, us) == "0 gal" and _sand(25.0, us) == "6.6 gal"
