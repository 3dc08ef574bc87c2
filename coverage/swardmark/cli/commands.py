"""The commands that need no lawn's season: sand, target, check, mark, page, practice and doctor."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from swardmark.cli.console import JsonOption, LawnFolder, NewFolder, QuietOption, document, end_with, say
from swardmark.common.errors import PhotoRefused, UsageError, missing_extra

Photos = Annotated[
    list[Path], typer.Argument(metavar="PHOTO...", help="Photos to look at.", show_default=False)
]


def sand(
    area: Annotated[str, typer.Option(help="Ground to be sanded, such as 60m2 or 1500sqft.")],
    depth: Annotated[str, typer.Option(help="Mean depth, such as 6mm or 1/4in.")] = "6mm",
    price_per_yard: Annotated[
        float | None, typer.Option(min=0, max=1e6, help="Price of a cubic yard of sand.")
    ] = None,
    price_per_cubic_meter: Annotated[
        float | None, typer.Option("--price-per-m3", min=0, max=1e6, help="Price of a cubic meter of sand.")
    ] = None,
    delivery: Annotated[float | None, typer.Option(min=0, max=1e6, help="Price of the delivery.")] = None,
    settling: Annotated[
        float, typer.Option(min=0, max=50, help="Percent more to order, for settling.")
    ] = 0.0,
    payload: Annotated[
        str, typer.Option(help="What your vehicle may carry, such as 700kg or 1500lb.")
    ] = "700kg",
    units: Annotated[str, typer.Option(help="What is shown first: metric or us.")] = "metric",
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> None:
    """Order arithmetic alone: area and depth to volume, mass, scoops, bags, trips and cost."""
    from swardmark.common.cautions import DUST_CAUTION
    from swardmark.common.units import parse_area, parse_length
    from swardmark.lawn.toml import SandSettings
    from swardmark.relevel.sand import check_depth, sand_order

    shown = _units(units)
    depth_mm = parse_length(depth, bare="mm", where="--depth") * 1000
    order = sand_order(
        area_m2=parse_area(area, where="--area"),
        depth_mm=depth_mm,
        settings=SandSettings(settling_pct=settling, payload_kg=_payload_kg(payload)),
        price_per_m3=price_per_m3(price_per_yard, price_per_cubic_meter),
        delivery_price=delivery,
    )
    cautions = (*check_depth(depth_mm, units=shown), DUST_CAUTION)
    for line in () if quiet or as_json else (*order.lines(units=shown), *cautions):
        say(line)
    document({**order.as_dict(), "cautions": cautions}, wanted=as_json)


def target(
    file: Annotated[Path, typer.Argument(metavar="[FILE]", help="The PDF to write.")] = Path("target.pdf"),
    paper: Annotated[str, typer.Option(help="a4 or letter.")] = "a4",
    square_side: Annotated[
        str, typer.Option(help="Side of the square to tape out, such as 1m or 36in.")
    ] = "1m",
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> None:
    """Printable PDF of the four corner marks, true to size, with how to lay and photograph them."""
    from swardmark.common.units import parse_length
    from swardmark.report.target import write_target

    path = write_target(file, paper=paper, side_m=parse_length(square_side, bare="m", where="--square-side"))
    say(f"Wrote {path}. Print it at 100 % and check the 100 mm bar with a ruler.", silent=quiet or as_json)
    document({"written": str(path), "paper": paper}, wanted=as_json)


def check(
    photos: Photos,
    square_side: Annotated[
        str, typer.Option(help="Side of the reference square, such as 1m or 36in.")
    ] = "1m",
    canopy_only: Annotated[
        bool,
        typer.Option("--canopy-only", help="The cover of a photo taken straight down, without a square."),
    ] = False,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> None:
    """Is this photo fit to measure? Why not, and how to retake it."""
    from swardmark.common.units import parse_length

    side_m = parse_length(square_side, bare="m", where="--square-side")
    rows, refused = [], []
    for path in photos:
        try:
            rows.append(_canopy(path) if canopy_only else _fitness(path, side_m))
            refused += _unfit(rows[-1])
        except PhotoRefused as refusal:
            refused.append(str(refusal))
            rows.append({"photo": path.name, "fit": False, "reason": refusal.what, "remedy": refusal.remedy})
    for row in () if quiet or as_json else rows:
        if "reason" not in row:
            _show_check(row)
    document(rows[0] if len(rows) == 1 else {"photos": rows}, wanted=as_json)
    end_with(refused)


def mark(
    photo: Annotated[
        Path, typer.Argument(metavar="PHOTO", help="A photo of a lawn folder.", show_default=False)
    ],
    corners: Annotated[
        list[str],
        typer.Argument(metavar="X,Y X,Y X,Y X,Y", help="Near left, near right, far right, far left."),
    ],
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> None:
    """Give the square's four corners by hand, in pixels of the upright photo; kept in marks.toml."""
    from swardmark.measure.hand_marks import mark_square

    points = [_pixel(text) for text in corners]
    if len(points) != 4:
        raise UsageError(
            f"{len(points)} corners given, not four", where=photo.name, remedy="Give four as x,y x,y x,y x,y"
        )
    path = mark_square(photo, points)
    say(f"Kept in {path}. Next: swardmark measure {path.parent}", silent=quiet or as_json)
    document({"marks": str(path), "corners_px": points}, wanted=as_json)


def page(
    folder: LawnFolder,
    port: Annotated[
        int, typer.Option(min=0, max=65535, help="Port on this machine; 0 takes a free one.")
    ] = 8177,
    lan: Annotated[
        bool, typer.Option("--lan", help="Let phones on your own network in, with a one-time link.")
    ] = False,
    show: Annotated[bool, typer.Option("--open/--no-open", help="Open the page in the browser.")] = True,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> None:
    """Local web page for adding photos, marking the square and zones, and reading the report."""
    try:
        from swardmark.page.server import serve
    except ImportError as error:
        what = f"the page needs more than is installed ({error})"
        raise missing_extra(what, "page", where="page") from None
    serve(folder, port=port, lan=lan, show=show, quiet=quiet, as_json=as_json)


def practice(
    folder: NewFolder,
    days: Annotated[
        str, typer.Option(help="Days since the leveling, separated by commas.")
    ] = "0,3,6,9,12,16,21,28",
    seed: Annotated[int, typer.Option(min=0, help="Another number draws another lawn.")] = 1,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> None:
    """Draw a practice lawn with known cover, to try everything on."""
    from swardmark.cli.console import with_progress
    from swardmark.practice.lawn import draw_practice_lawn

    try:
        numbers = tuple(int(day) for day in days.split(","))
    except ValueError:
        raise UsageError(
            f"{days!r} is not a list of days", where="--days", remedy="Write it as 0,3,6,9"
        ) from None
    with_progress(
        lambda progress: draw_practice_lawn(
            folder,
            days=numbers,
            seed=seed,
            progress=progress and (lambda done, total: progress(done, total, "")),
        ),
        what="Drawing",
        silent=quiet or as_json,
    )
    say(f"Drew {len(numbers)} photos. Next: swardmark report {folder}", silent=quiet or as_json)
    document({"folder": str(folder), "days": numbers, "seed": seed}, wanted=as_json)


def doctor(
    repair: Annotated[
        Path | None, typer.Option("--repair", metavar="DIR", help="Rebuild a lawn's record from its photos.")
    ] = None,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> None:
    """Versions, libraries and what is missing; for bug reports."""
    from swardmark.cli.doctor import examine

    if repair is not None:
        _repair(repair, as_json=as_json, quiet=quiet)
        return

    findings = examine()
    for line in () if quiet or as_json else findings:
        say(
            f"{'ok     ' if line.is_well else 'MISSING' if line.is_needed else 'absent '}  {line.name}: {line.detail}"
        )
    rows = [{"name": f.name, "ok": f.is_well, "needed": f.is_needed, "detail": f.detail} for f in findings]
    document({"findings": rows}, wanted=as_json)
    if any(f.is_needed and not f.is_well for f in findings):
        raise typer.Exit(1)


def import_advice(error: ImportError) -> str:
    """Say in one line what to install when a library cannot be loaded."""
    if "libGL" in str(error):
        return (
            "OpenCV needs the system library libGL.so.1. Install it, on Debian or Ubuntu: apt install libgl1"
        )
    return f"a library cannot be loaded ({error}). Install again with: pip install --upgrade swardmark"


def read_input(path: Path) -> str:
    """Read a text file that the keeper named on the command line."""
    from swardmark.common.files import read_text

    try:
        return read_text(path)
    except FileNotFoundError:
        raise UsageError("no such file", where=str(path), remedy="Give a UTF-8 text file") from None


def price_per_m3(per_yard: float | None, per_m3: float | None) -> float | None:
    """Return the price of a cubic meter from whichever price was given."""
    from swardmark.common.units import CUBIC_YARD_M3

    if per_yard is not None and per_m3 is not None:
        raise UsageError("two prices of sand", where="--price-per-yard", remedy="Give one of the two")
    return per_m3 if per_yard is None else per_yard / CUBIC_YARD_M3


def _payload_kg(text: str) -> float:
    from swardmark.common.units import parse_mass

    payload_kg = parse_mass(text, bare="kg", where="--payload")
    if not 1 <= payload_kg <= 100_000:
        raise UsageError(f"{text!r} is no vehicle's payload", where="--payload", remedy="Write it as 700kg")
    return payload_kg


def _repair(folder: Path, *, as_json: bool, quiet: bool) -> None:
    from swardmark.cli.console import refusal_lines, refusals, season_in
    from swardmark.lawn.lock import lawn_lock
    from swardmark.lawn.toml import read_lawn
    from swardmark.record.store import forget_record

    read_lawn(folder)
    with lawn_lock(folder):
        forget_record(folder)
    season = season_in(folder, workers=1, silent=quiet or as_json)
    say(f"Measured {season.newly_measured} photos anew.", silent=quiet or as_json)
    document({"measured": season.newly_measured, **refusals(season)}, wanted=as_json)
    end_with(refusal_lines(season))


def _canopy(path: Path) -> dict[str, Any]:
    from swardmark.canopy.straight import cover_straight_down
    from swardmark.photo.decode import read_photo

    cover = cover_straight_down(read_photo(path).rgb)
    kept = ("cover_pct", "low_pct", "high_pct", "readable_pct")
    return {"photo": path.name, **{name: round(getattr(cover, name), 2) for name in kept}}


def _fitness(path: Path, side_m: float) -> dict[str, Any]:
    from swardmark.measure.check import check_photo

    fitness = check_photo(path, side_m=side_m)
    kept = ("name", "level", "sentence", "retake")
    findings = [
        {name: getattr(f, name) for name in kept} | {"value": _number(f.value)} for f in fitness.findings
    ]
    return {"photo": path.name, "fit": fitness.level != "unfit", "level": fitness.level, "findings": findings}


def _unfit(row: dict[str, Any]) -> list[str]:
    unfit = [f for f in row.get("findings", ()) if f["level"] == "unfit"]
    return [f"{row['photo']}: {unfit[0]['sentence']} {unfit[0]['retake']}"] if unfit else []


def _show_check(row: dict[str, Any]) -> None:
    if "cover_pct" in row:
        say(
            f"{row['photo']}: canopy cover {row['cover_pct']:.1f} % ({row['low_pct']:.1f} to {row['high_pct']:.1f}), "
            "if it was taken straight down"
        )
        return
    verdict = {
        "good": "fit to measure",
        "fair": "can be measured, with reserve",
        "unfit": "not fit to measure",
    }
    say(f"{row['photo']}: {verdict[row['level']]}")
    for finding in row["findings"]:
        if finding["sentence"]:
            say(f"  {finding['sentence']} {finding['retake']}".rstrip())


def _number(value: float) -> float | None:
    return round(value, 4) if value == value and abs(value) != float("inf") else None


def _pixel(text: str) -> tuple[float, float]:
    try:
        x, y = (float(part) for part in text.split(","))
    except ValueError:
        raise UsageError(
            f"{text!r} is not a corner", where="mark", remedy="Write it as x,y in pixels, such as 612,980"
        ) from None
    return x, y


def _units(text: str) -> Any:
    if text not in ("metric", "us"):
        raise UsageError(f"{text!r} is no system of units here", where="--units", remedy="Write metric or us")
    return text
