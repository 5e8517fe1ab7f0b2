"""How good forecasts turned out: Brier score, skill and reliability of odds; bias and spread of lows by lead.

A pair is (odds, happened): the odds that were given, 0 to 1, and whether it came so. Definitions as in Wilks,
Statistical Methods in the Atmospheric Sciences, chapter on forecast verification; the score is Brier (1950).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import hypot, isfinite
from statistics import mean, stdev

Pair = tuple[float, bool]

BINS = 10
ENOUGH = 20
"""Cases in a bin below which its observed share says little (ours)."""


@dataclass(frozen=True, slots=True)
class Bin:
    """Cases whose odds were from `least` up to `most`; the last bin includes 1."""

    least: float
    most: float
    cases: int
    mean_odds: float
    observed_share: float

    @property
    def enough(self) -> bool:
        """Whether there are cases enough to compare the two."""
        return self.cases >= ENOUGH


def brier(pairs: Iterable[Pair]) -> float:
    """Mean squared distance of the odds from what happened: 0 is perfect, 0.25 is what a constant 0.5 earns.

    ValueError without pairs, or with odds that are no number from 0 to 1.
    """
    checked = _checked(pairs)
    return sum((odds - happened) ** 2 for odds, happened in checked) / len(checked)


def climatology_brier(pairs: Iterable[Pair]) -> float:
    """The score of always giving the share that was observed, s (1 - s): what skill is measured against."""
    checked = _checked(pairs)
    share = sum(happened for _, happened in checked) / len(checked)
    return share * (1.0 - share)


def brier_skill(pairs: Iterable[Pair]) -> float | None:
    """1 - Brier / climatology: 1 is perfect, 0 no better than climatology; None if always or never happened."""
    checked = _checked(pairs)
    reference = climatology_brier(checked)
    return None if reference == 0.0 else 1.0 - brier(checked) / reference


def reliability(pairs: Iterable[Pair]) -> tuple[Bin, ...]:
    """By tenths of the odds: how often it came so against the mean odds given. Empty bins are left out."""
    found = []
    checked = _checked(pairs)
    for number in range(BINS):
        least, most = number / BINS, (number + 1) / BINS
        inside = [pair for pair in checked if least <= pair[0] < most or (number == BINS - 1 and pair[0] == 1.0)]
        if inside:
            cases = len(inside)
            mean, share = sum(odds for odds, _ in inside) / cases, sum(came for _, came in inside) / cases
            found.append(Bin(least, most, cases, mean, share))
    return tuple(found)


# --- lows --------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class LeadError:
    """How far the lows of one lead time were off, forecast minus measured. [C]"""

    nights: int
    bias_c: float
    """Positive: it came colder than forecast."""
    sd_c: float
    """About the bias."""

    @property
    def spread_c(self) -> float:
        """Root mean square: what the odds have to allow for as long as nobody takes the bias off."""
        return hypot(self.bias_c, self.sd_c)


def lead_errors(errors: Iterable[tuple[int, float]], *, enough: int = ENOUGH) -> dict[int, LeadError]:
    """Bias and standard deviation by lead time, from (lead time in days, forecast minus measured) of each night.

    Lead times with fewer than `enough` nights are left out. ValueError for an error that is no number.
    """
    by_lead: dict[int, list[float]] = {}
    for lead, error_c in errors:
        if not isfinite(error_c):
            raise ValueError(f"an error of {error_c} C")
        by_lead.setdefault(lead, []).append(error_c)
    return {
        lead: LeadError(len(found), mean(found), stdev(found))
        for lead, found in sorted(by_lead.items())
        if len(found) >= max(enough, 2)
    }


# -----------------------------------------------------------------------------------------------------


def _checked(pairs: Iterable[Pair]) -> Sequence[Pair]:
    given = tuple(pairs)
    if not given:
        raise ValueError("no pairs: a score of nothing is not 0")
    for odds, _ in given:
        if not 0.0 <= odds <= 1.0:  # also refuses NaN
            raise ValueError(f"odds {odds}: expected 0 to 1")
    return given
