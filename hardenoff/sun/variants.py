"""The same spot a little moved: the error of a compass and of a tape measure.

A roof's edge is a cliff: ten degrees or a hand's width can be hours of sun.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, datetime, time, timedelta

from hardenoff.records import Roof, Spot, Tree, Wall
from hardenoff.sun.sky_view import BEARING_DEG_PER_HOUR

TURN_DEG = 10.0
"""Error of a hand compass near a house."""

LENGTH_M = 0.2
"""Error of a tape held by one person."""


def variants(spot: Spot) -> tuple[tuple[str, Spot], ...]:
    """The spot turned by 10 degrees either way and with each length 0.2 m longer or shorter, each with its label.

    The turn is one compass error: roof, walls, trees and skyline turn together. Times seen hold no bearing; they
    are shifted by the time the sun takes for 10 degrees. Lengths never fall below 0. An open spot has no variants.
    """
    return (*_turned(spot), *_seen_shifted(spot), *_roof_moved(spot), *_walls_moved(spot))


def _turned(spot: Spot) -> Iterator[tuple[str, Spot]]:
    if not (spot.roof or spot.walls or spot.trees or spot.skyline):
        return
    for word, turn in (("clockwise", TURN_DEG), ("anticlockwise", -TURN_DEG)):
        yield (
            f"turned {TURN_DEG:.0f} degrees {word}",
            replace(
                spot,
                roof=None if spot.roof is None else _turned_roof(spot.roof, turn),
                walls=tuple(_turned_wall(wall, turn) for wall in spot.walls),
                trees=tuple(_turned_tree(tree, turn) for tree in spot.trees),
                skyline=_turned_skyline(spot.skyline, turn),
            ),
        )


def _turned_roof(roof: Roof, turn: float) -> Roof:
    return replace(roof, open_to_deg=(roof.open_to_deg + turn) % 360.0)


def _turned_wall(wall: Wall, turn: float) -> Wall:
    return replace(wall, towards_deg=(wall.towards_deg + turn) % 360.0)


def _turned_tree(tree: Tree, turn: float) -> Tree:
    """Not brought back into 0 to 360, so that a crown all round the compass stays one."""
    return replace(tree, from_deg=tree.from_deg + turn, to_deg=tree.to_deg + turn)


def _turned_skyline(skyline: tuple[tuple[float, float], ...], turn: float) -> tuple[tuple[float, float], ...]:
    """Keeps the order of two heights at one bearing (a step), also where the list begins anew."""
    moved = [(bearing + turn, height) for bearing, height in skyline]
    before = [(bearing + 360.0, height) for bearing, height in moved if bearing < 0.0]
    inside = [(bearing, height) for bearing, height in moved if 0.0 <= bearing < 360.0]
    beyond = [(bearing - 360.0, height) for bearing, height in moved if bearing >= 360.0]
    return (*beyond, *inside, *before)


def _seen_shifted(spot: Spot) -> Iterator[tuple[str, Spot]]:
    if not spot.sun_seen:
        return
    shift = timedelta(hours=TURN_DEG / BEARING_DEG_PER_HOUR)
    for word, by in (("later", shift), ("earlier", -shift)):
        moved = (
            replace(seen, start=_shifted(seen.start, by), end=_shifted(seen.end, by)) for seen in spot.sun_seen
        )
        left = tuple(seen for seen in moved if seen.start != seen.end)
        if left:  # a spot without any time seen would be open to the whole sky
            yield f"sun seen {shift.seconds // 60} minutes {word}", replace(spot, sun_seen=left)


def _shifted(at: time, by: timedelta) -> time:
    """Within the same day."""
    day = date(2000, 1, 1)
    moved = datetime.combine(day, at) + by
    return min(max(moved, datetime.combine(day, time())), datetime.combine(day, time(23, 59))).time()


def _roof_moved(spot: Spot) -> Iterator[tuple[str, Spot]]:
    roof = spot.roof
    if roof is None:
        return
    for by, label, length in _lengths(roof.front_m, ("further out", "nearer")):
        yield f"roof edge {by} {label}", replace(spot, roof=replace(roof, front_m=length))
    for by, label, length in _lengths(roof.above_m, ("higher", "lower")):
        yield f"roof {by} {label}", replace(spot, roof=replace(roof, above_m=length))


def _walls_moved(spot: Spot) -> Iterator[tuple[str, Spot]]:
    for n, wall in enumerate(spot.walls):
        for by, label, length in _lengths(wall.distance_m, ("further off", "nearer")):
            moved = replace(wall, distance_m=length)
            yield (
                f"wall at {wall.towards_deg:g} degrees {by} {label}",
                replace(spot, walls=(*spot.walls[:n], moved, *spot.walls[n + 1 :])),
            )


def _lengths(length: float, words: tuple[str, str]) -> Iterator[tuple[str, str, float]]:
    for word, moved in zip(words, (length + LENGTH_M, max(length - LENGTH_M, 0.0)), strict=True):
        if moved != length:
            yield f"{abs(moved - length):.1f} m", word, moved
