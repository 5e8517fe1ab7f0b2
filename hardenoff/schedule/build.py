"""From a garden and a forecast to the schedule: the one function that the commands call."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

from hardenoff.ramp.asking import together
from hardenoff.ramp.heard import Heard
from hardenoff.ramp.logbook import Logbook
from hardenoff.ramp.outcome import DayOutcome
from hardenoff.ramp.plan import Planner
from hardenoff.ramp.scene import build_scene
from hardenoff.ramp.watch import NightWatch
from hardenoff.records import Batch, Garden
from hardenoff.schedule.days import batch_day
from hardenoff.schedule.finishes import finish, hold_costs
from hardenoff.schedule.moves import moves
from hardenoff.schedule.nights import watched_nights
from hardenoff.schedule.odds import odds_notes
from hardenoff.schedule.records import Certainty, Day, Finish, ForecastNote, Schedule
from hardenoff.sun.light import with_radiation

if TYPE_CHECKING:
    from hardenoff.forecast.hours import Forecast

PAST_DAYS = 40
"""Days before today that are planned again at most, from the hours in hand."""
BEYOND_DAYS, BEYOND_MOST = 20, 60
"""Settled days looked at past the forecast: at first, and where that is not enough."""
SURE_DAYS = 6
"""Past this day of the forecast there are odds, not verdicts to lean on."""

Plans = dict[str, tuple[DayOutcome, ...]]


def build_schedule(
    garden: Garden,
    forecast: Forecast,
    now: datetime,
    note: ForecastNote,
    *,
    days_ahead: bool = False,
    heard: Heard | None = None,
    logbook: Logbook | None = None,
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
        finishes=_finishes(planner, plans, now) if days_ahead else (),
        nights=watched_nights(planner, garden.batches, plans, now),
    )


def plan_today(
    garden: Garden, forecast: Forecast, today: date, heard: Heard | None = None, logbook: Logbook | None = None
) -> tuple[Planner, Plans]:
    """Plan no further than today; the morning after decides whether it may stay out tonight."""
    planner = _planner(garden, forecast, today, today + timedelta(days=1), heard, logbook)
    return planner, planner.plan(garden.batches, today)


def plan_all(
    garden: Garden,
    forecast: Forecast,
    today: date,
    heard: Heard | None = None,
    logbook: Logbook | None = None,
    *,
    beyond_date: date | None = None,
) -> tuple[Planner, Plans]:
    """Plan until every batch is hardened, or as far ahead as we look: from the forecast's end, or a later date."""
    end = max(_last_hour(garden, forecast, today), beyond_date or today)
    for beyond in (BEYOND_DAYS, BEYOND_MOST):
        planner = _planner(garden, forecast, today, end + timedelta(days=beyond), heard, logbook)
        plans = planner.plan(garden.batches, planner.scene.dates[-2], enough=end)
        if all(_is_settled(planner, batch, plans[batch.name]) for batch in garden.batches):
            break
    return planner, plans


def _is_settled(planner: Planner, batch: Batch, days: tuple[DayOutcome, ...]) -> bool:
    """Nothing further to look for: it is planted, or hardened within the days looked at."""
    return planner.told(batch).planted_on is not None or planner.hardened_on(batch, days) is not None


def _planner(
    garden: Garden, forecast: Forecast, today: date, last: date, heard: Heard | None, logbook: Logbook | None
) -> Planner:
    logbook = logbook or {}
    scene = build_scene(garden, forecast, _first_date(garden, forecast, today, logbook), last, today, heard)
    watch = NightWatch(scene, garden.risk, today)
    return Planner(garden=garden, scene=scene, watch=watch, today=today, logbook=logbook)


def _first_date(garden: Garden, forecast: Forecast, today: date, logbook: Logbook) -> date:
    """The first date that is planned again: as far back as a batch has begun and its hours are in hand."""
    begun = [batch.state.on for batch in garden.batches if batch.state is not None]
    begun += [batch.start for batch in garden.batches if batch.start is not None]
    begun += [on for log in logbook.values() for on in log.days]
    begun += [log.planted_on for log in logbook.values() if log.planted_on is not None]
    if not begun or forecast.hours.empty:
        return today
    in_hand: date = forecast.hours.index[0].astimezone(garden.place.tz).date()
    return min(today, max(min(begun), in_hand, today - timedelta(days=PAST_DAYS)))


def not_finished(garden: Garden, logbook: Logbook, today: date) -> tuple[Batch, ...]:
    """Batches without those that the journal says are finished with."""
    finished = {name for name, log in logbook.items() if log.finished_on is not None and log.finished_on <= today}
    return tuple(batch for batch in garden.batches if batch.name not in finished)


def _last_hour(garden: Garden, forecast: Forecast, today: date) -> date:
    if forecast.hours.empty:
        return today
    last: date = forecast.hours.index[-1].astimezone(garden.place.tz).date()
    return max(today, last)


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


def _finishes(planner: Planner, plans: Plans, now: datetime) -> tuple[Finish, ...]:
    return tuple(finish(planner, batch, plans[batch.name], now) for batch in planner.garden.batches)
