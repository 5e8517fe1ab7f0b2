"""What asking gives: a reply with its age, or the reason why there is none. Imports no network library."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from hardenoff.forecast.reader import Reply


class NoAnswer(Exception):
    """A source could not be asked or gave nothing usable; the text says why, in one line."""

    def __init__(self, why: str, *, not_there: bool = False) -> None:
        super().__init__(why)
        self.not_there = not_there
        """The host answered that it has nothing at this address (404)."""


@dataclass(frozen=True, slots=True)
class Answer:
    """A reply and how old it is."""

    reply: Reply
    age: timedelta
    asked: bool
    """The provider was asked in this run, and sent or confirmed it."""
    until: datetime | None = None
    """Asking again before then would send no request, by the run's clock and by the machine's; None: it might."""


def earliest(moments: Sequence[datetime | None]) -> datetime | None:
    """The first of the moments; None where one of them is not known, or there are none."""
    known = [moment for moment in moments if moment is not None]
    return min(known, default=None) if len(known) == len(moments) else None
