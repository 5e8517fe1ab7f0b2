"""The journal's entries and their text: nothing is lost on the way to a line and back, and corrections count."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from validation import compare, outside

from hardenoff.journal.entries import DAMAGE_KINDS, KINDS, NEEDED, Complaint, Entry, Fate, fates, standing
from hardenoff.journal.text import HEADER, NewerJournalError, format_line, parse, parse_line, whole_length

EDT = timezone(timedelta(hours=-4))
DAY = date(2027, 5, 5)
MORNING = datetime(2027, 5, 5, 7, 15, tzinfo=EDT)
EVENING = datetime(2027, 5, 5, 18, 0, tzinfo=EDT)

# --- entries of every shape ------------------------------------------------------------------------

offsets = st.integers(-23 * 60, 23 * 60).map(lambda minutes: timezone(timedelta(minutes=minutes)))
moments = st.datetimes(datetime(1901, 1, 1), datetime(2198, 12, 31), timezones=offsets)  # noqa: DTZ001
names = st.text(st.characters(exclude_categories=("Cc", "Cs"), exclude_characters="\u2028\u2029"), min_size=1)
ids = st.from_regex(r"[0-9A-Za-z_-]{1,40}", fullmatch=True)
OPTIONAL: dict[str, st.SearchStrategy[Any]] = {
    "batch": names,
    "spot": names,
    "low_c": st.floats(-90, 60),
    "damage_kind": st.sampled_from(DAMAGE_KINDS),
    "text": names,
    "minutes": st.integers(0, 1440),
    "corrects": ids,
}


@st.composite
def entries(draw: st.DrawFn) -> Entry:
    """Any entry that can be made: what its kind needs, and perhaps anything else."""
    kind = draw(st.sampled_from(KINDS))
    start, end = sorted([draw(moments), draw(moments)])
    values: dict[str, Any] = {"start": start, "end": end if end > start else start + timedelta(seconds=1)}
    values |= {field: draw(strategy) for field, strategy in OPTIONAL.items()}
    values = {
        field: value for field, value in values.items() if field in NEEDED.get(kind, ()) or draw(st.booleans())
    }
    name = draw(ids.filter(lambda drawn: drawn != values.get("corrects")))
    return Entry(name, draw(moments), draw(st.dates(date(1901, 1, 1), date(2198, 12, 31))), kind, **values)


# --- one line --------------------------------------------------------------------------------------


@given(entries())
def test_an_entry_survives_its_line(entry: Entry) -> None:
    """parse(format(entry)) == entry, for every entry there can be."""
    assert parse_line(format_line(entry)) == entry


@outside(
    "RFC 8259 as Python's json reads it, JSON Lines",
    "the text of any entry of the journal: one line, one object, no NaN",
    within="equal",
    because="a format",
    kind="library",
)
@given(entries())
def test_the_text_of_an_entry_is_one_line_of_json(entry: Entry) -> None:
    """Whatever is in it."""
    line = format_line(entry)
    compare(line.splitlines(), [line])
    assert isinstance(json.loads(line, parse_constant=pytest.fail), dict)


def test_a_line_reads_like_a_sentence() -> None:
    """The very text: keys in a fixed order, times with offset, the letters as they are."""
    entry = Entry("k7mq2", EVENING, DAY, "out", "Grüne Paprika", "carport", MORNING, EVENING, minutes=12)
    assert format_line(entry) == (
        '{"id": "k7mq2", "on": "2027-05-05", "kind": "out", "batch": "Grüne Paprika", "spot": "carport", '
        '"from": "2027-05-05T07:15:00-04:00", "until": "2027-05-05T18:00:00-04:00", "minutes": 12, '
        '"written_at": "2027-05-05T18:00:00-04:00"}'
    )


def test_zero_is_a_temperature() -> None:
    """0 C is written and read; a low that was not told is left out."""
    low = Entry("a", EVENING, DAY, "low", spot="carport", low_c=0.0)
    assert '"low_c": 0.0' in format_line(low)
    assert parse_line(format_line(low)).low_c == 0.0
    assert "low_c" not in format_line(Entry("a", EVENING, DAY, "done"))


def test_unknown_keys_are_let_be() -> None:
    """Of a later version, or of someone's own."""
    line = format_line(Entry("a", EVENING, DAY, "done"))
    assert parse_line(line[:-1] + ', "mood": ["fine"]}') == parse_line(line)


def test_null_is_nothing_told() -> None:
    """A key may be there without a value."""
    line = format_line(Entry("a", EVENING, DAY, "done"))
    assert parse_line(line[:-1] + ', "batch": null}').batch is None


GOOD = {"id": "a", "on": "2027-05-05", "kind": "done", "written_at": "2027-05-05T18:00:00-04:00"}


@pytest.mark.parametrize(
    ("changes", "why"),
    [
        ({"kind": "danced"}, '"danced" is no kind of entry'),
        ({"id": None}, "it has no id"),
        ({"id": "two words"}, '"two words" is no id'),
        ({"id": 7}, '"id": no text'),
        ({"on": "5 May"}, '"on": Invalid isoformat string'),
        ({"on": "1027-05-05"}, "a year is far off"),
        ({"written_at": "2027-05-05T18:00:00"}, "a time has no offset"),
        ({"kind": "out", "spot": "carport"}, '"out" needs from and until'),
        ({"kind": "low", "spot": "carport"}, '"low" needs low_c'),
        ({"kind": "low", "spot": "carport", "low_c": "3"}, '"low_c": no number'),
        ({"kind": "low", "spot": "carport", "low_c": True}, '"low_c": no number'),
        ({"kind": "low", "spot": "carport", "low_c": 10**400}, '"low_c": too large a number'),
        ({"kind": "low", "spot": "carport", "low_c": 1e999}, "Infinity is no number"),
        ({"kind": "low", "spot": "carport", "low_c": -274}, "its low is no temperature"),
        ({"kind": "damage", "damage": "hail"}, '"hail" is no kind of damage'),
        ({"kind": "undo"}, '"undo" needs corrects'),
        ({"corrects": "a"}, "it corrects itself"),
        ({"minutes": 1.5}, '"minutes": no whole number'),
        ({"minutes": -1}, "its minutes are not those of a day"),
        ({"minutes": 1441}, "its minutes are not those of a day"),
        ({"from": "2027-05-05T18:00:00-04:00", "until": "2027-05-05T18:00:00-04:00"}, "it ends before it starts"),
        ({"batch": ""}, "a text is empty"),
        ({"text": "two\nlines"}, "a text has a line break or a control character"),
        ({"text": "\ud800"}, "a text has a line break or a control character"),
        (
            {"from": "2027-05-05T18:00:00-04:00", "until": "2027-05-05T23:00:00+02:00"},
            "it ends before it starts",
        ),
    ],
)
def test_what_is_no_entry_says_why(changes: dict[str, Any], why: str) -> None:
    """Each fault in words a person can act on."""
    with pytest.raises(ValueError, match=re.escape(why)):
        parse_line(json.dumps({**GOOD, **changes}))


# --- the whole file --------------------------------------------------------------------------------

FIRST = Entry("a1", EVENING, DAY, "done")
SECOND = Entry("b2", EVENING, DAY, "in", "peppers")


def journal(*lines: str | Entry) -> bytes:
    """A journal of these lines, each with its line break."""
    written = [line if isinstance(line, str) else format_line(line) for line in lines]
    return "".join(f"{line}\n" for line in (HEADER, *written)).encode()


@given(st.lists(entries(), unique_by=lambda entry: entry.id))
def test_a_journal_survives_its_text(told: list[Entry]) -> None:
    """All entries, in their order; the only complaints are about ids that are not there."""
    read, complaints = parse(journal(*told))
    assert list(read) == told
    assert all("corrects" in complaint.what for complaint in complaints)


@given(st.binary())
def test_any_bytes_can_be_read(content: bytes) -> None:
    """Never a traceback: entries or complaints, and a line number that is there."""
    entries_read, complaints = parse(content)
    assert all(1 <= complaint.line <= content.count(b"\n") + 1 for complaint in complaints)
    assert entries_read == ()


@given(st.lists(entries(), min_size=1, max_size=3, unique_by=lambda entry: entry.id), st.data())
def test_a_journal_with_any_damage_can_be_read(told: list[Entry], data: st.DataObject) -> None:
    """Bytes changed anywhere: lines that were not touched are read as before."""
    content = bytearray(journal(*told))
    at = data.draw(st.integers(len(HEADER) + 1, len(content) - 1))
    touched = content[:at].count(b"\n") - 1
    content[at : at + 1] = data.draw(st.binary(max_size=3))
    read, _ = parse(bytes(content))
    spared = [entry for number, entry in enumerate(told) if number not in (touched, touched + 1)]
    assert [entry for entry in read if entry in spared] == spared


@pytest.mark.parametrize(
    "line",
    [
        "[" * 100_000,
        '{"a":' * 100_000,
        "1" * 5000,
        "null",
        "[]",
        '"x"',
        "NaN",
        "\0\0\0",
        '{"schema": "cookbook/1"}',
    ],
)
def test_odd_lines_are_complaints(line: str) -> None:
    """Nested too deep, too many digits, other JSON, zeros from a power cut: the lines around them count."""
    read, complaints = parse(journal(FIRST, line, SECOND))
    assert read == (FIRST, SECOND)
    assert [complaint.line for complaint in complaints] == [3]
    assert complaints[0].what.endswith("; it is left out")


@given(entries())
def test_a_cut_last_line_costs_no_other(entry: Entry) -> None:
    """At every byte of it: the lines before count, what is left of it is told of; whole, it counts."""
    before, last = journal(FIRST), format_line(entry).encode()
    for cut in range(1, len(last)):
        content = before + last[:cut]
        assert parse(content) == ((FIRST,), (Complaint(3, "it is cut off; the next entry sets it aside"),))
        assert whole_length(content) == len(before)
    assert whole_length(before + last) == len(before + last)
    assert entry.id == FIRST.id or parse(before + last)[0] == (FIRST, entry)


def test_editors_leave_marks_that_do_no_harm() -> None:
    """A byte order mark, Windows line ends, empty lines."""
    content = b"\xef\xbb\xbf" + journal(FIRST, "", "   ", SECOND).replace(b"\n", b"\r\n")
    assert parse(content) == ((FIRST, SECOND), ())


def test_a_journal_without_its_header_is_read() -> None:
    """Someone cut the first line out: nothing else is lost."""
    assert parse(f"{format_line(FIRST)}\n".encode()) == ((FIRST,), ())


def test_letters_that_are_no_utf_8_are_a_complaint() -> None:
    """As after an editor that saves in another encoding."""
    read, complaints = parse(journal(FIRST) + b'{"id": "caf\xe9"}\n')
    assert read == (FIRST,)
    assert complaints == (Complaint(3, "it is no UTF-8 text; it is left out"),)


def test_a_line_that_is_there_twice_counts_once() -> None:
    """As after two copies of a journal were put together."""
    assert parse(journal(FIRST, SECOND, FIRST)) == (
        (FIRST, SECOND),
        (Complaint(4, "it repeats line 2 and counts once"),),
    )


def test_two_entries_of_one_id_both_count_and_are_told_of() -> None:
    """Nothing is thrown away for an id."""
    other = replace(SECOND, id=FIRST.id)
    assert parse(journal(FIRST, other)) == (
        (FIRST, other),
        (Complaint(3, "its id a1 is that of line 2 as well"),),
    )


def test_a_correction_of_nothing_is_told_of() -> None:
    """The entry itself counts."""
    orphan = replace(SECOND, corrects="zz")
    assert parse(journal(orphan, Entry("zz", EVENING, DAY, "done")))[1] == (
        Complaint(2, 'it corrects "zz", which is not above it'),
    )


def test_a_later_schema_is_refused() -> None:
    """In three parts; a number that can't be told from ours is not guessed at."""
    with pytest.raises(NewerJournalError) as fault:
        parse(journal(FIRST).replace(b"journal/1", b"journal/2"))
    assert "hardenoff.journal/2" in fault.value.what
    assert fault.value.expected == "hardenoff.journal/1 or older"
    assert "update" in fault.value.fix


# --- what stands -----------------------------------------------------------------------------------


def told(name: str, kind: str = "done", corrects: str | None = None) -> Entry:
    return Entry(name, EVENING, DAY, kind, corrects=corrects)  # type: ignore[arg-type]


A, B = told("a"), told("b")


def left(*entries: Entry) -> str:
    """The ids of what stands, in order."""
    return " ".join(entry.id for entry in standing(entries))


@pytest.mark.parametrize(
    ("journal_of", "stands"),
    [
        ((A, B), "a b"),
        ((A, B, told("c", corrects="a")), "c b"),  # in the place of what it corrects
        ((A, B, told("c", corrects="a"), told("d", corrects="c")), "d b"),  # a correction corrected: a stays gone
        ((A, B, told("u", "undo", "b")), "a"),
        ((A, told("c", corrects="a"), told("u", "undo", "c")), "a"),  # a correction undone: a is back
        ((A, told("u", "undo", "a"), told("v", "undo", "u")), "a"),  # an undo undone
        ((A, told("c", corrects="a"), told("u", "undo", "c"), told("v", "undo", "u")), "c"),
        ((A, told("c", corrects="a"), told("d", corrects="a")), "d"),  # two at once: the later word
        ((A, told("c", corrects="a"), told("d", corrects="a"), told("u", "undo", "d")), "c"),
        ((A, told("c", corrects="a"), told("d", corrects="c"), told("u", "undo", "d")), "c"),
        ((A, told("c", corrects="a"), told("d", corrects="a"), told("e", corrects="c")), "e"),
        ((told("c", corrects="lost"), told("d", corrects="lost")), "d"),  # the line they correct can't be read
        ((A, told("u", "undo", "a"), told("c", corrects="u")), "c"),  # said anew instead of undone
        ((told("u", "undo", "a"), A), "a"),  # nothing undoes what comes after it
        ((A, told("c", corrects="zz")), "a c"),
        ((), ""),
    ],
)
def test_what_stands(journal_of: tuple[Entry, ...], stands: str) -> None:
    """Each a story of one or two people and a slip."""
    assert left(*journal_of) == stands


def test_an_entry_says_what_became_of_it() -> None:
    """How, and by which entry: of a chain of corrections, by the last."""
    journal_of = (A, told("c", corrects="a"), told("d", corrects="c"), B, told("u", "undo", "b"))
    assert fates(journal_of) == (Fate("replaced", "d"), Fate("replaced", "d"), None, Fate("undone", "u"), None)
    assert fates((A, told("u", "undo", "a"), told("c", corrects="u"))) == (Fate("undone", "u"), None, None)


@st.composite
def corrected(draw: st.DrawFn) -> list[Entry]:
    """Journals full of corrections: of older, of later and of unknown entries."""
    count = draw(st.integers(0, 8))
    target = st.sampled_from([f"e{number}" for number in range(count + 1)])
    made = []
    for number in range(count):
        corrects = draw(st.none() | target.filter(lambda name, number=number: name != f"e{number}"))
        kind = draw(st.sampled_from(["done", "undo"])) if corrects else "done"
        made.append(told(f"e{number}", kind, corrects))
    return made


def told_anew(journal_of: list[Entry]) -> list[str]:
    """The ids of what stands, each entry looked at for itself.

    Taken back is what a later undo names that was not taken back itself. Of an entry, its corrections and theirs
    the last counts that was not taken back, in the first one's place.
    """

    def taken_back(number: int) -> bool:
        name = journal_of[number].id
        return any(
            later.kind == "undo" and later.corrects == name and not taken_back(at)
            for at, later in enumerate(journal_of)
            if at > number
        )

    def begins(number: int) -> object:
        """The first of its family: its number, or the name of a line that is not there."""
        target = journal_of[number].corrects
        older = [at for at, entry in enumerate(journal_of[:number]) if entry.id == target]
        if older:
            return begins(older[0])
        lost = target is not None and all(entry.id != target for entry in journal_of)
        return target if lost else number

    def place(family: object) -> int:
        return min(number for number in range(len(journal_of)) if begins(number) == family)

    stand: dict[object, str] = {}
    for number, entry in enumerate(journal_of):
        if entry.kind != "undo" and not taken_back(number):
            stand[begins(number)] = entry.id
    return [stand[family] for family in sorted(stand, key=place)]


@outside(
    "the rule told anew, each entry looked at for itself",
    "what stands of a journal full of corrections and undos, also of each other",
    within="equal",
    because="an entry counts or not",
    kind="anew",
)
@settings(max_examples=400, deadline=None)
@given(corrected())
def test_what_stands_is_what_the_rule_says(journal_of: list[Entry]) -> None:
    """Ours goes through the journal twice; this asks of every entry what became of it."""
    compare([entry.id for entry in standing(journal_of)], told_anew(journal_of))


@given(corrected(), st.sampled_from(["done", "undo"]), st.integers(0, 8))
def test_taking_back_the_last_entry_is_as_if_it_had_never_been(
    journal_of: list[Entry], kind: str, at: int
) -> None:
    """Whatever it was, a correction or an undo among them."""
    last = told("last", kind, f"e{at}")
    assert standing([*journal_of, last, told("back", "undo", "last")]) == standing(journal_of)


@given(corrected(), st.data())
def test_a_correction_leaves_as_many_as_there_were(journal_of: list[Entry], data: st.DataObject) -> None:
    """None doubled and none lost: what is corrected is gone, its correction stands where it stood."""
    before = standing(journal_of)
    if not before:
        return
    at = data.draw(st.integers(0, len(before) - 1))
    after = standing([*journal_of, told("fix", corrects=before[at].id)])
    assert [entry.id for entry in after] == [
        "fix" if number == at else entry.id for number, entry in enumerate(before)
    ]


def test_the_zone_of_a_moment_is_its_own() -> None:
    """An entry told in UTC is the same as told with another offset."""
    assert replace(FIRST, written_at=EVENING.astimezone(UTC)) == FIRST
