"""The journal as people read it: a line an entry, by the date it speaks of, and the lines that can't be read."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import groupby
from zoneinfo import ZoneInfo

from rich.console import RenderableType
from rich.text import Text

from hardenoff.journal.entries import Complaint, Entry, Fate
from hardenoff.records import Garden, UnitSystem
from hardenoff.units import from_si, to_si
from hardenoff.views import words
from hardenoff.views.terminal import ACT, HEADING, QUIET, drawn, item, quiet

OF_THE_GARDEN = ("low", "sun", "note", "undo")
"""Kinds that speak of no batch."""


@dataclass(frozen=True, slots=True)
class Listing:
    """Entries with what became of them (None: they count), and lines of the file that are no good as they are."""

    file: str
    timezone: str
    units: UnitSystem
    entries: Sequence[tuple[Entry, Fate | None]]
    complaints: Sequence[Complaint]
    overruled: AbstractSet[str] = frozenset()
    """Ids of lows that count no more, since a later one was told of the same spot and morning."""


def render(listing: Listing, width: int = 80, colour: bool = False) -> str:
    """The entries by the date they speak of; within a date in the journal's order."""
    title = Text("What was really done", style=HEADING)
    return drawn([title, *_days(listing), *_complaints(listing), *_footer(listing)], width=width, colour=colour)


def _days(listing: Listing) -> Iterator[RenderableType]:
    for on, entries in groupby(sorted(listing.entries, key=lambda pair: pair[0].on), key=lambda pair: pair[0].on):
        yield Text(f"\n{words.long_day(on)}")
        for entry, fate in entries:
            text = sentence(entry, listing.timezone, listing.units)
            if fate is not None:
                text = f"{fate.how} by {fate.by}: {text}"
            elif entry.id in listing.overruled:
                text = f"{text} (a later one counts)"
            counts = fate is None and entry.id not in listing.overruled
            yield item(entry.id, Text(text, style="" if counts else QUIET))


def _complaints(listing: Listing) -> Iterator[RenderableType]:
    if listing.complaints:
        yield Text(f"\nNot as it should be in {listing.file}", style=ACT)
    for complaint in listing.complaints:
        yield item(f"line {complaint.line}:", complaint.what)


def _footer(listing: Listing) -> Iterator[RenderableType]:
    if listing.entries:
        yield quiet("\nTake one back: hardenoff log --undo ID. Say it anew: hardenoff log --fix ID ...")
    else:
        yield Text("Nothing is recorded here. If all went as planned today: hardenoff log done")


# --- what becomes of it ----------------------------------------------------------------------------


def use(entry: Entry, garden: Garden) -> Iterator[str]:
    """Lines for the answer: what an entry is for that changes less, or more, than one may expect."""
    if entry.kind == "damage":
        yield "its step is not passed by that day: it is repeated"
    if entry.kind == "sun" and entry.spot is not None and entry.start is not None and entry.end is not None:
        zone = garden.place.tz
        start, end = (words.clock(at.astimezone(zone)) for at in (entry.start, entry.end))
        seen = f'{{ date = {entry.on}, from = "{start}", until = "{end}" }}'
        has_some = any(spot.name == entry.spot and spot.sun_seen for spot in garden.spots)
        line = f"add to its sun_seen: {seen}" if has_some else f"add: sun_seen = [ {seen} ]"
        yield "it counts for that day's sun of what stood there; the spot itself stays as described"
        yield f'to describe the spot by it, in garden.toml under "{entry.spot}" {line}'


# --- one entry in words ----------------------------------------------------------------------------


def sentence(entry: Entry, timezone: str, units: UnitSystem) -> str:
    """What was told, without its date: `peppers: out at carport, 07:15 to 18:00`."""
    whose = "" if entry.kind in OF_THE_GARDEN else f"{entry.batch or 'all batches'}: "
    carried = "" if entry.minutes is None else f" ({entry.minutes} min of carrying)"
    return f"{whose}{_told(entry, ZoneInfo(timezone), units)}{carried}"


def _told(entry: Entry, zone: ZoneInfo, units: UnitSystem) -> str:
    at = "" if entry.spot is None else f" at {entry.spot}"
    start, end = _clock(entry.start, entry.on, zone), _clock(entry.end, entry.on, zone)
    match entry.kind:
        case "done":
            return "as planned"
        case "out":
            return f"out{at}, {start} to {end}"
        case "in":
            return "inside all day"
        case "longer":
            return f"out longer, until {end}"
        case "damage":
            what = "damage" if entry.damage_kind == "other" else f"damage by {entry.damage_kind}"
            return f"{what}{at}: {entry.text}" if entry.text else f"{what}{at}"
        case "watered":
            return "watered"
        case "low":
            forecast = entry.forecast_low_c
            beside = "" if forecast is None else f", forecast {words.temperature(forecast, units)}"
            return f"morning low{at}: {low(entry.low_c, units)}{beside}"
        case "sun":
            return f"sun seen{at}, {start} to {end}"
        case "planted":
            return f"planted out{at}"
        case "finished":
            return "finished: in for good, or given away"
        case "note":
            return f"note: {entry.text}"
        case "undo":
            return f"takes back {entry.corrects}"


def _clock(at: datetime | None, on: date, zone: ZoneInfo) -> str:
    """`07:15`; with its date, if it is not the date the entry speaks of."""
    if at is None:
        return words.UNKNOWN
    local = at.astimezone(zone)
    if local.date() - on <= timedelta(days=1) and words.clock_until(local, on) == "24:00":
        return "24:00"
    return words.clock(local) if local.date() == on else f"{words.day(local.date())} {words.clock(local)}"


def low(celsius: float | None, units: UnitSystem) -> str:
    """A measured temperature as it was typed. The record in C has one decimal more than that."""
    if celsius is None:
        return words.UNKNOWN
    if units == "metric":
        return words.temperature(celsius, units, 2)
    for decimals in range(3):
        shown = round(from_si(celsius, "temperature", "F"), decimals)
        if round(to_si(shown, "temperature", "F"), decimals + 1) == celsius:
            break
    return words.temperature(celsius, units, decimals)
