"""The only package with sockets: gets the forecast for a garden, politely, and keeps it for a day without network.

    order      obtain: fresh, new, kept for 6 hours, next source, kept for 36 hours, a clear failure
    source     one provider: all its replies, checked before they are kept
    session    the cached session; adapter: one exchange; manners, faults: its bounds and its failures in words
    shelf      the cache file and what may be wrong with it; turn: one request at a time per host
    sources    which providers for which place; folders; archive: what was forecast, for later comparison

requests-cache and pandas are loaded by the first call of `obtain`, not by the import of this package.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from hardenoff.fetch.order import Obtained, obtain, unpack

__all__ = ["Obtained", "obtain", "unpack"]


def __getattr__(name: str) -> Any:
    if name in __all__:
        return getattr(import_module("hardenoff.fetch.order"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
