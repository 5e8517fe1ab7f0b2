"""One value of the garden file at a time: what TOML gave -> a plain SI value, or a WrongValue in three parts.

Each reader says what kind of value it wants (`expected`); the schema adds what the key means and an example.
"""

from __future__ import annotations

import difflib
import json
import math
import re
from collections.abc import Callable, Iterable
from typing import Any

from hardenoff.errors import HardenoffError
from hardenoff.garden.meant import bearing_meant, degrees_meant

DEEPEST_SHOWN = 8
"""Brackets within brackets; the file has four."""
MOST = 1_000_000
"""Of anything that is counted (ours)."""


def closest(word: str, known: Iterable[str]) -> str | None:
    """The known word that someone may have meant, for a 'did you mean'; None if nothing is near."""
    plain: dict[str, str] = {}
    for candidate in known:
        plain.setdefault(candidate.casefold(), candidate)
    found = difflib.get_close_matches(word.strip().casefold(), plain, n=1, cutoff=0.6)
    return plain[found[0]] if found else None


class WrongValue(HardenoffError, ValueError):
    """A value of the garden file that can't be what its key asks for."""


def given(value: Any, depth: int = 0) -> str:
    """A value as it stands in the file, cut short where it is long or deep."""
    if isinstance(value, str):
        text = json.dumps(value, ensure_ascii=False)
    elif isinstance(value, bool):
        text = str(value).lower()
    elif isinstance(value, dict | list) and depth > DEEPEST_SHOWN:
        text = "..."
    elif isinstance(value, dict):
        text = "{ " + ", ".join(f"{key} = {given(inner, depth + 1)}" for key, inner in value.items()) + " }"
    elif isinstance(value, list):
        text = "[" + ", ".join(given(inner, depth + 1) for inner in value) + "]"
    else:
        text = str(value)
    return text if len(text) <= 60 else f"{text[:56]} ..."


def text(value: Any) -> str:
    """A text that says something, on one line."""
    if not isinstance(value, str):
        raise WrongValue(f"{given(value)} is no text", "a text in quotes", f'write "{value}"')
    if not value.strip():
        raise WrongValue("the text is empty", "a text in quotes", "write something between the quotes")
    if not value.isprintable():
        raise WrongValue(
            f"{given(value)!r} has a line break or a control character", "one line of text", "remove it"
        )
    return value.strip()


def flag(value: Any) -> bool:
    """true or false."""
    if isinstance(value, bool):
        return value
    raise WrongValue(
        f"{given(value)} is neither true nor false", "true or false", "write true or false, without quotes"
    )


def choice(*words: str) -> Callable[[Any], str]:
    """One of a few words."""

    def read(value: Any) -> str:
        if value in words:
            return str(value)
        listed = " or ".join(f'"{word}"' for word in words)
        meant = closest(str(value), words)
        fix = f'did you mean "{meant}"?' if meant else f'write "{words[0]}"'
        raise WrongValue(f"{given(value)} is not one of the words", listed, fix)

    return read


def whole(least: int) -> Callable[[Any], int]:
    """A whole number, at least so much."""
    expected = f"a whole number, {least} or more"

    def read(value: Any) -> int:
        if isinstance(value, bool) or not isinstance(value, int):
            raise WrongValue(
                f"{given(value)} is no whole number", expected, _unquoted(value, "write a whole number")
            )
        if value < least:
            raise WrongValue(f"{given(value)} is less than {least}", expected, "check the number")
        if value > MOST:
            raise WrongValue(f"{given(value)} is out of range", expected, f"write a number up to {MOST}")
        return value

    return read


def number(least: float, most: float, unit: str = "", *, above: bool = False) -> Callable[[Any], float]:
    """A plain number from `least` (not itself, if `above`) to `most`."""
    between = f"above {least:g} and up to {most:g}" if above else f"from {least:g} to {most:g}"
    expected = f"a number {between}{f' ({unit})' if unit else ''}, without quotes"

    def read(value: Any) -> float:
        if not _is_number(value):
            raise WrongValue(f"{given(value)} is no number", expected, _unquoted(value, "write a number"))
        if not least <= value <= most or (above and value == least):
            raise WrongValue(f"{given(value)} is out of range", expected, f"write a number {between}")
        return float(value)

    return read


def latitude(value: Any) -> float:
    """Degrees, north positive."""
    try:
        return _LATITUDE(value)
    except WrongValue as error:
        swapped = isinstance(value, int | float) and 90 < abs(value) <= 180
        fix = "is it the longitude? the two may be swapped" if swapped else _degrees_fix(value, "N", "S", error)
        raise WrongValue(error.what, error.expected, fix) from None


def longitude(value: Any) -> float:
    """Degrees, east positive."""
    try:
        return _LONGITUDE(value)
    except WrongValue as error:
        raise WrongValue(error.what, error.expected, _degrees_fix(value, "E", "W", error)) from None


def _degrees_fix(value: Any, positive: str, negative: str, error: WrongValue) -> str:
    meant = degrees_meant(value, positive, negative) if isinstance(value, str) else None
    return error.fix if meant is None else f"write {meant:g}, without quotes"


_LATITUDE = number(-90, 90, "degrees, north positive")
_LONGITUDE = number(-180, 180, "degrees, east positive")


def bearing(value: Any) -> float:
    """Degrees clockwise from north."""
    try:
        return _BEARING(value)
    except WrongValue as error:
        meant = bearing_meant(value) if isinstance(value, str) else None
        if isinstance(value, int | float) and not isinstance(value, bool) and -360 <= value < 0:
            meant = value + 360
        fix = error.fix if meant is None else f"write {meant:g}, without quotes"
        raise WrongValue(error.what, error.expected, fix) from None


_BEARING = number(0, 360, "clockwise, north is 0")


def share(value: Any) -> float:
    """A share from 0 (nothing) to 1 (all)."""
    expected = "a share from 0 (nothing) to 1 (all)"
    if not _is_number(value):
        raise WrongValue(f"{given(value)} is no number", expected, _unquoted(value, "write a number such as 0.5"))
    if not 0 <= value <= 1:
        fix = f"write {value} % as {value / 100:g}" if 2 <= value <= 100 else "write a number from 0 to 1"
        raise WrongValue(f"{given(value)} is not between 0 and 1", expected, fix)
    return float(value)


def odds(value: Any) -> float:
    """A chance between never (0) and always (1), both excluded."""
    chance = share(value)
    if chance in (0, 1):
        raise WrongValue(
            f"{given(value)} asks for certainty",
            "odds above 0 and below 1",
            "write 0.05 for one in twenty; no forecast gives certainty",
        )
    return chance


def quantity(
    parse: Callable[[object], float], least: float, most: float, said: str, *, above: bool = False
) -> Callable[[Any], float]:
    """A text with a unit, read by one of the parsers of `units`, inside a range that is `said` in words."""

    def read(value: Any) -> float:
        si = parse(value)
        if not least <= si <= most or (above and si == least):
            problem = "is negative" if si < 0 <= least else "is out of range"
            raise WrongValue(f"{given(value)} {problem}", said, "check the number, its sign and its unit")
        return si

    return read


def skyline_point(value: Any) -> tuple[float, float]:
    """A bearing and the skyline's height there, both in degrees."""
    expected = "a pair [bearing, height]: bearing 0 to 360 clockwise from true north, height 0 to 90 degrees"
    numbers = value if isinstance(value, list) else []
    if len(numbers) != 2 or any(isinstance(n, bool) or not isinstance(n, int | float) for n in numbers):
        raise WrongValue(f"{given(value)} is no pair of numbers", expected, "write pairs such as [90, 12]")
    bearing, height = numbers
    if not 0 <= bearing <= 360:
        raise WrongValue(
            f"bearing {given(value[0])} is not on the compass", expected, "write west as 270, not -90"
        )
    if not 0 <= height <= 90:
        problem = "is negative" if height < 0 else "is not between 0 and 90"
        raise WrongValue(
            f"height {given(value[1])} {problem}", expected, "an open horizon has height 0, the zenith 90"
        )
    return float(bearing), float(height)


def shelter(value: Any) -> Any:
    """One share for all bearings becomes the one arc it stands for; a list is left to the schema."""
    if isinstance(value, list):
        return value
    return [{"from": 0, "to": 360, "share": share(value)}]


def web_address(value: Any) -> str:
    """The start of a URL."""
    expected = "a web address with http:// or https://"
    if not isinstance(value, str) or not re.fullmatch(r"https?://[^\s/]\S*", value.strip()):
        raise WrongValue(f"{given(value)} is no web address", expected, 'write "http://127.0.0.1:8123"')
    return value.strip().rstrip("/")


def _is_number(value: Any) -> bool:
    """Whether it is one, and finite; whole numbers are, however long."""
    return isinstance(value, int | float) and not isinstance(value, bool) and abs(value) < math.inf


def _unquoted(value: Any, otherwise: str) -> str:
    """The tip for a number in quotes is to take them off."""
    if isinstance(value, str):
        try:
            float(value)
        except ValueError:
            return otherwise
        return f"remove the quotes: {value.strip()}"
    return otherwise
