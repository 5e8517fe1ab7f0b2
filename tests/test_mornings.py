"""Nights outside and the mornings after, crowded carers, and days on which there is nothing to choose."""

from dataclasses import replace
from datetime import date, datetime, time, timedelta
from itertools import pairwise

import numpy as np
import pytest
from weather import FIRST, HOME, OPEN, PLACE, SHADED, SPOTS, WORK, Weather, garden, hand_state, plan, rows

from hardenoff.records import Place, Risk, Span, Spot
from hardenoff.tables import load_night_model
from hardenoff.views.answers import night_numbers

READY = hand_state(air=11.0, sun=11.0, cold=1.0, light_mol=25.0)
LATE = ((Span(9 * 60, 21 * 60),),) * 7


def changed(weather, hours, on, **columns):
    """The weather with other values in some local hours of a date."""
    frame = weather.frame()
    local = frame.index.tz_convert(PLACE.tz)
    at = (local.date == on) & np.isin(local.hour, hours)
    for name, value in columns.items():
        frame.loc[at, name] = value
    return weather.forecast(frame)


TOMORROW = FIRST + timedelta(days=1)


def test_a_cold_morning_before_anybody_can_carry_keeps_them_in():
    """The night is mild, but 1 C comes at eight and the first move is at nine."""
    mild = rows(plan(garden(state=READY, week=LATE), Weather(days=3).forecast()))[0]
    cold = changed(Weather(days=3), [8], TOMORROW, air_temperature_c=1.0)
    day = rows(plan(garden(state=READY, week=LATE), cold))[0]
    assert mild.night.verdict == "out"
    assert (day.night.verdict, day.night.because) == ("in", "weather")
    assert any(reason.code == "night_weather" for reason in day.reasons)


def test_what_the_night_left_outside_comes_in_before_a_cold_forenoon():
    """Someone is there at seven, and 2 C comes from eight to twelve: no stay outside then."""
    cold = changed(Weather(days=3), [8, 9, 10, 11], TOMORROW, air_temperature_c=2.0)
    day = rows(plan(garden(state=READY), cold))[1]
    assert day.placements
    for place in day.placements:
        assert place.end.hour <= 8 or place.start.hour >= 12 or place.start.date() != TOMORROW


def test_gusts_in_the_night_are_named():
    """A mild night with a storm at two: in, because of the weather, with a reason."""
    stormy = changed(Weather(days=3), [2], TOMORROW, wind_gust_m_s=40.0)
    day = rows(plan(garden(state=READY), stormy))[0]
    assert (day.night.verdict, day.night.because) == ("in", "weather")


def test_one_missing_hour_of_the_evening_does_not_bar_a_known_night():
    """Over 90 % of the night is there and the dawn is whole: the verdict stands."""
    holed = changed(Weather(days=3), [22], FIRST, air_temperature_c=np.nan)
    assert rows(plan(garden(state=READY), holed))[0].night.verdict == "out"


def test_a_window_that_opens_at_midnight_does_not_end_the_night():
    """Someone is there round the clock: the night outside lasts until sunrise all the same."""
    always = ((Span(0, 1440),),) * 7
    days = rows(plan(garden(state=READY, week=always), Weather(days=3).forecast()))
    assert days[0].night.verdict == "out"
    assert days[1].placements[0].start.hour == 0
    assert days[1].placements[0].end.hour >= 6


def test_heat_bars_the_hours_after_sunset_too():
    """36 C at nine in the evening: nothing is carried out for the night then."""
    hot = changed(Weather(days=3), list(range(12, 24)), FIRST, air_temperature_c=36.5)
    day = rows(plan(garden(state=READY), hot))[0]
    assert all(place.end.hour <= 12 for place in day.placements if place.end.date() == FIRST)
    assert day.night.verdict == "in"


def test_a_rule_silent_on_sun_goes_over_its_hours_in_deep_shade_only():
    """Half an hour on day 1: longer is the sheltered way, without direct sun."""
    cloth = Spot("bed under cloth", shade=0.5)
    of = garden(rule="half_hour_first", spots=(SHADED, cloth, OPEN))
    day = rows(plan(of, Weather(days=2).forecast()))[0]
    assert day.outdoor_hours > 0.0
    assert day.outdoor_hours <= 0.5 or day.direct_sun_hours_if_clear <= 0.25


def test_a_spot_without_light_data_to_wait_at_is_no_crash():
    """Waiting at a cool spot: its light stands for the lamp's, also past the forecast."""
    of = garden(waits=SHADED.name, spots=(SHADED, OPEN))
    assert rows(plan(of, Weather(days=4).forecast()))[0].verdict == "out"


@pytest.mark.parametrize(
    ("of", "code"),
    [
        (garden(carer={"moves_per_day": 1}), "carer_short"),
        (garden(week=((Span(425, 440),),) * 7), "carer_short"),
        (garden(week=((),) * 7), "absent"),
    ],
    ids=["one move a day", "a window for one carry", "nobody"],
)
def test_days_without_a_choice_are_in_and_say_why(of, code):
    """No way out and back: that is no hold, and never without a reason."""
    day = rows(plan(of, Weather(days=2).forecast()))[0]
    assert (day.verdict, day.reasons[0].code) == ("in", code)


def test_polar_night_has_no_daylight_to_go_out_in():
    """The sun does not rise: in, and said so."""
    where = Place("Tromso side", 69.6, 18.9, 20.0, "Europe/Oslo")
    on = date(2027, 12, 15)
    now = datetime.combine(on, time(6), where.tz)
    of = garden(place=where)
    day = plan(of, Weather(place=where, first=on, days=3).forecast(), now, days_ahead=False).days[0].batches[0]
    assert (day.verdict, day.reasons[0].code) == ("in", "no_daylight")


def many(count, of, **changes):
    """The garden with so many copies of its batch."""
    batch = replace(of.batches[0], **changes)
    return replace(of, batches=tuple(replace(batch, name=f"batch {number}") for number in range(count)))


def test_no_more_batches_stay_out_than_can_be_fetched_in_time():
    """Ten batches of eight trays, one hour in the morning: no limit is broken on the morning after."""
    spots = (replace(SHADED, holds=None), OPEN)
    of = many(10, garden(state=READY, week=WORK, spots=spots), trays=8)
    days = plan(of, Weather(days=4).forecast()).days
    assert any(batch.placements and batch.placements[0].start.hour == 0 for day in days for batch in day.batches)
    for day in days:
        for batch in day.batches:
            if batch.limits.direct_sun_hours is not None:
                assert batch.direct_sun_hours_if_clear <= batch.limits.direct_sun_hours + 1e-6
            assert batch.light_mol_if_clear <= batch.limits.light_mol + 1e-6


def test_carries_do_not_overlap():
    """Walked one after the other, each carry can begin in its quarter hour and is over before the window is."""
    of = many(4, garden(week=WORK, spots=SPOTS), trays=8)
    today = plan(of, Weather(days=2).forecast())
    assert len({name for move in today.moves for name in move.batches}) > 1
    assert all(move.minutes == 12.0 * len(move.batches) for move in today.moves), (
        "8 trays by twos, 3 minutes a trip"
    )
    free = today.moves[0].at
    for move in today.moves:
        begin = max(free, move.at)
        free = begin + timedelta(minutes=move.minutes)
        assert begin < move.at + timedelta(minutes=15)
        assert any(
            span.start_min <= minute_of(begin) and minute_of(free) <= span.end_min
            for span in of.carer.spans(begin.date())
        )


def minute_of(at):
    """Minute of the day."""
    return at.hour * 60 + at.minute


def test_a_further_spot_never_makes_a_day_worse():
    """More to choose from: the day's score does not fall."""
    from hardenoff.ramp import asking
    from hardenoff.ramp.choice import choose_all

    best = []
    for spots in ((SHADED, OPEN), (SHADED, OPEN, SPOTS[1]), (SHADED, OPEN, SPOTS[1], Spot("yard", shade=0.7))):
        asked = []

        def listening(questions, asked=asked):
            asked.extend(choose_all(questions))
            return asked[-len(questions) :]

        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(asking, "choose_all", listening)
            state = hand_state(air=8.0, sun=6.0, light_mol=18.0)
            plan(garden(week=WORK, spots=spots, plant_out_at=OPEN.name, state=state), Weather(days=2).forecast())
        best.append(asked[0].score)
    assert all(after >= before - 1e-6 for before, after in pairwise(best))


def test_someone_home_all_day_is_asked_for_no_more_than_four_carries():
    """The default carer: at most four moves a batch and day."""
    for day in plan(garden(week=HOME, spots=SPOTS), Weather(days=10).forecast()).days:
        edges = {edge for place in day.batches[0].placements for edge in (place.start, place.end)}
        assert len([edge for edge in edges if (edge.hour, edge.minute) != (0, 0)]) <= 4


def test_a_cover_comes_off_in_the_morning():
    """Covered last night, mild tonight: the morning says to take it off, and the night's action is to uncover."""
    covered = Spot("long bed", cover_c=3.0)
    of = garden(spots=(covered,), state=replace(READY, cold=2.0), start=FIRST)
    weather = Weather(days=4, low_c=13.0)
    cold = changed(weather, [3, 4], TOMORROW, air_temperature_c=5.0)
    days = rows(plan(of, cold))
    assert days[0].night.verdict == "cover"
    assert days[1].warnings[0].code == "uncover"
    assert (days[1].night.verdict, days[1].night.action) == ("out", "uncover")


def test_a_hold_for_wind_names_the_lee_that_would_do():
    """A storm all day in the open: the share of the wind that may be let through."""
    day = rows(plan(garden(spots=(OPEN,)), Weather(days=2, gust_m_s=14.0).forecast()))[0]
    lee = next(reason for reason in day.reasons if reason.code == "nearest_lee")
    assert lee.value == pytest.approx(5.0 / (14.0 * 0.65 * 1.5))


# --- what decides a night ----------------------------------------------------------------------------


def near_the_limit(worth: str):
    """A night of 8 C where 7.6 C checks growth: odds over 1 in 4, under 1 in 2."""
    of = replace(garden(state=READY), risk=Risk(check=load_night_model().carrying[worth]))
    return rows(plan(of, Weather(days=3, low_c=8.0).forecast(), days_ahead=False))[0].night


def test_a_night_is_decided_by_the_grower_s_own_risk():
    """The same odds bring in whoever carries gladly, and are said to; to another they are nothing."""
    cheap, fair = near_the_limit("cheap"), near_the_limit("fair")
    assert (cheap.verdict, cheap.decided_by) == ("in", "check")
    assert (fair.verdict, fair.decided_by) == ("out", "none")
    assert night_numbers(cheap, "metric") == "8°C in the air, 42 % odds of less than 7.6°C"


def test_a_night_out_of_the_rule_is_decided_by_no_odds():
    """Too early in the ramp for a night out: what a mild one is like does not matter."""
    early = rows(plan(garden(), Weather(days=3).forecast(), days_ahead=False))[0].night
    assert (early.because, early.decided_by) == ("rule", "none")


def test_the_leaf_decides_where_the_air_alone_would_pass():
    """Someone who minds no checked growth still does not risk the plants: harm has odds of its own."""
    bold = replace(garden(state=READY, spots=(OPEN,)), risk=Risk(check=0.99))
    night = rows(plan(bold, Weather(days=3, low_c=5.0).forecast(), days_ahead=False))[0].night
    assert (night.verdict, night.decided_by) == ("in", "harm")


def test_an_unknown_night_is_decided_by_nothing_known():
    """Hours of the dawn are missing."""
    holed = changed(Weather(days=3), [4], TOMORROW, air_temperature_c=np.nan)
    assert rows(plan(garden(state=READY), holed, days_ahead=False))[0].night.decided_by is None
