"""What happens to growers, played through the planner: one invented scene each, its answer in one sentence."""

from dataclasses import replace
from datetime import date, datetime, time, timedelta
from itertools import count, pairwise

import numpy as np
import pytest
from weather import FIRST, HOME, NOTE, PLACE, Weather, garden, hand_state, on_dates, plan, rows, with_batches

from hardenoff.journal.entries import Entry, standing
from hardenoff.journal.logbook import logbook
from hardenoff.night.learned import LoggedNight, OwnLows, learn_spots
from hardenoff.ramp.heard import Heard
from hardenoff.records import Place, Roof, ShelterArc, Span, Spot, Wall
from hardenoff.schedule.build import build_schedule
from hardenoff.schedule.changes import Inputs, changes, keep

PASSAGE = Spot(
    "gate passage",
    roof=Roof(2.4, 1.0, 1.0, 3.0, 3.0, 0.0),
    walls=(Wall(90.0, 0.7, 3.0), Wall(270.0, 0.7, 3.0)),
    shelter=(ShelterArc(0.0, 360.0, 0.3),),
)
"""A roof between two walls: no direct sun in May, little wind."""
SHED = Spot("shed wall", walls=(Wall(270.0, 0.4, 4.0),), shelter=(ShelterArc(0.0, 360.0, 0.6),))
"""Sun until noon."""
GARAGE = Spot("garage side", walls=(Wall(90.0, 0.4, 4.0),), shelter=(ShelterArc(0.0, 360.0, 0.6),))
"""Sun from noon on."""
BED = Spot("far bed")
LATH = Spot("lath house", like="far bed", shade=0.35)
SPOTS = (PASSAGE, SHED, BED)
READY = hand_state(air=11.0, sun=11.0, cold=1.0, light_mol=25.0)
ENDS_OF_THE_DAY = ((Span(7 * 60, 7 * 60 + 30), Span(16 * 60, 21 * 60)),) * 7
DULL = {"cloud_cover_frac": 1.0, "cloud_low_frac": 1.0}
RAIN = {**DULL, "precipitation_mm": 7.0}
NUMBERS = count()


def day(number):
    """A date of the scene, counted from 0."""
    return FIRST + timedelta(days=number)


def at(number, hour, minute=0):
    """A wall-clock time of the scene."""
    return datetime.combine(day(number), time(hour, minute), PLACE.tz)


def spoilt(weather, first, last, hours=range(24), **columns):
    """The weather with other values in some local hours of some days."""
    frame = weather.frame()
    where = on_dates(frame, weather.place, day(first), day(last))
    where &= np.isin(frame.index.tz_convert(weather.place.tz).hour, list(hours))
    for name, value in columns.items():
        frame.loc[where, name] = value
    return weather.forecast(frame)


def entry(number, kind, **more):
    """A line of the journal, written on the evening of its day."""
    return Entry(id=f"r{next(NUMBERS)}", written_at=at(number, 20), on=day(number), kind=kind, **more)


def told(of, forecast, now, *entries):
    """The schedule after what the journal tells."""
    book = logbook(standing(entries), [batch.name for batch in of.batches])
    return build_schedule(of, forecast, now, NOTE, days_ahead=True, logbook=book)


def done(first, last):
    """As planned, from one day to another."""
    return tuple(entry(number, "done") for number in range(first, last + 1))


def earliest(schedule):
    """The first batch's earliest finish."""
    return schedule.finishes[0].earliest


def spots_of(row):
    """Where a batch stands outside on a day."""
    return {place.spot for place in row.placements}


def codes(row):
    """What a day's reasons are about."""
    return [reason.code for reason in row.reasons]


# --- nobody there by day -------------------------------------------------------------------------------


def test_a_first_clear_day_with_nobody_home_is_spent_in_full_shade():
    """Eggplants, clear, fetched at four at the earliest: the roofed passage, and no minute of sun on the patio."""
    patio = Spot("south patio")
    of = garden("eggplant", week=ENDS_OF_THE_DAY, spots=(PASSAGE, patio))
    first = rows(plan(of, Weather(days=2, high_c=22.0).forecast()))[0]
    assert (first.verdict, spots_of(first)) == ("out", {"gate passage"})
    assert first.direct_sun_hours_if_clear == pytest.approx(0.0, abs=0.05)


def test_a_first_clear_day_with_a_sunny_patio_alone_is_a_hold():
    """Nothing but full sun from seven to four: inside, and how much shade would do is said."""
    week = ((Span(7 * 60, 7 * 60 + 10), Span(16 * 60, 16 * 60 + 10)),) * 7
    of = garden("eggplant", week=week, spots=(Spot("south patio"),))
    first = rows(plan(of, Weather(days=2, high_c=22.0).forecast()))[0]
    assert first.verdict == "hold"
    nearest = next(reason for reason in first.reasons if reason.code == "nearest_sun")
    assert "under shade that passes" in nearest.text
    assert (nearest.value > 8.0, nearest.limit) == (True, 0.25)


def test_overcast_days_with_nobody_home_are_safe_if_it_clears_and_earn_hardly_any_sun():
    """Basil, three grey days promised: whatever the sky does the sun stays in its limit; air grows, sun hardly."""
    state = hand_state(air=5.0, sun=5.0, light_mol=15.0)
    of = garden("basil", week=ENDS_OF_THE_DAY, spots=(*SPOTS, LATH), plant_out_at="far bed", state=state)
    days = rows(plan(of, spoilt(Weather(days=6), 0, 2, **DULL)))
    for row in days[:3]:
        assert row.direct_sun_hours_if_clear <= row.limits.direct_sun_hours + 1e-6
        assert row.direct_sun_hours_likely == pytest.approx(0.0, abs=0.05)
    assert days[3].state.air - 5.0 > 2.0
    assert days[3].state.sun - 5.0 <= (days[3].state.air - 5.0) / 2.0 + 0.25


def test_free_evenings_are_bridged_in_the_shade_and_the_weekend_carries_the_sun():
    """Home from six to eight on workdays: shade by the week, the first sun of the ramp on Saturday or Sunday."""
    week = ((Span(18 * 60, 20 * 60 + 15),),) * 5 + ((Span(7 * 60, 21 * 60),),) * 2
    days = rows(plan(garden("tomato", week=week, spots=SPOTS[:2]), Weather(days=14).forecast()))[:13]
    weekend = days[5:7] + days[12:13]  # the scene begins on a Monday
    for row in days[:5] + days[7:12]:
        assert row.direct_sun_hours_if_clear <= 0.25
    assert all(row.verdict == "out" for row in days)
    assert max(row.direct_sun_hours_likely for row in weekend) >= 1.0
    assert weekend[-1].state.sun > weekend[0].state.sun > 3.0


def test_a_lunch_break_at_home_is_used_to_move():
    """Home from eleven to one: trays change sides then; without that break the ramp never ends."""
    short = (Span(7 * 60 + 45, 8 * 60), Span(17 * 60 + 30, 19 * 60))
    lunch = (short[0], Span(11 * 60, 13 * 60), short[1])
    with_break, without = (
        plan(
            garden("lettuce", week=(spans,) * 7, spots=(SHED, GARAGE, BED), start=FIRST),
            Weather(days=8).forecast(),
        )
        for spans in (lunch, short)
    )
    at_noon = [
        row
        for row in rows(with_break)[:7]
        if any(11 <= edge.hour < 13 for place in row.placements for edge in (place.start, place.end))
    ]
    assert len(at_noon) >= 4
    assert earliest(with_break) <= day(8)
    assert earliest(without) is None


def test_a_long_weekend_away_is_spent_inside_and_costs_its_days():
    """Friday to Sunday away: no tray stands out, nor on the nights round it, and the finish slips by 3 to 5."""
    of = garden("hot_pepper", spots=SPOTS, start=FIRST)
    forecast = Weather(days=18).forecast()
    at_home = plan(of, forecast)
    away = plan(replace(of, carer=replace(of.carer, away=((day(4), day(6)),))), forecast)
    days = rows(away)
    assert [row.verdict for row in days[3:8]] == ["out", "in", "in", "in", "out"]
    assert all(codes(row) == ["absent"] for row in days[4:7])
    assert days[3].placements[-1].end.date() == day(3)
    assert days[7].state.ramp_days > days[4].state.ramp_days - 1.0
    assert timedelta(days=3) <= earliest(away) - earliest(at_home) <= timedelta(days=5)


def test_sixty_trays_and_one_hour_a_day_say_which_batches_wait():
    """Five benches of twelve trays, half an hour at each end of the day: what is carried fits, the rest waits."""
    week = ((Span(7 * 60, 7 * 60 + 30), Span(18 * 60, 18 * 60 + 30)),) * 7
    of = garden("lettuce", week=week, spots=(PASSAGE, LATH, BED), plant_out_at="far bed")
    benches = (replace(of.batches[0], name=f"bench {number}", trays=12, start=FIRST) for number in range(1, 6))
    schedule = plan(with_batches(of, *benches), Weather(days=6).forecast())
    for each in (False, True):
        minutes = [move.minutes for move in schedule.moves if (move.at.hour > 12) is each]
        assert 0.0 < sum(minutes) <= 30.0
    out = [row for row in schedule.days[0].batches if row.verdict == "out"]
    waiting = [row for row in schedule.days[0].batches if row.verdict == "in"]
    assert len(out) + len(waiting) == 5
    assert len(out) >= 1
    assert all(codes(row) == ["carer_short"] for row in waiting)


def test_one_batch_too_big_for_any_window_is_told_so():
    """Sixty trays as one batch take an hour and a half a carry: in, with that number, and no finish."""
    week = ((Span(7 * 60, 7 * 60 + 30), Span(18 * 60, 18 * 60 + 30)),) * 7
    schedule = plan(garden("lettuce", week=week, spots=SPOTS, trays=60, start=FIRST), Weather(days=4).forecast())
    today = rows(schedule)[0]
    assert (today.verdict, codes(today), today.reasons[0].value) == ("in", ["carer_short"], 1.5)
    assert earliest(schedule) is None


# --- days that were missed -----------------------------------------------------------------------------


def test_two_rainy_days_inside_in_the_middle_cost_little():
    """No roof, so day 5 and 6 are holds; day 7 resumes at the step before, and the finish slips by 1 to 3."""
    of = garden("sweet_pepper", spots=(SHED, BED, LATH), plant_out_at="far bed", start=FIRST)
    dry = plan(of, Weather(days=18).forecast())
    wet = plan(of, spoilt(Weather(days=18), 4, 5, **RAIN))
    days = rows(wet)
    assert [row.verdict for row in days[3:7]] == ["out", "hold", "hold", "out"]
    assert "rain" in codes(days[4])
    assert days[4].hold_costs.startswith("finish ")
    assert days[6].state.ramp_days == pytest.approx(days[4].state.ramp_days - 1 / 3)
    assert days[6].outdoor_hours >= days[3].outdoor_hours
    assert timedelta(days=1) <= earliest(wet) - earliest(dry) <= timedelta(days=3)


def test_four_days_under_the_lamp_lead_back_to_the_second_or_third_step():
    """Three days out, then four inside for want of time: the plants resume at ramp-day 2 or 3, never at 1."""
    of = garden("tomato", spots=SPOTS, start=FIRST)
    inside = tuple(entry(number, "in") for number in range(3, 7))
    schedule = told(of, Weather(days=20).forecast(), at(7, 6), *done(0, 2), *inside)
    today = rows(schedule)[0]
    assert today.state.confidence == "known"
    assert today.limits.outdoor_hours in (3.5, 4.5)
    assert earliest(schedule) > day(13)


def test_a_wet_spell_under_a_roof_keeps_air_growing_while_the_sun_stands():
    """Basil, five days of rain: out under the roof every day, air gains, sun neither gains nor is lost."""
    of = garden("basil", spots=SPOTS, state=hand_state(air=7.0, sun=7.0, light_mol=22.0))
    days = rows(plan(of, spoilt(Weather(days=14), 0, 4, **RAIN)))
    assert all(spots_of(row) == {"gate passage"} for row in days[:5])
    assert days[5].state.air >= 11.0
    assert days[5].state.sun == pytest.approx(7.0, abs=0.3)
    assert days[5].limits.direct_sun_hours == days[0].limits.direct_sun_hours


def test_a_wilted_evening_repeats_the_step():
    """Wilting seen on day 6: the next day has the same limits as that day had, and the ramp goes on from there."""
    of = garden("cucumber", spots=SPOTS, start=FIRST)
    forecast = Weather(days=16).forecast()
    hurt = entry(5, "damage", damage_kind="sun")
    whole = rows(told(of, forecast, at(5, 6), *done(0, 4)))[0]
    after = told(of, forecast, at(6, 6), *done(0, 5), hurt)
    again = rows(after)
    assert (again[0].state.air, again[0].state.sun) == pytest.approx((whole.state.air, whole.state.sun))
    assert again[0].limits.outdoor_hours == whole.limits.outdoor_hours
    assert again[0].verdict == "out"
    assert again[1].state.ramp_days > again[0].state.ramp_days


def test_leaves_that_hung_at_noon_and_stood_in_the_evening_cost_nothing():
    """Damage written down at noon and taken back at night: the plan is as if it had never been said."""
    of = garden("cucumber", spots=SPOTS, start=FIRST)
    forecast = Weather(days=16).forecast()
    noon = entry(5, "damage", damage_kind="cold")
    calm = done(0, 5)
    never = told(of, forecast, at(6, 6), *calm)
    taken_back = told(of, forecast, at(6, 6), *calm, noon, entry(5, "undo", corrects=noon.id))
    assert taken_back == never
    assert told(of, forecast, at(6, 6), *calm, noon) != never


@pytest.mark.parametrize(
    ("entries", "trust"), [((), "assumed"), (("done",), "known")], ids=["nothing said", "the last day told"]
)
def test_days_nobody_wrote_down_are_taken_as_done_with_care(entries, trust):
    """Five days unlogged: they count, but limits are read half a ramp-day lower until a day is told again."""
    of = garden("tomato", spots=SPOTS, start=FIRST)
    lines = tuple(entry(4, kind) for kind in entries)
    today = rows(told(of, Weather(days=16).forecast(), at(5, 6), *lines))[0]
    assert today.state.confidence == trust
    assert today.state.ramp_days > 3.0


def test_sun_that_came_out_after_all_is_credited():
    """Grey was forecast, the sky cleared at half past nine, the log says so: more sun credit than if it stayed."""
    of = garden("zinnia", spots=SPOTS, start=FIRST)
    forecast = Weather(days=16, cloud=1.0).forecast()
    stood = entry(5, "out", spot="shed wall", start=at(5, 8), end=at(5, 13))
    cleared = entry(5, "sun", spot="shed wall", start=at(5, 9, 30), end=at(5, 12))
    grey = rows(told(of, forecast, at(6, 6), *done(0, 4), stood))[0]
    bright = rows(told(of, forecast, at(6, 6), *done(0, 4), stood, cleared))[0]
    assert bright.state.sun - grey.state.sun > 0.5
    assert bright.state.air == grey.state.air


def test_sun_that_did_not_come_is_not_credited():
    """A clear forecast; the log says sun for half an hour only: less sun credit than was planned for."""
    of = garden("zinnia", spots=SPOTS, start=FIRST)
    stood = entry(5, "out", spot="shed wall", start=at(5, 8), end=at(5, 13))
    short = entry(5, "sun", spot="shed wall", start=at(5, 8), end=at(5, 8, 15))
    forecast = Weather(days=16).forecast()
    planned = rows(told(of, forecast, at(6, 6), *done(0, 4), stood))[0]
    less = rows(told(of, forecast, at(6, 6), *done(0, 4), stood, short))[0]
    assert planned.state.sun - less.state.sun > 0.5


# --- wind, heat, rain ----------------------------------------------------------------------------------


def test_on_a_bright_windy_day_the_wind_is_what_bars():
    """Cabbages at 14 C and gusts of 11 m/s: held in the open for the wind, not the sun; out in the lee."""
    weather = Weather(days=2, low_c=8.0, high_c=15.0, gust_m_s=11.0).forecast()
    state = hand_state(air=3.0, sun=3.0, light_mol=18.0)
    exposed = rows(plan(garden("cabbage", spots=(BED, LATH), plant_out_at="far bed", state=state), weather))[0]
    in_lee = rows(plan(garden("cabbage", spots=(PASSAGE, BED), state=state), weather))[0]
    assert (exposed.verdict, codes(exposed)[0]) == ("hold", "gust")
    assert not {"limit_sun", "nearest_sun"} & set(codes(exposed))
    assert spots_of(in_lee) == {"gate passage"}


HEDGE = replace(PASSAGE, name="hedge foot", shelter=(ShelterArc(280.0, 20.0, 0.25),))
"""In the lee of wind from the north-west alone."""


@pytest.mark.parametrize(("wind_from", "verdict"), [(330.0, "out"), (150.0, "hold")], ids=["lee", "wrong side"])
def test_shelter_on_one_side_counts_for_wind_from_there_alone(wind_from, verdict):
    """The same gusts: out behind the hedge when they come over it, held when they come from the open side."""
    weather = Weather(days=2, gust_m_s=9.0)
    of = garden("lettuce", spots=(HEDGE, BED), start=FIRST)
    row = rows(plan(of, spoilt(weather, -1, 3, wind_from_deg=wind_from)))[0]
    assert row.verdict == verdict
    assert "gust" in codes(row)


def test_wind_that_turns_at_noon_ends_the_stay_behind_the_hedge():
    """North-west until one o'clock, then south-east: whatever stands there comes in before it turns."""
    weather = Weather(days=2, gust_m_s=9.0)
    frame = spoilt(weather, -1, 3, wind_from_deg=330.0).hours
    local = frame.index.tz_convert(PLACE.tz)
    frame.loc[(local.date == FIRST) & (local.hour >= 13), "wind_from_deg"] = 150.0
    row = rows(plan(garden("lettuce", spots=(HEDGE, BED), start=FIRST), weather.forecast(frame)))[0]
    assert row.outdoor_hours == pytest.approx(3.0, abs=0.3)
    assert all(place.end <= at(0, 13) for place in row.placements)


def test_in_a_heat_wave_there_is_shade_or_the_house_in_the_hot_hours():
    """Broccoli for autumn at 33 C: sun in the morning; above 32 C, less the margin, in the passage."""
    of = garden("broccoli", spots=SPOTS, state=hand_state(air=4.0, sun=4.0, light_mol=25.0))
    today = rows(plan(of, Weather(days=3, low_c=20.0, high_c=33.0).forecast()))[0]
    hot = [hour for hour in today.strip if hour.air_c > 32.0]
    assert len(hot) >= 4
    assert all(hour.sun_share == 0.0 for hour in hot)
    assert today.direct_sun_hours_likely >= 2.0
    assert "heat" in codes(today)


def test_above_35_degrees_they_stand_inside():
    """The same broccoli at 37 C: nothing outside while it is so hot, and all the same an outing that day."""
    of = garden("broccoli", spots=SPOTS, state=hand_state(air=4.0, sun=4.0, light_mol=25.0))
    today = rows(plan(of, Weather(days=3, low_c=20.0, high_c=37.0).forecast()))[0]
    assert all(hour.spot == "inside" for hour in today.strip if hour.air_c > 35.0)
    assert today.verdict == "out"


def test_a_stormy_market_day_bars_the_outing_and_the_night_before_it():
    """Leeks nearly done, gusts of 14 m/s and heavy rain on day 6: in from the evening before, out after."""
    forecast = spoilt(Weather(days=10), 5, 5, wind_gust_m_s=14.0, **RAIN)
    days = rows(plan(garden("leek", spots=(SHED, BED), start=FIRST), forecast))
    assert {"gust", "rain"} <= set(codes(days[5]))
    assert [row.verdict for row in days[4:7]] == ["out", "hold", "out"]
    assert (days[4].night.verdict, days[4].night.because) == ("in", "weather")
    assert days[5].hold_costs is not None


# --- nights --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("colder_c", "low_c", "verdict", "action"),
    [
        (0.0, 9.5, "out", "none"),
        (3.0, 9.5, "in", "bring_in"),
        (0.0, 6.5, "in", "bring_in"),
        (-2.2, 6.5, "out", "none"),
    ],
    ids=["as forecast", "colder yard", "alarm", "warmer yard"],
)
def test_a_yard_that_is_colder_or_warmer_than_the_forecast(colder_c, low_c, verdict, action):
    """Known to be 3 C colder: tomatoes come in at a forecast of 9.5 C; known to be warmer: a carry is saved."""
    yard = replace(BED, colder_c=colder_c)
    weather = Weather(days=3, low_c=low_c, high_c=21.0).forecast()
    night = rows(plan(garden("tomato", spots=(yard,), state=READY), weather))[0].night
    assert (night.verdict, night.action) == (verdict, action)
    assert night.forecast_low_c == pytest.approx(low_c)
    assert night.air_low_c == pytest.approx(low_c - colder_c)


@pytest.mark.parametrize(
    ("nights", "cloud", "verdict"),
    [(5, 0.0, "in"), (5, 1.0, "out"), (0, 0.0, "out")],
    ids=["after five clear nights", "on a cloudy night", "before any was logged"],
)
def test_a_yard_that_is_always_colder_on_clear_nights_is_learned(nights, cloud, verdict):
    """Five clear mornings 4.5 C below the forecast: tomatoes come in on the next clear night, not a grey one."""
    logged = [LoggedNight("far bed", day(-number), 4.5, 9.0, 0.0, 0.5) for number in range(1, nights + 1)]
    heard = Heard(own=OwnLows(by_spot=learn_spots(logged, (BED,))))
    weather = Weather(days=3, low_c=9.5, high_c=21.0, gust_m_s=1.5, cloud=cloud)
    of = garden("tomato", spots=(BED,), state=READY)
    tonight = build_schedule(of, weather.forecast(), at(0, 6), NOTE, heard=heard).nights[-1].batches[0].night
    assert (tonight.verdict, tonight.forecast_low_c) == (verdict, pytest.approx(9.5))
    assert (tonight.air_low_c < 7.0) is (verdict == "in")


def test_a_hole_in_the_dawn_is_judged_on_the_night_it_belongs_to():
    """1 C at five in the morning of the 5th: the night of the 4th to the 5th, and neither of its neighbours."""
    of = garden("tomato", spots=(BED,), state=READY)
    days = rows(plan(of, spoilt(Weather(days=6), 2, 2, range(4, 7), air_temperature_c=1.0)))
    cold = [(row.night.evening.day, row.night.morning.day) for row in days[:4] if row.night.verdict == "in"]
    assert cold == [(4, 5)]
    assert days[1].night.low_at.date() == day(2)


def test_a_cold_front_before_midnight_is_judged_on_the_night_that_has_begun():
    """1 C at eleven at night on the 5th: the night of the 5th to the 6th."""
    of = garden("tomato", spots=(BED,), state=READY)
    days = rows(plan(of, spoilt(Weather(days=6), 2, 2, [23], air_temperature_c=1.0)))
    cold = [(row.night.evening.day, row.night.morning.day) for row in days[:4] if row.night.verdict == "in"]
    assert cold == [(5, 6)]


def test_the_same_night_is_another_matter_for_seedlings_and_for_hardened_plants():
    """Cabbages at 3 C, asked at four in the afternoon: the fresh batch comes in, the hardened one stays."""
    of = garden("cabbage", spots=(BED,), state=hand_state(air=1.0, sun=1.0, light_mol=14.0))
    fresh = replace(of.batches[0], name="fresh")
    hard = replace(fresh, name="hard", state=hand_state(air=7.0, sun=7.0, cold=3.0, light_mol=40.0))
    schedule = plan(with_batches(of, fresh, hard), Weather(days=3, low_c=3.0, high_c=16.0).forecast(), at(0, 16))
    verdicts = [(one.batch, one.night.verdict) for one in schedule.nights[-1].batches]
    assert verdicts == [("fresh", "in"), ("hard", "out")]


INPUTS = Inputs(forecast="run 1", garden="g", journal="j")


def test_a_low_that_is_revised_is_told_the_next_morning():
    """Eight degrees all week, then 1 C on the third night in the next run: that night's line, and why."""
    of = garden("tomato", spots=(PASSAGE, BED), state=READY)
    mild = Weather(days=7, low_c=9.5)
    first = keep(plan(of, mild.forecast()), INPUTS)
    later = plan(of, spoilt(mild, 3, 3, range(7), air_temperature_c=1.0))
    nights = [line for line in changes(first, later, replace(INPUTS, forecast="run 2")) if "night" in line.what]
    assert [(line.what, line.was, line.now, line.why) for line in nights] == [
        ("night of Wed 5 May", "out", "in", "forecast revised")
    ]


def planted(crop, low_c, cover_c):
    """A batch set out two days ago, on the morning of the first day."""
    of = garden(crop, spots=(PASSAGE, replace(BED, cover_c=cover_c)), start=day(-16))
    weather = Weather(days=8, low_c=low_c, high_c=18.0)
    return told(of, weather.forecast(), at(0, 6), entry(-2, "planted"))


def test_planted_tomatoes_bear_a_night_that_peppers_need_a_cover_for():
    """7.5 C in the bed two days after planting: tomatoes are left alone, peppers get the cover kept there."""
    tomato, pepper = (planted(crop, 7.5, 3.5).nights[-1].batches[0] for crop in ("tomato", "sweet_pepper"))
    assert (tomato.stage, tomato.night.spot, tomato.night.verdict, tomato.night.action) == (
        "planted",
        "far bed",
        "out",
        "none",
    )
    assert (pepper.night.verdict, pepper.night.action) == ("cover", "cover")


def test_what_is_planted_is_never_said_to_come_in():
    """No cover declared and 4.5 C to come: the order is to cover, with a reason, and no carry is listed."""
    schedule = planted("sweet_pepper", 4.5, None)
    one = schedule.nights[-1].batches[0]
    assert (one.night.verdict, one.night.because, one.night.action) == ("in", "weather", "cover")
    assert [reason.code for reason in one.reasons] == ["planted_cold"]
    assert schedule.moves == ()


def test_lows_revised_after_planting_are_told_night_by_night():
    """Planted on a mild promise, five nights of 5 C in the next run: five lines, out -> in, for the bed."""
    before = keep(planted("sweet_pepper", 14.0, None), INPUTS)
    lines = changes(before, planted("sweet_pepper", 5.0, None), replace(INPUTS, forecast="run 2"))
    nights = [(line.was, line.now) for line in lines if "night" in line.what]
    assert len(nights) >= 5
    assert set(nights) == {("out", "in")}


def test_a_planted_batch_has_nothing_left_to_finish():
    """After planting no day is called unrecorded and no finish is called missed."""
    schedule = planted("tomato", 12.0, None)
    assert codes(rows(schedule)[0]) == []
    assert schedule.finishes[0].reasons[0].code == "planted"


def test_planting_alone_tells_that_a_batch_has_begun():
    """Sown five weeks ago and nothing written but the planting: it is planted, also last night."""
    of = garden("tomato", spots=(PASSAGE, BED), sown=day(-21))
    schedule = told(of, Weather(days=4).forecast(), at(0, 4), entry(-2, "planted"))
    assert [night.running for night in schedule.nights] == [True, False]
    assert all(one.stage == "planted" for night in schedule.nights for one in night.batches)
    assert all(one.night.spot == "far bed" for night in schedule.nights for one in night.batches)


# --- where they come from, and other places ------------------------------------------------------------


def test_plants_bought_off_an_airy_bench_have_wind_to_their_credit_and_hardly_any_sun():
    """Petunias from a netted sales bench: hours and gusts of ramp-day 3, the sun of day 1."""
    lamp, bought = (
        rows(plan(garden("petunia", spots=SPOTS, background=origin, start=FIRST), Weather(days=3).forecast()))[0]
        for origin in ("lamp", "bought")
    )
    assert bought.limits.outdoor_hours > lamp.limits.outdoor_hours
    assert bought.limits.gust_m_s >= lamp.limits.gust_m_s
    assert bought.limits.direct_sun_hours == lamp.limits.direct_sun_hours == 0.25
    assert (bought.state.air, bought.state.sun) == (2.0, 0.0)


def test_spring_in_the_far_south_comes_in_october_with_the_sun_in_the_north():
    """Tomatoes at 46 S, first out on 12 October: hardened before November, sun on the north side of the wall."""
    where = Place("Taieri road", -45.9, 170.4, 20.0, "Pacific/Auckland")
    first = date(2027, 10, 12)
    north = Spot("north wall", walls=(Wall(180.0, 0.4, 4.0),))
    south = Spot("south wall", walls=(Wall(0.0, 0.4, 4.0),))
    state = hand_state(on=first, air=8.0, sun=8.0, light_mol=22.0)
    of = garden("tomato", place=where, spots=(PASSAGE, south, north), state=state)
    weather = Weather(place=where, first=first, days=12, low_c=11.0, high_c=19.0)
    schedule = plan(of, weather.forecast(), datetime.combine(first, time(6), where.tz))
    today = rows(schedule)[0]
    assert schedule.date == first
    assert today.direct_sun_hours_likely >= 2.0
    sunny = {hour.spot for hour in today.strip if hour.sun_share > 0.5}
    assert "north wall" in sunny
    assert "south wall" not in sunny
    assert first < earliest(schedule) < date(2027, 11, 1)
    assert (today.night.evening, today.night.morning) == (first, first + timedelta(days=1))


def test_the_clock_change_in_the_middle_of_a_ramp_moves_no_step():
    """Summer time begins on day 5: every carry stays in its window, the finish is that of a clock left alone."""
    first = date(2027, 3, 24)
    finishes = []
    for zone in ("Europe/London", "Etc/UTC"):
        where = Place("Ferry Lane", 52.4, -1.9, 110.0, zone)
        weather = Weather(place=where, first=first, days=14, low_c=6.0, high_c=15.0)
        of = garden("cabbage", place=where, week=HOME, spots=SPOTS, start=first)
        schedule = plan(of, weather.forecast(), datetime.combine(first, time(6), where.tz))
        edges = [edge for row in rows(schedule) for place in row.placements for edge in (place.start, place.end)]
        moved = [edge for edge in edges if (edge.hour, edge.minute) != (0, 0)]
        assert all(7 <= edge.hour < 21 and edge.minute % 15 == 0 for edge in moved)
        levels = [row.state.ramp_days for row in rows(schedule)[:7]]
        assert all(0.9 < after - before <= 1.0 for before, after in pairwise(levels))
        finishes.append(earliest(schedule))
    assert finishes[0] == finishes[1] < date(2027, 4, 5)


# --- what a grower would find wrong --------------------------------------------------------------------


def test_evenings_of_two_hours_can_be_planned_with_five_spots():
    """Few times to carry and many places: a plan, where the coarse search once had no times to begin from."""
    week = ((Span(18 * 60, 20 * 60 + 15),),) * 7
    cloths = tuple(replace(LATH, name=f"cloth {share}", shade=share) for share in (0.3, 0.5, 0.7))
    today = rows(plan(garden("tomato", week=week, spots=(PASSAGE, BED, *cloths)), Weather(days=2).forecast()))[0]
    assert today.verdict == "out"


def test_a_quarter_hour_more_in_the_same_shade_earns_no_less():
    """Fetched from the passage fifteen minutes late on day 1: at least the credit of being in time."""
    of = garden("tomato", spots=SPOTS, start=FIRST)
    forecast = Weather(days=14).forecast()
    in_time, late = (
        rows(told(of, forecast, at(1, 6), entry(0, "out", spot="gate passage", start=at(0, 10), end=until)))[0]
        for until in (at(0, 12, 30), at(0, 12, 45))
    )
    assert late.state.air >= in_time.state.air


def test_nobody_carries_trays_out_for_a_quarter_of_an_hour():
    """Only a sunny patio, at home before half past seven and from four on: no outing of 15 minutes at seven."""
    of = garden("eggplant", week=ENDS_OF_THE_DAY, spots=(Spot("south patio"),), start=FIRST)
    today = rows(plan(of, Weather(days=2, high_c=22.0).forecast()))[0]
    assert all(place.end - place.start >= timedelta(minutes=30) for place in today.placements)
