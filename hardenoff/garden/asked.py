"""What the schema says of a key: its meaning, an example, the keys beside it, and where it belongs."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, get_args

from pydantic.fields import FieldInfo

from hardenoff.garden.schema import REPEATED, TABLES, RootTable, Table


@dataclass(frozen=True, slots=True)
class Asked:
    """What a key means, a line one could write, and the keys beside it."""

    meaning: str
    example: str
    siblings: tuple[str, ...]


def keys(model: type[Table]) -> dict[str, FieldInfo]:
    """The keys of a table, as they are written in the file."""
    return {field.alias or name: field for name, field in model.model_fields.items()}


def asked(model: type[Table], steps: tuple[str | int, ...]) -> Asked:
    """What the schema asks at a path inside a table; the nearest key above, where the path leaves the schema."""
    meaning, example, siblings = "", "", tuple(keys(model))
    table: type[Table] | None = model
    for step in steps:
        if isinstance(step, int) or table is None:
            continue
        siblings = tuple(keys(table))
        field = keys(table).get(step)
        if field is None:
            break
        meaning, example = field.description or "", (field.examples or [""])[0]
        table = next(_tables_in(field.annotation), None)
    return Asked(meaning, example, siblings)


def home_of(key: str) -> str | None:
    """Where a key belongs, for someone who wrote it under the wrong heading; None if it belongs to no table."""
    if key in keys(RootTable):
        return "at the top of the file, above the first heading"
    if key in TABLES:
        return f"under a heading of its own, {_heading(key)}"
    homes = [f"under {_heading(name)}" for name, table in TABLES.items() if key in keys(table)]
    inner = [
        f"inside {name} of {_heading(heading)}"
        for heading, table in TABLES.items()
        for name, field in keys(table).items()
        if any(key in keys(nested) for nested in _tables_in(field.annotation))
    ]
    return " or ".join(homes or inner) or None


def _heading(name: str) -> str:
    return f"[[{name}]]" if name in REPEATED else f"[{name}]"


def _tables_in(annotation: Any) -> Iterator[type[Table]]:
    if isinstance(annotation, type) and issubclass(annotation, Table):
        yield annotation
    for inner in get_args(annotation):
        yield from _tables_in(inner)
