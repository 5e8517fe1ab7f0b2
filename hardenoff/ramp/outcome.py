"""What the plan says of one batch on one date: limits, the chosen route, what it earned, and the night."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Literal

from hardenoff.night import Judgement, SpotNight
from hardenoff.ramp.credit import Asked
from hardenoff.ramp.limits import DayLimits
from hardenoff.ramp.question import Route
from hardenoff.ramp.state import State
from hardenoff.ramp.table import DayTable, Gates
from hardenoff.records import Stage, Way

Blocked = Literal["weather", "rule", "unknown"]


@dataclass(frozen=True, slots=True)
class NightOutcome:
    """Where a batch spends the night that begins on a date, and the judgement of every spot for it."""

    allowed: bool
    """The rule (and the batch) let it stay out."""
    absent: bool
    """Nobody is there the next day to bring it in."""
    spots: Mapping[str, tuple[SpotNight | None, Judgement]]
    """Empty past the forecast."""
    chosen: str | None
    """The spot where it stays; None: inside."""
    blocked: Blocked | None = None
    """Why it is not spent outside though the rule and the low would let it: gusts or rain in the night, the
    limits of the next morning before anybody can carry, or hours that are missing then."""


@dataclass(frozen=True, slots=True)
class DayOutcome:
    """One batch on one date."""

    date: date
    stage: Stage
    state: State
    """At 00:00."""
    limits: DayLimits
    night: NightOutcome
    after: State
    table: DayTable | None = None
    """None on days that were not planned: not begun, nothing in hand, or planted."""
    bars: Gates | None = None
    """Of all spots."""
    route: Route | None = None
    asked: Asked | None = None
    times: tuple[int, ...] = ()
    moves_most: int = 0
    went_out: bool = False
    told: bool = False
    """Where it stood was told, not planned."""
    way: Way | None = None
    air_credit: float = 0.0
    sun_credit: float = 0.0

    @property
    def gates(self) -> tuple[Gates, ...]:
        """The gates of each spot."""
        return () if self.bars is None else self.bars.by_spot()

    @property
    def is_hold(self) -> bool:
        """Inside though it was its day: a limit or unknown data forbade the outing."""
        return self.could_move and not self.went_out and not self.told

    @property
    def could_move(self) -> bool:
        """Whether there was daylight, and a carer for the way out and back."""
        return self.asked is not None and self.asked.hours > 0.0 and self.moves_most >= 2 and len(self.times) >= 2
