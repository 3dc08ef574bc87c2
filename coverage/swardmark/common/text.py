"""Text from outside - names of files, zones, cameras - made fit for a terminal, a page and a spreadsheet."""

from __future__ import annotations

import re
from collections.abc import Iterable
from difflib import get_close_matches

UNSHOWABLE = re.compile("[\x00-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069\ud800-\udfff]")
"""Control characters, line breaks, turns of the writing direction, and bytes of a file name that are not UTF-8."""
INVISIBLE = re.compile("[\u00ad\u034f\u061c\u115f\u1160\u17b4\u17b5\u180b-\u180e\u200b\u200e\u200f"
                       "\u2060-\u2064\u206a-\u206f\u3164\ufeff\uffa0\ufff0-\ufffb\U000e0000-\U000e0fff]")  # fmt: skip
"""Characters that take no room: two names that differ by one look the same (Unicode, Default_Ignorable_Code_Point; the
joiners and the variation selectors, which some scripts and pictures need, are left out)."""
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n")
"""A cell that begins so can run in a spreadsheet."""


def showable(name: str) -> str:
    """Return a name with a replacement sign for each character that cannot be shown."""
    return UNSHOWABLE.sub("\ufffd", name)


def one_line(text: str) -> str:
    """Return text on one line, spaces single, with a replacement sign for each character that can steer a terminal."""
    return " ".join(showable(" ".join(text.split())).split())


def clean(text: str, *, most: int = 200) -> str:
    """Return text on one line of at most so many signs, without those that cannot be printed."""
    line = " ".join("".join(sign if sign.isprintable() else " " for sign in text).split())
    return line if len(line) <= most else line[: most - 1] + "…"


def plain_cell(text: str) -> str:
    """Return text as a spreadsheet takes it for text: with an apostrophe before what would run as a formula."""
    return f"'{text}" if text.lstrip("'").startswith(FORMULA_STARTS) else text


def own_text(cell: str) -> str:
    """Return the text of which `plain_cell` made a cell."""
    return cell[1:] if cell.startswith("'") and plain_cell(cell) != cell else cell


def nearest(word: str, known: Iterable[str]) -> str:
    """Return the known word that is spelled most like a word; "" if none is like it."""
    return next(iter(get_close_matches(word.lower(), list(known), n=1, cutoff=0.6)), "")
