"""The walk around the square, photo by photo: directions against those of the drawn views, and what is missing."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from relief_scenes import Scene

from swardmark.photo.decode import Photo
from swardmark.relief import arc
from swardmark.relief.arc import arc_so_far


def direction_of(scene: Scene, n: int) -> float:
    x, y, _ = scene.views[n].position_m
    return float(np.degrees(np.arctan2(x - 0.5, 0.5 - y)))


def test_directions_and_stands_are_those_of_the_drawn_views(scene: Scene) -> None:
    """The marks alone give a stand to 3 degrees and 10 cm: lens and stabilizer are not known yet."""
    for n, one in enumerate(arc_so_far(scene.photos).photos):
        assert one.direction_deg == pytest.approx(direction_of(scene, n), abs=3)
        x, y, z = scene.views[n].position_m
        assert one.distance_m == pytest.approx(np.hypot(x - 0.5, y - 0.5), abs=0.1)
        assert one.height_m == pytest.approx(z, abs=0.1)


def test_what_is_missing_after_each_photo(scene: Scene) -> None:
    """The drawn walk begins on the right and goes to the left: past the front."""
    start = arc_so_far([])
    assert (start.next_deg, start.next_m, start.can_measure) == (0.0, (0.5, -1.1), False)
    assert start.text.startswith("Stand about 1.6 m (5 ft)")
    for count in (1, 2, 3, 4):
        now = arc_so_far(scene.photos[:count])
        assert len(now.places_deg) == count
        assert now.next_deg == pytest.approx(direction_of(scene, count - 1) - arc.STEP_DEG, abs=3)
        assert now.text.startswith(f"{count} of 5: go about 0.6 m (2 ft) to your left on the arc")
        assert len(now.coming_deg) == 5 - count and now.coming_deg[0] == now.next_deg
        assert now.can_measure == (count >= 3) and not now.is_complete


def faked(monkeypatch: pytest.MonkeyPatch, photo: Photo, *directions: float) -> arc.ArcSoFar:
    made = iter(directions)
    monkeypatch.setattr(arc, "arc_photo", lambda one, side_m: arc.ArcPhoto(one.name, next(made), 1.6, 1.6))
    return arc_so_far([photo] * len(directions))


@pytest.mark.parametrize(
    "directions, after, measurable",
    [
        ((-40, -20, 0, 20, 40), None, True),
        ((0, 60), 30.0, False),
        ((0, 120), 22.0, False),
        ((40, 20, 0), -22.0, True),
        ((170, -170, 192 - 360), -148.0, True),
        ((-40, -20, 40, 62, 84), 10.0, False),
    ],
)
def test_where_to_stand_next(
    monkeypatch: pytest.MonkeyPatch,
    scene: Scene,
    directions: tuple[float, ...],
    after: float | None,
    measurable: bool,
) -> None:
    found = faked(monkeypatch, scene.photos[0], *directions)
    assert found.next_deg == (None if after is None else pytest.approx(after))
    assert found.can_measure is measurable


def test_the_same_place_twice_counts_once(monkeypatch: pytest.MonkeyPatch, scene: Scene) -> None:
    found = faked(monkeypatch, scene.photos[0], 0.0, 22.0, 25.0)
    assert found.places_deg == (0.0, 22.0)
    assert found.text.startswith("This photo was taken from nearly the same place as another. 2 of 5: go")


def test_a_photo_without_marks_says_its_fault(scene: Scene) -> None:
    bad = replace(scene.photos[0], rgb=np.zeros_like(scene.photos[0].rgb), name="dark.jpg")
    found = arc_so_far([*scene.photos[:2], bad])
    assert found.photos[2].fault.startswith("only 0 corner marks are seen whole. Keep all four")
    assert found.text.startswith("The last photo cannot be used: only 0 corner marks")
    assert len(found.places_deg) == 2
