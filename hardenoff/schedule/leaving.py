"""Where batches can be left for an absence: put there at the last carry before it, fetched at the next after."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from hardenoff.ramp.capacity import DayBook, morning_times, move_times
from hardenoff.ramp.outcome import DayOutcome
from hardenoff.ramp.plan import Planner
from hardenoff.ramp.table import INSIDE_AT
from hardenoff.records import Batch
from hardenoff.schedule.records import Reason
from hardenoff.schedule.unattended import Failure, Slot, Trial, left_at, moment

FETCH_WITHIN = 14
"""Days after the return that are looked at for a carry."""

Plans = dict[str, tuple[DayOutcome, ...]]


@dataclass(frozen=True, slots=True)
class Leaving:
    """Every spot tried for one batch, the best first; where none holds, the one that holds longest."""

    trials: tuple[Trial, ...]
    why_not: Reason | None = None
    """Why none could be tried."""

    @property
    def best(self) -> Trial | None:
        """The one to take."""
        return self.trials[0] if self.trials and self.trials[0].failure is None else None


@dataclass(slots=True)
class _Taken:
    """The carer's time and the room that batches before have taken."""

    books: dict[date, DayBook] = field(default_factory=dict)
    trays: dict[str, int] = field(default_factory=dict)

    def book(self, on: date) -> DayBook:
        return self.books.setdefault(on, DayBook())

    def full(self, planner: Planner, spot: str, batch: Batch) -> bool:
        track = planner.scene.track(spot)
        return track.spot.holds is not None and self.trays.get(track.room, 0) + batch.trays > track.spot.holds

    def take(self, planner: Planner, batch: Batch, trial: Trial) -> None:
        room = planner.scene.track(trial.spot).room
        self.trays[room] = self.trays.get(room, 0) + batch.trays
        for slot in (trial.put, trial.fetch):
            self.book(slot.on).book_carry(slot.quarter, planner.garden.carer.minutes(batch.trays))


def leave_all(
    planner: Planner, plans: Plans, batches: tuple[Batch, ...], now: datetime, first: date, last: date
) -> dict[str, Leaving]:
    """Try every spot for every batch, in the garden's order; they share the carer's time and the room.

    `planner` and `plans`: the plan in which nobody is there from `first` to `last`.
    """
    taken, found = _Taken(), dict[str, Leaving]()
    for batch in batches:
        leaving = _leave(planner, {day.date: day for day in plans[batch.name]}, batch, now, first, last, taken)
        if leaving.best is not None:
            taken.take(planner, batch, leaving.best)
        found[batch.name] = leaving
    return found


def _leave(
    planner: Planner,
    planned: dict[date, DayOutcome],
    batch: Batch,
    now: datetime,
    first: date,
    last: date,
    taken: _Taken,
) -> Leaving:
    evening = _last_times(planner, batch, now, first, taken)
    fetch = _fetch(planner, batch, last, taken)
    if evening is None or fetch is None:
        which = "carry it out before you leave" if evening is None else "fetch it after you are back"
        return Leaving((), Reason("absent", f"nobody is there to {which}"))
    before = planned[evening[0]]
    puts = list(_puts(before, *evening, planner.garden.carer.moves_per_day))
    if not puts:
        text = f"moves_per_day = {planner.garden.carer.moves_per_day} leaves no move to carry it out"
        return Leaving((), Reason("carer_short", text))
    trials = []
    for track in planner.scene.tracks:
        tries = [_try(planner, batch, track.spot.name, before, put, fetch, taken) for put in puts]
        trials.append(max(tries, key=lambda trial: _worth(planner, batch, trial)))
    return Leaving(tuple(sorted(trials, key=lambda trial: _worth(planner, batch, trial), reverse=True)))


def _try(
    planner: Planner, batch: Batch, spot: str, before: DayOutcome, put: Slot, fetch: Slot, taken: _Taken
) -> Trial:
    if taken.full(planner, spot, batch):
        full = Failure(put, Reason("full", "no room for its trays"))
        return Trial(spot, put, fetch, {}, before.state, (), full)
    return left_at(planner, batch, spot, before, put, fetch)


def _worth(planner: Planner, batch: Batch, trial: Trial) -> tuple[float, ...]:
    """Spots that hold come first: by ramp-days, nights, light still needed, odds; then the others, by how far."""
    if trial.failure is not None:
        return (0.0, moment(planner, trial.failure.at).timestamp())
    state = trial.state
    light = state.light_mol
    if planner.light_done(batch, state, planner.scene.index(trial.fetch.on)):
        light = math.inf
    odds = [day.night.spots[trial.spot][1].odds_harm for day in trial.nights]
    worst = max((each for each in odds if each is not None), default=0.0)
    return (1.0, state.ramp_days, state.air + state.sun, state.cold, light, -worst)


# --- when it is carried ----------------------------------------------------------------------------


def _last_times(
    planner: Planner, batch: Batch, now: datetime, first: date, taken: _Taken
) -> tuple[date, tuple[int, ...]] | None:
    """The last date before the absence on which it can still be carried, and its quarter hours."""
    scene, carer = planner.scene, planner.garden.carer
    on = first - timedelta(days=1)
    while on >= planner.today:
        day = scene.index(on)
        times = move_times(scene, day, carer, carer.minutes(batch.trays), taken.book(on))
        ahead = tuple(quarter for quarter in times if moment(planner, Slot(on, quarter)) > now)
        if ahead:
            return on, ahead
        on -= timedelta(days=1)
    return None


def _puts(before: DayOutcome, on: date, times: tuple[int, ...], moves_most: int) -> Iterator[Slot]:
    """When it can be put there: in place of coming in, if that is in the last window; else at its end."""
    route = before.route
    moves = () if route is None else route.moves
    comes_in = route is not None and bool(moves) and route.places[-1] == INSIDE_AT
    wanted = [moves[-1]] if comes_in and moves[-1] in _last_stretch(times) else []
    for quarter in dict.fromkeys([*wanted, times[-1]]):
        if sum(move < quarter for move in moves) + 1 <= moves_most:
            yield Slot(on, quarter)


def _last_stretch(times: tuple[int, ...]) -> tuple[int, ...]:
    """The quarter hours of the last window."""
    begin = len(times) - 1
    while begin > 0 and times[begin - 1] == times[begin] - 1:
        begin -= 1
    return times[begin:]


def _fetch(planner: Planner, batch: Batch, last: date, taken: _Taken) -> Slot | None:
    """The first time after the absence at which it can be carried in."""
    scene, carer = planner.scene, planner.garden.carer
    for ahead in range(1, FETCH_WITHIN + 1):
        on = last + timedelta(days=ahead)
        if on >= scene.dates[-1]:
            return None
        day = scene.index(on)
        times = move_times(scene, day, carer, carer.minutes(batch.trays), taken.book(on))
        morning = morning_times(scene, day, times)
        if morning:
            return Slot(on, morning[0])
    return None
