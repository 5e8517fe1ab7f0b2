"""The nights as the planner sees them: every spot's low and its odds, judged for one batch at a time."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date

from hardenoff.forecast.alerts import Alert
from hardenoff.night import (
    ONE_IN_TEN,
    Judgement,
    NightWeather,
    Offset,
    OwnLows,
    SpotNight,
    at_spot,
    has_spread_of_members,
    judge,
    lead_days,
    spread_c,
)
from hardenoff.ramp.limits import DayLimits
from hardenoff.ramp.scene import Scene
from hardenoff.records import Batch, Risk

Verdicts = Mapping[str, tuple[SpotNight | None, Judgement]]
"""By spot; empty past the forecast."""
UNKNOWN = Judgement(odds_check=None, odds_harm=None, verdict="unknown")


@dataclass(frozen=True, slots=True)
class NightWatch:
    """Nights of a scene, seen from the local date `today`."""

    scene: Scene
    risk: Risk
    today: date
    _lows: dict[tuple[date, str], SpotNight | None] = field(default_factory=dict)
    _verdicts: dict[tuple[date, float, float], Verdicts] = field(default_factory=dict)

    @property
    def own(self) -> OwnLows:
        """What the grower's own lows taught."""
        return self.scene.heard.own

    def weather(self, evening: date) -> NightWeather | None:
        """The night that begins on a date; None past the forecast."""
        return self.scene.nights.get(evening)

    def low(self, evening: date, spot: str) -> SpotNight | None:
        """The low at a spot; None where the night is unknown or past the forecast."""
        key = (evening, spot)
        if key not in self._lows:
            self._lows[key] = self._low(evening, spot)
        return self._lows[key]

    def _low(self, evening: date, spot: str) -> SpotNight | None:
        night = self.weather(evening)
        if night is None or not night.known:
            return None
        main = self._at(night, spot)
        others = [self._at(other, spot) for _, other in self.scene.other_nights.get(evening, ())]
        found = [low for low in others if low is not None]
        if main is None or not found:
            return main
        leaf_low_c = min(low.leaf_low_c for low in (main, *found))  # the colder source decides harm
        sd_c = spread_c(self.most_telling(night), self._lead(night), self.own.sd_c)
        return replace(main, leaf_low_c=leaf_low_c, sd_c=sd_c, low_1_in_10_c=main.air_low_c + ONE_IN_TEN * sd_c)

    def most_telling(self, night: NightWeather) -> NightWeather:
        """The same night from the source that tells how sure its low is; as it was given, where none does."""
        others = (other for _, other in self.scene.other_nights.get(night.evening, ()))
        return next((one for one in (night, *others) if has_spread_of_members(one)), night)

    def _lead(self, night: NightWeather) -> float:
        return max(1.0, float(lead_days(self.today, night.evening)))

    def _at(self, night: NightWeather, spot: str) -> SpotNight | None:
        track = self.scene.track(spot)
        learned = self._offset(night, spot)
        return at_spot(
            night,
            colder_c=track.spot.colder_c,
            sky_view=track.sky_view,
            lead_days=self._lead(night),
            learned_c=None if learned is None else learned.offset_c,
            learned_share=0.0 if learned is None else learned.share,
            usual_sd_c=self.own.sd_c,
        )

    def offset(self, evening: date, spot: str) -> Offset | None:
        """What the spot's own lows take off a night's forecast; None if they say nothing of such a night."""
        night = self.weather(evening)
        return None if night is None else self._offset(night, spot)

    def _offset(self, night: NightWeather, spot: str) -> Offset | None:
        if night.cloud_frac is None or night.wind_m_s is None:
            return None
        return self.own.offset(spot, night.cloud_frac, night.wind_m_s)

    def alert(self, batch: Batch, evening: date) -> Alert | None:
        """The official alert that brings a batch in for the night that begins on a date."""
        night = self.weather(evening)
        return None if night is None else self.scene.heard.brings_in(batch.crop, night.start, night.end)

    def spots(self, batch: Batch, limits: DayLimits, evening: date) -> Verdicts:
        """Every spot judged for a batch; empty past the forecast."""
        if self.weather(evening) is None:
            return {}
        alerted = self.alert(batch, evening) is not None
        key = evening, limits.check_below_c, limits.harm_below_c
        if key not in self._verdicts:
            self._verdicts[key] = {
                track.spot.name: self._judged(limits, evening, track.spot.name) for track in self.scene.tracks
            }
        found = self._verdicts[key]
        if not alerted:
            return found
        return {spot: (low, _held_in(judged)) for spot, (low, judged) in found.items()}

    def _judged(self, limits: DayLimits, evening: date, spot: str) -> tuple[SpotNight | None, Judgement]:
        low = self.low(evening, spot)
        if low is None:
            return None, UNKNOWN
        return low, judge(
            low,
            check_below_c=limits.check_below_c,
            harm_below_c=limits.harm_below_c,
            risk=self.risk,
            cover_c=self.scene.track(spot).spot.cover_c,
        )

    def is_chilled(self, limits: DayLimits, evening: date, spot: str) -> bool:
        """Whether a night spent at a spot is expected below the check limit."""
        low = self.low(evening, spot)
        return low is not None and low.air_low_c < limits.check_below_c


def _held_in(judged: Judgement) -> Judgement:
    return judged if judged.verdict == "unknown" else replace(judged, verdict="in")
