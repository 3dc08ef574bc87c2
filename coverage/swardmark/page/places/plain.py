"""Sentences of other rooms, said as the page says them: without the names of files, for the page has fields instead."""

from __future__ import annotations

import re

from swardmark.page.places import sentences

FILES = r"(?:lawn\.toml|readings\.csv|diary\.csv|heights\.csv|marks\.toml|weather\.csv)"
_RULES = (
    (re.compile(rf"^{FILES} gives no leveling date"), sentences.PLAIN_NO_LEVELING),
    (re.compile(rf"\bdate in {FILES}"), sentences.PLAIN_LEVELING_DAY),
    (re.compile(rf"(?:;|,| and) (?:note|write|put) (?:it|them|the day(?: of each)?|the depths?)(?: as \w+)?"
                rf" (?:in|into|under)(?: \[\w+\])?(?: in)?(?: {FILES})?"), ""),
    (re.compile(rf"[Gg]ive area_m2 in {FILES}"), sentences.PLAIN_AREA),
    (re.compile(rf",? (?:in|into|under) (?:\[+\w+\]+ in )?{FILES}"), ""),
    (re.compile(r" under \[+\w+\]+"), ""),
    (re.compile(r"\bwrite payload_(?:kg|lb)\b"), sentences.PLAIN_PAYLOAD),
    (re.compile(r"\btarget_height_mm\b"), sentences.PLAIN_TARGET),
    (re.compile(r"\busual_height_mm\b"), sentences.PLAIN_USUAL),
)  # fmt: skip

_WHERE = re.compile(rf"^(?:[^\s:]*/)?{FILES}(?:, line \d+)?: ")


def plain(text: str) -> str:
    """Return a sentence without the names of files and settings."""
    bare_start = _WHERE.match(text) is not None
    text = _WHERE.sub("", text)
    for pattern, words in _RULES:
        text = pattern.sub(words, text)
    return text[:1].upper() + text[1:] if bare_start else text
