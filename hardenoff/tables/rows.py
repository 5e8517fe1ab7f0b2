"""Reads a packaged CSV table into rows of words, and one sourced number out of a row."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, get_args

Mark = Literal["published", "common_practice", "ours"]
MARKS: tuple[str, ...] = get_args(Mark)


@dataclass(frozen=True, slots=True)
class Value:
    """A number with its unit, how well it is founded, and where it comes from."""

    value: float
    unit: str
    mark: str
    source: str


def read_rows(name: str) -> tuple[dict[str, str], ...]:
    """Rows of the packaged table `name` (a CSV file of this folder), as written, in order."""
    from importlib.resources import files  # slow to import, and not needed to print a help text

    text = files("hardenoff.tables").joinpath(name).read_text(encoding="utf-8")
    return tuple(csv.DictReader(text.splitlines()))


def sourced(row: Mapping[str, str], column: str = "value") -> Value:
    """The number in `column` of a row, with the row's unit, mark and source.

    Raises
    ------
    ValueError
        The number can't be read or the mark is none of `MARKS`: the packaged table is damaged.
    """
    if row["mark"] not in MARKS:
        raise ValueError(f"mark {row['mark']!r} is none of {MARKS}")
    return Value(float(row[column]), row["unit"], row["mark"], row["source"])
