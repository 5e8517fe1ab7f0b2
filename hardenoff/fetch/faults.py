"""What went wrong on the way to a provider, in words for the grower; how often it is worth trying again.

Imports requests: only the modules that ask load it.
"""

from __future__ import annotations

import json
from collections.abc import Iterator

import requests
import urllib3.exceptions

from hardenoff.fetch.manners import Manners, tries_after

LONGEST_QUOTE = 120


class Refused(requests.RequestException):
    """A status that carries no forecast."""

    def __init__(self, response: requests.Response) -> None:
        super().__init__(request=response.request, response=response)
        self.status = response.status_code
        self.headers = {name.lower(): value for name, value in response.headers.items()}
        said = _said(response)
        self.text = f"HTTP {self.status}" + (f" ({said})" if said else "")


class TooLarge(requests.RequestException):
    """The body is longer than any forecast."""


def tries(fault: Exception, manners: Manners) -> int:
    """How many tries a fault is worth in all."""
    if isinstance(fault, Refused):
        return tries_after(fault.status, manners)
    if isinstance(fault, requests.exceptions.SSLError | TooLarge) or _timed_out(fault) or _bad_address(fault):
        return 1
    if _caused_by(fault, urllib3.exceptions.NameResolutionError, ConnectionRefusedError):
        return min(manners.tries, 2)
    return manners.tries


def why(fault: Exception) -> str:
    """One line for the grower. Never the fault's own repr: it holds addresses of memory and long URLs."""
    if isinstance(fault, Refused):
        return fault.text
    if isinstance(fault, TooLarge):
        return str(fault)
    if _bad_address(fault):
        return "its web address can't be used"
    if _timed_out(fault):
        return "no answer in time"
    if isinstance(fault, requests.exceptions.SSLError):
        return "its certificate was not accepted"
    if isinstance(fault, requests.exceptions.TooManyRedirects):
        return "it sends from one address to the next without end"
    if isinstance(fault, requests.exceptions.ContentDecodingError):
        return "a damaged reply (its compression can't be undone)"
    if _caused_by(fault, urllib3.exceptions.NameResolutionError):
        return "its name can't be looked up (is this machine online?)"
    if _caused_by(fault, ConnectionRefusedError):
        return "connection refused"
    if isinstance(fault, requests.exceptions.ChunkedEncodingError):
        return "the reply broke off"
    return "the connection failed"


def _timed_out(fault: Exception) -> bool:
    return _caused_by(
        fault, requests.exceptions.Timeout, urllib3.exceptions.ReadTimeoutError, TimeoutError
    ) and not _caused_by(fault, urllib3.exceptions.NameResolutionError)


def _bad_address(fault: Exception) -> bool:
    return isinstance(
        fault,
        requests.exceptions.InvalidURL
        | requests.exceptions.MissingSchema
        | requests.exceptions.InvalidSchema
        | urllib3.exceptions.LocationParseError,
    )


def _caused_by(fault: BaseException, *kinds: type[BaseException]) -> bool:
    return any(isinstance(link, kinds) for link in _chain(fault))


def _chain(fault: BaseException) -> Iterator[BaseException]:
    """The fault and what lies under it: causes, contexts, and what requests and urllib3 wrap as arguments."""
    todo, seen = [fault], set()
    while todo:
        link = todo.pop()
        if id(link) in seen:
            continue
        seen.add(id(link))
        yield link
        wrapped = (link.__cause__, link.__context__, getattr(link, "reason", None), *link.args)
        todo.extend(inner for inner in wrapped if isinstance(inner, BaseException))


def _said(response: requests.Response) -> str:
    """The reason an error body gives (RFC 9457 calls it title and detail), made harmless for a terminal."""
    try:
        document = json.loads(response.content)
    except (ValueError, RecursionError):
        return ""
    if not isinstance(document, dict):
        return ""
    text = next((document[key] for key in ("reason", "title", "detail") if isinstance(document.get(key), str)), "")
    line = " ".join("".join(c if c.isprintable() else " " for c in text).split())
    return line if len(line) <= LONGEST_QUOTE else line[: LONGEST_QUOTE - 1] + "…"
