"""The garden file looked over: every fault, and what is missing that would make the answers better."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from hardenoff.errors import GardenError, HardenoffError
from hardenoff.forecast.sources import wanted_sources
from hardenoff.garden.read import Survey, survey
from hardenoff.garden.source import Source
from hardenoff.garden.zones import hours_from_sun
from hardenoff.records import DEFAULT_LAMP, Batch, Garden, Spot

CLOCK_FROM_SUN_H = 4.0
"""No inhabited place's winter clock is further from its sun (ours; western China comes nearest, with 3 h)."""


@dataclass(frozen=True, slots=True)
class Advice:
    """Something that is no fault, and would help: a stable code, what there is, why it matters, what to do."""

    code: str
    what: str
    why: str
    fix: str

    def __str__(self) -> str:
        return f"{self.what}\n  why:      {self.why}\n  do this:  {self.fix}"


@dataclass(frozen=True, slots=True)
class GardenReport:
    """What `check` prints."""

    faults: tuple[HardenoffError, ...]
    advice: tuple[Advice, ...]
    """About what could be read; empty as long as the place can't."""
    garden: Garden | None
    """The whole garden; None if there are faults."""


def check_garden(path: Path, now: datetime | None = None) -> GardenReport:
    """Every fault of a garden file and advice on it. Never raises for what is in the file, or for its absence.

    With an aware `now`, dates of it that lie well ahead are advised on as well.
    """
    try:
        found = survey(path)
    except GardenError as error:
        return GardenReport(error.faults, (), None)
    advice = tuple(_advice(found, now)) if found.garden else ()
    return GardenReport(found.faults, advice, None if found.faults else found.garden)


def _advice(found: Survey, now: datetime | None) -> Iterator[Advice]:
    garden, source = found.garden, found.source
    if garden is None:
        return
    yield from _about_place(garden, source)
    yield from _about_carer(garden, source)
    if not found.faults:  # what has a fault is not yet what was meant
        yield from _about_spots(garden, source)
        yield from _about_batches(garden)
        if now is not None:
            yield from _about_starts(garden, now.astimezone(garden.place.tz).date())
    yield from _about_sources(garden)


def _about_place(garden: Garden, source: Source) -> Iterator[Advice]:
    place = garden.place
    if "elevation" not in source.data["place"]:  # one with a fault is there, and told of already
        yield Advice(
            "no_elevation",
            "the place has no elevation",
            "the clear sun is worked out as at sea level: too weak in the hills",
            'add elevation = "790 ft" (from a map) to [place]',
        )
    apart = hours_from_sun(place.timezone, place.longitude)
    if abs(apart) > CLOCK_FROM_SUN_H:
        yield Advice(
            "zone_far_from_sun",
            f"the clock of {place.timezone} is {abs(apart):.1f} h from the sun at longitude {place.longitude:g}",
            "sun times would be hours off; most often the longitude's sign is wrong (west is negative)",
            "check longitude and timezone in [place]",
        )


def _about_carer(garden: Garden, source: Source) -> Iterator[Advice]:
    if "carer" not in source.data:
        yield Advice(
            "no_carer",
            "there is no [carer]",
            "someone is taken to be there to carry from 07:00 to 21:00 every day",
            'add [carer] with weekdays = ["06:30-07:40", "17:45-21:00"], weekends = ["07:00-21:00"]',
        )
    carer = garden.carer
    spans = [span for day in (*carer.week, *carer.dates.values()) for span in day]
    longest = max((span.end_min - span.start_min for span in spans), default=0)
    for batch in garden.batches:
        needed = carer.minutes(batch.trays)
        if not spans or longest < needed:
            yield Advice(
                "no_time_to_carry",
                f'batch "{batch.name}" takes {needed:g} min to carry; the longest window is {longest} min',
                "it can never be moved",
                "add a longer window to [carer], or more trays to a trip",
            )


def _about_spots(garden: Garden, source: Source) -> Iterator[Advice]:
    if not source.data.get("spot"):
        yield Advice(
            "no_spots",
            "there is no [[spot]]",
            'a sheltered porch without direct sun ("shade") and an open place ("open") are taken instead',
            "describe one spot in shade and the bed: `hardenoff init` shows the four ways to do it",
        )
        return
    spots = garden.spots
    if not any(spot.roof for spot in spots):
        yield Advice(
            "no_roof",
            "no spot has a roof",
            "on days of heavy rain everything stays inside",
            'add a spot with roof = { above = "7 ft", front = "5 ft", ... } if there is a porch or a carport',
        )
    if all(_is_open(spot) for spot in spots):
        yield Advice(
            "no_shade",
            "every spot lies open to the sun",
            "the first days allow no direct sun, so there is nowhere to begin on a clear day",
            'add a spot in shade, or a shade cloth as a spot of its own: like = "...", shade = [0.5]',
        )
    bare = [f'"{spot.name}"' for spot in spots if not spot.shelter and spot.like is None]
    if bare:
        yield Advice(
            "no_shelter",
            f"no shelter is given for {', '.join(bare)}",
            "the full open wind is taken to reach the plants there",
            "add shelter = 0.6 beside a house wall, 0.4 under a porch; leave it out where it is open",
        )
    for spot in spots:
        if spot.like is None and len({seen.on for seen in spot.sun_seen}) == 1:
            yield Advice(
                "one_date_seen",
                f'spot "{spot.name}" knows the sun of one date only, {spot.sun_seen[0].on}',
                "three weeks from it the sun's path has moved, and the times with it",
                "look again some weeks later and add that date to sun_seen",
            )


def _about_batches(garden: Garden) -> Iterator[Advice]:
    """One advice for all batches that it concerns."""
    for wants, code, what, why, fix in _BATCH_ADVICE:
        names = [f'"{batch.name}"' for batch in garden.batches if wants(batch, garden)]
        if names:
            yield Advice(code, f"batch {', '.join(names)}: {what}", why, fix)


def _about_starts(garden: Garden, today: date) -> Iterator[Advice]:
    for batch in garden.batches:
        ahead = (batch.start - today).days if batch.start is not None and batch.state is None else 0
        if ahead > 1:
            yield Advice(
                "start_ahead",
                f'batch "{batch.name}": start = {batch.start} is {ahead} days ahead',
                "no outing is planned before that day",
                "leave it if it is meant; else correct it, or take it out for the first day that will do",
            )


# When it is given, its code, and its three parts.
_BATCH_ADVICE: tuple[tuple[Callable[[Batch, Garden], bool], str, str, str, str], ...] = (
    (
        lambda batch, garden: batch.plant_out_at is None and len(garden.spots) > 1,
        "no_plant_out_at",
        "no plant_out_at",
        "it is hardened for the spot with most open sky",
        'add plant_out_at = "..." with the name of the spot it will be planted at',
    ),
    (
        lambda batch, _: batch.start is None and batch.state is None,
        "no_start",
        "no start",
        "as long as the first outing isn't written down, the plan begins anew each day",
        "add start = DATE on the day of the first outing; `hardenoff today` prints the line",
    ),
    (
        lambda batch, _: batch.sown is None and batch.background != "bought",
        "no_sown",
        "no date of sowing",
        "it is taken to be old enough to go out today",
        'add sown = DATE, or from = "bought"',
    ),
    (
        lambda batch, _: batch.lamp is DEFAULT_LAMP,
        "lamp_assumed",
        f"no lamp, so {DEFAULT_LAMP.ppfd:g} umol/m2/s for {DEFAULT_LAMP.hours:g} h a day are taken",
        "how much sun it can take at first depends on the light it knows",
        "add lamp = { ppfd = ..., hours = ... } from the lamp's leaflet or a light meter",
    ),
    (
        lambda batch, garden: batch.lamp is None and garden.inside.light == "dim" and batch.background == "window",
        "dim_light",
        "it waits in dim light, yet counts as used to a window's light",
        "after long in the dark it takes less sun than that",
        "set light in [inside], or say what it is used to with state = { ... , light_mol = ... }",
    ),
    (
        lambda batch, _: batch.crop.harm_below_tender_c > batch.crop.check_below_tender_c,
        "harm_above_check",
        "harm_below is warmer than check_below",
        "harm_below is the leaf, which is colder than the air of check_below on clear nights",
        "check both values",
    ),
    (
        lambda batch, garden: all(spot.holds is not None and spot.holds < batch.trays for spot in garden.spots),
        "too_many_trays",
        "more trays than any spot holds",
        "it can't go out as one",
        "split it into batches that fit, or correct holds",
    ),
)


def _about_sources(garden: Garden) -> Iterator[Advice]:
    """MET Norway's terms want a contact, also where it is asked by default; the US service where it is named."""
    asking = [name for name in ("met-norway",) if name in wanted_sources(garden.place, garden.forecast)]
    asking += [name for name in ("nws",) if name in garden.forecast.sources]
    if asking and garden.forecast.contact is None:
        yield Advice(
            "no_contact",
            "there is no contact in [forecast]",
            f"{' and '.join(asking)} ask whoever sends requests to say who they are",
            'add contact = "you@example.org" or a web address',
        )


def _is_open(spot: Spot) -> bool:
    return not (spot.roof or spot.walls or spot.trees or spot.skyline or spot.sun_seen) and spot.shade == 1.0
