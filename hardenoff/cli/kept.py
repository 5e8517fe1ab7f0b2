"""What is kept of a run for the next one: to say what moved, and to show the check again if nothing has."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from hardenoff import keep as files
from hardenoff.cli import load
from hardenoff.cli.options import Shared
from hardenoff.cli.output import remark
from hardenoff.fetch.folders import DATABASE, cache_folder, state_folder
from hardenoff.journal.file import journal_path
from hardenoff.records import Place
from hardenoff.schedule import changes as moved
from hardenoff.schedule.morning import Morning, morning
from hardenoff.schedule.records import Schedule

if TYPE_CHECKING:
    from hardenoff.fetch import Obtained


def inputs(shared: Shared) -> dict[str, str]:
    """Fingerprints of what the grower wrote; taken before it is read, lest it changes meanwhile."""
    garden = _garden(shared)
    return files.fingerprints([*files.garden_files(garden), journal_path(garden)])


def keep(shared: Shared, written: Mapping[str, str], place: Place, obtained: Obtained, made: Schedule) -> Schedule:
    """Keep this run in place of the last one; the schedule with what moved since that one."""
    garden, note = _garden(shared), made.forecast
    path = files.kept_path(state_folder(), garden)
    made_from = moved.Inputs(
        forecast=f"{note.provider} {note.issued_at or note.fetched_at}",
        garden=written[str(garden)],
        journal=written[str(journal_path(garden))],
    )
    before = files.read_kept(path)
    check = _morning(shared, written, place, obtained, made)
    if (fault := files.write_kept(path, moved.keep(made, made_from), check)) is not None:
        remark(fault)
    return made if before is None else replace(made, changes=moved.changes(before, made, made_from))


def _morning(
    shared: Shared, written: Mapping[str, str], place: Place, obtained: Obtained, made: Schedule
) -> Morning | None:
    """The morning check to keep; None if there was something to say that the next run has to say again."""
    from hardenoff.fetch.past import past_path

    _, complaints = load.entries(journal_path(_garden(shared)), made.now)
    if obtained.until is None or complaints or load.ahead(shared, made.now) is not None:
        return None
    kept = files.fingerprints([cache_folder() / DATABASE, past_path(state_folder(), place)])
    return morning(made, obtained.until, files.program(), {**written, **kept})


def _garden(shared: Shared) -> Path:
    return load.garden_path(shared).absolute()
