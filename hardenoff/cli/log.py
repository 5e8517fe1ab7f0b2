"""`log`: what was really done, told in a few words, listed, corrected and taken back."""

from __future__ import annotations

from typing import Annotated

import typer

from hardenoff.cli.options import Shared, takes_shared
from hardenoff.errors import UsageError

DAY_MINUTES = 24 * 60
SHIELD = "\0"
"""In front of a word that begins with a minus and is no option; the system lets no one type it."""


@takes_shared
def log(
    shared: Shared,
    words: Annotated[
        list[str] | None,
        typer.Argument(metavar="WHAT", help="What was done, as in the lines above.", show_default=False),
    ] = None,
    on: Annotated[
        str | None,
        typer.Option("--on", metavar="DATE", help="The date it was: 'yesterday', 2027-05-05 (else today)."),
    ] = None,
    overnight: Annotated[
        bool, typer.Option("--overnight", help="With out, longer: they came in on the next day.")
    ] = False,
    at: Annotated[str | None, typer.Option("--at", metavar="SPOT", help="With damage: where it was seen.")] = None,
    minutes: Annotated[
        int | None,
        typer.Option("--minutes", metavar="N", min=0, max=DAY_MINUTES, help="How long the carrying took."),
    ] = None,
    sure: Annotated[
        bool, typer.Option("--sure", help="Write down what was asked back: an odd low, a date long ago.")
    ] = False,
    fix: Annotated[
        str | None, typer.Option("--fix", metavar="ID", help="What is said now replaces that entry.")
    ] = None,
    undo: Annotated[
        bool, typer.Option("--undo", help="Take back the last entry, or the one whose ID follows.")
    ] = False,
    listed: Annotated[bool, typer.Option("--list", help="List what counts, all of it or --on a date.")] = False,
    everything: Annotated[bool, typer.Option("--all", help="List corrected and undone entries as well.")] = False,
) -> None:
    """Record what was really done: it beats what was planned. What is not told counts as done, with less trust.

    \b
    log done [BATCH]                   all went as planned
    log in [BATCH]                     stayed inside all day
    log out [BATCH] SPOT FROM UNTIL    was out there; several a day are fine
    log longer [BATCH] UNTIL           as planned, but fetched in only then
    log damage [BATCH] KIND [WORDS]    KIND is sun, wind, cold or other; the
                                       day's step is repeated
    log watered [BATCH]
    log low SPOT TEMPERATURE           measured that morning: "38 F", "3 C"; of
                                       several the last counts
    log sun SPOT FROM UNTIL            the sun was seen there: for that day's
                                       credit; the spot stays as described
    log planted BATCH [SPOT]           set into its final place
    log finished BATCH                 in for good, or given away
    log note WORDS

    Without BATCH it is said of all of them. Times are the garden's, as 07:15.
    """
    from hardenoff.cli import book as journal
    from hardenoff.cli.said import Beside, entry_of

    book, said = journal.open_book(shared), [word.removeprefix(SHIELD) for word in words or []]
    if listed or everything:
        _refuse(bool(said) or undo or fix is not None, "--list takes no words, no --fix and no --undo")
        journal.show_list(book, None if on is None else journal.day_told(on, book.now), everything)
    elif undo:
        _refuse(len(said) > 1 or fix is not None or on is not None, "--undo takes one ID, or nothing")
        journal.undo(book, said[0] if said else None)
    else:
        _refuse(not said, "log was told nothing")
        old = None if fix is None else journal.counting(book, fix)
        day = (
            old.on if old is not None and on is None else journal.day_told("today" if on is None else on, book.now)
        )
        corrects = None if old is None else old.id
        beside = Beside(journal.new_id(), book.now, day, overnight, at, minutes, corrects)
        journal.record(book, entry_of(said, book.garden, beside), old, sure=sure)


def _refuse(refused: bool, what: str) -> None:
    if refused:
        raise UsageError(what, "hardenoff log WHAT ..., or --list, or --undo [ID]", "see hardenoff log --help")
