"""One exchange with a host: time-outs, size, status and retries, all under one deadline.

urllib3's own Retry would do for the counting, but it keeps one read time-out for all its tries, forgets its
cap on Retry-After after the first (2.8), and can't see a body that breaks off. So its retries are off here.
"""

from __future__ import annotations

import random
import threading
from collections.abc import Callable, Mapping
from concurrent.futures import Future
from contextlib import ExitStack, suppress
from datetime import UTC, datetime
from time import sleep
from typing import Any

import requests
import urllib3.exceptions
from requests.adapters import HTTPAdapter

from hardenoff.fetch.faults import Refused, TooLarge, tries
from hardenoff.fetch.manners import Deadline, Manners, life_s, pause_s, wait_told_s

CHUNK_BYTES = 16_384
"""Small, because a few compressed bytes can unfold into a thousand times as many."""

FETCHED_AT, FETCHED_REALLY, KEEPS_S = "x-fetched-at", "x-fetched-really", "x-keeps-s"
"""Headers that a reply gains: when it came or was confirmed, by the run's clock and by the machine's; its life."""


class PoliteAdapter(HTTPAdapter):
    """Sends requests with manners. Set `until`, `keep_s` before each; without `until` no socket is opened."""

    def __init__(self, manners: Manners, now: datetime) -> None:
        super().__init__(pool_connections=4, pool_maxsize=1, max_retries=0)
        self.manners = manners
        self.now = now
        self.until: Deadline | None = None
        self.keep_s = 3600.0

    def send(
        self,
        request: requests.PreparedRequest,
        stream: bool = False,
        timeout: Any = None,
        verify: Any = True,
        cert: Any = None,
        proxies: Mapping[str, str] | None = None,
    ) -> requests.Response:
        """The whole reply, its body read, or a RequestException. `stream` and `timeout` are ours to say."""
        tried = 0
        while True:
            tried += 1
            try:
                return self._once(request, verify=verify, cert=cert, proxies=proxies)
            except (requests.RequestException, urllib3.exceptions.HTTPError) as fault:
                pause = self._pause_s(tried, fault)
                if pause is None:
                    raise
            sleep(pause)

    def _pause_s(self, tried: int, fault: Exception) -> float | None:
        headers = fault.headers if isinstance(fault, Refused) else {}
        return pause_s(
            tried,
            tries(fault, self.manners),
            wait_told_s=wait_told_s(headers, datetime.now(UTC)),
            left_s=self.until.left() if self.until else 0.0,
            jitter=random.random(),
            manners=self.manners,
        )

    def _once(self, request: requests.PreparedRequest, **how: Any) -> requests.Response:
        if self.until is None:
            raise requests.ConnectionError("offline", request=request)
        left = self.until.left()
        if left <= 0.0:
            raise requests.Timeout("no time left", request=request)
        connect, read = min(self.manners.connect_s, left), min(self.manners.read_s, left)
        opened: list[requests.Response] = []
        # Looking up a name and reading headers byte by byte heed no time-out; the wait outside does.
        try:
            return _wait_for(
                lambda: self._exchange(request, (connect, read), opened, **how), min(connect + read, left)
            )
        except requests.Timeout:
            for response in opened:
                _hang_up(response)
            raise

    def _exchange(
        self,
        request: requests.PreparedRequest,
        timeout: tuple[float, float],
        opened: list[requests.Response],
        **how: Any,
    ) -> requests.Response:
        asked_at = datetime.now(UTC)
        response = super().send(request, stream=True, timeout=timeout, **how)
        opened.append(response)
        _read_body(response, self.manners.most_bytes)
        if not (response.status_code in (200, 203, 304) or response.is_redirect):
            raise Refused(response)
        self._stamp(response, asked_at)
        return response

    def _stamp(self, response: requests.Response, asked_at: datetime) -> None:
        """Say in the headers how long the reply keeps and when it came; the cache reads and stores them.

        `Vary` goes: our headers are always the same, and a mismatch would make the cache ask again offline.
        """
        told = {name.lower(): value for name, value in response.headers.items()}
        response.headers.pop("vary", None)
        keeps = f"{life_s(told, self.keep_s, asked_at):.0f}"
        response.headers["cache-control"] = f"max-age={keeps}"
        response.headers[KEEPS_S] = keeps
        response.headers[FETCHED_AT] = self.now.isoformat()
        response.headers[FETCHED_REALLY] = asked_at.isoformat()


def _read_body(response: requests.Response, most_bytes: int) -> None:
    """Read the body while it is no longer than a forecast can be."""
    body = bytearray()
    with ExitStack() as unless_whole:
        unless_whole.callback(response.close)
        told = response.headers.get("content-length", "")
        if told.isdigit() and int(told) > most_bytes:
            raise TooLarge(f"a reply of {int(told) / 1e6:.0f} MB is no forecast", request=response.request)
        for chunk in response.iter_content(CHUNK_BYTES):
            body += chunk
            if len(body) > most_bytes:
                raise TooLarge(
                    f"a reply of more than {most_bytes / 1e6:.0f} MB is no forecast", request=response.request
                )
        unless_whole.pop_all()
    response._content = bytes(body)


def _hang_up(response: requests.Response) -> None:
    """Wake the thread that still reads this reply, so that the host is left alone (urllib3 2.3 and later)."""
    shutdown = getattr(response.raw, "shutdown", None)
    if shutdown is not None and not response.raw.closed:
        with suppress(OSError, ValueError, RuntimeError):
            shutdown()


def _wait_for(exchange: Callable[[], requests.Response], seconds: float) -> requests.Response:
    """Run the exchange in a thread of its own and leave it behind when time is up.

    A daemon thread, so that a server that drips bytes for hours can't keep the program from ending.
    """
    outcome: Future[requests.Response] = Future()

    def work() -> None:
        try:
            outcome.set_result(exchange())
        except BaseException as fault:  # noqa: BLE001 - handed to the thread that waits, which raises it
            outcome.set_exception(fault)

    threading.Thread(target=work, daemon=True, name="hardenoff-exchange").start()
    try:
        return outcome.result(timeout=seconds)
    except TimeoutError:
        raise requests.Timeout(f"no whole reply within {seconds:.0f} s") from None
