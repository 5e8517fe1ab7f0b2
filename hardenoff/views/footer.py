"""What comes under a view: what moved since the last run, how old the forecast is, whose it is, and a caution."""

from __future__ import annotations

from collections.abc import Iterator

from rich.console import RenderableType
from rich.text import Text

from hardenoff.schedule.records import ForecastNote, Schedule
from hardenoff.views import words
from hardenoff.views.terminal import ACT, heading, item, quiet

FROST_CAUTION = "A local frost warning comes before these numbers: where they differ, follow the warning."

STATUS = {
    "fresh": "just fetched",
    "cached": "kept copy, still good",
    "stale": "OLD COPY, the provider did not answer",
    "file": "from a file",
    "none": "no forecast",
}


def changed_lines(schedule: Schedule) -> Iterator[RenderableType]:
    """What moved since the last run, and why; nothing where nothing did."""
    if schedule.changes:
        yield heading("Changed since the last plan")
    for change in schedule.changes:
        yield item("-", f"{words.opening(change.batch)}: {change.what} {change.was} -> {change.now}; {change.why}")


def forecast_lines(schedule: Schedule) -> Iterator[RenderableType]:
    """Age, source and credit; an old copy stands out, in words too."""
    note = schedule.forecast
    yield Text("")
    yield Text(forecast_line(note), style=ACT if note.status in ("stale", "none") else "dim")
    if note.attribution is not None:
        yield quiet(note.attribution)
    for line in note.notes:
        yield quiet(f"Note: {line}")


def forecast_line(note: ForecastNote) -> str:
    """`Forecast: open-meteo, 1.5 h old (kept copy, still good).`"""
    if note.status == "none":
        return "Forecast: none. Keep tender plants inside."
    source = note.provider or "unknown source"
    if note.issued_at is not None:
        source += f", issued {words.day(note.issued_at.date())} {words.clock(note.issued_at)}"
    return f"Forecast: {source}, {words.age(note.age_hours)} ({STATUS[note.status]})."
