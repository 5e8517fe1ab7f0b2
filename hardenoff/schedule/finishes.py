"""When batches are hardened and can be planted out, what a hold costs, and whether waiting would be quicker."""

from __future__ import annotations

import math
from datetime import date, datetime, timedelta

from hardenoff.dates import short_day
from hardenoff.ramp.asking import Asking
from hardenoff.ramp.finish import nights_needed, sun_and_air_done
from hardenoff.ramp.outcome import DayOutcome
from hardenoff.ramp.plan import Planner
from hardenoff.records import Batch
from hardenoff.schedule.criteria import criteria
from hardenoff.schedule.good_enough import good_enough
from hardenoff.schedule.missed import missed_days
from hardenoff.schedule.records import Finish, Reason

WAIT_MOST = 7
"""Later first outings that are tried, days."""

Days = tuple[DayOutcome, ...]


def finish(planner: Planner, batch: Batch, days: Days, now: datetime) -> Finish:
    """Hardened and plant-out dates of one batch, what is still missing today, and when it would be good enough."""
    today = next(day for day in days if day.date == planner.today)
    if today.stage == "planted":
        planted = Reason("planted", "planted out: nothing to carry, its nights are watched")
        return Finish(batch.name, None, None, None, None, reasons=(planted,))
    earliest = planner.hardened_on(batch, days)
    begun = today.stage in ("ramp", "hardened")
    likely = None if earliest is None else _likely(planner, days, earliest)
    return Finish(
        batch=batch.name,
        earliest=earliest,
        likely=likely,
        latest=None,
        plant_out=None if earliest is None else _plant_out(planner, batch, days),
        wait_until=_wait_until(planner, batch, days, earliest),
        reasons=() if earliest is not None else (_never(planner, batch, days),),
        criteria=criteria(planner, batch, today.state, planner.today) if begun else (),
        good_enough=good_enough(planner, batch, days, now),
        missed=missed_days(planner, batch, days, earliest),
    )


def _likely(planner: Planner, days: Days, earliest: date) -> date | None:
    """The share of held days in hand goes on past the forecast; None if every day in hand is held."""
    known = planner.scene.known_through
    if known is None or earliest <= known:
        return earliest
    ahead = [day for day in days if planner.today <= day.date <= known and day.table is not None]
    held = sum(not day.went_out for day in ahead) / len(ahead) if ahead else 0.0
    if held >= 1.0:
        return None
    begin = max(known, planner.today)
    return begin + timedelta(days=math.ceil((earliest - begin).days / (1.0 - held)))


def _plant_out(planner: Planner, batch: Batch, days: Days) -> date | None:
    """The first date that begins hardened and whose night lets it stay at its planting spot, in the forecast."""
    spot = planner.planting_track(batch).spot.name
    for day in days:
        if day.date < planner.today or day.stage != "hardened" or spot not in day.night.spots:
            continue
        if day.night.spots[spot][1].verdict == "out":
            return day.date
    return None


def _wait_until(planner: Planner, batch: Batch, days: Days, earliest: date | None) -> date | None:
    """A later first outing that is hardened sooner, where nothing has been started."""
    first = planner.first_outing(batch)
    if batch.start is not None or batch.state is not None or first < planner.today:
        return None
    soon = [day for day in days if first <= day.date <= first + timedelta(days=WAIT_MOST)]
    if all(day.went_out for day in soon):
        return None
    best, wait = earliest, None
    for later in range(1, WAIT_MOST + 1):
        begin = first + timedelta(days=later)
        if begin > planner.scene.dates[-1]:
            break
        until = days[-1].date if best is None else best
        other = planner.hardened_on(batch, planner.resume(batch, planner.opening(batch), begin, until))
        if other is not None and (best is None or other < best):
            best, wait = other, begin
    return wait


def hold_costs(planner: Planner, batch: Batch, day: DayOutcome, now: date | None) -> Asking[str | None]:
    """What a day inside costs: the finish if the day had been a good one, and `now`, as it is.

    As a plan that asks, so that any number of holds can be priced together.
    """
    if now is None:
        return None
    had_gone_out = planner.had_it_gone_out(batch, day.state)
    days = yield from planner.resuming(batch, had_gone_out, day.date + timedelta(days=1), now)
    better = planner.hardened_on(batch, days)
    if better is None or better >= now:
        return f"no delay, finish stays {short_day(now)}"
    return f"finish {short_day(better)} -> {short_day(now)}"


def _never(planner: Planner, batch: Batch, days: Days) -> Reason:
    """Why there is no finish within the days looked at; the sentence has its numbers in it."""
    last = days[-1].after
    end = batch.rule.length
    if not sun_and_air_done(batch, last):
        axis, value = ("sun", last.sun) if last.sun < last.air else ("air", last.air)
        earns = "too few days with enough sun" if axis == "sun" else "too few days that let it out"
        text = f"{earns}: it stops at {value:.1f} of the rule's {end} ramp-days"
        return Reason("never_" + axis, text, value, float(end), "d")
    nights = nights_needed(batch)
    if last.cold < nights:
        return Reason("never_nights", "no night in sight lets it stay out", last.cold, float(nights), "d")
    text = (
        "a clear day at the planting spot is too bright for its leaves, "
        f"which by then are used to {last.light_mol:.0f} mol/m² of light a day"
    )
    return Reason("never_light", text, last.light_mol, None, "mol/m2")
