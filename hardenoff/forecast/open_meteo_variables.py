"""Open-Meteo's variables: names of all years, units a reply may come in, which are labelled at the end of an hour.

Documentation: open-meteo.com/en/docs, section Hourly Parameter Definition.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from hardenoff.errors import UnreadableError
from hardenoff.forecast.fields import shown
from hardenoff.forecast.frame import FloatArray, numbers

NAME = "Open-Meteo reply"
"""What the messages call it."""

UNITS: Mapping[str, Mapping[str, tuple[float, float]]] = {
    "temperature": {"°C": (1.0, 0.0), "°F": (5.0 / 9.0, -160.0 / 9.0)},
    "speed": {
        "m/s": (1.0, 0.0),
        "km/h": (1.0 / 3.6, 0.0),
        "mp/h": (0.44704, 0.0),
        "mph": (0.44704, 0.0),
        "kn": (1852.0 / 3600.0, 0.0),
    },
    "share": {"%": (0.01, 0.0)},
    "depth": {"mm": (1.0, 0.0), "inch": (25.4, 0.0)},
    "flux": {"W/m²": (1.0, 0.0), "W/m2": (1.0, 0.0)},
    "bearing": {"°": (1.0, 0.0)},
    "index": {"": (1.0, 0.0)},
    "code": {"wmo code": (1.0, 0.0), "": (1.0, 0.0)},
}
"""Units a reply may state, by kind; (factor, offset) leads to ours. The first of each is what we ask for."""


@dataclass(frozen=True, slots=True)
class Variable:
    """A variable of the provider: our column, its names (today's first), its kind of unit, its label."""

    column: str
    names: tuple[str, ...]
    kind: str
    end_labelled: bool = False


VARIABLES: tuple[Variable, ...] = (
    Variable("air_temperature_c", ("temperature_2m",), "temperature"),
    Variable("relative_humidity_frac", ("relative_humidity_2m", "relativehumidity_2m"), "share"),
    Variable("dew_point_c", ("dew_point_2m", "dewpoint_2m"), "temperature"),
    Variable("precipitation_mm", ("precipitation",), "depth", end_labelled=True),
    Variable("precipitation_probability_frac", ("precipitation_probability",), "share", end_labelled=True),
    Variable("weather_code", ("weather_code", "weathercode"), "code"),
    Variable("cloud_cover_frac", ("cloud_cover", "cloudcover"), "share"),
    Variable("cloud_low_frac", ("cloud_cover_low", "cloudcover_low"), "share"),
    Variable("cloud_mid_frac", ("cloud_cover_mid", "cloudcover_mid"), "share"),
    Variable("cloud_high_frac", ("cloud_cover_high", "cloudcover_high"), "share"),
    Variable("wind_speed_m_s", ("wind_speed_10m", "windspeed_10m"), "speed"),
    Variable("wind_gust_m_s", ("wind_gusts_10m", "windgusts_10m"), "speed", end_labelled=True),
    Variable("wind_from_deg", ("wind_direction_10m", "winddirection_10m"), "bearing"),
    Variable("ghi_w_m2", ("shortwave_radiation",), "flux", end_labelled=True),
    Variable("dni_w_m2", ("direct_normal_irradiance",), "flux", end_labelled=True),
    Variable("dhi_w_m2", ("diffuse_radiation",), "flux", end_labelled=True),
    Variable("soil_temperature_c", ("soil_temperature_6cm",), "temperature"),
    Variable("et0_mm", ("et0_fao_evapotranspiration",), "depth", end_labelled=True),
    Variable("uv_index", ("uv_index",), "index"),
)

END_LABELLED = tuple(variable.column for variable in VARIABLES if variable.end_labelled)


def columns(
    reply: Mapping[str, object], hourly: Mapping[str, list[object]], notes: list[str]
) -> dict[str, FloatArray]:
    """Our columns in our units; lists are of one length. Notes what is absent, undefined or all null."""
    stated = reply.get("hourly_units")
    units: Mapping[str, object] = stated if isinstance(stated, dict) else {}
    read: dict[str, FloatArray] = {}
    absent = []
    for variable in VARIABLES:
        name = next((name for name in variable.names if name in hourly), None)
        if name is None:
            absent.append(variable.names[0])
            continue
        unit = _unit(variable, units, notes)
        if unit is None:
            notes.append(f"{name}: unknown to the provider here (unit 'undefined'), left out")
            continue
        factor, offset = UNITS[variable.kind][unit]
        read[variable.column] = numbers(hourly[name], f"{NAME}: {name}") * factor + offset
        if np.isnan(read[variable.column]).all():
            notes.append(f"{name}: null in every hour")
    if absent:
        notes.append(f"not in the reply: {', '.join(absent)}")
    return read


def _unit(variable: Variable, units: Mapping[str, object], notes: list[str]) -> str | None:
    """The unit a variable comes in; None for 'undefined'. Refuses a unit of the wrong kind.

    An unstated unit is that of the other variables of its kind, which one request gives the same unit,
    and failing that the unit we ask for.
    """
    known = UNITS[variable.kind]
    unit = next((units[name] for name in variable.names if name in units), None)
    if unit == "undefined":
        return None
    if unit is None:
        siblings = [units[n] for v in VARIABLES if v.kind == variable.kind for n in v.names if n in units]
        stated = [name for name in known if name in siblings]
        unit = stated[0] if stated else next(iter(known))
        notes.append(f"{variable.names[0]}: no unit stated, taken as {unit or 'a plain number'}")
    if not isinstance(unit, str) or unit not in known:
        wanted = ", ".join(repr(name) for name in known)
        raise unreadable(
            f"{variable.names[0]} comes in {shown(unit)}", f"one of {wanted}", "ask for standard units"
        )
    return unit


def unreadable(what: str, expected: str, fix: str = "fetch the forecast again") -> UnreadableError:
    """A fault of a reply, under its name."""
    return UnreadableError(f"{NAME}: {what}", expected, fix)
