"""What was forecast, written down as it came, so that later nights can tell how good it was.

One JSON line a forecast in `forecasts/YYYY-MM.jsonl` of the state folder:

    {"schema": "hardenoff.archive/1", "fetched_at": "...Z", "issued_at": "...Z" or null, "provider": "nws",
     "latitude": 40.01, "longitude": -83.02, "first_hour": "...Z", "air_temperature_c": [3.4, null, ...],
     "block_lows": [["...Z", "...Z", 1.2], ...]}

Hours from the one of fetching on, label = start of the hour. Place with two decimals.
"""

from __future__ import annotations

import errno
import json
import math
import os
from collections.abc import Iterable, Mapping
from datetime import UTC, datetime, timedelta
from pathlib import Path

from hardenoff.fetch.source import Reading
from hardenoff.forecast.hours import Forecast
from hardenoff.records import Place
from hardenoff.whole import read_file

SCHEMA = "hardenoff.archive/1"


def append(folder: Path, place: Place, readings: Iterable[Reading]) -> list[str]:
    """Write a line for each reading; the notes say what could not be written."""
    notes = []
    for reading in readings:
        fetched_at = reading.forecast.origin.fetched_at
        if fetched_at is None:
            continue
        path = folder / "forecasts" / f"{fetched_at.astimezone(UTC):%Y-%m}.jsonl"
        try:
            _append_line(path, json.dumps(line(reading.forecast, place, fetched_at), separators=(",", ":")))
        except OSError as fault:
            notes.append(f"the forecast was not archived ({fault.strerror})")
    return notes


def read(folder: Path) -> tuple[tuple[Mapping[str, object], ...], int]:
    """Every record of the state folder, oldest month first, and how many lines could not be read.

    A line that a power cut broke off costs itself, not its neighbours; a file that can't be read costs itself.
    """
    records: list[Mapping[str, object]] = []
    damaged = 0
    for path in sorted((folder / "forecasts").glob("*.jsonl")):
        try:
            lines = read_file(path).splitlines()
        except OSError:
            damaged += 1
            continue
        for text in filter(bytes.strip, lines):
            try:
                record = json.loads(text)
            except (ValueError, RecursionError):
                record = None
            if isinstance(record, dict) and record.get("schema") == SCHEMA:
                records.append(record)
            else:
                damaged += 1
    return tuple(records), damaged


def line(forecast: Forecast, place: Place, fetched_at: datetime) -> Mapping[str, object]:
    """The record of one forecast, as plain values."""
    ahead = forecast.hours.loc[forecast.hours.index > fetched_at - timedelta(hours=1), "air_temperature_c"]
    lows = forecast.block_lows[forecast.block_lows["end"] > fetched_at]
    return {
        "schema": SCHEMA,
        "fetched_at": _iso(fetched_at),
        "issued_at": _iso(forecast.origin.issued_at) if forecast.origin.issued_at else None,
        "provider": forecast.origin.provider,
        "latitude": round(place.latitude, 2),
        "longitude": round(place.longitude, 2),
        "first_hour": _iso(ahead.index[0].to_pydatetime()) if len(ahead) else None,
        "air_temperature_c": [None if math.isnan(t) else round(t, 2) for t in ahead.tolist()],
        "block_lows": [
            [_iso(start.to_pydatetime()), _iso(end.to_pydatetime()), round(low, 2)]
            for start, end, low in lows[["start", "end", "min_c"]].itertuples(index=False)
        ],
    }


def _append_line(path: Path, text: str) -> None:
    """One write at the end of the file, so that two runs at once don't tear each other's lines.

    OSError if not all of it got in. What did, or what a power cut left, ends where the next line begins.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    handle = os.open(path, os.O_RDWR | os.O_APPEND | os.O_CREAT, 0o600)
    try:
        line = text.encode() + b"\n"
        if _is_cut_off(handle):
            line = b"\n" + line
        if os.write(handle, line) < len(line):
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
    finally:
        os.close(handle)


def _is_cut_off(handle: int) -> bool:
    if os.fstat(handle).st_size == 0:
        return False
    os.lseek(handle, -1, os.SEEK_END)
    return os.read(handle, 1) != b"\n"


def _iso(moment: datetime) -> str:
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
