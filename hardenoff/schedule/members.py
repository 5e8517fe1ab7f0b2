"""Members of an ensemble, each taken for the forecast: how many have a batch hardened by which date."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING

from hardenoff.ramp.asking import together
from hardenoff.ramp.heard import Heard
from hardenoff.ramp.logbook import Logbook
from hardenoff.ramp.plan import Planner, Plans
from hardenoff.ramp.scene import local_midnight, with_weather
from hardenoff.ramp.watch import NightWatch
from hardenoff.records import Batch, Garden
from hardenoff.schedule.plans import planner_ahead
from hardenoff.schedule.records import FinishOdds, HardenedBy
from hardenoff.tables import load_night_model

if TYPE_CHECKING:
    import pandas as pd

    from hardenoff.forecast.hours import Forecast

HALF, NINE_IN_TEN = 0.5, 0.9


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

    def hardened_by(self, share: float) -> HardenedBy | None:
        """That date, with the number of members that are hardened by then."""
        on = self.by_share(share)
        return None if on is None else HardenedBy(on, round(self.share_by(on) * len(self.dates)))


def member_forecasts(forecast: Forecast) -> tuple[Forecast, ...]:
    """The forecast as each member has it: with the member's departure from the mean of all laid on the air.

    A grid cell of an ensemble is wide and may lie higher or lower than the place: its members tell how the air may
    turn out otherwise, not how warm it is here. Sun, wind and rain are the forecast's, and so is how sure a low
    is. Where a member has no hours it has the forecast's air.
    """
    members = forecast.members_c
    if members is None:
        return ()
    departures = members.sub(members.mean(axis="columns"), axis="index").reindex(forecast.hours.index).fillna(0.0)
    return tuple(
        replace(
            forecast,
            hours=forecast.hours.assign(
                air_temperature_c=forecast.hours["air_temperature_c"] + departure,
                air_temperature_min_c=forecast.hours["air_temperature_min_c"] + departure,
            ),
            block_lows=forecast.block_lows.iloc[:0],
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
    planner, _ = planner_ahead(garden, forecasts[0], today, heard, logbook)
    return _under_each(planner, forecasts)


def finish_odds(planner: Planner, plans: Plans, forecast: Forecast) -> dict[str, FinishOdds]:
    """The odds of the date of hardened of every batch that is still on its way, as far ahead as was planned.

    `forecast` is the one that `planner` has, with radiation. Empty where it has too few members from today on.
    """
    members = _members_ahead(planner, forecast)
    apart_until = _apart_until(planner, members)
    on_their_way = {batch.name for batch in planner.garden.batches if _is_on_its_way(planner, batch, plans)}
    if len(members.columns) < load_night_model().least_members or apart_until is None or not on_their_way:
        return {}
    found = _under_each(planner, member_forecasts(replace(forecast, members_c=members)))
    looked_until = planner.scene.dates[-2]
    return {
        each.batch: FinishOdds(
            members=len(each.dates),
            half=each.hardened_by(HALF),
            nine_in_ten=each.hardened_by(NINE_IN_TEN),
            ever=sum(on is not None for on in each.dates),
            looked_until=looked_until,
            apart_until=apart_until,
        )
        for each in found
        if each.batch in on_their_way
    }


def _members_ahead(planner: Planner, forecast: Forecast) -> pd.DataFrame:
    """The members that have hours from today on, and only those hours: past days were as they were."""
    members = forecast.hours.iloc[:, :0] if forecast.members_c is None else forecast.members_c
    ahead = members[members.index >= local_midnight(planner.scene.place, planner.today)]
    return ahead.dropna(axis="columns", how="all")


def _apart_until(planner: Planner, members: pd.DataFrame) -> date | None:
    """The local date of the last hour that two members have; None: there is no such hour."""
    shared = members.index[members.notna().sum(axis="columns") > 1]
    return None if shared.empty else shared[-1].astimezone(planner.scene.place.tz).date()


def _is_on_its_way(planner: Planner, batch: Batch, plans: Plans) -> bool:
    """Neither planted nor hardened before today."""
    hardened = planner.hardened_on(batch, plans[batch.name])
    return planner.told(batch).planted_on is None and (hardened is None or hardened >= planner.today)


def _under_each(planner: Planner, forecasts: Sequence[Forecast]) -> tuple[MemberDates, ...]:
    """Every batch planned under each of the forecasts, to the planner's last date."""
    batches, until = planner.garden.batches, planner.scene.dates[-2]
    planners = [_under(planner, forecast) for forecast in forecasts]
    plans = together([each.asking_until_hardened(batches, until) for each in planners])
    return tuple(
        MemberDates(
            batch.name,
            tuple(each.hardened_on(batch, plan[batch.name]) for each, plan in zip(planners, plans, strict=True)),
        )
        for batch in batches
    )


def _under(planner: Planner, forecast: Forecast) -> Planner:
    """The same planner under another forecast."""
    scene = with_weather(planner.scene, forecast)
    return replace(planner, scene=scene, watch=NightWatch(scene, planner.garden.risk, planner.today))
