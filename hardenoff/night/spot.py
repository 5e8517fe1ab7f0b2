"""The night at a spot: its air, the colder leaf, and how sure both are."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import hypot, isnan
from statistics import NormalDist, stdev

from hardenoff.night.weather import NightWeather
from hardenoff.tables import load_night_model, low_spread_c, siting_sd_c

ONE_IN_TEN = NormalDist().inv_cdf(0.1)
"""Standard deviations from the mean to the value that one in ten falls below: -1.2816."""

Spread = Callable[[float], float]
"""Standard deviation of a forecast low [C] by its lead time [d]."""

COMING_NIGHT = 1.0
"""Lead time of the coming night. [d]"""


@dataclass(frozen=True, slots=True)
class SpotNight:
    """One known night at one spot, all in degrees C."""

    forecast_low_c: float
    """The forecast's own low."""
    air_low_c: float
    """With the spot's known offset: what `check` is held against."""
    leaf_low_c: float
    """What `harm` is held against."""
    sd_c: float
    """Standard deviation of both."""
    low_1_in_10_c: float
    """The spot's air is colder than this in one such night of ten."""


def clear_calm_share(sky_view: float, cloud_frac: float, wind_m_s: float) -> float:
    """Share of the open, clear, calm night's drop that is left: S = sky view x (1 - 0.84 cloud) x g(wind).

    Parameters
    ----------
    sky_view : float
        Sky view factor of the spot, 0 to 1. NaN: open.
    cloud_frac : float
        Sky covered by cloud, 0 to 1. NaN: clear.
    wind_m_s : float
        Mean wind at 10 m. NaN: calm.

    Returns
    -------
    float
        0 to 1. g is 1 up to 1 m/s, falls in a straight line to 0.3 at 5 m/s and is 0.2 beyond (ours).

    References
    ----------
    Cloud term: Unsworth & Monteith 1975, sky emissivity under cloud (0.84; from memory).
    """
    model = load_night_model()
    view = 1.0 if isnan(sky_view) else min(max(sky_view, 0.0), 1.0)
    cloud = 0.0 if isnan(cloud_frac) else min(max(cloud_frac, 0.0), 1.0)
    wind = 0.0 if isnan(wind_m_s) else wind_m_s
    return view * (1.0 - model.cloud_weight * cloud) * _wind_share(wind)


def _wind_share(wind_m_s: float) -> float:
    model = load_night_model()
    if wind_m_s > model.breeze_wind_m_s:
        return model.windy_share
    beyond_calm = max(wind_m_s - model.calm_wind_m_s, 0.0) / (model.breeze_wind_m_s - model.calm_wind_m_s)
    return 1.0 - (1.0 - model.breeze_share) * beyond_calm


def at_spot(
    night: NightWeather,
    *,
    colder_c: float,
    sky_view: float,
    lead_days: float,
    learned_c: float | None = None,
    learned_share: float = 1.0,
    usual_sd_c: Spread = low_spread_c,
) -> SpotNight | None:
    """The night's low in the air and at the leaf of a spot; None if the night is unknown.

    Parameters
    ----------
    colder_c : float
        Known offset of the spot: positive = colder than the forecast. [C]
    sky_view : float
        Sky view factor; trees and shade layers are in it.
    lead_days : float
        1 for the coming night.
    learned_c : float, optional
        Offset learned from the spot's own lows, same sign. It replaces `colder_c` and the drop from the
        screen to the tray, both of which it already holds.
    learned_share : float
        How far it rests on logged nights, 0 to 1: so much of the drop from the screen to the tray is replaced.
    usual_sd_c : callable
        Standard deviation of a low by its lead time, where no members tell it.

    Notes
    -----
    Leaf = air - 2 C x S (screen to tray) - 1.5 C x S (leaf under the sky), S from `clear_calm_share`. A spot that
    was learned to be warmer than the forecast is so for `air_low_c`, never for the leaf: its drops begin at the
    forecast's low. The spread is the ensemble's where there are members, and never less than that of the coming
    night in the table: members share the faults of their one model and of its coarse grid. Else it is the usual
    one for the lead time.
    """
    if night.air_low_c is None or night.cloud_frac is None or night.wind_m_s is None:
        return None
    model = load_night_model()
    share = clear_calm_share(sky_view, night.cloud_frac, night.wind_m_s)
    offset_c = colder_c if learned_c is None else learned_c
    air_low_c = night.air_low_c - offset_c
    tray_drop_c = model.screen_to_tray_drop_c * share * (1.0 if learned_c is None else 1.0 - learned_share)
    beside_leaf_c = air_low_c if learned_c is None else night.air_low_c - max(learned_c, 0.0)
    sd_c = spread_c(night, lead_days, usual_sd_c)
    return SpotNight(
        forecast_low_c=night.air_low_c,
        air_low_c=air_low_c,
        leaf_low_c=beside_leaf_c - tray_drop_c - model.leaf_drop_c * share,
        sd_c=sd_c,
        low_1_in_10_c=air_low_c + ONE_IN_TEN * sd_c,
    )


def has_spread_of_members(night: NightWeather) -> bool:
    """Whether enough ensemble members have the whole night to tell a spread."""
    return len(night.member_lows_c) >= load_night_model().least_members


def spread_c(night: NightWeather, lead_days: float, usual_sd_c: Spread = low_spread_c) -> float:
    """Standard deviation of the low: that of the members' lows, inflated, else the usual; both with siting. [C]

    Counted members would step; the normal curve through them does not.
    """
    if not has_spread_of_members(night):
        return usual_sd_c(lead_days)
    inflated = load_night_model().member_inflation * stdev(night.member_lows_c)
    return max(hypot(inflated, siting_sd_c()), low_spread_c(COMING_NIGHT), usual_sd_c(COMING_NIGHT))
