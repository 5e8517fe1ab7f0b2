"""An absence in three ways: what holds, what fails first, how many days each loses, and what a sitter is asked.

The rules of choice are ours; that plants left alone are held to the worst the sky can do is the planner's own law.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, time, timedelta
from typing import Any

import numpy as np
import pytest
from weather import FIRST, MORNING, NOTE, OPEN, PLACE, SHADED, WORK, Weather, garden, hand_state, on_dates

from hardenoff.forecast.hours import Forecast
from hardenoff.ramp.logbook import BatchLog, DayDone, Stay
from hardenoff.ramp.plan import Planner
from hardenoff.records import Garden, Span, Spot
from hardenoff.schedule.away import compare_away
from hardenoff.schedule.away_records import AwayBatch, AwayComparison, SpotTried
from hardenoff.schedule.leaving import leave_all
from hardenoff.schedule.plans import plan_all
from hardenoff.sun.light import with_radiation

DAY = timedelta(days=1)
LEAVES, RETURNS = FIRST + DAY, FIRST + 2 * DAY
"""The first and the last day away."""
NEARLY = hand_state(air=10.0, sun=9.0, cold=0.0, light_mol=20.0)
"""A ramp-day or two short of hardened: nights outside are due."""
MIDDLE = hand_state(air=5.0, sun=5.0, light_mol=16.0)


def at(on: date, hour: int, minute: int = 0) -> datetime:
    """A wall-clock time of the place."""
    return datetime.combine(on, time(hour, minute), PLACE.tz)


def compare(
    of: Garden,
    forecast: Forecast | None = None,
    first: date = LEAVES,
    last: date = RETURNS,
    now: datetime | None = None,
    **more: Any,
) -> AwayComparison:
    """A comparison at 06:00 of the first day, in settled weather unless a forecast is given."""
    hours = Weather(days=8).forecast() if forecast is None else forecast
    return compare_away(of, hours, now or at(FIRST, 6), NOTE, first, last, **more)


def only(comparison: AwayComparison) -> AwayBatch:
    """The one batch."""
    (batch,) = comparison.batches
    return batch


def tried(batch: AwayBatch, spot: Spot) -> SpotTried:
    """What came of leaving it at a spot."""
    return next(one for one in batch.option("leave").spots if one.spot == spot.name)


def changed(on: date, hours: list[int], weather: Weather | None = None, **columns: float) -> Forecast:
    """Settled weather with other values in some local hours of a date."""
    weather = weather or Weather(days=8)
    frame = weather.frame()
    local = frame.index.tz_convert(PLACE.tz)
    for name, value in columns.items():
        frame.loc[(local.date == on) & np.isin(local.hour, hours), name] = value
    return weather.forecast(frame)


@pytest.fixture(scope="module")
def settled() -> AwayComparison:
    """Two mild, settled days away, for plants that may stay out at night."""
    return compare(garden(state=NEARLY))


# --- the recommendation ----------------------------------------------------------------------------


def test_in_mild_settled_days_a_shaded_spot_is_taken(settled: AwayComparison) -> None:
    """It loses no more than a sitter would, with less carrying, and no open spot is asked for."""
    batch = only(settled)
    left = batch.option("leave")
    assert batch.best == "leave"
    assert left.spot in (SHADED.name, MORNING.name)
    assert (left.days_lost, left.moves) == (batch.option("sitter").days_lost, 2)


def test_a_left_batch_goes_out_before_and_comes_in_after(settled: AwayComparison) -> None:
    """At the last window before the absence, and from the first after it on; somebody is there from 7 to 21."""
    left = only(settled).option("leave")
    assert left.put_at is not None
    assert left.put_at.date() == LEAVES - DAY
    assert left.put_at <= at(LEAVES - DAY, 21)
    assert left.fetch_at == at(RETURNS + DAY, 7)


def test_holding_inside_costs_the_days_away(settled: AwayComparison) -> None:
    """Two days inside: two days lost or three, no carrying, no night outside and so no odds of harm."""
    held = only(settled).option("hold")
    assert held.days_lost in (2, 3)
    assert (held.moves, held.nights_out, held.odds_harm) == (0, 0, None)


def test_a_sitter_loses_a_day_at_most() -> None:
    """Two hours in the morning and in the evening are nearly as good as being at home."""
    batch = only(compare(garden(state=MIDDLE), first=FIRST + 2 * DAY, last=FIRST + 4 * DAY))
    assert batch.option("sitter").days_lost in (0, 1)
    assert batch.option("hold").days_lost > batch.option("sitter").days_lost
    assert batch.best == "sitter"


def test_in_cold_days_and_nights_they_are_held() -> None:
    """2 to 9 C: nobody could take them out, so the least work wins."""
    batch = only(compare(garden(state=NEARLY), Weather(days=8, low_c=2.0, high_c=9.0).forecast()))
    assert batch.best == "hold"
    assert not batch.option("leave").allowed
    assert batch.option("sitter").days_lost == batch.option("hold").days_lost


def test_a_way_with_a_broken_limit_is_never_taken() -> None:
    """Cold nights alone: leaving is refused, although it would be least work but one."""
    batch = only(compare(garden(state=NEARLY), Weather(days=8, low_c=3.0).forecast()))
    assert not batch.option("leave").allowed
    assert batch.best != "leave"


def test_the_night_before_counts_where_it_is_put_out_today(settled: AwayComparison) -> None:
    """Out this evening, two days away: three nights."""
    assert only(settled).option("leave").nights_out == 3


def test_among_spots_that_do_as_well_the_warmer_is_taken() -> None:
    """Hardened and used to the light, either spot holds for a day: the one with less open sky is left."""
    ready = hand_state(air=12.0, sun=12.0, cold=2.0, light_mol=40.0)
    batch = only(compare(garden(state=ready), Weather(days=8, low_c=9.0).forecast(), last=LEAVES))
    assert tried(batch, OPEN).holds
    assert batch.option("leave").spot == SHADED.name


def test_days_lost_are_the_dates_apart(settled: AwayComparison) -> None:
    """Each way's date against the date at home."""
    batch = only(settled)
    assert batch.home is not None
    for option in batch.options:
        assert option.hardened_on == batch.home + timedelta(days=option.days_lost or 0)


def test_a_batch_that_is_hardened_before_says_when_it_is_so_again() -> None:
    """Five days inside under the lamp, and it has to catch up; a batch that stays out has not."""
    ready = hand_state(air=12.0, sun=12.0, cold=2.0, light_mol=32.0)
    batch = only(compare(garden(state=ready), first=LEAVES, last=LEAVES + 4 * DAY))
    held, left = batch.option("hold"), batch.option("leave")
    assert batch.hardened_before
    assert held.days_lost > 0
    assert left.allowed
    assert (left.hardened_on, left.days_lost) == (LEAVES + 4 * DAY, 0)


# --- what fails first ------------------------------------------------------------------------------


def test_an_open_spot_is_refused_though_cloud_is_forecast() -> None:
    """Overcast all days: if it clears, the open bed has twice the sun that is allowed."""
    batch = only(compare(garden(state=NEARLY), Weather(days=8, cloud=1.0).forecast()))
    bed = tried(batch, OPEN)
    assert not bed.holds
    assert bed.why is not None
    assert bed.why.code == "limit_sun"
    assert bed.why.value > bed.why.limit
    assert bed.failed_at.date() == LEAVES
    assert tried(batch, SHADED).holds


def test_a_cold_night_is_named_with_its_number() -> None:
    """3 C on the second night only: it fails at that sunset, below the limit it names."""
    second = LEAVES + DAY
    forecast = changed(second, [0, 1, 2, 3, 4, 5, 6], air_temperature_c=3.0)
    shaded = tried(only(compare(garden(state=NEARLY), forecast)), SHADED)
    assert shaded.why is not None
    assert shaded.why.code == "night_low"
    assert shaded.why.value == pytest.approx(3.0)
    assert shaded.why.limit > 3.0
    assert shaded.failed_at.date() == LEAVES


def test_an_hour_of_gusts_is_named() -> None:
    """At two in the night, where nobody can carry."""
    forecast = changed(LEAVES + DAY, [2], wind_gust_m_s=60.0)
    shaded = tried(only(compare(garden(state=NEARLY), forecast)), SHADED)
    assert (shaded.why.code, shaded.failed_at) == ("gust", at(LEAVES + DAY, 2))


def test_a_cold_noon_is_named() -> None:
    """4 C at noon after a mild night."""
    forecast = changed(LEAVES, [12], air_temperature_c=4.0)
    shaded = tried(only(compare(garden(state=NEARLY), forecast)), SHADED)
    assert (shaded.why.code, shaded.failed_at) == ("cold", at(LEAVES, 12))


def test_a_storm_on_the_morning_of_the_return_counts() -> None:
    """It still stands there, until the first window."""
    forecast = changed(RETURNS + DAY, [5], wind_gust_m_s=60.0)
    shaded = tried(only(compare(garden(state=NEARLY), forecast)), SHADED)
    assert (shaded.why.code, shaded.failed_at) == ("gust", at(RETURNS + DAY, 5))


def test_a_storm_after_the_first_window_does_not() -> None:
    """From then on it can be carried in."""
    forecast = changed(RETURNS + DAY, [9], wind_gust_m_s=60.0)
    assert tried(only(compare(garden(state=NEARLY), forecast)), SHADED).holds


def test_the_night_after_the_return_does_not() -> None:
    """Somebody is there by then."""
    forecast = changed(RETURNS + 2 * DAY, [1, 2, 3, 4, 5], air_temperature_c=1.0)
    assert tried(only(compare(garden(state=NEARLY), forecast)), SHADED).holds


def test_in_the_dark_the_night_s_verdict_stands_for_the_cold() -> None:
    """8.2 C from ten in the evening to six: under the day's margin, but the night's odds pass."""
    evening = changed(LEAVES, [22, 23], air_temperature_c=8.2)
    weather = Weather(days=8)
    local = evening.hours.index.tz_convert(PLACE.tz)
    evening.hours.loc[(local.date == LEAVES + DAY) & (local.hour < 6), "air_temperature_c"] = 8.2
    assert tried(only(compare(garden(state=NEARLY), weather.forecast(evening.hours))), SHADED).holds


def test_a_night_with_a_hole_before_dawn_is_not_known() -> None:
    """And what is not known is no yes."""
    forecast = changed(LEAVES + DAY, [4], air_temperature_c=np.nan)
    batch = only(compare(garden(state=NEARLY), forecast))
    assert not batch.option("leave").allowed
    assert tried(batch, SHADED).why.code == "night_unknown"


def test_a_night_that_needs_a_cover_is_refused() -> None:
    """Nobody is there to take it off by day; without nights that need it, the same spot holds."""
    covered = replace(SHADED, cover_c=4.0)
    of = garden(state=NEARLY, spots=(covered, OPEN))
    cold = tried(only(compare(of, Weather(days=8, low_c=7.0).forecast())), covered)
    assert cold.why.code == "night_cover"
    assert tried(only(compare(of)), covered).holds


@pytest.mark.parametrize(("batch", "said"), [({"nights": False}, "never"), ({"state": MIDDLE}, "ramp-day 6")])
def test_without_nights_nothing_is_left(batch: dict[str, Any], said: str) -> None:
    """Neither a batch that never stays out, nor one whose rule has no night yet."""
    found = only(compare(garden(**{"state": NEARLY, **batch})))
    assert {spot.why.code for spot in found.option("leave").spots if spot.spot == SHADED.name} == {"night_rule"}
    assert said in tried(found, SHADED).why.text


def test_a_spot_holds_what_it_holds() -> None:
    """Two batches of one tray, room for one: the second is left elsewhere or not at all."""
    small = replace(SHADED, holds=1)
    of = garden(state=NEARLY, spots=(small, OPEN))
    two = replace(of, batches=(of.batches[0], replace(of.batches[0], name="others")))
    first, second = compare(two).batches
    assert first.option("leave").spot == small.name
    assert tried(second, small).why.code == "full"


def test_nobody_there_before_the_absence() -> None:
    """It is ten in the evening before, and the last window is over."""
    batch = only(compare(garden(state=NEARLY), now=at(FIRST, 22)))
    left = batch.option("leave")
    assert (left.allowed, left.spots, left.reasons[0].code) == (False, (), "absent")


def test_where_none_holds_the_one_that_holds_longest_comes_first() -> None:
    """Gusts at two in the second night bar the shade; the open bed has failed by its sun before."""
    forecast = changed(LEAVES + DAY, [2], wind_gust_m_s=60.0)
    spots = only(compare(garden(state=NEARLY), forecast)).option("leave").spots
    times = [spot.failed_at for spot in spots]
    assert times == sorted(times, reverse=True)
    assert spots[-1].spot == OPEN.name


@pytest.fixture(scope="module")
def mild() -> AwayBatch:
    """Nights of 9 C."""
    return only(compare(garden(state=NEARLY), Weather(days=8, low_c=9.0).forecast()))


@pytest.mark.parametrize("kelvin", [2.0, 6.0])
def test_a_colder_absence_never_makes_a_spot_hold(mild: AwayBatch, kelvin: float) -> None:
    """Only the hours of the absence are colder: what failed before fails still."""
    weather = Weather(days=8, low_c=9.0)
    frame = weather.frame()
    frame.loc[on_dates(frame, PLACE, LEAVES, RETURNS), "air_temperature_c"] -= kelvin
    colder = only(compare(garden(state=NEARLY), weather.forecast(frame)))
    held = {spot.spot for spot in colder.option("leave").spots if spot.holds}
    assert held < {spot.spot for spot in mild.option("leave").spots if spot.holds}


def test_the_state_is_carried_forward_as_the_planner_would() -> None:
    """Told in the planner's words, the same days give the same state on the morning of the return."""
    of = garden(state=NEARLY, carer={"away": ((LEAVES, RETURNS),)})
    planner, plans = plan_all(of, with_radiation(Weather(days=8).forecast(), PLACE), FIRST)
    left = leave_all(planner, plans, of.batches, at(FIRST, 6), LEAVES, RETURNS)["seedlings"]
    assert left.best is not None
    told = {"seedlings": BatchLog(days=left.best.told)}
    other: Planner = replace(planner, logbook=told, today_as_told=True)
    days = {day.date: day for day in other.plan(of.batches, RETURNS + DAY)["seedlings"]}
    assert days[RETURNS + DAY].state == left.best.state


# --- what is not known -----------------------------------------------------------------------------


@pytest.fixture(scope="module")
def short() -> AwayComparison:
    """The forecast ends with the fourth day; the absence with the seventh."""
    return compare(garden(state=NEARLY), Weather(days=2).forecast(), last=FIRST + 6 * DAY)


def test_past_the_forecast_nothing_can_be_left(short: AwayComparison) -> None:
    """The shaded spot fails where the hours end."""
    batch = only(short)
    assert not batch.option("leave").allowed
    assert tried(batch, SHADED).why.code in ("beyond", "hours_unknown", "night_unknown")
    assert tried(batch, SHADED).failed_at.date() > LEAVES


def test_nights_that_are_not_known_are_named(short: AwayComparison) -> None:
    """All from the end of the hours to the last of the absence, and none before."""
    unknown = only(short).option("sitter").unknown_nights
    assert unknown[-1] == FIRST + 6 * DAY
    assert unknown == tuple(unknown[0] + timedelta(days=n) for n in range(len(unknown)))
    assert unknown[0] > LEAVES
    assert any(reason.code == "beyond" for reason in only(short).option("sitter").reasons)


def test_the_night_before_the_absence_is_one_of_its_nights() -> None:
    """A hole in it, and only in it."""
    forecast = changed(LEAVES, [4], air_temperature_c=np.nan)
    assert only(compare(garden(state=NEARLY), forecast)).option("sitter").unknown_nights == (LEAVES - DAY,)


def test_a_sitter_s_cover_is_in_the_odds() -> None:
    """The nights pass with the cover alone: the odds told are those under it."""
    of = garden(state=NEARLY, spots=(replace(SHADED, cover_c=4.0), replace(OPEN, cover_c=4.0)))
    found = compare(of, Weather(days=8, low_c=7.0).forecast())
    nights = [one.night for day in found.sheet for one in day.nights if one.night.verdict == "cover"]
    assert nights
    bare = max(night.odds_harm for night in nights if night.odds_harm is not None)
    assert only(found).option("sitter").odds_harm < bare


def test_past_the_forecast_the_sitter_carries_nothing_out(short: AwayComparison) -> None:
    """What the last known night left outside may come in; nothing else is carried, and no night is told."""
    unknown = [day for day in short.sheet if not day.known]
    assert unknown
    for day in unknown:
        assert all(move.target == "inside" for move in day.moves)
        assert day.nights == ()


def test_odds_of_harm_are_those_of_the_worst_night() -> None:
    """A colder second night: it is the one named, and its odds stand for all."""
    forecast = changed(LEAVES + DAY, [0, 1, 2, 3, 4, 5], Weather(days=8, low_c=14.0), air_temperature_c=10.5)
    left = only(compare(garden(state=NEARLY), forecast)).option("leave")
    assert left.allowed
    assert left.worst_night == LEAVES
    assert 0.0 < left.odds_harm <= 0.1
    assert "at least" in left.reasons[0].text


# --- the carer and the garden file -----------------------------------------------------------------


def test_days_that_the_garden_file_has_already_change_nothing(settled: AwayComparison) -> None:
    """Being at home is compared with all the same; only the line to write is gone."""
    there = compare(garden(state=NEARLY, carer={"away": ((LEAVES, RETURNS),)}))
    assert there.batches == settled.batches
    assert settled.garden_line == f'away = ["{LEAVES}/{RETURNS}"]'
    assert there.garden_line is None


def test_other_absences_stay_in_the_line_and_in_the_plan() -> None:
    """A later one is kept, and part of being at home."""
    later = (FIRST + 20 * DAY, FIRST + 22 * DAY)
    found = compare(garden(state=NEARLY, carer={"away": (later,)}))
    assert found.garden_line == f'away = ["{LEAVES}/{RETURNS}", "{later[0]}/{later[1]}"]'


def test_an_absence_in_the_file_that_reaches_further_is_only_cut() -> None:
    """The day after is away still: at home means at home on the days that were asked."""
    longer = compare(garden(state=NEARLY, carer={"away": ((LEAVES, RETURNS + DAY),)}))
    left = only(longer).option("leave")
    assert left.fetch_at is None or left.fetch_at.date() == RETURNS + 2 * DAY


def test_the_sitter_is_asked_only_at_the_sitter_s_hours() -> None:
    """Every carry of every day, with hours of one's own; and as many as are told."""
    hours = (Span(9 * 60, 10 * 60), Span(18 * 60, 19 * 60))
    found = compare(garden(state=MIDDLE), sitter=hours)
    carried = [move for day in found.sheet for move in day.moves]
    assert carried
    assert all(move.at.hour == 9 or move.at.hour == 18 or move.at.minute == 0 for move in carried)
    assert only(found).option("sitter").moves == len(carried)
    assert only(found).option("sitter").minutes == 3.0 * len(carried)


def test_the_sheet_has_every_day_of_the_absence(settled: AwayComparison) -> None:
    """And no other."""
    assert [day.date for day in settled.sheet] == [LEAVES, RETURNS]


def test_batches_that_are_not_carried_are_named() -> None:
    """One is sown later, one is planted out: neither is compared."""
    of = garden(state=NEARLY)
    later = replace(of.batches[0], name="later", state=None, start=FIRST + 30 * DAY)
    planted = replace(of.batches[0], name="planted")
    three = replace(of, batches=(*of.batches, later, planted))
    found = compare(three, logbook={"planted": BatchLog(planted_on=FIRST - DAY)})
    assert [batch.batch for batch in found.batches] == ["seedlings"]
    assert found.stay_put == ("later", "planted")


def test_a_batch_that_is_finished_with_is_left_out() -> None:
    """The journal says so."""
    found = compare(garden(state=NEARLY), logbook={"seedlings": BatchLog(finished_on=FIRST)})
    assert (found.batches, found.stay_put) == ((), ())


def test_what_was_done_today_does_not_end_the_day() -> None:
    """An outing told of this morning: the rest of today is planned, whether it is put out today or tomorrow."""
    stay = Stay(SHADED.name, at(FIRST, 7), at(FIRST, 8))
    told = {"seedlings": BatchLog(days={FIRST: DayDone("stays", (stay,))})}
    for first in (LEAVES, LEAVES + DAY):
        untold, after = (
            only(compare(garden(state=NEARLY), first=first, last=first + DAY, now=at(FIRST, 9), logbook=log))
            for log in ({}, told)
        )
        assert after.option("leave").allowed
        assert after == untold


def test_a_batch_whose_first_outing_is_not_written_starts_when_it_would() -> None:
    """What is told of later days moves no first outing: sown long ago, it begins today in every way."""
    days = {"first": FIRST + 7 * DAY, "last": FIRST + 8 * DAY}
    found = compare(garden("kale", sown=FIRST - timedelta(weeks=9)), **days)
    written = compare(garden("kale", start=FIRST), **days)
    assert only(found).option("leave").allowed
    assert found.batches == written.batches


@pytest.mark.parametrize(("first", "last"), [(FIRST, RETURNS), (FIRST - DAY, RETURNS), (RETURNS, LEAVES)])
def test_an_absence_lies_ahead(first: date, last: date) -> None:
    """It begins after today and does not end before it begins."""
    with pytest.raises(ValueError, match="absence"):
        compare(garden(state=NEARLY), first=first, last=last)


def test_a_day_job_leaves_the_evening_before() -> None:
    """Windows at 06:30 and 17:45: out in the evening, fetched in the first morning."""
    left = only(compare(garden(state=NEARLY, week=WORK))).option("leave")
    assert left.put_at.hour >= 17
    assert left.fetch_at == at(RETURNS + DAY, 6, 30)


def test_an_absence_past_the_forecast_ends_with_the_morning_after_it() -> None:
    """Also for plants that were hardened long before: nothing else would be planned so far ahead."""
    hardened = hand_state(air=14.0, sun=14.0, cold=4.0, light_mol=45.0)
    comparison = compare(
        garden(state=hardened), Weather(days=4).forecast(), first=FIRST + 6 * DAY, last=FIRST + 8 * DAY
    )
    assert only(comparison).hardened_before
    assert only(comparison).option("hold").reasons[-1].code == "ramp"
