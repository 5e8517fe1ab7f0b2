"""Where words go: answers to stdout, all else to stderr; how wide, in colour or not, in ASCII if need be."""

from __future__ import annotations

import os
import re
import shutil
import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Protocol, TextIO

from hardenoff.errors import UsageError

if TYPE_CHECKING:
    from hardenoff.schedule.records import Schedule

NARROWEST, WIDEST, NO_TERMINAL = 40, 120, 80
"""Columns of text; lines longer than the widest are hard to follow."""

IN_ASCII = str.maketrans({"°": " ", "²": "2", "→": ">", "·": "-", "–": "-", "—": "-", "’": "'", "…": "..."})
"""Our own few signs for a stream that can't show them; one character for one, so that columns stay in line."""


_STEERS = re.compile(r"(?!\x1b\[[0-9;]*m)[\x00-\x08\x0b-\x1f\x7f-\x9f]")
"""Control characters that are neither a line break, a tab, nor the start of a colour."""


class Look(Protocol):
    """How an answer is wanted: the options of all commands, or the few that `again` reads."""

    @property
    def json(self) -> bool | None:
        """As a JSON document."""

    @property
    def no_color(self) -> bool | None:
        """Without colour."""


@dataclass(frozen=True, slots=True)
class Paper:
    """What a view is drawn for."""

    width: int
    colour: bool


def paper(stream: TextIO | None, *, colour_wanted: bool, environment: Mapping[str, str] = os.environ) -> Paper:
    """Width and colour of a stream: colour only on a terminal, and never against NO_COLOR or TERM=dumb."""
    terminal = stream is not None and stream.isatty()
    refused = bool(environment.get("NO_COLOR")) or environment.get("TERM") == "dumb"
    columns = (
        shutil.get_terminal_size((NO_TERMINAL, 24)).columns
        if terminal or "COLUMNS" in environment
        else NO_TERMINAL
    )
    return Paper(
        width=min(max(columns, NARROWEST), WIDEST),
        colour=colour_wanted and terminal and not refused,
    )


def answer(text: str) -> None:
    """Write an answer to stdout. A reader that has gone away (`| head`) or was never there (`>&-`) is no fault.

    Raises
    ------
    UsageError
        If stdout can't be written, as on a full disk: half an answer must not pass for a whole one.
    """
    if sys.stdout is None:
        return
    try:
        sys.stdout.write(writable(text, sys.stdout.encoding))
        sys.stdout.flush()
    except OSError as error:
        let_go(sys.stdout)
        if not isinstance(error, BrokenPipeError):
            raise UsageError(
                f"the answer can't be written: {error.strerror}",
                "a standard output with room for it",
                "make room, or send the answer somewhere else",
            ) from error


def let_go(stream: TextIO | None) -> None:
    """Send a stream nowhere: what is still in its buffer would fail once more when Python leaves."""
    if stream is not None:
        os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


def show(look: Look, document: Callable[[], dict[str, Any]], text: Callable[[int, bool], str]) -> None:
    """Write the answer as JSON if that was asked for, else as text fit for the terminal."""
    if look.json:
        from hardenoff.views.as_json import dumps

        answer(dumps(document()))
        return
    sheet = paper(sys.stdout, colour_wanted=not look.no_color)
    answer(text(sheet.width, sheet.colour))


def show_today(look: Look, schedule: Schedule) -> None:
    """Write the morning check of a schedule."""

    def document() -> dict[str, Any]:
        from hardenoff.views.as_json import today

        return today(schedule)

    def text(width: int, colour: bool) -> str:
        from hardenoff.views.today import render

        return render(schedule, width, colour)

    show(look, document, text)


def remark(text: str) -> None:
    """Write a line for the person, not for the answer, to stderr; who closed it or filled its disk wants none."""
    if sys.stderr is None:
        return
    try:
        sys.stderr.write(writable(text, sys.stderr.encoding) + "\n")
    except OSError:
        let_go(sys.stderr)


def writable(text: str, encoding: str | None) -> str:
    """The text as it is if the encoding has all of it; else our signs in ASCII, and `?` for what is left.

    What would steer a terminal is `?` as well, colours apart: names and words come from files and providers.
    """
    text = _STEERS.sub("?", text)
    encoding = encoding or "ascii"
    try:
        text.encode(encoding)
    except UnicodeEncodeError:
        return text.translate(IN_ASCII).encode(encoding, errors="replace").decode(encoding)
    return text
