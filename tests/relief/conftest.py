"""Drawn sets of relief photos, small enough for tests."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "benchmarks"))

from relief_scenes import Scene, draw_scene

from swardmark.practice.relief.ground import Dip
from swardmark.relief.measure import Relief, measure_relief


@pytest.fixture(scope="session")
def scene() -> Scene:
    """Four photos of sand with one dip of 16 mm in the square's middle."""
    return draw_scene(7, photos=4, width_px=1500, dips=(Dip(0.5, 0.5, 0.45, 0.5, 20.0, 16.0),), prints=1)


@pytest.fixture(scope="session")
def relief(scene: Scene) -> Relief:
    return measure_relief(scene.photos)
