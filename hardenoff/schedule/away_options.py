"""One batch and an absence: what each way loses, what it asks, and its risk in words with the number behind it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta

from hardenoff.dates import night_of
from hardenoff.night import judge
from hardenoff.ramp.outcome import DayOutcome
from hardenoff.ramp.plan import Planner
from hardenoff.ramp.watch import UNKNOWN
from hardenoff.records import Batch
from hardenoff.schedule.away_records import AwayBatch, AwayOption, AwayWay, SpotTried
from hardenoff.schedule.leaving import Leaving, Plans
from hardenoff.schedule.records import Reason
from hardenoff.schedule.unattended import Trial, moment


@dataclass(frozen=True, slots=True)
class Planned:
    """All batches planned with one carer, or as left."""

    planner: Planner
    plans: Plans


@dataclass(frozen=True, slots=True)
class Absence:
    """The dates, and the garden planned in every way."""

    first: date
    last: date
    home: Planned
    hold: Planned
    left: Planned
    helped: Planned
    leaving: dict[str, Leaving]


def compared(absence: Absence, batch: Batch) -> AwayBatch:
    """The three ways of one batch, and the one that loses fewest days without a broken limit."""
    home = absence.home.planner.hardened_on(batch, absence.home.plans[batch.name])
    before = home is not None and home < absence.first
    options = (
        _held(absence, batch, before),
        _left(absence, batch, before),
        _helped(absence, batch, before),
    )
    return AwayBatch(
        batch=batch.name,
        crop=batch.crop.name,
        trays=batch.trays,
        home=home,
        hardened_before=before,
        options=options,
        best=min((option for option in options if option.allowed), key=_cost).way,
    )


def _cost(option: AwayOption) -> tuple[float, float]:
    """Fewest days lost first, then least work; a finish that is not in sight comes last."""
    return (float("inf") if option.days_lost is None else option.days_lost, option.minutes)


def _held(absence: Absence, batch: Batch, before: bool) -> AwayOption:
    reasons = (_unwatered(absence, "inside no weather reaches them; nobody waters"),)
    return _option("hold", absence, absence.hold, batch, before, reasons)


def _left(absence: Absence, batch: Batch, before: bool) -> AwayOption:
    leaving = absence.leaving[batch.name]
    tried = tuple(_tried(absence.left.planner, trial) for trial in leaving.trials)
    best = leaving.best
    if best is None:
        why = leaving.why_not or next(each.why for each in tried if each.why is not None)
        return AwayOption("leave", False, None, None, 0, 0.0, 0, None, None, (), (why,), spots=tried)
    reasons = (_unwatered(absence, "nobody is there if the forecast is wrong, and nobody waters"),)
    option = _option("leave", absence, absence.left, batch, before, reasons, moves=2)
    planner = absence.left.planner
    put_at, fetch_at = moment(planner, best.put), moment(planner, best.fetch)
    return replace(option, spot=best.spot, put_at=put_at, fetch_at=fetch_at, spots=tried)


def _tried(planner: Planner, trial: Trial) -> SpotTried:
    if trial.failure is None:
        return SpotTried(trial.spot, True)
    return SpotTried(trial.spot, False, moment(planner, trial.failure.at), trial.failure.why)


def _helped(absence: Absence, batch: Batch, before: bool) -> AwayOption:
    days = _absent_days(absence, absence.helped, batch)
    moves = sum(0 if day.route is None else len(day.route.moves) for day in days)
    beyond = sum(not _is_known(absence.helped.planner, day.date) for day in days)
    last = "the last day is" if beyond == 1 else f"the last {beyond} days are"
    text = f"{last} past the forecast and taken as settled: the sitter needs a new sheet by then"
    reasons = (Reason("beyond", text),) if beyond else ()
    return _option("sitter", absence, absence.helped, batch, before, reasons, moves=moves)


def _option(
    way: AwayWay,
    absence: Absence,
    planned: Planned,
    batch: Batch,
    before: bool,
    reasons: tuple[Reason, ...],
    *,
    moves: int = 0,
) -> AwayOption:
    """A way that is allowed: its finish, its nights, its work."""
    planner, days = planned.planner, planned.plans[batch.name]
    on = _ready(planner, batch, days, absence.last if before else None)
    at_home = _ready(absence.home.planner, batch, absence.home.plans[batch.name], absence.last if before else None)
    odds = _nights(absence, planned, batch)
    worst = max(odds, key=lambda evening: odds[evening], default=None)
    unknown = _unknown_nights(absence, planner) if way == "sitter" else ()
    return AwayOption(
        way=way,
        allowed=True,
        hardened_on=on,
        days_lost=None if on is None or at_home is None else (on - at_home).days,
        moves=moves,
        minutes=moves * planner.garden.carer.minutes(batch.trays),
        nights_out=len(odds),
        odds_harm=None if worst is None else odds[worst],
        worst_night=worst,
        unknown_nights=unknown,
        reasons=(*_harm(planner, odds, worst), *reasons, _ramp(absence, days)),
    )


def _ready(planner: Planner, batch: Batch, days: tuple[DayOutcome, ...], since: date | None) -> date | None:
    """When it is hardened; with `since`, when it is still so, or so again, from that date on."""
    return planner.hardened_on(batch, tuple(day for day in days if since is None or day.date >= since))


# --- the risk, in words and numbers ------------------------------------------------------------------


def _nights(absence: Absence, planned: Planned, batch: Batch) -> dict[date, float]:
    """Nights of the absence spent outside, by evening, with their odds of harm; none past the forecast."""
    day_before = absence.first - timedelta(days=1)
    found: dict[date, float] = {}
    for day in planned.plans[batch.name]:
        odds = _odds_harm(planned.planner, day)
        if day_before <= day.date <= absence.last and odds is not None:
            found[day.date] = odds
    return found


def _odds_harm(planner: Planner, day: DayOutcome) -> float | None:
    """Odds of harm of the night that follows, with its cover if it gets one; None inside or past the forecast."""
    spot = day.night.chosen
    low, judged = (None, UNKNOWN) if spot is None else day.night.spots.get(spot, (None, UNKNOWN))
    if spot is None or low is None or judged.verdict != "cover":
        return judged.odds_harm
    gain_c = planner.scene.track(spot).spot.cover_c or 0.0
    return judge(
        replace(low, air_low_c=low.air_low_c + gain_c, leaf_low_c=low.leaf_low_c + gain_c),
        check_below_c=day.limits.check_below_c,
        harm_below_c=day.limits.harm_below_c,
        risk=planner.garden.risk,
        cover_c=None,
    ).odds_harm


def _unknown_nights(absence: Absence, planner: Planner) -> tuple[date, ...]:
    count = (absence.last - absence.first).days + 2
    evenings = [absence.first + timedelta(days=n - 1) for n in range(count)]
    weather = {evening: planner.watch.weather(evening) for evening in evenings}
    return tuple(evening for evening, night in weather.items() if night is None or not night.known)


def _harm(planner: Planner, odds: dict[date, float], worst: date | None) -> tuple[Reason, ...]:
    """The night with the largest odds of harm: those of all nights together are no less."""
    if worst is None:
        return ()
    of_all = "" if len(odds) == 1 else f"; of all {len(odds)} nights outside together at least that"
    text = f"odds of harm in the night {night_of(worst, worst + timedelta(days=1))}{of_all}"
    return (Reason("odds_harm", text, odds[worst], planner.garden.risk.harm, "1"),)


def _unwatered(absence: Absence, text: str) -> Reason:
    days = (absence.last - absence.first).days + 1
    return Reason("unwatered", f"{text} for {'a day' if days == 1 else f'{days} days'}")


def _ramp(absence: Absence, days: tuple[DayOutcome, ...]) -> Reason:
    """How far it is on the ramp on leaving, and on the first morning back."""
    by_date = {day.date: day.state.ramp_days for day in days}
    leaves, returns = by_date[absence.first], by_date[absence.last + timedelta(days=1)]
    return Reason("ramp", f"ramp-days: {leaves:.1f} on leaving, {returns:.1f} on coming back")


def _absent_days(absence: Absence, planned: Planned, batch: Batch) -> list[DayOutcome]:
    return [day for day in planned.plans[batch.name] if absence.first <= day.date <= absence.last]


def _is_known(planner: Planner, on: date) -> bool:
    return planner.scene.is_known(planner.scene.index(on))
