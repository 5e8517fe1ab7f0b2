"""The garden file: garden.toml in, frozen records out, every fault of it told at once.

    source, broken    the file as text; what to say when it is no TOML
    values, times, meant    one value at a time, and what one in another notation may have meant
    kinds, schema, asked    every table and key: what it means, how its value is written
    faults            the collector: each fault with its line, table and key
    spots, batches, carer, zones, skyline    tables -> records, and what must fit between them
    read              read_garden
    check             check_garden: the faults, and what would help
    starter           a first garden file

Importing this package loads neither pydantic nor tomlkit: the names below are fetched when first used.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from hardenoff.garden.check import Advice, GardenReport, check_garden
    from hardenoff.garden.read import garden_from_text, read_garden
    from hardenoff.garden.starter import starter_text

__all__ = [
    "Advice",
    "GardenReport",
    "check_garden",
    "garden_from_text",
    "read_garden",
    "starter_text",
]

_HOMES = {
    "Advice": "check",
    "GardenReport": "check",
    "check_garden": "check",
    "garden_from_text": "read",
    "read_garden": "read",
    "starter_text": "starter",
}


def __getattr__(name: str) -> Any:
    if name in _HOMES:
        return getattr(import_module(f"hardenoff.garden.{_HOMES[name]}"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
