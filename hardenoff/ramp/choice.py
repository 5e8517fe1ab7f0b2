"""The day's choice: which spots from when until when, for one batch or for many that do not depend on each other.

A small day is searched in full, route by route and time by time; any other by `search`. A day on which nothing is
moved is a route as well.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from functools import lru_cache
from itertools import combinations, pairwise, product
from math import comb

import numpy as np

from hardenoff.ramp.credit import TOLERANCE, Ints, Marks, ceiling, excess, hop_cost, marks_of, score, tie_break
from hardenoff.ramp.question import Lanes, Question, Route, route_totals
from hardenoff.ramp.scene import Floats
from hardenoff.ramp.search import search
from hardenoff.ramp.table import INSIDE_AT, Sum

FULL_SEARCH_MOST = 6_000
"""Routes x times up to which a day is searched in full."""
AT_ONCE = 64
"""Questions searched side by side: few enough for their arrays to stay in the processor's cache."""


def choose(question: Question) -> Route | None:
    """The best allowed route that goes out, or None if there is none."""
    return choose_all([question])[0]


def choose_all(questions: Sequence[Question]) -> list[Route | None]:
    """The best allowed route of each question; what stands beside it makes no difference to any."""
    answers: list[Route | None] = [_unmoved(question) for question in questions]
    alike: dict[tuple[int, int], list[int]] = defaultdict(list)
    for number, question in enumerate(questions):
        if not question.times or question.moves_most < 1 or _is_best_unmoved(question, answers[number]):
            continue
        if _ways(question) <= FULL_SEARCH_MOST:
            answers[number] = _in_full(question, answers[number])
        else:
            alike[question.shape].append(number)
    for numbers in alike.values():
        for first in range(0, len(numbers), AT_ONCE):
            some = numbers[first : first + AT_ONCE]
            so_far = np.array([-np.inf if (route := answers[one]) is None else route.score for one in some])
            for number, found in zip(some, search([questions[one] for one in some], so_far), strict=True):
                if found is not None:
                    route = _route(questions[number], *found)
                    answers[number] = _better(questions[number], answers[number], route)
    return answers


def _unmoved(question: Question) -> Route | None:
    """The route that leaves it outside where the night did, if it may stay there."""
    if question.start_at not in question.night_places:
        return None
    totals = route_totals(question, (question.start_at,), ())
    marks = marks_of(question.asked)
    if excess(totals, marks) > TOLERANCE or totals[Sum.HOURS] <= 0.0:
        return None
    return Route((question.start_at,), (), float(score(totals, marks, 0, np.asarray(True))), totals)


def _is_best_unmoved(question: Question, route: Route | None) -> bool:
    """Whether no move can be worth its cost beside the route that moves nothing."""
    if route is None:
        return False
    return bool(route.score >= ceiling(marks_of(question.asked), 1, np.asarray(True)) - TOLERANCE)


def _route(question: Question, places: tuple[int, ...], moves: tuple[int, ...]) -> Route:
    """Such a route with its totals and its score."""
    totals = route_totals(question, places, moves)
    worth = score(totals, marks_of(question.asked), len(moves), np.asarray(places[-1] != INSIDE_AT))
    return Route(places, moves, float(worth - hop_cost(np.diff(moves))), totals)


def _better(question: Question, one: Route | None, other: Route | None) -> Route | None:
    """The higher score; equal to a millionth, the gentler; then the one with fewer moves."""
    if one is None or other is None:
        return one or other
    marks = marks_of(question.asked)

    def rank(route: Route) -> tuple[float, float]:
        return round(route.score, 6), round(float(tie_break(route.totals, marks)), 6)

    return max(one, other, key=rank)


# --- in full ---------------------------------------------------------------------------------------


def _ways(question: Question) -> int:
    """Routes x times of all numbers of moves, about."""
    others, ends = len(question.table.names) - 1, 1 + len(question.night_places)
    most = range(1, min(question.moves_most, len(question.times)) + 1)
    return sum(comb(len(question.times), moves) * others ** (moves - 1) * ends for moves in most)


def _in_full(question: Question, best: Route | None) -> Route | None:
    """The best of every route at all times, and of a route that is there already."""
    lanes = Lanes.of([question])
    for moves in range(1, min(question.moves_most, len(question.times)) + 1):
        if best is not None:
            most = ceiling(lanes.marks, moves, np.asarray(bool(question.night_places)))
            if best.score >= most - TOLERANCE:
                break
        places = _orders(question, moves)
        if len(places):
            best = _better(question, best, _best_of(question, lanes, places))
    return best


def _orders(question: Question, moves: int) -> Ints:
    """All orders of places `[route, stay]` with that many moves that begin right, end right and go out at all."""
    ends = (INSIDE_AT, *question.night_places)
    everywhere = range(len(question.table.names))
    found = [
        (question.start_at, *middle, end)
        for middle in product(everywhere, repeat=moves - 1)
        for end in ends
        if _is_route((question.start_at, *middle, end))
    ]
    return np.array(found, dtype=np.int64)


def _is_route(places: tuple[int, ...]) -> bool:
    """Whether it goes out, and every move leads elsewhere."""
    return any(place != INSIDE_AT for place in places) and all(a != b for a, b in pairwise(places))


def _best_of(question: Question, lanes: Lanes, places: Ints) -> Route | None:
    """The best allowed of routes `[route, stay]` at all times; among equals the gentlest, then the first."""
    moves = places.shape[1] - 1
    picks = np.array(question.times)[_combinations(len(question.times), moves)]
    best: Route | None = None
    for some in np.array_split(places, min(len(places), 1 + len(places) * len(picks) // 100_000)):
        route = np.repeat(some, len(picks), axis=0)
        when = np.tile(picks, (len(some), 1))
        totals = lanes.totals(route[None], when[None])[:, 0]
        worth = score(totals, lanes.marks, moves, route[:, -1] != INSIDE_AT) - hop_cost(np.diff(when, axis=-1))
        worth[(excess(totals, lanes.marks) > TOLERANCE) | (totals[Sum.HOURS] <= 0.0)] = -np.inf
        if np.isfinite(top := worth.max()):
            best = _better(question, best, _gentlest(lanes.marks, route, when, totals, worth, top))
    return best


def _gentlest(marks: Marks, route: Ints, when: Ints, totals: Floats, worth: Floats, top: float) -> Route:
    """Of routes `[n, stay]` at times `[n, move]` those worth the `top`, and of them the gentlest."""
    equal = np.flatnonzero(worth >= top - 1e-6)
    tie = tie_break(totals[:, equal], marks)
    winner = equal[int(np.flatnonzero(tie >= tie.max() - 1e-6)[0])]
    places, moves = route[winner].tolist(), when[winner].tolist()
    return Route(tuple(places), tuple(moves), float(worth[winner]), totals[:, winner])


@lru_cache(maxsize=256)
def _combinations(count: int, moves: int) -> Ints:
    """Ascending index tuples `[n, move]`."""
    return np.array(list(combinations(range(count), moves)), dtype=np.int64).reshape(-1, moves)
