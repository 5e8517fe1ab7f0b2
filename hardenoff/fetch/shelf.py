"""Where replies are kept: an SQLite file in the user's cache folder, whose faults cost a reply but never a run.

Damaged: moved aside, a new one begun. Locked, read-only, no folder: read from a copy if that works, else done
without. `Shelf.faults` says so in words.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
import tempfile
from pathlib import Path
from typing import Any

from cattrs import BaseValidationError
from requests_cache.backends.base import BaseCache
from requests_cache.backends.sqlite import SQLiteCache
from requests_cache.models.response import CachedResponse

from hardenoff.fetch.folders import DATABASE

DAMAGED = "replies.damaged.sqlite"

LOCK_WAIT_S = 2.0
KEEP_DAYS = 30
MOST_REPLIES = 64
"""With more than this, those older than KEEP_DAYS go (ours); a garden asks four addresses or so."""


class NotWritable(sqlite3.DatabaseError):
    """The database is locked, read-only or full."""


class _Connection(sqlite3.Connection):
    """Says that a write failed in an error of our own, since requests-cache waits for ever for its turn to write,
    and takes no notice of a write that fails."""

    def execute(self, sql: str, *parameters: Any) -> sqlite3.Cursor:
        try:
            return super().execute(sql, *parameters)
        except sqlite3.OperationalError as fault:
            if not sql.startswith(("BEGIN", "INSERT", "DELETE")):
                raise
            self.rollback()
            raise NotWritable(str(fault)) from fault


class Shelf(SQLiteCache):
    """The kept replies by request; a reply that can't be read or written is missing, with a note."""

    def __init__(self, path: Path) -> None:
        self.faults: list[str] = []
        self._copy: tempfile.TemporaryDirectory[str] | None = None
        super().__init__(path, serializer="json", factory=_Connection, timeout=LOCK_WAIT_S)

    def get_response(self, key: str, default: CachedResponse | None = None) -> CachedResponse | None:
        """The kept reply, or `default`."""
        try:
            return super().get_response(key, default)
        except (sqlite3.Error, BaseValidationError, LookupError) as fault:
            self._note(f"a kept reply could not be read ({type(fault).__name__})")
            return default

    def save_response(self, *args: Any, **kwargs: Any) -> None:
        """Keep a reply if the database lets us."""
        try:
            super().save_response(*args, **kwargs)
        except sqlite3.Error as fault:
            self._note(f"the reply was not kept ({fault})")

    def tidy(self) -> None:
        """Drop what is long past use."""
        try:
            if len(self.responses) > MOST_REPLIES:
                self.delete(older_than=KEEP_DAYS * 86400)
        except sqlite3.Error as fault:
            self._note(f"old replies were not cleared away ({fault})")

    def close(self) -> None:
        """Close the database, and remove the copy if it was one."""
        super().close()  # type: ignore[no-untyped-call]
        if self._copy is not None:
            self._copy.cleanup()

    def _note(self, fault: str) -> None:
        if fault not in self.faults:
            self.faults.append(fault)


def open_shelf(folder: Path) -> tuple[BaseCache, list[str]]:
    """The shelf in a folder, and what had to be done to have one; an empty one in memory if all else fails."""
    path = folder / DATABASE
    try:
        folder.mkdir(parents=True, exist_ok=True)
        return _opened(path)
    except (OSError, sqlite3.Error) as fault:
        return BaseCache(), [f"no cache: {_words(fault)}; nothing is kept for a day without network"]


def _opened(path: Path) -> tuple[Shelf, list[str]]:
    try:
        return _sound(path), []
    except (NotWritable, sqlite3.OperationalError) as fault:
        return _copied(path), [f"the cache can't be written ({fault}); this run's replies are not kept"]
    except sqlite3.DatabaseError as fault:
        _move_aside(path)
        return _sound(path), [f"the cache was damaged ({fault}); it was moved aside as {DAMAGED}"]


def _sound(path: Path) -> Shelf:
    """Open it and look through it, since a damaged page shows only when it is read."""
    shelf = Shelf(path)
    with shelf.responses.connection() as connection:
        verdict = connection.execute("PRAGMA quick_check(1)").fetchone()[0]
    if verdict != "ok":
        shelf.close()
        raise sqlite3.DatabaseError(verdict)
    shelf.tidy()
    return shelf


def _copied(path: Path) -> Shelf:
    """A private copy to read from, without asking SQLite, which would want to write."""
    folder = tempfile.TemporaryDirectory(prefix="hardenoff-")
    copy = Path(folder.name) / DATABASE
    if path.exists():
        shutil.copyfile(path, copy)
    shelf = _sound(copy)
    shelf._copy = folder
    return shelf


def _move_aside(path: Path) -> None:
    aside = path.with_name(DAMAGED)
    journal = path.with_name(path.name + "-journal")
    for origin, target in ((path, aside), (journal, aside.with_name(aside.name + "-journal"))):
        if origin.exists():
            os.replace(origin, target)


def _words(fault: Exception) -> str:
    return fault.strerror or type(fault).__name__ if isinstance(fault, OSError) else str(fault)
