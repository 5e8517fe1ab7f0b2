"""The frozen words that modules share: place, spot, crop, rule, batch, carer, garden.

SI inside: metres, degrees C, m/s, hours; bearings in degrees from true north, clockwise. A name ends in
its unit where a mix-up is likely. `None` means the grower (or the publication) said nothing.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, time
from math import ceil
from typing import Literal
from zoneinfo import ZoneInfo

INSIDE = "inside"
"""The place that is always there: the room, the lamp, the windowsill."""

Background = Literal["lamp", "window", "greenhouse", "bought"]
InsideLight = Literal["lamp", "window", "dim"]
UnitSystem = Literal["us", "metric"]
Stage = Literal["sown", "inside", "ramp", "hardened", "planted"]
Way = Literal["longer", "sheltered"]
CarryingCost = Literal["cheap", "fair", "dear"]
"""What an evening of carrying for nothing is to the grower."""
Confidence = Literal["known", "assumed"]


@dataclass(frozen=True, slots=True)
class Place:
    """Where the garden is. Local dates come from `timezone`, never from the machine's zone."""

    name: str
    latitude: float
    longitude: float
    elevation_m: float | None
    timezone: str

    @property
    def tz(self) -> ZoneInfo:
        """The place's zone."""
        return ZoneInfo(self.timezone)


# --- spots -----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Roof:
    """A flat rectangle above the plant; lengths from the plant, `left`/`right` as seen looking out."""

    above_m: float
    front_m: float
    back_m: float
    left_m: float
    right_m: float
    open_to_deg: float
    house: bool = True
    """A solid wall along the back edge, higher and longer than any ray."""


@dataclass(frozen=True, slots=True)
class Wall:
    """A wall square to the bearing `towards_deg`; endless to a side whose length is None."""

    towards_deg: float
    distance_m: float
    height_m: float
    left_m: float | None = None
    right_m: float | None = None


@dataclass(frozen=True, slots=True)
class Tree:
    """A crown as a box of bearings and heights (angles); `leafy` and `bare` are the shares of light that pass."""

    from_deg: float
    to_deg: float
    bottom_deg: float
    top_deg: float
    leafy: float
    bare: float
    leaf_out: tuple[int, int]
    leaf_fall: tuple[int, int]


@dataclass(frozen=True, slots=True)
class SunSeen:
    """The sun was seen at the spot on `on` from `start` until `end` (the place's wall clock)."""

    on: date
    start: time
    end: time


@dataclass(frozen=True, slots=True)
class ShelterArc:
    """Wind from these bearings arrives with this share of its open speed at the same height."""

    from_deg: float
    to_deg: float
    share: float


@dataclass(frozen=True, slots=True)
class Spot:
    """Somewhere a tray can stand. Heights are above the plant's own height."""

    name: str
    roof: Roof | None = None
    walls: tuple[Wall, ...] = ()
    trees: tuple[Tree, ...] = ()
    skyline: tuple[tuple[float, float], ...] = ()
    """(bearing, height) in degrees, sorted by bearing; straight lines between, closed round the compass."""
    sun_seen: tuple[SunSeen, ...] = ()
    shade: float = 1.0
    """Share of light that passes all shade layers (their transmissions multiplied)."""
    shelter: tuple[ShelterArc, ...] = ()
    """Empty: open. One number in the garden file becomes one arc of 0 to 360 degrees."""
    holds: int | None = None
    colder_c: float = 0.0
    """Known offset of the night low: positive = this spot is colder than the forecast by so much."""
    cover_c: float | None = None
    """Night gain of a cover kept here; None = no cover."""
    like: str | None = None
    """The spot whose geometry this one has and whose room (`holds`) it shares."""


# --- crops and rules -------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Crop:
    """What the planner needs to know of a crop; every value is in `tables/crop_values.csv` with its source."""

    key: str
    name: str
    hardy: bool
    """Gains cold tolerance in cool keeping; warm-loving crops earn no frost credit."""
    weeks_to_transplant: tuple[float, float]
    check_below_tender_c: float
    check_below_hardened_c: float
    harm_below_tender_c: float
    harm_below_hardened_c: float
    least_air_c: float
    """Least air temperature by day for an outing, where the rule gives none."""
    heat_shade_c: float
    heat_in_c: float
    sun_after_cold_night_c: float
    """After a night spent outside below check: no direct sun until the air there reaches this."""
    heavy_rain_mm_h: float
    rule: str
    """Key of the ramp rule used when the batch names none."""


@dataclass(frozen=True, slots=True)
class RuleRow:
    """One ramp-day of a rule. None = the publication gives no number; the light cap decides there."""

    outdoor_hours: float | None
    """Sun-up hours outside; 24 = all day."""
    direct_sun_hours: float | None
    open_share: float | None
    """Share of open light, for plans told in shade steps (0.5 = under a 50 % cloth)."""
    gust_m_s: float | None
    """At the plant."""
    least_air_c: float | None
    nights_out: bool
    least_night_c: float | None


@dataclass(frozen=True, slots=True)
class Rule:
    """A ramp: what is allowed on each ramp-day. `tables/rule_values.csv` holds them with their source."""

    key: str
    title: str
    source: str
    rows: tuple[RuleRow, ...]
    light_growth: float
    """r of the light cap C = (1 + r) A + d0."""
    light_step_mol: float
    """d0 of the light cap, mol/m2/d."""

    @property
    def length(self) -> int:
        """Ramp-days from first outing to hardened."""
        return len(self.rows)


# --- who, what, when -------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Span:
    """From one minute of the wall clock's day to another (0 to 1440), when someone is there to carry."""

    start_min: int
    end_min: int


@dataclass(frozen=True, slots=True)
class Carer:
    """When someone can carry, and how much."""

    week: tuple[tuple[Span, ...], ...]
    """Seven entries, Monday first."""
    dates: Mapping[date, tuple[Span, ...]] = field(default_factory=dict)
    away: tuple[tuple[date, date], ...] = ()
    """First and last day, both away, with the nights between."""
    moves_per_day: int = 4
    trays_per_trip: int = 2
    minutes_per_trip: float = 3.0

    def minutes(self, trays: int) -> float:
        """How long one move of so many trays takes."""
        return ceil(trays / self.trays_per_trip) * self.minutes_per_trip

    def spans(self, on: date) -> tuple[Span, ...]:
        """The move windows of a local date; none on a day away."""
        if any(first <= on <= last for first, last in self.away):
            return ()
        return self.dates.get(on, self.week[on.weekday()])


@dataclass(frozen=True, slots=True)
class Inside:
    """Where they wait between outings."""

    night_c: float = 17.0
    day_c: float = 20.0
    light: InsideLight = "lamp"


@dataclass(frozen=True, slots=True)
class Lamp:
    """The lamp they are raised under; centred on 14:00 unless `start` is given."""

    ppfd: float
    """umol/m2/s"""
    hours: float
    start: time | None = None


DEFAULT_LAMP = Lamp(ppfd=150.0, hours=16.0)
"""Light of a shelf of tubes or plain LEDs, where a lamp is spoken of and not described (ours)."""


@dataclass(frozen=True, slots=True)
class HandState:
    """State written by hand, as at 00:00 local on `on`; it wins over all else."""

    on: date
    air: float
    sun: float
    cold: float
    light_mol: float | None


@dataclass(frozen=True, slots=True)
class Batch:
    """Plants of one crop and age that move together."""

    name: str
    crop: Crop
    rule: Rule
    plants: int | None = None
    trays: int = 1
    sown: date | None = None
    container: str | None = None
    lamp: Lamp | None = None
    plant_out_at: str | None = None
    """Name of a spot; None: the spot with most open sky."""
    start: date | None = None
    """First outing."""
    state: HandState | None = None
    background: Background = "lamp"
    """What it is used to (`from` in the garden file)."""
    nights: bool = True
    """False: never stays out at night."""
    waits: str | None = None
    """A cool spot where it waits between outings."""
    way: Way | None = None
    """Keep to one of the two ways up; None: whichever does more."""


@dataclass(frozen=True, slots=True)
class ForecastSettings:
    """Sources in order of trust and how to reach them."""

    sources: tuple[str, ...] = ()
    """Empty: the default order for the place."""
    contact: str | None = None
    base_urls: Mapping[str, str] = field(default_factory=dict)
    exact_place: bool = False
    """Send full coordinates instead of two decimals."""


@dataclass(frozen=True, slots=True)
class Risk:
    """The odds the grower accepts."""

    last_frost: float = 0.10
    check: float = 0.5
    harm: float = 0.1


@dataclass(frozen=True, slots=True)
class Garden:
    """The whole garden file, checked."""

    place: Place
    carer: Carer
    inside: Inside
    spots: tuple[Spot, ...]
    """Outdoor spots, in the file's order; `inside` is not among them."""
    batches: tuple[Batch, ...]
    forecast: ForecastSettings = field(default_factory=ForecastSettings)
    risk: Risk = field(default_factory=Risk)
    units: UnitSystem = "metric"
    climate_daily: str | None = None
    """Path of a daily-minimum series of one's own (CSV `date,min_c`)."""

    def spot(self, name: str) -> Spot:
        """The outdoor spot of that name. KeyError if there is none."""
        for spot in self.spots:
            if spot.name == name:
                return spot
        raise KeyError(name)
