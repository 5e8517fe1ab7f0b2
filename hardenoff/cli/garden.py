"""`check` and `init`: the garden file looked over, and a first one written."""

from __future__ import annotations

import os
import sys
from typing import Annotated

import typer

from hardenoff.cli import load, questions
from hardenoff.cli.options import Shared, takes_shared
from hardenoff.cli.output import remark, show
from hardenoff.cli.questions import ask
from hardenoff.errors import Exit, UsageError
from hardenoff.records import Place, UnitSystem

NOWHERE = Place("", 0.0, 0.0, None, "UTC")
"""For dates that may be a few hours off, before the place is known."""
NORTH_SOUTH, EAST_WEST = "NS", "EW"
PLANTS = 12
"""Of a crop without a number (ours)."""


@takes_shared
def check(shared: Shared) -> None:
    """Read the garden file: every fault at once with its repair, what would help, and what was understood."""
    from hardenoff.garden import check_garden
    from hardenoff.views import as_json, report

    path = load.garden_path(shared)
    found = check_garden(path, load.now(shared, NOWHERE))
    show(
        shared,
        lambda: as_json.check(str(path), found),
        lambda width, colour: report.render(str(path), found, width, colour),
    )
    if found.faults:
        raise typer.Exit(Exit.USAGE)


@takes_shared
def init(
    shared: Shared,
    name: Annotated[str | None, typer.Option("--name", metavar="NAME", help="What the garden is called.")] = None,
    north: Annotated[
        str | None,
        typer.Option("--latitude", metavar="DEGREES", help="In degrees, north is positive; or as 38.61N."),
    ] = None,
    east: Annotated[
        str | None,
        typer.Option("--longitude", metavar="DEGREES", help="In degrees, east is positive; or as 83.02W."),
    ] = None,
    timezone: Annotated[
        str | None, typer.Option("--timezone", metavar="ZONE", help="As in America/New_York.")
    ] = None,
    elevation: Annotated[
        str | None, typer.Option("--elevation", metavar="LENGTH", help="With its unit, as in '790 ft'.")
    ] = None,
    units: Annotated[UnitSystem | None, typer.Option("--units", help="What is shown; metric if not told.")] = None,
    crops: Annotated[
        list[str] | None, typer.Option("--crop", metavar="CROP", help="Once a batch; CROP:PLANTS says how many.")
    ] = None,
    force: Annotated[bool, typer.Option("--force", help="Write over a file that is there.")] = False,
) -> None:
    """Write a garden file to begin with. At a terminal it asks; elsewhere the options say it all."""
    from hardenoff.garden import garden_from_text, starter_text

    path = load.garden_path(shared)
    if os.path.exists(path) and not force:
        raise UsageError(
            f"{path} is there already", "no garden file yet", "edit it, or write over it with --force"
        )
    latitude = None if north is None else _degrees("--latitude", north, 90, NORTH_SOUTH)
    longitude = None if east is None else _degrees("--longitude", east, 180, EAST_WEST)
    if at_terminal():
        name = name or ask("What is the garden called", str, "my garden")
        if latitude is None:
            latitude = ask("Latitude in degrees, north positive", questions.degrees(90, NORTH_SOUTH))
        if longitude is None:
            longitude = ask("Longitude in degrees, east positive", questions.degrees(180, EAST_WEST))
        timezone = timezone or ask("Time zone, as in America/New_York", questions.zone)
        if far := _far_from_sun(timezone, longitude):
            longitude = ask(f"{far}. Longitude again", questions.degrees(180, EAST_WEST))
        units = units or ask("Units, us or metric", questions.units, "metric")
        elevation = elevation or ask("Elevation with its unit (enter: not known)", questions.elevation, "")
        crops = crops or ask("Crops, with commas between them", questions.crops, "tomato")
    if latitude is None or longitude is None or timezone is None:
        raise UsageError(
            "init was told too little to write a garden file",
            "--latitude and --longitude in degrees, --timezone as in America/New_York",
            "give all three, or run it at a terminal, where it asks",
        )
    text = starter_text(
        name=name or "my garden",
        latitude=latitude,
        longitude=longitude,
        timezone=timezone,
        today=load.now(shared, NOWHERE).date(),
        units=units or "metric",
        elevation=elevation,
        crops=[_crop(entry) for entry in crops or ["tomato"]],
    )
    garden_from_text(path, text, is_written=False)
    load.save(path, text.encode())
    if far := _far_from_sun(timezone, longitude):
        remark(f"! {far}: check longitude and timezone in the file")
    remark("next: describe your spots in it, then `hardenoff check` and `hardenoff today`")


def at_terminal() -> bool:
    """Whether there is someone to ask."""
    return sys.stdin is not None and sys.stdin.isatty()


def _degrees(option: str, text: str, most: float, sides: str) -> float:
    value = questions.angle(text, most, sides)
    if value is None:
        raise UsageError(
            f'{option} "{text}" is no such angle',
            f"degrees from -{most:g} to {most:g}, or with {sides[0]} or {sides[1]} behind them",
            f"for example {option} 38.61, or {option} 38.61{sides[0]}",
        )
    return value


def _far_from_sun(timezone: str, longitude: float) -> str | None:
    """What is odd where the zone's clock and the sun at the longitude can't be of one place; else None."""
    from hardenoff.garden.check import CLOCK_FROM_SUN_H
    from hardenoff.garden.zones import hours_from_sun, is_zone

    apart = abs(hours_from_sun(timezone, longitude)) if is_zone(timezone) else 0.0
    if apart <= CLOCK_FROM_SUN_H:
        return None
    return f"The clock of {timezone} is {apart:.1f} h from the sun at longitude {longitude:g}; west is negative"


def _crop(entry: str) -> tuple[str, int]:
    """`sweet pepper:12`, or without a number."""
    name, _, plants = entry.partition(":")
    if plants and not plants.strip().isdecimal():
        raise UsageError(
            f'--crop "{entry}"', "a crop, or crop:plants with a whole number", 'write "sweet pepper:12"'
        )
    return name.strip(), int(plants) if plants else PLANTS
