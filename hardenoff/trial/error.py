"""A forecast made of the weather as it was and a seeded error that grows with its lead time (sizes are ours).

Temperature: normal, standard deviation 1.2 C at the issue (what the planner's own day gates keep back), rising in
a straight line to that of the table of forecast lows for the coming night, a day later, and along that table from
there on. Wind and gusts: a factor, lognormal, 0.25 at the issue and 0.05 more a day. Sky: a share of the clear
beam and of the cloud cover, 0.25 and 0.05 more a day; four tenths of a beam that cloud takes away come down as
diffuse light. Errors of one forecast hang together over time (first-order autoregression, 1/e left after 24 h for
temperature, 6 h for wind and sky); those of two mornings are independent. Rain and storms are forecast as they
come.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, time
from typing import Any, cast

import numpy as np
import pandas as pd

from hardenoff.forecast.hours import Forecast
from hardenoff.records import Place
from hardenoff.sun.position import Floats
from hardenoff.sun.radiation import ClearHours
from hardenoff.tables import low_spread_c

ISSUED = time(5)
"""By the place's clock, each morning; hours before it are known."""
AIR_SD_C = 1.2
WIND_SD, SKY_SD, MORE_A_DAY = 0.25, 0.25, 0.05
AIR_MEMORY_H, FAST_MEMORY_H = 24.0, 6.0
"""After so many hours 1/e of an error is left."""
BACK_AS_DIFFUSE = 0.4

IN_WORDS = (
    f"temperature off by {AIR_SD_C:g} C (standard deviation) at 05:00, {low_spread_c(1.0):.1f} C by the "
    f"coming night, {low_spread_c(3.0):.1f} C on day 3; wind by a factor of {np.exp(WIND_SD) - 1.0:.0%}; "
    f"sun and cloud by {SKY_SD:.2f} of a clear sky"
)


def air_sd_c(lead_h: Floats) -> Floats:
    """Standard deviation of a forecast temperature by its lead time [h]; 0 for hours before the issue."""
    days = np.asarray(lead_h, dtype=float) / 24.0
    table_c = np.array([low_spread_c(max(1.0, float(day))) for day in days.ravel()]).reshape(days.shape)
    rising = AIR_SD_C + (low_spread_c(1.0) - AIR_SD_C) * days
    return np.where(days < 0.0, 0.0, np.where(days < 1.0, rising, table_c))


def share_sd(lead_h: Floats, at_issue: float) -> Floats:
    """Standard deviation of the logarithm of wind, or of a share of the sky, by lead time [h]."""
    days = np.asarray(lead_h, dtype=float) / 24.0
    return np.where(days < 0.0, 0.0, at_issue + MORE_A_DAY * days)


def wandering(rng: np.random.Generator, count: int, memory_h: float) -> Floats:
    """Standard normal values an hour apart whose correlation fades by 1/e in `memory_h`."""
    kept = float(np.exp(-1.0 / memory_h))
    fresh = rng.standard_normal(count) * np.sqrt(1.0 - kept * kept)
    values = np.empty(count)
    last = rng.standard_normal()
    for hour in range(count):
        last = kept * last + fresh[hour]
        values[hour] = last
    return values


def issued_at(place: Place, on: date) -> pd.Timestamp:
    """When the forecast of a morning is made, UTC."""
    return pd.Timestamp(datetime.combine(on, ISSUED, place.tz)).tz_convert("UTC")


def morning_forecast(truth: Forecast, clear: ClearHours, place: Place, on: date, seed: int) -> Forecast:
    """What the forecast of a morning said, for the hours that `truth` holds.

    `clear`: the clear sky of the same hours. The same seed and date give the same errors.
    """
    hours = truth.hours
    index = cast(pd.DatetimeIndex, hours.index)
    lead_h = np.asarray((index - issued_at(place, on)).total_seconds(), dtype=np.float64) / 3600.0
    ahead = lead_h >= 0.0
    rng = np.random.default_rng([seed, on.toordinal()])
    count = int(ahead.sum())

    def errors(memory_h: float, sd: Floats) -> Floats:
        values = np.zeros(len(hours))
        values[ahead] = wandering(rng, count, memory_h)
        return values * sd

    air = errors(AIR_MEMORY_H, air_sd_c(lead_h))
    wind = np.exp(errors(FAST_MEMORY_H, share_sd(lead_h, WIND_SD)))
    sky = errors(FAST_MEMORY_H, share_sd(lead_h, SKY_SD))
    moved: dict[str, Any] = {
        "air_temperature_c": hours["air_temperature_c"] + air,
        "air_temperature_min_c": hours["air_temperature_min_c"] + air,
        "wind_speed_m_s": hours["wind_speed_m_s"] * wind,
        "wind_gust_m_s": hours["wind_gust_m_s"] * wind,
        "cloud_cover_frac": (hours["cloud_cover_frac"] - sky).clip(0.0, 1.0),
        **_radiation(hours, clear, sky),
    }
    return replace(truth, hours=hours.assign(**moved))


def _radiation(hours: pd.DataFrame, clear: ClearHours, sky: Floats) -> dict[str, Floats]:
    """Beam, diffuse and global light under a sky that is clearer by `sky`, a share of the clear beam."""
    dni, dhi = hours["dni_w_m2"].to_numpy(dtype=float), hours["dhi_w_m2"].to_numpy(dtype=float)
    most = np.maximum(clear.dni_w_m2, dni)
    moved = np.clip(dni + sky * clear.dni_w_m2, 0.0, most)
    level = np.divide(clear.beam_level_w_m2, clear.dni_w_m2, out=np.zeros_like(dni), where=clear.dni_w_m2 > 0.0)
    diffuse = np.maximum(dhi - BACK_AS_DIFFUSE * (moved - dni) * level, 0.2 * dhi)
    return {"dni_w_m2": moved, "dhi_w_m2": diffuse, "ghi_w_m2": moved * level + diffuse}
