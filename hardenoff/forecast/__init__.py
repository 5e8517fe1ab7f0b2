"""Forecasts: a provider's reply in, the hourly frame of `hours` out. One module a provider, one contract.

    reader     the seam: what to ask a provider, how to read its answer
    body       bytes -> JSON, with HTML, empty and cut-off bodies told apart
    frame      finish_hours: regular hours, bounds, notes, estimates
    open_meteo, ...   the providers
    saved      a reply or a bundle that someone kept
    checks     another place, too old
    registry   READERS, by key

Importing this package loads no pandas: the heavy names below are fetched when first used.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from hardenoff.forecast.hours import COLUMN_NAMES, COLUMNS, Column, Forecast, Origin
from hardenoff.forecast.reader import FORECAST, Reader, Reply, Request
from hardenoff.forecast.registry import READERS

if TYPE_CHECKING:
    from hardenoff.forecast.checks import check_age, check_place
    from hardenoff.forecast.frame import finish_hours
    from hardenoff.forecast.saved import Saved, read_saved, write_bundle

__all__ = [
    "COLUMNS",
    "COLUMN_NAMES",
    "FORECAST",
    "READERS",
    "Column",
    "Forecast",
    "Origin",
    "Reader",
    "Reply",
    "Request",
    "Saved",
    "check_age",
    "check_place",
    "finish_hours",
    "read_saved",
    "write_bundle",
]

_HEAVY = {
    "Saved": "saved",
    "check_age": "checks",
    "check_place": "checks",
    "finish_hours": "frame",
    "read_saved": "saved",
    "write_bundle": "saved",
}


def __getattr__(name: str) -> Any:
    if name in _HEAVY:
        return getattr(import_module(f"hardenoff.forecast.{_HEAVY[name]}"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
