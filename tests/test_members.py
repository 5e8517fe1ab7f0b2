"""The odds of the date of hardened: members of an ensemble, each planned for; all weather here is invented."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from importlib import resources
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator
from sample_schedule import sample
from typer.testing import CliRunner
from weather import FIRST, NOTE, PLACE, WORK, Weather, garden, hand_state, on_dates, with_batches

from hardenoff.cli.app import app
from hardenoff.forecast import write_bundle
from hardenoff.forecast.hours import Forecast
from hardenoff.forecast.reader import Reply
from hardenoff.night import nights, spread_c
from hardenoff.ramp.heard import Heard
from hardenoff.ramp.logbook import BatchLog, DayDone, Logbook
from hardenoff.records import Garden
from hardenoff.schedule.build import build_schedule
from hardenoff.schedule.members import MemberDates, member_forecasts, plan_members
from hardenoff.schedule.plans import plan_all
from hardenoff.schedule.records import Finish, FinishOdds, HardenedBy
from hardenoff.sun.light import with_radiation
from hardenoff.tables import low_spread_c
from hardenoff.views import plan as view

FIXTURES = Path(__file__).parents[1] / "fixtures"
DAYS = 8
HALFWAY = hand_state(air=6.0, sun=6.0, light_mol=12.0)
APART_C = (-4.0, -2.0, 0.0, 0.0, 1.0, 2.0, 3.0)
"""Seven members, of mean 0."""
NOW = datetime.combine(FIRST, time(6), PLACE.tz)


def later(days: int) -> date:
    """So many days after the first."""
    return FIRST + timedelta(days=days)


def snap(colder_c: float = 0.0, **weather: Any) -> Forecast:
    """Eight days with a cold snap on the third to the fifth."""
    frame = Weather(days=DAYS, **weather).frame()
    cold = on_dates(frame, PLACE, later(2), later(4))
    frame.loc[cold, "air_temperature_c"] -= 6.0
    frame["air_temperature_c"] -= colder_c
    return Weather().forecast(frame)


def with_members(forecast: Forecast, *apart_c: float, above_c: float = 0.0) -> Forecast:
    """The forecast with radiation, and with members that run beside its air, all of them so much above it."""
    forecast = with_radiation(forecast, PLACE)
    air_c = forecast.hours["air_temperature_c"]
    members = {f"member{number:02d}": air_c + above_c + apart for number, apart in enumerate(apart_c)}
    return replace(forecast, members_c=pd.DataFrame(members))


def ends(
    of: Garden,
    forecast: Forecast,
    *,
    heard: Heard | None = None,
    logbook: Logbook | None = None,
    now: datetime = NOW,
) -> tuple[Finish, ...]:
    """What `plan` says of the ends."""
    return build_schedule(
        of, forecast, now, NOTE, days_ahead=True, heard=heard, logbook=logbook, odds=True
    ).finishes


def odds(of: Garden, forecast: Forecast, **more: Any) -> FinishOdds:
    """The odds of the first batch, which there must be."""
    found = ends(of, forecast, **more)[0].odds
    assert found is not None
    return found


# --- shares, by hand -----------------------------------------------------------------------------------

FOUR = MemberDates("tomatoes", (later(9), None, later(7), later(7)))


@pytest.mark.parametrize(("days", "share"), [(6, 0.0), (7, 0.5), (8, 0.5), (9, 0.75), (99, 0.75)])
def test_share_by_a_date(days: int, share: float) -> None:
    """Two of four on day 7, three from day 9 on, the fourth never."""
    assert FOUR.share_by(later(days)) == share


@pytest.mark.parametrize(
    ("share", "by"),
    [
        (0.25, HardenedBy(later(7), 2)),
        (0.5, HardenedBy(later(7), 2)),
        (0.51, HardenedBy(later(9), 3)),
        (0.75, HardenedBy(later(9), 3)),
        (0.76, None),
    ],
)
def test_date_by_a_share(share: float, by: HardenedBy | None) -> None:
    """The first date for so many; none where so many never get there."""
    assert FOUR.by_share(share) == (None if by is None else by.on)
    assert FOUR.hardened_by(share) == by


def test_nine_of_ten_are_nine_in_ten() -> None:
    """The share is reached, not passed."""
    ten = MemberDates("tomatoes", (*[later(3)] * 9, None))
    assert ten.hardened_by(0.9) == HardenedBy(later(3), 9)


@given(st.lists(st.none() | st.integers(0, 30), min_size=1, max_size=60), st.floats(0.01, 1.0))
def test_the_date_by_a_share_is_the_first_such_date(days: list[int | None], share: float) -> None:
    """By that date so many are hardened, on the day before they are not."""
    members = MemberDates("tomatoes", tuple(None if day is None else later(day) for day in days))
    by = members.hardened_by(share)
    if by is None:
        assert members.share_by(later(30)) < share
    else:
        assert by.members == sum(day is not None and later(day) <= by.on for day in days)
        assert members.share_by(by.on) >= share > members.share_by(by.on - timedelta(days=1))


# --- what a member is ----------------------------------------------------------------------------------


def test_only_the_departure_from_the_mean_is_laid_on_the_air() -> None:
    """An ensemble that is 5 C warmer all through tells nothing of the place; all but air is the forecast's."""
    forecast = with_members(snap(), *APART_C, above_c=5.0)
    for member, apart in zip(member_forecasts(forecast), APART_C, strict=True):
        difference = member.hours.drop(columns="air_temperature_c").compare(
            forecast.hours.drop(columns="air_temperature_c")
        )
        assert difference.empty
        assert (member.hours["air_temperature_c"] - forecast.hours["air_temperature_c"]).round(9).eq(apart).all()


def test_a_member_that_ends_has_the_forecast_s_air_from_there_on() -> None:
    """Its tail is neither unknown nor another member's; the others depart from the mean of those that are left."""
    forecast = with_members(snap(), *APART_C)
    assert forecast.members_c is not None
    forecast.members_c.iloc[-48:, 0] = np.nan
    first, second, *_ = member_forecasts(forecast)
    air_c = forecast.hours["air_temperature_c"]
    departure = first.hours["air_temperature_c"] - air_c
    assert departure.iloc[:-48].round(9).eq(-4.0).all()
    assert departure.iloc[-48:].eq(0.0).all()
    assert (second.hours["air_temperature_c"] - air_c).iloc[-1] == pytest.approx(-2.0 - 4.0 / 6.0)


def test_hours_before_the_members_stay_known() -> None:
    """Hours that are over, put before a forecast, have no members, and are as they were."""
    forecast = with_members(snap(), *APART_C)
    assert forecast.members_c is not None
    late = replace(forecast, members_c=forecast.members_c.iloc[30:])
    for member in member_forecasts(late):
        pd.testing.assert_frame_equal(member.hours.iloc[:30], forecast.hours.iloc[:30])


def test_a_member_s_nights_are_as_sure_as_the_forecast_s() -> None:
    """Another low, the same spread of it: that of all members, else equal members would have other odds."""
    forecast = with_members(snap(), *APART_C)
    colder, *_ = member_forecasts(forecast)
    for own, its in zip(*(nights(each, PLACE, FIRST, later(5)) for each in (forecast, colder)), strict=True):
        assert own.air_low_c is not None
        assert its.air_low_c == pytest.approx(own.air_low_c - 4.0)
        assert spread_c(its, 6.0) == spread_c(own, 6.0) != low_spread_c(6.0)


# --- plans of members ----------------------------------------------------------------------------------


@pytest.mark.parametrize("week", [None, WORK], ids=["home", "work"])
@pytest.mark.parametrize(
    "forecast", [Weather(days=DAYS).forecast(), snap(), snap(6.0)], ids=["mild", "snap", "cold"]
)
def test_equal_members_have_the_plan_s_own_date(forecast: Forecast, week: Any) -> None:
    """One batch: each of them is the forecast, with the spread of the lows that the plan itself has."""
    of = garden(start=FIRST, state=HALFWAY, **({} if week is None else {"week": week}))
    equal = with_members(forecast, *[0.0] * 6, above_c=1.5)
    planner, plans = plan_all(of, equal, FIRST)
    date_of_plan = planner.hardened_on(of.batches[0], plans["seedlings"])
    assert date_of_plan is not None
    assert plan_members(of, member_forecasts(equal), FIRST)[0].dates == (date_of_plan,) * 6
    found = odds(of, equal)
    assert found.half == found.nine_in_ten == HardenedBy(date_of_plan, 6)


def test_colder_members_never_make_the_median_earlier() -> None:
    """A cold snap, and the same a few degrees colder: half of them are hardened no earlier, and once later."""
    of = garden(start=FIRST, state=HALFWAY)
    medians = []
    for colder_c in (0.0, 1.0, 2.0, 4.0, 6.0):
        colder = member_forecasts(with_members(snap(colder_c), *APART_C))
        median = plan_members(of, colder, FIRST)[0].by_share(0.5)
        assert median is not None
        medians.append(median)
    assert medians == sorted(medians)
    assert medians[-1] > medians[0]


@settings(max_examples=3)
@given(st.lists(st.sampled_from((-9.0, -6.0, -3.0, 0.0, 2.0)), min_size=2, max_size=4), st.integers(1, 3))
def test_what_stands_beside_a_member_makes_no_difference(apart_c: list[float], cut: int) -> None:
    """Planned in one call or in two: the same dates."""
    two = garden(start=FIRST, state=HALFWAY, week=WORK)
    two = with_batches(two, two.batches[0], replace(two.batches[0], name="others", trays=3))
    members = [with_radiation(snap(-apart), PLACE) for apart in apart_c]
    whole = plan_members(two, members, FIRST)
    first, second = plan_members(two, members[:cut], FIRST), plan_members(two, members[cut:], FIRST)
    for number, each in enumerate(whole):
        parts = [part[number].dates for part in (first, second) if part]
        assert each.dates == tuple(on for dates in parts for on in dates)


def test_members_apart_have_dates_apart() -> None:
    """Nine in ten come later than half, and the counts are those of the dates."""
    of, forecast = garden(start=FIRST, state=HALFWAY), with_members(snap(2.0), *(2 * apart for apart in APART_C))
    dates = plan_members(of, member_forecasts(forecast), FIRST)[0].dates
    found = odds(of, forecast)
    assert found.half is not None
    assert found.nine_in_ten is not None
    assert found.half.on < found.nine_in_ten.on
    for by in (found.half, found.nine_in_ten):
        assert by.members == sum(on is not None and on <= by.on for on in dates)


def test_an_end_of_the_members_is_told() -> None:
    """The last local date on which two of them differ."""
    forecast = with_members(snap(), *APART_C)
    assert forecast.members_c is not None
    after = forecast.members_c.index >= datetime.combine(later(4), time(0), PLACE.tz)
    forecast.members_c.loc[after, "member01":] = np.nan  # type: ignore[misc]
    assert odds(garden(start=FIRST, state=HALFWAY), forecast).apart_until == later(3)


def test_past_days_are_the_same_in_all_members() -> None:
    """Members that differ before today alone tell nothing of what is to come."""
    forecast = with_members(snap(), *APART_C)
    assert forecast.members_c is not None
    today = datetime.combine(later(3), time(6), PLACE.tz)
    past = forecast.members_c.index < datetime.combine(later(3), time(0), PLACE.tz)
    of = garden(start=FIRST, state=HALFWAY)
    only_past = replace(forecast, members_c=forecast.members_c[past])
    assert ends(of, only_past, now=today)[0].odds is None
    forecast.members_c.loc[~past] = forecast.hours.loc[~past, ["air_temperature_c"]].to_numpy()
    (finish,) = ends(of, forecast, now=today)
    assert finish.earliest is not None
    assert finish.odds is not None
    assert finish.odds.half == HardenedBy(finish.earliest, len(APART_C))


# --- what is passed on ---------------------------------------------------------------------------------


def test_what_was_told_is_passed_on() -> None:
    """Two days inside move the members' date as they move the plan's."""
    of, equal = garden(start=FIRST, state=HALFWAY), with_members(Weather(days=DAYS).forecast(), *[0.0] * 5)
    told = {"seedlings": BatchLog({later(day): DayDone("inside") for day in range(3)})}
    now = datetime.combine(later(3), time(6), PLACE.tz)
    untold, held = (ends(of, equal, logbook=logbook, now=now)[0] for logbook in (None, told))
    assert untold.odds is not None
    assert held.odds is not None
    assert held.earliest is not None
    assert untold.odds.half != held.odds.half == HardenedBy(held.earliest, 5)


def test_what_was_heard_is_passed_on() -> None:
    """A second source with freezing nights keeps them in: the members' date moves as the plan's does."""
    of, equal = garden(start=FIRST, state=HALFWAY), with_members(Weather(days=DAYS).forecast(), *[0.0] * 5)
    cold = Weather(days=DAYS, low_c=-3.0).forecast()
    cold = replace(cold, origin=replace(cold.origin, provider="second"))
    alone, warned = (ends(of, equal, heard=heard)[0] for heard in (None, Heard((cold,))))
    assert alone.odds is not None
    assert warned.odds is not None
    assert warned.earliest is not None
    assert alone.odds.half != warned.odds.half == HardenedBy(warned.earliest, 5)


# --- where there are none ------------------------------------------------------------------------------


@pytest.mark.parametrize("count", [0, 4])
def test_few_members_tell_no_odds(count: int) -> None:
    """Under five say nothing about spread (`least_members`), as for the nights."""
    forecast = with_members(snap(), *APART_C[:count]) if count else snap()
    assert ends(garden(start=FIRST, state=HALFWAY), forecast)[0].odds is None


def test_a_garden_without_batches_has_none() -> None:
    """Nothing to plan, in no member either."""
    assert ends(with_batches(garden()), with_members(snap(), *APART_C)) == ()


def test_a_batch_that_is_planted_or_hardened_has_none() -> None:
    """Only what is still on its way has odds; the one beside it keeps its own."""
    ready = replace(
        garden(state=hand_state(later(-1), air=12.0, sun=12.0, cold=3.0, light_mol=45.0)).batches[0], name="ready"
    )
    planted = replace(garden(start=later(-1)).batches[0], name="planted")
    of = with_batches(garden(), ready, planted, garden(start=FIRST, state=HALFWAY).batches[0])
    logbook = {"planted": BatchLog(planted_on=later(-1))}
    found = {end.batch: end.odds for end in ends(of, with_members(snap(), *APART_C), logbook=logbook)}
    assert (found["ready"], found["planted"]) == (None, None)
    assert found["seedlings"] is not None


def test_nobody_who_does_not_ask_waits_for_odds() -> None:
    """All days ahead without them: as for `today`, which keeps its plan."""
    forecast = with_members(snap(), *APART_C)
    schedule = build_schedule(garden(start=FIRST, state=HALFWAY), forecast, NOW, NOTE, days_ahead=True)
    assert [end.odds for end in schedule.finishes] == [None]


# --- in words ------------------------------------------------------------------------------------------

ALL_LOOKED = {"members": 51, "ever": 51, "looked_until": later(32), "apart_until": later(14)}


@pytest.mark.parametrize(
    ("told", "said"),
    [
        (
            {"half": HardenedBy(later(10), 26), "nine_in_ten": HardenedBy(later(12), 46)},
            "In 26 of 51 forecasts hardened by Thu 13 May, in 46 of 51 by Sat 15 May.",
        ),
        (
            {"half": HardenedBy(later(10), 50), "nine_in_ten": HardenedBy(later(10), 50)},
            "In 50 of 51 forecasts hardened by Thu 13 May.",
        ),
        (
            {"half": HardenedBy(later(10), 26), "nine_in_ten": HardenedBy(later(15), 46)},
            "In 26 of 51 forecasts hardened by Thu 13 May, in 46 of 51 by Tue 18 May; "
            "past Mon 17 May all 51 are alike.",
        ),
        (
            {"half": HardenedBy(later(10), 30), "nine_in_ten": None, "ever": 40},
            "In 30 of 51 forecasts hardened by Thu 13 May, in 11 not within the days looked at (to Fri 4 Jun); "
            "past Mon 17 May all 51 are alike.",
        ),
        (
            {"half": None, "nine_in_ten": None, "ever": 12},
            "In 12 of 51 forecasts hardened within the days looked at (to Fri 4 Jun); "
            "past Mon 17 May all 51 are alike.",
        ),
        (
            {"half": None, "nine_in_ten": None, "ever": 0},
            "In none of 51 forecasts hardened within the days looked at (to Fri 4 Jun); "
            "past Mon 17 May all 51 are alike.",
        ),
    ],
    ids=["both", "one date", "past the members", "not nine in ten", "not half", "none"],
)
def test_odds_in_words(told: dict[str, Any], said: str) -> None:
    """After the sentence of the dates; what never gets there is said too."""
    end = Finish("basil", later(10), later(11), None, None, odds=FinishOdds(**(ALL_LOOKED | told)))
    lines = view.render(sample(finishes=(end,)), 80)
    assert max(map(len, lines.splitlines())) <= 80
    dates, _, rest = " ".join(lines.split()).partition("plant-out not known yet. ")
    assert "Hardened earliest Thu 13 May" in dates
    assert rest.startswith(said)


# --- the command ---------------------------------------------------------------------------------------

GARDEN = """
[place]
latitude = 42.94
longitude = -77.33
timezone = "America/New_York"

[[batch]]
name = "tomatoes"
crop = "tomato"
start = 2027-04-18
"""
ROLES = {"forecast": "open-meteo", "ensemble": "open-meteo-ensemble"}


def run(folder: Path, command: str, *options: str, roles: tuple[str, ...] = ("forecast", "ensemble")) -> str:
    """A command on the fixtures' replies in a bundle."""
    replies = [
        Reply(
            role,
            f"http://127.0.0.1/{role}",
            200,
            (FIXTURES / "forecasts" / ROLES[role] / "normal.json").read_bytes(),
        )
        for role in roles
    ]
    bundle, file = folder / "bundle.json", folder / "garden.toml"
    bundle.write_bytes(write_bundle("open-meteo", replies, fetched_at=datetime(2027, 4, 18, 6, tzinfo=UTC)))
    file.write_text(GARDEN)
    shared = ("--garden", str(file), "--now", "2027-04-18T06:40", "--forecast-file", str(bundle))
    result = CliRunner().invoke(app, [command, *shared, *options])
    assert result.exit_code == 0, result.output
    return result.stdout


def test_plan_tells_the_odds(tmp_path: Path) -> None:
    """Nine members of four days, after the sentence of the dates, within 80 columns."""
    lines = run(tmp_path, "plan").splitlines()
    (number,) = [number for number, line in enumerate(lines) if line.startswith("Hardened ")]
    assert lines[number + 1].startswith("In 9 of 9 forecasts hardened by ")
    assert lines[number + 1].endswith("; past Wed 21 Apr all 9 are alike.")
    assert max(map(len, lines)) <= 80


def test_odds_in_json_keep_the_schema(tmp_path: Path) -> None:
    """Published under the same number: the key is new, none is gone."""
    document = json.loads(run(tmp_path, "plan", "--json"))
    schema = json.loads(resources.files("hardenoff").joinpath("schemas", "plan.json").read_text("utf-8"))
    assert document["schema"] == "hardenoff.plan/1"
    Draft202012Validator(schema).validate(document)
    (batch,) = document["batches"]
    earliest = batch["hardened_on"]["earliest"]
    assert batch["odds"] == {
        "members": 9,
        "half": {"on": earliest, "members": 9},
        "nine_in_ten": {"on": earliest, "members": 9},
        "ever": 9,
        "looked_until": "2027-05-24",
        "apart_until": "2027-04-21",
    }


def test_without_members_there_is_no_line(tmp_path: Path) -> None:
    """And null in JSON."""
    assert "forecasts hardened" not in run(tmp_path, "plan", roles=("forecast",))
    (batch,) = json.loads(run(tmp_path, "plan", "--json", roles=("forecast",)))["batches"]
    assert batch["odds"] is None


@pytest.mark.parametrize("command", ["today", "tonight"])
def test_the_daily_checks_plan_no_members(command: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """They stay as quick as they are; `plan` would ask."""

    def refuse(*_: object) -> None:
        raise AssertionError("odds were asked for")

    monkeypatch.setattr("hardenoff.schedule.build.finish_odds", refuse)
    run(tmp_path, command)
    with pytest.raises(AssertionError):
        run(tmp_path, "plan")
