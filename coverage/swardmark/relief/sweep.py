"""The sweep: heights at which the photos, laid flat, agree best, cell by cell.

For every height in steps, each two photos are compared in boxes of 113 mm round the cells' centers. A pair's evidence
is -ln(1 - r^2) of its correlation r (that of a Gaussian signal with common part); a cell's height is where the sum over
the pairs is highest, between the steps by a parabola. Box sums are made of blocks of three by three points, exactly.
Source: plane sweep, R. Collins 1996, CVPR, 358-363; the evidence from memory (mutual information of Gaussians).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from swardmark.bundle.camera import Floats
from swardmark.bundle.flat import SWEPT_M, FlatPhoto, Plane
from swardmark.bundle.lattice import PER_CELL

STEP_M = 0.003
BLOCK, BLOCKS = 3, 9
"""A box is 9 by 9 blocks of 3 by 3 fine points."""
MOST_APART_DEG = 75.0
LEAST_CORRELATION = 0.3
SMOOTH_CELLS = 0.8
LEAST_VARIANCE = 0.2
"""Of gray levels: below it a box is noise."""


@dataclass(frozen=True, eq=False)
class Swept:
    """Heights of the cells above the surface, shape (cells, cells), in meters; NaN where not known.

    Attributes
    ----------
    up_m : ndarray
        From all photos.
    without_m : ndarray, shape (photos, cells, cells)
        Without each photo in turn.
    pairs : ndarray of int
        Pairs of photos that see the cell.
    halves_m : ndarray, shape (2, cells, cells)
        From two halves of the pairs, which share no pair.
    """

    up_m: Floats
    without_m: Floats
    halves_m: Floats
    pairs: NDArray[np.intp]


def sweep(flats: Sequence[FlatPhoto], apart_deg: Floats, *, reach_m: float = SWEPT_M) -> Swept:
    """Find the heights at which photos laid flat agree.

    Parameters
    ----------
    flats : sequence of FlatPhoto
        The photos.
    apart_deg : ndarray, shape (photos, photos)
        Angle between cameras, seen from the middle of the square.
    reach_m : float
        How far up and down from the surface.
    """
    import cv2

    ups = np.arange(-reach_m, reach_m + STEP_M / 2, STEP_M)
    masks = [_cells(flat.readable.astype(np.float32)) > 1 - 1e-4 for flat in flats]
    pairs = [(a, b) for a in range(len(flats)) for b in range(a) if apart_deg[a, b] < MOST_APART_DEG]
    both = [masks[a] & masks[b] for a, b in pairs]
    count = np.sum(both, axis=0, dtype=np.intp) if pairs else np.zeros_like(masks[0], np.intp)
    shape = (len(ups), *count.shape)
    total, half = np.zeros(shape, np.float32), np.zeros(shape, np.float32)
    own = np.zeros((len(flats), *shape), np.float32)
    best = np.zeros(count.shape, np.float32)
    for level, up in enumerate(ups):
        laid = [flat.at(float(up)) for flat in flats]
        means = [_cells(one) for one in laid]
        spreads = [
            np.maximum(_cells(one * one) - mean * mean, 0) for one, mean in zip(laid, means, strict=True)
        ]
        for n, (a, b) in enumerate(pairs):
            shared = _cells(laid[a] * laid[b]) - means[a] * means[b]
            r = likeness(shared, spreads[a], spreads[b], both[n])
            best = np.maximum(best, r)
            evidence = cv2.GaussianBlur(-np.log1p(-r * r), (0, 0), SMOOTH_CELLS)
            total[level] += evidence
            own[a, level] += evidence
            own[b, level] += evidence
            if n % 2:
                half[level] += evidence
    known = (count > 0) & (best >= LEAST_CORRELATION)
    at = {"step": STEP_M, "first": -reach_m}
    halves = np.stack([highest(part, known, **at) for part in (half, total - half)])
    without = np.stack([highest(total - part, known, **at) for part in own])
    return Swept(highest(total, known, **at), without, halves, np.asarray(count, np.intp))


def likeness(shared: Plane, spread: Plane, other_spread: Plane, seen: NDArray[np.bool_]) -> Plane:
    """Return the correlation of boxes from covariance and variances, 0 to 0.999; 0 where unseen or without texture."""
    product = spread * other_spread
    sure = seen & (product > LEAST_VARIANCE**2)
    return np.asarray(
        np.where(sure, shared / np.sqrt(np.maximum(product, 1e-12)), 0).clip(0, 0.999), np.float32
    )


def highest(evidence: Plane, known: NDArray[np.bool_], *, step: float, first: float) -> Floats:
    """Return where evidence is highest, by a parabola.

    Parameters
    ----------
    evidence : ndarray, shape (steps, rows, cols)
        At `first` and every `step` after it.
    known : ndarray of bool, shape (rows, cols)
        Where it is to be looked for.
    step, first : float
        Steps and the first of them.

    Returns
    -------
    ndarray, shape (rows, cols)
        In the unit of `step`; NaN where not known, or highest at the rim.
    """
    top = evidence.argmax(axis=0)
    inner = top.clip(1, len(evidence) - 2)
    low, mid, high = (
        np.take_along_axis(evidence, (inner + side)[None], axis=0)[0].astype(float) for side in (-1, 0, 1)
    )
    bend = low + high - 2 * mid
    with np.errstate(divide="ignore", invalid="ignore"):
        shift = np.where(bend < 0, 0.5 * (low - high) / bend, 0)
    sure = known & (top == inner) & (mid > 0)
    return np.where(sure, first + step * (inner + shift.clip(-1, 1)), np.nan)


def _cells(laid: Plane) -> Plane:
    """Return the means of boxes round the cells' centers, shape (cells, cells)."""
    import cv2

    size = laid.shape[0] // BLOCK
    blocks = cv2.resize(laid, (size, size), interpolation=cv2.INTER_AREA)
    boxes = cv2.blur(blocks, (BLOCKS, BLOCKS))
    return np.asarray(boxes[:: PER_CELL // BLOCK, :: PER_CELL // BLOCK], np.float32)
