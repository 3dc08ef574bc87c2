"""Drawn turf with blades that move: scalped gives places to probe and no depth, mown is refused in one line."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import replace

import numpy as np
import pytest
from relief_scenes import Scene, photos_of

from swardmark.common.errors import PhotoRefused
from swardmark.photo.decode import Photo
from swardmark.practice.relief.draw import Sand, square_boards
from swardmark.practice.relief.ground import Dip, dragged_sand
from swardmark.practice.relief.phone import walk
from swardmark.practice.relief.turf import Turf, draw_turf
from swardmark.relief.measure import leaf_pct, measure_relief
from swardmark.relief.readings import ReliefReading, ReliefReview
from swardmark.relief.telling import relief_document, relief_sentences


def turf(*, leaf_mm: float, density: float, sway_mm: float, photos: int = 4) -> list[Photo]:
    """One hollow of 24 mm under the turf; the boards lie on the grass."""
    rng = np.random.default_rng([5, 3])
    heights = dragged_sand(rng, dips=(Dip(0.5, 0.5, 0.55, 0.6, 20.0, 24.0),), prints=0)
    boards = tuple(replace(one, lift_mm=leaf_mm - 1) for one in square_boards())
    soil = Sand(heights, seed=5, color=(138.0, 112.0, 84.0), contrast=0.14, boards=boards)
    views = walk(rng, photos=photos, width_px=1600)
    drawn = Turf(soil, leaf_mm, density, sway_mm)
    return photos_of([draw_turf(view, drawn, seed=50 + n) for n, view in enumerate(views)])


@pytest.fixture(scope="module")
def scalped() -> list[Photo]:
    return turf(leaf_mm=15, density=0.55, sway_mm=0.7)


def test_scalped_turf_gives_places_without_depth_or_sand(scalped: list[Photo]) -> None:
    relief = measure_relief(scalped)
    assert not relief.is_bare and 15 < relief.leaf_pct < 50
    (dip,) = relief.hollows.dips
    assert np.hypot(dip.x_m - 0.5, dip.y_m - 0.5) < 0.25, "the hollow is found"
    reading = ReliefReading("main", dt.date(2026, 6, 3), relief)
    assert reading.heights() is None and ReliefReview((reading,)).sources() == []
    (line,) = relief_sentences(ReliefReview((reading,)))
    assert "probe them with a straightedge" in line
    assert not re.search(r"\d (mm|L|in|cu ft)\b", line)
    (document,) = relief_document(ReliefReview((reading,)))
    assert all(set(one) == {"x_m", "y_m"} for one in document["dips"])


def test_mown_turf_is_refused_in_one_line() -> None:
    with pytest.raises(
        PhotoRefused, match=r"does not look the same from photo to photo .*: set pegs, or measure"
    ) as why:
        measure_relief(turf(leaf_mm=40, density=0.95, sway_mm=6, photos=3))
    assert "\n" not in str(why.value)


def test_bare_sand_has_no_leaf(scene: Scene) -> None:
    assert leaf_pct(scene.photos) < 3
