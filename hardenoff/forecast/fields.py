"""Fields of a decoded reply whose shape nobody promised: an object, a number, a moment, or nothing."""

from __future__ import annotations

import math
from collections.abc import Mapping
from datetime import UTC, datetime


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


def utc_or_none(value: object) -> datetime | None:
    """A moment in UTC from ISO 8601 text with offset; None for null, other text, or a moment without offset."""
    try:
        moment = datetime.fromisoformat(str(value))
    except ValueError:
        return None
    try:
        return None if moment.tzinfo is None else moment.astimezone(UTC)
    except OverflowError:
        return None
