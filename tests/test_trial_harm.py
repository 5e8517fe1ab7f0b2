"""Each measure of harm against a sum by hand, in invented weather that does not change."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from weather import FIRST, HOME, OPEN, PLACE, SHADED, garden
from weather import Weather as Days

from hardenoff.tables import load_crops, load_rules
from hardenoff.trial.harm import Allowed, allowed, common_practice_sun_h, harm_of, morning_after
from hardenoff.trial.season import Season, season_of
from hardenoff.trial.weather import Weather

ON = FIRST + timedelta(days=2)
ANY = Allowed(check_below_c=-99.0, harm_below_c=-99.0, least_air_c=-99.0, gust_m_s=99.0, sun_h=99.0)
BED, PORCH = 3, 1


def season(**days: float) -> Season:
    """Six days at the three spots of tests/weather.py."""
    forecast = Days(days=12, **days).forecast()
    return season_of(Weather(PLACE, forecast, "invented", ()), garden(week=HOME), FIRST, FIRST + timedelta(days=5))


def out(place: int, first: float, until: float) -> np.ndarray:
    """At a place between two hours of the clock."""
    where = np.zeros(96, dtype=np.int64)
    where[round(first * 4) : round(until * 4)] = place
    return where


def with_limits(**given: float) -> Allowed:
    return Allowed(**{**{name: getattr(ANY, name) for name in Allowed.__slots__}, **given})


def night_hours(of: Season, where: np.ndarray) -> float:
    """Night hours of a date with the batch outside at both midnights, from the season's own night."""
    dusk, dawn = of.night_quarters(ON)
    return (dawn + len(where) - dusk) / 4.0


def test_the_night_is_the_searched_one():
    """40 N, 83 W, 5 May (DST): sunrise 06:24, sunset 20:33 (almanac, from memory): 20:00 to 07:00."""
    assert season().night_quarters(ON) == (80, 28)


def test_cold_night_air():
    """Air at 5 C all night, limit 10 C: 5 degrees for each of eleven hours."""
    of = season(low_c=5.0, high_c=5.0)
    where = out(BED, 0, 24)
    harm = harm_of(of, ON, where, with_limits(check_below_c=10.0))
    assert harm.check_degree_h == pytest.approx(5.0 * night_hours(of, where))
    assert harm.check_degree_h == pytest.approx(55.0)
    assert harm.day_degree_h == harm.leaf_degree_h == harm.sun_h == harm.gust_h == 0.0


def test_an_evening_out_is_day():
    """Fetched in at ten, it has spent no night outside: the day's limit holds, not the check."""
    of = season(low_c=5.0, high_c=5.0)
    harm = harm_of(of, ON, out(BED, 18, 22), with_limits(check_below_c=10.0, least_air_c=7.0))
    assert harm.check_degree_h == 0.0
    assert harm.day_degree_h == pytest.approx(2.0 * 4.0)


def test_a_spot_that_is_colder():
    """Known to be 2 C colder: 7 degrees below the check limit, not 5."""
    forecast = Days(days=12, low_c=5.0, high_c=5.0).forecast()
    of = garden(week=HOME)
    cold = replace(of, spots=(*of.spots[:2], replace(of.spots[2], colder_c=2.0)))
    made = season_of(Weather(PLACE, forecast, "invented", ()), cold, FIRST, FIRST + timedelta(days=5))
    assert harm_of(made, ON, out(BED, 0, 24), with_limits(check_below_c=10.0)).check_degree_h == pytest.approx(
        77.0
    )


@pytest.mark.parametrize(
    ("cloud", "gust", "leaf_c"),
    [(0.0, 1.0, 1.5), (1.0, 1.0, 5.0 - 3.5 * 0.16), (0.0, 20.0, 5.0 - 3.5 * 0.2)],
    ids=["clear and calm", "overcast", "windy"],
)
def test_cold_leaf(cloud, gust, leaf_c):
    """Open bed: 2 + 1.5 C below the air under a clear calm sky, times 0.16 if overcast, 0.2 in wind of 10 m/s.

    The night model's own figures (`night_model.csv`): what is checked here is the adding up, hour by hour.
    """
    of = season(low_c=5.0, high_c=5.0, cloud=cloud, gust_m_s=gust)
    harm = harm_of(of, ON, out(BED, 0, 24), with_limits(harm_below_c=2.0))
    assert harm.leaf_degree_h == pytest.approx(max(0.0, 2.0 - leaf_c) * 11.0)


def test_a_roof_keeps_the_leaf_warm():
    """The porch sees less of the sky than the bed."""
    of = season(low_c=5.0, high_c=5.0)
    limits = with_limits(harm_below_c=4.0)
    assert (
        harm_of(of, ON, out(PORCH, 0, 24), limits).leaf_degree_h
        < 0.5 * harm_of(of, ON, out(BED, 0, 24), limits).leaf_degree_h
    )


def test_cold_day():
    """Three hours at 8 C, least 10 C."""
    of = season(low_c=8.0, high_c=8.0)
    harm = harm_of(of, ON, out(PORCH, 10, 13), with_limits(least_air_c=10.0))
    assert harm.day_degree_h == pytest.approx(6.0)
    assert harm.check_degree_h == 0.0


def test_sun_beyond_the_table():
    """Three hours of clear midday sun in the open, an hour allowed."""
    harm = harm_of(season(), ON, out(BED, 11, 14), with_limits(sun_h=1.0))
    assert harm.sun_h == pytest.approx(2.0)


def test_sun_counts_where_the_batch_stands():
    """A bed in full sun as the first spot of the garden: hours inside get none of it."""
    forecast = Days(days=12).forecast()
    of = garden(week=HOME, spots=(OPEN, SHADED), plant_out_at=OPEN.name)
    made = season_of(Weather(PLACE, forecast, "invented", ()), of, FIRST, FIRST + timedelta(days=5))
    assert harm_of(made, ON, out(1, 11, 14), with_limits(sun_h=0.0)).sun_h == pytest.approx(3.0)
    assert harm_of(made, ON, out(2, 11, 14), with_limits(sun_h=0.0)).sun_h == 0.0


def test_no_sun_under_cloud():
    """Only sun that really shone counts."""
    assert harm_of(season(cloud=1.0), ON, out(BED, 11, 14), with_limits(sun_h=0.0)).sun_h == 0.0


def test_gusts_at_the_plant():
    """12 m/s at 10 m are 7.8 at the plants in the open, 3.12 at a spot that lets 0.4 of the wind through."""
    of = season(gust_m_s=12.0)
    assert harm_of(of, ON, out(BED, 10, 12.5), with_limits(gust_m_s=7.7)).gust_h == 2.5
    assert harm_of(of, ON, out(BED, 10, 12.5), with_limits(gust_m_s=7.9)).gust_h == 0.0
    assert harm_of(of, ON, out(PORCH, 10, 12.5), with_limits(gust_m_s=3.2)).gust_h == 0.0


def test_inside_nothing_happens():
    """Whatever the limits."""
    assert harm_of(season(low_c=-9.0, high_c=-9.0), ON, out(0, 0, 24), with_limits(least_air_c=40.0)).total == 0.0


def test_unknown_hours_are_counted_apart():
    """No air temperature for two hours: neither harm nor safety."""
    of = season(low_c=5.0, high_c=5.0)
    at = of.scene.slots(of.day(ON))
    of.scene.air_c[at][40:48] = np.nan
    harm = harm_of(of, ON, out(BED, 9, 13), with_limits(least_air_c=6.0))
    assert harm.unknown_h == 2.0
    assert harm.day_degree_h == pytest.approx(2.0)


def test_the_rest_of_the_last_night():
    """From midnight to the first full hour after sunrise."""
    of = season(low_c=5.0, high_c=5.0)
    harm = morning_after(of, ON, BED, with_limits(check_below_c=10.0))
    assert harm.check_degree_h == pytest.approx(5.0 * 7.0)


# --- what is allowed on which day --------------------------------------------------------------------


def batch(crop: str):
    return garden(crop).batches[0]


def test_limits_go_by_days_out():
    """Tomato: day 1 no sun, gusts 5 m/s, check 10 C; day 12 eight hours of sun times 1.25, gusts 11 m/s."""
    first, last = allowed(batch("tomato"), 1), allowed(batch("tomato"), 12)
    assert (first.sun_h, first.gust_m_s, first.check_below_c, first.least_air_c) == (0.0, 5.0, 10.0, 10.0)
    assert (last.sun_h, last.gust_m_s) == (10.0, 11.0)
    assert last.check_below_c < 8.0
    assert allowed(batch("tomato"), 40).gust_m_s == last.gust_m_s


@pytest.mark.parametrize("days_out", range(1, 13))
def test_the_sun_table_holds_common_practice(days_out):
    """Common practice, no source: none on days 1 to 4, about two hours on day 6, two to four on day 10."""
    hours = common_practice_sun_h(batch("tomato"), days_out)
    if days_out <= 4:
        assert hours == 0.0
    if days_out == 6:
        assert hours == pytest.approx(2.0, abs=0.5)
    if days_out == 10:
        assert 2.0 <= hours <= 4.0


def test_another_rule_is_held_to_the_same_sun():
    """The table is the crop's default one, whatever rule is followed."""
    of = garden("tomato", rule="half_hour_first").batches[0]
    assert [common_practice_sun_h(of, day) for day in (1, 6, 12)] == [
        load_rules()[load_crops()["tomato"].rule].rows[row].direct_sun_hours for row in (0, 5, 11)
    ]
