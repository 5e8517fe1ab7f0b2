"""Layers of the US National Weather Service's raw grid: which column each fills, in which units, over which hours.

A layer is `{"uom": "wmoUnit:degC", "values": [{"validTime": "2027-04-20T06:00:00+00:00/PT2H", "value": 7.2}]}`.
Null values, empty lists and absent layers all say the same: nothing known.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

import pandas as pd

from hardenoff.errors import UnreadableError
from hardenoff.forecast.fields import as_list, as_number, as_object, shown
from hardenoff.forecast.intervals import Span, hold, parse_interval, spread
from hardenoff.forecast.weather_codes import NO_WEATHER, NWS_WEATHER, THUNDER, THUNDER_WITH_HAIL

NATIVE_STEP_WINDOW_H = 25
"""Equal neighbours are merged: one long block proves no long step; the shortest of a day around does (ours)."""

Scale = Callable[[float], float]
_CELSIUS: Mapping[str, Scale] = {
    "degC": lambda t: t,
    "degF": lambda t: (t - 32.0) / 1.8,
    "K": lambda t: t - 273.15,
}
_PERCENT: Mapping[str, Scale] = {"percent": lambda p: p / 100.0}
_SPEED: Mapping[str, Scale] = {"km_h-1": lambda v: v / 3.6, "m_s-1": lambda v: v}
_BEARING: Mapping[str, Scale] = {"degree_(angle)": lambda a: a}
_DEPTH: Mapping[str, Scale] = {"mm": lambda d: d}


@dataclass(frozen=True, slots=True)
class Layer:
    """A layer of the grid, the column it fills, how its spans become hours, and the units it may come in."""

    name: str
    column: str
    to_hours: Callable[[Iterable[Span]], pd.Series[float]]
    units: Mapping[str, Scale]
    """By the part after the prefix (`wmoUnit:degC`, before October 2021 `unit:degC`); the usual one first."""


TEMPERATURE = Layer("temperature", "air_temperature_c", hold, _CELSIUS)
LAYERS = (
    TEMPERATURE,
    Layer("dewpoint", "dew_point_c", hold, _CELSIUS),
    Layer("relativeHumidity", "relative_humidity_frac", hold, _PERCENT),
    Layer("windSpeed", "wind_speed_m_s", hold, _SPEED),
    Layer("windGust", "wind_gust_m_s", hold, _SPEED),
    Layer("windDirection", "wind_from_deg", hold, _BEARING),
    Layer("skyCover", "cloud_cover_frac", hold, _PERCENT),
    Layer("quantitativePrecipitation", "precipitation_mm", spread, _DEPTH),
    Layer("probabilityOfPrecipitation", "precipitation_probability_frac", hold, _PERCENT),
)
NIGHT_LOWS = Layer("minTemperature", "", hold, _CELSIUS)
"""Windows around each night, with gaps between; they become block lows, not hours."""


def spans_of(
    grid: Mapping[str, object], layer: Layer, fetched_at: datetime | None, notes: list[str]
) -> tuple[Span, ...]:
    """The layer's values in our unit; what is missing or unreadable is left out and noted."""
    body = as_object(grid.get(layer.name))
    values = as_list(body.get("values"))
    if not values:
        notes.append(f"{layer.name}: {'no value' if layer.name in grid else 'not'} in the reply")
        return ()
    scale = _scale(body.get("uom"), layer, notes)
    spans, unreadable = [], 0
    for entry in map(as_object, values):
        try:
            number = as_number(entry.get("value"))
            start, end = parse_interval(str(entry.get("validTime")), fetched_at)
        except ValueError:
            unreadable += 1
            continue
        if number is not None:
            spans.append(Span(start, end, scale(number)))
    if unreadable:
        notes.append(f"{layer.name}: {unreadable} of {len(values)} values unreadable, left out")
    if not spans:
        notes.append(f"{layer.name}: no value in the reply")
    return tuple(spans)


def _scale(unit: object, layer: Layer, notes: list[str]) -> Scale:
    if unit is None:
        usual = next(iter(layer.units))
        notes.append(f"{layer.name}: no unit in the reply, read as {usual}")
        return layer.units[usual]
    scale = layer.units.get(str(unit).rpartition(":")[2])
    if scale is None:
        raise UnreadableError(
            f"NWS grid: {layer.name} comes in {shown(unit)}, a unit this program does not know",
            " or ".join(layer.units),
            "use another source, and tell the program's authors",
        )
    return scale


def weather_spans(grid: Mapping[str, object], fetched_at: datetime | None) -> list[Span]:
    """The `weather` layer as WMO codes; thunder that is only a slight chance is not called weather (ours)."""
    spans = []
    for entry in map(as_object, as_list(as_object(grid.get("weather")).get("values"))):
        codes = [_weather_code(as_object(kind)) for kind in as_list(entry.get("value"))]
        try:
            start, end = parse_interval(str(entry.get("validTime")), fetched_at)
        except ValueError:
            continue
        if codes:
            spans.append(Span(start, end, max(codes)))
    return spans


def _weather_code(kind: Mapping[str, object]) -> float:
    if kind.get("coverage") in ("slight_chance", "isolated"):
        return NO_WEATHER
    code = NWS_WEATHER.get(str(kind.get("weather")), NO_WEATHER)
    hail = "hail" in str(kind.get("attributes"))
    return THUNDER_WITH_HAIL if code == THUNDER and hail else code


def native_step_h(spans: Iterable[Span]) -> pd.Series[float]:
    """Hour by hour the shortest step of the blocks around, h; at most a day."""
    lengths = hold([Span(s.start, s.end, (s.end - s.start) / timedelta(hours=1)) for s in spans])
    return lengths.rolling(NATIVE_STEP_WINDOW_H, center=True, min_periods=1).min().clip(upper=24.0)
