"""The day drawn hour by hour: the weather once, then a strip a batch with its place, its sun and its wind."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from functools import partial
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
Drawn = tuple[Hours, tuple[Placement, ...]]
Weather = tuple[tuple[datetime, float | None, float | None], ...]


def draw(batches: tuple[BatchDay, ...], schedule: Schedule, width: int) -> Iterator[RenderableType]:
    """The weather once for all, then a strip for each batch; batches that share places and dose share a strip."""
    alike: dict[Weather, dict[Drawn, list[str]]] = {}
    for batch in batches:
        if batch.strip:
            same_air = alike.setdefault(_weather(batch.strip), {})
            same_air.setdefault((batch.strip, batch.placements), []).append(batch.batch)
    if not alike:
        return
    places = [place.spot for strips in alike.values() for _, placements in strips for place in placements]
    letters = legend(words.spots_in_order(places))
    yield heading("Hour by hour")
    yield from (item(letter, spot) for spot, letter in [*letters.items(), (INSIDE, INDOORS)])
    yield Padding(_units_line(schedule.units), (0, 0, 0, 2))
    for strips in alike.values():
        (hours, _), *_ = strips
        yield Text("\nWeather, with gusts at 10 m")
        yield from _in_pieces(hours, width, lambda piece, cell: _weather_rows(piece, schedule.units, cell))
        for (hours, placements), who in strips.items():
            yield Text(f"\n{words.opening(words.names(who))}")
            rows = partial(_batch_rows, placements=placements, letters=letters, units=schedule.units)
            yield from _in_pieces(hours, width, rows)


def _weather(hours: Hours) -> Weather:
    """What of a strip does not depend on the batch."""
    return tuple((hour.at, hour.air_c, hour.gust_m_s) for hour in hours)


def legend(spots: tuple[str, ...]) -> dict[str, str]:
    """A capital letter for each spot: its first free one, else any free one."""
    free = [chr(code) for code in range(ord("A"), ord("Z") + 1)] + [str(digit) for digit in range(10)]
    letters: dict[str, str] = {}
    for spot in spots:
        wanted = [char for char in spot.upper() if char in free] or free
        letters[spot] = wanted[0] if wanted else "?"
        free = [char for char in free if char != letters[spot]]
    return letters


def _in_pieces(hours: Hours, width: int, rows: Callable[[Hours, int], Iterator[Text]]) -> Iterator[Text]:
    """Rows below their hours, cut into equal pieces where the width can't hold a whole day."""
    cell = WIDE if width >= LABEL + WIDE * len(hours) else NARROW
    most = max(1, (width - LABEL + 1) // cell)
    length = ceil(len(hours) / ceil(len(hours) / most))
    for start in range(0, len(hours), length):
        piece = hours[start : start + length]
        yield _row("", [f"{hour.at.hour:02d}" for hour in piece], cell, QUIET)
        yield from rows(piece, cell)


def _weather_rows(hours: Hours, units: UnitSystem, cell: int) -> Iterator[Text]:
    yield _row("air", [words.number_only(hour.air_c, "temperature", units) for hour in hours], cell)
    yield _row("gust", [words.number_only(hour.gust_m_s, "speed", units) for hour in hours], cell)


def _batch_rows(
    hours: Hours, cell: int, *, placements: tuple[Placement, ...], letters: dict[str, str], units: UnitSystem
) -> Iterator[Text]:
    """Where it stands, and only while it is outside the sun and the wind on it."""
    yield _row("place", [_stands(hour.at, placements, letters, cell) for hour in hours], cell, GOOD)
    if any(hour.spot != INSIDE for hour in hours):
        yield _row("sun", [_sun_minutes(hour) for hour in hours], cell, WAIT)
        yield _row("gust", [_gust_at_plant(hour, units) for hour in hours], cell)


def _units_line(units: UnitSystem) -> str:
    mph, degrees = words.unit_of("speed", units), words.unit_of("temperature", units)
    return f"air: {degrees}; gust: {mph}, for a batch at its plants; sun: minutes if clear"


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
