"""What the days just missed cost: the level before and now, and the finish with them and without."""

from __future__ import annotations

from datetime import date

from hardenoff.ramp.outcome import DayOutcome
from hardenoff.ramp.plan import Planner
from hardenoff.records import Batch
from hardenoff.schedule.records import Missed

Days = tuple[DayOutcome, ...]


def missed_days(planner: Planner, batch: Batch, days: Days, finish: date | None) -> Missed | None:
    """The spell of days inside that ends yesterday; None if the batch was out then."""
    spell = _spell(planner, days)
    if not spell:
        return None
    before, today = spell[0].state, next(day for day in days if day.date == planner.today).state
    better = before
    for _ in spell:
        better = planner.had_it_gone_out(batch, better)
    without = planner.hardened_on(batch, planner.resume(batch, better, planner.today, days[-1].date))
    return Missed(len(spell), before.ramp_days, today.ramp_days, without, finish)


def _spell(planner: Planner, days: Days) -> Days:
    """The unbroken run of days inside up to yesterday, of a batch that is in its ramp."""
    found: list[DayOutcome] = []
    for day in reversed([day for day in days if day.date < planner.today]):
        if day.stage != "ramp" or day.went_out or day.route is None:
            break
        found.insert(0, day)
    return tuple(found)
