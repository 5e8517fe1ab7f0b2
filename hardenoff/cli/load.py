"""From options to a schedule: the clock, the garden file, the forecast. Heavy imports happen here, when called."""

from __future__ import annotations

import os
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from hardenoff.cli import here
from hardenoff.cli.lows import taught
from hardenoff.cli.options import Shared
from hardenoff.cli.output import remark
from hardenoff.errors import UsageError
from hardenoff.records import Garden, Place
from hardenoff.schedule.records import Schedule
from hardenoff.whole import write_whole

if TYPE_CHECKING:
    from hardenoff.fetch import Obtained
    from hardenoff.journal.entries import Complaint, Entry
    from hardenoff.ramp.heard import Heard
    from hardenoff.ramp.logbook import Logbook

YEARS = range(1950, 2151)
"""Years that the sun's position and the time zones are good for."""


def garden_path(shared: Shared) -> Path:
    """The garden file of these options."""
    return here.garden_path(shared.garden)


def garden(shared: Shared) -> Garden:
    """The garden file, read and checked."""
    from hardenoff.garden import read_garden

    return read_garden(garden_path(shared))


def now(shared: Shared, place: Place) -> datetime:
    """The time to answer for, in the place's zone: --now, else the machine's clock.

    Elsewhere only `fetch` looks at a clock: for pauses, and for how long a reply keeps.
    """
    return _told(shared.now, place) if shared.now is not None else _read().astimezone(place.tz)


def _read() -> datetime:
    clock = here.clock()
    if clock.year not in YEARS:
        raise UsageError(
            f"this machine's clock says {clock:%Y-%m-%d}",
            f"a date of the years {YEARS.start} to {YEARS.stop - 1}",
            "set the clock, or say the time with --now",
        )
    return clock


def _told(text: str, place: Place) -> datetime:
    """A time from the command line; one that the place's clocks skip is moved on as they are."""
    try:
        told = datetime.fromisoformat(text)
    except ValueError:
        told = None
    if told is None or told.year not in YEARS:
        raise UsageError(
            f'--now "{text}" is not a time of the years {YEARS.start} to {YEARS.stop - 1}',
            "an ISO 8601 time: 2027-05-05T06:40 (the place's time), 2027-05-05T06:40-04:00, 2027-05-05T10:40Z",
            f"write --now {datetime.now(place.tz):%Y-%m-%dT%H:%M}, or leave it out for the present",
        )
    return (told if told.tzinfo else told.replace(tzinfo=place.tz)).astimezone(UTC).astimezone(place.tz)


def forecast(shared: Shared, home: Garden, at: datetime) -> Obtained:
    """The forecast from a file, the network or what was kept; saved as well if that was asked for."""
    from hardenoff.fetch import obtain

    if shared.forecast_file is None and not shared.offline and os.isatty(2):
        remark("asking for the forecast ...")
    obtained = obtain(
        home,
        at,
        offline=bool(shared.offline),
        file=shared.forecast_file,
        archive=shared.now is None,
    )
    if shared.save_forecast is not None:
        save(shared.save_forecast, obtained.bundle())
    return obtained


def schedule(shared: Shared, *, days_ahead: bool = False, odds: bool = False) -> Schedule:
    """Everything the three daily views show.

    A real run plans all days ahead, says what moved since the last one, and is kept for the next; a run with
    `--now` or `--forecast-file` keeps nothing, and plans the days ahead only for the plan.
    """
    from hardenoff.cli import kept

    real = is_real(shared)
    inputs = kept.inputs(shared) if real else {}
    home, at, obtained, told = gathered(shared)
    made = planned(
        home,
        obtained,
        at,
        days_ahead=days_ahead or real,
        logbook=told,
        heard=heard(shared, home, at, obtained),
        odds=odds,
    )
    return kept.keep(shared, inputs, home.place, obtained, made) if real else made


def gathered(shared: Shared) -> tuple[Garden, datetime, Obtained, Logbook]:
    """All that an answer is made from: the garden, the time, the forecast, and what was really done."""
    home = garden(shared)
    at = now(shared, home.place)
    obtained = forecast(shared, home, at)
    if is_real(shared):
        obtained = _with_past(home, obtained, at)
    return home, at, obtained, logbook(shared, home, at)


def is_real(shared: Shared) -> bool:
    """Whether this run is about here and now: neither another time nor a forecast from a file."""
    return shared.now is None and shared.forecast_file is None


def logbook(shared: Shared, home: Garden, at: datetime) -> Logbook:
    """What the journal beside the garden file says was done, up to now; what is wrong with its lines is said."""
    from hardenoff.journal.file import journal_path
    from hardenoff.journal.logbook import logbook as told

    path = journal_path(garden_path(shared))
    known, complaints = entries(path, at)
    for complaint in complaints:
        remark(f"{path}, line {complaint.line}: {complaint.what}")
    if (odd := ahead(shared, at)) is not None:
        remark(odd)
    return told(known, [batch.name for batch in home.batches])


def entries(path: Path, at: datetime) -> tuple[tuple[Entry, ...], tuple[Complaint, ...]]:
    """The journal's entries that count, up to now, and the lines that can't be taken as they stand."""
    from hardenoff.journal.entries import standing
    from hardenoff.journal.file import read_journal

    written, complaints = read_journal(path)
    return tuple(entry for entry in standing(written) if entry.on <= at.date()), complaints


def ahead(shared: Shared, at: datetime) -> str | None:
    """What to say of entries after today, by a clock that can be wrong: not by --now."""
    from hardenoff.journal.entries import standing
    from hardenoff.journal.file import journal_path, read_journal

    path = journal_path(garden_path(shared))
    late = [entry.on for entry in standing(read_journal(path)[0]) if entry.on > at.date()]
    if shared.now is not None or not late:
        return None
    many = "an entry is" if len(late) == 1 else f"{len(late)} entries are"
    return (
        f"{path}: {many} dated after today ({at.date()}), the last {max(late)}, and not counted: "
        "is this machine's clock right?"
    )


def heard(shared: Shared, home: Garden, at: datetime, obtained: Obtained) -> Heard:
    """What there is beside the forecast: other sources, alerts, and what the grower's own lows taught."""
    from hardenoff.journal.file import journal_path
    from hardenoff.ramp.heard import Heard

    known, _ = entries(journal_path(garden_path(shared)), at)
    return Heard(obtained.others, obtained.alerts, taught(shared, home, known, obtained.forecast))


def _with_past(home: Garden, obtained: Obtained, at: datetime) -> Obtained:
    """The forecast with the hours of earlier runs before its own, so that past days are planned as they were."""
    from hardenoff.fetch.folders import state_folder
    from hardenoff.fetch.past import keep_past, with_past

    folder = state_folder()
    whole = with_past(folder, home.place, obtained.forecast)
    if (fault := keep_past(folder, home.place, whole, at)) is not None:
        remark(fault)
        obtained = replace(obtained, until=None)  # the next run has to say so again
    return replace(obtained, forecast=whole)


def planned(
    home: Garden,
    obtained: Obtained,
    at: datetime,
    *,
    days_ahead: bool = False,
    logbook: Logbook | None = None,
    heard: Heard | None = None,
    odds: bool = False,
) -> Schedule:
    """The schedule from a garden, all that was heard of the weather, and what was really done."""
    from hardenoff.ramp.heard import Heard
    from hardenoff.schedule.build import build_schedule

    heard = heard or Heard(obtained.others, obtained.alerts)
    return build_schedule(
        home, obtained.forecast, at, obtained.note, days_ahead=days_ahead, heard=heard, logbook=logbook, odds=odds
    )


def save(path: Path, content: bytes) -> None:
    """Write a file whole or not at all; UsageError where that can't be done."""
    try:
        write_whole(path, content)
    except OSError as fault:
        raise UsageError(
            f"{path} can't be written: {fault.strerror}",
            "a file name in a folder you may write to",
            "choose another path",
        ) from fault
    remark(f"saved {path}")
