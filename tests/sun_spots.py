"""Places, spots and small helpers that the sun's tests share."""

from __future__ import annotations

from datetime import date, time

import numpy as np

from hardenoff.records import Place, Roof, Spot, SunSeen, Tree
from hardenoff.sun.geometry import share
from hardenoff.sun.position import day_span, sky

ENDLESS = 1e9

READING = Place("Reading", 51.45, -0.97, 60.0, "Europe/London")
DENVER = Place("Denver", 39.74, -104.98, 1609.0, "America/Denver")
LINCOLN = Place("Lincoln", -43.64, 172.47, 10.0, "Pacific/Auckland")
PLACES = (
    Place("60 N", 60.0, 10.75, 0.0, "Europe/Oslo"),
    Place("40 N", 40.0, -83.0, 240.0, "America/New_York"),
    Place("equator", 0.0, -78.5, 2800.0, "America/Guayaquil"),
    LINCOLN,
)

CARPORT = Roof(above_m=2.0, front_m=1.5, back_m=0.5, left_m=1.0, right_m=3.0, open_to_deg=180.0, house=False)
OAK = Tree(80.0, 280.0, 0.0, 80.0, leafy=0.17, bare=0.50, leaf_out=(5, 1), leaf_fall=(11, 1))


def degrees(*values: float) -> np.ndarray:
    return np.array(values, dtype=float)


def spot(**parts: object) -> Spot:
    return Spot("test", **parts)  # type: ignore[arg-type]


def canopy(above_m: float, front_m: float, open_to_deg: float) -> Roof:
    """An endless roof in front of a house wall, the plant at the wall."""
    return Roof(above_m, front_m, 0.0, ENDLESS, ENDLESS, open_to_deg)


def seen(on: date, start: str, end: str) -> SunSeen:
    return SunSeen(on, time.fromisoformat(start), time.fromisoformat(end))


def share_by_minute(where: Place, on: date, what: Spot) -> np.ndarray:
    """Share of the beam in each minute of a local date."""
    return share(what, where, sky(where, *day_span(where, on), 1))
