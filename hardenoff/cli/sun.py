"""`sun SPOT`: when the sun reaches a spot. Geometry and clear sky only, so it needs no forecast."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Annotated

import typer

from hardenoff.cli import load
from hardenoff.cli.morning import show
from hardenoff.cli.options import Shared, takes_shared
from hardenoff.errors import UsageError
from hardenoff.records import INSIDE, Garden, Spot

SEASON = timedelta(weeks=26)


@takes_shared
def sun(
    shared: Shared,
    spot: Annotated[str, typer.Argument(metavar="SPOT", help="A spot of the garden file.", show_default=False)],
    on: Annotated[
        str | None, typer.Option("--date", metavar="DATE", help="Another date than today, as 2027-05-05.")
    ] = None,
    season: Annotated[
        bool, typer.Option("--season", help="Every seventh day for half a year, from --date on.")
    ] = False,
) -> None:
    """When the sun reaches a spot, on a date or through the season, and how that moves if it was measured wrongly.

    Geometry and clear sky only: no forecast is needed.
    """
    from hardenoff.sun import windows
    from hardenoff.views import as_json
    from hardenoff.views import sun as view

    garden = load.garden(shared)
    place, there = garden.place, named(garden, spot)
    day = load.now(shared, place).date() if on is None else told_date(on)
    if season:
        days = windows.season(there, place, day, day + SEASON)
        show(
            shared,
            lambda: as_json.sun_season(days, place.timezone),
            lambda width, colour: view.render_season(days, place.timezone, width, colour),
        )
        return
    one, band = windows.sun_day(there, place, day), windows.band(there, place, day)
    show(
        shared,
        lambda: as_json.sun(one, band, place.timezone),
        lambda width, colour: view.render(one, band, place.timezone, width, colour),
    )


def named(garden: Garden, name: str) -> Spot:
    """The outdoor spot of that name; UsageError with the nearest name if there is none."""
    for spot in garden.spots:
        if spot.name == name:
            return spot
    from hardenoff.garden.values import closest

    known = [spot.name for spot in garden.spots]
    near = closest(name, known)
    if name == INSIDE:
        fix = "ask for an outdoor spot: what stands inside has no sun of its own here"
    else:
        fix = f'did you mean "{near}"?' if near else "see `hardenoff check` for what the file says of each"
    raise UsageError(f'there is no spot "{name}"', f"one of {', '.join(known)}", fix)


def told_date(text: str) -> date:
    """A date from the command line; UsageError for anything else."""
    try:
        told = date.fromisoformat(text)
    except ValueError:
        told = None
    if told is None or told.year not in load.YEARS:
        raise UsageError(
            f'--date "{text}" is not a date of the years {load.YEARS.start} to {load.YEARS.stop - 1}',
            "year, month and day, as 2027-05-05",
            "write the date so, or leave --date out for today",
        )
    return told
