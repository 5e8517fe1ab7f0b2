"""The kept runs in the user's state folder: one small file a garden, so that the next run can say what moved.

A shell module: it reads and writes files. What is in them is `hardenoff.schedule.changes`' business.
"""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

from hardenoff.errors import UnreadableError
from hardenoff.schedule.changes import Kept, from_document, to_document
from hardenoff.whole import write_whole


def kept_path(folder: Path, garden: Path) -> Path:
    """Where the last run of a garden is kept: a name made from the garden file's full path."""
    name = hashlib.sha256(str(garden.resolve()).encode()).hexdigest()[:16]
    return folder / "runs" / f"{name}.json"


def read_kept(path: Path) -> Kept | None:
    """The last run; None where there is none, or none that can be read (the next one replaces it)."""
    try:
        return from_document(json.loads(path.read_text(encoding="utf-8")))
    except (OSError, ValueError, UnreadableError):
        return None


def write_kept(path: Path, kept: Kept) -> str | None:
    """Keep a run, whole or not at all; what went wrong, where it can't be kept."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        write_whole(path, json.dumps(to_document(kept)).encode())
    except OSError as fault:
        return f"this run can't be kept ({fault.strerror}); the next one can't say what moved"
    return None


def fingerprint(path: Path) -> str:
    """A file's content in sixteen digits; empty where there is no file."""
    try:
        return hashlib.sha256(path.read_bytes()).hexdigest()[:16]
    except OSError:
        return ""
