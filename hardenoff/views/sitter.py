"""The sitter's sheet: one page of plain text with times, boxes to tick, and whom to ask in doubt."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from textwrap import wrap

from hardenoff.records import INSIDE, UnitSystem
from hardenoff.schedule.away_records import AwayComparison, SitterDay
from hardenoff.schedule.records import BatchNight, Move
from hardenoff.views import words
from hardenoff.views.away import hours
from hardenoff.views.footer import forecast_line

WIDTH, PAGE = 80, 60
"""Columns and lines of a page."""
BLANK = "_" * 24
WATER = "[ ] soil checked in the morning   [ ] and at noon, if sunny and windy"
CAUTIONS = (
    "Trays are heavy: carry one at a time, or lift with somebody's help.",
    "Keep water away from lamps, heating mats, plugs and cables; dry hands first.",
    "A local frost warning comes before this sheet: then everything comes inside.",
    "If you can't come, or are not sure: inside is the place that does least harm.",
)


def render(comparison: AwayComparison) -> str:
    """The sheet, at most 60 lines of 80 columns; days that don't fit are named."""
    head, foot = list(_head(comparison)), list(_foot(comparison))
    days = list(_days(comparison))
    room = PAGE - len(head) - len(foot) - 1
    shown: list[str] = []
    for number, (title, lines) in enumerate(days):
        is_last = number == len(days) - 1
        if len(shown) + len(lines) + (0 if is_last else 1) > room:
            shown = [*(shown or lines[: room - 1]), _no_room(title, whole=bool(shown))]
            break
        shown += lines
    return "\n".join([*head, *shown, "", *foot]) + "\n"


def _no_room(title: str, *, whole: bool) -> str:
    if whole:
        return f"THE PAGE ENDS HERE: ask for a new sheet before {title}, else all stay inside."
    return f"MORE ON {title} THAN FITS ON A PAGE: call before you begin."


# --- above and below -------------------------------------------------------------------------------


def _head(comparison: AwayComparison) -> Iterator[str]:
    first, last = comparison.first, comparison.last
    days = words.long_day(first) if first == last else f"{words.day(first)} to {words.long_day(last)}"
    yield from wrap(f"PLANTS TO LOOK AFTER: {comparison.place}", WIDTH)
    yield from wrap(f"{days}. Back on {words.day(last + timedelta(days=1))}.", WIDTH)
    yield from wrap(f"You are there {hours(comparison.sitter)}. Tick each box when it is done.", WIDTH)
    yield ""
    yield f"In doubt, call: {BLANK}  or: {BLANK}"


def _foot(comparison: AwayComparison) -> Iterator[str]:
    if comparison.stay_put:
        yield from wrap(f"Not carried, look at their soil too: {words.names(comparison.stay_put)}.", WIDTH)
    for caution in CAUTIONS:
        yield from wrap(f"! {caution}", WIDTH, subsequent_indent="  ")
    now = comparison.now
    written = f"{forecast_line(comparison.forecast)} Sheet made {words.day(now.date())} {words.clock(now)}."
    yield from wrap(f"{written} Weather changes: ask for a new sheet after two days.", WIDTH)


# --- the days --------------------------------------------------------------------------------------


def _days(comparison: AwayComparison) -> Iterator[tuple[str, list[str]]]:
    """The name of each day and its lines; days past the forecast in one."""
    for day in comparison.sheet:
        title = words.day(day.date).upper()
        if not day.known:
            until = "" if day.date == comparison.last else " AND AFTER"
            told = "Past the forecast: all stay inside. Ask for a new sheet before this day."
            yield title, ["", f"{title}{until}", *_moves(day), *wrap(told, WIDTH, initial_indent="    "), _water()]
            return
        lines = [*_moves(day)] or ["    Nothing to carry."]
        yield title, ["", title, *lines, _water(), *_nights(day, comparison.units)]


def _water() -> str:
    return f"    {WATER}"


def _moves(day: SitterDay) -> Iterator[str]:
    for move in day.moves:
        text = f"{', '.join(move.batches)} ({words.trays(move.trays)})"
        line = f"[ ]  {words.clock(move.at)}   {text}: {move.origin} -> {move.target}{_until(move, day)}"
        yield from wrap(line, WIDTH, initial_indent="    ", subsequent_indent=" " * 17)


def _until(move: Move, day: SitterDay) -> str:
    """How long they stay there."""
    if move.target == INSIDE:
        return ""
    later = [
        other.at
        for other in day.moves
        if other.at > move.at and other.origin == move.target and set(other.batches) & set(move.batches)
    ]
    return f", until {words.clock(min(later))}" if later else ", for the night"


def _nights(day: SitterDay, units: UnitSystem) -> Iterator[str]:
    """Where they spend the night, and the low that would be too cold; those that are alike in one line."""
    together: dict[tuple[str, str], list[str]] = {}
    for one in day.nights:
        together.setdefault((_place(one), words.temperature(one.night.check_below_c, units)), []).append(one.batch)
    for (place, limit), names in together.items():
        if place:
            text = f"Tonight OUT at {place}: {words.names(names)}. If less than {limit} is forecast: in."
        else:
            text = f"Tonight IN: {words.names(names)} (not below {limit})."
        yield from wrap(text, WIDTH, initial_indent="    ", subsequent_indent=" " * 8)


def _place(one: BatchNight) -> str:
    """The spot of a night outside; nothing for one inside."""
    night = one.night
    if night.verdict == "cover":
        return f"{night.spot}, UNDER ITS COVER until the morning"
    return night.spot or "" if night.verdict == "out" else ""
