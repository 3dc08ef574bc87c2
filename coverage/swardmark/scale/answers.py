"""What a worker sends back: numbers, text and bytes, packed as MessagePack, and checked here before any of it is used.

No object of ours travels: values are taken apart where they were made, and made again here from parts of the very kinds
that the work promises by its return annotation. The format is that of https://msgpack.org.
"""

from __future__ import annotations

import dataclasses
import datetime as dt
from collections.abc import Callable, Sequence
from functools import cache
from typing import Any, get_type_hints

from pydantic import TypeAdapter, ValidationError


def packed_answers(results: Sequence[object]) -> bytes:
    """Return what the work on some jobs gave, packed; raises TypeError for what is not made of plain values."""
    import msgpack

    packed: bytes = msgpack.packb([_plain(result) for result in results])
    return packed


def checked_answers(packed: object, work: Callable[..., Any], *, count: int) -> list[Any]:
    """Return the results of `work` on so many jobs.

    Raises
    ------
    ValueError
        They are not what the work returns, or not as many.
    """
    import msgpack

    if not isinstance(packed, bytes):
        raise ValueError("no bytes")
    try:
        answers = _kind(work).validate_python(msgpack.unpackb(packed))
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        raise ValueError(f"{'.'.join(map(str, first['loc']))}: {first['msg']}") from None
    except Exception as error:
        raise ValueError(f"no MessagePack: {error}") from None
    if len(answers) != count:
        raise ValueError(f"{len(answers)} results for {count} photos")
    return answers


@cache
def _kind(work: Callable[..., Any]) -> TypeAdapter[list[Any]]:
    kind: Any = list[get_type_hints(work).get("return", Any)]  # type: ignore[misc]
    return TypeAdapter(kind)


def _plain(value: Any) -> Any:
    """Take a value apart into lists, dictionaries, numbers, text and bytes."""
    if value is None or isinstance(value, (bool, int, str, bytes)):
        return value
    if isinstance(value, float):
        return float(value)
    if isinstance(value, dt.datetime):
        return value.isoformat()
    if isinstance(value, (list, tuple)):
        return [_plain(one) for one in value]
    if dataclasses.is_dataclass(value):
        return {part.name: _plain(getattr(value, part.name)) for part in dataclasses.fields(value)}
    raise TypeError(f"a {type(value).__name__} cannot be sent")
