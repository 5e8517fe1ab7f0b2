"""The morning check: the answer first, then what to carry, why, and the day drawn hour by hour."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from itertools import groupby
from operator import attrgetter

from rich.console import RenderableType
from rich.text import Text

from hardenoff.records import UnitSystem
from hardenoff.schedule.records import BatchDay, Move, Schedule
from hardenoff.views import footer, strip, why, words
from hardenoff.views.answers import answer
from hardenoff.views.terminal import GOOD, HEADING, WAIT, drawn, heading, item

AFTER_THE_OUTING = "When the first outing has been, write this into garden.toml under {who}:"
BEFORE_ANY = "On the day of the first outing, write its date into garden.toml under {who}, as in"
VERDICT_STYLE = {"out": GOOD, "hold": WAIT, "in": WAIT, None: WAIT}


def render(schedule: Schedule, width: int = 80, colour: bool = False) -> str:
    """The whole morning check as text `width` columns wide."""
    batches = schedule.days[0].batches
    parts: list[RenderableType] = [
        *_answers(batches, schedule.units),
        *_carries(schedule),
        *footer.changed_lines(schedule),
        *why.draw(batches, schedule.units),
        *strip.draw(batches, schedule, width),
        *footer.forecast_lines(schedule),
        *_cautions(batches),
        *_start_lines(schedule),
    ]
    return drawn(parts, width=width, colour=colour)


def _answers(batches: tuple[BatchDay, ...], units: UnitSystem) -> Iterator[Text]:
    """One line a batch; batches with the same answer share it."""
    alike: dict[str, list[BatchDay]] = {}
    for batch in batches:
        alike.setdefault(answer(batch, units), []).append(batch)
    for sentence, group in alike.items():
        who = words.opening(words.names([batch.batch for batch in group]))
        first, rest = sentence.partition(" ")[::2]
        yield Text.assemble((f"{who}: ", HEADING), (first, VERDICT_STYLE[group[0].verdict]), f" {rest}")


def _carries(schedule: Schedule) -> Iterator[RenderableType]:
    """Carries in the order they are walked, merged over batches."""
    labour = schedule.carrying_minutes if schedule.moves else None
    in_all = "" if labour is None else f" ({words.minutes(labour)} in all)"
    yield heading(f"Carry, {words.day(schedule.date)}{in_all}")
    if not schedule.moves:
        yield Text("  nothing today")
    for at, moves in groupby(schedule.moves, key=attrgetter("at")):
        past = " (before now)" if at < schedule.now else ""
        for number, move in enumerate(moves):
            yield item(words.clock(at) if number == 0 else "     ", f"{_carry(move)}{past}")


def _carry(move: Move) -> str:
    labour = "" if move.minutes is None else f", {words.minutes(move.minutes)}"
    return f"{' + '.join(move.batches)} ({words.trays(move.trays)}{labour}): {move.origin} -> {move.target}"


def _cautions(batches: tuple[BatchDay, ...]) -> Iterator[RenderableType]:
    """Only where a cold or an unknown night makes it apt."""
    nights = [batch.night for batch in batches if batch.night is not None]
    if any(night.verdict in ("cover", "unknown") or night.because == "weather" for night in nights):
        yield Text(footer.FROST_CAUTION, style=WAIT)


def _start_lines(schedule: Schedule) -> Iterator[RenderableType]:
    """The very line for garden.toml, for every batch whose start is not written down."""
    starts: dict[tuple[str, date], list[str]] = {}
    for batch in schedule.days[0].batches:
        if any(warning.code == why.START_NOT_RECORDED for warning in batch.warnings):
            first = _first_outing(schedule, batch.batch)
            when = AFTER_THE_OUTING if first is not None else BEFORE_ANY
            starts.setdefault((when, first or schedule.date), []).append(f'"{batch.batch}"')
    for (when, on), who in starts.items():
        yield Text(f"\n{when.format(who=words.names(who))}")
        yield Text(f"start = {on.isoformat()}", style=HEADING)


def _first_outing(schedule: Schedule, batch: str) -> date | None:
    for day in schedule.days:
        if any(one.batch == batch and one.placements for one in day.batches):
            return day.date
    return None
