"""From the words after `log` to an entry: what was done, to which batch, where, from when until when.

No clock and no file here: `Beside` brings what the options and the clock say.
"""

from __future__ import annotations

import re
import shlex
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any

from hardenoff.cli.named import (
    Words,
    batch_first,
    batch_named,
    batch_then_spot,
    batches,
    is_batch,
    moment,
    same,
    spot_named,
    spots,
    with_offset,
)
from hardenoff.errors import UsageError
from hardenoff.garden.values import closest, quantity
from hardenoff.journal.entries import DAMAGE_KINDS, Entry, Kind
from hardenoff.records import Garden
from hardenoff.units import parse_temperature

EARLIEST_FETCH = time(4)
"""`longer` until an earlier hour is one of the next date (ours): nothing is fetched in before its own dawn."""
COLDEST_C, WARMEST_C = -50.0, 45.0
"""What a thermometer in a garden can have shown at its lowest (ours)."""

Fields = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Beside:
    """What is known beside the words."""

    id: str
    now: datetime
    on: date
    overnight: bool = False
    """The end is on the day after `on`."""
    at: str | None = None
    """Where damage was seen."""
    minutes: int | None = None
    corrects: str | None = None


@dataclass(frozen=True, slots=True)
class Form:
    """How something is said: the words after its first, an example of them, and who reads them."""

    words: str
    example: str
    read: Callable[[Words, Garden, Beside], Fields | None]
    """None: there are too few words, or too many."""


def entry_of(words: Words, garden: Garden, beside: Beside) -> Entry:
    """The entry that the words tell of. UsageError for words that tell of nothing, or of what can't have been."""
    kind, form = _form(words)
    _refuse_option(beside.overnight and kind not in OVERNIGHT, "--overnight", OVERNIGHT)
    _refuse_option(beside.at is not None and kind != "damage", "--at", ("damage",))
    fields = form.read(words[1:], garden, beside)
    if fields is None:
        raise UsageError(
            f'"{" ".join(words)}" is not all there, or has too many words',
            f"hardenoff log {kind} {form.words}",
            f"write: {example(kind, garden)}",
        )
    try:
        return Entry(
            id=beside.id,
            written_at=with_offset(beside.now),
            on=beside.on,
            kind=kind,
            minutes=beside.minutes,
            corrects=beside.corrects,
            **fields,
        )
    except ValueError as fault:
        raise UsageError(
            f"this can't be recorded: {fault}", "one line of words", "leave out what is no letter"
        ) from None


def example(kind: Kind, garden: Garden) -> str:
    """A line that tells of something, with the names of this garden."""
    told = FORMS[kind].example.format(
        batch=shlex.quote(garden.batches[0].name),
        spot=shlex.quote(garden.spots[0].name),
        low="38 F" if garden.units == "us" else "3 C",
    )
    return f"hardenoff log {kind} {told}".rstrip()


def _form(words: Words) -> tuple[Kind, Form]:
    said = words[0].casefold()
    for kind, form in FORMS.items():
        if kind == said:
            return kind, form
    near = closest(said, (*FORMS, "--list", "--undo", "--fix"))
    raise UsageError(
        f'log does not know "{words[0]}"',
        f"one of {', '.join(FORMS)}",
        f'did you mean "{near}"?' if near else "see hardenoff log --help",
    )


def _refuse_option(refused: bool, option: str, kinds: Iterable[str]) -> None:
    if refused:
        raise UsageError(f"{option} is no part of this", f"{option} with {' or '.join(kinds)}", "leave it out")


# --- times -----------------------------------------------------------------------------------------


def _from_until(begin: str, finish: str, garden: Garden, beside: Beside) -> tuple[datetime, datetime]:
    start = moment(begin, beside.on, garden)
    end = moment(finish, beside.on + timedelta(days=beside.overnight), garden, may_be_24=True)
    if end <= start:
        raise UsageError(
            f"from {begin} until {finish} ends before it starts",
            "a later end, both on the 24-hour clock",
            "swap the two, or add --overnight if they stayed out until the next day",
        )
    _refuse_future(start, begin, beside)
    return start, end


def _refuse_future(at: datetime, said: str, beside: Beside) -> None:
    if at > beside.now:
        raise UsageError(
            f"{said} on {beside.on} is still to come",
            "what has been",
            "add --on yesterday, or the date it was; or log it when it has been",
        )


def _spans_apart(words: Words) -> Words:
    """A span in one word, "07:15-18:00", as two."""
    span = re.fullmatch(r"(\d{1,2}:\d{2})[-–—](\d{1,2}:\d{2})", words[-1]) if words else None
    return [*words[:-1], *span.groups()] if span else words


# --- one reader a form -----------------------------------------------------------------------------


def _plants(words: Words, garden: Garden, beside: Beside) -> Fields | None:
    return {"batch": batch_named(words, garden)}


def _planted(words: Words, garden: Garden, beside: Beside) -> Fields | None:
    batch, spot = batch_first(words, garden)
    if not words or not batch:
        return _for_good(words, garden, beside)
    return {"batch": batch_named(batch, garden), "spot": spot_named(spot, garden) if spot else None}


def _for_good(words: Words, garden: Garden, beside: Beside) -> Fields | None:
    """Who is meant has to be said, unless there is but one."""
    return {"batch": batch_named(words, garden)} if words or len(garden.batches) == 1 else None


def _out(words: Words, garden: Garden, beside: Beside) -> Fields | None:
    words = _spans_apart(words)
    if len(words) < 3:
        return None
    batch, spot = batch_then_spot(words[:-2], garden)
    start, end = _from_until(words[-2], words[-1], garden, beside)
    return {"batch": batch, "spot": spot, "start": start, "end": end}


def _longer(words: Words, garden: Garden, beside: Beside) -> Fields | None:
    if not words or is_batch(words, garden):
        return None
    batch, until = batch_named(words[:-1], garden), words[-1]
    end = moment(until, beside.on + timedelta(days=beside.overnight), garden, may_be_24=True)
    if not beside.overnight and end.date() == beside.on and end.time() < EARLIEST_FETCH:
        raise UsageError(
            f"until {until} on {beside.on} is before that day's dawn",
            "how long they were left out",
            "add --overnight if they were fetched in the next morning",
        )
    return {"batch": batch, "end": end}


def _damage(words: Words, garden: Garden, beside: Beside) -> Fields | None:
    batch, rest = batch_first(words, garden)
    if len(rest) > 1 and not batch and not same(rest[0], DAMAGE_KINDS) and same(rest[1], DAMAGE_KINDS):
        batch, rest = rest[:1], rest[1:]  # a name with a slip in it
    if not rest:
        return None
    name, kind = batch_named(batch, garden), same(rest[0], DAMAGE_KINDS)
    if kind is None:
        raise UsageError(
            f'"{rest[0]}" is no kind of damage', f"one of {', '.join(DAMAGE_KINDS)}", _kind_guess(rest[0], garden)
        )
    return {
        "batch": name,
        "damage_kind": kind,
        "text": " ".join(rest[1:]).strip() or None,
        "spot": None if beside.at is None else spot_named([beside.at], garden),
    }


def _kind_guess(word: str, garden: Garden) -> str:
    near = closest(word, (*DAMAGE_KINDS, *batches(garden)))
    return f'did you mean "{near}"?' if near else f"write: {example('damage', garden)}"


def _low(words: Words, garden: Garden, beside: Beside) -> Fields | None:
    number = next((at for at, word in enumerate(words) if at and re.match(r"[+\-−]?\.?\d", word)), len(words))
    cut = next((at for at in range(len(words), 0, -1) if same(" ".join(words[:at]), spots(garden))), number)
    if not 0 < cut < len(words):
        return None
    return {"spot": spot_named(words[:cut], garden), "low_c": _low_c(" ".join(words[cut:]))}


def _low_c(text: str) -> float:
    """Degrees C, with one decimal more than was written: 38 F is 3.3, and reads 38 F again."""
    read = quantity(parse_temperature, COLDEST_C, WARMEST_C, "a low between -50 C (-58 F) and 45 C (113 F)")
    decimals = re.search(r"\.(\d+)", text)
    return round(read(text), 1 + (len(decimals[1]) if decimals else 1 if "/" in text else 0)) + 0.0


def _sun(words: Words, garden: Garden, beside: Beside) -> Fields | None:
    words = _spans_apart(words)
    if len(words) < 3:
        return None
    spot = spot_named(words[:-2], garden)
    start, end = _from_until(words[-2], words[-1], garden, beside)
    _refuse_future(end, words[-1], beside)
    return {"spot": spot, "start": start, "end": end}


def _note(words: Words, garden: Garden, beside: Beside) -> Fields | None:
    text = " ".join(words).strip()
    return {"text": text} if text else None


FORMS: Mapping[Kind, Form] = {
    "done": Form("[BATCH]", "", _plants),
    "out": Form("[BATCH] SPOT FROM UNTIL", "{batch} {spot} 07:15 18:00", _out),
    "in": Form("[BATCH]", "{batch}", _plants),
    "longer": Form("[BATCH] UNTIL", "{batch} 20:30", _longer),
    "damage": Form("[BATCH] KIND [WORDS]", '{batch} sun "white patches"', _damage),
    "watered": Form("[BATCH]", "{batch}", _plants),
    "low": Form("SPOT TEMPERATURE", '{spot} "{low}"', _low),
    "sun": Form("SPOT FROM UNTIL", "{spot} 07:40 10:15", _sun),
    "planted": Form("BATCH [SPOT]", "{batch}", _planted),
    "finished": Form("BATCH", "{batch}", _for_good),
    "note": Form("WORDS", '"first true leaves"', _note),
}
"""Everything that can be told, in the order of the help."""
OVERNIGHT = ("out", "longer")
