"""The journal's file: an entry is one line appended under a lock and synced to the disk; nothing is written twice.

A kill at any moment, a full disk or a second writer can cost the entry that is being written, and no other. What
was left of a line that was cut off is set aside in a file of its own before the next entry goes in.
"""

from __future__ import annotations

import errno
import os
import sys
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path
from time import sleep

from hardenoff.errors import UnreadableError, UsageError
from hardenoff.journal.entries import Complaint, Entry
from hardenoff.journal.text import HEADER, format_line, parse, refuse_newer, whole_length
from hardenoff.lock import take
from hardenoff.whole import read_file

LOOK_AGAIN_S = 0.005
LOCK_LOOKS = 2000
"""Ten seconds; an append takes milliseconds."""
CUT_LOOKS = 3
"""How often a cut last line is looked at before it is believed: another run may be writing it just now."""
NO_ROOM = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)
NO_FOLDER_SYNC = (errno.EINVAL, errno.ENOTSUP)
BINARY = getattr(os, "O_BINARY", 0)
"""Windows would write a line break of its own otherwise."""


class JournalError(UsageError):
    """The journal can't be written: nothing was recorded, and nothing that was there is lost."""


class IdTakenError(JournalError):
    """Another entry has the id already; another id will do."""


def journal_path(garden: Path) -> Path:
    """Where the journal of a garden file is: beside it, and one for all links to the same file."""
    home = Path(os.path.realpath(garden))
    return home.parent / f"{home.stem}.journal.jsonl"


def damaged_path(path: Path) -> Path:
    """Where the rest of a cut line is set aside."""
    return path.with_suffix(".damaged")


# --- reading ---------------------------------------------------------------------------------------


def read_journal(path: Path) -> tuple[tuple[Entry, ...], tuple[Complaint, ...]]:
    """All entries in the file's order, corrected ones among them, and the lines that can't be taken as they stand.

    A journal that is not there has no entries.

    Raises
    ------
    UnreadableError
        The file can't be read at all, or was written by a later version.
    """
    content = _content(path)
    for _ in range(CUT_LOOKS - 1):
        if whole_length(content) == len(content):
            break
        sleep(LOOK_AGAIN_S)
        content = _content(path)
    return parse(content)


def _content(path: Path) -> bytes:
    try:
        return read_file(path)
    except FileNotFoundError:
        return b""
    except OSError as fault:
        raise UnreadableError(
            f"{path} can't be read: {fault.strerror}",
            "a journal that you may read, one entry a line",
            "give yourself leave to read it, or move it away to begin a new one",
        ) from fault


# --- writing ---------------------------------------------------------------------------------------


def append(path: Path, entry: Entry) -> Complaint | None:
    """Add an entry; once this returns, it is on the disk. Gives back what was found cut off and set aside.

    Raises
    ------
    IdTakenError
        The journal has an entry of this id.
    JournalError
        No room, no leave, or another run holds the lock.
    UnreadableError
        The file can't be read, or was written by a later version.
    """
    with _told_in_three_parts(path), _locked(path):
        content = _content(path)
        refuse_newer(content)
        whole = whole_length(content)
        if f'"id": "{entry.id}"'.encode() in content[:whole]:
            raise IdTakenError(f"{path} has an entry {entry.id}", "an id of its own", "log it again")
        if whole < len(content):
            _set_aside(damaged_path(path), content[whole:])
        handle = os.open(path, os.O_RDWR | os.O_APPEND | os.O_CREAT | BINARY, 0o666)
        try:
            if whole == 0:
                _sync_folder(path)
            if whole < len(content):
                os.ftruncate(handle, whole)
            _write(handle, _lines(content[:whole], entry), whole)
        finally:
            os.close(handle)
    if whole == len(content):
        return None
    number = content.count(b"\n") + 1
    return Complaint(number, f"it was cut off; what was left of it is in {damaged_path(path).name}")


def _lines(before: bytes, entry: Entry) -> bytes:
    """What goes behind the whole lines: the header in a new file, the line break that a hand may have left out."""
    start = "" if before.endswith(b"\n") else "\n" if before else f"{HEADER}\n"
    return f"{start}{format_line(entry)}\n".encode()


def _write(handle: int, content: bytes, size: int) -> None:
    """Append all of the content, or take back what got in: in one write unless the system stops halfway."""
    with ExitStack() as unless_whole:  # Ctrl-C among what can come between
        unless_whole.callback(_take_back, handle, size)
        while content:
            content = content[os.write(handle, content) :]
        os.fsync(handle)
        unless_whole.pop_all()


def _take_back(handle: int, size: int) -> None:
    """Cut the file to its size of before. If even this fails, the next entry sets the rest of the line aside."""
    with suppress(OSError):
        os.ftruncate(handle, size)
        os.fsync(handle)


def _set_aside(path: Path, rest: bytes) -> None:
    """Keep the rest of a cut line, safe on the disk before it is taken out of the journal."""
    handle = os.open(path, os.O_WRONLY | os.O_APPEND | os.O_CREAT | BINARY, 0o666)
    try:
        _write(handle, rest + b"\n", os.fstat(handle).st_size)
    finally:
        os.close(handle)
    _sync_folder(path)


def _sync_folder(path: Path) -> None:
    """Put a new name on the disk; Windows does so by itself, and some network disks can't be told to."""
    if sys.platform != "win32":
        handle = os.open(path.parent, os.O_RDONLY)
        try:
            os.fsync(handle)
        except OSError as fault:
            if fault.errno not in NO_FOLDER_SYNC:
                raise
        finally:
            os.close(handle)


@contextmanager
def _told_in_three_parts(path: Path) -> Iterator[None]:
    try:
        yield
    except OSError as fault:
        if fault.errno in NO_ROOM:
            fix = "make room on the disk, then log it again"
        elif fault.errno == errno.ENOLCK:
            fix = "move the garden file and its journal to a disk that can lock files"
        else:
            fix = "give yourself leave to write there, or move the garden file and its journal"
        raise JournalError(
            f"{path} can't be written: {fault.strerror}; nothing was recorded",
            "a folder you may write to, with room on its disk",
            fix,
        ) from fault


# --- one writer at a time --------------------------------------------------------------------------


@contextmanager
def _locked(path: Path) -> Iterator[None]:
    """Hold the journal's lock for the block. The system gives it back if this process dies."""
    handle = os.open(path.with_suffix(".lock"), os.O_RDWR | os.O_CREAT, 0o666)
    try:
        for _ in range(LOCK_LOOKS):
            if take(handle):
                break
            sleep(LOOK_AGAIN_S)
        else:
            raise JournalError(
                f"another run has held {path.with_suffix('.lock')} for {LOCK_LOOKS * LOOK_AGAIN_S:.0f} seconds",
                "runs that write the journal one after the other",
                "see whether another hardenoff hangs, then log it again: nothing was recorded",
            )
        yield
    finally:
        os.close(handle)
