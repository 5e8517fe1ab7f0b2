"""The forecast as it was read: hour by hour in the place's time, with what was estimated and what is missing."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, tzinfo
from typing import TYPE_CHECKING

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from hardenoff.records import UnitSystem
from hardenoff.schedule.records import ForecastNote
from hardenoff.units import Kind, shown
from hardenoff.views import words
from hardenoff.views.footer import forecast_line
from hardenoff.views.terminal import QUIET, WAIT, columns, drawn, heading, item

if TYPE_CHECKING:
    import pandas as pd

    from hardenoff.forecast.hours import Forecast


@dataclass(frozen=True, slots=True)
class Shown:
    """A column of the table: its heading, its unit, and how a value is written."""

    column: str
    title: str
    unit: Callable[[UnitSystem], str]
    write: Callable[[float, UnitSystem], str]


def _measured(column: str, title: str, kind: Kind) -> Shown:
    return Shown(
        column,
        title,
        lambda units: words.unit_of(kind, units),
        lambda value, units: words.number_only(value, kind, units),
    )


def _as_is(column: str, title: str, unit: str, form: str = ".0f", scale: float = 1.0) -> Shown:
    return Shown(column, title, lambda _: unit, lambda value, _: format(value * scale, form))


def _rain(column: str, title: str) -> Shown:
    """The amount of an hour is a rate of as much per hour."""
    return Shown(
        column,
        title,
        lambda units: words.unit_of("rain", units).removesuffix("/h"),
        lambda value, units: format(shown(value, "rain", units)[0], ".2f" if units == "us" else ".1f"),
    )


SHOWN = (
    _measured("air_temperature_c", "air", "temperature"),
    _measured("air_temperature_min_c", "low", "temperature"),
    _measured("dew_point_c", "dew", "temperature"),
    _measured("wind_speed_m_s", "wind", "speed"),
    _measured("wind_gust_m_s", "gust", "speed"),
    _as_is("wind_from_deg", "from", "deg"),
    _as_is("cloud_cover_frac", "cloud", "%", scale=100),
    _rain("precipitation_mm", "rain"),
    _as_is("precipitation_probability_frac", "odds", "%", scale=100),
    _as_is("ghi_w_m2", "level", "W/m²"),
    _as_is("dni_w_m2", "beam", "W/m²"),
    _as_is("dhi_w_m2", "sky", "W/m²"),
)
KEY = (
    "An hour begins at its time. low: least within the hour; gust: at 10 m; radiation: level (sun and sky), beam "
    "(sun alone, facing it), sky (sky alone); * worked out by us from other columns; ? missing."
)


def render(
    forecast: Forecast,
    note: ForecastNote,
    zone: tzinfo,
    units: UnitSystem,
    days: int | None = None,
    width: int = 80,
    colour: bool = False,
    first: date | None = None,
) -> str:
    """So many local dates (None: all) as text, from the `first` on (None: from the first there is)."""
    hours = forecast.hours.tz_convert(zone)
    by_date = _by_date(hours)
    dates = [on for on in by_date if first is None or on >= first]
    printed = dates[:days]
    parts: list[RenderableType] = [Text(forecast_line(note)), *_origin(forecast), *_missing(forecast)]
    for on in printed:
        parts += [heading(words.long_day(on)), _table(by_date[on], forecast.origin.estimated, units)]
    more, before = len(dates) - len(printed), len(by_date) - len(dates)
    if more:
        parts.append(Text(f"\n{_days(more, 'more ')}: hardenoff forecast --days {len(dates)}"))
    if before:
        parts.append(Text(f"{'' if more else chr(10)}{_days(before)} before today: hardenoff forecast --past"))
    parts.append(Text(f"\n{KEY}", style=QUIET))
    return drawn(parts, width=width, colour=colour)


def _days(count: int, kind: str = "") -> str:
    return f"{count} {kind}day{'' if count == 1 else 's'}"


def _origin(forecast: Forecast) -> Iterator[RenderableType]:
    origin = forecast.origin
    if origin.latitude is not None and origin.longitude is not None:
        height = "" if origin.elevation_m is None else f", {origin.elevation_m:.0f} m"
        yield Text(f"Grid point {origin.latitude:.3f}, {origin.longitude:.3f}{height}.")
    yield Text(origin.attribution, style=QUIET)
    if origin.estimated:
        yield Text(f"Worked out by us: {words.names([_meaning(column) for column in origin.estimated])}.")
    yield from (item("-", line) for line in origin.notes)


def _missing(forecast: Forecast) -> Iterator[RenderableType]:
    """Columns with holes, and how large the holes are."""
    hours = forecast.hours
    for column, count in hours.isna().sum().items():
        if count:
            share = "all hours" if count == len(hours) else f"{count} of {len(hours)} hours"
            yield item("?", Text(f"{_meaning(str(column))}: {share} missing", style=WAIT))


def _meaning(column: str) -> str:
    """What a column holds, with the heading it has in the table."""
    from hardenoff.forecast.hours import COLUMNS  # with it comes pandas

    meaning = next(each.meaning for each in COLUMNS if each.name == column)
    title = next((each.title for each in SHOWN if each.column == column), None)
    return meaning if title is None or title in meaning.replace(",", "").split() else f"{title} ({meaning})"


def _by_date(hours: pd.DataFrame) -> dict[date, pd.DataFrame]:
    """The hours of each local date; the index is in the place's time."""
    dates = [at.date() for at in hours.index]
    return {on: hours[[date == on for date in dates]] for on in dict.fromkeys(dates)}


def _table(rows: pd.DataFrame, estimated: tuple[str, ...], units: UnitSystem) -> Table:
    titles = [f"{each.title}{'*' if each.column in estimated else ''}\n{each.unit(units)}" for each in SHOWN]
    table = columns("time", *titles, right=range(1, len(titles) + 1))
    for at, row in zip(rows.index, rows[[each.column for each in SHOWN]].itertuples(index=False), strict=True):
        table.add_row(
            words.clock(at), *(_cell(value, each, units) for value, each in zip(row, SHOWN, strict=True))
        )
    return table


def _cell(value: float, column: Shown, units: UnitSystem) -> str:
    missing = value != value  # NaN alone differs from itself
    return "?" if missing else column.write(value, units)
