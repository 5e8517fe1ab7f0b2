"""Whole trials: the same again by seed, nothing of tomorrow known, and the reduced grid against the chart."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date, timedelta
from functools import cache
from importlib.resources import files
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator
from typer.testing import CliRunner

from hardenoff.cli.app import app
from hardenoff.errors import Exit
from hardenoff.trial.compare import lines, verdicts, worse
from hardenoff.trial.garden import trial_garden
from hardenoff.trial.lanes import Lane, step
from hardenoff.trial.play import Asked, play, prepared, starts_between
from hardenoff.trial.records import Costs, Harm, RunResult, Trial
from hardenoff.trial.weather import Weather, read_weather
from hardenoff.views import trial as view
from hardenoff.views import trial_json, trial_picture, trial_report

START = date(2027, 5, 4)
RUNNER = CliRunner()


@cache
def weather(name: str) -> Weather:
    return read_weather((files("pvlib") / "data" / name).read_bytes(), name)


GREENSBORO, SAND_POINT = "723170TYA.CSV", "703165TY.csv"


def asked(of: Weather, starts: tuple[date, ...], crop: str = "tomato", seeds: tuple[int, ...] = (1001,)) -> Asked:
    gardens = {carer: trial_garden(of.place, crop, carer) for carer in ("home", "work")}
    return Asked(gardens, starts, seeds)


@cache
def small() -> Trial:
    """Two first days at Greensboro, one seed."""
    of = weather(GREENSBORO)
    return play(of, asked(of, (START, START + timedelta(days=9))))


def lived(of: Weather, days: int) -> list[Lane]:
    """The runs of one start after so many days."""
    lanes, season = prepared(of, asked(of, (START,)))
    for n in range(days):
        step(season, lanes, START + timedelta(days=n))
    return lanes


# --- the loop ----------------------------------------------------------------------------------------


def test_every_player_has_its_runs() -> None:
    """Who looks at no forecast lives once a start; the others with true forecasts and with each seed."""
    runs = small().runs
    count = {player: sum(run.player == player for run in runs) for player in {run.player for run in runs}}
    assert count == {"planner": 8, "foresight": 4, "chart": 4, "thermometer": 8, "straight": 4}


def test_the_same_seed_gives_the_same_trial() -> None:
    """To the last digit."""
    of = weather(GREENSBORO)
    again = play(of, asked(of, (START, START + timedelta(days=9))))
    assert again == small()


def test_nobody_knows_tomorrow() -> None:
    """Weather that differs from the sixth day on leaves what the planner and the charts did before as it was.

    The players on true forecasts are told of the coming night, so the last day before may differ for them.
    """
    of = weather(GREENSBORO)
    turn = START + timedelta(days=6)
    hours = of.truth.hours.copy()
    later = hours.index >= f"{turn:%Y-%m-%d}T12:00Z"
    hours.loc[later, "air_temperature_c"] -= 15.0
    other = replace(of, truth=replace(of.truth, hours=hours))
    for lane, twin in zip(lived(of, 8), lived(other, 8), strict=True):
        before = [(on, day.outing.where.tolist()) for on, day, _ in lane.log if on < turn - timedelta(days=1)]
        assert before == [
            (on, day.outing.where.tolist()) for on, day, _ in twin.log if on < turn - timedelta(days=1)
        ]
        assert before


def test_only_what_was_done_counts() -> None:
    """A run's harm and costs are the sums of its days."""
    for lane in lived(weather(GREENSBORO), 8):
        total = Harm()
        for _, _, harm in lane.log:
            total = total.plus(harm)
        assert total == lane.harm
        assert lane.costs.moves == sum(day.outing.moves for _, day, _ in lane.log)
        assert lane.costs.minutes == 3.0 * lane.costs.moves


def test_the_calendar_takes_the_rule_s_days() -> None:
    """Twelve for tomato, whatever the weather; straight out as well."""
    days = {run.days for run in small().runs if run.player in ("chart", "straight")}
    assert days == {12}


def test_straight_out_is_the_worst() -> None:
    """No harm model that lets this pass would say anything."""
    for start in {run.start for run in small().runs}:
        runs = [run for run in small().runs if run.start == start]
        worst = next(run for run in runs if run.player == "straight").harm.total
        assert worst > 20.0
        assert all(run.harm.total < 0.5 * worst for run in runs if run.player != "straight")


# --- comparing ---------------------------------------------------------------------------------------


def run(player: str, days: int | None, seed: int | None = None, start: date = START, **harm: float) -> RunResult:
    return RunResult(player, "tomato", "home", start, seed, days, Harm(**harm), Costs())  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("mine", "charts", "expected"),
    [
        ({"sun_h": 0.5}, {}, ()),
        ({"sun_h": 0.51}, {}, ("sun_h",)),
        ({"check_degree_h": 3.9}, {"check_degree_h": 3.0}, ()),
        ({"check_degree_h": 4.1}, {"check_degree_h": 3.0, "leaf_degree_h": 50.0}, ("check_degree_h",)),
        ({"gust_h": 1.0, "day_degree_h": 1.5}, {}, ("day_degree_h", "gust_h")),
    ],
)
def test_worse_is_measure_by_measure(mine: dict, charts: dict, expected: tuple) -> None:
    """Within 1 degree-hour, 0.5 hours of sun and of gusts; one measure does not make up for another."""
    assert worse(Harm(**mine), Harm(**charts)) == expected


def test_verdicts_by_hand() -> None:
    """Two starts; at one the chart has 20 units, of which the planner has 5 with one seed and 6 with the other."""
    other = START + timedelta(days=3)
    runs = [
        run("planner", 14, 1, check_degree_h=5.0),
        run("planner", 16, 2, check_degree_h=6.0),
        run("planner", None, 1, other, gust_h=1.0),
        run("planner", 60, 2, other),
        run("foresight", 12),
        run("foresight", None, None, other),
        run("chart", 12, check_degree_h=20.0),
        run("chart", 12, None, other),
        run("thermometer", 13, 1),
        run("thermometer", None, 2),
        run("thermometer", 20, 1, other),
        run("thermometer", 20, 2, other),
    ]
    (found,) = verdicts(runs)
    assert (found.pairs, found.no_worse, found.worse_by_measure["gust_h"]) == (4, 3, 1)
    assert (found.heavy, found.heavy_quartered, found.heavy_measures_quartered) == (2, 1, 1)
    assert found.worst == ((other, 1, "gust_h", 1.0, 0.0),)
    assert found.unfinishable == (other,)
    assert (found.planner_median, found.planner_median_both, found.thermometer_median_both) == (15.0, 14.0, 13.0)


def test_a_line_says_more_than_sixty_where_most_were_not_through() -> None:
    """A median among runs without an end is no number."""
    starts = [START + timedelta(days=n) for n in range(3)]
    runs = [run("planner", 10 if n == 0 else None, 1, start) for n, start in enumerate(starts)]
    runs += [run("foresight", 9, None, start) for start in starts]
    line = next(line for line in lines(runs) if line.player == "planner")
    assert (line.runs, line.finished, line.days_median, line.days_tenth) == (3, 1, None, None)
    assert view.days_in_words(line) == ">60"


def test_starts() -> None:
    """Every third day, the last one included if it falls so."""
    assert starts_between(date(2027, 4, 1), date(2027, 4, 8), 3) == tuple(date(2027, 4, day) for day in (1, 4, 7))


# --- what must hold, on a reduced grid; `python tests/trial_grid.py` plays the whole one -----------------


@cache
def reduced(name: str, crop: str) -> Trial:
    of = weather(name)
    return play(of, asked(of, starts_between(date(2027, 4, 1), date(2027, 6, 1), 45), crop, (1001, 1002)))


GRID = pytest.mark.parametrize(
    ("name", "crop"), [(GREENSBORO, "tomato"), (SAND_POINT, "cabbage")], ids=["greensboro", "sand point"]
)


@GRID
def test_hardly_ever_worse_than_the_chart(name: str, crop: str) -> None:
    """With true forecasts never; with errors in one of these eight pairs at most (the whole grid: TRIAL.md)."""
    verdicts = reduced(name, crop).verdicts
    for verdict in verdicts:
        assert verdict.noisy or verdict.no_worse == verdict.pairs, verdict.worst
    noisy = [verdict for verdict in verdicts if verdict.noisy]
    worse = sum(verdict.pairs - verdict.no_worse for verdict in noisy)
    assert worse <= 1, [verdict.worst for verdict in noisy]


def test_much_better_where_the_chart_is_bad() -> None:
    """Where its measures add up to more than 10, as in a Sand Point April, a quarter at most."""
    heavy = [verdict for verdict in reduced(SAND_POINT, "cabbage").verdicts if verdict.heavy]
    assert heavy
    assert all(verdict.heavy_quartered == verdict.heavy for verdict in heavy)


@GRID
def test_not_much_slower_at_home(name: str, crop: str) -> None:
    """At most two days above the chart with a thermometer."""
    for verdict in reduced(name, crop).verdicts:
        if verdict.carer == "home":
            assert verdict.planner_median_both is not None
            assert verdict.thermometer_median_both is not None
            assert verdict.planner_median_both <= verdict.thermometer_median_both + 2.0


# --- views and the command ---------------------------------------------------------------------------


def test_the_document_keeps_its_schema() -> None:
    """Shut against keys that the schema does not know."""
    schema = json.loads((files("hardenoff") / "schemas" / "trial.json").read_text("utf-8"))
    Draft202012Validator.check_schema(schema)
    document = json.loads(json.dumps(trial_json.trials([small()]), allow_nan=False))
    Draft202012Validator(schema).validate(document)
    assert len(document["trials"][0]["runs"]) == len(small().runs)


@pytest.mark.parametrize("width", [60, 80, 120])
def test_the_table_keeps_to_its_width(width: int) -> None:
    """At 80 columns no row wraps."""
    text = view.render([small()], width)
    assert max(len(line) for line in text.splitlines()) <= width
    if width >= 80:
        assert sum(line.startswith("straight out ") for line in text.splitlines()) == 2


def test_the_page_and_the_picture_say_the_same() -> None:
    """Every player of every group, and what the model can't know."""
    page, picture = trial_report.markdown([small()]), trial_picture.svg([small()])
    for line in small().lines:
        assert view.line_name(line) in page
        assert view.line_name(line) in picture
    assert "can't know" in page
    assert all(one in page for one in view.ASSUMED)
    assert "prefers-color-scheme: dark" in picture
    assert "@media print" in picture


def test_the_command(tmp_path: Path) -> None:
    """A short trial with a page, a picture and JSON; what is asked for is what is played."""
    asked_for = [
        "trial",
        "--crop",
        "cabbage",
        "--carer",
        "home",
        "--from",
        "05-01",
        "--to",
        "05-01",
        "--seeds",
        "0",
    ]
    result = RUNNER.invoke(app, [*asked_for, "--out", str(tmp_path), "--json"])
    assert result.exit_code == Exit.DONE, result.stderr
    document = json.loads(result.stdout)
    assert {one["crop"] for one in document["trials"][0]["runs"]} == {"cabbage"}
    assert sorted(path.name for path in tmp_path.iterdir()) == ["trial.json", "trial.md", "trial.svg"]


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (["nowhere.epw"], Exit.USAGE, "can't be read"),
        (["--crop", "dragonfruit"], Exit.USAGE, "not in the table"),
        (["--carer", "away"], Exit.USAGE, "home or work"),
        (["--rule", "none"], Exit.USAGE, "not in the table"),
        (["--from", "05-40"], Exit.USAGE, "no day"),
        (["--from", "06-01", "--to", "05-01"], Exit.USAGE, "before"),
        (["--from", "12-01", "--to", "12-10"], Exit.USAGE, "are needed"),
        (["--at", "here"], Exit.USAGE, "no place"),
        (["--at", "95,0", "--timezone", "UTC"], Exit.USAGE, "not on the globe"),
        (["--at", "36,-80"], Exit.USAGE, "without --timezone"),
        (["pyproject.toml"], Exit.UNREADABLE, "not a weather file"),
    ],
)
def test_faults_of_the_command(words: list[str], code: Exit, said: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Three parts and the right exit code."""
    monkeypatch.chdir(Path(__file__).parents[1])
    result = RUNNER.invoke(app, ["trial", *words])
    assert result.exit_code == code
    assert said in result.stderr
    assert "do this:" in result.stderr
