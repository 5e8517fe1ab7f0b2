"""Can a batch be left at one spot with nobody there? Every hour, every day's limits, every night; else what fails.

The state is carried forward day by day as if it stood there, so a later day is held against what the plants would
be used to by then. What is past the forecast, or missing, fails.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta

import numpy as np

from hardenoff.ramp.day import Run
from hardenoff.ramp.limits import NO_SUN_TOLERATED_H
from hardenoff.ramp.logbook import DayDone, Stay
from hardenoff.ramp.outcome import DayOutcome
from hardenoff.ramp.plan import Planner
from hardenoff.ramp.scene import Floats
from hardenoff.ramp.state import State
from hardenoff.ramp.table import INSIDE_AT, Sum
from hardenoff.ramp.watch import UNKNOWN
from hardenoff.records import Batch
from hardenoff.schedule.gates import OURS, GateName, Met, gate_reason
from hardenoff.schedule.records import Reason

NUDGE = 1e-6
"""A limit that is met to this share is kept."""


@dataclass(frozen=True, slots=True)
class Slot:
    """A quarter hour, counted from the begin of a local date."""

    on: date
    quarter: int


@dataclass(frozen=True, slots=True)
class Failure:
    """The first quarter hour at which something speaks against it, counted from the begin of a date."""

    at: Slot
    why: Reason


@dataclass(frozen=True, slots=True)
class Trial:
    """A batch left at a spot from one time to another."""

    spot: str
    put: Slot
    fetch: Slot
    told: Mapping[date, DayDone]
    """The same in the planner's words, up to the day before it is fetched."""
    state: State
    """As far as it came: on the morning it is fetched, if nothing failed."""
    nights: tuple[DayOutcome, ...]
    failure: Failure | None


def left_at(planner: Planner, batch: Batch, spot: str, before: DayOutcome, put: Slot, fetch: Slot) -> Trial:
    """Leave a batch at a spot from `put` on until `fetch`.

    `before`: the date of `put` as it is planned otherwise; what stands outside then is carried from there.
    """
    run = Run(batch, before.state, hardened=before.stage == "hardened")
    told, nights = dict[date, DayDone](), list[DayOutcome]()
    failure: Failure | None = None
    for on in _dates(put.on, fetch.on):
        day = planner.scene.index(on)
        run.hardened = run.hardened or planner.hardened(batch, run.state, day)
        done = DayDone("stays", _stays(planner, spot, before, put, fetch, on))
        outcome = planner.told_day(run, day, done)
        begin = put.quarter if on == put.on else 0
        end = fetch.quarter if on == fetch.on else planner.scene.starts[day + 1] - planner.scene.starts[day]
        failure = _first_failure(planner, batch, outcome, spot, begin, end, is_last=on == fetch.on)
        if failure is not None or on == fetch.on:
            break
        told[on] = done
        nights.append(outcome)
        run.state, run.place = outcome.after, spot
    return Trial(spot, put, fetch, told, run.state, tuple(nights), failure)


def moment(planner: Planner, at: Slot) -> datetime:
    """Local time of a quarter hour."""
    return planner.scene.moment(planner.scene.starts[planner.scene.index(at.on)] + at.quarter)


def _dates(first: date, last: date) -> Iterator[date]:
    yield from (first + timedelta(days=n) for n in range((last - first).days + 1))


def _stays(planner: Planner, spot: str, before: DayOutcome, put: Slot, fetch: Slot, on: date) -> tuple[Stay, ...]:
    """Where it stands on a date: on the first, where it was planned to stand before it is put there."""
    left = Stay(spot, moment(planner, put), moment(planner, fetch))
    if on != put.on or before.route is None or before.table is None:
        return (left,)
    planned = [
        Stay(
            before.table.names[place],
            moment(planner, Slot(on, begin)),
            moment(planner, Slot(on, min(end, put.quarter))),
        )
        for place, begin, end in before.route.stays(before.table.quarters)
        if place != INSIDE_AT and begin < put.quarter
    ]
    return (*planned, left)


# --- what fails ------------------------------------------------------------------------------------


def _first_failure(
    planner: Planner, batch: Batch, outcome: DayOutcome, spot: str, begin: int, end: int, *, is_last: bool
) -> Failure | None:
    """What fails first on one date between two quarter hours, or in the night after it unless it is the last."""
    if not planner.scene.is_known(planner.scene.index(outcome.date)):
        return Failure(Slot(outcome.date, begin), Reason("beyond", "past the forecast, so nothing is known"))
    found = [
        *_shut(planner, outcome, spot, begin, end),
        *_passed(batch, outcome),
        *([] if is_last else _night(planner, batch, outcome, spot)),
    ]
    first = min(found, key=lambda pair: pair[0], default=None)
    return None if first is None else Failure(Slot(outcome.date, first[0]), first[1])


SHUT: dict[GateName, str] = {
    "unknown": "the forecast has no temperature or wind then",
    "gust": "gusts at the plants, with the margin of a forecast",
    "rain": "heavy rain, thunder or hail, or none known of, and no roof",
    "heat": "too hot there",
    "full": "no room for its trays",
    "chilled": "direct sun too soon after a night below the check limit",
    "cold": "too cold by day, with a margin",
    "chilly": "still too cold in the forenoon",
}
"""The weightiest first."""


def _shut(planner: Planner, outcome: DayOutcome, spot: str, begin: int, end: int) -> Iterator[tuple[int, Reason]]:
    """The first quarter hour at which a gate of the spot is shut, as for any stay that a night follows."""
    scene, day = planner.scene, planner.scene.index(outcome.date)
    place = [track.spot.name for track in scene.tracks].index(spot)
    gate, dawn, dusk = outcome.gates[place], *_light_edges(planner, day)
    quarter = np.arange(len(gate.cold))
    by_day = gate.carried(dawn) if begin == 0 else gate.by_day
    barred = np.where(quarter >= dusk, gate.by_night, by_day)
    barred[:begin], barred[end:] = False, False
    if not barred.any():
        return
    first = int(np.argmax(barred))
    slot = scene.starts[day] + first
    air_c, gust_m_s = float(scene.air_c[slot]), float(scene.tracks[place].gust_m_s[slot])
    name = next(each for each in SHUT if getattr(gate, each)[first])
    yield first, gate_reason(name, SHUT[name], Met(air_c, air_c, gust_m_s), outcome.limits, planner.margins)


def _light_edges(planner: Planner, day: int) -> tuple[int, int]:
    begin = planner.scene.starts[day]
    return planner.scene.sunrises[day] - begin, planner.scene.sunsets[day] - begin


def _passed(batch: Batch, outcome: DayOutcome) -> Iterator[tuple[int, Reason]]:
    """The quarter hour at which the day's sun or light, if clear, passes what the day allows."""
    assert outcome.route is not None
    totals, limits, rule = outcome.route.totals, outcome.limits, batch.rule
    sun_most = limits.sun_h
    if not math.isfinite(sun_most) and totals[Sum.HOURS] > limits.outdoor_h:
        sun_most = NO_SUN_TOLERATED_H
    wanted = [
        (Sum.SUN_CLEAR, sun_most, Reason("limit_sun", "direct sun if clear", source=rule.source), "h"),
        (Sum.LIGHT_MOST, limits.light_mol, Reason("limit_light", "light if clear", source=OURS), "mol/m2"),
    ]
    if batch.way == "longer":
        hours = Reason("limit_hours", "hours outside", source=rule.source)
        wanted.append((Sum.HOURS, limits.outdoor_h, hours, "h"))
    for row, most, why, unit in wanted:
        if float(totals[row]) > most * (1.0 + NUDGE):
            quarter = int(np.argmax(_running(outcome, row) > most))
            yield quarter, Reason(why.code, why.text, float(totals[row]), most, unit, why.source)


def _running(outcome: DayOutcome, row: Sum) -> Floats:
    """What the day's route has met of something by the end of each quarter hour."""
    assert outcome.route is not None
    assert outcome.table is not None
    steps = np.diff(outcome.table.totals[row], axis=-1)
    met = np.zeros(outcome.table.quarters)
    for place, begin, end in outcome.route.stays(outcome.table.quarters):
        met[begin:end] = steps[place, begin:end]
    total: Floats = np.cumsum(met)
    return total


def _night(planner: Planner, batch: Batch, outcome: DayOutcome, spot: str) -> Iterator[tuple[int, Reason]]:
    """What speaks against the night that begins on the date, from its sunset on."""
    why = _night_reason(planner, batch, outcome, spot)
    if why is not None:
        yield _light_edges(planner, planner.scene.index(outcome.date))[1], why


def _night_reason(planner: Planner, batch: Batch, outcome: DayOutcome, spot: str) -> Reason | None:
    limits, risk = outcome.limits, planner.garden.risk
    low, judged = outcome.night.spots.get(spot, (None, UNKNOWN))
    if not limits.nights_out:
        text = "it never stays out at night"
        if batch.nights:
            text = f"no night outside yet at ramp-day {limits.air_row} of {batch.rule.length}"
        return Reason("night_rule", text, source=batch.rule.source)
    if low is None or judged.verdict == "unknown":
        return Reason("night_unknown", "the night that follows is not known")
    if judged.verdict == "out":
        return None
    if judged.verdict == "cover":
        text = "the night needs its cover, and nobody is there to take it off"
        return Reason("night_cover", text, low.air_low_c, limits.check_below_c, "degC")
    alert = planner.watch.alert(batch, outcome.date)
    if alert is not None:
        return Reason("alert", f"{alert.event} in force", source=alert.source)
    if judged.odds_check is not None and judged.odds_check > risk.check:
        return Reason("night_low", "night low of the air", low.air_low_c, limits.check_below_c, "degC")
    return Reason("night_harm", "odds of harm that night", judged.odds_harm, risk.harm, "1")
