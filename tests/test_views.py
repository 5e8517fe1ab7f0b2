"""What people read: the words, the morning check, the cold watch, the plan, the sun, the hours, the check."""

from __future__ import annotations

import re
import tomllib
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from types import SimpleNamespace
from typing import TYPE_CHECKING, cast
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from sample_schedule import (
    CREDIT,
    HOLD_REASON,
    NOW,
    TODAY,
    ZONE,
    at,
    basil,
    beyond,
    leeks,
    limits,
    midnight_after,
    night,
    peppers,
    sample,
    squash,
    strip,
    unknown_night,
    watched,
)

from hardenoff.errors import UsageError
from hardenoff.forecast.hours import COLUMN_NAMES, Forecast, Origin
from hardenoff.garden import Advice, GardenReport, garden_from_text
from hardenoff.ramp.state import State
from hardenoff.schedule import finishes
from hardenoff.schedule.records import (
    Day,
    Finish,
    ForecastNote,
    Move,
    NightAnswer,
    Placement,
    Reason,
    Schedule,
    StripHour,
)
from hardenoff.sun.windows import SunDay, SunWindow
from hardenoff.views import answers, footer, hours, plan, report, sun, today, tonight, words
from hardenoff.views import strip as strips

if TYPE_CHECKING:
    from hardenoff.ramp.outcome import DayOutcome
    from hardenoff.ramp.plan import Planner

ESCAPE = re.compile(r"\x1b\[[0-9;]*m")
ALL_VIEWS = pytest.mark.parametrize("view", [today, tonight, plan], ids=["today", "tonight", "plan"])


def today_of(*batches: object, **changes: object) -> Schedule:
    """A schedule with these batches today and nothing after."""
    return sample(days=(Day(TODAY, "forecast", tuple(batches)),), **changes)  # type: ignore[arg-type]


def squeezed(text: str) -> str:
    """The words with single spaces."""
    return " ".join(text.split())


# --- words -----------------------------------------------------------------------------------------


def test_temperatures_are_shown_in_the_grower_s_unit() -> None:
    """7.8 C is 46.04 F (exact: F = C x 9/5 + 32)."""
    assert words.temperature(7.8, "us") == "46°F"
    assert words.temperature(7.8, "metric") == "8°C"


@pytest.mark.parametrize(("celsius", "shown"), [(0.0, "0°C"), (-0.2, "0°C"), (-0.6, "-1°C"), (10.0, "10°C")])
def test_zero_is_a_temperature(celsius: float, shown: str) -> None:
    """Zero degrees is no missing value, nothing is shown as minus zero, and ten keeps its nought."""
    assert words.temperature(celsius, "metric") == shown


def test_what_is_not_known_is_said_to_be_unknown() -> None:
    """None never becomes a number."""
    said = {words.temperature(None, "us"), words.speed(None, "us"), words.duration(None), words.percent(None)}
    assert said == {"unknown"}
    assert words.number_only(None, "temperature", "us") == "?"


def test_a_temperature_and_its_limit_never_look_alike() -> None:
    """49.6 F against 50 F would both read 50: tenths are shown then."""
    assert words.temperatures(9.8, 10.0, "us") == ("49.6°F", "50°F")


@given(st.floats(-30, 45), st.floats(-30, 45), st.sampled_from(["us", "metric"]))
def test_different_temperatures_read_differently(value: float, limit: float, units: words.UnitSystem) -> None:
    """Two temperatures at least a tenth of a degree apart never read the same."""
    if abs(value - limit) > 0.11:
        left, right = words.temperatures(value, limit, units)
        assert left != right


@pytest.mark.parametrize(
    ("hours_", "shown"), [(0.0, "0:00"), (1 / 3, "0:20"), (10.75, "10:45"), (0.999, "1:00"), (24, "24:00")]
)
def test_durations_are_hours_and_minutes(hours_: float, shown: str) -> None:
    """20 minutes are 0:20, and 59.94 minutes round to the hour, not to 0:60."""
    assert words.duration(hours_) == shown


def test_speeds_are_in_the_units_of_public_forecasts() -> None:
    """9.4 m/s is 21.03 mph (exact: 1 mph = 0.44704 m/s) and 33.84 km/h."""
    assert (words.speed(9.4, "us"), words.speed(9.4, "metric")) == ("21 mph", "34 km/h")


@pytest.mark.parametrize(("share", "said"), [(0.0, "0 %"), (0.425, "42 %"), (1.0, "100 %")])
def test_shares_are_percentages(share: float, said: str) -> None:
    """Of a hundred."""
    assert words.percent(share) == said


@pytest.mark.parametrize(
    ("hours_", "said"),
    [
        (0.0, "0 min old"),
        (0.99, "59 min old"),
        (1.0, "1.0 h old"),
        (9.94, "9.9 h old"),
        (10.0, "10 h old"),
        (71.0, "71 h old"),
        (72.0, "3 days old"),
        (None, "of unknown age"),
    ],
)
def test_ages_are_told_as_finely_as_they_matter(hours_: float | None, said: str) -> None:
    """Minutes, then tenths of hours, then hours, then days."""
    assert words.age(hours_) == said


def test_a_night_is_named_by_both_dates() -> None:
    """Also across the turn of a month."""
    assert words.night_of(date(2027, 5, 5), date(2027, 5, 6)) == "Wed 5 -> Thu 6 May"
    assert words.night_of(date(2027, 5, 31), date(2027, 6, 1)) == "Mon 31 May -> Tue 1 Jun"


def test_the_next_midnight_reads_24_00() -> None:
    """The end of a day is not its beginning."""
    assert words.clock_until(midnight_after(TODAY), TODAY) == "24:00"
    assert words.clock_until(at(18), TODAY) == "18:00"


@pytest.mark.parametrize(
    ("items", "said"), [(["a"], "a"), (["a", "b"], "a and b"), (["a", "b", "c"], "a, b and c"), ([], "")]
)
def test_names_are_listed_as_in_speech(items: list[str], said: str) -> None:
    """One, two, three names; none is nothing."""
    assert words.names(items) == said


@pytest.mark.parametrize(
    ("unit", "value", "limit", "said"),
    [
        ("degC", 6.1, 10.0, "why: 43°F, limit 50°F"),
        ("m/s", 2.44, 5.0, "why: 5 mph, limit 11 mph"),
        ("h", 0.35, None, "why: 0:21"),
        ("mol/m2", None, 22.0, "why: limit 22 mol/m²"),
        ("1", 0.42, 0.1, "why: 42 %, limit 10 %"),
        ("d", 3.0, None, "why: 3 days"),
        ("furlong", 2.5, None, "why: 2.5 furlong"),
        (None, None, None, "why"),
    ],
)
def test_a_reason_has_its_number_and_limit(
    unit: str | None, value: float | None, limit: float | None, said: str
) -> None:
    """In the grower's units; an unknown unit is printed as it came."""
    assert words.reason(Reason("code", "why", value, limit, unit), "us") == said


# --- all views -------------------------------------------------------------------------------------


@ALL_VIEWS
@pytest.mark.parametrize("width", [80, 120])
@pytest.mark.parametrize("units", ["us", "metric"])
def test_no_line_is_wider_than_asked(view: object, width: int, units: words.UnitSystem) -> None:
    """At 80 and at 120 columns, in both systems of units."""
    text = view.render(sample(units=units), width=width)  # type: ignore[attr-defined]
    assert max(len(line) for line in text.splitlines()) <= width


@ALL_VIEWS
def test_colour_only_adds_escapes(view: object) -> None:
    """Without colour there is no escape; with it, the words are the same: colour says nothing alone."""
    plain = view.render(sample(), width=80, colour=False)  # type: ignore[attr-defined]
    coloured = view.render(sample(), width=80, colour=True)  # type: ignore[attr-defined]
    assert "\x1b" not in plain
    assert "\x1b[" in coloured
    stripped = [line.rstrip() for line in ESCAPE.sub("", coloured).splitlines()]
    assert stripped == plain.splitlines()


@ALL_VIEWS
def test_the_environment_changes_nothing(view: object, monkeypatch: pytest.MonkeyPatch) -> None:
    """Same schedule, same text: no variable that rich reads gets through."""
    before = view.render(sample(), width=80)  # type: ignore[attr-defined]
    for name, value in {"FORCE_COLOR": "1", "COLUMNS": "33", "TTY_COMPATIBLE": "1", "TERM": "dumb"}.items():
        monkeypatch.setenv(name, value)
    assert view.render(sample(), width=80) == before  # type: ignore[attr-defined]


@ALL_VIEWS
def test_the_credit_and_the_age_are_there(view: object) -> None:
    """Every view says whose the forecast is and how old."""
    text = view.render(sample(), width=80)  # type: ignore[attr-defined]
    assert CREDIT in text
    assert "1.5 h old" in text


@ALL_VIEWS
def test_brackets_in_a_name_are_no_markup(view: object) -> None:
    """A grower may call a batch what they like."""
    odd = peppers(batch="[red] & <b>", night=night())
    schedule = sample(
        days=(Day(TODAY, "forecast", (odd,)),),
        nights=(watched(TODAY, False, {"peppers": night()}),),
        finishes=(replace(sample().finishes[0], batch="[red] & <b>"),),
    )
    if view is tonight:
        renamed = replace(schedule.nights[0].batches[0], batch="[red] & <b>")
        schedule = replace(schedule, nights=(replace(schedule.nights[0], batches=(renamed,)),))
    assert "[red] & <b>" in view.render(schedule, width=80)  # type: ignore[attr-defined]


# --- today -----------------------------------------------------------------------------------------


def test_today_opens_with_the_answer() -> None:
    """The first words are who, where, from when until when; batches with one answer share a line."""
    text = today.render(today_of(peppers(), basil()), width=240)
    assert text.splitlines()[0] == (
        "Peppers and basil: out 07:15 (carport), in 18:00; sheltered. "
        "Direct sun 0:20 likely, 0:21 if clear, limit 0:25. "
        "Gusts 21 mph at 13:00, 5 at the plants. "
        "Tonight inside: 46°F in the air, limit 55°F."
    )


def test_batches_with_different_answers_have_their_own_lines() -> None:
    """A different limit is a different answer."""
    other = basil(limits=limits(direct_sun_hours=1.0))
    first, second = today.render(today_of(peppers(), other), width=240).splitlines()[:2]
    assert (first.partition(":")[0], second.partition(":")[0]) == ("Peppers", "Basil")


NEAREST = Reason("nearest_sun", "nearest option: wall 09:00-11:00, direct sun if clear", 2.0, 1.0, "h")


def test_a_hold_says_what_it_costs_then_what_comes_nearest_then_why() -> None:
    """In the very answer, not only further down, and first what can be acted on."""
    line = today.render(today_of(squash(reasons=(HOLD_REASON, NEAREST))), width=240).splitlines()[0]
    assert line.startswith(
        "Squash: hold, inside today. Costs: finish Thu 13 May -> Fri 14 May. "
        "Nearest option: wall 09:00-11:00, direct sun if clear: 2:00, limit 1:00. "
        "Too cold all day for an outing: 43°F, limit 50°F."
    )


def test_no_limit_of_zero_is_told_of_a_forbidden_stay() -> None:
    """How long it is forbidden says it all."""
    said = words.reason(Reason("nearest", "nearest option: hut 07:00-09:00, forbidden for", 1.5, 0.0, "h"), "us")
    assert said == "nearest option: hut 07:00-09:00, forbidden for 1:30"


@pytest.mark.parametrize(
    ("first", "begins"),
    [
        (at(11, 45), "out 11:45 (carport)"),
        (at(12), "out this afternoon 12:00 (carport)"),
        (at(16, 45), "out this afternoon 16:45 (carport)"),
        (at(17), "out this evening 17:00 (carport)"),
    ],
)
def test_an_outing_later_today_says_so_early(first: datetime, begins: str) -> None:
    """Who stands there in the morning with a tray in hand need not wait for the number."""
    later = peppers(placements=(Placement("carport", first, at(20, 30)),))
    assert answers.outing(later) == f"{begins}, in 20:30; sheltered."


def test_the_answer_for_a_batch_fits_three_lines() -> None:
    """At 80 columns, in the longest of ordinary cases."""
    for batch in (peppers(), leeks(), squash()):
        lines = today.render(today_of(batch), width=80).splitlines()
        assert lines.index("") <= 3


def test_an_unknown_night_is_never_out() -> None:
    """Missing hours keep them inside, and no number stands in for the missing one."""
    said = answers.tonight(unknown_night(), "us")
    assert said == "Tonight inside: the low is unknown, keep them inside."


def test_the_leaf_is_named_where_the_air_alone_would_pass() -> None:
    """Air over the check limit, and still brought in: the leaf's number explains it."""
    clear = night(air_low_c=11.0, check_below_c=10.0, leaf_low_c=4.0, harm_below_c=5.0, decided_by="harm")
    said = answers.tonight(clear, "metric")
    assert said == "Tonight inside: 4°C at the leaf, harm below 5°C; 11°C in the air."


@pytest.mark.parametrize(
    ("by", "said"),
    [
        ("harm", "6°C at the leaf, 16 % odds of harm, below 5°C"),
        ("check", "11°C in the air, 30 % odds of less than 10°C"),
    ],
)
def test_the_odds_are_told_where_both_lows_would_pass(by: str, said: str) -> None:
    """A low above its limit is no reason to bring in: the odds are that are more than the grower risks."""
    close = night(
        air_low_c=11.0, check_below_c=10.0, leaf_low_c=6.0, odds_check=0.3, odds_harm=0.16, decided_by=by
    )
    assert answers.night_numbers(close, "metric") == said


def test_the_leaf_is_named_under_a_cover_too() -> None:
    """A cover has no bad weather as its cause, and still is there because of the leaf."""
    covered = night(air_low_c=0.5, check_below_c=-2.0, leaf_low_c=-4.5, harm_below_c=-4.0, verdict="cover")
    said = answers.tonight(replace(covered, because="none", decided_by="harm"), "metric")
    assert "-4.5°C at the leaf, harm below -4°C" in said


@pytest.mark.parametrize(
    ("changes", "begins"),
    [
        ({"because": "rule", "verdict": "in"}, "Tonight inside: no night out is due, 46°F in the air"),
        ({"because": "absent", "verdict": "in"}, "Tonight inside: nobody is there to carry, 46°F in the air"),
        ({"because": "rule", "decided_by": "none"}, "Tonight inside: no night out is due, low 46°F."),
        ({"because": "none", "decided_by": "none"}, "Tonight inside: low 46°F."),
        ({"decided_by": "none"}, "Tonight inside: other weather is against it, low 46°F."),
        ({"because": "none", "verdict": "out"}, "Tonight out (carport): 46°F"),
        ({"because": "none", "verdict": "cover"}, "Tonight out under the cover (carport): 46°F"),
    ],
)
def test_the_night_says_its_cause(changes: dict[str, str], begins: str) -> None:
    """Weather, ramp, absence and cover read differently."""
    assert answers.tonight(night(**changes), "us").startswith(begins)


def test_places_are_told_in_order() -> None:
    """From spot to spot without coming in, and with a break inside."""
    direct = (Placement("carport", at(7), at(9)), Placement("wall", at(9), at(11)))
    broken = (Placement("carport", at(7), at(9)), Placement("wall", at(10), at(11)))
    assert answers.path(direct) == "out 07:00 (carport), 09:00 (wall), in 11:00"
    assert answers.path(broken) == "out 07:00 (carport), in 09:00, out 10:00 (wall), in 11:00"


def test_a_night_out_runs_over_both_ends_of_the_day() -> None:
    """What stands out at midnight was not carried then."""
    all_day = (Placement("bed", at(0), midnight_after(TODAY)),)
    until = (Placement("bed", at(0), at(7)),)
    from_then = (Placement("bed", at(7), midnight_after(TODAY)),)
    assert answers.path(all_day) == "out all day (bed)"
    assert answers.path(until) == "out since the night (bed), in 07:00"
    assert answers.path(from_then) == "out 07:00 (bed)"


def test_sun_of_unknown_cloud_is_not_zero() -> None:
    """Likely hours that are not known are said to be so."""
    assert "Direct sun unknown likely, 0:21 if clear" in answers.sun(peppers(direct_sun_hours_likely=None))
    assert "No direct sun" not in answers.sun(peppers(direct_sun_hours_likely=None, direct_sun_hours_if_clear=0.0))


@pytest.mark.parametrize(
    ("likely", "clear", "said"),
    [
        (0.0, 0.0, "No direct sun."),
        (0.35, 0.35, "Direct sun 0:21, limit 0:25."),
        (0.0, 0.35, "Direct sun 0:00 likely, 0:21 if clear, limit 0:25."),
    ],
)
def test_hours_of_sun_are_not_said_twice(likely: float, clear: float, said: str) -> None:
    """One number where both are the same, none where there is none."""
    assert answers.sun(peppers(direct_sun_hours_likely=likely, direct_sun_hours_if_clear=clear)) == said


@pytest.mark.parametrize("none", [None, 24.0])
def test_a_day_without_a_sun_limit_says_so(none: float | None) -> None:
    """A rule without a number, and a hardened batch."""
    assert answers.sun(peppers(limits=limits(direct_sun_hours=none))).endswith("no limit.")


def test_gusts_are_those_of_the_hours_outside() -> None:
    """A storm while they are inside is no news; the plant's gust stands beside the forecast's."""
    calm_outside = strip(out=(7, 12), spot="carport", sun={})
    assert answers.gusts(calm_outside, "us") == "Gusts 9 mph at 07:00, 2 at the plants."


def test_unknown_gusts_are_said_to_be_unknown() -> None:
    """Hours outside without a gust in the forecast."""
    blind = tuple(replace(hour, gust_m_s=None) for hour in strip(out=(7, 12), spot="carport", sun={}))
    assert answers.gusts(blind, "us") == "Gusts unknown."


def test_water_is_told_when_it_is_known() -> None:
    """`water_by` in the answer; nothing at all while there is none."""
    assert "Water by 14:30." in answers.answer(peppers(water_by=at(14, 30)), "us")
    assert "Water" not in answers.answer(peppers(), "us")


ALERT = Reason("alert", "Freeze Warning in force: plants that are not hardy come in", source="a weather service")


def test_an_alert_is_in_the_answer() -> None:
    """Of the morning check and of the cold watch, with whose it is; in the cold watch it comes first."""
    nights = (watched(TODAY, False, {"peppers": night()}),)
    alerted = replace(nights[0].batches[0], reasons=(ALERT,))
    schedule = today_of(peppers(warnings=(ALERT,)), nights=(replace(nights[0], batches=(alerted,)),))
    said = "Freeze Warning in force: plants that are not hardy come in (a weather service)."
    assert said in today.render(schedule, width=300).splitlines()[0]
    assert f"Peppers: {said} 46°F in the air" in tonight.render(schedule, width=300).splitlines()[1]


SECOND = Reason("second_low", "met-norway expects a low of", 5.0, None, "degC")


def test_a_second_source_is_told_beside_the_verdict() -> None:
    """Its low in the same line, not again below the table, and what it is good for."""
    nights = (watched(TODAY, False, {"leeks": leeks().night or night()}),)
    with_second = replace(nights[0].batches[0], reasons=(SECOND,))
    schedule = today_of(leeks(), nights=(replace(nights[0], batches=(with_second,)),))
    text = tonight.render(schedule, width=300)
    line = squeezed(text.splitlines()[1])
    assert line == "stays out Leeks: 46°F in the air, limit 36°F (long bed); met-norway expects a low of 41°F."
    assert text.lower().count("met-norway") == 1
    assert "the colder decides about harm" in text
    assert "the colder decides" not in tonight.render(sample(), width=300)


@pytest.mark.parametrize(
    ("stage", "begins"), [("sown", "sown, not out yet."), ("planted", "planted out."), ("inside", "inside today.")]
)
def test_a_batch_without_outings_says_where_it_is(stage: str, begins: str) -> None:
    """A batch that is not on its ramp is no hold."""
    batch = squash(stage=stage, verdict="in", reasons=(), hold_costs=None, night=None)
    assert answers.answer(batch, "us") == begins


def test_carries_are_merged_and_in_order() -> None:
    """One line a walk, with the trays; a second walk at the same time stands below it."""
    moves = (
        Move(at(7, 15), ("peppers", "basil"), 3, "inside", "carport"),
        Move(at(7, 15), ("leeks",), 1, "inside", "bed"),
    )
    text = today.render(sample(moves=moves), width=100)
    assert "  07:15 peppers + basil (3 trays): inside -> carport\n        leeks (1 tray): inside -> bed\n" in text


def test_a_carry_before_now_is_marked() -> None:
    """At nine the walk of 07:15 is past; the one of 18:00 is not."""
    text = today.render(sample(now=at(9)), width=100)
    assert "inside -> carport (before now)" in text
    assert "carport -> inside\n" in text


def test_a_carry_that_is_due_now_is_not_past() -> None:
    """At 07:15 the walk of 07:15 is still to do."""
    assert "before now" not in today.render(sample(now=at(7, 15)), width=100)


@pytest.mark.parametrize(("confidence", "said"), [("assumed", "a day, assumed; rule"), ("known", "a day; rule")])
def test_what_was_assumed_is_said(confidence: str, said: str) -> None:
    """Days without a record are not passed off as known."""
    state = replace(peppers().state, confidence=confidence)  # type: ignore[arg-type]
    assert said in today.render(today_of(peppers(state=state)), width=140)


def test_nothing_to_carry_is_said() -> None:
    """An empty list is not left blank."""
    assert "nothing today" in today.render(sample(moves=()), width=80)


def test_reasons_are_said_once_with_their_sources_numbered() -> None:
    """Two batches with one reason share it; a long source is written out once."""
    text = today.render(today_of(peppers(), basil()), width=100)
    assert text.count("Strongest gust at the plants: 5 mph, limit 11 mph [1]") == 1
    assert text.count("hardenoff default rule (ours)") == 1


def test_the_start_line_is_the_last_and_can_be_pasted() -> None:
    """The very line for garden.toml: valid TOML, with the date of the first outing."""
    last = today.render(sample(), width=80).splitlines()[-1]
    assert tomllib.loads(last) == {"start": TODAY}


def test_the_start_is_the_first_day_out_even_if_today_is_a_hold() -> None:
    """A ramp begins with an outing, not with a day inside."""
    held = squash(warnings=basil().warnings)
    later = TODAY + timedelta(days=2)
    schedule = sample(
        days=(
            Day(TODAY, "forecast", (held,)),
            Day(later, "forecast", (replace(peppers(later), batch="squash"),)),
        )
    )
    assert today.render(schedule, width=80).splitlines()[-1] == f"start = {later.isoformat()}"


def test_a_start_without_any_outing_in_sight_is_an_example() -> None:
    """Only today is planned, and it is a hold: the line stands there as a pattern for the day."""
    lines = today.render(today_of(squash(warnings=basil().warnings)), width=100).splitlines()
    assert lines[-2].startswith("On the day of the first outing, write its date")
    assert tomllib.loads(lines[-1]) == {"start": TODAY}


def test_no_start_line_where_it_is_recorded() -> None:
    """It is not asked for twice."""
    assert "start =" not in today.render(today_of(peppers()), width=80)


def test_the_frost_caution_comes_only_where_it_is_apt() -> None:
    """Weather that brings them in: yes. A mild night out: no."""
    mild = leeks()
    assert footer.FROST_CAUTION in today.render(today_of(peppers()), width=200)
    assert footer.FROST_CAUTION not in today.render(today_of(mild), width=200)


@pytest.mark.parametrize(
    ("status", "said"),
    [
        ("stale", "OLD COPY, the provider did not answer"),
        ("fresh", "just fetched"),
        ("file", "from a file"),
        ("none", "Keep tender plants inside"),
    ],
)
def test_the_state_of_the_forecast_is_said_in_words(status: str, said: str) -> None:
    """Not by a colour."""
    note = ForecastNote("open-meteo", None, None, 30.0, status, CREDIT)  # type: ignore[arg-type]
    assert said in footer.forecast_line(note)


# --- the strip -------------------------------------------------------------------------------------


def rows(text: str) -> dict[str, str]:
    """The first strip's rows by label, without the label."""
    found: dict[str, str] = {}
    for line in text.splitlines():
        label = line[: strips.LABEL].strip()
        if label == "gust" and "place" in found:
            label = "gust there"
        if label in ("place", "sun", "air", "gust", "gust there") and label not in found:
            found[label] = line[strips.LABEL :]
    return found


def test_the_weather_is_drawn_once_for_all() -> None:
    """One row of air; the gusts of the forecast, then those at each batch's plants, both as far as it is out."""
    moved = basil(
        placements=(Placement("carport", at(8), at(18)),), strip=strip(out=(8, 18), spot="carport", sun={})
    )
    text = today.render(today_of(peppers(), moved, squash(strip=strip(out=(0, 0), spot="", sun={}))), width=80)
    labels = [line[: strips.LABEL].strip() for line in text.splitlines()]
    drawn = [label for label in labels if label in ("air", "gust", "place", "sun")]
    assert drawn == ["air", "gust", "place", "sun", "gust", "place", "sun", "gust", "place"]


def test_batches_in_different_weather_have_their_own() -> None:
    """Should one stand where the air is another, it is not shown the first one's."""
    colder = tuple(replace(hour, air_c=-9.0) for hour in strip(out=(0, 24), spot="long bed", sun={}))
    text = today.render(today_of(peppers(), leeks(strip=colder)), width=80)
    assert text.count("\nair ") == 2


def test_the_strip_is_exact_to_the_quarter_hour_where_there_is_room() -> None:
    """Out from 07:15 to 18:00: quarter hours 29 to 71, counted from midnight."""
    place = rows(today.render(today_of(peppers()), width=120))["place"]
    assert place == "." * 29 + "C" * 43 + "." * 24


def test_the_strip_fits_80_columns_in_thirds_of_an_hour() -> None:
    """24 hours of three letters; 07:15 falls into the first third, whose middle is 07:10, still inside."""
    place = rows(today.render(today_of(peppers()), width=80))["place"]
    assert place == "." * 22 + "C" * 32 + "." * 18


def test_the_strip_has_minutes_of_sun_and_no_zeros() -> None:
    """20 minutes at eight; an hour without sun is blank."""
    assert rows(today.render(today_of(peppers()), width=80))["sun"].split() == ["20"]


def test_gusts_at_the_plant_are_blank_inside() -> None:
    """11 hours outside, 11 numbers: 9.4 m/s x 0.26 is 5 mph, and 4 m/s is 2."""
    assert rows(today.render(today_of(peppers()), width=80))["gust there"].split() == [*"222222", *"55555"]


def test_missing_air_is_a_question_mark_in_the_strip() -> None:
    """Never a zero."""
    blind = tuple(replace(hour, air_c=None) for hour in peppers().strip)
    assert set(rows(today.render(today_of(peppers(strip=blind)), width=80))["air"].split()) == {"?"}


@pytest.mark.parametrize(("on", "length"), [(date(2027, 3, 14), 23), (date(2027, 11, 7), 25)])
def test_days_of_23_and_25_hours_are_drawn_whole(on: date, length: int) -> None:
    """The clock changes in New York: an hour is missing, or is there twice (IANA tz database)."""
    start = datetime(on.year, on.month, on.day, tzinfo=ZONE).astimezone(UTC)
    moments = [(start + timedelta(hours=n)).astimezone(ZONE) for n in range(length)]
    day = tuple(StripHour(moment, "bed", 0.0, 8.0, 3.0, 1.0) for moment in moments)
    out = Placement("bed", moments[0], datetime(on.year, on.month, on.day, 12, tzinfo=ZONE))
    schedule = today_of(leeks(strip=day, placements=(out,)), now=moments[0], date=on)
    place = rows(today.render(schedule, width=120))["place"]
    outside = 12 + length - 24
    assert place == "B" * 4 * outside + "." * 4 * (length - outside)


def test_a_narrow_screen_gets_the_day_in_pieces() -> None:
    """At 48 columns twice twelve hours, none wider than the screen."""
    text = today.render(today_of(peppers()), width=48)
    assert text.count("\nplace") == 2
    assert max(len(line) for line in text.splitlines() if line.startswith("place")) <= 48


def test_spots_get_letters_of_their_own() -> None:
    """The first free letter of the name, so that carport and cold frame differ."""
    assert strips.legend(("carport", "cold frame", "co")) == {"carport": "C", "cold frame": "O", "co": "A"}


# --- tonight ---------------------------------------------------------------------------------------


def test_tonight_names_both_dates_and_begins_with_what_to_do() -> None:
    """Title, then the order in capitals."""
    first, second = tonight.render(sample(), width=100).splitlines()[:2]
    assert first == "Tonight: Wed 5 -> Thu 6 May 2027"
    assert squeezed(second) == "BRING IN Peppers and basil: 46°F in the air, limit 55°F (carport)."


def test_orders_come_before_what_rests() -> None:
    """Whatever the file's order."""
    nights = (watched(TODAY, False, {"leeks": leeks().night or night(), "peppers": night()}),)
    lines = tonight.render(sample(nights=nights), width=100).splitlines()
    assert "BRING IN" in lines[1]
    assert "stays out" in lines[2]


def test_the_running_night_comes_first_and_is_called_so() -> None:
    """Before sunrise two nights matter."""
    eve = TODAY - timedelta(days=1)
    nights = (watched(eve, True, {"peppers": night(eve)}), watched(TODAY, False, {"peppers": night()}))
    text = tonight.render(sample(nights=nights), width=80)
    assert text.startswith("This night, now running: Tue 4 -> Wed 5 May")
    assert text.index("Tue 4") < text.index("Tonight: Wed 5")


def test_every_number_of_the_night_is_in_the_table() -> None:
    """Forecast low, the spot's, 1 in 10, leaf, both limits, odds and the hour."""
    text = tonight.render(sample(), width=80)
    row = next(line for line in text.splitlines() if line.split()[:1] == ["peppers"])
    assert row.split() == ["peppers", "49", "46", "42", "42", "55", "41", "99/42", "%", "05:00"]


def test_an_unknown_night_has_question_marks() -> None:
    """No zero, no 'safe'."""
    nights = (watched(TODAY, False, {"peppers": unknown_night()}),)
    text = tonight.render(sample(nights=nights), width=80)
    row = next(line for line in text.splitlines() if line.split()[:1] == ["peppers"])
    assert row.split() == ["peppers", "?", "?", "?", "?", "55", "41", "?/?", "%", "?"]
    assert "unknown, keep inside" in text


def test_no_night_to_watch_is_said() -> None:
    """Nothing due to be out is an answer too."""
    assert tonight.render(sample(nights=()), width=80).startswith("No night to watch")


def with_night(answer: NightAnswer, *, nights_out: bool = False) -> Schedule:
    """One batch, one night."""
    batch = peppers(limits=limits(nights_out=nights_out), night=answer)
    return today_of(batch, nights=(watched(TODAY, False, {"peppers": answer}),))


@pytest.mark.parametrize(
    ("changes", "nights_out", "needed"),
    [
        ({"action": "bring_in"}, False, True),
        ({"action": "cover"}, False, True),
        ({"action": "uncover"}, False, False),
        ({"action": "none"}, True, False),
        ({"action": "none", "verdict": "unknown", "because": "unknown"}, True, True),
        ({"action": "none", "verdict": "unknown", "because": "unknown"}, False, False),
        ({"action": "none", "verdict": "unknown", "because": "rule"}, True, False),
    ],
)
def test_when_hands_are_needed(changes: dict[str, str], nights_out: bool, needed: bool) -> None:
    """Bring in or cover; or unknown weather, but only where the batch is due to be out."""
    assert with_night(night(**changes), nights_out=nights_out).needs_hands is needed


def test_taking_a_cover_off_is_something_to_do() -> None:
    """It breaks the silence, though nothing is in danger."""
    assert with_night(night(action="uncover")).anything_to_do
    assert not with_night(night(action="none")).anything_to_do


# --- plan ------------------------------------------------------------------------------------------


def plan_lines(schedule: Schedule, width: int = 100) -> list[str]:
    return plan.render(schedule, width=width).splitlines()


def test_the_plan_has_one_row_a_day() -> None:
    """Day, places, direct sun likely, if clear and allowed, ramp-days, the night's low and limit."""
    row = next(line for line in plan_lines(sample()) if "Wed 5 May" in line)
    assert squeezed(row) == "Wed 5 May 07:15-18:00 carport; sheltered 0:20 0:21 0:25 1.8 in 46/55"


def test_a_hold_row_says_what_it_costs_and_why() -> None:
    """Under one another where the row is too narrow."""
    lines = plan_lines(sample(), width=80)
    first = next(number for number, line in enumerate(lines) if "Thu 6 May" in line)
    assert "HOLD; finish Thu 13 May -> Fri 14 May; too cold all" in lines[first]
    assert squeezed(lines[first + 1]) == "day for an outing: 43°F, limit 50°F"


def test_a_row_breaks_between_two_places() -> None:
    """Not after a time or inside a name, unless the name is longer than a line."""
    places = (Placement("hut", at(6, 30), at(17, 45)), Placement("roof terrace", at(17, 45), at(21)))
    lines = plan_lines(today_of(peppers(placements=places, way="longer")), width=80)
    first = next(number for number, line in enumerate(lines) if "Wed 5 May" in line)
    assert "06:30-17:45 hut; " in lines[first]
    assert "17:45-21:00" not in lines[first]
    assert lines[first + 1].strip() == "17:45-21:00 roof terrace"


HARM: dict[str, object] = {"check_below_c": 7.0, "decided_by": "harm"}
NIGHT_CELLS = [
    ({}, "in 8/13"),
    ({"because": "rule"}, "in 8/13"),
    ({"because": "rule", "decided_by": "none"}, "in (8)"),
    ({"because": "absent", "decided_by": "none"}, "in (8)"),
    ({"verdict": "out", "because": "none", "check_below_c": 2.0, "decided_by": "none"}, "out 8/2"),
    ({**HARM, "leaf_low_c": 4.0}, "in leaf 4/5"),
    ({**HARM, "leaf_low_c": 4.8}, "in leaf 4.8/5"),
    ({**HARM, "leaf_low_c": 6.0, "odds_harm": 0.16}, "in, 16 % harm"),
    ({"check_below_c": 7.0, "odds_check": 0.42}, "in, 42 % cold"),
    ({"check_below_c": 7.0, "decided_by": "none"}, "in (8)"),
    ({**HARM, "leaf_low_c": 4.0, "verdict": "cover", "because": "none"}, "cover leaf 4/5"),
]
ODDS_CELLS = [
    ({"verdict": "out", "because": "none", "odds_check": 0.0, "decided_by": "none"}, "0 % cold"),
    ({"odds_check": 0.83}, "83 % cold"),
    ({"because": "rule", "decided_by": "none", "odds_check": 0.3}, "30 % cold"),
    ({**HARM, "leaf_low_c": 6.0, "odds_harm": 0.16}, "16 % harm"),
]


@pytest.mark.parametrize(
    ("certainty", "changes", "cell"),
    [("forecast", *case) for case in NIGHT_CELLS] + [("odds", *case) for case in ODDS_CELLS],
)
@pytest.mark.parametrize("width", [80, 120])
def test_the_night_s_cell_shows_what_decides(
    certainty: str, changes: dict[str, object], cell: str, width: int
) -> None:
    """At the end of its own line, never broken: no low that passes; past day 6 odds, no verdict."""
    day = Day(TODAY, certainty, (peppers(night=night(**changes)),))  # type: ignore[arg-type]
    lines = plan_lines(sample(days=(day,), units="metric", finishes=()), width=width)
    row = next(line for line in lines if "Wed 5 May" in line)
    assert row.endswith(f" 1.8 {cell}")
    assert row.startswith("~ " if certainty == "odds" else "  ")


def test_an_alert_is_named_where_the_lows_would_pass() -> None:
    """Neither a low nor its odds is the reason then; and no alert is, where no night out is due."""
    mild = night(air_low_c=14.0, leaf_low_c=13.0, odds_check=0.1, odds_harm=0.0, decided_by="none")
    for because, cell in (("weather", "in, alert"), ("rule", "in (57)")):
        batch = peppers(night=replace(mild, because=because), warnings=(ALERT,))  # type: ignore[arg-type]
        assert next(line for line in plan_lines(today_of(batch)) if "Wed 5 May" in line).endswith(cell)


def test_a_day_beyond_the_forecast_has_no_verdict() -> None:
    """Neither places nor sun nor night."""
    row = next(line for line in plan_lines(sample(finishes=())) if "Fri 21 May" in line)
    assert squeezed(row) == "? Fri 21 May past the forecast 1.8"


def test_days_beyond_the_forecast_share_a_row() -> None:
    """Rows that say nothing new are one row, with the ramp-days at its end."""
    last = beyond(peppers(state=replace(peppers().state, ramp_days=7.25)))
    days = tuple(Day(TODAY + timedelta(days=16 + n), "beyond", (last,)) for n in range(3))
    row = plan_lines(sample(days=days, finishes=()))[2]
    assert squeezed(row) == "? Fri 21 May past the forecast until Sun 23 May, in settled weather 7.2"


def test_the_plan_ends_with_plant_out() -> None:
    """Peppers are planted on the 18th: no row after it."""
    schedule = sample(days=tuple(replace(day, batches=day.batches[:1]) for day in sample().days))
    assert not any("Fri 21 May" in line for line in plan_lines(schedule))


def test_an_unknown_night_in_the_plan_is_in() -> None:
    """Unknown acts as in, and says so."""
    lines = plan_lines(today_of(peppers(night=unknown_night())))
    assert next(line for line in lines if "Wed 5 May" in line).endswith("in, unsure")


def test_the_plan_says_when_they_are_hardened_and_planted() -> None:
    """Earliest and likely; a latest date that nobody knows is not made up."""
    text = plan.render(sample(), width=100)
    assert "Hardened earliest Sat 15 May, likely Mon 17 May; plant out Tue 18 May." in text


def test_a_plan_without_an_end_says_why() -> None:
    """Never, and the reason."""
    text = squeezed(plan.render(sample(), width=100))
    assert "Never hardened under this rule: the rule's last days ask for more sun than any spot here gets." in text


@pytest.mark.parametrize(
    ("code", "text", "value", "limit", "unit"),
    [
        ("never_light", "too bright for leaves used to 5 mol/m² of light a day", 5.0, None, "mol/m2"),
        ("never_sun", "too few days with enough sun: it stops at 8.2 of the rule's 12 ramp-days", 8.2, 12.0, "d"),
    ],
)
def test_a_never_has_its_number_where_the_sentence_puts_it(
    code: str, text: str, value: float, limit: float | None, unit: str
) -> None:
    """Not once more behind it, where nobody could tell what it is of."""
    endless = Finish("squash", None, None, None, None, reasons=(Reason(code, text, value, limit, unit),))
    said = squeezed(plan.render(today_of(squash(), finishes=(endless,)), width=120))
    assert f"Never hardened under this rule: {text}. day where" in said


@pytest.mark.parametrize(
    ("ends", "code", "said"),
    [
        (State(air=9.0, sun=8.21), "never_sun", "enough sun: it stops at 8.2 of the rule's 12 ramp-days"),
        (State(air=3.0, sun=8.0), "never_air", "let it out: it stops at 3.0 of the rule's 12 ramp-days"),
        (State(air=12.0, sun=12.0), "never_nights", "no night in sight lets it stay out"),
        (State(air=12.0, sun=12.0, cold=2.0, light_mol=5.2), "never_light", "used to 5 mol/m² of light a day"),
    ],
)
def test_each_never_says_what_its_number_is(ends: State, code: str, said: str) -> None:
    """In a sentence that stands alone; the number is there for programs as well."""
    text = RICH.replace('"leek"', '"tomato"')
    batch = garden_from_text(Path("garden.toml"), text).batches[0]
    last = cast("DayOutcome", SimpleNamespace(after=ends))
    reason = finishes._never(cast("Planner", None), batch, (last,))
    assert reason.code == code
    assert said in reason.text
    assert reason.value is not None


def test_one_known_date_is_not_called_certain() -> None:
    """Only an earliest date: it stays the earliest."""
    only = replace(sample().finishes[0], likely=None, plant_out=None)
    text = plan.render(sample(finishes=(only,)), width=100)
    assert "Hardened earliest Sat 15 May; plant-out not known yet." in text


def test_waiting_is_advised_where_it_finishes_sooner() -> None:
    """With the date of the later first outing."""
    text = squeezed(plan.render(sample(), width=100))
    assert "not started yet: a first outing on Sun 9 May would finish sooner" in text


def test_batches_with_the_same_days_share_a_table() -> None:
    """One heading for both."""
    text = plan.render(today_of(peppers(), basil()), width=100)
    assert text.startswith("Peppers and basil\n")


@pytest.mark.parametrize("view", [today, plan], ids=["today", "plan"])
def test_what_changed_is_told_with_its_cause(view: object) -> None:
    """What moved since the last run: in the plan, and in the morning, when it matters."""
    text = view.render(sample(), width=100)  # type: ignore[attr-defined]
    assert "Changed since" not in view.render(sample(changes=()), width=100)  # type: ignore[attr-defined]
    assert "- Peppers: hardened Sun 16 May -> Mon 17 May; a cold night came into the forecast" in text


# --- sun -------------------------------------------------------------------------------------------

SHADY = SunDay(
    "porch",
    TODAY,
    (SunWindow(at(7, 40), at(10, 15), 1.0), SunWindow(at(15), at(16, 5), 0.5)),
    2.9,
    0.31,
    ("look again",),
)


def test_the_sun_view_gives_hours_windows_and_the_sky() -> None:
    """And the share of the beam where a layer stands in its way."""
    lines = sun.render(SHADY, (), "America/New_York", width=100).splitlines()
    assert lines[0] == "Porch, Wed 5 May 2027: direct sun 2:54; it sees 31 % of the sky."
    part = "  15:00-16:05, 50 % of the beam passes, so an hour of it counts as 0:30"
    assert lines[1:4] == ["  07:40-10:15", part, "  ! Look again"]


def test_the_band_tells_how_the_hours_move() -> None:
    """Least and most first, then each way of being wrong."""
    band = (("turned 10 degrees clockwise", 3.5), ("turned 10 degrees anticlockwise", 2.0))
    text = sun.render(SHADY, band, "America/New_York", width=100)
    assert "by 10 degrees or 0.2 m: 2:00 to 3:30 instead of 2:54." in text
    assert re.search(r"turned 10 degrees clockwise\s+3:30", text)


def test_the_band_holds_the_answer_itself() -> None:
    """Where every error lessens the hours, the most is what it is now."""
    text = sun.render(SHADY, (("roof edge 0.2 m nearer", 2.0),), "America/New_York", width=100, units="us")
    assert "by 10 degrees or 8 in: 2:00 to 2:54 instead of 2:54." in text
    assert "roof edge 8 in nearer" in text


def test_a_spot_without_sun_says_so() -> None:
    """No window is an answer."""
    dark = replace(SHADY, windows=(), direct_sun_hours=0.0)
    assert "The sun does not reach it on this date." in sun.render(dark, (), "UTC", width=100)


def test_the_season_is_drawn_in_half_hours() -> None:
    """07:40 to 10:15: the half hours whose middle is inside; half a beam has a mark of its own."""
    text = sun.render_season((SHADY,), "America/New_York", width=100)
    row = next(line for line in text.splitlines() if line.startswith("Wed 5 May"))
    drawing = ".#####" + "." * 10 + "++.."  # from 07:00, the hour of the first window, to 17:00
    assert row.split()[3:] == ["2:54", drawing, "07:40-10:15,", "15:00-16:05", "!"]


def test_the_season_has_a_scale_of_hours() -> None:
    """Every third hour stands above its first half hour."""
    lines = sun.render_season((SHADY,), "America/New_York", width=100).splitlines()
    heading, row = lines[1], lines[2]
    start = row.index(".#####")
    assert [heading[start + 6 * n : start + 6 * n + 2] for n in range(4)] == ["07", "10", "13", "16"]


def test_a_day_of_sun_without_end_is_drawn_whole() -> None:
    """Polar day: 00:00 to 24:00, 48 half hours."""
    bright = SunDay("bed", TODAY, (SunWindow(at(0), midnight_after(TODAY), 1.0),), 24.0, 1.0)
    text = sun.render_season((bright,), "Arctic/Longyearbyen", width=120)
    assert "#" * 48 in text
    assert "00:00-24:00" in text


def test_a_season_of_darkness_is_drawn_too() -> None:
    """Polar night: rows, no windows, no error."""
    dark = replace(SHADY, windows=(), direct_sun_hours=0.0, warnings=())
    assert "none" in sun.render_season((dark, dark), "Arctic/Longyearbyen", width=80)


# --- reasons ---------------------------------------------------------------------------------------


def test_ramp_days_are_needed_not_limited() -> None:
    """What is earned has an end to reach; all else has a most."""
    earned = Reason("not_near", "at its end", 7.7, 11.0, "ramp-days")
    assert words.reason(earned, "us") == "at its end: 7.7 ramp-days, needs 11 ramp-days"
    assert words.reason(replace(earned, unit="h"), "us") == "at its end: 7:42, limit 11:00"


# --- hours -----------------------------------------------------------------------------------------


def a_forecast(**columns: float) -> Forecast:
    """Two days of one value a column; the others are missing."""
    index = pd.date_range("2027-05-05", periods=48, freq="h", tz="UTC", name="time")
    frame = pd.DataFrame(np.nan, index=index, columns=list(COLUMN_NAMES))
    for column, value in columns.items():
        frame[column] = value
    lows = pd.DataFrame({"start": [], "end": [], "min_c": []})
    return Forecast(
        frame, lows, Origin("open-meteo", CREDIT, None, NOW, 40.0, -83.0, None, ("dni_w_m2",), ("odd",))
    )


def hours_text(forecast: Forecast, days: int | None = None, width: int = 80) -> str:
    note = ForecastNote("open-meteo", None, NOW, 1.5, "file", CREDIT)
    return hours.render(forecast, note, ZoneInfo("America/New_York"), "metric", days, width)


def test_the_hours_are_those_of_the_place() -> None:
    """00:00 UTC is 20:00 of the day before in New York in May (UTC-4)."""
    text = hours_text(a_forecast(air_temperature_c=0.0))
    assert text.index("Tue 4 May 2027") < text.index("20:00") < text.index("Wed 5 May 2027") < text.index("00:00")


def test_zero_degrees_is_printed_and_a_hole_is_a_question_mark() -> None:
    """The first row: air 0, all else missing."""
    text = hours_text(a_forecast(air_temperature_c=0.0))
    row = next(line for line in text.splitlines() if line.startswith("20:00"))
    assert row.split() == ["20:00", "0", *["?"] * 11]


def test_holes_are_counted_by_column() -> None:
    """A whole column, and half of one."""
    forecast = a_forecast(air_temperature_c=0.0)
    forecast.hours.iloc[:24, 0] = np.nan
    text = hours_text(forecast)
    assert "air, 2 m: 24 of 48 hours missing" in text
    assert "dew point, 2 m: all hours missing" in text
    assert "beam (sun on a surface facing it): all hours missing" in text
    assert "_" not in text


def test_past_days_are_left_out_and_counted() -> None:
    """From a first date on, with the option that prints those before it."""
    note = ForecastNote("open-meteo", None, NOW, 1.5, "file", CREDIT)
    zone, first = ZoneInfo("America/New_York"), date(2027, 5, 5)
    text = hours.render(a_forecast(), note, zone, "metric", 1, first=first)
    assert "Tue 4 May 2027" not in text
    assert "Wed 5 May 2027" in text
    assert "1 more day: hardenoff forecast --days 2\n1 day before today: hardenoff forecast --past" in text


def test_rain_is_in_inches_where_the_garden_is() -> None:
    """25.4 mm are an inch (exact by the 1959 yard)."""
    note = ForecastNote("open-meteo", None, NOW, 1.5, "file", CREDIT)
    text = hours.render(a_forecast(precipitation_mm=25.4), note, ZoneInfo("UTC"), "us", 1)
    assert next(line for line in text.splitlines() if line.startswith("00:00")).split()[8] == "1.00"
    units = next(line for line in text.splitlines() if "°F" in line).split()
    assert ("in" in units, "mm" in units) == (True, False)


def test_estimated_columns_carry_a_star() -> None:
    """And are named at the top, with what was odd."""
    text = hours_text(a_forecast(dni_w_m2=500.0))
    assert "Worked out by us: beam (sun on a surface facing it)." in text
    assert "beam*" in text
    assert "- odd" in text


def test_only_so_many_days_are_printed() -> None:
    """The rest is named, with the option that prints it."""
    text = hours_text(a_forecast(), days=1)
    assert "Wed 5 May 2027" not in text
    assert "2 more days: hardenoff forecast --days 3" in text


def test_the_hours_fit_80_columns() -> None:
    """With wide numbers in every column."""
    full = dict.fromkeys(COLUMN_NAMES, 1.0) | {"ghi_w_m2": 1000.0, "dni_w_m2": 1000.0, "dhi_w_m2": 1000.0}
    text = hours_text(a_forecast(**full))
    assert max(len(line) for line in text.splitlines()) <= 80


# --- check -----------------------------------------------------------------------------------------


def test_all_faults_are_listed_in_three_parts() -> None:
    """What, expected, do this; counted at the top."""
    faults = tuple(UsageError(f"fault {n}", "something", "mend it") for n in (1, 2))
    text = report.render("garden.toml", GardenReport(faults, (), None))
    assert text.startswith("garden.toml: 2 faults\n")
    assert text.count("expected: something") == text.count("do this:  mend it") == 2


def test_advice_is_given_with_its_why() -> None:
    """What is no fault comes apart from the faults."""
    advice = (Advice("no_roof", "no spot has a roof", "rain keeps all inside", "add one"),)
    text = report.render("garden.toml", GardenReport((UsageError("wrong", "right", "mend"),), advice, None))
    assert text.index("wrong") < text.index("Would help") < text.index("no spot has a roof")
    assert "why:     rain keeps all inside" in text


RICH = """
units = "metric"
[place]
name = "Hill"
latitude = 47.5
longitude = 8.5
timezone = "Europe/Zurich"
[carer]
weekdays = ["06:30-07:40", "17:45-21:00"]
away = ["2027-05-01/2027-05-03"]
[carer.days]
fri = []
"2027-05-05" = ["12:00-13:00"]
[[spot]]
name = "hut"
roof = { above = "2 m", front = "1 m", back = "1 m", left = "1 m", right = "1 m", open_to = 180 }
walls = [ { towards = 90, distance = "2 m", height = "2 m" } ]
trees = [ { from = 200, to = 250, bottom = 10, top = 50, leafy = 0.2 } ]
skyline = [[90, 12], [180, 5]]
shelter = 0.4
holds = 8
colder = "1.5 C"
cover = "2 C"
[[spot]]
name = "hut, cloth"
like = "hut"
shade = [0.5]
[[spot]]
name = "steps"
sun_seen = [ { date = 2027-04-20, from = "09:40", until = "12:15" } ]
[[spot]]
name = "field"
[[batch]]
name = "leeks"
crop = "leek"
sown = 2027-02-20
"""


def test_a_garden_is_told_back_in_its_own_words() -> None:
    """Every way to describe a spot, every kind of time to carry."""
    garden = garden_from_text(Path("garden.toml"), RICH)
    text = report.render("garden.toml", GardenReport((), (), garden), width=400)
    assert "Mon, Tue, Wed, Thu: 06:30-07:40, 17:45-21:00" in text
    assert "Fri: nobody" in text
    assert "Wed 5 May 2027: 12:00-13:00" in text
    assert "away Sat 1 May 2027 to Mon 3 May 2027" in text
    assert (
        "hut: a roof, 1 wall, trees, a skyline, sheltered from the wind, holds 8 trays, "
        "1.5°C colder at night, a cover worth 2°C\n"
    ) in text
    assert "hut, cloth: " in text
    assert "shade that passes 50 %" in text
    assert "like hut" in text
    assert "steps: sun seen on Tue 20 Apr\n" in text
    assert "field: open sky, open to the wind\n" in text
