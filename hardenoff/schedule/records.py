"""What a schedule is made of: frozen, plain values that every view renders and none computes with.

SI inside, times tz-aware in the place's zone. No pandas here, so that a kept schedule can be shown without it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal

from hardenoff.records import Confidence as Confidence
from hardenoff.records import Stage as Stage
from hardenoff.records import UnitSystem
from hardenoff.records import Way as Way

DayVerdict = Literal["out", "hold", "in"]
NightVerdict = Literal["out", "cover", "in", "unknown"]
NightBecause = Literal["weather", "rule", "unknown", "absent", "none"]
NightAction = Literal["none", "bring_in", "cover", "uncover"]
NightDecider = Literal["check", "harm", "none"]
"""The odds that are more than the grower risks, the published limit's before the leaf's; none: neither are."""
OffsetRegime = Literal["clear", "other"]
"""Clear and calm nights, and all others: what was learned of the ones is not applied to the others."""
Certainty = Literal["forecast", "odds", "beyond"]
ForecastStatus = Literal["fresh", "cached", "stale", "file", "none"]
SURE_DAYS = 6
"""Days and nights with verdicts to lean on, today first; past them there are odds (ours)."""


@dataclass(frozen=True, slots=True)
class Reason:
    """Why: a stable code for programs, a sentence for people, the number behind it and its source."""

    code: str
    text: str
    value: float | None = None
    limit: float | None = None
    unit: str | None = None
    source: str | None = None


@dataclass(frozen=True, slots=True)
class Placement:
    """A batch stands at an outdoor spot from one quarter hour to another."""

    spot: str
    start: datetime
    end: datetime


@dataclass(frozen=True, slots=True)
class Limits:
    """The most (and for air the least) of one day. None = the rule gives no number there."""

    outdoor_hours: float | None
    direct_sun_hours: float | None
    light_mol: float
    gust_m_s: float | None
    """At the plant."""
    least_air_c: float
    nights_out: bool


@dataclass(frozen=True, slots=True)
class StateAt:
    """What a batch has got used to, as at 00:00 local of the day."""

    air: float
    sun: float
    cold: float
    light_mol: float
    ramp_days: float
    confidence: Confidence


@dataclass(frozen=True, slots=True)
class NightAnswer:
    """One batch, one night. Numbers are None where the night is unknown."""

    evening: date
    morning: date
    spot: str | None
    """The outdoor spot the numbers are for: where it stands if it stays out."""
    air_low_c: float | None
    """Forecast air + the spot's known offset."""
    leaf_low_c: float | None
    low_1_in_10_c: float | None
    """The spot's air: one night in ten is colder than this."""
    check_below_c: float
    harm_below_c: float
    odds_check: float | None
    odds_harm: float | None
    verdict: NightVerdict
    because: NightBecause
    action: NightAction
    low_at: datetime | None = None
    forecast_low_c: float | None = None
    """The forecast's own low, before the spot's offset."""
    offset_c: float | None = None
    """What was taken off it for the spot's air, positive = colder: learned from own lows, else `colder`."""
    offset_nights: int = 0
    """Logged nights of this kind that the offset stands on; 0: it was not learned."""
    offset_regime: OffsetRegime | None = None
    decided_by: NightDecider | None = None
    """None: the night is unknown."""

    @property
    def is_unknown(self) -> bool:
        """The weather is unknown, and that decided."""
        return self.verdict == "unknown" and self.because == "unknown"


@dataclass(frozen=True, slots=True)
class StripHour:
    """One hour of the day's strip: where the batch stands and what reaches it there."""

    at: datetime
    spot: str
    sun_share: float
    """Share of the hour with direct sun on the batch if clear, 0 to 1 (0 inside)."""
    air_c: float | None
    gust_m_s: float | None
    """Forecast gust at 10 m."""
    gust_at_plant_m_s: float | None


@dataclass(frozen=True, slots=True)
class BatchDay:
    """One batch, one local date: the day's answer with its reasons."""

    batch: str
    crop: str
    trays: int
    stage: Stage
    verdict: DayVerdict | None
    """None beyond the forecast."""
    way: Way | None
    placements: tuple[Placement, ...]
    outdoor_hours: float
    direct_sun_hours_likely: float | None
    direct_sun_hours_if_clear: float
    limits: Limits
    light_mol_likely: float | None
    light_mol_if_clear: float
    light_mol_outdoor_likely: float | None
    state: StateAt
    night: NightAnswer | None
    """None beyond the forecast."""
    rule: str
    rule_source: str
    reasons: tuple[Reason, ...] = ()
    warnings: tuple[Reason, ...] = ()
    strip: tuple[StripHour, ...] = ()
    """Filled for today only."""
    hold_costs: str | None = None
    """What a hold costs, as 'finish Thu 6 May -> Fri 7 May'."""
    water_by: datetime | None = None


@dataclass(frozen=True, slots=True)
class Move:
    """One carry: these batches go from one place to another at one time."""

    at: datetime
    batches: tuple[str, ...]
    trays: int
    origin: str
    target: str
    minutes: float | None = None
    """Trips x minutes a trip, with the trays of all these batches on as few trips as will do."""


@dataclass(frozen=True, slots=True)
class Day:
    """All batches of one local date."""

    date: date
    certainty: Certainty
    batches: tuple[BatchDay, ...]


@dataclass(frozen=True, slots=True)
class Criterion:
    """One thing that must be so before a batch is planted out: where it stands, and where it must stand."""

    code: str
    text: str
    value: float | None = None
    limit: float | None = None
    unit: str | None = None
    met: bool | None = None
    """None: not known."""
    at_most: bool = False
    """The limit is the most; else the least."""


@dataclass(frozen=True, slots=True)
class GoodEnough:
    """The first evening on which planting out would do, and what would still be missing then."""

    at: datetime | None
    """None: no such evening in the forecast, and `reason` says why."""
    missing: tuple[Criterion, ...] = ()
    reason: Reason | None = None


@dataclass(frozen=True, slots=True)
class Missed:
    """A spell of days inside that ends yesterday, and what it cost."""

    days: int
    level_before: float
    level_now: float
    """Ramp-days."""
    finish_without: date | None
    finish_now: date | None


@dataclass(frozen=True, slots=True)
class HardenedBy:
    """A date, and the members of an ensemble in which a batch is hardened by then."""

    on: date
    members: int


@dataclass(frozen=True, slots=True)
class FinishOdds:
    """When a batch is hardened if the air goes as in each member of an ensemble."""

    members: int
    half: HardenedBy | None
    nine_in_ten: HardenedBy | None
    """The first date for so many of them; None: so many never get there within the days looked at."""
    ever: int
    """Members in which it is hardened within the days looked at."""
    looked_until: date
    apart_until: date
    """The last date on which the members differ; from then on all have the forecast's air."""


@dataclass(frozen=True, slots=True)
class Finish:
    """When a batch is hardened and when it can be planted out; None = not known, or never under this rule."""

    batch: str
    earliest: date | None
    likely: date | None
    latest: date | None
    plant_out: date | None
    wait_until: date | None = None
    """A later first outing that would finish sooner, if there is one (nothing has been started yet)."""
    reasons: tuple[Reason, ...] = ()
    criteria: tuple[Criterion, ...] = ()
    """As of today; empty before the first outing and after planting."""
    good_enough: GoodEnough | None = None
    """None after planting."""
    missed: Missed | None = None
    odds: FinishOdds | None = None
    """None: not asked for, too few members, or hardened or planted before today."""


@dataclass(frozen=True, slots=True)
class BatchNight:
    """One batch in the cold watch."""

    batch: str
    crop: str
    trays: int
    stage: Stage
    night: NightAnswer
    reasons: tuple[Reason, ...] = ()


@dataclass(frozen=True, slots=True)
class WatchedNight:
    """One night with all its batches; the running one comes before the coming one."""

    evening: date
    morning: date
    running: bool
    batches: tuple[BatchNight, ...]


@dataclass(frozen=True, slots=True)
class Change:
    """What moved since the last run, and why."""

    batch: str
    what: str
    was: str
    now: str
    why: str


@dataclass(frozen=True, slots=True)
class ForecastNote:
    """What the schedule was made from."""

    provider: str | None
    issued_at: datetime | None
    fetched_at: datetime | None
    age_hours: float | None
    status: ForecastStatus
    attribution: str | None
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Schedule:
    """Everything a view needs: `days[0]` is today."""

    now: datetime
    date: date
    timezone: str
    place: str
    units: UnitSystem
    forecast: ForecastNote
    moves: tuple[Move, ...]
    """Today's carries in the order they are walked."""
    days: tuple[Day, ...]
    finishes: tuple[Finish, ...]
    nights: tuple[WatchedNight, ...]
    changes: tuple[Change, ...] = ()

    @property
    def carrying_minutes(self) -> float | None:
        """Labour of today's carries; None where one of them is not known."""
        known = [move.minutes for move in self.moves if move.minutes is not None]
        return sum(known) if len(known) == len(self.moves) else None

    @property
    def needs_hands(self) -> bool:
        """Something has to be brought in or covered, or the weather is unknown while a batch is due to be out."""
        due_out = {batch.batch for batch in self.days[0].batches if batch.limits.nights_out}
        return any(
            one.night.action in ("bring_in", "cover") or (one.batch in due_out and one.night.is_unknown)
            for one in self._watched
        )

    @property
    def anything_to_do(self) -> bool:
        """As `needs_hands`, and taking a cover off counts too."""
        return self.needs_hands or any(one.night.action == "uncover" for one in self._watched)

    @property
    def _watched(self) -> tuple[BatchNight, ...]:
        return tuple(one for night in self.nights for one in night.batches)
