"""What a day and a night outside did to a batch, by the weather as it was.

Every measure is counted against limits for *that many days out*, the same for every player: the rule's row, the
crop's check and harm limits after so many days, and for the sun 1.25 times the default rule's table, which holds
common practice. No player's own bookkeeping, light cap or margin comes in.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np

from hardenoff.ramp.credit import Ints
from hardenoff.ramp.limits import DayLimits, day_limits
from hardenoff.ramp.scene import Floats
from hardenoff.ramp.state import State
from hardenoff.records import Batch
from hardenoff.tables import load_rules
from hardenoff.trial.records import Harm
from hardenoff.trial.season import Season

SUN_OVER_TABLE = 1.25
QUARTER_H = 0.25


@dataclass(frozen=True, slots=True)
class Allowed:
    """What the plants are held to on a date."""

    check_below_c: float
    harm_below_c: float
    least_air_c: float
    gust_m_s: float
    sun_h: float


def allowed(batch: Batch, days_out: int) -> Allowed:
    """Limits of the `days_out`-th day outside, counted from 1; past the rule's end, its last row."""
    earned = float(max(days_out, 1) - 1)
    limits: DayLimits = day_limits(
        batch, State(air=earned, sun=earned), indoor_mol=0.0, sun_up_h=24.0, hardened=False
    )
    return Allowed(
        check_below_c=limits.check_below_c,
        harm_below_c=limits.harm_below_c,
        least_air_c=limits.least_air_c,
        gust_m_s=limits.gust_m_s,
        sun_h=SUN_OVER_TABLE * common_practice_sun_h(batch, days_out),
    )


def common_practice_sun_h(batch: Batch, days_out: int) -> float:
    """Direct-sun hours that common practice gives the crop on its `days_out`-th day outside."""
    rows = load_rules()[batch.crop.rule].rows
    hours = rows[min(max(days_out, 1), len(rows)) - 1].direct_sun_hours
    assert hours is not None  # a crop's default rule is one of ours, and tells the sun of every day
    return hours


def harm_of(season: Season, on: date, where: Ints, limits: Allowed) -> Harm:
    """Harm of one date.

    `where`: the place of each quarter hour, 0 inside, spots from 1. Night counts from the last full hour before
    sunset where the batch stays out till midnight, and to the first full hour after sunrise where it was out at
    midnight; all other time outside is day.
    """
    at = season.scene.slots(season.day(on))
    out = where > 0
    if not out.any():
        return Harm()
    night = _night(season, on, where) & out
    spot, quarter = np.maximum(where - 1, 0), np.arange(at.start, at.stop)
    air = season.scene.air_c[at]
    colder = np.array([track.spot.colder_c for track in season.scene.tracks])[spot]
    gust = np.stack([track.gust_m_s[at] for track in season.scene.tracks])[spot, np.arange(len(where))]
    sun = np.stack([track.sun_likely_h[at] for track in season.scene.tracks])[spot, np.arange(len(where))]
    leaf = air - colder - season.leaf_drop_c[spot, quarter]
    unknown = out & (np.isnan(air) | np.isnan(gust))
    return Harm(
        check_degree_h=_below(limits.check_below_c, air - colder, night),
        leaf_degree_h=_below(limits.harm_below_c, leaf, night),
        day_degree_h=_below(limits.least_air_c, air, out & ~night),
        sun_h=max(0.0, float(np.nansum(sun[out])) - limits.sun_h),
        gust_h=QUARTER_H * float((gust[out] > limits.gust_m_s).sum()),
        unknown_h=QUARTER_H * float(unknown.sum()),
    )


def morning_after(season: Season, on: date, place: int, limits: Allowed) -> Harm:
    """Harm of what is left, on a date's morning, of a night spent outside that ends a run."""
    at = season.scene.slots(season.day(on))
    _, dawn = season.night_quarters(on)
    where = np.zeros(at.stop - at.start, dtype=np.int64)
    where[:dawn] = place
    return harm_of(season, on, where, limits)


def _night(season: Season, on: date, where: Ints) -> Ints:
    dusk, dawn = season.night_quarters(on)
    quarter = np.arange(len(where))
    night = np.zeros(len(where), dtype=bool)
    if where[0] > 0:
        night |= quarter < dawn
    if where[-1] > 0:
        night |= quarter >= dusk
    return night


def _below(limit_c: float, air_c: Floats, when: Ints) -> float:
    """Degree-hours; a missing temperature counts in `unknown_h` instead."""
    return QUARTER_H * float(np.nansum(np.maximum(limit_c - air_c[when], 0.0)))
