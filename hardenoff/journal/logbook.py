"""From the journal's entries to the planner's logbook: what was done with each batch on each day."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta

from hardenoff.journal.entries import Entry
from hardenoff.ramp.logbook import BatchLog, DayDone, Logbook, Stay, SunNoted

UNSAID = DayDone("unsaid")
_TELLS_THE_DAY = frozenset({"done", "out", "in", "longer", "damage", "sun"})


def logbook(entries: Sequence[Entry], batches: Iterable[str]) -> Logbook:
    """The logbook of these batches from the entries that stand, in the order they were written.

    An entry without a batch speaks of all. Of 'done', 'in' and 'out' on one day the last said counts; several
    'out' add up; 'longer' and 'damage' leave the rest of the day as it was told or planned; sun seen at a spot
    holds for whatever stood there, and says nothing of where that was.
    """
    return {name: _of([entry for entry in entries if entry.batch in (None, name)]) for name in batches}


def _of(entries: list[Entry]) -> BatchLog:
    days: dict[date, DayDone] = {}
    for entry in entries:
        if entry.kind in _TELLS_THE_DAY:
            days[entry.on] = _told(days.get(entry.on, UNSAID), entry)
    return BatchLog(
        days=_carried_over(days),
        planted_on=_first(entries, "planted"),
        finished_on=_first(entries, "finished"),
    )


def _carried_over(days: dict[date, DayDone]) -> dict[date, DayDone]:
    """A stay that went on over midnight belongs to the next day as well, where something was told of that."""
    found = dict(days)
    for on, day in days.items():
        after = on + timedelta(days=1)
        overnight = tuple(stay for stay in day.stays if stay.end.date() > on)
        if overnight and after in days and days[after].how in ("stays", "inside"):
            found[after] = replace(days[after], how="stays", stays=(*overnight, *days[after].stays))
    return found


def _told(day: DayDone, entry: Entry) -> DayDone:
    """The day as it stands after one more entry."""
    match entry.kind:
        case "done":
            return replace(day, how="as_planned", stays=())
        case "in":
            return replace(day, how="inside", stays=(), out_until=None)
        case "out":
            earlier = day.stays if day.how == "stays" else ()
            return replace(day, how="stays", stays=(*earlier, Stay(*_stretch(entry))))
        case "longer":
            how = "as_planned" if day.how in ("unsaid", "inside") else day.how
            return replace(day, how=how, out_until=entry.end)
        case "sun":
            return replace(day, sun=(*day.sun, SunNoted(*_stretch(entry))))
    return replace(day, damage=True)


def _stretch(entry: Entry) -> tuple[str, datetime, datetime]:
    """Spot, begin and end, which 'out' and 'sun' can't be without."""
    assert entry.spot is not None
    assert entry.start is not None
    assert entry.end is not None
    return entry.spot, entry.start, entry.end


def _first(entries: list[Entry], kind: str) -> date | None:
    return min((entry.on for entry in entries if entry.kind == kind), default=None)
