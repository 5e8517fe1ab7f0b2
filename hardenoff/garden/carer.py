"""The carer: tables -> record, with the windows of each weekday in order and overlapping ones made one."""

from __future__ import annotations

from datetime import date

from hardenoff.garden.schema import CarerTable
from hardenoff.garden.times import merged
from hardenoff.records import Carer, Span

AT_HOME = (Span(7 * 60, 21 * 60),)
"""Someone is there from 7 to 21, where the file says nothing (ours)."""

_SATURDAY = 5


def build_carer(table: CarerTable) -> Carer:
    """Weekdays and weekends fill the week, `days` replaces single weekdays and dates."""
    weekdays = AT_HOME if table.weekdays is None else merged(table.weekdays)
    weekends = AT_HOME if table.weekends is None else merged(table.weekends)
    days = {day: merged(spans) for day, spans in table.days.items()}
    return Carer(
        week=tuple(days.get(n, weekdays if n < _SATURDAY else weekends) for n in range(7)),
        dates={day: spans for day, spans in days.items() if isinstance(day, date)},
        away=tuple(table.away),
        moves_per_day=table.moves_per_day,
        trays_per_trip=table.trays_per_trip,
        minutes_per_trip=table.minutes_per_trip,
    )
