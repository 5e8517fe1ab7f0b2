"""Logged lows beside the archive of forecasts: what was forecast for those nights, and how far off, by lead."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from statistics import mean

from hardenoff.forecast.skill import LeadError, lead_errors
from hardenoff.night.learned import Learned, LoggedNight, OwnLows, learn_spots
from hardenoff.night.past import PastLow
from hardenoff.night.weather import NightWeather
from hardenoff.records import Spot
from hardenoff.tables import load_night_model

_DAY = timedelta(days=1)
COMING = 1
"""Lead time of the coming night. [d]"""

Forecasts = Mapping[tuple[date, int], float]
"""Forecast low by morning and lead time."""


def own_lows(nights: Sequence[LoggedNight], spots: Iterable[Spot], past: Sequence[PastLow] = ()) -> OwnLows:
    """All that logged nights teach: of the spots, and, beside the archive of one provider, of its forecasts."""
    learned = learn_spots(nights, spots)
    return OwnLows(learned, errors_by_lead(nights, past, learned))


def filled(
    nights: Sequence[LoggedNight], past: Sequence[PastLow], weather: Mapping[date, NightWeather]
) -> tuple[LoggedNight, ...]:
    """The nights, those without a forecast with the archived one of the day they began.

    Parameters
    ----------
    past : sequence of PastLow
        Of one provider.
    weather : mapping
        By morning: the same nights in the hours at hand, for the cloud and wind that the archive leaves out. A
        night that is not in both stays without a forecast.
    """
    told = _last_told(past)

    def one(night: LoggedNight) -> LoggedNight:
        low_c, sky = told.get((night.morning, COMING)), weather.get(night.morning)
        if night.regime is not None or low_c is None or sky is None:
            return night
        return replace(night, forecast_low_c=low_c, cloud_frac=sky.cloud_frac, wind_m_s=sky.wind_m_s)

    return tuple(one(night) for night in nights)


def errors_by_lead(
    nights: Sequence[LoggedNight], past: Sequence[PastLow], learned: Mapping[str, Learned]
) -> dict[int, LeadError]:
    """Bias and spread by lead time, once each spot's offset is taken off; of lead times with 20 nights.

    The forecast told beside a low is one of lead 1, where the archive has none. Lows of one morning at several
    spots are one night: their mean. A single reading counts as at most 8 C off.
    """
    told = _last_told(past)
    most_c = load_night_model().learned_most_c
    found: dict[tuple[int, date], list[float]] = {}
    for night in nights:
        kind = night.regime
        offset = None if kind is None else learned.get(night.spot, Learned()).offset(kind)
        if offset is None:
            continue
        forecasts = {lead: low_c for (morning, lead), low_c in told.items() if morning == night.morning}
        forecasts.setdefault(COMING, night.low_c + night.colder_c)
        for lead, forecast_c in forecasts.items():
            error_c = forecast_c - night.low_c - offset.offset_c
            found.setdefault((lead, night.morning), []).append(min(max(error_c, -most_c), most_c))
    return lead_errors((lead, mean(errors)) for (lead, _), errors in sorted(found.items()))


def _last_told(past: Sequence[PastLow]) -> Forecasts:
    """Of several forecasts made on one day the last counts."""
    in_order = sorted(past, key=lambda low: low.made_at)
    return {(low.evening + _DAY, low.lead_days): low.low_c for low in in_order}
