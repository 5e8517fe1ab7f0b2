"""One day at a spot: when the sun reaches it, for how long, and how that moves if the spot was misjudged."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

import numpy as np

from hardenoff.records import Place, Spot
from hardenoff.sun.geometry import seen_warning, share, sky_view, variants
from hardenoff.sun.light import SUNSHINE_DNI_W_M2
from hardenoff.sun.position import Floats, Sky, day_span, sky, sky_of_days


@dataclass(frozen=True, slots=True)
class SunWindow:
    """The sun reaches the spot from `start` to `end` (place's time) with this share of its beam."""

    start: datetime
    end: datetime
    share: float


@dataclass(frozen=True, slots=True)
class SunDay:
    """A spot on one local date, if clear."""

    spot: str
    date: date
    windows: tuple[SunWindow, ...]
    """Geometry alone: a low, weak sun counts; a new window begins where the share changes."""
    direct_sun_hours: float
    """Of the windows, the part with a clear-sky beam of at least 120 W/m2, times the share."""
    sky_view_factor: float
    warnings: tuple[str, ...] = ()


def sun_day(spot: Spot, place: Place, on: date, step_min: float = 1) -> SunDay:
    """When the sun reaches a spot on a local date; edges to the step (one minute)."""
    return sun_days(spot, place, (on,), step_min)[0]


def sun_days(spot: Spot, place: Place, days: Sequence[date], step_min: float = 1) -> tuple[SunDay, ...]:
    """Each of the local dates as by `sun_day`, in hardly more time than the sun's positions take."""
    whole, parts = sky_of_days(place, days, step_min)
    arriving = share(spot, place, whole)
    return tuple(
        _sun_day(spot, place, on, whole.part(steps), arriving[steps])
        for on, steps in zip(days, parts, strict=True)
    )


def _sun_day(spot: Spot, place: Place, on: date, day: Sky, arriving: Floats) -> SunDay:
    warning = seen_warning(spot, place, on)
    return SunDay(
        spot.name,
        on,
        _windows(place, day, arriving),
        _direct_sun_hours(day, arriving),
        sky_view(spot, on),
        () if warning is None else (warning,),
    )


def season(spot: Spot, place: Place, first: date, last: date, every_days: int = 7) -> tuple[SunDay, ...]:
    """Days at a spot from `first` to `last`, one in `every_days`."""
    count = (last - first).days + 1
    return sun_days(spot, place, [first + timedelta(days=n) for n in range(0, count, every_days)])


def band(spot: Spot, place: Place, on: date) -> tuple[tuple[str, float], ...]:
    """Direct-sun hours of the date, if clear, for each way the spot may have been misjudged."""
    day = sky(place, *day_span(place, on), 1)
    return tuple((label, _direct_sun_hours(day, share(moved, place, day))) for label, moved in variants(spot))


def _direct_sun_hours(day: Sky, arriving: Floats) -> float:
    return float(arriving[day.dni_clear_w_m2 >= SUNSHINE_DNI_W_M2].sum() * day.step_min / 60.0)


def _windows(place: Place, day: Sky, arriving: Floats) -> tuple[SunWindow, ...]:
    """Runs of steps with one share above zero."""
    firsts = np.flatnonzero(np.diff(arriving, prepend=np.nan) != 0.0)
    ends = np.append(firsts[1:], len(arriving))
    step, zone = timedelta(minutes=day.step_min), place.tz
    start = day.times[0].to_pydatetime() - step / 2
    return tuple(
        SunWindow(
            (start + first * step).astimezone(zone), (start + end * step).astimezone(zone), float(arriving[first])
        )
        for first, end in zip(firsts.tolist(), ends.tolist(), strict=True)
        if arriving[first] > 0.0
    )
