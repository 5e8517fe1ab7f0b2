"""The kept runs in the user's state folder: one file a garden, so that the next run can say what moved.

Beside what is compared, it holds the run's morning check, to be shown again while nothing has changed. A shell
module: it reads and writes files. What is in them is the business of `changes` and `morning`, in
`hardenoff.schedule`.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

import hardenoff
from hardenoff.errors import UnreadableError
from hardenoff.schedule import morning
from hardenoff.schedule.changes import Kept, from_document, to_document
from hardenoff.schedule.morning import Morning
from hardenoff.whole import read_file, write_whole

SIGNATURE = "sha256"


def kept_path(folder: Path, garden: Path) -> Path:
    """Where the last run of a garden is kept: a name made from the garden file's full path."""
    return folder / "runs" / f"{_digits(os.fsencode(os.path.realpath(garden)))}.json"


def read_kept(path: Path) -> Kept | None:
    """The last run; None where there is none, or none that can be read (the next one replaces it)."""
    try:
        return from_document(_as_written(path))
    except (OSError, ValueError, RecursionError, UnreadableError):
        return None


def read_morning(path: Path) -> Morning | None:
    """The last run's morning check; None where there is none, or none that can be read."""
    try:
        return morning.from_document(_as_written(path)["morning"])
    except (OSError, ValueError, RecursionError, LookupError, TypeError, UnreadableError):
        return None


def write_kept(path: Path, kept: Kept, check: Morning | None = None) -> str | None:
    """Keep a run, whole or not at all; what went wrong, where it can't be kept."""
    document = {**to_document(kept), "morning": None if check is None else morning.to_document(check)}
    signed = {**document, SIGNATURE: _digits(json.dumps(document).encode())}
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        write_whole(path, json.dumps(signed).encode())
    except OSError as fault:
        return f"this run can't be kept ({fault.strerror}); the next one can't say what moved"
    return None


def _as_written(path: Path) -> dict[str, Any]:
    """The document of a kept run. ValueError if it is not to the letter what was written: nothing else looks at
    its values before they are shown."""
    document = json.loads(read_file(path))
    if not isinstance(document, dict) or document.pop(SIGNATURE, "") != _digits(json.dumps(document).encode()):
        raise ValueError("not as it was written")
    return document


# --- whether anything has changed ----------------------------------------------------------------------


def fingerprint(path: Path) -> str:
    """A file's content in sixteen digits; empty where there is no file."""
    try:
        return _digits(read_file(path))
    except OSError:
        return ""


def fingerprints(paths: Iterable[Path]) -> dict[str, str]:
    """Each file's, by its name."""
    return {str(path): fingerprint(path) for path in paths}


def garden_files(garden: Path) -> list[Path]:
    """The garden file, and each file that a value in it names; the garden file alone if it can't be read."""
    import tomllib  # a run that shows its answer again does not need it

    try:
        document = tomllib.loads(read_file(garden).decode("utf-8-sig"))
    except (OSError, ValueError, RecursionError):
        document = {}
    named = (garden.parent / text for text in _texts(document))
    return [garden, *(path for path in named if os.path.isfile(path))]


def _texts(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict | list):
        for inner in value.values() if isinstance(value, dict) else value:
            yield from _texts(inner)


def program() -> str:
    """What makes the answers: the version, and a fingerprint of its own files by name, size and time of change."""
    stamps = repr(list(_stamps(Path(hardenoff.__file__).parent)))
    return f"{hardenoff.__version__} {_digits(stamps.encode())}"


def _stamps(folder: Path | str) -> Iterator[tuple[str, int, int]]:
    with os.scandir(folder) as entries:
        for entry in sorted(entries, key=lambda each: each.name):
            if entry.name != "__pycache__":
                if entry.is_dir():
                    yield from _stamps(entry.path)
                else:
                    told = entry.stat()
                    yield entry.path, told.st_size, told.st_mtime_ns


def _digits(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()[:16]
