"""Questions at a terminal: asked again until the answer can be used, each with an option that answers it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

import typer

from hardenoff.records import UnitSystem

Value = TypeVar("Value")

SYSTEMS: dict[str, UnitSystem] = {"us": "us", "metric": "metric"}


def ask(question: str, read: Callable[[str], Value], default: str | None = None) -> Value:
    """The answer as `read` understands it; what it refuses is asked again with its words."""
    answer: Any = typer.prompt(question, default=default, value_proc=read, err=True, show_default=bool(default))
    return answer  # type: ignore[no-any-return]


def degrees(most: float, sides: str) -> Callable[[str], float]:
    """Reads an angle between -most and most; `sides` are the letters of its two ends, as in 83.02 W."""

    def read(text: str) -> float:
        value = angle(text, most, sides)
        if value is None:
            raise typer.BadParameter(
                f"a number from -{most:g} to {most:g}, as in 40.01, or with {sides[0]} or {sides[1]}"
            )
        return value

    return read


def angle(text: str, most: float, sides: str) -> float | None:
    """The degrees that a text means, with a comma or a point; None if it means none, or more than `most`."""
    from hardenoff.garden.meant import degrees_meant

    value = degrees_meant(text.replace(",", "."), *sides)
    return None if value is None or abs(value) > most else value


def zone(text: str) -> str:
    """Reads the name of a time zone, and offers the nearest one."""
    from hardenoff.garden.zones import closest_zone, is_zone

    if not is_zone(text):
        near = closest_zone(text)
        raise typer.BadParameter(f"did you mean {near}?" if near else "region/city, as in America/New_York")
    return text


def elevation(text: str) -> str | None:
    """Reads a length with its unit; nothing is an answer too."""
    from hardenoff.units import QuantityError, parse_length

    if not text.strip():
        return None
    try:
        parse_length(text)
    except QuantityError as fault:
        raise typer.BadParameter(f"{fault.what}; {fault.fix}") from fault
    return text.strip()


def units(text: str) -> UnitSystem:
    """Reads one of the two systems."""
    if text not in SYSTEMS:
        raise typer.BadParameter("us or metric")
    return SYSTEMS[text]


def crops(text: str) -> list[str]:
    """Reads crops with commas between them; each has to be in the table."""
    from hardenoff.garden.values import closest
    from hardenoff.tables import find_crop, load_crops

    named = [part.strip() for part in text.split(",") if part.strip()]
    for name in named:
        if find_crop(name.partition(":")[0]) is None:
            near = closest(name, (crop.name for crop in load_crops().values()))
            raise typer.BadParameter(f'no crop "{name}"' + (f"; did you mean {near}?" if near else ""))
    if not named:
        raise typer.BadParameter("at least one crop")
    return named
