"""What `check` found, as far as the views need to know it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

from hardenoff.errors import HardenoffError
from hardenoff.records import Garden


class Advice(Protocol):
    """No fault, and would help."""

    @property
    def code(self) -> str:
        """Stable."""

    @property
    def what(self) -> str:
        """What there is."""

    @property
    def why(self) -> str:
        """Why it matters."""

    @property
    def fix(self) -> str:
        """What to do."""


class Checked(Protocol):
    """A garden file looked over."""

    @property
    def faults(self) -> Sequence[HardenoffError]:
        """All of them."""

    @property
    def advice(self) -> Sequence[Advice]:
        """On what could be read."""

    @property
    def garden(self) -> Garden | None:
        """None if there are faults."""
