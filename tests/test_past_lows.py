"""The archive of forecasts: what a later evening can learn from it. Scores after Brier 1950; weather invented."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pandas as pd
import pytest
from provider_bodies import nws_grid, open_meteo

from hardenoff.errors import UnreadableError
from hardenoff.fetch.archive import append, line, read
from hardenoff.fetch.source import Reading
from hardenoff.forecast import FORECAST, READERS
from hardenoff.forecast.hours import Forecast
from hardenoff.forecast.skill import brier, brier_skill, reliability
from hardenoff.night.past import PastLow, pairs, past_lows
from hardenoff.records import Place
from hardenoff.tables import low_spread_c

NOW = datetime(2027, 4, 20, 12, 0, tzinfo=UTC)
OHIO = Place("Tannery Row", 40.01, -83.02, 240.0, "America/New_York")


def forecast(provider: str = "open-meteo", made: datetime = NOW, air_c: float | None = 3.0) -> Forecast:
    """A forecast of steady air."""
    body = open_meteo(made, air_c=air_c) if provider == "open-meteo" else nws_grid(made, air_c=air_c)
    return READERS[provider].parse({FORECAST: body}, fetched_at=made, headers={})


def archived(folder: Path, *forecasts: Forecast) -> None:
    """Written as a run does it."""
    append(folder, OHIO, [Reading(one, (), timedelta(0), asked=True) for one in forecasts])


def test_lows_come_back_with_their_lead(tmp_path: Path) -> None:
    """Sixteen days ahead: the coming night has lead 1, the next one 2, and each the low of its hours."""
    archived(tmp_path, forecast())
    (record,), damaged = read(tmp_path)
    lows = past_lows(record, OHIO)
    assert damaged == 0
    assert [low.lead_days for low in lows] == list(range(1, 16))
    assert lows[0] == PastLow("open-meteo", NOW, date(2027, 4, 20), 1, 3.0)


def test_a_block_low_is_archived_as_well(tmp_path: Path) -> None:
    """A provider's own minimum of the night counts, as it did when the odds were given."""
    given = forecast("nws", air_c=6.0)
    blocks = pd.DataFrame(
        {
            "start": [pd.Timestamp("2027-04-21T00:00Z")],
            "end": [pd.Timestamp("2027-04-21T14:00Z")],
            "min_c": [-1.5],
        }
    )
    lows = past_lows(line(replace(given, block_lows=blocks), OHIO, NOW), OHIO)
    assert [low.low_c for low in lows[:2]] == [-1.5, 6.0]


def test_missing_hours_give_no_low() -> None:
    """A night that was unknown when it was forecast is scored by nobody."""
    assert past_lows(line(forecast(air_c=None), OHIO, NOW), OHIO) == ()


def test_pairs_hold_the_odds_that_were_given() -> None:
    """A low forecast at the threshold has even odds; one standard deviation above, 15.87 % (normal table)."""
    even = PastLow("x", NOW, date(2027, 4, 20), 1, 0.0)
    above = PastLow("x", NOW, date(2027, 4, 21), 2, low_spread_c(2))
    found = pairs([even, above], {date(2027, 4, 20): -1.0, date(2027, 4, 21): 4.0}, 0.0)
    assert [happened for _, happened in found] == [True, False]
    assert [odds for odds, _ in found] == pytest.approx([0.5, 0.1587], abs=1e-4)
    assert brier(found) == pytest.approx((0.25 + 0.1587**2) / 2, abs=1e-4)


def test_nights_that_nobody_measured_are_left_out() -> None:
    """No pair without an outcome."""
    assert pairs([PastLow("x", NOW, date(2027, 4, 20), 1, 0.0)], {}, 0.0) == ()


def test_a_month_of_forecasts_is_scored(tmp_path: Path) -> None:
    """Thirty mornings; every third night freezes and was forecast to: skill near 1, sure odds, bins told apart."""
    mornings = [NOW + timedelta(days=n) for n in range(30)]
    lows_c = [-6.0 if n % 3 == 0 else 8.0 for n in range(30)]
    archived(tmp_path, *(forecast(made=made, air_c=low) for made, low in zip(mornings, lows_c, strict=True)))
    records, _ = read(tmp_path)
    coming = [low for record in records for low in past_lows(record, OHIO) if low.lead_days == 1]
    came = {made.date(): low for made, low in zip(mornings, lows_c, strict=True)}
    found = pairs(coming, came, 0.0)
    assert len(found) == 30
    assert brier_skill(found) == pytest.approx(1.0, abs=0.001)
    assert [(found_bin.cases, found_bin.observed_share) for found_bin in reliability(found)] == [
        (20, 0.0),
        (10, 1.0),
    ]


def test_a_broken_line_costs_itself(tmp_path: Path) -> None:
    """What a power cut left behind is counted, and its neighbours are read."""
    archived(tmp_path, forecast(), forecast())
    (path,) = (tmp_path / "forecasts").glob("*.jsonl")
    whole = path.read_bytes()
    path.write_bytes(whole + whole[:200] + b"\n\xff\n")
    records, damaged = read(tmp_path)
    assert (len(records), damaged) == (2, 2)


def test_no_archive_is_no_fault(tmp_path: Path) -> None:
    """Before the first run there is nothing in it."""
    assert read(tmp_path) == ((), 0)


@pytest.mark.parametrize(
    "record", [{}, [], {"schema": "other/1"}, {"schema": "hardenoff.archive/1", "fetched_at": "yesterday"}]
)
def test_what_is_no_record_is_refused(record: object) -> None:
    """By name, not with a traceback."""
    with pytest.raises(UnreadableError, match="archive"):
        past_lows(record, OHIO)
