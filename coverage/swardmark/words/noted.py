"""Photos with something odd on their ground, one line each."""

from __future__ import annotations

from collections.abc import Sequence

from swardmark.common.phrases import plural
from swardmark.measure.points import PointReview
from swardmark.words import sentences

MOST_NOTED = 6
"""Lines that are shown; of a long season the newest ones."""


def noted_lines(points: Sequence[PointReview]) -> tuple[str, ...]:
    """Return one line for each noted photo of a lawn, the newest first, and one that counts those left out."""
    noted = sorted(
        (one for point in points for one in point.noted), key=lambda one: one.taken_at, reverse=True
    )
    lines, more = [one.sentence for one in noted[:MOST_NOTED]], len(noted) - MOST_NOTED
    if more > 0:
        template = plural(more, sentences.ONE_MORE_NOTED, sentences.MORE_NOTED)
        lines.append(template.format(count=more))
    return tuple(lines)
