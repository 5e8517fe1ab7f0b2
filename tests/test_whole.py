"""Files written whole or not at all, and the lock that one run at a time holds."""

from __future__ import annotations

import errno
import multiprocessing
import os
from pathlib import Path

import pytest

from hardenoff.fetch import turn as turns
from hardenoff.fetch.manners import Deadline
from hardenoff.lock import take
from hardenoff.whole import write_whole

SIZE = 200_000


def test_the_new_content_takes_the_old_one_s_place(tmp_path: Path) -> None:
    """Nothing is left beside it."""
    path = tmp_path / "kept.json"
    path.write_bytes(b"old")
    write_whole(path, b"new")
    assert path.read_bytes() == b"new"
    assert list(tmp_path.iterdir()) == [path]


def test_what_can_t_be_put_in_place_leaves_all_as_it_was(tmp_path: Path) -> None:
    """A folder stands where the file would: OSError, and no half file lies about."""
    (tmp_path / "kept.json" / "inner").mkdir(parents=True)
    with pytest.raises(IsADirectoryError):
        write_whole(tmp_path / "kept.json", b"new")
    assert [path.name for path in tmp_path.iterdir()] == ["kept.json"]


def _write_often(path: Path, letter: bytes) -> None:
    for _ in range(60):
        write_whole(path, letter * SIZE)


def test_two_runs_at_once_never_mix(tmp_path: Path) -> None:
    """Whenever it is looked at, the file is the whole of one run's content, and neither run fails."""
    path = tmp_path / "hours.csv"
    write_whole(path, b"a" * SIZE)
    context = multiprocessing.get_context("spawn")
    runs = [context.Process(target=_write_often, args=(path, letter)) for letter in (b"a", b"b")]
    for run in runs:
        run.start()
    while any(run.is_alive() for run in runs):
        content = path.read_bytes()
        assert content == content[:1] * SIZE
    assert [run.exitcode for run in runs] == [0, 0]
    assert list(tmp_path.iterdir()) == [path]


def test_the_lock_is_held_by_one_handle_at_a_time(tmp_path: Path) -> None:
    """The second gets it once the first has let go."""
    first, second = (os.open(tmp_path / "a.lock", os.O_RDWR | os.O_CREAT) for _ in range(2))
    assert take(first)
    assert not take(second)
    os.close(first)
    assert take(second)
    os.close(second)


def test_a_disk_without_locks_bars_nobody_from_asking(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Some network disks have none: then runs can't agree, and the block runs."""

    def no_locks(handle: int) -> bool:
        raise OSError(errno.ENOLCK, "no locks available")

    monkeypatch.setattr(turns, "take", no_locks)
    ran = False
    with turns.turn(tmp_path, "example.org", Deadline(0.0)):
        ran = True
    assert ran
