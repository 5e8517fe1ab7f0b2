"""Records as plain values for JSON, and back by their annotations: every number, date and moment as it was."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict, is_dataclass
from datetime import date, datetime
from functools import cache
from types import NoneType
from typing import Any, get_args, get_origin, get_type_hints
from zoneinfo import ZoneInfo

Read = Callable[[Any, ZoneInfo], Any]


def to_plain(record: Any) -> Any:
    """A record with all that is in it as dicts, lists, texts and numbers."""
    return _plain(asdict(record))


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _plain(inner) for key, inner in value.items()}
    if isinstance(value, tuple | list):
        return [_plain(inner) for inner in value]
    return value.isoformat() if isinstance(value, date) else value


def from_plain(kind: Any, plain: Any, zone: ZoneInfo) -> Any:
    """The record of that kind, its moments in `zone`.

    Raises
    ------
    KeyError, TypeError, ValueError, AttributeError
        The values are not those of such a record.
    """
    return _reader(kind)(plain, zone)


@cache
def _reader(kind: Any) -> Read:
    """How values of an annotation are read: records, tuples, optional ones, dates; all others as they are."""
    if isinstance(kind, type) and is_dataclass(kind):
        fields = {name: _reader(hint) for name, hint in get_type_hints(kind).items()}
        return lambda plain, zone: kind(**{name: read(plain[name], zone) for name, read in fields.items()})
    if get_origin(kind) is tuple:
        one = _reader(get_args(kind)[0])
        return lambda plain, zone: tuple(one(each, zone) for each in plain)
    if NoneType in get_args(kind):
        (told,) = (_reader(each) for each in get_args(kind) if each is not NoneType)
        return lambda plain, zone: None if plain is None else told(plain, zone)
    if kind is datetime:
        return lambda plain, zone: datetime.fromisoformat(plain).astimezone(zone)
    if kind is date:
        return lambda plain, zone: date.fromisoformat(plain)
    return lambda plain, zone: plain
