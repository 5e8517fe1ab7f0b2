"""ISO 8601 time intervals into hours: a value that holds over each interval, or a total spread over it.

Run-length merged layers say `2027-04-20T06:00:00+00:00/PT6H`: one entry for as long as the value stays the
same, from one hour to a week. Hours are UTC and labelled by their start; an hour that no interval covers is
not in the result, because a layer that has ended says nothing.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import pandas as pd

from hardenoff.forecast.fields import utc

LONGEST = timedelta(days=31)
"""No forecast value holds longer; what claims to is a fault of the file (ours)."""

_NUMBER = r"(\d+(?:[.,]\d+)?)"
_DURATION = re.compile(
    rf"P(?=.)(?:{_NUMBER}Y)?(?:{_NUMBER}M)?(?:{_NUMBER}W)?(?:{_NUMBER}D)?"
    rf"(?:T(?=.)(?:{_NUMBER}H)?(?:{_NUMBER}M)?(?:{_NUMBER}S)?)?"
)
_HOUR = pd.Timedelta(hours=1)


@dataclass(frozen=True, slots=True)
class Duration:
    """An ISO 8601 duration: calendar months, whose length depends on the date, and exact time."""

    months: int
    exact: timedelta

    def after(self, moment: datetime) -> datetime:
        """`moment` plus this duration."""
        return (pd.Timestamp(moment) + pd.DateOffset(months=self.months) + self.exact).to_pydatetime()

    def before(self, moment: datetime) -> datetime:
        """`moment` minus this duration."""
        return (pd.Timestamp(moment) - pd.DateOffset(months=self.months) - self.exact).to_pydatetime()


@dataclass(frozen=True, slots=True)
class Span:
    """A value from `start` until just before `end`, both UTC."""

    start: datetime
    end: datetime
    value: float


def parse_duration(text: str) -> Duration:
    """Read `PT6H`, `P1DT6H`, `P2W`, `P1M`, `PT0,5H`. ValueError for anything else.

    Years and months must be whole: half a month has no fixed length.
    """
    match = _DURATION.fullmatch(text)
    if match is None:
        raise ValueError(f"{text!r} is not an ISO 8601 duration such as PT6H or P1DT6H")
    if any(part and not part.isdigit() for part in match.groups()[:2]):
        raise ValueError(f"{text!r}: a share of a year or a month has no fixed length")
    years, months, weeks, days, hours, minutes, seconds = (
        float(part.replace(",", ".")) if part else 0.0 for part in match.groups()
    )
    try:
        exact = timedelta(weeks=weeks, days=days, hours=hours, minutes=minutes, seconds=seconds)
    except OverflowError:
        raise ValueError(f"{text!r} is longer than any calendar") from None
    return Duration(int(12 * years + months), exact)


def parse_interval(text: str, now: datetime | None = None) -> tuple[datetime, datetime]:
    """Start and end (UTC) of `start/duration`, `start/end` or `duration/end`.

    `NOW` may stand for either moment if `now` is known. ValueError if the text is no such interval, if it
    runs backwards or lasts longer than `LONGEST`, or if a moment has no offset from UTC.
    """
    first, slash, second = text.partition("/")
    if not slash:
        raise ValueError(f"{text!r} is not an interval start/duration")
    try:
        if second.startswith("P"):
            start = _moment(first, now)
            end = parse_duration(second).after(start)
        elif first.startswith("P"):
            end = _moment(second, now)
            start = parse_duration(first).before(end)
        else:
            start, end = _moment(first, now), _moment(second, now)
    except OverflowError:
        raise ValueError(f"{text!r} leaves the calendar") from None
    if not timedelta(0) < end - start <= LONGEST:
        raise ValueError(f"{text!r} lasts {end - start}, not between 0 and {LONGEST.days} days")
    return start, end


def hold(spans: Iterable[Span]) -> pd.Series[float]:
    """Each value over the hours that start inside its span: temperatures, winds, chances.

    Where spans overlap, the later one in the list counts.
    """
    values: dict[pd.Timestamp, float] = {}
    for span in spans:
        start = pd.Timestamp(span.start)
        for hour in pd.date_range(start.ceil("h"), span.end, freq="h", inclusive="left"):
            values[hour] = span.value
    return _series(values)


def spread(spans: Iterable[Span]) -> pd.Series[float]:
    """Each total divided over the hours of its span by the share of the span in them: rain, snow.

    The sum of the result is the sum of the totals.
    """
    values: dict[pd.Timestamp, float] = {}
    for span in spans:
        start, end = pd.Timestamp(span.start), pd.Timestamp(span.end)
        for hour in pd.date_range(start.floor("h"), end, freq="h", inclusive="left"):
            inside = min(end, hour + _HOUR) - max(start, hour)
            values[hour] = values.get(hour, 0.0) + span.value * (inside / (end - start))
    return _series(values)


def _moment(text: str, now: datetime | None) -> datetime:
    if text == "NOW":
        if now is None:
            raise ValueError("NOW, but the time of the reply is not known")
        return now.astimezone(UTC)
    return utc(text)


def _series(values: dict[pd.Timestamp, float]) -> pd.Series[float]:
    index = pd.DatetimeIndex(list(values), dtype="datetime64[ns, UTC]", name="time")
    return pd.Series(list(values.values()), index=index, dtype="float64").sort_index()
