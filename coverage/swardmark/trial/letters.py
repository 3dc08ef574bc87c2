"""Letters beside means: treatments that share a letter do not differ significantly.

Method: insert and absorb (Piepho 2004, J. Comput. Graph. Stat. 13(2):456-466; from memory), which also holds where
standard errors differ from pair to pair.
"""

from __future__ import annotations

import string
from collections.abc import Sequence

import numpy as np


def letters(means: Sequence[float], differ: np.ndarray) -> tuple[str, ...]:
    """Return the letters of each treatment; the highest mean has an "a".

    Parameters
    ----------
    means : sequence of float
        Treatment means.
    differ : ndarray of bool, shape (treatments, treatments)
        Which pairs differ significantly.
    """
    order = sorted(range(len(means)), key=lambda n: -means[n])
    groups = [frozenset(order)]
    for at, one in enumerate(order):
        for other in order[at + 1 :]:
            if differ[one, other]:
                groups = _apart(groups, one, other)
    place = {treatment: at for at, treatment in enumerate(order)}
    groups.sort(key=lambda group: sorted(place[one] for one in group))
    return tuple(
        "".join(_letter(n) for n, group in enumerate(groups) if one in group) for one in range(len(means))
    )


def _apart(groups: Sequence[frozenset[int]], one: int, other: int) -> list[frozenset[int]]:
    """Split the groups that hold both, and drop those that lie inside another."""
    split: list[frozenset[int]] = []
    for group in groups:
        split += [group - {one}, group - {other}] if {one, other} <= group else [group]
    split = list(dict.fromkeys(split))
    return [group for group in split if not any(group < wider for wider in split)]


def _letter(number: int) -> str:
    signs = string.ascii_letters
    return signs[number] if number < len(signs) else f"({number + 1})"
