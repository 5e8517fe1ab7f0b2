"""The constants of the night model, by name."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from hardenoff.tables.rows import read_rows, sourced


@dataclass(frozen=True, slots=True)
class NightModel:
    """What `hardenoff.night` reckons with; values and sources are in `night_model.csv`."""

    screen_to_tray_drop_c: float
    """Air at the tray below the forecast's air at 2 m, under an open, clear, calm sky."""
    leaf_drop_c: float
    """Leaf below the air beside it, under the same sky."""
    cloud_weight: float
    """Share of the drop that a full cover of cloud takes away."""
    calm_wind_m_s: float
    breeze_wind_m_s: float
    """Wind at 10 m: whole drop up to the first, `breeze_share` of it at the second, `windy_share` beyond."""
    breeze_share: float
    windy_share: float
    least_hours_present: float
    """Share of a night's hours under which it is unknown."""
    dawn_before_h: float
    dawn_after_h: float
    """From so long before sunrise until so long after it no hour may be missing."""
    coldest_stretch_c: float
    """Hours within this of the coldest one give the night's cloud and wind."""
    nightfall_without_sun_clock: float
    dawn_without_sun_clock: float
    """Local hours of the clock that stand for sunset and sunrise where there are none."""
    limits_fall_after_days: float
    """Earned air days up to which the tender limits hold."""
    cover_least_air_c: float
    """Forecast air below which no cover is trusted."""
    member_inflation: float
    """Factor on the standard deviation of ensemble members."""
    least_members: int
    clear_night_share: float
    """Share of the open night's drop from which a night counts as clear and calm."""
    learned_prior_nights: float
    """What is known beforehand weighs as much as so many logged nights."""
    learned_cut_c: float
    """A night farther than this from the rest pulls no harder than one at this distance."""
    learned_most_c: float
    own_spread_least_share: float
    """Of the usual spread, the least that own lows can bring it down to."""
    carrying: Mapping[str, float]
    """Odds of check by what an evening of carrying for nothing is to the grower."""


@cache
def load_night_model() -> NightModel:
    """The constants, read once."""
    rows = {row["quantity"]: sourced(row).value for row in read_rows("night_model.csv")}
    return NightModel(
        screen_to_tray_drop_c=rows["screen_to_tray_drop"],
        leaf_drop_c=rows["leaf_drop"],
        cloud_weight=rows["cloud_weight"],
        calm_wind_m_s=rows["calm_wind"],
        breeze_wind_m_s=rows["breeze_wind"],
        breeze_share=rows["breeze_share"],
        windy_share=rows["windy_share"],
        least_hours_present=rows["least_hours_present"],
        dawn_before_h=rows["dawn_before"],
        dawn_after_h=rows["dawn_after"],
        coldest_stretch_c=rows["coldest_stretch"],
        nightfall_without_sun_clock=rows["nightfall_without_sun_clock"],
        dawn_without_sun_clock=rows["dawn_without_sun_clock"],
        limits_fall_after_days=rows["limits_fall_after"],
        cover_least_air_c=rows["cover_least_air"],
        member_inflation=rows["member_inflation"],
        least_members=int(rows["least_members"]),
        clear_night_share=rows["clear_night_share"],
        learned_prior_nights=rows["learned_prior_nights"],
        learned_cut_c=rows["learned_cut"],
        learned_most_c=rows["learned_most"],
        own_spread_least_share=rows["own_spread_least_share"],
        carrying={word: rows[f"carrying_{word}"] for word in ("cheap", "fair", "dear")},
    )
