"""The journal's file against kills, two writers at once, full disks and hands: nothing lost, doubled or torn.

POSIX only, as kill -9, its limits on files and its permissions are.
"""

from __future__ import annotations

import errno
import fcntl
import os
import random
import resource
import signal
import stat
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest

from hardenoff.errors import UnreadableError
from hardenoff.journal import file
from hardenoff.journal.entries import Complaint, Entry
from hardenoff.journal.file import IdTakenError, JournalError, append, damaged_path, journal_path, read_journal
from hardenoff.journal.text import HEADER, NewerJournalError, format_line

NOW = datetime(2027, 5, 5, 18, 0, tzinfo=UTC)


def note(name: str, text: str = "first true leaves") -> Entry:
    """An entry with an id to know it by."""
    return Entry(name, NOW, date(2027, 5, 5), "note", text=text)


def line(entry: Entry) -> bytes:
    return f"{format_line(entry)}\n".encode()


def ids(path: Path) -> list[str]:
    """Of all entries, from a journal without fault."""
    entries, complaints = read_journal(path)
    assert complaints == ()
    return [entry.id for entry in entries]


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Where the journal of a garden will be."""
    return journal_path(tmp_path / "garden.toml")


# --- what is written -------------------------------------------------------------------------------


def test_the_journal_stands_beside_its_garden(tmp_path: Path) -> None:
    """Named after it, so that two gardens of a folder have two."""
    assert journal_path(tmp_path / "back.yard.toml") == tmp_path.resolve() / "back.yard.journal.jsonl"


def test_links_to_one_garden_have_one_journal(tmp_path: Path) -> None:
    """Whichever way the garden is named."""
    (tmp_path / "garden.toml").touch()
    (tmp_path / "link.toml").symlink_to("garden.toml")
    assert journal_path(tmp_path / "link.toml") == journal_path(tmp_path / "garden.toml")


def test_a_journal_that_is_not_there_is_empty(path: Path) -> None:
    """And reading writes nothing."""
    assert read_journal(path) == ((), ())
    assert list(path.parent.iterdir()) == []


def test_the_file_is_its_lines(path: Path) -> None:
    """A header, then a line an entry: byte for byte, and nothing is ever rewritten."""
    assert append(path, note("a")) is None
    assert path.read_bytes() == f"{HEADER}\n".encode() + line(note("a"))
    append(path, note("b"))
    assert path.read_bytes() == f"{HEADER}\n".encode() + line(note("a")) + line(note("b"))


def test_an_entry_is_one_write_and_synced(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The whole line at once on a descriptor that appends; the folder is synced before the first."""
    calls = spied(monkeypatch)
    append(path, note("a"))
    append(path, note("b"))
    assert [name for name, _ in calls] == ["fsync folder", "write", "fsync", "write", "fsync"]
    assert calls[3][1] == line(note("b"))


def is_folder(handle: int) -> bool:
    return stat.S_ISDIR(os.fstat(handle).st_mode)


def spied(monkeypatch: pytest.MonkeyPatch) -> list[tuple[str, bytes]]:
    """The calls by which the journal changes the disk, in order."""
    calls: list[tuple[str, bytes]] = []
    write, fsync = os.write, os.fsync

    def seen_write(handle: int, content: bytes) -> int:
        assert fcntl.fcntl(handle, fcntl.F_GETFL) & os.O_APPEND
        calls.append(("write", bytes(content)))
        return write(handle, content)

    def seen_fsync(handle: int) -> None:
        calls.append(("fsync folder" if is_folder(handle) else "fsync", b""))
        fsync(handle)

    monkeypatch.setattr(file.os, "write", seen_write)
    monkeypatch.setattr(file.os, "fsync", seen_fsync)
    return calls


def test_an_id_that_is_taken_is_refused(path: Path) -> None:
    """So that a correction always knows what it corrects; nothing is written."""
    append(path, note("a"))
    before = path.read_bytes()
    with pytest.raises(IdTakenError):
        append(path, note("a", "another"))
    assert path.read_bytes() == before
    append(path, note("aa", '"id": "b"'))
    append(path, note("b"))  # an id in someone's words is not taken
    assert ids(path) == ["a", "aa", "b"]


def test_an_entry_that_was_cut_off_can_be_written_again(path: Path) -> None:
    """Its id is not taken by what was left of it."""
    append(path, note("a"))
    with path.open("ab") as journal:
        journal.write(line(note("b"))[:-5])
    append(path, note("b"))
    assert ids(path) == ["a", "b"]


# --- what hands and crashes leave behind -----------------------------------------------------------


def test_every_cut_of_the_last_line_is_set_aside(path: Path) -> None:
    """At each byte of it: whole lines are untouched, the rest is kept elsewhere, the next entry is whole."""
    for name in ("a", "b"):
        append(path, note(name))
    whole, last = path.read_bytes(), line(note("c"))
    for cut in range(1, len(last) - 1):
        path.write_bytes(whole + last[:cut])
        damaged_path(path).unlink(missing_ok=True)
        assert append(path, note("d")) == Complaint(
            4, "it was cut off; what was left of it is in garden.journal.damaged"
        )
        assert path.read_bytes() == whole + line(note("d"))
        assert damaged_path(path).read_bytes() == last[:cut] + b"\n"


def test_a_cut_line_is_told_of_until_it_is_set_aside(path: Path) -> None:
    """Reading changes nothing."""
    append(path, note("a"))
    with path.open("ab") as journal:
        journal.write(b'{"id": "b", "on"')
    before = path.read_bytes()
    assert read_journal(path) == (
        (note("a"),),
        (Complaint(3, "it is cut off; the next entry sets it aside"),),
    )
    assert path.read_bytes() == before
    append(path, note("c"))
    assert ids(path) == ["a", "c"]


def test_a_cut_header_is_set_aside(path: Path) -> None:
    """A kill in the very first write: the journal begins anew."""
    path.write_bytes(HEADER[:9].encode())
    append(path, note("a"))
    assert path.read_bytes() == f"{HEADER}\n".encode() + line(note("a"))


def test_an_empty_file_gets_its_header(path: Path) -> None:
    """A kill between the file and its first line."""
    path.touch()
    append(path, note("a"))
    assert path.read_bytes().startswith(HEADER.encode())


def test_zeros_of_a_power_cut_are_set_aside(path: Path) -> None:
    """Some file systems leave the length of a line without its letters."""
    append(path, note("a"))
    whole = path.read_bytes()
    path.write_bytes(whole + b"\0" * 50)
    append(path, note("b"))
    assert path.read_bytes() == whole + line(note("b"))


def test_a_line_break_left_out_by_hand_is_put_in(path: Path) -> None:
    """Editors do that; the line is whole and counts."""
    append(path, note("a"))
    path.write_bytes(path.read_bytes() + line(note("b")).rstrip())
    assert ids(path) == ["a", "b"]
    assert append(path, note("c")) is None
    assert ids(path) == ["a", "b", "c"]


def test_damage_in_the_middle_stays_in_place(path: Path) -> None:
    """Told of with its number, and left for a person to mend."""
    append(path, note("a"))
    path.write_bytes(path.read_bytes() + b"eaten by a snail\n")
    append(path, note("b"))
    entries, complaints = read_journal(path)
    assert entries == (note("a"), note("b"))
    assert [complaint.line for complaint in complaints] == [3]
    assert b"\neaten by a snail\n" in path.read_bytes()
    assert not damaged_path(path).exists()


def test_a_later_schema_is_neither_read_nor_written(path: Path) -> None:
    """Our lines in it might mean something else."""
    path.write_bytes(b'{"schema": "hardenoff.journal/2"}\n')
    with pytest.raises(NewerJournalError):
        read_journal(path)
    with pytest.raises(NewerJournalError):
        append(path, note("a"))
    assert path.read_bytes() == b'{"schema": "hardenoff.journal/2"}\n'


def test_a_line_that_is_being_written_is_waited_for(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A reader that comes in the middle of a write looks again, and has no complaint."""
    append(path, note("a"))
    whole = path.read_bytes()
    path.write_bytes(whole + line(note("b"))[:20])
    monkeypatch.setattr(file, "sleep", lambda _: path.write_bytes(whole + line(note("b"))))
    assert ids(path) == ["a", "b"]


# --- killed at any instant -------------------------------------------------------------------------


class Killed(BaseException):
    """Stands for kill -9: nothing of ours runs after it but the system's own clearing up."""


STEPS = ("open", "write", "fsync", "ftruncate", "close")


def kill_at(step: int, patch: pytest.MonkeyPatch, *, torn: bool) -> list[str]:
    """Let the process die at its n-th call to the system: before it, or with half of a write done."""
    calls: list[str] = []

    def dying(name: str, real: Callable[..., Any]) -> Callable[..., Any]:
        def call(*arguments: Any) -> Any:
            calls.append(name)
            if len(calls) > step and name != "close":  # the dead close nothing themselves, the system does
                if len(calls) == step + 1 and torn and name == "write":
                    real(arguments[0], arguments[1][: len(arguments[1]) // 2])
                raise Killed
            return real(*arguments)

        return call

    for name in STEPS:
        patch.setattr(file.os, name, dying(name, getattr(os, name)))
    return calls


@pytest.mark.parametrize("torn", [False, True], ids=["before", "halfway"])
@pytest.mark.parametrize("tail", [b"", b'{"id": "x", "on"'], ids=["whole", "cut"])
@pytest.mark.parametrize("begun", [False, True], ids=["new", "old"])
def test_a_kill_at_any_call_loses_nothing(path: Path, begun: bool, tail: bytes, torn: bool) -> None:
    """Each call to the system in turn is the last: what returned is there, once; the next entry goes in whole."""
    told = [] if not begun else ["a", "b"]
    for step in range(30):
        for left in path.parent.iterdir():
            left.unlink()
        for name in told:
            append(path, note(name))
        if tail:
            path.write_bytes((path.read_bytes() if begun else b"") + tail)
        with pytest.MonkeyPatch.context() as patch:
            calls = kill_at(step, patch, torn=torn)
            try:
                append(path, note("c"))
                survived = True
            except Killed:
                survived = False
        read = [entry.id for entry in read_journal(path)[0]]
        assert read in ([*told, "c"],) if survived else read in (told, [*told, "c"])
        append(path, note("d"))
        assert ids(path) == [*read, "d"]
        if tail:
            assert tail in damaged_path(path).read_bytes()
        if survived:
            break
    assert survived
    assert {"open", "write", "fsync"} <= set(calls)
    assert step >= 4


WRITER = """
import sys
from datetime import UTC, date, datetime
from pathlib import Path
from hardenoff.journal.entries import Entry
from hardenoff.journal.file import append

path, name, count = Path(sys.argv[1]), sys.argv[2], int(sys.argv[3])
for number in range(count):
    words = "x" * (number % 300 + 1)
    append(path, Entry(f"{name}-{number}", datetime.now(UTC), date(2027, 5, 5), "note", text=words))
    sys.stdout.write(f"{name}-{number}\\n")
    sys.stdout.flush()
"""


def writer(path: Path, name: str, count: int) -> subprocess.Popen[bytes]:
    """A process that appends, and says the id of each entry once `append` has returned."""
    return subprocess.Popen(
        [sys.executable, "-S", "-c", WRITER, str(path), name, str(count)],
        stdout=subprocess.PIPE,
        env={**os.environ, "PYTHONPATH": str(Path(file.__file__).parents[2])},
    )


def test_kill_9_at_random_instants(path: Path) -> None:
    """Fifteen processes are killed while they log: all that was said to be recorded is there, once and whole."""
    said: list[str] = []
    dice = random.Random(20270505)
    for attempt in range(15):
        process = writer(path, f"k{attempt}", 10_000)
        assert process.stdout is not None
        said.append(process.stdout.readline().decode().strip())
        time.sleep(dice.uniform(0.0, 0.06))
        process.send_signal(signal.SIGKILL)
        said += process.stdout.read().decode().split()
        process.stdout.close()
        assert process.wait() == -signal.SIGKILL
    append(path, note("end"))
    written = ids(path)
    assert set(said) <= set(written)
    assert len(set(written)) == len(written)
    assert len(written) <= len(said) + 15 + 1  # of each process one may be there that it had no time to tell of
    assert len(said) >= 15


def test_two_processes_at_once_1000_entries(path: Path) -> None:
    """None lost, none doubled, none torn, and each process's entries in its own order."""
    processes = [writer(path, name, 500) for name in ("left", "right")]
    outputs = [process.communicate(timeout=60)[0].decode().split() for process in processes]
    assert [process.returncode for process in processes] == [0, 0]
    assert [len(output) for output in outputs] == [500, 500]
    written = ids(path)
    assert sorted(written) == sorted(outputs[0] + outputs[1])
    for name, output in zip(("left", "right"), outputs, strict=True):
        assert [each for each in written if each.startswith(name)] == output
    assert written != outputs[0] + outputs[1]  # they did take turns
    assert path.read_bytes().count(b"\n") == 1001


def test_a_lock_that_is_held_is_waited_for_and_then_told_of(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Another run that hangs is no reason to hang as well."""
    waits: list[float] = []
    monkeypatch.setattr(file, "sleep", waits.append)
    with file._locked(path), pytest.raises(JournalError) as fault:
        append(path, note("a"))
    assert sum(waits) == pytest.approx(10.0)
    assert "garden.journal.lock for 10 seconds" in fault.value.what
    assert not path.exists()
    append(path, note("a"))
    assert ids(path) == ["a"]


# --- disks and permissions -------------------------------------------------------------------------


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


@pytest.fixture
def open_folder() -> Iterator[Path]:
    """A folder that anyone can reach, unlike those of pytest."""
    with tempfile.TemporaryDirectory() as name:
        os.chmod(name, 0o777)
        yield Path(name)
        os.chmod(name, 0o777)


def test_a_read_only_folder_is_a_fault_in_three_parts(open_folder: Path) -> None:
    """Nothing was there, nothing is there; reading goes on."""
    path = journal_path(open_folder / "garden.toml")
    os.chmod(open_folder, 0o555)
    with as_nobody(), pytest.raises(JournalError) as fault:
        append(path, note("a"))
    assert "can't be written: Permission denied; nothing was recorded" in fault.value.what
    assert fault.value.expected == "a folder you may write to, with room on its disk"
    assert "leave to write" in fault.value.fix
    with as_nobody():
        assert read_journal(path) == ((), ())


def test_a_read_only_journal_is_left_as_it_is(open_folder: Path) -> None:
    """As after `chmod 444`, or where it is someone else's."""
    path = journal_path(open_folder / "garden.toml")
    with as_nobody():
        append(path, note("a"))
        path.chmod(0o444)
        with pytest.raises(JournalError, match="Permission denied"):
            append(path, note("b"))
        assert ids(path) == ["a"]


def test_a_journal_that_may_not_be_read_is_a_fault(open_folder: Path) -> None:
    """Not an empty journal: that would forget all that was told."""
    path = journal_path(open_folder / "garden.toml")
    with as_nobody():
        append(path, note("a"))
        path.chmod(0)
        with pytest.raises(UnreadableError, match="can't be read: Permission denied"):
            read_journal(path)
        with pytest.raises(UnreadableError, match="can't be read: Permission denied"):
            append(path, note("b"))


def test_a_folder_in_its_place_is_a_fault(path: Path) -> None:
    """Also for writing."""
    path.mkdir()
    with pytest.raises(UnreadableError, match="Is a directory"):
        read_journal(path)
    with pytest.raises(UnreadableError, match="Is a directory"):
        append(path, note("a"))


@contextmanager
def room_for(size: int) -> Iterator[None]:
    """No file can grow beyond this: the system stops a write halfway, as on a full disk."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


@pytest.mark.parametrize("room", [0, 1, 60])
def test_a_full_disk_takes_back_half_a_line(path: Path, room: int) -> None:
    """The system's own limit: the fault is told, the journal is as before, and goes on once there is room."""
    append(path, note("a"))
    before = path.read_bytes()
    with room_for(len(before) + room), pytest.raises(JournalError) as fault:
        append(path, note("b"))
    assert "nothing was recorded" in fault.value.what
    assert fault.value.fix == "make room on the disk, then log it again"
    assert path.read_bytes() == before
    append(path, note("b"))
    assert ids(path) == ["a", "b"]


def test_a_full_disk_leaves_a_cut_line_where_it_is(path: Path) -> None:
    """It is not taken out of the journal before it is safe elsewhere."""
    append(path, note("a"))
    rest = b'{"id": "b", "text": "' + b"y" * 200
    path.write_bytes(path.read_bytes() + rest)
    before = path.read_bytes()
    with room_for(100), pytest.raises(JournalError):
        append(path, note("c"))
    assert path.read_bytes() == before
    append(path, note("c"))
    assert damaged_path(path).read_bytes() == rest + b"\n"


def test_a_disk_that_fails_to_sync_has_recorded_nothing(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What can't be made sure of is taken back: told again, it would be there twice."""
    append(path, note("a"))
    real, failed = os.fsync, []

    def fail_once(handle: int) -> None:
        if not failed:
            failed.append(handle)
            raise OSError(errno.EIO, "Input/output error")
        real(handle)

    monkeypatch.setattr(file.os, "fsync", fail_once)
    with pytest.raises(JournalError, match="Input/output error; nothing was recorded"):
        append(path, note("b"))
    assert ids(path) == ["a"]


def test_a_folder_that_cannot_be_synced_is_no_fault(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Some network disks know no such thing; the file itself is synced."""
    real = os.fsync

    def only_files(handle: int) -> None:
        if is_folder(handle):
            raise OSError(errno.EINVAL, "Invalid argument")
        real(handle)

    monkeypatch.setattr(file.os, "fsync", only_files)
    append(path, note("a"))
    assert ids(path) == ["a"]
