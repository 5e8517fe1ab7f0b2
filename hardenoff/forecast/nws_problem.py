"""What every address of the US National Weather Service shares: its host, and its way of saying no.

A refusal is an `application/problem+json` document (RFC 9457) with `type`, `title`, `status` and `detail`.
"""

from __future__ import annotations

from collections.abc import Mapping

from hardenoff.errors import NotCoveredError, UnreadableError
from hardenoff.forecast.fields import in_a_line

KEY = "nws"
HOST = "https://api.weather.gov"
ACCEPT = {"Accept": "application/geo+json"}
"""Its caches keep an entry for each `Accept`, and old ones have been served to those who sent none."""

_OUTSIDE = ("InvalidPoint", "MarineForecastNotSupported")
"""Last part of `type` when the place is not served. The second also follows a silent move of the grid."""


def is_problem(document: object) -> bool:
    """Whether a reply is a refusal."""
    return isinstance(document, dict) and "title" in document and ("status" in document or "detail" in document)


def refuse_problem(document: Mapping[str, object]) -> None:
    """Raise if the reply is a refusal: NotCoveredError for a place it does not serve, else UnreadableError."""
    if not is_problem(document):
        return
    title, detail = in_a_line(document["title"]), in_a_line(document.get("detail") or "")
    said = f"the US National Weather Service answered {title!r}" + (f": {detail}" if detail else "")
    kind = str(document.get("type", "")).rpartition("/")[2]
    if kind in _OUTSIDE or "Marine Forecast" in title or "out of bounds" in detail:
        raise NotCoveredError(
            said, "a place on land in the US or its territories", "use another source for this place"
        )
    raise UnreadableError(
        said,
        "a reply with data",
        "its offices' feeds fail for minutes, sometimes for days: use another source, and keep the plants inside "
        "until one answers",
    )
