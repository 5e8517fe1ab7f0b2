"""Where and when a run is: the garden file, and the machine's clock. Loads nothing else."""

from __future__ import annotations

import os
from datetime import UTC, datetime
from pathlib import Path

GARDEN_VARIABLE = "HARDENOFF_GARDEN"
GARDEN_FILE = "garden.toml"


def garden_path(given: Path | None) -> Path:
    """--garden, else HARDENOFF_GARDEN, else ./garden.toml."""
    return given or Path(os.environ.get(GARDEN_VARIABLE) or GARDEN_FILE)


def clock() -> datetime:
    """The machine's time, in UTC."""
    return datetime.now(UTC)
