"""Time zones: is the name in the IANA list, and which one was meant."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError, available_timezones

from hardenoff.garden.values import closest

_MACHINE = ("localtime", "posixrules", "Factory")
"""Files beside the zones that stand for the machine's own zone, or for none."""


def is_zone(name: str) -> bool:
    """Is it a zone of the IANA list?"""
    if name in _MACHINE:
        return False
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):  # not there, no clean path, a folder such as "America"
        return False
    return True


def closest_zone(name: str) -> str | None:
    """The zone that may have been meant: "New York" -> "America/New_York", "Europe/Berln" -> "Europe/Berlin"."""
    if name in _MACHINE:
        return None
    zones = sorted(available_timezones() - set(_MACHINE))
    plain = name.strip().replace(" ", "_")
    cities = {zone.rsplit("/", 1)[-1]: zone for zone in zones if "/" in zone}
    city = plain.rsplit("/", 1)[-1]
    exact = next((zone for known, zone in cities.items() if known.casefold() == city.casefold()), None)
    if exact:
        return exact
    whole = closest(plain, zones)
    if whole:
        return whole
    near = closest(city, cities)
    return cities[near] if near else None


def hours_from_sun(name: str, longitude: float) -> float:
    """How far the zone's winter clock is from the sun's own time at a longitude, -12 to 12. [h]"""
    offsets = [datetime(2027, month, 1, tzinfo=ZoneInfo(name)).utcoffset() for month in (1, 7)]
    standard = min(offset.total_seconds() / 3600 for offset in offsets if offset is not None)
    return (standard - longitude / 15 + 12) % 24 - 12
