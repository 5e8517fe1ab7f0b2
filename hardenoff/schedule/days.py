"""One planned day of one batch as the record that views get."""

from __future__ import annotations

import math
from datetime import datetime

import numpy as np

from hardenoff.ramp.outcome import DayOutcome
from hardenoff.ramp.plan import Planner
from hardenoff.ramp.scene import GUST_AT_PLANT
from hardenoff.ramp.table import INSIDE_AT, Sum
from hardenoff.records import INSIDE, Batch
from hardenoff.schedule import why
from hardenoff.schedule.nights import covered_spot, night_answer
from hardenoff.schedule.records import BatchDay, DayVerdict, Limits, Placement, Reason, StateAt, StripHour


def batch_day(
    planner: Planner, batch: Batch, day: DayOutcome, now: datetime, before: DayOutcome | None = None
) -> BatchDay:
    """The record of one batch on one date. `before`: the outcome of the day before."""
    known = planner.scene.is_known(planner.scene.index(day.date))
    totals = None if day.route is None else day.route.totals
    unknown_light = totals is not None and totals[Sum.UNKNOWN] > 0.0
    placements = _placements(planner, day) if known else ()
    out = bool(placements)
    indoor = planner.indoor_mol(batch)
    return BatchDay(
        batch=batch.name,
        crop=batch.crop.name,
        trays=batch.trays,
        stage=day.stage,
        verdict=_verdict(day, out) if known else None,
        way=day.way if known else None,
        placements=placements,
        outdoor_hours=float(totals[Sum.HOURS]) if out and totals is not None else 0.0,
        direct_sun_hours_likely=_likely(totals, Sum.SUN_LIKELY, unknown_light) if out else 0.0,
        direct_sun_hours_if_clear=float(totals[Sum.SUN_CLEAR]) if out and totals is not None else 0.0,
        limits=_limits(day),
        light_mol_likely=planner.met_mol(batch, day) if out else indoor,
        light_mol_if_clear=float(totals[Sum.LIGHT_MOST]) if out and totals is not None else indoor,
        light_mol_outdoor_likely=_likely(totals, Sum.LIGHT_OUT, unknown_light) if out else 0.0,
        state=StateAt(
            air=day.state.air,
            sun=day.state.sun,
            cold=day.state.cold,
            light_mol=day.state.light_mol,
            ramp_days=day.state.ramp_days,
            confidence=day.state.confidence,
        ),
        night=night_answer(planner, batch, day, now, before) if known else None,
        rule=batch.rule.key,
        rule_source=batch.rule.source,
        reasons=why.reasons(planner, batch, day),
        warnings=(*_uncover(before), *why.warnings(planner, batch, day)),
        strip=_strip(planner, day) if day.date == planner.today else (),
    )


def _uncover(before: DayOutcome | None) -> tuple[Reason, ...]:
    """A cover of the night that ends this morning has to come off before the sun is on it."""
    spot = covered_spot(before)
    return () if spot is None else (Reason("uncover", f"take the cover off at {spot} this morning"),)


def _verdict(day: DayOutcome, out: bool) -> DayVerdict:
    if out:
        return "out"
    return "hold" if day.is_hold else "in"


def _likely(totals: np.ndarray | None, row: Sum, unknown: bool) -> float | None:
    return None if totals is None or unknown else float(totals[row])


def _limits(day: DayOutcome) -> Limits:
    limits = day.limits
    sun = 24.0 if day.stage == "hardened" else limits.sun_h
    return Limits(
        outdoor_hours=limits.outdoor_h,
        direct_sun_hours=sun if math.isfinite(sun) else None,
        light_mol=limits.light_mol,
        gust_m_s=limits.gust_m_s,
        least_air_c=limits.least_air_c,
        nights_out=limits.nights_out,
    )


def _placements(planner: Planner, day: DayOutcome) -> tuple[Placement, ...]:
    if day.route is None or day.table is None:
        return ()
    begin = planner.scene.begin(day.date)
    return tuple(
        Placement(
            spot=day.table.names[place],
            start=planner.scene.moment(begin + first),
            end=planner.scene.moment(begin + last),
        )
        for place, first, last in day.route.stays(day.table.quarters)
        if place != INSIDE_AT
    )


def _strip(planner: Planner, day: DayOutcome) -> tuple[StripHour, ...]:
    """The day hour by hour: where the batch stands at the full hour, and what reaches it within the hour."""
    scene = planner.scene
    at = scene.slots(scene.index(day.date))
    where = np.zeros(at.stop - at.start, dtype=int)
    if day.route is not None and day.table is not None:
        for place, first, last in day.route.stays(day.table.quarters):
            where[first:last] = place
    hours = []
    for quarter in range(0, at.stop - at.start, 4):
        block = range(quarter, min(quarter + 4, at.stop - at.start))
        slots = [at.start + each for each in block]
        places = [int(where[each]) for each in block]
        place = max(set(places), key=places.count)
        track = None if place == INSIDE_AT else scene.tracks[place - 1]
        sun = sum(
            float(scene.tracks[one - 1].sun_clear_h[slot]) for one, slot in zip(places, slots, strict=True) if one
        )
        gust = float(scene.gust_m_s[slots[0]])
        at_plant = gust * GUST_AT_PLANT if track is None else float(track.gust_m_s[slots[0]])
        hours.append(
            StripHour(
                at=scene.moment(slots[0]),
                spot=INSIDE if track is None else track.spot.name,
                sun_share=min(1.0, sun),
                air_c=_or_none(float(scene.air_c[slots[0]])),
                gust_m_s=_or_none(gust),
                gust_at_plant_m_s=None if track is None else _or_none(at_plant),
            )
        )
    return tuple(hours)


def _or_none(value: float) -> float | None:
    return None if math.isnan(value) else value
