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
_DAY = timedelta(days=1)
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
    """A night's full hours, UTC, and those round sunrise that must all be there."""

    evening: date
    hours: pd.DatetimeIndex
    dawn: pd.DatetimeIndex


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
    return tuple(_night(forecast, place, _span(place, evening, times)) for evening in evenings)


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
        hours=pd.date_range(_full_hour(sunset), _full_hour(sunrise) + _HOUR, freq="h"),
        dawn=pd.date_range(dawn_from, dawn_to, freq="h"),
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


def _full_hour(at: datetime) -> datetime:
    """The full hour at or before, as the hours of the frame go: by UTC."""
    return at.astimezone(UTC).replace(minute=0, second=0, microsecond=0)


def _night(forecast: Forecast, place: Place, span: _Span) -> NightWeather:
    hours = forecast.hours[_USED].reindex(span.hours.union(span.dawn))
    missing = _missing(hours["air_temperature_c"], span, place)
    within = hours.loc[span.hours]
    hours_c = _hour_lows(within)
    low_c, low_at, cloud, wind = None, None, None, None
    if missing is None:
        low_c, low_at = _low(hours_c, span.hours, forecast.block_lows)
        cloud, wind = _coldest_sky(within, hours_c)
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
        hours_c=tuple(float(value) for value in hours_c),
        member_lows_c=_member_lows(forecast.members_c, span),
    )


def _local(at: pd.Timestamp, place: Place) -> datetime:
    return at.to_pydatetime().astimezone(place.tz)


def _missing(air_c: pd.Series[float], span: _Span, place: Place) -> str | None:
    """Why the night is unknown; None if it is known."""
    night, dawn = air_c.loc[span.hours], air_c.loc[span.dawn]
    absent = int(night.isna().sum())
    if absent == len(night):
        return "the forecast has no temperature for this night"
    if (len(night) - absent) / len(night) < load_night_model().least_hours_present:
        return f"{absent} of {len(night)} hours have no temperature"
    if dawn.isna().any():
        first_gap = _local(dawn.index[int(np.argmax(dawn.isna()))], place)
        return f"no temperature at {first_gap:%H:%M}, near sunrise, when the low falls"
    return None


def _hour_lows(within: pd.DataFrame) -> Floats:
    """Least temperature of each hour; of the last one only its beginning belongs to the night."""
    point = within["air_temperature_c"].to_numpy(dtype=float)
    least = within["air_temperature_min_c"].to_numpy(dtype=float, copy=True)
    least[-1] = np.nan
    lows: Floats = np.fmin(point, least)
    return lows


def _low(hours_c: Floats, hours: pd.DatetimeIndex, block_lows: pd.DataFrame) -> tuple[float, pd.Timestamp]:
    """The night's low and its full hour: the coldest hour, inside the block where a block low is lower."""
    coldest = int(np.nanargmin(hours_c))
    low_c, low_at = float(hours_c[coldest]), hours[coldest]
    for start, end, min_c in zip(block_lows["start"], block_lows["end"], block_lows["min_c"], strict=True):
        if start < hours[-1] and end > hours[0] and min_c < low_c:
            inside = (hours >= start) & (hours <= end) & np.isfinite(hours_c)
            low_c = float(min_c)
            low_at = hours[int(np.argmin(np.where(inside, hours_c, np.inf)))] if inside.any() else low_at
    return low_c, low_at


def _coldest_sky(within: pd.DataFrame, hours_c: Floats) -> tuple[float, float]:
    """Mean cloud and wind of the hours hardly warmer than the coldest; missing counts as clear and calm."""
    coldest = hours_c <= np.nanmin(hours_c) + load_night_model().coldest_stretch_c
    stretch = within[["cloud_cover_frac", "wind_speed_m_s"]][coldest].fillna(0.0)
    return float(stretch["cloud_cover_frac"].mean()), float(stretch["wind_speed_m_s"].mean())


def _member_lows(members_c: pd.DataFrame | None, span: _Span) -> tuple[float, ...]:
    if members_c is None:
        return ()
    whole = members_c.reindex(span.hours).dropna(axis="columns")
    return tuple(float(low) for low in whole.min())
