"""All that is wrong with a garden file, each fault with its place in it: collected, not raised one by one."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, TypeVar

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from hardenoff.errors import HardenoffError
from hardenoff.garden.asked import asked, home_of, keys
from hardenoff.garden.schema import REPEATED, Table
from hardenoff.garden.source import KeyPath, Source
from hardenoff.garden.values import closest, given

AnyTable = TypeVar("AnyTable", bound=Table)


class Faults:
    """Collects the faults of one garden file."""

    def __init__(self, source: Source) -> None:
        self.source = source
        self._found: list[tuple[int, HardenoffError]] = []

    def add(self, where: KeyPath, what: str, expected: str, fix: str) -> None:
        """One fault of the key at `where`. A key that isn't in the file is shown at the table that lacks it."""
        line = next((line for n in range(len(where), 0, -1) if (line := self.source.line(where[:n]))), None)
        error = HardenoffError(f"{self.place(where, line)}: {what}", expected, fix)
        self._found.append((line or 0, error))

    def add_value(self, where: KeyPath, error: HardenoffError, meaning: str = "", example: str = "") -> None:
        """One fault that a reader of values found, with what the key means and an example."""
        key = where[-1] if isinstance(where[-1], str) else None
        expected = f"{meaning}: {error.expected}" if meaning else error.expected
        if example and example not in error.expected:
            expected += f", such as {example}"
        fix = error.fix.replace('write "', f'write {key} = "', 1) if key else error.fix
        self.add(where, error.what, expected, fix)

    def table(self, model: type[AnyTable], raw: Mapping[str, Any], where: KeyPath) -> AnyTable | None:
        """A table of the file, read by its schema.

        Wrong keys are told and left out, so that what follows can still be held against the rest; None if a key
        that must be there is missing or wrong.
        """
        try:
            return model.model_validate(raw)
        except ValidationError as errors:
            details = errors.errors(include_url=False)
        wrong_keys = {error["loc"][:-1] for error in details if error["loc"][-1] == "[key]"}
        slips = _slips(model, details)
        for error in details:
            is_slip = error["type"] == "missing" and error["loc"] in slips  # told where the key is misspelt
            if error["loc"] not in wrong_keys and not is_slip:  # the value under a wrong key doesn't matter
                self._add_schema_error(model, error, where)
        wrong = {error["loc"][0] for error in details}
        if wrong & {name for name, field in keys(model).items() if field.is_required()}:
            return None
        return model.model_validate({key: value for key, value in raw.items() if key not in wrong})

    def found(self) -> tuple[HardenoffError, ...]:
        """Every fault, in the order of the file."""
        return tuple(error for _, error in sorted(self._found, key=lambda entry: entry[0]))

    def place(self, where: KeyPath, line: int | None) -> str:
        """`garden.toml, line 12, spot "carport", key roof.above`; without file and line where none is written."""
        parts = [str(self.source.path)] if self.source.is_written else []
        if line is not None and self.source.is_written:
            parts.append(f"line {line}")
        head: str | int = where[0] if where else ""
        keys = where[1:]
        if head in REPEATED and len(where) > 1:
            parts.append(self._named(str(head), where[1]))
            keys = where[2:]
        elif len(where) == 1:
            keys = where
        elif head:
            parts.append(f"[{head}]")
        names = ".".join(step for step in keys if isinstance(step, str))
        entries = ", ".join(f"entry {step + 1}" for step in keys if isinstance(step, int))
        if names:
            parts.append(f"key {names}")
        return ", ".join(parts) + (f" ({entries})" if entries else "")

    def _named(self, head: str, number: str | int) -> str:
        entries = self.source.data.get(head)
        entry = entries[number] if isinstance(entries, list) and isinstance(number, int) else None
        name = entry.get("name") if isinstance(entry, dict) else None
        if isinstance(name, str) and name.strip():
            return f"{head} {given(name.strip())}"
        return f"{head} no. {int(number) + 1}"

    def _add_schema_error(self, model: type[Table], error: ErrorDetails, where: KeyPath) -> None:
        """One of pydantic's errors in our words: a wrong value, a missing or an unknown key, a wrong kind."""
        steps = tuple(step for step in error["loc"] if step != "[key]")
        at = (*where, *steps)
        wanted = asked(model, steps)
        cause = error.get("ctx", {}).get("error")
        home = home_of(str(at[-1])) if "[key]" in error["loc"] else None
        if isinstance(cause, HardenoffError) and home:  # a key of another table that slid under this heading
            self.add(at, cause.what, cause.expected, f"move it: {at[-1]} belongs {home}")
        elif isinstance(cause, HardenoffError):
            self.add_value(at, cause, wanted.meaning, wanted.example)
        elif error["type"] == "missing":
            self.add(
                at, "this key is missing", f"{wanted.meaning}, such as {wanted.example}", f"add {wanted.example}"
            )
        elif error["type"] == "extra_forbidden":
            self.add_unknown_key(at, wanted.siblings)
        else:
            kind = (
                "a table { key = value }"
                if "model" in error["type"] or "dict" in error["type"]
                else "a list [ ... ]"
            )
            self.add(
                at,
                f"{given(error['input'])} is not {kind}",
                f"{wanted.meaning}, such as {wanted.example}",
                f"write it as {wanted.example}",
            )

    def add_unknown_key(self, where: KeyPath, known: Iterable[str]) -> None:
        """A key that no table of this kind has: what was meant, or where it belongs."""
        known = tuple(known)
        key = str(where[-1])
        meant = closest(key, known)
        home = home_of(key)
        if meant and home:
            fix = f'did you mean "{meant}"? {key} itself belongs {home}'
        elif meant:
            fix = f'did you mean "{meant}"?'
        elif home:
            fix = f"move it: {key} belongs {home}"
        else:
            fix = "correct the key or remove the line"
        self.add(where, "there is no such key", f"one of {', '.join(known)}", fix)


def _slips(model: type[Table], details: Iterable[ErrorDetails]) -> set[tuple[str | int, ...]]:
    """Where the keys belong that were written with a slip, so that they are there and yet missing."""
    unknown = [error["loc"] for error in details if error["type"] == "extra_forbidden"]
    meant = [(loc, closest(str(loc[-1]), asked(model, loc).siblings)) for loc in unknown]
    return {(*loc[:-1], key) for loc, key in meant if key is not None}
