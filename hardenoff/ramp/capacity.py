"""Who carries, and what spots hold: when a batch can be moved, and the day's book of both."""

from __future__ import annotations

import math
from bisect import bisect_right
from dataclasses import dataclass, field, replace
from datetime import datetime, time, timedelta
from operator import itemgetter

import numpy as np

from hardenoff.ramp.credit import Asked
from hardenoff.ramp.limits import DayLimits
from hardenoff.ramp.question import Question, Route
from hardenoff.ramp.scene import Bools, Floats, Scene, SpotTrack
from hardenoff.ramp.table import INSIDE_AT, DayTable, Gates
from hardenoff.ramp.watch import Verdicts
from hardenoff.records import Carer

QUARTER_MIN = 15.0
Carry = tuple[float, float]
"""Begin and end of a carry, minutes from the day's begin."""
LATE_DAWN, EARLY_DAWN = 8, 8
"""Quarter hours after sunrise within which somebody is there for the morning, and before it, if not (ours)."""


@dataclass(frozen=True, slots=True)
class Look:
    """What a batch's day allows and asks for, and how its night is judged."""

    limits: DayLimits
    asked: Asked
    judged: Verdicts


@dataclass(slots=True)
class DayBook:
    """What the batches planned so far have taken of one day."""

    carries: list[Carry] = field(default_factory=list)
    """Every carry, ascending; none overlaps another."""
    trays: dict[str, Floats] = field(default_factory=dict)
    """Trays standing in a room, one number a quarter hour."""
    answers: dict[Question, list[tuple[tuple[int, ...], Route | None]]] = field(default_factory=dict)
    """What was asked that day, but for the times; with which times, and the best route."""
    looks: dict[str, Look] = field(default_factory=dict)
    """By batch name."""
    times: dict[float, tuple[int, ...]] = field(default_factory=dict)
    """When a carry of so many minutes could begin, as things stand."""
    tables: dict[object, tuple[DayTable, Gates]] = field(default_factory=dict)
    """What each place offers to batches that are alike."""

    def begin_of(self, quarter: int, minutes: float) -> float:
        """When a carry that is asked for at a quarter hour can begin: then, or after those that are under way.

        What lies past that quarter hour is not looked at to the end.
        """
        begin = quarter * QUARTER_MIN
        first = bisect_right(self.carries, begin, key=itemgetter(1))
        for busy_from, busy_until in self.carries[first:]:
            if busy_from >= begin + minutes or begin >= (quarter + 1) * QUARTER_MIN:
                break
            begin = busy_until
        return begin

    def knows(self, question: Question) -> bool:
        """Whether it was answered already."""
        return self._known(question) is not None

    def answer(self, question: Question) -> Route | None:
        """The answer to a question that is known; KeyError to any other."""
        known = self._known(question)
        if known is None:
            raise KeyError(question)
        return known[1]

    def learn(self, question: Question, route: Route | None) -> None:
        """Remember an answer."""
        self.answers.setdefault(replace(question, times=()), []).append((question.times, route))

    def _known(self, question: Question) -> tuple[tuple[int, ...], Route | None] | None:
        """The answer to the same question, or to one with more times, if its own moves are left among these."""
        for times, route in self.answers.get(replace(question, times=()), ()):
            if times == question.times:
                return times, route
            needed = set() if route is None else set(route.moves)
            alike = question.start_at == INSIDE_AT or times[:1] == question.times[:1]
            if alike and needed <= set(question.times) <= set(times):
                return times, route
        return None

    def without(self, carry: Carry | None) -> DayBook:
        """The book as it would be, were a carry given back."""
        if carry is None:
            return self
        return replace(self, carries=[each for each in self.carries if each != carry], times={})

    def book_carry(self, quarter: int, minutes: float) -> Carry:
        """Take the carer's time."""
        begin = self.begin_of(quarter, minutes)
        carry = (begin, begin + minutes)
        self.carries = sorted([*self.carries, carry])
        self.times.clear()
        return carry

    def release(self, carry: Carry) -> None:
        """Give back a carry that was kept."""
        self.carries.remove(carry)
        self.times.clear()

    def book_stay(self, room: str, begin: int, end: int, trays: int, quarters: int) -> None:
        """Take room at a spot."""
        taken = self.trays.setdefault(room, np.zeros(quarters))
        taken[begin:end] += trays

    def full(self, track: SpotTrack, trays: int, quarters: int) -> Bools:
        """Quarter hours at which the spot has no room for so many trays more."""
        if track.spot.holds is None or track.room not in self.trays:
            return np.full(quarters, track.spot.holds is not None and trays > track.spot.holds)
        return self.trays[track.room] + trays > track.spot.holds


def move_times(scene: Scene, day: int, carer: Carer, minutes: float, book: DayBook) -> tuple[int, ...]:
    """Quarter hours, counted from the day's begin, within which a carry of so many minutes can begin."""
    if minutes not in book.times:
        book.times[minutes] = _times(_spans(scene, day, carer), minutes, book)
    return book.times[minutes]


def _times(spans: list[tuple[float, float]], minutes: float, book: DayBook) -> tuple[int, ...]:
    """Of the quarter hours within move windows, those that the carries booked so far leave; ascending."""
    found: set[int] = set()
    for begin, end in spans:
        first, last = math.ceil(begin / QUARTER_MIN), math.floor((end - minutes) / QUARTER_MIN)
        near = {
            quarter
            for busy_from, busy_until in book.carries
            for quarter in range(
                max(first, math.floor((busy_from - minutes) / QUARTER_MIN)),
                min(last, math.floor(busy_until / QUARTER_MIN)) + 1,
            )
        }
        taken = {quarter for quarter in near if not _fits(book.begin_of(quarter, minutes), quarter, minutes, end)}
        found.update(set(range(first, last + 1)) - taken)
    return tuple(sorted(found))


def morning_times(scene: Scene, day: int, times: tuple[int, ...]) -> tuple[int, ...]:
    """The times at which a batch that spent the night outside can be moved: once the night is over.

    From sunrise on, if somebody is there within two hours of it, else from two hours before it.
    """
    dawn = scene.sunrises[day] - scene.starts[day]
    late = tuple(quarter for quarter in times if quarter >= dawn)
    if late and late[0] <= dawn + LATE_DAWN:
        return late
    return tuple(quarter for quarter in times if quarter >= dawn - EARLY_DAWN)


def _fits(begin: float, quarter: int, minutes: float, end: float) -> bool:
    """Whether a carry still begins in its quarter hour, and is over by the end of the window."""
    return begin < (quarter + 1) * QUARTER_MIN and begin + minutes <= end


def _spans(scene: Scene, day: int, carer: Carer) -> list[tuple[float, float]]:
    """Move windows in minutes from the day's begin, as the clock really runs on that date."""
    return [
        (_minutes(scene, day, span.start_min), _minutes(scene, day, span.end_min))
        for span in carer.spans(scene.dates[day])
    ]


def _minutes(scene: Scene, day: int, wall_min: int) -> float:
    """Minutes from the day's begin to a time of the wall clock, in minutes from 0:00 on."""
    on = scene.dates[day] + timedelta(days=wall_min // 1440)
    wall = datetime.combine(on, time(wall_min % 1440 // 60, wall_min % 60), scene.place.tz)
    return (scene.slot_of(wall) - scene.starts[day]) * QUARTER_MIN
