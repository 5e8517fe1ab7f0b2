"""From the journal's entries to logged nights: lows that were measured, with the forecast told beside them."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from hardenoff.journal.entries import Entry
from hardenoff.night import LoggedNight


def logged_nights(entries: Sequence[Entry]) -> tuple[LoggedNight, ...]:
    """The measured lows among the entries that stand; of two for one spot and morning the last written counts."""
    found: dict[tuple[str, date], LoggedNight] = {}
    for entry in entries:
        if entry.kind == "low" and entry.spot is not None and entry.low_c is not None:
            found[entry.spot, entry.on] = LoggedNight(
                spot=entry.spot,
                morning=entry.on,
                low_c=entry.low_c,
                forecast_low_c=entry.forecast_low_c,
                cloud_frac=entry.cloud_frac,
                wind_m_s=entry.wind_m_s,
            )
    return tuple(found.values())


def overruled(entries: Sequence[Entry]) -> frozenset[str]:
    """Ids of the lows among the entries that stand that count no more, since another one came after them."""
    last = {(entry.spot, entry.on): entry.id for entry in entries if entry.kind == "low"}
    return frozenset(entry.id for entry in entries if entry.kind == "low") - frozenset(last.values())
