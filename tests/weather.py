"""Invented weather and gardens for the planner's tests: settled days, and ways to spoil them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

import numpy as np
import pandas as pd

from hardenoff.forecast.hours import COLUMN_NAMES, Forecast, Origin
from hardenoff.records import (
    Batch,
    Carer,
    Garden,
    HandState,
    Inside,
    Lamp,
    Place,
    Roof,
    ShelterArc,
    Span,
    Spot,
    Wall,
)
from hardenoff.schedule.build import build_schedule
from hardenoff.schedule.records import BatchDay, ForecastNote, Schedule
from hardenoff.tables import load_crops, load_rules

PLACE = Place("Cooper's Yard", 40.0, -83.0, 240.0, "America/New_York")
FIRST = date(2027, 5, 3)
HOME = ((Span(7 * 60, 21 * 60),),) * 7
WORK = ((Span(390, 460), Span(1065, 1260)),) * 5 + ((Span(420, 1260),),) * 2
SHADED = Spot(
    "north porch",
    roof=Roof(2.2, 1.5, 0.5, 3.0, 3.0, 20.0),
    walls=(Wall(90.0, 0.8, 3.0), Wall(270.0, 2.0, 3.0)),
    shelter=(ShelterArc(0.0, 360.0, 0.4),),
)
MORNING = Spot(
    "east step",
    skyline=((0.0, 10.0), (60.0, 10.0), (61.0, 5.0), (135.0, 5.0), (136.0, 85.0), (359.0, 85.0)),
    shelter=(ShelterArc(0.0, 360.0, 0.6),),
)
OPEN = Spot("open bed")
SPOTS = (SHADED, MORNING, OPEN)
NOTE = ForecastNote("table", None, None, None, "file", "invented")


@dataclass(frozen=True)
class Weather:
    """Hourly weather from the day before `first` on; `at` turns local hours into values."""

    place: Place = PLACE
    first: date = FIRST
    days: int = 14
    low_c: float = 13.5
    high_c: float = 24.0
    gust_m_s: float = 3.0
    cloud: float = 0.0

    def frame(self) -> pd.DataFrame:
        """The contract frame, with a daily wave of temperature that is lowest at 03:00 and highest at 15:00."""
        begin = datetime.combine(self.first, time(0), UTC) - timedelta(days=1)
        index = pd.date_range(begin, periods=24 * (self.days + 3), freq="h", name="time")
        local = index.tz_convert(self.place.tz)
        hour = np.asarray(local.hour + local.minute / 60.0)
        frame = pd.DataFrame(np.nan, index=index, columns=list(COLUMN_NAMES))
        middle, swing = (self.low_c + self.high_c) / 2, (self.high_c - self.low_c) / 2
        frame["air_temperature_c"] = middle + swing * np.cos((hour - 15.0) / 12.0 * np.pi)
        frame["wind_speed_m_s"] = self.gust_m_s / 2.0
        frame["wind_gust_m_s"] = self.gust_m_s
        frame["wind_from_deg"] = 200.0
        frame["cloud_cover_frac"] = self.cloud
        frame["cloud_low_frac"] = self.cloud
        frame[["cloud_mid_frac", "cloud_high_frac"]] = 0.0
        frame["precipitation_mm"] = 0.0
        frame["native_step_h"] = 1.0
        return frame

    def forecast(self, frame: pd.DataFrame | None = None) -> Forecast:
        """A forecast of these hours (or of a frame made from them)."""
        origin = Origin("table", "invented", None, None, self.place.latitude, self.place.longitude)
        lows = pd.DataFrame({"start": [], "end": [], "min_c": []})
        return Forecast(self.frame() if frame is None else frame, lows, origin)


def on_dates(frame: pd.DataFrame, place: Place, first: date, last: date) -> np.ndarray:
    """Rows whose local date is from `first` to `last`."""
    dates = frame.index.tz_convert(place.tz).date
    return (dates >= first) & (dates <= last)


def garden(
    crop: str = "tomato",
    *,
    place: Place = PLACE,
    week: tuple[tuple[Span, ...], ...] = HOME,
    spots: tuple[Spot, ...] = SPOTS,
    carer: dict[str, Any] | None = None,
    rule: str | None = None,
    **batch: Any,
) -> Garden:
    """A garden with one batch."""
    of = load_crops()[crop]
    batch.setdefault("lamp", Lamp(200.0, 16.0))
    batch.setdefault("plant_out_at", spots[-1].name)
    one = Batch("seedlings", of, load_rules()[rule or of.rule], **batch)
    return Garden(place, Carer(week=week, **(carer or {})), Inside(), spots, (one,))


def with_batches(of: Garden, *batches: Batch) -> Garden:
    """The same garden with other batches."""
    return replace(of, batches=batches)


def plan(of: Garden, forecast: Forecast, now: datetime | None = None, *, days_ahead: bool = True) -> Schedule:
    """The schedule, at 06:00 of the first day unless `now` says otherwise."""
    when = datetime.combine(FIRST, time(6), of.place.tz) if now is None else now
    return build_schedule(of, forecast, when, NOTE, days_ahead=days_ahead)


def rows(schedule: Schedule, batch: int = 0) -> list[BatchDay]:
    """One batch day by day, as far as the forecast reaches."""
    return [day.batches[batch] for day in schedule.days if day.certainty != "beyond"]


def hand_state(on: date = FIRST, **axes: float | None) -> HandState:
    """A state written by hand, zero where nothing is said."""
    given: dict[str, Any] = {"air": 0.0, "sun": 0.0, "cold": 0.0, "light_mol": None, **axes}
    return HandState(on=on, **given)
