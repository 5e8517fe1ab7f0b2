"""The days in front of a garden as arrays: one row a quarter hour, weather and light at every spot.

Local dates of the place, so a day has 92, 96 or 100 quarter hours. Past the forecast's end the weather is
*settled* (mild, calm, clear): enough to say when a batch would be hardened at the earliest, never a verdict.
"""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, time, timedelta
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from hardenoff.night import NightWeather, nights
from hardenoff.ramp.heard import Heard
from hardenoff.records import Garden, Place, ShelterArc, Spot
from hardenoff.sun.geometry import share, sky_view, variants
from hardenoff.sun.light import SUNSHINE_DNI_W_M2, OpenLight, SeenSky, at_spot, open_light, seen_sky
from hardenoff.sun.position import RiseSet, Sky, rise_sets, sky

if TYPE_CHECKING:
    from hardenoff.forecast.hours import Forecast

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

QUARTER = timedelta(minutes=15)
STEP_MIN = 5
STEPS = 3
"""Sun steps in a quarter hour."""
GUST_AT_PLANT = 0.65
"""Gust 0.5 m above open ground as a share of the 10 m gust (logarithmic profile over short grass)."""
DAWN_WITHOUT_SUN = 28
"""07:00 in quarter hours."""
SETTLED_AIR_C, SETTLED_GUST_M_S = 20.0, 3.0
STORM_CODE_LEAST = 87
"""WMO code table 4677: 87 to 90 are showers of small hail and hail, 91 to 99 thunderstorms."""
KNOWN_DAY_SHARE = 0.75
"""A last date with fewer of its hours is past the forecast's end."""


@dataclass(frozen=True, slots=True)
class SpotTrack:
    """One spot through all quarter hours. Arrays of length n; hours in h, light in mol/m2 per quarter."""

    spot: Spot
    room: str
    """Spots with the same room share what it holds."""
    sky_view: float
    sun_clear_h: Floats
    sun_likely_h: Floats
    """NaN where the forecast has no radiation."""
    sun_band_h: Floats
    """Most direct sun if clear when the spot's geometry is off by 10 degrees or 0.2 m."""
    light_most_mol: Floats
    light_likely_mol: Floats
    """NaN where the forecast has no radiation."""
    light_clear_mol: Floats
    gust_m_s: Floats
    """Forecast gust at the plant here."""


@dataclass(frozen=True, slots=True)
class Scene:
    """All local dates from `dates[0]` on."""

    place: Place
    origin: datetime
    """UTC of the first quarter hour."""
    dates: tuple[date, ...]
    starts: tuple[int, ...]
    """Quarter hour at which each date begins; one more entry than dates."""
    known_through: date | None
    """Last local date with hours in hand; later ones are settled weather. None: no hours at all."""
    sun_up: Bools
    air_c: Floats
    gust_m_s: Floats
    """10 m."""
    rain_mm_h: Floats
    storm: Bools
    """Thunder or hail."""
    wind_alert: Bools
    heat_alert: Bools
    tracks: tuple[SpotTrack, ...]
    nights: dict[date, NightWeather]
    """By evening date, as far as the forecast reaches."""
    heard: Heard
    other_nights: dict[date, tuple[tuple[str, NightWeather], ...]]
    """The same nights as other sources have them, with the source; unknown ones are left out."""
    sunrises: tuple[int, ...]
    """Quarter hour of sunrise of each date; 07:00 where the sun does not rise."""
    sunsets: tuple[int, ...]
    """Quarter hour of sunset of each date; the day's end where the sun does not set."""
    rises: dict[date, RiseSet]
    """Of these dates, of the day before and of the day after."""
    outdoors: dict[int, Floats] = field(default_factory=dict, compare=False, repr=False)
    """By day: running totals of the spots that are the same for every batch, worked out when first needed."""

    def index(self, on: date) -> int:
        """Position of a local date; ValueError before the first."""
        position = (on - self.dates[0]).days
        if not 0 <= position < len(self.dates):
            raise ValueError(f"{on} is not in {self.dates[0]} to {self.dates[-1]}")
        return position

    def slots(self, day: int) -> slice:
        """The quarter hours of a day."""
        return slice(self.starts[day], self.starts[day + 1])

    def begin(self, on: date) -> int:
        """The quarter hour at which a local date begins."""
        return self.starts[self.index(on)]

    def moment(self, slot: int) -> datetime:
        """Local time at which a quarter hour begins."""
        return (self.origin + slot * QUARTER).astimezone(self.place.tz)

    def slot_of(self, moment: datetime) -> float:
        """Quarter hours from the origin, with a fraction."""
        return (moment - self.origin) / QUARTER

    def is_known(self, day: int) -> bool:
        """Whether a date has hours in hand (some may be missing), rather than settled weather."""
        return self.known_through is not None and self.dates[day] <= self.known_through

    def track(self, name: str) -> SpotTrack:
        """The track of a spot."""
        for track in self.tracks:
            if track.spot.name == name:
                return track
        raise KeyError(name)

    def sun_up_h(self, day: int) -> float:
        """Hours between sunrise and sunset, by quarter hours."""
        return float(self.sun_up[self.slots(day)].sum()) / 4.0


def local_midnight(place: Place, on: date) -> datetime:
    """The instant a local date begins, also where the clock jumps over midnight."""
    return datetime.combine(on, time(0), place.tz)


@dataclass(frozen=True, slots=True, eq=False)
class Ground:
    """What holds on a garden's dates under any forecast: the sun, and what every spot sees of it."""

    place: Place
    origin: datetime
    dates: tuple[date, ...]
    starts: tuple[int, ...]
    sun: Sky
    spots: tuple[SpotGround, ...]
    rises: dict[date, RiseSet]
    """From the day before the first date to the day after the last."""
    sun_up: Bools
    sunrises: tuple[int, ...]
    sunsets: tuple[int, ...]


@dataclass(frozen=True, slots=True, eq=False)
class SpotGround:
    """What one spot sees of sun and sky, quarter hours in `sun_clear_h` and `sun_band_h`."""

    spot: Spot
    seen: SeenSky
    sky_view: float
    sun_clear_h: Floats
    sun_band_h: Floats


def build_ground(garden: Garden, first: date, last: date) -> Ground:
    """The ground of all local dates from `first` to `last`.

    Raises
    ------
    ValueError
        `last` is before `first`.
    """
    place = garden.place
    if last < first:
        raise ValueError(f"{last} is before {first}")
    dates = tuple(first + timedelta(days=n) for n in range((last - first).days + 1))
    utc = local_midnight(place, first).astimezone(UTC)
    midnights = [local_midnight(place, on).astimezone(UTC) for on in (*dates, last + timedelta(days=1))]
    starts = tuple(round((midnight - utc) / QUARTER) for midnight in midnights)
    sun = sky(place, utc, utc + starts[-1] * QUARTER, step_min=STEP_MIN)
    rises = rise_sets(place, first - timedelta(days=1), last + timedelta(days=1))
    return Ground(
        place=place,
        origin=utc,
        dates=dates,
        starts=starts,
        sun=sun,
        spots=tuple(_spot_ground(spot, place, sun) for spot in garden.spots),
        rises=rises,
        sun_up=np.asarray(sun.elevation_deg > 0.0).reshape(-1, STEPS).sum(axis=1) > STEPS / 2,
        sunrises=tuple(_dawn(rises[on].sunrise, utc, starts[n]) for n, on in enumerate(dates)),
        sunsets=tuple(_dusk(rises[on].sunset, utc, starts[n + 1]) for n, on in enumerate(dates)),
    )


def build_scene(
    garden: Garden,
    forecast: Forecast | None,
    first: date,
    last: date,
    today: date,
    heard: Heard | None = None,
    *,
    ground: Ground | None = None,
) -> Scene:
    """Arrays for all local dates from `first` to `last`; `today` always counts as in hand.

    `ground`: that of these dates and spots, where it is at hand.

    Raises
    ------
    ValueError
        `last` is before `first`.
    """
    ground = build_ground(garden, first, last) if ground is None else ground
    place, utc, dates, starts = garden.place, ground.origin, ground.dates, ground.starts
    known = _known_through(forecast, place, today)
    settled_from = _settled_from(known, dates, starts)
    weather = _read_weather(forecast, utc, starts[-1], settled_from)
    light = open_light(place, ground.sun, None if forecast is None else forecast.hours)
    heard = heard or Heard()
    nights_through = None if known is None else min(known, last)
    return Scene(
        place=place,
        origin=utc,
        dates=dates,
        starts=starts,
        known_through=known,
        sun_up=ground.sun_up,
        air_c=weather.air_c,
        gust_m_s=weather.gust_m_s,
        rain_mm_h=weather.rain_mm_h,
        storm=weather.storm | _alerted(heard, "thunderstorm", utc, starts[-1]),
        wind_alert=_alerted(heard, "wind", utc, starts[-1]),
        heat_alert=_alerted(heard, "heat", utc, starts[-1]),
        tracks=tuple(_track(spot, ground.sun, light, weather, settled_from) for spot in ground.spots),
        nights=_nights(forecast, place, first, nights_through, ground.rises),
        heard=heard,
        other_nights=_other_nights(heard, place, first, nights_through, ground.rises),
        sunrises=ground.sunrises,
        sunsets=ground.sunsets,
        rises=ground.rises,
    )


def with_weather(scene: Scene, forecast: Forecast) -> Scene:
    """The same days under another forecast of the same hours that differs in air, wind and rain, not in light."""
    count, known, dates = scene.starts[-1], scene.known_through, scene.dates
    weather = _read_weather(forecast, scene.origin, count, _settled_from(known, dates, scene.starts))
    nights_through = None if known is None else min(known, dates[-1])
    return replace(
        scene,
        air_c=weather.air_c,
        gust_m_s=weather.gust_m_s,
        rain_mm_h=weather.rain_mm_h,
        storm=weather.storm | _alerted(scene.heard, "thunderstorm", scene.origin, count),
        tracks=tuple(replace(track, gust_m_s=_gust_at(track.spot, weather)) for track in scene.tracks),
        nights=_nights(forecast, scene.place, dates[0], nights_through, scene.rises),
        outdoors={},
    )


def _dawn(sunrise: datetime | None, origin: datetime, day_begin: int) -> int:
    if sunrise is None:
        return day_begin + DAWN_WITHOUT_SUN
    return max(day_begin, math.ceil((sunrise - origin) / QUARTER))


def _dusk(sunset: datetime | None, origin: datetime, day_end: int) -> int:
    return day_end if sunset is None else min(day_end, int((sunset - origin) / QUARTER))


def _known_through(forecast: Forecast | None, place: Place, today: date) -> date | None:
    """Last local date of which most hours have a temperature."""
    if forecast is None or forecast.hours.empty:
        return None
    known = forecast.hours["air_temperature_c"].notna().to_numpy()
    dates: list[date] = [moment.astimezone(place.tz).date() for moment in forecast.hours.index[known]]
    whole = [on for on, hours in Counter(dates).items() if hours >= KNOWN_DAY_SHARE * 24.0]
    return max([today, *whole])


def _settled_from(known: date | None, dates: tuple[date, ...], starts: tuple[int, ...]) -> int:
    """The first quarter hour of settled weather: after the last date in hand, or the dates' end."""
    if known is None or known < dates[0]:
        return 0
    return starts[min((known - dates[0]).days + 1, len(dates))]


def _nights(
    forecast: Forecast | None, place: Place, first: date, known: date | None, rises: dict[date, RiseSet]
) -> dict[date, NightWeather]:
    if forecast is None or known is None or known < first:
        return {}
    found = nights(forecast, place, first - timedelta(days=1), known, sun_times=rises)
    return {night.evening: night for night in found}


def _other_nights(
    heard: Heard, place: Place, first: date, known: date | None, rises: dict[date, RiseSet]
) -> dict[date, tuple[tuple[str, NightWeather], ...]]:
    found: dict[date, tuple[tuple[str, NightWeather], ...]] = {}
    for other in heard.others:
        for evening, night in _nights(other, place, first, known, rises).items():
            if night.known:
                found[evening] = (*found.get(evening, ()), (other.origin.provider, night))
    return found


def _alerted(heard: Heard, kind: str, origin: datetime, count: int) -> Bools:
    """Quarter hours at which an alert of a kind is in force."""
    alerted = np.zeros(count, dtype=bool)
    for alert in heard.about((kind,), origin, origin + count * QUARTER):
        begin = 0 if alert.onset is None else math.floor((alert.onset - origin) / QUARTER)
        end = count if alert.ends is None else math.ceil((alert.ends - origin) / QUARTER)
        alerted[max(begin, 0) : max(end, 0)] = True
    return alerted


@dataclass(frozen=True, slots=True)
class _Weather:
    air_c: Floats
    gust_m_s: Floats
    wind_from_deg: Floats
    rain_mm_h: Floats
    storm: Bools


def _read_weather(forecast: Forecast | None, origin: datetime, count: int, settled_from: int) -> _Weather:
    """Hourly columns spread over quarter hours; NaN where missing, settled weather from `settled_from` on."""

    def column(name: str, settled: float) -> Floats:
        values = np.full(count, np.nan)
        if forecast is not None and not forecast.hours.empty:
            hours = forecast.hours
            first = (hours.index[0] - origin) / QUARTER
            hour = np.floor((np.arange(count) - first) / 4.0).astype(int)
            inside = (hour >= 0) & (hour < len(hours))
            values[inside] = hours[name].to_numpy(dtype=float)[hour[inside]]
        values[settled_from:] = settled
        return values

    return _Weather(
        air_c=column("air_temperature_c", SETTLED_AIR_C),
        gust_m_s=column("wind_gust_m_s", SETTLED_GUST_M_S),
        wind_from_deg=column("wind_from_deg", np.nan),
        rain_mm_h=column("precipitation_mm", 0.0),
        # Not every reply has a weather code: a missing one is left to the rain gate and to alerts.
        storm=column("weather_code", 0.0) >= STORM_CODE_LEAST,
    )


def _spot_ground(spot: Spot, place: Place, sun: Sky) -> SpotGround:
    seen = seen_sky(spot, place, sun)
    sunny: Floats = (sun.dni_clear_w_m2 >= SUNSHINE_DNI_W_M2) * np.float64(STEP_MIN / 60.0)
    clear_h = _sums(seen.share * sunny)
    return SpotGround(spot, seen, sky_view(spot), clear_h, _band(spot, place, sun, clear_h, sunny))


def _track(ground: SpotGround, sun: Sky, open_sky: OpenLight, weather: _Weather, settled_from: int) -> SpotTrack:
    spot, light = ground.spot, at_spot(ground.seen, sun, open_sky)
    clear_h, clear_mol = ground.sun_clear_h, _sums(light.light_clear_mol)
    likely_h, likely_mol = _sums(light.sun_likely_h), _sums(light.light_likely_mol)
    likely_h[settled_from:], likely_mol[settled_from:] = clear_h[settled_from:], clear_mol[settled_from:]
    return SpotTrack(
        spot=spot,
        room=spot.like or spot.name,
        sky_view=ground.sky_view,
        sun_clear_h=clear_h,
        sun_likely_h=likely_h,
        sun_band_h=ground.sun_band_h,
        light_most_mol=_sums(light.light_most_mol),
        light_likely_mol=likely_mol,
        light_clear_mol=clear_mol,
        gust_m_s=_gust_at(spot, weather),
    )


def _gust_at(spot: Spot, weather: _Weather) -> Floats:
    return weather.gust_m_s * GUST_AT_PLANT * shelter_share(spot.shelter, weather.wind_from_deg)


def _band(spot: Spot, place: Place, sun: Sky, clear_h: Floats, sunny: Floats) -> Floats:
    """Most direct sun of each quarter hour over the spot's variants."""
    band = clear_h
    for _, variant in variants(spot):
        band = np.maximum(band, _sums(share(variant, place, sun) * sunny))
    return band


def _sums(steps: Floats) -> Floats:
    quarters: Floats = np.asarray(steps, dtype=np.float64).reshape(-1, STEPS).sum(axis=1)
    return quarters


def shelter_share(shelter: tuple[ShelterArc, ...], wind_from_deg: Floats) -> Floats:
    """Share of the open wind that reaches a spot, for each bearing; an unknown bearing gets the worst."""
    if not shelter:
        return np.ones_like(wind_from_deg)
    result = np.ones_like(wind_from_deg)
    covered = np.zeros(360, dtype=bool)
    bearing = np.mod(wind_from_deg, 360.0)
    for arc in reversed(shelter):  # the first arc that fits wins
        whole = arc.to_deg - arc.from_deg >= 360.0
        width = 360.0 if whole else (arc.to_deg - arc.from_deg) % 360.0
        with np.errstate(invalid="ignore"):
            hit = np.mod(bearing - arc.from_deg, 360.0) <= width
        result = np.where(hit, arc.share, result)
        covered |= np.mod(np.arange(360) - arc.from_deg, 360.0) <= width
    worst = max([arc.share for arc in shelter] + ([] if covered.all() else [1.0]))
    return np.where(np.isnan(wind_from_deg), worst, result)
