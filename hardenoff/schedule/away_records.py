"""What a comparison of ways through an absence is made of: frozen, plain values, as in `records`."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal

from hardenoff.records import Span, UnitSystem
from hardenoff.schedule.records import BatchNight, ForecastNote, Move, Reason

AwayWay = Literal["hold", "leave", "sitter"]
"""Inside all the days; outside at one spot with nobody there; carried by somebody else."""


@dataclass(frozen=True, slots=True)
class SpotTried:
    """Whether a batch can be left at a spot; where it can't, the first hour and limit that fails."""

    spot: str
    holds: bool
    """No limit is broken by the forecast, also if the sky clears."""
    failed_at: datetime | None = None
    why: Reason | None = None


@dataclass(frozen=True, slots=True)
class AwayOption:
    """One way through an absence for one batch."""

    way: AwayWay
    allowed: bool
    """False: a limit would be broken, or too little is known."""
    hardened_on: date | None
    """Earliest. None: not in sight, or the way is not allowed."""
    days_lost: int | None
    """Against being at home; None where either date is unknown."""
    moves: int
    """Carries: the sitter's on the days away; one's own out and in for a batch that is left."""
    minutes: float
    nights_out: int
    odds_harm: float | None
    """Odds of harm in the worst of these nights: that of all together is at least this. None: no night outside."""
    worst_night: date | None
    """Its evening."""
    unknown_nights: tuple[date, ...]
    """Evenings of nights of the absence that are past the forecast or have holes."""
    reasons: tuple[Reason, ...]
    """The risk in words, with the number behind it; why it is not allowed."""
    spot: str | None = None
    put_at: datetime | None = None
    fetch_at: datetime | None = None
    """From when on it can be fetched."""
    spots: tuple[SpotTried, ...] = ()
    """Every spot that was tried."""


@dataclass(frozen=True, slots=True)
class AwayBatch:
    """One batch: when it would be hardened with its grower at home, the three ways, and the one to take."""

    batch: str
    crop: str
    trays: int
    home: date | None
    """Hardened with no absence, earliest; None: not in sight."""
    hardened_before: bool
    """Hardened already when the absence begins; then `hardened_on` is when it is so again."""
    options: tuple[AwayOption, ...]
    best: AwayWay

    def option(self, way: AwayWay) -> AwayOption:
        """One of the three ways."""
        return next(option for option in self.options if option.way == way)


@dataclass(frozen=True, slots=True)
class SitterDay:
    """What the sitter does on one date, and where each batch spends the night after it."""

    date: date
    known: bool
    """False: past the forecast; then all that is outside comes in, and nothing goes out."""
    moves: tuple[Move, ...]
    nights: tuple[BatchNight, ...]


@dataclass(frozen=True, slots=True)
class AwayComparison:
    """Everything the comparison's views need."""

    now: datetime
    timezone: str
    place: str
    units: UnitSystem
    forecast: ForecastNote
    first: date
    last: date
    """Both away, with the nights between."""
    sitter: tuple[Span, ...]
    """When the sitter is there, on each of the days."""
    batches: tuple[AwayBatch, ...]
    stay_put: tuple[str, ...]
    """Batches that are not carried in these days: inside still, or planted out."""
    sheet: tuple[SitterDay, ...]
    garden_line: str | None
    """What to write under [carer] so that the plan knows of the absence; None: it is there."""
