"""Members of an Open-Meteo ensemble: the air temperature of the same hours, computed some dozens of times over.

How far the members lie apart tells how sure a night's low is. The control run has the bare name of the
variable, the others end in `_memberNN`; with several models, the model's name follows. Grid cells are 25 km
wide and more, so members tell the spread, not the low at a place.
Documentation: open-meteo.com/en/docs/ensemble-api. Data licence CC BY 4.0.
"""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Mapping

import numpy as np
import pandas as pd

from hardenoff.errors import UnreadableError
from hardenoff.forecast.body import load_json
from hardenoff.forecast.checks import FARTHEST_KM, distance_km
from hardenoff.forecast.fields import as_list, as_number, as_object, in_a_line, shown
from hardenoff.forecast.frame import FloatArray
from hardenoff.forecast.hours import COLUMNS, Forecast
from hardenoff.forecast.reader import MEMBERS_HOST, Request, base_url, coordinates
from hardenoff.records import ForecastSettings, Place

ENSEMBLE = "ensemble"
"""The role of the reply that holds members."""

FORECAST_KEY = "open-meteo"
HOST = "https://ensemble-api.open-meteo.com"
MODELS = ("ecmwf_ifs025",)
"""51 members worldwide, 15 days (ours, among the models of the documentation)."""

FORECAST_DAYS = 15
NAME = "Open-Meteo ensemble"
VARIABLE = "temperature_2m"

_MEMBER = re.compile(rf"{VARIABLE}(?:_(?P<member>member\d+))?(?:_(?P<model>[a-z].*))?")
_AIR = COLUMNS[0]


def request(place: Place, settings: ForecastSettings, models: tuple[str, ...] = MODELS) -> Request | None:
    """The address of the members for a place, on another host than the forecast's.

    None where the garden file names a stand-in server for the forecast and none for the ensemble: whoever names
    a server of their own wants no other asked, and that one need not have members.
    """
    if FORECAST_KEY in settings.base_urls and MEMBERS_HOST not in settings.base_urls:
        return None
    latitude, longitude = coordinates(place, settings)
    url = (
        f"{base_url(settings, MEMBERS_HOST, HOST)}/v1/ensemble?latitude={latitude}&longitude={longitude}"
        f"&models={','.join(models)}&timezone=GMT&timeformat=unixtime&temperature_unit=celsius"
        f"&forecast_days={FORECAST_DAYS}&hourly={VARIABLE}"
    )
    return Request(ENSEMBLE, url, {"Accept": "application/json"}, optional=True, keep_s=3 * 3600.0)


def read_members(body: bytes, near: tuple[float, float] | None = None) -> pd.DataFrame:
    """Air temperature (degC) of every member: UTC hours, one column a member, NaN where it ends earlier.

    With `near` (latitude, longitude), members of a grid point over 50 km from there are refused.

    Columns are `control`, `member01`, ..., with `model/` in front where the reply holds several models.
    Members without any value are left out.

    Raises
    ------
    UnreadableError
        An error reply, another kind of reply or another place, an unknown unit, or fewer than two members with
        values.
    """
    reply = load_json(body, NAME)
    if reply.get("error"):
        raise _unreadable(f"the provider answered with an error: {shown(reply.get('reason'))}", "members")
    if near is not None:
        _check_point(reply, near)
    hourly, units = as_object(reply.get("hourly")), as_object(reply.get("hourly_units"))
    index = _stamps(as_list(hourly.get("time")), reply)
    members = {
        column: _celsius(as_list(hourly[name]), len(index), units.get(name, "°C"), name)
        for name, column in _columns(hourly).items()
        if units.get(name) != "undefined"
    }
    frame = pd.DataFrame(members, index=index).sort_index().dropna(axis="columns", how="all")
    if frame.shape[1] < 2:
        raise _unreadable(
            f"{frame.shape[1]} members with values", f"hourly.{VARIABLE} and {VARIABLE}_member01, _member02, ..."
        )
    if frame.index.has_duplicates:
        raise _unreadable("two rows for one hour", "one row an hour")
    regular = pd.date_range(frame.index[0], frame.index[-1], freq="h", name="time", unit="ns")
    return frame.reindex(regular)


def with_members(forecast: Forecast, body: bytes) -> Forecast:
    """The forecast with the members of an ensemble reply on its own hours. UnreadableError as `read_members`."""
    latitude, longitude = forecast.origin.latitude, forecast.origin.longitude
    near = None if latitude is None or longitude is None else (latitude, longitude)
    return dataclasses.replace(forecast, members_c=read_members(body, near).reindex(forecast.hours.index))


def joined(forecast: Forecast, bodies: Mapping[str, bytes]) -> Forecast:
    """The forecast with the members among the bodies (by role), if there are some; a note if they are damaged."""
    if ENSEMBLE not in bodies:
        return forecast
    try:
        return with_members(forecast, bodies[ENSEMBLE])
    except UnreadableError as fault:
        origin = forecast.origin
        return dataclasses.replace(
            forecast, origin=dataclasses.replace(origin, notes=(*origin.notes, f"no ensemble: {fault.what}"))
        )


def _check_point(reply: Mapping[str, object], near: tuple[float, float]) -> None:
    try:
        latitude, longitude = as_number(reply.get("latitude")), as_number(reply.get("longitude"))
    except ValueError:
        return
    if latitude is None or longitude is None:
        return
    away = distance_km(*near, latitude, longitude)
    if away > FARTHEST_KM:
        raise _unreadable(f"for a place {away:.0f} km away", f"a grid point within {FARTHEST_KM:.0f} km")


def _columns(hourly: Mapping[str, object]) -> dict[str, str]:
    """Our column for each member's name. A suffix is a model only if members carry it too: `_spread` is none."""
    matches = {name: match for name in hourly if (match := _MEMBER.fullmatch(name))}
    models = {match["model"] for match in matches.values() if match["member"]} | {None}
    return {
        name: "/".join(part for part in (match["model"], match["member"] or "control") if part)
        for name, match in matches.items()
        if match["model"] in models
    }


def _celsius(values: list[object], length: int, unit: object, name: str) -> FloatArray:
    if len(values) != length:
        raise _unreadable(f"hourly.{name} has {len(values)} values for {length} hours", "one value an hour")
    try:
        numbers = [as_number(value) for value in values]
    except ValueError as error:
        raise _unreadable(f"hourly.{name}: {error}", "numbers or null") from None
    degrees = np.array(numbers, dtype="float64")
    if unit == "°F":
        degrees = (degrees - 32.0) / 1.8
    elif unit != "°C":
        raise _unreadable(f"hourly.{name} comes in {shown(unit)}", "°C or °F")
    believable = (degrees >= _AIR.least) & (degrees <= _AIR.most)
    return np.where(believable, degrees, np.nan)


def _stamps(values: list[object], reply: Mapping[str, object]) -> pd.DatetimeIndex:
    """UTC stamps; local ones lose the reply's single offset, whatever the zone's clock does meanwhile."""
    try:
        if all(isinstance(value, str) for value in values):
            local = pd.to_datetime([str(value) for value in values], format="ISO8601", utc=True)
            stamps = pd.DatetimeIndex(local) - _offset(reply)
        else:
            seconds = np.array([as_number(value) for value in values], dtype="float64")
            stamps = pd.DatetimeIndex(pd.to_datetime(seconds, unit="s", utc=True))
        stamps = stamps.as_unit("ns").rename("time")
    except (ValueError, OverflowError) as error:
        raise _unreadable(
            f"hourly.time can't be read ({in_a_line(error)})", "Unix seconds or ISO 8601 stamps"
        ) from None
    if not len(stamps) or stamps.hasnans or (stamps != stamps.floor("h")).any():
        raise _unreadable(
            "hourly.time is missing, empty or off the full hour", "a stamp an hour, asked with timezone=GMT"
        )
    if stamps.max() - stamps.min() > pd.Timedelta(hours=25) * len(stamps):
        raise _unreadable("stamps too far apart for a forecast", "a stamp an hour")
    return stamps


def _offset(reply: Mapping[str, object]) -> pd.Timedelta:
    seconds = as_number(reply.get("utc_offset_seconds"))
    if seconds is None:
        raise ValueError("local stamps without utc_offset_seconds")
    return pd.Timedelta(seconds=seconds)


def _unreadable(what: str, expected: str) -> UnreadableError:
    return UnreadableError(f"{NAME}: {what}", expected, "fetch it again; the forecast stands without members")
