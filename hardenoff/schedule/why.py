"""Why a day is as it is: the limit that binds, the gates that shut, what a hold would have needed."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta

import numpy as np

from hardenoff.ramp.limits import light_cap_mol
from hardenoff.ramp.outcome import DayOutcome
from hardenoff.ramp.plan import Planner
from hardenoff.ramp.scene import GUST_AT_PLANT, Bools, Floats
from hardenoff.ramp.table import INSIDE_AT, Sum
from hardenoff.records import Batch
from hardenoff.schedule.gates import OURS, GateName, Met, gate_reason
from hardenoff.schedule.records import Reason

NOTHING_FITS = Reason("nothing_fits", "no outing fits between the times to carry")
BLOCKED = {
    "weather": "gusts, rain or heat in the night or before anybody can carry in the morning",
    "rule": "the morning's sun before anybody can carry would pass the next day's limit",
    "unknown": "the forecast has no hours for the morning before anybody can carry",
}
TOLD_APART_DAYS = 2
"""How far ahead the lows of other sources are told."""
BINDS_FROM = 0.85
"""A limit that is used to this share is named as the one that binds."""


def reasons(planner: Planner, batch: Batch, day: DayOutcome) -> tuple[Reason, ...]:
    """Reasons of one day, the weightiest first."""
    if day.stage == "sown":
        return (Reason("sown_later", f"to be sown on {batch.sown}"),)
    if day.stage == "inside":
        return (Reason("not_begun", f"the first outing is on {planner.first_outing(batch)}"),)
    if day.stage == "planted":
        return ()
    if day.table is None:
        return (Reason("not_recorded", "nothing is known of this day; it is taken as done, at half trust"),)
    if day.told and not day.went_out:
        return (Reason("told_inside", "as you logged, it stays inside"),)
    if not day.went_out and not day.could_move:
        return (_no_chance(planner, batch, day),)
    if not planner.scene.is_known(planner.scene.index(day.date)):
        return ()
    if day.went_out:
        return (
            *_repeated(planner, batch, day),
            *_binding(batch, day),
            *_sheltered(day),
            *_night_against(day),
            *_shut(planner, day),
        )
    return (*_shut(planner, day), *_nearest(planner, batch, day)) or (NOTHING_FITS,)


def _repeated(planner: Planner, batch: Batch, day: DayOutcome) -> Iterator[Reason]:
    """Damage logged of the day before: its step is taken again."""
    before = planner.told(batch).days.get(day.date - timedelta(days=1))
    if before is not None and before.damage:
        yield Reason("repeated", "damage was logged yesterday: the same step again, nothing was earned by it")


def _no_chance(planner: Planner, batch: Batch, day: DayOutcome) -> Reason:
    """Why there was no outing to choose: no daylight, nobody there, or nobody there long enough."""
    carer = planner.garden.carer
    if planner.scene.sun_up_h(planner.scene.index(day.date)) <= 0.0:
        return Reason("no_daylight", "the sun does not rise")
    if not carer.spans(day.date):
        return Reason("absent", "nobody is there to carry")
    if carer.moves_per_day < 2:
        return Reason("carer_short", f"moves_per_day = {carer.moves_per_day} leaves no move for the way back")
    minutes = carer.minutes(batch.trays)
    return Reason(
        "carer_short", "no move windows for the way out and back; one carry takes", minutes / 60.0, None, "h"
    )


def warnings(planner: Planner, batch: Batch, day: DayOutcome) -> tuple[Reason, ...]:
    """What to look out for on one day."""
    return tuple(_warnings(planner, batch, day))


def _warnings(planner: Planner, batch: Batch, day: DayOutcome) -> Iterator[Reason]:
    first_day = day.date == planner.today
    begun = batch.start is not None or batch.state is not None or bool(planner.told(batch).days)
    if first_day and not begun and day.table is not None:
        yield Reason("start_not_recorded", f"write 'start = {day.date}' under this batch in garden.toml")
    if day.stage != "sown":
        yield from _alerts(planner, batch, day)
    if day.route is None or day.table is None or not day.went_out:
        return
    limits, totals = day.limits, day.route.totals
    if totals[Sum.SUN_BAND] > limits.sun_h + 1e-6:
        yield Reason(
            "edge_near",
            f"a spot's edge is near: turned 10 degrees or moved {_a_little(planner)}, its direct sun would be",
            float(totals[Sum.SUN_BAND]),
            limits.sun_h,
            "h",
            OURS,
        )
    if day.stage == "hardened" and totals[Sum.LIGHT_MOST] > _cap(planner, day, batch):
        yield Reason(
            "bright",
            "if clear, light is above the cap",
            float(totals[Sum.LIGHT_MOST]),
            _cap(planner, day, batch),
            "mol/m2",
        )
    if totals[Sum.SUN_CLEAR] > limits.sun_h + 1e-6 or totals[Sum.LIGHT_MOST] > limits.light_mol + 1e-6:
        yield Reason(
            "over_limit",
            "it stands outside since the night and nobody can move it sooner; light if clear would be",
            float(totals[Sum.LIGHT_MOST]),
            limits.light_mol,
            "mol/m2",
        )


def night_reasons(planner: Planner, batch: Batch, day: DayOutcome) -> tuple[Reason, ...]:
    """What others say of the night that begins on a date: an alert, the lows of other sources."""
    return (*_alerts(planner, batch, day), *_planted_cold(day), *_second_lows(planner, day))


def _alerts(planner: Planner, batch: Batch, day: DayOutcome) -> Iterator[Reason]:
    alert = planner.watch.alert(batch, day.date)
    if alert is not None:
        yield Reason("alert", f"{alert.event} in force: plants that are not hardy come in", source=alert.source)


def _planted_cold(day: DayOutcome) -> Iterator[Reason]:
    """What is planted and would come in if it could."""
    spot = day.night.chosen
    if day.stage == "planted" and spot is not None and day.night.spots[spot][1].verdict == "in":
        yield Reason("planted_cold", "planted, so it can't come in: cover it, which may not be enough")


def _second_lows(planner: Planner, day: DayOutcome) -> Iterator[Reason]:
    if (day.date - planner.today).days > TOLD_APART_DAYS:
        return
    for provider, night in planner.scene.other_nights.get(day.date, ()):
        text = f"{provider} expects a low of"
        yield Reason("second_low", text, night.air_low_c, None, "degC")


def _a_little(planner: Planner) -> str:
    """The 0.2 m of the spots' variants, in the grower's units."""
    return "8 in" if planner.garden.units == "us" else "0.2 m"


def _cap(planner: Planner, day: DayOutcome, batch: Batch) -> float:
    rule = batch.rule
    return light_cap_mol(day.state.light_mol, rule.light_growth, rule.light_step_mol, planner.indoor_mol(batch))


# --- what binds --------------------------------------------------------------------------------------


def _binding(batch: Batch, day: DayOutcome) -> Iterator[Reason]:
    """The limit that is used most, named with its number."""
    assert day.route is not None
    totals, limits, rule = day.route.totals, day.limits, batch.rule
    ramp_day = f"ramp-day {limits.air_row} of {rule.length}"
    used = [
        (
            totals[Sum.SUN_CLEAR] / limits.sun_h if math.isfinite(limits.sun_h) else 0.0,
            Reason(
                "limit_sun",
                f"direct sun if clear is held by the rule, ramp-day {limits.sun_row} of {rule.length}",
                float(totals[Sum.SUN_CLEAR]),
                limits.sun_h,
                "h",
                rule.source,
            ),
        ),
        (
            totals[Sum.LIGHT_MOST] / limits.light_mol,
            Reason(
                "limit_light",
                "light if clear is held by the cap that grows with what the leaves are used to",
                float(totals[Sum.LIGHT_MOST]),
                limits.light_mol,
                "mol/m2",
                OURS,
            ),
        ),
    ]
    share, reason = max(used, key=lambda entry: entry[0])
    if share >= BINDS_FROM:
        yield reason
    if day.way == "longer" and limits.outdoor_h < 24.0:
        yield Reason(
            "limit_hours",
            f"hours outside, {ramp_day}",
            float(totals[Sum.HOURS]),
            limits.outdoor_h,
            "h",
            rule.source,
        )


def _sheltered(day: DayOutcome) -> Iterator[Reason]:
    if day.way != "sheltered" or day.route is None:
        return
    yield Reason(
        "sheltered",
        "longer outside than the rule's hours, in shade where sun, light, wind and cold stay inside the limits; "
        "earns three quarters",
        float(day.route.totals[Sum.HOURS]),
        day.limits.outdoor_h,
        "h",
        OURS,
    )


def _night_against(day: DayOutcome) -> Iterator[Reason]:
    """Why a night that rule and low would allow is spent inside."""
    if day.night.allowed and day.night.chosen is None and day.night.blocked is not None:
        yield Reason("night_" + day.night.blocked, f"inside tonight: {BLOCKED[day.night.blocked]}")


# --- what is shut ------------------------------------------------------------------------------------


SHUT: dict[GateName, str] = {
    "unknown": "the forecast has no temperature or wind {hours}: keep inside then",
    "cold": "air too cold {hours}{where}, less the margin of a forecast",
    "gust": "gusts {hours}{where}: at an open plant, with the margin of a forecast (x {margin:g})",
    "heat": "heat {hours}{where}: shade or inside",
    "rain": "heavy rain, thunder or hail, or none known of, {hours}{where}: only under a roof",
    "chilled": "after a night below the check limit no direct sun {hours}{where}",
    "full": "no room {hours}{where}: other batches stand there",
}


def _shut(planner: Planner, day: DayOutcome) -> Iterator[Reason]:
    """Each gate that shuts some spot while the sun is up, with the hours and the number."""
    scene, margins = planner.scene, planner.margins
    at = scene.slots(scene.index(day.date))
    air_c, gust_m_s = scene.air_c[at], scene.gust_m_s[at]
    for name, words in SHUT.items():
        barred = np.array([getattr(gate, name) & scene.sun_up[at] for gate in day.gates])
        if not barred.any():
            continue
        hit = np.logical_or.reduce(barred)
        text = words.format(hours=_hours(planner, day, hit), where=_where(planner, barred), margin=margins.gust)
        strongest = float(np.max(gust_m_s[hit])) * GUST_AT_PLANT
        met = Met(float(np.min(air_c[hit])), float(np.max(air_c[hit])), strongest)
        yield gate_reason(name, text, met, day.limits, margins)


def _hours(planner: Planner, day: DayOutcome, mask: Bools) -> str:
    """The stretches of a mask as '07:00-09:30 and 18:00-20:00'."""
    begin = planner.scene.begin(day.date)
    edges = np.flatnonzero(np.diff(np.concatenate([[False], mask, [False]]).astype(int)))
    spans = [
        f"{planner.scene.moment(begin + int(start)):%H:%M}-{planner.scene.moment(begin + int(end)):%H:%M}"
        for start, end in edges.reshape(-1, 2)
    ]
    return " and ".join(spans) if len(spans) < 4 else f"at times, {spans[0][:5]}-{spans[-1][-5:]}"


def _where(planner: Planner, barred: Bools) -> str:
    names = [track.spot.name for track, mask in zip(planner.scene.tracks, barred, strict=True) if mask.any()]
    return "" if len(names) == len(planner.scene.tracks) else f" at {', '.join(names)}"


# --- what a hold would have needed ---------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Near:
    spot: str
    begin: int
    end: int
    sums: Floats


def _nearest(planner: Planner, batch: Batch, day: DayOutcome) -> Iterator[Reason]:
    """The stay that breaks the limits least, by how much, and what would make it fit."""
    near = _least_over(day)
    if near is None:
        return
    begin = planner.scene.begin(day.date)
    when = f"{planner.scene.moment(begin + near.begin):%H:%M}-{planner.scene.moment(begin + near.end):%H:%M}"
    label = f"nearest option: {near.spot} {when}"
    sun, light = near.sums[Sum.SUN_CLEAR], near.sums[Sum.LIGHT_MOST]
    if near.sums[Sum.BARRED] > 0.0:
        hours = near.sums[Sum.BARRED] / 4.0
        yield Reason("nearest", f"{label}, forbidden for", float(hours), 0.0, "h")
        yield from _lee(planner, day, near, label)
    if sun > day.limits.sun_h:
        text = f"{label}, under shade that passes {day.limits.sun_h / sun:.0%}; without it direct sun if clear"
        yield Reason("nearest_sun", text, float(sun), day.limits.sun_h, "h")
    if light > day.limits.light_mol:
        text = f"{label}, under shade that passes {day.limits.light_mol / light:.0%}; without it light if clear"
        yield Reason("nearest_light", text, float(light), day.limits.light_mol, "mol/m2")


def _lee(planner: Planner, day: DayOutcome, near: _Near, label: str) -> Iterator[Reason]:
    """How much of the wind a spot may let through then, where gusts are what forbids it."""
    at = planner.scene.slots(planner.scene.index(day.date))
    gust = planner.scene.gust_m_s[at][near.begin : near.end]
    strongest = float(np.nanmax(gust)) * GUST_AT_PLANT * planner.margins.gust if np.isfinite(gust).any() else 0.0
    gates = day.gates[day.table.names.index(near.spot) - 1] if day.table is not None else None
    if gates is not None and gates.gust[near.begin : near.end].any() and strongest > 0.0:
        share = day.limits.gust_m_s / strongest
        yield Reason(
            "nearest_lee", f"{label}, in a lee that lets through of the wind no more than", share, None, "1"
        )


def _least_over(day: DayOutcome) -> _Near | None:
    """Of all stays of an hour or more at one spot, the one that breaks the limits least; the first of equals."""
    table, limits = day.table, day.limits
    assert table is not None
    first, last = np.triu_indices(len(day.times), k=1)
    begin, end = np.array(day.times, dtype=int)[[first, last]]
    lamp = table.totals[Sum.LIGHT_MOST, INSIDE_AT]
    lamp = lamp[-1] - (lamp[end] - lamp[begin])

    def stays(row: Sum) -> Floats:
        running = table.totals[row, 1:]
        return running[:, end] - running[:, begin]

    over = stays(Sum.BARRED) / 4.0 + np.maximum(stays(Sum.SUN_CLEAR) / limits.sun_h - 1.0, 0.0)
    over += np.maximum((stays(Sum.LIGHT_MOST) + lamp) / limits.light_mol - 1.0, 0.0)
    over[stays(Sum.HOURS) < 1.0] = np.inf
    if not np.isfinite(over).any():
        return None
    place, pair = (int(each) for each in np.unravel_index(over.argmin(), over.shape))
    sums = table.totals[:, place + 1, end[pair]] - table.totals[:, place + 1, begin[pair]]
    sums[Sum.LIGHT_MOST] += lamp[pair]
    return _Near(table.names[place + 1], int(begin[pair]), int(end[pair]), sums)
