"""From what was told to the plan: the journal's entries as days done, and the hours that are over."""

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from itertools import count

import numpy as np
import pandas as pd
import pytest
from weather import FIRST, NOTE, PLACE, SHADED, Weather, garden, plan, rows

from hardenoff.fetch.past import keep_past, past_path, with_past
from hardenoff.journal.entries import Entry
from hardenoff.journal.logbook import logbook
from hardenoff.schedule.build import build_schedule

NOW = datetime.combine(FIRST + timedelta(days=3), time(6), PLACE.tz)


def at(on, hour):
    """A wall-clock time."""
    return datetime.combine(on, time(hour), PLACE.tz)


NUMBERS = count()


def entry(kind, on=FIRST, **more):
    """An entry written on the evening of its day."""
    return Entry(id=f"e{next(NUMBERS)}", written_at=at(on, 20), on=on, kind=kind, **more)


def day_of(*entries):
    """The first day of the one batch, as these entries tell it."""
    return logbook(entries, ["seedlings"])["seedlings"].days[FIRST]


def test_the_last_word_on_a_day_counts():
    """In, then done after all; done, then in after all."""
    assert day_of(entry("in"), entry("done")).how == "as_planned"
    assert day_of(entry("done"), entry("in")).how == "inside"


def test_outings_of_a_day_add_up():
    """Two stays told one after the other are two stays of one day."""
    first = entry("out", spot="porch", start=at(FIRST, 8), end=at(FIRST, 10))
    second = entry("out", spot="bed", start=at(FIRST, 17), end=at(FIRST, 19))
    assert [stay.spot for stay in day_of(first, second).stays] == ["porch", "bed"]


def test_a_stay_over_midnight_belongs_to_both_days():
    """Out from 18:00 until 07:00, then in all day: the next day has its morning outside."""
    tomorrow = FIRST + timedelta(days=1)
    night = entry("out", spot="porch", start=at(FIRST, 18), end=at(tomorrow, 7))
    days = logbook([night, entry("in", on=tomorrow)], ["seedlings"])["seedlings"].days
    assert days[tomorrow].how == "stays"
    assert days[tomorrow].stays == days[FIRST].stays


def test_sun_and_damage_do_not_tell_where_it_stood():
    """The day stays unsaid, and keeps what was seen."""
    day = day_of(
        entry("sun", spot="porch", start=at(FIRST, 8), end=at(FIRST, 9)), entry("damage", damage_kind="sun")
    )
    assert (day.how, len(day.sun), day.damage) == ("unsaid", 1, True)


def test_an_entry_for_all_batches_speaks_of_each_and_one_for_another_of_none():
    """Without a batch it is everybody's."""
    book = logbook([entry("in"), entry("done", batch="others")], ["seedlings", "others"])
    assert book["seedlings"].days[FIRST].how == "inside"
    assert book["others"].days[FIRST].how == "as_planned"


def test_what_was_planted_or_finished_keeps_its_date():
    """The first date said."""
    book = logbook([entry("planted"), entry("finished", on=FIRST + timedelta(days=2))], ["seedlings"])["seedlings"]
    assert (book.planted_on, book.finished_on) == (FIRST, FIRST + timedelta(days=2))


def schedule(*entries, **batch):
    """The schedule three days later."""
    of = garden(**batch)
    book = logbook(entries, [one.name for one in of.batches])
    return build_schedule(of, Weather(days=8).forecast(), NOW, NOTE, days_ahead=True, logbook=book)


def test_a_first_outing_told_needs_no_start_in_the_garden_file():
    """The journal knows when it began: no warning, and three days' credit."""
    told = [entry("done", on=FIRST + timedelta(days=day)) for day in range(3)]
    today = rows(schedule(*told))[0]
    assert "start_not_recorded" not in [warning.code for warning in today.warnings]
    assert today.state.air == pytest.approx(3.0, abs=0.05)
    assert today.state.confidence == "known"


def test_days_told_inside_slip_the_finish():
    """One missed day slips it by at most two."""
    whole = schedule(start=FIRST).finishes[0].earliest
    missed = schedule(entry("in", on=FIRST + timedelta(days=1)), start=FIRST).finishes[0].earliest
    assert timedelta(0) < missed - whole <= timedelta(days=2)


def test_a_finished_batch_is_left_out():
    """Given away: it is asked about no more."""
    assert schedule(entry("finished"), start=FIRST).days[0].batches == ()


def test_a_planted_batch_is_watched_at_its_spot():
    """Stage planted, its nights judged where it stands."""
    today = rows(schedule(entry("planted"), start=FIRST))[0]
    assert (today.stage, today.placements, today.night.spot) == ("planted", (), "open bed")


# --- the hours that are over ---------------------------------------------------------------------------


def test_hours_kept_from_an_earlier_run_stand_before_the_forecast(tmp_path):
    """Two runs five days apart: the second has the first one's hours before its own."""
    early = Weather(days=6).forecast()
    assert keep_past(tmp_path, PLACE, early, datetime.combine(FIRST + timedelta(days=5), time(0), UTC)) is None
    late = replace(
        early, hours=early.hours[early.hours.index >= pd.Timestamp(FIRST + timedelta(days=4), tz="UTC")]
    )
    whole = with_past(tmp_path, PLACE, late)
    assert whole.hours.index[0] == early.hours.index[0]
    assert whole.hours.index.freq is not None or (np.diff(whole.hours.index) == np.timedelta64(1, "h")).all()
    expected = early.hours["air_temperature_c"].set_axis(early.hours.index.as_unit("ns"))
    pd.testing.assert_series_equal(whole.hours["air_temperature_c"], expected, atol=0.001, check_freq=False)


def test_a_gap_between_runs_stays_a_gap(tmp_path):
    """Days between two runs that neither has are NaN, never filled."""
    early = Weather(days=2).forecast()
    keep_past(tmp_path, PLACE, early, datetime.combine(FIRST + timedelta(days=1), time(0), UTC))
    late = Weather(first=date(2027, 5, 12), days=3).forecast()
    whole = with_past(tmp_path, PLACE, late)
    gap = whole.hours.loc["2027-05-06":"2027-05-09", "air_temperature_c"]
    assert len(gap) == 96
    assert gap.isna().all()


@pytest.mark.parametrize(
    "content", ["", "time\n", "not a table", "time,air_temperature_c\n2027-05-01T00:00:00Z,3\n"]
)
def test_damaged_kept_hours_count_as_none(tmp_path, content):
    """The forecast stands alone then."""
    path = past_path(tmp_path, PLACE)
    path.parent.mkdir(parents=True)
    path.write_text(content, encoding="utf-8")
    forecast = Weather(days=2).forecast()
    assert with_past(tmp_path, PLACE, forecast) is forecast


def test_kept_hours_carry_a_plan_back_to_its_first_day(tmp_path):
    """With all hours in hand, a week's told days earn what they were worth, not an assumed share."""
    whole = Weather(days=12).forecast()
    late = FIRST + timedelta(days=7)
    keep_past(tmp_path, PLACE, whole, datetime.combine(late, time(6), PLACE.tz))
    recent = replace(whole, hours=whole.hours[whole.hours.index >= pd.Timestamp(late, tz="UTC")])
    told = [entry("done", on=FIRST + timedelta(days=day)) for day in range(7)]
    of = garden(start=FIRST)
    book = logbook(told, ["seedlings"])
    now = datetime.combine(late, time(6), PLACE.tz)
    with_hours = build_schedule(of, with_past(tmp_path, PLACE, recent), now, NOTE, logbook=book)
    without = build_schedule(of, recent, now, NOTE, logbook=book)
    assert with_hours.days[0].batches[0].state.sun == pytest.approx(7.0, abs=0.3)
    assert without.days[0].batches[0].state.sun < 5.0


def test_the_planner_is_the_same_with_an_empty_logbook():
    """Nothing told, nothing changed."""
    of = garden(start=FIRST, spots=(SHADED,))
    forecast = Weather(days=4).forecast()
    assert plan(of, forecast) == build_schedule(
        of,
        forecast,
        datetime.combine(FIRST, time(6), PLACE.tz),
        NOTE,
        days_ahead=True,
        logbook={"seedlings": book()},
    )


def book():
    """A batch of which nothing was told."""
    return logbook([], ["seedlings"])["seedlings"]


def test_missed_days_are_priced():
    """Three days told inside up to yesterday: the level before and now, the finish with them and without."""
    told = [entry("in", on=FIRST + timedelta(days=day)) for day in range(3)]
    missed = schedule(*told, start=FIRST).finishes[0].missed
    assert (missed.days, missed.level_before) == (3, 0.0)
    assert missed.finish_now - missed.finish_without >= timedelta(days=3)


def test_a_batch_that_was_out_yesterday_has_missed_nothing():
    """No spell, no price."""
    told = [entry("in"), entry("done", on=FIRST + timedelta(days=1)), entry("done", on=FIRST + timedelta(days=2))]
    assert schedule(*told, start=FIRST).finishes[0].missed is None


def test_a_day_told_inside_is_no_hold_and_says_so():
    """Logged this morning: in, for that reason, whatever the weather does."""
    today = FIRST + timedelta(days=3)
    day = rows(schedule(entry("in", on=today), start=FIRST))[0]
    assert (day.verdict, day.reasons[0].code, day.hold_costs) == ("in", "told_inside", None)


def test_damage_logged_yesterday_is_said_to_repeat_the_step():
    """The step is taken again, and the morning says why."""
    hurt = entry("damage", on=FIRST + timedelta(days=2), damage_kind="sun")
    assert rows(schedule(hurt, start=FIRST))[0].reasons[0].code == "repeated"


def test_plant_out_begins_hardened():
    """A batch that is hardened at a day's end is planted out on the next, not before."""
    finish = schedule(start=FIRST).finishes[0]
    assert finish.plant_out is None or finish.plant_out > finish.earliest
