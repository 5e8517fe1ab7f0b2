"""Where and when a run is: the garden file, and the machine's clock. Loads nothing else."""

from __future__ import annotations

import os
from datetime import UTC, datetime
from pathlib import Path

from hardenoff.errors import UsageError

GARDEN_VARIABLE = "HARDENOFF_GARDEN"
GARDEN_FILE = "garden.toml"


def garden_path(given: Path | None) -> Path:
    """--garden, else HARDENOFF_GARDEN, else ./garden.toml. UsageError if it is in a folder that was removed."""
    path = given or Path(os.environ.get(GARDEN_VARIABLE) or GARDEN_FILE)
    try:
        path.absolute()
    except OSError as fault:
        raise UsageError(
            "the folder you are in is not there any more",
            "a folder with a garden file, or --garden with its full path",
            "change to another folder",
        ) from fault
    return path


def clock() -> datetime:
    """The machine's time, in UTC."""
    return datetime.now(UTC)
