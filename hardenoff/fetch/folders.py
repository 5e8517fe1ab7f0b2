"""Where things are kept between runs: replies in the cache folder, what was forecast in the state folder."""

from __future__ import annotations

import os
from pathlib import Path

DATABASE = "replies.sqlite"
"""What all kept replies are in, in the cache folder."""

CACHE_VARIABLE = "HARDENOFF_CACHE_DIR"
STATE_VARIABLE = "HARDENOFF_STATE_DIR"


def cache_folder() -> Path:
    """HARDENOFF_CACHE_DIR, else the folder the system has for caches; it need not be there yet."""
    from platformdirs import user_cache_path

    return _named(CACHE_VARIABLE) or user_cache_path("hardenoff", appauthor=False)


def state_folder() -> Path:
    """HARDENOFF_STATE_DIR, else the folder the system has for what a program has seen."""
    from platformdirs import user_state_path

    return _named(STATE_VARIABLE) or user_state_path("hardenoff", appauthor=False)


def _named(variable: str) -> Path | None:
    given = os.environ.get(variable)
    return Path(given).expanduser().absolute() if given else None
