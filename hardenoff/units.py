"""Units at the door: one table of exact conversions, and the reading of "8 ft" or "50 °F" into SI.

Inside, everything is SI (volumes in litres, durations in hours, rain in mm/h). A number in a text never goes
without its unit: 8 of what? A *difference* of temperature is a kind of its own, so that 3 F of cover is
1.67 C and never -16 C.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from hardenoff.errors import HardenoffError

Kind = Literal["length", "temperature", "difference", "speed", "volume", "duration", "rain"]


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit of one kind: SI = (value - zero) x size, both exact."""

    kind: Kind
    symbol: str
    size: Fraction
    zero: Fraction
    names: tuple[str, ...] = ()
    """Other spellings, lower case."""


def _unit(kind: Kind, symbol: str, size: str, *names: str, zero: str = "0") -> Unit:
    return Unit(kind, symbol, Fraction(size), Fraction(zero), names)


# All sizes are exact by definition: NIST SP 811 (2008), appendix B; the knot is 1852 m/h. Volumes are US measures.
UNITS: tuple[Unit, ...] = (
    _unit("length", "m", "1", "metre", "metres", "meter", "meters"),
    _unit("length", "cm", "1/100", "centimetre", "centimetres", "centimeter", "centimeters"),
    _unit("length", "mm", "1/1000", "millimetre", "millimetres", "millimeter", "millimeters"),
    _unit("length", "ft", "0.3048", "foot", "feet", "'", "′", "’"),
    _unit("length", "in", "0.0254", "inch", "inches", '"', "″", "”"),
    _unit("length", "yd", "0.9144", "yard", "yards"),
    _unit("temperature", "C", "1", "celsius"),
    _unit("temperature", "F", "5/9", "fahrenheit", zero="32"),
    _unit("difference", "C", "1", "celsius", "k"),
    _unit("difference", "F", "5/9", "fahrenheit"),
    _unit("speed", "m/s", "1", "mps"),
    _unit("speed", "km/h", "1000/3600", "kmh", "kph", "km/hr"),
    _unit("speed", "mph", "0.44704", "mi/h", "miles per hour"),
    _unit("speed", "kn", "1852/3600", "kt", "kts", "knot", "knots"),
    _unit("volume", "L", "1", "litre", "litres", "liter", "liters"),
    _unit("volume", "mL", "1/1000", "cm3", "cm³", "cc", "millilitre", "millilitres", "milliliter", "milliliters"),
    _unit("volume", "gal", "3.785411784", "gallon", "gallons", "us gal"),
    _unit("volume", "qt", "0.946352946", "quart", "quarts"),
    _unit("volume", "pt", "0.473176473", "pint", "pints"),
    _unit("volume", "fl oz", "0.0295735295625", "floz", "fluid ounce", "fluid ounces"),
    _unit("volume", "in3", "0.016387064", "in³", "cu in", "cubic inch", "cubic inches"),
    _unit("duration", "h", "1", "hr", "hrs", "hour", "hours"),
    _unit("duration", "min", "1/60", "minute", "minutes"),
    _unit("duration", "d", "24", "day", "days"),
    _unit("rain", "mm/h", "1", "mm/hr", "mm per hour"),
    _unit("rain", "in/h", "25.4", "in/hr", "inch per hour", "inches per hour"),
)

_BY_SYMBOL = {(unit.kind, unit.symbol): unit for unit in UNITS}
_BY_NAME = {(unit.kind, name): unit for unit in UNITS for name in (unit.symbol.lower(), *unit.names)}

_SHOWN: dict[str, dict[Kind, str]] = {
    "us": {
        "length": "ft",
        "temperature": "F",
        "difference": "F",
        "speed": "mph",
        "volume": "gal",
        "duration": "h",
        "rain": "in/h",
    },
    "metric": {
        "length": "m",
        "temperature": "C",
        "difference": "C",
        "speed": "km/h",
        "volume": "L",
        "duration": "h",
        "rain": "mm/h",
    },
}

_ASKED: dict[Kind, tuple[str, tuple[str, str]]] = {
    "length": ("a length", ("ft", "m")),
    "temperature": ("a temperature", ("F", "C")),
    "difference": ("a difference of temperature", ("F", "C")),
    "speed": ("a speed", ("mph", "km/h")),
    "volume": ("a volume", ("gal", "L")),
    "duration": ("a duration", ("h", "min")),
    "rain": ("a rate of rain", ("in/h", "mm/h")),
}
"""How a kind is called, and the two units to offer to someone who forgot it."""


class QuantityError(HardenoffError, ValueError):
    """A text that should be a number with its unit, and is not."""


# --- conversions -----------------------------------------------------------------------------------


def to_si(value: float, kind: Kind, symbol: str) -> float:
    """A value in the unit `symbol` as SI, correctly rounded. NaN and infinity pass through."""
    unit = _BY_SYMBOL[kind, symbol]
    return float((Fraction(value) - unit.zero) * unit.size) if math.isfinite(value) else value


def from_si(value: float, kind: Kind, symbol: str) -> float:
    """An SI value in the unit `symbol`, correctly rounded. NaN and infinity pass through."""
    unit = _BY_SYMBOL[kind, symbol]
    return float(Fraction(value) / unit.size + unit.zero) if math.isfinite(value) else value


def shown(value: float, kind: Kind, system: Literal["us", "metric"]) -> tuple[float, str]:
    """An SI value as the grower reads it: the number and the symbol of its unit."""
    symbol = _SHOWN[system][kind]
    return from_si(value, kind, symbol), symbol


# --- reading ---------------------------------------------------------------------------------------

_NUMBER = r"(?:[0-9]{1,9}\s+)?[0-9]{1,9}/[1-9][0-9]{0,8}|[0-9]{1,12}(?:\.[0-9]{0,12})?|\.[0-9]{1,12}"
_ONE = re.compile(rf"([+\-−]?)\s*({_NUMBER})\s*(.*)", re.DOTALL)
_TWO = re.compile(rf"([+\-−]?)\s*({_NUMBER})\s*([^\d\s]+)\s*({_NUMBER})\s*([^\d\s]+)", re.DOTALL)
_DEGREE = re.compile(r"^(?:°|º|degrees?\b|deg)\s*")


def parse_length(text: object) -> float:
    """Metres from "8 ft", "2.4 m", "5 ft 6 in", "6 1/2 in". QuantityError for anything else."""
    return _parse("length", text)


def parse_temperature(text: object) -> float:
    """Degrees C from "50 F", "50 °F", "-3 C". QuantityError for anything else, or below absolute zero."""
    celsius = _parse("temperature", text)
    if celsius < -273.15:
        raise QuantityError(
            f"{_quoted(text)} is colder than absolute zero",
            _expected("temperature"),
            "check the number and the unit",
        )
    return celsius


def parse_difference(text: object) -> float:
    """Kelvin from a difference of temperature: "3 F" is 1.67. QuantityError for anything else."""
    return _parse("difference", text)


def parse_duration(text: object) -> float:
    """Hours from "2 h", "90 min", "1 h 30 min". QuantityError for anything else."""
    return _parse("duration", text)


def parse_rain(text: object) -> float:
    """mm/h from "5 mm/h", "0.2 in/h". QuantityError for anything else."""
    return _parse("rain", text)


def _parse(kind: Kind, text: object) -> float:
    if isinstance(text, int | float) and not isinstance(text, bool):
        raise _without_unit(kind, text)
    if not isinstance(text, str):
        raise QuantityError(f"{_quoted(text)} is not {_ASKED[kind][0]}", _expected(kind), _write(kind, "8"))
    one = _ONE.fullmatch(text.strip())
    if one is None or "," in text:
        raise _unreadable(kind, text)
    sign, number, name = one.groups()
    if not name:
        raise _without_unit(kind, text.strip())
    unit = _named(kind, name)
    si = (_value(sign, number) - unit.zero) * unit.size if unit else _compound(kind, text.strip())
    if si is None:
        raise _unknown_unit(kind, text, name)
    return float(si)


def _compound(kind: Kind, text: str) -> Fraction | None:
    """Two units of one kind, the larger first, as in "5 ft 6 in" or "1 h 30 min"; None if it is not that."""
    two = _TWO.fullmatch(text)
    if two is None or kind not in ("length", "duration"):
        return None
    sign, number, name, further, smaller_name = two.groups()
    larger, smaller = _named(kind, name), _named(kind, smaller_name)
    if larger is None or smaller is None or larger.size <= smaller.size:
        return None
    size = _value("", number) * larger.size + _value("", further) * smaller.size
    return size if sign in ("", "+") else -size


def _named(kind: Kind, name: str) -> Unit | None:
    plain = " ".join(name.replace("℉", "F").replace("℃", "C").lower().split())
    if kind in ("temperature", "difference"):
        plain = _DEGREE.sub("", plain)
    return _BY_NAME.get((kind, plain)) or _BY_NAME.get((kind, plain.rstrip(".")))


def _value(sign: str, number: str) -> Fraction:
    whole, _, part = number.rpartition(" ")
    size = sum((Fraction(piece) for piece in f"{whole} {part}".split()), Fraction(0))
    return size if sign in ("", "+") else -size


# --- what to say when it can't be read -------------------------------------------------------------


def _quoted(value: object) -> str:
    if isinstance(value, str):
        return f'"{value}"'
    return str(value).lower() if isinstance(value, bool) else str(value)


def _expected(kind: Kind) -> str:
    symbols = ", ".join(unit.symbol for unit in UNITS if unit.kind == kind)
    return f"{_ASKED[kind][0]} with its unit ({symbols})"


def _write(kind: Kind, number: object) -> str:
    first, second = _ASKED[kind][1]
    return f'write "{number} {first}" or "{number} {second}"'


def _without_unit(kind: Kind, number: object) -> QuantityError:
    return QuantityError(f"{_quoted(number)} has no unit", _expected(kind), _write(kind, number))


def _unknown_unit(kind: Kind, text: str, name: str) -> QuantityError:
    if re.search(r"\d", name):
        return _unreadable(kind, text)
    number = text.strip().removesuffix(name).strip()
    what = f'{_quoted(text)}: "{name}" is no unit of {_ASKED[kind][0].removeprefix("a ")}'
    return QuantityError(what, _expected(kind), _write(kind, number))


def _unreadable(kind: Kind, text: str) -> QuantityError:
    if re.search(r"\d,\d{3}(?!\d)", text):
        fix = f'write "{text.replace(",", "")}" for thousands, or a point for decimals'
    elif re.search(r"\d,\d", text):
        fix = f'write the decimals after a point: "{text.replace(",", ".")}"'
    else:
        two = ' or "5 ft 6 in"' if kind == "length" else ""
        fix = f"write the number first, then its unit, as in {_write(kind, '8').removeprefix('write ')}{two}"
    return QuantityError(f"{_quoted(text)} is not a number with a unit", _expected(kind), fix)
