"""Forecasts through the whole program: every situation of every reader, radiation that nobody gave, what is said.

Bodies are those of `fixtures/forecasts` and of the neighbours of this file; all weather is invented.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from loopback import Loopback, Scripted
from provider_bodies import met_norway, nws_alerts, nws_grid, nws_points, open_meteo
from test_fetch_extras import MEMBERS, ensemble
from test_readers import READABLE, UNREADABLE
from test_real_replies import grid_of_duluth, nordic
from typer.testing import CliRunner, Result

from hardenoff.cli.app import app
from hardenoff.errors import Exit
from hardenoff.forecast import read_saved, write_bundle
from hardenoff.forecast.reader import Reply

FOLDER = Path(__file__).parents[1] / "fixtures" / "forecasts"
NOW = datetime(2027, 4, 20, 10, 0, tzinfo=UTC)
HOUR = timedelta(hours=1)
STATE = "state = { on = 2027-04-20, air = 11, sun = 11, cold = 1, light_mol = 25 }"


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder to stand in, caches in it as well."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("HARDENOFF_CACHE_DIR", str(tmp_path / "cache"))
    monkeypatch.setenv("HARDENOFF_STATE_DIR", str(tmp_path / "state"))
    return tmp_path


def garden(
    home: Path,
    latitude: float = 40.0,
    longitude: float = -83.0,
    zone: str = "America/New_York",
    more: str = "",
    batch: str = "",
) -> None:
    """A garden file with one batch at one open spot."""
    (home / "garden.toml").write_text(f"""
[place]
name = "Lime Kiln"
latitude = {latitude}
longitude = {longitude}
timezone = "{zone}"
{more}
[[spot]]
name = "yard"
[[batch]]
name = "peppers"
crop = "sweet pepper"
sown = 2027-01-20
plant_out_at = "yard"
{batch}
""")


def run(*arguments: object) -> Result:
    """The program in this process; anything but an exit code is a fault of it."""
    result = CliRunner().invoke(app, [str(argument) for argument in arguments], env={"COLUMNS": "100"})
    assert result.exception is None or isinstance(result.exception, SystemExit), repr(result.exception)
    return result


def answer(*arguments: object) -> dict[str, Any]:
    """The JSON answer of a run that must end well."""
    result = run(*arguments, "--json")
    assert result.exit_code == Exit.DONE, result.stderr
    document: dict[str, Any] = json.loads(result.stdout)
    return document


def file_of(key: str, situation: str) -> Path:
    """The body of a situation."""
    return next((FOLDER / key).glob(f"{situation}.*"))


# --- every situation of every reader -------------------------------------------------------------------


@pytest.mark.parametrize(("key", "situation"), READABLE)
def test_what_can_be_read_is_planned_from(home: Path, key: str, situation: str) -> None:
    """At its own time and place each of them is answered, with a night or an unknown one; old ones end with 3."""
    path = file_of(key, situation)
    saved = read_saved(path.read_bytes())
    normal = read_saved(file_of(key, "normal").read_bytes())
    origin = saved.forecast.origin
    now = normal.as_of if situation == "old" else saved.as_of
    assert now is not None
    started = STATE.replace("2027-04-20", f"{now:%Y-%m-%d}")
    garden(home, origin.latitude or 42.94, origin.longitude or -77.33, batch=started)
    result = run("today", "--forecast-file", path, "--now", now.isoformat(), "--json")
    if situation == "old":
        assert result.exit_code == Exit.NO_FORECAST
        assert "keep the plants inside" in result.stderr
        return
    assert result.exit_code == Exit.DONE, result.stderr
    (batch,) = json.loads(result.stdout)["batches"]
    low = batch["night"]["air_low_c"]
    assert (batch["night"]["verdict"] == "unknown") == (low is None)
    if low is None:
        assert batch["night"]["action"] in ("none", "bring_in")


@pytest.mark.parametrize(("key", "situation"), UNREADABLE)
def test_what_cannot_be_read_ends_with_four(home: Path, key: str, situation: str) -> None:
    """Empty, cut off, an error, a web page: said in three parts, nothing on stdout."""
    garden(home, 42.94, -77.33)
    result = run("today", "--forecast-file", file_of(key, situation), "--now", "2027-04-20T06:00")
    assert (result.exit_code, result.stdout) == (Exit.UNREADABLE, "")
    assert "expected:" in result.stderr
    assert "do this:" in result.stderr


@pytest.mark.parametrize("key", ["open-meteo", "nws", "met-norway"])
def test_another_place_ends_with_four(home: Path, key: str) -> None:
    """A garden in the west and a forecast for the east; a table names no place and can't be told."""
    garden(home, 42.94, -77.33)
    result = run("tonight", "--forecast-file", file_of(key, "another-place"), "--now", "2027-04-18T06:00")
    assert result.exit_code == Exit.UNREADABLE
    assert "km from Lime Kiln" in result.stderr


@pytest.mark.parametrize("key", ["open-meteo", "nws", "met-norway", "table"])
def test_freezing_point_is_a_temperature(home: Path, key: str) -> None:
    """0 C in the reply is 0 C in the hours, not a hole."""
    path = file_of(key, "zero-degrees")
    origin = read_saved(path.read_bytes()).forecast.origin
    garden(home, origin.latitude or 42.94, origin.longitude or -77.33)
    hours = answer("forecast", "--forecast-file", path, "--now", "2027-04-02T06:00")["hours"]
    air = [hour["air_temperature_c"] for hour in hours]
    assert 0.0 in air


# --- radiation and nights of providers that give none --------------------------------------------------

DULUTH = (46.78, -92.11, "America/Chicago")
BODO = (67.28, 14.4, "Europe/Oslo")


def written(home: Path, document: object) -> Path:
    """A reply as a file."""
    path = home / "reply.json"
    path.write_text(json.dumps(document))
    return path


@pytest.mark.parametrize(
    ("document", "place", "now"),
    [(grid_of_duluth, DULUTH, "2027-04-20T06:00"), (nordic, BODO, "2027-05-04T06:00")],
    ids=["nws", "met-norway"],
)
def test_radiation_is_worked_out_from_cloud(
    home: Path, document: Callable[[], object], place: tuple[float, float, str], now: str
) -> None:
    """Neither provider gives any: a plan comes all the same, and the columns are marked."""
    garden(home, *place)
    path = written(home, document())
    batch = answer("today", "--forecast-file", path, "--now", now)["batches"][0]
    assert batch["light_mol_likely"] is not None
    assert batch["light_mol_likely"] <= batch["light_mol_if_clear"]
    told = answer("forecast", "--forecast-file", path, "--now", now)
    assert {"ghi_w_m2", "dni_w_m2", "dhi_w_m2"} <= set(told["estimated"])
    noon = max(hour["ghi_w_m2"] or 0.0 for hour in told["hours"])
    assert 100.0 < noon < 1100.0
    text = run("forecast", "--forecast-file", path, "--now", now).stdout
    assert "Worked out by us:" in text
    assert "level (sun" in text


def test_gusts_are_worked_out_where_there_are_none(home: Path) -> None:
    """A day's worth of gusts is given; from then on 1.5 x the mean wind of 12.964 km/h, 5.40 m/s, marked."""
    garden(home, *DULUTH)
    path = written(home, grid_of_duluth())
    told = answer("forecast", "--forecast-file", path, "--now", "2027-04-20T06:00")
    assert "wind_gust_m_s" in told["estimated"]
    assert [hour["wind_gust_m_s"] for hour in told["hours"]][48] == pytest.approx(1.5 * 12.964 / 3.6, abs=1e-4)


@pytest.mark.parametrize(
    ("document", "place", "now", "low_c"),
    [
        (grid_of_duluth, DULUTH, "2027-04-20T15:00", 25 / 9),
        (grid_of_duluth, DULUTH, "2027-04-21T15:00", 3.0),
        (nordic, BODO, "2027-05-03T18:00", 5.0),
    ],
    ids=["nws window", "nws window like its hours", "met-norway, hourly part"],
)
def test_tonight_has_the_block_s_minimum(
    home: Path, document: Callable[[], object], place: tuple[float, float, str], now: str, low_c: float
) -> None:
    """`minTemperature` of the night, `air_temperature_min` of the next six hours: that very number."""
    garden(home, *place)
    told = answer("tonight", "--forecast-file", written(home, document()), "--now", now)
    night = told["nights"][-1]["batches"][0]["night"]
    assert night["air_low_c"] == pytest.approx(low_c, abs=0.005)


def test_a_six_hourly_tail_hides_no_block_minimum(home: Path) -> None:
    """Four nights of the plan have the 1.5 C of their block; the line through the instants never falls below 4."""
    garden(home, *BODO)
    path = written(home, nordic())
    days = answer("plan", "--forecast-file", path, "--now", "2027-05-03T18:00")["days"]
    lows = {day["date"]: (day["batches"][0]["night"] or {}).get("air_low_c") for day in days}
    assert [lows[f"2027-05-0{day}"] for day in (6, 7, 8, 9)] == [1.5] * 4


# --- what else was heard, live and saved ---------------------------------------------------------------


@pytest.fixture
def server() -> Iterator[Loopback]:
    with Loopback() as running:
        running.play("/v1/forecast", Scripted(open_meteo(NOW, air_c=14.0)))
        running.play("/v1/ensemble", Scripted(ensemble(NOW, *MEMBERS)))
        running.play("/weatherapi", Scripted(met_norway(NOW, air_c=9.0)))
        running.play("/points", Scripted(nws_points("https://api.weather.gov")))
        running.play("/gridpoints", Scripted(nws_grid(NOW, air_c=12.0)))
        running.play("/alerts", Scripted(nws_alerts(NOW)))
        yield running


def sources(server: Loopback, *keys: str) -> str:
    """The [forecast] table that has everything asked of the server."""
    return (
        f"[forecast]\nsources = {json.dumps(keys)}\n[forecast.base_url]\n"
        f'open-meteo = "{server.url}"\nopen-meteo-ensemble = "{server.url}"\n'
        f'nws = "{server.url}"\nmet-norway = "{server.url}"\n'
    )


def at(moment: datetime) -> tuple[str, str]:
    """--now of a moment."""
    return "--now", moment.isoformat()


def without_status(document: dict[str, Any]) -> dict[str, Any]:
    """An answer but for `fresh` or `file`."""
    return {**document, "forecast": {**document["forecast"], "status": None}}


@pytest.mark.parametrize("command", ["today", "tonight", "plan"])
@pytest.mark.parametrize("second", ["met-norway", "nws"])
def test_a_saved_forecast_gives_the_same_answer(home: Path, server: Loopback, command: str, second: str) -> None:
    """Second opinion, members and alerts are in the bundle: nothing but the status differs."""
    server.play("/alerts", Scripted(nws_alerts(NOW, "Frost Advisory")))
    garden(home, more=sources(server, "open-meteo", second), batch=STATE)
    live = answer(command, *at(NOW), "--save-forecast", home / "kept.json")
    server.stop()
    again = answer(command, *at(NOW), "--forecast-file", home / "kept.json")
    assert without_status(again) == without_status(live)
    assert (live["forecast"]["status"], again["forecast"]["status"]) == ("fresh", "file")


def test_alerts_of_a_saved_bundle_bring_plants_in(home: Path) -> None:
    """The same night, 16 C, without and with a freeze warning in the file."""
    garden(home, more="", batch=STATE)
    grid = json.loads(nws_grid(NOW, air_c=16.0))
    span = grid["properties"]["temperature"]["values"][0]["validTime"]
    rain = {"uom": "wmoUnit:mm", "values": [{"validTime": span, "value": 0}]}
    grid["properties"]["quantitativePrecipitation"] = rain  # without it rain is unknown, which keeps them in
    verdicts = []
    for events in ((), ("Freeze Warning",)):
        path = home / "kept.json"
        alerts = Reply("alerts", "u", 200, nws_alerts(NOW + 12 * HOUR, *events))
        path.write_bytes(
            write_bundle("nws", [Reply("forecast", "u", 200, json.dumps(grid).encode()), alerts], fetched_at=NOW)
        )
        night = answer("tonight", *at(NOW), "--forecast-file", path)["nights"][-1]["batches"][0]
        verdicts.append((night["night"]["verdict"], night["night"]["because"]))
    assert verdicts[0][0] == "out"
    assert verdicts[1] == ("in", "weather")


@pytest.mark.parametrize("command", ["today", "tonight", "plan"])
def test_each_view_names_source_age_and_disagreement(home: Path, server: Loopback, command: str) -> None:
    """14 C here and 9 C there are 5 C (9 F) apart; the reply is three hours old."""
    garden(home, more=sources(server, "open-meteo", "met-norway"), batch=STATE)
    run(command, *at(NOW))
    text = " ".join(run(command, *at(NOW + 3 * HOUR), "--offline").stdout.split())
    assert "open-meteo" in text
    assert "3.0 h old" in text
    assert "met-norway has the low of" in text
    assert "5.0 C (9.0 F) colder" in text


@pytest.mark.parametrize("command", ["today", "tonight", "plan"])
def test_each_view_names_the_time_of_issue(home: Path, server: Loopback, command: str) -> None:
    """Where the provider says it: 10:00 UTC is 06:00 at the garden."""
    garden(home, more=sources(server, "nws"), batch=STATE)
    told = answer(command, *at(NOW))
    assert datetime.fromisoformat(told["forecast"]["issued_at"]) == NOW
    assert "nws, issued Tue 20 Apr 06:00" in " ".join(run(command, *at(NOW)).stdout.split())


def test_odds_come_from_members_where_there_are_some(home: Path, server: Loopback) -> None:
    """Members 4.3 C apart, inflated, make 5.7 C, the table 1.8 C for the coming night; and that is said."""
    garden(home, more=sources(server, "open-meteo"), batch=STATE)
    sure = Scripted(b"", 404)
    odds = []
    for reply in (server.next_reply("/v1/ensemble"), sure):
        server.play("/v1/ensemble", reply)
        told = answer("tonight", *at(NOW))
        odds.append(told["nights"][-1]["batches"][0]["night"]["odds_harm"])
        said = any("told by 7 members of an ensemble" in note for note in told["forecast"].get("notes", []))
        assert said == (reply is not sure)
        (home / "cache" / "replies.sqlite").unlink()
    assert odds[0] > 2 * odds[1]


def test_where_members_end_is_said(home: Path, server: Loopback) -> None:
    """Fifteen days from midnight of the 20th end on the 4th; the forecast has the night of the 4th as well."""
    garden(home, more=sources(server, "open-meteo"), batch=STATE)
    notes = answer("plan", *at(NOW))["forecast"]["notes"]
    assert any("up to the night of Mon 3 May, after that" in note for note in notes), notes
    assert not any("after that" in note for note in answer("today", *at(NOW))["forecast"]["notes"])


def test_members_of_the_second_source_count_as_well(home: Path, server: Loopback) -> None:
    """Whoever has them tells how sure the low is, also where another source is trusted more for the low itself."""
    garden(home, more=sources(server, "met-norway", "open-meteo"), batch=STATE)
    told = answer("tonight", *at(NOW))
    assert told["forecast"]["provider"] == "met-norway"
    night = told["nights"][-1]["batches"][0]["night"]
    assert night["air_low_c"] - night["low_1_in_10_c"] > 5.0


def test_past_ten_days_odds_are_widened_and_that_is_said(home: Path) -> None:
    """A forecast of 18 days in the plan; today alone looks no further than tomorrow and says nothing of it."""
    path = file_of("open-meteo", "normal")
    origin = read_saved(path.read_bytes()).forecast.origin
    garden(home, origin.latitude or 0.0, origin.longitude or 0.0)
    given = ("--forecast-file", path, "--now", "2027-04-20T06:40")
    plan, today = (" ".join(run(command, *given).stdout.split()) for command in ("plan", "today"))
    assert "from the night of Fri 30 Apr on, past 10 days" in plan
    assert "odds are widened" in plan
    assert "odds are widened" not in today


# --- the server stopped --------------------------------------------------------------------------------


def test_tonight_answers_for_36_hours_and_not_longer(home: Path, server: Loopback) -> None:
    """From the kept reply, with its age; a minute past 36 hours exit 3 and 'keep inside'."""
    garden(home, more=sources(server, "open-meteo"), batch=STATE)
    run("tonight", *at(NOW))
    server.stop()
    late = run("tonight", *at(NOW + 36 * HOUR))
    assert late.exit_code == Exit.DONE, late.stderr
    assert "36 h old" in " ".join(late.stdout.split())
    gone = run("tonight", *at(NOW + 36 * HOUR + timedelta(minutes=1)))
    assert gone.exit_code == Exit.NO_FORECAST
    assert "keep inside" in gone.stderr
    assert gone.stdout == ""


def test_runs_in_a_row_ask_each_address_once(home: Path, server: Loopback) -> None:
    """Five commands within the quarter hour: one request an address, one at a time."""
    garden(home, more=sources(server, "open-meteo", "met-norway"), batch=STATE)
    for minute, command in enumerate(("today", "tonight", "plan", "forecast", "today")):
        run(command, *at(NOW + timedelta(minutes=minute)))
    paths = [one.path for one in server.asked()]
    assert len(paths) == len(set(paths)) == 3
    assert server.most_at_once() == 1
