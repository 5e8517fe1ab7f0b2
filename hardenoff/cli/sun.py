"""`sun SPOT`: when the sun reaches a spot. Geometry and clear sky only, so it needs no forecast."""

from __future__ import annotations

from datetime import timedelta
from typing import Annotated

import typer

from hardenoff.cli import load
from hardenoff.cli.named import spot_named
from hardenoff.cli.options import Shared, takes_shared
from hardenoff.cli.output import show
from hardenoff.garden import times

SEASON = timedelta(weeks=26)
ASK_ANOTHER = "ask for an outdoor spot: what stands inside has no sun of its own here"


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
    place = garden.place
    name = spot_named(
        [spot], garden, if_inside="what stands inside has no sun of its own here: ask for another spot"
    )
    there = next(each for each in garden.spots if each.name == name)
    day = load.now(shared, place).date() if on is None else times.day(on)
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
        lambda width, colour: view.render(one, band, place.timezone, width, colour, garden.units),
    )
