"""Read the numbers and dates of reports of drawn lawns and compare them with the tables beside them.

    python tests/reliability/report_numbers.py --lawns 10 --seed 1

A report that says more than its tables is a fault like a crash. Every zone's row, sentence, spot, place to fill or cut
and caption is read from report.html as a keeper reads it. Its numbers must be those of cover.csv, outlook.csv,
spots.csv and level_spots.csv, its dates must lie in their windows, and what is said twice must be the same. Ends with
exit code 1 where it is not.
"""

from __future__ import annotations

import argparse
import csv
import datetime as dt
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path

MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
    "December",
)  # fmt: skip
DAY = rf"\d{{1,2}} (?:{'|'.join(MONTHS)})(?: \d{{4}})?"
WINDOW = re.compile(
    rf"({DAY}) \((now|\d{{1,2}}(?: \w+)?(?: \d{{4}})?) to ({DAY})(?:, chance (under 1|over 99|\d+) %)?\)"
)
COVER = re.compile(r"(\d+) % covered on day (\d+)")
GAIN = re.compile(r"([+-][\d.]+) points a day")
CAPTION = re.compile(rf"({DAY}), day (\d+): (\d+) % covered")
CHANCE = re.compile(rf"chance of (?:90 %|it) (?:by {DAY}(?: is|:)|is) (?:under 1|over 99|\d+) %")
ROUNDED = 0.551
"""What is said in whole percent may be off by this from a table with one decimal."""
SURE_PCT = 75
BLOCKS = {"p", "li", "figcaption", "dd", "dt", "h1", "h2", "h3", "h4", "summary"}


class Reading(HTMLParser):
    """The text of a report as it is read: blocks of text, captions of pictures, and tables by their headings."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.blocks: list[str] = []
        self.rows: list[dict[str, str]] = []
        self._heads: list[str] = []
        self._cells: list[str] = []
        self._cell: str | None = None
        self._block: str | None = None
        self._deep = 0
        self.feed(re.sub(r"<(script|style|svg)\b.*?</\1>", "", text, flags=re.DOTALL))

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if alt := dict(attrs).get("alt"):
            self.blocks.append(alt)
        if tag == "thead":
            self._heads = []
        elif tag == "tr":
            self._cells = []
        elif tag in ("td", "th"):
            self._cell = ""
        elif tag in BLOCKS:
            self._block = ""

    def handle_endtag(self, tag: str) -> None:
        if tag in ("td", "th") and self._cell is not None:
            self._cells.append(" ".join(self._cell.split()))
            self._cell = None
        elif tag == "thead":
            self._heads = self._cells
        elif tag == "tr" and self._heads and len(self._cells) == len(self._heads):
            self.rows.append(dict(zip(self._heads, self._cells, strict=True)))
        elif tag in BLOCKS and self._block is not None:
            self.blocks.append(" ".join(self._block.split()))
            self._block = None

    def handle_data(self, data: str) -> None:
        if self._cell is not None:
            self._cell += f" {data}"
        elif self._block is not None:
            self._block += f" {data}"


def faults_of(lawn: Path) -> list[str]:
    """Return what the report of a lawn says otherwise than its tables."""
    reading = Reading((lawn / "out/report.html").read_text(encoding="utf-8"))
    tables = {
        name: list(csv.DictReader((lawn / f"out/{name}.csv").open(encoding="utf-8")))
        for name in ("cover", "outlook", "spots", "level_spots")
        if (lawn / f"out/{name}.csv").exists()
    }
    head = next(block for block in reading.blocks if "after leveling" in block)
    said = re.search(rf"({DAY}), day (\d+) after leveling", head)
    assert said is not None, head
    today = day_of(said[1], 0)
    zero = today - dt.timedelta(days=int(said[2]))
    return [
        *_zones(reading, tables, zero, today),
        *_first_screen(reading, tables, zero, today),
        *_captions(reading, tables, zero),
        *_spots(reading, tables),
        *_days_ahead(reading, today),
    ]


def day_of(words: str, year: int, month: int = 0) -> dt.date:
    """Return the day that words such as "3 July 2026" say; year and month stand in where they are left out."""
    parts = words.split()
    month = MONTHS.index(parts[1]) + 1 if len(parts) > 1 else month
    return dt.date(int(parts[2]) if len(parts) > 2 else year, month, int(parts[0]))


def window_of(found: re.Match[str], near: dt.date) -> tuple[dt.date, dt.date, dt.date]:
    """Return the day, the first and the last day of a window; a year that is left out is the nearest."""
    on, last = (_nearest(found[part], near) for part in (1, 3))
    if found[2] == "now":
        return on, near, last
    first = _nearest(found[2] if " " in found[2] else f"{found[2]} {MONTHS[last.month - 1]}", near)
    return on, first, last


def _nearest(words: str, near: dt.date) -> dt.date:
    return min(
        (day_of(words, near.year + step) for step in (-1, 0, 1)), key=lambda day: abs((day - near).days)
    )


def _zones(reading: Reading, tables: dict, zero: dt.date, today: dt.date) -> Iterator[str]:
    """Compare the table of zones, and every sentence on a zone, with outlook.csv."""
    rows = {row["zone"]: row for row in tables["outlook"]}
    shown = [row for row in reading.rows if "Zone" in row and "Gained" in row]
    if not shown:
        yield "the report has no table of zones"
    for row in shown:
        zone, why = row["Zone"], row["Why"]
        for cover, day in COVER.findall(why):
            if f"{cover} %" != row["Cover"] or int(day) != (today - zero).days:
                yield f"{zone}: the row says {row['Cover']} on {today}, its sentence {cover} % on day {day}"
        yield from (
            f"{zone}: gained {row['Gained']}, its sentence {g}"
            for g in GAIN.findall(why)
            if g not in row["Gained"]
        )
        for name in ("Cover for the first mow", "Full"):
            if (found := WINDOW.fullmatch(row[name])) is None:
                continue
            on, first, last = window_of(found, today)
            if not first <= on <= last:
                yield f"{zone}, {name}: {row[name]}: the day lies outside its window"
            if found[4] and found[4] != "under 1" and (found[4] == "over 99" or int(found[4]) > SURE_PCT):
                yield f"{zone}, {name}: {row[name]}: a chance that need not be said"
        if zone not in rows:
            if zone != "without the flagged zones":
                yield f"{zone}: stands in the report and not in outlook.csv"
            continue
        yield from _zone_row(row, rows[zone], today)
    missing = set(rows) - {row["Zone"] for row in shown}
    yield from (f"{zone}: stands in outlook.csv and not in the report" for zone in missing)


def _zone_row(row: dict[str, str], table: dict[str, str], today: dt.date) -> Iterator[str]:
    zone = row["Zone"]
    if row["Why"] != table["why"] and not row["Why"].startswith(table["why"].rstrip(".")):
        yield f"{zone}: {row['Why']!r} where outlook.csv has {table['why']!r}"
    if table["status"] not in row["Status"]:
        yield f"{zone}: {row['Status']!r} where outlook.csv has {table['status']!r}"
    if not _is(row["Cover"], table["cover_pct"], " %", ROUNDED):
        yield f"{zone}: cover {row['Cover']!r} where outlook.csv has {table['cover_pct']}"
    if not _is(row["Gained"], table["gain_pct_per_day"], " points a day", 0.05):
        yield f"{zone}: gained {row['Gained']!r} where outlook.csv has {table['gain_pct_per_day']}"
    for name, key in (("Cover for the first mow", "mow"), ("Full", "full")):
        days = [table[f"{key}_{part}"] for part in ("on", "earliest", "latest")]
        found = WINDOW.fullmatch(row[name])
        if found and found[2] == "now":  # it has begun
            days[1] = max(days[1], today.isoformat())
        if found and [day.isoformat() for day in window_of(found, today)] != days:
            yield f"{zone}, {name}: {row[name]!r} where outlook.csv has {days}"
        if row[name] == "not in sight" and days[0]:
            yield f"{zone}, {name}: not in sight where outlook.csv has {days}"


def _is(words: str, number: str, unit: str, within: float) -> bool:
    if not number:
        return not re.search(r"\d", words)
    said = re.fullmatch(rf"([+-]?[\d.]+){re.escape(unit)}", words)
    return said is not None and abs(float(said[1]) - float(number)) <= within + 1e-9


def _first_screen(reading: Reading, tables: dict, zero: dt.date, today: dt.date) -> Iterator[str]:
    """Compare the verdict, the number with its range and change, and the parts that are not ready."""
    whole = next(row for row in tables["outlook"] if row["zone"] == "whole lawn")
    cover = float(whole["cover_pct"])
    photographed = {dt.date.fromisoformat(row["taken_at"][:10]) for row in tables["cover"]}
    captions = {
        day_of(c[0], today.year): int(c[2]) for block in reading.blocks for c in CAPTION.findall(block)
    }
    for block in reading.blocks:
        for said in re.findall(r"(\d+) % of the [\d.]+ (?:m²|sq ft) in view is covered", block):
            if abs(int(said) - cover) > ROUNDED:
                yield f"first screen: {said} % where outlook.csv has {whole['cover_pct']}"
        found = re.search(r"in view is covered \((\d+) to (\d+) %\)", block)
        if found and not int(found[1]) <= round(cover) <= int(found[2]):
            yield f"first screen: {cover} % lies outside its range {found[0]}"
        if found := re.search(r"(\d+) → (\d+) in (\d+) days", block):
            before = today - dt.timedelta(days=int(found[3]))
            if abs(int(found[2]) - cover) > ROUNDED or before not in photographed:
                yield f"first screen: {found[0]}, and no photo of {before}"
            elif captions.get(before, int(found[1])) != int(found[1]):
                yield f"first screen: {found[0]} where the pictures say {captions.get(before)} and {cover}"
        for chance in CHANCE.findall(block):
            if not any(chance in row["why"] for row in tables["outlook"]):
                yield f"{block!r}: no zone has this chance in outlook.csv"
    full = [row["Full"] for row in reading.rows if row.get("Zone") == "whole lawn"]
    said = [
        after
        for before, after in zip(reading.blocks, reading.blocks[1:], strict=False)
        if before == "Lawn full"
    ]
    for block in said:
        if (shown := WINDOW.fullmatch(block)) and full and (row := WINDOW.fullmatch(full[0])):
            if window_of(shown, today) != window_of(row, today):
                yield f"first screen: full {block}, in the table {full[0]}"
            sentence = re.search(r"chance of it by ([^:]+): (\d+) %", whole["why"])
            if (
                sentence
                and shown[4]
                and (sentence[2] != shown[4] or _nearest(sentence[1], today) != window_of(shown, today)[2])
            ):
                yield f"first screen: full {block}, its sentence {sentence[0]}"


def _captions(reading: Reading, tables: dict, zero: dt.date) -> Iterator[str]:
    """Compare what is said of each picture: its day counts from the leveling, its cover lies among its zones'."""
    by_day: dict[dt.date, list[tuple[float, float]]] = {}
    for row in tables["cover"]:
        if row["cover_pct"]:
            pair = float(row["cover_pct"]), float(row["area_m2"])
            by_day.setdefault(dt.date.fromisoformat(row["taken_at"][:10]), []).append(pair)
    said: dict[dt.date, set[str]] = {}
    for block in reading.blocks:
        for words, number, cover in CAPTION.findall(block):
            day = day_of(words, zero.year)
            said.setdefault(day, set()).add(cover)
            if (day - zero).days != int(number):
                yield f"picture of {words}: day {number} where it is day {(day - zero).days}"
            zones = by_day.get(day)
            if zones is None:
                yield f"picture of {words}: no photo of that day in cover.csv"
            elif not min(z[0] for z in zones) - 1 <= int(cover) <= max(z[0] for z in zones) + 1:
                yield f"picture of {words}: {cover} % where its zones have {sorted(z[0] for z in zones)}"
    yield from (f"pictures of {day}: {sorted(covers)} %" for day, covers in said.items() if len(covers) > 1)


def _spots(reading: Reading, tables: dict) -> Iterator[str]:
    """Compare the spots to sand and the places to fill and cut with their tables."""
    spots = {f"spot {row['spot']}": row for row in tables.get("spots", ())}
    shown = {row["Number"]: row for row in reading.rows if "Passes" in row}
    if set(shown) != set(spots):
        yield f"spots {sorted(shown)} where spots.csv has {sorted(spots)}"
    for name in shown.keys() & spots.keys():
        row, table = shown[name], spots[name]
        yield from _amounts(
            name, row, {"Area": (table["area_m2"], "m²"), "Sand": (table["sand_litres"], "L")}
        )
        if table["cover_pct"] and not _is(row["Cover"], table["cover_pct"], " %", ROUNDED):
            yield f"{name}: cover {row['Cover']!r} where spots.csv has {table['cover_pct']}"
        if row["Why"] != table["why"]:
            yield f"{name}: {row['Why']!r} where spots.csv has {table['why']!r}"
        if row["Passes"] != table["passes"]:
            yield f"{name}: {row['Passes']} passes where spots.csv has {table['passes']}"
    levels = {f"{row['kind']} {row['spot']}": row for row in tables.get("level_spots", ())}
    for row in (row for row in reading.rows if "Deepest" in row):
        table = levels.get(row["Spot"])
        if table is None:
            yield f"{row['Spot']}: stands in the report and not in level_spots.csv"
            continue
        known = {
            "Area": ("area_m2", "m²"),
            "Deepest": ("deepest_mm", "mm"),
            "Mean": ("mean_mm", "mm"),
            "Volume": ("litres", "L"),
        }
        yield from _amounts(
            row["Spot"], row, {name: (table[key], unit) for name, (key, unit) in known.items()}
        )


def _amounts(name: str, row: dict[str, str], known: dict[str, tuple[str, str]]) -> Iterator[str]:
    """Compare amounts that are said to two digits, in one unit."""
    for head, (number, unit) in known.items():
        found = re.search(rf"([\d.]+) {unit}\b", row[head])
        if found is None:
            if float(number) >= 0.05 and row[head] != "none":
                yield f"{name}: {head} {row[head]!r} where the table has {number}"
        elif abs(float(found[1]) - float(number)) > max(0.05 * float(number), 0.6 if unit == "mm" else 0.051):
            yield f"{name}: {head} {row[head]!r} where the table has {number}"


def _days_ahead(reading: Reading, today: dt.date) -> Iterator[str]:
    """What is still to come lies after the report's day, and no cut takes more than a third of the leaf."""
    for before, block in zip(reading.blocks, reading.blocks[1:], strict=False):
        if before.startswith("Next photo"):
            yield from (
                f"next photo {block}" for words in re.findall(DAY, block) if _nearest(words, today) <= today
            )
    for row in (row for row in reading.rows if "Leaf before" in row):
        leaf, cut = (float(re.sub(r"[^\d.]", "", row[head])) for head in ("Leaf before", "Cut at"))
        if cut < leaf * 2 / 3 - 0.5 or _nearest(row["Mowing"], today) < today:
            yield f"mowing {row}"


def main() -> int:
    """Draw lawns, write their reports at several days, and print what they say otherwise than their tables."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--lawns", type=int, default=10)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    faults, reports = 0, 0
    with tempfile.TemporaryDirectory(prefix="swardmark-numbers-") as scratch:
        for seed in range(options.seed, options.seed + options.lawns):
            lawn = Path(scratch) / str(seed)
            swardmark("practice", lawn, "--seed", seed, "--days", "0,4,9,14,22", "--quiet")
            for until in (9, 14, 22):
                day = dt.date(2026, 6, 3) + dt.timedelta(days=until)
                swardmark("report", lawn, "--as-of", day, "--quiet")
                for fault in faults_of(lawn):
                    print(f"lawn {seed}, day {until}: {fault}", flush=True)
                    faults += 1
                reports += 1
            shutil.rmtree(lawn)
    print(f"{reports} reports of {options.lawns} lawns: {faults} faults")
    return 1 if faults else 0


def swardmark(*words: object) -> None:
    """Run a command."""
    command = [sys.executable, "-m", "swardmark", *map(str, words)]
    subprocess.run(command, check=True, timeout=300)


if __name__ == "__main__":
    sys.exit(main())
