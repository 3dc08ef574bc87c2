"""When relief photos are not fit to be measured, and the error that says so."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from swardmark.bundle.adjust import FOCAL_SD_KNOWN, Bundle, Priors, Sightings
from swardmark.bundle.camera import Floats, View
from swardmark.common.errors import PhotoRefused
from swardmark.relief.sentences import (
    BAD_FIT,
    BENT_LENS,
    CLOSE_TOGETHER,
    FAR_APART,
    FEW_TIES,
    MOVED_MARK,
    TOO_SHALLOW,
    TOO_STEEP,
    ZOOMED,
    Refusal,
)

MOST_STEP_DEG, LEAST_SPAN_DEG = 45.0, 15.0
LEAST_SLANT_DEG, MOST_SLANT_DEG = 22.0, 72.0
"""Angle of the view on the square's middle from level: straight down all photos are alike, flat the marks are thin."""
LEAST_TIES = 80
"""Ties of a photo, as many as sand gives three times over."""
MOST_FOCAL_OFF, MOST_K1, MOST_REST_PX = 0.04, 0.15, 0.4
MOVED_TIMES, MOVED_PX = 3.0, 1.0


def refused(refusal: Refusal, *, where: str = "", **fields: Any) -> PhotoRefused:
    """Return the error of a refusal with its fields filled in."""
    what, remedy = (part.format(**fields) for part in refusal)
    return PhotoRefused(what, where=where, remedy=remedy)


def check_arc(apart_deg: Floats, names: list[str]) -> None:
    """Refuse photos that stand too far from their neighbors, or all on one spot."""
    far = apart_deg + 360 * np.eye(len(names))
    if float(apart_deg.max()) < LEAST_SPAN_DEG:
        raise refused(CLOSE_TOGETHER, where=names[0], apart=float(apart_deg.max()))
    reached, waiting = {0}, set(range(1, len(names)))
    while waiting:
        gap, nearest = min((float(far[a, b]), b) for a in reached for b in waiting)
        if gap > MOST_STEP_DEG:
            raise refused(FAR_APART, where=names[nearest], apart=gap)
        reached.add(nearest)
        waiting.discard(nearest)


def check_stand(views: Sequence[View], middle_m: Floats, names: Sequence[str]) -> None:
    """Refuse photos that look almost straight down, or flat across the ground."""
    for view, name in zip(views, names, strict=True):
        away = float(np.hypot(*(view.position_m[:2] - middle_m)))
        slant = float(np.degrees(np.arctan2(view.position_m[2], away)))
        if slant > MOST_SLANT_DEG:
            raise refused(TOO_STEEP, where=name, degrees=slant)
        if slant < LEAST_SLANT_DEG:
            raise refused(TOO_SHALLOW, where=name, degrees=slant)


def check_ties(seen: Sightings, names: list[str]) -> None:
    """Refuse photos in which too little ground is found again."""
    counts = np.bincount(seen.view, minlength=len(names))
    worst = int(counts.argmin())
    if counts[worst] < LEAST_TIES:
        raise refused(FEW_TIES, where=names[worst], ties=int(counts[worst]), least=LEAST_TIES)


def check_marks(bundle: Bundle, seen: Sightings, numbers: list[int], names: list[str]) -> None:
    """Refuse a set in which a mark lay elsewhere in some photo: its corners fit far worse than all else."""
    share = max(bundle_width(bundle), 1.0)
    for n, number in enumerate(numbers):
        own = seen.point // 4 == n
        if not own.any():
            continue
        rest = float(np.sqrt((bundle.rest_px[own] ** 2).mean()))
        if rest > max(MOVED_TIMES * bundle.spread_px, MOVED_PX * share):
            worst = int(seen.view[own][np.abs(bundle.rest_px[own]).max(axis=1).argmax()])
            raise refused(MOVED_MARK, where=names[worst], number=number)


def bundle_width(bundle: Bundle) -> float:
    """Return the photos' width over 2000 px."""
    return float(2 * bundle.lens.center_px[0] / 2000)


def check_fit(bundle: Bundle, priors: Priors, where: str) -> None:
    """Refuse photos that were zoomed, cropped or bent."""
    off = bundle.lens.focal_px / priors.focal_px - 1
    if priors.focal_sd <= FOCAL_SD_KNOWN and abs(off) > MOST_FOCAL_OFF:
        raise refused(ZOOMED, where=where, percent=100 * off)
    if abs(bundle.lens.k1) > MOST_K1:
        raise refused(BENT_LENS, where=where, k1=bundle.lens.k1)
    if bundle.spread_px > MOST_REST_PX * priors.width_px / 2000:
        raise refused(BAD_FIT, where=where, rest=bundle.spread_px)
