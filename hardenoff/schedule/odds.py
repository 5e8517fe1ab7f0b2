"""What the odds of the nights rest on, and how far apart the sources are: notes to the forecast of a schedule."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta

from hardenoff.dates import short_day
from hardenoff.night import NightWeather, has_spread_of_members, lead_days
from hardenoff.ramp.plan import Planner
from hardenoff.tables import last_lead_days, low_spread_c

TOLD_APART_NIGHTS = 3
"""So many coming nights are compared between the sources."""


def odds_notes(planner: Planner, days: Sequence[date]) -> tuple[str, ...]:
    """Notes on the nights that begin on these dates; none where the table of forecast errors stands alone."""
    return (*_apart(planner), *_members(planner, days), *_own(planner), *_past_the_table(planner, days))


def _apart(planner: Planner) -> Iterator[str]:
    """Each other source: by how much its lows of the coming nights differ. A difference is told in C and F."""
    told: dict[str, list[str]] = {}
    for evening in (planner.today + timedelta(days=n) for n in range(TOLD_APART_NIGHTS)):
        main = planner.watch.weather(evening)
        for provider, other in planner.scene.other_nights.get(evening, ()):
            if main is not None and main.air_low_c is not None and other.air_low_c is not None:
                apart = _difference(other.air_low_c - main.air_low_c)
                told.setdefault(provider, []).append(f"{short_day(evening)} {apart}")
    for provider, nights in told.items():
        yield f"{provider} has the low of {', '.join(nights)}; the colder source decides about harm"


def _difference(c: float) -> str:
    if abs(c) < 0.05:
        return "the same"
    return f"{_both(abs(c))} {'colder' if c < 0.0 else 'warmer'}"


def _members(planner: Planner, days: Sequence[date]) -> Iterator[str]:
    nights = _nights(planner, days)
    with_members = [night for night in nights if has_spread_of_members(night)]
    if not with_members:
        return
    count, last = max(len(night.member_lows_c) for night in with_members), with_members[-1].evening
    text = f"how sure the lows are is told by {count} members of an ensemble forecast"
    ends = any(night.evening > last for night in nights)
    until = f" up to the night of {short_day(last)}, after that by the usual errors of forecasts"
    yield text + (until if ends else "")


def _own(planner: Planner) -> Iterator[str]:
    """How far forecasts were off by the grower's own lows, and what the odds rest on since: by lead time."""
    own = planner.watch.own
    for lead, error in own.errors.items():
        usual_c, used_c = low_spread_c(lead), own.sd_c(lead)
        yield (
            f"{error.nights} nights of your own, forecast {lead} day{'' if lead == 1 else 's'} ahead: beside your "
            f"offsets {_difference(-error.bias_c)}, give or take {_both(error.sd_c)}; odds now rest on "
            f"{_both(used_c)}, not the usual {_both(usual_c)}"
        )


def _both(c: float) -> str:
    return f"{c:.1f} C ({c * 1.8:.1f} F)"


def _past_the_table(planner: Planner, days: Sequence[date]) -> Iterator[str]:
    far = [
        night
        for night in _nights(planner, days)
        if lead_days(planner.today, night.evening) > last_lead_days() and not has_spread_of_members(night)
    ]
    if far:
        yield (
            f"from the night of {short_day(far[0].evening)} on, past {last_lead_days():.0f} days, no forecast "
            "knows more than the season does: odds are widened to the spread of spring nights (this one's is "
            "unknown)"
        )


def _nights(planner: Planner, days: Sequence[date]) -> list[NightWeather]:
    """Known nights, each from the source that tells how sure its low is."""
    found = (planner.watch.weather(on) for on in days)
    return [planner.watch.most_telling(night) for night in found if night is not None and night.known]
