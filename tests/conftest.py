"""What all tests start from: a plain terminal 80 columns wide, UTC, and nothing of the machine's own settings.

This file is loaded before any test imports the command line, whose library reads the environment at import.
"""

from __future__ import annotations

import os
import signal
import time

from hypothesis import settings
from validation import pytest_configure, pytest_runtest_call  # noqa: F401  hooks of the checks against the outside

for name in (
    "FORCE_COLOR",
    "GITHUB_ACTIONS",
    "PY_COLORS",
    "TERMINAL_WIDTH",
    "HARDENOFF_GARDEN",
    "HARDENOFF_CACHE_DIR",
    "HARDENOFF_STATE_DIR",
):
    os.environ.pop(name, None)
os.environ.update(TZ="UTC", COLUMNS="80", NO_COLOR="1")
if hasattr(time, "tzset"):
    time.tzset()

# Whoever starts the tests in the background of a shell lets them ignore Ctrl-C, and the programs they start too.
if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)

# A slow machine is no fault of the code: laws have no time limit of their own.
settings.register_profile("steady", deadline=None)
if "CI" not in os.environ:  # there hypothesis takes its own profile: no time limit, the same examples each time
    settings.load_profile("steady")
