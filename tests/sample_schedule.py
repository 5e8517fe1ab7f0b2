"""A hand-made schedule for the view tests: four batches, a cold night ahead, a far day and an unknown night.

All of it is invented: the place, the plants, the weather. No number here comes out of the planner.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from hardenoff.schedule.records import (
    BatchDay,
    BatchNight,
    Change,
    Day,
    Finish,
    ForecastNote,
    Limits,
    Move,
    NightAnswer,
    Placement,
    Reason,
    Schedule,
    StateAt,
    StripHour,
    WatchedNight,
)

ZONE = ZoneInfo("America/New_York")
TODAY = date(2027, 5, 5)
NOW = datetime(2027, 5, 5, 6, 40, tzinfo=ZONE)
CREDIT = "Weather data by Example Weather, CC BY 4.0"


def at(hour: int, minute: int = 0, on: date = TODAY) -> datetime:
    """A wall-clock time of the sample's place."""
    return datetime.combine(on, time(hour, minute), tzinfo=ZONE)


def midnight_after(on: date) -> datetime:
    """24:00 of a date."""
    return datetime.combine(on + timedelta(days=1), time(0), tzinfo=ZONE)


def night(on: date = TODAY, **changes: object) -> NightAnswer:
    """A cold night that brings a tender crop in."""
    answer = NightAnswer(
        evening=on,
        morning=on + timedelta(days=1),
        spot="carport",
        air_low_c=7.8,
        leaf_low_c=5.6,
        low_1_in_10_c=5.3,
        check_below_c=12.8,
        harm_below_c=5.0,
        odds_check=0.99,
        odds_harm=0.42,
        verdict="in",
        because="weather",
        action="bring_in",
        low_at=at(5, on=on + timedelta(days=1)),
        forecast_low_c=9.2,
        decided_by="check",
    )
    return replace(answer, **changes)  # type: ignore[arg-type]


def limits(**changes: object) -> Limits:
    """Limits of an early ramp-day."""
    few = Limits(
        outdoor_hours=4.5,
        direct_sun_hours=25 / 60,
        light_mol=22.0,
        gust_m_s=5.0,
        least_air_c=10.0,
        nights_out=False,
    )
    return replace(few, **changes)  # type: ignore[arg-type]


def strip(*, out: tuple[int, int], spot: str, sun: dict[int, float]) -> tuple[StripHour, ...]:
    """24 hours: `inside`, then at `spot` from one hour to another."""
    hours = []
    for hour in range(24):
        outside = out[0] <= hour < out[1]
        hours.append(
            StripHour(
                at=at(hour),
                spot=spot if outside else "inside",
                sun_share=sun.get(hour, 0.0) if outside else 0.0,
                air_c=8.0 + abs((hour + 9) % 24 - 12) * -0.8 + 9.6,
                gust_m_s=9.4 if hour >= 13 else 4.0,
                gust_at_plant_m_s=(9.4 if hour >= 13 else 4.0) * 0.26 if outside else None,
            )
        )
    return tuple(hours)


SUN_REASON = Reason(
    code="direct_sun_limit",
    text="direct sun if the sky clears stays within today's limit",
    value=0.35,
    limit=25 / 60,
    unit="h",
    source="hardenoff default rule (ours)",
)
GUST_REASON = Reason(
    code="gust",
    text="strongest gust at the plants",
    value=2.44,
    limit=5.0,
    unit="m/s",
    source="hardenoff default rule (ours)",
)
START_WARNING = Reason(
    code="start_not_recorded",
    text="this ramp starts today; the garden file does not say so yet",
    source="garden.toml",
)
HOLD_REASON = Reason(
    code="least_air",
    text="too cold all day for an outing",
    value=6.1,
    limit=10.0,
    unit="degC",
    source="common practice, no source",
)


def peppers(on: date = TODAY, **changes: object) -> BatchDay:
    """Out under the carport from 07:15 to 18:00, the sheltered way."""
    day = BatchDay(
        batch="peppers",
        crop="sweet pepper",
        trays=2,
        stage="ramp",
        verdict="out",
        way="sheltered",
        placements=(Placement("carport", at(7, 15, on), at(18, 0, on)),),
        outdoor_hours=10.75,
        direct_sun_hours_likely=1 / 3,
        direct_sun_hours_if_clear=0.35,
        limits=limits(),
        light_mol_likely=14.2,
        light_mol_if_clear=18.9,
        light_mol_outdoor_likely=3.1,
        state=StateAt(air=2.5, sun=1.75, cold=0.0, light_mol=12.1, ramp_days=1.75, confidence="assumed"),
        night=night(on),
        rule="tender-12",
        rule_source="hardenoff default rule (ours)",
        reasons=(SUN_REASON, GUST_REASON),
        strip=strip(out=(7, 18), spot="carport", sun={8: 1 / 3}) if on == TODAY else (),
    )
    return replace(day, **changes)  # type: ignore[arg-type]


def basil(on: date = TODAY, **changes: object) -> BatchDay:
    """Same day as the peppers, and its start is not in the garden file yet."""
    day = replace(peppers(on), batch="basil", crop="basil", trays=1, warnings=(START_WARNING,))
    return replace(day, **changes)  # type: ignore[arg-type]


def squash(on: date = TODAY, **changes: object) -> BatchDay:
    """Held inside: too cold all day."""
    day = replace(
        peppers(on),
        batch="squash",
        crop="summer squash",
        trays=3,
        verdict="hold",
        way=None,
        placements=(),
        outdoor_hours=0.0,
        direct_sun_hours_likely=0.0,
        direct_sun_hours_if_clear=0.0,
        night=night(on, action="none", spot=None, because="absent"),
        reasons=(HOLD_REASON,),
        hold_costs="finish Thu 13 May -> Fri 14 May",
        strip=(),
    )
    return replace(day, **changes)  # type: ignore[arg-type]


def leeks(on: date = TODAY, **changes: object) -> BatchDay:
    """Out all day and all night at the long bed."""
    day = replace(
        peppers(on),
        batch="leeks",
        crop="leek",
        trays=1,
        stage="hardened",
        way="longer",
        placements=(Placement("long bed", at(0, on=on), midnight_after(on)),),
        outdoor_hours=14.0,
        direct_sun_hours_likely=6.5,
        direct_sun_hours_if_clear=9.75,
        limits=limits(outdoor_hours=24.0, direct_sun_hours=None, gust_m_s=None, nights_out=True),
        night=night(
            on,
            spot="long bed",
            verdict="out",
            because="none",
            action="none",
            check_below_c=2.0,
            harm_below_c=-3.0,
            odds_check=0.01,
            odds_harm=0.0,
            decided_by="none",
        ),
        reasons=(),
        strip=strip(out=(0, 24), spot="long bed", sun=dict.fromkeys(range(8, 17), 1.0)) if on == TODAY else (),
    )
    return replace(day, **changes)  # type: ignore[arg-type]


def far_night(on: date) -> NightAnswer:
    """A night past day 6: odds, no more."""
    passes = night(on, odds_check=0.4, odds_harm=0.05, verdict="out", because="none", action="none")
    return replace(passes, decided_by="none")


def unknown_night(on: date = TODAY) -> NightAnswer:
    """The hours before dawn are missing."""
    return night(
        on,
        air_low_c=None,
        leaf_low_c=None,
        low_1_in_10_c=None,
        odds_check=None,
        odds_harm=None,
        verdict="unknown",
        because="unknown",
        action="bring_in",
        low_at=None,
        forecast_low_c=None,
        decided_by=None,
    )


def watched(on: date, running: bool, answers: dict[str, NightAnswer]) -> WatchedNight:
    """One night of the cold watch over some of the batches."""
    crops = {"peppers": "sweet pepper", "basil": "basil", "squash": "summer squash", "leeks": "leek"}
    return WatchedNight(
        evening=on,
        morning=on + timedelta(days=1),
        running=running,
        batches=tuple(
            BatchNight(name, crops[name], 1, "ramp", answer, (HOLD_REASON,) if answer.action == "bring_in" else ())
            for name, answer in answers.items()
        ),
    )


def beyond(batch_day: BatchDay) -> BatchDay:
    """The same batch past the forecast: no verdict, no night."""
    return replace(
        batch_day,
        verdict=None,
        way=None,
        placements=(),
        direct_sun_hours_likely=None,
        light_mol_likely=None,
        light_mol_outdoor_likely=None,
        night=None,
        reasons=(),
        warnings=(),
        strip=(),
        hold_costs=None,
    )


def sample(**changes: object) -> Schedule:
    """Today, a hold tomorrow, a day of odds and a day beyond the forecast."""
    tomorrow, far, beyond_day = (TODAY + timedelta(days=step) for step in (1, 7, 16))
    makers = (peppers, basil, squash, leeks)
    schedule = Schedule(
        now=NOW,
        date=TODAY,
        timezone="America/New_York",
        place="Quarry Lane",
        units="us",
        forecast=ForecastNote(
            provider="open-meteo",
            issued_at=None,
            fetched_at=at(5, 10),
            age_hours=1.5,
            status="cached",
            attribution=CREDIT,
            notes=(),
        ),
        moves=(
            Move(at(7, 15), ("peppers", "basil"), 3, "inside", "carport"),
            Move(at(18, 0), ("peppers", "basil"), 3, "carport", "inside"),
        ),
        days=(
            Day(TODAY, "forecast", tuple(make(TODAY) for make in makers)),
            Day(
                tomorrow,
                "forecast",
                (
                    squash(tomorrow, batch="peppers", crop="sweet pepper", trays=2),
                    squash(tomorrow, batch="basil", crop="basil", trays=1, night=unknown_night(tomorrow)),
                    squash(tomorrow),
                    leeks(tomorrow),
                ),
            ),
            Day(far, "odds", tuple(replace(make(far), warnings=(), night=far_night(far)) for make in makers)),
            Day(beyond_day, "beyond", tuple(beyond(make(beyond_day)) for make in makers)),
        ),
        finishes=(
            Finish("peppers", date(2027, 5, 15), date(2027, 5, 17), None, date(2027, 5, 18)),
            Finish("basil", date(2027, 5, 15), date(2027, 5, 17), None, date(2027, 5, 18), date(2027, 5, 9)),
            Finish(
                "squash",
                None,
                None,
                None,
                None,
                reasons=(Reason("never", "the rule's last days ask for more sun than any spot here gets"),),
            ),
            Finish("leeks", TODAY, TODAY, TODAY, TODAY),
        ),
        nights=(
            watched(
                TODAY,
                False,
                {
                    "peppers": night(),
                    "basil": night(),
                    "squash": night(action="none", spot=None, because="absent"),
                    "leeks": leeks().night or night(),
                },
            ),
        ),
        changes=(
            Change("peppers", "hardened", "Sun 16 May", "Mon 17 May", "a cold night came into the forecast"),
        ),
    )
    return replace(schedule, **changes)  # type: ignore[arg-type]
