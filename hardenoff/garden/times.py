"""Dates, times and spans of the day in the garden file; each reader takes what TOML gave, or raises WrongValue."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date, datetime, time
from typing import Any

from hardenoff.dates import MONTHS
from hardenoff.garden.meant import clock_meant, dates_meant
from hardenoff.garden.values import WrongValue, closest, given
from hardenoff.records import Span

_WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_SHORT = tuple(name[:3] for name in _WEEKDAYS)
_DAY_MINUTES = 24 * 60
_FIRST_YEAR, _LAST_YEAR = 1900, 2199

_CLOCK = re.compile(r"([0-9]{1,2}):([0-9]{2})")
_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_DASH = re.compile(r"\s*[-–—]\s*")


def day(value: Any) -> date:
    """A date: TOML's own, or a text like "2027-05-01"; from 1900 to 2199, so that a slip of the year is seen."""
    expected = "a date, year-month-day"
    if isinstance(value, datetime):
        raise WrongValue(f"{value} has a time of day", expected, f"write {value.date()}")
    if isinstance(value, date):
        on = value
    elif isinstance(value, str) and _DATE.fullmatch(value.strip()):
        try:
            on = date.fromisoformat(value.strip())
        except ValueError:
            raise WrongValue(f"{given(value)} is not in the calendar", expected, "check month and day") from None
    else:
        raise WrongValue(f"{given(value)} is no date", expected, _date_fix(value))
    if not _FIRST_YEAR <= on.year <= _LAST_YEAR:
        raise WrongValue(
            f"the year of {on} is far off", f"{expected}, {_FIRST_YEAR} to {_LAST_YEAR}", "check the year"
        )
    return on


def _date_fix(value: Any) -> str:
    readings = dates_meant(value) if isinstance(value, str) else ()
    if not readings:
        return "write it as year-month-day, for example 2027-05-01"
    return "write " + " or ".join(
        f"{on} ({on.day} {MONTHS[on.month - 1]})" if len(readings) > 1 else str(on) for on in readings
    )


def clock(value: Any) -> time:
    """A time of day: "07:40", or TOML's own 07:40:00."""
    if isinstance(value, time):
        return value
    minutes = _minutes(value) if isinstance(value, str) else None
    if minutes is None or minutes == _DAY_MINUTES:
        raise WrongValue(
            f"{given(value)} is no time of day", 'a time "hh:mm" on the 24-hour clock', _clock_fix(value)
        )
    return time(minutes // 60, minutes % 60)


def _clock_fix(value: Any) -> str:
    meant = clock_meant(value) if isinstance(value, str) else None
    return 'for example "07:40"' if meant is None else f'write "{meant}"'


def month_day(value: Any) -> tuple[int, int]:
    """A day of every year: "05-01". 29 February counts as the 28th."""
    found = re.fullmatch(r"(\d{1,2})-(\d{1,2})", value.strip()) if isinstance(value, str) else None
    try:
        if found is None:
            raise ValueError
        of_leap_year = date(2028, int(found[1]), int(found[2]))
    except ValueError:
        raise WrongValue(
            f"{given(value)} is no day of the year", 'month and day, "mm-dd"', 'write 1 May as "05-01"'
        ) from None
    return (of_leap_year.month, 28 if (of_leap_year.month, of_leap_year.day) == (2, 29) else of_leap_year.day)


def window(value: Any) -> Span:
    """A span of the day: "06:30-07:40"; it may end at "24:00"."""
    expected = 'a span of one day, "hh:mm-hh:mm" on the 24-hour clock'
    ends = _DASH.split(value.strip()) if isinstance(value, str) else []
    minutes = [_minutes(end) for end in ends]
    if len(minutes) != 2 or None in minutes:
        raise WrongValue(f"{given(value)} is no span of the day", expected, _window_fix(ends))
    start, end = (minute for minute in minutes if minute is not None)
    if start == end:
        raise WrongValue(f"{given(value)} has no length", expected, "write a later end")
    if end < start:
        over = f'"{_hh_mm(start)}-24:00", "00:00-{_hh_mm(end)}"' if end else f'"{_hh_mm(start)}-24:00"'
        raise WrongValue(
            f"{given(value)} ends before it starts", expected, f"swap the two, or over midnight write {over}"
        )
    return Span(start, end)


def _window_fix(ends: Sequence[str]) -> str:
    clocks = [_hh_mm(minutes) if (minutes := _minutes(end)) is not None else clock_meant(end) for end in ends]
    if len(clocks) != 2 or None in clocks:
        return 'for example "06:30-07:40"'
    return f'write "{clocks[0]}-{clocks[1]}"'


def merged(spans: Sequence[Span]) -> tuple[Span, ...]:
    """Spans in order, with those that touch or overlap made one."""
    result: list[Span] = []
    for span in sorted(spans, key=lambda span: span.start_min):
        if result and span.start_min <= result[-1].end_min:
            result[-1] = Span(result[-1].start_min, max(result[-1].end_min, span.end_min))
        else:
            result.append(span)
    return tuple(result)


def weekday_or_day(value: Any) -> int | date:
    """A weekday by name (0 = Monday), or a date."""
    plain = str(value).strip().lower()
    for number, name in enumerate(_WEEKDAYS):
        if len(plain) >= 3 and name.startswith(plain):
            return number
    try:
        return day(value)
    except WrongValue:
        expected = f'a weekday ({", ".join(_SHORT)}) or a date in quotes ("2027-05-05")'
        meant = closest(plain, _SHORT)
        fix = f'did you mean "{meant}"?' if meant else "write mon, tue, wed ... or a date"
        raise WrongValue(f"{given(value)} is no day", expected, fix) from None


def absence(value: Any) -> tuple[date, date]:
    """First and last day away: "2027-05-01/2027-05-03", or one date for a single day."""
    ends = value.split("/") if isinstance(value, str) and value.count("/") == 1 else [value]
    try:
        days = [day(end) for end in ends]
    except WrongValue as error:
        raise WrongValue(
            error.what, 'first and last day, "2027-05-01/2027-05-03", or one date', "write the dates as 2027-05-01"
        ) from None
    first, last = days[0], days[-1]
    if last < first:
        raise WrongValue(
            f"{given(value)} ends before it starts", "the first day, then the last", "swap the two dates"
        )
    return first, last


def _minutes(text: str) -> int | None:
    """Minutes of the day from "hh:mm", 0 to 1440; None if it is no such time."""
    found = _CLOCK.fullmatch(text.strip())
    if found is None:
        return None
    minutes = int(found[1]) * 60 + int(found[2])
    return minutes if int(found[2]) < 60 and minutes <= _DAY_MINUTES else None


def _hh_mm(minutes: int) -> str:
    return f"{minutes // 60:02d}:{minutes % 60:02d}"
