"""The rows of the plan: one a day, days past the forecast in one, nothing after plant-out."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby
from textwrap import wrap

from hardenoff.records import UnitSystem
from hardenoff.schedule.records import BatchDay, Certainty, Day, NightAnswer, Schedule
from hardenoff.views import words
from hardenoff.views.answers import sun_limit

MARKS: dict[Certainty, str] = {"forecast": " ", "odds": "~", "beyond": "?"}
STAGES = {"sown": "sown", "planted": "planted out"}
DAY, SUN, EARNED, NIGHT, MOST = 12, 17, 5, 10, 60
"""Widths of the fixed columns; the rest, up to `MOST`, is for the places, or for a hold's reason."""


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


def laid_out(row: Row, width: int) -> str:
    """One row; a text too long for its column goes on below it, and a row without sun has that room as well."""
    room = min(MOST, max(16, width - DAY - SUN - EARNED - NIGHT - 4))
    whole = room + 1 + SUN
    lines = wrap(row.what, room if row.sun else whole) or [""]
    middle = f"{lines[0]:<{room}} {row.sun:>{SUN}}" if row.sun else f"{lines[0]:<{whole}}"
    first = f"{row.day:<{DAY}} {middle} {row.earned:>{EARNED}} {row.night}"
    return "\n".join([first, *(" " * (DAY + 1) + line for line in lines[1:])])


# --- one day ---------------------------------------------------------------------------------------


def _row(day: Day, batch: BatchDay, units: UnitSystem) -> Row:
    return Row(
        day=f"{MARKS[day.certainty]} {words.day(day.date)}",
        what=_what(batch, units),
        sun=_sun(batch) if batch.verdict == "out" else "",
        earned=f"{batch.state.ramp_days:.1f}",
        night="" if batch.night is None else _night(batch.night, day, units),
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
    """The day's places; for a hold, why and what it costs."""
    if batch.verdict == "out":
        return _places(batch)
    why = words.reason(batch.reasons[0], units) if batch.reasons else ""
    first = "HOLD" if batch.verdict == "hold" else STAGES.get(batch.stage, "inside")
    return "; ".join(part for part in (f"{first}: {why}" if why else first, batch.hold_costs) if part)


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


def _night(night: NightAnswer, day: Day, units: UnitSystem) -> str:
    """`in 46/55`; past day 6 the odds of the check limit instead of a verdict."""
    if night.air_low_c is None:
        return "in, unsure"
    if day.certainty == "odds":
        return f"in {words.percent(night.odds_check)}"
    air, check = words.temperatures(night.air_low_c, night.check_below_c, units)
    return f"{night.verdict} {air[:-2]}/{check[:-2]}"
