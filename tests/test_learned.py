"""A low that learns: its laws, what it is told from, what it does to the nights, and one story from end to end.

Thermometers, forecasts and gardens are invented. The estimator is Huber's mean (Huber, Ann. Math. Stat. 35:73,
1964), its numbers are ours; odds from the worth of an evening are the cost-loss ratio (Murphy, Mon. Weather Rev.
105:803, 1977; from memory).
"""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from math import cos, hypot, pi
from pathlib import Path
from statistics import mean, stdev

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import optimize, special
from typer.testing import CliRunner, Result
from validation import compare, outside
from weather import FIRST, NOTE, OPEN, PLACE, SHADED, Weather, garden, hand_state

from hardenoff.cli import lows
from hardenoff.cli.app import app
from hardenoff.cli.lows import taught
from hardenoff.cli.options import Shared
from hardenoff.errors import Exit, GardenError
from hardenoff.fetch.archive import append
from hardenoff.fetch.source import Reading
from hardenoff.forecast.skill import LeadError, lead_errors
from hardenoff.garden import garden_from_text
from hardenoff.journal.entries import Entry
from hardenoff.journal.file import read_journal
from hardenoff.journal.lows import logged_nights
from hardenoff.night import (
    Judgement,
    Learned,
    LoggedNight,
    NightWeather,
    OwnLows,
    SpotNight,
    at_spot,
    filled,
    judge,
    learn,
    own_lows,
    regime,
)
from hardenoff.night.hindsight import errors_by_lead
from hardenoff.night.past import PastLow
from hardenoff.ramp.heard import Heard
from hardenoff.records import Risk, Spot
from hardenoff.schedule.build import build_schedule
from hardenoff.schedule.records import NightAnswer, Schedule
from hardenoff.tables import load_night_model, low_spread_c
from hardenoff.views import answers
from hardenoff.views import tonight as tonight_view

MORNING = date(2027, 5, 4)
FIVE_F = 5.0 / 1.8
COLDER = st.floats(-6.0, 6.0)


def logged(
    colder_c: float,
    *,
    day: int = 0,
    cloud: float = 0.0,
    wind: float = 1.0,
    spot: str = "bed",
    forecast: float = 8.0,
) -> LoggedNight:
    """A night that came so much colder than forecast; clear and calm unless something else is said."""
    return LoggedNight(spot, MORNING + timedelta(days=day), forecast - colder_c, forecast, cloud, wind)


def nights(*colder_c: float, **sky: float) -> list[LoggedNight]:
    return [logged(each, day=day, **sky) for day, each in enumerate(colder_c)]  # type: ignore[arg-type]


def clear_c(*colder_c: float, prior_c: float = 0.0) -> float:
    """The offset that clear nights teach."""
    found = learn(nights(*colder_c), prior_c=prior_c).clear_c
    assert found is not None
    return found


# --- how much is believed ----------------------------------------------------------------------------


@pytest.mark.parametrize("count", range(1, 12))
def test_nights_that_agree_are_believed_n_of_n_plus_two(count: int) -> None:
    """Against two imaginary nights at what was known: one night a third, two a half, five five sevenths."""
    assert clear_c(*[2.5] * count) == pytest.approx(2.5 * count / (count + 2))


def test_five_nights_of_5_f_are_clearly_more_than_half_believed() -> None:
    """3.6 F of the 5 F."""
    assert clear_c(*[FIVE_F] * 5) * 1.8 == pytest.approx(25 / 7)
    assert clear_c(*[FIVE_F] * 5) > 0.7 * FIVE_F


@pytest.mark.parametrize("seed", range(12))
@outside(
    "scipy: the minimum of Huber's loss (Huber 1964, Ann. Math. Stat. 35:73) over the nights and two more at what "
    "was known before",
    "offset of a spot from its logged nights, bad readings among them",
    within="0.001 C",
    because="where scipy's search stops",
    kind="library",
)
def test_an_offset_is_where_huber_s_loss_is_least(seed: int) -> None:
    """Ours looks for the place where all nights together pull neither way."""
    random = np.random.default_rng(seed)
    colder = [float(value) for value in random.normal(2.0, 2.0, random.integers(2, 15))]
    colder += [float(value) for value in random.uniform(-7.0, 7.0, random.integers(0, 3))]
    prior = float(random.uniform(-2.0, 2.0))

    def loss(offset: float) -> float:
        off = np.array([*colder, prior, prior]) - offset
        return float(special.huber(3.0, off).sum())

    least = optimize.minimize_scalar(loss, bounds=(-8.0, 8.0), method="bounded", options={"xatol": 1e-6})
    compare(clear_c(*colder, prior_c=prior), least.x)


@given(colder=COLDER, prior=st.floats(-3.0, 3.0), count=st.integers(1, 30))
def test_each_night_that_agrees_leads_nearer_and_never_past(colder: float, prior: float, count: int) -> None:
    """Shrinkage is monotone: from what was known beforehand towards what is measured."""
    fewer, more = clear_c(*[colder] * count, prior_c=prior), clear_c(*[colder] * (count + 1), prior_c=prior)
    assert abs(more - colder) <= abs(fewer - colder) + 1e-9
    assert min(prior, colder) - 1e-9 <= fewer <= max(prior, colder) + 1e-9


@given(st.lists(COLDER, min_size=1, max_size=8), st.integers(0, 7), st.floats(0.0, 15.0), COLDER)
def test_a_colder_reading_never_makes_a_spot_warmer(
    readings: list[float], at: int, more: float, prior: float
) -> None:
    """Monotone in each night, outliers among them."""
    at %= len(readings)
    colder = [*readings[:at], readings[at] + more, *readings[at + 1 :]]
    assert clear_c(*colder, prior_c=prior) >= clear_c(*readings, prior_c=prior) - 1e-9


@given(st.permutations(nights(1.0, 2.7, -0.4, 9.0) + nights(0.3, -2.0, cloud=1.0)))
def test_the_order_of_logging_is_irrelevant(shuffled: list[LoggedNight]) -> None:
    """To the last bit."""
    in_order = learn(nights(1.0, 2.7, -0.4, 9.0) + nights(0.3, -2.0, cloud=1.0), prior_c=0.5)
    found = learn(shuffled, prior_c=0.5)
    assert replace(found, sd_c=None) == replace(in_order, sd_c=None)
    assert found.sd_c == pytest.approx(in_order.sd_c)


@given(st.integers(1, 12), st.floats(-4.0, 4.0), st.floats(-40.0, 40.0))
def test_one_bad_reading_does_not_rule(count: int, colder: float, bad: float) -> None:
    """Beside n nights that agree it moves the offset by at most 3 / n C: 0.6 C among five."""
    agreed = clear_c(*[colder] * count)
    assert abs(clear_c(*[colder] * count, bad) - agreed) <= 3.0 / count + 1e-9


@pytest.mark.parametrize("bad", [-30.0, 20.0, 90.0])
def test_the_first_reading_moves_it_by_a_degree_and_a_half_at_most(bad: float) -> None:
    """A thermometer read upside down on the first morning."""
    assert abs(clear_c(bad)) == pytest.approx(1.5)


@given(st.lists(st.floats(-40.0, 40.0), min_size=1, max_size=40))
def test_no_offset_beyond_eight_degrees(readings: list[float]) -> None:
    """Whatever was logged."""
    assert abs(clear_c(*readings)) <= 8.0


def test_what_was_known_beforehand_is_where_it_starts() -> None:
    """`colder` of 3 C and five nights that agree with it: nothing moves."""
    assert clear_c(*[3.0] * 5, prior_c=3.0) == pytest.approx(3.0)


def test_a_night_without_its_forecast_teaches_nothing() -> None:
    """Neither a number nor a count."""
    bare = replace(logged(5.0), forecast_low_c=None)
    dark = replace(logged(5.0), cloud_frac=None)
    assert learn([bare, dark], prior_c=1.0) == Learned()


def test_the_spread_is_that_about_the_mean_of_each_kind() -> None:
    """Clear nights at 2, 3, 4 and cloudy ones at -1, 1: sqrt((2 + 2) / 3); of two nights nothing is said."""
    found = learn(nights(2.0, 3.0, 4.0) + nights(-1.0, 1.0, cloud=1.0), prior_c=0.0)
    assert found.sd_c == pytest.approx((4 / 3) ** 0.5)
    assert learn(nights(2.0, 3.0), prior_c=0.0).sd_c is None


# --- two kinds of night ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("cloud", "wind", "kind"),
    [(0.0, 0.0, "clear"), (0.3, 1.0, "clear"), (0.0, 2.5, "clear"), (0.4, 0.5, "other"), (0.0, 3.0, "other"),
     (0.3, 2.5, "other"), (1.0, 0.0, "other"), (0.0, 9.0, "other")],
)  # fmt: skip
def test_clear_and_calm_is_where_seven_tenths_of_the_drop_are_left(cloud: float, wind: float, kind: str) -> None:
    """Cloud up to 0.35 in still air, wind to 2.7 m/s under a clear sky (ours)."""
    assert regime(cloud, wind) == kind


@pytest.mark.parametrize("wind", [0.0, 1.0, 1.5, 1.99])
@outside(
    "Snyder & de Melo-Abreu 2005, *Frost Protection* (FAO), chapter 5: no cloud, wind under 2 m/s",
    "every radiation night counts as clear and calm",
    within="equal",
    because="a kind; our own borders lie a little beyond",
)
def test_a_radiation_night_is_clear_and_calm(wind: float) -> None:
    """The nights for which frost forecasts by regression are made."""
    compare(regime(0.0, wind), "clear")


@given(st.lists(COLDER, min_size=1, max_size=6), st.lists(COLDER, max_size=6))
def test_the_kinds_are_kept_apart(clear: list[float], cloudy: list[float]) -> None:
    """Cloudy nights say nothing of clear ones, and the other way round."""
    both = learn(nights(*clear) + nights(*cloudy, cloud=1.0), prior_c=0.0)
    assert (both.clear_c, both.clear_nights) == (clear_c(*clear), len(clear))
    assert both.other_nights == len(cloudy)
    assert both.other_c == learn(nights(*cloudy, wind=9.0), prior_c=0.0).other_c


def test_a_kind_without_a_night_has_no_offset() -> None:
    """None, not zero: such nights stay as they were."""
    own = own_lows(nights(2.0, 2.0), [Spot("bed", colder_c=1.0)])
    assert own.offset("bed", 1.0, 1.0) is None
    assert own.offset("bed", 0.0, 1.0) is not None
    assert own.offset("porch", 0.0, 1.0) is None


def test_a_spot_like_another_takes_over_its_lows_and_never_the_other_way_round() -> None:
    """A cloth is taken to be as cold as the bare bed; lows under the cloth say little of the bed."""
    bed, cloth = Spot("bed"), Spot("bed, cloth", like="bed", shade=0.5)
    assert set(own_lows(nights(2.0), [bed, cloth]).by_spot) == {"bed", "bed, cloth"}
    under = [logged(2.0, spot="bed, cloth")]
    assert set(own_lows(under, [bed, cloth]).by_spot) == {"bed, cloth"}
    assert own_lows([*nights(4.0), *under], [bed, cloth]).by_spot["bed, cloth"].clear_c == clear_c(2.0)


# --- what it does to a night -------------------------------------------------------------------------


def weather_of(low_c: float, cloud: float = 0.0, wind: float = 1.0) -> NightWeather:
    evening = datetime(2027, 5, 3, 20, tzinfo=UTC)
    return NightWeather(
        evening=date(2027, 5, 3),
        morning=MORNING,
        start=evening,
        end=evening + timedelta(hours=11),
        known=True,
        missing=None,
        air_low_c=low_c,
        low_at=evening,
        cloud_frac=cloud,
        wind_m_s=wind,
        hours_c=(low_c,),
    )


def spot_night(low_c: float, learned_c: float | None, share: float = 1.0, **sky: float) -> SpotNight:
    found = at_spot(
        weather_of(low_c, **sky),
        colder_c=0.0,
        sky_view=1.0,
        lead_days=1.0,
        learned_c=learned_c,
        learned_share=share,
    )
    assert found is not None
    return found


def verdict(night: SpotNight, risk: Risk | None = None) -> Judgement:
    """For a tomato that is hardened."""
    return judge(night, check_below_c=7.0, harm_below_c=2.0, risk=risk or Risk(), cover_c=None)


def test_one_logged_night_does_not_take_the_drop_to_the_tray_away() -> None:
    """A first low at the forecast's own replaces a third of the 2 C under a clear sky, not all of it."""
    offset = own_lows(nights(0.0), [Spot("bed")]).offset("bed", 0.0, 1.0)
    assert offset is not None
    night = spot_night(8.0, offset.offset_c, offset.share)
    assert night.leaf_low_c == pytest.approx(8.0 - 2.0 * 2 / 3 - 1.5)


@given(st.floats(-8.0, 8.0), st.floats(0.0, 1.0), st.floats(-5.0, 20.0), st.floats(0.0, 1.0), st.floats(0.0, 10.0))
def test_no_leaf_is_warmer_than_the_forecast_whatever_was_learned(
    learned: float, share: float, low: float, cloud: float, wind: float
) -> None:
    """A warm thermometer, under an eave or by a wall, is no leave to risk injury."""
    night = spot_night(low, learned, share, cloud=cloud, wind=wind)
    assert night.leaf_low_c <= min(low, night.air_low_c)


@given(st.floats(0.0, 8.0), st.floats(3.0, 14.0))
def test_a_spot_warmer_than_the_forecast_rings_fewer_false_alarms_and_holds_harm(
    warmer: float, low: float
) -> None:
    """Check asks for less; harm stays as at a spot that is as the forecast says."""
    as_forecast, warm = verdict(spot_night(low, 0.0)), verdict(spot_night(low, -warmer))
    assert warm.odds_check is not None
    assert as_forecast.odds_check is not None
    assert warm.odds_check <= as_forecast.odds_check
    assert warm.odds_harm == as_forecast.odds_harm


@given(st.floats(0.0, 8.0), st.floats(0.0, 8.0), st.floats(0.0, 14.0))
def test_a_colder_spot_never_lets_more_out(one: float, more: float, low: float) -> None:
    """More offset, more odds, of both."""
    here, colder = verdict(spot_night(low, one)), verdict(spot_night(low, one + more))
    assert (here.verdict, colder.verdict) != ("in", "out")


# --- bias and spread by lead time --------------------------------------------------------------------


def test_twenty_nights_tell_bias_and_spread() -> None:
    """Forecasts 0.5 C too warm, give or take 1 C; nineteen say nothing."""
    errors = [0.5 + (1.0 if n % 2 else -1.0) for n in range(20)]
    (lead, found), *rest = lead_errors((1, error) for error in errors).items()
    assert (lead, rest, found.nights, found.bias_c) == (1, [], 20, pytest.approx(mean(errors)))
    assert found.sd_c == pytest.approx(stdev(errors))
    assert found.spread_c == pytest.approx(hypot(mean(errors), stdev(errors)))
    assert lead_errors((1, error) for error in errors[:19]) == {}


def test_an_error_that_is_no_number_is_refused() -> None:
    """It would poison all others."""
    with pytest.raises(ValueError, match="nan"):
        lead_errors([(1, float("nan"))])


@pytest.mark.parametrize(("sd", "share"), [(0.1, 0.5), (1.0, None), (4.0, None)])
def test_own_spread_widens_and_narrows_to_half_at_most(sd: float, share: float | None) -> None:
    """Twenty lucky nights don't make a forecast sure."""
    own = OwnLows(errors={1: LeadError(20, 0.0, sd)})
    assert own.sd_c(1.0) == pytest.approx(sd if share is None else share * low_spread_c(1))


@given(st.dictionaries(st.integers(1, 7), st.floats(0.0, 6.0)), st.integers(1, 15), st.integers(0, 5))
def test_own_spread_never_falls_with_the_lead(found: dict[int, float], lead: int, more: int) -> None:
    """A far night is not surer than a near one; without own nights it is the table's."""
    own = OwnLows(errors={each: LeadError(20, 0.0, sd) for each, sd in found.items()})
    assert own.sd_c(lead + more) >= own.sd_c(lead) >= 0.5 * low_spread_c(lead) - 1e-12
    assert OwnLows().sd_c(lead) == low_spread_c(lead)


def past_low(day: int, lead: int, low_c: float, hour: int = 12) -> PastLow:
    """A forecast of the night that ends `day` days after MORNING, made so many days ahead."""
    evening = MORNING + timedelta(days=day - 1)
    made = datetime(evening.year, evening.month, evening.day, hour, tzinfo=UTC) - timedelta(days=lead - 1)
    return PastLow("x", made, evening, lead, low_c)


def test_errors_are_what_the_offset_leaves() -> None:
    """Twenty nights 3 C colder, two days ahead forecast a degree too cold: bias -1 there, none at one day."""
    nights_ = nights(*[3.0] * 20)
    learned = {"bed": learn(nights_, prior_c=3.0)}
    found = errors_by_lead(nights_, [past_low(day, 2, 7.0) for day in range(20)], learned)
    assert {lead: error.bias_c for lead, error in found.items()} == pytest.approx({1: 0.0, 2: -1.0})
    assert {error.nights for error in found.values()} == {20}


def test_two_spots_of_one_morning_are_one_night() -> None:
    """Their forecast erred once, not twice."""
    both = nights(*[2.0] * 10) + [logged(1.0, day=day, spot="porch") for day in range(10)]
    learned = {name: learn([one for one in both if one.spot == name], prior_c=0.0) for name in ("bed", "porch")}
    assert errors_by_lead(both, [], learned) == {}


def test_a_night_s_error_is_the_mean_over_its_spots() -> None:
    """A degree more at the one and a degree less at the other leave nothing to the forecast."""
    swings = [1.0 if day % 2 else -1.0 for day in range(20)]
    both = [logged(swing, day=day) for day, swing in enumerate(swings)]
    both += [logged(-swing, day=day, spot="porch") for day, swing in enumerate(swings)]
    learned = {name: learn([one for one in both if one.spot == name], prior_c=0.0) for name in ("bed", "porch")}
    found = errors_by_lead(both, [], learned)[1]
    assert (found.nights, found.spread_c) == (20, pytest.approx(0.0, abs=1e-9))


def test_a_night_without_forecast_is_filled_from_the_archive() -> None:
    """By the last forecast of its evening, and only where its cloud and wind are in hand too."""
    bare = [replace(one, forecast_low_c=None, cloud_frac=None, wind_m_s=None) for one in nights(1.0, 1.0)]
    past = [past_low(0, 1, 9.0, hour=8), past_low(0, 1, 8.0, hour=18), past_low(0, 3, 5.0), past_low(1, 1, 8.0)]
    first, second = filled(bare, past, {MORNING: weather_of(99.0, cloud=0.2, wind=1.5)})
    assert (first.forecast_low_c, first.cloud_frac, first.wind_m_s) == (8.0, 0.2, 1.5)
    assert second == bare[1]
    told = nights(1.0)
    assert filled(told, past, {MORNING: weather_of(99.0)}) == tuple(told)


# --- in the schedule ---------------------------------------------------------------------------------

READY = hand_state(air=12.0, sun=12.0, cold=2.0, light_mol=40.0)
NOW = datetime.combine(FIRST, datetime.min.time(), PLACE.tz).replace(hour=17)


def schedule(own: OwnLows, *, cloud: float = 0.0, low_c: float = 8.5, risk: Risk | None = None) -> Schedule:
    """A hardened tomato that could spend the night in the open."""
    of = replace(garden("tomato", spots=(OPEN,), state=READY), risk=risk or Risk())
    forecast = Weather(days=3, low_c=low_c, cloud=cloud, gust_m_s=2.0).forecast()
    return build_schedule(of, forecast, NOW, NOTE, heard=Heard(own=own))


def coming(made: Schedule) -> NightAnswer:
    return made.nights[-1].batches[0].night


FIVE = own_lows([replace(one, spot=OPEN.name) for one in nights(*[FIVE_F] * 5)], [OPEN])


def test_a_learned_offset_turns_out_into_in_and_says_what_it_stands_on() -> None:
    """Forecast 8.5 C, limit 7 C: out as long as nobody knows that the bed is colder."""
    before, after = coming(schedule(OwnLows())), coming(schedule(FIVE))
    assert (before.verdict, before.offset_c, before.offset_nights, before.offset_regime) == ("out", 0.0, 0, None)
    assert (after.verdict, after.because, after.offset_nights, after.offset_regime) == (
        "in",
        "weather",
        5,
        "clear",
    )
    assert after.offset_c == pytest.approx(FIVE_F * 5 / 7)
    assert after.air_low_c == pytest.approx(before.air_low_c - after.offset_c)
    assert before.leaf_low_c == pytest.approx(8.5 - 2.0 - 1.5, abs=0.01)
    assert after.leaf_low_c == pytest.approx(8.5 - after.offset_c - 2.0 * 2 / 7 - 1.5, abs=0.01)


def test_a_cloudy_night_stays_as_it_was() -> None:
    """To the last number."""
    assert coming(schedule(FIVE, cloud=1.0)) == coming(schedule(OwnLows(), cloud=1.0))


def test_an_unknown_night_has_no_offset() -> None:
    """Nothing is taken off what is not there."""
    of = garden("tomato", spots=(OPEN,), state=READY)
    weather = Weather(days=3)
    frame = weather.frame()
    frame["air_temperature_c"] = np.nan
    made = build_schedule(of, weather.forecast(frame), NOW, NOTE, heard=Heard(own=FIVE))
    assert (coming(made).verdict, coming(made).offset_c, coming(made).offset_nights) == ("unknown", None, 0)


def test_own_spread_is_said_and_moves_the_odds() -> None:
    """Twenty nights give or take 4 C: one night in ten is colder by more than with the usual 1.8 C."""
    own = OwnLows(errors={1: LeadError(20, 0.6, 4.0)})
    wide, usual = schedule(own), schedule(OwnLows())
    assert coming(wide).low_1_in_10_c == pytest.approx(coming(wide).air_low_c - 1.2816 * hypot(0.6, 4.0), abs=1e-3)
    assert coming(wide).low_1_in_10_c < coming(usual).low_1_in_10_c
    (note,) = [note for note in wide.forecast.notes if note not in usual.forecast.notes]
    assert "20 nights of your own" in note
    assert "0.6 C (1.1 F) colder" in note
    assert "give or take 4.0 C" in note


def test_views_say_forecast_offset_and_plant_level_side_by_side() -> None:
    """In the morning check, and in the cold watch in words and in its table."""
    made = replace(schedule(FIVE), units="us")
    said = "; forecast 47°F; your own lows: 5 nights, 3.6°F colder on clear nights"
    assert said in answers.tonight(coming(made), "us")
    shown = tonight_view.render(made, width=120)
    assert said in " ".join(shown.split())
    (heads,) = [line for line in shown.splitlines() if line.strip().startswith("low, ")]
    row = shown.splitlines()[shown.splitlines().index(heads) + 1].split()
    assert heads.split()[2:5] == ["forecast", "offset", "here"]
    assert row[1:4] == ["47", "-3.6", "44"]


def test_a_garden_that_knows_of_no_offset_shows_no_column_for_it() -> None:
    """Six numbers are enough."""
    assert "offset" not in tonight_view.render(schedule(OwnLows()))


# --- what an evening of carrying is worth ------------------------------------------------------------

HOME = """
units = "us"
[place]
name = "Tallow Lane"
latitude = 40.0
longitude = -83.0
timezone = "America/New_York"
[[spot]]
name = "long bed"
[[batch]]
name = "tomatoes"
crop = "tomato"
plant_out_at = "long bed"
state = { on = 2027-05-10, air = 12, sun = 12, cold = 2, light_mol = 40 }
"""


@pytest.mark.parametrize(("word", "needless_for_one"), [("cheap", 3.0), ("fair", 1.0), ("dear", 1 / 3)])
@outside(
    "the cost-loss ratio, Murphy 1977, Mon. Weather Rev. 105:803 (from memory): 1 / (1 + n)",
    "odds at which a carry is just worth it, for n needless evenings that are taken for a needed one",
    within="0.0001",
    because="an identity",
)
def test_odds_of_check_follow_from_the_worth_of_an_evening(word: str, needless_for_one: float) -> None:
    """Three, one, a third of one. Harm is untouched."""
    risk = garden_from_text(Path("g.toml"), f'{HOME}[risk]\nevening_of_carrying = "{word}"\n').risk
    compare(risk.check, 1.0 / (1.0 + needless_for_one))
    assert risk.harm == Risk().harm


def test_check_and_the_worth_of_an_evening_can_t_both_be_there() -> None:
    """They say the same."""
    with pytest.raises(GardenError, match="check is there as well"):
        garden_from_text(Path("g.toml"), f'{HOME}[risk]\ncheck = 0.3\nevening_of_carrying = "dear"\n')


@pytest.mark.parametrize("word", ["cheap", "fair", "dear"])
@given(low=st.floats(-4.0, 14.0))
def test_a_night_that_can_injure_brings_in_whatever_an_evening_costs(word: str, low: float) -> None:
    """The budget is for nights that only check growth."""
    night = spot_night(low, None)
    judged = verdict(night, Risk(check=load_night_model().carrying[word]))
    assert judged.odds_harm == verdict(night).odds_harm
    if judged.odds_harm is not None and judged.odds_harm > Risk().harm:
        assert judged.verdict == "in"


# --- from the command line ---------------------------------------------------------------------------


def table(first: date, days: int, *, low_c: float, cloud: float) -> str:
    """A table of hours: lowest at 05:00, highest at 17:00 local time, calm."""
    lines = ["time,air_temperature_c,cloud_cover_frac,wind_speed_m_s,wind_gust_m_s,wind_from_deg,precipitation_mm"]
    begin = datetime(first.year, first.month, first.day, tzinfo=PLACE.tz)
    for hour in range(24 * days):
        at = begin + timedelta(hours=hour)
        air_c = low_c + 6.0 * (1.0 - cos((hour - 5) / 12.0 * pi))
        lines.append(f"{at.isoformat()},{air_c:.2f},{cloud},0.8,2.0,200,0")
    return "\n".join(lines) + "\n"


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A garden, the forecasts of a clear week, of a clear evening and of a cloudy one; folders of its own."""
    (tmp_path / "garden.toml").write_text(HOME)
    (tmp_path / "week.csv").write_text(table(date(2027, 5, 3), 7, low_c=10.0, cloud=0.0))
    (tmp_path / "clear.csv").write_text(table(date(2027, 5, 9), 5, low_c=8.5, cloud=0.0))
    (tmp_path / "cloudy.csv").write_text(table(date(2027, 5, 9), 5, low_c=8.5, cloud=1.0))
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("HARDENOFF_CACHE_DIR", str(tmp_path / "cache"))
    monkeypatch.setenv("HARDENOFF_STATE_DIR", str(tmp_path / "state"))
    return tmp_path


def run(*words: str, now: str = "2027-05-10T17:00") -> Result:
    """A command that must work."""
    result = CliRunner().invoke(app, [*words, "--now", now])
    assert result.exit_code == Exit.DONE, result.stderr
    return result


def log_five() -> None:
    """Five clear mornings 5 F colder than the 50 F that was forecast."""
    for day in range(4, 9):
        run("log", "low", "long bed", "45 F", "--on", f"2027-05-{day:02}", "--forecast-file", "week.csv")


def tonight_of(file: str) -> dict[str, object]:
    told = json.loads(run("tonight", "--forecast-file", file, "--json").stdout)
    night: dict[str, object] = told["nights"][-1]["batches"][0]["night"]
    return night


def test_after_five_clear_nights_tonight_says_so_and_acts_on_it(home: Path) -> None:
    """The bed is 5 F colder than forecast: a clear night that was out comes in, a cloudy one stays as it was."""
    clear, cloudy = tonight_of("clear.csv"), tonight_of("cloudy.csv")
    assert (clear["verdict"], cloudy["verdict"]) == ("out", "out")
    log_five()
    after = tonight_of("clear.csv")
    assert (after["verdict"], after["because"], after["action"]) == ("in", "weather", "bring_in")
    assert (after["offset_nights"], after["offset_regime"]) == (5, "clear")
    assert after["offset_c"] == pytest.approx(25 / 7 / 1.8, abs=0.02)
    assert tonight_of("cloudy.csv") == cloudy


def test_the_story_in_words(home: Path) -> None:
    """What a grower reads, in the cold watch and in the morning check."""
    log_five()
    for command in ("tonight", "today"):
        said = " ".join(run(command, "--forecast-file", "clear.csv").stdout.split())
        assert "forecast 47°F; your own lows: 5 nights, 3.6°F colder on clear nights" in said
    assert "your own lows" not in run("tonight", "--forecast-file", "cloudy.csv").stdout


def test_a_script_is_told_to_act(home: Path) -> None:
    """`tonight --exit-code` leaves with 10 once the lows are known, and with 0 before."""
    asked = ["tonight", "--exit-code", "--forecast-file", "clear.csv", "--now", "2027-05-10T17:00"]
    assert CliRunner().invoke(app, asked).exit_code == Exit.DONE
    log_five()
    assert CliRunner().invoke(app, asked).exit_code == Exit.ACT_TONIGHT


def entries() -> tuple[Entry, ...]:
    found, complaints = read_journal(Path("garden.journal.jsonl"))
    assert complaints == ()
    return found


def test_a_low_is_written_with_the_forecast_of_its_night(home: Path) -> None:
    """Of the night that ends on that morning, and said back."""
    said = run("log", "low", "long bed", "45 F", "--on", "2027-05-05", "--forecast-file", "week.csv").stdout
    assert "morning low at long bed: 45°F, forecast 50°F" in said
    (entry,) = entries()
    assert (entry.forecast_low_c, entry.cloud_frac, entry.wind_m_s) == (10.0, 0.0, 0.8)
    (night,) = logged_nights([entry])
    assert (night.morning, night.regime) == (date(2027, 5, 5), "clear")
    assert night.colder_c == pytest.approx(FIVE_F, abs=0.05)


@pytest.mark.parametrize("file", [None, "week.csv"], ids=["nothing kept", "another week"])
def test_without_its_forecast_a_low_is_recorded_all_the_same(home: Path, file: str | None) -> None:
    """And it is said that nothing is learned from it yet."""
    given_file = [] if file is None else ["--forecast-file", file]
    result = run("log", "low", "long bed", "45 F", *given_file)
    assert "recorded" in result.stdout
    assert "teaches nothing without it" in result.stderr
    assert "--forecast-file PATH" in result.stderr
    (entry,) = entries()
    assert (entry.low_c, entry.forecast_low_c, entry.cloud_frac, entry.wind_m_s) == (7.2, None, None, None)


def test_a_corrected_low_keeps_the_forecast_that_was_told_with_it(home: Path) -> None:
    """The reading was wrong, not the forecast."""
    run("log", "low", "long bed", "54 F", "--on", "2027-05-05", "--forecast-file", "week.csv")
    run("log", "low", "long bed", "45 F", "--fix", entries()[0].id)
    assert (entries()[-1].low_c, entries()[-1].forecast_low_c) == (7.2, 10.0)


def test_a_file_that_is_no_forecast_records_nothing(home: Path) -> None:
    """Whoever names a file means it."""
    (home / "page.html").write_text("<html><body>502</body></html>")
    asked = ["log", "low", "long bed", "45 F", "--forecast-file", "page.html", "--now", "2027-05-10T17:00"]
    assert CliRunner().invoke(app, asked).exit_code == Exit.UNREADABLE
    assert not (home / "garden.journal.jsonl").exists()


def test_of_two_lows_of_one_morning_the_last_said_counts() -> None:
    """Nobody's night counts twice."""
    told = [
        Entry(name, datetime(2027, 5, 4, 7, tzinfo=UTC), MORNING, "low", spot="bed", low_c=low)
        for name, low in (("one", 5.0), ("two", 6.0))
    ]
    assert [night.low_c for night in logged_nights(told)] == [6.0]


def test_a_low_of_a_run_without_forecast_learns_from_the_archive(home: Path) -> None:
    """What was forecast on that evening is in the state folder, its cloud and wind in the hours in hand."""
    of = garden("tomato", spots=(OPEN,))
    weather = Weather(days=4, low_c=9.0)
    made = datetime.combine(FIRST, datetime.min.time(), PLACE.tz).replace(hour=18)
    forecast = weather.forecast()
    evening = replace(forecast, origin=replace(forecast.origin, fetched_at=made))
    append(home / "state", of.place, [Reading(evening, (), timedelta(0), asked=True)])
    low = Entry("one", made, FIRST + timedelta(days=1), "low", spot=OPEN.name, low_c=6.0)
    stale = Entry("two", made, FIRST + timedelta(days=2), "low", spot=OPEN.name, low_c=6.0)
    own = taught(Shared(), of, [low, stale], forecast)
    assert own.by_spot == {OPEN.name: learn([logged(3.0, spot=OPEN.name)], prior_c=0.0)}
    assert taught(Shared(forecast_file=Path("x")), of, [low], forecast) == OwnLows()


@pytest.mark.parametrize("archived", [False, True])
def test_a_low_is_held_against_what_was_forecast_on_its_evening(
    home: Path, monkeypatch: pytest.MonkeyPatch, archived: bool
) -> None:
    """The archive has that; else the kept reply, which this morning may know the night better than anyone did."""
    of = garden("tomato", spots=(OPEN,))
    made = datetime.combine(FIRST, datetime.min.time(), PLACE.tz).replace(hour=18)
    evening = Weather(days=4, low_c=9.0).forecast()
    if archived:
        origin = replace(evening.origin, fetched_at=made)
        append(home / "state", of.place, [Reading(replace(evening, origin=origin), (), timedelta(0), asked=True)])
    monkeypatch.setattr(lows, "_kept", lambda *_: Weather(days=4, low_c=6.5).forecast())
    told = Entry("one", made, FIRST + timedelta(days=1), "low", spot=OPEN.name, low_c=6.0)
    found, _ = lows.with_forecast(Shared(), of, made + timedelta(hours=13), told, None)
    assert found.forecast_low_c == pytest.approx(9.0 if archived else 6.5, abs=0.2)
    assert (found.cloud_frac, found.wind_m_s) == (0.0, 1.5)


def test_lows_of_a_spot_that_is_gone_teach_nothing() -> None:
    """The garden file may have changed since."""
    assert own_lows(nights(2.0), [SHADED]) == OwnLows()
