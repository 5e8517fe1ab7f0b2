"""`away FROM UNTIL`: an absence in three ways, batch by batch, and the sheet for a sitter."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path
from typing import Annotated

import typer

from hardenoff.cli import load
from hardenoff.cli.options import Shared, takes_shared
from hardenoff.cli.output import answer, show
from hardenoff.errors import UsageError
from hardenoff.records import Span

LOOKS_AHEAD = timedelta(days=60)
"""How far ahead an absence may end: past the forecast nearly all of it is a guess already."""
STDOUT = "-"


@takes_shared
def away(
    shared: Shared,
    start: Annotated[
        str, typer.Argument(metavar="FROM", help="The first day away, as 2027-05-06.", show_default=False)
    ],
    until: Annotated[
        str,
        typer.Argument(metavar="UNTIL", help="The last day away; the nights between count.", show_default=False),
    ],
    sitter: Annotated[
        str | None,
        typer.Option("--sitter", metavar="HOURS", help='When a sitter is there (else "08:00-09:00,17:30-19:00").'),
    ] = None,
    sheet: Annotated[
        str | None,
        typer.Option("--sheet", metavar="PATH", help="Write the sitter's sheet there; - for the sheet alone."),
    ] = None,
) -> None:
    """What days away cost: hold inside, leave outside, or ask a sitter; with a page for the sitter.

    It writes nothing into the garden file, and says the line that makes the plan know of the absence.
    """
    hours = None if sitter is None else _hours(sitter)
    first, last = _absence(start, until, load.now(shared, load.garden(shared).place).date())
    if sheet == STDOUT and shared.json:
        raise UsageError("--sheet - and --json both want stdout", "one of the two", "give the sheet a file name")

    from hardenoff.schedule.away import compare_away
    from hardenoff.views import away as view
    from hardenoff.views import away_json
    from hardenoff.views import sitter as page

    home, at, obtained, told = load.gathered(shared)
    heard = load.heard(shared, home, at, obtained)
    found = compare_away(
        home, obtained.forecast, at, obtained.note, first, last, heard=heard, logbook=told, sitter=hours
    )
    if sheet == STDOUT:
        answer(page.render(found))
        return
    below = "" if sheet is not None else f"\n{page.render(found)}"
    show(shared, lambda: away_json.away(found), lambda width, colour: view.render(found, width, colour) + below)
    if sheet is not None:
        load.save(Path(sheet), page.render(found).encode())


def _absence(start: str, until: str, today: date) -> tuple[date, date]:
    """Both days away. UsageError for what is no absence ahead."""
    from hardenoff.garden import times

    first, last = times.day(start), times.day(until)
    if last < first:
        raise UsageError(
            f"{first} to {last} ends before it begins", "the first day, then the last", "swap the two"
        )
    if first <= today:
        raise UsageError(
            f"{first} is not ahead: today is {today}",
            f"a first day away from tomorrow on, {today + timedelta(days=1)}",
            "see hardenoff today for what can still be carried today",
        )
    if last > today + LOOKS_AHEAD:
        raise UsageError(
            f"{last} is too far ahead", f"a last day up to {today + LOOKS_AHEAD}", "ask again when it is nearer"
        )
    return first, last


def _hours(text: str) -> tuple[Span, ...]:
    """Spans with commas between them. WrongValue for what is none."""
    from hardenoff.garden import times

    return times.merged([times.window(part) for part in text.split(",")])
