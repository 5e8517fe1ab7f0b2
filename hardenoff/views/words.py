"""Units, dates and times as people read them: the one place where a number of the schedule becomes text."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from datetime import date, datetime

from hardenoff.dates import WEEKDAYS as WEEKDAYS
from hardenoff.dates import night_of as night_of
from hardenoff.dates import short_day
from hardenoff.records import INSIDE, UnitSystem
from hardenoff.schedule.records import Reason
from hardenoff.units import Kind, shown

UNKNOWN = "unknown"

# --- dates and times -------------------------------------------------------------------------------


day = short_day


def long_day(on: date) -> str:
    """`Wed 5 May 2027`."""
    return f"{day(on)} {on.year}"


def clock(at: datetime) -> str:
    """`07:15`, on the clock the time carries."""
    return f"{at.hour:02d}:{at.minute:02d}"


def clock_until(end: datetime, on: date) -> str:
    """The end of something that began on `on`: the next midnight reads `24:00`."""
    return "24:00" if end.date() > on and (end.hour, end.minute) == (0, 0) else clock(end)


def duration(hours: float | None) -> str:
    """`0:25` for 25 minutes."""
    if hours is None:
        return UNKNOWN
    minutes = round(hours * 60)
    return f"{minutes // 60}:{minutes % 60:02d}"


def age(hours: float | None) -> str:
    """`1.5 h old`, `2 days old`."""
    if hours is None:
        return "of unknown age"
    if hours < 1:
        return f"{round(hours * 60)} min old"
    if hours < 10:
        return f"{hours:.1f} h old"
    return f"{hours:.0f} h old" if hours < 72 else f"{hours / 24:.0f} days old"


# --- amounts ---------------------------------------------------------------------------------------


def temperature(celsius: float | None, units: UnitSystem, decimals: int = 0) -> str:
    """`46°F` or `8°C`."""
    if celsius is None:
        return UNKNOWN
    number, symbol = shown(celsius, "temperature", units)
    return f"{_plain(number, decimals)}°{symbol}"


def temperatures(value: float | None, limit: float, units: UnitSystem) -> tuple[str, str]:
    """A temperature and its limit; in tenths where whole degrees would make them look alike."""
    whole = temperature(value, units), temperature(limit, units)
    if value is None or whole[0] != whole[1] or value == limit:
        return whole
    return temperature(value, units, 1), temperature(limit, units, 1)


def temperature_step(kelvin: float, units: UnitSystem) -> str:
    """A difference of temperatures: `3°F`."""
    number, symbol = shown(kelvin, "difference", units)
    return f"{_plain(number, 1)}°{symbol}"


def step_only(kelvin: float | None, units: UnitSystem) -> str:
    """A difference in tenths for a table whose heading has the unit; `?` where it is unknown."""
    return "?" if kelvin is None else _plain(shown(kelvin, "difference", units)[0], 1)


def speed(m_s: float | None, units: UnitSystem) -> str:
    """`21 mph` or `34 km/h`."""
    return UNKNOWN if m_s is None else _of_kind(m_s, "speed", units, 0)


def length(metres: float, units: UnitSystem) -> str:
    """`2.4 m` or `8 ft`."""
    return _of_kind(metres, "length", units, 1)


def rain_rate(mm_h: float, units: UnitSystem) -> str:
    """`5 mm/h` or `0.2 in/h`."""
    return _of_kind(mm_h, "rain", units, 2 if units == "us" else 1)


def light(mol: float | None) -> str:
    """`14 mol/m²`."""
    return UNKNOWN if mol is None else f"{mol:.0f} mol/m²"


def percent(share: float | None) -> str:
    """`40 %`."""
    return UNKNOWN if share is None else f"{share * 100:.0f} %"


def number_only(si: float | None, kind: Kind, units: UnitSystem) -> str:
    """A whole number for a table whose heading has the unit; `?` where it is unknown."""
    return "?" if si is None else _plain(shown(si, kind, units)[0], 0)


def unit_of(kind: Kind, units: UnitSystem) -> str:
    """The unit `number_only` is in: `°F`, `mph`."""
    symbol = shown(0.0, kind, units)[1]
    return f"°{symbol}" if kind in ("temperature", "difference") else symbol


def _of_kind(si: float, kind: Kind, units: UnitSystem, decimals: int) -> str:
    number, symbol = shown(si, kind, units)
    return f"{_plain(number, decimals)} {symbol}"


def _plain(number: float, decimals: int) -> str:
    """A rounded number without a minus zero and without zeros at its tail."""
    written = f"{round(number, decimals) + 0.0:.{decimals}f}"
    return written.rstrip("0").rstrip(".") if decimals else written


_AMOUNTS: dict[str, Callable[[float, UnitSystem], str]] = {
    "degC": temperature,
    "m/s": speed,
    "m": length,
    "mm/h": rain_rate,
    "h": lambda value, _: duration(value),
    "mol/m2": lambda value, _: light(value),
    "mol/m2/d": lambda value, _: light(value),
    "1": lambda value, _: percent(value),
    "d": lambda value, _: f"{_plain(value, 1)} days",
    "ramp-days": lambda value, _: f"{_plain(value, 1)} ramp-days",
    "nights": lambda value, _: f"{_plain(value, 1)} nights",
    "deg": lambda value, _: f"{_plain(value, 1)} degrees",
}


def amount(value: float, unit: str | None, units: UnitSystem) -> str:
    """A number of the schedule in the grower's units; a unit we have no words for is printed as it is."""
    if unit in _AMOUNTS:
        return _AMOUNTS[unit](value, units)
    return f"{value:g} {unit}" if unit else f"{value:g}"


# --- sentences -------------------------------------------------------------------------------------


def names(items: Sequence[str]) -> str:
    """`peppers, basil and leeks`."""
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} and {items[-1]}"


def opening(text: str) -> str:
    """The same text with a capital at the start; the rest is left as the grower wrote it."""
    return text[:1].upper() + text[1:]


def minutes(count: float) -> str:
    """`12 min`: labour, with half minutes rounded up."""
    return f"{math.ceil(count)} min"


def trays(count: int) -> str:
    """`1 tray`, `3 trays`."""
    return f"{count} tray" if count == 1 else f"{count} trays"


RUNS_ON = (" at", " be", " for", " of", " takes")
"""Ends of a sentence that run on into the number, without a colon."""
LIMIT_GOES_WITHOUT_SAYING = ("nearest",)


def reason(why: Reason, units: UnitSystem) -> str:
    """One reason in a line: the sentence, the number behind it and its limit; its source is for the caller."""
    numbers = _numbers(why, units)
    link = "" if why.text.endswith(RUNS_ON) else ":"
    return f"{why.text}{link} {', '.join(numbers)}" if numbers else why.text


def _numbers(why: Reason, units: UnitSystem) -> list[str]:
    if why.code in LIMIT_GOES_WITHOUT_SAYING:
        return [] if why.value is None else [amount(why.value, why.unit, units)]
    if why.unit == "degC" and why.value is not None and why.limit is not None:
        value, limit = temperatures(why.value, why.limit, units)
        return [value, f"limit {limit}"]
    numbers = [] if why.value is None else [amount(why.value, why.unit, units)]
    word = "needs" if why.unit == "ramp-days" else "limit"  # what is earned has no most
    return numbers if why.limit is None else [*numbers, f"{word} {amount(why.limit, why.unit, units)}"]


def unique(items: Iterable[str]) -> tuple[str, ...]:
    """The same texts once each, in their first order."""
    return tuple(dict.fromkeys(items))


def spots_in_order(spots: Iterable[str]) -> tuple[str, ...]:
    """Outdoor spots once each, in the order met."""
    return tuple(spot for spot in unique(spots) if spot != INSIDE)
