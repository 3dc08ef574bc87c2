"""What was counted by eye, in words: the count beside the measured cover, and whether the scale was fitted to it."""

from __future__ import annotations

import math
from collections.abc import Sequence

from swardmark.common.text import clean
from swardmark.measure.counting import CountedCover
from swardmark.measure.points import PointReview
from swardmark.words import sentences


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
    """Return one line for each photo point whose scale was fitted to counts."""
    lines = []
    for point in points:
        if point.threshold.counted:
            template = sentences.FITTED_TO_COUNTS if len(points) == 1 else sentences.FITTED_TO_COUNTS_AT
            lines.append(template.format(point=clean(point.name), points=point.threshold.counted))
    return tuple(lines)
