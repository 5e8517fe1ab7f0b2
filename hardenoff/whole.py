"""Files read and written as a whole, or not at all: no end that never comes, and no half of a file.

A shell module: it reads and writes files.
"""

from __future__ import annotations

import errno
import os
import stat
from contextlib import ExitStack, suppress
from pathlib import Path

LONGEST_FILE_BYTES = 50_000_000
"""Of a forecast that was saved (ours): some replies of a few hundred kilobytes each."""


def read_file(path: Path) -> bytes:
    """What is in a file; OSError if it can't be read, or is a pipe or a device, which may have no end."""
    kind = os.stat(path).st_mode
    if not (stat.S_ISREG(kind) or stat.S_ISDIR(kind)):  # reading a folder says best what is wrong with it
        raise OSError(errno.EINVAL, "it is a pipe or a device, not a file", str(path))
    return path.read_bytes()


def read_up_to(path: Path, most_bytes: int) -> bytes:
    """What is in a file, a pipe or a device, if it ends by then; OSError else, and if it can't be read."""
    with path.open("rb") as stream:
        content = stream.read(most_bytes + 1)
    if len(content) > most_bytes:
        raise OSError(errno.EFBIG, f"it is longer than {most_bytes / 1e6:.0f} MB", str(path))
    return content


def write_whole(path: Path, content: bytes) -> None:
    """Write beside the file and put it in its place; OSError, with the old file as it was, if that fails.

    Of two runs that write the same one at once, the later stands. A link stays, and what it points to is written;
    a pipe or a device is written to, and not replaced.
    """
    if path.exists() and not (path.is_file() or path.is_dir()):
        path.write_bytes(content)
        return
    path = Path(os.path.realpath(path))
    part = path.parent / f"{path.name}.{os.getpid()}.part"
    with ExitStack() as unless_done:  # Ctrl-C among what can come between
        unless_done.callback(_remove, part)
        part.write_bytes(content)
        part.replace(path)
        unless_done.pop_all()


def _remove(path: Path) -> None:
    with suppress(OSError):
        path.unlink()
