"""From bytes to a document: tells an empty, cut-off or HTML body from JSON before any reader looks at it."""

from __future__ import annotations

import json
import re

from hardenoff.errors import UnreadableError

_STRING_OR_BARE_WORD = re.compile(r'"(?:[^"\\]|\\.)*"|-?\b(?:nan|inf|infinity)\b', re.IGNORECASE)
_NO_BRACKET = re.compile(r'"(?:[^"\\]|\\.)*"|[^][{}"]+')
DEEPEST = 64
"""Brackets within brackets; replies have eight or so (ours). What follows may walk a document without counting."""

_AGAIN = "fetch it again; until then treat the weather as unknown and keep the plants inside"


def load_document(body: bytes, name: str) -> object:
    """The decoded JSON of a body, or its text (str) if it is no JSON at all.

    Bare `nan` and `inf`, which some providers write and JSON forbids, become None.

    Raises
    ------
    UnreadableError
        Empty, HTML, compressed, not text, or JSON that breaks off.
    """
    text = _decode(body, name)
    if text[0] not in "{[":
        return text
    if _nests_too_deep(text):
        raise _broken(name, "its brackets nest without end")
    try:
        return json.loads(text, parse_constant=lambda _word: None)
    except ValueError:
        mended = _STRING_OR_BARE_WORD.sub(lambda m: m[0] if m[0].startswith('"') else "null", text)
    try:
        return json.loads(mended)
    except json.JSONDecodeError as error:
        raise _broken(name, f"{error.msg} at character {error.pos} of {len(text)}") from None
    except ValueError as error:
        raise _broken(name, str(error)) from None


def load_json(body: bytes, name: str) -> dict[str, object]:
    """The JSON object of a body. UnreadableError for anything else; `name` says which body in the message."""
    document = load_document(body, name)
    if not isinstance(document, dict):
        kind = "a list" if isinstance(document, list) else "plain text"
        raise UnreadableError(f"{name}: {kind} where an object was due", "one JSON object, {...}", _AGAIN)
    return document


def _nests_too_deep(text: str) -> bool:
    """Whether brackets stand so deep in one another; pairs are taken out from the inside, whatever is broken."""
    brackets = _NO_BRACKET.sub("", text)
    for _ in range(DEEPEST):
        fewer = brackets.replace("[]", "").replace("{}", "")
        if len(fewer) == len(brackets):
            break
        brackets = fewer
    return brackets.count("[") + brackets.count("{") > DEEPEST


def _decode(body: bytes, name: str) -> str:
    if body[:2] in (b"\x1f\x8b", b"PK"):
        raise UnreadableError(
            f"{name}: a compressed file", "the plain reply", "unpack it first, then give its content"
        )
    try:
        text = body.decode("utf-8-sig").strip()
    except UnicodeDecodeError as error:
        raise UnreadableError(f"{name}: not text (byte {error.start})", "UTF-8 text", _AGAIN) from None
    if not text:
        raise UnreadableError(f"{name}: empty", "a forecast reply in JSON", _AGAIN)
    if text[0] == "<":
        raise UnreadableError(
            f"{name}: a web page or XML, not a forecast",
            "a forecast reply in JSON",
            "a proxy, a log-in page or a busy server answers like this: try again later, or another network",
        )
    return text


def _broken(name: str, how: str) -> UnreadableError:
    return UnreadableError(
        f"{name}: JSON that cannot be read, cut off or damaged ({how})", "one whole JSON reply", _AGAIN
    )
