"""Members of an ensemble, each taken for the forecast: how many have a batch hardened by which date."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING

from hardenoff.ramp.asking import together
from hardenoff.ramp.heard import Heard
from hardenoff.ramp.logbook import Logbook
from hardenoff.ramp.plan import Planner
from hardenoff.ramp.scene import with_weather
from hardenoff.ramp.watch import NightWatch
from hardenoff.records import Garden
from hardenoff.schedule.plans import planner_ahead

if TYPE_CHECKING:
    from hardenoff.forecast.hours import Forecast


@dataclass(frozen=True, slots=True)
class MemberDates:
    """The date of hardened of one batch in every member; None: not within the days looked at."""

    batch: str
    dates: tuple[date | None, ...]

    def share_by(self, on: date) -> float:
        """Share of the members in which it is hardened by a date."""
        return sum(each is not None and each <= on for each in self.dates) / len(self.dates)

    def by_share(self, share: float) -> date | None:
        """The first date by which it is hardened in so large a share of the members."""
        known = sorted(each for each in self.dates if each is not None)
        return next((on for on in known if self.share_by(on) >= share), None)


def member_forecasts(forecast: Forecast) -> tuple[Forecast, ...]:
    """The forecast as each member has it: with the member's departure from the mean of all laid on the air.

    A grid cell of an ensemble is wide and may lie higher or lower than the place: its members tell how the air may
    turn out otherwise, not how warm it is here. Sun, wind and rain are the forecast's.
    """
    members = forecast.members_c
    if members is None:
        return ()
    departures = members.sub(members.mean(axis="columns"), axis="index")
    return tuple(
        replace(
            forecast,
            hours=forecast.hours.assign(
                air_temperature_c=forecast.hours["air_temperature_c"] + departure.fillna(0.0),
                air_temperature_min_c=forecast.hours["air_temperature_min_c"] + departure.fillna(0.0),
            ),
            block_lows=forecast.block_lows.iloc[:0],
            members_c=None,
        )
        for _, departure in departures.items()
    )


def plan_members(
    garden: Garden,
    forecasts: Sequence[Forecast],
    today: date,
    heard: Heard | None = None,
    logbook: Logbook | None = None,
) -> tuple[MemberDates, ...]:
    """Every batch planned under each of the forecasts, all in step: when it is hardened in each.

    The forecasts are of one place and the same hours, with radiation, and differ in air, wind or rain only.
    """
    if not forecasts:
        return ()
    first, _ = planner_ahead(garden, forecasts[0], today, heard, logbook)
    planners = [first, *(_under(first, forecast) for forecast in forecasts[1:])]
    until = first.scene.dates[-2]
    plans = together([planner.asking_until_hardened(garden.batches, until) for planner in planners])
    return tuple(
        MemberDates(
            batch.name,
            tuple(
                planner.hardened_on(batch, plan[batch.name]) for planner, plan in zip(planners, plans, strict=True)
            ),
        )
        for batch in garden.batches
    )


def _under(planner: Planner, forecast: Forecast) -> Planner:
    """The same planner under another forecast."""
    scene = with_weather(planner.scene, forecast)
    return replace(planner, scene=scene, watch=NightWatch(scene, planner.garden.risk, planner.today))
