"""The kinds of value a key of the garden file can ask for, as types that pydantic reads with our readers."""

from __future__ import annotations

from datetime import date, time
from typing import Annotated

from pydantic import BeforeValidator

from hardenoff import units
from hardenoff.garden import times, values
from hardenoff.records import Span

_FAR_M = 10_000.0

Text = Annotated[str, BeforeValidator(values.text)]
Flag = Annotated[bool, BeforeValidator(values.flag)]
Count = Annotated[int, BeforeValidator(values.whole(1))]
Share = Annotated[float, BeforeValidator(values.share)]
Odds = Annotated[float, BeforeValidator(values.odds)]
Day = Annotated[date, BeforeValidator(times.day)]
Clock = Annotated[time, BeforeValidator(times.clock)]
MonthDay = Annotated[tuple[int, int], BeforeValidator(times.month_day)]
Window = Annotated[Span, BeforeValidator(times.window)]
WeekdayOrDay = Annotated[int | date, BeforeValidator(times.weekday_or_day)]
Absence = Annotated[tuple[date, date], BeforeValidator(times.absence)]

Latitude = Annotated[float, BeforeValidator(values.latitude)]
Longitude = Annotated[float, BeforeValidator(values.longitude)]
Bearing = Annotated[float, BeforeValidator(values.bearing)]
Height = Annotated[float, BeforeValidator(values.number(0, 90, "the horizon is 0, the zenith 90"))]
SkylinePoint = Annotated[tuple[float, float], BeforeValidator(values.skyline_point)]
Ppfd = Annotated[float, BeforeValidator(values.number(0, 2500, above=True))]
LampHours = Annotated[float, BeforeValidator(values.number(0, 24, above=True))]
Minutes = Annotated[float, BeforeValidator(values.number(0, 240))]
RampDays = Annotated[float, BeforeValidator(values.number(0, 100))]
Mol = Annotated[float, BeforeValidator(values.number(0, 80))]
Weeks = Annotated[float, BeforeValidator(values.number(0, 52))]

Length = Annotated[float, BeforeValidator(values.quantity(units.parse_length, 0, _FAR_M, "a length of 0 or more"))]
SomeLength = Annotated[
    float, BeforeValidator(values.quantity(units.parse_length, 0, _FAR_M, "a length above 0", above=True))
]
Elevation = Annotated[
    float,
    BeforeValidator(
        values.quantity(units.parse_length, -450, 9000, "a height between -450 m (-1476 ft) and 9000 m (29528 ft)")
    ),
]
RoomTemperature = Annotated[
    float,
    BeforeValidator(
        values.quantity(units.parse_temperature, -5, 45, "a temperature between -5 C (23 F) and 45 C (113 F)")
    ),
]
AirTemperature = Annotated[
    float,
    BeforeValidator(
        values.quantity(units.parse_temperature, -30, 60, "a temperature between -30 C (-22 F) and 60 C (140 F)")
    ),
]
Colder = Annotated[
    float,
    BeforeValidator(
        values.quantity(units.parse_difference, -15, 15, "a difference between -15 C (-27 F) and 15 C (27 F)")
    ),
]
Gain = Annotated[
    float,
    BeforeValidator(values.quantity(units.parse_difference, 0, 15, "a difference between 0 and 15 C (27 F)")),
]
RainRate = Annotated[
    float,
    BeforeValidator(
        values.quantity(units.parse_rain, 0, 200, "a rate above 0, up to 200 mm/h (8 in/h)", above=True)
    ),
]
