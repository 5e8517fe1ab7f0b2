"""Telling a JSON body from what proxies, broken transfers and wrong files give instead."""

from __future__ import annotations

import gzip
from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hardenoff.errors import UnreadableError
from hardenoff.forecast.body import load_document, load_json


@pytest.mark.parametrize(
    ("body", "word"),
    [
        (b"", "empty"),
        (b"  \r\n ", "empty"),
        (b"<!DOCTYPE html><html></html>", "web page"),
        (b"\xef\xbb\xbf<?xml version='1.0'?>", "web page"),
        (gzip.compress(b"{}"), "compressed"),
        (b"PK\x03\x04", "compressed"),
        (b"\xff\xfe{}", "not text"),
        (b'{"a": [1, 2', "cut off"),
        (b'{"a": 1} trailing', "cut off or damaged"),
        (b'{"a": ' + b"9" * 5000 + b"}", "damaged"),
        (b"[" * 200_000, "damaged"),
    ],
)
def test_each_kind_of_bad_body_is_named(body: bytes, word: str) -> None:
    """The message says what the body is, and which body."""
    with pytest.raises(UnreadableError, match=word) as caught:
        load_document(body, "reply")
    assert caught.value.what.startswith("reply:")


def test_bare_words_become_null_outside_of_text() -> None:
    """nan, NaN, inf, -Infinity are missing; the same letters in a string, even after a quote mark, are text."""
    body = rb'{"a": [nan, NaN, -inf, Infinity, -NAN, 0], "nan": "nan, \" nan", "b": "inf"}'
    assert load_json(body, "reply") == {"a": [None] * 5 + [0], "nan": 'nan, " nan', "b": "inf"}


def test_a_byte_order_mark_is_no_part_of_it() -> None:
    """Some editors put one in front."""
    assert load_json(b'\xef\xbb\xbf{"a": 0}', "reply") == {"a": 0}


def test_text_that_is_no_json_comes_as_text() -> None:
    """A table of one's own is text for its reader to know."""
    assert load_document(b"time,air_temperature_c\n", "reply") == "time,air_temperature_c"


@pytest.mark.parametrize("body", [b"[1, 2]", b"time,temp"])
def test_an_object_is_demanded_where_one_is_due(body: bytes) -> None:
    """A list or a table is no reply of a provider that answers with an object."""
    with pytest.raises(UnreadableError, match="where an object was due"):
        load_json(body, "reply")


@given(st.binary(max_size=60))
def test_any_bytes_are_read_or_refused(body: bytes) -> None:
    """No bytes lead to an error that isn't ours."""
    with suppress(UnreadableError):
        assert load_document(body, "reply") is not None
