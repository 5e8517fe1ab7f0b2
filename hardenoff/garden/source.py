"""The garden file as text: found, decoded, parsed, and the line on which each key stands."""

from __future__ import annotations

import os
import tomllib
from bisect import bisect_left
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any, NoReturn

from hardenoff.errors import GardenError, HardenoffError
from hardenoff.whole import read_file

KeyPath = tuple[str | int, ...]
"""Where a value stands: `("spot", 0, "roof", "above")`."""


@dataclass(frozen=True, slots=True)
class Statement:
    """The lines of one statement of the file, from 1."""

    first: int
    last: int


@dataclass(frozen=True)
class Source:
    """A garden file that is valid TOML."""

    path: Path
    text: str
    data: Mapping[str, Any]
    is_written: bool = True
    """Whether someone can look into it: a file, or a text that they know."""

    def statement(self, where: KeyPath) -> Statement | None:
        """The statement that brings `where`; None if the file doesn't have it.

        It is the last one of the shortest head of the file that says it. None also where no head can be read.
        """
        if not holds(self.data, where):
            return None
        every = self._statements
        first = bisect_left(every, True, key=lambda statement: holds(self._head(statement.last), where))
        return every[first] if first < len(every) else None  # too deeply nested to be read a second time

    def line(self, where: KeyPath) -> int | None:
        """The line on which that statement begins."""
        statement = self.statement(where)
        return statement.first if statement else None

    @cached_property
    def _statements(self) -> tuple[Statement, ...]:
        return tuple(statements(self.text))

    @cached_property
    def _heads(self) -> dict[int, Mapping[str, Any]]:
        return {}

    def _head(self, last: int) -> Mapping[str, Any]:
        """What the file says from its top to the line `last`, at which a statement ends."""
        if last not in self._heads:
            head = "\n".join(self.text.split("\n")[:last])
            self._heads[last] = tomllib.loads(head.removesuffix("\r"))
        return self._heads[last]


def statements(text: str) -> Iterator[Statement]:
    """The statements of a TOML text, in order, up to the first one that is broken.

    One ends where its lines are valid TOML on their own, so that a list or a text over several lines is one.
    """
    lines = text.split("\n")
    first = 1
    for number, line in enumerate(lines, start=1):
        if first == number and (not line.strip() or line.lstrip().startswith("#")):
            first = number + 1
            continue
        try:
            tomllib.loads("\n".join(lines[first - 1 : number]).removesuffix("\r"))
        except (ValueError, RecursionError):  # goes on in the next line
            continue
        yield Statement(first, number)
        first = number + 1


def open_source(path: Path) -> Source:
    """Read and parse the file. GardenError if there is none, or it is no TOML in UTF-8, or it is empty."""
    return parse_source(path, _decoded(path, _content(path)))


def parse_source(path: Path, text: str, *, is_written: bool = True) -> Source:
    """Parse a text that is there already; `path` is its name in messages. GardenError as for a file."""
    try:
        data = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        from hardenoff.garden.broken import broken

        raise GardenError((broken(path, text, error),)) from None
    if not data:
        _refuse(
            f"{path} is empty",
            "a garden file: at least a [place] and one [[batch]]",
            "run `hardenoff init` in an empty folder and copy from what it writes",
        )
    return Source(path, text, data, is_written)


def holds(data: Any, where: KeyPath) -> bool:
    """Whether `where` is in the parsed data."""
    for step in where:
        if isinstance(step, int):
            if not isinstance(data, list) or step >= len(data):
                return False
        elif not isinstance(data, dict) or step not in data:
            return False
        data = data[step]
    return True


def _content(path: Path) -> bytes:
    try:
        return read_file(path)
    except FileNotFoundError:
        _refuse(
            f"there is no garden file at {path}",
            "a garden.toml that describes the place, its spots and the plants",
            "run `hardenoff init` to write one, or name yours with --garden PATH; `hardenoff demo` needs none",
        )
    except IsADirectoryError:
        inner = path / "garden.toml"
        tip = (
            f"write --garden {inner}"
            if os.path.isfile(inner)
            else "name the file in it: --garden FOLDER/garden.toml"
        )
        _refuse(f"{path} is a folder", "a file", tip)
    except OSError as error:
        _refuse(f"{path} can't be read: {error.strerror}", "a file you may read", "check its name and permissions")


def _decoded(path: Path, content: bytes) -> str:
    try:
        return content.decode("utf-8-sig").replace("\r\n", "\n").replace("\r", "\n")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        _refuse(
            f"{path}, line {line}: byte 0x{content[error.start]:02x} is not UTF-8 text",
            "a text file in UTF-8",
            "open it in an editor and save it with the encoding UTF-8",
        )


def _refuse(what: str, expected: str, fix: str) -> NoReturn:
    raise GardenError((HardenoffError(what, expected, fix),)) from None
