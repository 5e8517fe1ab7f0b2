"""A forecast for the garden: from a file, from the network in the order of trust, or from what was kept.

For each source: a fresh kept reply, else a new or confirmed one with a few retries, else a kept one of up to
6 hours; then the next source; then the youngest kept reply of up to 36 hours; then a clear failure. One
deadline stands over it all. Nothing old passes for new: `ForecastNote` says the status and the age.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from hardenoff.errors import NoForecastError, UsageError
from hardenoff.fetch.answer import Answer, NoAnswer, earliest
from hardenoff.fetch.archive import append
from hardenoff.fetch.folders import cache_folder, state_folder
from hardenoff.fetch.manners import Deadline, Manners
from hardenoff.fetch.source import Check, Get, Reading, Source
from hardenoff.forecast.alerts import ALERTS, ATTRIBUTION, Alert, read_alerts
from hardenoff.forecast.checks import check_age, check_place
from hardenoff.forecast.hours import OLDEST, Forecast
from hardenoff.forecast.reader import Reply, Request
from hardenoff.forecast.registry import READERS
from hardenoff.forecast.saved import Saved, read_saved, write_bundle
from hardenoff.forecast.saved import Source as SavedSource
from hardenoff.forecast.sources import source_order
from hardenoff.records import Garden, Place
from hardenoff.schedule.records import ForecastNote, ForecastStatus
from hardenoff.whole import LONGEST_FILE_BYTES, read_up_to

if TYPE_CHECKING:
    from hardenoff.fetch.session import Courier

YOUNG = timedelta(hours=6)
"""A kept reply of this age still comes before asking a less trusted source (ours)."""

EXTRA_S = 10.0
"""What the forecast can be read without (alerts, ensemble members) may take so long (ours)."""

SECOND_OPINION_S = 10.0
"""The second source may take so long, once the first has answered (ours)."""


@dataclass(frozen=True, slots=True)
class Obtained:
    """A forecast, where it is from, and what else was heard."""

    forecast: Forecast
    note: ForecastNote
    """Its `notes` are about getting the forecast; what was odd in the reply itself is in `forecast.origin`."""
    place: Place
    as_of: datetime
    """The run's time; for a file, the time the file says."""
    others: tuple[Forecast, ...] = ()
    """Second opinions on the same hours."""
    alerts: tuple[Alert, ...] = ()
    replies: tuple[Reply, ...] = ()
    """What `forecast` was read from."""
    others_replies: tuple[tuple[Reply, ...], ...] = ()
    """What each of `others` was read from."""
    until: datetime | None = None
    """Obtaining again before then would give the same, kept as it is, and ask nobody; None: it might not."""

    def bundle(self) -> bytes:
        """What --save-forecast writes: all replies as they came; --forecast-file reads the same answer."""
        return write_bundle(
            self.forecast.origin.provider,
            self.replies,
            fetched_at=self.forecast.origin.fetched_at or self.as_of,
            as_of=self.as_of,
            place=self.place,
            second_opinions=[
                SavedSource(other.origin.provider, replies, other.origin.fetched_at or self.as_of)
                for other, replies in zip(self.others, self.others_replies, strict=True)
            ],
        )


def obtain(
    garden: Garden,
    now: datetime,
    *,
    offline: bool = False,
    file: Path | None = None,
    cache_dir: Path | None = None,
    session: Courier | None = None,
    deadline_s: float = 45.0,
    manners: Manners | None = None,
    archive_dir: Path | None = None,
    archive: bool = True,
) -> Obtained:
    """The forecast to plan from.

    Parameters
    ----------
    now : datetime
        The run's time, tz-aware. Ages are counted from it; how long a kept reply is fresh for HTTP goes by the
        machine's clock, which no option sets.
    offline : bool
        Open no socket; kept replies only.
    file : Path, optional
        A saved reply or bundle, instead of any source. It does not move the clock.
    cache_dir, archive_dir : Path, optional
        Instead of the user's cache and state folders.
    session : Courier, optional
        One already open; it is left open.
    deadline_s : float
        Seconds for all sources together.
    archive : bool
        Whether a newly fetched forecast is written down for later comparison; off where `now` is not the
        real time.

    Raises
    ------
    NoForecastError
        None to be had, none left from now on, or older than 36 hours: keep inside.
    UnreadableError
        The file is no forecast, or one for another place.
    UsageError
        The file can't be opened, or the garden names an unknown source.
    """
    if file is not None:
        return _from_file(garden, now, file)
    order = source_order(garden.place, garden.forecast)
    with ExitStack() as closing:
        if session is None:
            session = closing.enter_context(_courier(garden, now, cache_dir, manners))
        ask = _Asking(garden, now, order, session, offline, Deadline(deadline_s))
        first, rest = ask.first()
        others = ask.second_opinion(rest)
        if archive:
            folder = archive_dir or state_folder()
            ask.said.extend(append(folder, garden.place, [r for r in (first, *others) if r.asked]))
    readings = (first, *others)
    alerts = tuple(dict.fromkeys(alert for reading in readings for alert in reading.alerts))
    note = _note(
        first,
        garden.place,
        _credit([reading.forecast for reading in readings], alerts),
        (*ask.said, *session.faults, *(note for reading in readings for note in reading.notes)),
    )
    return Obtained(
        forecast=first.forecast,
        note=note,
        place=garden.place,
        as_of=now,
        others=tuple(reading.forecast for reading in others),
        alerts=alerts,
        replies=first.replies,
        others_replies=tuple(reading.replies for reading in others),
        until=None if note.notes else earliest([now - first.age + YOUNG, *(each.until for each in readings)]),
    )


class _Asking:
    """One run over the sources."""

    def __init__(
        self,
        garden: Garden,
        now: datetime,
        order: Sequence[str],
        courier: Courier,
        offline: bool,
        until: Deadline,
    ) -> None:
        self.sources = {key: Source(READERS[key], garden.place, garden.forecast, now) for key in order}
        self.courier = courier
        self.offline = offline
        self.until = until
        self.said: list[str] = []
        """What went wrong with asking, for the note."""
        self.missed: list[str] = []
        """Which kept replies could not stand in, for the error if nothing else is left."""

    def first(self) -> tuple[Reading, tuple[str, ...]]:
        """The reading to plan from, and the sources that were not asked for it."""
        order = tuple(self.sources)
        for position, key in enumerate(order):
            # A source that hangs may use up its share of the time, not that of those behind it.
            until = self.until.within(self.until.left() / (len(order) - position))
            for reading in self._readings(key, until, YOUNG):
                return reading, order[position + 1 :]
        kept = [reading for key in order for reading in self._kept(key, OLDEST)]
        if not kept:
            raise self._nothing()
        return min(kept, key=lambda reading: reading.age), ()

    def second_opinion(self, keys: Sequence[str]) -> tuple[Reading, ...]:
        """One more reading if a source gives it soon."""
        until = self.until.within(SECOND_OPINION_S)
        for key in keys:
            for reading in self._readings(key, until, OLDEST):
                return (reading,)
        return ()

    def _readings(self, key: str, until: Deadline, oldest: timedelta) -> Iterator[Reading]:
        """The ways to a reading of one source, best first; the reader takes the first that works."""
        if not self.offline:
            yield from self._by(
                key, self._ask(until), self.said, _kept_by(self.courier), self._ask(until, anew=True)
            )
        yield from self._kept(key, oldest)

    def _ask(self, until: Deadline, *, anew: bool = False) -> Get:
        def get(request: Request, check: Check) -> Answer:
            soon = until.within(EXTRA_S) if request.optional else until
            return self.courier.ask(request, soon, check, anew=anew)

        return get

    def _kept(self, key: str, oldest: timedelta) -> Iterator[Reading]:
        for reading in self._by(key, _kept_by(self.courier), self.missed):
            if reading.age <= oldest:
                yield reading

    def _by(
        self, key: str, get: Get, faults: list[str], spare: Get | None = None, anew: Get | None = None
    ) -> Iterator[Reading]:
        try:
            yield self.sources[key].read(get, spare, anew)
        except NoAnswer as fault:
            faults.append(f"{key}: {fault}")

    def _nothing(self) -> NoForecastError:
        said = "; ".join(dict.fromkeys((*self.said, *self.missed))) or "no source to ask"
        return NoForecastError(
            f"no forecast: {said}",
            f"an answer from {' or '.join(self.sources) or 'a source'}, or a kept reply at most 36 h old",
            "keep inside: the weather is unknown. "
            + (
                "Run once without --offline"
                if self.offline
                else "Try again later, or give one with --forecast-file"
            ),
        )


def _kept_by(courier: Courier) -> Get:
    return lambda request, _check: courier.kept(request)


def _from_file(garden: Garden, now: datetime, file: Path) -> Obtained:
    try:
        data = read_up_to(file, LONGEST_FILE_BYTES)
    except OSError as fault:
        raise UsageError(
            f"forecast file {file}: {fault.strerror or 'it cannot be read'}",
            "a saved reply or bundle",
            "check the name after --forecast-file",
        ) from fault
    return unpack(garden, now, data, str(file))


def unpack(garden: Garden, now: datetime, data: bytes, name: str) -> Obtained:
    """The forecast in the bytes of a saved reply or bundle; `name` says in messages what it was. Opens nothing."""
    saved = read_saved(data, name=name)
    others = [other for other in saved.second_opinions if now - (other.made_at or now) <= OLDEST]
    sources = (saved, *others)
    alerts = tuple(dict.fromkeys(alert for source in sources for alert in _alerts(source)))
    for source in sources:
        check_place(source.forecast, garden.place)
    check_age(saved.forecast, now=now, as_of=saved.made_at)
    origin = saved.forecast.origin
    notes = ("the file does not say when it was made; its age is the least it can be",) * saved.as_of_estimated
    as_of = saved.as_of or now
    return Obtained(
        forecast=saved.forecast,
        note=ForecastNote(
            provider=saved.provider,
            issued_at=_local(origin.issued_at, garden.place),
            fetched_at=_local(origin.fetched_at, garden.place),
            age_hours=max(0.0, (now - (saved.made_at or as_of)) / timedelta(hours=1)),
            status="file",
            attribution=_credit([source.forecast for source in sources], alerts),
            notes=notes,
        ),
        place=garden.place,
        as_of=as_of,
        others=tuple(other.forecast for other in others),
        alerts=alerts,
        replies=_replies(saved),
        others_replies=tuple(_replies(other) for other in others),
    )


def _credit(forecasts: Sequence[Forecast], alerts: Sequence[Alert]) -> str:
    """What the licences ask for, of every source that was heard."""
    lines = [forecast.origin.attribution for forecast in forecasts]
    return "; ".join(dict.fromkeys([*lines, ATTRIBUTION] if alerts else lines))


def _alerts(saved: Saved) -> tuple[Alert, ...]:
    return read_alerts(saved.bodies[ALERTS]) if ALERTS in saved.bodies else ()


def _replies(saved: Saved) -> tuple[Reply, ...]:
    return tuple(Reply(role, "", saved.status or 200, body) for role, body in saved.bodies.items())


def _note(reading: Reading, place: Place, credit: str, said: Sequence[str]) -> ForecastNote:
    origin = reading.forecast.origin
    status: ForecastStatus = "fresh" if reading.asked else "cached" if reading.age <= YOUNG else "stale"
    return ForecastNote(
        provider=origin.provider,
        issued_at=_local(origin.issued_at, place),
        fetched_at=_local(origin.fetched_at, place),
        age_hours=reading.age / timedelta(hours=1),
        status=status,
        attribution=credit,
        notes=tuple(dict.fromkeys(said)),
    )


def _local(moment: datetime | None, place: Place) -> datetime | None:
    return None if moment is None else moment.astimezone(place.tz)


def _courier(garden: Garden, now: datetime, folder: Path | None, manners: Manners | None) -> Courier:
    from hardenoff.fetch.session import Courier  # loads requests-cache

    return Courier(folder or cache_folder(), now, contact=garden.forecast.contact, manners=manners)
