"""Providers' weather words as WMO present-weather codes (table 4677), the ones a grower's day depends on.

0 says that no weather is reported; nothing said at all is NaN. Codes from memory of WMO-No. 306, table 4677.
"""

from __future__ import annotations

from collections.abc import Mapping

NO_WEATHER = 0.0
THUNDER = 95.0
THUNDER_WITH_HAIL = 96.0

NWS_WEATHER: Mapping[str, float] = {
    "smoke": 4.0,
    "haze": 5.0,
    "fog": 45.0,
    "ice_fog": 45.0,
    "freezing_fog": 48.0,
    "drizzle": 51.0,
    "freezing_drizzle": 56.0,
    "rain": 61.0,
    "freezing_rain": 66.0,
    "snow": 71.0,
    "ice_crystals": 76.0,
    "sleet": 79.0,
    "rain_showers": 80.0,
    "snow_showers": 85.0,
    "hail": 89.0,
    "thunderstorms": THUNDER,
}
"""Values of `weather` in the US National Weather Service's grid; others count as no weather."""

_SYMBOL_PARTS: tuple[tuple[str, float], ...] = (
    ("thunder", THUNDER),
    ("snowshowers", 85.0),
    ("sleetshowers", 83.0),
    ("rainshowers", 80.0),
    ("snow", 71.0),
    ("sleet", 68.0),
    ("rain", 61.0),
    ("fog", 45.0),
)


def code_of_symbol(symbol: str) -> float:
    """Code of a MET Norway symbol such as `heavyrainandthunder` or `fair_night`; the first part met counts."""
    return next((code for part, code in _SYMBOL_PARTS if part in symbol), NO_WEATHER)
