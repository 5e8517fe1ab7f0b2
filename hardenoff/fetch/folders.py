"""Where things are kept between runs: replies in the cache folder, what was forecast in the state folder."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

from hardenoff.errors import UsageError

DATABASE = "replies.sqlite"
"""What all kept replies are in, in the cache folder."""

NOWHERE = Path(os.devnull) / "hardenoff"
"""No folder can be made there: each run does without, and says so."""

CACHE_VARIABLE = "HARDENOFF_CACHE_DIR"
STATE_VARIABLE = "HARDENOFF_STATE_DIR"


def cache_folder() -> Path:
    """HARDENOFF_CACHE_DIR, else the folder the system has for caches; it need not be there yet."""
    from platformdirs import user_cache_path

    return _named(CACHE_VARIABLE) or _usual(user_cache_path)


def state_folder() -> Path:
    """HARDENOFF_STATE_DIR, else the folder the system has for what a program has seen."""
    from platformdirs import user_state_path

    return _named(STATE_VARIABLE) or _usual(user_state_path)


def _named(variable: str) -> Path | None:
    given = os.environ.get(variable)
    if not given:
        return None
    try:
        return Path(given).expanduser().absolute()
    except (RuntimeError, OSError) as fault:
        raise UsageError(
            f'{variable} is "{given}", and there is no such home or working folder',
            "a folder with its full path",
            f"correct {variable}, or unset it",
        ) from fault


def _usual(find: Callable[..., Path]) -> Path:
    """The system's folder for this program; NOWHERE if it can't be told, as for a service without a home."""
    try:
        folder = find("hardenoff", appauthor=False)
    except RuntimeError:
        return NOWHERE
    return folder if folder.is_absolute() else NOWHERE
