"""Every sentence that a keeper sees stands in a table of its room, fits its fields, and is plain American English."""

from __future__ import annotations

import ast
import importlib
import re
import string
from collections.abc import Iterator
from pathlib import Path

import pytest

HOUSE = Path(__file__).parents[1] / "coverage" / "swardmark"
TABLES = sorted([*HOUSE.rglob("*sentences.py"), HOUSE / "common" / "cautions.py"])
BRITISH = re.compile(
    r"\b(grey|colour|metre|litre|levell|centre|neighbour|favour|mould|plough|tyre|programme"
    r"|labell|travell|whilst|towards)",
    re.IGNORECASE,
)
STIFF = re.compile(
    r"\b(reckon\w*|thought of|of another kind|let expect|is told|tells? no more|so many|look wanted|with reserve"
    r"|take away|photos? enough)\b",
    re.IGNORECASE,
)


def module_of(table: Path):
    inside = table.relative_to(HOUSE.parent).with_suffix("")
    return importlib.import_module(".".join(inside.parts))


def texts_of(value: object) -> Iterator[str]:
    """Yield the texts of a constant: itself, or those inside a tuple or a dictionary."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for part in value.values():
            yield from texts_of(part)
    elif isinstance(value, (tuple, list)):
        for part in value:
            yield from texts_of(part)


def templates() -> list[tuple[str, str]]:
    """Return (name, template) of every sentence of every room."""
    rows = []
    for table in TABLES:
        room = table.relative_to(HOUSE).with_suffix("").as_posix()
        for name, value in vars(module_of(table)).items():
            if name.isupper():
                rows += [(f"{room}.{name}", text) for text in texts_of(value)]
    return rows


def fields_of(template: str) -> dict[str, str]:
    """Return the named fields of a template with their formats."""
    parts = string.Formatter().parse(template)
    return {name: form or "" for _, name, form, _ in parts if name is not None}


def sample(form: str) -> object:
    return 12.5 if form[-1:] in ("f", "g", "e", "%") else 12 if form[-1:] in ("d", ",") else "Sample"


@pytest.mark.parametrize(("name", "template"), templates())
def test_every_template_renders(name, template):
    fields = fields_of(template)
    assert all(field.isidentifier() for field in fields), "fields have names"
    said = template.format(**{field: sample(form) for field, form in fields.items()})
    assert "{" not in said and "}" not in said
    said = re.sub(r"^( +|\w+ {2})", "", said)  # an indent, or a word that heads a column
    assert "  " not in said and " ." not in said.replace(" ...", "") and ".." not in said.replace("...", "")


@pytest.mark.parametrize(("name", "template"), templates())
def test_every_template_is_plain_american(name, template):
    prose = re.sub(r"\{.*?\}", "", template)
    assert not BRITISH.search(prose)
    assert not STIFF.search(prose)


TEMPLATES_READ = {"report": "drawing"}
"""The report shares the table of the figures in it."""


def uses() -> dict[Path, set[str]]:
    """Return the names of each table that the house's modules read."""
    found: dict[Path, set[str]] = {table: set() for table in TABLES}
    for path in HOUSE.rglob("*.py"):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        known = dict(_tables_known(tree))
        for node in ast.walk(tree):
            if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
                if node.value.id in known:
                    found[known[node.value.id]].add(node.attr)
            elif isinstance(node, ast.ImportFrom) and (table := _table(node.module or "")):
                found[table] |= {alias.name for alias in node.names}
            elif path in found and isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load):
                found[path].add(node.id)
    for template in HOUSE.rglob("*.j2"):
        names = set(re.findall(r"\bsay\.([A-Z0-9_]+)", template.read_text(encoding="utf-8")))
        if names:
            room = template.relative_to(HOUSE).parts[0]
            found[HOUSE / TEMPLATES_READ.get(room, room) / "sentences.py"] |= names
    return found


def _tables_known(tree: ast.AST) -> Iterator[tuple[str, Path]]:
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom):
            for alias in node.names:
                if table := _table(f"{node.module}.{alias.name}"):
                    yield alias.asname or alias.name, table


def _table(module: str) -> Path | None:
    path = HOUSE.parent / Path(*module.split(".")).with_suffix(".py")
    return path if path in TABLES else None


def test_no_sentence_is_unused_or_missing():
    for table, used in uses().items():
        known = {name for name in vars(module_of(table)) if name.isupper()}
        assert known - used == set(), f"unused in {table.relative_to(HOUSE)}"
        assert {name for name in used if name.isupper()} - known == set(), (
            f"missing in {table.relative_to(HOUSE)}"
        )


def test_every_call_fills_the_fields_of_its_template():
    seen = 0
    for path in HOUSE.rglob("*.py"):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        known = dict(_tables_known(tree))
        for node in ast.walk(tree):
            match node:
                case ast.Call(
                    func=ast.Attribute(
                        value=ast.Attribute(value=ast.Name(id=table), attr=name), attr="format"
                    ),
                    keywords=keywords,
                ) if table in known and all(word.arg for word in keywords):
                    template = getattr(module_of(known[table]), name)
                    assert {word.arg for word in keywords} == set(fields_of(template)), f"{path.name}: {name}"
                    seen += 1
    assert seen
