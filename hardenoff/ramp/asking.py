"""Plans that ask: a plan is a generator of questions, so many plans side by side have them answered together.

A day's choice needs the day before, and a batch's the batches before it; two forecasts of one garden, or two
gardens, need nothing of each other. What can run side by side is run in step, and each round of questions is one
array operation for all of them.
"""

from __future__ import annotations

from collections.abc import Generator, Sequence
from typing import TypeVar

from hardenoff.ramp.choice import choose_all
from hardenoff.ramp.question import Question, Route

T = TypeVar("T")
Answers = Sequence[Route | None]
Asking = Generator[Sequence[Question], Answers, T]
"""Yields questions of one moment, is sent their answers, returns what came of them."""


def answered(asking: Asking[T]) -> T:
    """Run one plan to its end."""
    return together([asking])[0]


def together(askings: Sequence[Asking[T]]) -> list[T]:
    """Run plans in step to their ends; what is run beside it makes no difference to any."""
    results: dict[int, T] = {}
    waiting: dict[int, Sequence[Question]] = {}

    def go_on(number: int, answers: Answers | None, waiting: dict[int, Sequence[Question]]) -> None:
        try:
            waiting[number] = next(askings[number]) if answers is None else askings[number].send(answers)
        except StopIteration as end:
            results[number] = end.value

    for number in range(len(askings)):
        go_on(number, None, waiting)
    while waiting:
        round_of, waiting = waiting, {}
        answers = choose_all([question for questions in round_of.values() for question in questions])
        first = 0
        for number, questions in round_of.items():
            go_on(number, answers[first : first + len(questions)], waiting)
            first += len(questions)
    return [results[number] for number in range(len(askings))]
