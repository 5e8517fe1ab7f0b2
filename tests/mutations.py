"""What can become of a document on the way: values of another kind, lists cut or stretched, bytes lost and gained.

All by a `random.Random`, so that hypothesis can play it again.
"""

from __future__ import annotations

import gzip
import json
from collections.abc import Callable, Sequence
from random import Random
from typing import Any

JUNK: tuple[Any, ...] = (
    *(None, True, False, 0, -1, 1.5, -9999, 1e308, -1e308, 1e999, -1e999, 10**400, float("nan")),
    *(
        "",
        " ",
        "0",
        "nan",
        "inf",
        "1_000",
        "12,5",
        "١٢",
        "x",
        "\x1b[31m",
        "\ud800",
        "degC",
        "K",
        "°F",
        "undefined",
    ),
    *("2027-04-20", "2027-04-20T06:00", "2027-04-20T06:30:00Z", "2027-04-20T06:00:00+14:00"),
    *("0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59-14:00", "1600-01-01T00:00:00Z", "2262-04-12T00:00:00Z"),
    *("2027-04-20T06:00:00+00:00/PT1H", "2027-04-20T06:00:00+00:00/P31D", "2027-04-20T06:00:00+00:00/PT0S"),
    *("9999-12-31T00:00:00+00:00/P2D", "2027-04-20T06:00:00+00:00/P99999999999999999999Y", "NOW/PT3H"),
    *([], {}, [[]], [None], [1, 2], {"value": 1}, 4102444800, -4102444800, 4.1e12, 1e19),
)
PIECES = (b"NaN", b"1e400", b'"', b"{", b"]", b"\x00", b"\xed\xa0\x80", b"9" * 5000, b"[" * 3000, b'{"a":' * 3000)
ENCODINGS = ("utf-16", "utf-32", "utf-8-sig", "latin-1", "cp1252", "cp037")


def mutated(body: bytes, random: Random) -> bytes:
    """The body with some faults in it: in its tree if it is JSON, else, or at times, in its bytes."""
    try:
        tree = json.loads(body)
    except ValueError:
        tree = None
    if tree is not None and random.random() < 0.75:
        for _ in range(random.choice((1, 1, 1, 2, 3))):
            tree = _with_a_fault(tree, random)
        return json.dumps(tree, ensure_ascii=random.random() < 0.7).encode("utf-8", "surrogatepass")
    for _ in range(random.choice((1, 1, 2))):
        body = bytes_mutated(body, random)
    return body


def bytes_mutated(body: bytes, random: Random) -> bytes:
    """The body cut, with bytes changed, lost or put in, twice in a row, packed, or in another encoding."""
    at, length = random.randrange(len(body) + 1), random.randrange(1, 200)
    text = body.decode("utf-8", "replace")
    return random.choice(
        (
            lambda: body[:at],
            lambda: body[:at] + random.randbytes(1) + body[at + 1 :],
            lambda: body[:at] + random.randbytes(random.randrange(8)) + body[at:],
            lambda: body[:at] + random.choice(PIECES) + body[at:],
            lambda: body[:at] + body[at + length :],
            lambda: body + body,
            lambda: gzip.compress(body),
            lambda: text.encode(random.choice(ENCODINGS), "replace"),
            lambda: text.replace("\n", random.choice(("\r\n", "\r", "\n\n", "\u2028"))).encode(),
            lambda: _replaced(body, random),
        )
    )()


def lines_mutated(body: bytes, random: Random) -> bytes:
    """The body with lines doubled, lost, joined or in another order."""
    lines = body.split(b"\n")
    at = random.randrange(len(lines))
    what: Sequence[Callable[[], object]] = (
        lambda: lines.insert(at, random.choice(lines)),
        lambda: lines.pop(at),
        lambda: random.shuffle(lines),
        lambda: lines.__setitem__(at, lines[at] * 2),
        lambda: lines.__setitem__(at, lines[at][: random.randrange(len(lines[at]) + 1)]),
    )
    random.choice(what)()
    return b"\n".join(lines)


def _replaced(body: bytes, random: Random) -> bytes:
    old = random.choice((b"2027", b"00", b":", b",", b'"', b"T", b"e", b"Z", b"0."))
    new = random.choice((b"", b"9", b"NaN", b"null", b"1900", b"9999", b"\xff", b"x", b"1e400"))
    return body.replace(old, new, random.randrange(1, 60))


def _with_a_fault(tree: Any, random: Random) -> Any:
    where = _somewhere(tree, random)
    if where is None:
        return random.choice(JUNK)
    node, key = where
    match random.randrange(7):
        case 0 | 1:
            node[key] = random.choice(JUNK)
        case 2:
            del node[key]
        case 3 if isinstance(node, list):
            random.shuffle(node)
        case 4 if isinstance(node, list):
            del node[random.randrange(len(node)) :]
        case 5 if isinstance(node, list):
            node.extend(node[: random.randrange(5) + 1])
        case 3 | 4 | 5:
            other = random.choice(list(node))
            node[key], node[other] = node[other], node[key]
        case _:
            node[key] = _bent(node[key], random)
    return json.loads(json.dumps(tree))  # no node in two places


def _bent(value: Any, random: Random) -> Any:
    """A value near the one that was there."""
    if isinstance(value, str) and value:
        return value.replace(random.choice(value), random.choice(("", "9", "-", "\n", "Z")))
    if isinstance(value, int | float) and not isinstance(value, bool):
        return random.choice(
            (-value, value * 1000, value * 1e12, value + 1800, value + 86400, str(value), [value])
        )
    if isinstance(value, list):
        return {str(number): each for number, each in enumerate(value)}
    for _ in range(random.choice((3, 60, 300, 450))):
        value = [value]
    return value


def _somewhere(tree: Any, random: Random) -> tuple[Any, Any] | None:
    """A container of the tree and a key in it; None where there is none."""
    if not isinstance(tree, dict | list) or not tree:
        return None
    while True:
        key = random.choice(list(tree)) if isinstance(tree, dict) else random.randrange(len(tree))
        inner = tree[key]
        if not isinstance(inner, dict | list) or not inner or random.random() < 0.2:
            return tree, key
        tree = inner
