"""The morning check once more: what `today` shows of a schedule, until when it holds, and how it reads later on.

A plan goes by the date. The hour of the day comes in only where this module says so: the age of the forecast, a
night's action while an outing is still under way, carries that are marked as over (by the view), and, before
there is a plan, the replies that are asked for again and the hours that are kept as past.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from hardenoff.errors import UnreadableError
from hardenoff.schedule.plain import from_plain, to_plain
from hardenoff.schedule.records import Day, Schedule

HOUR = timedelta(hours=1)


@dataclass(frozen=True, slots=True)
class Morning:
    """A morning check, and what has to be as it was for it to be the answer again."""

    schedule: Schedule
    until: datetime
    program: str
    files: Mapping[str, str]
    """Every file the answer was made from, with a fingerprint of its content."""


def morning(schedule: Schedule, replies_until: datetime, program: str, files: Mapping[str, str]) -> Morning:
    """What is kept of a schedule. `replies_until`: until then the forecast would be obtained again as it is."""
    shown = replace(schedule, days=tuple(_days_shown(schedule.days)), finishes=(), nights=(), changes=())
    return Morning(shown, min(replies_until, _next_event(schedule)), program, files)


def as_of(kept: Morning, now: datetime) -> Schedule | None:
    """The morning check at a later time, nothing having changed since; None where it has to be made anew."""
    then, note = kept.schedule, kept.schedule.forecast
    now = now.astimezone(then.now.tzinfo)
    if note.fetched_at is None or now.date() != then.date or not then.now <= now < kept.until:
        return None
    return replace(
        then, now=now, forecast=replace(note, age_hours=(now - note.fetched_at) / HOUR, status="cached")
    )


def _days_shown(days: tuple[Day, ...]) -> Iterator[Day]:
    """Today, and each day on which a batch goes out for the first time."""
    out_before: set[str] = set()
    for day in days:
        out = {row.batch for row in day.batches if row.placements}
        if day is days[0] or out - out_before:
            yield day
        out_before |= out


def _next_event(schedule: Schedule) -> datetime:
    """The next full hour, when one more is past and kept as such, or the end of an outing, if that comes first."""
    now = schedule.now.astimezone(UTC)
    begun = now.replace(minute=0, second=0, microsecond=0)
    full_hour = now if now == begun else begun + HOUR
    ends = (place.end for row in schedule.days[0].batches for place in row.placements)
    return min([full_hour, *(end for end in ends if end > schedule.now)])


# --- as a document -----------------------------------------------------------------------------------


def to_document(kept: Morning) -> dict[str, Any]:
    """A kept morning check as plain JSON values."""
    return {
        "schedule": to_plain(kept.schedule),
        "until": kept.until.isoformat(),
        "program": kept.program,
        "files": dict(kept.files),
    }


def from_document(document: Mapping[str, Any]) -> Morning:
    """A kept morning check read back. UnreadableError if it is not whole, or another version's."""
    try:
        zone = ZoneInfo(document["schedule"]["timezone"])
        return Morning(
            from_plain(Schedule, document["schedule"], zone),
            datetime.fromisoformat(document["until"]),
            str(document["program"]),
            dict(document["files"]),
        )
    except (KeyError, TypeError, ValueError, AttributeError) as fault:
        raise UnreadableError(
            f"the kept morning check can't be read: {fault}",
            "one that this version has kept",
            "nothing: the next run makes a new one",
        ) from fault
