"""Which sources to ask, and in which order."""

from __future__ import annotations

from functools import cache
from importlib import resources

from hardenoff.errors import UsageError
from hardenoff.forecast.reader import MEMBERS_HOST
from hardenoff.forecast.registry import READERS
from hardenoff.records import ForecastSettings, Place

US_AND_TERRITORIES = frozenset({"US", "PR", "VI", "GU", "MP", "AS"})
"""ISO 3166 codes that the US National Weather Service forecasts for."""


def source_order(place: Place, settings: ForecastSettings) -> tuple[str, ...]:
    """Keys of the sources to ask, the most trusted one first.

    The garden file decides; without `sources`, its stand-in servers do (whoever names a server of their own
    does not want the place's coordinates sent elsewhere); else the worldwide one, then the national one.

    Raises
    ------
    UsageError
        The garden file names a source that there is no reader for.
    """
    for key in (wanted := wanted_sources(place, settings)):
        if key not in READERS:
            raise UsageError(
                f"garden file, [forecast]: no source named {key!r}",
                "one of " + ", ".join(sorted(READERS)),
                "mend the name under sources or base_url",
            )
    return wanted


def wanted_sources(place: Place, settings: ForecastSettings) -> tuple[str, ...]:
    """The same keys as they are written, whether there is a reader for them or not."""
    if settings.sources:
        return tuple(dict.fromkeys(settings.sources))
    order = by_place(place)
    stand_ins = [key for key in settings.base_urls if key != MEMBERS_HOST]
    if stand_ins:
        order = tuple(key for key in dict.fromkeys((*order, *stand_ins)) if key in stand_ins)
    return order


def by_place(place: Place) -> tuple[str, ...]:
    """The default order: Open-Meteo everywhere, then the US service in the US and MET Norway elsewhere."""
    return ("open-meteo", "nws" if _country(place.timezone) in US_AND_TERRITORIES else "met-norway")


def _country(timezone: str) -> str | None:
    """Country of a zone by the IANA time zone database; None for UTC, offsets and retired names but `US/...`."""
    return "US" if timezone.startswith("US/") else _countries().get(timezone)


@cache
def _countries() -> dict[str, str]:
    table = (resources.files("tzdata") / "zoneinfo" / "zone.tab").read_text("utf-8")
    rows = (line.split("\t") for line in table.splitlines() if line and not line.startswith("#"))
    return {row[2]: row[0] for row in rows}
