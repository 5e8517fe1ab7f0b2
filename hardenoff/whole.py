"""Files that are written whole or not at all, also when two runs write the same one at once: the later one stands.

A shell module: it writes files.
"""

from __future__ import annotations

import os
from contextlib import suppress
from pathlib import Path


def write_whole(path: Path, content: bytes) -> None:
    """Write beside the file and put it in its place; OSError, with the old file as it was, if that fails."""
    part = path.with_name(f"{path.name}.{os.getpid()}.part")
    try:
        part.write_bytes(content)
        part.replace(path)
    except OSError:
        with suppress(OSError):
            part.unlink()
        raise
