"""The day's choice: which spots from when until when.

A day is a route: places in order, with a move between each two of them at a quarter hour when the carer is
there. Totals of a route are a sum over its moves, so all times of all routes are scored as arrays. Short routes
are searched in full; long ones on a coarse grid first, then quarter hour by quarter hour around the best.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations, pairwise, product
from math import comb

import numpy as np
from numpy.typing import NDArray

from hardenoff.ramp.credit import (
    CATCH_UP,
    FULLNESS_WORTH,
    MOVE_COST,
    TOLERANCE,
    Asked,
    excess,
    night_worth,
    score,
    tie_break,
)
from hardenoff.ramp.scene import Floats
from hardenoff.ramp.table import INSIDE_AT, DayTable, Sum

Ints = NDArray[np.int64]

FULL_SEARCH_MOST = 40_000
"""Routes x times up to which three and more moves are searched in full; up to two always are."""
COARSE_STEP = 4
"""Quarter hours between the times of the coarse search."""
REFINE_ROUTES, REFINE_REACH = 16, 3
"""How many of the coarse search's best are refined, and by how many quarter hours to each side."""
COARSE_PENALTY = 3.0
"""Score lost per share of a limit that a coarse route breaks: near misses may be refined into a fit."""


@dataclass(frozen=True, slots=True)
class Route:
    """Places in order and the quarter hours of the moves between them."""

    places: tuple[int, ...]
    moves: tuple[int, ...]
    score: float
    totals: Floats

    def stays(self, quarters: int) -> tuple[tuple[int, int, int], ...]:
        """(place, first quarter, end quarter) of every stay of positive length."""
        edges = (0, *self.moves, quarters)
        return tuple(
            (place, begin, end)
            for place, begin, end in zip(self.places, edges, edges[1:], strict=False)
            if end > begin
        )

    @property
    def night_out(self) -> bool:
        """Whether it stays outside at the day's end."""
        return self.places[-1] != INSIDE_AT


@dataclass(frozen=True, slots=True)
class Question:
    """All that a day's choice depends on."""

    table: DayTable
    asked: Asked
    start_at: int
    """Place at 00:00."""
    times: tuple[int, ...]
    """Quarter hours at which the carer can move this batch, ascending."""
    moves_most: int
    night_places: tuple[int, ...]
    """Outdoor places where it may stay the night."""


def choose(question: Question) -> Route | None:
    """The best allowed route that goes out, or None if there is none (apart from staying where it is inside)."""
    totals = _freed(question)
    best: list[Route] = []
    for moves in range(question.moves_most + 1):
        routes = tuple(_routes(question, moves))
        if not routes or len(question.times) < moves:
            continue
        if best and max(route.score for route in best) >= _ceiling(question, moves) - TOLERANCE:
            break
        best += _search(question, totals, routes, moves)
    return max(best, key=lambda route: _rank(route, question.asked), default=None)


def _ceiling(question: Question, moves: int) -> float:
    """More than this no route with so many moves can be worth."""
    asked = question.asked
    sun = CATCH_UP if asked.limits.lagging else 1.0
    night = night_worth(asked) if question.night_places else 0.0
    light = 1.0 if asked.light_needed else 0.0
    return 1.0 + sun + night + light + 3.0 * FULLNESS_WORTH - MOVE_COST * moves


def staying_inside(question: Question) -> Route:
    """The route that stays inside, or comes in at the first move; its totals tell what that means for light."""
    if question.start_at == INSIDE_AT:
        places, times = (INSIDE_AT,), ()
    else:
        places, times = (question.start_at, INSIDE_AT), question.times[:1]
    if len(times) < len(places) - 1:
        places = places[:1]
    table = _Sums.of(_freed(question), question.table, places)
    sums = table.at(np.array(times, dtype=np.int64).reshape(-1, 1))
    return Route(places, tuple(times), float("-inf"), sums[:, 0])


def _rank(route: Route, asked: Asked) -> tuple[float, float, float]:
    """Score first (equal to a millionth), then the tie-break, then the earlier start."""
    tie = float(tie_break(route.totals[:, None], asked)[0])
    return (round(route.score, 6), round(tie, 6), -float(route.moves[0] if route.moves else 0))


def _freed(question: Question) -> Floats:
    """Totals where the forced stay from midnight to the first move is not barred: it was last night's choice."""
    totals = question.table.totals
    if question.start_at == INSIDE_AT:
        return totals
    first = question.times[0] if question.times else question.table.quarters
    totals = totals.copy()
    carried = question.table.barred_carried[question.start_at]
    totals[Sum.BARRED, question.start_at] = np.maximum(carried - carried[first], 0.0)
    return totals


def _routes(question: Question, moves: int) -> Iterator[tuple[int, ...]]:
    """All orders of places with that many moves that begin right, end right and go out at all."""
    places = range(len(question.table.names))
    ends = (INSIDE_AT, *question.night_places)
    for middle in product(places, repeat=max(moves - 1, 0)):
        for end in ends if moves else (question.start_at,):
            route = (question.start_at, *middle, end) if moves else (end,)
            if moves == 0 and end != INSIDE_AT and end not in question.night_places:
                continue
            changes = all(a != b for a, b in pairwise(route))
            if changes and any(place != INSIDE_AT for place in route):
                yield route


@dataclass(frozen=True, slots=True)
class _Sums:
    """Totals of one route as constant + one column a move: `base[sum] + sum of steps[move][sum, quarter]`."""

    base: Floats
    steps: tuple[Floats, ...]

    @classmethod
    def of(cls, totals: Floats, table: DayTable, places: tuple[int, ...]) -> _Sums:
        last = totals[:, places[-1]]
        if places[-1] != INSIDE_AT:
            last = last.copy()
            overnight = table.barred_overnight[places[-1]]
            last[Sum.BARRED] = overnight if len(places) > 1 else _never_moved(totals, table, places[0])
        ends = [totals[:, place] for place in places[:-1]] + [last]
        steps = tuple(before - after for before, after in pairwise(ends))
        return cls(base=last[:, -1], steps=steps)

    def at(self, times: Ints) -> Floats:
        """Totals `[sum, n]` for move times `[move, n]`."""
        result = np.repeat(self.base[:, None], times.shape[1], axis=1)
        for step, when in zip(self.steps, times, strict=True):
            result += step[:, when]
        return result


def _never_moved(totals: Floats, table: DayTable, place: int) -> Floats:
    """BARRED of a batch that stays where the night left it: the morning forgiven, the evening by the night."""
    after_dusk = table.barred_overnight[place] - table.barred_overnight[place, table.dusk]
    return np.where(
        np.arange(table.quarters + 1) <= table.dusk,
        totals[Sum.BARRED, place],
        totals[Sum.BARRED, place, table.dusk] + after_dusk,
    )


def _search(question: Question, totals: Floats, routes: tuple[tuple[int, ...], ...], moves: int) -> list[Route]:
    times = np.array(question.times, dtype=np.int64)
    if moves <= 2 or comb(len(times), moves) * len(routes) <= FULL_SEARCH_MOST:
        picks = times[_combinations(len(times), moves)]
        found = [_best(question, totals, places, picks) for places in routes]
        return [route for route in found if route is not None]
    coarse = _coarse(times)
    picks = coarse[_combinations(len(coarse), moves)]
    ranked: list[tuple[float, tuple[int, ...], Ints]] = []
    for places in routes:
        sums = _Sums.of(totals, question.table, places).at(picks)
        worth = score(sums, question.asked, moves, places[-1] != INSIDE_AT)
        worth -= COARSE_PENALTY * excess(sums, question.asked)
        for index in np.argsort(-worth, kind="stable")[:2]:
            ranked.append((float(worth[index]), places, picks[:, index]))
    ranked.sort(key=lambda entry: -entry[0])
    found = [_best(question, totals, places, _around(times, pick)) for _, places, pick in ranked[:REFINE_ROUTES]]
    return [route for route in found if route is not None]


def _coarse(times: Ints) -> Ints:
    """Every hour of each stretch of times, with its first and last."""
    stretches = np.split(times, np.flatnonzero(np.diff(times) > 1) + 1)
    kept = [np.union1d(stretch[::COARSE_STEP], stretch[-1:]) for stretch in stretches]
    return np.concatenate(kept)


def _around(times: Ints, pick: Ints) -> Ints:
    """All ascending times within reach of `pick`, `[move, n]`."""
    near = [times[np.abs(times - when) <= REFINE_REACH] for when in pick]
    grid = np.array(np.meshgrid(*near, indexing="ij")).reshape(len(pick), -1)
    return grid[:, (np.diff(grid, axis=0) > 0).all(axis=0)]


@lru_cache(maxsize=256)
def _combinations(count: int, moves: int) -> Ints:
    """Ascending index tuples `[move, n]`."""
    flat = np.fromiter((index for pick in combinations(range(count), moves) for index in pick), dtype=np.int64)
    return flat.reshape(-1, moves).T if moves else np.zeros((0, 1), dtype=np.int64)


def _best(question: Question, totals: Floats, places: tuple[int, ...], picks: Ints) -> Route | None:
    """The best allowed times of one route."""
    if picks.shape[1] == 0:
        return None
    asked = question.asked
    sums = _Sums.of(totals, question.table, places).at(picks)
    worth = score(sums, asked, len(places) - 1, places[-1] != INSIDE_AT)
    worth[excess(sums, asked) > TOLERANCE] = -np.inf
    worth[sums[Sum.HOURS] <= 0.0] = -np.inf
    top = worth.max()
    if not np.isfinite(top):
        return None
    equal = np.flatnonzero(worth >= top - 1e-6)
    tie = tie_break(sums[:, equal], asked)
    index = int(equal[np.flatnonzero(tie >= tie.max() - 1e-6)[0]])
    return Route(places, tuple(int(when) for when in picks[:, index]), float(worth[index]), sums[:, index])
