"""What was heard beside the forecast: second opinions on the same nights, official alerts, and own lows."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime

from hardenoff.forecast.alerts import Alert, in_force
from hardenoff.forecast.hours import Forecast
from hardenoff.night import OwnLows
from hardenoff.records import Crop

COLD_KINDS = frozenset({"frost", "freeze", "cold"})


@dataclass(frozen=True, slots=True)
class Heard:
    """Other sources, alerts, own lows; nothing, where there is only one forecast."""

    others: tuple[Forecast, ...] = ()
    alerts: tuple[Alert, ...] = ()
    own: OwnLows = field(default_factory=OwnLows)
    """What the lows that the grower logged taught of each spot, and of the forecasts."""

    def about(self, kinds: Iterable[str], start: datetime, end: datetime) -> tuple[Alert, ...]:
        """Alerts of these kinds whose weather overlaps a time; a watch only announces and is left out."""
        return tuple(
            alert for alert in in_force(self.alerts, start, end) if alert.kind in kinds and not is_watch(alert)
        )

    def brings_in(self, crop: Crop, start: datetime, end: datetime) -> Alert | None:
        """The alert that brings a crop in for a night: frost, freeze or cold, for all that is not hardy."""
        found = () if crop.hardy else self.about(COLD_KINDS, start, end)
        return found[0] if found else None


def is_watch(alert: Alert) -> bool:
    """A watch says that a warning may follow."""
    return alert.event.casefold().endswith("watch")
