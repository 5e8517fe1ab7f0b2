"""The command line: options on either side, exit codes, what goes to which stream, and what is written where."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
import tomllib
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from io import StringIO
from pathlib import Path

import pytest
from sample_schedule import TODAY, limits, night, peppers, sample, watched
from typer.testing import CliRunner, Result

from hardenoff import __version__
from hardenoff.cli import load
from hardenoff.cli.app import COMMANDS, app
from hardenoff.cli.options import Shared
from hardenoff.cli.output import paper, writable
from hardenoff.demo import DEMO_NOW
from hardenoff.errors import Exit, NoForecastError, UnreadableError
from hardenoff.records import Place
from hardenoff.schedule.records import Day, Schedule

FIXTURES = Path(__file__).parents[1] / "fixtures"
FORECAST = FIXTURES / "forecasts" / "open-meteo" / "normal.json"
NOW = "2027-04-20T06:40"
GARDEN = """
units = "us"
[place]
name = "Quarry Lane"
latitude = 42.94
longitude = -77.33
elevation = "860 ft"
timezone = "America/New_York"
[[spot]]
name = "carport"
roof = { above = "7 ft", front = "5 ft", back = "2 ft", left = "6 ft", right = "6 ft", open_to = 100 }
shelter = 0.4
[[spot]]
name = "long bed"
skyline = [[90, 12], [180, 5], [270, 20]]
[[batch]]
name = "peppers"
crop = "sweet pepper"
sown = 2027-02-20
plant_out_at = "long bed"
"""


@pytest.fixture(autouse=True)
def plain_environment(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing of the machine's settings."""
    for name in ("NO_COLOR", "FORCE_COLOR", "COLUMNS", "HARDENOFF_GARDEN", "TERMINAL_WIDTH"):
        monkeypatch.delenv(name, raising=False)


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a garden file, as the working directory; caches in it as well."""
    (tmp_path / "garden.toml").write_text(GARDEN)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("HARDENOFF_CACHE_DIR", str(tmp_path / "cache"))
    monkeypatch.setenv("HARDENOFF_STATE_DIR", str(tmp_path / "state"))
    return tmp_path


def run(*arguments: str | Path) -> Result:
    """The program in this process."""
    return CliRunner().invoke(app, [str(argument) for argument in arguments])


def process(*arguments: str | Path, **environment: str) -> subprocess.CompletedProcess[str]:
    """The program in a process of its own."""
    return subprocess.run(
        [sys.executable, "-m", "hardenoff", *map(str, arguments)],
        capture_output=True,
        text=True,
        env={**os.environ, **environment},
        timeout=60,
        check=False,
    )


@pytest.fixture
def shown(monkeypatch: pytest.MonkeyPatch) -> Callable[[Schedule], list[Shared]]:
    """Puts a schedule in place of a planned one; gives back the options that each command got."""
    given: list[Shared] = []

    def put(schedule: Schedule) -> list[Shared]:
        def kept(shared: Shared, days_ahead: bool = False, odds: bool = False) -> Schedule:
            given.append(shared)
            return schedule

        monkeypatch.setattr(load, "schedule", kept)
        return given

    return put


# --- the program -----------------------------------------------------------------------------------


def test_the_bare_program_shows_examples_first() -> None:
    """Short help on stdout, examples before commands, and no complaint: nothing went wrong."""
    result = run()
    assert result.exit_code == Exit.DONE
    assert (
        result.stdout.index("Examples:") < result.stdout.index("hardenoff demo") < result.stdout.index("Commands:")
    )
    assert "Options of every command" not in result.stdout


@pytest.mark.parametrize("flag", ["-h", "--help"])
def test_help_has_every_command_and_exit_code(flag: str) -> None:
    """Both spellings; each command with words of its own that are not cut off."""
    text = run(flag).stdout
    for command, in_a_line in COMMANDS:
        assert f"  {command.__name__} " in text
        assert in_a_line in text
    assert "tonight --exit-code" in text.split("Exit codes:")[1]


@pytest.mark.parametrize("command", [command.__name__ for command, _ in COMMANDS])
@pytest.mark.parametrize("flag", ["-h", "--help"])
def test_every_command_has_help(command: str, flag: str) -> None:
    """Its own options first, the shared ones in a section of their own."""
    result = run(command, flag)
    assert result.exit_code == Exit.DONE
    own, shared = result.stdout.split("Options of every command:")
    assert "--help" in own
    for option in ("--garden", "--now", "--forecast-file", "--save-forecast", "--offline", "--json", "--no-color"):
        assert option in shared


def test_help_fits_80_columns() -> None:
    """Of the program and of every command."""
    texts = [run("--help").stdout, *(run(command.__name__, "--help").stdout for command, _ in COMMANDS)]
    assert max(len(line) for text in texts for line in text.splitlines()) <= 80


def test_the_version() -> None:
    """One line."""
    assert run("--version").stdout == f"hardenoff {__version__}\n"


def test_a_mistyped_command_is_a_usage_error_with_a_guess() -> None:
    """The guess is told, not run."""
    result = process("tonigth")
    assert result.returncode == Exit.USAGE
    assert result.stdout == ""
    assert "'tonight'" in result.stderr


def test_the_module_and_the_console_script_are_the_same() -> None:
    """`python -m hardenoff` in a process of its own."""
    assert process("--version").stdout == f"hardenoff {__version__}\n"


# --- shared options --------------------------------------------------------------------------------


def test_options_work_on_either_side_and_the_later_wins(shown: Callable[[Schedule], list[Shared]]) -> None:
    """Before the command, after it, and both."""
    given = shown(sample())
    run("--now", "2027-01-01", "--offline", "today", "--garden", "a.toml", "--now", "2027-05-05")
    assert given == [Shared(garden=Path("a.toml"), now="2027-05-05", offline=True)]


@pytest.mark.parametrize("arguments", [("--json", "today"), ("today", "--json"), ("--json", "today", "--json")])
def test_json_on_either_side(shown: Callable[[Schedule], list[Shared]], arguments: tuple[str, ...]) -> None:
    """The same document each time."""
    shown(sample())
    assert json.loads(run(*arguments).stdout)["schema"] == "hardenoff.today/1"


def test_the_garden_is_named_by_option_then_environment_then_folder(monkeypatch: pytest.MonkeyPatch) -> None:
    """In this order; an empty variable counts as none."""
    assert load.garden_path(Shared()) == Path("garden.toml")
    monkeypatch.setenv("HARDENOFF_GARDEN", "")
    assert load.garden_path(Shared()) == Path("garden.toml")
    monkeypatch.setenv("HARDENOFF_GARDEN", "other.toml")
    assert load.garden_path(Shared()) == Path("other.toml")
    assert load.garden_path(Shared(garden=Path("mine.toml"))) == Path("mine.toml")


NEW_YORK = Place("Quarry Lane", 42.94, -77.33, None, "America/New_York")
KOLKATA = Place("Hill", 22.6, 88.4, None, "Asia/Kolkata")


@pytest.mark.parametrize(
    ("text", "place", "utc"),
    [
        ("2027-05-05T06:40", NEW_YORK, "2027-05-05T10:40"),
        ("2027-05-05T06:40", KOLKATA, "2027-05-05T01:10"),
        ("2027-05-05T06:40-07:00", NEW_YORK, "2027-05-05T13:40"),
        ("2027-05-05T06:40Z", KOLKATA, "2027-05-05T06:40"),
        ("2027-05-05", NEW_YORK, "2027-05-05T04:00"),
        ("2027-03-14T02:30", NEW_YORK, "2027-03-14T07:30"),  # skipped by the clocks: read with the offset before
    ],
)
def test_now_is_the_place_s_time(text: str, place: Place, utc: str) -> None:
    """Without an offset it is the place's wall clock, with one it is that moment; told in the place's zone."""
    now = load.now(Shared(now=text), place)
    assert now == datetime.fromisoformat(f"{utc}+00:00")
    assert now.tzinfo == place.tz


def test_without_now_the_clock_is_read() -> None:
    """The one clock there is."""
    assert abs(load.now(Shared(), KOLKATA) - datetime.now(UTC)) < timedelta(seconds=5)


@pytest.mark.parametrize("text", ["yesterday", "2027-13-01", "06:40", "", "0001-01-01", "9999-12-31T23:59"])
def test_a_time_that_is_none_is_a_usage_error(home: Path, text: str) -> None:
    """With the value, what is expected, and a line to write."""
    result = run("today", "--now", text, "--forecast-file", FORECAST)
    assert result.exit_code == Exit.USAGE
    assert f'--now "{text}"' in result.stderr
    assert "expected: an ISO 8601 time" in result.stderr


# --- streams ---------------------------------------------------------------------------------------


class Terminal(StringIO):
    """A stream that says it is a terminal."""

    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize(
    ("stream", "environment", "wanted", "coloured"),
    [
        (Terminal(), {}, True, True),
        (Terminal(), {"NO_COLOR": ""}, True, True),
        (Terminal(), {"NO_COLOR": "1"}, True, False),
        (Terminal(), {"TERM": "dumb"}, True, False),
        (Terminal(), {}, False, False),
        (StringIO(), {}, True, False),
        (StringIO(), {"FORCE_COLOR": "1"}, True, False),
    ],
)
def test_colour_is_for_terminals_that_want_it(
    stream: StringIO, environment: dict[str, str], wanted: bool, coloured: bool
) -> None:
    """NO_COLOR counts if it is there and not empty (no-color.org)."""
    assert paper(stream, colour_wanted=wanted, environment=environment).colour is coloured


def test_output_is_80_columns_where_there_is_no_terminal() -> None:
    """A pipe has no width."""
    assert paper(StringIO(), colour_wanted=True, environment={}).width == 80


@pytest.mark.parametrize(("columns", "width"), [("100", 100), ("20", 40), ("300", 120)])
def test_the_width_stays_readable(columns: str, width: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Neither too narrow for a table nor too wide for the eye."""
    monkeypatch.setenv("COLUMNS", columns)
    assert paper(StringIO(), colour_wanted=True).width == width


def test_a_stream_without_our_signs_gets_ascii() -> None:
    """Columns stay in line: one character for one; a foreign letter becomes a question mark."""
    assert writable("46°F in m²", "ascii") == "46 F in m2"
    assert writable("46°F", "utf-8") == "46°F"
    assert writable("Küche", "ascii") == "K?che"


def test_an_ascii_terminal_is_no_crash(home: Path) -> None:
    """`sun` prints a degree of nothing but its square metres; in ASCII they are m2."""
    result = process("sun", "carport", "--date", "2027-05-05", PYTHONIOENCODING="ascii", PYTHONUTF8="0")
    assert result.returncode == Exit.DONE
    assert "W/m2" in result.stdout


def test_a_closed_pipe_is_quiet(home: Path) -> None:
    """`hardenoff sun carport --season | head -1`: no traceback, no complaint."""
    command = f"{sys.executable} -m hardenoff sun carport --season --date 2027-05-05 | head -c 10"
    done = subprocess.run(["sh", "-c", command], capture_output=True, text=True, timeout=60, check=False)
    assert done.stderr == ""


def test_a_closed_stdout_is_quiet(home: Path) -> None:
    """`hardenoff sun carport >&-`: nobody asked for the answer."""
    command = f"{sys.executable} -m hardenoff sun carport --date 2027-05-05 >&-"
    done = subprocess.run(["sh", "-c", command], capture_output=True, text=True, timeout=60, check=False)
    assert (done.returncode, done.stderr) == (Exit.DONE, "")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full here")
def test_a_full_disk_is_said(home: Path) -> None:
    """`hardenoff sun carport > file` on a full disk: half an answer is no answer, and no traceback either."""
    command = f"{sys.executable} -m hardenoff sun carport --date 2027-05-05 > /dev/full"
    done = subprocess.run(["sh", "-c", command], capture_output=True, text=True, timeout=60, check=False)
    assert done.returncode == Exit.USAGE
    assert done.stderr.startswith("the answer can't be written: ")
    assert "Traceback" not in done.stderr


# --- today, tonight, plan --------------------------------------------------------------------------


@pytest.mark.parametrize("command", ["today", "tonight", "plan"])
def test_each_view_is_text_or_its_document(shown: Callable[[Schedule], list[Shared]], command: str) -> None:
    """Text for people, JSON on request, both on stdout."""
    shown(sample())
    assert "carport" in run(command).stdout
    assert json.loads(run(command, "--json").stdout)["schema"] == f"hardenoff.{command}/1"


def one_night(**changes: str) -> Schedule:
    """Peppers with nights allowed, and one night."""
    answer = night(**changes)
    return sample(
        days=(Day(TODAY, "forecast", (peppers(limits=limits(nights_out=True), night=answer),)),),
        nights=(watched(TODAY, False, {"peppers": answer}),),
    )


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"action": "bring_in"}, Exit.ACT_TONIGHT),
        ({"action": "cover"}, Exit.ACT_TONIGHT),
        ({"action": "none", "verdict": "unknown", "because": "unknown"}, Exit.ACT_TONIGHT),
        ({"action": "uncover"}, Exit.DONE),
        ({"action": "none"}, Exit.DONE),
    ],
)
def test_tonight_tells_scripts_only_if_asked(
    shown: Callable[[Schedule], list[Shared]], changes: dict[str, str], code: Exit
) -> None:
    """10 with --exit-code, 0 without; the answer is printed either way."""
    shown(one_night(**changes))
    assert run("tonight").exit_code == Exit.DONE
    asked = run("tonight", "--exit-code")
    assert asked.exit_code == code
    assert asked.stdout.startswith("Tonight: Wed 5 -> Thu 6 May")


@pytest.mark.parametrize("json_too", [(), ("--json",)])
def test_quiet_speaks_only_if_there_is_something_to_do(
    shown: Callable[[Schedule], list[Shared]], json_too: tuple[str, ...]
) -> None:
    """Nothing at all on a calm night."""
    shown(one_night(action="none"))
    assert run("tonight", "--quiet", *json_too).stdout == ""
    shown(one_night(action="uncover"))
    assert run("tonight", "-q", *json_too).stdout != ""


def test_today_from_a_garden_and_a_forecast(home: Path) -> None:
    """The whole way: file, forecast, sun, ramp, answer, with every batch in it."""
    result = run("today", "--forecast-file", FORECAST, "--now", NOW, "--json")
    assert result.exit_code == Exit.DONE, result.stderr
    document = json.loads(result.stdout)
    assert document["now"] == "2027-04-20T06:40:00-04:00"
    assert document["forecast"]["status"] == "file"
    assert [batch["batch"] for batch in document["batches"]] == ["peppers"]


def test_a_run_from_a_file_writes_nothing(home: Path) -> None:
    """Neither beside the garden file nor into the user's folders."""
    run("tonight", "--forecast-file", FORECAST, "--now", NOW)
    assert sorted(path.name for path in home.iterdir()) == ["garden.toml"]


def test_a_saved_forecast_gives_the_same_answer(home: Path) -> None:
    """What --save-forecast writes, --forecast-file reads."""
    first = run("forecast", "--forecast-file", FORECAST, "--now", NOW, "--json", "--save-forecast", "kept.json")
    assert first.exit_code == Exit.DONE, first.stderr
    second = run("forecast", "--forecast-file", "kept.json", "--now", NOW, "--json")
    assert json.loads(second.stdout)["hours"] == json.loads(first.stdout)["hours"]


@pytest.mark.parametrize(("options", "archived"), [((), True), (("--now", NOW), False)])
def test_only_the_real_time_is_archived(
    home: Path, monkeypatch: pytest.MonkeyPatch, options: tuple[str, ...], archived: bool
) -> None:
    """A forecast asked for as at another time is no record of what was forecast."""
    asked: list[object] = []

    def obtain(garden: object, at: datetime, **how: object) -> None:
        asked.append(how["archive"])
        raise NoForecastError("a", "b", "c")

    monkeypatch.setattr("hardenoff.fetch.obtain", obtain, raising=False)
    run("today", *options)
    assert asked == [archived]


def test_a_place_that_can_t_be_written_is_a_usage_error(home: Path) -> None:
    """And no half a file is left."""
    result = run("forecast", "--forecast-file", FORECAST, "--now", NOW, "--save-forecast", "no/such/folder.json")
    assert result.exit_code == Exit.USAGE
    assert "can't be written" in result.stderr


# --- faults ----------------------------------------------------------------------------------------


def three_parts(text: str) -> bool:
    """What, expected, do this: no more and no less."""
    lines = text.rstrip("\n").splitlines()
    return len(lines) == 3 and lines[1].startswith("  expected: ") and lines[2].startswith("  do this:  ")


def test_no_garden_file_is_told_with_its_repair(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """In an empty folder."""
    monkeypatch.chdir(tmp_path)
    result = run("today")
    assert result.exit_code == Exit.USAGE
    assert three_parts(result.stderr)
    assert "hardenoff init" in result.stderr
    assert result.stdout == ""


@pytest.mark.parametrize(
    ("situation", "code"),
    [
        ("html", Exit.UNREADABLE),
        ("truncated", Exit.UNREADABLE),
        ("error", Exit.UNREADABLE),
        ("another-place", Exit.UNREADABLE),
        ("old", Exit.NO_FORECAST),
    ],
)
def test_bad_forecasts_have_their_exit_codes(home: Path, situation: str, code: Exit) -> None:
    """HTML, half a reply, an error, another place, last week: three parts on stderr, nothing on stdout."""
    file = FORECAST.with_name(f"{situation}.json")
    result = run("today", "--forecast-file", file, "--now", NOW)
    assert result.exit_code == code
    assert three_parts(result.stderr), result.stderr
    assert result.stdout == ""


def test_a_forecast_file_that_is_not_there_is_a_usage_error(home: Path) -> None:
    """Named with its repair."""
    result = run("today", "--forecast-file", "nowhere.json", "--now", NOW)
    assert result.exit_code == Exit.USAGE
    assert three_parts(result.stderr)


def test_offline_without_a_kept_forecast_is_no_forecast(home: Path) -> None:
    """Exit 3: keep inside; no socket is opened (they are off in the tests)."""
    result = run("today", "--offline", "--now", NOW)
    assert result.exit_code == Exit.NO_FORECAST
    assert "keep inside" in result.stderr


@pytest.mark.parametrize("fault", [NoForecastError("a", "b", "c"), UnreadableError("a", "b", "c")])
def test_a_known_fault_is_three_lines_and_its_code(
    monkeypatch: pytest.MonkeyPatch, fault: NoForecastError | UnreadableError
) -> None:
    """No traceback."""

    def fail(shared: Shared, days_ahead: bool = False, odds: bool = False) -> Schedule:
        raise fault

    monkeypatch.setattr(load, "schedule", fail)
    result = run("plan")
    assert result.exit_code == fault.exit_code
    assert result.stderr == "a\n  expected: b\n  do this:  c\n"


def test_a_bug_keeps_its_traceback(tmp_path: Path) -> None:
    """Exit 1 and Python's own words, so that it can be reported."""
    code = (
        "from hardenoff.cli import load, run\n"
        "def broken(shared): raise ZeroDivisionError('a bug')\n"
        "load.schedule = broken\n"
        "import sys; sys.argv = ['hardenoff', 'today']\n"
        "run()\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=False)
    assert done.returncode == Exit.BUG
    assert "Traceback" in done.stderr
    assert "ZeroDivisionError: a bug" in done.stderr


def test_an_interrupt_leaves_with_130(tmp_path: Path) -> None:
    """Ctrl-C while it works: 128 + SIGINT, no traceback."""
    code = (
        "import time\n"
        "from hardenoff.cli import load, run\n"
        "def slow(shared): print('ready', flush=True); time.sleep(60)\n"
        "load.schedule = slow\n"
        "import sys; sys.argv = ['hardenoff', 'today']\n"
        "run()\n"
    )
    with subprocess.Popen(
        [sys.executable, "-c", code], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    ) as child:
        assert child.stdout is not None
        assert child.stdout.readline() == "ready\n"
        time.sleep(0.1)
        child.send_signal(signal.SIGINT)
        _, stderr = child.communicate(timeout=30)
    assert child.returncode == Exit.INTERRUPTED
    assert "Traceback" not in stderr


def test_an_interrupt_while_it_loads_leaves_with_130() -> None:
    """Ctrl-C before the program has read its own modules: no traceback of ours either."""
    code = (
        "import sys\n"
        "from hardenoff.cli import run\n"
        "class Pressed:\n"
        "    def find_spec(self, name, *rest):\n"
        "        if name == 'hardenoff.cli.app': raise KeyboardInterrupt\n"
        "sys.meta_path.insert(0, Pressed())\n"
        "run()\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=False)
    assert (done.returncode, done.stderr) == (Exit.INTERRUPTED, "")


# --- sun -------------------------------------------------------------------------------------------


def test_sun_needs_no_forecast(home: Path) -> None:
    """Windows, hours, and how they move; nothing is fetched or kept."""
    result = run("sun", "carport", "--date", "2027-05-05")
    assert result.exit_code == Exit.DONE, result.stderr
    assert result.stdout.startswith("Carport, Wed 5 May 2027: direct sun ")
    assert "turned 10 degrees clockwise" in result.stdout
    assert sorted(path.name for path in home.iterdir()) == ["garden.toml"]


def test_sun_without_a_date_is_today_s(home: Path) -> None:
    """Today by --now, in the place's zone: 02:00 UTC is still the day before in New York."""
    document = json.loads(run("sun", "carport", "--now", "2027-05-06T02:00Z", "--json").stdout)
    assert document["date"] == "2027-05-05"


def test_the_season_holds_the_same_day(home: Path) -> None:
    """Every seventh day for half a year, the first of them as without --season."""
    one = json.loads(run("sun", "long bed", "--date", "2027-05-05", "--json").stdout)
    season = json.loads(run("sun", "long bed", "--date", "2027-05-05", "--season", "--json").stdout)
    assert len(season["days"]) == 27
    assert {key: one[key] for key in season["days"][0]} == season["days"][0]


@pytest.mark.parametrize("spot", ["Carport", "CARPORT", " carport "])
def test_a_spot_is_found_in_any_case(home: Path, spot: str) -> None:
    """As it is for `log`."""
    assert run("sun", spot, "--date", "2027-05-05").stdout.startswith("Carport, Wed 5 May 2027: ")


@pytest.mark.parametrize(("spot", "tip"), [("carpot", 'did you mean "carport"?'), ("inside", "outdoor spot")])
def test_an_unknown_spot_is_told_with_the_nearest(home: Path, spot: str, tip: str) -> None:
    """And with those there are."""
    result = run("sun", spot)
    assert result.exit_code == Exit.USAGE
    assert three_parts(result.stderr)
    assert '"carport", "long bed"' in result.stderr
    assert tip in result.stderr


@pytest.mark.parametrize("text", ["5/6", "2027-02-30", "tomorrow", "0001-01-01"])
def test_a_date_that_is_none_is_a_usage_error(home: Path, text: str) -> None:
    """5/6 is two dates, and February has no 30th."""
    result = run("sun", "carport", "--date", text)
    assert result.exit_code == Exit.USAGE
    assert three_parts(result.stderr)


# --- check, init, demo -----------------------------------------------------------------------------


def test_check_shows_what_was_understood(home: Path) -> None:
    """Spots and batches, and exit 0."""
    result = run("check")
    assert result.exit_code == Exit.DONE
    assert result.stdout.startswith("garden.toml: no faults\n")
    assert "carport: a roof, sheltered from the wind" in result.stdout


def test_check_tells_all_faults_at_once(home: Path) -> None:
    """A latitude and a crop, exit 2, on stdout: they are the answer."""
    wrong = GARDEN.replace("42.94", "95").replace("sweet pepper", "sweet peper")
    (home / "garden.toml").write_text(wrong)
    result = run("check")
    assert result.exit_code == Exit.USAGE
    assert "garden.toml: 2 faults" in result.stdout
    document = json.loads(run("check", "--json").stdout)
    assert (document["ok"], len(document["faults"])) == (False, 2)


FLAGS = ("--latitude", "52.5", "--longitude", "13.4", "--timezone", "Europe/Berlin")


def test_init_writes_a_file_that_check_accepts(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """From flags alone, with every crop as a batch."""
    monkeypatch.chdir(tmp_path)
    result = run("init", *FLAGS, "--crop", "sweet pepper:4", "--crop", "basil", "--units", "us", "--name", "Yard")
    assert result.exit_code == Exit.DONE, result.stderr
    written = tomllib.loads((tmp_path / "garden.toml").read_text())
    assert (written["units"], written["place"]["name"]) == ("us", "Yard")
    assert [(batch["crop"], batch["plants"]) for batch in written["batch"]] == [("sweet pepper", 4), ("basil", 12)]
    assert run("check").exit_code == Exit.DONE


def test_init_does_not_write_over_a_file(home: Path) -> None:
    """Unless it is told to."""
    refused = run("init", *FLAGS)
    assert refused.exit_code == Exit.USAGE
    assert (home / "garden.toml").read_text() == GARDEN
    assert run("init", *FLAGS, "--force").exit_code == Exit.DONE
    assert "Europe/Berlin" in (home / "garden.toml").read_text()


def test_init_without_a_terminal_asks_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """It names the flags it needs."""
    monkeypatch.chdir(tmp_path)
    result = run("init")
    assert result.exit_code == Exit.USAGE
    assert "--latitude" in result.stderr
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("missing", [0, 2, 4])
def test_init_needs_all_of_the_place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, missing: int) -> None:
    """Latitude, longitude or zone alone missing is too little."""
    monkeypatch.chdir(tmp_path)
    result = run("init", *FLAGS[:missing], *FLAGS[missing + 2 :])
    assert result.exit_code == Exit.USAGE
    assert three_parts(result.stderr)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    "wrong",
    [("--latitude", "95"), ("--timezone", "Europe/Berln"), ("--crop", "turnipp"), ("--crop", "basil:many")],
)
def test_init_writes_nothing_wrong(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, wrong: tuple[str, str]
) -> None:
    """What `check` would refuse is refused before it is written."""
    monkeypatch.chdir(tmp_path)
    result = run("init", *FLAGS, *wrong)
    assert result.exit_code == Exit.USAGE
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("place", "latitude", "longitude"),
    [
        (("38.61 N", "90.2W"), 38.61, -90.2),
        (("-38,5", "144.5 E"), -38.5, 144.5),
        (("38.61", "-90.2"), 38.61, -90.2),
    ],
)
def test_init_reads_sides_of_the_world(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, place: tuple[str, str], latitude: float, longitude: float
) -> None:
    """North and east are positive, written with a sign or a letter, with a point or a comma."""
    monkeypatch.chdir(tmp_path)
    zone = "America/Chicago" if longitude < 0 else "Australia/Melbourne"
    result = run("init", "--latitude", place[0], "--longitude", place[1], "--timezone", zone)
    assert result.exit_code == Exit.DONE, result.stderr
    assert "!" not in result.stderr
    written = tomllib.loads((tmp_path / "garden.toml").read_text())["place"]
    assert (written["latitude"], written["longitude"]) == (latitude, longitude)


@pytest.mark.parametrize(
    "wrong",
    [("--latitude", "north"), ("--longitude", "38.61 N"), ("--timezone", "Europe/Berln"), ("--crop", "turnipp")],
)
def test_init_speaks_of_no_file_that_is_not_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, wrong: tuple[str, str]
) -> None:
    """Three parts in our own words, and no line of a file."""
    monkeypatch.chdir(tmp_path)
    result = run("init", *FLAGS, *wrong)
    assert result.exit_code == Exit.USAGE
    assert three_parts(result.stderr)
    assert "line" not in result.stderr
    assert "garden.toml" not in result.stderr


def test_a_longitude_on_the_other_side_of_the_earth_is_warned_of(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A forgotten minus in Ohio: from flags it is said, at a terminal it is asked again."""
    monkeypatch.chdir(tmp_path)
    flags = ("--latitude", "40", "--longitude", "83", "--timezone", "America/New_York")
    result = run("init", *flags)
    assert result.exit_code == Exit.DONE
    assert "from the sun at longitude 83; west is negative" in result.stderr
    monkeypatch.setattr("hardenoff.cli.garden.at_terminal", lambda: True)
    told = CliRunner().invoke(
        app, ["init", "--force", *flags, "--units", "us", "--crop", "basil"], input="Yard\n-83\n\n"
    )
    assert told.exit_code == Exit.DONE, told.stderr
    assert tomllib.loads((tmp_path / "garden.toml").read_text())["place"]["longitude"] == -83


def test_check_speaks_of_a_start_well_ahead(home: Path) -> None:
    """Not of one tomorrow."""
    text = (home / "garden.toml").read_text().replace('crop = "', 'start = 2027-05-05\ncrop = "')
    (home / "garden.toml").write_text(text)
    assert "is 15 days ahead" in " ".join(run("check", "--now", "2027-04-20T06:40").stdout.split())
    assert "ahead" not in run("check", "--now", "2027-05-04T06:40").stdout


def test_init_asks_at_a_terminal(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A wrong answer is asked again; enter takes what is offered."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("hardenoff.cli.garden.at_terminal", lambda: True)
    answers = ["", "95", "52.5", "13.4", "Berln", "Europe/Berlin", "", "34", "34 m", "turnipp", "basil"]
    result = CliRunner().invoke(app, ["init"], input="\n".join(answers) + "\n")
    assert result.exit_code == Exit.DONE, result.stderr
    assert "did you mean Europe/Berlin?" in result.stderr
    written = tomllib.loads((tmp_path / "garden.toml").read_text())
    assert (written["place"]["name"], written["place"]["elevation"]) == ("my garden", "34 m")
    assert [batch["crop"] for batch in written["batch"]] == ["basil"]


def test_giving_up_at_a_question_leaves_with_130(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The end of input, or Ctrl-C: nothing is written."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("hardenoff.cli.garden.at_terminal", lambda: True)
    result = CliRunner().invoke(app, ["init"], input="Yard\n")
    assert result.exit_code == Exit.INTERRUPTED
    assert list(tmp_path.iterdir()) == []


def test_forecast_prints_the_hours(home: Path) -> None:
    """Two days unless told otherwise."""
    result = run("forecast", "--forecast-file", FORECAST, "--now", NOW, "--days", "1")
    assert result.exit_code == Exit.DONE, result.stderr
    assert "Grid point 42.940, -77.330" in result.stdout
    assert "more days: hardenoff forecast --days" in result.stdout


def test_forecast_begins_today_and_with_the_past_on_request(home: Path) -> None:
    """The date of the clock, whatever the reply begins with."""
    later = ("forecast", "--forecast-file", FORECAST, "--now", "2027-04-21T09:00", "--days", "1")
    assert "\nWed 21 Apr 2027\n" in run(*later).stdout
    assert "\nWed 21 Apr 2027\n" not in run(*later, "--past").stdout


# --- demo ------------------------------------------------------------------------------------------


def test_the_demo_works_anywhere_and_writes_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No garden file, no network, a clock of its own, and the folder stays empty."""
    monkeypatch.chdir(tmp_path)
    result = run("demo", "--json")
    assert result.exit_code == Exit.DONE, result.stderr
    assert json.loads(result.stdout)["now"] == DEMO_NOW.isoformat()
    assert list(tmp_path.iterdir()) == []


def test_the_demo_says_what_it_leaves_unused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """It has a garden and a forecast of its own, and saves none."""
    monkeypatch.chdir(tmp_path)
    result = run("demo", "--garden", "mine.toml", "--save-forecast", "kept.json")
    assert result.exit_code == Exit.DONE, result.stderr
    assert "--garden, --save-forecast not used" in result.stderr
    assert list(tmp_path.iterdir()) == []


def test_the_demo_can_be_asked_for_another_hour(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """--now moves its clock."""
    monkeypatch.chdir(tmp_path)
    tomorrow = DEMO_NOW.date() + timedelta(days=1)
    document = json.loads(run("demo", "--now", f"{tomorrow}T06:00", "--json").stdout)
    assert document["date"] == tomorrow.isoformat()
