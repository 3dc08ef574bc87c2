"""Drawn lawns at a slant, measured by the whole pipeline: bare is bare, full is full, and the light hardly matters."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import numpy as np
import pytest

from swardmark.canopy.blades import Edges
from swardmark.canopy.cover import zone_cover
from swardmark.canopy.scale import leaf_scale, value_counts
from swardmark.canopy.straight import cover_straight_down
from swardmark.lawn.toml import MeasureSettings
from swardmark.measure.survey import Task, measure_photo
from swardmark.photo.decode import decode, read_bytes
from swardmark.practice.blades import Habit
from swardmark.practice.draw import draw_photo
from swardmark.practice.files import save_photo
from swardmark.practice.scene import LIGHTS, SUN, Camera, Ground, Scene, Square
from swardmark.practice.sward import Stand, sow, steady

CAMERA = Camera(position_m=(0.5, -0.9, 1.6), pitch_deg=48, focal35_mm=42, size_px=(900, 675))
GROUND = Ground(path_x_m=None, fence_y_m=2.6, soil_share=0.05)
GROUNDS = {
    "sand": GROUND,
    "wet red soil": replace(GROUND, soil_share=0.95, soil=(150, 92, 66), wet=0.6),
    "dark soil": replace(GROUND, soil_share=0.95, soil=(90, 80, 70)),
}
ALL_LIGHTS = LIGHTS | {"hard shadow": replace(SUN, shadow="tree", shadow_at_m=(0.5, 1.6))}
SETTINGS = MeasureSettings(max_view_deg=60.0)
FULL, HALF = 99.5, 45.0
LEAST_OF_FULL = {"sun": 92.0, "hard shadow": 95.0}
"""Sun picks out the blades that face it and shades the next: pale cells look a little open at a slant. Else 98."""


@pytest.fixture(scope="module")
def swards():
    """Blades without straw, by the cover they were sown for."""
    stands = {pct: [Stand(steady(pct), habit=Habit(dead_share=0.0))] for pct in (HALF, FULL)}
    return {pct: sow(stand, camera=CAMERA, ground=GROUND, seed=5).on_day(0) for pct, stand in stands.items()}


@pytest.fixture
def measure(tmp_path):
    """Measure the whole of a drawn photo as a photo point of its own."""

    def measure_it(blades, light, *, ground=GROUND):
        photo, path = (
            draw_photo(blades, Scene(CAMERA, Square(), light, ground), seed=2),
            tmp_path / "photo.jpg",
        )
        save_photo(path, photo.rgb, taken_at=dt.datetime(2026, 6, 1, 10), focal35_mm=CAMERA.focal35_mm)
        ground_map, facts = measure_photo(
            decode(read_bytes(path), name=path.name), Task("main", 1.0, SETTINGS)
        )
        x, y, height = facts.camera_m
        view = np.degrees(np.arctan2(np.hypot(ground_map.x_m - x, (ground_map.y_m - y)[:, None]), height))
        scale = leaf_scale(
            value_counts(ground_map),
            full_index=[facts.full_index],
            closed=[facts.closed],
            leaf_light=[facts.leaf_light],
            edges=[Edges(*facts.leaf_edges)],
            footprint_mm=facts.footprint_mm,
        )
        return zone_cover(ground_map, np.ones(view.shape, bool), scale=scale, view_deg=view)

    return measure_it


@pytest.mark.parametrize(
    ("ground", "light"),
    [*(("sand", light) for light in ALL_LIGHTS), ("wet red soil", "dusk"), ("dark soil", "dusk")],
)
def test_bare_ground_reads_bare(swards, measure, light, ground):
    bare = swards[FULL].only(np.zeros(len(swards[FULL]), bool))
    cover = measure(bare, ALL_LIGHTS[light], ground=GROUNDS[ground])
    assert cover.cover_pct <= 2
    assert cover.low_pct == pytest.approx(0, abs=0.5)


@pytest.mark.parametrize("light", ALL_LIGHTS)
def test_a_full_lawn_reads_full(swards, measure, light):
    """The interval reaches up to what is drawn, 99 %, in every light."""
    cover = measure(swards[FULL], ALL_LIGHTS[light])
    assert cover.seen_pct >= 96.5
    assert cover.cover_pct >= LEAST_OF_FULL.get(light, 98.0)
    assert cover.high_pct >= 99


def test_the_light_makes_little_difference(swards, measure):
    """Sun, overcast, shade and dusk on the same blades."""
    covers = [measure(swards[HALF], light).cover_pct for light in LIGHTS.values()]
    assert np.ptp(covers) <= 7


def test_two_steps_too_little_exposure_make_little_difference(swards, measure):
    """A step is a factor of two; the plain index does not change with the light as a whole."""
    overcast = LIGHTS["overcast"]
    usual, dark = (
        measure(swards[HALF], replace(overcast, exposure=overcast.exposure * factor)).cover_pct
        for factor in (1.0, 0.25)
    )
    assert dark == pytest.approx(usual, abs=3)


@pytest.mark.parametrize("light", ALL_LIGHTS)
def test_photos_taken_straight_down_read_all_sand_and_all_green(light):
    """One photo without a square: bare sand and dark soil read 0 to 2 %, a full lawn 98 to 100 %, in every light."""
    camera = Camera(position_m=(0.5, 0.5, 1.0), pitch_deg=89.9, focal35_mm=50, size_px=(600, 450))
    ground = replace(GROUND, fence_y_m=9.0)
    full = sow([Stand(steady(FULL))], camera=camera, ground=ground, seed=5).on_day(0)
    none = full.only(np.zeros(len(full), bool))

    def read(blades, below):
        scene = Scene(camera, Square("none"), ALL_LIGHTS[light], below)
        return cover_straight_down(draw_photo(blades, scene, seed=2).rgb).cover_pct

    assert read(full, ground) >= 98
    assert read(none, ground) <= 2
    assert read(none, replace(ground, soil_share=0.95, soil=(90, 80, 70))) <= 2
