"""One batch, one day: what each place offers up to each quarter hour, and which quarter hours are barred.

Every quantity adds up over time, so running totals make the value of any stay a difference of two numbers.
"""

from __future__ import annotations

from dataclasses import dataclass
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
    COLD_HOURS = 6
    """Hours outside below 15 C."""
    BARRED = 7
    """Quarter hours that a gate forbids."""
    LIGHT_LIKELY = 8
    """Likely mol/m2, lamp included."""
    GUST = 9
    """Gust-hours at the plant, m/s h: to tell the calmer of two equals."""
    DARK_HOURS = 10
    """Hours outside with the sun down: to tell the earlier home of two equals."""
    UNKNOWN = 11
    """Quarter hours without forecast radiation."""


COOL_C = 15.0
LEE_SHARE = 0.5
"""Under a wind alert only spots that let no more of the wind through than this are open (ours)."""


@dataclass(frozen=True, slots=True)
class Margins:
    """What the gates keep back from a forecast; nothing when the weather was measured."""

    air_c: float = 1.2
    """One standard deviation of a day's temperature (ours)."""
    gust: float = 1.4
    """Factor on forecast gusts (ours)."""


@dataclass(frozen=True, slots=True)
class Gates:
    """Why a spot is barred, quarter hour by quarter hour; True = barred."""

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
        quarter = np.arange(len(self.cold))
        morning = self.by_night | self.chilled
        bars = np.where(quarter < len(quarter) // 2, morning | self.chilly, self.by_day)
        return np.where(quarter < dawn + 4, morning, bars)

    @property
    def unknown(self) -> Bools:
        """Temperature or gust is missing."""
        return self.air_unknown | self.gust_unknown


@dataclass(frozen=True, slots=True)
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
    track: SpotTrack,
    crop: Crop,
    limits: DayLimits,
    margins: Margins,
    *,
    chilled: bool,
    full: Bools,
) -> Gates:
    """Gates of one spot on one day.

    `chilled`: the night before was spent outside below the check limit. `full`: quarter hours without room.
    """
    at = scene.slots(day)
    air, gust, rain = scene.air_c[at], track.gust_m_s[at], scene.rain_mm_h[at]
    sunny = track.sun_clear_h[at] > 0.0
    open_sky = track.spot.roof is None
    exposed = max((arc.share for arc in track.spot.shelter), default=1.0) > LEE_SHARE
    never = np.zeros(len(air), dtype=bool)
    with np.errstate(invalid="ignore"):
        hot = air + margins.air_c
        warmed = np.logical_or.accumulate(air >= crop.sun_after_cold_night_c)
        wet = ~(rain < crop.heavy_rain_mm_h) | scene.storm[at]
        return Gates(
            air_unknown=np.isnan(air),
            gust_unknown=np.isnan(gust),
            cold=air - margins.air_c < limits.least_air_c,
            chilly=~(air >= limits.check_below_c),
            heat=(hot > crop.heat_in_c) | (((hot > crop.heat_shade_c) | scene.heat_alert[at]) & sunny),
            gust=(gust * margins.gust > limits.gust_m_s) | (scene.wind_alert[at] & exposed),
            rain=wet if open_sky else never,
            chilled=(~warmed & sunny) if chilled else never,
            full=full,
        )


def day_table(
    scene: Scene, day: int, spot_gates: tuple[Gates, ...], indoor_mol: Floats, waits: SpotTrack | None
) -> DayTable:
    """Running totals of all places on one day.

    `indoor_mol`: light of each quarter hour inside [mol/m2]; `waits`: the spot that stands for `inside`.
    """
    at = scene.slots(day)
    quarters = at.stop - at.start
    tracks = scene.tracks
    steps = np.zeros((len(Sum), len(tracks) + 1, quarters))
    steps[[Sum.LIGHT_MOST, Sum.LIGHT_LIKELY], INSIDE_AT] = indoor_mol
    if waits is not None:
        dim = np.isnan(waits.light_likely_mol[at])
        steps[Sum.LIGHT_MOST, INSIDE_AT] = waits.light_most_mol[at]
        steps[Sum.LIGHT_LIKELY, INSIDE_AT] = np.where(dim, 0.0, waits.light_likely_mol[at])
        steps[Sum.UNKNOWN, INSIDE_AT] = dim
    hours_up = scene.sun_up[at] / 4.0
    with np.errstate(invalid="ignore"):
        cool = (scene.air_c[at] < COOL_C) / 4.0
    for place, track in enumerate(tracks, start=1):
        unknown = np.isnan(track.sun_likely_h[at]) | np.isnan(track.light_likely_mol[at])
        steps[Sum.HOURS, place] = hours_up
        steps[Sum.SUN_CLEAR, place] = track.sun_clear_h[at]
        steps[Sum.SUN_LIKELY, place] = np.where(unknown, 0.0, track.sun_likely_h[at])
        steps[Sum.SUN_BAND, place] = track.sun_band_h[at]
        steps[Sum.LIGHT_MOST, place] = track.light_most_mol[at]
        steps[Sum.LIGHT_OUT, place] = np.where(unknown, 0.0, track.light_likely_mol[at])
        steps[Sum.LIGHT_LIKELY, place] = steps[Sum.LIGHT_OUT, place]
        steps[Sum.COLD_HOURS, place] = cool
        steps[Sum.DARK_HOURS, place] = 0.25 - hours_up
        steps[Sum.GUST, place] = np.nan_to_num(track.gust_m_s[at]) / 4.0
        steps[Sum.BARRED, place] = spot_gates[place - 1].by_day
        steps[Sum.UNKNOWN, place] = unknown & scene.sun_up[at]
    dusk, quarter = scene.sunsets[day] - at.start, np.arange(quarters)
    dawn = scene.sunrises[day] - at.start
    overnight, carried = np.zeros((2, len(tracks) + 1, quarters))
    for place, spot_gate in enumerate(spot_gates, start=1):
        overnight[place] = np.where(quarter >= dusk, spot_gate.by_night, spot_gate.by_day)
        carried[place] = spot_gate.carried(dawn)
    return DayTable(
        names=("inside", *(track.spot.name for track in tracks)),
        totals=_running(steps),
        barred_overnight=_running(overnight),
        barred_carried=_running(carried),
        quarters=quarters,
        dusk=dusk,
    )


def _running(steps: Floats) -> Floats:
    """Totals up to, not including, each quarter hour; one more entry than steps."""
    totals = np.zeros((*steps.shape[:-1], steps.shape[-1] + 1))
    np.cumsum(steps, axis=-1, out=totals[..., 1:])
    return totals
