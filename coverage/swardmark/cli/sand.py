"""swardmark sand: the order arithmetic alone, from a depth to the sand or from the sand to a depth."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

import typer

from swardmark.cli import sentences
from swardmark.cli.commands import price_per_m3
from swardmark.cli.console import JsonOption, QuietOption, document, say
from swardmark.common.cautions import DUST_CAUTION
from swardmark.common.errors import UsageError
from swardmark.common.units import Units, format_volume, parse_area, parse_depth, parse_mass, parse_volume

if TYPE_CHECKING:
    from swardmark.lawn.settings import SandSettings


def sand(
    area: Annotated[str, typer.Option(help="Ground to be sanded, such as 60m2 or 1500sqft.")],
    depth: Annotated[
        str | None,
        typer.Option(help="Mean depth, such as 6mm or 1/4in; a pass of 6mm or 1/4in if not given."),
    ] = None,
    volume: Annotated[
        str | None, typer.Option(help="Sand instead of a depth, such as 2yd3: how deep is it?")
    ] = None,
    scoops: Annotated[
        float | None,
        typer.Option(min=0, max=1e4, help="Loader scoops instead of a depth: how deep are they?"),
    ] = None,
    budget: Annotated[
        float | None, typer.Option(min=0, max=1e6, help="Money instead of a depth: how deep does it go?")
    ] = None,
    price_per_yard: Annotated[
        float | None, typer.Option(min=0, max=1e6, help="Price of a cubic yard of sand.")
    ] = None,
    price_per_cubic_meter: Annotated[
        float | None, typer.Option("--price-per-m3", min=0, max=1e6, help="Price of a cubic meter of sand.")
    ] = None,
    delivery: Annotated[float | None, typer.Option(min=0, max=1e6, help="Price of the delivery.")] = None,
    currency: Annotated[str | None, typer.Option(help="Sign or code of the money, such as $ or EUR.")] = None,
    sold_as: Annotated[str, typer.Option(help="How it is sold: scoops, bags or half-yards.")] = "scoops",
    settling: Annotated[
        float, typer.Option(min=0, max=50, help="Percent more to order, for settling.")
    ] = 0.0,
    payload: Annotated[
        str | None, typer.Option(help="What your vehicle may carry, such as 700kg or 1500lb (door frame).")
    ] = None,
    aboard: Annotated[
        str | None, typer.Option(help="People and tools that ride along, such as 100kg or 220lb.")
    ] = None,
    units: Annotated[str, typer.Option(help="What is shown first: metric or us.")] = "metric",
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> None:
    """Order arithmetic alone: area and depth to sand and cost, or sand or a budget to the depth."""
    from swardmark.relevel.order_words import bulked_depth, depth_sentence, order_lines
    from swardmark.relevel.sand import check_depth, depth_of_volume, order_of_volume, sand_order

    shown = _units(units)
    settings = _settings(shown, price_per_m3(price_per_yard, price_per_cubic_meter), delivery, currency, sold_as,
                         settling, payload, aboard)  # fmt: skip
    ground_m2 = parse_area(area, where="--area")
    given = _given(volume, scoops, budget, settings, shown)
    if given is not None and depth is not None:
        raise UsageError("a depth and an amount of sand", where="--depth", remedy="Give one of the two")
    if given is None:
        depth_mm = 1000 * parse_depth(depth, where="--depth") if depth else settings.pass_depth_mm
        order = sand_order(area_m2=ground_m2, depth_mm=depth_mm, settings=settings)
        judged = check_depth(depth_mm, units=shown)
    else:
        amount, amount_m3 = given
        depth_mm = depth_of_volume(amount_m3, area_m2=ground_m2, settings=settings)
        order = order_of_volume(amount_m3 / (1 + settling / 100), settings=settings)
        judged = (
            depth_sentence(amount, depth_mm, area_m2=ground_m2, settings=settings, units=shown),
            *bulked_depth(amount_m3, depth_mm, settings=settings, units=shown),
        )
    lines = order_lines(
        order, units=shown, is_bought=given is not None, area_m2=ground_m2 or None, has_options=True
    )
    for line in () if quiet or as_json else (*judged, *lines, DUST_CAUTION):
        say(line)
    content = {**order.as_dict(), "depth_mm": round(depth_mm, 2), "cautions": (*judged, DUST_CAUTION)}
    document(content, wanted=as_json)


def _given(
    volume: str | None, scoops: float | None, budget: float | None, settings: SandSettings, units: Units
) -> tuple[str, float] | None:
    """Return an amount of sand in words and in cubic meters, however it was given; None where none was."""
    from swardmark.relevel.order_words import money, sold_words, volume_within
    from swardmark.relevel.sand import unit_m3

    if sum(option is not None for option in (volume, scoops, budget)) > 1:
        raise UsageError(
            "more than one amount of sand",
            where="--volume",
            remedy="Give one of --volume, --scoops and --budget",
        )
    if volume is not None:
        cubic_meters = parse_volume(volume, where="--volume")
        return format_volume(cubic_meters, units=units), cubic_meters
    if scoops is not None:
        size = format_volume(settings.scoop_m3, units=units)
        return sentences.SCOOPS_OF.format(count=scoops, size=size), scoops * settings.scoop_m3
    if budget is not None:
        cubic_meters = volume_within(budget, settings, units=units)
        count = round(cubic_meters / unit_m3(settings))
        bought = sold_words(count, settings.sold_as, unit_m3(settings), units=units)
        paid = money(budget, settings.currency)
        return sentences.MONEY_BUYS.format(money=paid, bought=bought), cubic_meters
    return None


def _settings(
    units: Units,
    price: float | None,
    delivery: float | None,
    currency: str | None,
    sold_as: str,
    settling: float,
    payload: str | None,
    aboard: str | None,
) -> SandSettings:
    from swardmark.lawn.settings import sand_settings

    kinds = {"scoops": "scoops", "bags": "bags", "half-yards": "half yards", "half yards": "half yards"}
    if sold_as not in kinds:
        what = f"{sold_as!r} is not how sand is sold here"
        raise UsageError(what, where="--sold-as", remedy="Write scoops, bags or half-yards")
    given: dict[str, Any] = {
        "price_per_m3": price,
        "delivery_price": delivery,
        "currency": currency,
        "payload_kg": _mass_kg(payload, "--payload"),
        "aboard_kg": _mass_kg(aboard, "--aboard"),
    }
    given = {name: value for name, value in given.items() if value is not None}
    return sand_settings(units, settling_pct=settling, sold_as=kinds[sold_as], **given)


def _mass_kg(text: str | None, option: str) -> float | None:
    if text is None:
        return None
    mass_kg = parse_mass(text, where=option)
    if not 1 <= mass_kg <= 10_000:
        raise UsageError(f"{text!r} is not a likely load", where=option, remedy="Write it as 700kg or 1500lb")
    return mass_kg


def _units(text: str) -> Units:
    if text == "metric":
        return "metric"
    if text == "us":
        return "us"
    raise UsageError(f"{text!r} is no system of units here", where="--units", remedy="Write metric or us")
