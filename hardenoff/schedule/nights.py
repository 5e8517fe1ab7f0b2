"""A batch's night as an answer: the verdict, why, what has to be done, and the numbers behind it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta

from hardenoff.night import Judgement, SpotNight
from hardenoff.ramp.outcome import DayOutcome
from hardenoff.ramp.plan import Planner
from hardenoff.ramp.table import INSIDE_AT
from hardenoff.records import Batch, Risk
from hardenoff.schedule.records import (
    BatchNight,
    NightAction,
    NightAnswer,
    NightBecause,
    NightDecider,
    NightVerdict,
    WatchedNight,
)
from hardenoff.schedule.why import night_reasons

_BEST_FIRST = {"out": 0, "cover": 1, "in": 2, "unknown": 3}


def night_answer(
    planner: Planner, batch: Batch, day: DayOutcome, now: datetime, before: DayOutcome | None = None
) -> NightAnswer | None:
    """The night that begins on the outcome's date; None past the forecast. `before`: the day before's outcome."""
    weather = planner.watch.weather(day.date)
    if weather is None or not day.night.spots:
        return None
    spot, (low, judged) = _reported(day)
    verdict, because = _verdict(day, judged)
    learned = planner.watch.offset(day.date, spot)
    return NightAnswer(
        evening=day.date,
        morning=day.date + timedelta(days=1),
        spot=spot,
        air_low_c=None if low is None else low.air_low_c,
        leaf_low_c=None if low is None else low.leaf_low_c,
        low_1_in_10_c=None if low is None else low.low_1_in_10_c,
        check_below_c=day.limits.check_below_c,
        harm_below_c=day.limits.harm_below_c,
        odds_check=judged.odds_check,
        odds_harm=judged.odds_harm,
        verdict=verdict,
        because=because,
        action=_action(planner, day, verdict, now, covered_spot(before) is not None),
        low_at=weather.low_at if weather.known else None,
        forecast_low_c=weather.air_low_c if weather.known else None,
        offset_c=None if low is None else low.forecast_low_c - low.air_low_c,
        offset_nights=0 if learned is None else learned.nights,
        offset_regime=None if learned is None else learned.regime,
        decided_by=_decided_by(judged, planner.garden.risk),
    )


def _decided_by(judged: Judgement, risk: Risk) -> NightDecider | None:
    """Which of the two odds is more than the grower risks, without a cover; None where the night is unknown."""
    if judged.odds_check is None or judged.odds_harm is None:
        return None
    if judged.odds_check > risk.check:
        return "check"
    return "harm" if judged.odds_harm > risk.harm else "none"


def covered_spot(day: DayOutcome | None) -> str | None:
    """The spot where a batch spends the night under a cover; None if it does not."""
    chosen = None if day is None else day.night.chosen
    if day is None or chosen is None or chosen not in day.night.spots:
        return None
    return chosen if day.night.spots[chosen][1].verdict == "cover" else None


def _reported(day: DayOutcome) -> tuple[str, tuple[SpotNight | None, Judgement]]:
    """The spot the numbers are for: where it stays, else the kindest, among equals where it stood last."""
    spots = day.night.spots
    if day.night.chosen is not None:
        return day.night.chosen, spots[day.night.chosen]

    last = _last_stand(day)

    def gentleness(name: str) -> tuple[int, bool, float, float]:
        low, judged = spots[name]
        if low is None or judged.odds_harm is None:
            return (_BEST_FIRST[judged.verdict], name != last, 1.0, 0.0)
        return (_BEST_FIRST[judged.verdict], name != last, judged.odds_harm, -low.leaf_low_c)

    name = min(spots, key=gentleness)
    return name, spots[name]


def _last_stand(day: DayOutcome) -> str | None:
    if day.route is None or day.table is None:
        return None
    outside = [place for place in day.route.places if place != INSIDE_AT]
    return day.table.names[outside[-1]] if outside else None


def _verdict(day: DayOutcome, judged: Judgement) -> tuple[NightVerdict, NightBecause]:
    if judged.verdict == "unknown":
        return "unknown", "unknown"
    if day.night.chosen is not None:
        return judged.verdict, "weather" if judged.verdict == "in" else "none"
    if judged.verdict == "in":
        return "in", "weather"
    if not day.night.allowed:
        return "in", "rule"
    if day.night.absent or not day.times:
        return "in", "absent"
    return "in", day.night.blocked or "none"


def _action(
    planner: Planner, day: DayOutcome, verdict: NightVerdict, now: datetime, was_covered: bool
) -> NightAction:
    """What has to be done: nothing, if it is inside by then anyway and no longer outside at `now`.

    What is planted can't be brought in: it is covered, with whatever there is. A cover of the night before comes
    off where none is needed.
    """
    if verdict == "cover" or (verdict == "in" and day.stage == "planted"):
        return "cover"
    if verdict == "out":
        return "uncover" if was_covered else "none"
    return "bring_in" if _stands_out_after(planner, day, now) else "none"


def _stands_out_after(planner: Planner, day: DayOutcome, now: datetime) -> bool:
    """Whether any outing of the date ends after `now`."""
    if day.route is None or day.table is None:
        return False
    begin = planner.scene.begin(day.date)
    return any(
        place != INSIDE_AT and planner.scene.moment(begin + end) > now
        for place, _, end in day.route.stays(day.table.quarters)
    )


def watched_nights(
    planner: Planner, batches: tuple[Batch, ...], plans: dict[str, tuple[DayOutcome, ...]], now: datetime
) -> tuple[WatchedNight, ...]:
    """The running night, if it is before sunrise, and the coming one."""
    today = planner.today
    before_dawn = now < dawn(planner)
    evenings = ([today - timedelta(days=1)] if before_dawn else []) + [today]
    found = []
    for evening in evenings:
        rows = []
        for batch in batches:
            by_date = {day.date: day for day in plans[batch.name]}
            day = by_date.get(evening) or _inside_all_night(planner, batch, by_date[today], evening)
            before = by_date.get(evening - timedelta(days=1))
            answer = night_answer(planner, batch, day, now, before)
            if answer is not None:
                said = night_reasons(planner, batch, day)
                rows.append(BatchNight(batch.name, batch.crop.name, batch.trays, day.stage, answer, said))
        if rows:
            found.append(WatchedNight(evening, evening + timedelta(days=1), evening < today, tuple(rows)))
    return tuple(found)


def dawn(planner: Planner) -> datetime:
    """Sunrise of today; 07:00 where the sun does not rise."""
    scene = planner.scene
    return scene.moment(scene.sunrises[scene.index(planner.today)])


def _inside_all_night(planner: Planner, batch: Batch, today: DayOutcome, evening: date) -> DayOutcome:
    """A night before the first planned date: the batch was inside."""
    spots = planner.watch.spots(batch, today.limits, evening)
    return replace(
        today, date=evening, route=None, night=replace(today.night, spots=spots, chosen=None, absent=False)
    )
