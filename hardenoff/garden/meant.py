"""What a value in another notation may have meant, for the repair that a fault names: nothing here is ever taken.

Each reader gives None, or no reading, where it isn't clear.
"""

from __future__ import annotations

import re
from datetime import date

_POINTS = ("n", "nne", "ne", "ene", "e", "ese", "se", "sse", "s", "ssw", "sw", "wsw", "w", "wnw", "nw", "nnw")
_TWELVE_HOURS = re.compile(r"(\d{1,2})(?:[:.](\d{2}))?\s*([ap])\.?\s?m\.?")
_OTHER_CLOCK = re.compile(r"(\d{1,2})[.h](\d{2})|(\d{2})(\d{2})")
_PARTED_DATE = re.compile(r"(\d{1,4})\s*([-/.])\s*(\d{1,2})\s*\2\s*(\d{1,4})")
_DEGREES = re.compile(r"([+-]?\d+(?:\.\d+)?)\s*(?:°|deg(?:rees)?)?\s*(?:(\d+(?:\.\d+)?)\s*['′])?\s*([a-z]?)")


def clock_meant(text: str) -> str | None:
    """A time of day as it should be written: "5:30pm" -> "17:30", "7.40" and "0740" -> "07:40"."""
    plain = text.strip().lower()
    if found := _TWELVE_HOURS.fullmatch(plain):
        hour, minute = int(found[1]), int(found[2] or 0)
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + (12 if found[3] == "p" else 0)
    elif found := _OTHER_CLOCK.fullmatch(plain):
        hour, minute = (int(part) for part in found.groups() if part is not None)
    else:
        return None
    return f"{hour:02d}:{minute:02d}" if hour < 24 and minute < 60 else None


def dates_meant(text: str) -> tuple[date, ...]:
    """The dates that a text can be read as: one for "4/20/2027", two for "5/6/2027"; none if it is no date."""
    found = _PARTED_DATE.fullmatch(text.strip())
    if found is None:
        return ()
    if len(found[1]) == 4:
        readings = [(found[1], found[3], found[4])]
    elif len(found[4]) in (2, 4):
        year = found[4] if len(found[4]) == 4 else f"20{found[4]}"
        readings = [(year, found[1], found[3]), (year, found[3], found[1])]
    else:
        readings = []
    return tuple(dict.fromkeys(on for parts in readings if (on := _date(*map(int, parts))) is not None))


def _date(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day)
    except ValueError:
        return None


def bearing_meant(text: str) -> float | None:
    """A point of the compass as its bearing: "east" and "E" -> 90, "south-west" -> 225. [deg]"""
    plain = re.sub(r"[\s_-]", "", text.lower())
    for name in ("north", "east", "south", "west"):
        plain = plain.replace(name, name[0])
    return 360.0 / len(_POINTS) * _POINTS.index(plain) if plain in _POINTS else None


def degrees_meant(text: str, positive: str, negative: str) -> float | None:
    """Degrees with a letter for the side, as on a map: "38.61 N" -> 38.61, "83° 30' W" -> -83.5. [deg]"""
    found = _DEGREES.fullmatch(text.strip().lower())
    if found is None or found[3] not in ("", positive.lower(), negative.lower()):
        return None
    value = float(found[1])
    if found[3] and found[1][0] in "+-":
        return None  # a sign and a side: which of them counts?
    if found[2] is not None:
        value += float(found[2]) / 60 * (-1 if found[1].startswith("-") else 1)
    return round(-value if found[3] == negative.lower() else value, 6) + 0.0
