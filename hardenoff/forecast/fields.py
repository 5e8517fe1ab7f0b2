"""Fields of a decoded reply whose shape nobody promised: an object, a number, a moment, or nothing."""

from __future__ import annotations

import math
from collections.abc import Mapping
from datetime import UTC, datetime

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
    if isinstance(value, int | float | str) and not isinstance(value, bool):
        try:
            number = float(value)
        except OverflowError:
            raise ValueError("a number too large for any weather") from None
    if not math.isfinite(number):
        raise ValueError(f"{value!r} is not a number")
    return number


def utc(text: str) -> datetime:
    """A moment in UTC from ISO 8601 text. ValueError for other text, no offset, or a year outside YEARS."""
    moment = datetime.fromisoformat(text)
    if moment.tzinfo is None:
        raise ValueError(f"{text!r} has no offset from UTC")
    if moment.year not in YEARS:
        raise ValueError(f"{text!r} is in the year {moment.year}")
    return moment.astimezone(UTC)


def utc_or_none(value: object) -> datetime | None:
    """A moment in UTC; None for whatever `utc` refuses, null among it."""
    try:
        return utc(str(value))
    except ValueError:
        return None
