"""The question of a day's choice, and its answer: a route, places in order and the quarter hours of the moves.

Totals of a route are a sum over its moves, so any number of routes of any number of questions are added up at
once: `Lanes` lays the running totals of several questions side by side.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from hardenoff.ramp.credit import Asked, Ints, Marks
from hardenoff.ramp.scene import Bools, Floats
from hardenoff.ramp.table import INSIDE_AT, DayTable, Sum


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


@dataclass(frozen=True, slots=True)
class Question:
    """All that a day's choice depends on. Questions are equal if they are about the very same table."""

    table: DayTable
    asked: Asked
    start_at: int
    """Place at 00:00."""
    times: tuple[int, ...]
    """Quarter hours at which the carer can move this batch, ascending."""
    moves_most: int
    night_places: tuple[int, ...]
    """Outdoor places where it may stay the night."""

    @property
    def shape(self) -> tuple[int, int]:
        """Places and quarter hours: questions of one shape can be laid side by side."""
        return len(self.table.names), self.table.quarters


@dataclass(frozen=True, slots=True)
class Lanes:
    """Questions of one shape side by side.

    Every place has two rows of running totals: as they hold for a stay that ends, and (`+ count`) for the one that
    lasts through the night. One row more is the stay at the place where the day begins: last night's choice, until
    the first move there is. Only what is barred differs.
    """

    questions: tuple[Question, ...]
    marks: Marks
    running: Floats
    """`[sum, lane x row x quarter]`, flat behind the sum, to take from at once. Rows: `count` of stays that end,
    `count` of stays through the night, one of the first stay."""
    count: int
    """Places."""
    quarters: int
    start: Ints
    """`[lane]`: place at 00:00."""
    most: Ints
    """`[lane]`: moves at most."""
    times: Ints
    """`[lane, index]`: quarter hours at which it can be moved; after the last one, the day's end."""
    had: Ints
    """`[lane]`: how many of them there are."""
    ends: Bools
    """`[lane, place]`: whether it may stay there for the night."""

    @classmethod
    def of(cls, questions: Sequence[Question], sums: int = len(Sum)) -> Lanes:
        """Lay questions of one shape side by side; `sums`: only so many rows of the totals."""
        count, quarters = questions[0].shape
        lanes = len(questions)
        running = np.empty((sums, lanes, 2 * count + 1, quarters + 1))
        had = np.array([len(each.times) for each in questions])
        times = np.full((lanes, max(int(had.max()), 1)), quarters)
        ends = np.zeros((lanes, count), dtype=bool)
        ends[:, INSIDE_AT] = True
        for lane, question in enumerate(questions):
            table = question.table
            running[:, lane, :count] = table.totals[:sums]
            running[:, lane, count:-1] = table.totals[:sums]
            running[Sum.BARRED, lane, count + 1 : -1] = table.barred_overnight[1:]
            running[:, lane, -1] = table.totals[:sums, question.start_at]
            running[Sum.BARRED, lane, -1] = barred_since_carried(question)
            times[lane, : had[lane]] = question.times
            ends[lane, list(question.night_places)] = True
        return cls(
            questions=tuple(questions),
            marks=Marks.of([each.asked for each in questions]),
            running=running.reshape(sums, -1),
            count=count,
            quarters=quarters,
            start=np.array([each.start_at for each in questions]),
            most=np.array([each.moves_most for each in questions]),
            times=times,
            had=had,
            ends=ends,
        )

    @property
    def day_end(self) -> Ints:
        """The quarter hour after the last, as an array."""
        return np.array(self.quarters)

    def at(self, lane: Ints, row: Ints, quarter: Ints) -> Floats:
        """Running totals `[sum, ...]` of lanes, rows and quarter hours that broadcast against each other."""
        return self.running.take((lane * (2 * self.count + 1) + row) * (self.quarters + 1) + quarter, axis=1)

    def totals(self, places: Ints, moves: Ints) -> Floats:
        """Totals `[sum, lane, route]` of routes, places `[lane, route, stay]` and moves `[lane, route, move]`."""
        lane, rows = np.arange(len(places))[:, None], self.rows(places)
        result = self.at(lane, rows[..., -1], self.day_end)
        lane = lane[..., None]
        steps = self.at(lane, rows[..., :-1], moves) - self.at(lane, rows[..., 1:], moves)
        total: Floats = result + steps.sum(axis=-1)
        return total

    def rows(self, places: Ints) -> Ints:
        """Rows of the running totals of moved routes `[..., stay]`."""
        rows = places.copy()
        rows[..., 0] = 2 * self.count
        rows[..., -1] += self.count
        return rows


def barred_since_carried(question: Question) -> Floats:
    """Barred quarter hours `[quarter]` at the place where the day begins, running from the first move there is."""
    table, start = question.table, question.start_at
    if start == INSIDE_AT:
        inside: Floats = table.totals[Sum.BARRED, INSIDE_AT]
        return inside
    carried = table.barred_carried[start]
    first = question.times[0] if question.times else table.quarters
    since: Floats = np.maximum(carried - carried[first], 0.0)
    return since


def route_totals(question: Question, places: tuple[int, ...], moves: tuple[int, ...]) -> Floats:
    """Totals of one route, allowed or not, one number for each `Sum`.

    On a day on which nothing is moved the day's gates hold until dusk, then the night's verdict.
    """
    table, totals, barred = question.table, np.zeros(len(Sum)), 0.0
    edges = (0, *moves, table.quarters)
    for number, (place, begin, end) in enumerate(zip(places, edges, edges[1:], strict=False)):
        totals += table.totals[:, place, end] - table.totals[:, place, begin]
        first, last = number == 0 and place == question.start_at, number == len(moves)
        by_day = barred_since_carried(question) if first else table.totals[Sum.BARRED, place]
        if last and place != INSIDE_AT:
            dusk, overnight = begin if moves else table.dusk, table.barred_overnight[place]
            barred += by_day[dusk] - by_day[begin] + overnight[end] - overnight[dusk]
        else:
            barred += by_day[end] - by_day[begin]
    totals[Sum.BARRED] = barred
    return totals


def staying_inside(question: Question) -> Route:
    """The route that stays inside, or comes in at the first move there is."""
    comes_in = question.start_at != INSIDE_AT and bool(question.times)
    places = (question.start_at, INSIDE_AT) if comes_in else (question.start_at,)
    times = question.times[: len(places) - 1]
    return Route(places, times, float("-inf"), route_totals(question, places, times))
