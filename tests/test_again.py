"""`today` again: a kept answer is what a run from scratch would print, or it is not used."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from loopback import Loopback, Scripted
from machine_clock import Clock
from sample_schedule import sample

import hardenoff
from hardenoff import keep
from hardenoff.cli import again, load
from hardenoff.cli.again import Words, shown_again
from hardenoff.cli.options import Shared
from hardenoff.cli.output import show_today
from hardenoff.fetch.answer import Answer
from hardenoff.fetch.folders import DATABASE
from hardenoff.fetch.source import Source
from hardenoff.forecast.reader import Reply
from hardenoff.forecast.registry import READERS
from hardenoff.records import ForecastSettings
from hardenoff.schedule import plans
from hardenoff.schedule.morning import HOUR, Morning, as_of, morning
from hardenoff.schedule.plain import from_plain, to_plain
from hardenoff.schedule.records import Placement, Schedule

FIXTURES = Path(__file__).parents[1] / "fixtures"
ZONE = ZoneInfo("America/New_York")
GARDEN = """
units = "us"
[place]
name = "Quarry Lane"
latitude = 42.94
longitude = -77.33
timezone = "America/New_York"
[forecast.base_url]
open-meteo = "{url}"
[[spot]]
name = "carport"
roof = {{ above = "7 ft", front = "5 ft", back = "2 ft", left = "6 ft", right = "6 ft", open_to = 100 }}
shelter = 0.4
[[spot]]
name = "long bed"
skyline_file = "horizon.csv"
[carer]
weekdays = ["06:30-07:40", "17:45-20:20"]
[[batch]]
name = "peppers"
crop = "sweet pepper"
plant_out_at = "long bed"
"""
MINUTE = timedelta(minutes=1)


def at(clock: str, day: int = 20) -> datetime:
    """A time of April 2027 at the place, in UTC."""
    return datetime.fromisoformat(f"2027-04-{day}T{clock}").replace(tzinfo=ZONE).astimezone(UTC)


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Clock:
    return Clock(monkeypatch, at("06:40"))


def reply() -> bytes:
    """A saved reply, from two days before to three days after: few days are quickly planned."""
    saved = json.loads((FIXTURES / "forecasts" / "open-meteo" / "normal.json").read_bytes())
    saved["hourly"] = {name: values[: 24 * 6] for name, values in saved["hourly"].items()}
    return json.dumps(saved).encode()


@pytest.fixture
def server() -> Iterator[Loopback]:
    with Loopback() as running:
        running.play("/v1/forecast", Scripted(reply()))
        yield running


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, server: Loopback) -> Path:
    """A garden whose forecast comes from the server, as the working directory; everything kept in it."""
    (tmp_path / "garden.toml").write_text(GARDEN.format(url=server.url))
    (tmp_path / "horizon.csv").write_text("bearing_deg,height_deg\n90,12\n180,5\n")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("HARDENOFF_CACHE_DIR", str(tmp_path / "cache"))
    monkeypatch.setenv("HARDENOFF_STATE_DIR", str(tmp_path / "state"))
    monkeypatch.setattr(keep, "program", lambda: "this program")
    monkeypatch.setattr(plans, "BEYOND_DAYS", 3)
    monkeypatch.setattr(plans, "BEYOND_MOST", 3)
    return tmp_path


@pytest.fixture
def scratch(capsys: pytest.CaptureFixture[str]) -> Callable[..., tuple[str, str]]:
    """A run from scratch: its text and its document."""

    def run() -> tuple[str, str]:
        made = load.schedule(Shared())
        show_today(Words(), made)
        text = capsys.readouterr().out
        show_today(Words(json=True), made)
        return text, capsys.readouterr().out

    return run


@pytest.fixture
def kept(capsys: pytest.CaptureFixture[str]) -> Callable[[], tuple[str, str] | None]:
    """What is shown again, as text and as document; None if it is not."""

    def run() -> tuple[str, str] | None:
        told = shown_again(["today"])
        text = capsys.readouterr().out
        assert shown_again(["today", "--json"]) == told
        document = capsys.readouterr().out
        assert bool(text) == bool(document) == told
        return (text, document) if told else None

    return run


# --- the same answer -------------------------------------------------------------------------------


def test_all_day_it_is_what_a_run_from_scratch_prints(home, clock, scratch, kept) -> None:
    """From before sunrise to past the last carry, minutes to an hour after a run: equal text, equal document."""
    shown, actions = 0, set()
    for begin in ("04:40", "07:05", "12:50", "17:40", "20:05", "23:40"):
        clock.time = at(begin)
        scratch()
        later = [clock.time + minutes * MINUTE for minutes in (4, 19, 50)]
        for clock.time in later:
            before = kept()
            if before is not None:
                made = scratch()
                assert before == made
                shown += 1
                (batch,) = json.loads(made[1])["batches"]
                actions.add((batch["verdict"], batch["night"]["action"]))
    assert shown >= 10
    assert actions == {("out", "bring_in"), ("out", "none")}


def test_it_opens_no_forecast_and_makes_no_plan(home, clock, scratch, kept, server) -> None:
    """In a process of its own nothing heavy is loaded, and the server hears nothing."""
    scratch()
    asked = len(server.asked())
    code = (
        "import sys; from datetime import datetime;"
        "from hardenoff import keep; from hardenoff.cli import again, here;"
        "keep.program = lambda: 'this program';"
        f"here.clock = lambda: datetime.fromisoformat({(clock.time + 5 * MINUTE).isoformat()!r});"
        "assert again.shown_again(sys.argv[1:]); print(*sys.modules, file=sys.stderr)"
    )
    for words in (("today",), ("today", "--json")):
        ran = subprocess.run(
            [sys.executable, "-c", code, *words], capture_output=True, text=True, check=True, timeout=60
        )
        loaded = {name.split(".")[0] for name in ran.stderr.split()}
        heavy = {"pandas", "numpy", "pvlib", "pydantic", "requests", "requests_cache", "sqlite3", "typer"}
        assert loaded & heavy == set()
        assert "peppers" in ran.stdout.lower()
    assert len(server.asked()) == asked


def test_the_program_tries_it_first(home, clock, scratch, monkeypatch, capsys) -> None:
    """`hardenoff today` does not even load its commands then."""
    from hardenoff.cli import run

    scratch()
    clock.time += 5 * MINUTE
    monkeypatch.setattr(sys, "argv", ["hardenoff", "today", "--no-color"])
    monkeypatch.setitem(sys.modules, "hardenoff.cli.app", None)
    run()
    assert capsys.readouterr().out.startswith("Peppers: ")


def test_a_width_of_its_own(home, clock, scratch, kept, monkeypatch) -> None:
    """What is kept is the answer, not its lines."""
    scratch()
    clock.time += 5 * MINUTE
    monkeypatch.setenv("COLUMNS", "50")
    narrow = kept()
    assert narrow == scratch()
    assert max(map(len, narrow[0].splitlines())) <= 50


def test_any_of_the_three_views_keeps_it(home, clock, scratch, kept) -> None:
    """`plan` and `tonight` make the same schedule."""
    load.schedule(Shared(), days_ahead=True)
    clock.time += 5 * MINUTE
    assert kept() == scratch()


def test_what_moved_is_said_once(home, clock, scratch, kept) -> None:
    """As by a second run from scratch, for which nothing has moved."""
    scratch()
    garden = home / "garden.toml"
    garden.write_text(f'{garden.read_text()}\n[carer.days]\ntue = ["11:00-13:00"]\n')
    clock.time += 5 * MINUTE
    assert "garden file" in scratch()[0]
    clock.time += 5 * MINUTE
    again_shown = kept()
    assert "garden file" not in again_shown[0]
    assert again_shown == scratch()


def test_a_record_reads_back_the_same() -> None:
    """Every kind of value that a schedule holds, through JSON."""
    whole = sample()
    plain = json.loads(json.dumps(to_plain(whole)))
    assert from_plain(Schedule, plain, whole.now.tzinfo) == whole


# --- anything that may change it -------------------------------------------------------------------


def a_batch(home: Path, clock: Clock, server: Loopback) -> None:
    garden = home / "garden.toml"
    garden.write_text(f'{garden.read_text()}[[batch]]\nname = "kale"\ncrop = "cabbage"\n')


def a_skyline(home: Path, clock: Clock, server: Loopback) -> None:
    (home / "horizon.csv").write_text("bearing_deg,height_deg\n90,60\n180,60\n")


def an_entry(home: Path, clock: Clock, server: Loopback) -> None:
    from typer.testing import CliRunner

    from hardenoff.cli.app import app

    assert CliRunner().invoke(app, ["log", "in", "peppers"]).exit_code == 0


def a_forecast(home: Path, clock: Clock, server: Loopback) -> None:
    """Another garden's run has fetched one."""
    other = home / "other.toml"
    other.write_text((home / "garden.toml").read_text().replace("42.94", "43.04"))
    load.schedule(Shared(garden=other))


def no_cache(home: Path, clock: Clock, server: Loopback) -> None:
    (home / "cache" / DATABASE).unlink()


def hours_past(home: Path, clock: Clock, server: Loopback) -> None:
    (hours,) = (home / "state" / "hours").iterdir()
    hours.write_text(hours.read_text().splitlines()[0] + "\n")


def midnight(home: Path, clock: Clock, server: Loopback) -> None:
    clock.time = at("00:02", day=21)


def a_clock_set_back(home: Path, clock: Clock, server: Loopback) -> None:
    clock.time = at("23:30")


def a_full_hour(home: Path, clock: Clock, server: Loopback) -> None:
    """One hour more is past, to be kept as such."""
    clock.time = at("00:00", day=21)


def damage(home: Path, clock: Clock, server: Loopback) -> None:
    (run,) = (home / "state" / "runs").iterdir()
    run.write_bytes(run.read_bytes()[:-200])


def another_shape(home: Path, clock: Clock, server: Loopback) -> None:
    (run,) = (home / "state" / "runs").iterdir()
    document = json.loads(run.read_text())
    del document["morning"]["schedule"]["days"][0]["batches"][0]["night"]
    run.write_text(json.dumps(document))


CHANGES = [
    a_batch,
    a_skyline,
    an_entry,
    a_forecast,
    no_cache,
    hours_past,
    midnight,
    a_clock_set_back,
    a_full_hour,
    damage,
    another_shape,
]


@pytest.mark.parametrize("change", CHANGES)
def test_after_a_change_it_is_made_anew(change, home, clock, scratch, kept, server) -> None:
    """Whatever the answer was made from: changed, the kept one is not shown; unchanged, it is."""
    clock.time = at("23:40")
    scratch()
    clock.time += 5 * MINUTE
    assert kept() is not None
    change(home, clock, server)
    assert kept() is None


def test_another_version_makes_its_own(home, clock, scratch, kept, monkeypatch) -> None:
    """An answer is that of the program that made it."""
    scratch()
    monkeypatch.setattr(keep, "program", lambda: "an older program")
    assert kept() is None


def test_a_program_is_its_version_and_its_files(tmp_path, monkeypatch) -> None:
    """By their sizes and times of change, so that an edited copy is another one; not by what Python compiles."""
    monkeypatch.setattr(hardenoff, "__file__", str(tmp_path / "__init__.py"))
    part = tmp_path / "part" / "rows.csv"
    part.parent.mkdir()
    part.write_text("a")
    before = keep.program()
    (tmp_path / "__pycache__").mkdir()
    (tmp_path / "__pycache__" / "x.pyc.1").write_text("")
    assert keep.program() == before
    os.utime(part, ns=(1, 1))
    edited = keep.program()
    assert edited != before
    monkeypatch.setattr(hardenoff, "__version__", "0.0.9")
    assert keep.program() != edited


def test_the_reply_s_own_life_ends_it(home, clock, scratch, kept, server) -> None:
    """A reply that the provider lets live for five minutes is asked for again after five minutes."""
    told = {"Content-Type": "application/json", "Cache-Control": "max-age=300"}
    server.play("/v1/forecast", Scripted(reply(), headers=told))
    clock.time = at("06:05")
    scratch()
    clock.time += 4 * MINUTE
    assert kept() is not None
    clock.time += 1 * MINUTE
    assert kept() is None


def test_what_has_to_be_said_again_is(home, clock, scratch, kept) -> None:
    """A journal with a line that can't be read is told of by every run."""
    (home / "garden.journal.jsonl").write_text("no entry\n")
    scratch()
    clock.time += 5 * MINUTE
    assert kept() is None


def test_a_forecast_got_with_difficulty_is_tried_again(home, clock, scratch, kept, server) -> None:
    """An old copy that stood in for the provider's answer does so once."""
    scratch()
    clock.time += 2 * 60 * MINUTE
    server.stop()
    assert "provider did not answer" not in scratch()[0]
    clock.time += 1 * MINUTE
    assert kept() is None


@pytest.mark.parametrize(
    ("sources", "minutes"),
    [
        (("open-meteo",), 60),
        (("open-meteo", "met-norway"), None),  # a second opinion that can't be had
        (("met-norway", "open-meteo"), None),  # nor the first one, which is asked again each time
    ],
)
def test_replies_hold_until_one_is_asked_for_again(sources, minutes, home, clock, server) -> None:
    """An hour, where all that is asked for has come; else nobody knows."""
    garden = replace(
        load.garden(Shared()),
        forecast=ForecastSettings(sources=sources, base_urls=dict.fromkeys(sources, server.url)),
    )
    obtained = load.forecast(Shared(), garden, clock.time)
    assert obtained.until == (None if minutes is None else clock.time + minutes * MINUTE)
    assert load.forecast(Shared(offline=True), garden, clock.time).until is None


def test_a_forecast_holds_no_longer_than_it_is_good(home, clock, server) -> None:
    """Past 36 hours from its issue it is refused, however long the provider lets it live."""
    now = clock.time
    answers = {"forecast": Answer(Reply("forecast", "", 200, b""), timedelta(0), asked=True, until=now + 9 * HOUR)}
    source = Source(READERS["open-meteo"], load.garden(Shared()).place, ForecastSettings(), now, answers)
    assert source.until(None) == now + 9 * HOUR
    assert source.until(now - 35 * HOUR) == now + HOUR


def test_without_a_kept_run_nothing_is_shown(home, clock, kept) -> None:
    assert kept() is None


def test_a_state_folder_that_can_t_be_written(home, clock, scratch, kept, capsys) -> None:
    """The run from scratch says that it is not kept, and the next one is from scratch again."""
    (home / "state").write_text("")
    scratch()
    assert kept() is None


OTHER_WORDS = [
    (),
    ("tonight",),
    ("today", "today"),
    ("today", "--offline"),
    ("today", "--now", "2027-04-20T06:45"),
    ("today", "--forecast-file", "x.json"),
    ("today", "--save-forecast", "x.json"),
    ("today", "--help"),
    ("today", "--garden"),
    ("today", "--garden", "other.toml"),
    ("--garden", "today"),
]
PLAIN_WORDS = [
    ("today",),
    ("--json", "today"),
    ("today", "--no-color", "--json"),
    ("--garden", "garden.toml", "today"),
    ("today", "--garden", "./garden.toml"),
]


def test_it_answers_a_plain_today_and_leaves_other_words_alone(home, clock, scratch, capsys) -> None:
    """Its options stand on either side of the command, as they do for the program."""
    scratch()
    assert [words for words in OTHER_WORDS if shown_again(words)] == []
    assert capsys.readouterr().out == ""
    for words in PLAIN_WORDS:
        assert shown_again(words)
        assert capsys.readouterr().out.startswith("{") == ("--json" in words)


def test_a_full_disk_is_said(home, clock, scratch, monkeypatch, capsys) -> None:
    """Three lines and the exit code, as from the program."""

    def full(look: Words, schedule: Schedule) -> None:
        raise again.HardenoffError("the answer can't be written: No space left", "room", "make room")

    scratch()
    monkeypatch.setattr(again, "show_today", full)
    with pytest.raises(SystemExit) as left:
        shown_again(["today"])
    assert left.value.code == 2
    assert "make room" in capsys.readouterr().err


# --- what is kept ------------------------------------------------------------------------------------


def kept_of(made: Schedule) -> Morning:
    """Kept with replies that hold for long."""
    return morning(made, made.now + 5 * HOUR, "p", {})


def test_it_ends_with_the_outing() -> None:
    """From then on nothing has to be brought in any more."""
    row = sample().days[0].batches[0]
    end = sample().now.replace(hour=18, minute=15)
    out = replace(row, placements=(Placement("carport", sample().now, end),))
    made = replace(sample(), now=end - 10 * MINUTE)
    held = kept_of(replace(made, days=(replace(made.days[0], batches=(out,)),)))
    assert held.until == end
    assert as_of(held, end) is None
    assert as_of(held, end - MINUTE) is not None


def test_an_answer_of_a_full_hour_is_not_kept_for_later() -> None:
    """The hour that begins then is past a moment later."""
    held = kept_of(replace(sample(), now=sample().now.replace(minute=0, second=0, microsecond=0)))
    assert as_of(held, held.schedule.now) is None


def test_midnight_is_the_place_s_own() -> None:
    """In a zone half an hour off it comes within an hour of UTC."""
    late = sample().now.replace(hour=23, minute=40, tzinfo=ZoneInfo("Asia/Kolkata"))
    held = kept_of(replace(sample(), now=late))
    assert as_of(held, late + 15 * MINUTE) is not None
    assert as_of(held, late + 25 * MINUTE) is None


def test_what_moved_is_not_kept() -> None:
    """It moved before the run that is kept; nothing has moved since."""
    assert sample().changes
    assert kept_of(sample()).schedule.changes == ()


def test_days_of_a_first_outing_are_kept() -> None:
    """The line for garden.toml names the first of them."""
    made = sample()
    (today, tomorrow, later), out = made.days[:3], made.days[0].batches[0].placements
    inside = replace(today.batches[0], placements=())
    outside = replace(inside, placements=out)
    days = [replace(day, batches=(row,)) for day, row in ((today, inside), (tomorrow, outside), (later, outside))]
    assert kept_of(replace(made, days=tuple(days))).schedule.days == tuple(days[:2])
