"""What a trial is asked for and what comes of it: plain values, no pandas."""

from __future__ import annotations

from dataclasses import dataclass, fields
from datetime import date
from typing import Literal

Player = Literal["planner", "foresight", "chart", "thermometer", "straight"]
PLAYERS: tuple[Player, ...] = ("planner", "foresight", "chart", "thermometer", "straight")
"""The planner on that morning's forecast; the planner knowing the day; the rule by the calendar; the same with a
look at the thermometer; outside from the first day on."""

LONGEST_DAYS = 60
"""A run that is not through after so many days is given up, and listed."""


@dataclass(frozen=True, slots=True)
class Harm:
    """What the plants met outside, over a run: 0 without harm. None of it is damage as such."""

    check_degree_h: float = 0.0
    """Night air below the check limit, degree-hours."""
    leaf_degree_h: float = 0.0
    """Leaf below the harm limit at night, degree-hours."""
    day_degree_h: float = 0.0
    """Air by day below the rule's least air, degree-hours."""
    sun_h: float = 0.0
    """Direct sun beyond 1.25 times the common-practice table for that many days out, hours."""
    gust_h: float = 0.0
    """Gusts at the plant above the rule's limit, hours."""
    unknown_h: float = 0.0
    """Hours outside of which the file does not tell the air or the gusts: not counted anywhere above."""

    def plus(self, other: Harm) -> Harm:
        """The sum of both."""
        return Harm(*(getattr(self, one.name) + getattr(other, one.name) for one in fields(self)))

    @property
    def measures(self) -> dict[str, float]:
        """The five measures by name."""
        return {name: getattr(self, name) for name in MEASURES}

    @property
    def total(self) -> float:
        """All five, in their own units, added up."""
        return sum(self.measures.values())


MEASURES = ("check_degree_h", "leaf_degree_h", "day_degree_h", "sun_h", "gust_h")
TOLERANCE = {"check_degree_h": 1.0, "leaf_degree_h": 1.0, "day_degree_h": 1.0, "sun_h": 0.5, "gust_h": 0.5}
"""Up to so much more than the chart's, a measure counts as not above it."""


@dataclass(frozen=True, slots=True)
class Costs:
    """What a run asked of the carer."""

    nights_out: int = 0
    moves: int = 0
    minutes: float = 0.0
    days_held: int = 0
    false_alarm_days: int = 0
    """Held though the weather as it was would have let it out within every limit."""
    nights_held: int = 0
    """Kept in though the rule would have let it stay out."""
    false_alarm_nights: int = 0

    def plus(self, other: Costs) -> Costs:
        """The sum of both."""
        return Costs(*(getattr(self, one.name) + getattr(other, one.name) for one in fields(self)))


@dataclass(frozen=True, slots=True)
class RunResult:
    """One player, one batch, one carer, one first day, one seed."""

    player: Player
    crop: str
    carer: str
    start: date
    seed: int | None
    """None: forecasts that come true."""
    days: int | None
    """Days until hardened on sun and air (a chart: until its last row is done); None: not within 60."""
    harm: Harm
    costs: Costs


@dataclass(frozen=True, slots=True)
class Line:
    """All runs of one player with one crop, carer and kind of forecast."""

    player: Player
    crop: str
    carer: str
    noisy: bool
    runs: int
    finished: int
    days_median: float | None
    """Of the starts that can be finished; a run that was not through counts as longer than all, None if most
    were not."""
    days_tenth: float | None
    days_ninetieth: float | None
    harm_mean: Harm
    nights_mean: float
    moves_mean: float
    minutes_mean: float
    held_mean: float
    false_alarm_days_mean: float
    false_alarm_nights_mean: float


@dataclass(frozen=True, slots=True)
class Verdict:
    """The planner against the charts, for one crop, carer and kind of forecast."""

    crop: str
    carer: str
    noisy: bool
    pairs: int
    """Start x seed."""
    no_worse: int
    """Pairs with no measure above the fixed chart's."""
    worse_by_measure: dict[str, int]
    heavy: int
    """Pairs in which the fixed chart's five measures add up to more than 10."""
    heavy_quartered: int
    """Of them those in which the planner's add up to a quarter at most."""
    heavy_measures: int
    """Measures, pair by pair, of which the fixed chart has more than 10."""
    heavy_measures_quartered: int
    worst: tuple[tuple[date, int | None, str, float, float], ...]
    """Pairs that are worse: start, seed, measure, the planner's, the chart's."""
    unfinishable: tuple[date, ...]
    """Starts that no plan finishes within 60 days, not even one that knows the weather."""
    planner_median: float | None
    thermometer_median: float | None
    planner_median_both: float | None
    """Over the starts and seeds at which the thermometer's chart is through within 60 days."""
    thermometer_median_both: float | None


@dataclass(frozen=True, slots=True)
class Trial:
    """A whole trial at one place."""

    place: str
    latitude: float
    longitude: float
    timezone: str
    weather: str
    """The file, and what it is."""
    notes: tuple[str, ...]
    """What the file lacks and what was put in its place."""
    first_start: date
    last_start: date
    starts: int
    seeds: tuple[int, ...]
    forecasts: str
    """How far the forecasts were off, in words."""
    lines: tuple[Line, ...]
    verdicts: tuple[Verdict, ...]
    runs: tuple[RunResult, ...]
