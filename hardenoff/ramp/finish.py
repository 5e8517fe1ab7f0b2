"""When a batch is hardened: the criteria, machine-checked."""

from __future__ import annotations

from hardenoff.ramp.limits import light_cap_mol
from hardenoff.ramp.state import State
from hardenoff.records import Batch

NEAR_END = 0.3
"""Ramp-days short of the rule's end that still count as its end (ours)."""
CLEAR_DAY_OVER_CAP = 1.3
"""A clear day at the planting spot may be this much more than the light cap (ours)."""
NIGHTS_MOST = 2
"""Nights outside that are asked for at most; fewer if the rule has fewer rows with nights (ours)."""


def nights_needed(batch: Batch) -> int:
    """Nights outside before a batch counts as hardened; none if it never stays out."""
    return min(NIGHTS_MOST, sum(row.nights_out for row in batch.rule.rows)) if batch.nights else 0


def axis_done(batch: Batch, axis: float) -> bool:
    """Whether air or sun is within reach of the rule's end."""
    return axis >= batch.rule.length - NEAR_END


def sun_and_air_done(batch: Batch, state: State) -> bool:
    """Whether both air and sun are within reach of the rule's end."""
    return axis_done(batch, state.air) and axis_done(batch, state.sun)


def light_done(batch: Batch, state: State, clear_day_mol: float, indoor_mol: float) -> bool:
    """A clear day at the planting spot is no longer a leap for the leaves."""
    return clear_day_mol <= clear_day_most_mol(batch, state, indoor_mol)


def clear_day_most_mol(batch: Batch, state: State, indoor_mol: float) -> float:
    """The brightest clear day that is no leap for the leaves [mol/m2/d]."""
    cap = light_cap_mol(state.light_mol, batch.rule.light_growth, batch.rule.light_step_mol, indoor_mol)
    return CLEAR_DAY_OVER_CAP * cap


def is_hardened(batch: Batch, state: State, clear_day_mol: float, indoor_mol: float) -> bool:
    """All criteria: air and sun, light at this planting spot, its nights."""
    return (
        sun_and_air_done(batch, state)
        and light_done(batch, state, clear_day_mol, indoor_mol)
        and state.cold >= nights_needed(batch)
    )
