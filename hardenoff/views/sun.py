"""When the sun reaches a spot: the windows of a date, how sure they are, and how they move through the season."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from datetime import date, datetime
from typing import TYPE_CHECKING

from rich.console import RenderableType
from rich.text import Text

from hardenoff.records import UnitSystem
from hardenoff.units import from_si
from hardenoff.views import words
from hardenoff.views.terminal import HEADING, QUIET, WAIT, columns, drawn, item

if TYPE_CHECKING:
    from hardenoff.sun.windows import SunDay, SunWindow

FULL, PART, NONE = "#", "+", "."
IF_CLEAR = "If clear: direct sun stronger than 120 W/m² (the WMO threshold). Cloud takes away, it adds no hours."


def render(
    day: SunDay,
    band: Sequence[tuple[str, float]],
    timezone: str,
    width: int = 80,
    colour: bool = False,
    units: UnitSystem = "metric",
) -> str:
    """One date; `band` holds the hours for each way the spot may have been measured wrongly."""
    parts: list[RenderableType] = [_answer(day), *_windows(day), *_band(day, band, units)]
    parts += [Text(f"\nTimes are of {timezone}. {IF_CLEAR}", style=QUIET)]
    return drawn(parts, width=width, colour=colour)


def render_season(days: Sequence[SunDay], timezone: str, width: int = 80, colour: bool = False) -> str:
    """One row a date, with the day drawn in half hours."""
    first, last = _hours_drawn(days)
    table = columns("date", "hours", _scale(first, last), "windows", right=[1])
    for day in days:
        table.add_row(
            words.day(day.date), words.duration(day.direct_sun_hours), _drawing(day, first, last), _in_words(day)
        )
    title = Text(f"{words.opening(days[0].spot)}: direct sun through the season", style=HEADING)
    key = (
        f"{FULL} sun, {PART} sun through leaves or cloth, which counts in part, {NONE} none, two to the hour. "
        f"Times are of {timezone}."
    )
    parts: list[RenderableType] = [title, table, *_first_warning(days), Text(f"\n{key} {IF_CLEAR}", style=QUIET)]
    return drawn(parts, width=width, colour=colour)


# --- one date --------------------------------------------------------------------------------------


def _answer(day: SunDay) -> Text:
    hours = words.duration(day.direct_sun_hours)
    view = f"it sees {words.percent(day.sky_view_factor)} of the sky"
    name = f"{words.opening(day.spot)}, {words.long_day(day.date)}: "
    return Text.assemble((name, HEADING), f"direct sun {hours}; {view}.")


def _windows(day: SunDay) -> Iterator[RenderableType]:
    if not day.windows:
        yield Text("  The sun does not reach it on this date.")
    for window in day.windows:
        through = "" if window.share == 1 else f", {_in_part(window.share)}"
        yield Text(f"  {_span(window, day.date)}{through}")
    yield from (_warning(warning) for warning in day.warnings)


def _in_part(share: float) -> str:
    """`50 % of the beam passes, so an hour of it counts as 0:30`."""
    return f"{words.percent(share)} of the beam passes, so an hour of it counts as {words.duration(share)}"


def _band(day: SunDay, band: Sequence[tuple[str, float]], units: UnitSystem) -> Iterator[RenderableType]:
    """How the answer moves: a roof's edge is a cliff. The band holds the answer itself as well."""
    if not band:
        return
    hours = [day.direct_sun_hours, *(hours for _, hours in band)]
    yield Text("")
    least, most, now = (words.duration(value) for value in (min(hours), max(hours), day.direct_sun_hours))
    wrongly = f"by 10 degrees or {_short('0.2 m', units)}"
    yield Text(f"If the spot was measured wrongly {wrongly}: {least} to {most} instead of {now}.")
    table = columns("if it is", "direct sun", right=[1])
    for label, moved in band:
        table.add_row(_short(label, units), words.duration(moved))
    yield item("", table)


def _short(label: str, units: UnitSystem) -> str:
    """A label with its short length in the grower's units: `roof edge 8 in nearer`."""
    if units == "metric":
        return label
    return re.sub(r"\b(\d+\.\d) m\b", lambda length: f"{from_si(float(length[1]), 'length', 'in'):.0f} in", label)


def _warning(words_: str) -> RenderableType:
    return item("!", Text(words.opening(words_), style=WAIT))


def _span(window: SunWindow, on: date) -> str:
    return f"{words.clock(window.start)}-{words.clock_until(window.end, on)}"


# --- the season ------------------------------------------------------------------------------------


def _in_words(day: SunDay) -> str:
    """The windows; `!` marks a date with a warning."""
    spans = ", ".join(_span(window, day.date) for window in day.windows) or "none"
    return f"{spans} !" if day.warnings else spans


def _first_warning(days: Sequence[SunDay]) -> Iterator[RenderableType]:
    """One warning stands for its like on other dates."""
    warned = [day for day in days if day.warnings]
    if warned:
        more = f" ({words.day(warned[0].date)}; as is on every date with !)" if len(warned) > 1 else ""
        yield _warning(warned[0].warnings[0] + more)


def _hours_drawn(days: Sequence[SunDay]) -> tuple[int, int]:
    """First and last hour of the clock in which the sun reaches the spot on any of the dates."""
    minutes = [
        minute
        for day in days
        for window in day.windows
        for minute in (_minute(window.start, day.date), _minute(window.end, day.date))
    ]
    return (min(minutes) // 60, -(-max(minutes) // 60)) if minutes else (6, 18)


def _scale(first: int, last: int) -> str:
    """Hours of the clock above the drawing, every third one."""
    return "".join(f"{hour:02d}" if (hour - first) % 3 == 0 else "  " for hour in range(first, last))


def _drawing(day: SunDay, first: int, last: int) -> str:
    """A mark for each half hour, by what holds in its middle."""
    return "".join(_mark(day, half * 30 + 15) for half in range(first * 2, last * 2))


def _mark(day: SunDay, minute: int) -> str:
    for window in day.windows:
        if _minute(window.start, day.date) <= minute < _minute(window.end, day.date):
            return FULL if window.share == 1 else PART
    return NONE


def _minute(at: datetime, on: date) -> int:
    """Minutes of the wall clock since 00:00 of `on`."""
    return (at.date() - on).days * 1440 + at.hour * 60 + at.minute
