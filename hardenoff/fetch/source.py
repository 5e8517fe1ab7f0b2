"""All the replies of one provider, gathered by any way of getting them, and the forecast they make."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from hardenoff.errors import HardenoffError
from hardenoff.fetch.answer import Answer, NoAnswer, earliest
from hardenoff.forecast.alerts import ALERTS, Alert, read_alerts
from hardenoff.forecast.checks import check_age, check_place
from hardenoff.forecast.ensemble import ENSEMBLE, joined, read_members
from hardenoff.forecast.hours import OLDEST, Forecast
from hardenoff.forecast.reader import FORECAST, Reader, Reply, Request
from hardenoff.records import ForecastSettings, Place

Check = Callable[[Reply], None]
Get = Callable[[Request, Check], Answer]
"""Gets one reply; calls the check before a new reply may replace a kept one; NoAnswer if there is none."""


@dataclass(frozen=True, slots=True)
class Reading:
    """What a provider says, and how old it is."""

    forecast: Forecast
    replies: tuple[Reply, ...]
    age: timedelta
    asked: bool
    """Sent or confirmed by the provider in this run."""
    alerts: tuple[Alert, ...] = ()
    notes: tuple[str, ...] = ()
    until: datetime | None = None
    """Asking again before then for what has come would give the same, and send no request; None: it might not."""


@dataclass(slots=True)
class Source:
    """One provider for one garden at one time."""

    reader: Reader
    place: Place
    settings: ForecastSettings
    now: datetime
    _answers: dict[str, Answer] = field(default_factory=dict)
    _parsed: dict[bytes, Forecast] = field(default_factory=dict)

    def read(self, get: Get, spare: Get | None = None, anew: Get | None = None) -> Reading:
        """Gather all replies and read them.

        `spare` stands in for an optional reply that could not be had; `anew` asks past a kept reply that named
        an address where there is nothing any more.

        Raises
        ------
        NoAnswer
            One that is needed could not be had, or is no forecast for this place and time.
        """
        self._answers, missing = {}, dict[str, str]()
        try:
            while todo := [r for r in self._next() if r.role not in missing]:
                for request in sorted(todo, key=lambda request: request.optional):
                    try:
                        self._answers[request.role] = self._got(request, get, anew)
                    except (NoAnswer, HardenoffError) as fault:
                        if not request.optional:
                            raise
                        missing[request.role] = in_a_line(fault) + self._stand_in(request, spare)
            return self._reading(missing)
        except HardenoffError as fault:
            raise NoAnswer(in_a_line(fault)) from fault

    def _got(self, request: Request, get: Get, anew: Get | None) -> Answer:
        """The reply; once more if its address came from kept replies and has moved since (a grid does)."""
        try:
            return get(request, self._check)
        except NoAnswer as fault:
            kept = [role for role, answer in self._answers.items() if not answer.asked and role != ALERTS]
            if anew is None or request.optional or not fault.not_there:
                raise
            moved = self._moved(request, kept, anew)
            if moved is None:
                raise
        return get(moved, self._check)

    def _moved(self, request: Request, kept: list[str], anew: Get) -> Request | None:
        """Where the reply is to be had now, by new replies in the place of the kept ones; None: not elsewhere."""
        stale = {role: self._answers.pop(role) for role in kept}
        for older in self._next():
            if older.role in stale:
                self._answers[older.role] = anew(older, self._check)
        return next((now for now in self._next() if now.role == request.role and now.url != request.url), None)

    def _stand_in(self, request: Request, spare: Get | None) -> str:
        """Take the spare reply if there is one: a freeze warning does not end when its office is not reached."""
        if spare is None:
            return ""
        try:
            answer = spare(request, self._check)
        except NoAnswer:
            return ""
        self._answers[request.role] = answer
        return f"; the reply of {answer.age / timedelta(hours=1):.1f} h ago stands in"

    def _next(self) -> tuple[Request, ...]:
        wanted = self.reader.requests(self.place, self.settings, _bodies(self._answers))
        return tuple(request for request in wanted if request.role not in self._answers)

    def _check(self, reply: Reply) -> None:
        """Whatever is wrong with a new reply; a good forecast is remembered, so that it is read once."""
        bodies = {**_bodies(self._answers), reply.role: reply.body}
        if reply.role == FORECAST:
            self._parsed[reply.body] = self._parse(bodies, reply, self.now)
        elif reply.role == ALERTS:
            read_alerts(reply.body)
        elif reply.role == ENSEMBLE:
            read_members(reply.body, near=(self.place.latitude, self.place.longitude))
        else:  # what the reader can't use to find its next address is no good either
            self.reader.requests(self.place, self.settings, bodies)

    def _parse(self, bodies: Mapping[str, bytes], reply: Reply, fetched_at: datetime) -> Forecast:
        forecast = self.reader.parse(bodies, fetched_at=fetched_at, headers=reply.headers)
        check_place(forecast, self.place)
        check_age(forecast, now=self.now, as_of=forecast.origin.issued_at, from_file=False)
        _check_temperature(forecast, self.now)
        return forecast

    def _reading(self, missing: Mapping[str, str]) -> Reading:
        main = self._answers.get(FORECAST)
        if main is None:
            raise NoAnswer("no reply with the hours")
        forecast = self._parsed.get(main.reply.body) if main.asked else None
        if forecast is None:
            forecast = self._parse(_bodies(self._answers), main.reply, self.now - main.age)
        alerts = self._answers.get(ALERTS)
        return Reading(
            forecast=joined(forecast, _bodies(self._answers)),
            replies=tuple(answer.reply for answer in self._answers.values()),
            age=main.age,
            asked=main.asked,
            alerts=read_alerts(alerts.reply.body) if alerts is not None else (),
            notes=tuple(f"{self.reader.key}, {role}: {why}" for role, why in missing.items()),
            until=self.until(forecast.origin.issued_at),
        )

    def until(self, issued_at: datetime | None) -> datetime | None:
        """When the first of the replies would be asked for again, or the forecast be too old."""
        too_old = () if issued_at is None else (issued_at + OLDEST,)
        return earliest([*(answer.until for answer in self._answers.values()), *too_old])


def in_a_line(fault: Exception) -> str:
    """The fault without its advice, for a note."""
    return fault.what if isinstance(fault, HardenoffError) else str(fault)


def _check_temperature(forecast: Forecast, now: datetime) -> None:
    ahead = forecast.hours.loc[forecast.hours.index > now - timedelta(hours=1), "air_temperature_c"]
    if ahead.isna().all():
        raise NoAnswer("no air temperature from now on")


def _bodies(answers: Mapping[str, Answer]) -> dict[str, bytes]:
    return {role: answer.reply.body for role, answer in answers.items()}
