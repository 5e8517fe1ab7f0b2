"""How to ask without being a nuisance, and without waiting for ever: time-outs, pauses, how long a reply keeps.

Plain arithmetic; only `Deadline` looks at a clock, the one that can't be set.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from email.utils import parsedate_to_datetime
from time import monotonic

TOO_MANY_REQUESTS, UNAVAILABLE = 429, 503
PASSING_FAULTS = frozenset({TOO_MANY_REQUESTS, 500, 502, UNAVAILABLE, 504})
"""Statuses that may be gone a moment later; any other refusal is final."""

SHORTEST_LIFE_S = 60.0
LONGEST_LIFE_S = 7 * 86400.0
LIFE_STRETCH = 6.0
"""A provider may have its reply kept longer than we would, but at most so many times as long (ours): a slip in a
header must not hide a new warning for a day."""


@dataclass(frozen=True, slots=True)
class Manners:
    """Bounds of one run (ours); seconds unless named otherwise."""

    connect_s: float = 5.0
    read_s: float = 20.0
    tries: int = 3
    backoff_s: float = 1.0
    jitter_s: float = 0.5
    retry_after_most_s: float = 30.0
    least_try_s: float = 0.5
    """With less time left than this a new try is not worth its request."""
    most_bytes: int = 10_000_000


class Deadline:
    """A moment after which nothing is waited for any more."""

    def __init__(self, seconds: float) -> None:
        self._end = monotonic() + seconds

    def left(self) -> float:
        """Seconds until then; 0 once it has passed."""
        return max(0.0, self._end - monotonic())

    def within(self, seconds: float) -> Deadline:
        """The earlier of this deadline and `seconds` from now."""
        return Deadline(min(seconds, self.left()))


def pause_s(
    tried: int, allowed: int, *, wait_told_s: float | None, left_s: float, jitter: float, manners: Manners
) -> float | None:
    """Seconds to wait before the next try; None = don't try again, ask the next source.

    Parameters
    ----------
    tried, allowed : int
        Tries made so far (1 or more), and how many the fault is worth.
    wait_told_s : float or None
        The server's Retry-After. A longer one than `retry_after_most_s` is honoured by going away, not by
        coming back sooner than told.
    left_s : float
        Until the deadline.
    jitter : float
        A random number of 0 to 1, so that many machines don't come back in step.
    """
    if tried >= allowed or (wait_told_s is not None and wait_told_s > manners.retry_after_most_s):
        return None
    backoff = manners.backoff_s * 2.0 ** (tried - 1) + manners.jitter_s * jitter
    pause = max(backoff, wait_told_s or 0.0)
    return pause if pause + manners.least_try_s <= left_s else None


def tries_after(status: int, manners: Manners) -> int:
    """How many tries a refusal is worth: "too many" and "not now" get one more request, not two."""
    if status in (TOO_MANY_REQUESTS, UNAVAILABLE):
        return min(manners.tries, 2)
    return manners.tries if status in PASSING_FAULTS else 1


def wait_told_s(headers: Mapping[str, str], asked_at: datetime) -> float | None:
    """Retry-After in seconds (RFC 9110, 10.2.3); a date is read against the server's own clock."""
    told = headers.get("retry-after", "").strip()
    if told.isdigit():
        return float(told)
    until = http_date(told)
    if until is None:
        return None
    return max(0.0, (until - (http_date(headers.get("date")) or asked_at)) / timedelta(seconds=1))


def life_s(headers: Mapping[str, str], keep_s: float, asked_at: datetime) -> float:
    """How long a reply is fresh: what the provider says within our bounds, `keep_s` where it says nothing.

    `max-age`, else `Expires` less `Date`, so that a machine whose clock is wrong neither hammers nor oversleeps;
    less `Age`, the time spent in a cache on the way (RFC 9111, 4.2.1). A bare `no-store` or `no-cache` counts as
    saying nothing: the last reply is what a grower decides by when the provider is down.
    """
    told = _life_told_s(headers, asked_at)
    if told is None:
        return keep_s
    longest = max(keep_s, min(LIFE_STRETCH * keep_s, LONGEST_LIFE_S))
    return min(max(told, SHORTEST_LIFE_S), longest)


def spent_s(headers: Mapping[str, str]) -> float:
    """Seconds that a reply has spent in a cache on the way (`Age`)."""
    age = headers.get("age", "")
    return float(age) if age.isdigit() else 0.0


def http_date(text: str | None) -> datetime | None:
    """A date as HTTP headers write it; None if there is none or it is no date."""
    if not text:
        return None
    try:
        moment = parsedate_to_datetime(text)
    except ValueError:
        return None
    return moment.replace(tzinfo=UTC) if moment.tzinfo is None else moment


def _life_told_s(headers: Mapping[str, str], asked_at: datetime) -> float | None:
    if found := re.search(r"\bmax-age\s*=\s*\"?(\d{1,9})", headers.get("cache-control", ""), re.IGNORECASE):
        return float(found[1]) - spent_s(headers)
    if "expires" in headers:
        expires = http_date(headers["expires"])
        sent = http_date(headers.get("date")) or asked_at
        return (expires - sent) / timedelta(seconds=1) - spent_s(headers) if expires else 0.0
    return None
