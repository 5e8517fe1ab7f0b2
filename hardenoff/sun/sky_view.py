"""How much of the sky a level leaf sees at a spot: for sky light by day and for the loss of heat by night."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime
from functools import lru_cache

import numpy as np

from hardenoff.records import Spot, SunSeen
from hardenoff.sun.rays import Floats, is_in_leaf, share_passing

_RAYS = 46_368
"""A Fibonacci number: the rays then lie evenly in both directions."""

UNKNOWN_SKY = 0.5
"""Least sky view of a spot known only by the times the sun was seen (ours): what was never looked at may be open
sky, and a night must not look safe because of it."""

BEARING_DEG_PER_HOUR = 15.0
"""The sun's bearing turns once round in 24 hours: on average by so much an hour."""


def sky_view(spot: Spot, on: date | None = None) -> float:
    """Sky view factor of a level leaf, 0 to 1: the share of an evenly bright sky's light that reaches it.

    Parameters
    ----------
    spot : Spot
        Trees and shade layers count as partial sky.
    on : date or None
        Decides whether trees are in leaf; None: whichever lets more through.

    Notes
    -----
    Accurate to 0.002. A spot with times seen tells nothing about the sky away from the sun's path: it counts
    as the share of the compass open to the sun (hours seen x 15 deg / 360 deg, the longest date) or 0.5, whichever
    is more, and never as more than its other obstacles leave.

    References
    ----------
    Closed forms that the tests hold it to: see e.g. Howell, *A Catalog of Radiation Heat Transfer Configuration
    Factors* (parallel and perpendicular rectangles from an element).
    """
    in_leaf = tuple(
        tree.leafy > tree.bare if on is None else bool(is_in_leaf(tree, 100 * on.month + on.day))
        for tree in spot.trees
    )
    view = _view(replace(spot, name="", sun_seen=(), shade=1.0), in_leaf)
    if spot.sun_seen:
        view = min(view, max(_share_seen(spot.sun_seen), UNKNOWN_SKY))
    return view * spot.shade


def _share_seen(sun_seen: tuple[SunSeen, ...]) -> float:
    hours: dict[date, float] = {}
    for seen in sun_seen:
        length = datetime.combine(seen.on, seen.end) - datetime.combine(seen.on, seen.start)
        hours[seen.on] = hours.get(seen.on, 0.0) + length.seconds / 3600.0
    return min(max(hours.values()) * BEARING_DEG_PER_HOUR / 360.0, 1.0)


@lru_cache(maxsize=512)
def _view(spot: Spot, in_leaf: tuple[bool, ...]) -> float:
    elevation_deg, azimuth_deg = _dome()
    return float(share_passing(spot, elevation_deg, azimuth_deg, in_leaf).mean())


@lru_cache(maxsize=1)
def _dome() -> tuple[Floats, Floats]:
    """Rays spread evenly over the dome seen by a level leaf: even in bearing and in sin^2 of the elevation."""
    ray = np.arange(_RAYS)
    azimuth_deg = 360.0 * np.mod(ray * (np.sqrt(5.0) - 1.0) / 2.0, 1.0)
    elevation_deg = np.degrees(np.arcsin(np.sqrt((ray + 0.5) / _RAYS)))
    return elevation_deg, azimuth_deg
