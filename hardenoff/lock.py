"""A lock on an open file that one run at a time can hold; the system gives it back when the run ends or dies.

A shell module: it asks the operating system.
"""

from __future__ import annotations

import sys

if sys.platform == "win32":
    import msvcrt

    def take(handle: int) -> bool:
        """Take the lock if it is free; whether it was. OSError where the disk can't lock files."""
        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        except PermissionError:
            return False
        return True

else:
    import fcntl

    def take(handle: int) -> bool:
        """Take the lock if it is free; whether it was. OSError where the disk can't lock files."""
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        return True
