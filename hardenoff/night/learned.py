"""A low that learns: what a spot's own logged lows say of its next night, clear and calm nights kept apart."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from math import sqrt
from typing import Literal

from hardenoff.forecast.skill import LeadError
from hardenoff.night.spot import clear_calm_share
from hardenoff.records import Spot
from hardenoff.tables import load_night_model, low_spread_c

Regime = Literal["clear", "other"]
"""Clear and calm, when cold air gathers and leaves shine into the sky; and all other nights."""
LEAST_FOR_SD = 3
"""Fewer nights tell no spread (ours)."""


@dataclass(frozen=True, slots=True)
class LoggedNight:
    """One low that was measured, and the same night as it was forecast; None where that is not known."""

    spot: str
    morning: date
    low_c: float
    forecast_low_c: float | None
    cloud_frac: float | None
    wind_m_s: float | None
    """Of the coldest hours, as in `NightWeather`."""

    @property
    def regime(self) -> Regime | None:
        """None: the forecast of the night is not known, and nothing is learned from it."""
        if self.cloud_frac is None or self.wind_m_s is None or self.forecast_low_c is None:
            return None
        return regime(self.cloud_frac, self.wind_m_s)

    @property
    def colder_c(self) -> float:
        """Forecast minus measured: positive = colder than forecast. ValueError without a forecast."""
        if self.forecast_low_c is None:
            raise ValueError(f"no forecast of the night to {self.morning}")
        return self.forecast_low_c - self.low_c


@dataclass(frozen=True, slots=True)
class Offset:
    """What is taken off the forecast's low at a spot on one night."""

    offset_c: float
    """Positive = colder."""
    nights: int
    """Logged nights of this kind that it stands on."""
    regime: Regime
    share: float
    """How far it rests on them rather than on what was known beforehand, 0 to 1."""


@dataclass(frozen=True, slots=True)
class Learned:
    """What a spot's lows taught. An offset is None where no night of the kind was logged."""

    clear_c: float | None = None
    other_c: float | None = None
    clear_nights: int = 0
    other_nights: int = 0
    sd_c: float | None = None
    """Standard deviation of the nights about the mean of their kind; None if there are too few."""

    def offset(self, kind: Regime) -> Offset | None:
        """The offset for a night of that kind; None where none was logged: then all is as it was."""
        offset_c, nights = (
            (self.clear_c, self.clear_nights) if kind == "clear" else (self.other_c, self.other_nights)
        )
        if offset_c is None:
            return None
        return Offset(offset_c, nights, kind, nights / (nights + load_night_model().learned_prior_nights))


def regime(cloud_frac: float, wind_m_s: float) -> Regime:
    """Clear and calm if an open spot would keep at least 0.7 of the night's drop (ours)."""
    kept = clear_calm_share(1.0, cloud_frac, wind_m_s)
    return "clear" if kept >= load_night_model().clear_night_share else "other"


def learn(nights: Iterable[LoggedNight], *, prior_c: float) -> Learned:
    """What the logged nights of one spot say; their order does not matter.

    Parameters
    ----------
    nights : iterable of LoggedNight
        Those without a forecast are left out.
    prior_c : float
        What was known beforehand: the spot's `colder`. [C]

    Notes
    -----
    In each kind the offset is the mean of forecast - measured over its n nights and k = 2 imaginary ones at
    `prior_c`: with n ordinary nights that agree, n / (n + k) of the way, 5/7 after five. A night more than 3 C
    from the offset pulls no harder than one at 3 C (Huber 1964), so that one bad reading beside n nights that
    agree moves it by at most 3 / n C, and the very first by 1.5 C. It stays within 8 C. All these numbers are
    ours, in `night_model.csv`.
    """
    by_kind: dict[Regime, list[float]] = {"clear": [], "other": []}
    for night in nights:
        if night.regime is not None:
            by_kind[night.regime].append(night.colder_c)
    clear, other = by_kind["clear"], by_kind["other"]
    return Learned(
        clear_c=_offset_c(clear, prior_c),
        other_c=_offset_c(other, prior_c),
        clear_nights=len(clear),
        other_nights=len(other),
        sd_c=_sd_c([clear, other]),
    )


def _offset_c(colder_c: Sequence[float], prior_c: float) -> float | None:
    if not colder_c:
        return None
    most = max(load_night_model().learned_most_c, abs(prior_c))
    return min(max(_towards(sorted(colder_c), prior_c), -most), most)


def _towards(colder_c: Sequence[float], prior_c: float) -> float:
    """Huber's mean with the imaginary nights; of several that fit, the one nearest to what was known before."""
    if _pull(colder_c, prior_c, prior_c) < 0.0:
        return -_towards([-value for value in reversed(colder_c)], -prior_c)
    low, high = prior_c, max(prior_c, colder_c[-1])
    for _ in range(60):  # halves an interval of 40 C down to what a float can hold
        middle = (low + high) / 2.0
        if _pull(colder_c, prior_c, middle) > 0.0:
            low = middle
        else:
            high = middle
    return high


def _pull(colder_c: Sequence[float], prior_c: float, at_c: float) -> float:
    """How hard all nights together pull an offset upwards."""
    model = load_night_model()

    def cut(distance_c: float) -> float:
        return min(max(distance_c, -model.learned_cut_c), model.learned_cut_c)

    return sum(cut(value - at_c) for value in colder_c) + model.learned_prior_nights * cut(prior_c - at_c)


def _sd_c(kinds: Iterable[Sequence[float]]) -> float | None:
    """Standard deviation about the mean of each kind, together."""
    told = [kind for kind in kinds if kind]
    spare = sum(len(kind) for kind in told) - len(told)
    if spare < LEAST_FOR_SD - 1:
        return None
    means = [sum(kind) / len(kind) for kind in told]
    return sqrt(sum((value - mean) ** 2 for kind, mean in zip(told, means, strict=True) for value in kind) / spare)


# --- all spots of a garden -----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class OwnLows:
    """All that a grower's own lows say: an offset by spot and kind of night, and how far forecasts are off."""

    by_spot: Mapping[str, Learned] = field(default_factory=dict)
    errors: Mapping[int, LeadError] = field(default_factory=dict)
    """By lead time in days; only leads with enough nights."""

    def offset(self, spot: str, cloud_frac: float, wind_m_s: float) -> Offset | None:
        """The offset of a spot on a night of that cloud and wind; None: nothing was learned of such nights."""
        return self.by_spot.get(spot, Learned()).offset(regime(cloud_frac, wind_m_s))

    def sd_c(self, lead_days: float) -> float:
        """Standard deviation of a forecast low: the own one where it is known, at least half of the usual. [C]

        It never falls with the lead time.
        """
        leads = [*(float(lead) for lead in range(1, int(lead_days) + 1)), lead_days]
        return max(self._sd_at_c(lead) for lead in leads)

    def _sd_at_c(self, lead_days: float) -> float:
        usual_c, error = low_spread_c(lead_days), self.errors.get(int(lead_days))
        if error is None or lead_days != int(lead_days):
            return usual_c
        return max(error.spread_c, load_night_model().own_spread_least_share * usual_c)


def learn_spots(nights: Sequence[LoggedNight], spots: Iterable[Spot]) -> dict[str, Learned]:
    """What the logged nights say of each of the spots, by name; spots that nothing is known of are left out.

    A spot that is `like` another and has no low of its own is taken to be as cold as that one, under whatever
    layer hangs over it; never the other way round, since lows under a cloth say little of the open.
    """
    logged = {night.spot for night in nights if night.regime is not None}
    learned = {}
    for spot in spots:
        told = next((name for name in (spot.name, spot.like) if name in logged), None)
        if told is not None:
            learned[spot.name] = learn((night for night in nights if night.spot == told), prior_c=spot.colder_c)
    return learned
