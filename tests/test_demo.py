"""The packaged demo: it answers anywhere and leaves no trace, and it meets its cold snap on day 5 as it should."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from dataclasses import replace
from datetime import date, timedelta
from functools import cache
from importlib import resources
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from typer.testing import CliRunner

from hardenoff.cli.app import app
from hardenoff.demo import DEMO_NOW, demo_forecast_bytes, demo_text
from hardenoff.fetch import Obtained, unpack
from hardenoff.garden import garden_from_text
from hardenoff.records import Garden
from hardenoff.schedule.build import build_schedule
from hardenoff.schedule.records import BatchDay, Schedule
from hardenoff.views import plan as view

ROOT = Path(__file__).parents[1]
FORECASTS = [Path("hardenoff/demo/forecast.json"), *(p.relative_to(ROOT) for p in ROOT.glob("examples/*/*.json"))]
FIRST = DEMO_NOW.date()
SNAP = FIRST + timedelta(days=4)
"""Day 5, counted from 1."""
SNAP_EVENINGS = (SNAP, SNAP + timedelta(days=1))


def run(*arguments: str) -> str:
    """What the program prints; it has to end well."""
    result = CliRunner().invoke(app, list(arguments))
    assert result.exit_code == 0, result.output
    return result.stdout


@cache
def garden() -> Garden:
    return garden_from_text(Path("garden.toml"), demo_text())


@cache
def obtained() -> Obtained:
    return unpack(garden(), DEMO_NOW, demo_forecast_bytes(), "forecast.json")


@cache
def plan() -> Schedule:
    return build_schedule(garden(), obtained().forecast, DEMO_NOW, obtained().note, days_ahead=True)


def on(day: date, batch: str) -> BatchDay:
    """One batch, one date of the plan."""
    return next(b for d in plan().days if d.date == day for b in d.batches if b.batch == batch)


NAMES = [batch.name for batch in garden().batches]


# --- it answers ----------------------------------------------------------------------------------------


def test_every_batch_has_an_answer_that_begins_its_line() -> None:
    """The answer comes first, one line a batch, and each says when it goes out and what the night brings."""
    lines = run("demo").split("\n\n")[0].replace("\n", " ")
    starts = [lines.index(f"{name.capitalize()}: out ") for name in NAMES]
    assert starts == sorted(starts)
    assert starts[0] == 0
    assert lines.count("Tonight ") == len(NAMES)


def test_its_json_keeps_to_the_schema() -> None:
    """`demo --json` is `today --json` of another garden."""
    schema = json.loads(resources.files("hardenoff").joinpath("schemas", "today.json").read_text("utf-8"))
    document = json.loads(run("demo", "--json"))
    Draft202012Validator(schema).validate(document)
    assert [batch["batch"] for batch in document["batches"]] == NAMES


def test_it_shows_more_than_one_kind_of_answer() -> None:
    """A hardy batch stays out tonight and tender ones come in; one is sheltered all day and one goes out late."""
    today = plan().days[0].batches
    assert {batch.night.verdict for batch in today if batch.night} == {"out", "in"}
    assert {batch.way for batch in today} == {"sheltered", "longer"}


def test_the_batch_without_a_start_gets_its_line_to_write() -> None:
    """Only basil has neither start nor state."""
    today = plan().days[0].batches
    assert [b.batch for b in today if any(w.code == "start_not_recorded" for w in b.warnings)] == ["basil"]
    assert f"start = {FIRST}" in run("demo").splitlines()


def test_now_moves_its_clock_and_other_files_do_not_reach_it(tmp_path: Path) -> None:
    """It keeps to its own garden, whatever --garden says."""
    noon = json.loads(run("demo", "--json", "--now", f"{FIRST}T12:00", "--garden", str(tmp_path / "none.toml")))
    assert noon["now"] == f"{FIRST}T12:00:00-04:00"


TRACED = """
import os, sys
WRITES = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND
def watch(event, args):
    writes = event == "open" and (
        any(sign in str(args[1]) for sign in "wax+") if args[1] else bool((args[2] or 0) & WRITES)
    )
    changes = event in ("os.mkdir", "os.rename", "os.remove", "os.rmdir", "os.truncate", "sqlite3.connect")
    connects = event in ("socket.connect", "socket.getaddrinfo", "socket.sendto")
    if (writes and args[0] != os.devnull) or changes or connects:
        os.write(3, f"{event} {args}\\n".encode())
        os._exit(99)
sys.addaudithook(watch)
from hardenoff.cli import run
sys.argv = ["hardenoff", "demo", *sys.argv[1:]]
run()
"""


def traced(folder: Path, program: str = TRACED) -> subprocess.CompletedProcess[bytes]:
    """`demo` in a process of its own that ends with 99 at the first write or connection."""
    environment = {
        name: value
        for name, value in os.environ.items()
        if name not in ("HOME", "USERPROFILE") and not name.startswith(("XDG_", "HARDENOFF_"))
    }
    return subprocess.run(
        [sys.executable, "-B", "-c", program.replace("os.write(3, ", "os.write(2, ")],
        cwd=folder,
        env=environment,
        capture_output=True,
        timeout=60,
        check=False,
    )


def test_it_writes_nothing_and_asks_nobody(tmp_path: Path) -> None:
    """In an empty folder that is read-only, without HOME: no file is opened to write, no socket connects."""
    tmp_path.chmod(0o555)
    done = traced(tmp_path)
    assert (done.returncode, done.stdout.startswith(b"Tomatoes: out ")) == (0, True), done.stderr.decode()
    assert list(tmp_path.iterdir()) == []


CONNECT = "__import__('socket').create_connection(('192.0.2.1', 9))"  # RFC 5737: an address of nobody


@pytest.mark.parametrize("harm", ["open('x', 'w')", CONNECT], ids=["write", "connect"])
def test_the_trace_sees_what_it_looks_for(harm: str, tmp_path: Path) -> None:
    """A program that does write or connect is stopped: the test above can fail."""
    assert traced(tmp_path, TRACED.replace("run()", harm)).returncode == 99


def test_its_last_line_says_that_all_is_invented() -> None:
    """On stdout, below the credit that a real forecast would be due; JSON stays JSON."""
    assert run("demo").splitlines()[-1] == "Garden and forecast are invented. For your own: hardenoff init"
    assert json.loads(run("demo", "--json"))["schema"] == "hardenoff.today/1"


def test_importing_it_loads_nothing_heavy() -> None:
    """No pandas before somebody asks for the demo."""
    code = "import sys, hardenoff.demo; print([m for m in ('pandas', 'numpy', 'pvlib') if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=60)
    assert done.stdout.strip() == "[]"


# --- what it is made of ----------------------------------------------------------------------------------


def body(path: Path) -> dict[str, Any]:
    """The provider's reply in a bundle."""
    return dict(json.loads(json.loads(path.read_text("utf-8"))["replies"][0]["body"]))


def test_the_garden_shows_the_ways_to_tell_a_spot() -> None:
    """Three batches, four spots by roof, walls, skyline and shade layer, and nobody there on a workday's noon."""
    spots = garden().spots
    assert (len(garden().batches), len(spots)) == (3, 4)
    assert any(spot.roof for spot in spots)
    assert any(spot.walls for spot in spots)
    assert any(spot.skyline for spot in spots)
    assert any(spot.like and spot.shade < 1.0 for spot in spots)
    assert not any(span.start_min <= 720 <= span.end_min for span in garden().carer.spans(FIRST))
    assert {batch.crop.hardy for batch in garden().batches} == {True, False}


@pytest.mark.parametrize("path", FORECASTS, ids=lambda path: path.parent.name)
def test_its_reply_has_the_providers_form(path: Path) -> None:
    """Keys, order and units of the other Open-Meteo fixtures; 2 days back and 16 ahead, no hole in it."""
    reply = body(ROOT / path)
    model = json.loads((ROOT / "fixtures/forecasts/open-meteo/normal.json").read_text("utf-8"))
    assert list(reply) == list(model)
    assert reply["hourly_units"] == model["hourly_units"]
    assert list(reply["hourly"]) == list(model["hourly"])
    assert {len(values) for values in reply["hourly"].values()} == {18 * 24}
    assert all(value is not None for values in reply["hourly"].values() for value in values)


@pytest.mark.parametrize("path", FORECASTS, ids=lambda path: path.parent.name)
def test_its_weather_is_consistent(path: Path) -> None:
    """Dew point at most the air, gusts at least the wind, the three radiations agree, and nights are dark."""
    hourly = body(ROOT / path)["hourly"]
    columns = zip(
        hourly["temperature_2m"],
        hourly["dew_point_2m"],
        hourly["wind_speed_10m"],
        hourly["wind_gusts_10m"],
        hourly["shortwave_radiation"],
        hourly["direct_normal_irradiance"],
        hourly["diffuse_radiation"],
        strict=True,
    )
    for air, dew, wind, gust, level, normal, diffuse in columns:
        assert dew <= air
        assert gust >= wind
        assert 0.0 <= diffuse <= level + 0.1
        assert 0.0 <= level - diffuse <= normal + 0.2
    assert 6 < sum(value == 0.0 for value in hourly["shortwave_radiation"]) / 18 < 14


def test_the_forecast_has_what_the_demo_is_to_show() -> None:
    """An overcast day, a windy day, and on day 5 a cold one with nights well below the limits."""
    hours = obtained().forecast.hours.tz_convert(garden().place.tz)

    def day(number: int) -> Any:
        return hours[hours.index.date == FIRST + timedelta(days=number - 1)].between_time("08:00", "19:00")

    assert day(3)["cloud_cover_frac"].min() > 0.9
    assert day(4)["wind_gust_m_s"].max() > 15.0
    assert day(5)["air_temperature_c"].max() < 10.0
    lows = [night.batches[0].night for night in plan().nights]
    assert lows[0].air_low_c is not None
    assert lows[0].air_low_c > 10.0
    assert max(on(evening, "tomatoes").night.air_low_c for evening in SNAP_EVENINGS) < 5.0


def test_the_maker_makes_the_forecasts_again(tmp_path: Path) -> None:
    """Re-running fixtures/make_demo.py gives the committed numbers; a machine's last bit may turn one rounding."""
    subprocess.run(
        [sys.executable, "-B", str(ROOT / "fixtures/make_demo.py"), str(tmp_path)], check=True, timeout=60
    )
    assert len(FORECASTS) == 4
    for path in FORECASTS:
        made, kept = body(tmp_path / path), body(ROOT / path)
        assert made["hourly"].pop("time") == kept["hourly"].pop("time")
        for name, values in kept["hourly"].items():
            step = 1.0 if isinstance(values[0], int) else 0.1
            assert made["hourly"].pop(name) == pytest.approx(values, abs=1.01 * step), (path, name)
        assert made["hourly"] == {}
        del made["hourly"], kept["hourly"]
        assert made == kept


# --- the cold snap ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("evening", SNAP_EVENINGS, ids=str)
@pytest.mark.parametrize("name", ["tomatoes", "basil"])
def test_tender_batches_are_held_on_the_nights_of_the_snap(name: str, evening: date) -> None:
    """Inside, because of the weather."""
    night = on(evening, name).night
    assert night is not None
    assert (night.verdict, night.because) == ("in", "weather")


@pytest.mark.parametrize("evening", SNAP_EVENINGS, ids=str)
def test_the_hardy_batch_is_not_left_uncovered_in_the_snap(evening: date) -> None:
    """Out under the stars the night before the snap, it comes in or goes under the cover."""
    before = on(FIRST, "kale").night
    night = on(evening, "kale").night
    assert before is not None
    assert night is not None
    assert before.verdict == "out"
    assert night.verdict in ("in", "cover")


@pytest.mark.parametrize("name", NAMES)
def test_no_axis_falls_by_more_than_half_a_day_for_each_day_inside(name: str) -> None:
    """After the snap an axis is at most 0.5 ramp-day per day inside below where it stood, and none is at 0."""
    days = [on(SNAP + timedelta(days=k), name) for k in range(6)]
    before = days[0].state
    inside = 0
    for day, after in pairwise(days):
        inside += day.verdict != "out"
        for axis in ("air", "sun", "cold"):
            assert getattr(after.state, axis) >= getattr(before, axis) - 0.5 * inside
        assert after.state.ramp_days > 0.0
    assert inside >= (name != "kale")


def test_plan_from_files_is_the_plan_seen_here(tmp_path: Path) -> None:
    """The demo's garden and forecast as files give `plan` the same rows as the tests below look at."""
    (tmp_path / "garden.toml").write_text(demo_text(), "utf-8")
    (tmp_path / "forecast.json").write_bytes(demo_forecast_bytes())
    given = ("--garden", str(tmp_path / "garden.toml"), "--forecast-file", str(tmp_path / "forecast.json"))
    assert run("plan", *given, "--now", DEMO_NOW.isoformat()) == view.render(plan(), width=80)


@pytest.mark.parametrize("width", [80, 120])
def test_plan_says_the_new_date_and_why(width: int) -> None:
    """Day 5 of the tomatoes: a hold, the cold behind it, the date it moves from, and the date it moves to."""
    tomatoes = view.render(plan(), width=width).split("\n\n")[0]
    row = re.search(r"Mon 17 May +HOLD.*?(?=\n. ?\w{3} 18 May|\n +Tue 18 May)", tomatoes, re.DOTALL)
    assert row is not None, tomatoes
    said = " ".join(row.group().split())
    assert "air too cold" in said
    finish = next(finish for finish in plan().finishes if finish.batch == "tomatoes")
    assert finish.earliest is not None
    costs = on(SNAP, "tomatoes").hold_costs
    assert costs is not None
    assert re.fullmatch(rf"finish \w+ \d+ May -> {finish.earliest:%a} {finish.earliest.day} May", costs)
    assert f"Hardened {finish.earliest:%a} {finish.earliest.day} May" in tomatoes


def test_the_finish_really_moves_by_the_snap() -> None:
    """With the days of the snap as mild as the day before yesterday's, the tomatoes are done sooner."""
    forecast = obtained().forecast
    hours = forecast.hours.copy()
    dates = hours.index.tz_convert(garden().place.tz).date
    mild = hours[dates == FIRST + timedelta(days=1)]
    for k in range(4):
        hours[dates == SNAP + timedelta(days=k - 1)] = mild.to_numpy()
    mended = replace(forecast, hours=hours)
    settled = build_schedule(garden(), mended, DEMO_NOW, obtained().note, days_ahead=True)
    done = [next(f for f in s.finishes if f.batch == "tomatoes").earliest for s in (settled, plan())]
    assert None not in done
    assert done[0] < done[1]


def test_the_hold_is_known_on_the_first_morning() -> None:
    """Today's plan reaches past the snap: day 5 is a hold already, and it names the number."""
    day = on(SNAP, "tomatoes")
    cold = next(reason for reason in day.reasons if reason.code == "cold")
    assert day.verdict == "hold"
    assert cold.value is not None
    assert cold.limit is not None
    assert cold.value < cold.limit
