"""Bytes as text for the record: packed, and unpacked with a limit, since a record may come from anyone."""

from __future__ import annotations

import base64
import zlib


def packed_text(raw: bytes) -> str:
    """Return bytes packed, as ASCII text."""
    return base64.b85encode(zlib.compress(raw)).decode("ascii")


def unpacked_text(text: str, *, most: int) -> bytes:
    """Return the bytes that `packed_text` packed.

    Parameters
    ----------
    text : str
        What it returned.
    most : int
        How many bytes it can have been.

    Raises
    ------
    ValueError
        It is damaged, no text, or holds more.
    """
    unpacker = zlib.decompressobj()
    try:
        raw = unpacker.decompress(base64.b85decode(text), most + 1)
    except (TypeError, zlib.error) as error:
        raise ValueError(f"packed text is damaged: {error}") from None
    if len(raw) > most or not unpacker.eof:
        raise ValueError("packed text is cut off or too long")
    return raw
