"""One batch, one day: limits, the question to the day's choice, its answer, and what that earns."""

from __future__ import annotations

from collections.abc import Generator, Mapping
from dataclasses import dataclass, field, replace
from typing import TypeVar

from hardenoff.night import Judgement, SpotNight
from hardenoff.ramp.asking import Asking, answered
from hardenoff.ramp.capacity import Carry, DayBook, Look, morning_times, move_times
from hardenoff.ramp.credit import TOLD_GRACE_H, Asked, Credit, credit, marks_of
from hardenoff.ramp.finish import is_hardened, light_done, nights_needed
from hardenoff.ramp.indoors import indoor_day_mol, indoor_quarters, is_warm_room, lamp_of
from hardenoff.ramp.limits import DayLimits, day_limits
from hardenoff.ramp.logbook import DayDone
from hardenoff.ramp.outcome import Blocked, DayOutcome, NightOutcome
from hardenoff.ramp.question import Question, Route, staying_inside
from hardenoff.ramp.scene import Scene, SpotTrack
from hardenoff.ramp.state import DayEarned, State, after_day
from hardenoff.ramp.table import INSIDE_AT, DayTable, Gates, Margins, Sum, day_table, gates
from hardenoff.ramp.told import fetched_later, route_of, with_sun_noted
from hardenoff.ramp.watch import NightWatch
from hardenoff.ramp.weights import DaysLeft, Weights, weights
from hardenoff.records import INSIDE, Batch, Garden, Way

T = TypeVar("T")


@dataclass(slots=True)
class Run:
    """One batch on its way through the dates."""

    batch: Batch
    state: State
    place: str = INSIDE
    """Where it stands at 00:00."""
    hardened: bool = False
    """On the present date: at the end of the one before, or ever since."""
    kept_carry: Carry | None = None
    """The next morning's carry that is kept free for it, if it stays out."""
    days: list[DayOutcome] = field(default_factory=list)


@dataclass(frozen=True, slots=True, kw_only=True)
class DayPlanner:
    """A garden in its scene; plans one batch on one date."""

    garden: Garden
    scene: Scene
    watch: NightWatch
    margins: Margins = field(default_factory=Margins)

    def planting_track(self, batch: Batch) -> SpotTrack:
        """The spot it is planted at; without one, the spot with most open sky."""
        if batch.plant_out_at is not None:
            return self.scene.track(batch.plant_out_at)
        return max(self.scene.tracks, key=lambda track: track.sky_view)

    def hardened(self, batch: Batch, state: State, day: int) -> bool:
        """Whether the batch meets every criterion at the end of a day."""
        return is_hardened(batch, state, self.clear_day_mol(batch, day), self.indoor_mol(batch))

    def light_done(self, batch: Batch, state: State, day: int) -> bool:
        """Whether a clear day at the planting spot is no longer a leap for the leaves."""
        return light_done(batch, state, self.clear_day_mol(batch, day), self.indoor_mol(batch))

    def loses_cold(self, batch: Batch) -> bool:
        """Whether a day inside costs cold tolerance: hardy plants in a warm room, not at a cool spot."""
        return batch.crop.hardy and batch.waits is None and is_warm_room(self.garden.inside)

    def indoor_mol(self, batch: Batch) -> float:
        """Light of a day inside [mol/m2]."""
        return indoor_day_mol(batch, self.garden)

    def met_mol(self, batch: Batch, day: DayOutcome) -> float | None:
        """Likely light of a day, lamp included [mol/m2]; None where the forecast has no radiation."""
        if day.table is None or day.route is None:
            return self.indoor_mol(batch)
        return _met_mol(day.route)

    def had_it_gone_out(self, batch: Batch, state: State) -> State:
        """State after a day that earned all it could."""
        earned = DayEarned(air=1.0, sun=1.0, night_out=False, went_out=True, light_mol=None)
        return after_day(state, earned, end=batch.rule.length, loses_cold=False)

    def clear_day_mol(self, batch: Batch, day: int) -> float:
        """Light of a clear day at the planting spot [mol/m2]."""
        return float(self.planting_track(batch).light_clear_mol[self.scene.slots(day)].sum())

    def limits(self, batch: Batch, state: State, day: int, hardened: bool) -> DayLimits:
        """What a day allows; once hardened, the light of a whole day at the planting spot."""
        limits = day_limits(
            batch,
            state,
            indoor_mol=self.indoor_mol(batch),
            sun_up_h=self.scene.sun_up_h(day),
            hardened=hardened,
        )
        if hardened:
            most = float(self.planting_track(batch).light_most_mol[self.scene.slots(day)].sum())
            return replace(limits, light_mol=max(limits.light_mol, most))
        return limits

    def planned_day(self, run: Run, day: int, book: DayBook, tomorrow: DayBook) -> DayOutcome:
        """The best day there is, for one batch on its own."""
        return answered(self._one_by_one(self.asking_day(run, day, book, tomorrow)))

    def _one_by_one(self, day: Generator[Question, Route | None, T]) -> Asking[T]:
        question = next(day)
        while True:
            (route,) = yield [question]
            try:
                question = day.send(route)
            except StopIteration as end:
                value: T = end.value
                return value

    def first_question(self, run: Run, day: int, book: DayBook, tomorrow: DayBook) -> Question:
        """What a batch will ask first on a day, if nothing is taken from the books before its turn."""
        return next(self.asking_day(replace(run), day, book, tomorrow))

    def asking_day(
        self, run: Run, day: int, book: DayBook, tomorrow: DayBook
    ) -> Generator[Question, Route | None, DayOutcome]:
        """The best day there is: its outing, and a night outside if the morning after holds.

        A night place whose morning does not hold is struck off, and the day is chosen anew.
        """
        batch, scene = run.batch, self.scene
        minutes = self.garden.carer.minutes(batch.trays)
        look = self._look(run, day, book)
        question, bars = self._question(run, day, look.asked, minutes, book)
        limits, judged = look.limits, look.judged
        allowed = limits.nights_out
        next_times = self._next_morning(day, minutes, tomorrow) if allowed else ()
        places = self._night_places(judged, question.table, scene.is_known(day)) if next_times else ()
        blocked = _barred_night(question.table, places)
        while True:
            route = yield replace(question, night_places=places)
            taken = route if route is not None else staying_inside(question)
            outcome = self._earned(run, day, limits, question, bars, taken)
            if route is None or not route.night_out:
                break
            place = route.places[-1]
            against = self._morning_against(run, outcome, day, place, next_times[0])
            if against is None:
                run.kept_carry = tomorrow.book_carry(next_times[0], minutes)
                break
            blocked = against
            places = tuple(other for other in places if other != place)
        self._book(outcome, batch, book, minutes, question.table)
        chosen = outcome.route.places[-1] if outcome.route is not None else INSIDE_AT
        night = NightOutcome(
            allowed=allowed,
            absent=allowed and not next_times,
            spots=judged,
            chosen=None if chosen == INSIDE_AT else question.table.names[chosen],
            blocked=blocked,
        )
        return replace(outcome, night=night)

    def _look(self, run: Run, day: int, book: DayBook) -> Look:
        """What does not depend on what other batches take, worked out once a day."""
        batch = run.batch
        if batch.name not in book.looks:
            limits = self.limits(batch, run.state, day, run.hardened)
            judged = self.watch.spots(batch, limits, self.scene.dates[day])
            book.looks[batch.name] = Look(limits, self._asked(run, day, limits), judged)
        return book.looks[batch.name]

    def _asked(self, run: Run, day: int, limits: DayLimits) -> Asked:
        batch, scene = run.batch, self.scene
        return Asked(
            limits=limits,
            hours=min(limits.outdoor_h, scene.sun_up_h(day)),
            light_mol=min(limits.light_mol, max(self.clear_day_mol(batch, day), 1.0)),
            weights=self._weights(run, day),
            nights_needed=run.state.cold < nights_needed(batch),
            longer_only=batch.way == "longer",
            used_to_mol=run.state.light_mol,
        )

    def _weights(self, run: Run, day: int) -> Weights:
        left = DaysLeft.of(run.batch, run.state, self.clear_day_mol(run.batch, day), self.indoor_mol(run.batch))
        return weights(replace(left, light=0.0) if run.hardened else left)

    def _question(self, run: Run, day: int, asked: Asked, minutes: float, book: DayBook) -> tuple[Question, Gates]:
        scene = self.scene
        table, bars = self._offered(run, day, asked.limits, book)
        times = move_times(scene, day, self.garden.carer, minutes, book)
        question = Question(
            table=table,
            asked=asked,
            start_at=table.names.index(run.place),
            times=times if run.place == INSIDE else morning_times(scene, day, times),
            moves_most=self.garden.carer.moves_per_day,
            night_places=(),
        )
        return question, bars

    def _offered(self, run: Run, day: int, limits: DayLimits, book: DayBook) -> tuple[DayTable, Gates]:
        """What each place offers on a day, and what bars it; worked out once for batches that are alike."""
        batch, scene, chilled = run.batch, self.scene, run.state.chilled_night
        at = scene.slots(day)
        full = [book.full(track, batch.trays, at.stop - at.start) for track in scene.tracks]
        lamp = lamp_of(batch, self.garden)
        crowded = tuple(each.tobytes() if each.any() else None for each in full)
        key = (batch.crop, limits, chilled, batch.waits, lamp, crowded)
        if key not in book.tables:
            bars = gates(scene, day, scene.tracks, batch.crop, limits, self.margins, chilled=chilled, full=full)
            waits = None if batch.waits is None else scene.track(batch.waits)
            light = indoor_quarters(batch, self.garden, scene, day)
            book.tables[key] = day_table(scene, day, bars, limits.gust_m_s, light, waits), bars
        return book.tables[key]

    def _next_morning(self, day: int, minutes: float, tomorrow: DayBook) -> tuple[int, ...]:
        """When it could be carried in on the morning after."""
        if day + 1 >= len(self.scene.dates):
            return ()
        times = move_times(self.scene, day + 1, self.garden.carer, minutes, tomorrow)
        return morning_times(self.scene, day + 1, times)

    def _night_places(
        self, judged: Mapping[str, tuple[SpotNight | None, Judgement]], table: DayTable, known: bool
    ) -> tuple[int, ...]:
        """Places where the night may be spent outside; past the forecast, anywhere."""
        if not known:
            return tuple(range(1, len(table.names)))
        return tuple(
            table.names.index(name) for name, (_, verdict) in judged.items() if verdict.verdict in ("out", "cover")
        )

    def _earned(
        self,
        run: Run,
        day: int,
        limits: DayLimits,
        question: Question,
        bars: Gates,
        taken: Route,
        *,
        damage: bool = False,
    ) -> DayOutcome:
        """What a route gives: its credit, unless damage was seen, and the state of the next morning."""
        batch, gained = run.batch, self._gained(day, limits, question, taken, damage=damage)
        way: Way | None = None
        if gained.went_out:
            way = "sheltered" if _credit_of(question.asked, taken).sheltered else "longer"
        return DayOutcome(
            date=self.scene.dates[day],
            stage="hardened" if run.hardened else "ramp",
            state=run.state,
            limits=limits,
            table=question.table,
            bars=bars,
            route=taken,
            asked=question.asked,
            times=question.times,
            moves_most=question.moves_most,
            went_out=gained.went_out,
            way=way,
            air_credit=gained.air,
            sun_credit=gained.sun,
            night=NightOutcome(False, False, {}, None),
            after=after_day(run.state, gained, end=batch.rule.length, loses_cold=self.loses_cold(batch)),
        )

    def _gained(self, day: int, limits: DayLimits, question: Question, taken: Route, *, damage: bool) -> DayEarned:
        """What a route gives the plants: nothing on air and sun if it stays inside, or if damage was seen."""
        names = question.table.names
        went_out = any(place != INSIDE_AT for place, _, _ in taken.stays(question.table.quarters))
        earned = _credit_of(question.asked, taken) if went_out and not damage else None
        chilled = taken.night_out and self.watch.is_chilled(limits, self.scene.dates[day], names[taken.places[-1]])
        return DayEarned(
            air=0.0 if earned is None else float(earned.air),
            sun=0.0 if earned is None else float(earned.sun),
            night_out=taken.night_out,
            went_out=went_out,
            light_mol=_met_mol(taken),
            chilled_night=chilled,
        )

    def told_day(self, run: Run, day: int, done: DayDone) -> DayOutcome:
        """A day as it was told, with the hours in hand: gates and limits do not undo what was done."""
        limits = self.limits(run.batch, run.state, day, run.hardened)
        question, bars = self._question(run, day, self._asked(run, day, limits), 0.0, DayBook())
        question = replace(question, asked=replace(question.asked, grace_h=TOLD_GRACE_H))
        if done.how in ("as_planned", "unsaid"):
            planned = self.planned_day(replace(run), day, DayBook(), DayBook()).route
            route = planned if planned is not None else staying_inside(question)
        elif done.how == "inside":
            route = route_of(question, self.scene, day, ())
        else:
            route = route_of(question, self.scene, day, done.stays)
        if done.out_until is not None:
            route = fetched_later(question, self.scene, day, route, done.out_until)
        route = with_sun_noted(question.table, self.scene, day, route, done.sun)
        outcome = self._earned(run, day, limits, question, bars, route, damage=done.damage)
        chosen = None if not route.night_out else question.table.names[route.places[-1]]
        judged = self.watch.spots(run.batch, limits, self.scene.dates[day])
        night = NightOutcome(limits.nights_out, False, judged, chosen)
        return replace(outcome, night=night, told=done.how != "unsaid")

    def planted_day(self, run: Run, day: int) -> DayOutcome:
        """A day in the final place: nothing is carried, the nights are watched."""
        limits = self.limits(run.batch, run.state, day, True)
        spot = self.planting_track(run.batch).spot.name
        judged = self.watch.spots(run.batch, limits, self.scene.dates[day])
        return DayOutcome(
            date=self.scene.dates[day],
            stage="planted",
            state=run.state,
            limits=limits,
            went_out=True,
            night=NightOutcome(True, False, judged, spot),
            after=run.state,
        )

    def _morning_against(
        self, run: Run, outcome: DayOutcome, day: int, place: int, first_move: int
    ) -> Blocked | None:
        """What speaks against the stay from midnight to the next day's first move; None: nothing."""
        if day + 1 >= len(self.scene.dates):
            return None
        batch, state = run.batch, outcome.after
        hardened = run.hardened or self.hardened(batch, state, day)
        limits = self.limits(batch, state, day + 1, hardened)
        track = self.scene.tracks[place - 1]
        bars = gates(self.scene, day + 1, (track,), batch.crop, limits, self.margins, chilled=state.chilled_night)
        (gate,) = bars.by_spot()
        begin = self.scene.starts[day + 1]
        stay = slice(begin, begin + first_move)
        lamp = float(indoor_quarters(batch, self.garden, self.scene, day + 1)[first_move:].sum())
        light = float(track.light_most_mol[stay].sum()) + lamp
        sun = float(track.sun_clear_h[stay].sum())
        barred = gate.carried(self.scene.sunrises[day + 1] - begin)[:first_move]
        if barred.any():
            return "unknown" if gate.unknown[:first_move][barred].all() else "weather"
        return "rule" if sun > limits.sun_h or light > limits.light_mol else None

    def _book(self, outcome: DayOutcome, batch: Batch, book: DayBook, minutes: float, table: DayTable) -> None:
        route = outcome.route
        if route is None:
            return
        for quarter in route.moves:
            book.book_carry(quarter, minutes)
        for place, begin, end in route.stays(table.quarters):
            if place != INSIDE_AT:
                room = self.scene.tracks[place - 1].room
                book.book_stay(room, begin, end, batch.trays, table.quarters)


def _barred_night(table: DayTable, places: tuple[int, ...]) -> Blocked | None:
    """Whether gusts, rain or missing hours bar every one of these places after sunset."""
    dark = table.barred_overnight[:, -1] - table.barred_overnight[:, table.dusk]
    return "weather" if places and all(dark[place] > 0.0 for place in places) else None


def _credit_of(asked: Asked, route: Route) -> Credit:
    """The credit of one route."""
    return credit(route.totals, marks_of(asked))


def _met_mol(route: Route) -> float | None:
    """Likely light of the whole day [mol/m2]; None where the forecast has no radiation."""
    if route.totals[Sum.UNKNOWN] > 0.0:
        return None
    return float(route.totals[Sum.LIGHT_LIKELY])
