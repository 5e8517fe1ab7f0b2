"""Every day to plant-out, one row a day for each batch, and what is known of the end."""

from __future__ import annotations

from collections.abc import Iterator
from textwrap import wrap

from rich.console import RenderableType
from rich.text import Text

from hardenoff.records import UnitSystem
from hardenoff.schedule.records import BatchDay, Day, Finish, NightAnswer, Schedule
from hardenoff.views import footer, words
from hardenoff.views.terminal import HEADING, QUIET, WAIT, drawn, heading, item

MARKS = {"forecast": " ", "odds": "~", "beyond": "?"}
DAY, SUN, EARNED, NIGHT, MOST = 13, 14, 5, 11, 60
"""Widths of the fixed columns; the rest, up to `MOST`, is for the places, or for a hold's reason."""
STAGES = {"sown": "sown", "planted": "planted out"}
KEY = (
    "sun: hours of direct sun, likely-if clear/limit; ramp: ramp-days so far; night: the air there/its limit; "
    "~ past day 6, a likelihood (night: odds of bringing in); ? past the forecast, no verdict"
)


def render(schedule: Schedule, width: int = 80, colour: bool = False) -> str:
    """The plan as text `width` columns wide; batches whose days are alike share a table."""
    parts: list[RenderableType] = []
    for who, rows in _alike(schedule):
        parts += [heading(words.opening(words.names(who))), *_ends(schedule, who)]
        parts += [
            _headings(schedule.units, width),
            *(_row(day, batch, schedule.units, width) for day, batch in rows),
        ]
    parts += [*_changes(schedule), *footer.forecast_lines(schedule), Text(KEY, style=QUIET)]
    return drawn(parts, width=width, colour=colour).lstrip("\n")


Row = tuple[Day, BatchDay]
Cells = tuple[str, str, str, str, str]
"""Day, what, sun, earned, night."""


def _alike(schedule: Schedule) -> Iterator[tuple[list[str], list[Row]]]:
    """Batches with their rows, merged where every printed cell is the same."""
    together: dict[tuple[Cells, ...], tuple[list[str], list[Row]]] = {}
    for name in words.unique(batch.batch for day in schedule.days for batch in day.batches):
        rows = [(day, batch) for day in schedule.days for batch in day.batches if batch.batch == name]
        cells = tuple(_cells(day, batch, schedule.units) for day, batch in rows)
        together.setdefault(cells, ([], rows))[0].append(name)
    yield from together.values()


# --- the end ---------------------------------------------------------------------------------------


def _ends(schedule: Schedule, who: list[str]) -> Iterator[RenderableType]:
    """When the batches are hardened; said once where it is the same for all."""
    said: dict[str, list[str]] = {}
    for finish in schedule.finishes:
        if finish.batch in who:
            said.setdefault(_end(finish, schedule.units), []).append(finish.batch)
    for sentence, some in said.items():
        yield Text(sentence if len(said) == 1 else f"{words.opening(words.names(some))}: {sentence}")


def _end(finish: Finish, units: UnitSystem) -> str:
    dates = {"earliest": finish.earliest, "likely": finish.likely, "latest": finish.latest}
    known = {name: on for name, on in dates.items() if on is not None}
    if not known:
        why = "; ".join(words.reason(reason, units) for reason in finish.reasons)
        return f"Never hardened under this rule: {why or 'no reason given'}."
    parts = [f"Hardened {', '.join(f'{name} {words.day(on)}' for name, on in known.items())}"]
    if len(set(known.values())) == 1 and len(known) == len(dates):
        parts = [f"Hardened {words.day(next(iter(known.values())))}"]
    parts.append(f"plant out {words.day(finish.plant_out)}" if finish.plant_out else "plant-out not known yet")
    if finish.wait_until is not None:
        parts.append(f"not started yet: a first outing on {words.day(finish.wait_until)} would finish sooner")
    return "; ".join(parts) + "."


def _changes(schedule: Schedule) -> Iterator[RenderableType]:
    if not schedule.changes:
        return
    yield heading("Changed since the last plan")
    for change in schedule.changes:
        yield item("-", f"{words.opening(change.batch)}: {change.what} {change.was} -> {change.now}; {change.why}")


# --- the days --------------------------------------------------------------------------------------


def _headings(units: UnitSystem, width: int) -> Text:
    night = f"night {words.unit_of('temperature', units)}"
    return Text(_laid_out(("day", "where and when", "sun", "ramp", night), width), style=HEADING)


def _row(day: Day, batch: BatchDay, units: UnitSystem, width: int) -> Text:
    style = QUIET if day.certainty != "forecast" else WAIT if batch.verdict == "hold" else ""
    return Text(_laid_out(_cells(day, batch, units), width), style=style)


def _laid_out(cells: Cells, width: int) -> str:
    """One row; a text too long for its column goes on below it, and a row without sun has that room as well."""
    day, what, sun, earned, night = cells
    room = min(MOST, max(16, width - DAY - SUN - EARNED - NIGHT - 3))
    lines = wrap(what, room if sun else room + SUN)
    middle = lines[0].ljust(room) + sun.rjust(SUN) if sun else lines[0].ljust(room + SUN)
    first = f"{day:<{DAY}}{middle} {earned:>{EARNED}}  {night}"
    return "\n".join([first, *(" " * DAY + line for line in lines[1:])])


def _cells(day: Day, batch: BatchDay, units: UnitSystem) -> Cells:
    return (
        f"{MARKS[day.certainty]} {words.day(day.date)}",
        _what(day, batch, units),
        _sun(batch) if batch.verdict == "out" else "",
        f"{batch.state.ramp_days:.1f}",
        "" if batch.night is None else _night(batch.night, day, units),
    )


def _what(day: Day, batch: BatchDay, units: UnitSystem) -> str:
    """The day's places; for a hold, why and what it costs."""
    if batch.verdict is None:
        return "past the forecast"
    if batch.verdict == "out":
        return _places(batch)
    why = words.reason(batch.reasons[0], units) if batch.reasons else ""
    first = "HOLD" if batch.verdict == "hold" else STAGES.get(batch.stage, "inside")
    return "; ".join(part for part in (f"{first}: {why}" if why else first, batch.hold_costs) if part)


def _places(batch: BatchDay) -> str:
    """`07:15-18:00 carport, sheltered`."""
    spans = [
        f"{words.clock(place.start)}-{words.clock_until(place.end, place.start.date())} {place.spot}"
        for place in batch.placements
    ]
    return ", ".join([*spans, *(["sheltered"] if batch.way == "sheltered" else [])])


def _sun(batch: BatchDay) -> str:
    """`0:20-0:21/0:25`: likely, if clear, limit."""
    limit = batch.limits.direct_sun_hours
    most = "-" if limit is None else words.duration(limit)
    likely = "?" if batch.direct_sun_hours_likely is None else words.duration(batch.direct_sun_hours_likely)
    return f"{likely}-{words.duration(batch.direct_sun_hours_if_clear)}/{most}"


def _night(night: NightAnswer, day: Day, units: UnitSystem) -> str:
    """`in 46/55`; past day 6 the odds of the check limit instead of a verdict."""
    if night.air_low_c is None:
        return "in, unknown"
    if day.certainty == "odds":
        return f"in {words.percent(night.odds_check)}"
    air, check = words.temperatures(night.air_low_c, night.check_below_c, units)
    return f"{night.verdict} {air[:-2]}/{check[:-2]}"
