"""`forecast`: the hours as they were read, with what was estimated and what is missing."""

from __future__ import annotations

from typing import Annotated

import typer

from hardenoff.cli import load
from hardenoff.cli.options import Shared, takes_shared
from hardenoff.cli.output import show

DAYS = 2


@takes_shared
def forecast(
    shared: Shared,
    days: Annotated[int, typer.Option("--days", metavar="N", min=1, help="How many days to print.")] = DAYS,
    past: Annotated[
        bool, typer.Option("--past", help="Begin with the past days of the reply, not today.")
    ] = False,
) -> None:
    """The forecast as it was read, hour by hour from today on, with what was estimated and what is missing."""
    from hardenoff.sun.light import with_radiation
    from hardenoff.views import as_json, hours

    garden = load.garden(shared)
    now = load.now(shared, garden.place)
    obtained = load.forecast(shared, garden, now)
    first = None if past else now.date()
    filled = with_radiation(obtained.forecast, garden.place)
    show(
        shared,
        lambda: as_json.hours(filled, obtained.note, garden.place.timezone),
        lambda width, colour: hours.render(
            filled, obtained.note, garden.place.tz, garden.units, days, width, colour, first
        ),
    )
