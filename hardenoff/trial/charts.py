"""The chart on the wall, as a person follows it: the rule's row of the day turned into times and places.

What we take such a person to do (ours). They count hours by the clock. They begin at nine in the morning, or
earlier if the row's hours would not fit before the evening; someone who is not there all day takes the two times
of their day that come nearest to the hours of the row. Its hours of sun come first, at the sunniest spot there is,
the rest of the outing in the deepest shade; they move it at the time of theirs that comes nearest. Nights
that the row allows are spent in the shade. A rule that says nothing of sun is followed in the shade.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from hardenoff.ramp.credit import Ints
from hardenoff.records import RuleRow

NINE = 36
"""09:00 in quarter hours."""
NOON = 48
ALL_DAY_H = 24.0


@dataclass(frozen=True, slots=True)
class Outing:
    """A day's places, `where[quarter]` (0 inside), and how often the tray was carried."""

    where: Ints
    moves: int


@dataclass(frozen=True, slots=True)
class Corners:
    """The two places a chart speaks of, as places of the day."""

    sunny: int
    shady: int


def row_outing(
    row: RuleRow, times: tuple[int, ...], corners: Corners, *, quarters: int, begins_at: int, night_out: bool
) -> Outing:
    """The outing of a row.

    Parameters
    ----------
    times : tuple of int
        Quarter hours at which somebody can carry.
    begins_at : int
        The place at 00:00: outside, if it stayed out last night.
    night_out : bool
        It stays out tonight.
    """
    if not times:
        return Outing(np.full(quarters, begins_at, dtype=np.int64), 0)
    out, back = _nearest_pair(times, ALL_DAY_H if row.outdoor_hours is None else row.outdoor_hours)
    if begins_at:
        out = next((time for time in times if NINE <= time < NOON), times[0])
        back = max(back, out)
    where = np.zeros(quarters, dtype=np.int64)
    where[:out] = begins_at
    end = quarters if night_out else back
    turn = _nearest([time for time in times if out <= time <= end], out + 4.0 * sun_hours(row))
    where[out:turn] = corners.sunny
    where[turn:end] = corners.shady
    return Outing(where, int(np.count_nonzero(np.diff(where))))


def sun_hours(row: RuleRow) -> float:
    """Hours of sun that a row asks for by the clock; a share of open light counts for that share of the hours."""
    if row.direct_sun_hours is not None:
        return row.direct_sun_hours
    if row.open_share is not None and row.outdoor_hours is not None:
        return row.open_share * min(row.outdoor_hours, 12.0)
    return 0.0


def kept_in(times: tuple[int, ...], *, quarters: int, begins_at: int) -> Outing:
    """Inside all day; a tray that stayed out last night comes in when somebody is there."""
    where = np.zeros(quarters, dtype=np.int64)
    if begins_at:
        where[: times[0] if times else quarters] = begins_at
    return Outing(where, int(np.count_nonzero(np.diff(where))))


def left_out(times: tuple[int, ...], corners: Corners, *, quarters: int, begins_at: int) -> Outing:
    """Straight out to the sunniest spot, and left there."""
    where = np.full(quarters, begins_at, dtype=np.int64)
    if not begins_at and times:
        where[times[0] :] = corners.sunny
    return Outing(where, int(np.count_nonzero(np.diff(where))))


def _nearest_pair(times: tuple[int, ...], hours: float) -> tuple[int, int]:
    """Out and back at two times whose distance comes nearest to the hours; among equals, out nearest to nine."""
    pairs = [(out, back) for out in times for back in times if back > out] or [(times[0], times[0])]
    return min(pairs, key=lambda pair: (abs((pair[1] - pair[0]) / 4.0 - hours), abs(pair[0] - NINE)))


def _nearest(times: list[int], wanted: float) -> int:
    return min(times, key=lambda time: (abs(time - wanted), time))
