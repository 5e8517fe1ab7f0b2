"""A hand-made absence for the view tests: one batch to leave, one to hold, and three days of a sitter's work.

All of it is invented: the place, the plants, the weather. No number here comes out of the planner.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from sample_schedule import CREDIT, NOW, TODAY, at, night

from hardenoff.records import Span
from hardenoff.schedule.away_records import AwayBatch, AwayComparison, AwayOption, SitterDay, SpotTried
from hardenoff.schedule.records import BatchNight, ForecastNote, Move, Reason

FIRST, LAST = TODAY + timedelta(days=1), TODAY + timedelta(days=3)
NOTE = ForecastNote("open-meteo", None, NOW, 1.5, "fresh", CREDIT, ("odd",))
WATER = Reason("unwatered", "nobody waters for 3 days")
ODDS = Reason("odds_harm", "odds of harm in the night Fri 7 -> Sat 8 May", 0.002, 0.1, "1")
SUN = Reason("limit_sun", "direct sun if clear", 9.0, 4.0, "h", "ours")
GUST = Reason("gust", "gusts at the plants", 8.0, 6.0, "m/s", "ours")


def option(way: str = "hold", **changes: object) -> AwayOption:
    """A way that is allowed, loses two days and asks nothing."""
    some = AwayOption("hold", True, TODAY + timedelta(days=9), 2, 0, 0.0, 0, None, None, (), (WATER,))
    return replace(some, way=way, **changes)  # type: ignore[arg-type]


REFUSED = option(
    "leave",
    allowed=False,
    hardened_on=None,
    days_lost=None,
    reasons=(SUN,),
    spots=(
        SpotTried("carport", False, at(2, on=LAST), GUST),
        SpotTried("long bed", False, at(13, 15, on=FIRST), SUN),
        SpotTried("steps", False, at(13, 15, on=FIRST), SUN),
    ),
)
LEFT = option(
    "leave",
    days_lost=0,
    moves=2,
    minutes=6.0,
    nights_out=4,
    odds_harm=0.002,
    worst_night=TODAY + timedelta(days=2),
    reasons=(ODDS, WATER),
    spot="carport",
    put_at=at(20, 45),
    fetch_at=at(6, 30, on=LAST + timedelta(days=1)),
    spots=(SpotTried("carport", True), *REFUSED.spots[1:]),
)
HELPED = option("sitter", days_lost=1, moves=1, minutes=3.0, unknown_nights=(LAST,), reasons=())


def batch(name: str = "peppers", **changes: object) -> AwayBatch:
    """Peppers that can be left."""
    some = AwayBatch(
        name, "sweet pepper", 2, TODAY + timedelta(days=7), False, (option(), LEFT, HELPED), best="leave"
    )
    return replace(some, **changes)  # type: ignore[arg-type]


def held() -> AwayBatch:
    """Basil that nothing is known of but that it can stay inside; hardened before."""
    lost = (option(days_lost=None, hardened_on=None), REFUSED, replace(HELPED, days_lost=None, hardened_on=None))
    return batch("basil", crop="basil", hardened_before=True, options=lost, best="hold")


def batch_night(name: str, **changes: object) -> BatchNight:
    """Where one batch spends a night."""
    return BatchNight(name, "crop", 2, "ramp", night(**changes))


def sitter_day(on: date, **changes: object) -> SitterDay:
    """Out in the morning, in or for the night in the evening."""
    day = SitterDay(
        on,
        True,
        (
            Move(at(8, on=on), ("peppers", "basil"), 3, "inside", "carport"),
            Move(at(17, 30, on=on), ("basil",), 1, "carport", "inside"),
        ),
        (batch_night("peppers", verdict="out", check_below_c=10.0), batch_night("basil", spot="long bed")),
    )
    return replace(day, **changes)  # type: ignore[arg-type]


def comparison(**changes: object) -> AwayComparison:
    """Three days away; the last is past the forecast."""
    some = AwayComparison(
        now=NOW,
        timezone="America/New_York",
        place="Quarry Lane",
        units="us",
        forecast=NOTE,
        first=FIRST,
        last=LAST,
        sitter=(Span(480, 540), Span(1050, 1140)),
        batches=(batch(), held()),
        stay_put=("leeks",),
        sheet=(
            sitter_day(FIRST),
            sitter_day(FIRST + timedelta(days=1), moves=(), nights=(batch_night("basil", verdict="cover"),)),
            SitterDay(LAST, False, (Move(at(8, on=LAST), ("basil",), 1, "carport", "inside"),), ()),
        ),
        garden_line='away = ["2027-05-06/2027-05-08"]',
    )
    return replace(some, **changes)  # type: ignore[arg-type]
