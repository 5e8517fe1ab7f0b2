"""Why the day is as it is: each reason once, with the batches it holds for, its number and its source."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from rich.console import RenderableType
from rich.text import Text

from hardenoff.records import UnitSystem
from hardenoff.schedule.records import BatchDay, BatchNight, Reason
from hardenoff.views import words
from hardenoff.views.terminal import heading, item, quiet

START_NOT_RECORDED = "start_not_recorded"
"""Shown at the end of `today`, with the line to write."""

Line = tuple[str, str]
"""Marker and words."""


class Sources:
    """Sources as numbers, so that a long one is written out once."""

    def __init__(self) -> None:
        self.numbers: dict[str, int] = {}

    def mark(self, source: str | None) -> str:
        """` [2]`, or nothing where a line has no source."""
        return "" if source is None else f" [{self.numbers.setdefault(source, len(self.numbers) + 1)}]"

    def draw(self) -> Iterator[RenderableType]:
        """The list behind the numbers."""
        yield from (item(quiet(f"[{number}]"), quiet(source)) for source, number in self.numbers.items())


def draw(batches: tuple[BatchDay, ...], units: UnitSystem) -> Iterator[RenderableType]:
    """All reasons and warnings of one day."""
    yield heading("Why")
    sources = Sources()
    yield from said_once((batch.batch, line) for batch in batches for line in _lines(batch, units, sources))
    yield from sources.draw()


def draw_reasons(
    batches: tuple[BatchNight, ...], units: UnitSystem, told: tuple[str, ...] = ()
) -> Iterator[RenderableType]:
    """The reasons of one night but for those with a code in `told`; nothing where there are none."""
    sources = Sources()
    left = [(one.batch, reason) for one in batches for reason in one.reasons if reason.code not in told]
    lines = [(batch, ("-", with_source(reason, units, sources))) for batch, reason in left]
    yield from said_once(lines)
    yield from sources.draw()


def said_once(lines: Iterable[tuple[str, Line]]) -> Iterator[RenderableType]:
    """Each line once, under the names of all batches it holds for."""
    holds_for: dict[Line, list[str]] = {}
    for batch, line in lines:
        holds_for.setdefault(line, []).append(batch)
    by_batches: dict[tuple[str, ...], list[Line]] = {}
    for line, who in holds_for.items():
        by_batches.setdefault(words.unique(who), []).append(line)
    for everyone, together in by_batches.items():
        yield Text(f"  {words.opening(words.names(everyone))}")
        yield from (item(marker, text, indent=4) for marker, text in together)


def _lines(batch: BatchDay, units: UnitSystem, sources: Sources) -> Iterator[Line]:
    yield from (("-", with_source(reason, units, sources)) for reason in batch.reasons)
    shown = (warning for warning in batch.warnings if warning.code != START_NOT_RECORDED)
    yield from (("!", with_source(warning, units, sources)) for warning in shown)
    yield "-", _standing(batch, sources)


def with_source(reason: Reason, units: UnitSystem, sources: Sources) -> str:
    """A reason with its number, its limit and the mark of its source."""
    return words.opening(words.reason(reason, units)) + sources.mark(reason.source)


def _standing(batch: BatchDay, sources: Sources) -> str:
    """Where the batch is on its ramp, and by whose rule."""
    state = batch.state
    sure = "" if state.confidence == "known" else ", assumed"
    so_far = f"{state.air:.1f} ramp-days of air, {state.sun:.1f} of sun"
    used_to = f"used to {words.light(state.light_mol)} of light a day{sure}"
    return f"So far {so_far}; {used_to}; rule {batch.rule}{sources.mark(batch.rule_source)}"
