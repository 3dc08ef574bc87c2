"""A flat valley of the fit: points of a fence alone, seen by cameras that are known exactly; no pixel is drawn."""

from dataclasses import replace
from functools import partial

import numpy as np
import pytest

from swardmark.common.errors import PhotoRefused
from swardmark.ground.align import _with_square
from swardmark.ground.background import Background
from swardmark.ground.homography import apply
from swardmark.ground.plane import plane_from_square
from swardmark.ground.relative import Comparison
from swardmark.ground.valley import descended
from swardmark.practice.scene import Camera, Square

HOME = Camera(size_px=(1000, 750), position_m=(0.5, -1.1, 1.6), pitch_deg=33.5)
FENCE, WRONG = 60, 50
with_square = partial(_with_square, is_repeated=lambda *_: False)
"""As `keep_frame` asks, but for the look at the pixels: there are none."""


def plane_of(camera, square, rng):
    corners = camera.project(np.column_stack([square.corners_m, np.zeros(4)]))[0]
    corners = corners + rng.normal(0, 0.15, corners.shape)
    return plane_from_square(corners, side_m=1.0, size=camera.size_px, focal_px=camera.focal_px)


def fence(rng, count=FENCE, low=0.0):
    """Points of a fence 5 m away, its foot and a strip of 0.2 m before it included."""
    x, up = rng.uniform(-2.5, 3.5, count), rng.uniform(low, 1.6, count)
    return np.column_stack(
        [x, 5.0 - 0.2 * rng.uniform(0, 1, count) * (up < 0.05), np.where(up < 0.05, 0, up)]
    )


def path(rng, count=30):
    """Points of a path along the lawn, on the ground."""
    return np.column_stack([rng.uniform(-2.7, -1.75, count), rng.uniform(1.0, 4.8, count), np.zeros(count)])


def compared(rng, camera, square, points):
    """The two photos' points: true ones to half a pixel, and as many wrong ones that lie within reach."""
    one, other = (view.project(points)[0] for view in (HOME, camera))
    first = rng.uniform((50, 30), (950, 500), (WRONG, 2))
    wrong = np.stack([first, first + rng.uniform(-90, 90, (WRONG, 2))], axis=1)
    pairs = np.concatenate([np.stack([one, other], axis=1) + rng.normal(0, 0.5, (len(points), 2, 2)), wrong])
    return Comparison(pairs, plane_of(HOME, Square(), rng), camera.size_px)


def error_cm(plane, camera):
    x, y, _ = camera.position_m
    true = np.array([[x, y + 3.0], [x - 1.0, y + 2.5], [x + 1.0, y + 3.5]])
    found = plane.meters(apply(camera.ground_homography, true))
    return 100 * float(np.sqrt(((found - true) ** 2).sum(axis=1).mean()))


@pytest.mark.parametrize("seed", range(8))
def test_a_square_that_lies_where_it_lay_is_not_overridden(seed):
    """The fence fixes turn and shift badly together: moves of centimeters fit as well, by chance a little better."""
    rng = np.random.default_rng(seed)
    camera = HOME.shaken(rng, shift_m=0.05, turn_deg=1.0)
    comparison = compared(rng, camera, Square(), fence(rng))
    kept = with_square(comparison, plane_of(camera, Square(), rng), 1.0, "photo")
    assert kept.moved_m == 0
    assert error_cm(kept.plane, camera) < 2.5


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("aside_m", [-0.5, 0.5])
def test_who_stands_half_a_meter_aside_moves_no_square(seed, aside_m):
    """Held to about the place of the first photo, the fit would rather move the square by a foot."""
    rng = np.random.default_rng([seed, 3])
    camera = replace(HOME, position_m=(0.5 + aside_m, -1.1, 1.6), yaw_deg=-6 * aside_m).shaken(rng)
    comparison = compared(rng, camera, Square(), np.concatenate([fence(rng), path(rng)]))
    kept = with_square(comparison, plane_of(camera, Square(), rng), 1.0, "photo")
    assert kept.moved_m == 0


@pytest.mark.parametrize("turn_deg", [-2.0, 1.0])
def test_a_square_turned_a_little_is_followed_or_the_doubt_is_said(turn_deg):
    """Turned by 2 degrees and held still, ground 3 m ahead was laid 6 cm off, and 2.6 cm were said."""
    rng = np.random.default_rng(5)
    camera, square = HOME.shaken(rng, shift_m=0.05, turn_deg=1.0), Square(turn_deg=turn_deg)
    comparison = compared(rng, camera, square, np.concatenate([fence(rng), path(rng)]))
    kept = with_square(comparison, plane_of(camera, square, rng), 1.0, "photo")
    assert error_cm(kept.plane, camera) <= 2 * max(kept.error_cm, 1.0)
    if abs(turn_deg) > 1.5:
        assert kept.turned_deg == pytest.approx(2.0, abs=0.3) and "turned" in kept.notes[0]
        assert error_cm(kept.plane, camera) < 2.0


def twins_of(points_px, rng, bits):
    """A background: the points, each described a little differently than before, among as many that look alike."""
    noisy = np.packbits(np.unpackbits(bits, axis=1) ^ (rng.uniform(size=(len(bits), 256)) < 0.06), axis=1)
    twins = np.packbits(np.unpackbits(bits, axis=1) ^ (rng.uniform(size=(len(bits), 256)) < 0.08), axis=1)
    aside = points_px + rng.uniform(30, 60, (len(bits), 1)) * [1, 0]
    return Background(np.concatenate([points_px, aside]).astype(np.float32), np.concatenate([noisy, twins]))


def test_a_background_of_things_that_look_alike_is_looked_through_again():
    """Planks: few have one clear partner. Where those few foretell, the others are found; not another yard's."""
    rng = np.random.default_rng(8)
    points, square = np.concatenate([fence(rng), path(rng)]), Square(shift_m=(0.3, 0.2), turn_deg=5.0)
    camera = HOME.shaken(rng, shift_m=0.05, turn_deg=1.0)
    bits = rng.integers(0, 256, (len(points), 32), dtype=np.uint8)
    one = twins_of(HOME.project(points)[0], rng, bits)
    other = twins_of(camera.project(points)[0] + rng.normal(0, 0.5, (len(points), 2)), rng, bits)
    strange = replace(other, points=rng.permutation(other.points))
    weak = compared(rng, camera, square, points)
    weak = replace(weak, pairs=np.concatenate([weak.pairs[50:60], weak.pairs[-WRONG:]]))
    plane = plane_of(camera, square, rng)
    kept = with_square(replace(weak, backgrounds=(one, other)), plane, 1.0, "photo")
    assert kept.moved_m > 0.2 and error_cm(kept.plane, camera) < 2.5
    with pytest.raises(PhotoRefused, match="does not show which"):
        with_square(replace(weak, backgrounds=(one, strange)), plane, 1.0, "photo")


def test_the_error_that_is_said_covers_the_true_one():
    """Of 8 photos with a square moved at least 7 are within a factor of two of what is said, below 1 cm as 1 cm."""
    holds = 0
    for seed in range(8):
        rng = np.random.default_rng([seed, 0])
        camera = HOME.shaken(rng, shift_m=0.05, turn_deg=1.0)
        square = Square(
            shift_m=(rng.uniform(-0.4, 0.4), rng.uniform(0.1, 0.4)), turn_deg=rng.uniform(-10, 10)
        )
        comparison = compared(rng, camera, square, np.concatenate([fence(rng), path(rng)]))
        kept = with_square(comparison, plane_of(camera, square, rng), 1.0, "photo")
        true, said = max(error_cm(kept.plane, camera), 1.0), max(kept.error_cm, 1.0)
        holds += 0.5 * said <= true <= 2 * said
    assert holds >= 7


@pytest.mark.parametrize("aside_m", [-0.5, 0.5])
def test_a_square_moved_by_who_stands_half_a_meter_aside_is_taken_back(aside_m):
    """The wall tells the shift from the turn; by fence points on lines of sight alone this was 16 cm off."""
    rng = np.random.default_rng(7)
    camera = replace(HOME, position_m=(0.5 + aside_m, -1.1, 1.6), yaw_deg=-8 * aside_m).shaken(rng)
    square = Square(shift_m=(0.8 * aside_m, 0.1), turn_deg=4.0)
    comparison = compared(rng, camera, square, np.concatenate([fence(rng), path(rng)]))
    kept = with_square(comparison, plane_of(camera, square, rng), 1.0, "photo")
    assert kept.moved_m > 0.3
    assert error_cm(kept.plane, camera) < 3.0
    assert error_cm(kept.plane, camera) <= 2 * max(kept.error_cm, 1.0)


def test_where_a_wall_stands_is_found_with_the_rest():
    """The fence is 6.1 m from the camera, straight ahead."""
    rng = np.random.default_rng(3)
    camera = replace(HOME, position_m=(0.9, -1.1, 1.6), yaw_deg=-4.0)
    fit = compared(rng, camera, Square(), np.concatenate([fence(rng), path(rng)])).square_move(
        plane_of(camera, Square(), rng), 1.0, np.zeros((1, 3))
    )
    np.testing.assert_allclose(fit.wall, [0, 1 / 6.1], atol=0.02)


def test_the_lowest_place_is_found_from_afar_and_past_wrong_points():
    """A line through 40 points of which 16 are wrong: as numpy.polyfit finds it in the right ones."""
    rng = np.random.default_rng(2)
    x = rng.uniform(-1, 1, 40)
    y = 0.7 * x - 0.2 + rng.normal(0, 0.02, 40)
    y[:16] = rng.uniform(-2, 2, 16)

    def residuals(values):
        off = y - values[..., :1] * x - values[..., 1:]
        return np.stack([off, np.zeros_like(off)], axis=-1)

    starts = rng.uniform(-2, 2, (8, 2))
    for scale in (1.0, 0.2, 0.05):
        starts, height = descended(residuals, np.ones(40), lambda values: 1e-3 * values, starts, scale=scale)
    np.testing.assert_allclose(starts[height.argmin()], np.polyfit(x[16:], y[16:], 1), atol=0.02)
