"""`today` again, nothing having changed since the last run: its answer as it was kept, with the age it has by now.

It is what a run from scratch would print, without a forecast, a plan or the libraries they need. Wherever there is
a doubt it steps back, and the program makes the run from scratch.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from hardenoff import keep
from hardenoff.cli import here
from hardenoff.cli.output import remark, show_today
from hardenoff.errors import HardenoffError
from hardenoff.fetch.folders import DATABASE, cache_folder, state_folder
from hardenoff.schedule.morning import as_of
from hardenoff.schedule.records import Schedule


@dataclass(slots=True)
class Words:
    """What the command line of a plain `today` can hold."""

    garden: Path | None = None
    json: bool = False
    no_color: bool = False


def shown_again(arguments: Sequence[str]) -> bool:
    """Answer a plain `today` from the kept run; False, and nothing done, where that can't be."""
    words = _plain_today(arguments)
    schedule = None if words is None else _kept(words)
    if words is None or schedule is None:
        return False
    try:
        show_today(words, schedule)
    except HardenoffError as fault:
        remark(str(fault))
        sys.exit(fault.exit_code)
    return True


def _plain_today(arguments: Sequence[str]) -> Words | None:
    """The options of a `today` that asks for nothing special; None for all other words."""
    words, commands, rest = Words(), 0, iter(arguments)
    for word in rest:
        if word == "today":
            commands += 1
        elif word == "--json":
            words.json = True
        elif word == "--no-color":
            words.no_color = True
        elif word == "--garden" and (path := next(rest, "-"))[:1] not in ("", "-"):
            words.garden = Path(path)
        else:
            return None
    return words if commands == 1 else None


def _kept(words: Words) -> Schedule | None:
    """The last run's answer as of now; None if anything that it was made from is not as it was."""
    try:
        garden, state, cache = here.garden_path(words.garden).absolute(), state_folder(), cache_folder()
    except HardenoffError:  # the run from scratch says it
        return None
    kept = keep.read_morning(keep.kept_path(state, garden))
    if kept is None or kept.program != keep.program():
        return None
    if not {str(garden), str(cache / DATABASE)} <= kept.files.keys():
        return None
    unchanged = keep.fingerprints(map(Path, kept.files)) == kept.files
    return as_of(kept, here.clock()) if unchanged else None
