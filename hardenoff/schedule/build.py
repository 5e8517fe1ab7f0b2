"""From a garden and a forecast to the schedule: the one function that the commands call."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

from hardenoff.ramp.asking import together
from hardenoff.ramp.heard import Heard
from hardenoff.ramp.logbook import Logbook
from hardenoff.ramp.outcome import DayOutcome
from hardenoff.ramp.plan import Planner, Plans
from hardenoff.records import Garden
from hardenoff.schedule.days import batch_day
from hardenoff.schedule.finishes import finish, hold_costs
from hardenoff.schedule.members import finish_odds
from hardenoff.schedule.moves import moves
from hardenoff.schedule.nights import watched_nights
from hardenoff.schedule.odds import odds_notes
from hardenoff.schedule.plans import not_finished, plan_all, plan_today
from hardenoff.schedule.records import SURE_DAYS, Certainty, Day, Finish, FinishOdds, ForecastNote, Schedule
from hardenoff.sun.light import with_radiation

if TYPE_CHECKING:
    from hardenoff.forecast.hours import Forecast


def build_schedule(
    garden: Garden,
    forecast: Forecast,
    now: datetime,
    note: ForecastNote,
    *,
    days_ahead: bool = False,
    heard: Heard | None = None,
    logbook: Logbook | None = None,
    odds: bool = False,
) -> Schedule:
    """The schedule of a garden as at `now`.

    Parameters
    ----------
    now : datetime
        Aware; the local date is the place's.
    days_ahead : bool
        Every day to the last finish, with finishes and what later holds cost; else today and tonight alone.
    heard : Heard, optional
        Second opinions on the nights, official alerts, and what the grower's own lows taught.
    logbook : Logbook, optional
        What was really done; batches that are finished with are left out.
    odds : bool
        With `days_ahead`: the odds of each finish too, where the forecast has members enough. The garden is then
        planned once more for each member.
    """
    now = now.astimezone(garden.place.tz)
    today = now.date()
    filled = with_radiation(forecast, garden.place)
    logbook = logbook or {}
    garden = replace(garden, batches=not_finished(garden, logbook, today))
    planner, plans = (plan_all if days_ahead else plan_today)(garden, filled, today, heard, logbook)
    todays = tuple((batch, _on(plans[batch.name], today)) for batch in garden.batches)
    days = tuple(_day(planner, plans, on, now) for on in _shown(planner, plans))
    if not days_ahead and any(batch.verdict == "hold" for batch in days[0].batches):
        days = _with_costs(days, *plan_all(garden, filled, today, heard, logbook))
    elif days_ahead:
        days = _with_costs(days, planner, plans)
    return Schedule(
        now=now,
        date=today,
        timezone=garden.place.timezone,
        place=garden.place.name,
        units=garden.units,
        forecast=replace(
            note, notes=(*note.notes, *odds_notes(planner, [day.date for day in days]), *filled.origin.notes)
        ),
        moves=moves(planner, todays),
        days=days,
        finishes=_finishes(planner, plans, now, finish_odds(planner, plans, filled) if odds else {})
        if days_ahead
        else (),
        nights=watched_nights(planner, garden.batches, plans, now),
    )


def _shown(planner: Planner, plans: Plans) -> list[date]:
    """Today to the forecast's end and on to the last finish, as far as was planned."""
    finishes = [planner.hardened_on(batch, plans[batch.name]) for batch in planner.garden.batches]
    known = planner.scene.known_through or planner.today
    last = max([planner.today, known, *(on for on in finishes if on is not None)])
    planned = {planner.today, *(day.date for days in plans.values() for day in days)}
    ahead = [planner.today + timedelta(days=n) for n in range((last - planner.today).days + 1)]
    return [on for on in ahead if on in planned]


def _day(planner: Planner, plans: Plans, on: date, now: datetime) -> Day:
    batches = planner.garden.batches
    rows = tuple(
        batch_day(planner, batch, _on(plans[batch.name], on), now, _before(plans[batch.name], on))
        for batch in batches
    )
    return Day(on, _certainty(planner, on), rows)


def _certainty(planner: Planner, on: date) -> Certainty:
    if not planner.scene.is_known(planner.scene.index(on)):
        return "beyond"
    return "forecast" if (on - planner.today).days < SURE_DAYS else "odds"


def _before(days: tuple[DayOutcome, ...], on: date) -> DayOutcome | None:
    return None if on == days[0].date else _on(days, on - timedelta(days=1))


def _on(days: tuple[DayOutcome, ...], on: date) -> DayOutcome:
    """The outcome of a date; a plan has one of each date."""
    return days[(on - days[0].date).days]


def _with_costs(days: tuple[Day, ...], planner: Planner, plans: Plans) -> tuple[Day, ...]:
    """The days with what their holds cost."""
    batches = {batch.name: batch for batch in planner.garden.batches}
    finish = {name: planner.hardened_on(batch, plans[name]) for name, batch in batches.items()}
    holds = [(on.date, row.batch) for on in days for row in on.batches if row.verdict == "hold"]
    asking = [hold_costs(planner, batches[name], _on(plans[name], on), finish[name]) for on, name in holds]
    costs = dict(zip(holds, together(asking), strict=True))

    def priced(day: Day) -> Day:
        rows = (replace(row, hold_costs=costs.get((day.date, row.batch))) for row in day.batches)
        return replace(day, batches=tuple(rows))

    return tuple(priced(day) for day in days) if holds else days


def _finishes(planner: Planner, plans: Plans, now: datetime, odds: Mapping[str, FinishOdds]) -> tuple[Finish, ...]:
    return tuple(
        replace(finish(planner, batch, plans[batch.name], now), odds=odds.get(batch.name))
        for batch in planner.garden.batches
    )
