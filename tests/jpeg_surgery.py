"""Cuts into a JPEG that leave a file which decoders take for whole: whole parts lost, doubled or changed places.

What `damaged_photos.py` overwrites, decoders mostly see. These cuts follow the file's own structure (ITU-T T.81, annex
B): the stretches between restart marks, the quantization tables and their numbers, the order of components, segments
that stand twice, the height of the frame, and the mark that says how colors are written.
"""

from __future__ import annotations

import re
import struct
from collections.abc import Callable

import numpy as np

DQT, SOF0, SOF2, DHT, SOS, APP14 = 0xDB, 0xC0, 0xC2, 0xC4, 0xDA, 0xEE
RESTART = re.compile(rb"\xff[\xd0-\xd7]")


def segments(data: bytes) -> list[tuple[int, int, int]]:
    """Return (marker, first byte, end) of the segments before the picture's first data."""
    found, at = [], 2
    while at < len(data) and (not found or found[-1][0] != SOS):
        marker, length = data[at + 1], struct.unpack(">H", data[at + 2 : at + 4])[0]
        found.append((marker, at, at + 2 + length))
        at += 2 + length
    return found


def _of(data: bytes, *markers: int) -> list[tuple[int, int]]:
    return [(first, end) for marker, first, end in segments(data) if marker in markers]


def _intervals(data: bytes) -> tuple[bytes, list[bytes], bytes]:
    """Take a file with restart marks apart: all before the data, the stretches between the marks, and the end."""
    scan = segments(data)[-1][2]
    return data[:scan], RESTART.split(data[scan:-2]), data[-2:]


def _joined(head: bytes, stretches: list[bytes], tail: bytes) -> bytes:
    """Put stretches together again, their marks counted anew."""
    parts = [stretches[0]]
    for number, stretch in enumerate(stretches[1:]):
        parts += [bytes([0xFF, 0xD0 + number % 8]), stretch]
    return head + b"".join(parts) + tail


def intervals_swapped(data: bytes, rng: np.random.Generator) -> bytes:
    """Let two stretches between restart marks change places."""
    head, stretches, tail = _intervals(data)
    one, two = rng.integers(0, len(stretches), size=2)
    stretches[one], stretches[two] = stretches[two], stretches[one]
    return _joined(head, stretches, tail)


def interval_copied(data: bytes, rng: np.random.Generator) -> bytes:
    """Put some stretches in the place of as many others."""
    head, stretches, tail = _intervals(data)
    count = int(rng.integers(1, max(2, len(stretches) // 3)))
    one, two = rng.integers(0, len(stretches) - count + 1, size=2)
    stretches[two : two + count] = stretches[one : one + count]
    return _joined(head, stretches, tail)


def interval_lost(data: bytes, rng: np.random.Generator) -> bytes:
    """Leave a stretch out, the marks counted anew, and double another."""
    head, stretches, tail = _intervals(data)
    gone, twice = rng.integers(0, len(stretches), size=2)
    kept = [*stretches[:twice], stretches[twice], *stretches[twice:]]
    return _joined(head, kept[:gone] + kept[gone + 1 :], tail)


def interval_cut(data: bytes, rng: np.random.Generator) -> bytes:
    """Cut a stretch short."""
    head, stretches, tail = _intervals(data)
    at = int(rng.integers(0, len(stretches)))
    stretches[at] = stretches[at][: int(rng.integers(0, max(1, len(stretches[at]))))]
    return _joined(head, stretches, tail)


def interval_zeroed(data: bytes, rng: np.random.Generator) -> bytes:
    """Fill a stretch with zeros."""
    head, stretches, tail = _intervals(data)
    at = int(rng.integers(0, len(stretches)))
    stretches[at] = bytes(len(stretches[at]))
    return _joined(head, stretches, tail)


def step_changed(data: bytes, rng: np.random.Generator) -> bytes:
    """Change one of the first steps of a quantization table: colors or light are scaled."""
    first, _ = _of(data, DQT)[rng.integers(len(_of(data, DQT)))]
    changed = bytearray(data)
    changed[first + 5 + int(rng.integers(0, 3))] = int(rng.integers(1, 120))
    return bytes(changed)


def tables_swapped(data: bytes, rng: np.random.Generator) -> bytes:
    """Let a component name another quantization table."""
    first, _ = _of(data, SOF0, SOF2)[0]
    changed = bytearray(data)
    changed[first + 12 + 3 * int(rng.integers(0, 3))] ^= 1
    return bytes(changed)


def components_swapped(data: bytes, rng: np.random.Generator) -> bytes:
    """Let two components change names."""
    first, _ = _of(data, SOF0, SOF2)[0]
    changed = bytearray(data)
    one, two = (first + 10 + 3 * n for n in rng.choice(3, 2, replace=False))
    changed[one], changed[two] = changed[two], changed[one]
    return bytes(changed)


def segment_doubled(data: bytes, rng: np.random.Generator) -> bytes:
    """Let a table, the frame or the beginning of the picture stand twice."""
    places = _of(data, DQT, DHT, SOF0, SOF2, SOS)
    first, end = places[rng.integers(len(places))]
    return data[:end] + data[first:end] + data[end:]


def size_changed(data: bytes, rng: np.random.Generator) -> bytes:
    """Change the frame's height or width."""
    first, _ = _of(data, SOF0, SOF2)[0]
    at = first + (5 if rng.random() < 0.5 else 7)
    size = struct.unpack(">H", data[at : at + 2])[0] + int(rng.choice([-160, -16, -8, -1, 1, 8, 16, 160]))
    return data[:at] + struct.pack(">H", size) + data[at + 2 :]


def colors_renamed(data: bytes, _: np.random.Generator) -> bytes:
    """Add the mark that says that colors are not written as lightness and two differences, without the JFIF segment."""
    kept = b"".join(data[first:end] for marker, first, end in segments(data) if marker != 0xE0)
    rest = data[segments(data)[-1][2] :]
    adobe = b"\xff\xee\x00\x0eAdobe\x00\x64\x00\x00\x00\x00\x00"
    return data[:2] + adobe + kept + rest


WITH_MARKS: tuple[Callable[[bytes, np.random.Generator], bytes], ...] = (
    intervals_swapped, interval_copied, interval_lost, interval_cut, interval_zeroed,
)  # fmt: skip
ALWAYS: tuple[Callable[[bytes, np.random.Generator], bytes], ...] = (
    step_changed, tables_swapped, components_swapped, segment_doubled, size_changed, colors_renamed,
)  # fmt: skip


def cut(data: bytes, rng: np.random.Generator) -> tuple[str, bytes]:
    """Cut into a file once; returns how, and the file."""
    ways = WITH_MARKS if b"\xff\xdd" in data[: segments(data)[-1][1]] and rng.random() < 0.7 else ALWAYS
    way = ways[rng.integers(len(ways))]
    return way.__name__.replace("_", " "), way(data, rng)
