from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest
from made_season import SIZE, camera_homography
from PIL import Image
from shapely import Polygon

from swardmark.canopy.index import NOT_SEEN, GroundMap, byte_of
from swardmark.canopy.scale import LeafScale
from swardmark.common.errors import UsageError
from swardmark.drawing import pictures
from swardmark.drawing.bare import local_cover, rings_below
from swardmark.drawing.ground_view import (
    Window,
    common_window,
    draw_outlines,
    look_down,
    on_picture,
    reduced,
    svg_path,
)
from swardmark.drawing.pictures import Encoder, FolderPhotos, encode, shrink
from swardmark.drawing.timelapse import timelapse
from swardmark.ground.plane import apply
from swardmark.measure.points import evenly
from swardmark.season import Season


def disc_map(radius_m: float, *, x: float = 0.4, y: float = 0.3) -> GroundMap:
    """A lawn of full canopy with one bare disc."""
    values = np.full((200, 240), byte_of(0.3), np.uint8)
    ground = GroundMap(values, -40, -60, 0.01)
    values[np.hypot(ground.x_m - x, (ground.y_m - y)[:, None]) < radius_m] = byte_of(0.0)
    return ground


SCALE = LeafScale(0.15, 0.14, 0.16, "photos", bare=0.0, full=0.3)


def bare_outlines(ground_map: GroundMap, level: float = 0.5) -> list[np.ndarray]:
    return rings_below(local_cover(ground_map, SCALE), ground_map, level=level)


def test_half_leaf_seen_at_a_slant_is_less_from_above() -> None:
    """Half a gap at 60 degrees is a gap of 0.5 ** (cos 60 ** 0.7) from above: 35 % cover (Poisson gap fraction)."""
    flat = GroundMap(np.full((60, 60), byte_of(0.15), np.uint8), 0, 0, 0.01)
    assert local_cover(flat, SCALE)[30, 30] == pytest.approx(0.5, abs=0.02)
    assert local_cover(flat, SCALE, view_deg=60.0)[30, 30] == pytest.approx(1 - 0.5 ** (0.5**0.7), abs=0.02)


@pytest.mark.parametrize("radius_m", [0.2, 0.4])
def test_a_bare_disc_is_outlined_where_it_is(radius_m: float) -> None:
    rings = bare_outlines(disc_map(radius_m))
    assert len(rings) == 1
    shape = Polygon(rings[0])
    assert shape.area == pytest.approx(
        np.pi * radius_m**2, rel=0.12
    )  # one point of the map and the smoothing
    assert (shape.centroid.x, shape.centroid.y) == pytest.approx((0.4, 0.3), abs=0.02)


def test_small_gaps_full_lawns_and_empty_maps_are_not_outlined() -> None:
    assert bare_outlines(disc_map(0.05)) == []
    assert bare_outlines(disc_map(0.0)) == []
    assert bare_outlines(GroundMap(np.full((50, 50), NOT_SEEN, np.uint8), 0, 0, 0.01)) == []


def test_looking_down_shows_the_ground_true_to_scale(season: Season) -> None:
    """The paper square is 1.1 m wide on the ground: its picture must be, to a pixel or two."""
    point, entry = season.points[0], season.points[0].entries[0]
    window = common_window(point.maps)
    photo = FolderPhotos(season.lawn.folder).picture(entry, longest_px=1600)
    assert photo is not None
    laid = look_down(photo, entry.facts.to_photo, entry.facts.size, window)
    corners = on_picture(
        [np.array([[-0.05, -0.05], [1.05, -0.05], [1.05, 1.05], [-0.05, 1.05]])], window.to_picture
    )[0]
    paper = laid.min(axis=2) > 210
    left, top = corners.min(axis=0)
    right, bottom = corners.max(axis=0)
    rows, cols = np.nonzero(paper[:, : int(right) + 20])
    inside = (rows > top - 5) & (rows < bottom + 5) & (cols > left - 5) & (cols < right + 5)
    assert np.ptp(cols[inside]) + 1 == pytest.approx(right - left, abs=4)


def test_reduced_homography_keeps_pixel_centers() -> None:
    """Shrinking a photo by a half puts the center of pixel 0 of the small one between pixels 0 and 1 of the large."""
    matrix = reduced(np.eye(3), (100, 80), (50, 40))
    assert apply(matrix, [[0.5, 0.5]])[0] == pytest.approx([0.0, 0.0])
    assert apply(matrix, [[99.5, 79.5]])[0] == pytest.approx([49.5, 39.5])


def test_outlines_follow_the_photo(season: Season) -> None:
    ring = np.array([[0.2, 1.5], [0.8, 1.5], [0.8, 2.0], [0.2, 2.0]])
    small = reduced(camera_homography(), SIZE, (400, 300))
    assert on_picture([ring], small)[0] == pytest.approx((apply(camera_homography(), ring) + 0.5) / 2 - 0.5)
    behind = np.array([[0.0, -9.0], [1.0, -9.0], [0.5, -8.0]])
    assert on_picture([behind], small) == []


def test_drawing_outlines_leaves_the_rest_of_the_photo_alone() -> None:
    photo = np.random.default_rng(1).integers(0, 255, (120, 160, 3), dtype=np.uint8)
    ring = np.array([[40, 30], [120, 30], [120, 90], [40, 90], [40, 30]], float)
    drawn = draw_outlines(photo, [ring])
    inside, outside = np.s_[40:80, 50:110], np.s_[:20, :]
    assert (drawn[inside] == photo[inside]).all() and (drawn[outside] == photo[outside]).all()
    assert (drawn != photo).any()


def test_svg_path() -> None:
    assert svg_path([np.array([[1.04, 2], [3, 4], [5, 6], [1.04, 2]])]) == "M1.0 2.0L3.0 4.0L5.0 6.0Z"


def test_window_puts_the_far_side_up() -> None:
    window = Window(-1, 0, 1, 2, 100)
    assert window.size == (200, 200)
    assert apply(window.to_picture, [[-1, 2], [1, 0]]) == pytest.approx(np.array([[0, 0], [200, 200]]))


def test_encoded_pictures_keep_their_bounds_and_carry_no_exif() -> None:
    noise = np.random.default_rng(0).integers(0, 255, (500, 700, 3), dtype=np.uint8)
    data = encode(noise, most_bytes=40_000)
    assert len(data) <= 40_000
    assert data[:4] == b"RIFF" and b"EXIF" not in data[:40]
    assert shrink(noise, 350).shape == (250, 350, 3)
    back = cv2.imdecode(
        np.frombuffer(encode(np.full((8, 8, 3), (200, 30, 10), np.uint8), most_bytes=9999), np.uint8), 1
    )
    assert back[4, 4, 2] > 150 and back[4, 4, 0] < 60  # red stays red


def test_evenly_keeps_first_and_last() -> None:
    assert evenly(range(100), 5) == (0, 25, 50, 74, 99)
    assert evenly([1, 2], 5) == (1, 2)


@pytest.mark.parametrize("kind", ["webp", "gif"])
def test_timelapse_has_a_frame_for_each_date(season: Season, tmp_path: Path, kind: str) -> None:
    path = timelapse(season, tmp_path / f"lawn.{kind}")
    with Image.open(path) as picture:
        assert getattr(picture, "n_frames", 1) == 4
        assert not picture.getexif()
        assert max(picture.size) <= 700


def test_timelapse_refusals(season: Season, tmp_path: Path) -> None:
    with pytest.raises(UsageError, match=r"\.webp or a \.gif"):
        timelapse(season, tmp_path / "lawn.mp4")
    with pytest.raises(UsageError, match="no photo point"):
        timelapse(season, tmp_path / "lawn.gif", point="porch")
    gone = replace(season, lawn=season.lawn.model_copy(update={"folder": tmp_path}))
    with pytest.raises(UsageError, match="none of the photos"):
        timelapse(gone, tmp_path / "lawn.gif")


def test_pictures_of_one_kind_fit_and_are_mostly_encoded_once(monkeypatch):
    rng, tried = np.random.default_rng(5), []
    webp = pictures._webp
    monkeypatch.setattr(pictures, "_webp", lambda rgb, quality: tried.append(quality) or webp(rgb, quality))
    kind = [rng.integers(0, level, (150, 200, 3), np.uint8) for level in (60, 80, 60, 50, 70)]
    for most, share, encodings in ((40_000, 1.0, 5), (9_000, 1.0, 12), (2_500, 0.6, 25)):
        alone = [encode(one, most_bytes=most) for one in kind]
        tried.clear()
        encoder = Encoder(most_bytes=most)
        together = [encoder.encode(one) for one in kind]
        assert all(share * len(a) <= len(b) <= most for a, b in zip(alone, together, strict=True))
        assert len(tried) <= encodings
