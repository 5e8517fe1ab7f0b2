"""Fields of a decoded reply whose shape nobody promised: an object, a number, a moment, or nothing."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from datetime import UTC, datetime

_NUMBER = re.compile(r"\s*[-+]?(\d+\.?\d*|\.\d+)(e[-+]?\d+)?\s*", re.ASCII | re.IGNORECASE)
"""What JSON could have said without quotes, more or less; Python itself would read `1_0` as ten."""

LONGEST_SHOWN, LONGEST_QUOTE = 60, 200

YEARS = range(1900, 2200)
"""Years that a forecast or a record can be of (ours); far ones leave what a nanosecond clock can count."""


def as_object(value: object) -> Mapping[str, object]:
    """The JSON object itself; an empty one for null, a list or anything else."""
    return value if isinstance(value, dict) else {}


def as_list(value: object) -> list[object]:
    """The JSON list itself; an empty one for anything else."""
    return value if isinstance(value, list) else []


def as_number(value: object) -> float | None:
    """A finite number, also if it comes as text; None for null. ValueError for anything else."""
    if value is None:
        return None
    number = math.nan
    if isinstance(value, str):
        number = float(value) if _NUMBER.fullmatch(value) else math.nan
    elif isinstance(value, int | float) and not isinstance(value, bool):
        try:
            number = float(value)
        except OverflowError:
            raise ValueError("a number too large for any weather") from None
    if not math.isfinite(number):
        raise ValueError(f"{shown(value)} is not a number")
    return number


def shown(value: object) -> str:
    """A value of a reply as a message quotes it: on one line, nothing in it that steers a terminal, cut short."""
    text = repr(value) if isinstance(value, str | int | float | None) else f"a {type(value).__name__}"
    return text if len(text) <= LONGEST_SHOWN else f"{text[: LONGEST_SHOWN - 4]} ..."


def in_a_line(words: object) -> str:
    """A provider's words for a person: on one line, nothing in them that steers a terminal, cut short."""
    plain = "".join(sign if sign.isprintable() else " " for sign in str(words))
    return " ".join(plain.split())[:LONGEST_QUOTE]


def utc(text: str) -> datetime:
    """A moment in UTC from ISO 8601 text. ValueError for other text, no offset, or a year outside YEARS."""
    moment = datetime.fromisoformat(text)
    if moment.tzinfo is None:
        raise ValueError(f"{shown(text)} has no offset from UTC")
    if moment.year not in YEARS:
        raise ValueError(f"{shown(text)} is in the year {moment.year}")
    return moment.astimezone(UTC)


def utc_or_none(value: object) -> datetime | None:
    """A moment in UTC; None for whatever `utc` refuses, null among it."""
    try:
        return utc(str(value))
    except ValueError:
        return None
