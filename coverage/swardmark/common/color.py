"""Coded sRGB and linear light (IEC 61966-2-1)."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray


def linear_of(coded: ArrayLike) -> NDArray[np.float64]:
    """Turn coded sRGB 0..255 into linear light 0..1."""
    c = np.asarray(coded, np.float64) / 255
    return np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4)


def coded_of(linear: NDArray[np.floating[Any]]) -> NDArray[np.float32]:
    """Turn linear light 0..1 into coded sRGB 0..255, both clipped."""
    c = linear.clip(0, 1).astype(np.float32)
    return np.float32(255) * np.where(c <= 0.0031308, 12.92 * c, 1.055 * c ** np.float32(1 / 2.4) - 0.055)
