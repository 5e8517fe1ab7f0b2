"""Is this forecast for here and for now? Distance to the grid point that answered, and age."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta

import pandas as pd

from hardenoff.errors import NoForecastError, UnreadableError
from hardenoff.forecast.hours import OLDEST, Forecast
from hardenoff.records import Place

FARTHEST_KM = 50.0
"""A grid point farther off is another place (ours): the coarsest grids in use have cells of about 25 km."""

EARLIEST = timedelta(hours=36)
"""A forecast that begins so long after now is one for another time (ours): some begin on the next day."""

LONGEST_FORECAST = timedelta(days=16)
USUAL_PAST = timedelta(days=2)

EARTH_RADIUS_KM = 6371.0088
"""Mean radius of the GRS 80 ellipsoid (Moritz 2000, Geodetic Reference System 1980)."""


def distance_km(lat_a: float, lon_a: float, lat_b: float, lon_b: float) -> float:
    """Great-circle distance of two points (degrees) on a sphere; haversine form (Sinnott 1984)."""
    phi_a, phi_b = math.radians(lat_a), math.radians(lat_b)
    half_lat, half_lon = (phi_b - phi_a) / 2.0, math.radians(lon_b - lon_a) / 2.0
    h = math.sin(half_lat) ** 2 + math.cos(phi_a) * math.cos(phi_b) * math.sin(half_lon) ** 2
    return 2.0 * EARTH_RADIUS_KM * math.asin(math.sqrt(min(h, 1.0)))


def check_place(forecast: Forecast, place: Place) -> None:
    """UnreadableError if the grid point that answered is over 50 km from the garden.

    A forecast that names no point (a table of one's own) passes.
    """
    origin = forecast.origin
    if origin.latitude is None or origin.longitude is None:
        return
    away = distance_km(place.latitude, place.longitude, origin.latitude, origin.longitude)
    if away > FARTHEST_KM:
        raise UnreadableError(
            f"forecast ({origin.provider}): it is for {origin.latitude:.2f}, {origin.longitude:.2f}, "
            f"{away:.0f} km from {place.name} at {place.latitude:.2f}, {place.longitude:.2f}",
            f"a grid point within {FARTHEST_KM:.0f} km of the garden",
            "check latitude and longitude (and their signs) in [place], or take a forecast made for this garden",
        )


def check_age(forecast: Forecast, *, now: datetime, as_of: datetime | None, from_file: bool = True) -> None:
    """NoForecastError if no hour is left at or after `now`, the first is far ahead, or it is over 36 h old.

    `as_of` is when it was made or fetched, as well as that is known; None skips the second check.
    """
    end = forecast.hours.index[-1].to_pydatetime()
    if end + timedelta(hours=1) <= now:
        raise NoForecastError(
            f"forecast ({forecast.origin.provider}): its last hour is {_stamp(end)}, before now ({_stamp(now)})",
            "a forecast with hours left at or after now",
            _repair(as_of, from_file),
        )
    first = forecast.hours.index[0].to_pydatetime()
    if first - now > EARLIEST:
        raise NoForecastError(
            f"forecast ({forecast.origin.provider}): its first hour is {_stamp(first)}, "
            f"long after now ({_stamp(now)}); is the clock right?",
            "a forecast that has begun",
            _repair(as_of, from_file),
        )
    if as_of is not None and now - as_of > OLDEST:
        age_h = (now - as_of) / timedelta(hours=1)
        raise NoForecastError(
            f"forecast ({forecast.origin.provider}): {age_h:.0f} h old, as of {_stamp(as_of)}",
            f"a forecast at most {OLDEST / timedelta(hours=1):.0f} h old",
            _repair(as_of, from_file),
        )


def freshest_moment(stamps: pd.Index) -> datetime:
    """The latest time at which hours with these (sorted) stamps can have been asked for, if nothing else tells.

    A reply of more than 16 days holds past days, and 16 days is the longest forecast there is: it was
    asked for on the day that begins 16 days before its end. A shorter one is taken to hold 2 past days, as
    our own requests do. The real age is mostly more than the age counted from here; that may be negative.
    """
    first: datetime = stamps[0].floor("s").to_pydatetime()
    last: datetime = stamps[-1].floor("s").to_pydatetime()
    end = last + timedelta(hours=1)
    if end - first > LONGEST_FORECAST:
        return end - LONGEST_FORECAST + timedelta(hours=23)
    return min(first + USUAL_PAST, last)


def _repair(as_of: datetime | None, from_file: bool) -> str:
    if not from_file:
        return "keep the plants inside, and try again when the source answers"
    if as_of is None:
        return "keep the plants inside, and save a new forecast"
    return f"keep the plants inside and save a new forecast; or ask as of then: --now {_stamp(as_of)}"


def _stamp(moment: datetime) -> str:
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%MZ")
