"""`today`, `tonight`, `plan`: three views of one schedule."""

from __future__ import annotations

from typing import Annotated

import typer

from hardenoff.cli import load
from hardenoff.cli.options import Shared, takes_shared
from hardenoff.cli.output import show, show_today
from hardenoff.errors import Exit


@takes_shared
def today(shared: Shared) -> None:
    """The morning check: what goes where today, from when until when, what about tonight, and why."""
    show_today(shared, load.schedule(shared))


@takes_shared
def tonight(
    shared: Shared,
    exit_code: Annotated[
        bool,
        typer.Option(
            "--exit-code", help="Leave with 10 if something must come in or be covered, or it is unknown."
        ),
    ] = False,
    quiet: Annotated[bool, typer.Option("--quiet", "-q", help="Print only if there is something to do.")] = False,
) -> None:
    """The cold watch: what comes in, what is covered, what stays, with the numbers behind it."""
    from hardenoff.views import as_json
    from hardenoff.views import tonight as view

    schedule = load.schedule(shared)
    if not quiet or schedule.anything_to_do:
        show(shared, lambda: as_json.tonight(schedule), lambda width, colour: view.render(schedule, width, colour))
    if exit_code and schedule.needs_hands:
        raise typer.Exit(Exit.ACT_TONIGHT)


@takes_shared
def plan(shared: Shared) -> None:
    """Every day to plant-out, one row a day: where and when, sun, night, holds and what they cost."""
    from hardenoff.views import as_json
    from hardenoff.views import plan as view

    schedule = load.schedule(shared, days_ahead=True, odds=True)
    show(shared, lambda: as_json.plan(schedule), lambda width, colour: view.render(schedule, width, colour))
