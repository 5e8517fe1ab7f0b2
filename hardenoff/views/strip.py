"""The day drawn as one strip of hours a batch: where the tray stands, when the sun reaches it, air, gusts."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from math import ceil

from rich.console import RenderableType
from rich.padding import Padding
from rich.text import Text

from hardenoff.records import INSIDE, UnitSystem
from hardenoff.schedule.records import BatchDay, Placement, Schedule, StripHour
from hardenoff.views import words
from hardenoff.views.terminal import GOOD, QUIET, WAIT, heading, item

LABEL = 7
NARROW, WIDE = 3, 4
"""Characters an hour: a third of an hour each, or a quarter where there is room."""
INDOORS = "."

Hours = tuple[StripHour, ...]


def draw(batches: tuple[BatchDay, ...], schedule: Schedule, width: int) -> Iterator[RenderableType]:
    """All strips with their legend; batches that share places and weather share a strip."""
    alike: dict[tuple[Hours, tuple[Placement, ...]], list[str]] = {}
    for batch in batches:
        if batch.strip:
            alike.setdefault((batch.strip, batch.placements), []).append(batch.batch)
    if not alike:
        return
    letters = legend(words.spots_in_order(place.spot for _, places in alike for place in places))
    yield heading("Hour by hour")
    yield from (item(letter, spot) for spot, letter in [*letters.items(), (INSIDE, INDOORS)])
    yield Padding(_units_line(schedule.units), (0, 0, 0, 2))
    for (hours, placements), who in alike.items():
        yield Text(f"\n{words.opening(words.names(who))}")
        yield from _strip(hours, placements, letters, schedule.units, width)


def legend(spots: tuple[str, ...]) -> dict[str, str]:
    """A capital letter for each spot: its first free one, else any free one."""
    free = [chr(code) for code in range(ord("A"), ord("Z") + 1)] + [str(digit) for digit in range(10)]
    letters: dict[str, str] = {}
    for spot in spots:
        wanted = [char for char in spot.upper() if char in free] or free
        letters[spot] = wanted[0] if wanted else "?"
        free = [char for char in free if char != letters[spot]]
    return letters


def _strip(
    hours: Hours, placements: tuple[Placement, ...], letters: dict[str, str], units: UnitSystem, width: int
) -> Iterator[Text]:
    """The rows of one strip, cut into equal pieces where the width can't hold a whole day."""
    cell = WIDE if width >= LABEL + WIDE * len(hours) else NARROW
    most = max(1, (width - LABEL + 1) // cell)
    piece = ceil(len(hours) / ceil(len(hours) / most))
    for start in range(0, len(hours), piece):
        yield from _piece(hours[start : start + piece], placements, letters, units, cell)


def _piece(
    hours: Hours, placements: tuple[Placement, ...], letters: dict[str, str], units: UnitSystem, cell: int
) -> Iterator[Text]:
    yield _row("", [f"{hour.at.hour:02d}" for hour in hours], cell, QUIET)
    yield _row("place", [_stands(hour.at, placements, letters, cell) for hour in hours], cell, GOOD)
    yield _row("sun", [_sun_minutes(hour) for hour in hours], cell, WAIT)
    yield _row("air", [words.number_only(hour.air_c, "temperature", units) for hour in hours], cell)
    yield _row("gust", [words.number_only(hour.gust_m_s, "speed", units) for hour in hours], cell)
    if any(hour.spot != INSIDE for hour in hours):
        yield _row("plant", [_gust_at_plant(hour, units) for hour in hours], cell)


def _units_line(units: UnitSystem) -> str:
    mph, degrees = words.unit_of("speed", units), words.unit_of("temperature", units)
    return f"sun: minutes if clear; air: {degrees}; gust: {mph}, at 10 m and at the plant"


def _row(label: str, cells: list[str], cell: int, style: str = "") -> Text:
    return Text.assemble(
        label.ljust(LABEL), ("".join(text.ljust(cell) for text in cells).rstrip(), style), end="\n"
    )


def _gust_at_plant(hour: StripHour, units: UnitSystem) -> str:
    return "" if hour.spot == INSIDE else words.number_only(hour.gust_at_plant_m_s, "speed", units)


def _sun_minutes(hour: StripHour) -> str:
    """Minutes of direct sun in this hour if clear; empty where none comes."""
    minutes = round(hour.sun_share * 60)
    return str(minutes) if minutes else ""


def _stands(hour: datetime, placements: tuple[Placement, ...], letters: dict[str, str], cell: int) -> str:
    """One letter for each part of the hour: the place at its middle."""
    start = hour.astimezone(UTC)
    middles = (start + timedelta(hours=(part + 0.5) / cell) for part in range(cell))
    return "".join(_letter(middle, placements, letters) for middle in middles)


def _letter(at: datetime, placements: tuple[Placement, ...], letters: dict[str, str]) -> str:
    for place in placements:
        if place.start.astimezone(UTC) <= at < place.end.astimezone(UTC):
            return letters[place.spot]
    return INDOORS
