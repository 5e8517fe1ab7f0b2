"""The rows of the plan: one a day, days past the forecast in one, nothing after plant-out."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import groupby
from textwrap import wrap

from hardenoff.records import UnitSystem
from hardenoff.schedule.records import BatchDay, Certainty, Day, NightAnswer, Schedule
from hardenoff.views import words
from hardenoff.views.answers import decider, sun_limit

MARKS: dict[Certainty, str] = {"forecast": " ", "odds": "~", "beyond": "?"}
STAGES = {"sown": "sown", "planted": "planted out"}
DAY, SUN, EARNED, LEAST, MOST = 12, 17, 5, 16, 60
"""Widths of the fixed columns; what the nights leave is for the places, or for a hold's reason."""


@dataclass(frozen=True, slots=True)
class Row:
    """What is printed of one day; `sun` is empty where there is none."""

    day: str
    what: str
    sun: str
    earned: str
    night: str
    certainty: Certainty = "forecast"
    is_hold: bool = False


def headings(units: UnitSystem) -> Row:
    """The line above the rows."""
    sun = f"{'sun':>5} {'clear':>5} {'limit':>5}"
    return Row("  day", "where and when", sun, "ramp", f"night {words.unit_of('temperature', units)}")


def rows(schedule: Schedule, batch: str) -> tuple[Row, ...]:
    """The rows of one batch, from today to its plant-out."""
    last = next((finish.plant_out for finish in schedule.finishes if finish.batch == batch), None)
    own = [(day, one) for day in schedule.days for one in day.batches if one.batch == batch]
    shown = [(day, one) for day, one in own if last is None or day.date <= max(last, schedule.date)]
    return tuple(_rows(shown, schedule.units))


def _rows(days: list[tuple[Day, BatchDay]], units: UnitSystem) -> Iterator[Row]:
    for is_beyond, together in groupby(days, key=lambda pair: pair[0].certainty == "beyond"):
        if is_beyond:
            yield _beyond(list(together))
        else:
            yield from (_row(day, batch, units) for day, batch in together)


def room_for_places(table: Iterable[Row], width: int) -> int:
    """Columns for the places, so that the longest night still fits into its line."""
    night = max(len(row.night) for row in table)
    return min(MOST, max(LEAST, width - DAY - SUN - EARNED - night - 4))


def laid_out(row: Row, room: int) -> str:
    """One row; a text too long for its column goes on below it, and a row without sun has that room as well."""
    whole = room + 1 + SUN
    lines = (_packed(row.what, room) if row.sun else wrap(row.what, whole)) or [""]
    middle = f"{lines[0]:<{room}} {row.sun:>{SUN}}" if row.sun else f"{lines[0]:<{whole}}"
    first = f"{row.day:<{DAY}} {middle} {row.earned:>{EARNED}} {row.night}"
    return "\n".join([first, *(" " * (DAY + 1) + line for line in lines[1:])])


def _packed(what: str, room: int) -> list[str]:
    """Lines that break between two places, and inside one only where it is longer than a line."""
    lines: list[str] = []
    for part in what.replace("; ", ";\n").split("\n"):
        if lines and len(lines[-1]) + 1 + len(part) <= room:
            lines[-1] += f" {part}"
        else:
            lines += wrap(part, room)
    return lines


# --- one day ---------------------------------------------------------------------------------------


def _row(day: Day, batch: BatchDay, units: UnitSystem) -> Row:
    return Row(
        day=f"{MARKS[day.certainty]} {words.day(day.date)}",
        what=_what(batch, units),
        sun=_sun(batch) if batch.verdict == "out" else "",
        earned=f"{batch.state.ramp_days:.1f}",
        night=_night(batch, day, units),
        certainty=day.certainty,
        is_hold=batch.verdict == "hold",
    )


def _beyond(days: list[tuple[Day, BatchDay]]) -> Row:
    """All days past the forecast: no verdict, only how far settled weather would bring them."""
    first, (last, batch) = days[0][0], days[-1]
    until = "" if first is last else f" until {words.day(last.date)}, in settled weather"
    begins = f"{MARKS['beyond']} {words.day(first.date)}"
    return Row(begins, f"past the forecast{until}", "", f"{batch.state.ramp_days:.1f}", "", "beyond")


def _what(batch: BatchDay, units: UnitSystem) -> str:
    """The day's places; for a hold, what it costs and why."""
    if batch.verdict == "out":
        return _places(batch)
    why = words.reason(batch.reasons[0], units) if batch.reasons else ""
    first = "HOLD" if batch.verdict == "hold" else STAGES.get(batch.stage, "inside")
    return "; ".join(part for part in (first, batch.hold_costs, why) if part)


def _places(batch: BatchDay) -> str:
    """`07:15-18:00 carport; sheltered`: a spot's name may hold a comma."""
    spans = [
        f"{words.clock(place.start)}-{words.clock_until(place.end, place.start.date())} {place.spot}"
        for place in batch.placements
    ]
    return "; ".join([*spans, *(["sheltered"] if batch.way == "sheltered" else [])])


def _sun(batch: BatchDay) -> str:
    """Likely, if clear, limit."""
    likely = "?" if batch.direct_sun_hours_likely is None else words.duration(batch.direct_sun_hours_likely)
    return f"{likely:>5} {words.duration(batch.direct_sun_hours_if_clear):>5} {sun_limit(batch) or '-':>5}"


def _night(batch: BatchDay, day: Day, units: UnitSystem) -> str:
    """`in 46/55`; past day 6 the odds of a low under its limit instead of a verdict."""
    night = batch.night
    if night is None:
        return ""
    if night.air_low_c is None:
        return "in, unsure"
    if day.certainty == "odds":
        return _odds(night)
    air, check = words.temperatures(night.air_low_c, night.check_below_c, units)
    told = decider(night)
    if told == "air":
        return f"{night.verdict} {air[:-2]}/{check[:-2]}"
    if told == "leaf":
        leaf, harm = words.temperatures(night.leaf_low_c, night.harm_below_c, units)
        return f"{night.verdict} leaf {leaf[:-2]}/{harm[:-2]}"
    if night.because == "weather" and any(warning.code == "alert" for warning in batch.warnings):
        return f"{night.verdict}, alert"
    if told == "other":
        return f"{night.verdict} ({words.number_only(night.air_low_c, 'temperature', units)})"
    return f"{night.verdict}, {_odds(night)}"


def _odds(night: NightAnswer) -> str:
    """`40 % cold`; `15 % harm` where it is the leaf that brings them in."""
    if decider(night) in ("leaf", "harm odds"):
        return f"{words.percent(night.odds_harm)} harm"
    return f"{words.percent(night.odds_check)} cold"
