"""What a batch has got used to, and how a day changes it.

Three axes in ramp-days (air, sun, cold) and the acclimated light A. All numbers here are ours: fitted so that
the result agrees with common practice, and none of them is a published constant of plants.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from hardenoff.ramp.indoors import WINDOW_MOL, indoor_day_mol
from hardenoff.records import Batch, Confidence, Garden

UP_DAYS, DOWN_DAYS = 3.0, 6.0
"""Time constants of the acclimated light, days: towards more light, towards less."""
IDLE_LOSS = 1.0 / 3.0
"""Ramp-days that each further day inside in a row costs, on air and sun."""
IDLE_LOSS_MOST = 2.0
"""Ramp-days that one spell inside costs at most."""
SUN_AHEAD_MOST = 2.0
COLD_LOSS = 0.25
"""Cold credit a hardy batch loses on a day in a warm room."""
ASSUMED_LAG = 0.5
"""Ramp-days by which limits are read lower while nobody has said what was really done."""
ASSUMED_AIR, ASSUMED_SUN = 1.0, 0.5
"""Credit of a past day of which neither a record nor the weather is in hand."""
GREENHOUSE_LIGHT = 0.6


@dataclass(frozen=True, slots=True)
class State:
    """Ramp-days earned, acclimated light [mol/m2/d] and the present spell inside."""

    air: float = 0.0
    sun: float = 0.0
    cold: float = 0.0
    light_mol: float = 0.0
    confidence: Confidence = "known"
    idle_days: int = 0
    idle_lost: float = 0.0
    chilled_night: bool = False
    """The night before was spent outside below the check limit."""

    @property
    def ramp_days(self) -> float:
        """The lesser of air and sun: how far the batch really is."""
        return min(self.air, self.sun)

    @property
    def air_level(self) -> float:
        """Where the rule is read for hours, wind, air and nights."""
        return self._level(self.air)

    @property
    def sun_level(self) -> float:
        """Where the rule is read for direct sun."""
        return self._level(self.sun)

    def _level(self, axis: float) -> float:
        return max(0.0, axis - ASSUMED_LAG) if self.confidence == "assumed" else axis


@dataclass(frozen=True, slots=True)
class DayEarned:
    """What one day gave: credits, the night, and the light really met [mol/m2]."""

    air: float
    sun: float
    night_out: bool
    went_out: bool
    light_mol: float | None
    chilled_night: bool = False


def first_state(batch: Batch, garden: Garden, open_day_mol: float) -> State:
    """State before the first outing, from what the batch is used to.

    `open_day_mol`: light of the last days under open sky [mol/m2/d], for plants from a greenhouse.
    """
    indoor = indoor_day_mol(batch, garden)
    match batch.background:
        case "window":
            return State(light_mol=WINDOW_MOL)
        case "greenhouse":
            return State(air=2.0, sun=2.0, light_mol=GREENHOUSE_LIGHT * open_day_mol)
        case "bought":
            return State(air=2.0, light_mol=indoor)
    return State(light_mol=indoor)


def acclimate(light_mol: float, met_mol: float) -> float:
    """Acclimated light after a day that brought `met_mol` [mol/m2/d]: quick up, slow down."""
    days = UP_DAYS if met_mol > light_mol else DOWN_DAYS
    return light_mol + (1.0 - math.exp(-1.0 / days)) * (met_mol - light_mol)


def after_day(state: State, earned: DayEarned, *, end: float, loses_cold: bool) -> State:
    """State on the next midnight. `end`: the rule's length, where the axes stop; `loses_cold`: on a day inside."""
    moved = _after_outing(state, earned, end) if earned.went_out else _after_idle(state, loses_cold)
    light = state.light_mol if earned.light_mol is None else acclimate(state.light_mol, earned.light_mol)
    cold = moved.cold + (1.0 if earned.night_out else 0.0)
    return replace(moved, cold=cold, light_mol=light, chilled_night=earned.chilled_night)


def _after_outing(state: State, earned: DayEarned, end: float) -> State:
    air = max(state.air, min(end, state.air + earned.air))
    sun = max(state.sun, min(end, state.sun + earned.sun, air + SUN_AHEAD_MOST))
    return replace(state, air=air, sun=sun, idle_days=0, idle_lost=0.0)


def _after_idle(state: State, loses_cold: bool) -> State:
    """The first day inside costs itself; each further one a third, two ramp-days at most, never back to day 1."""
    loss = min(IDLE_LOSS, IDLE_LOSS_MOST - state.idle_lost) if state.idle_days else 0.0
    return replace(
        state,
        air=_lowered(state.air, loss, 1.0),
        sun=_lowered(state.sun, loss, 1.0),
        cold=_lowered(state.cold, COLD_LOSS, 0.5) if loses_cold else state.cold,
        idle_days=state.idle_days + 1,
        idle_lost=state.idle_lost + loss,
    )


def _lowered(axis: float, loss: float, floor: float) -> float:
    """`axis` less `loss`, but not below `floor` (and never raised to it)."""
    return max(min(axis, floor), axis - loss)


def assumed_day(state: State, *, end: float) -> State:
    """A past day of which nothing is known: some credit, and less trust from here on."""
    air = max(state.air, min(end, state.air + ASSUMED_AIR))
    sun = max(state.sun, min(end, state.sun + ASSUMED_SUN, air + SUN_AHEAD_MOST))
    return replace(state, air=air, sun=sun, confidence="assumed", idle_days=0, idle_lost=0.0, chilled_night=False)
