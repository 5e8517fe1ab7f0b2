"""Batches, spots and times in the words of a command line: in any case, without quotes; else 'did you mean'."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime, time, timedelta, timezone

from hardenoff.errors import UsageError
from hardenoff.garden.times import clock
from hardenoff.garden.values import closest
from hardenoff.records import INSIDE, Garden

Words = Sequence[str]
ALL = "all"
"""In place of a batch: all of them."""
LOG_IN = "for a day spent inside: hardenoff log in"


def same(text: str, names: Sequence[str]) -> str | None:
    """The name that the text spells: as it is, else in any case and with any spaces."""
    if text in names:
        return text
    plain = " ".join(text.split()).casefold()
    return next((name for name in names if " ".join(name.split()).casefold() == plain), None)


def batches(garden: Garden) -> tuple[str, ...]:
    """Names, in the file's order."""
    return tuple(batch.name for batch in garden.batches)


def spots(garden: Garden) -> tuple[str, ...]:
    """Names of the outdoor ones, in the file's order."""
    return tuple(spot.name for spot in garden.spots)


def is_batch(words: Words, garden: Garden) -> bool:
    """Whether the words, together, name a batch or all of them."""
    return same(" ".join(words), (*batches(garden), ALL)) is not None


def batch_named(words: Words, garden: Garden) -> str | None:
    """A batch by its name; None for all of them, by no words or by the word. UsageError if there is none."""
    text = " ".join(words)
    name = same(text, batches(garden))
    if name is not None or not words or same(text, (ALL,)):
        return name
    raise UsageError(
        f'there is no batch "{text}"',
        f"one of {_quoted(batches(garden))}; or no name, or {ALL}, for all batches",
        _guess(text, batches(garden)),
    )


def spot_named(words: Words, garden: Garden, *, if_inside: str = LOG_IN) -> str:
    """An outdoor spot by its name. UsageError if there is none, with `if_inside` to whoever asks for inside."""
    text = " ".join(words)
    name = same(text, spots(garden))
    if name is not None:
        return name
    inside = same(text, (INSIDE,)) is not None
    no_such = f'there is no spot "{text}"' if words else "no spot was named"
    raise UsageError(
        f'"{INSIDE}" is no outdoor spot' if inside else no_such,
        f"one of {_quoted(spots(garden))}",
        if_inside if inside else _guess(text, spots(garden)),
    )


def _quoted(names: Sequence[str]) -> str:
    """A name may have spaces and commas in it."""
    return ", ".join(f'"{name}"' for name in names)


def _guess(text: str, names: Sequence[str]) -> str:
    parts = {part: name for name in names for part in name.split()}
    near = closest(text, names) or parts.get(closest(text, parts) or "")
    return f'did you mean "{near}"?' if near else "see hardenoff check for the names"


def batch_first(words: Words, garden: Garden) -> tuple[Words, Words]:
    """The longest start of the words that names a batch, and the rest; no words where none does."""
    for cut in range(len(words), 0, -1):
        if is_batch(words[:cut], garden):
            return words[:cut], words[cut:]
    return (), words


def batch_then_spot(words: Words, garden: Garden) -> tuple[str | None, str]:
    """Perhaps a batch, then a spot; if that fits no names, whichever is more likely wrong is told."""
    for cut in range(len(words)):
        if same(" ".join(words[cut:]), spots(garden)) and (cut == 0 or is_batch(words[:cut], garden)):
            return batch_named(words[:cut], garden), spot_named(words[cut:], garden)
    batch, rest = batch_first(words, garden)
    if not batch and len(words) > 1:
        ends = [cut for cut in range(1, len(words)) if same(" ".join(words[cut:]), spots(garden))]
        batch, rest = words[: ends[0] if ends else 1], words[ends[0] if ends else 1 :]
    return batch_named(batch, garden), spot_named(rest, garden)


# --- times -----------------------------------------------------------------------------------------


def with_offset(at: datetime) -> datetime:
    """The same moment with its offset alone: what is read back from the file is then equal to it."""
    return at.astimezone(timezone(at.utcoffset() or timedelta(0))).replace(microsecond=0)


def moment(text: str, on: date, garden: Garden, *, may_be_24: bool = False) -> datetime:
    """A time of the place's clock on a date, with its offset; one that the clocks skip is moved on as they are.

    WrongValue if it is none; "24:00" is one where something ends.
    """
    late = may_be_24 and text.strip() == "24:00"
    local = datetime.combine(on + timedelta(days=late), time() if late else clock(text), garden.place.tz)
    return with_offset(local.astimezone(UTC).astimezone(garden.place.tz))
