"""The journal at the command line: opened, listed, written to, and entries found by their id."""

from __future__ import annotations

import secrets
import shlex
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from pathlib import Path

from hardenoff.cli import load
from hardenoff.cli.lows import teaches_nothing, with_forecast
from hardenoff.cli.named import same, with_offset
from hardenoff.cli.options import Shared
from hardenoff.cli.output import remark, show
from hardenoff.errors import UsageError
from hardenoff.garden import times
from hardenoff.garden.values import closest
from hardenoff.journal.entries import Complaint, Entry, Fate, fates, standing
from hardenoff.journal.file import IdTakenError, append, journal_path, read_journal
from hardenoff.journal.lows import overruled
from hardenoff.records import Garden
from hardenoff.views import as_json
from hardenoff.views import log as view
from hardenoff.views.log import Listing
from hardenoff.views.words import day, long_day

CLOCKS_APART = timedelta(hours=1)
"""Clocks of two machines that write one journal may be so far apart before it is worth a word (ours)."""

ID_LETTERS, ID_LENGTH = "23456789bcdfghjkmnpqrstvwxyz", 5
"""Nothing that can be mistaken for another letter, and no vowels, so that an id is no word."""


@dataclass(frozen=True, slots=True)
class Book:
    """The journal, and what it takes to read it."""

    shared: Shared
    garden: Garden
    now: datetime
    path: Path
    entries: tuple[Entry, ...]
    complaints: tuple[Complaint, ...]

    def listing(
        self, entries: Sequence[tuple[Entry, Fate | None]], complaints: Sequence[Complaint] = ()
    ) -> Listing:
        """Some of its entries, to be shown."""
        return Listing(str(self.path), self.garden.place.timezone, self.garden.units, entries, complaints)


def open_book(shared: Shared) -> Book:
    """The garden's journal as it is now; one that is not there yet is empty."""
    garden = load.garden(shared)
    path = journal_path(load.garden_path(shared))
    return Book(shared, garden, load.now(shared, garden.place), path, *read_journal(path))


def day_told(text: str, now: datetime) -> date:
    """A date of the place's calendar that has begun. UsageError for any other."""
    near = {"today": now.date(), "yesterday": now.date() - timedelta(days=1)}
    told = near.get(text.strip().casefold()) or times.day(text)
    if told > now.date():
        raise UsageError(
            f"--on {text} is still to come", f"a date up to today, {now.date()}", "log it when it has been"
        )
    return told


# --- what each of them does ------------------------------------------------------------------------


def show_list(book: Book, on: date | None, everything: bool) -> None:
    """The entries that count, of one date or all; with `everything` also those that don't any more."""
    every = list(zip(book.entries, fates(book.entries), strict=True))
    counting: list[tuple[Entry, Fate | None]] = [(entry, None) for entry in standing(book.entries)]
    asked = [(entry, fate) for entry, fate in (every if everything else counting) if on in (None, entry.on)]
    listing = replace(book.listing(asked, book.complaints), overruled=overruled(standing(book.entries)))
    show(book.shared, lambda: as_json.log(listing), lambda width, colour: view.render(listing, width, colour))


def record(book: Book, entry: Entry, old: Entry | None = None, *, sure: bool = False) -> None:
    """Write an entry; say what was understood, and how to take it back. `old` is what it corrects.

    UsageError for what is hard to believe, unless the grower is `sure`.
    """
    from hardenoff.cli.doubts import refuse_doubtful

    why_without: str | None = None
    if entry.kind == "low":
        entry, why_without = with_forecast(book.shared, book.garden, book.now, entry, old)
    refuse_doubtful(book, entry, sure=sure)
    written = _append(book, entry)
    if (odd := _ahead(book)) is not None:
        remark(odd)
    if why_without is not None:
        remark(teaches_nothing(written, why_without))
    place = "" if written.corrects is None else f" in place of {written.corrects}"
    line = f"recorded{place}: {_sentence(book, written)}. Undo: {_undo_line(book, written)}"
    _answer(book, written, "\n".join([line, *_overruled(book, written), *view.use(written, book.garden)]))


def _ahead(book: Book) -> str | None:
    """What to say where the journal was written to later than now: the date of an entry goes by the clock."""
    latest = max((entry.written_at for entry in standing(book.entries)), default=book.now)
    if book.shared.now is not None or latest <= book.now + CLOCKS_APART:
        return None
    return (
        f"an entry was written at {latest:%Y-%m-%d %H:%M}, after now ({book.now:%Y-%m-%d %H:%M}): "
        "is this machine's clock right? If not, undo this, set the clock, and log it again"
    )


def _overruled(book: Book, written: Entry) -> Iterator[str]:
    """What the last of several lows of one spot and morning does to the others."""
    stand = standing((*book.entries, written))
    newly = overruled(stand) - overruled(standing(book.entries))
    for entry in stand:
        if entry.id in newly:
            yield f"the last low of a morning there counts, no longer {entry.id}: {_sentence(book, entry)}"


def undo(book: Book, told: str | None) -> None:
    """Take back the entry of that id, else the last one; say what counts again because of it."""
    old = _last(book) if told is None else counting(book, told)
    before = standing(book.entries)
    entry = Entry(new_id(), with_offset(book.now), old.on, "undo", old.batch, corrects=old.id)
    written = _append(book, entry)
    again = [each for each in standing((*book.entries, written)) if each not in before]
    line = f"taken back: {_sentence(book, old)}. Undo this: {_undo_line(book, written)}"
    _answer(book, written, "\n".join([line, *(f"counts again: {_sentence(book, each)}" for each in again)]))


def _answer(book: Book, written: Entry, line: str) -> None:
    listing = book.listing([(written, None)])
    try:
        show(book.shared, lambda: as_json.log(listing), lambda width, colour: f"{line}\n")
    except UsageError as fault:
        raise UsageError(
            f"{fault.what}; {written.id} is in the journal all the same",
            fault.expected,
            "don't log it again; see hardenoff log --list",
        ) from fault


def _sentence(book: Book, entry: Entry) -> str:
    on = day(entry.on) if entry.on.year == book.now.year else long_day(entry.on)
    return f"{on}, {view.sentence(entry, book.garden.place.timezone, book.garden.units)}"


def _undo_line(book: Book, entry: Entry) -> str:
    """The command that takes an entry back, with the garden it belongs to."""
    garden = "" if book.shared.garden is None else f" --garden {shlex.quote(str(book.shared.garden))}"
    return f"hardenoff log --undo {entry.id}{garden}"


# --- entries by id ---------------------------------------------------------------------------------


def new_id() -> str:
    """Short enough to type; `append` sees to it that it is the only one."""
    return "".join(secrets.choice(ID_LETTERS) for _ in range(ID_LENGTH))


def _append(book: Book, entry: Entry) -> Entry:
    """The entry as it was written: with another id, if its own was taken."""
    try:
        aside = append(book.path, entry)
    except IdTakenError:
        return _append(book, replace(entry, id=new_id()))
    if aside is not None:
        remark(f"{book.path}, line {aside.line}: {aside.what}")
    return entry


def _last(book: Book) -> Entry:
    """The entry written last of those that count."""
    for entry, fate in reversed(list(zip(book.entries, fates(book.entries), strict=True))):
        if fate is None and entry.kind != "undo":
            return entry
    raise UsageError(f"{book.path} has no entry that counts", "something to take back", "see hardenoff log --list")


def counting(book: Book, told: str) -> Entry:
    """The entry of that id, if it counts; UsageError otherwise."""
    found = {entry.id: (entry, fate) for entry, fate in zip(book.entries, fates(book.entries), strict=True)}
    name = same(told, tuple(found))
    if name is None:
        near = closest(told, found)
        raise UsageError(
            f'there is no entry "{told}"',
            "the id of an entry, the first word of its line in hardenoff log --list",
            f'did you mean "{near}"?' if near else "see hardenoff log --list --all",
        )
    entry, fate = found[name]
    if fate is not None:
        raise UsageError(
            f"{name} does not count: it was {fate.how} by {fate.by}",
            "an entry that counts",
            f"name {fate.by} instead, or see hardenoff log --list --all",
        )
    return entry
