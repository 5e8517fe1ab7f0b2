"""Writes `start = DATE` into a grower's garden file and leaves every other character of it alone."""

from __future__ import annotations

import tomllib
from datetime import date
from pathlib import Path
from typing import Any

from hardenoff.errors import UsageError
from hardenoff.garden.source import Source, Statement
from hardenoff.garden.values import closest

_BOM = "\ufeff"


def add_start(text: str, batch_name: str, on: date) -> str:
    """The text of a garden file with the first outing of one batch written into it.

    A `start` that is already there is replaced, with its remark kept. UsageError if the file has no such batch.
    """
    plain = text.removeprefix(_BOM)
    mark = text[: len(text) - len(plain)]
    source = Source(Path("garden.toml"), plain, tomllib.loads(plain))
    number = _number(source, batch_name)
    after = _statement_to_follow(source, number)
    if after is None:
        return mark + _rewritten(plain, number, on)
    lines = plain.split("\n")
    line = lines[after.last - 1]
    indent = line[: len(line) - len(line.lstrip())] if after.first == after.last else ""
    carriage = "\r" if "\r\n" in plain else ""
    if after.last == len(lines):  # the file ends without a line break
        return f"{text}{carriage}\n{indent}start = {on}"
    lines.insert(after.last, f"{indent}start = {on}{carriage}")
    return mark + "\n".join(lines)


def _statement_to_follow(source: Source, number: int) -> Statement | None:
    """The statement below which a line `start = ...` belongs; None if one is there, or the batch is { inline }."""
    entry = source.data["batch"][number]
    batch = source.statement(("batch", number))
    key = next(key for key in ("sown", "crop", "name") if key in entry)
    statement = source.statement(("batch", number, key))
    return None if "start" in entry or statement == batch else statement


def _rewritten(text: str, number: int, on: date) -> str:
    """For a `start` that is there, and for batches written as { name = ... }."""
    import tomlkit

    document = tomlkit.parse(text)
    batches: Any = document["batch"]
    batches[number]["start"] = on
    return tomlkit.dumps(document)


def _number(source: Source, batch_name: str) -> int:
    entries = source.data.get("batch", [])
    names = [str(entry.get("name", "")).strip() for entry in entries]
    if batch_name in names:
        return names.index(batch_name)
    meant = closest(batch_name, names)
    listed = ", ".join(f'"{name}"' for name in names)
    raise UsageError(
        f'the garden file has no batch "{batch_name}"',
        f"the name of one of its batches ({listed or 'there are none'})",
        f'did you mean "{meant}"?' if meant else "correct the name, or add a [[batch]] of that name",
    )
