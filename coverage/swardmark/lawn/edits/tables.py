"""Adding and removing one [[table]] of lawn.toml in its text, where every comment stays.

A comment below a table may be of what follows it, as those of a new lawn.toml are. TOML libraries take it for the
table's own: it would go with the table, or a new table would come between it and what it is of.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from itertools import pairwise
from typing import Any

HEADER = re.compile(r"\s*\[{1,2}\s*[A-Za-z_\"'][^\[\],]*\]{1,2}\s*(#.*)?$")


def without_table(text: str, name: str, number: int) -> str:
    """Return the text of a lawn.toml without one [[name]], 0 the first; without that there is nothing to take out."""
    import tomlkit

    before = tomllib.loads(text).get(name, [])
    if not 0 <= number < len(before):
        return text
    lines = text.splitlines(keepends=True)
    own = _tables(lines, name)
    if len(own) == len(before):
        start, end = own[number]
        shorter = "".join(lines[:start] + lines[end:])
        if _says(shorter, text, name, [*before[:number], *before[number + 1 :]]):
            return shorter
    document = tomlkit.parse(text)  # a list in one line
    tables: Any = document[name]
    del tables[number]
    if not len(tables):
        document.pop(name)
    return tomlkit.dumps(document)


def with_table(text: str, name: str, values: Mapping[str, object]) -> str:
    """Return the text of a lawn.toml with one more [[name]], below those there are, or at the end."""
    import tomlkit

    document = tomlkit.parse(text)
    tables: Any = document.get(name)
    if isinstance(tables, tomlkit.items.Array):  # a list in one line
        table = tomlkit.inline_table()
        table.update(values)
        tables.append(table)
        return tomlkit.dumps(document)
    end = "\r\n" if "\r\n" in text else "\n"
    new = tomlkit.dumps({name: [dict(values)]}).strip("\n").replace("\n", end) + end
    lines = text.splitlines(keepends=True)
    if lines and not lines[-1].endswith("\n"):
        lines[-1] += end
    before, own = tomllib.loads(text).get(name, []), _tables(lines, name)
    at = own[-1][1] if own and len(own) == len(before) else len(lines)
    longer = "".join([*lines[:at], end, new, *lines[at:]])
    more = [*before, dict(values)]
    return longer if _says(longer, text, name, more) else "".join([*lines, end, new])  # a header in a text


def _tables(lines: list[str], name: str) -> list[tuple[int, int]]:
    """Return the lines of each [[name]]: its header, and the first line after its last setting."""
    headers = [number for number, line in enumerate(lines) if HEADER.match(line)]
    found = []
    for start, end in pairwise([*headers, len(lines)]):
        if re.match(rf"\s*\[\[\s*{name}\s*\]\]", lines[start]):
            while end - 1 > start and re.match(r"\s*(#.*)?$", lines[end - 1]):
                end -= 1
            found.append((start, end))
    return found


def _says(text: str, before: str, name: str, tables: list[Any]) -> bool:
    """Tell whether a text has these tables, and everything else as it was before."""
    try:
        said = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return False
    others = tomllib.loads(before)
    others.pop(name, None)
    return said.pop(name, []) == tables and said == others
