"""Nights out of hours: from one evening to the next morning, the low, its cloud and wind, or `unknown`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from typing import Protocol

import numpy as np
import numpy.typing as npt
import pandas as pd

from hardenoff.forecast.hours import Forecast
from hardenoff.records import Place
from hardenoff.tables import load_night_model

Floats = npt.NDArray[np.float64]
_HOUR = timedelta(hours=1)
_HOUR_S = 3600
_DAY = timedelta(days=1)
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_USED = ["air_temperature_c", "air_temperature_min_c", "cloud_cover_frac", "wind_speed_m_s"]


class SunTimes(Protocol):
    """Sunrise and sunset of one local date; None where that date has none."""

    @property
    def sunrise(self) -> datetime | None:
        """Up."""

    @property
    def sunset(self) -> datetime | None:
        """Down."""


@dataclass(frozen=True, slots=True)
class NightWeather:
    """One night of the forecast, before any spot. Numbers are None while it is unknown."""

    evening: date
    morning: date
    start: datetime
    """Last full hour before sunset, in the place's zone."""
    end: datetime
    """First full hour after sunrise. The search covers both ends."""
    known: bool
    missing: str | None
    """Why it is unknown, in words."""
    air_low_c: float | None
    """Least air temperature at 2 m, from hours, least values within hours and block lows."""
    low_at: datetime | None
    """The full hour of the low."""
    cloud_frac: float | None
    wind_m_s: float | None
    """Means over the coldest hours; an hour without cloud or wind counts as clear or calm. Wind at 10 m."""
    hours_c: tuple[float, ...]
    """Air temperature of each full hour from `start` to `end`, its least value where given; NaN if missing."""
    member_lows_c: tuple[float, ...] = ()
    """The low in each ensemble member that has the whole night."""

    def hours_below(self, threshold_c: float) -> int:
        """Hours colder than the threshold, among those that are there. [h]"""
        return sum(value < threshold_c for value in self.hours_c)


@dataclass(frozen=True, slots=True)
class _Span:
    """A night's full hours, and those round sunrise that must all be there: counted from 1970, UTC."""

    evening: date
    hours: range
    dawn: range


def nights(
    forecast: Forecast,
    place: Place,
    first: date,
    last: date,
    *,
    sun_times: Mapping[date, SunTimes] | None = None,
) -> tuple[NightWeather, ...]:
    """The nights that begin on the evenings from `first` to `last`, both included.

    Parameters
    ----------
    forecast : Forecast
        Hours may end early or have holes: such nights are unknown, never mild.
    sun_times : mapping, optional
        Sunrise and sunset of each date from `first` to the day after `last`; reckoned if not given.

    Notes
    -----
    Searched from the last full hour before sunset to the first after sunrise; where the sun does not set or
    not rise, from 21:00 to 07:00 by the clock. Unknown if under 90 % of these hours have a temperature, or if
    one is missing from 3 hours before to 1 hour after sunrise: the low falls there. A block low counts if its
    block overlaps the night, and never stands in for hours that are missing.
    """
    if last < first:
        return ()
    evenings = [first + n * _DAY for n in range((last - first).days + 1)]
    times = _sun_times(place, first, last + _DAY) if sun_times is None else sun_times
    weather = _weather(forecast)
    return tuple(_night(weather, place, _span(place, evening, times)) for evening in evenings)


def _sun_times(place: Place, first: date, last: date) -> Mapping[date, SunTimes]:
    from hardenoff.sun.position import rise_sets  # a neighbour: needed only where nobody has the times yet

    return rise_sets(place, first, last)


def _span(place: Place, evening: date, times: Mapping[date, SunTimes]) -> _Span:
    model = load_night_model()
    sunset, sunrise = _dusk_and_dawn(place, evening, times)
    dawn_from = _full_hour(sunrise - timedelta(hours=model.dawn_before_h))
    dawn_to = _full_hour(sunrise + timedelta(hours=model.dawn_after_h))
    return _Span(
        evening=evening,
        hours=range(_full_hour(sunset), _full_hour(sunrise) + 2),
        dawn=range(dawn_from, dawn_to + 1),
    )


def _dusk_and_dawn(place: Place, evening: date, times: Mapping[date, SunTimes]) -> tuple[datetime, datetime]:
    """Sunset and the sunrise after it, UTC; hours of the clock in their stead where either is not there.

    The sunset is looked for from noon to noon: far north it may come after midnight.
    """
    morning = evening + _DAY
    noon, next_noon = (_clock(place, day, 12.0) for day in (evening, morning))
    events = times[evening], times[morning]
    for sunset in (sun.sunset for sun in events):
        for sunrise in (sun.sunrise for sun in events):
            if sunset is not None and sunrise is not None and noon <= sunset < sunrise < next_noon:
                return sunset.astimezone(UTC), sunrise.astimezone(UTC)
    model = load_night_model()
    return (
        _clock(place, evening, model.nightfall_without_sun_clock),
        _clock(place, morning, model.dawn_without_sun_clock),
    )


def _clock(place: Place, day: date, hours: float) -> datetime:
    """A time of the place's wall clock, UTC."""
    wall = datetime.combine(day, time(), tzinfo=place.tz) + timedelta(hours=hours)
    return wall.astimezone(UTC)


def _full_hour(at: datetime) -> int:
    """The full hour at or before, as the hours of the frame go: by UTC."""
    return (at - _EPOCH) // _HOUR


class _Hours:
    """A frame of hours as plain numbers, to be asked for one night after the other."""

    def __init__(self, frame: pd.DataFrame) -> None:
        self._stamps_s = pd.DatetimeIndex(frame.index).as_unit("s").asi8
        self._values = np.vstack([frame.to_numpy(dtype=float), np.full(frame.shape[1], np.nan)])

    def of(self, hours: range) -> Floats:
        """One row a column, NaN for the hours that are not there."""
        wanted_s = np.arange(hours.start, hours.stop) * _HOUR_S
        rows = np.searchsorted(self._stamps_s, wanted_s)
        is_there = np.append(self._stamps_s, -1)[rows] == wanted_s
        found: Floats = self._values[np.where(is_there, rows, -1)].T
        return found


@dataclass(frozen=True, slots=True)
class _Weather:
    """What a forecast tells of nights."""

    hours: _Hours
    members: _Hours | None
    blocks: tuple[tuple[float, float, float], ...]
    """Start, end [h from 1970, UTC] and low of each block."""


def _weather(forecast: Forecast) -> _Weather:
    blocks = forecast.block_lows
    edges = (
        (pd.DatetimeIndex(blocks[edge]).as_unit("ns").asi8 / (_HOUR_S * 1e9)).tolist() for edge in ("start", "end")
    )
    return _Weather(
        hours=_Hours(forecast.hours[_USED]),
        members=None if forecast.members_c is None else _Hours(forecast.members_c),
        blocks=tuple(zip(*edges, blocks["min_c"].tolist(), strict=True)),
    )


def _night(weather: _Weather, place: Place, span: _Span) -> NightWeather:
    night, dawn = weather.hours.of(span.hours), weather.hours.of(span.dawn)
    missing = _missing(night[0], dawn[0], span, place)
    hours_c = _hour_lows(night)
    low_c, low_at, cloud, wind = None, None, None, None
    if missing is None:
        low_c, low_at = _low(hours_c, span.hours, weather.blocks)
        cloud, wind = _coldest_sky(night, hours_c)
    return NightWeather(
        evening=span.evening,
        morning=span.evening + _DAY,
        start=_local(span.hours[0], place),
        end=_local(span.hours[-1], place),
        known=missing is None,
        missing=missing,
        air_low_c=low_c,
        low_at=None if low_at is None else _local(low_at, place),
        cloud_frac=cloud,
        wind_m_s=wind,
        hours_c=tuple(hours_c.tolist()),
        member_lows_c=() if weather.members is None else _whole_lows(weather.members.of(span.hours)),
    )


def _local(hour: int, place: Place) -> datetime:
    return datetime.fromtimestamp(hour * _HOUR_S, place.tz)


def _missing(night_c: Floats, dawn_c: Floats, span: _Span, place: Place) -> str | None:
    """Why the night is unknown; None if it is known."""
    absent = int(np.isnan(night_c).sum())
    if absent == len(night_c):
        return "the forecast has no temperature for this night"
    if (len(night_c) - absent) / len(night_c) < load_night_model().least_hours_present:
        return f"{absent} of {len(night_c)} hours have no temperature"
    gaps = np.flatnonzero(np.isnan(dawn_c))
    if len(gaps):
        first_gap = _local(span.dawn[int(gaps[0])], place)
        return f"no temperature at {first_gap:%H:%M}, near sunrise, when the low falls"
    return None


def _hour_lows(night: Floats) -> Floats:
    """Least temperature of each hour; of the last one only its beginning belongs to the night."""
    point, least = night[0], night[1].copy()
    least[-1] = np.nan
    lows: Floats = np.fmin(point, least)
    return lows


def _low(hours_c: Floats, hours: range, blocks: tuple[tuple[float, float, float], ...]) -> tuple[float, int]:
    """The night's low and its full hour: the coldest hour, inside the block where a block low is lower."""
    coldest = int(np.nanargmin(hours_c))
    low_c, low_at = float(hours_c[coldest]), hours[coldest]
    for start, end, min_c in blocks:
        if start < hours[-1] and end > hours[0] and min_c < low_c:
            counted = np.arange(hours.start, hours.stop)
            inside = (counted >= start) & (counted <= end) & np.isfinite(hours_c)
            low_c = min_c
            low_at = hours[int(np.argmin(np.where(inside, hours_c, np.inf)))] if inside.any() else low_at
    return low_c, low_at


def _coldest_sky(night: Floats, hours_c: Floats) -> tuple[float, float]:
    """Mean cloud and wind of the hours hardly warmer than the coldest; missing counts as clear and calm."""
    coldest = hours_c <= np.nanmin(hours_c) + load_night_model().coldest_stretch_c
    cloud, wind = night[2:, coldest]
    return float(_known_or_zero(cloud).mean()), float(_known_or_zero(wind).mean())


def _known_or_zero(values: Floats) -> Floats:
    return np.where(np.isnan(values), 0.0, values)


def _whole_lows(members: Floats) -> tuple[float, ...]:
    """The low of each member that has the whole night."""
    lows = members.min(axis=1)
    return tuple(lows[~np.isnan(lows)].tolist())
