"""The sweep's measure of likeness on a stereo pair with ground truth.

Middlebury 2014 stereo data, Motorcycle, as scikit-image carries it (D. Scharstein et al. 2014, High-resolution stereo
datasets with subpixel-accurate ground truth, GCPR). Correlation of boxes of 11 px, evidence and parabola as in the
sweep; sure where the correlation is above 0.8.
"""

from __future__ import annotations

import numpy as np
import pytest

from swardmark.relief.sweep import highest, likeness

BOX = 11
MOST_DISPARITY = 80


@pytest.fixture(scope="module")
def pair() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    data = pytest.importorskip("skimage.data")
    color = pytest.importorskip("skimage.color")
    try:
        left, right, disparity = data.stereo_motorcycle()
    except Exception:
        pytest.skip("this build of scikit-image does not carry the pair")
    return (*(color.rgb2gray(one).astype(np.float32) * 255 for one in (left, right)), disparity)


def test_stereo_pair(pair: tuple[np.ndarray, np.ndarray, np.ndarray]) -> None:
    import cv2

    left, right, disparity = pair

    def box(picture: np.ndarray) -> np.ndarray:
        return np.asarray(cv2.blur(picture, (BOX, BOX)), np.float32)

    mean = box(left)
    spread = np.maximum(box(left * left) - mean * mean, 0)
    evidence = np.zeros((MOST_DISPARITY + 1, *left.shape), np.float32)
    best = np.zeros(left.shape, np.float32)
    for d in range(MOST_DISPARITY + 1):
        other = np.roll(right, d, axis=1)
        other[:, :d] = 0
        other_mean = box(other)
        other_spread = np.maximum(box(other * other) - other_mean * other_mean, 0)
        r = likeness(box(left * other) - mean * other_mean, spread, other_spread, np.ones(left.shape, bool))
        best = np.maximum(best, r)
        evidence[d] = -np.log1p(-r * r)
    found = highest(evidence, best > 0.8, step=1.0, first=0.0)
    true = np.isfinite(disparity) & (disparity > 0) & (disparity < MOST_DISPARITY)
    true[:, :MOST_DISPARITY] = False
    sure = true & np.isfinite(found)
    error = np.abs(found[sure] - disparity[sure])
    assert sure.sum() / true.sum() > 0.8
    assert np.median(error) < 0.3
    assert (error < 2).mean() > 0.85
