"""The weather as it was at every spot of a garden, for a whole season: what players are judged by."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, timedelta

import numpy as np
import pandas as pd

from hardenoff.forecast.hours import Forecast
from hardenoff.night import clear_calm_share
from hardenoff.ramp.scene import Floats, Ground, Scene, build_ground, build_scene, local_midnight
from hardenoff.ramp.watch import NightWatch
from hardenoff.records import Garden, Risk
from hardenoff.sun.light import with_radiation
from hardenoff.sun.position import sky
from hardenoff.sun.radiation import ClearHours, clear_hours
from hardenoff.tables import load_night_model
from hardenoff.trial.error import morning_forecast
from hardenoff.trial.weather import Weather

AHEAD_DAYS = 3
"""A morning's forecast reaches so far: the planner decides by today, tonight and tomorrow's morning."""
QUARTER = timedelta(minutes=15)
CERTAIN = Risk(check=0.5, harm=0.5)
"""Who knows the low needs no margin: out if it is not below the limit."""


@dataclass(frozen=True, slots=True)
class Morning:
    """What a player knows of a date: a scene, the date's place in it, and the nights judged from it."""

    scene: Scene
    day: int
    watch: NightWatch


@dataclass(frozen=True, slots=True, eq=False)
class Season:
    """A place's weather from its first date to its last, at the spots of one garden."""

    garden: Garden
    truth: Forecast
    clear: ClearHours
    scene: Scene
    leaf_drop_c: Floats
    """[spot, quarter]: how far a leaf lies below the air in the open night (`night.at_spot`), hour by hour."""
    grounds: dict[date, Ground] = field(default_factory=dict)

    def day(self, on: date) -> int:
        """A date's place in the scene."""
        return self.scene.index(on)

    def as_it_was(self, on: date, risk: Risk) -> Morning:
        """A forecast that comes true."""
        return Morning(self.scene, self.day(on), NightWatch(self.scene, risk, on))

    def as_forecast(self, on: date, seed: int, risk: Risk) -> Morning:
        """A morning's forecast with its seeded error."""
        begin = pd.Timestamp(local_midnight(self.scene.place, on).astimezone(UTC)).floor("h") - pd.Timedelta(
            hours=12
        )
        first = int(self.truth.hours.index.get_indexer(pd.DatetimeIndex([begin]))[0])
        rows = slice(max(first, 0), first + 12 + 24 * AHEAD_DAYS)
        cut = replace(self.truth, hours=self.truth.hours.iloc[rows])
        made = morning_forecast(cut, _cut(self.clear, rows), self.scene.place, on, seed)
        scene = build_scene(self.garden, made, on, on + timedelta(days=1), on, ground=self._ground(on))
        return Morning(scene, 0, NightWatch(scene, risk, on))

    def _ground(self, on: date) -> Ground:
        """Sun and spots of a date and the next: the same for all seeds, kept until another date is asked for."""
        if on not in self.grounds:
            self.grounds.clear()
            self.grounds[on] = build_ground(self.garden, on, on + timedelta(days=1))
        return self.grounds[on]

    def night_quarters(self, on: date) -> tuple[int, int]:
        """Quarter hours of a date at which its night begins, and at which the night before ends."""
        day = self.day(on)
        begin = self.scene.starts[day]
        last, coming = self.scene.nights[on - timedelta(days=1)], self.scene.nights[on]
        return _slot(self.scene, coming.start) - begin, _slot(self.scene, last.end) - begin


def season_of(weather: Weather, garden: Garden, first: date, last: date) -> Season:
    """The season at the spots of a garden, whose place is the weather's.

    Raises
    ------
    ValueError
        The file's hours don't reach from the day before `first` to the day after `last`.
    """
    truth = with_radiation(weather.truth, weather.place)
    index = truth.hours.index
    begin = pd.Timestamp(local_midnight(weather.place, first - timedelta(days=1)).astimezone(UTC)).floor("h")
    end = pd.Timestamp(local_midnight(weather.place, last + timedelta(days=AHEAD_DAYS + 1)).astimezone(UTC)).ceil(
        "h"
    )
    if begin < index[0] or end > index[-1]:
        raise ValueError(f"hours from {index[0]} to {index[-1]}, and {begin} to {end} are needed")
    hours = truth.hours.loc[begin : end - pd.Timedelta(hours=1)]
    truth = replace(truth, hours=hours)
    clear = clear_hours(weather.place, sky(weather.place, begin.to_pydatetime(), end.to_pydatetime()))
    scene = build_scene(garden, truth, first, last + timedelta(days=1), last + timedelta(days=1))
    return Season(garden, truth, clear, scene, _leaf_drops(scene, hours))


def _slot(scene: Scene, moment: datetime) -> int:
    return round((moment - scene.origin) / QUARTER)


def _cut(clear: ClearHours, rows: slice) -> ClearHours:
    return ClearHours(
        clear.starts[rows],
        dni_w_m2=clear.dni_w_m2[rows],
        ghi_w_m2=clear.ghi_w_m2[rows],
        dhi_w_m2=clear.dhi_w_m2[rows],
        beam_level_w_m2=clear.beam_level_w_m2[rows],
        cos_zenith=clear.cos_zenith[rows],
        up_share=clear.up_share[rows],
    )


def _leaf_drops(scene: Scene, hours: pd.DataFrame) -> Floats:
    """Screen to tray and tray to leaf, by each hour's own cloud and wind; missing ones count as clear and calm."""
    model = load_night_model()
    most_c = model.screen_to_tray_drop_c + model.leaf_drop_c
    first = round((hours.index[0].to_pydatetime() - scene.origin) / QUARTER)
    row = np.clip((np.arange(scene.starts[-1]) - first) // 4, 0, len(hours) - 1)
    cloud, wind = hours["cloud_cover_frac"].to_numpy(dtype=float), hours["wind_speed_m_s"].to_numpy(dtype=float)
    drops = [
        most_c * np.array([clear_calm_share(track.sky_view, c, w) for c, w in zip(cloud, wind, strict=True)])
        for track in scene.tracks
    ]
    return np.stack(drops)[:, row]
