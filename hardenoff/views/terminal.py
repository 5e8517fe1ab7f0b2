"""Text for a terminal: headings, hanging paragraphs and tables laid out to a width, as one string.

Same parts, width and colour give the same string on every machine: nothing is asked of the environment.
"""

from __future__ import annotations

from collections.abc import Iterable
from io import StringIO

from rich.console import Console, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

HEADING, GOOD, WAIT, ACT, QUIET = "bold", "green", "yellow", "bold red", "dim"
"""Colour underlines what a word already says; it never says anything alone."""


def drawn(parts: Iterable[RenderableType], *, width: int, colour: bool) -> str:
    """Lay the parts out below each other."""
    paper = StringIO()
    console = Console(
        file=paper,
        width=width,
        force_terminal=colour,
        color_system="standard" if colour else None,
        no_color=not colour,
        force_jupyter=False,
        highlight=False,
        markup=False,
        emoji=False,
        legacy_windows=False,
    )
    for part in parts:
        console.print(part)
    return "\n".join(line.rstrip() for line in paper.getvalue().splitlines()) + "\n"


def heading(words: str) -> Text:
    """A heading on a line of its own, after an empty line."""
    return Text.assemble("\n", (words, HEADING))


def quiet(words: str) -> Text:
    """Small print."""
    return Text(words, style=QUIET)


def item(marker: str | Text, words: RenderableType, *, indent: int = 2) -> RenderableType:
    """A line with its marker in front; what wraps stays to the right of the marker."""
    grid = Table.grid(padding=(0, 1))
    grid.add_column(no_wrap=True)
    grid.add_column()
    grid.add_row(marker, words)
    return Padding(grid, (0, 0, 0, indent), expand=False)


def columns(*headings: str, right: Iterable[int] = ()) -> Table:
    """An empty table without boxes; columns in `right` are numbers."""
    table = Table(box=None, padding=(0, 1), pad_edge=False, header_style=HEADING)
    numbers = set(right)
    for place, words in enumerate(headings):
        table.add_column(words, justify="right" if place in numbers else "left", no_wrap=place in numbers)
    return table
