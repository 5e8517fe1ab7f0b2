"""`trial`: past weather lived through day by day, the plan against the chart on the wall."""

from __future__ import annotations

import os
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from hardenoff.cli.load import save
from hardenoff.cli.options import Shared, takes_shared
from hardenoff.cli.output import remark, show
from hardenoff.errors import UsageError
from hardenoff.records import Garden, Place

if TYPE_CHECKING:
    from hardenoff.trial.weather import Weather

PACKAGED = {"greensboro": "723170TYA.CSV", "sand-point": "703165TY.csv"}
"""Typical years that pvlib brings along: Greensboro in North Carolina and Sand Point in Alaska (TMY3, NREL)."""
FIRST_SEED = 1001
CARERS = ("home", "work")


@takes_shared
def trial(
    shared: Shared,
    files: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[FILE]...",
            help="Weather: TMY3, EPW, PSM, a table of hours; or greensboro, sand-point.",
            show_default="greensboro",
        ),
    ] = None,
    crops: Annotated[
        list[str] | None, typer.Option("--crop", metavar="CROP", help="Again for more (tomato).")
    ] = None,
    rule: Annotated[str | None, typer.Option("--rule", metavar="RULE", help="Else the crop's own.")] = None,
    carers: Annotated[
        list[str] | None, typer.Option("--carer", metavar="home|work", help="At home, or at work; else both.")
    ] = None,
    first: Annotated[str, typer.Option("--from", metavar="MM-DD", help="Earliest first day.")] = "04-01",
    last: Annotated[str, typer.Option("--to", metavar="MM-DD", help="Latest first day.")] = "06-01",
    every: Annotated[int, typer.Option("--every", metavar="DAYS", min=1, help="From one to the next.")] = 6,
    seeds: Annotated[int, typer.Option("--seeds", metavar="N", min=0, help="Forecasts that are off.")] = 3,
    perfect: Annotated[bool, typer.Option(help="Forecasts that come true as well.")] = True,
    at: Annotated[
        str | None, typer.Option("--at", metavar="LAT,LON", help="Where a table of hours is from.")
    ] = None,
    timezone: Annotated[
        str | None, typer.Option("--timezone", metavar="ZONE", help="Else the file's offset from UTC all year.")
    ] = None,
    out: Annotated[
        Path | None, typer.Option("--out", metavar="FOLDER", help="Write a page, a picture, JSON.")
    ] = None,
) -> None:
    """What the plan would have been worth in past weather: harm and days, against the same rule by the calendar.

    Each morning a forecast, true or off; the plan; the day as it was. With --garden your spots, batches, hours.
    """
    from hardenoff.trial.play import Asked, play, starts_between
    from hardenoff.views import trial as view
    from hardenoff.views import trial_json

    played = []
    for name in files or ["greensboro"]:
        weather = _weather(name, _asked_place(name, at, timezone), timezone)
        gardens = _gardens(shared, weather.place, crops or ["tomato"], rule, carers or list(CARERS))
        year = weather.truth.hours.index[len(weather.truth.hours) // 2].year
        starts = starts_between(_date(year, first, "--from"), _date(year, last, "--to"), every)
        asked = Asked(gardens, starts, tuple(range(FIRST_SEED, FIRST_SEED + seeds)), perfect)
        if not starts:
            raise UsageError(f"--to {last} is before --from {first}", "first days in order", "change one of them")
        if os.isatty(2):
            remark(f"living through {len(starts)} starts at {weather.place.name} ...")
        try:
            played.append(play(weather, asked))
        except ValueError as fault:
            raise UsageError(
                f"{name}: {fault}",
                "hours from the day before the earliest first day to 65 days after the latest",
                "choose first days that the file covers with --from and --to",
            ) from fault
    if out is not None:
        _write(out, played)
    show(shared, lambda: trial_json.trials(played), lambda width, colour: view.render(played, width, colour))


def _weather(name: str, asked: Place | None, timezone: str | None) -> Weather:
    from hardenoff.trial.weather import read_weather

    try:
        if name in PACKAGED:
            from importlib.resources import files

            data, label = (files("pvlib") / "data" / PACKAGED[name]).read_bytes(), PACKAGED[name]
        else:
            data, label = Path(name).read_bytes(), Path(name).name
    except OSError as fault:
        raise UsageError(
            f"{name} can't be read: {fault.strerror}",
            f"a weather file, or one of {', '.join(PACKAGED)}",
            "check the path",
        ) from fault
    return read_weather(data, label, asked=asked, timezone=timezone)


def _asked_place(name: str, at: str | None, timezone: str | None) -> Place | None:
    if at is None:
        return None
    try:
        latitude, longitude = (float(part) for part in at.split(","))
    except ValueError:
        raise UsageError(
            f'--at "{at}" is no place', "latitude,longitude in degrees", "write --at 36.1,-79.95"
        ) from None
    if not (-90.0 <= latitude <= 90.0 and -180.0 <= longitude <= 180.0):
        raise UsageError(f'--at "{at}" is not on the globe', "-90 to 90, -180 to 180", "write --at 36.1,-79.95")
    if timezone is None:
        raise UsageError(
            "--at without --timezone", "the zone of that place as well", "add --timezone Europe/Paris"
        )
    return Place(Path(name).name, latitude, longitude, None, timezone)


def _gardens(
    shared: Shared, place: Place, crops: list[str], rule: str | None, carers: list[str]
) -> dict[str, Garden]:
    """The garden of each carer: one's own where `--garden` was given, else the invented one."""
    if shared.garden is not None:
        from hardenoff.garden import read_garden

        mine = read_garden(shared.garden)
        return {"of the garden": replace(mine, place=place)}
    from hardenoff.tables import find_crop, load_crops, load_rules
    from hardenoff.trial.garden import trial_garden

    for crop in crops:
        if find_crop(crop) is None:
            known = ", ".join(one.name for one in list(load_crops().values())[:6])
            raise UsageError(
                f'--crop "{crop}" is not in the table', f"{known}, ...", "choose one of the table's crops"
            )
    for carer in carers:
        if carer not in CARERS:
            raise UsageError(f'--carer "{carer}"', "home or work", "choose one, or leave it out for both")
    if rule is not None and rule not in load_rules():
        raise UsageError(f'--rule "{rule}" is not in the table', ", ".join(load_rules()), "choose one of them")
    each = {carer: [trial_garden(place, crop, carer, rule) for crop in crops] for carer in carers}
    return {
        carer: replace(made[0], batches=tuple(garden.batches[0] for garden in made))
        for carer, made in each.items()
    }


def _date(year: int, text: str, option: str) -> date:
    try:
        return date.fromisoformat(f"{year}-{text}")
    except ValueError:
        raise UsageError(f'{option} "{text}" is no day', "month-day, as 04-01", f"write {option} 04-01") from None


def _write(folder: Path, played: list) -> None:  # type: ignore[type-arg]
    from hardenoff.views import as_json, trial_json, trial_picture, trial_report

    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise UsageError(
            f"{folder} can't be made: {fault.strerror}", "a folder you may write to", "choose another path"
        ) from fault
    save(folder / "trial.svg", trial_picture.svg(played).encode())
    save(folder / "trial.md", trial_report.markdown(played, picture="trial.svg").encode())
    save(folder / "trial.json", as_json.dumps(trial_json.trials(played)).encode())
