"""The plan: day after day, what the limits allow, what is chosen, and what the plants have got used to by then.

A plan is a fold over local dates; batches of one date share the carer and the room at the spots, in the garden's
order. The same fold serves the days behind us (nobody said what was done: the plan is taken as done, with less
trust), the days of the forecast, and the settled days past its end.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta

import numpy as np

from hardenoff.night import Judgement, SpotNight
from hardenoff.ramp.capacity import DayBook, carrying_minutes, move_times
from hardenoff.ramp.choice import Question, Route, choose, staying_inside
from hardenoff.ramp.credit import Asked, credit
from hardenoff.ramp.finish import axis_done, is_hardened, light_done, nights_needed, sun_and_air_done
from hardenoff.ramp.limits import DayLimits, day_limits
from hardenoff.ramp.scene import Floats, Scene, SpotTrack
from hardenoff.ramp.state import (
    DEFAULT_LAMP,
    DayEarned,
    State,
    after_day,
    assumed_day,
    first_state,
    indoor_day_mol,
)
from hardenoff.ramp.table import INSIDE_AT, DayTable, Gates, Margins, Sum, day_table, gates
from hardenoff.ramp.watch import NightWatch
from hardenoff.records import INSIDE, Batch, Garden, Stage, Way

HOURS_IN_HAND = 0.9
"""Share of a past day's hours that must be there to work out what it gave (ours)."""


@dataclass(frozen=True, slots=True)
class NightOutcome:
    """Where a batch spends the night that begins on a date, and the judgement of every spot for it."""

    allowed: bool
    """The rule (and the batch) let it stay out."""
    absent: bool
    """Nobody is there the next day to bring it in."""
    spots: Mapping[str, tuple[SpotNight | None, Judgement]]
    """Empty past the forecast."""
    chosen: str | None
    """The spot where it stays; None: inside."""


@dataclass(frozen=True, slots=True)
class DayOutcome:
    """One batch on one date."""

    date: date
    stage: Stage
    state: State
    """At 00:00."""
    limits: DayLimits
    table: DayTable | None
    """None on days that were not planned: not begun, or nothing in hand."""
    gates: tuple[Gates, ...]
    route: Route | None
    asked: Asked | None
    times: tuple[int, ...]
    went_out: bool
    way: Way | None
    air_credit: float
    sun_credit: float
    night: NightOutcome
    after: State

    @property
    def is_hold(self) -> bool:
        """Inside though it was its day: a limit or unknown data forbade the outing."""
        return self.table is not None and not self.went_out and bool(self.times)


@dataclass(frozen=True, slots=True)
class Planner:
    """A garden in its scene; plans any batch over any dates."""

    garden: Garden
    scene: Scene
    watch: NightWatch
    today: date
    margins: Margins = field(default_factory=Margins)

    # --- the fold ----------------------------------------------------------------------------------

    def plan(self, batches: tuple[Batch, ...], until: date) -> dict[str, tuple[DayOutcome, ...]]:
        """All batches from the scene's first date to `until`, day by day."""
        runs = {batch.name: _Run(batch, self._at_scene_begin(batch)) for batch in batches}
        book, tomorrow = DayBook(), DayBook()
        for on in self._dates(self.scene.dates[0], until):
            book, tomorrow = tomorrow, DayBook()
            for run in runs.values():
                self._step(run, on, book, tomorrow)
        return {name: tuple(run.days) for name, run in runs.items()}

    def _at_scene_begin(self, batch: Batch) -> State:
        """State on the scene's first date: earlier days are taken as done."""
        state = self.opening(batch)
        for _ in range(max(0, (self.scene.dates[0] - self.first_outing(batch)).days)):
            state = assumed_day(state, end=batch.rule.length)
        return state

    def resume(self, batch: Batch, state: State, first: date, until: date) -> tuple[DayOutcome, ...]:
        """One batch alone, inside at 00:00 of `first` with `state`: what if?"""
        run = _Run(replace(batch, start=first, state=None), state)
        book, tomorrow = DayBook(), DayBook()
        for on in self._dates(first, until):
            book, tomorrow = tomorrow, DayBook()
            self._step(run, on, book, tomorrow)
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

    def _step(self, run: _Run, on: date, book: DayBook, tomorrow: DayBook) -> None:
        batch, day = run.batch, self.scene.index(on)
        if on < self.first_outing(batch):
            run.days.append(self._waiting_day(batch, run.state, day))
        elif on < self.today and not self._in_hand(day):
            run.days.append(self._unknown_day(batch, run.state, day))
            run.state, run.place = run.days[-1].after, INSIDE
        else:
            run.days.append(self._planned_day(run, day, book, tomorrow))
            run.state, run.place = run.days[-1].after, run.days[-1].night.chosen or INSIDE
            run.hardened = run.hardened or self.hardened(batch, run.state, day)
        if on < self.today and on >= self.first_outing(batch):
            run.state = replace(run.state, confidence="assumed")

    def first_outing(self, batch: Batch) -> date:
        """The date of the first outing: as written, or the first possible one."""
        if batch.state is not None:
            return batch.state.on
        if batch.start is not None:
            return batch.start
        if batch.sown is None:
            return self.today
        least = timedelta(weeks=batch.crop.weeks_to_transplant[0]) - timedelta(days=batch.rule.length)
        return max(self.today, batch.sown + least)

    def planting_track(self, batch: Batch) -> SpotTrack:
        """The spot it is planted at; without one, the spot with most open sky."""
        if batch.plant_out_at is not None:
            return self.scene.track(batch.plant_out_at)
        return max(self.scene.tracks, key=lambda track: track.sky_view)

    def hardened(self, batch: Batch, state: State, day: int) -> bool:
        """Whether the batch meets every criterion at the end of a day."""
        return is_hardened(batch, state, self._clear_day_mol(batch, day), indoor_day_mol(batch, self.garden))

    def _light_done(self, batch: Batch, state: State, day: int) -> bool:
        return light_done(batch, state, self._clear_day_mol(batch, day), self.indoor_mol(batch))

    def indoor_mol(self, batch: Batch) -> float:
        """Light of a day inside [mol/m2]."""
        return indoor_day_mol(batch, self.garden)

    def met_mol(self, batch: Batch, day: DayOutcome) -> float | None:
        """Likely light of a day, lamp included [mol/m2]; None where the forecast has no radiation."""
        if day.table is None or day.route is None:
            return self.indoor_mol(batch)
        return _met_mol(day.route)

    def had_it_gone_out(self, batch: Batch, day: DayOutcome) -> State:
        """State after a day that earned all it could, in place of the day as it was."""
        earned = DayEarned(air=1.0, sun=1.0, night_out=False, went_out=True, light_mol=day.limits.light_mol)
        return after_day(day.state, earned, end=batch.rule.length, hardy=False)

    def _clear_day_mol(self, batch: Batch, day: int) -> float:
        return float(self.planting_track(batch).light_clear_mol[self.scene.slots(day)].sum())

    def _in_hand(self, day: int) -> bool:
        air = self.scene.air_c[self.scene.slots(day)]
        return bool(np.isfinite(air).mean() >= HOURS_IN_HAND)

    def _limits(self, batch: Batch, state: State, day: int, hardened: bool) -> DayLimits:
        limits = day_limits(
            batch,
            state,
            indoor_mol=indoor_day_mol(batch, self.garden),
            sun_up_h=self.scene.sun_up_h(day),
            hardened=hardened,
        )
        if hardened:
            most = float(self.planting_track(batch).light_most_mol[self.scene.slots(day)].sum())
            return replace(limits, light_mol=max(limits.light_mol, most))
        return limits

    def _waiting_day(self, batch: Batch, state: State, day: int) -> DayOutcome:
        stage: Stage = "sown" if batch.sown is not None and self.scene.dates[day] < batch.sown else "inside"
        return self._unplanned(batch, state, day, stage, state)

    def _unknown_day(self, batch: Batch, state: State, day: int) -> DayOutcome:
        return self._unplanned(batch, state, day, "ramp", assumed_day(state, end=batch.rule.length))

    def _unplanned(self, batch: Batch, state: State, day: int, stage: Stage, after: State) -> DayOutcome:
        limits = self._limits(batch, state, day, hardened=False)
        return DayOutcome(
            date=self.scene.dates[day],
            stage=stage,
            state=state,
            limits=limits,
            table=None,
            gates=(),
            route=None,
            asked=None,
            times=(),
            went_out=False,
            way=None,
            air_credit=0.0,
            sun_credit=0.0,
            night=NightOutcome(False, False, self.watch.spots(batch, limits, self.scene.dates[day]), None),
            after=after,
        )

    def _planned_day(self, run: _Run, day: int, book: DayBook, tomorrow: DayBook) -> DayOutcome:
        batch, on, scene = run.batch, self.scene.dates[day], self.scene
        limits = self._limits(batch, run.state, day, run.hardened)
        minutes = carrying_minutes(batch, self.garden.carer)
        if run.place != INSIDE:  # its own seat in the morning was kept
            book.book_move(run.kept_quarter, -minutes)
        question, spot_gates = self._question(run, day, limits, minutes, book)
        judged = self.watch.spots(batch, limits, on)
        next_times = self._next_times(day, minutes, tomorrow)
        allowed = limits.nights_out
        open_nights = (
            self._night_places(judged, question.table, scene.is_known(day)) if allowed and next_times else ()
        )
        while True:
            route = choose(replace(question, night_places=open_nights))
            outcome = self._outcome(run, day, limits, question, spot_gates, route)
            if route is None or not route.night_out:
                break
            place = route.places[-1]
            if self._morning_holds(run, outcome, day, place, next_times[0]):
                tomorrow.book_move(next_times[0], minutes)
                run.kept_quarter = next_times[0]
                break
            open_nights = tuple(other for other in open_nights if other != place)
        self._book(outcome, batch, book, minutes, question.table)
        chosen = outcome.route.places[-1] if outcome.route is not None else INSIDE_AT
        night = NightOutcome(
            allowed=allowed,
            absent=allowed and not next_times,
            spots=judged,
            chosen=None if chosen == INSIDE_AT else question.table.names[chosen],
        )
        return replace(outcome, night=night)

    def _question(
        self, run: _Run, day: int, limits: DayLimits, minutes: float, book: DayBook
    ) -> tuple[Question, tuple[Gates, ...]]:
        batch, scene = run.batch, self.scene
        at = scene.slots(day)
        quarters = at.stop - at.start
        spot_gates = tuple(
            gates(
                scene,
                day,
                track,
                batch.crop,
                limits,
                self.margins,
                chilled=run.state.chilled_night,
                full=book.full(track, batch.trays, quarters),
            )
            for track in scene.tracks
        )
        waits = None if batch.waits is None else scene.track(batch.waits)
        table = day_table(scene, day, spot_gates, self._indoor_quarters(batch, day), waits)
        asked = Asked(
            limits=limits,
            hours=min(limits.outdoor_h, scene.sun_up_h(day)),
            light_mol=min(limits.light_mol, max(self._clear_day_mol(batch, day), 1.0)),
            air_needed=not axis_done(batch, run.state.air),
            sun_needed=not axis_done(batch, run.state.sun),
            nights_needed=run.state.cold < nights_needed(batch),
            light_needed=not run.hardened
            and sun_and_air_done(batch, run.state)
            and not self._light_done(batch, run.state, day),
            longer_only=batch.way == "longer",
        )
        question = Question(
            table=table,
            asked=asked,
            start_at=table.names.index(run.place),
            times=move_times(scene, day, self.garden.carer, minutes, book),
            moves_most=self.garden.carer.moves_per_day,
            night_places=(),
        )
        return question, spot_gates

    def _indoor_quarters(self, batch: Batch, day: int) -> Floats:
        """Light of each quarter hour inside [mol/m2]; a lamp is centred on 14:00 unless it says when it starts."""
        scene = self.scene
        at = scene.slots(day)
        quarters = at.stop - at.start
        total = indoor_day_mol(batch, self.garden)
        if batch.lamp is None and self.garden.inside.light != "lamp":
            up = scene.sun_up[at].astype(float)
            return up * (total / max(up.sum(), 1.0))
        lamp = batch.lamp or DEFAULT_LAMP
        begin = 14.0 - lamp.hours / 2.0 if lamp.start is None else lamp.start.hour + lamp.start.minute / 60.0
        on = np.mod(np.arange(quarters) / 4.0 - begin, 24.0) < lamp.hours
        return on * (lamp.ppfd * 900.0 / 1e6)

    def _next_times(self, day: int, minutes: float, tomorrow: DayBook) -> tuple[int, ...]:
        if day + 1 >= len(self.scene.dates):
            return ()
        return move_times(self.scene, day + 1, self.garden.carer, minutes, tomorrow)

    def _night_places(
        self, judged: Mapping[str, tuple[SpotNight | None, Judgement]], table: DayTable, known: bool
    ) -> tuple[int, ...]:
        """Places where the night may be spent outside; past the forecast, anywhere."""
        if not known:
            return tuple(range(1, len(table.names)))
        return tuple(
            table.names.index(name) for name, (_, verdict) in judged.items() if verdict.verdict in ("out", "cover")
        )

    def _outcome(
        self,
        run: _Run,
        day: int,
        limits: DayLimits,
        question: Question,
        spot_gates: tuple[Gates, ...],
        route: Route | None,
    ) -> DayOutcome:
        batch, state = run.batch, run.state
        taken = route if route is not None else staying_inside(question)
        totals = taken.totals[:, None]
        went_out = any(place != INSIDE_AT for place, _, _ in taken.stays(question.table.quarters))
        earned = credit(totals, question.asked)
        air, sun = (float(earned.air[0]), float(earned.sun[0])) if went_out else (0.0, 0.0)
        name = question.table.names[taken.places[-1]]
        chilled = taken.night_out and self.watch.is_chilled(batch, limits, self.scene.dates[day], name)
        gained = DayEarned(
            air=air,
            sun=sun,
            night_out=taken.night_out,
            went_out=went_out,
            light_mol=_met_mol(taken),
            chilled_night=chilled,
        )
        way: Way | None = None if not went_out else ("sheltered" if bool(earned.sheltered[0]) else "longer")
        return DayOutcome(
            date=self.scene.dates[day],
            stage="hardened" if run.hardened else "ramp",
            state=state,
            limits=limits,
            table=question.table,
            gates=spot_gates,
            route=taken,
            asked=question.asked,
            times=question.times,
            went_out=went_out,
            way=way,
            air_credit=air,
            sun_credit=sun,
            night=NightOutcome(False, False, {}, None),
            after=after_day(state, gained, end=batch.rule.length, hardy=batch.crop.hardy and batch.waits is None),
        )

    def _morning_holds(self, run: _Run, outcome: DayOutcome, day: int, place: int, first_move: int) -> bool:
        """Whether the stay from midnight to the next day's first move keeps that day's limits and gates."""
        if day + 1 >= len(self.scene.dates):
            return True
        batch, state = run.batch, outcome.after
        hardened = run.hardened or self.hardened(batch, state, day)
        limits = self._limits(batch, state, day + 1, hardened)
        track = self.scene.tracks[place - 1]
        none = np.zeros(self.scene.starts[day + 2] - self.scene.starts[day + 1], dtype=bool)
        gate = gates(
            self.scene, day + 1, track, batch.crop, limits, self.margins, chilled=state.chilled_night, full=none
        )
        begin = self.scene.starts[day + 1]
        stay = slice(begin, begin + first_move)
        lamp = float(self._indoor_quarters(batch, day + 1)[first_move:].sum())
        light = float(track.light_most_mol[stay].sum()) + lamp
        sun = float(track.sun_clear_h[stay].sum())
        barred = bool((gate.by_night | gate.heat | gate.chilled)[:first_move].any())
        return not barred and sun <= limits.sun_h and light <= limits.light_mol

    def _book(self, outcome: DayOutcome, batch: Batch, book: DayBook, minutes: float, table: DayTable) -> None:
        route = outcome.route
        if route is None:
            return
        for quarter in route.moves:
            book.book_move(quarter, minutes)
        for place, begin, end in route.stays(table.quarters):
            if place != INSIDE_AT:
                room = self.scene.tracks[place - 1].room
                book.book_stay(room, begin, end, batch.trays, table.quarters)


def _met_mol(route: Route) -> float | None:
    """Likely light of the whole day [mol/m2]; None where the forecast has no radiation."""
    if route.totals[Sum.UNKNOWN] > 0.0:
        return None
    return float(route.totals[Sum.LIGHT_LIKELY])


@dataclass(slots=True)
class _Run:
    """One batch on its way through the dates."""

    batch: Batch
    state: State
    place: str = INSIDE
    """Where it stands at 00:00."""
    hardened: bool = False
    kept_quarter: int = 0
    """The next morning's quarter hour that is kept for carrying it in."""
    days: list[DayOutcome] = field(default_factory=list)
