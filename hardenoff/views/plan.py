"""Every day to plant-out, one row a day for each batch, and what is known of the end."""

from __future__ import annotations

from collections.abc import Iterator

from rich.console import RenderableType
from rich.text import Text

from hardenoff.schedule.records import Finish, Schedule
from hardenoff.views import footer, words
from hardenoff.views.plan_rows import Row, headings, laid_out, room_for_places, rows
from hardenoff.views.terminal import HEADING, QUIET, WAIT, drawn, heading

KEY = (
    "sun, clear, limit: hours of direct sun that are likely, if clear, allowed. ramp: ramp-days so far. "
    "night: the low of the air there/its limit; leaf: of the leaf, where that decides; (12): a low that would do, "
    "but no night out is due, nobody is there or other weather is against it. "
    "~ past day 6; 40 % cold: the chance that the air falls below its limit; 15 % harm: that the leaf does. "
    "? past the forecast, no verdict."
)


def render(schedule: Schedule, width: int = 80, colour: bool = False) -> str:
    """The plan as text `width` columns wide; batches whose days are alike share a table."""
    parts: list[RenderableType] = []
    for batches, days in _alike(schedule):
        parts += [heading(words.opening(words.names(batches))), *_ends(schedule, batches)]
        title = headings(schedule.units)
        room = room_for_places((title, *days), width)
        parts += [Text(laid_out(title, room), style=HEADING)]
        parts += [Text(laid_out(row, room), style=_style(row)) for row in days]
    parts += [*footer.changed_lines(schedule), *footer.forecast_lines(schedule), Text(KEY, style=QUIET)]
    return drawn(parts, width=width, colour=colour).lstrip("\n")


def _alike(schedule: Schedule) -> Iterator[tuple[list[str], tuple[Row, ...]]]:
    """Batches with their rows, merged where every row is the same."""
    together: dict[tuple[Row, ...], list[str]] = {}
    for name in words.unique(batch.batch for day in schedule.days for batch in day.batches):
        together.setdefault(rows(schedule, name), []).append(name)
    yield from ((batches, days) for days, batches in together.items())


def _style(row: Row) -> str:
    return QUIET if row.certainty != "forecast" else WAIT if row.is_hold else ""


def _ends(schedule: Schedule, batches: list[str]) -> Iterator[RenderableType]:
    """When the batches are hardened; said once where it is the same for all."""
    said: dict[str, list[str]] = {}
    for finish in schedule.finishes:
        if finish.batch in batches:
            said.setdefault(_end(finish), []).append(finish.batch)
    for sentence, some in said.items():
        yield Text(sentence if len(said) == 1 else f"{words.opening(words.names(some))}: {sentence}")


def _end(finish: Finish) -> str:
    """`Hardened earliest Sat 15 May, likely Mon 17 May; plant out Tue 18 May.`"""
    dates = {"earliest": finish.earliest, "likely": finish.likely, "latest": finish.latest}
    known = {name: words.day(on) for name, on in dates.items() if on is not None}
    if not known:
        why = "; ".join(reason.text for reason in finish.reasons)
        return f"Never hardened under this rule: {why or 'no reason given'}."
    if len(known) > 1 and len(set(known.values())) == 1:
        parts = [f"Hardened {next(iter(known.values()))}"]
    else:
        parts = [f"Hardened {', '.join(f'{name} {on}' for name, on in known.items())}"]
    parts.append(f"plant out {words.day(finish.plant_out)}" if finish.plant_out else "plant-out not known yet")
    if finish.wait_until is not None:
        parts.append(f"not started yet: a first outing on {words.day(finish.wait_until)} would finish sooner")
    return "; ".join(parts) + "."
