"""Photos read at a half, a quarter or an eighth: which size, which pixels, and where a pixel of the file lies then."""

import io

import numpy as np
import pytest
from PIL import Image
from skimage.transform import downscale_local_mean

from swardmark.photo.decode import WORKING_SIDE_PX, decode


def picture(width, height):
    """Smooth slopes of color with four marks, so that turns and shifts show."""
    y, x = np.mgrid[0:height, 0:width]
    rgb = np.stack([255 * x / width, 255 * y / height, 128 + 100 * np.sin(x / 40) * np.cos(y / 50)], axis=-1)
    return rgb.astype(np.uint8)


def encoded(rgb, kind, *, orientation=1):
    out, exif = io.BytesIO(), Image.Exif()
    exif[274] = orientation
    options = {"quality": 95, "subsampling": 0} if kind == "JPEG" else {}
    Image.fromarray(rgb).save(out, kind, exif=exif, **options)
    return out.getvalue()


@pytest.mark.parametrize(
    ("longer", "reduction"), [(1600, 1), (3264, 1), (3799, 1), (4000, 2), (4032, 2), (5712, 2), (8064, 4)]
)
def test_a_photo_is_reduced_as_far_as_its_working_side_allows(longer, reduction):
    photo = decode(encoded(picture(longer, 300), "JPEG"), name="a.jpg", least_side=WORKING_SIDE_PX)
    assert (photo.reduction, max(photo.size)) == (reduction, longer // reduction)
    assert max(photo.size) >= min(longer, WORKING_SIDE_PX)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "TIFF", "WebP"])
@pytest.mark.parametrize("reduction", [2, 4])
def test_a_reduced_picture_is_made_of_block_means(kind, reduction):
    """Against scikit-image's downscale_local_mean; a JPEG's scaled transform may differ by a few levels."""
    rgb = picture(640, 480)
    data = encoded(rgb, kind)
    photo = decode(data, name="a", least_side=640 // reduction)
    whole = decode(data, name="a").rgb
    expected = downscale_local_mean(whole.astype(float), (reduction, reduction, 1))
    assert photo.rgb.shape == expected.shape
    assert np.abs(photo.rgb - expected).mean() < 1.0
    assert np.abs(photo.rgb - expected).max() < 12


@pytest.mark.parametrize("orientation", [1, 3, 6, 8])
@pytest.mark.parametrize("kind", ["JPEG", "PNG"])
def test_turned_photos_are_reduced_upright(orientation, kind):
    data = encoded(picture(640, 480), kind, orientation=orientation)
    photo, whole = decode(data, name="a", least_side=300), decode(data, name="a").rgb
    expected = downscale_local_mean(whole.astype(float), (2, 2, 1))
    assert photo.reduction == 2
    assert np.abs(photo.rgb - expected).mean() < 1.0


def test_pixels_of_the_file_and_of_the_reduced_picture_agree():
    """The middle of a block of two by two pixels, at (0.5, 0.5) in the file, is the reduced pixel (0, 0)."""
    photo = decode(encoded(picture(640, 480), "PNG"), name="a", least_side=300)
    assert photo.here([[0.5, 0.5], [2.5, 4.5]]).tolist() == [[0, 0], [1, 2]]
    points = np.random.default_rng(1).uniform(0, 400, (50, 2))
    np.testing.assert_allclose(photo.in_file(photo.here(points)), points, atol=1e-9)


def test_odd_sizes_lose_no_more_than_their_rim():
    for kind, width in (("JPEG", 321), ("PNG", 320)):
        photo = decode(encoded(picture(641, 481), kind), name="a", least_side=300)
        assert photo.size == (width, 241 if kind == "JPEG" else 240)
