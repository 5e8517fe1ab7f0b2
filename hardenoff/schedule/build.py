"""From a garden and a forecast to the schedule: the one function that the commands call."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

from hardenoff.ramp.outcome import DayOutcome
from hardenoff.ramp.plan import Planner
from hardenoff.ramp.scene import Scene, build_scene
from hardenoff.ramp.watch import NightWatch
from hardenoff.records import Batch, Garden
from hardenoff.schedule.days import batch_day
from hardenoff.schedule.finishes import finish, hardened_on, hold_costs
from hardenoff.schedule.moves import moves
from hardenoff.schedule.nights import watched_nights
from hardenoff.schedule.records import BatchDay, Certainty, Day, ForecastNote, Schedule
from hardenoff.sun.light import with_radiation

if TYPE_CHECKING:
    from hardenoff.forecast.hours import Forecast

PAST_DAYS = 2
"""Days before today that are planned again from the hours in hand."""
BEYOND_DAYS, BEYOND_MOST = 20, 60
"""Settled days looked at past the forecast: at first, and where that is not enough."""
SURE_DAYS = 6
"""Past this day of the forecast there are odds, not verdicts to lean on."""

Plans = dict[str, tuple[DayOutcome, ...]]


def build_schedule(
    garden: Garden, forecast: Forecast, now: datetime, note: ForecastNote, *, days_ahead: bool = True
) -> Schedule:
    """The schedule of a garden as at `now`.

    Parameters
    ----------
    now : datetime
        Aware; the local date is the place's.
    days_ahead : bool
        False leaves out what only the plan over days shows: later first outings, what later holds cost.
    """
    now = now.astimezone(garden.place.tz)
    today = now.date()
    filled = with_radiation(forecast, garden.place)
    planner, plans = plan_all(garden, filled, today)
    batches = garden.batches
    days = tuple(
        Day(
            on,
            _certainty(planner, on),
            tuple(_batch_day(planner, batch, plans, on, now, days_ahead) for batch in batches),
        )
        for on in _shown(planner, plans, batches)
    )
    todays = tuple((batch, _on(plans[batch.name], today)) for batch in batches)
    return Schedule(
        now=now,
        date=today,
        timezone=garden.place.timezone,
        place=garden.place.name,
        units=garden.units,
        forecast=replace(note, notes=(*note.notes, *filled.origin.notes)),
        moves=moves(planner, todays),
        days=days,
        finishes=tuple(
            finish(planner, batch, plans[batch.name], look_for_later_start=days_ahead) for batch in batches
        ),
        nights=watched_nights(planner, batches, plans, now),
    )


def plan_all(garden: Garden, forecast: Forecast, today: date) -> tuple[Planner, Plans]:
    """Plan until every batch is hardened, or as far ahead as we look."""
    for beyond in (BEYOND_DAYS, BEYOND_MOST):
        planner = _planner(garden, forecast, today, beyond)
        plans = planner.plan(garden.batches, planner.scene.dates[-2])
        if all(hardened_on(planner, batch, plans[batch.name]) is not None for batch in garden.batches):
            break
    return planner, plans


def _planner(garden: Garden, forecast: Forecast, today: date, beyond: int) -> Planner:
    scene = _scene(garden, forecast, today, beyond)
    return Planner(garden=garden, scene=scene, watch=NightWatch(scene, garden.risk, today), today=today)


def _scene(garden: Garden, forecast: Forecast, today: date, beyond: int) -> Scene:
    begun = any(batch.start is not None or batch.state is not None for batch in garden.batches)
    first = today - timedelta(days=PAST_DAYS) if begun else today
    if forecast.hours.empty:
        last_hours = today
    else:
        last_hours = max(today, forecast.hours.index[-1].astimezone(garden.place.tz).date())
    return build_scene(garden, forecast, first, last_hours + timedelta(days=beyond), today)


def _shown(planner: Planner, plans: Plans, batches: tuple[Batch, ...]) -> list[date]:
    """Today to the forecast's end, and on to the last finish."""
    finishes = [hardened_on(planner, batch, plans[batch.name]) for batch in batches]
    known = planner.scene.known_through or planner.today
    last = max([planner.today, known, *(on for on in finishes if on is not None)])
    return [planner.today + timedelta(days=n) for n in range((last - planner.today).days + 1)]


def _certainty(planner: Planner, on: date) -> Certainty:
    if not planner.scene.is_known(planner.scene.index(on)):
        return "beyond"
    return "forecast" if (on - planner.today).days < SURE_DAYS else "odds"


def _on(days: tuple[DayOutcome, ...], on: date) -> DayOutcome:
    return next(day for day in days if day.date == on)


def _batch_day(
    planner: Planner, batch: Batch, plans: Plans, on: date, now: datetime, days_ahead: bool
) -> BatchDay:
    days = plans[batch.name]
    day = _on(days, on)
    record = batch_day(planner, batch, day, now)
    if record.verdict == "hold" and (days_ahead or on == planner.today):
        return replace(record, hold_costs=hold_costs(planner, batch, day, days))
    return record
