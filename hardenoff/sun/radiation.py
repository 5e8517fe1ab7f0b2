"""Radiation that a forecast leaves out, worked out from the parts it has, from their sum, or from cloud.

An hour's values are means over the hour. The clear sky of that hour gives them their shape within it, so that
hours in which the sun rises or sets need no special care.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from hardenoff.forecast.hours import COLUMN_NAMES, Forecast
from hardenoff.records import Place
from hardenoff.sun.position import Floats, Sky, sky

RADIATION = ("ghi_w_m2", "dni_w_m2", "dhi_w_m2")

HIGH_CLOUD_WEIGHT = 0.3
"""Thin high cloud passes most of the beam: it counts for so much of its cover (ours)."""

BRIGHTEST = 1.3
"""A beam recovered from global and diffuse is held to so many times the clear sky's (ours): near sunrise the
difference of two small numbers is noise."""


@dataclass(frozen=True, slots=True, eq=False)
class ClearHours:
    """Hourly means of the clear sky, W/m2; `beam_level_w_m2` is the beam on a level surface."""

    starts: pd.DatetimeIndex
    dni_w_m2: Floats
    ghi_w_m2: Floats
    dhi_w_m2: Floats
    beam_level_w_m2: Floats
    cos_zenith: Floats
    """Mean over the hour, 0 while the sun is down."""
    up_share: Floats
    """Share of the hour's steps with the sun up."""


def clear_hours(place: Place, clear: Sky) -> ClearHours:
    """Means over every whole hour that the steps of `clear` touch; missing parts of an hour are added."""
    starts = clear.times.floor("h").unique()
    hour = pd.Timedelta(hours=1)
    whole = clear
    if len(starts) and len(clear.times) * clear.step_min != len(starts) * 60:
        whole = sky(place, starts[0].to_pydatetime(), (starts[-1] + hour).to_pydatetime(), clear.step_min)
    rows = starts.get_indexer(whole.times.floor("h"))
    steps = np.bincount(rows, minlength=len(starts))

    def mean(values: Floats) -> Floats:
        return np.bincount(rows, weights=values, minlength=len(starts)) / steps

    return ClearHours(
        starts,
        dni_w_m2=mean(whole.dni_clear_w_m2),
        ghi_w_m2=mean(whole.ghi_clear_w_m2),
        dhi_w_m2=mean(whole.dhi_clear_w_m2),
        beam_level_w_m2=mean(whole.dni_clear_w_m2 * whole.cos_zenith),
        cos_zenith=mean(whole.cos_zenith),
        up_share=mean((whole.elevation_deg > 0.0).astype(float)),
    )


def ratio(part: Floats, whole: Floats) -> Floats:
    """`part / whole`, and 0 where the whole is 0: no sun, no share of it. NaN stays NaN."""
    return np.divide(part, whole, out=np.where(np.isnan(part), np.nan, 0.0), where=whole > 0.0)


def clouded_ghi(ghi_clear: Floats, cloud: Floats | float) -> Floats:
    """Global radiation under cloud (cover 0 to 1): Kasten & Czeplak 1980, Solar Energy 24:177."""
    return ghi_clear * (1.0 - 0.75 * cloud**3.4)


def clouded_dni(dni_clear: Floats, cloud: Floats | float) -> Floats:
    """Beam under cloud: relative sunshine is 1 - cover, to first order (Neske 2014, J. Solar Energy 306871)."""
    return dni_clear * (1.0 - cloud)


def with_radiation(forecast: Forecast, place: Place) -> Forecast:
    """The forecast with missing `ghi`, `dni`, `dhi` filled where possible, and those columns marked estimated.

    Notes
    -----
    In order, hour by hour: two parts given, the third follows from GHI = DNI cos z + DHI; GHI alone is split by
    its clearness (Erbs, Klein & Duffie 1982, Solar Energy 28:293); without radiation the clear sky is dimmed by
    cloud: low and middle layer overlapping at random, plus 0.3 of the high one, or the total cover where layers
    are not given. Without cloud as well the hour stays NaN. Values given are never changed.
    """
    hours = forecast.hours
    missing = [name for name in RADIATION if hours[name].isna().any()]
    if not missing or hours.empty:
        return forecast
    end = (hours.index[-1] + pd.Timedelta(hours=1)).to_pydatetime()
    clear = clear_hours(place, sky(place, hours.index[0].to_pydatetime(), end))
    filled = _filled(hours, clear)
    estimated = {name for name in missing if (hours[name].isna() & filled[name].notna()).any()}
    marked = tuple(name for name in COLUMN_NAMES if name in estimated or name in forecast.origin.estimated)
    return replace(forecast, hours=filled, origin=replace(forecast.origin, estimated=marked))


def cloud_for_beam(hours: pd.DataFrame) -> Floats:
    """Cover that counts for the beam, 0 to 1; NaN where neither the three layers nor the total are given."""
    low, mid, high, total = (
        hours[f"cloud_{layer}_frac"].to_numpy(dtype=float) for layer in ("low", "mid", "high", "cover")
    )
    layered = 1.0 - (1.0 - low) * (1.0 - mid) + HIGH_CLOUD_WEIGHT * high
    return np.minimum(np.where(np.isnan(layered), total, layered), 1.0)


def _filled(hours: pd.DataFrame, clear: ClearHours) -> pd.DataFrame:
    ghi, dni, dhi = (hours[name].to_numpy(dtype=float, copy=True) for name in RADIATION)
    cloud = cloud_for_beam(hours)

    diffuse = np.where(np.isnan(dhi), _diffuse_of(ghi, clear), dhi)
    _fill(dni, _beam_of(ghi - diffuse, clear))
    level = _level(dni, clear)
    _fill(ghi, level + dhi)
    _fill(dhi, np.maximum(ghi - level, 0.0))

    _fill(dni, clouded_dni(clear.dni_w_m2, cloud))
    level = _level(dni, clear)
    _fill(ghi, np.where(np.isnan(dhi), np.maximum(clouded_ghi(clear.ghi_w_m2, cloud), level), level + dhi))
    _fill(dhi, np.maximum(ghi - level, 0.0))
    return hours.assign(ghi_w_m2=ghi, dni_w_m2=dni, dhi_w_m2=dhi)


def _fill(values: Floats, estimate: Floats) -> None:
    """Put the estimate where the value is missing."""
    np.copyto(values, estimate, where=np.isnan(values))


def _level(dni: Floats, clear: ClearHours) -> Floats:
    """An hour's mean beam on a level surface, from its mean beam."""
    return ratio(dni, clear.dni_w_m2) * clear.beam_level_w_m2


def _beam_of(level: Floats, clear: ClearHours) -> Floats:
    """An hour's mean beam, from its mean on a level surface."""
    share = np.clip(ratio(level, clear.beam_level_w_m2), 0.0, BRIGHTEST)
    return share * clear.dni_w_m2


def _diffuse_of(ghi: Floats, clear: ClearHours) -> Floats:
    """Diffuse part of global radiation by the Erbs model, for the part of the hour with the sun up."""
    from pvlib import irradiance

    zenith = np.degrees(np.arccos(ratio(clear.cos_zenith, clear.up_share)))
    while_up = ratio(ghi, clear.up_share)
    split = irradiance.erbs(while_up, zenith, clear.starts.day_of_year.to_numpy())
    return np.asarray(split["dhi"], dtype=float) * clear.up_share
