"""A day's carries: what goes from where to where, merged over batches, in the order they are walked."""

from __future__ import annotations

from datetime import datetime

from hardenoff.ramp.outcome import DayOutcome
from hardenoff.ramp.plan import Planner
from hardenoff.records import Batch, Carer
from hardenoff.schedule.records import Move


def moves(planner: Planner, one_day: tuple[tuple[Batch, DayOutcome], ...]) -> tuple[Move, ...]:
    """One entry for each time, origin and target."""
    carried: dict[tuple[datetime, str, str], list[Batch]] = {}
    for batch, day in one_day:
        if day.route is None or day.table is None:
            continue
        begin = planner.scene.begin(day.date)
        names = day.table.names
        for quarter, origin, target in zip(day.route.moves, day.route.places, day.route.places[1:], strict=False):
            key = (planner.scene.moment(begin + quarter), names[origin], names[target])
            carried.setdefault(key, []).append(batch)
    return tuple(
        _move(planner.garden.carer, at, origin, target, batches)
        for (at, origin, target), batches in sorted(carried.items(), key=lambda entry: entry[0])
    )


def _move(carer: Carer, at: datetime, origin: str, target: str, batches: list[Batch]) -> Move:
    """One carry, with the trays of all its batches on the fewest trips."""
    trays = sum(batch.trays for batch in batches)
    minutes = carer.minutes(trays)
    return Move(at, tuple(batch.name for batch in batches), trays, origin, target, minutes)
