"""One run each: a player with a batch, a carer and a first day; and one date of many runs at once.

`step` is the whole inner loop of a trial: all runs of a place live one date together, so that what they share (the
date's weather, the sun at the spots, a seed's forecast) is worked out once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from itertools import pairwise

import numpy as np

from hardenoff.ramp.capacity import DayBook, morning_times, move_times
from hardenoff.ramp.credit import Ints
from hardenoff.ramp.day import DayPlanner, Run
from hardenoff.ramp.finish import sun_and_air_done
from hardenoff.ramp.logbook import DayDone, Stay
from hardenoff.ramp.outcome import DayOutcome
from hardenoff.ramp.scene import Scene
from hardenoff.ramp.table import Margins
from hardenoff.records import INSIDE, Garden
from hardenoff.trial.charts import Corners, Outing, kept_in, left_out, row_outing
from hardenoff.trial.harm import allowed, harm_of, morning_after
from hardenoff.trial.records import LONGEST_DAYS, Costs, Harm, Player, RunResult
from hardenoff.trial.season import CERTAIN, Morning, Season

NO_MARGINS = Margins(air_c=0.0, gust=1.0)


@dataclass(frozen=True, slots=True)
class Lived:
    """A date as it was spent: where, and what of it was a hold."""

    outing: Outing
    held: bool = False
    false_alarm: bool = False
    night_held: bool = False
    night_false_alarm: bool = False


@dataclass(slots=True)
class Lane:
    """A run on its way. `garden` has one batch and the run's carer."""

    player: Player
    carer: str
    garden: Garden
    start: date
    seed: int | None
    run: Run
    """What the plants are used to, by the weather as it was (planner, foresight)."""
    row: int = 1
    """Of the rule (charts)."""
    place: int = 0
    """At 00:00."""
    days_out: int = 0
    through: date | None = None
    harm: Harm = field(default_factory=Harm)
    costs: Costs = field(default_factory=Costs)
    log: list[tuple[date, Lived, Harm]] = field(default_factory=list)

    def is_on(self, on: date) -> bool:
        """Whether the run lives this date."""
        return self.through is None and self.start <= on < self.start + timedelta(days=LONGEST_DAYS)

    def result(self) -> RunResult:
        """What came of it."""
        return RunResult(
            player=self.player,
            crop=self.garden.batches[0].crop.key,
            carer=self.carer,
            start=self.start,
            seed=self.seed,
            days=None if self.through is None else (self.through - self.start).days + 1,
            harm=self.harm,
            costs=self.costs,
        )


def step(season: Season, lanes: Sequence[Lane], on: date) -> None:
    """All runs that are on live one date."""
    told: dict[int | None, Morning] = {None: season.as_it_was(on, season.garden.risk)}
    known = season.as_it_was(on, CERTAIN)
    for lane in lanes:
        if not lane.is_on(on):
            continue
        if lane.seed not in told:
            assert lane.seed is not None
            told[lane.seed] = season.as_forecast(on, lane.seed, season.garden.risk)
        lived = _DAYS[lane.player](season, lane, on, told[lane.seed], known)
        _account(season, lane, on, lived)


def _account(season: Season, lane: Lane, on: date, lived: Lived) -> None:
    """Count a date's harm and costs, and stand where it ended."""
    where, moves = lived.outing.where, lived.outing.moves
    batch = lane.garden.batches[0]
    lane.days_out += bool((where > 0).any())
    harm = harm_of(season, on, where, allowed(batch, lane.days_out))
    lane.place = int(where[-1])
    if lane.place and lane.through == on:
        harm = harm.plus(_tail(season, lane, on))
    lane.harm = lane.harm.plus(harm)
    lane.costs = lane.costs.plus(
        Costs(
            nights_out=int(where[-1] > 0),
            moves=moves,
            minutes=moves * lane.garden.carer.minutes(batch.trays),
            days_held=int(lived.held),
            false_alarm_days=int(lived.false_alarm),
            nights_held=int(lived.night_held),
            false_alarm_nights=int(lived.night_false_alarm),
        )
    )
    lane.log.append((on, lived, harm))


def _tail(season: Season, lane: Lane, on: date) -> Harm:
    """The rest of a last night outside."""
    limits = allowed(lane.garden.batches[0], lane.days_out + 1)
    return replace(morning_after(season, on + timedelta(days=1), lane.place, limits), sun_h=0.0)


# --- the planner -----------------------------------------------------------------------------------


def _planned(season: Season, lane: Lane, on: date, told: Morning, known: Morning) -> Lived:
    return _as_planned(season, lane, on, told, known, Margins())


def _foreseen(season: Season, lane: Lane, on: date, told: Morning, known: Morning) -> Lived:
    return _as_planned(season, lane, on, known, known, NO_MARGINS)


def _as_planned(season: Season, lane: Lane, on: date, told: Morning, known: Morning, margins: Margins) -> Lived:
    """This morning's plan, of which today's route and night are carried out; then the day as it was."""
    seen = DayPlanner(garden=lane.garden, scene=told.scene, watch=told.watch, margins=margins)
    plan = seen.planned_day(_again(lane.run), told.day, DayBook(), DayBook())
    outing = _outing(plan, _quarters(season, on))
    was = DayPlanner(garden=lane.garden, scene=known.scene, watch=known.watch, margins=NO_MARGINS)
    lived = was.told_day(lane.run, known.day, _done(season, on, outing.where))
    held = not plan.went_out and plan.could_move
    kept = plan.night.allowed and plan.night.chosen is None
    result = Lived(
        outing,
        held=held,
        false_alarm=held and was.planned_day(_again(lane.run), known.day, DayBook(), DayBook()).went_out,
        night_held=kept,
        night_false_alarm=kept and _night_was_fine(was, lane, on, plan),
    )
    lane.run.state = lived.after
    lane.run.place = _name(known.scene, int(outing.where[-1]))
    if sun_and_air_done(lane.run.batch, lane.run.state):
        lane.through = on
    return result


def _again(run: Run) -> Run:
    """The run as it stands, for a plan that leaves it alone."""
    return replace(run, kept_carry=None, days=[])


def _night_was_fine(was: DayPlanner, lane: Lane, on: date, plan: DayOutcome) -> bool:
    judged = was.watch.spots(lane.run.batch, plan.limits, on)
    return any(verdict.verdict == "out" for _, verdict in judged.values())


def _outing(plan: DayOutcome, quarters: int) -> Outing:
    assert plan.route is not None
    where = np.zeros(quarters, dtype=np.int64)
    for place, begin, end in plan.route.stays(quarters):
        where[begin:end] = place
    return Outing(where, len(plan.route.moves))


def _done(season: Season, on: date, where: Ints) -> DayDone:
    """The day in the journal's words."""
    begin = season.scene.begin(on)
    edges = [0, *(np.flatnonzero(np.diff(where)) + 1), len(where)]
    stays = tuple(
        Stay(
            _name(season.scene, int(where[first])),
            season.scene.moment(begin + int(first)),
            season.scene.moment(begin + int(end)),
        )
        for first, end in pairwise(edges)
        if where[first] > 0
    )
    return DayDone("stays", stays) if stays else DayDone("inside")


def _name(scene: Scene, place: int) -> str:
    return scene.tracks[place - 1].spot.name if place else INSIDE


def _quarters(season: Season, on: date) -> int:
    at = season.scene.slots(season.day(on))
    return int(at.stop - at.start)


# --- the charts ------------------------------------------------------------------------------------


def _by_calendar(season: Season, lane: Lane, on: date, told: Morning, known: Morning) -> Lived:
    row = lane.run.batch.rule.rows[lane.row - 1]
    outing = row_outing(
        row,
        _times(season, lane, on),
        _corners(season, on),
        quarters=_quarters(season, on),
        begins_at=lane.place,
        night_out=row.nights_out,
    )
    _next_row(lane, on)
    return Lived(outing)


def _with_thermometer(season: Season, lane: Lane, on: date, told: Morning, known: Morning) -> Lived:
    """The day is held if the thermometer, when the tray is to go out (or at nine, if it is out already), stands
    below the rule's least air; the row is then tried again tomorrow. A night is held if this morning's forecast
    low is below the check limit, or unknown; the row counts all the same."""
    row, times = lane.run.batch.rule.rows[lane.row - 1], _times(season, lane, on)
    corners, quarters = _corners(season, on), _quarters(season, on)
    limits = allowed(lane.run.batch, lane.days_out + 1)
    low = told.watch.low(on, told.scene.tracks[corners.shady - 1].spot.name)
    night = row.nights_out and low is not None and low.air_low_c >= limits.check_below_c
    wanted = row_outing(row, times, corners, quarters=quarters, begins_at=lane.place, night_out=night)
    air = season.scene.air_c[season.scene.slots(season.day(on))]
    looked = _looked_at(wanted.where, lane.place)
    if not air[looked] >= limits.least_air_c:
        day = (wanted.where > 0) & (np.arange(quarters) >= looked)
        fine = bool((air[day] >= limits.least_air_c).all())
        return Lived(kept_in(times, quarters=quarters, begins_at=lane.place), held=True, false_alarm=fine)
    _next_row(lane, on)
    kept = row.nights_out and not night
    true_low = known.watch.low(on, season.scene.tracks[corners.shady - 1].spot.name)
    fine = kept and true_low is not None and true_low.air_low_c >= limits.check_below_c
    return Lived(wanted, night_held=kept, night_false_alarm=fine)


def _looked_at(where: Ints, begins_at: int) -> int:
    """The quarter hour at which the thermometer is read: when it goes out, else at the first carry."""
    moved = np.flatnonzero(np.diff(where)) + 1
    if begins_at or not len(moved):
        return int(moved[0]) if len(moved) else 36
    return int(moved[0])


def _straight_out(season: Season, lane: Lane, on: date, told: Morning, known: Morning) -> Lived:
    outing = left_out(
        _times(season, lane, on), _corners(season, on), quarters=_quarters(season, on), begins_at=lane.place
    )
    _next_row(lane, on)
    return Lived(outing)


def _next_row(lane: Lane, on: date) -> None:
    """The row is done; after the last one the chart is through."""
    if lane.row == lane.run.batch.rule.length:
        lane.through = on
    lane.row += 1


def _times(season: Season, lane: Lane, on: date) -> tuple[int, ...]:
    """When the carer can carry; after a night outside, once the night is over."""
    day = season.day(on)
    minutes = lane.garden.carer.minutes(lane.run.batch.trays)
    times = move_times(season.scene, day, lane.garden.carer, minutes, DayBook())
    return morning_times(season.scene, day, times) if lane.place else times


def _corners(season: Season, on: date) -> Corners:
    """The sunniest and the shadiest spot of a clear day."""
    at = season.scene.slots(season.day(on))
    hours = [float(track.sun_clear_h[at].sum()) for track in season.scene.tracks]
    return Corners(sunny=int(np.argmax(hours)) + 1, shady=int(np.argmin(hours)) + 1)


_DAYS = {
    "planner": _planned,
    "foresight": _foreseen,
    "chart": _by_calendar,
    "thermometer": _with_thermometer,
    "straight": _straight_out,
}
