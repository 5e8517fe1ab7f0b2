"""An absence in three ways, batch by batch: hold inside, leave at one spot, or ask a sitter."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

from hardenoff.ramp.heard import Heard
from hardenoff.ramp.logbook import NOTHING_TOLD, Logbook
from hardenoff.ramp.plan import Planner
from hardenoff.records import Batch, Carer, Garden, Span
from hardenoff.schedule.away_options import Absence, Planned, compared
from hardenoff.schedule.away_records import AwayComparison
from hardenoff.schedule.leaving import Leaving, leave_all
from hardenoff.schedule.plans import not_finished, plan_all
from hardenoff.schedule.records import ForecastNote
from hardenoff.schedule.sitter import SITTER_HOURS, at_home, sitter_days, with_sitter
from hardenoff.sun.light import with_radiation

if TYPE_CHECKING:
    from hardenoff.forecast.hours import Forecast

CARRIED = ("ramp", "hardened")
"""Stages in which a batch is carried."""


def compare_away(
    garden: Garden,
    forecast: Forecast,
    now: datetime,
    note: ForecastNote,
    first: date,
    last: date,
    *,
    heard: Heard | None = None,
    logbook: Logbook | None = None,
    sitter: tuple[Span, ...] | None = None,
) -> AwayComparison:
    """What an absence costs each batch that is carried by then, in three ways, and the sheet for a sitter.

    Parameters
    ----------
    now : datetime
        Aware; the local date is the place's.
    first, last : date
        Both away, with the nights between; `garden.carer.away` may hold them already.
    sitter : tuple of Span, optional
        When the sitter is there, on each date; SITTER_HOURS where nothing is said.

    Raises
    ------
    ValueError
        The absence does not begin after today, or ends before it begins.
    """
    now = now.astimezone(garden.place.tz)
    today, logbook, hours = now.date(), logbook or {}, SITTER_HOURS if sitter is None else sitter
    if not today < first <= last:
        raise ValueError(f"{first} to {last} is not an absence after {today}")
    filled, carer = with_radiation(forecast, garden.place), garden.carer
    absent = replace(at_home(carer, first, last), away=(*at_home(carer, first, last).away, (first, last)))
    garden = replace(garden, carer=absent, batches=not_finished(garden, logbook, today))
    planner, plans = plan_all(garden, filled, today, heard, logbook, beyond_date=last + timedelta(days=1))
    planner = replace(planner, garden=_begun(planner))
    home = _plan(planner, at_home(carer, first, last))
    hold = Planned(planner, plans)
    helped = _plan(planner, with_sitter(carer, first, last, hours))
    batches = _carried(home, first, last)
    leaving = leave_all(hold.planner, hold.plans, batches, now, first, last)
    left = _plan_left(hold.planner, leaving)
    absence = Absence(first, last, home, hold, left, helped, leaving)
    return AwayComparison(
        now=now,
        timezone=garden.place.timezone,
        place=garden.place.name,
        units=garden.units,
        forecast=replace(note, notes=(*note.notes, *filled.origin.notes)),
        first=first,
        last=last,
        sitter=hours,
        batches=tuple(compared(absence, batch) for batch in batches),
        stay_put=tuple(batch.name for batch in planner.garden.batches if batch not in batches),
        sheet=sitter_days(helped.planner, helped.plans, batches, first, last, now),
        garden_line=_garden_line(carer, first, last),
    )


def _begun(planner: Planner) -> Garden:
    """The garden with its first outings written down, so that what is told of later days can't move them."""
    batches = tuple(
        batch
        if batch.start is not None or batch.state is not None
        else replace(batch, start=planner.first_outing(batch))
        for batch in planner.garden.batches
    )
    return replace(planner.garden, batches=batches)


def _plan(planner: Planner, carer: Carer) -> Planned:
    other = replace(planner, garden=replace(planner.garden, carer=carer))
    return Planned(other, other.plan(other.garden.batches, other.scene.dates[-2]))


def _plan_left(planner: Planner, leaving: dict[str, Leaving]) -> Planned:
    """The plan with every batch left where it can be; those that can't stay inside."""
    told = dict(planner.logbook)
    for batch in planner.garden.batches:
        log = told.get(batch.name, NOTHING_TOLD)
        days = {on: done for on, done in log.days.items() if on != planner.today or done.how == "inside"}
        best = leaving[batch.name].best if batch.name in leaving else None
        told[batch.name] = replace(log, days=days if best is None else {**days, **best.told})
    other = replace(planner, logbook=told, today_as_told=True)
    return Planned(other, other.plan(other.garden.batches, other.scene.dates[-2]))


def _carried(home: Planned, first: date, last: date) -> tuple[Batch, ...]:
    """Batches that would be carried on any of these dates."""
    return tuple(
        batch
        for batch in home.planner.garden.batches
        if any(first <= day.date <= last and day.stage in CARRIED for day in home.plans[batch.name])
    )


def _garden_line(carer: Carer, first: date, last: date) -> str | None:
    """All absences as the garden file has them, with this one; None if its dates are there already."""
    dates = [first + timedelta(days=n) for n in range((last - first).days + 1)]
    if all(any(begin <= on <= end for begin, end in carer.away) for on in dates):
        return None
    spans = sorted([*carer.away, (first, last)])
    listed = ", ".join(f'"{begin}/{end}"' for begin, end in spans)
    return f"away = [{listed}]"
