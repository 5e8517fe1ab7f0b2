"""What is asked back before it is written down: a low that is hard to believe, a date that is hard to believe."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from itertools import product

from hardenoff.cli.book import Book
from hardenoff.errors import UsageError
from hardenoff.journal.entries import Entry
from hardenoff.records import UnitSystem
from hardenoff.units import from_si, to_si
from hardenoff.views import words
from hardenoff.views.log import OF_THE_GARDEN, low

FROM_FORECAST_C = 15.0
"""A low further from the forecast of its night is asked back (ours): hollows and walls are good for half of it."""
COLDEST_C, WARMEST_C = -30.0, 25.0
"""So is one outside of these, where no forecast of the night is known (ours)."""
OLD = timedelta(days=366)
"""A date longer ago is most often a slip of the year (ours)."""


def refuse_doubtful(book: Book, entry: Entry, *, sure: bool) -> None:
    """UsageError for what can hardly have been, and, unless the grower is `sure`, for what is unlikely."""
    _refuse_before_sowing(book, entry)
    if not sure:
        _refuse_old(book, entry)
        _refuse_far_low(entry, book.garden.units)


def _refuse_before_sowing(book: Book, entry: Entry) -> None:
    if entry.kind in OF_THE_GARDEN:
        return
    meant = [batch for batch in book.garden.batches if entry.batch in (None, batch.name)]
    sown = [batch.sown for batch in meant if batch.sown is not None]
    if sown and len(sown) == len(meant) and entry.on < min(sown):
        whose = "any batch" if entry.batch is None else f'"{entry.batch}"'
        raise UsageError(
            f"{entry.on} is before {whose} was sown ({min(sown)})",
            "the date it was, on or after that of sowing",
            "correct --on, or the date of sowing in the garden file",
        )


def _refuse_old(book: Book, entry: Entry) -> None:
    if book.now.date() - entry.on > OLD:
        raise UsageError(
            f"{entry.on} is more than a year ago",
            "a date of this season",
            "correct --on; if it is right, add --sure",
        )


# --- lows ------------------------------------------------------------------------------------------


def _refuse_far_low(entry: Entry, units: UnitSystem) -> None:
    if entry.kind != "low" or entry.low_c is None or _is_near(entry.low_c, entry.forecast_low_c):
        return
    read, forecast_c = low(entry.low_c, units), entry.forecast_low_c
    if forecast_c is None:
        what = f"a low of {read} is hard to believe"
        least, most = (words.temperature(limit, units) for limit in (COLDEST_C, WARMEST_C))
        expected = f"what the thermometer showed at its lowest, with its unit; most often {least} to {most}"
    else:
        apart = words.temperature_step(abs(entry.low_c - forecast_c), units)
        side = "warmer" if entry.low_c > forecast_c else "colder"
        what = (
            f"a low of {read} is {apart} {side} than the forecast of that night, "
            f"{words.temperature(forecast_c, units)}"
        )
        expected = f"a low within {words.temperature_step(FROM_FORECAST_C, units)} of the forecast, with its unit"
    meant = next(_meant(entry.low_c, forecast_c), None)
    slip = "check the number, its sign and its unit" if meant is None else f'did you mean "{meant}"?'
    raise UsageError(what, expected, f"{slip} If it did show {read}, add --sure")


def _is_near(low_c: float, forecast_c: float | None) -> bool:
    if forecast_c is None:
        return COLDEST_C <= low_c <= WARMEST_C
    return abs(low_c - forecast_c) <= FROM_FORECAST_C


def _meant(low_c: float, forecast_c: float | None) -> Iterator[str]:
    """The same number with the other unit or the other sign, where that can be believed."""
    for typed, sign, unit in product("CF", (1, -1), "CF"):
        number = round(from_si(low_c, "temperature", typed), 1)
        is_as_typed = abs(to_si(number, "temperature", typed) - low_c) < 0.05 and number == round(number)
        if is_as_typed and _is_near(to_si(sign * number, "temperature", unit), forecast_c):
            yield f"{sign * number:g} {unit}"
