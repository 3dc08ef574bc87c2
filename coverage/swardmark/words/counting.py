"""What was counted by eye, in words: the count beside the measured cover, and whether the scale was fitted to it."""

from __future__ import annotations

import math
from collections.abc import Sequence

from swardmark.common.text import clean
from swardmark.measure.counting import CountedCover
from swardmark.measure.points import PointReview
from swardmark.words import sentences

FITTED = sentences.FITTED_TO_COUNTS, sentences.FITTED_TO_COUNTS_AT
AGREES = sentences.AGREES_WITH_COUNTS, sentences.AGREES_WITH_COUNTS_AT


def counted_words(one: CountedCover) -> str:
    """Return what was counted by eye and what the tool measured of the same ground, in words."""
    cover = one.cover
    fields = {
        "photo": clean(one.photo), "zone": clean(one.zone), "cover": cover.cover_pct, "low": cover.low_pct,
        "high": cover.high_pct, "tool": cover.tool_pct, "points": cover.points, "blank": cover.cannot_tell,
        "error": cover.eye_error_pct,
    }  # fmt: skip
    parts = [sentences.COUNTED_STRAIGHT_DOWN if one.is_straight_down else sentences.COUNTED]
    parts += [sentences.COUNTED_APART] if cover.differs else []
    parts += [sentences.COUNTED_CANNOT_TELL] if cover.cannot_tell else []
    parts += [sentences.COUNTED_EYE_ERROR] if math.isfinite(cover.eye_error_pct) else []
    return " ".join(parts).format(**fields)


def counted_lines(points: Sequence[PointReview]) -> tuple[str, ...]:
    """Return one line for each count on a lawn's photos, then those of `fitted_lines`."""
    return (*(counted_words(one) for point in points for one in point.counted), *fitted_lines(points))


def fitted_lines(points: Sequence[PointReview]) -> tuple[str, ...]:
    """Return lines for each photo point whose scale was held against counts: fitted to them, or in agreement."""
    lines = []
    for point in points:
        scale = point.threshold
        if scale.counted:
            here, there = FITTED if scale.source == "counts" else AGREES
            template = here if len(points) == 1 else there
            lines.append(template.format(point=clean(point.name), points=scale.counted))
        if scale.counted_down:
            template = sentences.SLANT_FITTED if len(points) == 1 else sentences.SLANT_FITTED_AT
            lines.append(template.format(point=clean(point.name), points=scale.counted_down))
    return tuple(lines)
