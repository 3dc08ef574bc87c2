"""Every refusal, with its line and what to do."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import numpy as np
import pytest
from relief_scenes import Scene, draw_scene, photos_of

from swardmark.bundle.adjust import Bundle, Priors, Sightings
from swardmark.bundle.camera import Lens, View
from swardmark.common.errors import PhotoRefused
from swardmark.photo.decode import Photo
from swardmark.photo.header import Camera
from swardmark.practice.relief.draw import draw_relief
from swardmark.relief.gather import check_set, gather, spread_mm
from swardmark.relief.measure import measure_relief
from swardmark.relief.refusals import check_arc, check_fit, check_marks, check_stand, check_ties


def photo(n: int, *, size: tuple[int, int] = (400, 300), seconds: int | None = None, focal: float | None = 26.0,
          model: str = "phone") -> Photo:  # fmt: skip
    when = None if seconds is None else dt.datetime(2026, 6, 3, 10) + dt.timedelta(seconds=seconds)
    rgb = np.zeros((size[1], size[0], 3), np.uint8)
    return Photo(rgb, when, "camera", Camera("maker", model, focal), f"{n:064d}", f"p{n}.jpg")


@pytest.mark.parametrize(
    "photos, says",
    [
        ([photo(1), photo(2)], "p1.jpg: only 2 photos of the sand. Take five from an arc"),
        ([photo(1), photo(2), photo(3, size=(500, 300))], "p3.jpg: differs from the others in pixel size"),
        ([photo(1), photo(2), photo(3, model="other")], "p3.jpg: differs from the others in camera"),
        ([photo(1), photo(2), photo(3, focal=52.0)], "p3.jpg: differs from the others in focal length"),
        (
            [photo(n) for n in range(9)],
            "p0.jpg: 9 photos in one set; 8 are the most. Keep 8 that stand evenly on the arc",
        ),
        (
            [photo(1, seconds=0), photo(2, seconds=60), photo(3, seconds=400)],
            "p3.jpg: differs from the others in time",
        ),
    ],
)
def test_sets_that_do_not_belong_together(photos: list[Photo], says: str) -> None:
    with pytest.raises(PhotoRefused) as refusal:
        check_set(photos)
    assert str(refusal.value).startswith(says)


def test_upright_beside_landscape_is_a_set_and_turned_alike() -> None:
    chosen = check_set([photo(1), photo(2, size=(300, 400)), photo(3)])
    assert [one.size for one in chosen] == [(400, 300)] * 3


def test_photos_are_grouped_by_pauses() -> None:
    sets = gather([photo(n, seconds=s) for n, s in enumerate((600, 0, 20, 620, 45, 640))])
    assert [[one.name for one in part] for part in sets] == [
        ["p1.jpg", "p2.jpg", "p4.jpg"],
        ["p0.jpg", "p3.jpg", "p5.jpg"],
    ]


def apart(*turns: float) -> np.ndarray:
    at = np.array(turns)
    return np.abs((at[:, None] - at[None, :] + 180) % 360 - 180)


def test_neighbors_too_far_apart() -> None:
    with pytest.raises(PhotoRefused, match=r"46 degrees lie between this photo and the next.*a sidestep"):
        check_arc(apart(0, 20, 40, 86), ["a", "b", "c", "d"])
    check_arc(apart(0, 40, 80, 120), ["a", "b", "c", "d"])


def test_all_from_one_place() -> None:
    with pytest.raises(PhotoRefused, match=r"all photos were taken from nearly one place"):
        check_arc(apart(0, 3, 6), ["a", "b", "c"])


@pytest.mark.parametrize(
    "height, says",
    [(5.0, r"a: looks almost straight down on the square \(73 degrees\)\. Step back"),
     (0.5, r"a: looks too flat across the square \(18 degrees\)\. Step closer")],
)  # fmt: skip
def test_too_steep_and_too_flat(height: float, says: str) -> None:
    def at(z: float) -> View:
        return View(np.eye(3), np.array([0.5, -1.0, z]), np.zeros(2))

    middle = np.array([0.5, 0.5])
    check_stand([at(1.6)], middle, ["a"])
    with pytest.raises(PhotoRefused, match=says):
        check_stand([at(height)], middle, ["a"])


def sightings(*counts: int) -> Sightings:
    view = np.repeat(np.arange(len(counts)), counts)
    return Sightings(view, np.zeros(len(view), int), np.zeros((len(view), 2)))


def test_too_little_is_found_again() -> None:
    with pytest.raises(PhotoRefused, match=r"b: the ground does not look the same.*79 places.*pegs"):
        check_ties(sightings(200, 79, 200), ["a", "b", "c"])
    check_ties(sightings(80, 80, 80), ["a", "b", "c"])


def bundle(
    *, focal: float = 1500.0, k1: float = 0.0, spread: float = 0.1, rest: np.ndarray | None = None
) -> Bundle:
    lens = Lens(focal, np.array([999.5, 749.5]), k1, 0.0)
    return Bundle(lens, (), np.zeros((16, 3)), np.zeros((16, 2)) if rest is None else rest, spread)


@pytest.mark.parametrize(
    "fit, says",
    [
        (bundle(focal=1575.0), r"the focal length is \+5 % off"),
        (bundle(k1=-0.2), r"bends lines too much \(k1 -0.20\)"),
        (bundle(spread=0.5), r"do not fit together \(0.5 pixels off\)"),
    ],
)
def test_photos_of_another_lens(fit: Bundle, says: str) -> None:
    priors = Priors(1500.0, 0.02, 2000.0, np.array([999.5, 749.5]), np.zeros((16, 3)))
    with pytest.raises(PhotoRefused, match=says):
        check_fit(fit, priors, "a")
    check_fit(bundle(), priors, "a")


def test_a_mark_that_moved() -> None:
    rest = np.full((16, 2), 0.1)
    rest[8:12] = 4.0
    seen = Sightings(np.zeros(16, int), np.arange(16), np.zeros((16, 2)))
    with pytest.raises(PhotoRefused, match=r"corner mark 2 moved between the photos"):
        check_marks(bundle(rest=rest), seen, [0, 1, 2, 3], ["a"])


def test_halves_that_disagree_have_a_spread() -> None:
    halves = np.stack([np.zeros((4, 4)), np.full((4, 4), 0.0012)])
    assert spread_mm(halves) == pytest.approx(1.2)
    assert spread_mm(np.full((2, 4, 4), np.nan)) == np.inf


def test_marks_out_of_the_picture(scene: Scene) -> None:
    cut = [replace(one, rgb=np.ascontiguousarray(one.rgb[: one.rgb.shape[0] // 3])) for one in scene.photos]
    with pytest.raises(PhotoRefused, match=r"only . corner marks are seen whole. Keep all four"):
        measure_relief(cut)


def test_ground_that_changes_between_photos() -> None:
    """Each photo shows other grain, as leaves in wind do: nothing is found again."""
    scene = draw_scene(3, photos=3, width_px=1200, dips=0)
    pictures = [draw_relief(view, replace(scene.sand, seed=n), seed=n) for n, view in enumerate(scene.views)]
    with pytest.raises(PhotoRefused, match=r"does not look the same from photo to photo|differ from those"):
        measure_relief(photos_of(pictures))
