"""What an outing earns on air and sun, and the score by which one day's outings are compared (all ours).

Everything here takes many outings at once, of one batch or of several side by side: totals `[sum, ...]` as in
`Sum`, against the `Marks` of as many lanes as the second axis has, or of one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from hardenoff.ramp.limits import NO_SUN_TOLERATED_H, SEEKS_SUN_H, DayLimits
from hardenoff.ramp.scene import Bools, Floats
from hardenoff.ramp.table import Sum
from hardenoff.ramp.weights import Weights

Ints = NDArray[np.int64]

FULL_AIR, FULL_SUN = 0.9, 0.6
"""Share of the limit's hours, and of the sun target, that earns full credit."""
SHELTERED = 0.75
"""Share of air's credit that a day beyond the rule's hours earns."""
DULL_DAY = 1.0 / 3.0
"""Share of sun's credit that a place in the sun earns when cloud keeps the sun away."""
CATCH_UP = 1.5
"""Factor on sun's credit while sun lags air."""
MOVE_COST = 0.02
"""Score lost for a move."""
HOP_COST, HOP_QUARTERS = 0.3, 4
"""Score lost for a stop, outside or in, hardly worth the carrying: less the longer, none from an hour on."""
TOLD_GRACE_H = 0.5
"""Fetched in so much later than the rule's hours, a day that was told still counts as keeping to them."""
NIGHT_WORTH = 0.5
"""Score of a night out while nights are still needed; a tenth of it afterwards."""
FULLNESS_WORTH = 0.1
"""Score of reaching the rule's own hours and sun, not only the share that earns full credit."""
LIGHT_KEPT_WORTH, LEAST_USED_TO_MOL = 0.1, 1.0
"""Score of a day with as much light as the leaves are used to, lamp included, once the rule asks for sun: a whole
day in deep shade weans them from light, and the last ramp-days wait for it."""
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
    weights: Weights
    nights_needed: bool
    longer_only: bool
    used_to_mol: float = 0.0
    """Light of a day that the leaves are used to."""
    grace_h: float = 0.0
    """Hours over the limit that still count as the longer way; none in a plan."""

    @property
    def sun_by(self) -> str:
        """What earns sun: `air` where next to none is asked for, `light` where no hours are given, else `sun`."""
        target = self.limits.sun_target_h
        if target is None:
            return "light"
        return "air" if target < SEEKS_SUN_H else "sun"


@dataclass(frozen=True, slots=True)
class Marks:
    """The targets of several lanes side by side: numbers, or arrays with an axis for the lanes.

    What is divided by often is kept as its inverse, and what does not apply to a lane as zero.
    """

    per_air: Any
    """1 / hours that earn full air."""
    per_hours: Any
    outdoor_h: Any
    """Most hours of the longer way."""
    grace_h: Any
    sun_most_h: Any
    """Infinite where the rule is silent on sun."""
    per_sun_most: Any
    """1 / the sun limit; zero where the rule is silent on sun."""
    per_sun_sheltered: Any
    """1 / the sun limit of the sheltered way: what deep shade lets through, where the rule has no hours of sun."""
    per_cap: Any
    sun_by_air: Any
    sun_by_sun: Any
    sun_by_light: Any
    light_counts: Any
    """Sun by hours is held to the light as well."""
    per_sun: Any
    """1 / direct-sun hours that earn full sun."""
    per_target: Any
    per_light: Any
    """1 / light that earns full sun."""
    per_mol: Any
    air_worth: Any
    sun_worth: Any
    catch_up: Any
    light_worth: Any
    night_worth: Any
    longer_only: Any
    per_used_to: Any
    some: frozenset[str] = frozenset()
    """Which of these are other than zero in some lane: the rest need not be reckoned with."""
    alike: bool = True
    """Both ways have the same sun limit in every lane."""
    rows: Floats | None = None
    """The same as `[mark, lane]`, where there are several lanes."""

    @classmethod
    def of(cls, asked: Sequence[Asked]) -> Marks:
        """Numbers for one lane; for several, an array each."""
        if len(asked) == 1:
            return marks_of(asked[0])
        rows = [_marks(each) for each in asked]
        some = frozenset(name for name, values in zip(_NAMES, zip(*rows, strict=True), strict=True) if any(values))
        alike = all(each.limits.sun_hours_told for each in asked)
        return cls._of_rows(np.ascontiguousarray(np.array(rows).T), some, alike, 1)

    def shaped(self, axes: int) -> Marks:
        """The same with so many axes, the first of them the lanes'."""
        if self.rows is None:
            return self
        return self._of_rows(self.rows, self.some, self.alike, axes)

    @classmethod
    def _of_rows(cls, rows: Floats, some: frozenset[str], alike: bool, axes: int) -> Marks:
        shaped: dict[str, Any] = dict(zip(_NAMES, rows.reshape(*rows.shape, *([1] * (axes - 1))), strict=True))
        return cls(**shaped, some=some, alike=alike, rows=rows)


_NAMES = tuple(each.name for each in fields(Marks) if each.name not in ("some", "alike", "rows"))
"""The marks proper, in the order of `_marks`."""


@lru_cache(maxsize=1024)
def marks_of(asked: Asked) -> Marks:
    """The targets of one day."""
    row: dict[str, Any] = dict(zip(_NAMES, _marks(asked), strict=True))
    some = frozenset(name for name, value in row.items() if value)
    return Marks(**row, some=some, alike=asked.limits.sun_hours_told)


def _marks(asked: Asked) -> tuple[float, ...]:
    """One lane's marks, in the order in which `Marks` names them."""
    limits, by = asked.limits, asked.sun_by
    target = limits.sun_target_h if by == "sun" and limits.sun_target_h is not None else np.inf
    per_sun_most = 1.0 / limits.sun_h
    return (
        1.0 / (FULL_AIR * asked.hours) if asked.hours > 0.0 else 0.0,
        1.0 / max(asked.hours, TOLERANCE),
        limits.outdoor_h,
        asked.grace_h,
        limits.sun_h,
        per_sun_most,
        per_sun_most if limits.sun_hours_told else max(per_sun_most, 1.0 / NO_SUN_TOLERATED_H),
        1.0 / limits.light_mol,
        float(by == "air"),
        float(by == "sun"),
        float(by == "light"),
        float(limits.near_end),
        1.0 / (FULL_SUN * target),
        1.0 / target,
        1.0 / (FULL_SUN * asked.light_mol),
        1.0 / asked.light_mol,
        asked.weights.air,
        asked.weights.sun,
        CATCH_UP if limits.lagging else 1.0,
        asked.weights.light,
        NIGHT_WORTH if asked.nights_needed else NIGHT_WORTH / 10.0,
        float(asked.longer_only),
        0.0 if by == "air" else 1.0 / max(asked.used_to_mol, LEAST_USED_TO_MOL),
    )


@dataclass(frozen=True, slots=True)
class Credit:
    """Credit of many outings at once; arrays of one shape."""

    air: Floats
    sun: Floats
    sheltered: Bools


def credit(totals: Floats, marks: Marks) -> Credit:
    """Credit on air and sun of outings with the given `totals[sum, ...]`."""
    hours = totals[Sum.HOURS]
    sheltered = hours > marks.outdoor_h + marks.grace_h + TOLERANCE
    full = np.minimum(hours * marks.per_air, 1.0)
    air = np.where(sheltered, SHELTERED * full, full)
    return Credit(air=air, sun=_sun(totals, marks, air) * marks.catch_up, sheltered=sheltered)


def _sun(totals: Floats, marks: Marks, air: Floats) -> Floats:
    """Credit on sun before catching up. Only what some lane is measured by is computed."""
    earned: Floats = np.zeros_like(air)
    by_light = None
    if "sun_by_light" in marks.some or "light_counts" in marks.some:
        by_light = np.minimum(totals[Sum.LIGHT_OUT] * marks.per_light, 1.0)
    if "sun_by_sun" in marks.some:
        by_sun = np.minimum(totals[Sum.SUN_LIKELY] * marks.per_sun, 1.0)
        if by_light is not None:
            by_sun = np.where(np.greater(marks.light_counts, 0.0), np.minimum(by_sun, by_light), by_sun)
        dull = DULL_DAY * np.minimum(totals[Sum.SUN_CLEAR] * marks.per_sun, 1.0)
        earned = earned + np.maximum(by_sun, dull) * marks.sun_by_sun
    if "sun_by_air" in marks.some:
        earned = earned + air * marks.sun_by_air
    if by_light is not None and "sun_by_light" in marks.some:
        earned = earned + by_light * marks.sun_by_light
    return earned


def excess(totals: Floats, marks: Marks) -> Floats:
    """By how much outings break the hard limits, `[...]` of totals `[sum, ...]`; 0 = allowed.

    Shares of the limits and barred quarter hours, summed up.
    """
    per_sun = marks.per_sun_most
    if not marks.alike:  # longer outside than a rule without hours of sun says: deep shade only
        sheltered = totals[Sum.HOURS] > marks.outdoor_h + TOLERANCE
        per_sun = np.where(sheltered, marks.per_sun_sheltered, per_sun)
    over: Floats = np.maximum(totals[Sum.SUN_CLEAR] * per_sun - (1.0 + TOLERANCE), 0.0)
    over = over + totals[Sum.BARRED] + np.maximum(totals[Sum.LIGHT_MOST] * marks.per_cap - (1.0 + TOLERANCE), 0.0)
    if "longer_only" in marks.some:
        beyond = np.maximum(totals[Sum.HOURS] / marks.outdoor_h - (1.0 + TOLERANCE), 0.0)
        over = over + marks.longer_only * beyond
    return over


def score(totals: Floats, marks: Marks, moves: int, night_out: Bools) -> Floats:
    """What outings are worth, `[...]` of totals `[sum, ...]`: credit less the cost of moves, cool hours and gusts.

    `night_out`: whether they end outside, of a shape that fits. The cost of hops is not in it (`hop_cost`).
    """
    earned = credit(totals, marks)
    worth: Floats = (
        marks.air_worth * earned.air
        + marks.sun_worth * earned.sun
        + marks.night_worth * night_out
        + FULLNESS_WORTH * fullness(totals, marks)
        + LIGHT_KEPT_WORTH * np.minimum(totals[Sum.LIGHT_LIKELY] * marks.per_used_to, 1.0)
        - BAND_COST * (totals[Sum.SUN_BAND] > marks.sun_most_h + TOLERANCE)
        - totals[Sum.STRAIN]
        - MOVE_COST * moves
    )
    if "light_worth" in marks.some:
        worth = worth + marks.light_worth * np.minimum(totals[Sum.LIGHT_LIKELY] * marks.per_mol, 1.0)
    return worth


def ceiling(marks: Marks, moves: int, nights: Bools) -> Floats:
    """More than this no outing with so many moves can be worth, with or without `nights` to be had."""
    fullest = 1.0 + marks.sun_by_sun + np.maximum(marks.sun_by_light, marks.light_counts)
    most: Floats = (
        marks.air_worth
        + marks.sun_worth * marks.catch_up
        + marks.night_worth * nights
        + marks.light_worth
        + FULLNESS_WORTH * fullest
        + LIGHT_KEPT_WORTH
        - MOVE_COST * moves
    )
    return most


def fullness(totals: Floats, marks: Marks) -> Floats:
    """How much of the rule's own hours and sun (from the last ramp-days on also light) is reached, 0 to 3."""
    full: Floats = np.minimum(totals[Sum.HOURS] * marks.per_hours, 1.0)
    if "sun_by_sun" in marks.some:
        full = full + np.minimum(totals[Sum.SUN_LIKELY] * marks.per_target, 1.0)
    if "sun_by_light" in marks.some or "light_counts" in marks.some:
        full = full + np.maximum(marks.sun_by_light, marks.light_counts) * np.minimum(
            totals[Sum.LIGHT_OUT] * marks.per_mol, 1.0
        )
    return full


def tie_break(totals: Floats, marks: Marks) -> Floats:
    """Among equal scores the gentler wins: less outdoor light, less time in the dark."""
    light: Floats = totals[Sum.LIGHT_OUT] * marks.per_cap
    dark: Floats = 0.1 * totals[Sum.DARK_HOURS]
    return -light - dark


def hop_cost(gaps: Ints) -> Floats:
    """Cost of moves that follow each other by so many quarter hours `[..., gap]`: more, the sooner."""
    hops: Floats = np.maximum(HOP_COST * (1.0 - gaps / HOP_QUARTERS), 0.0).sum(axis=-1)
    return hops
