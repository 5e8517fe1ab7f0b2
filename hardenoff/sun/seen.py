"""Spots told by the times the sun was seen there: which bearings are open, how they move through the year.

A time seen opens every height between the sun's bearings at its start and its end, and closes all other bearings.
Times of one date add up. Between dates the edges move in a line with the sun's declination; outside they stay.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import lru_cache

import numpy as np
import pandas as pd

from hardenoff.errors import HardenoffError, UsageError
from hardenoff.records import Place, Spot, SunSeen
from hardenoff.sun.position import Sky, bearings_deg, declination_deg, rise_set
from hardenoff.sun.rays import Bools, within

TRUSTED_DAYS = 21
"""A time seen speaks for this many days around its date (ours); the sun's path moves on."""

TROPIC_DEG = 23.44
"""Latitude of the tropics: between them the sun passes the zenith."""

BELOW_HORIZON_MIN = 15
"""A time seen may begin or end so many minutes with the sun down before it is called a mistake (ours)."""

Edges = tuple[tuple[float, float], ...]
"""Open bearings, each from its left to its right edge, clockwise. [deg]"""


@dataclass(frozen=True, slots=True)
class _Seen:
    declination_deg: float
    edges: Edges


def seen_open(spot: Spot, place: Place, sky: Sky) -> Bools:
    """Is the sun's bearing one of those at which the spot sees it? All are, if no time was ever noted."""
    if not spot.sun_seen:
        return np.ones(len(sky.times), dtype=bool)
    is_open = np.zeros(len(sky.times), dtype=bool)
    codes, midnights = pd.factorize(sky.times.tz_convert(place.tz).tz_localize(None).normalize())
    dates = _dates_seen(spot.sun_seen, place)
    days = tuple(midnight.date() for midnight in midnights)
    declinations = _declinations(place, days) if len(dates) > 1 else (dates[0].declination_deg,) * len(days)
    begins = np.flatnonzero(np.diff(codes, prepend=-1)).tolist()
    for begin, end, declination in zip(begins, [*begins[1:], len(codes)], declinations, strict=True):
        today = slice(begin, end)
        for left, right in _open_bearings(dates, declination):
            is_open[today] |= within(sky.azimuth_deg[today], left, right)
    return is_open


def _open_bearings(dates: tuple[_Seen, ...], declination: float) -> Edges:
    """The open bearings as they stand when the sun has this declination. [deg]"""
    above = next((n for n, seen in enumerate(dates) if seen.declination_deg >= declination), len(dates))
    if above == 0:
        return dates[0].edges
    if above == len(dates):
        return dates[-1].edges
    return _between(dates[above - 1], dates[above], declination)


def seen_warning(spot: Spot, place: Place, on: date) -> str | None:
    """A warning where times seen say little: none noted within 21 days of the date (of whatever year), or a place
    between the tropics, where the sun climbs almost upright and its bearing hardly moves; else None."""
    if not spot.sun_seen:
        return None
    if abs(place.latitude) < TROPIC_DEG:
        return (
            f"the sun at {spot.name} was noted by times, but so near the equator its bearing hardly changes for "
            f"hours: describe the spot by skyline, roof or walls instead"
        )
    nearest = min(spot.sun_seen, key=lambda seen: _days_apart(seen.on, on))
    apart = _days_apart(nearest.on, on)
    if apart <= TRUSTED_DAYS:
        return None
    return (
        f"the sun at {spot.name} was last noted for {nearest.on.isoformat()}, {apart} days away in the year: "
        f"its path has moved since, look again and add a date to sun_seen"
    )


def seen_faults(spot: Spot, place: Place) -> tuple[HardenoffError, ...]:
    """The times seen at which the sun was below the horizon for more than a quarter of an hour, as faults."""
    return tuple(
        _fault(spot, seen, place) for seen in spot.sun_seen if _minutes_down(seen, place) > BELOW_HORIZON_MIN
    )


def _fault(spot: Spot, seen: SunSeen, place: Place) -> UsageError:
    sun = rise_set(place, seen.on)
    up = " and ".join(
        f"{word} {at:%H:%M}" for word, at in (("sunrise", sun.sunrise), ("sunset", sun.sunset)) if at is not None
    )
    return UsageError(
        f"spot '{spot.name}', sun_seen {seen.on.isoformat()} {seen.start:%H:%M}-{seen.end:%H:%M}: "
        f"the sun is below the horizon then",
        f"local times between sunrise and sunset ({up or f'the sun is always {sun.always}'} on that date)",
        "correct the date or the times in sun_seen, and check latitude, longitude and timezone of the place",
    )


def _minutes_down(seen: SunSeen, place: Place) -> int:
    _, elevation = bearings_deg(place, *_span(seen, place))
    return int(np.count_nonzero(elevation <= 0))


@lru_cache(maxsize=64)
def _declinations(place: Place, days: tuple[date, ...]) -> tuple[float, ...]:
    """The sun's declination at local noon of each day; the spots of one plan all ask for the same days. [deg]"""
    return tuple(declination_deg(place, [_noon(place, on) for on in days]).tolist())


@lru_cache(maxsize=256)
def _dates_seen(sun_seen: tuple[SunSeen, ...], place: Place) -> tuple[_Seen, ...]:
    """One entry a date, by declination."""
    by_date: dict[date, list[tuple[float, float]]] = {}
    for seen in sorted(sun_seen, key=lambda seen: (seen.on, seen.start)):
        by_date.setdefault(seen.on, []).append(_swept(seen, place))
    declinations = _declinations(place, tuple(by_date))
    dates = (_Seen(north, tuple(edges)) for north, edges in zip(declinations, by_date.values(), strict=True))
    return tuple(sorted(dates, key=lambda seen: seen.declination_deg))


def _swept(seen: SunSeen, place: Place) -> tuple[float, float]:
    """Left and right edge of the bearings the sun passes; it may pass clockwise, the other way, or turn back."""
    bearings, _ = bearings_deg(place, *_span(seen, place))
    unwrapped = np.unwrap(bearings, period=360.0)
    return float(unwrapped.min()), float(unwrapped.max())


def _between(low: _Seen, high: _Seen, declination: float) -> Edges:
    """Edges in a line between two dates; with unlike numbers of times seen, those of the nearer date."""
    way = (declination - low.declination_deg) / (high.declination_deg - low.declination_deg)
    if len(low.edges) != len(high.edges):
        return low.edges if way < 0.5 else high.edges
    moved = []
    for (left, right), (far_left, far_right) in zip(low.edges, high.edges, strict=True):
        step_left = (far_left - left + 180.0) % 360.0 - 180.0
        step_width = (far_right - far_left) - (right - left)
        moved.append((left + way * step_left, right + way * (step_left + step_width)))
    return tuple(moved)


def _span(seen: SunSeen, place: Place) -> tuple[datetime, datetime]:
    """A time that ends before it starts runs over midnight (polar summer)."""
    start = datetime.combine(seen.on, seen.start, tzinfo=place.tz)
    last = seen.on if seen.end > seen.start else seen.on + timedelta(days=1)
    return start, datetime.combine(last, seen.end, tzinfo=place.tz)


def _noon(place: Place, on: date) -> datetime:
    return datetime(on.year, on.month, on.day, 12, tzinfo=place.tz)


def _days_apart(one: date, other: date) -> int:
    """Days between two calendar days, whatever the year (counted in a leap year)."""
    apart = abs((one.replace(year=2000) - other.replace(year=2000)).days)
    return min(apart, 366 - apart)
