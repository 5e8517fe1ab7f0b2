"""From a garden and a forecast to plans: how far back and how far ahead it is planned."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from hardenoff.ramp.heard import Heard
from hardenoff.ramp.logbook import Logbook
from hardenoff.ramp.outcome import DayOutcome
from hardenoff.ramp.plan import Planner, Plans
from hardenoff.ramp.scene import build_scene
from hardenoff.ramp.watch import NightWatch
from hardenoff.records import Batch, Garden

if TYPE_CHECKING:
    from hardenoff.forecast.hours import Forecast

PAST_DAYS = 40
"""Days before today that are planned again at most, from the hours in hand."""
BEYOND_DAYS, BEYOND_MOST = 20, 60
"""Settled days looked at past the forecast: at first, and where that is not enough."""


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
    for beyond in (BEYOND_DAYS, BEYOND_MOST):
        planner, end = planner_ahead(
            garden, forecast, today, heard, logbook, beyond_date=beyond_date, beyond_days=beyond
        )
        plans = planner.plan(garden.batches, planner.scene.dates[-2], enough=end)
        if all(_is_settled(planner, batch, plans[batch.name]) for batch in garden.batches):
            break
    return planner, plans


def planner_ahead(
    garden: Garden,
    forecast: Forecast,
    today: date,
    heard: Heard | None = None,
    logbook: Logbook | None = None,
    *,
    beyond_date: date | None = None,
    beyond_days: int = BEYOND_DAYS,
) -> tuple[Planner, date]:
    """A planner of so many days past the forecast's end or a later date, and that date."""
    end = max(_last_hour(garden, forecast, today), beyond_date or today)
    return _planner(garden, forecast, today, end + timedelta(days=beyond_days), heard, logbook), end


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
