"""Lows at the command line: the forecast that belongs to a measured one, and what all of them teach.

A run with `--forecast-file` looks at nothing else; any other looks at the kept replies, the hours of earlier runs
and the archive of forecasts. The network is never asked for the sake of a low.
"""

from __future__ import annotations

import os
from collections.abc import Container, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from hardenoff.cli.options import Shared
from hardenoff.cli.output import remark
from hardenoff.errors import NoForecastError, UnreadableError, UsageError
from hardenoff.journal.entries import Entry
from hardenoff.records import Garden, Place
from hardenoff.whole import LONGEST_FILE_BYTES, read_up_to

if TYPE_CHECKING:
    from hardenoff.forecast.hours import Forecast
    from hardenoff.night import NightWeather, OwnLows
    from hardenoff.night.past import PastLow

DAY = timedelta(days=1)
LEADS, NIGHTS_LOOKED_AT = 5, 25
"""Lead times whose errors are learned, and the latest nights they are learned from (ours)."""


# --- one low, when it is told ----------------------------------------------------------------------


def with_forecast(
    shared: Shared, home: Garden, at: datetime, entry: Entry, old: Entry | None
) -> tuple[Entry, str | None]:
    """A low with the forecast of its night, and None; as it is, and why, where none is in hand.

    A correction of a low of the same morning keeps the forecast that was told with it.
    """
    if old is not None and old.forecast_low_c is not None and (old.kind, old.on) == (entry.kind, entry.on):
        return _beside(entry, old.forecast_low_c, old.cloud_frac, old.wind_m_s), None
    forecast = _of_file(shared.forecast_file, home.place) if shared.forecast_file else _kept(home, at)
    if forecast is None:
        return entry, "no forecast is kept here"
    night = _night(forecast, home.place, entry.on)
    if not night.known:
        return entry, str(night.missing)
    archived = () if shared.forecast_file else _archived(home, forecast.origin.provider, {night.evening})
    coming = [low for low in archived if low.evening == night.evening]
    low_c = coming[-1].low_c if coming else night.air_low_c
    return _beside(entry, low_c, night.cloud_frac, night.wind_m_s), None


def _beside(entry: Entry, low_c: float | None, cloud_frac: float | None, wind_m_s: float | None) -> Entry:
    rounded = [None if value is None else round(value, 2) for value in (low_c, cloud_frac, wind_m_s)]
    return replace(entry, forecast_low_c=rounded[0], cloud_frac=rounded[1], wind_m_s=rounded[2])


def teaches_nothing(entry: Entry, why: str) -> str:
    """What is said of a low that was recorded without the forecast of its night, and what to do about it."""
    return (
        f"the night's forecast is not known ({why}): the low is recorded, and teaches nothing without it. "
        f"Say it again with the forecast: hardenoff log --fix {entry.id} low ... --forecast-file PATH, a reply "
        "kept on that evening by --save-forecast; or run `hardenoff today` daily, which keeps it"
    )


def _of_file(path: Path, place: Place) -> Forecast:
    """The forecast of a file, whatever its age: the night is over."""
    from hardenoff.forecast.checks import check_place
    from hardenoff.forecast.saved import read_saved

    try:
        data = read_up_to(path, LONGEST_FILE_BYTES)
    except OSError as fault:
        raise UsageError(
            f"forecast file {path}: {fault.strerror}", "a saved reply or bundle", "check the name, or leave it out"
        ) from fault
    forecast = read_saved(data, name=str(path)).forecast
    check_place(forecast, place)
    return forecast


def _kept(home: Garden, at: datetime) -> Forecast | None:
    """The kept reply with the hours of earlier runs before it; None where there is none that is still good."""
    from hardenoff.fetch import obtain
    from hardenoff.fetch.folders import cache_folder, state_folder
    from hardenoff.fetch.past import with_past

    if not os.path.isdir(cache_folder()):
        return None
    try:
        kept = obtain(home, at, offline=True, archive=False).forecast
    except NoForecastError:
        return None
    return with_past(state_folder(), home.place, kept)


def _night(forecast: Forecast, place: Place, morning: date) -> NightWeather:
    from hardenoff.night import nights

    (night,) = nights(forecast, place, morning - DAY, morning - DAY)
    return night


# --- all lows, when they are used ------------------------------------------------------------------


def taught(shared: Shared, home: Garden, entries: Sequence[Entry], forecast: Forecast) -> OwnLows:
    """What the lows of the journal teach. `forecast`: the run's own, with the hours of earlier runs."""
    from hardenoff.forecast.skill import ENOUGH
    from hardenoff.journal.lows import logged_nights
    from hardenoff.night import filled, own_lows

    logged = logged_nights(entries)
    lacking = {night.morning for night in logged if night.regime is None}
    known = {night.morning for night in logged} - lacking
    wanted = {morning - DAY for morning in lacking if _is_in_hand(forecast, home.place, morning)}
    if len(known) >= ENOUGH:
        latest = sorted(known)[-NIGHTS_LOOKED_AT:]
        wanted |= {morning - ahead * DAY for morning in latest for ahead in range(1, LEADS + 1)}
    if shared.forecast_file is not None or not wanted:
        return own_lows(logged, home.spots)
    past = _archived(home, forecast.origin.provider, wanted)
    skies = {morning: _night(forecast, home.place, morning) for morning in lacking & _mornings(past)}
    return own_lows(filled(logged, past, skies), home.spots, past)


def _is_in_hand(forecast: Forecast, place: Place, morning: date) -> bool:
    """Whether the forecast's hours reach back to the evening before a morning."""
    hours = forecast.hours.index
    return not hours.empty and bool(hours[0].astimezone(place.tz).date() < morning)


def _mornings(past: Sequence[PastLow]) -> set[date]:
    return {low.evening + DAY for low in past if low.lead_days == 1}


def _archived(home: Garden, provider: str, made_on: Container[date]) -> Sequence[PastLow]:
    """The nights of the provider's archived forecasts for this place: of each of these dates, the last made."""
    from hardenoff.fetch.archive import read
    from hardenoff.fetch.folders import state_folder
    from hardenoff.night.past import past_lows
    from hardenoff.sun.position import rise_sets

    place = home.place
    here = (provider, round(place.latitude, 2), round(place.longitude, 2))
    last: dict[date, Mapping[str, object]] = {}
    for record in read(state_folder())[0]:
        if (record.get("provider"), record.get("latitude"), record.get("longitude")) == here:
            made = _local_date(record.get("fetched_at"), place)
            if made is not None and made in made_on:
                last[made] = record
    if not last:
        return []
    sun_times = rise_sets(place, min(last), max(last) + LEADS * DAY)
    found: list[PastLow] = []
    for record in last.values():
        try:
            found += past_lows(record, place, most_ahead=LEADS, sun_times=sun_times)
        except UnreadableError as fault:
            remark(fault.what)
    return found


def _local_date(stamp: object, place: Place) -> date | None:
    try:
        return datetime.fromisoformat(str(stamp)).astimezone(place.tz).date()
    except ValueError:
        return None
