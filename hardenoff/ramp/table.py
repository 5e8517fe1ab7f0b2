"""One batch, one day: what each place offers up to each quarter hour, and which quarter hours are barred.

Every quantity adds up over time, so running totals make the value of any stay a difference of two numbers.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from enum import IntEnum

import numpy as np

from hardenoff.ramp.limits import DayLimits
from hardenoff.ramp.scene import Bools, Floats, Scene, SpotTrack
from hardenoff.records import Crop

INSIDE_AT = 0
"""Index of `inside` among the places of a day; spots follow in the garden's order."""


class Sum(IntEnum):
    """Rows of the running totals; those that the search compares by come first."""

    HOURS = 0
    """Sun-up hours outside."""
    SUN_CLEAR = 1
    SUN_LIKELY = 2
    SUN_BAND = 3
    LIGHT_MOST = 4
    """mol/m2, lamp included."""
    LIGHT_OUT = 5
    """Likely mol/m2 outdoors."""
    STRAIN = 6
    """Score lost hour by hour outside: below 15 C, and in gusts near the limit."""
    BARRED = 7
    """Quarter hours that a gate forbids."""
    LIGHT_LIKELY = 8
    """Likely mol/m2, lamp included."""
    GUST = 9
    """Hours outside, each times the gust at the plant [m/s] to the power by which gusts strain."""
    DARK_HOURS = 10
    """Hours outside with the sun down: to tell the earlier home of two equals."""
    UNKNOWN = 11
    """Quarter hours without forecast radiation."""


COOL_C, COOL_HOUR_COST = 15.0, 0.01
"""Score lost for an hour outside below so much (ours)."""
GUST_HOUR_COST, GUST_POWER = 0.1, 4
"""Score lost for an hour with gusts at the limit; less by this power the further below it they are: a forecast of
gusts is rough, so the calmer of two spots is worth a little (ours)."""
LEE_SHARE = 0.5
"""Under a wind alert only spots that let no more of the wind through than this are open (ours)."""


@dataclass(frozen=True, slots=True)
class Margins:
    """What the gates keep back from a forecast; nothing when the weather was measured."""

    air_c: float = 0.6
    """Half a standard deviation of a day's temperature: the least air of a day is a limit of growth (ours)."""
    gust: float = 1.5
    """Factor on forecast gusts: nineteen of twenty stay within it, if they scatter by 0.25 in logarithm (ours)."""


@dataclass(frozen=True, slots=True, eq=False)
class Gates:
    """Why a spot is barred, quarter hour by quarter hour; True = barred. `[quarter]`, or `[spot, quarter]`."""

    air_unknown: Bools
    gust_unknown: Bools
    cold: Bools
    """Below the day's least air temperature, with the margin."""
    chilly: Bools
    """Below the check limit, or not known: too cold for what the night left outside."""
    heat: Bools
    gust: Bools
    rain: Bools
    chilled: Bools
    full: Bools

    @property
    def by_night(self) -> Bools:
        """The gates that hold while the night's own verdict stands for cold and for missing temperatures."""
        return self.gust_unknown | self.gust | self.rain | self.full | self.heat

    @property
    def by_day(self) -> Bools:
        """All of them."""
        return self.by_night | self.air_unknown | self.cold | self.chilled

    def carried(self, dawn: int) -> Bools:
        """For a stay that the night left outside: until an hour after sunrise the night's verdict stands for the
        cold, then until noon the check limit, then the day's least temperature."""
        noon, hour_after = self.cold.shape[-1] // 2, max(dawn + 4, 0)
        morning, bars = self.by_night | self.chilled, self.by_day
        bars[..., :noon] = morning[..., :noon] | self.chilly[..., :noon]
        bars[..., :hour_after] = morning[..., :hour_after]
        return bars

    def by_spot(self) -> tuple[Gates, ...]:
        """One for each spot of several."""
        columns = [getattr(self, each.name) for each in fields(self)]
        return tuple(Gates(*(column[spot] for column in columns)) for spot in range(len(self.cold)))

    @property
    def unknown(self) -> Bools:
        """Temperature or gust is missing."""
        return self.air_unknown | self.gust_unknown


@dataclass(frozen=True, slots=True, eq=False)
class DayTable:
    """Running totals of a day: `totals[sum, place, quarter]`, quarter 0 to n."""

    names: tuple[str, ...]
    """Places; the first is `inside`."""
    totals: Floats
    barred_overnight: Floats
    """BARRED for a stay that lasts through the night: after sunset the night's verdict stands for the cold."""
    barred_carried: Floats
    """BARRED for a stay carried over from the night (`Gates.carried`)."""
    quarters: int
    dusk: int
    """First quarter hour after sunset, counted from the day's begin."""


def gates(
    scene: Scene,
    day: int,
    tracks: Sequence[SpotTrack],
    crop: Crop,
    limits: DayLimits,
    margins: Margins,
    *,
    chilled: bool,
    full: Sequence[Bools] | None = None,
) -> Gates:
    """Gates `[spot, quarter]` of some spots on one day.

    `chilled`: the night before was spent outside below the check limit. `full`: each spot's quarter hours without
    room, none where nothing else stands.
    """
    at = scene.slots(day)
    air, rain = scene.air_c[at], scene.rain_mm_h[at]
    gust = np.array([track.gust_m_s[at] for track in tracks])
    sunny = np.array([track.sun_clear_h[at] for track in tracks]) > 0.0
    open_sky = np.array([[track.spot.roof is None] for track in tracks])
    never = np.zeros_like(sunny)
    with np.errstate(invalid="ignore"):
        hot = air + margins.air_c
        wet = ~(rain < crop.heavy_rain_mm_h) | scene.storm[at]
        return Gates(
            air_unknown=np.isnan(air) | never,
            gust_unknown=np.isnan(gust),
            cold=(air - margins.air_c < limits.least_air_c) | never,
            chilly=~(air >= limits.check_below_c) | never,
            heat=(hot > crop.heat_in_c) | (((hot > crop.heat_shade_c) | scene.heat_alert[at]) & sunny),
            gust=(gust * margins.gust > limits.gust_m_s) | _alerted_wind(scene, at, tracks),
            rain=wet & open_sky,
            chilled=~np.logical_or.accumulate(air >= crop.sun_after_cold_night_c) & sunny if chilled else never,
            full=never if full is None else np.array(full),
        )


def _alerted_wind(scene: Scene, at: slice, tracks: Sequence[SpotTrack]) -> Bools | bool:
    """Under a wind alert only the lee is open."""
    if not scene.wind_alert[at].any():
        return False
    exposed = [[max((arc.share for arc in track.spot.shelter), default=1.0) > LEE_SHARE] for track in tracks]
    lee: Bools = scene.wind_alert[at] & np.array(exposed)
    return lee


def day_table(
    scene: Scene, day: int, bars: Gates, gust_m_s: float, indoor_mol: Floats, waits: SpotTrack | None
) -> DayTable:
    """Running totals of all places on one day.

    `bars`: the gates of all spots; `gust_m_s`: the gust limit at the plant; `indoor_mol`: light of each quarter
    hour inside [mol/m2]; `waits`: the spot that stands for `inside`.
    """
    at = scene.slots(day)
    quarters = at.stop - at.start
    if day not in scene.outdoors:
        scene.outdoors[day] = _outdoors(scene, day)
    totals = scene.outdoors[day].copy()
    totals[Sum.STRAIN] += GUST_HOUR_COST * totals[Sum.GUST] / gust_m_s**GUST_POWER
    if waits is None:
        totals[[Sum.LIGHT_MOST, Sum.LIGHT_LIKELY], INSIDE_AT, 1:] = np.cumsum(indoor_mol)
    else:
        dim = np.isnan(waits.light_likely_mol[at])
        totals[Sum.LIGHT_MOST, INSIDE_AT, 1:] = np.cumsum(waits.light_most_mol[at])
        totals[Sum.LIGHT_LIKELY, INSIDE_AT, 1:] = np.cumsum(np.where(dim, 0.0, waits.light_likely_mol[at]))
        totals[Sum.UNKNOWN, INSIDE_AT, 1:] = np.cumsum(dim)
    dusk, dawn = scene.sunsets[day] - at.start, scene.sunrises[day] - at.start
    barred = np.zeros((3, len(scene.tracks) + 1, quarters))
    barred[0, 1:] = by_day = bars.by_day
    barred[1, 1:] = by_day
    barred[1, 1:, dusk:] = bars.by_night[:, dusk:]
    barred[2, 1:] = bars.carried(dawn)
    totals[Sum.BARRED], overnight, carried = _running(barred)
    return DayTable(
        names=("inside", *(track.spot.name for track in scene.tracks)),
        totals=totals,
        barred_overnight=overnight,
        barred_carried=carried,
        quarters=quarters,
        dusk=dusk,
    )


def _outdoors(scene: Scene, day: int) -> Floats:
    """Running totals of all spots, whatever stands there; nothing is barred, and nothing is inside."""
    at, tracks = scene.slots(day), scene.tracks
    steps = np.zeros((len(Sum), len(tracks) + 1, at.stop - at.start))
    likely_h, likely_mol, most_mol, clear_h, band_h, gust = (
        np.array([getattr(track, name)[at] for track in tracks])
        for name in (
            "sun_likely_h",
            "light_likely_mol",
            "light_most_mol",
            "sun_clear_h",
            "sun_band_h",
            "gust_m_s",
        )
    )
    unknown = np.isnan(likely_h) | np.isnan(likely_mol)
    hours_up = scene.sun_up[at] / 4.0
    with np.errstate(invalid="ignore"):
        cool = (scene.air_c[at] < COOL_C) / 4.0
    steps[Sum.HOURS, 1:] = hours_up
    steps[Sum.SUN_CLEAR, 1:] = clear_h
    steps[Sum.SUN_LIKELY, 1:] = np.where(unknown, 0.0, likely_h)
    steps[Sum.SUN_BAND, 1:] = band_h
    steps[Sum.LIGHT_MOST, 1:] = most_mol
    steps[[Sum.LIGHT_OUT, Sum.LIGHT_LIKELY], 1:] = np.where(unknown, 0.0, likely_mol)
    steps[Sum.STRAIN, 1:] = COOL_HOUR_COST * cool
    steps[Sum.DARK_HOURS, 1:] = 0.25 - hours_up
    steps[Sum.GUST, 1:] = np.nan_to_num(gust) ** GUST_POWER / 4.0
    steps[Sum.UNKNOWN, 1:] = unknown & scene.sun_up[at]
    return _running(steps)


def _running(steps: Floats) -> Floats:
    """Totals up to, not including, each quarter hour; one more entry than steps."""
    totals = np.zeros((*steps.shape[:-1], steps.shape[-1] + 1))
    np.cumsum(steps, axis=-1, out=totals[..., 1:])
    return totals
