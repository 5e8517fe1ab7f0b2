"""Today's carries: what goes from where to where, merged over batches, in the order they are walked."""

from __future__ import annotations

from datetime import datetime

from hardenoff.ramp.outcome import DayOutcome
from hardenoff.ramp.plan import Planner
from hardenoff.records import Batch
from hardenoff.schedule.records import Move


def moves(planner: Planner, today: tuple[tuple[Batch, DayOutcome], ...]) -> tuple[Move, ...]:
    """One entry for each time, origin and target."""
    carried: dict[tuple[datetime, str, str], list[Batch]] = {}
    begin = planner.scene.starts[planner.scene.index(planner.today)]
    for batch, day in today:
        if day.route is None or day.table is None:
            continue
        names = day.table.names
        for quarter, origin, target in zip(day.route.moves, day.route.places, day.route.places[1:], strict=False):
            key = (planner.scene.moment(begin + quarter), names[origin], names[target])
            carried.setdefault(key, []).append(batch)
    return tuple(
        Move(at, tuple(batch.name for batch in batches), sum(batch.trays for batch in batches), origin, target)
        for (at, origin, target), batches in sorted(carried.items(), key=lambda entry: entry[0])
    )
