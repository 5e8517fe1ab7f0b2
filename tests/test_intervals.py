"""ISO 8601 intervals into hours: published examples, a second parser, and the two laws of expanding."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import TypeAdapter
from validation import compare, outside

from hardenoff.forecast.intervals import LONGEST, Span, hold, parse_duration, parse_interval, spread

MINUTE = timedelta(minutes=1)
HOUR = timedelta(hours=1)
few = settings(max_examples=40, deadline=None)
APRIL = datetime(2027, 4, 20, 6, tzinfo=UTC)


@st.composite
def durations(draw: st.DrawFn, *, whole_hours: bool = False) -> tuple[str, timedelta]:
    """(text, length) of a duration of up to a month, its parts of any size and any of them left out."""
    days, hours = draw(st.integers(0, 15)), draw(st.integers(0, 200))
    minutes = 0 if whole_hours else draw(st.integers(0, 200))
    if days + hours + minutes == 0:
        hours = 1
    clock = (f"{hours}H" if hours else "") + (f"{minutes}M" if minutes else "")
    text = "P" + (f"{days}D" if days else "") + (f"T{clock}" if clock else "")
    return text, timedelta(days=days, hours=hours, minutes=minutes)


@st.composite
def layers(draw: st.DrawFn, *, whole_hours: bool = False) -> list[Span]:
    """Spans one after the other, some with a gap between."""
    at = APRIL if whole_hours else APRIL + draw(st.integers(0, 59)) * MINUTE
    spans = []
    for _ in range(draw(st.integers(1, 5))):
        text, _length = draw(durations(whole_hours=whole_hours))
        start, end = parse_interval(f"{at.isoformat()}/{text}")
        spans.append(Span(start, end, draw(st.floats(0.0, 100.0))))
        at = end + draw(st.sampled_from([timedelta(0), 2 * HOUR]))
    return spans


# --- durations ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("start", "text", "end"),
    [
        ("2000-01-12T12:13:14+00:00", "P1Y3M5DT7H10M3.3S", "2001-04-17T19:23:17.300000+00:00"),
        ("2000-01-12T00:00:00+00:00", "PT33H", "2000-01-13T09:00:00+00:00"),
        ("2000-03-30T00:00:00+00:00", "P1M", "2000-04-30T00:00:00+00:00"),
    ],
)
@outside(
    "W3C XML Schema part 2 (2004), appendix E, *Adding durations to dateTimes*",
    "a time with an ISO 8601 duration added",
    within="equal",
    because="worked examples",
)
def test_durations_add_as_in_the_published_table(start: str, text: str, end: str) -> None:
    """Years, months, hours over midnight, the shorter month."""
    compare(parse_duration(text).after(datetime.fromisoformat(start)), datetime.fromisoformat(end))


@outside(
    "pydantic's parser of ISO 8601 durations (speedate)",
    "length of durations in days, hours and minutes of any size",
    within="equal",
    because="a length of time",
    kind="library",
)
@given(durations())
def test_durations_agree_with_another_parser(duration: tuple[str, timedelta]) -> None:
    """Days, hours and minutes of any size: the same length as pydantic's ISO 8601 parser (speedate) reads."""
    text, length = duration
    assert parse_duration(text).exact == length
    compare(parse_duration(text).exact, TypeAdapter(timedelta).validate_python(text))


@pytest.mark.parametrize(
    ("text", "hours"),
    [("PT1H", 1), ("P1D", 24), ("P6DT15H", 159), ("PT72H", 72), ("P1DT6H", 30), ("P2W", 336), ("PT0,5H", 0.5)],
)
def test_durations_that_forecasts_use(text: str, hours: float) -> None:
    """Lengths met in real grids, and those that the standard allows besides."""
    assert parse_duration(text).exact == timedelta(hours=hours)


@pytest.mark.parametrize("text", ["", "P", "PT", "P1", "1H", "PT1X", "P1DT", "-PT1H", "P1.5M", "P0.5Y", "PT1H2"])
def test_what_is_no_duration_is_refused(text: str) -> None:
    """Half a month has no length, and a bare P is nothing."""
    with pytest.raises(ValueError, match=r"duration|fixed length"):
        parse_duration(text)


# --- intervals ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "text",
    [
        "2027-04-20T06:00:00+00:00/PT6H",
        "2027-04-20T06:00:00+00:00/2027-04-20T12:00:00+00:00",
        "PT6H/2027-04-20T12:00:00+00:00",
        "2027-04-20T02:00:00-04:00/PT6H",
        "2027-04-20T06:00:00Z/PT360M",
        "NOW/PT6H",
    ],
)
def test_all_forms_of_an_interval_mean_the_same(text: str) -> None:
    """start/duration, start/end, duration/end, a local offset, and NOW."""
    assert parse_interval(text, now=APRIL) == (APRIL, APRIL + 6 * HOUR)


@pytest.mark.parametrize(
    "text",
    [
        "2027-04-20T06:00:00+00:00",
        "2027-04-20T06:00:00/PT6H",
        "2027-04-20T06:00:00+00:00/PT0H",
        "2027-04-20T06:00:00+00:00/2027-04-20T05:00:00+00:00",
        "2027-04-20T06:00:00+00:00/P31DT1H",
        "2027-04-20T06:00:00+00:00/P9999D",
        "2027-04-20T06:00:00+00:00/P999999999D",
        "0001-01-01T00:00:00+14:00/PT1H",
        "PT1H/1600-01-01T00:00:00Z",
        "9999-12-31T23:00:00Z/PT30M",
        "P1D/P1D",
        "NOW/PT6H",
        "yesterday/PT6H",
        "",
    ],
)
def test_what_is_no_interval_is_refused(text: str) -> None:
    """No end, no offset, no length, backwards, years long, centuries away, NOW without a clock."""
    with pytest.raises(ValueError, match=r"."):
        parse_interval(text)


def test_longest_interval_is_a_month() -> None:
    """One that claims to last longer would make a frame of any size."""
    assert parse_interval(f"{APRIL.isoformat()}/P31D") == (APRIL, APRIL + LONGEST)


# --- expanding ------------------------------------------------------------------------------------------


@few
@given(layers(whole_hours=True))
def test_hours_are_exactly_the_union_of_the_intervals(spans: list[Span]) -> None:
    """Every hour inside some interval, none in a gap or past the end, for values and for totals."""
    union = {span.start + k * HOUR for span in spans for k in range(int((span.end - span.start) / HOUR))}
    assert set(hold(spans).index) == set(spread(spans).index) == union


@few
@given(layers())
def test_spreading_keeps_the_total(spans: list[Span]) -> None:
    """The hours of a total add up to it, also where it starts at half past."""
    assert spread(spans).sum() == pytest.approx(sum(span.value for span in spans))


@few
@given(layers())
def test_held_value_is_that_of_the_interval_around_the_hour(spans: list[Span]) -> None:
    """An hour has the value in force at its start."""
    hours = hold(spans)
    for hour in hours.index:
        assert hours[hour] == next(span.value for span in spans if span.start <= hour < span.end)


def test_total_is_shared_by_time_not_by_label() -> None:
    """6 mm from 06:30 to 09:30: half an hour's worth in the first and in the last hour."""
    span = Span(APRIL + 30 * MINUTE, APRIL + 30 * MINUTE + 3 * HOUR, 6.0)
    assert spread([span]).tolist() == pytest.approx([1.0, 2.0, 2.0, 1.0])


def test_no_interval_gives_no_hour() -> None:
    """An empty layer says nothing about any hour, in a series that still has its dtypes."""
    assert hold([]).empty
    assert str(hold([]).index.dtype) == "datetime64[ns, UTC]"
