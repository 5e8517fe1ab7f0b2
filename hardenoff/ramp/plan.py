"""The plan: day after day, what the limits allow, what is chosen, and what the plants have got used to by then.

A plan is a fold over local dates; batches of one date share the carer and the room at the spots, in the garden's
order. The same fold serves the days behind us (nobody said what was done: the plan is taken as done, with less
trust), the days of the forecast, and the settled days past its end.
"""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass, field, replace
from datetime import date, timedelta

import numpy as np

from hardenoff.ramp.asking import Asking, answered
from hardenoff.ramp.capacity import DayBook
from hardenoff.ramp.day import DayPlanner, Run
from hardenoff.ramp.logbook import NOTHING_TOLD, BatchLog, DayDone, Logbook
from hardenoff.ramp.outcome import DayOutcome, NightOutcome
from hardenoff.ramp.question import Question, Route
from hardenoff.ramp.state import DayEarned, State, after_day, assumed_day, first_state
from hardenoff.records import INSIDE, Batch, Stage

Plans = dict[str, tuple[DayOutcome, ...]]
DAYS_AFTER = 4
"""Days that are planned on after the one at whose end a batch is hardened: room for an evening to plant on."""
AHEAD, AHEAD_MOST = 6, 30
"""Batches to come that are asked for along with the present one, at least and at most: twice as many each time all
of them could use their answers, half as many when one had to ask again, because a time was taken."""
HOURS_IN_HAND = 0.9
"""Share of a past day's hours that must be there to work out what it gave (ours)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Planner(DayPlanner):
    """A garden in its scene, seen from the local date `today`; plans any batch over any dates."""

    today: date
    logbook: Logbook = field(default_factory=dict)
    today_as_told: bool = False
    """Stays told of today stand like those of other days: what if it were carried so?"""

    # --- the fold ----------------------------------------------------------------------------------

    def plan(self, batches: tuple[Batch, ...], until: date, *, enough: date | None = None) -> Plans:
        """All batches from the scene's first date to `until`, day by day.

        With `enough`, no further than that date and a few days after the last batch is hardened.
        """
        return answered(self.asking(batches, until, enough=enough))

    def asking(self, batches: tuple[Batch, ...], until: date, *, enough: date | None = None) -> Asking[Plans]:
        """The same as a plan that asks (`ramp.asking`)."""
        runs = tuple(Run(batch, self._at_scene_begin(batch)) for batch in batches)
        yield from self._fold(runs, self._dates(self.scene.dates[0], until), enough)
        return {run.batch.name: tuple(run.days) for run in runs}

    def asking_until_hardened(self, batches: tuple[Batch, ...], until: date) -> Asking[Plans]:
        """Each batch until it is hardened, and planted then; for many plans in step, so none asks ahead."""
        runs = tuple(Run(batch, self._at_scene_begin(batch)) for batch in batches)
        dates = self._dates(self.scene.dates[0], until)
        yield from self._fold(runs, dates, dates[0], after=1, plants=True)
        return {run.batch.name: tuple(run.days) for run in runs}

    def _fold(
        self,
        runs: tuple[Run, ...],
        dates: list[date],
        enough: date | None,
        *,
        after: int = DAYS_AFTER,
        plants: bool = False,
    ) -> Asking[None]:
        """Every run through every date.

        Batches of a date go one after the other: the next one gets what time and room are left. Those to come are
        asked for along with the present one, in case nothing is taken from them. With `plants` what is hardened is
        planted and carried no more.
        """
        book, tomorrow, ahead = DayBook(), DayBook(), AHEAD
        for on in dates:
            book, tomorrow, asked_for = tomorrow, DayBook(), 0
            for number, run in enumerate(runs):
                if plants and run.days and self._ends_hardened(run.batch, run.days[-1]):
                    continue
                step = self._step(run, on, book, tomorrow)
                question = next(step, None)
                while question is not None:
                    if plants:  # plans in step have company enough: one question each
                        (route,) = yield [question]
                        question = _next_question(step, route)
                        continue
                    if not book.knows(question):
                        ahead = max(AHEAD, ahead // 2) if number < asked_for else min(AHEAD_MOST, 2 * ahead)
                        asked_for = number + 1 + ahead
                        coming = self._ahead(runs[number + 1 : asked_for], on, book, tomorrow)
                        asked = list(dict.fromkeys([question, *coming]))
                        for each, route in zip(asked, (yield asked), strict=True):
                            book.learn(each, route)
                    question = _next_question(step, book.answer(question))
            if enough is not None and on >= enough and all(self._is_through(run, on, after) for run in runs):
                break

    def _ahead(self, runs: tuple[Run, ...], on: date, book: DayBook, tomorrow: DayBook) -> list[Question]:
        """What these will ask first on a date, as far as they will ask and it is not known."""
        day = self.scene.index(on)
        questions = [
            self.first_question(
                replace(run, hardened=self._was_hardened(run, day), kept_carry=None),
                day,
                book.without(run.kept_carry),
                tomorrow,
            )
            for run in runs
            if self._is_planned(run.batch, on)
        ]
        return [question for question in questions if not book.knows(question)]

    def _is_through(self, run: Run, on: date, after: int) -> bool:
        """Whether nothing further is to be learned of a batch: planted, or hardened on so many days."""
        log, days = self.told(run.batch), run.days[-after:]
        if log.planted_on is not None and on >= log.planted_on:
            return True
        return len(days) == after and all(self._ends_hardened(run.batch, day) for day in days)

    def _ends_hardened(self, batch: Batch, outcome: DayOutcome) -> bool:
        return self.hardened(batch, outcome.after, self.scene.index(outcome.date))

    def _at_scene_begin(self, batch: Batch) -> State:
        """State on the scene's first date: earlier days are taken as done."""
        state, log, first = self.opening(batch), self.told(batch), self.first_outing(batch)
        for on in self._dates(first, self.scene.dates[0] - timedelta(days=1)):
            state = self._without_hours(batch, state, log.days.get(on))
        return state

    def _without_hours(self, batch: Batch, state: State, done: DayDone | None) -> State:
        """State after a past day whose weather is not in hand: by what was told, else assumed."""
        if done is not None and done.how == "inside":
            inside = DayEarned(0.0, 0.0, night_out=False, went_out=False, light_mol=self.indoor_mol(batch))
            after = after_day(state, inside, end=batch.rule.length, loses_cold=self.loses_cold(batch))
            return replace(after, confidence="known")
        after = assumed_day(state, end=batch.rule.length)
        return after if _is_unsaid(done) else replace(after, confidence="known")

    def resume(self, batch: Batch, state: State, first: date, until: date) -> tuple[DayOutcome, ...]:
        """One batch alone, inside at 00:00 of `first` with `state`, until it is hardened: what if?"""
        return answered(self.resuming(batch, state, first, until))

    def resuming(self, batch: Batch, state: State, first: date, until: date) -> Asking[tuple[DayOutcome, ...]]:
        """The same as a plan that asks."""
        run = Run(replace(batch, start=first, state=None), state)
        yield from self._fold((run,), self._dates(first, until), first, after=1)
        return tuple(run.days)

    def _dates(self, first: date, until: date) -> list[date]:
        return [first + timedelta(days=n) for n in range((until - first).days + 1)]

    def opening(self, batch: Batch) -> State:
        """State on the morning of the first outing."""
        given = batch.state
        state = first_state(batch, self.garden, self._open_day_mol())
        if given is None:
            return state
        light = state.light_mol if given.light_mol is None else given.light_mol
        return State(air=given.air, sun=given.sun, cold=given.cold, light_mol=light)

    def _open_day_mol(self) -> float:
        """Likely light of the last whole days before today under the most open sky, else of today [mol/m2/d]."""
        track = max(self.scene.tracks, key=lambda each: each.sky_view)
        today = self.scene.index(self.today)
        days = [track.light_likely_mol[self.scene.slots(day)].sum() for day in range(today + 1)]
        known = [float(mol) for mol in days if np.isfinite(mol)]
        return (
            sum(known) / len(known) if known else float(track.light_clear_mol[self.scene.slots(today)].sum()) / 2.0
        )

    # --- one day -----------------------------------------------------------------------------------

    def _step(
        self, run: Run, on: date, book: DayBook, tomorrow: DayBook
    ) -> Generator[Question, Route | None, None]:
        batch, day, log = run.batch, self.scene.index(on), self.told(run.batch)
        done = log.days.get(on)
        if on < self.first_outing(batch):
            run.days.append(self._waiting_day(batch, run.state, day))
            return
        if run.kept_carry is not None:  # carrying it in this morning was kept free last night
            book.release(run.kept_carry)
            run.kept_carry = None
        run.hardened = self._was_hardened(run, day)
        if self._is_planned(batch, on):
            outcome = yield from self.asking_day(run, day, book, tomorrow)
        elif log.planted_on is not None and on >= log.planted_on:
            outcome = self.planted_day(run, day)
        elif done is not None and (done.how == "inside" or on >= self.today or self._in_hand(day)):
            outcome = self.told_day(run, day, done)
        else:
            outcome = self._unknown_day(batch, run.state, day)
        run.days.append(outcome)
        run.state, run.place = outcome.after, outcome.night.chosen or INSIDE
        if on < self.today:
            run.state = replace(run.state, confidence="assumed" if _is_unsaid(done) else "known")

    def _is_planned(self, batch: Batch, on: date) -> bool:
        """Whether a date is the planner's to decide: begun, not planted, nothing told, its hours in hand."""
        log = self.told(batch)
        done = log.days.get(on)
        if on < self.first_outing(batch) or (log.planted_on is not None and on >= log.planted_on):
            return False
        if done is not None and (on != self.today or done.how == "inside" or self.today_as_told):
            return False
        return on >= self.today or self._in_hand(self.scene.index(on))

    def _was_hardened(self, run: Run, day: int) -> bool:
        return run.hardened or self.hardened(run.batch, run.state, day)

    def hardened_on(self, batch: Batch, days: tuple[DayOutcome, ...]) -> date | None:
        """The first date at whose end every criterion is met, settled weather beyond the forecast."""
        for day in days:
            if self.hardened(batch, day.after, self.scene.index(day.date)):
                return day.date
        return None

    def told(self, batch: Batch) -> BatchLog:
        """All that was told of a batch."""
        return self.logbook.get(batch.name, NOTHING_TOLD)

    def first_outing(self, batch: Batch) -> date:
        """The date of the first outing: as written, or the first possible one."""
        if batch.state is not None:
            return batch.state.on
        if batch.start is not None:
            return batch.start
        log = self.told(batch)
        told = [on for on, done in log.days.items() if done.how in ("as_planned", "stays")]
        told += [log.planted_on] if log.planted_on is not None else []
        if told:
            return min(told)
        if batch.sown is None:
            return self.today
        least = timedelta(weeks=batch.crop.weeks_to_transplant[0]) - timedelta(days=batch.rule.length)
        return max(self.today, batch.sown + least)

    def _in_hand(self, day: int) -> bool:
        air = self.scene.air_c[self.scene.slots(day)]
        return bool(np.isfinite(air).mean() >= HOURS_IN_HAND)

    def _waiting_day(self, batch: Batch, state: State, day: int) -> DayOutcome:
        stage: Stage = "sown" if batch.sown is not None and self.scene.dates[day] < batch.sown else "inside"
        return self._unplanned(batch, state, day, stage, state)

    def _unknown_day(self, batch: Batch, state: State, day: int) -> DayOutcome:
        return self._unplanned(batch, state, day, "ramp", assumed_day(state, end=batch.rule.length))

    def _unplanned(self, batch: Batch, state: State, day: int, stage: Stage, after: State) -> DayOutcome:
        limits = self.limits(batch, state, day, hardened=False)
        return DayOutcome(
            date=self.scene.dates[day],
            stage=stage,
            state=state,
            limits=limits,
            night=NightOutcome(False, False, self.watch.spots(batch, limits, self.scene.dates[day]), None),
            after=after,
        )


def _next_question(step: Generator[Question, Route | None, None], route: Route | None) -> Question | None:
    """Answer a step's question; None: it has no more."""
    try:
        return step.send(route)
    except StopIteration:
        return None


def _is_unsaid(done: DayDone | None) -> bool:
    return done is None or done.how == "unsaid"
