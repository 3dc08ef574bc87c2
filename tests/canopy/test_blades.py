"""How upright the blades stand: by stripes of known direction, by what theory says, and by drawn swards."""

from __future__ import annotations

import numpy as np
import pytest

from swardmark.canopy.blades import (
    NO_EDGES,
    SLANT_POWER,
    SLANT_POWER_SD,
    Edges,
    leaf_edges,
    slant_of,
)
from swardmark.canopy.index import GroundMap
from swardmark.canopy.scale import leaf_scale
from swardmark.ground.plane import GroundPlane, pose_of
from swardmark.practice.blades import Habit
from swardmark.practice.draw import draw_photo
from swardmark.practice.scene import OVERCAST, Camera, Ground, Scene, Square
from swardmark.practice.sward import Stand, sow, steady

CAMERA = Camera(position_m=(0.5, -0.6, 1.5), pitch_deg=50, size_px=(1200, 900))
GROUND = Ground(path_x_m=None, fence_y_m=2.6, seed=3)
LEAF, SAND = (86, 122, 52), (196, 178, 150)


def plane_of(camera):
    to_photo = camera.ground_homography
    return GroundPlane(to_photo, camera.size_px, pose_of(to_photo, camera.size_px, camera.focal_px))


GROUND_MAP = GroundMap(np.full((400, 400), 60, np.uint8), -100, -150, 0.01)


def striped(camera, *, standing):
    """Draw stripes that run along, or across, the picture of a plumb line at each pixel."""
    (width, height), plane = camera.size_px, plane_of(camera)
    foot = plane.pixels(np.array([camera.position_m[:2]]))[0]
    x, y = np.meshgrid(np.arange(width) - foot[0], np.arange(height) - foot[1])
    along = np.arctan2(x, -y) * 2000 if standing else np.hypot(x, y)
    return np.where((along // 4 % 2 == 0)[..., None], LEAF, SAND).astype(np.uint8)


@pytest.mark.parametrize("roll", [0.0, 25.0, -70.0])
def test_stripes_up_the_photo_stand_and_stripes_across_it_lie(roll):
    camera = Camera(CAMERA.position_m, CAMERA.pitch_deg, roll_deg=roll, size_px=CAMERA.size_px)
    up, flat = (
        leaf_edges(striped(camera, standing=way), GROUND_MAP, plane_of(camera)) for way in (True, False)
    )
    assert up.across > 10 * up.along
    assert flat.along > 10 * flat.across
    assert slant_of([flat]).power < SLANT_POWER < slant_of([up]).power


def test_bare_ground_and_ground_out_of_sight_leave_the_usual_power():
    rng = np.random.default_rng(1)
    sand = np.clip(np.array(SAND) + rng.normal(0, 4, (900, 1200, 1)), 0, 255).astype(np.uint8)
    bare = leaf_edges(sand, GROUND_MAP, plane_of(CAMERA))
    assert slant_of([bare]).power == pytest.approx(SLANT_POWER, abs=0.03)
    far = GroundMap(GROUND_MAP.values, 600, 600, 0.01)
    assert leaf_edges(sand, far, plane_of(CAMERA)) == NO_EDGES
    assert slant_of([]) == slant_of([NO_EDGES]) == (SLANT_POWER, SLANT_POWER_SD)


def test_photos_have_a_say_by_how_many_edges_they_show():
    told = Edges(60.0, 40.0)
    assert slant_of([told, NO_EDGES]) == slant_of([told])
    assert slant_of([told, Edges(0.01, 0.03)]).power == pytest.approx(slant_of([told]).power, abs=0.03)
    assert slant_of([told, Edges(62.0, 41.0), Edges(900.0, 300.0)]).power < slant_of([told]).power + 0.03
    assert slant_of([told]).sd < SLANT_POWER_SD
    scale = leaf_scale(np.zeros(256), edges=[told])
    assert (scale.slant, scale.slant_sd) == slant_of([told])


def test_drawn_blades_that_stand_are_told_from_blades_that_lie():
    camera, powers = Camera((0.5, -0.7, 1.3), pitch_deg=52, focal35_mm=50, size_px=(900, 675)), []
    for lean in (30, 70):
        habit = Habit(length_mm=28, lean_deg=lean, dead_share=0.0)
        stand = [Stand(steady(45.0), habit=habit)]
        sward = sow(stand, camera=camera, ground=GROUND, seed=3).on_day(0)
        photo = draw_photo(sward, Scene(camera, Square(), OVERCAST, GROUND), seed=3)
        powers.append(slant_of([leaf_edges(photo.rgb, GROUND_MAP, plane_of(camera))]).power)
    assert powers[0] > powers[1] + 0.2
