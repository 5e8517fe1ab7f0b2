"""Night lows as they were forecast, out of the archive's lines, and the odds that were given of them.

Paired with the lows that came, they tell how good the odds were: `hardenoff.forecast.skill` scores the pairs.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from statistics import NormalDist

import pandas as pd

from hardenoff.errors import UnreadableError
from hardenoff.forecast.fields import as_list, as_number, as_object, utc
from hardenoff.forecast.frame import finished
from hardenoff.forecast.hours import Forecast, Origin
from hardenoff.forecast.skill import Pair
from hardenoff.night.verdict import lead_days
from hardenoff.night.weather import SunTimes, nights
from hardenoff.records import Place
from hardenoff.tables import low_spread_c

SCHEMA = "hardenoff.archive/1"


@dataclass(frozen=True, slots=True)
class PastLow:
    """The low of one night as one forecast had it."""

    provider: str
    made_at: datetime
    """When it was fetched."""
    evening: date
    lead_days: int
    low_c: float

    def odds_below(self, threshold_c: float) -> float:
        """The odds of a night colder than the threshold, by the table of forecast errors."""
        return NormalDist(self.low_c, low_spread_c(self.lead_days)).cdf(threshold_c)


def past_lows(
    line: object, place: Place, *, most_ahead: int | None = None, sun_times: Mapping[date, SunTimes] | None = None
) -> tuple[PastLow, ...]:
    """The known nights of an archive's line; none where the line has no hours.

    Parameters
    ----------
    most_ahead : int, optional
        Only nights up to this lead time. [d]
    sun_times : mapping, optional
        As for `nights`: saves reckoning them for each line.

    Raises
    ------
    UnreadableError
        The line is not one of ours.
    """
    try:
        forecast, made_at = _forecast(as_object(line))
    except (KeyError, ValueError, TypeError) as fault:
        raise UnreadableError(
            f"archive: a line that can't be read ({fault})", f"a record {SCHEMA!r}", "leave it out"
        ) from None
    if forecast is None:
        return ()
    today = made_at.astimezone(place.tz).date()
    last = forecast.hours.index[-1].astimezone(place.tz).date()
    if most_ahead is not None:
        last = min(last, today + timedelta(days=most_ahead - 1))
    return tuple(
        PastLow(forecast.origin.provider, made_at, night.evening, lead_days(today, night.evening), night.air_low_c)
        for night in nights(forecast, place, today, last, sun_times=sun_times)
        if night.air_low_c is not None
    )


def pairs(lows: Iterable[PastLow], came_c: Mapping[date, float], threshold_c: float) -> tuple[Pair, ...]:
    """(Odds given, whether it came so) of every forecast of a night whose low is known, by its evening."""
    return tuple(
        (low.odds_below(threshold_c), came_c[low.evening] < threshold_c) for low in lows if low.evening in came_c
    )


def _forecast(line: Mapping[str, object]) -> tuple[Forecast | None, datetime]:
    if line["schema"] != SCHEMA:
        raise ValueError(f"schema {line['schema']!r}")
    made_at = utc(str(line["fetched_at"]))
    if line["first_hour"] is None:
        return None, made_at
    air_c = [as_number(value) for value in as_list(line["air_temperature_c"])]
    index = pd.date_range(utc(str(line["first_hour"])), periods=len(air_c), freq="h", name="time")
    blocks = [
        (utc(str(start)), utc(str(end)), as_number(low))
        for start, end, low in map(as_list, as_list(line["block_lows"]))
    ]
    origin = Origin(str(line["provider"]), "", None, made_at, None, None)
    frame = pd.DataFrame({"air_temperature_c": pd.Series(air_c, index, dtype="float64")})
    if frame.empty:
        return None, made_at
    lows = pd.DataFrame(blocks, columns=["start", "end", "min_c"])
    return finished(frame, origin, block_lows=lows), made_at
