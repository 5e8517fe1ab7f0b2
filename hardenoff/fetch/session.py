"""The one session that asks providers, with its kept replies and its manners.

A reply has two ages, by the clock of the run (`now`, which `--now` can set) and by the machine's; the greater
counts. So a run that is told a later time sees its replies grow old, and a wrong `--now` can't make an old reply
young. How long a reply is fresh for HTTP is a matter of the machine's clock alone.
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from urllib.parse import urlsplit

import requests
import urllib3.exceptions
from requests_cache import CachedSession
from requests_cache.models import AnyResponse

from hardenoff import __version__
from hardenoff.fetch.adapter import FETCHED_AT, FETCHED_REALLY, KEEPS_S, PoliteAdapter
from hardenoff.fetch.answer import Answer, NoAnswer
from hardenoff.fetch.faults import Refused, why
from hardenoff.fetch.manners import Deadline, Manners, http_date, spent_s
from hardenoff.fetch.shelf import Shelf, open_shelf
from hardenoff.fetch.turn import TurnTaken, turn
from hardenoff.forecast.hours import OLDEST
from hardenoff.forecast.reader import Reply, Request

CLOCKS_APART = timedelta(minutes=10)
"""A machine's clock may be so far from a provider's before it is worth a word (ours)."""

MOST_REDIRECTS = 5


class Courier:
    """Asks for replies and keeps them. One request at a time; use it as a context manager.

    Parameters
    ----------
    folder : Path
        Where replies are kept; made if it is not there.
    now : datetime
        The run's time, tz-aware.
    contact : str, optional
        Mail or web address of the grower, told to providers in the User-Agent.
    """

    def __init__(
        self, folder: Path, now: datetime, *, contact: str | None = None, manners: Manners | None = None
    ) -> None:
        self.folder = folder
        self.now = now
        self.notes: list[str] = []
        self._adapter = PoliteAdapter(manners or Manners(), now)
        shelf, faults = open_shelf(folder)
        self.notes.extend(faults)
        self._session = CachedSession(
            backend=shelf, cache_control=True, expire_after=self._adapter.keep_s, allowable_codes=(200, 203)
        )
        self._session.max_redirects = MOST_REDIRECTS
        self._session.headers.clear()
        # Encodings are named so that a library installed later does not change what is asked for.
        self._session.headers.update(
            {"User-Agent": _agent(contact), "Accept": "application/json", "Accept-Encoding": "gzip, deflate"}
        )
        for scheme in ("https://", "http://"):
            self._session.mount(scheme, self._adapter)

    def __enter__(self) -> Courier:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Give back the connections and the database."""
        self._session.close()  # type: ignore[no-untyped-call]

    def ask(
        self, request: Request, until: Deadline, check: Callable[[Reply], None], *, anew: bool = False
    ) -> Answer:
        """The reply while it is fresh, else a new or confirmed one; `anew`: a new one even so.

        `check` sees each new reply before it replaces a kept one, and raises what it finds wrong.

        Raises
        ------
        NoAnswer
            The provider could not be asked in time, or refused.
        """

        def check_new(response: requests.Response, **_: object) -> None:
            # The cache calls hooks again with its own kind of response: those were checked before.
            if not hasattr(response, "from_cache") and response.status_code in (200, 203):
                check(_reply(request, response))

        self._adapter.until, self._adapter.keep_s = until, request.keep_s
        try:
            with _quiet(), turn(self.folder, _host(request.url), until):
                response = self._get(request, check_new, again=anew)
                if not _asked(response) and self._age(response) > _life(response):
                    response = self._get(request, check_new, again=True)
        except (requests.RequestException, urllib3.exceptions.HTTPError) as fault:
            raise NoAnswer(why(fault), not_there=isinstance(fault, Refused) and fault.status == 404) from fault
        except TurnTaken as fault:
            raise NoAnswer(str(fault)) from fault
        finally:
            self._adapter.until = None
        self._note_clock(response)
        return replace(self._answer(request, response), until=_fresh_until(response))

    def kept(self, request: Request) -> Answer:
        """The kept reply, however it stands with HTTP, if it is at most 36 h old. Opens no socket.

        Raises
        ------
        NoAnswer
            There is none, or it is too old.
        """
        headers = {**request.headers, "Cache-Control": f"max-stale={OLDEST.total_seconds():.0f}"}
        try:
            with _quiet():
                response = self._session.get(request.url, headers=headers, only_if_cached=True)
        except requests.RequestException as fault:
            raise NoAnswer("no kept reply") from fault
        if response.status_code not in (200, 203):
            raise NoAnswer("no kept reply")
        answer = self._answer(request, response)
        if answer.age > max(OLDEST, _life(response)):
            raise NoAnswer(f"the kept reply is {answer.age / timedelta(hours=1):.1f} h old")
        return answer

    @property
    def faults(self) -> tuple[str, ...]:
        """What was odd with the cache or the clocks, in words."""
        shelf = self._session.cache
        return (*self.notes, *(shelf.faults if isinstance(shelf, Shelf) else ()))

    def _get(self, request: Request, check: Callable[..., None], *, again: bool = False) -> AnyResponse:
        return self._session.get(
            request.url, headers=dict(request.headers), hooks={"response": [check]}, force_refresh=again
        )

    def _answer(self, request: Request, response: AnyResponse) -> Answer:
        return Answer(_reply(request, response), self._age(response), _asked(response))

    def _age(self, response: AnyResponse) -> timedelta:
        if _asked(response):
            return timedelta(0)
        by_run = self.now - _moment(response, FETCHED_AT)
        by_machine = datetime.now(UTC) - _moment(response, FETCHED_REALLY)
        return max(by_run, by_machine, timedelta(0))

    def _note_clock(self, response: AnyResponse) -> None:
        sent = http_date(response.headers.get("date"))
        if sent is None or not _asked(response):
            return
        on_the_way = timedelta(seconds=spent_s(response.headers))
        apart = _moment(response, FETCHED_REALLY) - sent - on_the_way
        if abs(apart) > CLOCKS_APART:
            hours = abs(apart) / timedelta(hours=1)
            way = "ahead of" if apart > timedelta(0) else "behind"
            self.notes.append(
                f"this machine's clock is {hours:.1f} h {way} that of {_host(response.url)}: "
                "if it is wrong, so are tonight and tomorrow"
            )


def _host(url: str) -> str:
    try:
        return urlsplit(url).netloc
    except ValueError as fault:
        raise NoAnswer(why(requests.exceptions.InvalidURL())) from fault


def _asked(response: AnyResponse) -> bool:
    return not response.from_cache or response.revalidated


def _life(response: AnyResponse) -> timedelta:
    return timedelta(seconds=float(response.headers.get(KEEPS_S, 0.0)))


def _fresh_until(response: AnyResponse) -> datetime:
    """By the clock that is farther ahead. The cache counts from a little later: from when it wrote the reply."""
    return min(_moment(response, FETCHED_AT), _moment(response, FETCHED_REALLY)) + _life(response)


def _moment(response: AnyResponse, header: str) -> datetime:
    stamped = response.headers.get(header)
    return datetime.fromisoformat(stamped) if stamped else response.created_at


def _reply(request: Request, response: requests.Response) -> Reply:
    headers: Mapping[str, str] = {name.lower(): value for name, value in response.headers.items()}
    return Reply(request.role, request.url, response.status_code, response.content, headers)


def _agent(contact: str | None) -> str:
    """`hardenoff/0.1.0 (grower@example.org)`; nothing that could break the header."""
    shown = "".join(c for c in contact or "" if c.isascii() and c.isprintable()).strip()
    return f"hardenoff/{__version__}" + (f" ({shown})" if shown else "")


@contextmanager
def _quiet() -> Iterator[None]:
    """Both libraries log what we tell the grower ourselves, in their words and with tracebacks."""
    loggers = [logging.getLogger(name) for name in ("requests_cache", "urllib3")]
    levels = [logger.level for logger in loggers]
    for logger in loggers:
        logger.setLevel(logging.CRITICAL)
    try:
        yield
    finally:
        for logger, level in zip(loggers, levels, strict=True):
            logger.setLevel(level)
