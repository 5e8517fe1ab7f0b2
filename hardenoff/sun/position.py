"""Where the sun stands and how bright the clear sky is, step by step; when it rises and sets.

pvlib does the astronomy and the clear sky; it is imported when a function is called, as it takes long to load.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta
from typing import Literal

import numpy as np
import numpy.typing as npt
import pandas as pd

from hardenoff.records import Place

Floats = npt.NDArray[np.float64]

UPPER_LIMB_DEG = -0.8333
"""Geometric elevation of the sun's centre when almanacs let it rise and set: refraction 34', radius 16'."""

_GRID = timedelta(minutes=10)
_REFINEMENTS = 2
"""Enough for whole seconds, at every latitude."""


@dataclass(frozen=True, slots=True, eq=False)
class Sky:
    """The sun and the cloudless sky over a place, sampled in the middle of each step.

    Angles in degrees (bearing clockwise from true north), irradiance in W/m2, one value a step.
    """

    times: pd.DatetimeIndex
    """Middle of each step, UTC."""
    step_min: float
    elevation_deg: Floats
    """Apparent: with refraction."""
    azimuth_deg: Floats
    dni_clear_w_m2: Floats
    ghi_clear_w_m2: Floats
    dhi_clear_w_m2: Floats
    dni_extra_w_m2: Floats
    """Above the air, facing the sun."""

    @property
    def cos_zenith(self) -> Floats:
        """Cosine of the apparent zenith angle, 0 when the sun is down."""
        return np.maximum(np.sin(np.radians(self.elevation_deg)), 0.0)

    def part(self, steps: slice) -> Sky:
        """Some of the steps."""
        columns = {name: getattr(self, name)[steps] for name in self.__slots__ if name != "step_min"}
        return replace(self, **columns)


@dataclass(frozen=True, slots=True)
class RiseSet:
    """Sunrise and sunset of one local date; None where that date has no such event.

    `always` is 'up' or 'down' on a date without either. Far north, or far from the zone's own meridian, a sunset
    can come before the sunrise of the same date.
    """

    sunrise: datetime | None
    sunset: datetime | None
    always: Literal["up", "down"] | None = None


def day_span(place: Place, on: date) -> tuple[datetime, datetime]:
    """First instant of a local date and of the next one, in UTC: 23, 24 or 25 hours apart."""
    midnights = (datetime.combine(day, time(), tzinfo=place.tz) for day in (on, on + timedelta(days=1)))
    start, end = (midnight.astimezone(UTC) for midnight in midnights)
    return start, end


def sky(place: Place, start: datetime, end: datetime, step_min: float = 5) -> Sky:
    """The sun and the cloudless sky from `start` to `end`, in as many whole steps as fit.

    Parameters
    ----------
    start, end : datetime
        Aware.
    step_min : float
        Length of a step. [min]

    Raises
    ------
    ValueError
        `start` or `end` without a zone.

    Notes
    -----
    A place without elevation counts as at sea level. Turbidity is pvlib's own monthly map.

    References
    ----------
    Position: Reda & Andreas 2008, NREL/TP-560-34302. Clear sky: Ineichen & Perez 2002, Solar Energy 73:151.
    """
    return _sky(place, [_mid_steps(start, end, step_min)], step_min)


def sky_of_days(place: Place, days: Sequence[date], step_min: float = 5) -> tuple[Sky, list[slice]]:
    """The sky of each local date, one behind the other, and where the steps of each are; see `sky`.

    One call for many dates, since the astronomy takes hundreds of steps in the time of one.
    """
    times = [_mid_steps(*day_span(place, on), step_min) for on in days]
    ends = np.cumsum([len(steps) for steps in times]).tolist()
    parts = [slice(begin, end) for begin, end in zip([0, *ends], ends, strict=False)]
    return _sky(place, times, step_min), parts


def _mid_steps(start: datetime, end: datetime, step_min: float) -> npt.NDArray[np.datetime64]:
    step_ns, first = round(step_min * 60e9), _utc(start).as_unit("ns")
    count = max(0, (_utc(end).as_unit("ns") - first).value // step_ns)
    return first.asm8 + np.arange(count) * step_ns + step_ns // 2


def _sky(place: Place, mid_steps: Sequence[npt.NDArray[np.datetime64]], step_min: float) -> Sky:
    times = pd.DatetimeIndex(np.concatenate(mid_steps), tz="UTC")
    sun = _positions(place, times)
    clear = _clear_sky(place, times, sun["apparent_zenith"])
    return Sky(times, float(step_min), 90.0 - sun["apparent_zenith"], sun["azimuth"], **clear)


def declination_deg(place: Place, moments: Sequence[datetime]) -> Floats:
    """How far the sun stands north of the celestial equator at each of the (aware) moments. [deg]"""
    sun = _positions(place, pd.DatetimeIndex([_utc(moment) for moment in moments]))
    latitude = np.radians(place.latitude)
    zenith, azimuth = np.radians(sun["zenith"]), np.radians(sun["azimuth"])
    north = np.sin(latitude) * np.cos(zenith) + np.cos(latitude) * np.sin(zenith) * np.cos(azimuth)
    return np.asarray(np.degrees(np.arcsin(north)), dtype=float)


def bearings_deg(place: Place, start: datetime, end: datetime, step_min: float = 1) -> tuple[Floats, Floats]:
    """The sun's bearing and apparent elevation from `start` to `end`, both ends included. [deg]"""
    every = pd.date_range(_utc(start), _utc(end), freq=pd.Timedelta(minutes=step_min))
    moments = pd.DatetimeIndex([*every, _utc(end)])
    sun = _positions(place, moments)
    return sun["azimuth"], 90.0 - sun["apparent_zenith"]


def rise_set(place: Place, on: date) -> RiseSet:
    """Sunrise and sunset of a local date, in the place's time; see `rise_sets`."""
    return rise_sets(place, on, on)[on]


def rise_sets(place: Place, first: date, last: date) -> dict[date, RiseSet]:
    """Sunrise and sunset of each local date from `first` to `last`, to the second.

    Notes
    -----
    Found as the crossings of geometric elevation -0.8333 deg: a grid of 10 minutes, then false position. A dip
    below (or a rise above) that lasts less than the grid's step is passed over. If a date has two sunrises the
    first is given, of two sunsets the last. pvlib's own rise and set routine is not used: where the event falls
    on another UTC date than the local one it gives the neighbouring day's value, up to minutes off.
    """
    spans = [day_span(place, first + timedelta(days=n)) for n in range((last - first).days + 1)]
    grid = pd.date_range(_utc(spans[0][0]), _utc(spans[-1][1]) + _GRID, freq=_GRID)
    height = _above_limb(place, grid)
    crossings = _crossings(place, grid, height)
    answer = {}
    for n, (start, end) in enumerate(spans):
        up_at_start = bool(height[grid.searchsorted(_utc(start))] > 0)
        today = [(at, rising) for at, rising in crossings if start <= at < end]
        answer[first + timedelta(days=n)] = _of_day(place, today, up_at_start)
    return answer


def _of_day(place: Place, today: list[tuple[datetime, bool]], up_at_start: bool) -> RiseSet:
    if not today:
        return RiseSet(None, None, "up" if up_at_start else "down")
    rises = [at.astimezone(place.tz) for at, rising in today if rising]
    sets = [at.astimezone(place.tz) for at, rising in today if not rising]
    return RiseSet(rises[0] if rises else None, sets[-1] if sets else None)


def _crossings(place: Place, grid: pd.DatetimeIndex, height: Floats) -> list[tuple[datetime, bool]]:
    """Each instant (UTC, whole seconds) at which the sun crosses the horizon, and whether it rises then."""
    before = np.flatnonzero((height[:-1] > 0) != (height[1:] > 0))
    if before.size == 0:
        return []
    low, high = np.zeros(before.size), np.full(before.size, _GRID.total_seconds())
    low_height, high_height = height[before], height[before + 1]
    rising = high_height > 0
    second = low
    for _ in range(_REFINEMENTS):
        second = low + (high - low) * low_height / (low_height - high_height)
        here = _above_limb(place, grid[before] + pd.to_timedelta(second, unit="s"))
        left = (here > 0) == (low_height > 0)
        low, low_height = np.where(left, second, low), np.where(left, here, low_height)
        high, high_height = np.where(left, high, second), np.where(left, high_height, here)
    instants = (grid[before] + pd.to_timedelta(np.round(second), unit="s")).to_pydatetime()
    return [(at, bool(up)) for at, up in zip(instants, rising, strict=True)]


def _above_limb(place: Place, times: pd.DatetimeIndex) -> Floats:
    return 90.0 - _positions(place, times)["zenith"] - UPPER_LIMB_DEG


def _positions(place: Place, times: pd.DatetimeIndex) -> dict[str, Floats]:
    """pvlib's columns as plain arrays; `zenith` is geometric, `apparent_zenith` has refraction."""
    from pvlib import solarposition

    frame = solarposition.get_solarposition(
        times, place.latitude, place.longitude, altitude=_elevation_m(place), method="nrel_numpy"
    )
    return {str(name): frame[name].to_numpy(dtype=float) for name in frame.columns}


def _clear_sky(place: Place, times: pd.DatetimeIndex, apparent_zenith: Floats) -> dict[str, Floats]:
    from pvlib import atmosphere, clearsky, irradiance

    elevation = _elevation_m(place)
    extra = np.asarray(irradiance.get_extra_radiation(times.day_of_year.to_numpy()), dtype=float)
    airmass = atmosphere.get_absolute_airmass(
        atmosphere.get_relative_airmass(apparent_zenith), atmosphere.alt2pres(elevation)
    )
    turbidity = clearsky.lookup_linke_turbidity(times, place.latitude, place.longitude).to_numpy(dtype=float)
    with np.errstate(divide="ignore", invalid="ignore"):  # pvlib divides by the cosine of a sun that is down
        clear = clearsky.ineichen(apparent_zenith, airmass, turbidity, elevation, extra)
    return {
        "dni_clear_w_m2": np.maximum(clear["dni"], 0.0),
        "ghi_clear_w_m2": np.maximum(clear["ghi"], 0.0),
        "dhi_clear_w_m2": np.maximum(clear["dhi"], 0.0),
        "dni_extra_w_m2": extra,
    }


def _elevation_m(place: Place) -> float:
    return 0.0 if place.elevation_m is None else place.elevation_m


def _utc(moment: datetime) -> pd.Timestamp:
    if moment.tzinfo is None:
        raise ValueError(f"{moment} has no zone")
    return pd.Timestamp(moment).tz_convert("UTC")
