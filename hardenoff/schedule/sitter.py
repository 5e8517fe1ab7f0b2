"""The sitter's days: the same plan, carried by somebody else at other hours, as what to do on each date."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta

from hardenoff.ramp.outcome import DayOutcome
from hardenoff.ramp.plan import Planner
from hardenoff.ramp.table import INSIDE_AT
from hardenoff.records import INSIDE, Batch, Carer, Span
from hardenoff.schedule.away_records import SitterDay
from hardenoff.schedule.moves import moves
from hardenoff.schedule.nights import night_answer
from hardenoff.schedule.records import BatchNight, Move

SITTER_HOURS = (Span(8 * 60, 9 * 60), Span(17 * 60 + 30, 19 * 60))
"""When a sitter looks in, if nothing is said (ours)."""

Plans = dict[str, tuple[DayOutcome, ...]]


def at_home(carer: Carer, first: date, last: date) -> Carer:
    """The same carer without an absence on these dates; what lies before and after them stays."""
    day = timedelta(days=1)
    cut = [
        span
        for begin, end in carer.away
        for span in ((begin, min(end, first - day)), (max(begin, last + day), end))
        if span[0] <= span[1]
    ]
    return replace(carer, away=tuple(cut))


def with_sitter(carer: Carer, first: date, last: date, hours: tuple[Span, ...]) -> Carer:
    """The same carer with somebody else there on these dates, at these hours."""
    dates = [first + timedelta(days=n) for n in range((last - first).days + 1)]
    return replace(at_home(carer, first, last), dates={**carer.dates, **dict.fromkeys(dates, hours)})


def sitter_days(
    planner: Planner, plans: Plans, batches: tuple[Batch, ...], first: date, last: date, now: datetime
) -> tuple[SitterDay, ...]:
    """What the sitter does, date by date, by a plan with the sitter's hours."""
    found = []
    for ahead in range((last - first).days + 1):
        on = first + timedelta(days=ahead)
        rows = tuple((batch, next(day for day in plans[batch.name] if day.date == on)) for batch in batches)
        known = planner.scene.is_known(planner.scene.index(on))
        carried = moves(planner, rows) if known else _brought_in(planner, rows)
        found.append(SitterDay(on, known, carried, _nights(planner, rows, now) if known else ()))
        if not known:
            rest = [on + timedelta(days=n) for n in range(1, (last - on).days + 1)]
            return (*found, *(SitterDay(later, False, (), ()) for later in rest))
    return tuple(found)


def _nights(planner: Planner, rows: tuple[tuple[Batch, DayOutcome], ...], now: datetime) -> tuple[BatchNight, ...]:
    answers = [(batch, day, night_answer(planner, batch, day, now)) for batch, day in rows]
    return tuple(
        BatchNight(batch.name, batch.crop.name, batch.trays, day.stage, answer)
        for batch, day, answer in answers
        if answer is not None
    )


def _brought_in(planner: Planner, rows: tuple[tuple[Batch, DayOutcome], ...]) -> tuple[Move, ...]:
    """The first date past the forecast: what the night left outside comes in as soon as the sitter is there."""
    found = []
    for batch, day in rows:
        if day.route is None or day.table is None or day.route.places[0] == INSIDE_AT or not day.times:
            continue
        at = planner.scene.moment(planner.scene.begin(day.date) + day.times[0])
        found.append(Move(at, (batch.name,), batch.trays, day.table.names[day.route.places[0]], INSIDE))
    return tuple(found)
