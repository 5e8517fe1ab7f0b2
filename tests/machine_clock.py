"""A stand-in for the machine's clock, for every module that looks at it."""

from __future__ import annotations

from datetime import datetime
from typing import Any

import pytest

from hardenoff.cli import here
from hardenoff.fetch import adapter, session


class Clock:
    """Stands at `time` until it is set anew."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, time: datetime) -> None:
        self.time = time

        class Told(datetime):
            @classmethod
            def now(_, tz: Any = None) -> datetime:
                return self.time.astimezone(tz)

        for module in (adapter, session, here):
            monkeypatch.setattr(module, "datetime", Told)
