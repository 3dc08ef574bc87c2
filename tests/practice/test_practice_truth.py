"""Strips keep their area, and the true cover is right where it can be worked out by hand."""

import numpy as np
import pytest

from swardmark.practice.blades import Blades, as_strips, build_blades
from swardmark.practice.lawn import FILLS, SLOW, STALLS
from swardmark.practice.raster import paint_strips
from swardmark.practice.scene import Camera, Ground
from swardmark.practice.sward import Stand, sow, steady
from swardmark.practice.truth import true_cover_pct

UNIT = [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)]
OVERHEAD = Camera(position_m=(0.5, 0.5, 1.6), pitch_deg=90, focal35_mm=40, size_px=(240, 240))
OPEN_GROUND = Ground(fence_y_m=None, path_x_m=None)


def flat_blades(root, azimuth, *, length=0.03, width=0.003, living=True):
    n = len(root)
    return build_blades(
        np.asarray(root, float),
        length_m=np.full(n, length),
        width_m=np.full(n, width),
        azimuth=np.broadcast_to(azimuth, n).astype(float),
        lean=np.full(n, np.radians(55)),
        twist=np.zeros(n),
        color=np.full((n, 3), 0.1),
        living=np.full(n, living),
        chance=np.full(n, 0.5),
    )


@pytest.mark.parametrize("half", [0.3, 0.9, 2.5])
def test_strips_keep_their_area_however_thin(half):
    rng = np.random.default_rng(1)
    n = 900
    grid = np.stack(np.meshgrid(np.arange(30), np.arange(30)), -1).reshape(-1, 2) * 40.0 + 20
    angle, length = rng.uniform(0, 2 * np.pi, n), rng.uniform(6, 16, n)
    run = length[:, None] * np.column_stack([np.cos(angle), np.sin(angle)])
    start = grid + rng.uniform(-0.5, 0.5, (n, 2))
    painted = (
        paint_strips(start, start + run, np.full(n, half), np.full(n, half), size=(1220, 1220)) > 0
    ).sum()
    # 900 strips sampled at pixel centers: the sum's scatter is about 1 %.
    assert painted == pytest.approx((2 * half * length).sum(), rel=0.02)


def test_the_last_strip_lies_on_top():
    start = np.array([[2.0, 10.0], [10.0, 2.0]])
    end = np.array([[18.0, 10.0], [10.0, 18.0]])
    ids = paint_strips(start, end, np.full(2, 1.2), np.full(2, 1.2), size=(20, 20))
    assert ids[10, 10] == 2
    assert ids[10, 5] == 1
    assert ids[0, 0] == 0


def test_strips_outside_the_picture_are_cut_off():
    start, end = np.array([[-30.0, 5.0], [5.0, 40.0]]), np.array([[30.0, 5.4], [6.0, 90.0]])
    ids = paint_strips(start, end, np.ones(2), np.ones(2), size=(20, 10))
    assert set(np.unique(ids)) == {0, 1}
    assert (ids[5] == 1).all()
    assert (ids[7:] == 0).all()


def test_separate_blades_cover_the_sum_of_their_areas():
    """Worked by hand: two halves of 15 mm leaning 38.5 and 71.5 deg, 3 mm wide, the upper tapering to a fifth."""
    grid = np.stack(np.meshgrid(np.arange(0.06, 0.94, 0.06), np.arange(0.06, 0.94, 0.06)), -1).reshape(-1, 2)
    blades = flat_blades(grid, np.random.default_rng(2).uniform(0, 2 * np.pi, len(grid)))
    lower = 15 * np.sin(np.radians(38.5)) * 3.0
    upper = 15 * np.sin(np.radians(71.5)) * 3.0 * 0.6
    by_hand = len(grid) * (lower + upper) * 1e-6
    assert blades.flat_area_m2.sum() == pytest.approx(by_hand, rel=1e-6)
    assert true_cover_pct(blades, UNIT) == pytest.approx(100 * by_hand, rel=0.02)


def test_no_blades_no_cover():
    assert true_cover_pct(flat_blades(np.zeros((0, 2)), 0.0), UNIT) == 0.0


def test_dead_blades_are_no_cover_and_hide_none():
    spots = np.random.default_rng(3).uniform(0, 1, (500, 2))
    living, dead = flat_blades(spots, 0.3), flat_blades(spots, 0.3, living=False)
    parts = ("root", "knee", "tip", "side", "width_m", "color", "living", "chance")
    both = Blades(*(np.concatenate([getattr(living, part), getattr(dead, part)]) for part in parts))
    assert true_cover_pct(dead, UNIT) == 0.0
    assert true_cover_pct(both, UNIT) == pytest.approx(true_cover_pct(living, UNIT))


def test_random_blades_follow_beer_law():
    """Poisson gap model seen straight down: cover = 1 - exp(-flat leaf area per ground area).

    Baret et al. 2010, Agric. For. Meteorol. 150(11):1393-1401, for the gap fraction of leaves placed at random.
    """
    rng = np.random.default_rng(4)
    spots = rng.uniform(-0.1, 1.1, (24_000, 2))
    blades = flat_blades(spots, rng.uniform(0, 2 * np.pi, len(spots)))
    per_ground = blades.flat_area_m2.sum() / 1.2**2
    expected = 100 * (1 - np.exp(-per_ground))
    assert 50 < expected < 80
    assert true_cover_pct(blades, UNIT) == pytest.approx(expected, abs=1.0)


def test_cover_does_not_depend_on_the_lattice():
    rng = np.random.default_rng(5)
    blades = flat_blades(rng.uniform(0, 1, (9000, 2)), rng.uniform(0, 2 * np.pi, 9000))
    fine, coarse = (true_cover_pct(blades, UNIT, cell_mm=cell) for cell in (0.5, 2.0))
    assert fine == pytest.approx(coarse, abs=0.4)


def test_a_high_camera_sees_the_true_cover():
    """A camera 40 m up looks all but straight down: its share of leaf pixels is the true cover."""
    sward = sow([Stand(steady(45))], camera=OVERHEAD, ground=OPEN_GROUND, seed=6)
    blades = sward.on_day(0).only(sward.on_day(0).living)
    high = Camera(position_m=(0.5, 0.5, 40.0), pitch_deg=90, focal35_mm=2000, size_px=(1200, 1200))
    strips = as_strips(blades, lambda points: high.project(points)[0])
    ids = paint_strips(strips.start, strips.end, strips.half_start, strips.half_end, size=high.size_px)
    corner = high.project(np.array([[0.25, 0.25, 0.0], [0.75, 0.75, 0.0]]))[0]
    (x0, y1), (x1, y0) = np.rint(corner).astype(int)
    seen = 100 * (ids[y0:y1, x0:x1] > 0).mean()
    zone = [(0.25, 0.25), (0.75, 0.25), (0.75, 0.75), (0.25, 0.75)]
    assert seen == pytest.approx(true_cover_pct(blades, zone), abs=0.7)


@pytest.mark.parametrize("cover", [15, 50, 90])
@pytest.mark.parametrize("patchiness", [0.0, 0.6])
def test_a_stand_has_about_the_cover_it_was_sown_for(cover, patchiness):
    sward = sow([Stand(steady(cover))], camera=OVERHEAD, ground=OPEN_GROUND, seed=7, patchiness=patchiness)
    # Patches of 25 cm in half a square meter leave a few points of chance.
    assert true_cover_pct(sward.on_day(0), UNIT) == pytest.approx(cover, abs=3 if patchiness == 0 else 8)


def test_three_courses_fill_lag_and_stall():
    days = [0, 12, 24, 28, 45]
    cover = {}
    for name, course in (("fills", FILLS), ("slow", SLOW), ("stalls", STALLS)):
        sward = sow([Stand(course)], camera=OVERHEAD, ground=OPEN_GROUND, seed=8)
        cover[name] = [true_cover_pct(sward.on_day(day), UNIT) for day in days]
        assert 7 < cover[name][0] < 20
        assert np.all(np.diff(cover[name]) > -0.5)
    assert cover["fills"][2] > 88
    assert cover["slow"][3] < 80 < cover["slow"][4]
    assert 24 < cover["stalls"][3] < 38
    assert 24 < cover["stalls"][4] < 38


def test_nothing_is_rooted_in_a_bare_disc():
    sward = sow([Stand(steady(95))], camera=OVERHEAD, ground=OPEN_GROUND, seed=9, discs=[(0.5, 0.5, 0.4)])
    angle = np.linspace(0, 2 * np.pi, 40, endpoint=False)
    inner = np.column_stack([0.5 + 0.16 * np.cos(angle), 0.5 + 0.16 * np.sin(angle)])
    assert true_cover_pct(sward.on_day(0), inner) < 1.0
    assert true_cover_pct(sward.on_day(0), UNIT) > 70
