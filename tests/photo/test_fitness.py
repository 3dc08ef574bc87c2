from __future__ import annotations

import functools
from pathlib import Path

import cv2
import numpy as np
import pytest
import skimage
from skimage import data, measure

from swardmark.canopy.index import DARKEST_READABLE
from swardmark.common.color import gray_of
from swardmark.photo import fitness
from swardmark.photo.findings import FAIR, GOOD, UNFIT, Finding
from swardmark.photo.fitness import noise_level, one_color_share, pixel_findings
from swardmark.practice.draw import draw_photo
from swardmark.practice.scene import OVERCAST, SUN, Camera, Light, Scene
from swardmark.practice.sward import Stand, sow, steady


def sharpness(rgb):
    return next(finding.value for finding in pixel_findings(rgb) if finding.name == "sharpness")


WIDTH, HEIGHT = 880, 660
LAWNS: dict[str, tuple[float, Light]] = {"half": (30.0, SUN), "bare": (3.0, OVERCAST), "turf": (75.0, SUN)}


@functools.cache
def drawn(kind: str):
    cover_pct, light = LAWNS[kind]
    scene = Scene(camera=Camera(size_px=(WIDTH, HEIGHT)), light=light)
    blades = sow(
        [Stand(steady(cover_pct))], camera=scene.camera, ground=scene.ground, seed=4, patchiness=0.5
    ).on_day(0)
    rgb = draw_photo(blades, scene, seed=2).rgb
    rgb.flags.writeable = False
    return rgb


def lawn(kind: str = "half"):
    return drawn(kind)


def exposed(rgb, stops):
    """The photo taken `stops` brighter, by a camera of gamma 2.2 that clips."""
    return np.rint(255 * np.clip((rgb / 255) ** 2.2 * 2.0**stops, 0, 1) ** (1 / 2.2)).astype(np.uint8)


def motion(rgb, length):
    kernel = np.zeros((length, length), np.float32)
    kernel[length // 2] = 1 / length
    return cv2.filter2D(rgb, -1, kernel)


def room(seed=0):
    """A living room: ceiling, wall, window, sofa, cushions, a lamp, a wooden floor and a rug, with sensor noise."""
    picture = np.empty((HEIGHT, WIDTH, 3), np.float32)
    picture[:] = np.linspace((228, 222, 210), (196, 188, 176), HEIGHT)[:, None]
    picture[:90] = (236, 236, 234)
    picture[500:] = (150, 108, 74)
    for x in range(-600, WIDTH + 600, 70):
        cv2.line(picture, (x, HEIGHT), (WIDTH // 2 + (x - WIDTH // 2) // 2, 500), (128, 92, 62), 2)
    cv2.rectangle(picture, (90, 140), (290, 360), (214, 226, 240), -1)
    cv2.rectangle(picture, (90, 140), (290, 360), (250, 250, 250), 8)
    cv2.rectangle(picture, (380, 330), (860, 560), (84, 98, 128), -1)
    cv2.rectangle(picture, (420, 290), (560, 400), (164, 62, 70), -1)
    cv2.rectangle(picture, (700, 290), (810, 400), (196, 170, 60), -1)
    cv2.ellipse(picture, (480, 650), (380, 60), 0, 0, 360, (120, 60, 90), -1)
    cv2.circle(picture, (330, 240), 40, (250, 240, 200), -1)
    picture = cv2.GaussianBlur(picture, (0, 0), 0.8)
    return np.clip(picture + np.random.default_rng(seed).normal(0, 1.5, picture.shape), 0, 255).astype(
        np.uint8
    )


def found(rgb, **options) -> dict[str, Finding]:
    return {finding.name: finding for finding in pixel_findings(rgb, **options)}


def faults(rgb, **options) -> dict[str, str]:
    return {name: finding.level for name, finding in found(rgb, **options).items() if finding.level != GOOD}


@pytest.mark.parametrize("kind", LAWNS)
def test_a_good_photo_is_not_nagged(kind):
    assert faults(lawn(kind)) == {}


@pytest.mark.parametrize(
    ("spoil", "name", "level", "remedy"),
    [
        (lambda rgb: cv2.GaussianBlur(rgb, (0, 0), 1.6), "blur", FAIR, "focus"),
        (lambda rgb: cv2.GaussianBlur(rgb, (0, 0), 5), "blur", UNFIT, "focus"),
        (lambda rgb: motion(rgb, 13), "blur", FAIR, "both hands"),
        (lambda rgb: exposed(rgb, 1), "glare", FAIR, "exposure"),
        (lambda rgb: exposed(rgb, 2.5), "glare", UNFIT, "exposure"),
        (lambda rgb: exposed(rgb, -2), "exposure", FAIR, "daylight"),
        (lambda rgb: exposed(rgb, -3), "exposure", UNFIT, "daylight"),
    ],
    ids=["soft", "blurred", "shaken", "bright", "+2.5 EV", "-2 EV", "-3 EV"],
)
def test_each_fault_is_named_with_its_remedy(spoil, name, level, remedy):
    finding = found(spoil(lawn()))[name]
    assert finding.level == level
    assert remedy in finding.retake
    assert finding.sentence


def test_dusk_noise_is_a_note():
    grain = np.random.default_rng(1).normal(0, 14, lawn().shape)
    noisy = np.clip(exposed(lawn(), -0.3) + grain, 0, 255).astype(np.uint8)
    assert faults(noisy) == {"noise": FAIR}
    assert "daylight" in found(noisy)["noise"].retake


def test_specular_patches_are_glare_and_their_share_is_told():
    wet = lawn().copy()
    x, y = np.random.default_rng(2).uniform((0, HEIGHT / 3), (WIDTH, HEIGHT), (160, 2)).astype(int).T
    shine = np.zeros((HEIGHT, WIDTH), np.uint8)
    for spot in zip(x, y, strict=True):
        cv2.circle(shine, (int(spot[0]), int(spot[1])), 16, 255, -1)
    wet[shine > 0] = 255
    finding = found(wet)["glare"]
    assert finding.level == FAIR
    # Read at every third pixel of 460,000; the share of 160 random discs is known to a point.
    assert finding.value == pytest.approx((shine[HEIGHT // 3 :] > 0).mean(), abs=0.01)
    assert f"{finding.value:.0%}" in finding.sentence


@pytest.mark.parametrize(("share", "level"), [(0.05, GOOD), (0.3, FAIR), (0.7, UNFIT)])
def test_deep_shade_counts_what_the_ground_map_cannot_read(share, level):
    shaded = lawn().copy()
    edge = int(HEIGHT / 3 + (1 - share) * HEIGHT * 2 / 3)
    shaded[edge:] = shaded[edge:] // 12
    assert found(shaded)["deep shade"].level == level
    assert fitness.TOO_DARK == DARKEST_READABLE


def test_a_hard_shadow_over_half_the_ground_is_a_note_and_over_a_tenth_is_none():
    for share, level in ((0.1, GOOD), (0.55, FAIR)):
        shaded = lawn().copy()
        right = int(WIDTH * (1 - share))
        shaded[:, right:] = exposed(shaded[:, right:], -2.2)
        assert found(shaded)["hard shadow"].level == level


def test_dyed_turf_is_suspected_and_living_turf_is_not():
    """A blue-green pigment: hue moved beyond the 60-120 deg of turf (Karcher and Richardson 2003)."""
    turf = lawn("turf")
    hls = cv2.cvtColor(turf, cv2.COLOR_RGB2HLS)
    hls[..., 0] = np.where((hls[..., 0] > 28) & (hls[..., 0] < 70), 70, hls[..., 0])
    dyed = cv2.cvtColor(hls, cv2.COLOR_HLS2RGB)
    assert faults(dyed) == {"dye or paint": FAIR}
    assert 60 < found(turf)["dye or paint"].value < 120


def test_a_room_is_no_lawn():
    finding = found(room())
    assert UNFIT in (finding["scene"].level, finding["smooth surfaces"].level)
    assert any("outdoors" in f.retake for f in finding.values())


@pytest.mark.parametrize("name", ["astronaut", "coffee", "rocket"])
def test_real_pictures_of_other_things_are_not_good(name):
    """Photographs that come with scikit-image: a portrait, a cup on a table, a rocket at night."""
    suspects = faults(getattr(data, name)())
    assert {"scene", "smooth surfaces"} & set(suspects)


def test_real_turf_and_gravel_have_texture_and_no_noise():
    """Gray pictures of grass and gravel that come with scikit-image, as a camera without color would see them."""
    for name in ("grass", "gravel"):
        gray = cv2.imread(str(Path(skimage.__file__).parent / "data" / f"{name}.png"))
        finding = found(gray)
        assert all(
            finding[key].level == GOOD for key in ("blur", "smooth surfaces", "noise", "glare", "deep shade")
        )


def test_with_the_square_found_an_odd_scene_is_a_note_at_most():
    outline = [[0, 240], [WIDTH - 1, 240], [WIDTH - 1, HEIGHT - 1], [0, HEIGHT - 1]]
    levels = found(room(), outline_px=outline)
    assert {levels["scene"].level, levels["smooth surfaces"].level} <= {GOOD, FAIR}


def test_only_the_outlined_ground_counts():
    sky = lawn().copy()
    sky[: HEIGHT // 2] = 255
    assert found(sky)["glare"].level == FAIR
    outline = [[0, 400], [WIDTH - 1, 400], [WIDTH - 1, HEIGHT - 1], [0, HEIGHT - 1]]
    assert faults(sky, outline_px=outline) == {}


def test_a_softer_photo_stands_out_against_the_points_own_history():
    """At a blur that the absolute limit lets pass."""
    soft = cv2.GaussianBlur(lawn(), (0, 0), 1.25)
    history = [sharpness(lawn()), sharpness(lawn("bare")), sharpness(lawn("turf"))]
    assert faults(soft) == {}
    assert faults(soft, history=history) == {"softer than before": FAIR}
    assert faults(soft, history=history[:1]) == {}, "one earlier photo is no history"
    for value in history:
        assert value > 0.08 * np.median(history), "the lawn's own change from sand to turf is no blur"


def test_sharpness_is_the_variance_of_the_laplacian():
    """Against scipy's 4-neighbor Laplacian (Pech-Pacheco et al. 2000), on a picture that needs no reduction."""
    from scipy import ndimage

    rgb = lawn()[:, :800][:600]
    expected = ndimage.laplace(gray_of(rgb)[200:].astype(float), mode="mirror").var()
    assert sharpness(rgb) == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize("sigma", [0.0, 1.5, 4.0])
def test_blur_is_the_published_blur_effect(sigma):
    """Crete et al. 2007, equations 1-7, written with scipy; and scikit-image's, which takes Sobel differences."""
    from scipy import ndimage

    rgb = lawn()[60:, :800]
    rgb = cv2.GaussianBlur(rgb, (0, 0), sigma) if sigma else rgb
    gray = gray_of(rgb).astype(float)
    parts = []
    for axis in (0, 1):
        before = np.abs(np.diff(gray, axis=axis))
        after = np.abs(np.diff(ndimage.uniform_filter1d(gray, 9, axis=axis, mode="mirror"), axis=axis))
        parts.append((before.sum() - np.maximum(0, before - after).sum()) / before.sum())
    whole = [[0, 0], [799, 0], [799, 599], [0, 599]]
    value = found(rgb, outline_px=whole)["blur"].value
    assert value == pytest.approx(max(parts), abs=2e-3), "of every fourth line, here of all"
    assert value == pytest.approx(measure.blur_effect(gray, h_size=9, channel_axis=None), abs=0.12)


@pytest.mark.parametrize("sigma", [2.0, 6.0, 12.0])
def test_noise_is_what_was_added(sigma):
    """Immerkaer's estimate is exact for Gaussian noise; the 20 quietest of 400 patches read a tenth low."""
    ramp = np.repeat(np.linspace(60, 190, 512)[:, None], 512, axis=1)
    noisy = np.clip(np.rint(ramp + np.random.default_rng(3).normal(0, sigma, ramp.shape)), 0, 255).astype(
        np.uint8
    )
    assert 0.8 < noise_level(np.dstack([noisy] * 3)) / sigma < 1.0


def test_pictures_without_anything_to_read_give_no_traceback():
    for level in (0, 128, 255):
        findings = pixel_findings(np.full((300, 400, 3), level, np.uint8))
        assert any(f.level != GOOD for f in findings)
    assert len(pixel_findings(lawn(), outline_px=[[1, 1], [2, 1], [2, 2]])) == 12


def test_ground_of_one_color_is_lost_data():
    """A decoder's gray fill over a tenth of the photo; none of it in a plain one, also at a messenger's quality."""
    rgb = np.array(lawn())
    coarse = cv2.imdecode(cv2.imencode(".jpg", rgb, [cv2.IMWRITE_JPEG_QUALITY, 20])[1], cv2.IMREAD_COLOR)
    for plain in (rgb, coarse):
        assert one_color_share(plain) < 0.001
    rgb[-HEIGHT // 8 :] = 128
    rgb[: HEIGHT // 8] = 255
    assert one_color_share(rgb) == pytest.approx(0.15, abs=0.03)
    (found,) = (f for f in pixel_findings(rgb) if f.name == "one color")
    assert found.level == UNFIT and "Copy the original" in found.retake
