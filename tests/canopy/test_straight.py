"""Single photos taken straight down: colors of real photos, scenes of known cover, what the threshold follows.

photo_pixels.csv holds 256 pixels picked at random from each of 36 photographic ground textures, looked at one by one:
12 of them turf without ground, the others ground without a living leaf. It is a table of colors, not of pictures; the
pictures are in the Debian packages named in it (CC-BY-SA 3.0, GPL 2, MPL 2) and are scored whole by
tests/benchmarks/field_photos.py.
"""

from __future__ import annotations

import csv
import json
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from swardmark.canopy.index import WARMTH, excess_green
from swardmark.canopy.scale import LEVELS, PURE_DOUBT
from swardmark.canopy.straight import chroma_noise, cover_straight_down, straight_values
from swardmark.common.errors import UsageError

with Path(__file__).with_name("photo_pixels.csv").open(newline="") as table:
    PHOTOS = list(csv.DictReader(table))


def pixels_of(row: dict[str, str]) -> np.ndarray:
    return np.frombuffer(bytes.fromhex(row["pixels"]), np.uint8).reshape(16, 16, 3)


def paint(color, *, spread: float = 10, light: float = 1.0, seed: int = 1) -> np.ndarray:
    """Return a grainy patch of one ground or leaf color."""
    rng = np.random.default_rng(seed)
    grain = rng.normal(0, spread, (120, 120, 1)) + rng.normal(0, spread / 4, (120, 120, 3))
    return np.clip(light * (np.array(color, float) + grain), 0, 255).astype(np.uint8)


@pytest.mark.parametrize("row", PHOTOS, ids=lambda row: row["photo"])
def test_real_ground_reads_bare_and_real_turf_full(row):
    """At most 2 % and at least 97 %; a sample of 256 pixels adds or takes two of them at most."""
    cover = cover_straight_down(pixels_of(row)).cover_pct
    if row["true_cover_pct"] == "0":
        assert cover <= 2
    else:
        assert cover >= 97


@pytest.mark.parametrize("light", [0.75, 1.0, 1.3])
def test_half_turf_half_ground_reads_half(light):
    """Every turf beside every ground of the table, under- and over-exposed by about a stop."""
    grounds, turfs = ([r for r in PHOTOS if r["true_cover_pct"] == kind] for kind in ("0", "100"))
    error = []
    for k, ground in enumerate(grounds):
        turf = turfs[k % len(turfs)]
        both = np.concatenate([np.repeat(pixels_of(row), 4, axis=0) for row in (ground, turf)])
        photo = np.clip(both * light, 0, 255).astype(np.uint8)
        error.append(abs(cover_straight_down(photo).cover_pct - 50))
    assert np.mean(error) <= 2


@pytest.mark.parametrize(
    "color",
    [
        (205, 186, 152),
        (112, 88, 64),
        (150, 92, 66),
        (128, 126, 122),
        (70, 58, 46),
        (206, 186, 136),
        (142, 118, 84),
        (200, 172, 92),
        (96, 104, 112),
    ],
    ids=[
        "sand",
        "brown soil",
        "red soil",
        "gray soil",
        "dark wet soil",
        "pale straw",
        "brown straw",
        "yellow straw",
        "sand in blue shade",
    ],
)
@pytest.mark.parametrize("light", [1.0, 0.45], ids=["open", "shade"])
def test_ground_and_straw_are_not_green(color, light):
    assert cover_straight_down(paint(color, light=light)).cover_pct <= 2


@pytest.mark.parametrize("light", [1.0, 0.6])
@pytest.mark.parametrize("color", [(86, 122, 50), (60, 96, 40), (136, 160, 72), (132, 140, 70)])
def test_leaf_of_any_green_is_canopy(color, light):
    assert cover_straight_down(paint(color, light=light)).cover_pct >= 97


def test_red_is_not_green_and_neither_is_blue():
    assert cover_straight_down(paint((200, 60, 50))).cover_pct == 0
    assert cover_straight_down(paint((50, 60, 200))).cover_pct == 0


def test_red_and_blue_are_not_alike():
    """A swap of the channels shows, unlike with excess green: warm straw would turn into cool leaf."""
    straw = np.array([200, 172, 92], np.uint8)
    assert excess_green(straw, warmth=WARMTH) < 0.05 < 0.12 < excess_green(straw[::-1], warmth=WARMTH)


def test_a_hard_shadow_on_sand_is_not_green():
    photo = paint((205, 186, 152))
    photo[:, 60:] = photo[:, 60:] // 4
    assert cover_straight_down(photo).cover_pct <= 2


def test_clipped_sand_is_ground_and_is_told():
    photo = paint((86, 122, 50))
    photo[60:] = 255
    cover = cover_straight_down(photo)
    assert cover.cover_pct == pytest.approx(50, abs=1)
    assert cover.readable_pct == pytest.approx(50)
    assert cover.high_pct - cover.low_pct > 50


def test_pixels_too_dark_to_tell_are_left_out():
    photo = paint((86, 122, 50))
    photo[:30] = 8
    cover = cover_straight_down(photo)
    assert cover.readable_pct == pytest.approx(75)
    assert cover.cover_pct >= 97
    assert not cover.is_leaf[:30].any() and not cover.is_readable[:30].any()


def test_the_leaves_are_where_they_were_painted():
    photo = paint((205, 186, 152))
    photo[20:50, 30:90] = paint((86, 122, 50))[20:50, 30:90]
    cover = cover_straight_down(photo)
    truth = np.zeros(photo.shape[:2], bool)
    truth[20:50, 30:90] = True
    assert cover.is_leaf.shape == truth.shape and cover.is_leaf.dtype == bool
    assert (cover.is_leaf == truth).mean() > 0.99
    assert cover.cover_pct == pytest.approx(100 * cover.is_leaf.mean())
    assert cover.low_pct < cover.cover_pct < cover.high_pct


def test_the_command_prints_the_cover_of_a_photo(run, tmp_path):
    photo = paint((205, 186, 152))
    photo[:, :30] = paint((86, 122, 50))[:, :30]
    Image.fromarray(photo.repeat(4, axis=0).repeat(4, axis=1)).save(tmp_path / "plot.jpg", quality=92)
    printed = json.loads(run("check", "--straight-down", tmp_path / "plot.jpg", "--json").out)
    assert printed["photo"] == "plot.jpg" and printed["points"] == 480 * 480 and printed["bare_patches"] == 1
    assert printed["cover_pct"] == pytest.approx(25, abs=1)
    assert printed["low_pct"] < printed["cover_pct"] < printed["high_pct"]


def test_the_outlines_enclose_the_bare_ground():
    """The painted bare patch is found where it is, within the blur of its rim; full turf has no outline."""
    from shapely import Polygon, box

    photo = paint((86, 122, 50)).repeat(5, axis=0).repeat(5, axis=1)
    photo[200:400, 100:350] = paint((205, 186, 152)).repeat(5, axis=0).repeat(5, axis=1)[200:400, 100:350]
    (ring,) = cover_straight_down(photo).outlines
    assert (ring[0] == ring[-1]).all()
    found, truth = Polygon(ring), box(99.5, 199.5, 349.5, 399.5)
    assert found.intersection(truth).area / found.union(truth).area > 0.95
    assert cover_straight_down(paint((86, 122, 50))).outlines == ()


def test_too_dark_is_not_outlined_as_bare():
    photo = np.zeros((300, 400, 3), np.uint8)
    assert cover_straight_down(photo).outlines == ()


def test_the_picture_shows_the_photo_with_outlines_and_never_a_mask(run, tmp_path):
    photo = paint((86, 122, 50)).repeat(5, axis=0).repeat(5, axis=1)
    photo[200:400, 100:350] = paint((205, 186, 152)).repeat(5, axis=0).repeat(5, axis=1)[200:400, 100:350]
    exif = Image.Exif()
    exif.get_ifd(0x8825)[1] = "N"
    Image.fromarray(photo).save(tmp_path / "plot.png", exif=exif)
    said = run("check", "--straight-down", tmp_path / "plot.png", "--picture", tmp_path / "seen.png").out
    assert "360,000 points read" in said and "86 % covered" in said
    with Image.open(tmp_path / "seen.png") as picture:
        assert not picture.getexif()
        seen = np.asarray(picture.convert("RGB"))
    shown = seen[: len(photo)]
    unchanged = (shown == photo).all(axis=2)
    assert unchanged.mean() > 0.95, "away from the outline the photo keeps its own colors"
    assert not unchanged[200:400, 95:105].all(), "the rim of the bare ground is drawn"
    assert len(seen) > len(photo), "the caption stands below the photo"


@pytest.mark.parametrize(
    ("words", "fault"),
    [
        (("--straight-down", "a.jpg", "b.jpg", "--picture", "seen.png"), "one photo"),
        (("a.jpg", "--picture", "seen.png"), "--straight-down"),
        (("--straight-down", "a.jpg", "--picture", "seen.gif"), ".webp"),
    ],
)
def test_a_picture_that_cannot_be_is_refused_before_anything_is_read(run, words, fault):
    done = run("check", *words)
    assert done.code == 2 and fault in done.err


def test_small_dark_gaps_belong_to_dense_turf_but_a_dark_patch_does_not():
    gaps, patch = paint((86, 122, 50)), paint((86, 122, 50))
    gaps[::4, ::4] = (40, 42, 36)
    patch[30:60, 30:60] = (40, 42, 36)
    assert cover_straight_down(gaps).cover_pct >= 97
    assert cover_straight_down(patch).cover_pct == pytest.approx(100 * (1 - 900 / 14400), abs=1)


def test_brown_gaps_stay_ground():
    photo = paint((86, 122, 50))
    spots = np.zeros((30, 30), bool)
    spots[::4, ::4] = True
    photo[np.kron(spots, np.ones((4, 4), bool))] = (112, 88, 64)
    assert cover_straight_down(photo).cover_pct == pytest.approx(100 * (1 - spots.mean()), abs=1.5)


def test_nothing_readable_is_not_zero():
    cover = cover_straight_down(np.zeros((8, 8, 3), np.uint8))
    assert np.isnan(cover.cover_pct) and np.isnan(cover.low_pct) and cover.points == 0


@pytest.mark.parametrize("bad", [np.zeros((4, 4)), np.zeros((4, 4, 4), np.uint8), np.zeros((4, 4, 3))])
def test_other_arrays_are_refused(bad):
    with pytest.raises(UsageError, match="is no photo"):
        cover_straight_down(bad)


@pytest.mark.parametrize("shape", [(1, 1, 3), (1, 400, 3), (700, 2, 3)])
def test_any_shape_is_read(shape):
    assert cover_straight_down(np.full(shape, (86, 122, 50), np.uint8)).cover_pct == 100


def test_a_noisy_photo_is_smoothed_more():
    """Chroma noise of 20 steps in each channel, as a phone's at dusk, on a lawn of half leaf."""
    rng = np.random.default_rng(3)
    photo = paint((86, 122, 50))
    photo[:, :60] = paint((150, 130, 100))[:, :60]
    noisy = np.clip(photo + rng.normal(0, 20, photo.shape), 0, 255).astype(np.uint8)
    assert chroma_noise(photo) < 3 <= chroma_noise(noisy)
    assert np.std(LEVELS[straight_values(noisy)[:, 65:] - 2]) < 0.03
    assert cover_straight_down(noisy).cover_pct == pytest.approx(50, abs=2)


def test_the_keepers_value_is_taken():
    assert cover_straight_down(paint((86, 122, 50)), threshold=0.6).cover_pct == 0


def test_the_interval_holds_the_doubt_about_the_threshold():
    """A photo all of whose pixels lie within the threshold's doubt may be all leaf or none."""
    dull = np.full((80, 120, 3), (105, 118, 105), np.uint8)
    index = float(excess_green(dull[0, 0], warmth=WARMTH))
    cover = cover_straight_down(dull, threshold=index - PURE_DOUBT / 2)
    assert (cover.cover_pct, cover.low_pct) == (100, 0)
