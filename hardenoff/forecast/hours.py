"""The hourly frame every reader delivers: columns, units, the label rule, and the check at the door.

One row an hour, UTC, the label is the **start** of the hour. Missing is NaN, never 0. Provenance travels
beside the frame, not in it.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True, slots=True)
class Column:
    """A column of the hourly frame. `cell`: point at the label, or mean, sum, least, most of the hour.

    `slack` is how far outside the bounds a reading still counts as the bound: sensors and interpolation
    give radiation a little below zero at night and humidity a little above one.
    """

    name: str
    unit: str
    meaning: str
    cell: str
    least: float
    most: float
    slack: float = 0.0


COLUMNS: tuple[Column, ...] = (
    Column("air_temperature_c", "degC", "air, 2 m", "point", -80.0, 60.0),
    Column("air_temperature_min_c", "degC", "least air temperature within the hour, 2 m", "least", -80.0, 60.0),
    Column("dew_point_c", "degC", "dew point, 2 m", "point", -80.0, 40.0),
    Column("relative_humidity_frac", "1", "relative humidity, 2 m", "point", 0.0, 1.0, 0.05),
    Column("wind_speed_m_s", "m/s", "mean wind, 10 m", "point", 0.0, 110.0),
    Column("wind_gust_m_s", "m/s", "strongest gust, 10 m", "most", 0.0, 130.0),
    Column("wind_from_deg", "deg", "bearing the wind comes from", "point", 0.0, 360.0),
    Column("cloud_cover_frac", "1", "sky covered by cloud", "point", 0.0, 1.0),
    Column("cloud_low_frac", "1", "low cloud", "point", 0.0, 1.0),
    Column("cloud_mid_frac", "1", "middle cloud", "point", 0.0, 1.0),
    Column("cloud_high_frac", "1", "high cloud", "point", 0.0, 1.0),
    Column("precipitation_mm", "mm", "rain and melted snow", "sum", 0.0, 400.0),
    Column("precipitation_probability_frac", "1", "chance of measurable precipitation", "point", 0.0, 1.0),
    Column("ghi_w_m2", "W/m2", "sun and sky on the level", "mean", 0.0, 1500.0, 5.0),
    Column("dni_w_m2", "W/m2", "sun on a surface facing it", "mean", 0.0, 1400.0, 5.0),
    Column("dhi_w_m2", "W/m2", "sky on the level", "mean", 0.0, 1000.0, 5.0),
    Column("soil_temperature_c", "degC", "top soil, a few cm down", "point", -60.0, 80.0),
    Column("et0_mm", "mm", "reference evapotranspiration", "sum", 0.0, 5.0, 0.2),
    Column("uv_index", "1", "UV index", "point", 0.0, 25.0),
    Column("native_step_h", "h", "step the provider really computed", "point", 0.25, 24.0),
    Column("weather_code", "1", "present weather, WMO code table 4677", "point", 0.0, 99.0),
)
"""The contract, in order. `least` and `most` bound what can be believed; outside becomes NaN with a note."""

COLUMN_NAMES: tuple[str, ...] = tuple(column.name for column in COLUMNS)

OLDEST = timedelta(hours=36)
"""Older than this, a forecast decides nothing any more (ours)."""


@dataclass(frozen=True, slots=True)
class Origin:
    """Where a forecast comes from."""

    provider: str
    """Key of the reader: `open-meteo`, `nws`, `met-norway`, `table`."""
    attribution: str
    """The credit line its licence asks for, in our words."""
    issued_at: datetime | None
    """When the provider made it; None if the reply does not say."""
    fetched_at: datetime | None
    """When it was fetched; None for a bare saved body."""
    latitude: float | None
    longitude: float | None
    """The grid point that answered."""
    elevation_m: float | None = None
    estimated: tuple[str, ...] = ()
    """Columns that we worked out from others."""
    notes: tuple[str, ...] = ()
    """What was odd in the reply: values out of range, units missing, columns absent."""


@dataclass(frozen=True, slots=True)
class Forecast:
    """Hours, block lows and where they come from."""

    hours: pd.DataFrame
    """tz-aware UTC index named `time`, hourly and regular, label = start of the hour; `COLUMN_NAMES`, float64."""
    block_lows: pd.DataFrame
    """Columns `start`, `end` (tz-aware UTC) and `min_c`: least temperature over a longer block, where given."""
    origin: Origin
    members_c: pd.DataFrame | None = field(default=None)
    """Air temperature of ensemble members on the same index, one column a member, where there are some."""
