"""The journal's text: JSON Lines in UTF-8. The first line names the schema, each further one is an entry.

Keys stand in one order, times carry their offset, temperatures are degrees C. Unknown keys are left alone.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from datetime import date, datetime
from typing import Any

from hardenoff.errors import UnreadableError
from hardenoff.journal.entries import KEYS, Complaint, Entry, hold

LONGEST_QUOTE = 200
SCHEMA, VERSION = "hardenoff.journal", 1
HEADER = json.dumps({"schema": f"{SCHEMA}/{VERSION}"})
"""The first line of a journal, without its line break."""


class NewerJournalError(UnreadableError):
    """The journal was written by a later version: its lines may mean what this one doesn't know."""


# --- values ----------------------------------------------------------------------------------------


def _text(value: Any) -> str:
    hold(isinstance(value, str), "no text")
    return str(value)


def _day(value: Any) -> date:
    return date.fromisoformat(_text(value))


def _moment(value: Any) -> datetime:
    return datetime.fromisoformat(_text(value))


def _number(value: Any) -> float:
    hold(isinstance(value, int | float) and not isinstance(value, bool), "no number")
    try:
        return float(value)
    except OverflowError:
        raise ValueError("too large a number") from None


def _whole(value: Any) -> int:
    hold(isinstance(value, int) and not isinstance(value, bool), "no whole number")
    return int(value)


_FIELDS: Mapping[str, Callable[[Any], Any]] = {
    "id": _text,
    "on": _day,
    "kind": _text,
    "batch": _text,
    "spot": _text,
    "start": _moment,
    "end": _moment,
    "low_c": _number,
    "forecast_low_c": _number,
    "cloud_frac": _number,
    "wind_m_s": _number,
    "damage_kind": _text,
    "text": _text,
    "minutes": _whole,
    "corrects": _text,
    "written_at": _moment,
}
"""How each field is read, in the order they are written, which reads like a sentence."""
_ALWAYS = ("id", "on", "kind", "written_at")


# --- one line --------------------------------------------------------------------------------------


def record(entry: Entry) -> dict[str, Any]:
    """An entry as a JSON object: every key in its order, None where nothing was told."""
    return {_key(field): _written(getattr(entry, field)) for field in _FIELDS}


def _written(value: Any) -> Any:
    return value.isoformat() if isinstance(value, date) else value


def format_line(entry: Entry) -> str:
    """The line of an entry, without its line break; keys without a value are left out."""
    told = {key: value for key, value in record(entry).items() if value is not None}
    return json.dumps(told, ensure_ascii=False, allow_nan=False)


def parse_line(line: str) -> Entry:
    """The entry of a line. ValueError says why there is none."""
    return _entry(_object(line))


def _entry(told: Mapping[str, Any]) -> Entry:
    given = {field: _value(field, told) for field in _FIELDS if told.get(_key(field)) is not None}
    lacking = [field for field in _ALWAYS if field not in given]
    hold(not lacking, f"it has no {' and no '.join(lacking)}")
    return Entry(**given)


def _value(field: str, told: Mapping[str, Any]) -> Any:
    try:
        return _FIELDS[field](told[_key(field)])
    except ValueError as fault:
        raise ValueError(f'"{_key(field)}": {fault}') from None


def _key(field: str) -> str:
    return KEYS.get(field, field)


def _object(line: str) -> dict[str, Any]:
    try:
        told = json.loads(line, parse_constant=_no_number)
    except RecursionError:
        raise ValueError("it is nested too deep") from None
    except json.JSONDecodeError as fault:
        raise ValueError(f"it is no JSON ({fault.msg}, character {fault.pos + 1})") from None
    hold(isinstance(told, dict), "it is no JSON object")
    return dict(told)


def _no_number(word: str) -> float:
    raise ValueError(f"{word} is no number")


# --- the whole file --------------------------------------------------------------------------------


def parse(content: bytes) -> tuple[tuple[Entry, ...], tuple[Complaint, ...]]:
    """All entries of a journal in its order, and what is wrong with lines that give none, or less than they say.

    A last line without its line break counts if it is whole. A line that is there twice counts once. Without a
    header the lines are read as this version's.

    Raises
    ------
    NewerJournalError
        The first line names a later schema.
    """
    refuse_newer(content)
    lines = content.split(b"\n")
    cut = len(lines) if whole_length(content) < len(content) else None
    entries: list[Entry] = []
    complaints: list[Complaint] = []
    first: dict[str, tuple[int, Entry]] = {}
    for number, line in enumerate(lines, start=1):
        try:
            entry = _entry_or_none(line)
        except ValueError as fault:
            said = str(fault) if len(str(fault)) <= LONGEST_QUOTE else f"{str(fault)[:LONGEST_QUOTE]} ..."
            what = "it is cut off; the next entry sets it aside" if number == cut else f"{said}; it is left out"
            complaints.append(Complaint(number, what))
            continue
        if entry is None:
            continue
        above, same = first.get(entry.id, (None, None))
        if entry == same:
            complaints.append(Complaint(number, f"it repeats line {above} and counts once"))
            continue
        if above is not None:
            complaints.append(Complaint(number, f"its id {entry.id} is that of line {above} as well"))
        if entry.corrects is not None and entry.corrects not in first:
            other = json.dumps(entry.corrects[:LONGEST_QUOTE])
            complaints.append(Complaint(number, f"it corrects {other}, which is not above it"))
        first.setdefault(entry.id, (number, entry))
        entries.append(entry)
    return tuple(entries), tuple(complaints)


def whole_length(content: bytes) -> int:
    """How many bytes from the start are whole lines; what follows is a last line that was cut off.

    A last line that lacks nothing but its line break is whole.
    """
    start = content.rfind(b"\n") + 1
    try:
        if text := _decoded(content[start:]).strip():
            _object(text)
    except ValueError:
        return start
    return len(content)


def refuse_newer(content: bytes) -> None:
    """NewerJournalError if the first line names a later schema than this version knows."""
    try:
        schema = _object(_decoded(content.partition(b"\n")[0])).get("schema")
    except ValueError:
        return
    version = _version(schema)
    if version is not None and version > VERSION:
        raise NewerJournalError(
            f"the journal is of the schema {schema}, from a later version of this program",
            f"{SCHEMA}/{VERSION} or older",
            "update hardenoff; the journal was left as it is",
        )


def _entry_or_none(line: bytes) -> Entry | None:
    """The entry of a line; None for an empty line and for the header. ValueError for anything else."""
    text = _decoded(line).strip()
    if not text:
        return None
    told = _object(text)
    if "schema" in told and "id" not in told:
        hold(_version(told["schema"]) is not None, "it names a schema that is none of a journal")
        return None
    return _entry(told)


def _decoded(line: bytes) -> str:
    try:
        return line.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise ValueError("it is no UTF-8 text") from None


def _version(schema: Any) -> int | None:
    found = re.fullmatch(rf"{re.escape(SCHEMA)}/([1-9][0-9]{{0,5}})", schema) if isinstance(schema, str) else None
    return int(found[1]) if found else None
