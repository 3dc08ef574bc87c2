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
from swardmark.relief.marks import laid_corners
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
        ([photo(1), photo(2)], "p1.jpg: too few photos of the sand (2). Take five from an arc"),
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


def square_marks(*, side: float = 0.12) -> dict[int, np.ndarray]:
    """Return the corners of four marks on a square as a camera straight above sees them, 800 px to a meter."""
    unit = np.array([[0, 0], [1, 0], [1, 1], [0, 1]], float)
    places = {n: (1 - side) * corner + side * unit[::-1] for n, corner in enumerate(unit)}
    return {n: np.array([600.0, 1150.0]) + 800 * quad * np.array([1, -1]) for n, quad in places.items()}


def test_a_square_that_is_whole_is_laid_true() -> None:
    laid = laid_corners([square_marks()], ["a"], side_m=1.0, width_px=2000)
    assert laid[0][3] == pytest.approx([0, 0], abs=1e-6) and laid[2][1] == pytest.approx([1, 1], abs=1e-6)


def test_no_photo_with_all_four_marks() -> None:
    seen = {n: quad for n, quad in square_marks().items() if n != 2}
    with pytest.raises(PhotoRefused, match=r"a: no photo shows all four corner marks\. Keep all four"):
        laid_corners([seen], ["a"], side_m=1.0, width_px=2000)


def test_marks_that_do_not_stand_on_a_square() -> None:
    """Two marks on one place, and marks so large that they are none of the square's."""
    seen = square_marks()
    doubled = seen | {2: seen[1]}
    for strange in (doubled, square_marks(side=0.48)):
        with pytest.raises(
            PhotoRefused, match=r"a: the corner marks do not stand on a square\. Lay 0 near left"
        ):
            laid_corners([strange], ["a"], side_m=1.0, width_px=2000)


def test_a_mark_that_is_bent() -> None:
    """One corner folded up by a third of the mark's side; a board that lies tilted by a tenth still passes."""
    for share, is_bent in ((0.35, True), (0.04, False)):
        seen = square_marks()
        seen[1][3] += share * (seen[1].mean(axis=0) - seen[1][3])
        if is_bent:
            with pytest.raises(
                PhotoRefused, match=r"a: corner mark 1 is bent or covered .*Lay it flat, brush"
            ):
                laid_corners([seen], ["a"], side_m=1.0, width_px=2000)
        else:
            laid_corners([seen], ["a"], side_m=1.0, width_px=2000)
