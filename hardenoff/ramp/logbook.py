"""What was really done, day by day, in the planner's words: it beats what was planned.

The journal's lines become these records (`hardenoff.journal`); the planner knows nothing of files or lines.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Literal


@dataclass(frozen=True, slots=True)
class Stay:
    """A batch stood at an outdoor spot from one moment to another."""

    spot: str
    start: datetime
    end: datetime


@dataclass(frozen=True, slots=True)
class SunNoted:
    """The sun was seen at a spot from one moment to another, and not outside of them."""

    spot: str
    start: datetime
    end: datetime


@dataclass(frozen=True, slots=True)
class DayDone:
    """What was told of one batch and one date."""

    how: Literal["as_planned", "inside", "stays", "unsaid"]
    """`unsaid`: something was told of the day (sun, damage), but not where the batch stood."""
    stays: tuple[Stay, ...] = ()
    out_until: datetime | None = None
    """As planned, but fetched in only then."""
    sun: tuple[SunNoted, ...] = ()
    damage: bool = False
    """Damage was seen: the day's step is to be repeated, not passed."""


@dataclass(frozen=True, slots=True)
class BatchLog:
    """All that was told of one batch."""

    days: Mapping[date, DayDone] = field(default_factory=dict)
    planted_on: date | None = None
    finished_on: date | None = None


Logbook = Mapping[str, BatchLog]
"""By batch name; a batch without an entry was never spoken of."""

NOTHING_TOLD = BatchLog()
