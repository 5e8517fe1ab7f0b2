"""From what was told of a day to its route and totals: where the batch really stood, and the sun it really met."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

import numpy as np

from hardenoff.ramp.logbook import Stay, SunNoted
from hardenoff.ramp.question import Question, Route, route_totals
from hardenoff.ramp.scene import Scene
from hardenoff.ramp.table import INSIDE_AT, DayTable, Sum

STAND_IN = float("-inf")
"""A told route was not chosen and has no score."""


def route_of(question: Question, scene: Scene, day: int, stays: tuple[Stay, ...]) -> Route:
    """The route of a day with these stays, to the nearest quarter hour; inside in between.

    A stay that began before the day or goes on after it is cut at midnight. Stays at unknown spots are left out.
    """
    names, quarters = question.table.names, question.table.quarters
    places, moves = [INSIDE_AT], list[int]()
    for stay in sorted(stays, key=lambda each: each.start):
        if stay.spot not in names:
            continue
        begin = max(_quarter(scene, day, stay.start), moves[-1] if moves else 0)
        end = min(_quarter(scene, day, stay.end), quarters)
        if end <= begin:
            continue
        place = names.index(stay.spot)
        if moves and moves[-1] == begin:
            places[-1] = place
        else:
            places.append(place)
            moves.append(begin)
        if end < quarters:
            places.append(INSIDE_AT)
            moves.append(end)
    if moves and moves[0] == 0:
        places, moves = places[1:], moves[1:]
    return _route(question, tuple(places), tuple(moves))


def fetched_later(question: Question, scene: Scene, day: int, route: Route, until: datetime) -> Route:
    """The same route, with its last stay outside going on until a moment."""
    if INSIDE_AT in route.places[:1] and len(route.places) == 1:
        return route
    end = min(_quarter(scene, day, until), question.table.quarters)
    places, moves = route.places, route.moves
    if places[-1] == INSIDE_AT:
        places, moves = places[:-1], moves[:-1]
    if moves and end <= moves[-1]:
        return route
    if end >= question.table.quarters:
        return _route(question, places, moves)
    return _route(question, (*places, INSIDE_AT), (*moves, end))


def with_sun_noted(table: DayTable, scene: Scene, day: int, route: Route, noted: tuple[SunNoted, ...]) -> Route:
    """The route with the sun that was really seen in place of the likely one, at the spots it was noted for."""
    if not noted:
        return route
    spots = {sun.spot for sun in noted}
    totals = route.totals.copy()
    for place, begin, end in route.stays(table.quarters):
        if table.names[place] not in spots:
            continue
        clear = np.diff(table.totals[Sum.SUN_CLEAR, place, begin : end + 1])
        likely = table.totals[Sum.SUN_LIKELY, place, end] - table.totals[Sum.SUN_LIKELY, place, begin]
        seen = np.zeros(end - begin, dtype=bool)
        for sun in noted:
            if sun.spot == table.names[place]:
                first, last = _quarter(scene, day, sun.start) - begin, _quarter(scene, day, sun.end) - begin
                seen[max(first, 0) : max(last, 0)] = True
        totals[Sum.SUN_LIKELY] += float(clear[seen].sum()) - likely
    return replace(route, totals=totals)


def _quarter(scene: Scene, day: int, moment: datetime) -> int:
    """Quarter hours from the day's begin to a moment, rounded; never negative."""
    return max(0, round(scene.slot_of(moment) - scene.starts[day]))


def _route(question: Question, places: tuple[int, ...], moves: tuple[int, ...]) -> Route:
    return Route(places, moves, STAND_IN, route_totals(question, places, moves))
