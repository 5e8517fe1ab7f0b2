"""What a night threatens: its low, the low at the leaf of a spot, the odds, and the verdict.

    Forecast -> nights -> NightWeather -> at_spot -> SpotNight -> judge -> Judgement

Two limits stay apart. *Check* holds the published "bring in below" rules: they speak of forecast **air**.
*Harm* speaks of **tissue**: under an open, clear, calm sky a leaf is several degrees colder than that air.
"""

from hardenoff.night.hindsight import filled, own_lows
from hardenoff.night.learned import Learned, LoggedNight, Offset, OwnLows, learn, regime
from hardenoff.night.spot import ONE_IN_TEN, SpotNight, at_spot, clear_calm_share, has_spread_of_members, spread_c
from hardenoff.night.verdict import Judgement, check_below_c, harm_below_c, judge, lead_days
from hardenoff.night.weather import NightWeather, SunTimes, nights

__all__ = [
    "ONE_IN_TEN",
    "Judgement",
    "Learned",
    "LoggedNight",
    "NightWeather",
    "Offset",
    "OwnLows",
    "SpotNight",
    "SunTimes",
    "at_spot",
    "check_below_c",
    "clear_calm_share",
    "filled",
    "harm_below_c",
    "has_spread_of_members",
    "judge",
    "lead_days",
    "learn",
    "nights",
    "own_lows",
    "regime",
    "spread_c",
]
