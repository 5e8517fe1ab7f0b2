"""Open-Meteo `/v1/forecast`: the worldwide default, hourly with radiation and top soil, 16 days ahead.

The request asks for GMT, Unix time and m/s, so that little is left to convert. Saved replies may have been
asked for otherwise, in any of the provider's units, time formats and zones, or years ago with older names.
Means, sums and maxima are stamped at the END of their hour there and are moved to its start.
Documentation: open-meteo.com/en/docs. Data licence CC BY 4.0, free access for non-commercial use.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from datetime import datetime

import numpy as np
import pandas as pd

from hardenoff.errors import NotCoveredError, UnreadableError
from hardenoff.forecast import ensemble
from hardenoff.forecast.body import load_document
from hardenoff.forecast.checks import freshest_moment
from hardenoff.forecast.fields import YEARS, in_a_line
from hardenoff.forecast.frame import FloatArray, finished, numbers
from hardenoff.forecast.hours import Forecast, Origin
from hardenoff.forecast.open_meteo_variables import END_LABELLED, NAME, VARIABLES, columns, unreadable
from hardenoff.forecast.reader import FORECAST, Request, base_url, coordinates
from hardenoff.records import ForecastSettings, Place

HOST = "https://api.open-meteo.com"
PAST_DAYS, FORECAST_DAYS = 2, 16

NATIVE_STEPS = ((72.0, 1.0), (144.0, 3.0), (np.inf, 6.0))
"""(lead time up to, step), hours: the step the blended models compute; the reply itself is always hourly (ours,
after the model table of the documentation: regional models end at 2 to 3 days, global ones coarsen at about 6)."""


class OpenMeteo:
    """The reader. One request, and another for the members of an ensemble; no key."""

    key = "open-meteo"
    attribution = "Weather data by Open-Meteo.com (CC BY 4.0, https://open-meteo.com/), hours rearranged"

    def url(self, place: Place, settings: ForecastSettings) -> str:
        """The one address; always the same order, so that a cache knows it again."""
        latitude, longitude = coordinates(place, settings)
        height = "" if place.elevation_m is None else f"&elevation={place.elevation_m:.0f}"
        return (
            f"{base_url(settings, self.key, HOST)}/v1/forecast?latitude={latitude}&longitude={longitude}{height}"
            "&timezone=GMT&timeformat=unixtime&temperature_unit=celsius&wind_speed_unit=ms&precipitation_unit=mm"
            f"&past_days={PAST_DAYS}&forecast_days={FORECAST_DAYS}"
            f"&hourly={','.join(variable.names[0] for variable in VARIABLES)}"
        )

    def requests(
        self, place: Place, settings: ForecastSettings, answered: Mapping[str, bytes]
    ) -> tuple[Request, ...]:
        """See Reader. The members come after the forecast: without it they are of no use."""
        if FORECAST in answered:
            members = ensemble.request(place, settings)
            return () if members is None or members.role in answered else (members,)
        return (Request(FORECAST, self.url(place, settings), {"Accept": "application/json"}),)

    def recognises(self, document: object) -> bool:
        """See Reader."""
        places = document if isinstance(document, list) else [document]
        return bool(places) and all(isinstance(place, dict) and _is_ours(place) for place in places)

    def parse(
        self, bodies: Mapping[str, bytes], *, fetched_at: datetime | None, headers: Mapping[str, str]
    ) -> Forecast:
        """See Reader. The reply does not say when its models ran: `issued_at` is None."""
        reply = _one_place(load_document(bodies[FORECAST], NAME))
        hourly = _hourly(reply)
        notes: list[str] = []
        frame = pd.DataFrame(columns(reply, hourly, notes), index=_stamps(reply, hourly, notes))
        frame["native_step_h"] = _native_steps(frame.index, fetched_at)
        origin = Origin(
            provider=self.key,
            attribution=self.attribution,
            issued_at=None,
            fetched_at=fetched_at,
            latitude=_number(reply, "latitude"),
            longitude=_number(reply, "longitude"),
            elevation_m=_number(reply, "elevation"),
            notes=tuple(notes),
        )
        return finished(frame, origin, end_labelled=END_LABELLED)


READER = OpenMeteo()


# --- the reply ---------------------------------------------------------------------------------------


def _is_ours(reply: Mapping[str, object]) -> bool:
    is_error = reply.get("error") is True and "reason" in reply
    return is_error or "hourly_units" in reply or "generationtime_ms" in reply


def _one_place(document: object) -> dict[str, object]:
    """The reply of one place, out of a list of one if need be, and no error reply."""
    if isinstance(document, list) and len(document) == 1:
        document = document[0]
    if isinstance(document, list):
        raise unreadable(
            f"a list of {len(document)} places",
            "the reply for one place",
            "ask for the garden's coordinates alone",
        )
    if not isinstance(document, dict):
        raise unreadable("no JSON object", "one JSON object, {...}")
    if document.get("error"):
        reason = in_a_line(document.get("reason", "no reason given"))
        uncovered = "no data is available for this location" in reason.lower()
        fault = NotCoveredError if uncovered else UnreadableError
        raise fault(
            f"{NAME}: the provider answered with an error: {reason!r}", "a forecast", "see the reason; try later"
        )
    return document


def _hourly(reply: Mapping[str, object]) -> dict[str, list[object]]:
    """The lists of the hourly block that we know, all as long as its time list."""
    block = reply.get("hourly")
    if not isinstance(block, dict):
        raise unreadable(
            "no hourly block",
            f"`hourly` with `time`, {VARIABLES[0].names[0]} and the other columns",
            "ask for hourly=...; daily values don't tell what a night does",
        )
    known = {"time", *(name for variable in VARIABLES for name in variable.names)}
    lists = {name: values for name, values in block.items() if name in known and values is not None}
    for name, values in lists.items():
        if not isinstance(values, list):
            raise unreadable(f"hourly.{name} is no list", "a list with one value an hour")
    stamps = lists.get("time", [])
    if not stamps:
        raise unreadable("no hours in it: hourly.time is missing or empty", "one stamp an hour")
    for name, values in lists.items():
        if len(values) != len(stamps):
            raise unreadable(
                f"hourly.{name} has {len(values)} values for {len(stamps)} hours", "one value an hour"
            )
    if not any(name in lists for name in VARIABLES[0].names):
        raise unreadable(
            f"no air temperature among its columns ({', '.join(sorted(block)[:6])}, ...)",
            f"hourly={VARIABLES[0].names[0]}, and better all of {','.join(v.names[0] for v in VARIABLES[1:])}",
        )
    return lists


# --- time --------------------------------------------------------------------------------------------


def _stamps(reply: Mapping[str, object], hourly: Mapping[str, list[object]], notes: list[str]) -> pd.DatetimeIndex:
    """UTC stamps out of Unix time or local ISO text.

    One offset, that of the day of the request, is behind all local stamps of a reply, on both sides of a
    clock change: it is subtracted, and the zone's own rules are not asked. In zones off the full hour the
    provider reads its data at the offset cut to full hours and prints the exact one: cut it likewise.
    """
    values = hourly["time"]
    offset_s = _number(reply, "utc_offset_seconds")
    if offset_s is None and reply.get("timezone", "GMT") in ("GMT", "UTC"):
        offset_s = 0.0
    try:
        if all(isinstance(value, str) for value in values):
            stamps = pd.DatetimeIndex(pd.to_datetime(pd.Series(values, dtype="object"), format="ISO8601"))
            if stamps.tz is None:
                stamps = _minus(stamps, offset_s)
        else:
            seconds = numbers(values, f"{NAME}: hourly.time")
            stamps = pd.DatetimeIndex(pd.to_datetime(seconds, unit="s", utc=True))
    except (ValueError, OverflowError) as error:
        raise unreadable(
            f"hourly.time can't be read ({in_a_line(error)})", "Unix seconds or ISO 8601 stamps"
        ) from None
    if stamps.hasnans:
        raise unreadable("an hour without a stamp", "one stamp an hour")
    stamps = stamps.tz_convert("UTC")
    years = {int(stamps.min().year), int(stamps.max().year)}
    if not years <= set(YEARS):
        raise unreadable(
            f"hourly.time runs from the year {min(years)} to {max(years)}",
            "Unix seconds (not milliseconds) or ISO 8601 stamps",
        )
    misprint = pd.Timedelta(seconds=math.fmod(offset_s or 0.0, 3600.0))
    if misprint and (stamps != stamps.floor("h")).any():
        notes.append(
            f"asked for in a zone {misprint / pd.Timedelta(minutes=1):+.0f} min off the full hour, where the "
            "provider misprints its stamps: put back to full hours (timezone=GMT has no such trap)"
        )
        stamps += misprint
    return stamps


def _minus(local: pd.DatetimeIndex, offset_s: float | None) -> pd.DatetimeIndex:
    if offset_s is None:
        raise unreadable(
            "local stamps without utc_offset_seconds", "the offset, or stamps in GMT", "ask with timezone=GMT"
        )
    return (local - pd.Timedelta(seconds=offset_s)).tz_localize("UTC")


def _native_steps(index: pd.Index, fetched_at: datetime | None) -> FloatArray:
    """The model step behind each hour, by lead time from the request (or the latest it can have been)."""
    stamps = pd.DatetimeIndex(index)
    made = fetched_at if fetched_at is not None else freshest_moment(stamps.sort_values())
    lead_h = (stamps - pd.Timestamp(made)).total_seconds().to_numpy() / 3600.0
    steps = np.full(len(stamps), np.nan)
    for longest, step in reversed(NATIVE_STEPS):
        steps[lead_h <= longest] = step
    return steps


def _number(reply: Mapping[str, object], key: str) -> float | None:
    """A finite number of the reply's head; None for null, text, or what no coordinate can be."""
    value = reply.get(key)
    if isinstance(value, bool) or not isinstance(value, int | float) or not abs(value) < 1e9:
        return None
    return float(value)
