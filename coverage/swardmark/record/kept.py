"""What follows from a lawn, kept in its record: where all that it follows from is the same, it is read again.

A hash of everything that a value was computed from, the program among it, is the basis under which the record keeps it,
as JSON, checked by pydantic before any of it is used. One value is kept in each place.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from contextlib import suppress
from functools import cache
from pathlib import Path
from typing import Any, TypeVar

from pydantic import TypeAdapter
from pydantic_core import from_json, to_json

from swardmark.common.errors import UsageError
from swardmark.common.files import program_state
from swardmark.record.place import RECORD_FILE
from swardmark.record.store import Record

T = TypeVar("T")


def kept_in(
    folder: Path,
    place: str,
    made_from: object,
    make: Callable[[], T],
    *,
    kind: Any,
    at_hand: Mapping[str, object] | None = None,
) -> T:
    """Return what `make` gives, from the lawn's record where it stands there; a full disk is no fault here.

    Parameters
    ----------
    folder : Path
        The lawn folder; without a record in it nothing is kept.
    place : str
        Where it is kept, with a slash in front: no photo point can have this name.
    made_from : object
        All that the value follows from besides the program; its `repr` must tell it whole.
    make : callable
        Computes the value.
    kind : type
        What it is.
    at_hand : mapping, optional
        Fields of it that need not be kept, because whoever asks has them.
    """
    basis = hashlib.sha256(repr((made_from, program_state())).encode()).hexdigest()
    path = folder / RECORD_FILE
    if path.is_file():
        with suppress(UsageError), Record(path) as record:
            kept = record.derived(point=place, basis=basis)
            if kept is not None:
                with suppress(ValueError, TypeError):
                    known: T = _unpacked(kept, kind, at_hand or {})
                    return known
    new = make()
    if path.is_file():
        packed = to_json(new, exclude=set(at_hand or ()), inf_nan_mode="constants")
        with suppress(UsageError), Record(path) as record:
            record.keep_derived(place, {basis: packed})
    return new


def _unpacked(kept: bytes, kind: Any, at_hand: Mapping[str, object]) -> Any:
    if not at_hand:
        return _adapter(kind).validate_json(kept)
    return _adapter(kind).validate_python({**from_json(kept), **at_hand})


@cache
def _adapter(kind: Any) -> TypeAdapter[Any]:
    return TypeAdapter(kind)
