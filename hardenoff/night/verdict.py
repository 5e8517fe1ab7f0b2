"""The two limits of a crop as it hardens, the odds that a night breaks them, and what follows."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from math import erf, isfinite, sqrt
from typing import Literal

from hardenoff.night.spot import SpotNight
from hardenoff.records import Crop, Risk
from hardenoff.tables import load_night_model


@dataclass(frozen=True, slots=True)
class Judgement:
    """What a night means for a batch at a spot. Odds are without the cover, None while the night is unknown."""

    odds_check: float | None
    odds_harm: float | None
    verdict: Literal["out", "cover", "in", "unknown"]


def lead_days(today: date, evening: date) -> int:
    """Lead time of the night that begins on `evening`: 1 for the coming and the running one. [d]"""
    return max((evening - today).days + 1, 1)


def check_below_c(crop: Crop, rule_length: int, air: float) -> float:
    """Forecast air below which the crop comes in, after `air` earned air days. [C]"""
    return _falling(crop.check_below_tender_c, crop.check_below_hardened_c, rule_length, air)


def harm_below_c(crop: Crop, rule_length: int, air: float) -> float:
    """Tissue temperature below which the crop may be injured, after `air` earned air days. [C]"""
    return _falling(crop.harm_below_tender_c, crop.harm_below_hardened_c, rule_length, air)


def _falling(tender_c: float, hardened_c: float, rule_length: int, air: float) -> float:
    """Straight line from the tender value, held up to 5 earned days, to the hardened one at the rule's end."""
    first = load_night_model().limits_fall_after_days
    if air >= rule_length:
        return hardened_c
    if air <= first:
        return tender_c
    return tender_c + (hardened_c - tender_c) * (air - first) / (rule_length - first)


def judge(
    spot_night: SpotNight | None,
    *,
    check_below_c: float,
    harm_below_c: float,
    risk: Risk,
    cover_c: float | None,
) -> Judgement:
    """Out, under a cover, in, or unknown.

    Parameters
    ----------
    spot_night : SpotNight or None
        None: the night is unknown, and so is the verdict; it is never out.
    check_below_c, harm_below_c : float
        The batch's limits now: forecast air, tissue. [C]
    risk : Risk
        Odds above which either limit brings plants in.
    cover_c : float or None
        Night gain of a cover kept at the spot; None: there is none. [C]

    Notes
    -----
    Errors are taken as normal. A cover is the answer only where the odds pass with its gain and not without
    it, and never below 30 F of forecast air.
    """
    if spot_night is None or not isfinite(spot_night.air_low_c + spot_night.leaf_low_c + spot_night.sd_c):
        return Judgement(None, None, "unknown")

    def odds(gain_c: float) -> tuple[float, float]:
        return (
            _odds_below(check_below_c, spot_night.air_low_c + gain_c, spot_night.sd_c),
            _odds_below(harm_below_c, spot_night.leaf_low_c + gain_c, spot_night.sd_c),
        )

    def pass_(found: tuple[float, float]) -> bool:
        return found[0] <= risk.check and found[1] <= risk.harm

    bare = odds(0.0)
    if pass_(bare):
        return Judgement(*bare, "out")
    warm_enough = spot_night.forecast_low_c >= load_night_model().cover_least_air_c
    if cover_c is not None and warm_enough and pass_(odds(cover_c)):
        return Judgement(*bare, "cover")
    return Judgement(*bare, "in")


def _odds_below(limit_c: float, mean_c: float, sd_c: float) -> float:
    """Probability that a normal value falls below the limit."""
    return 0.5 * (1.0 + erf((limit_c - mean_c) / (sd_c * sqrt(2.0))))
