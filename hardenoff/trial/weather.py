"""Hours out of weather files: typical and real years as TMY3, EPW or PSM, or a table of one's own.

pvlib reads the first three; what it gives is put into the hours contract here. TMY3 and EPW stamp an hour at its
end: sums and means move back to its start, readings stay at the moment they were taken. A typical year is made of
months of different years; they become one year.
"""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any, Literal, cast

import numpy as np
import pandas as pd

from hardenoff.errors import UnreadableError, UsageError
from hardenoff.forecast import table
from hardenoff.forecast.frame import finished
from hardenoff.forecast.hours import Forecast, Origin
from hardenoff.forecast.reader import FORECAST
from hardenoff.records import Place

Kind = Literal["tmy3", "epw", "psm", "table"]
HOUR = pd.Timedelta(hours=1)
TYPICAL_YEAR = 2027
"""The year that a typical year is taken for, so that weekdays and weekends fall as in some real year (ours)."""
SUMS = ("ghi_w_m2", "dni_w_m2", "dhi_w_m2", "precipitation_mm")
RAIN_IN_HAND = 0.9
"""A file with rain in a smaller share of its hours is a file without rain (ours)."""
TMY3_RAIN_MM = 0.1
"""TMY3 rain goes by tenths of a millimetre, whatever its heading says: read as millimetres the packaged Greensboro
year has 8.3 m of rain, as tenths 0.83 m, and the depths are multiples of 0.01 inch (2.54 tenths)."""
CLOUD_BY_TYPE = {0: 0.0, 1: 0.0, 2: 1.0, 3: 1.0, 4: 1.0, 5: 1.0, 6: 1.0, 7: 0.5, 8: 1.0, 9: 1.0}
"""PSM has a kind of cloud and no cover (ours): clear 0, cirrus half, all others overcast; 10 and up unknown."""


@dataclass(frozen=True, slots=True)
class Weather:
    """A year of hours and where they were measured, or modelled."""

    place: Place
    truth: Forecast
    label: str
    """What the file is, in words."""
    notes: tuple[str, ...]


def read_weather(data: bytes, name: str, *, asked: Place | None = None, timezone: str | None = None) -> Weather:
    """The hours of a weather file.

    Parameters
    ----------
    data : bytes
        TMY3, EPW or PSM as pvlib reads them, or CSV with `time` and the columns of the hours frame.
    name : str
        The file's name, for labels and faults.
    asked : Place, optional
        Where the hours are from; needed for a table, which does not say it.
    timezone : str, optional
        The place's zone, with its summer time; else the file's own offset from UTC all year.

    Raises
    ------
    UnreadableError
        It is none of these, or cut off.
    UsageError
        A table without a place, or an offset that is no zone.
    """
    text = _decoded(data)
    kind = _kind(text, name)
    if kind == "table":
        if asked is None:
            raise UsageError(
                f"{name} does not say where it was measured",
                "the place of the hours, as --at 36.1,-79.95 --timezone America/New_York",
                "add --at and --timezone",
            )
        truth = table.READER.parse({FORECAST: data}, fetched_at=None, headers={})
        return _whole(truth, asked, "a table of hours", name)
    try:
        frame, found, what = _FORMATS[kind](text, name)
    except (KeyError, ValueError, IndexError, StopIteration, pd.errors.ParserError) as fault:
        raise UnreadableError(
            f"{name}: looks like {kind.upper()}, and can't be read as that ({str(fault)[:80]})",
            "a whole TMY3, EPW or PSM file, or CSV with a `time` column",
            "get the file again",
        ) from fault
    if frame.empty:
        raise UnreadableError(f"{name}: no hours in it", "an hourly year", "get the file again")
    offset_h = found.pop("offset_h")
    place = asked or Place(timezone=timezone or _zone(offset_h, name), **found)
    place = place if timezone is None else replace(place, timezone=timezone)
    origin = Origin(
        provider=kind, attribution=what, issued_at=None, fetched_at=None,
        latitude=place.latitude, longitude=place.longitude, elevation_m=place.elevation_m,
    )  # fmt: skip
    return _whole(finished(frame, origin, end_labelled=SUMS if kind != "psm" else ()), place, what, name)


def _decoded(data: bytes) -> str:
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("iso-8859-1")  # some TMY3 files carry a copyright sign in it


def _kind(text: str, name: str) -> Kind:
    lines = text.splitlines()[:3]
    head = lines[0] if lines else ""
    if head.startswith("LOCATION,"):
        return "epw"
    if head.startswith("Source,Location ID"):
        return "psm"
    if len(lines) > 1 and lines[1].startswith("Date (MM/DD/YYYY)"):
        return "tmy3"
    if table.READER.recognises(text):
        return "table"
    raise UnreadableError(
        f"{name}: not a weather file we read; it begins {head[:40]!r}",
        "TMY3, EPW or PSM (NSRDB), or CSV with a `time` column",
        "give one of these",
    )


# --- one format each: a frame of our columns, and the place ----------------------------------------


def _tmy3(text: str, name: str) -> tuple[pd.DataFrame, dict[str, Any], str]:
    from pvlib.iotools import read_tmy3

    data, meta = read_tmy3(io.StringIO(text), map_variables=True)
    frame = _common(data)
    frame["cloud_cover_frac"] = _numbers(data, "TotCld (tenths)") / 10.0
    hourly = _numbers(data, "Lprecip quantity (hr)") == 1.0  # sums over longer spans say nothing of their hours
    frame["precipitation_mm"] = (_numbers(data, "Lprecip depth (mm)") * TMY3_RAIN_MM).where(hourly)
    weather = _numbers(data, "PresWth (METAR code)")
    frame["weather_code"] = weather.where(weather >= 0.0)
    town = str(meta["Name"]).strip('" ').title()
    return _one_year(frame), _place(meta, town, meta["TZ"]), f"TMY3 year of {town}"


def _epw(text: str, name: str) -> tuple[pd.DataFrame, dict[str, Any], str]:
    from pvlib.iotools import read_epw

    data, meta = read_epw(io.StringIO(text))
    data.index = data.index + HOUR  # pvlib takes an hour off the stamps; the file has the hour's end
    frame = _common(data)
    frame["cloud_cover_frac"] = _numbers(data, "total_sky_cover") / 10.0
    hourly = _numbers(data, "liquid_precipitation_quantity") == 1.0
    frame["precipitation_mm"] = _numbers(data, "liquid_precipitation_depth").where(hourly)
    town = str(meta["city"]).title()
    town = _where(meta) if town == "Unknown" else town
    return _one_year(frame), _place(meta, town, meta["TZ"]), f"EPW year of {town}"


def _psm(text: str, name: str) -> tuple[pd.DataFrame, dict[str, Any], str]:
    from pvlib.iotools import read_nsrdb_psm4

    data, meta = read_nsrdb_psm4(io.StringIO(text), map_variables=True)
    frame = _common(data)
    frame["cloud_cover_frac"] = _numbers(data, "Cloud Type").map(CLOUD_BY_TYPE)
    starts = cast(pd.DatetimeIndex, frame.index).floor("h")  # half hours, or hours stamped in their middle
    bearing = frame["wind_from_deg"].groupby(starts).first()
    frame = frame.groupby(starts).mean().assign(wind_from_deg=bearing)
    frame = _one_year(frame, starts=True)
    place = _place(meta, f"{_where(meta)} in {cast(pd.DatetimeIndex, frame.index).year[0]}", meta["Time Zone"])
    return frame, place, f"PSM hours at {_where(meta)}"


_FORMATS: dict[str, Callable[[str, str], tuple[pd.DataFrame, dict[str, Any], str]]] = {
    "tmy3": _tmy3,
    "epw": _epw,
    "psm": _psm,
}


def _common(data: pd.DataFrame) -> pd.DataFrame:
    """The columns that pvlib calls alike in all of them; what a format lacks stays NaN."""
    frame = pd.DataFrame(index=data.index)
    frame["air_temperature_c"] = _numbers(data, "temp_air")
    frame["dew_point_c"] = _numbers(data, "temp_dew")
    frame["relative_humidity_frac"] = _numbers(data, "relative_humidity") / 100.0
    frame["wind_speed_m_s"] = _numbers(data, "wind_speed")
    frame["wind_from_deg"] = _numbers(data, "wind_direction")
    for name in ("ghi", "dni", "dhi"):
        frame[f"{name}_w_m2"] = _numbers(data, name)
    return frame


def _numbers(data: pd.DataFrame, name: str) -> pd.Series[float]:
    if name not in data.columns:
        return pd.Series(np.nan, data.index)
    return pd.to_numeric(data[name], errors="coerce").astype("float64")


def _place(meta: dict[str, Any], name: str, offset_h: Any) -> dict[str, Any]:
    """`offset_h`: hours ahead of UTC."""
    return {
        "name": name,
        "latitude": float(meta["latitude"]),
        "longitude": float(meta["longitude"]),
        "elevation_m": float(meta["altitude"]),
        "offset_h": float(offset_h),
    }


def _where(meta: dict[str, Any]) -> str:
    """`40.5 N 108.5 W`: the name of a place that has none."""
    latitude, longitude = float(meta["latitude"]), float(meta["longitude"])
    return f"{abs(latitude):.1f} {'NS'[latitude < 0.0]} {abs(longitude):.1f} {'EW'[longitude < 0.0]}"


def _zone(offset_h: float, name: str) -> str:
    """A zone without summer time; the signs of these names are the other way round (POSIX)."""
    if offset_h != round(offset_h):
        raise UsageError(
            f"{name} keeps its clock {offset_h:+g} h from UTC all year",
            "a zone by name, as Asia/Kolkata",
            "add --timezone",
        )
    return "Etc/GMT" if offset_h == 0 else f"Etc/GMT{-int(offset_h):+d}"


def _one_year(frame: pd.DataFrame, *, starts: bool = False) -> pd.DataFrame:
    """Months of different years as one year, 29 February left out; a real year stays its own.

    `starts`: stamps are the start of their hour, else its end, so that the last hour of a month is not lost.
    """
    index = cast(pd.DatetimeIndex, frame.index)
    begins = index if starts else index - HOUR
    if len(set(begins.year)) == 1:
        return frame
    leap = (begins.month == 2) & (begins.day == 29)
    if leap.sum() == 1:  # pvlib takes the midnight that ends a leap year's 28 February for the next day's
        begins, leap = begins.where(~leap, begins - pd.Timedelta(days=1)), leap & False
    kept = ~leap
    begins, frame = begins[kept], frame[kept]
    clock = pd.DataFrame(
        {"year": TYPICAL_YEAR, "month": begins.month, "day": begins.day, "hour": begins.hour}, index=frame.index
    )
    dated = pd.DatetimeIndex(pd.to_datetime(clock).to_numpy()).tz_localize(begins.tz)
    return frame.set_axis(dated if starts else dated + HOUR).sort_index()


# --- what a file lacks -----------------------------------------------------------------------------


def _whole(truth: Forecast, place: Place, what: str, name: str) -> Weather:
    """The hours with what a whole column lacks put in its place, and said."""
    hours, notes = truth.hours, list(truth.origin.notes)
    if hours["air_temperature_c"].isna().all():
        raise UnreadableError(f"{name}: no air temperature in it", "an hourly year", "give another file")
    if "wind_gust_m_s" in truth.origin.estimated:
        notes.append("gusts are not in the file: 1.5 times the mean wind stands for them (estimated)")
    if hours["precipitation_mm"].notna().mean() < RAIN_IN_HAND:
        hours = hours.assign(precipitation_mm=0.0)
        notes.append("rain is not in the file, or in too few of its hours: no gate for rain (estimated as none)")
        estimated = (*truth.origin.estimated, "precipitation_mm")
        truth = replace(truth, hours=hours, origin=replace(truth.origin, estimated=estimated))
    if hours["cloud_cover_frac"].isna().all():
        notes.append("cloud is not in the file: nights count as clear, which is the colder guess for a leaf")
    if hours["wind_gust_m_s"].isna().all():
        raise UnreadableError(f"{name}: neither wind nor gusts in it", "an hourly year", "give another file")
    return Weather(place, truth, f"{what} ({name})", tuple(notes))
