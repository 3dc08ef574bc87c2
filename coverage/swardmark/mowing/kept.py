"""The outlook of a lawn, kept in its record: where everything that it follows from is the same, it is read again.

It follows from the measured series, the keeper's settings and tables, the day, and the program. A hash of them all is
the basis under which the record keeps one outlook, as JSON, checked by pydantic before any of it is used.
"""

from __future__ import annotations

import dataclasses
import datetime as dt
import hashlib
import json
from collections.abc import Sequence
from contextlib import suppress

from pydantic import TypeAdapter

from swardmark.common.errors import UsageError
from swardmark.common.files import program_state
from swardmark.forecast.past import PastSeason
from swardmark.forecast.rows import ZoneSeries
from swardmark.lawn.readings import DiaryEntry, Reading
from swardmark.lawn.toml import Lawn
from swardmark.lawn.weather import Weather
from swardmark.mowing.outlook import outlook
from swardmark.mowing.rows import LawnOutlook
from swardmark.record.place import RECORD_FILE
from swardmark.record.store import Record

OF_THE_OUTLOOK = "/outlook"
"""Where the record keeps it: beside the photo points, none of which can have this name."""


def kept_outlook(
    series: Sequence[ZoneSeries],
    *,
    lawn: Lawn,
    as_of: dt.date,
    readings: Sequence[Reading],
    diary: Sequence[DiaryEntry],
    weather: Weather | None,
    past: Sequence[PastSeason],
) -> LawnOutlook:
    """Return what `outlook` gives, from the lawn's record where it stands there; a full disk is no fault here."""
    parts = (series, lawn, as_of, readings, diary, weather, past, program_state())
    basis = hashlib.sha256(repr(parts).encode()).hexdigest()
    path = lawn.folder / RECORD_FILE
    if path.is_file():
        with suppress(UsageError), Record(path) as record:
            kept = record.derived(point=OF_THE_OUTLOOK, basis=basis)
            if kept and (known := _unpacked(kept)):
                return known
    new = outlook(series, lawn=lawn, as_of=as_of, readings=readings, diary=diary, weather=weather, past=past)
    if path.is_file():
        with suppress(UsageError), Record(path) as record:
            record.keep_derived(OF_THE_OUTLOOK, {basis: _packed(new)})
    return new


def _packed(one: LawnOutlook) -> bytes:
    return json.dumps(dataclasses.asdict(one), default=str).encode()


def _unpacked(kept: bytes) -> LawnOutlook | None:
    with suppress(ValueError):
        return TypeAdapter(LawnOutlook).validate_json(kept)
    return None
