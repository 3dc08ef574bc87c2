"""A path, a bed or lawn: bare ground that the edge of the view cuts off."""

import numpy as np
import pytest
from drawn_stack import CAMERA, DAYS, SCALE, Disc, draw
from shapely import Point

from swardmark.canopy.index import NOT_SEEN
from swardmark.lawn.toml import Zone
from swardmark.relevel.spots import find_spots

BARE, LEAF = 77, 142  # excess green 0 and 0.26
DISC = Disc(0.5, 2.6, 0.3)


def paved(where, *, seed, discs=(DISC,), value=BARE):
    """Draw a lawn and pave it where `where(x, y)` holds."""
    maps = draw(list(discs), seed=seed, patchy=0.1)
    for ground_map in maps:
        x, y = np.meshgrid(ground_map.x_m, ground_map.y_m)
        ground_map.values[where(x, y) & (ground_map.values != NOT_SEEN)] = value
    return maps


def search(maps, **options):
    return find_spots(maps, DAYS, scale=SCALE, camera_m=CAMERA, **options)


PATHS = {
    "along the left edge": lambda x, y: x < -0.9,
    "across the view": lambda x, y: np.abs(x - 1.6) < 0.3,
    "narrow, across the view": lambda x, y: np.abs(x - 1.6) < 0.18,
    "slanting over a corner": lambda x, y: x + y > 5.6,
    "along the far edge": lambda x, y: y > 4.2,
    "a round bed cut off": lambda x, y: np.hypot(x + 1.75, y - 1.9) < 0.45,
}


@pytest.mark.parametrize("name", PATHS)
def test_what_the_edge_cuts_off_is_left_out_and_the_disc_is_found(name):
    found = search(paved(PATHS[name], seed=31))
    assert [(round(s.x_m, 1), round(s.y_m, 1)) for s in found.spots] == [(0.5, 2.6)]
    assert len(found.left_out_m) >= 1


def test_a_spot_a_hand_beside_the_path_is_still_found():
    beside = Disc(1.0, 2.6, 0.25)  # its rim is 10 cm from the path's
    found = search(paved(lambda x, y: x > 1.35, seed=32, discs=[beside]))
    assert len(found.spots) == 1
    assert found.spots[0].area_m2 == pytest.approx(np.pi * 0.25**2, rel=0.3)


@pytest.mark.parametrize("told_by", ["zone", "outline", "before"])
def test_it_is_a_spot_where_the_keeper_or_an_older_photo_says_that_it_is_lawn(told_by):
    maps = paved(PATHS["a round bed cut off"], seed=33, discs=())
    assert search(maps).spots == ()
    corners = ((-2.0, 1.0), (3.0, 1.0), (3.0, 4.5), (-2.0, 4.5))
    older = paved(lambda x, y: y > -9, seed=33, discs=(), value=LEAF)[:1]
    options = {
        "zone": {"zones": [Zone(name="all", outline_m=corners)]},
        "outline": {"outline_m": corners},
        "before": {"other_seasons": older},
    }
    found = search(maps, **options[told_by])
    assert found.left_out_m == ()
    assert len(found.spots) == 1
    assert found.spots[0].at_edge


def test_photos_from_before_the_sand_tell_lawn_and_are_no_part_of_the_season():
    maps = paved(PATHS["a round bed cut off"], seed=33, discs=())
    older = paved(lambda x, y: y > -9, seed=33, discs=(), value=LEAF)[:1]
    found = find_spots([*older, *maps], [-2.0, *DAYS], scale=SCALE, camera_m=CAMERA)
    assert found == search(maps, other_seasons=older)


def test_a_place_at_the_edge_in_which_some_grass_grows_is_lawn_that_lags():
    maps = paved(PATHS["a round bed cut off"], seed=34, discs=())
    rng = np.random.default_rng(34)
    for ground_map in maps:
        ground_map.values[(ground_map.values == BARE) & (rng.random(ground_map.values.shape) < 0.2)] = LEAF
    found = search(maps)
    assert len(found.spots) == 1
    assert found.left_out_m == ()


def test_pieces_a_few_centimeters_apart_are_one_place_and_two_beyond_a_shovels_width():
    near = [Disc(0.3, 2.6, 0.15), Disc(0.68, 2.6, 0.15)]  # 8 cm of turf between their rims
    far = [Disc(0.3, 2.6, 0.15), Disc(0.95, 2.6, 0.15)]  # 35 cm
    (one,) = search(draw(near, seed=35, patchy=0.1)).spots
    assert one.polygon.contains(Point(0.49, 2.6))
    assert len(search(draw(far, seed=35, patchy=0.1)).spots) == 2
