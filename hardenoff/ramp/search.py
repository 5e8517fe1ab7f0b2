"""The quick search for the best routes of many days side by side.

It begins with all ways of one move and of two, on a coarse grid of times; makes the times of the best of them
exact; and from there puts in one stay more, or a stay within a stay, as long as more moves can be worth their
while. All of it are array operations over `[sum, lane, route, ...]`; the work grows with the places and the times,
not with the ways to combine them.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations, product

import numpy as np

from hardenoff.ramp.credit import (
    MOVE_COST,
    TOLERANCE,
    Ints,
    excess,
    hop_cost,
    marks_of,
    score,
    tie_break,
)
from hardenoff.ramp.question import Lanes, Question
from hardenoff.ramp.scene import Bools, Floats
from hardenoff.ramp.table import INSIDE_AT, Sum

COARSE, FEW_TIMES = 10, 12
"""Times of a day on the coarse grid; all of them where there are but few."""
ALONE, WHOLE = 5, 40
"""Places in the list of times by which one move may shift alone, and all of them as one."""
KEPT = {1: (2, 1), 2: (4, 2), 3: (9, 4), 4: (3, 2)}
"""Routes of so many moves that are made exact: with near misses, and without."""
GROWN = {1: (2, 1), 2: (3, 1), 3: (2, 1)}
"""Routes of so many moves from which longer ones are grown, likewise."""
NEAR_MISS, MISS = 3.0, 1000.0
"""Score lost per share of a limit that a route breaks: near misses may be refined into a fit, and beside them the
best of those that fit already is kept."""
GENTLE = 1e-5
"""Score of being the gentler, as a share of it: enough to tell equals apart."""
COMPARED = Sum.LIGHT_LIKELY + 1
"""Rows of the totals that the score looks at."""


@dataclass(frozen=True, slots=True)
class Routes:
    """Routes of one number of moves, some for each lane."""

    places: Ints
    """`[lane, route, stay]`."""
    index: Ints
    """`[lane, route, move]`: into the lane's times."""
    score: Floats
    """`[lane, route]`; minus infinity where there is no such route."""
    excess: Floats
    """`[lane, route]`: by how much it breaks the limits."""

    def best(self, count: int, miss: float) -> Routes:
        """So many of every lane, the best first; `miss`: what a limit that is broken costs.

        Equals keep their order, so that none of them is taken because of what other lanes have.
        """
        worth = self.score - miss * self.excess
        worth[_outdone(self.places, worth)] = -np.inf
        return self.of(np.argsort(-worth, axis=1, kind="stable")[:, :count])

    def of(self, which: Ints) -> Routes:
        """Some routes of every lane `[lane, n]`."""
        lane = np.arange(len(which))[:, None]
        return Routes(
            self.places[lane, which], self.index[lane, which], self.score[lane, which], self.excess[lane, which]
        )

    def of_lanes(self, lanes: Ints) -> Routes:
        """The routes of some lanes."""
        return Routes(self.places[lanes], self.index[lanes], self.score[lanes], self.excess[lanes])


def _outdone(places: Ints, worth: Floats) -> Bools:
    """`[lane, route]`: another route of the lane has the same places, and better times or an earlier turn."""
    order = places @ ((int(places.max()) + 1) ** np.arange(places.shape[-1]))
    turn = np.arange(order.shape[1])
    ahead = (worth[:, None, :] > worth[:, :, None]) | (
        (worth[:, None, :] == worth[:, :, None]) & (turn[None, :] < turn[:, None])
    )
    outdone: Bools = ((order[:, None, :] == order[:, :, None]) & ahead).any(axis=2)
    return outdone


def joined(some: Routes, more: Routes) -> Routes:
    """Routes of one number of moves, put together."""
    return Routes(
        np.concatenate([some.places, more.places], axis=1),
        np.concatenate([some.index, more.index], axis=1),
        np.concatenate([some.score, more.score], axis=1),
        np.concatenate([some.excess, more.excess], axis=1),
    )


@dataclass(frozen=True, slots=True)
class Found:
    """Routes at the times that are best where near misses count little, and where they count out."""

    near: Routes
    fits: Routes

    def best(self, kept: tuple[int, int]) -> Routes:
        """So many of every lane of either kind."""
        return joined(self.near.best(kept[0], NEAR_MISS), self.fits.best(kept[1], MISS))

    def and_more(self, more: Found) -> Found:
        """These and others of as many moves."""
        return Found(joined(self.near, more.near), joined(self.fits, more.fits))

    def of_lanes(self, lanes: Ints) -> Found:
        """Those of some lanes."""
        return Found(self.near.of_lanes(lanes), self.fits.of_lanes(lanes))


@dataclass(slots=True)
class Best:
    """The best allowed route of every lane so far."""

    score: Floats
    routes: list[tuple[tuple[int, ...], tuple[int, ...]] | None]

    def offer(self, numbers: Ints, lanes: Lanes, found: Found) -> None:
        """Take what is better, and allowed; `numbers`: which lanes these are."""
        routes, lane = found.fits, np.arange(len(numbers))
        worth = _allowed_worth(lanes, routes)
        which = worth.argmax(axis=1)
        for here, number, route in zip(lane, numbers, which, strict=True):
            if worth[here, route] > self.score[number] + GENTLE / 10.0:
                self.score[number] = worth[here, route]
                moves = lanes.times[here, routes.index[here, route]]
                places = routes.places[here, route]
                self.routes[number] = tuple(places.tolist()), tuple(moves.tolist())


def search(questions: Sequence[Question], so_far: Floats) -> list[tuple[tuple[int, ...], tuple[int, ...]] | None]:
    """Places and moves of the best route with at least one move, for each question; None: none better than so far.

    All of one shape, all with times; `so_far`: the score of the route that is there already, or minus infinity.
    """
    best = Best(so_far.copy(), [None] * len(questions))
    lanes = gentle_lanes(questions)
    numbers = _could_gain(lanes, so_far, 1)
    if not len(numbers):
        return best.routes
    lanes = lanes_of(lanes, numbers)
    grid = Grid.of(lanes)
    grown: dict[int, Found] = {}
    if lanes.ends[:, INSIDE_AT + 1 :].any() or lanes.start.any():  # else one move brings nothing home
        grown[1] = _exact(lanes, _one_move(lanes, grid).best(KEPT[1]))
        best.offer(numbers, lanes, grown[1])
    if grid.size < 2:
        return best.routes
    grown[2] = _exact(lanes, _two_moves(lanes, grid).best(KEPT[2]))
    best.offer(numbers, lanes, grown[2])
    for moves in (3, 4):
        short = _could_gain(lanes, best.score[numbers], moves)
        if not len(short):
            break
        if len(short) < len(numbers):
            numbers, lanes = numbers[short], lanes_of(lanes, short)
            grid, grown = Grid.of(lanes), {count: found.of_lanes(short) for count, found in grown.items()}
        longer = _split(lanes, grid, grown[moves - 1].best(GROWN[moves - 1]))
        if moves - 2 in grown:
            longer = longer.and_more(_inserted(lanes, grid, grown[moves - 2].best(GROWN[moves - 2])))
        grown[moves] = _exact(lanes, longer.best(KEPT[moves]))
        best.offer(numbers, lanes, grown[moves])
    return best.routes


def lanes_of(lanes: Lanes, some: Ints) -> Lanes:
    """Some of the lanes."""
    if len(some) == len(lanes.questions):
        return lanes
    return gentle_lanes([lanes.questions[lane] for lane in some])


def gentle_lanes(questions: Sequence[Question]) -> Lanes:
    """Lanes on whose strain a trifle is laid for light and dark: so the gentler of two equals wins."""
    lanes = Lanes.of(questions, COMPARED)
    count = lanes.count
    strain = lanes.running.reshape(COMPARED, len(questions), 2 * count + 1, -1)[Sum.STRAIN]
    for lane, question in enumerate(questions):
        unease = -tie_break(question.table.totals, marks_of(question.asked)) * GENTLE
        strain[lane, :count] += unease
        strain[lane, count:-1] += unease
        strain[lane, -1] += unease[question.start_at]
    return lanes


def _could_gain(lanes: Lanes, score_so_far: Floats, moves: int) -> Ints:
    """Lanes that may have so many moves, and where they can be worth it."""
    most = _most_worth(lanes) - MOVE_COST * moves
    return np.flatnonzero((lanes.most >= moves) & (lanes.had >= moves) & (score_so_far < most - 10.0 * GENTLE))


def _most_worth(lanes: Lanes) -> Floats:
    """`[lane]`: more than this no outing can be worth, moves aside: always where there is most of everything."""
    rows = lanes.running.reshape(COMPARED, len(lanes.questions), 2 * lanes.count + 1, -1)[:, :, : lanes.count]
    steps = np.diff(rows, axis=-1)
    most = steps.max(axis=2).sum(axis=-1)
    most[[Sum.BARRED, Sum.STRAIN, Sum.SUN_BAND]] = 0.0
    most[Sum.HOURS] = np.minimum(most[Sum.HOURS], lanes.marks.outdoor_h)  # never counted as the sheltered way
    return score(most, lanes.marks, 0, np.any(lanes.ends[:, 1:], axis=1))


@dataclass(frozen=True, slots=True)
class Grid:
    """The coarse times of every lane."""

    index: Ints
    """`[lane, n]`: into the lane's times."""
    times: Ints
    """`[lane, n]`: quarter hours."""
    fresh: Bools
    """`[lane, n]`: False where a lane with few times has one of them twice."""
    running: Floats
    """`[sum, lane, row, n]`: running totals at these times."""
    whole: Floats
    """`[sum, lane, row]`: running totals at the day's end."""

    @property
    def size(self) -> int:
        """How many times it has."""
        return int(self.times.shape[1])

    @classmethod
    def of(cls, lanes: Lanes) -> Grid:
        """Evenly spread over each lane's list of times, its first and last among them; the last one again where
        another lane has more."""
        last = np.where(lanes.had <= FEW_TIMES, lanes.had, COARSE)[:, None] - 1
        step = np.minimum(np.arange(int(last.max()) + 1), last) / np.maximum(last, 1)
        index = np.rint(step * (lanes.had[:, None] - 1)).astype(np.int64)
        number = np.arange(len(lanes.had))[:, None]
        times = lanes.times[number, index]
        row = np.arange(2 * lanes.count + 1)[None, :]
        return cls(
            index=index,
            times=times,
            fresh=np.diff(index, axis=1, prepend=-1) > 0,
            running=lanes.at(number[..., None], row[..., None], times[:, None, :]),
            whole=lanes.at(number, row, lanes.day_end),
        )


# --- the beginning: one move, two moves ------------------------------------------------------------


def _one_move(lanes: Lanes, grid: Grid) -> Found:
    """From the first place to every other, at its best coarse time; none where it may not stay the night."""
    count = lanes.count
    ends = grid.whole[:, :, count:-1, None] - grid.running[:, :, count:-1]
    outside = (np.arange(count) != INSIDE_AT)[:, None]
    worth, over = _worth(lanes, grid.running[:, :, -1:] + ends, 1, 0.0, outside)
    usable = grid.fresh[:, None, :] & (_elsewhere(lanes) & lanes.ends & (lanes.most >= 1)[:, None])[:, :, None]
    lane = np.arange(len(worth))[:, None]

    def routes(best: Ints, worth: Floats, over: Floats) -> Routes:
        place = np.broadcast_to(np.arange(count), best.shape)
        places = np.stack([np.broadcast_to(lanes.start[:, None], best.shape), place], axis=-1)
        return Routes(places, grid.index[lane, best][..., None], worth, over)

    return _at_best_times(routes, worth, over, usable)


def _two_moves(lanes: Lanes, grid: Grid) -> Found:
    """By way of every place to every one where some lane may stay the night, at the best pair of coarse times."""
    count, place = lanes.count, np.arange(lanes.count)
    ends = np.flatnonzero(lanes.ends.any(axis=0))
    early, late = np.triu_indices(grid.size, 1)
    way = grid.running[:, :, :count][..., late] - grid.running[:, :, :count][..., early]
    way += grid.running[:, :, -1:][..., early]
    end = grid.whole[:, :, count + ends, None] - grid.running[:, :, count + ends][..., late]
    hops = hop_cost((grid.times[:, late] - grid.times[:, early])[..., None])[:, None, None]
    worth, over = _worth(lanes, way[:, :, :, None] + end[:, :, None], 2, hops, (ends != INSIDE_AT)[:, None])
    usable = _elsewhere(lanes)[:, :, None] & (place[:, None] != ends) & lanes.ends[:, None, ends]
    usable &= (lanes.most >= 2)[:, None, None]
    fresh = grid.fresh[:, early] & grid.fresh[:, late]
    usable = usable[..., None] & fresh[:, None, None]
    lane = np.arange(len(worth))[:, None]
    places = np.stack([np.repeat(place, len(ends)), np.tile(ends, count)], axis=-1)

    def routes(best: Ints, worth: Floats, over: Floats) -> Routes:
        best = best.reshape(len(best), -1)
        start = np.broadcast_to(lanes.start[:, None, None], (*best.shape, 1))
        return Routes(
            places=np.concatenate([start, np.broadcast_to(places, (*best.shape, 2))], axis=-1),
            index=np.stack([grid.index[lane, early[best]], grid.index[lane, late[best]]], axis=-1),
            score=worth.reshape(best.shape),
            excess=over.reshape(best.shape),
        )

    return _at_best_times(routes, worth, over, usable)


def _at_best_times(
    routes: Callable[[Ints, Floats, Floats], Routes], score_of: Floats, excess_of: Floats, usable: Bools
) -> Found:
    """Every way at its best time along the last axis, for either kind."""
    near, fits = (_best_along(score_of, excess_of, usable, miss) for miss in (NEAR_MISS, MISS))
    return Found(routes(*near), routes(*fits))


def _best_along(score_of: Floats, excess_of: Floats, usable: Bools, miss: float) -> tuple[Ints, Floats, Floats]:
    """Index, score and excess of the best along the last axis; its score minus infinity where none is usable."""
    worth = np.where(usable, score_of - miss * excess_of, -np.inf)
    shape, count = worth.shape[:-1], worth.shape[-1]
    flat = worth.reshape(-1, count)
    best, row = flat.argmax(axis=1), np.arange(len(flat))
    top = np.where(np.isneginf(flat[row, best]), -np.inf, score_of.reshape(-1, count)[row, best])
    return best.reshape(shape), top.reshape(shape), excess_of.reshape(-1, count)[row, best].reshape(shape)


def _elsewhere(lanes: Lanes) -> Bools:
    """`[lane, place]`: all places but the one where the day begins."""
    other: Bools = np.arange(lanes.count) != lanes.start[:, None]
    return other


# --- growing ---------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Stays:
    """The stay of every route in which each coarse time falls; arrays `[lane, route, n]`."""

    number: Ints
    """Its position in the route."""
    begin: Ints
    end: Ints
    """Its quarter hours."""
    row: Ints
    """Its row of the running totals."""
    last: Bools
    between: Bools
    """The time is no move of the route already."""
    before: Ints
    """Place before it; -1: none."""
    after: Ints
    other_hops: Floats
    """Cost of the route's hops but for this stay."""

    @classmethod
    def of(cls, lanes: Lanes, grid: Grid, routes: Routes) -> _Stays:
        places, lane = routes.places, np.arange(len(routes.places))[:, None, None]
        route = np.arange(places.shape[1])[:, None]
        moves, when = lanes.times[lane, routes.index], grid.times[:, None, :, None]
        number = (moves[:, :, None, :] <= when).sum(axis=-1)
        edges = np.zeros((*moves.shape[:2], moves.shape[2] + 2), dtype=np.int64)
        edges[..., 1:-1], edges[..., -1] = moves, lanes.quarters
        around = np.full((*places.shape[:2], places.shape[2] + 2), -1)
        around[..., 1:-1] = places
        hops = np.zeros(places.shape)
        hops[..., 1:-1] = _hop(np.diff(moves, axis=-1))
        return cls(
            number=number,
            begin=edges[lane, route, number],
            end=edges[lane, route, number + 1],
            row=lanes.rows(places)[lane, route, number],
            last=number == moves.shape[-1],
            between=(moves[:, :, None, :] != when).all(axis=-1) & grid.fresh[:, None, :],
            before=around[lane, route, number],
            after=around[lane, route, number + 2],
            other_hops=hops.sum(axis=-1, keepdims=True) - hops[lane, route, number],
        )


def _split(lanes: Lanes, grid: Grid, parents: Routes) -> Found:
    """Every stay split in two at every coarse time, the later or the earlier part of it spent at every place.

    Arrays `[lane, route, side, place, n]`, side 0 the later part; with `sum` before them. A parent's totals are
    corrected by what changes within the one stay that is split.
    """
    count, place = lanes.count, np.arange(lanes.count)[:, None]
    stays, moves = _Stays.of(lanes, grid, parents), parents.index.shape[2] + 1
    lane, when, at = np.arange(len(parents.places))[:, None, None], grid.times[:, None, :], np.arange(grid.size)
    here = _places_of(lanes, stays.row)
    ended = np.where(stays.row < 2 * count, here, 2 * count)  # the stay's row, were it not the last
    last, first = stays.last[:, :, None], (stays.number == 0)[:, :, None]
    until, since = lanes.at(lane, stays.row, stays.end), lanes.at(lane, stays.row, stays.begin)
    middle = lanes.at(lane, stays.row, when)
    kept_begin = lanes.at(lane, ended, when) - lanes.at(lane, ended, stays.begin)
    wide, new = lane[..., None], place + count * last
    later = lanes.at(wide, new, stays.end[:, :, None]) - grid.running[:, wide, new, at]
    earlier = grid.running[:, wide, place, at] - lanes.at(wide, place, stays.begin[:, :, None])
    later += (kept_begin - (until - since))[:, :, :, None]
    earlier -= (middle - since)[:, :, :, None]
    whole = lanes.totals(parents.places, lanes.times[lane, parents.index])
    totals = whole[:, :, :, None, None, None] + np.stack([later, earlier], axis=3)
    hops = stays.other_hops + _hop(when - stays.begin) * (stays.number > 0) + _hop(stays.end - when) * ~stays.last
    out = np.broadcast_to((parents.places[:, :, -1] != INSIDE_AT)[:, :, None, None], later.shape[1:])
    night = np.stack([np.where(last, place != INSIDE_AT, out), out], axis=2)
    worth, over = _worth(lanes, totals, moves, hops[:, :, None, None], night)
    other = (place != here[:, :, None]) & stays.between[:, :, None]
    later_fits = other & (place != stays.after[:, :, None]) & (~last | lanes.ends[:, None, :, None])
    earlier_fits = other & (place != stays.before[:, :, None]) & ~first
    fits = np.stack([later_fits, earlier_fits], axis=2) & np.isfinite(parents.score)[:, :, None, None, None]
    lane = lane[..., 0]

    def routes(best: Ints, worth: Floats, over: Floats) -> Routes:
        route, side, put = (each.ravel() for each in np.indices(best.shape[1:]))
        best = best.reshape(len(best), -1)
        number = stays.number[lane, route, best]
        return Routes(
            _put_in(parents.places[:, route], number + (side == 0), np.broadcast_to(put, best.shape)[..., None]),
            _put_in(parents.index[:, route], number, grid.index[lane, best][..., None]),
            worth.reshape(best.shape),
            over.reshape(best.shape),
        )

    return _at_best_times(routes, worth, over, fits)


def _inserted(lanes: Lanes, grid: Grid, parents: Routes) -> Found:
    """Within every stay a stay at every other place, between every pair of coarse times.

    Arrays `[lane, route, place, pair]`, with `sum` before them; corrected from the parent's totals as in `_split`.
    """
    count, place = lanes.count, np.arange(lanes.count)
    stays, moves = _Stays.of(lanes, grid, parents), parents.index.shape[2] + 2
    early, late = np.triu_indices(grid.size, 1)
    lane = np.arange(len(parents.places))[:, None, None]
    begin, end = grid.times[:, None, early], grid.times[:, None, late]
    row, first = stays.row[..., early], stays.begin[..., early]
    here = _places_of(lanes, row)
    ended = np.where(row < 2 * count, here, 2 * count)
    until = lanes.at(lane, ended, begin) - lanes.at(lane, ended, first)
    was = lanes.at(lane, row, end) - lanes.at(lane, row, first)
    new = grid.running[:, :, None, :count][..., late] - grid.running[:, :, None, :count][..., early]
    whole = lanes.totals(parents.places, lanes.times[lane, parents.index])
    totals = (whole[..., None] + until - was)[:, :, :, None] + new
    hops = stays.other_hops[..., early] + _hop(end - begin) + _hop(begin - first) * (stays.number[..., early] > 0)
    hops = hops + _hop(stays.end[..., late] - end) * ~stays.last[..., late]
    night = (parents.places[:, :, -1] != INSIDE_AT)[:, :, None, None]
    worth, over = _worth(lanes, totals, moves, hops[:, :, None], night)
    fits = stays.between[..., early] & stays.between[..., late]
    fits &= (stays.number[..., early] == stays.number[..., late]) & np.isfinite(parents.score)[..., None]
    fits = fits[:, :, None] & (place[:, None] != here[:, :, None])
    lane = lane[..., 0]

    def routes(best: Ints, worth: Floats, over: Floats) -> Routes:
        route, put = (each.ravel() for each in np.indices(best.shape[1:]))
        best = best.reshape(len(best), -1)
        number = stays.number[lane, route, early[best]]
        back = parents.places[lane, route, number]
        new = np.stack([np.broadcast_to(put, best.shape), back], axis=-1)
        when = np.stack([grid.index[lane, early[best]], grid.index[lane, late[best]]], axis=-1)
        return Routes(
            _put_in(parents.places[:, route], number + 1, new),
            _put_in(parents.index[:, route], number, when),
            worth.reshape(best.shape),
            over.reshape(best.shape),
        )

    return _at_best_times(routes, worth, over, fits)


def _places_of(lanes: Lanes, row: Ints) -> Ints:
    """The place of a row of the running totals."""
    start = lanes.start[:, None, None]
    return np.where(row == 2 * lanes.count, start, row % lanes.count)


def _hop(gap: Ints) -> Floats:
    """Cost of single gaps, array for array."""
    return hop_cost(gap[..., None])


def _put_in(old: Ints, at: Ints, new: Ints) -> Ints:
    """`old[lane, route, k]` with `new[lane, route, n]` put in before position `at[lane, route]`."""
    more = new.shape[-1]
    lane, route = np.arange(len(old))[:, None, None], np.arange(old.shape[1])[:, None]
    position = np.arange(old.shape[-1] + more)
    since = position - at[..., None]
    kept = np.clip(np.where(since < 0, position, position - more), 0, old.shape[-1] - 1)
    fresh = new[lane, route, np.clip(since, 0, more - 1)]
    return np.where((since >= 0) & (since < more), fresh, old[lane, route, kept])


# --- exact times -----------------------------------------------------------------------------------


@lru_cache(maxsize=8)
def _rounds(moves: int) -> tuple[tuple[Ints, Ints], ...]:
    """The shifts that are tried, round after round: offsets `[n]`, and for each try `[try, move]` an index into
    them. First one move alone, then all as one, then each by one."""
    if moves <= 3:  # all ways to shift; of more moves, at most two at once
        near = np.array(list(product(range(3), repeat=moves)))
    else:
        unit = np.eye(moves, dtype=np.int64)
        pairs = [side * one + other for one, other in combinations(unit, 2) for side in (1, -1)]
        near = np.array([0 * unit[0], *unit, *-unit, *pairs, *(-pair for pair in pairs)]) + 1
    alone = np.arange(-ALONE, ALONE + 1)
    rows = np.full((moves, len(alone), moves), ALONE)
    rows[np.arange(moves), :, np.arange(moves)] = np.arange(len(alone))
    whole = np.arange(-WHOLE, WHOLE + 1, 2)
    as_one = np.repeat(np.arange(len(whole))[:, None], moves, axis=1)
    all_alike = [(whole, as_one)] if moves <= 2 else []
    return (alone, rows.reshape(-1, moves)), *all_alike, (np.arange(-1, 2), near)


def _exact(lanes: Lanes, routes: Routes) -> Found:
    """The same routes at the best times near by; on the way there, what fits is remembered.

    Arrays `[lane, route, try]`, with `sum` before them; a total is that of the last stay through to the day's end
    and one step for each move.
    """
    moves, index = routes.index.shape[2], routes.index
    move = np.arange(moves)
    lane, rows = np.arange(len(index))[:, None, None, None], lanes.rows(routes.places)
    whole = lanes.at(lane[..., 0, 0], rows[:, :, -1], lanes.day_end)[:, :, :, None]
    night = (routes.places[:, :, -1] != INSIDE_AT)[:, :, None]
    route = np.arange(index.shape[1])[:, None]
    fits = Routes(routes.places, index, np.full(routes.score.shape, -np.inf), routes.excess)
    for offsets, shifts in _rounds(moves):
        near = index[..., None] + offsets
        there = (near >= 0) & (near < lanes.had[:, None, None, None])
        near = np.clip(near, 0, lanes.times.shape[1] - 1)
        times = lanes.times[lane, near]
        steps = lanes.at(lane, rows[:, :, :-1, None], times) - lanes.at(lane, rows[:, :, 1:, None], times)
        totals = whole + steps[:, :, :, 0, shifts[:, 0]]
        for number in range(1, moves):
            totals += steps[:, :, :, number, shifts[:, number]]
        gaps = np.diff(times[:, :, move, shifts], axis=-1)
        usable = there[:, :, move, shifts].all(axis=-1) & (gaps > 0).all(axis=-1)
        usable &= np.isfinite(routes.score)[..., None]
        worth, over = _worth(lanes, totals, moves, hop_cost(gaps), night)
        best, fit = (_best_along(worth, over, usable, miss) for miss in (NEAR_MISS, MISS))
        shifted = [near[lane[..., 0], route, move, shifts[each[0]]] for each in (best, fit)]
        fits = _fitter(fits, Routes(routes.places, shifted[1], fit[1], fit[2]))
        index = shifted[0]
    return Found(Routes(routes.places, index, best[1], best[2]), fits)


def _fitter(some: Routes, others: Routes) -> Routes:
    """Of the same routes at two times, route by route, the one that fits better."""
    better = others.score - MISS * others.excess > some.score - MISS * some.excess
    return Routes(
        some.places,
        np.where(better[..., None], others.index, some.index),
        np.where(better, others.score, some.score),
        np.where(better, others.excess, some.excess),
    )


def _worth(lanes: Lanes, totals: Floats, moves: int, hops: Floats | float, night: Bools) -> tuple[Floats, Floats]:
    """Score of totals `[sum, lane, ...]`, and by how much they break the limits."""
    marks = lanes.marks.shaped(totals.ndim - 1)
    return score(totals, marks, moves, night) - hops, excess(totals, marks)


def _allowed_worth(lanes: Lanes, routes: Routes) -> Floats:
    """Score `[lane, route]` of routes, minus infinity where they are not allowed."""
    lane = np.arange(len(routes.index))[:, None, None]
    moves = lanes.times[lane, routes.index]
    totals, marks = lanes.totals(routes.places, moves), lanes.marks.shaped(2)
    out = routes.places[:, :, -1] != INSIDE_AT
    worth = score(totals, marks, moves.shape[-1], out) - hop_cost(np.diff(moves, axis=-1))
    allowed = (excess(totals, marks) <= TOLERANCE) & (totals[Sum.HOURS] > 0.0) & np.isfinite(routes.score)
    return np.where(allowed, worth, -np.inf)
