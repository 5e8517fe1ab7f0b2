"""What an outing earns on air and sun, and the score by which one day's outings are compared (all ours)."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from hardenoff.ramp.limits import NO_SUN_TOLERATED_H, SEEKS_SUN_H, DayLimits
from hardenoff.ramp.scene import Bools, Floats
from hardenoff.ramp.table import Sum

Ints = NDArray[np.int64]

FULL_AIR, FULL_SUN = 0.9, 0.6
"""Share of the limit's hours, and of the sun target, that earns full credit."""
SHELTERED = 0.75
DULL_DAY = 0.25
CATCH_UP = 1.5
MOVE_COST = 0.02
COOL_HOUR_COST = 0.01
HOP_COST, HOP_QUARTERS = 0.3, 4
"""Score lost for a stop, outside or in, hardly worth the carrying: less the longer, none from an hour on."""
TOLD_GRACE_H = 0.5
"""Fetched in so much later than the rule's hours, a day that was told still counts as keeping to them."""
DONE_WORTH = 0.2
"""Score of an axis that is at the rule's end already, as a share of what it counts before."""
NIGHT_WORTH = 0.5
"""Score of a night out while nights are still needed; a tenth of it afterwards."""
FULLNESS_WORTH = 0.1
"""Score of reaching the rule's own hours and sun, not only the share that earns full credit."""
BAND_COST = 0.01
"""Score lost where a small error of the spot's geometry would break the sun limit."""
TOLERANCE = 1e-9


@dataclass(frozen=True, slots=True)
class Asked:
    """The targets of one day."""

    limits: DayLimits
    hours: float
    """Sun-up hours that the limit stands for today: never more than the day has."""
    light_mol: float
    """Light that counts as a full day: the light cap, or a clear day at the planting spot if that is less."""
    air_needed: bool
    sun_needed: bool
    """False once the axis is at the rule's end."""
    nights_needed: bool
    light_needed: bool
    """Air and sun are done and only the leaves' light is missing: then light is what is sought."""
    longer_only: bool
    grace_h: float = 0.0
    """Hours over the limit that still count as the longer way; none in a plan."""


@dataclass(frozen=True, slots=True)
class Credit:
    """Credit of many outings at once; arrays of one shape."""

    air: Floats
    sun: Floats
    sheltered: Bools


def credit(totals: Floats, asked: Asked) -> Credit:
    """Credit on air and sun of outings with the given `totals[sum, ...]`."""
    limits, hours = asked.limits, totals[Sum.HOURS]
    sheltered = hours > limits.outdoor_h + asked.grace_h + TOLERANCE
    full = np.minimum(1.0, hours / (FULL_AIR * asked.hours)) if asked.hours > 0.0 else np.zeros_like(hours)
    air = np.where(sheltered, SHELTERED * full, full)
    return Credit(air=air, sun=_sun(totals, asked, air), sheltered=sheltered)


def _sun(totals: Floats, asked: Asked, air: Floats) -> Floats:
    limits = asked.limits
    target = limits.sun_target_h
    if target is not None and target < SEEKS_SUN_H:
        earned = air
    else:
        by_light = np.minimum(1.0, totals[Sum.LIGHT_OUT] / (FULL_SUN * asked.light_mol))
        if target is None:
            earned = by_light
        else:
            earned = np.minimum(1.0, totals[Sum.SUN_LIKELY] / (FULL_SUN * target))
            if limits.near_end:
                earned = np.minimum(earned, by_light)
            dull = DULL_DAY * np.minimum(1.0, totals[Sum.SUN_CLEAR] / (FULL_SUN * target))
            earned = np.maximum(earned, dull)
    return CATCH_UP * earned if limits.lagging else earned


def excess(totals: Floats, asked: Asked) -> Floats:
    """By how much outings break the hard limits, in shares of them summed up; 0 = allowed."""
    limits = asked.limits
    over: Floats = totals[Sum.BARRED].copy()
    sheltered = totals[Sum.HOURS] > limits.outdoor_h + TOLERANCE
    if np.isfinite(limits.sun_h):
        over += _over(totals[Sum.SUN_CLEAR], limits.sun_h)
    else:  # beyond the hours of a rule that is silent on sun: deep shade only
        over += np.where(sheltered, _over(totals[Sum.SUN_CLEAR], NO_SUN_TOLERATED_H), 0.0)
    over += _over(totals[Sum.LIGHT_MOST], limits.light_mol)
    if asked.longer_only:
        over += _over(totals[Sum.HOURS], limits.outdoor_h)
    return over


def _over(value: Floats, limit: float) -> Floats:
    over: Floats = np.maximum(0.0, value / limit - 1.0 - TOLERANCE)
    return over


def score(totals: Floats, asked: Asked, moves: int, night_out: Bools) -> Floats:
    """What outings are worth: credit less the cost of moves and of cool hours."""
    earned = credit(totals, asked)
    night = night_worth(asked) * night_out
    unsure = BAND_COST * (totals[Sum.SUN_BAND] > asked.limits.sun_h + TOLERANCE)
    air = earned.air if asked.air_needed else DONE_WORTH * earned.air
    sun = earned.sun if asked.sun_needed else DONE_WORTH * earned.sun
    worth: Floats = air + sun + night + FULLNESS_WORTH * fullness(totals, asked)
    if asked.light_needed:
        worth = worth + np.minimum(1.0, totals[Sum.LIGHT_LIKELY] / asked.light_mol)
    cost: Floats = MOVE_COST * moves + COOL_HOUR_COST * totals[Sum.COLD_HOURS] + unsure
    return worth - cost


def ceiling(asked: Asked, moves: int, nights: bool) -> float:
    """More than this no outing with so many moves can be worth."""
    air = 1.0 if asked.air_needed else DONE_WORTH
    sun = (CATCH_UP if asked.limits.lagging else 1.0) * (1.0 if asked.sun_needed else DONE_WORTH)
    night = night_worth(asked) if nights else 0.0
    light = 1.0 if asked.light_needed else 0.0
    return air + sun + night + light + FULLNESS_WORTH * _fullness_most(asked) - MOVE_COST * moves


def _fullness_most(asked: Asked) -> float:
    target = asked.limits.sun_target_h
    return 1.0 + (target is not None and target >= SEEKS_SUN_H) + (target is None or asked.limits.near_end)


def night_worth(asked: Asked) -> float:
    """Score of staying out for the night."""
    return NIGHT_WORTH if asked.nights_needed else NIGHT_WORTH / 10.0


def fullness(totals: Floats, asked: Asked) -> Floats:
    """How much of the rule's own hours and sun (from the last ramp-days on also light) is reached, 0 to 3."""
    limits, target = asked.limits, asked.limits.sun_target_h
    full: Floats = np.minimum(1.0, totals[Sum.HOURS] / max(asked.hours, TOLERANCE))
    if target is not None and target >= SEEKS_SUN_H:
        full = full + np.minimum(1.0, totals[Sum.SUN_LIKELY] / target)
    if target is None or limits.near_end:
        full = full + np.minimum(1.0, totals[Sum.LIGHT_OUT] / asked.light_mol)
    return full


def tie_break(totals: Floats, asked: Asked) -> Floats:
    """Among equal scores, larger is better: less outdoor light, less time in the dark, less wind."""
    light: Floats = totals[Sum.LIGHT_OUT] / asked.limits.light_mol
    wind: Floats = totals[Sum.GUST] / (24.0 * asked.limits.gust_m_s)
    dark: Floats = 0.1 * totals[Sum.DARK_HOURS]
    return -light - dark - 0.01 * wind


def hop_cost(moves: Ints) -> Floats:
    """Cost of moves `[move, ...]` (quarter hours) that follow each other within the hour: more, the sooner."""
    short = np.maximum(0.0, 1.0 - np.diff(moves, axis=0) / HOP_QUARTERS)
    hops: Floats = HOP_COST * short.sum(axis=0)
    return hops
