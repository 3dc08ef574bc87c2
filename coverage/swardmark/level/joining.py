"""Which sources of heights of one day make one surface, and what each of them does not know of the ground.

A string, a board or a laser knows the fall of the ground and not its datum. Pegs in photos do not know the fall either,
and photos of sand not even the crown: each is laid on the others by a plane or a quadratic of its own.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from swardmark.lawn.heights import Heights
from swardmark.level.surface import DATUM, PLANE, QUADRATIC, ground_terms

UNKNOWN_OF = {"pegs": PLANE, "photos": QUADRATIC}
MORE_READINGS = 3
"""Readings beyond the terms that a source does not know, without which it does not say how it lies on the others."""


def unknown_of(how: str) -> int:
    """Return how many terms of the ground heights of a source do not know."""
    return UNKNOWN_OF.get(how, DATUM)


def joinable(heights: Sequence[Heights]) -> tuple[list[Heights], list[Heights]]:
    """Return the sources of one day that make one surface, and those that cannot be joined to them.

    All that know the fall count as one. A part can be joined if its own readings say how it lies: a few more than what
    it does not know, and not on a line. Where none can, all are kept.
    """
    parts: dict[str, list[Heights]] = {}
    for n, one in enumerate(heights):
        parts.setdefault("fall" if unknown_of(one.how) == DATUM else f"own {n}", []).append(one)
    lies = {key: _says_how_it_lies(own) for key, own in parts.items()}
    if len(parts) == 1 or not any(lies.values()):
        return list(heights), []
    kept, out = (
        [one for key, own in parts.items() if lies[key] is on for one in own] for on in (True, False)
    )
    return kept, out


def _says_how_it_lies(own: Sequence[Heights]) -> bool:
    places = np.concatenate([np.column_stack([one.x_m, one.y_m]) for one in own])
    terms = ground_terms(places)[:, : max(PLANE, unknown_of(own[0].how))]
    is_enough = len(places) >= terms.shape[1] + MORE_READINGS
    return is_enough and int(np.linalg.matrix_rank(terms)) == terms.shape[1]
