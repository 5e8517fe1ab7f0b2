"""Faults of the machine round the program: no home, a wrong clock, a full disk, closed streams, odd names.

Each ends in the answer, with a word of what could not be kept, or in three parts and the right exit code; nothing
is half written, and nothing is said to be written that is not.
"""

from __future__ import annotations

import errno
import json
import os
import pwd
import stat
import subprocess
import sys
import tempfile
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from datetime import UTC, datetime, timedelta
from io import StringIO
from pathlib import Path
from typing import Any

import platformdirs
import pytest
from loopback import Loopback, Scripted
from machine_clock import Clock
from provider_bodies import open_meteo
from typer.testing import CliRunner, Result

from hardenoff import cli
from hardenoff.cli import app as program
from hardenoff.cli import output
from hardenoff.cli.again import shown_again
from hardenoff.cli.app import COMMANDS, app
from hardenoff.cli.garden import at_terminal
from hardenoff.errors import Exit
from hardenoff.fetch import archive
from hardenoff.fetch.folders import cache_folder
from hardenoff.fetch.past import keep_past, past_path
from hardenoff.fetch.source import Reading
from hardenoff.forecast import read_saved
from hardenoff.journal.entries import Entry
from hardenoff.journal.file import append, journal_path, read_journal
from hardenoff.keep import read_kept, write_kept
from hardenoff.records import Place
from hardenoff.schedule.changes import Inputs, Kept
from hardenoff.whole import write_whole

NOW = datetime(2027, 4, 20, 10, 40, tzinfo=UTC)
GARDEN = """
[place]
name = "Lime Kiln"
latitude = 40.0
longitude = -83.0
timezone = "America/New_York"
[forecast.base_url]
open-meteo = "{url}"
[[spot]]
name = "yärd"
[[batch]]
name = "peppers"
crop = "sweet pepper"
state = {{ on = {today}, air = 11, sun = 11, cold = 1, light_mol = 25 }}
"""
NOT_KEPT = "this run can't be kept"


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Clock:
    return Clock(monkeypatch, NOW)


@pytest.fixture
def server() -> Iterator[Loopback]:
    with Loopback() as running:
        running.play("/v1/forecast", Scripted(open_meteo(NOW, days=5)))
        yield running


@pytest.fixture
def home(monkeypatch: pytest.MonkeyPatch, server: Loopback) -> Iterator[Path]:
    """A garden whose forecast comes from the server, as the working folder; all that is kept in it as well."""
    with tempfile.TemporaryDirectory() as name:  # one that others can reach, unlike those of pytest
        folder = Path(name)
        folder.chmod(0o755)
        (folder / "garden.toml").write_text(GARDEN.format(url=server.url, today=NOW.date()), "utf-8")
        monkeypatch.chdir(folder)
        monkeypatch.setenv("HARDENOFF_CACHE_DIR", str(folder / "cache"))
        monkeypatch.setenv("HARDENOFF_STATE_DIR", str(folder / "state"))
        yield folder
        folder.chmod(0o755)


def run(*arguments: object, charset: str = "utf-8", **environment: str) -> Result:
    """The program in this process; anything but an exit code is a fault of it."""
    result = CliRunner(charset=charset).invoke(app, [str(argument) for argument in arguments], env=environment)
    assert result.exception is None or isinstance(result.exception, SystemExit), repr(result.exception)
    return result


def shell(line: str, **environment: str) -> subprocess.CompletedProcess[bytes]:
    """The program in a process of its own, `hardenoff` in a line for the shell."""
    called = line.replace("hardenoff", f"{sys.executable} -m hardenoff")
    return subprocess.run(
        ["sh", "-c", called], capture_output=True, env={**os.environ, **environment}, timeout=60, check=False
    )


def is_told(result: Result, code: Exit, *words: str) -> None:
    """Nothing on stdout, three parts on stderr."""
    assert result.exit_code == code
    assert result.stdout == ""
    assert "\n  expected: " in result.stderr
    assert "\n  do this:  " in result.stderr
    for word in words:
        assert word in result.stderr


# --- homes and folders ---------------------------------------------------------------------------------


@pytest.fixture
def no_folders_named(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("HARDENOFF_CACHE_DIR", "HARDENOFF_STATE_DIR", "XDG_CACHE_HOME", "XDG_STATE_HOME"):
        monkeypatch.delenv(name, raising=False)


def test_without_a_home_the_answer_is_given_and_nothing_kept(home, clock, no_folders_named, monkeypatch) -> None:
    """As for a service under a user that the system does not list: no folder named ~ turns up either."""

    def unlisted(_: int) -> Any:
        raise KeyError("no such user")

    monkeypatch.delenv("HOME", raising=False)
    monkeypatch.setattr(pwd, "getpwuid", unlisted)
    result = run("today")
    assert result.exit_code == Exit.DONE
    assert "Peppers: " in result.stdout
    assert NOT_KEPT in result.stderr
    assert os.listdir(home) == ["garden.toml"]


@pytest.mark.parametrize("xdg", ["garden.toml", "relative"])
def test_folders_of_the_system_that_are_none(home, clock, no_folders_named, monkeypatch, xdg) -> None:
    """A file, or a relative path, which the XDG Base Directory Specification (0.8) wants ignored."""
    monkeypatch.setenv("HOME", str(home / "user"))
    where = str(home / xdg) if xdg == "garden.toml" else xdg
    monkeypatch.setenv("XDG_CACHE_HOME", where)
    monkeypatch.setenv("XDG_STATE_HOME", where)
    result = run("today")
    assert result.exit_code == Exit.DONE
    assert (NOT_KEPT in result.stderr) == (not (home / "user").exists())
    assert set(os.listdir(home)) <= {"garden.toml", "user"}


def test_a_folder_that_the_system_tells_in_part_is_none(monkeypatch, no_folders_named) -> None:
    """Older libraries give a relative path on, or one that begins with ~ where there is no home."""
    for path in ("relative/hardenoff", "~/.cache/hardenoff"):
        monkeypatch.setattr(platformdirs, "user_cache_path", lambda *_, path=path, **__: Path(path))
        assert not os.path.lexists(cache_folder())
        with pytest.raises(OSError, match="Not a directory"):
            cache_folder().mkdir(parents=True)


def test_a_folder_of_nobody_s_home_is_a_usage_error(home, clock) -> None:
    """Named by hand, so it is no matter to be passed over; no folder of that name is made here."""
    result = run("today", HARDENOFF_STATE_DIR="~no-such-user/state")
    is_told(result, Exit.USAGE, 'HARDENOFF_STATE_DIR is "~no-such-user/state"')
    assert not (home / "~no-such-user").exists()


def _link(home: Path, target: str) -> None:
    (home / "state").symlink_to(target)


@pytest.mark.parametrize(
    ("make", "is_kept"),
    [
        (lambda home: ((home / "elsewhere").mkdir(), _link(home, "elsewhere")), True),
        (lambda home: _link(home, "nowhere"), False),
        (lambda home: _link(home, "state"), False),
        (lambda home: (home / "state").write_text("a file"), False),
    ],
    ids=["a link", "a link to nothing", "a link to itself", "a file"],
)
def test_whatever_stands_for_the_state_folder(home, clock, make: Callable[[Path], Any], is_kept: bool) -> None:
    """A link is followed; with anything else the run does without, and says so."""
    make(home)
    result = run("today")
    assert result.exit_code == Exit.DONE
    assert (NOT_KEPT in result.stderr) == (not is_kept)
    assert (home / "elsewhere" / "runs").exists() == is_kept


@contextmanager
def as_nobody() -> Iterator[None]:
    """Without the powers of root, whom no permission stops."""
    if os.geteuid() != 0:
        yield
        return
    os.seteuid(65534)
    try:
        yield
    finally:
        os.seteuid(0)


def test_in_a_read_only_home_the_answer_is_given_and_nothing_recorded(home, clock, monkeypatch) -> None:
    """Also where the folders can't even be looked into. What was warm before can be loaded by nobody, too."""
    for warm in (("today",), ("log", "low", "yärd", "3 C"), ("log", "--undo")):
        assert run(*warm).exit_code == Exit.DONE
    locked = home / "locked"
    locked.mkdir(0o700)
    monkeypatch.setenv("HARDENOFF_CACHE_DIR", str(locked / "cache"))
    monkeypatch.setenv("HARDENOFF_STATE_DIR", str(locked / "state"))
    (home / "garden.journal.lock").unlink()
    journal = journal_path(home / "garden.toml").read_bytes()
    locked.chmod(0)
    home.chmod(0o555)
    try:
        with as_nobody():
            answer, low = run("today"), run("log", "low", "yärd", "3 C")
    finally:
        locked.chmod(0o700)
        home.chmod(0o755)
    assert answer.exit_code == Exit.DONE
    assert NOT_KEPT in answer.stderr
    is_told(low, Exit.USAGE, "nothing was recorded")
    assert journal_path(home / "garden.toml").read_bytes() == journal


def test_in_a_folder_that_was_removed(home, clock) -> None:
    """A garden named in full is read; one that would be in that folder is not there."""
    gone = home / "gone"
    gone.mkdir()
    os.chdir(gone)
    gone.rmdir()
    for words in (("today",), ("log", "done"), ("check",), ("sun", "yärd")):
        is_told(run(*words), Exit.USAGE, "the folder you are in is not there any more")
    assert run("today", "--garden", home / "garden.toml").exit_code == Exit.DONE
    assert run("demo").exit_code == Exit.DONE


# --- clocks --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("time", "code", "words"),
    [
        ("1970-01-01T00:00:10Z", Exit.NO_FORECAST, "is the clock right?"),
        ("2027-04-10T10:40:00Z", Exit.NO_FORECAST, "is the clock right?"),
        ("2099-05-01T12:00:00Z", Exit.NO_FORECAST, "before now"),
        ("1949-12-31T12:00:00Z", Exit.USAGE, "this machine's clock says 1949-12-31"),
        ("9999-12-31T23:59:59Z", Exit.USAGE, "this machine's clock says 9999-12-31"),
    ],
)
def test_a_clock_that_is_far_off_keeps_inside(home, clock, server, time: str, code: Exit, words: str) -> None:
    """With a reply from the network, from the kept ones, and none; and it takes nothing from what was kept."""
    run("today")
    kept = past_path(home / "state", Place("", 40.0, -83.0, None, "UTC")).read_bytes()
    clock.time = datetime.fromisoformat(time)
    is_told(run("today"), code, words)
    is_told(run("today", "--offline"), code)
    clock.time = NOW
    assert past_path(home / "state", Place("", 40.0, -83.0, None, "UTC")).read_bytes() == kept
    assert run("today").exit_code == Exit.DONE


def test_a_forecast_file_from_the_future_is_none_for_now(home, clock, tmp_path) -> None:
    """One that begins a day later is still of use; the time to ask it for is told."""
    (tmp_path / "saved.json").write_bytes(open_meteo(NOW, days=5))
    begins = datetime(2027, 4, 18, tzinfo=UTC)
    early = run(
        "today", "--forecast-file", tmp_path / "saved.json", "--now", (begins - timedelta(37 / 24)).isoformat()
    )
    is_told(early, Exit.NO_FORECAST, "its first hour is 2027-04-18T00:00Z", "--now 2027-04-20T")
    soon = run("today", "--forecast-file", tmp_path / "saved.json", "--now", (begins - timedelta(1)).isoformat())
    assert soon.exit_code == Exit.DONE
    assert "unknown" in soon.stdout


def test_entries_after_today_are_said_not_to_count(home, clock) -> None:
    """Each time, until they are undone or the day comes; not where another time was asked for."""
    clock.time = NOW + timedelta(days=3)
    run("log", "in")
    clock.time = NOW
    for _ in range(2):
        assert "an entry is dated after today (2027-04-20), the last 2027-04-23, and not" in run("today").stderr
        assert not shown_again(["today"])
    assert "not counted" not in run("today", "--now", NOW.isoformat()).stderr
    logged = run("log", "done")
    assert logged.exit_code == Exit.DONE
    assert "an entry was written at 2027-04-23 06:40, after now" in logged.stderr


# --- disks without room --------------------------------------------------------------------------------

NO_ROOM = OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


class Disk:
    """Calls that need a disk, of which the one with the number `full` fails, a write half done."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.calls, self.full = 0, 0
        for owner, name in ((os, "mkdir"), (os, "open"), (Path, "replace")):
            monkeypatch.setattr(owner, name, self._counted(getattr(owner, name)))
        monkeypatch.setattr(os, "write", self._half(os.write))
        monkeypatch.setattr(Path, "write_bytes", self._half(Path.write_bytes))

    def _is_full(self) -> bool:
        self.calls += 1
        return self.calls == self.full

    def _counted(self, real: Callable[..., Any]) -> Callable[..., Any]:
        def call(*given: Any, **named: Any) -> Any:
            if self._is_full():
                raise NO_ROOM
            return real(*given, **named)

        return call

    def _half(self, real: Callable[..., Any]) -> Callable[..., Any]:
        def call(target: Any, content: bytes) -> Any:
            if self._is_full():
                real(target, content[: len(content) // 2])
                raise NO_ROOM
            return real(target, content)

        return call

    def fails_at_each(self, work: Callable[[], Any]) -> Iterator[Any]:
        """What the work gives back, each of its calls failing in turn, and at last none."""
        self.full = 0
        while True:
            self.calls, self.full = 0, self.full + 1
            yield work()
            if self.calls < self.full:
                return


KEPT = Kept("2027-04-20", Inputs("a", "b", "c"), {})
SAVED = read_saved(open_meteo(NOW, days=3))
LIME_KILN = Place("Lime Kiln", 40.0, -83.0, None, "America/New_York")


def test_a_full_disk_costs_the_kept_run_and_says_so(tmp_path, monkeypatch) -> None:
    """At each call: the last run stays, whole, until the new one is; no part of one lies about."""
    path, told = tmp_path / "runs" / "run.json", []
    for number, said in enumerate(Disk(monkeypatch).fails_at_each(lambda: write_kept(path, KEPT))):
        told.append(said)
        assert read_kept(path) == (KEPT if None in told else None), number
        assert not list(tmp_path.rglob("*.part"))
    assert told[-1] is None
    assert len(told) >= 4
    assert all("can't be kept (No space left on device)" in said for said in told[:-1])


def test_a_full_disk_costs_the_past_hours_and_says_so(tmp_path, monkeypatch) -> None:
    """What was kept of them before stays."""
    assert keep_past(tmp_path, LIME_KILN, SAVED.forecast, NOW) is None
    path = past_path(tmp_path, LIME_KILN)
    before, told = path.read_bytes(), []
    later = NOW + timedelta(hours=3)
    for said in Disk(monkeypatch).fails_at_each(lambda: keep_past(tmp_path, LIME_KILN, SAVED.forecast, later)):
        told.append(said)
        assert [each.name for each in path.parent.iterdir()] == [path.name]
        if None not in told:
            assert path.read_bytes() == before
    assert path.read_bytes() != before
    assert told.count("the hours that are over can't be kept (No space left on device)") == 2


def test_a_full_disk_costs_a_line_of_the_archive_and_not_the_next(tmp_path, monkeypatch) -> None:
    """Half a line is in it; the next one begins anew, and is read."""
    forecast = read_saved(json.dumps(bundle_of(NOW)).encode()).forecast
    reading = Reading(forecast, (), timedelta(0), True)
    told = list(Disk(monkeypatch).fails_at_each(lambda: archive.append(tmp_path, LIME_KILN, [reading])))
    assert told[-1] == []
    assert len(told) >= 4
    assert all("not archived (No space left on device)" in note for (note,) in told[:-1])
    records, damaged = archive.read(tmp_path)
    assert (len(records), damaged) == (1, 1)


def bundle_of(fetched_at: datetime) -> dict[str, Any]:
    """A saved forecast that knows when it was fetched."""
    body = open_meteo(NOW, days=3).decode()
    reply = {"role": "forecast", "status": 200, "body": body}
    times = {"as_of": fetched_at.isoformat(), "fetched_at": fetched_at.isoformat()}
    return {"schema": "hardenoff.forecast/1", "provider": "open-meteo", **times, "replies": [reply]}


def test_a_line_that_got_in_halfway_without_a_fault_is_told(tmp_path, monkeypatch) -> None:
    """The system may write less than it was given, and say how much."""
    reading = Reading(read_saved(json.dumps(bundle_of(NOW)).encode()).forecast, (), timedelta(0), True)
    real = os.write
    with monkeypatch.context() as half:
        half.setattr(os, "write", lambda handle, content: real(handle, content[:40]))
        (note,) = archive.append(tmp_path, LIME_KILN, [reading])
    assert "not archived" in note
    assert archive.append(tmp_path, LIME_KILN, [reading]) == []
    assert [len(archive.read(tmp_path)[0]), archive.read(tmp_path)[1]] == [1, 1]


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="this system has no /dev/full")
def test_an_answer_that_finds_no_room_does_not_unsay_the_entry(home) -> None:
    """Who logs it again has it twice: it says that it is recorded, by which id."""
    ran = shell("hardenoff log note words > /dev/full", TZ="UTC")
    ((written,), _) = read_journal(journal_path(home / "garden.toml"))
    assert ran.returncode == Exit.USAGE
    assert f"{written.id} is in the journal all the same" in ran.stderr.decode()


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="this system has no /dev/full")
def test_help_that_finds_no_room_is_no_traceback() -> None:
    """The library writes it, not we; stderr may be as full."""
    ran = shell("hardenoff --help > /dev/full")
    assert (ran.returncode, ran.stderr.decode()) == (
        Exit.USAGE,
        "there is no room for the answer: send it somewhere else\n",
    )
    assert shell("hardenoff --help > /dev/full 2> /dev/full").returncode == Exit.USAGE


# --- Ctrl-C --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("call", ["write", "fsync"])
def test_an_entry_that_is_interrupted_is_taken_back(tmp_path, monkeypatch, call: str) -> None:
    """Before it is on the disk it is not recorded: told again, it would be there twice."""
    path = journal_path(tmp_path / "garden.toml")
    append(path, Entry("a", NOW, NOW.date(), "done"))
    before, real = path.read_bytes(), getattr(os, call)
    calls: list[int] = []

    def interrupted(handle: int, *content: bytes) -> Any:
        if not calls:
            calls.append(real(handle, *content))
            raise KeyboardInterrupt
        return real(handle, *content)

    monkeypatch.setattr(os, call, interrupted)
    with pytest.raises(KeyboardInterrupt):
        append(path, Entry("b", NOW, NOW.date(), "done"))
    assert path.read_bytes() == before
    append(path, Entry("c", NOW, NOW.date(), "done"))
    assert [entry.id for entry in read_journal(path)[0]] == ["a", "c"]


def test_a_file_that_is_interrupted_leaves_the_old_one(tmp_path, monkeypatch) -> None:
    """And no part of the new one."""

    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    (tmp_path / "file").write_bytes(b"old")
    monkeypatch.setattr(Path, "replace", interrupted)
    with pytest.raises(KeyboardInterrupt):
        write_whole(tmp_path / "file", b"new")
    assert [(each.name, each.read_bytes()) for each in tmp_path.iterdir()] == [("file", b"old")]


def test_an_interrupt_before_the_first_command_leaves_with_130(monkeypatch) -> None:
    """While the library makes the commands out of our functions, which takes a tenth of a second."""

    def interrupted() -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(program, "app", interrupted)
    monkeypatch.setattr(sys, "argv", ["hardenoff", "check"])
    with pytest.raises(SystemExit) as left:
        cli.run()
    assert left.value.code == Exit.INTERRUPTED


# --- streams and letters -------------------------------------------------------------------------------


def test_closed_streams_are_no_fault(monkeypatch) -> None:
    """`2>&-` and `<&-`: nobody to remark to, nobody to ask."""
    monkeypatch.setattr(sys, "stderr", None)
    output.remark("nobody reads this")
    monkeypatch.setattr(sys, "stdin", None)
    assert not at_terminal()


def test_a_program_without_any_stream_works_in_silence(home) -> None:
    """`hardenoff check <&- >&- 2>&-`, as a badly made service starts it."""
    assert shell("hardenoff check <&- >&- 2>&-").returncode == Exit.DONE
    assert shell("hardenoff log done <&- >&- 2>&-").returncode == Exit.DONE
    assert len(read_journal(journal_path(home / "garden.toml"))[0]) == 1


@pytest.mark.parametrize("charset", ["ascii", "cp437", "utf-16"])
def test_any_encoding_of_the_terminal_will_do(home, clock, charset: str) -> None:
    """Each view and each help; what the encoding lacks is told in ASCII."""
    views = [("today",), ("tonight",), ("plan",), ("check",), ("log", "--list"), ("sun", "yärd"), ("forecast",)]
    for words in (*views, ("away", "2027-04-22", "2027-04-23"), *((c.__name__, "--help") for c, _ in COMMANDS)):
        result = run(*words, charset=charset)
        assert result.exit_code == Exit.DONE, words
        assert result.stdout
    shown = run("check", charset=charset).stdout
    assert ("y?rd" if charset == "ascii" else "yärd") in shown


def test_a_locale_without_our_letters_is_no_crash(home) -> None:
    """The C locale without Python's own help out of it: file names and arguments are ASCII as well."""
    locale = {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}
    text = Path("garden.toml").read_text("utf-8")
    Path("garden.toml").write_text(text.replace('"yärd"', '"yärd"\nskyline_file = "höhe.csv"'), "utf-8")
    told = shell("hardenoff check", **locale)
    assert told.returncode == Exit.USAGE
    assert b"h?he.csv" in told.stdout
    Path("garden.toml").write_text(text, "utf-8")
    logged = shell("hardenoff log note 'first leaves'; hardenoff log --list", **locale)
    assert (logged.returncode, logged.stderr) == (Exit.DONE, b"")
    unknown = shell("hardenoff sun yärd", **locale)
    assert unknown.returncode == Exit.USAGE
    assert b'one of "y?rd"' in unknown.stderr


def test_nothing_steers_the_terminal_but_our_colours() -> None:
    """Names and words come from files and providers."""
    text = "\x1b[1mbold\x1b[0m \x1b[2J\x9b2J \x1b]0;title\x07 over\rwritten\b\n\tnext"
    assert output.writable(text, "utf-8") == "\x1b[1mbold\x1b[0m ?[2J?2J ?]0;title? over?written?\n\tnext"


def test_a_garden_file_steers_no_terminal(home) -> None:
    """A broken line is shown as it is, and is harmless."""
    Path("garden.toml").write_text("[place]\nname = \x1b[2Jx\n", "utf-8")
    is_told(run("today"), Exit.USAGE, "name = ?[2Jx")


def test_a_garden_whose_name_is_no_text_has_its_kept_run(home, clock) -> None:
    """A name in Latin-1, as an old disk has."""
    name = os.fsdecode(b"g\xe9.toml")
    Path("garden.toml").rename(name)
    for words in (("today",), ("plan",), ("log", "done"), ("check", "--json")):
        assert run(*words, "--garden", name).exit_code == Exit.DONE
    assert len(list((home / "state" / "runs").iterdir())) == 1


# --- what is no plain file -----------------------------------------------------------------------------


def _folder(path: Path) -> None:
    path.mkdir()


def _loop(path: Path) -> None:
    path.symlink_to(path.name)


def _device(path: Path) -> None:
    path.symlink_to("/dev/zero")


@pytest.mark.parametrize("make", [_folder, _loop, _device, os.mkfifo], ids=["folder", "loop", "device", "pipe"])
def test_a_garden_that_is_no_file_is_a_usage_error(home, make: Callable[[Path], Any]) -> None:
    """Said at once: a pipe is not waited for, a device is not read to its end."""
    Path("garden.toml").unlink()
    make(Path("garden.toml"))
    for words in (("today",), ("tonight",), ("log", "done")):
        is_told(run(*words), Exit.USAGE, "garden.toml")
    assert run("check").exit_code == Exit.USAGE


@pytest.mark.parametrize("make", [_folder, _loop, _device, os.mkfifo], ids=["folder", "loop", "device", "pipe"])
def test_a_journal_that_is_no_file_is_unreadable(home, clock, make: Callable[[Path], Any]) -> None:
    """Not an empty one: that would forget all that was told."""
    make(journal_path(home / "garden.toml"))
    for words in (("today",), ("log", "done"), ("log", "--list")):
        is_told(run(*words), Exit.UNREADABLE, "garden.journal.jsonl can't be read")


def test_a_forecast_file_without_end_is_left(home, clock) -> None:
    """Longer than any forecast; a pipe that ends is read as a file is."""
    is_told(run("today", "--forecast-file", "/dev/zero"), Exit.USAGE, "it is longer than 50 MB")
    os.mkfifo("pipe")
    writer = threading.Thread(target=lambda: Path("pipe").write_bytes(open_meteo(NOW, days=3)))
    writer.start()
    assert run("today", "--forecast-file", "pipe").exit_code == Exit.DONE
    writer.join()


@pytest.mark.parametrize("path", ["/", ".", "nosuch/file"])
def test_a_forecast_is_not_saved_over_a_folder(home, clock, path: str) -> None:
    """Nor where there is none."""
    is_told(run("today", "--save-forecast", path), Exit.USAGE, "can't be written")


def test_what_is_written_through_a_link_leaves_the_link(tmp_path) -> None:
    """A garden file kept elsewhere stays there."""
    (tmp_path / "real").write_bytes(b"old")
    (tmp_path / "link").symlink_to("real")
    write_whole(tmp_path / "link", b"new")
    assert (tmp_path / "link").is_symlink()
    assert (tmp_path / "real").read_bytes() == b"new"
    (tmp_path / "loop").symlink_to("loop")
    with suppress(OSError):
        write_whole(tmp_path / "loop", b"new")
    assert not list(tmp_path.glob("*.part"))


def test_a_device_is_written_to_and_not_replaced(tmp_path) -> None:
    """`--save-forecast /dev/null` by root must leave a /dev/null."""
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    heard: list[bytes] = []
    listener = threading.Thread(target=lambda: heard.append(pipe.read_bytes()))
    listener.start()
    write_whole(pipe, b"content")
    listener.join(timeout=10)
    assert heard == [b"content"]
    assert stat.S_ISFIFO(pipe.lstat().st_mode)
    write_whole(Path(os.devnull), b"content")
    assert stat.S_ISCHR(os.lstat(os.devnull).st_mode)


# --- two at once ---------------------------------------------------------------------------------------


def test_two_runs_at_once_both_answer_and_leave_one_whole_run(home, server) -> None:
    """One of them asks, both keep what they made, an entry is told meanwhile; by the real clock."""
    now = datetime.now(UTC)
    server.play("/v1/forecast", Scripted(open_meteo(now, days=4)))
    Path("garden.toml").write_text(GARDEN.format(url=server.url, today=now.date()), "utf-8")
    commands = (("today",), ("tonight",), ("log", "done"))
    running = [
        subprocess.Popen(
            [sys.executable, "-m", "hardenoff", *words], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
        )
        for words in commands
    ]
    said = [process.communicate(timeout=60) for process in running]
    assert [process.returncode for process in running] == [Exit.DONE] * 3, said
    assert all("Traceback" not in err for _, err in said)
    (kept,) = (home / "state" / "runs").iterdir()
    assert read_kept(kept) is not None
    assert len(read_journal(journal_path(home / "garden.toml"))[0]) == 1
    assert archive.read(home / "state")[1] == 0
    assert not list(home.rglob("*.part"))
    assert len(server.asked("/v1/forecast")) == 1


def test_a_remark_that_cannot_be_written_is_let_go(monkeypatch) -> None:
    """A full disk behind stderr costs the remark alone."""

    class Full(StringIO):
        def write(self, _: str) -> int:
            raise NO_ROOM

    gone: list[object] = []
    monkeypatch.setattr(output, "let_go", gone.append)
    monkeypatch.setattr(sys, "stderr", full := Full())
    output.remark("nobody reads this")
    assert gone == [full]
