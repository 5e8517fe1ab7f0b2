"""One request at a time per host, also when two runs go on at once: whoever holds the host's file may ask.

The one who waits finds the reply in the cache when its turn comes, and asks nothing.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from time import sleep

from hardenoff.fetch.manners import Deadline
from hardenoff.lock import take

LOOK_AGAIN_S = 0.05


class TurnTaken(Exception):
    """Another run kept the host busy until the deadline."""


@contextmanager
def turn(folder: Path | None, host: str, until: Deadline) -> Iterator[None]:
    """Hold the turn at `host` for the block. The system gives it back if this process dies.

    Without a folder to write in, on a disk that locks files, there is no way to agree with other runs, and the
    block simply runs.

    Raises
    ------
    TurnTaken
        The deadline passed while waiting.
    """
    handle = _open(folder, host)
    if handle is None:
        yield
        return
    try:
        while not _free(handle):
            if until.left() <= 0.0:
                raise TurnTaken(f"another run is still asking {host}")
            sleep(LOOK_AGAIN_S)
        yield
    finally:
        os.close(handle)


def _free(handle: int) -> bool:
    try:
        return take(handle)
    except OSError:  # no locks on this disk
        return True


def _open(folder: Path | None, host: str) -> int | None:
    if folder is None:
        return None
    name = re.sub(r"[^A-Za-z0-9.-]", "_", host)
    try:
        return os.open(folder / f"{name}.turn", os.O_RDWR | os.O_CREAT, 0o600)
    except OSError:
        return None
