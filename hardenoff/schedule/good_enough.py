"""Good enough: the first evening on which planting out would do, before every criterion is met.

Planting in the evening gives the roots a night before the first sun (common practice, no source).
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, time, timedelta

from hardenoff.dates import short_day
from hardenoff.ramp.outcome import DayOutcome
from hardenoff.ramp.plan import Planner
from hardenoff.ramp.scene import QUARTER, local_midnight
from hardenoff.ramp.state import State
from hardenoff.ramp.table import gates
from hardenoff.records import Batch
from hardenoff.schedule.criteria import criteria, planting_night
from hardenoff.schedule.records import GoodEnough, Reason

WITHIN = 1.0
"""Ramp-days of air and sun that may still be missing (ours)."""
EVENING_FROM = time(16)
"""A time to carry that begins from then on is the evening's (ours)."""
BEFORE_SUNSET = timedelta(hours=2)
"""When to plant if someone is there all day (ours)."""
NIGHTS = 2
"""Nights that must pass first (ours)."""
WORTH_WAITING = timedelta(days=2)
"""For a gentle day after it, the evening may be so much later (ours)."""
DULL_SHARE, MILD_C = 0.5, 22.0
"""A day is dull below this share of its clear-sky sun, mild while no hour is warmer than that (ours)."""


def good_enough(planner: Planner, batch: Batch, days: tuple[DayOutcome, ...], now: datetime) -> GoodEnough:
    """The evening, with what would still be missing; or why there is none in the forecast."""
    known = [day for day in days if day.date >= planner.today and planner.scene.is_known(_index(planner, day))]
    near = [day for day in known if _is_near(batch, day.after)]
    if not near:
        return GoodEnough(None, reason=_not_near(batch, known))
    against = {day.date: _against(planner, batch, day, now) for day in near}
    fit = [day for day in near if against[day.date] is None]
    if not fit:
        return GoodEnough(None, reason=against[near[0].date])
    soon = [day for day in fit if day.date <= fit[0].date + WORTH_WAITING]
    gentle = {day.date: _gentle(planner, batch, _index(planner, day) + 1) for day in soon}
    chosen = next((day for day in soon if gentle[day.date] is not None), fit[0])
    by_then = replace(chosen.after, cold=chosen.state.cold)  # that evening's own night is still to come
    listed = criteria(planner, batch, by_then, chosen.date)
    return GoodEnough(
        at=evening(planner, chosen.date),
        missing=tuple(criterion for criterion in listed if criterion.met is not True),
        reason=gentle[chosen.date],
    )


def evening(planner: Planner, on: date) -> datetime | None:
    """The latest time to carry that begins from 16:00 on, in daylight; else two hours before sunset."""
    scene, midnight = planner.scene, local_midnight(planner.scene.place, on)
    sunset = scene.moment(scene.sunsets[scene.index(on)])
    spans = [
        (_wall(midnight, span.start_min), _wall(midnight, span.end_min)) for span in planner.garden.carer.spans(on)
    ]
    late = [begin for begin, _ in spans if begin.time() >= EVENING_FROM and begin < sunset]
    if late:
        return max(late)
    before = scene.moment(scene.sunsets[scene.index(on)] - round(BEFORE_SUNSET / QUARTER))
    return before if any(begin <= before < end for begin, end in spans) else None


def _wall(midnight: datetime, minutes: int) -> datetime:
    """A time of the wall clock, also on the days it is changed."""
    on = midnight.date() + timedelta(days=minutes // 1440)
    return datetime.combine(on, time(minutes % 1440 // 60, minutes % 60), midnight.tzinfo)


def _index(planner: Planner, day: DayOutcome) -> int:
    return planner.scene.index(day.date)


def _is_near(batch: Batch, state: State) -> bool:
    return state.ramp_days >= batch.rule.length - WITHIN


def _not_near(batch: Batch, known: list[DayOutcome]) -> Reason:
    earned = known[-1].after.ramp_days if known else None
    text = "air and sun are not within a ramp-day of the rule's end in this forecast; at its end"
    return Reason("not_near", text, earned, batch.rule.length - WITHIN, "ramp-days")


def _against(planner: Planner, batch: Batch, day: DayOutcome, now: datetime) -> Reason | None:
    """What speaks against the evening of a day; None: nothing."""
    at = evening(planner, day.date)
    if at is None:
        return Reason("no_evening", f"nobody is there in the evening of {short_day(day.date)}")
    if at < now:
        return Reason("evening_past", f"the evening of {short_day(day.date)} has begun")
    for later in range(NIGHTS):
        cold = _cold(planner, batch, day.after, day.date + timedelta(days=later))
        if cold is not None:
            return cold
    return _next_day(planner, batch, day)


def _cold(planner: Planner, batch: Batch, state: State, on: date) -> Reason | None:
    spot = planner.planting_track(batch).spot.name
    night = planting_night(planner, batch, state, on)
    if night is None:
        return Reason("past_forecast", f"the night of {short_day(on)} is past the forecast")
    low, judged = night
    if low is None:
        return Reason("night_unknown", f"the night of {short_day(on)} is unknown")
    if judged.verdict == "out":
        return None
    limits = planner.limits(batch, state, planner.scene.index(on), hardened=False)
    if judged.odds_check is not None and judged.odds_check > planner.garden.risk.check:
        text = f"the night of {short_day(on)} is too cold at {spot}: in the air"
        return Reason("night_cold", text, low.air_low_c, limits.check_below_c, "degC")
    text = f"the night of {short_day(on)} may injure at {spot}: leaf"
    return Reason("night_harm", text, low.leaf_low_c, limits.harm_below_c, "degC")


def _next_day(planner: Planner, batch: Batch, day: DayOutcome) -> Reason | None:
    """Heat or gusts at the planting spot on the first day there."""
    scene, track, after = planner.scene, planner.planting_track(batch), _index(planner, day) + 1
    on = scene.dates[after]
    if not scene.is_known(after):
        return Reason("past_forecast", f"{short_day(on)} is past the forecast")
    limits = planner.limits(batch, day.after, after, hardened=False)
    (gate,) = gates(scene, after, (track,), batch.crop, limits, planner.margins, chilled=False).by_spot()
    if gate.unknown.any():
        return Reason("day_unknown", f"temperature or wind of {short_day(on)} is not known throughout")
    if gate.heat.any():
        warmest = float(scene.air_c[scene.slots(after)].max())
        return Reason("heat", f"heat at {track.spot.name} on {short_day(on)}", warmest, None, "degC")
    if gate.gust.any():
        strongest = float(track.gust_m_s[scene.slots(after)].max()) * planner.margins.gust
        text = f"gusts at {track.spot.name} on {short_day(on)}, with a forecast's margin"
        return Reason("gust", text, strongest, limits.gust_m_s, "m/s")
    return None


def _gentle(planner: Planner, batch: Batch, day: int) -> Reason | None:
    """Why a day would be kind to what was planted the evening before; None: it is neither dull nor mild."""
    scene, track = planner.scene, planner.planting_track(batch)
    at = scene.slots(day)
    if track.sun_likely_h[at].sum() <= DULL_SHARE * track.sun_clear_h[at].sum():
        return Reason("dull", "the day after is dull")
    if scene.air_c[at].max() <= MILD_C:
        return Reason("mild", "the day after is mild")
    return None
