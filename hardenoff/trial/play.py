"""A whole trial: every start, crop, carer and seed at one place, date after date."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from hardenoff.ramp.day import DayPlanner, Run
from hardenoff.ramp.state import first_state
from hardenoff.records import Garden
from hardenoff.trial.compare import lines, verdicts
from hardenoff.trial.error import IN_WORDS
from hardenoff.trial.lanes import Lane, step
from hardenoff.trial.records import LONGEST_DAYS, PLAYERS, Player, RunResult, Trial
from hardenoff.trial.season import CERTAIN, Season, season_of
from hardenoff.trial.weather import Weather


@dataclass(frozen=True, slots=True)
class Asked:
    """What is played. `gardens`: by carer's name, each with its batches and carer; all share one set of spots."""

    gardens: dict[str, Garden]
    starts: tuple[date, ...]
    seeds: tuple[int, ...]
    perfect: bool = True
    """Forecasts that come true are played as well."""


def play(weather: Weather, asked: Asked, heard: Callable[[date], None] | None = None) -> Trial:
    """Play a trial.

    `heard` is told each date before it is lived.

    Raises
    ------
    ValueError
        The weather does not reach from the day before the first start to 60 days and a few past the last.
    """
    lanes, season = prepared(weather, asked)
    on = asked.starts[0]
    while on < asked.starts[-1] + timedelta(days=LONGEST_DAYS):
        if heard is not None:
            heard(on)
        step(season, lanes, on)
        on += timedelta(days=1)
    return summed(weather, asked, [lane.result() for lane in lanes])


def prepared(weather: Weather, asked: Asked) -> tuple[list[Lane], Season]:
    """All runs before their first day, and the season they are to live."""
    gardens = {name: replace(garden, place=weather.place) for name, garden in asked.gardens.items()}
    last = asked.starts[-1] + timedelta(days=LONGEST_DAYS)
    season = season_of(weather, next(iter(gardens.values())), asked.starts[0], last)
    lanes = [
        _lane(season, player, name, replace(garden, batches=(batch,)), start, seed)
        for name, garden in gardens.items()
        for batch in garden.batches
        for start in asked.starts
        for player in PLAYERS
        for seed in _seeds(player, asked)
    ]
    return lanes, season


def _seeds(player: Player, asked: Asked) -> Sequence[int | None]:
    """Who looks at no forecast lives one run a start."""
    if player in ("foresight", "chart", "straight"):
        return (None,)
    return ((None,) if asked.perfect else ()) + asked.seeds


def _lane(season: Season, player: Player, carer: str, garden: Garden, start: date, seed: int | None) -> Lane:
    batch = replace(garden.batches[0], start=start)
    known = season.as_it_was(start, CERTAIN)
    open_track = max(season.scene.tracks, key=lambda track: track.sky_view)
    light = float(open_track.light_likely_mol[season.scene.slots(season.day(start))].sum())
    garden = replace(garden, batches=(batch,))
    planner = DayPlanner(garden=garden, scene=known.scene, watch=known.watch)
    return Lane(player, carer, planner.garden, start, seed, Run(batch, first_state(batch, garden, light)))


def summed(weather: Weather, asked: Asked, runs: list[RunResult]) -> Trial:
    """The trial's record out of its runs."""
    return Trial(
        place=weather.place.name,
        latitude=weather.place.latitude,
        longitude=weather.place.longitude,
        timezone=weather.place.timezone,
        weather=weather.label,
        notes=weather.notes,
        first_start=asked.starts[0],
        last_start=asked.starts[-1],
        starts=len(asked.starts),
        seeds=asked.seeds,
        forecasts=IN_WORDS,
        lines=lines(runs),
        verdicts=verdicts(runs),
        runs=tuple(runs),
    )


def starts_between(first: date, last: date, every_days: int) -> tuple[date, ...]:
    """First days from `first` on, no later than `last`."""
    count = (last - first).days // every_days + 1
    return tuple(first + timedelta(days=n * every_days) for n in range(count))
