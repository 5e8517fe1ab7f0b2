"""What `check` says: every fault of the garden file, or what was read from it and what would help."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from rich.console import RenderableType
from rich.text import Text

from hardenoff.errors import HardenoffError
from hardenoff.records import Carer, Garden, Span, Spot
from hardenoff.views import words
from hardenoff.views.checked import Advice, Checked
from hardenoff.views.terminal import ACT, GOOD, HEADING, columns, drawn, heading, item


def render(path: str, found: Checked, width: int = 80, colour: bool = False) -> str:
    """Every fault; else the garden as it was understood. Advice comes last either way."""
    parts: list[RenderableType] = []
    if found.garden is None:
        parts += _faults(path, found.faults)
    else:
        parts += _garden(path, found.garden)
    return drawn([*parts, *_advice(found.advice)], width=width, colour=colour)


def _faults(path: str, faults: Sequence[HardenoffError]) -> Iterator[RenderableType]:
    """All faults at once, each in three parts."""
    yield Text(f"{path}: {'1 fault' if len(faults) == 1 else f'{len(faults)} faults'}", style=ACT)
    for fault in faults:
        yield item("\n-", Text(f"\n{fault.what}", style=HEADING))
        yield item("expected:", fault.expected, indent=4)
        yield item("do this: ", fault.fix, indent=4)


def _advice(advice: Sequence[Advice]) -> Iterator[RenderableType]:
    """What is no fault, and would make the answers better."""
    if advice:
        yield heading("Would help")
    for one in advice:
        yield item("-", one.what)
        yield item("why:    ", one.why, indent=4)
        yield item("do this:", one.fix, indent=4)


def _garden(path: str, garden: Garden) -> Iterator[RenderableType]:
    place = garden.place
    height = "elevation not given" if place.elevation_m is None else words.length(place.elevation_m, garden.units)
    yield Text(f"{path}: no faults", style=GOOD)
    yield Text(f"{place.name}: {place.latitude:g}, {place.longitude:g}, {height}, {place.timezone}")
    yield from _carer(garden.carer)
    yield from _spots(garden)
    yield from _batches(garden)


def _carer(carer: Carer) -> Iterator[RenderableType]:
    yield heading("Someone is there to carry")
    week: dict[str, list[str]] = {}
    for number, spans in enumerate(carer.week):
        week.setdefault(_spans(spans), []).append(words.WEEKDAYS[number])
    for times, days in week.items():
        yield Text(f"  {', '.join(days)}: {times}")
    for on, own in sorted(carer.dates.items()):
        yield Text(f"  {words.long_day(on)}: {_spans(own)}")
    for first, last in carer.away:
        yield Text(f"  away {words.long_day(first)} to {words.long_day(last)}, both days and the nights between")


def _spans(spans: tuple[Span, ...]) -> str:
    return ", ".join(f"{_clock(span.start_min)}-{_clock(span.end_min)}" for span in spans) or "nobody"


def _clock(minute: int) -> str:
    return f"{minute // 60:02d}:{minute % 60:02d}"


def _spots(garden: Garden) -> Iterator[RenderableType]:
    yield heading("Spots")
    for spot in garden.spots:
        yield item(f"{spot.name}:", _spot(spot, garden))


def _spot(spot: Spot, garden: Garden) -> str:
    """How a spot was described, in the words of the garden file."""
    given = [
        "a roof" if spot.roof else "",
        f"{len(spot.walls)} wall{'s' * (len(spot.walls) > 1)}" if spot.walls else "",
        "trees" if spot.trees else "",
        "a skyline" if spot.skyline else "",
        f"sun seen on {words.names([words.day(seen.on) for seen in spot.sun_seen])}" if spot.sun_seen else "",
        f"shade that passes {words.percent(spot.shade)}" if spot.shade != 1 else "",
        "sheltered from the wind" if spot.shelter else "",
        f"holds {words.trays(spot.holds)}" if spot.holds is not None else "",
        f"{words.temperature_step(spot.colder_c, garden.units)} colder at night" if spot.colder_c else "",
        f"a cover worth {words.temperature_step(spot.cover_c, garden.units)}" if spot.cover_c is not None else "",
        f"like {spot.like}" if spot.like else "",
    ]
    return ", ".join(part for part in given if part) or "open sky, open to the wind"


def _batches(garden: Garden) -> Iterator[RenderableType]:
    yield heading("Batches")
    table = columns("batch", "crop", "trays", "sown", "rule", "plant out at", right=[2])
    for batch in garden.batches:
        sown = "?" if batch.sown is None else batch.sown.isoformat()
        table.add_row(
            batch.name,
            batch.crop.name,
            str(batch.trays),
            sown,
            batch.rule.key,
            batch.plant_out_at or "most open spot",
        )
    yield item("", table)
