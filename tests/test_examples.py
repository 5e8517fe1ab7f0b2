"""The example gardens through the command line: what their READMEs say to run, and facts for one sentence each."""

from __future__ import annotations

import json
import re
import shlex
from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from functools import cache
from importlib import resources
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from typer.testing import CliRunner

from hardenoff.cli.app import app
from hardenoff.garden import read_garden
from hardenoff.records import Carer

EXAMPLES = Path(__file__).parents[1] / "examples"
NOW = {
    "balcony": "2027-05-19T06:50",
    "plant-sale": "2027-04-22T06:40",
    "southern-spring": "2027-10-01T06:50",
}
NAMES = sorted(NOW)


def run(*arguments: str) -> str:
    """What the program prints; it has to end well."""
    result = CliRunner().invoke(app, list(arguments))
    assert result.exit_code == 0, result.output
    return result.stdout


@cache
def answer(name: str, *command: str) -> dict[str, Any]:
    """A command's JSON for one of the gardens."""
    folder = EXAMPLES / name
    given = ("--garden", str(folder / "garden.toml"), "--forecast-file", str(folder / "forecast.json"))
    return dict(json.loads(run(*command, *given, "--now", NOW[name], "--json")))


def batch_days(name: str) -> Iterator[tuple[date, dict[str, Any]]]:
    """Every date and batch of the plan as far as the forecast reaches."""
    for day in answer(name, "plan")["days"]:
        if day["certainty"] != "beyond":
            for batch in day["batches"]:
                yield date.fromisoformat(day["date"]), batch


def stays(name: str) -> Iterator[tuple[str, int, str, datetime, datetime]]:
    """Batch, trays, spot, from, until of every placement in the plan."""
    for _, batch in batch_days(name):
        for stay in batch["placements"]:
            begin, end = (datetime.fromisoformat(stay[key]) for key in ("from", "until"))
            yield batch["batch"], trays(name, batch["batch"]), stay["spot"], begin, end


def trays(name: str, batch: str) -> int:
    return next(one.trays for one in read_garden(EXAMPLES / name / "garden.toml").batches if one.name == batch)


def someone_is_there(carer: Carer, at: datetime) -> bool:
    minute = at.hour * 60 + at.minute
    return any(span.start_min <= minute <= span.end_min for span in carer.spans(at.date()))


# --- every example ---------------------------------------------------------------------------------


def test_there_are_three() -> None:
    """Each folder of examples is run here."""
    assert sorted(path.name for path in EXAMPLES.iterdir() if path.is_dir()) == NAMES


@pytest.mark.parametrize("name", NAMES)
def test_the_commands_of_its_readme_work(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """What the README tells to type, typed."""
    text = (EXAMPLES / name / "README.md").read_text("utf-8")
    block = re.search(r"```sh\n(.*?)```", text, re.DOTALL)
    assert block is not None
    first, *commands = block.group(1).splitlines()
    assert first == f"cd examples/{name}"
    monkeypatch.chdir(EXAMPLES / name)
    for line in commands:
        program, *arguments = shlex.split(line)
        assert program == "hardenoff"
        assert run(*arguments).strip()


@pytest.mark.parametrize("command", ["today", "tonight", "plan"])
@pytest.mark.parametrize("name", NAMES)
def test_its_json_keeps_to_the_schema(name: str, command: str) -> None:
    """The published schema, with formats left aside."""
    text = resources.files("hardenoff").joinpath("schemas", f"{command}.json").read_text("utf-8")
    Draft202012Validator(json.loads(text)).validate(answer(name, command))


@pytest.mark.parametrize("name", NAMES)
def test_its_garden_has_no_faults(name: str) -> None:
    """`check` leaves with 0."""
    run("check", "--garden", str(EXAMPLES / name / "garden.toml"))


@pytest.mark.parametrize("name", NAMES)
def test_every_batch_is_hardened_within_the_look_ahead(name: str) -> None:
    """An example whose plants never get there would be a poor one."""
    for batch in answer(name, "plan")["batches"]:
        assert batch["hardened_on"]["earliest"] is not None, batch["batch"]


@pytest.mark.parametrize("name", NAMES)
def test_trays_move_only_while_someone_is_there(name: str) -> None:
    """Every begin and end of a stay lies in the carer's hours, but for the midnight that cuts a night in two."""
    carer = read_garden(EXAMPLES / name / "garden.toml").carer
    moves = [at for *_, begin, end in stays(name) for at in (begin, end) if at.time() != time(0)]
    assert moves
    assert [at for at in moves if not someone_is_there(carer, at)] == []


@pytest.mark.parametrize("name", NAMES)
def test_a_clearing_sky_does_no_harm(name: str) -> None:
    """Sun and light if clear stay within the day's limits while the ramp lasts, to the last digit told."""
    for on, batch in batch_days(name):
        if batch["stage"] == "ramp" and not any(w["code"] == "over_limit" for w in batch["warnings"]):
            limits = batch["limits"]
            assert batch["direct_sun_hours_if_clear"] <= limits["direct_sun_hours"] + 1e-3, (on, batch["batch"])
            assert batch["light_mol_if_clear"] <= limits["light_mol"] + 1e-3, (on, batch["batch"])


# --- a balcony and a day job -------------------------------------------------------------------------


def test_no_pot_of_the_balcony_is_ever_out_at_night() -> None:
    """`nights = false` holds on every night of the plan, hardened or not."""
    found = list(batch_days("balcony"))
    assert {batch["night"]["verdict"] for _, batch in found if batch["night"]} <= {"in", "unknown"}
    assert all(begin.date() == end.date() for *_, begin, end in stays("balcony"))


def test_on_a_workday_the_balcony_gets_no_more_sun_than_the_blind_lets_through() -> None:
    """In the first week nobody can take the pots out of the sun at noon, so weekdays are for shade."""
    week = [batch for on, batch in batch_days("balcony") if on < date(2027, 5, 26) and on.weekday() < 5]
    assert max(batch["direct_sun_hours_if_clear"] for batch in week) <= 0.25
    weekend = [batch for on, batch in batch_days("balcony") if on in (date(2027, 5, 22), date(2027, 5, 23))]
    assert max(batch["direct_sun_hours_if_clear"] for batch in weekend) > 0.5


def test_the_rail_has_sun_when_it_was_seen_there() -> None:
    """Ten days after it was seen from 08:30 to 13:05 the sun comes and goes within a quarter hour of that."""
    window = answer("balcony", "sun", "rail", "--date", "2027-05-19")["windows"]
    assert len(window) == 1
    for key, seen in (("from", "08:30"), ("until", "13:05")):
        at = datetime.fromisoformat(window[0][key])
        assert abs(at - datetime.combine(at.date(), time.fromisoformat(seen), at.tzinfo)) < timedelta(minutes=15)


# --- 112 trays ---------------------------------------------------------------------------------------


def test_it_is_112_trays() -> None:
    assert sum(batch.trays for batch in read_garden(EXAMPLES / "plant-sale" / "garden.toml").batches) == 112


@pytest.mark.parametrize(
    ("rooms", "holds"),
    [({"packing shed"}, 72), ({"bench rows", "bench rows, cloth"}, 112)],
    ids=["shed", "benches"],
)
def test_no_spot_is_fuller_than_it_holds(rooms: set[str], holds: int) -> None:
    """Counted at every moment at which something comes."""
    there = [stay for stay in stays("plant-sale") if stay[2] in rooms]
    assert there
    for *_, moment, _ in there:
        assert sum(count for _, count, _, begin, end in there if begin <= moment < end) <= holds


def test_one_trolley_carries_one_batch_after_the_other() -> None:
    """Twelve trays a trip, four minutes a trip: today's carries fit into each of the helpers' windows."""
    carer = read_garden(EXAMPLES / "plant-sale" / "garden.toml").carer
    moves = answer("plant-sale", "today")["moves"]
    assert sum(move["trays"] for move in moves if move["from"] == "inside") == 112
    for span in carer.spans(date(2027, 4, 22)):
        minutes = 0.0
        for move in moves:
            at = datetime.fromisoformat(move["at"])
            if span.start_min <= at.hour * 60 + at.minute <= span.end_min:
                minutes += -(-move["trays"] // carer.trays_per_trip) * carer.minutes_per_trip
        assert minutes <= span.end_min - span.start_min


def test_what_is_tender_is_inside_on_the_near_frost() -> None:
    """The night to 27 April goes down to 1.5 C: nothing that isn't hardened stays out."""
    lows = {}
    for on, batch in batch_days("plant-sale"):
        if on == date(2027, 4, 26) and batch["batch"] != "cabbages":
            night = batch["night"]
            lows[batch["batch"]] = night["air_low_c"]
            assert (night["verdict"], night["because"]) == ("in", "weather")
    assert lows == {name: pytest.approx(1.5, abs=0.05) for name in ("tomatoes", "peppers", "petunias")}


# --- the southern hemisphere ----------------------------------------------------------------------------


def test_the_clock_is_the_places_own_on_either_side_of_its_change() -> None:
    """Clocks in Adelaide go forward at 2:00 on the first Sunday of October (tz database, from memory)."""
    offsets = {
        (at.date() >= date(2027, 10, 3), at.utcoffset())
        for *_, begin, end in stays("southern-spring")
        for at in (begin, end)
        if at.date() != date(2027, 10, 3)
    }
    assert offsets == {(False, timedelta(hours=9, minutes=30)), (True, timedelta(hours=10, minutes=30))}


def test_a_south_wall_is_in_shade_through_the_day() -> None:
    """At 35 S the midday sun stands in the north, behind the house."""
    sun = answer("southern-spring", "sun", "south wall", "--date", "2027-10-01")
    times = [
        [datetime.fromisoformat(window[key]).time() for key in ("from", "until")] for window in sun["windows"]
    ]
    assert all(until < time(9) or begin > time(16) for begin, until in times)


def test_an_open_bed_has_its_sun_through_the_north() -> None:
    """The bed has no cut between nine and three, whatever stands low round it."""
    windows = answer("southern-spring", "sun", "vegetable bed", "--date", "2027-10-01")["windows"]
    spans = [[datetime.fromisoformat(window[key]) for key in ("from", "until")] for window in windows]
    nine, three = (datetime.fromisoformat(f"2027-10-01T{hour}:00+09:30") for hour in ("09", "15"))
    joined = spans[0]
    for (_, end), (begin, later) in pairwise(spans):
        if begin == end and joined[1] == end:
            joined = [joined[0], later]
    assert joined[0] <= nine
    assert joined[1] >= three


def test_what_is_hardy_is_done_first() -> None:
    """Silverbeet before tomatoes, tomatoes (begun earlier) before capsicums."""
    done = {b["batch"]: b["hardened_on"]["earliest"] for b in answer("southern-spring", "plan")["batches"]}
    assert done["silverbeet"] < done["tomatoes"] < done["capsicums"]
