"""What must be so before a batch is planted out: each criterion with its number, its limit and its tick."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np

from hardenoff.night import Judgement, SpotNight
from hardenoff.ramp.finish import NEAR_END, axis_done, clear_day_most_mol, light_done, nights_needed
from hardenoff.ramp.limits import gust_limit
from hardenoff.ramp.plan import Planner
from hardenoff.ramp.state import State
from hardenoff.records import Batch
from hardenoff.schedule.records import SURE_DAYS, Criterion

Night = tuple[SpotNight | None, Judgement]


def criteria(planner: Planner, batch: Batch, state: State, evening: date) -> tuple[Criterion, ...]:
    """All of them, for a batch that would be planted out in that state on that evening."""
    return (
        _axis(batch, "air", state.air),
        _axis(batch, "sun", state.sun),
        _light(planner, batch, state, evening),
        _nights_out(batch, state),
        _wind(planner, batch, evening),
        _coming_nights(planner, batch, state, evening),
    )


def planting_night(planner: Planner, batch: Batch, state: State, evening: date) -> Night | None:
    """The night that begins on a date at the planting spot, judged by a state; None past the forecast."""
    limits = planner.limits(batch, state, planner.scene.index(evening), hardened=False)
    return planner.watch.spots(batch, limits, evening).get(planner.planting_track(batch).spot.name)


def _axis(batch: Batch, axis: str, earned: float) -> Criterion:
    end = batch.rule.length - NEAR_END
    return Criterion(axis, axis, earned, end, "ramp-days", axis_done(batch, earned))


def _light(planner: Planner, batch: Batch, state: State, evening: date) -> Criterion:
    clear_mol = planner.clear_day_mol(batch, planner.scene.index(evening))
    indoor_mol = planner.indoor_mol(batch)
    return Criterion(
        "light",
        f"light of a clear day at {_spot(planner, batch)}",
        clear_mol,
        clear_day_most_mol(batch, state, indoor_mol),
        "mol/m2",
        light_done(batch, state, clear_mol, indoor_mol),
        at_most=True,
    )


def _nights_out(batch: Batch, state: State) -> Criterion:
    needed = nights_needed(batch)
    text = "nights out" if batch.nights else "nights out (it never stays out)"
    return Criterion("nights", text, state.cold, float(needed), "nights", state.cold >= needed)


def _wind(planner: Planner, batch: Batch, evening: date) -> Criterion:
    """The strongest gust to come there, with a forecast's margin, against the last row of the rule."""
    scene, day = planner.scene, planner.scene.index(evening)
    known = sum(scene.is_known(each) for each in range(day + 1, min(day + 1 + SURE_DAYS, len(scene.dates))))
    gusts = planner.planting_track(batch).gust_m_s[scene.starts[day + 1] : scene.starts[day + 1 + known]]
    seen = np.flatnonzero(np.isfinite(gusts))
    limit = gust_limit(batch.rule.rows[-1], batch.rule.length)
    text = f"gusts to come at {_spot(planner, batch)}, with margin"
    if not len(seen):
        return Criterion("wind", text, None, limit, "m/s", None, at_most=True)
    strongest = float(gusts[seen].max()) * planner.margins.gust
    holes = len(seen) <= seen[-1]  # what comes after the last hour seen is past the forecast
    met = None if strongest <= limit and holes else strongest <= limit
    return Criterion("wind", text, strongest, limit, "m/s", met, at_most=True)


def _coming_nights(planner: Planner, batch: Batch, state: State, evening: date) -> Criterion:
    """How many of the nights to come would pass there; one that fails decides, an unknown one leaves it open."""
    text = f"nights to come that pass at {_spot(planner, batch)}"
    verdicts = _verdicts(planner, batch, state, evening)
    if not verdicts:
        return Criterion("coming_nights", text, unit="nights")
    passed = verdicts.count("out")
    fails = passed + verdicts.count("unknown") < len(verdicts)
    met = False if fails else True if passed == len(verdicts) else None
    return Criterion("coming_nights", text, float(passed), float(len(verdicts)), "nights", met)


def _verdicts(planner: Planner, batch: Batch, state: State, evening: date) -> list[str]:
    """Of the nights to come; an unknown one on the forecast's last date is past the forecast."""
    last = planner.scene.known_through or evening
    evenings = [evening + timedelta(days=n) for n in range(SURE_DAYS)]
    nights = [planting_night(planner, batch, state, each) for each in evenings if each <= last]
    verdicts = [night[1].verdict for night in nights if night is not None]
    if verdicts[-1:] == ["unknown"] and evening + timedelta(days=len(verdicts) - 1) >= last:
        verdicts.pop()
    return [str(verdict) for verdict in verdicts]


def _spot(planner: Planner, batch: Batch) -> str:
    return planner.planting_track(batch).spot.name
