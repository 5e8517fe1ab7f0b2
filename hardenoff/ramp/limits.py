"""What one day allows: the rule's row, the light cap, and what full credit asks for."""

from __future__ import annotations

import math
from dataclasses import dataclass

from hardenoff.night import check_below_c, harm_below_c
from hardenoff.ramp.state import State
from hardenoff.records import Batch, RuleRow
from hardenoff.tables import STAND_IN_RULE, load_rules

ALL_DAY_H = 24.0
NO_SUN_TOLERATED_H = 0.25
"""Where a rule says no direct sun: tolerated, never sought, no credit (ours)."""
SEEKS_SUN_H = 0.5
"""Below this a rule's sun asks for nothing of its own: sun earns what air earns (ours)."""
ROW_REACHED = 0.05
"""A row of the rule is read from so little before its ramp-day on: a day that gave 0.99 was a whole one (ours)."""
LAG = 0.05
"""Ramp-days by which sun lags air before its credit counts half as much again (ours)."""
LIGHT_COUNTS_LAST = 2
"""On the last ramp-days of a rule, so many, sun credit looks at light as well as hours (ours)."""


@dataclass(frozen=True, slots=True)
class DayLimits:
    """The most (for air: the least) of one day for one batch, and the targets that credit is measured by.

    Hours in h, light in mol/m2/d, wind in m/s at the plant, temperature in degrees C.
    """

    air_row: int
    sun_row: int
    """Ramp-days at which the rule was read, counted from 1."""
    outdoor_h: float
    """Most sun-up hours on the `longer` way; 24 = all day."""
    sun_h: float
    """Most direct-sun hours if clear; infinite where the rule gives none."""
    light_mol: float
    """The light cap C."""
    gust_m_s: float
    least_air_c: float
    nights_out: bool
    check_below_c: float
    harm_below_c: float
    sun_target_h: float | None
    """Direct-sun hours that full credit is measured by; None: by light."""
    near_end: bool
    """Sun is on the rule's last ramp-days, where light counts as well as hours."""
    lagging: bool
    """Sun lags air: its credit counts half as much again."""
    sun_hours_told: bool = True
    """The rule tells hours of direct sun, so they hold on the sheltered way as well; else that is deep shade."""
    gust_is_stand_in: bool = False
    """The rule is silent on wind; the default rule's number stands in."""


def light_cap_mol(light_mol: float, growth: float, step_mol: float, indoor_mol: float) -> float:
    """C = (1 + r) A + d0 [mol/m2/d], never below the light of the room they wait in."""
    return max((1.0 + growth) * light_mol + step_mol, indoor_mol)


def day_limits(batch: Batch, state: State, *, indoor_mol: float, sun_up_h: float, hardened: bool) -> DayLimits:
    """Limits of a day that begins with `state`; `sun_up_h` is the day's length, for plans told as 'all day'."""
    rule, crop = batch.rule, batch.crop
    air_row, sun_row = _row_number(state.air_level, rule.length), _row_number(state.sun_level, rule.length)
    row, sun = rule.rows[air_row - 1], rule.rows[sun_row - 1]
    check = check_below_c(crop, rule.length, state.air_level)
    if row.least_night_c is not None:
        check = max(check, row.least_night_c)
    outdoor = ALL_DAY_H if row.outdoor_hours is None or hardened else row.outdoor_hours
    return DayLimits(
        air_row=air_row,
        sun_row=sun_row,
        outdoor_h=outdoor,
        sun_h=math.inf if hardened else _sun_most(sun, sun_up_h),
        light_mol=light_cap_mol(state.light_mol, rule.light_growth, rule.light_step_mol, indoor_mol),
        gust_m_s=gust_limit(row, air_row),
        least_air_c=row.least_air_c if row.least_air_c is not None else min(crop.least_air_c, check),
        nights_out=(row.nights_out or hardened) and batch.nights,
        check_below_c=check,
        harm_below_c=harm_below_c(crop, rule.length, state.air_level),
        sun_target_h=_sun_asked(sun, sun_up_h),
        near_end=sun_row > rule.length - LIGHT_COUNTS_LAST,
        lagging=state.air - state.sun > LAG,
        sun_hours_told=hardened or sun.direct_sun_hours is not None,
        gust_is_stand_in=row.gust_m_s is None,
    )


def _row_number(level: float, length: int) -> int:
    return min(length, 1 + math.floor(level + ROW_REACHED))


def _sun_asked(row: RuleRow, sun_up_h: float) -> float | None:
    """Direct-sun hours of a row: told as such, or as a share of the open light over its hours."""
    if row.direct_sun_hours is not None:
        return row.direct_sun_hours
    if row.open_share is not None and row.outdoor_hours is not None:
        return row.open_share * min(row.outdoor_hours, sun_up_h)
    return None


def _sun_most(row: RuleRow, sun_up_h: float) -> float:
    asked = _sun_asked(row, sun_up_h)
    return math.inf if asked is None else max(asked, NO_SUN_TOLERATED_H)


def gust_limit(row: RuleRow, air_row: int) -> float:
    """Most gust at the plant on a ramp-day [m/s]; the stand-in rule's where the rule is silent on wind."""
    if row.gust_m_s is not None:
        return row.gust_m_s
    stand_ins = [other.gust_m_s for other in load_rules()[STAND_IN_RULE].rows if other.gust_m_s is not None]
    return stand_ins[min(air_row, len(stand_ins)) - 1]
