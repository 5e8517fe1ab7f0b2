"""The day's choice: which spots from when until when.

A day is a route: places in order, with a move between each two of them at a quarter hour when the carer is
there. Totals of a route are a sum over its moves, so all times of all routes are scored at once, as arrays
`[sum, route, times]`. Up to two moves are searched in full; longer routes on a coarse grid first, then in ever
smaller steps around the best.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations, pairwise, product
from math import comb

import numpy as np

from hardenoff.ramp.credit import TOLERANCE, Asked, Ints, ceiling, excess, hop_cost, score, tie_break
from hardenoff.ramp.scene import Floats
from hardenoff.ramp.table import INSIDE_AT, DayTable, Sum

FULL_SEARCH_MOST = 20_000
"""Routes x times up to which three and more moves are searched in full."""
COARSE_STEP = 6
"""Quarter hours between the times of the coarse search."""
AT_ONCE = 32
"""Routes scored at once: few enough for their totals to stay in the processor's cache."""
REFINED = 24
"""How many of the coarse search's best times are refined, and how many of its best routes."""
REFINE_STEPS = (2, 1, 1)
"""Quarter hours by which each of a route's times may shift, round after round."""
NEAR_MISS = 3.0
"""Score lost per share of a limit that a coarse route breaks: near misses may be refined into a fit."""


@dataclass(frozen=True, slots=True)
class Route:
    """Places in order and the quarter hours of the moves between them."""

    places: tuple[int, ...]
    moves: tuple[int, ...]
    score: float
    totals: Floats
    """One number for each `Sum`."""

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


@dataclass(frozen=True, slots=True, eq=False)
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

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Question) and self._content == other._content

    def __hash__(self) -> int:
        return hash(self._content)

    @property
    def _content(self) -> tuple[object, ...]:
        table = self.table
        arrays = (table.totals, table.barred_overnight, table.barred_carried)
        told = (self.asked, self.start_at, self.times, self.moves_most, self.night_places, table.dusk)
        return (*told, *(array.tobytes() for array in arrays))


def choose(question: Question) -> Route | None:
    """The best allowed route that goes out, or None if there is none."""
    day = _Day.of(question)
    best: Route | None = None
    for moves in range(question.moves_most + 1):
        if moves > len(question.times):
            break
        if (
            best is not None
            and best.score >= ceiling(question.asked, moves, bool(question.night_places)) - TOLERANCE
        ):
            break
        routes = _routes(question, moves)
        if len(routes):
            best = _better(question.asked, best, _search(day, question, routes))
    return best


def staying_inside(question: Question) -> Route:
    """The route that stays inside, or comes in at the first move there is."""
    comes_in = question.start_at != INSIDE_AT and bool(question.times)
    places = (question.start_at, INSIDE_AT) if comes_in else (question.start_at,)
    times = question.times[: len(places) - 1]
    return Route(places, times, float("-inf"), route_totals(question, places, times))


def route_totals(question: Question, places: tuple[int, ...], moves: tuple[int, ...]) -> Floats:
    """Totals of one route, allowed or not, one number for each `Sum`."""
    when = np.array(moves, dtype=np.int64).reshape(-1, 1, 1)
    return _Day.of(question).totals(np.array([places]), when)[:, 0, 0]


def _better(asked: Asked, one: Route | None, other: Route | None) -> Route | None:
    """The higher score; equal to a millionth, the gentler; then the one with fewer moves."""
    if one is None or other is None:
        return one or other
    return max(one, other, key=lambda route: _rank(route, asked))


def _rank(route: Route, asked: Asked) -> tuple[float, float]:
    return (round(route.score, 6), round(float(tie_break(route.totals, asked)), 6))


def _routes(question: Question, moves: int) -> Ints:
    """All orders of places `[route, place]` with that many moves that begin right, end right and go out at all."""
    ends = (INSIDE_AT, *question.night_places)
    middles = product(_open_places(question), repeat=max(moves - 1, 0))
    found = [
        route
        for middle in middles
        for route in _closed(question.start_at, middle, ends, moves)
        if any(place != INSIDE_AT for place in route) and all(a != b for a, b in pairwise(route))
    ]
    return np.array(found, dtype=np.int64)


def _open_places(question: Question) -> tuple[int, ...]:
    """Places where a stay between two moves can be allowed: all but those that are barred throughout."""
    if len(question.times) < 2:
        return ()
    barred = np.diff(question.table.totals[Sum.BARRED], axis=1)[:, question.times[0] : question.times[-1]]
    return tuple(int(place) for place in np.flatnonzero((barred == 0.0).any(axis=1)))


def _closed(start: int, middle: tuple[int, ...], ends: tuple[int, ...], moves: int) -> Iterator[tuple[int, ...]]:
    if moves == 0:
        if start in ends:
            yield (start,)
        return
    for end in ends:
        yield (start, *middle, end)


# --- totals ----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Day:
    """Running totals of a day `[place, sum, quarter]`, as they hold for a stay that ends, and for the last one."""

    passing: Floats
    lasting: Floats
    never_moved: Floats
    """For a batch that stays where the night left it."""

    @classmethod
    def of(cls, question: Question) -> _Day:
        table, start = question.table, question.start_at
        passing = np.ascontiguousarray(table.totals.transpose(1, 0, 2))
        if start != INSIDE_AT:  # the stay until the first move was last night's choice
            first = question.times[0] if question.times else table.quarters
            carried = table.barred_carried[start]
            passing[start, Sum.BARRED] = np.maximum(carried - carried[first], 0.0)
        lasting = passing.copy()
        lasting[1:, Sum.BARRED] = table.barred_overnight[1:]
        never_moved = passing.copy()
        dusk = passing[:, Sum.BARRED, table.dusk][:, None]
        after_dusk = table.barred_overnight - table.barred_overnight[:, [table.dusk]]
        late = np.arange(table.quarters + 1) > table.dusk
        never_moved[:, Sum.BARRED] = np.where(late, dusk + after_dusk, passing[:, Sum.BARRED])
        return cls(passing, lasting, never_moved)

    def totals(self, places: Ints, times: Ints, sums: int = len(Sum)) -> Floats:
        """Totals `[sum, route, times]` of routes `[route, place]` with moves at `[move, route or 1, times]`.

        `sums`: only so many rows.
        """
        last = self.lasting if places.shape[1] > 1 else self.never_moved
        final = last[places[:, -1], :sums]
        result = np.repeat(final[:, :, -1:], times.shape[2], axis=2)
        for move, when in enumerate(times):
            after = final if move == len(times) - 1 else self.passing[places[:, move + 1], :sums]
            step = self.passing[places[:, move], :sums] - after
            if len(when) == 1:
                result += step[:, :, when[0]]
            else:
                result += np.take_along_axis(
                    step, np.broadcast_to(when[:, None], (*step.shape[:2], when.shape[1])), 2
                )
        return result.transpose(1, 0, 2)


# --- the search ------------------------------------------------------------------------------------


def _search(day: _Day, question: Question, routes: Ints) -> Route | None:
    """The best allowed times of the best of these routes, all with the same number of moves."""
    moves = routes.shape[1] - 1
    times = np.array(question.times, dtype=np.int64)
    if moves <= 2 or comb(len(times), moves) * len(routes) <= FULL_SEARCH_MOST:
        picks = times[_combinations(len(times), moves)][:, None, :]
        return _best(question.asked, day.totals(routes, picks), routes, picks)
    coarse = _coarse(times, moves)
    picks = coarse[_combinations(len(coarse), moves)][:, None, :]
    compared = _compared(question.asked)
    worth = np.concatenate(
        [
            _soft_score(question.asked, day.totals(some, picks, compared), some, picks)
            for some in np.array_split(routes, math.ceil(len(routes) / AT_ONCE))
        ]
    )
    best = _largest(worth.max(axis=1), REFINED)
    of_each = best * worth.shape[1] + worth[best].argmax(axis=1)
    route, pick = np.unravel_index(np.union1d(_largest(worth.ravel(), REFINED), of_each), worth.shape)
    return _refine(day, question, routes[route], picks[:, 0, pick])


def _largest(values: Floats, count: int) -> Ints:
    """Indices of the largest values, in no order."""
    return np.argpartition(values, -min(count, len(values)))[-count:]


def _refine(day: _Day, question: Question, routes: Ints, when: Ints) -> Route | None:
    """Shift the times `[move, route]` of each route, in ever smaller steps; then the best that is allowed."""
    times = np.array(question.times, dtype=np.int64)
    compared = _compared(question.asked)
    for reach in REFINE_STEPS:
        shifts = np.array(list(product((-reach, 0, reach), repeat=len(when)))).T
        tried = when[:, :, None] + shifts[:, None, :]
        usable = np.isin(tried, times).all(axis=0) & (np.diff(tried, axis=0) > 0).all(axis=0)
        tried = np.clip(tried, 0, question.table.quarters)
        found = _soft_score(question.asked, day.totals(routes, tried, compared), routes, tried)
        worth = np.where(usable, found, -np.inf)
        index = worth.argmax(axis=1)
        when = tried[:, np.arange(len(routes)), index]
    chosen = when[:, :, None]
    return _best(question.asked, day.totals(routes, chosen), routes, chosen)


def _compared(asked: Asked) -> int:
    """How many rows of the totals the score looks at."""
    return (Sum.LIGHT_LIKELY if asked.light_needed else Sum.BARRED) + 1


def _soft_score(asked: Asked, totals: Floats, routes: Ints, picks: Ints) -> Floats:
    return _score(asked, totals, routes, picks) - NEAR_MISS * excess(totals, asked)


def _score(asked: Asked, totals: Floats, routes: Ints, picks: Ints) -> Floats:
    night_out = (routes[:, -1] != INSIDE_AT)[:, None]
    worth = score(totals, asked, routes.shape[1] - 1, night_out)
    return worth - hop_cost(picks) if len(picks) > 1 else worth


def _best(asked: Asked, totals: Floats, routes: Ints, picks: Ints) -> Route | None:
    """The best allowed of `[route, times]`; among equals the gentlest, then the first."""
    worth = _score(asked, totals, routes, picks)
    worth[(excess(totals, asked) > TOLERANCE) | (totals[Sum.HOURS] <= 0.0)] = -np.inf
    if worth.size == 0 or not np.isfinite(top := worth.max()):
        return None
    route, pick = np.nonzero(worth >= top - 1e-6)
    tie = tie_break(totals[:, route, pick], asked)
    winner = int(np.flatnonzero(tie >= tie.max() - 1e-6)[0])
    r, p = route[winner], pick[winner]
    moves = tuple(int(when[r if len(when) > 1 else 0, p]) for when in picks)
    return Route(tuple(int(place) for place in routes[r]), moves, float(worth[r, p]), totals[:, r, p])


def _coarse(times: Ints, moves: int) -> Ints:
    """A few times of each stretch, its first and last among them; more of them than moves, where there are."""
    stretches = np.split(times, np.flatnonzero(np.diff(times) > 1) + 1)
    for step in range(COARSE_STEP, 0, -1):
        coarse = np.concatenate([np.union1d(stretch[::step], stretch[-1:]) for stretch in stretches])
        if len(coarse) > moves:
            break
    return coarse


@lru_cache(maxsize=256)
def _combinations(count: int, moves: int) -> Ints:
    """Ascending index tuples `[move, n]`."""
    if moves == 0:
        return np.zeros((0, 1), dtype=np.int64)
    flat = (index for pick in combinations(range(count), moves) for index in pick)
    return np.fromiter(flat, dtype=np.int64).reshape(-1, moves).T
