"""`log` at the command line: few words understood, slips told, corrections, what is shown, what is written."""

from __future__ import annotations

import json
import os
import re
import shlex
import subprocess
import sys
from datetime import date, datetime, timedelta, timezone
from importlib import resources
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator
from typer.testing import CliRunner, Result

from hardenoff.cli import book, doubts, named, said
from hardenoff.cli.app import app
from hardenoff.cli.options import Shared
from hardenoff.errors import Exit, UsageError
from hardenoff.garden import garden_from_text
from hardenoff.journal.entries import DAMAGE_KINDS, KINDS, Complaint, Entry, Fate, standing
from hardenoff.journal.file import append, read_journal
from hardenoff.views import log as view
from hardenoff.views.log import Listing

GARDEN = """
units = "us"
[place]
name = "Quarry Lane"
latitude = 42.94
longitude = -77.33
timezone = "America/New_York"
[[spot]]
name = "carport"
[[spot]]
name = "long bed"
[[batch]]
name = "peppers"
crop = "sweet pepper"
[[batch]]
name = "sun gold"
crop = "tomato"
"""
EDT = timezone(timedelta(hours=-4))
DAY = date(2027, 5, 5)
NOW = "2027-05-05T19:00"
ZONE = "America/New_York"


def at(hour: int, minute: int = 0, day: int = 5) -> datetime:
    """A moment of May 2027 in the garden."""
    return datetime(2027, 5, day, hour, minute, tzinfo=EDT)


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a garden file, as the working directory."""
    (tmp_path / "garden.toml").write_text(GARDEN)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def log(*words: str, now: str = NOW) -> Result:
    """`hardenoff log ...` in this process."""
    return CliRunner().invoke(app, ["log", "--now", now, *words])


def recorded(*words: str, now: str = NOW) -> Entry:
    """The entry that was written, read back from the file."""
    result = log(*words, now=now)
    assert result.exit_code == Exit.DONE, result.stderr
    return everything()[-1]


def everything() -> tuple[Entry, ...]:
    entries, complaints = read_journal(Path("garden.journal.jsonl"))
    assert complaints == ()
    return entries


def refused(*words: str, now: str = NOW) -> str:
    """What is said to words that can't be recorded: three parts on stderr, exit code 2, nothing written."""
    before = sorted(path.name for path in Path.cwd().iterdir())
    result = log(*words, now=now)
    assert result.exit_code == Exit.USAGE
    assert result.stdout == ""
    assert sorted(path.name for path in Path.cwd().iterdir()) == before
    assert "\n  expected: " in result.stderr
    assert "\n  do this:  " in result.stderr
    return result.stderr


# --- what can be told ------------------------------------------------------------------------------

TOLD: list[tuple[str, dict[str, Any]]] = [
    ("done", {"kind": "done"}),
    ("done peppers", {"kind": "done", "batch": "peppers"}),
    ("in Peppers", {"kind": "in", "batch": "peppers"}),
    ("in all", {"kind": "in"}),
    ("IN sun gold", {"kind": "in", "batch": "sun gold"}),
    (
        "out peppers carport 07:15 18:00",
        {"kind": "out", "batch": "peppers", "spot": "carport", "start": at(7, 15), "end": at(18)},
    ),
    (
        "out sun gold long bed 7:15-18:00",
        {"kind": "out", "batch": "sun gold", "spot": "long bed", "start": at(7, 15), "end": at(18)},
    ),
    ("out long bed 07:15 24:00", {"kind": "out", "spot": "long bed", "start": at(7, 15), "end": at(0, 0, 6)}),
    ("longer peppers 20:30", {"kind": "longer", "batch": "peppers", "end": at(20, 30)}),
    ("longer 20:30", {"kind": "longer", "end": at(20, 30)}),
    (
        "damage peppers sun white patches",
        {"kind": "damage", "batch": "peppers", "damage_kind": "sun", "text": "white patches"},
    ),
    ("damage sun gold wind", {"kind": "damage", "batch": "sun gold", "damage_kind": "wind"}),
    (
        "damage cold --at carport",
        {"kind": "damage", "damage_kind": "cold", "spot": "carport"},
    ),
    ("watered", {"kind": "watered"}),
    ("low carport 38F", {"kind": "low", "spot": "carport", "low_c": 3.3}),
    ("low long bed -3 C", {"kind": "low", "spot": "long bed", "low_c": -3.0}),
    ("low carport 31.5 °F", {"kind": "low", "spot": "carport", "low_c": -0.28}),
    ("sun carport 07:40 10:15", {"kind": "sun", "spot": "carport", "start": at(7, 40), "end": at(10, 15)}),
    ("planted peppers", {"kind": "planted", "batch": "peppers"}),
    ("planted sun gold Long Bed", {"kind": "planted", "batch": "sun gold", "spot": "long bed"}),
    ("finished all", {"kind": "finished"}),
    ("finished peppers --minutes 4", {"kind": "finished", "batch": "peppers", "minutes": 4}),
    ("note -5 in the tunnel, Ümläute", {"kind": "note", "text": "-5 in the tunnel, Ümläute"}),
]


@pytest.mark.parametrize(("words", "fields"), TOLD, ids=[words for words, _ in TOLD])
def test_what_can_be_told(home: Path, words: str, fields: dict[str, Any]) -> None:
    """In the fewest words, names in any case and without quotes; every other field stays empty."""
    entry = recorded(*words.split())
    kind, rest = fields["kind"], {name: value for name, value in fields.items() if name != "kind"}
    assert entry == Entry(entry.id, at(19), DAY, kind, **rest)


@pytest.mark.parametrize(("words", "fields"), TOLD, ids=[words for words, _ in TOLD])
def test_quotes_do_no_harm(home: Path, words: str, fields: dict[str, Any]) -> None:
    """A name of two words may be one word of the shell, and a temperature as well."""
    for phrase in ("sun gold", "long bed", "Long Bed", "-3 C", "31.5 °F", "white patches"):
        words = words.replace(phrase, phrase.replace(" ", "_"))
    entry = recorded(*(word.replace("_", " ") for word in words.split()))
    assert {name: getattr(entry, name) for name in fields} == fields


def test_every_kind_can_be_told() -> None:
    """But `undo`, which has an option of its own; the help has a line for each."""
    assert set(said.FORMS) == set(KINDS) - {"undo"}
    text = CliRunner().invoke(app, ["log", "--help"]).stdout
    for kind, form in said.FORMS.items():
        assert re.search(rf"^  log {kind} {re.escape(form.words)}(  |$)", text, re.MULTILINE), kind
    assert f"{', '.join(DAMAGE_KINDS[:-1])} or {DAMAGE_KINDS[-1]}" in text


def test_every_example_is_understood(home: Path) -> None:
    """The lines that the faults offer, word for word."""
    garden = garden_from_text(Path("garden.toml"), GARDEN)
    for kind in said.FORMS:
        program, command, *words = shlex.split(said.example(kind, garden))
        assert (program, command) == ("hardenoff", "log")
        assert recorded(*words).kind == kind


def test_the_answer_is_one_line_that_says_how_to_undo_it(home: Path) -> None:
    """On stdout; nothing on stderr."""
    result = log("out", "peppers", "carport", "07:15", "18:00")
    (entry,) = everything()
    assert result.stdout == (
        f"recorded: Wed 5 May, peppers: out at carport, 07:15 to 18:00. Undo: hardenoff log --undo {entry.id}\n"
    )
    assert result.stderr == ""


def test_the_undo_line_names_the_garden_that_was_named(home: Path) -> None:
    """Otherwise it would undo another garden's entry."""
    Path("my garden.toml").write_text(GARDEN)
    result = log("done", "--garden", "my garden.toml")
    (entry,) = read_journal(Path("my garden.journal.jsonl"))[0]
    assert f"Undo: hardenoff log --undo {entry.id} --garden 'my garden.toml'" in result.stdout
    words = shlex.split(result.stdout.split("hardenoff log ")[1])
    assert log(*words).exit_code == Exit.DONE
    assert standing(read_journal(Path("my garden.journal.jsonl"))[0]) == ()


# --- temperatures ----------------------------------------------------------------------------------


@given(st.integers(0, 2), st.integers(-50, 112))
def test_a_low_reads_as_it_was_typed(decimals: int, whole: int) -> None:
    """Into degrees C with one decimal more, and back: C = (F - 32) / 1.8 (NIST SP 811, 2008, B.8)."""
    typed = f"{whole}.{'37'[:decimals]}" if decimals else str(whole)
    celsius = said._low_c(f"{typed} F")
    assert abs(celsius - (float(typed) - 32) / 1.8) <= 0.5 * 10.0 ** -(decimals + 1) + 1e-9
    assert view.low(celsius, "us") == f"{float(typed):g}°F"


@pytest.mark.parametrize("typed", ["-3 C", "3.3 C", "3.25 C", "0 C"])
def test_a_low_in_celsius_is_kept_as_it_is(typed: str) -> None:
    """And shown so, where the garden is metric."""
    assert view.low(said._low_c(typed), "metric") == typed.replace(" ", "°")


def test_a_low_without_its_unit_is_refused(home: Path) -> None:
    """38 of what?"""
    text = refused("low", "carport", "38")
    assert '"38" has no unit' in text
    assert 'write "38 F" or "38 C"' in text


@pytest.mark.parametrize("low", ["-80 C", "50 C", "200 F"])
def test_a_low_that_no_garden_had_is_refused(home: Path, low: str) -> None:
    """A slip of the unit or a digit."""
    assert "a low between -50 C (-58 F) and 45 C (113 F)" in refused("low", "carport", low)


# --- what is asked back ----------------------------------------------------------------------------


@pytest.mark.parametrize(("said_low", "meant"), [("38 C", '"38 F"'), ("-38 F", '"38 F"'), ("100 F", '"')])
def test_a_low_that_is_hard_to_believe_is_asked_back(home: Path, said_low: str, meant: str) -> None:
    """Outside -30 to 25 C without a forecast: nothing is written unless the grower is sure."""
    result = log("low", "long bed", said_low)
    assert result.exit_code == Exit.USAGE
    assert "hard to believe" in result.stderr
    assert "add --sure" in result.stderr
    assert (f"did you mean {meant}" in result.stderr) is (said_low != "100 F")
    assert "recorded" not in result.stderr
    assert everything() == ()
    assert recorded("low", "long bed", said_low, "--sure").low_c is not None


@pytest.mark.parametrize("said_low", ["77 F", "-22 F", "0 C"])
def test_a_low_at_the_edge_of_belief_is_taken(home: Path, said_low: str) -> None:
    """25 C, -30 C, and what lies between."""
    assert recorded("low", "long bed", said_low).low_c is not None


@pytest.mark.parametrize(("told", "is_doubtful"), [(24.9, False), (25.1, True), (-4.9, False), (-5.1, True)])
def test_a_low_is_held_against_the_forecast_of_its_night(home: Path, told: float, is_doubtful: bool) -> None:
    """Within 15 C of it, here of 10 C, even where it would be believed on its own."""
    of = book.open_book(Shared(now=NOW))
    entry = Entry("a", of.now, DAY, "low", spot="long bed", low_c=told, forecast_low_c=10.0)
    if not is_doubtful:
        doubts.refuse_doubtful(of, entry, sure=False)
        return
    with pytest.raises(UsageError, match="than the forecast of that night, 50°F"):
        doubts.refuse_doubtful(of, entry, sure=False)
    doubts.refuse_doubtful(of, entry, sure=True)


def test_of_several_lows_of_a_morning_the_answer_and_the_list_say_which_counts(home: Path) -> None:
    """The last; the one before is named when it ceases to count."""
    first = recorded("low", "long bed", "36 F")
    result = log("low", "long bed", "38 F")
    assert f"no longer {first.id}: Wed 5 May, morning low at long bed: 36°F" in result.stdout
    assert "no longer" not in log("low", "carport", "40 F").stdout
    listed = log("--list").stdout.splitlines()
    assert ["a later one counts" in line for line in listed if "morning low" in line] == [True, False, False]


def test_a_date_before_sowing_is_refused(home: Path) -> None:
    """Nothing was done with plants that were no seed in soil yet; a low says nothing of plants."""
    text = (home / "garden.toml").read_text().replace('crop = "tomato"', 'crop = "tomato"\nsown = 2027-05-02')
    (home / "garden.toml").write_text(text)
    result = log("in", "sun gold", "--on", "2027-05-01", "--sure")
    assert result.exit_code == Exit.USAGE
    assert '2027-05-01 is before "sun gold" was sown (2027-05-02)' in result.stderr
    assert recorded("in", "sun gold", "--on", "2027-05-02").on == date(2027, 5, 2)
    assert recorded("in", "--on", "2027-05-01").on == date(2027, 5, 1)
    assert recorded("low", "carport", "40 F", "--on", "2027-05-01").kind == "low"


def test_a_date_of_another_year_is_asked_back(home: Path) -> None:
    """A year and a day is most often a slip; who is sure is believed."""
    result = log("in", "--on", "2026-05-03")
    assert result.exit_code == Exit.USAGE
    assert "more than a year ago" in result.stderr
    assert recorded("in", "--on", "2026-05-03", "--sure").on.year == 2026


def test_sun_seen_says_what_it_is_for_and_gives_a_line_to_copy(home: Path) -> None:
    """The line under the spot is one that the garden file understands."""
    result = log("sun", "carport", "07:40", "10:15")
    assert "counts for that day's sun" in result.stdout
    line = result.stdout.split("add: ")[1].strip()
    seen = 'name = "carport"\n' + line
    garden = garden_from_text(Path("x"), GARDEN.replace('name = "carport"', seen))
    assert str(garden.spots[0].sun_seen[0].start) == "07:40:00"


def test_damage_says_that_its_step_is_repeated(home: Path) -> None:
    """What becomes of the ramp is said where it is told."""
    assert "repeated" in log("damage", "peppers", "sun").stdout


# --- dates and times -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("on", "day"),
    [("today", 5), ("yesterday", 4), ("Yesterday", 4), ("2027-05-01", 1)],
)
def test_the_date_it_was(home: Path, on: str, day: int) -> None:
    """Times are of that date."""
    entry = recorded("out", "carport", "07:15", "18:00", "--on", on)
    assert (entry.on, entry.start) == (date(2027, 5, day), at(7, 15, day))


def test_today_is_the_garden_s_today(home: Path) -> None:
    """Two in the morning of the 6th in UTC is ten in the evening of the 5th there."""
    assert recorded("done", now="2027-05-06T02:00Z").on == DAY


@pytest.mark.parametrize("on", ["2027-05-06", "2028-05-05"])
def test_a_date_to_come_is_refused(home: Path, on: str) -> None:
    """The journal is of what was done."""
    assert f"--on {on} is still to come" in refused("done", "--on", on)


@pytest.mark.parametrize("on", ["5/5", "2027-02-30", "", "tuesday"])
def test_what_is_no_date_is_refused(home: Path, on: str) -> None:
    """With how to write one."""
    assert on in refused("done", "--on", on)


def test_overnight_ends_on_the_next_day(home: Path) -> None:
    """Out in the evening, in again the next morning."""
    entry = recorded("out", "peppers", "carport", "18:00", "07:00", "--overnight", "--on", "yesterday")
    assert (entry.on, entry.start, entry.end) == (date(2027, 5, 4), at(18, 0, 4), at(7))
    entry = recorded("longer", "peppers", "00:30", "--overnight", "--on", "yesterday")
    assert entry.end == at(0, 30)


def test_an_end_before_the_start_is_refused(home: Path) -> None:
    """With the two ways out; of no length is no better."""
    text = refused("out", "peppers", "carport", "18:00", "07:00", "--on", "yesterday")
    assert "from 18:00 until 07:00 ends before it starts" in text
    assert "--overnight" in text
    assert "from 18:00 until 18:00" in refused("out", "peppers", "carport", "18:00", "18:00")
    assert "from 10:15 until 07:40" in refused("sun", "carport", "10:15", "07:40")


def test_longer_until_before_dawn_is_of_the_next_day(home: Path) -> None:
    """00:30 of the same date is the night before."""
    assert "--overnight" in refused("longer", "peppers", "00:30")


@pytest.mark.parametrize(
    "words", ["out peppers carport 19:30 20:00", "sun carport 18:30 19:30", "sun carport 20:00 20:15"]
)
def test_what_is_still_to_come_is_refused(home: Path, words: str) -> None:
    """It was yesterday, or it can wait."""
    text = refused(*words.split())
    assert "is still to come" in text
    assert "--on yesterday" in text


def test_an_end_later_today_is_fine(home: Path) -> None:
    """Said while it goes on: they stay out until 20:00."""
    assert recorded("out", "peppers", "carport", "07:15", "20:00").end == at(20)


@pytest.mark.parametrize("word", ["1815", "25:00", "6pm", "18.15", "noon"])
def test_what_is_no_time_is_refused(home: Path, word: str) -> None:
    """With how to write one."""
    assert f'"{word}" is no time of day' in refused("longer", "peppers", word)


def test_times_keep_to_the_garden_s_clock_through_its_changes(home: Path) -> None:
    """In New York clocks skip 02:00-03:00 on 14 March 2027 and repeat 01:00-02:00 on 7 November (US Energy Policy
    Act of 2005, sec. 110): a skipped time is moved on, a repeated one is its first.
    """
    recorded("out", "carport", "02:30", "09:00", now="2027-03-14T19:00")
    recorded("out", "carport", "01:30", "09:00", now="2027-11-07T19:00")
    text = Path("garden.journal.jsonl").read_text()
    assert '"from": "2027-03-14T03:30:00-04:00", "until": "2027-03-14T09:00:00-04:00"' in text
    assert '"from": "2027-11-07T01:30:00-04:00", "until": "2027-11-07T09:00:00-05:00"' in text


def test_the_file_has_whole_seconds(home: Path) -> None:
    """A clock's fractions are of no use to a reader."""
    assert recorded("done", now="2027-05-05T19:00:00.123456").written_at == at(19)


# --- slips -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "what", "fix"),
    [
        ("in pepers", 'there is no batch "pepers"', 'did you mean "peppers"?'),
        ("in gld", 'there is no batch "gld"', 'did you mean "sun gold"?'),
        ("in xyzzy", 'there is no batch "xyzzy"', "see hardenoff check for the names"),
        ("out pepers carport 07:15 18:00", 'there is no batch "pepers"', 'did you mean "peppers"?'),
        ("out peppers carprt 07:15 18:00", 'there is no spot "carprt"', 'did you mean "carport"?'),
        ("out sun gold lng bed 07:15 18:00", 'there is no spot "lng bed"', 'did you mean "long bed"?'),
        ("out sun gld long bed 07:15 18:00", 'there is no batch "sun gld"', 'did you mean "sun gold"?'),
        ("out peppers 07:15 18:00", "no spot was named", "see hardenoff check for the names"),
        ("out peppers inside 07:15 18:00", '"inside" is no outdoor spot', "hardenoff log in"),
        ("planted peppers lng bed", 'there is no spot "lng bed"', 'did you mean "long bed"?'),
        ("planted pepers", 'there is no batch "pepers"', 'did you mean "peppers"?'),
        ("low carprt 38 F", 'there is no spot "carprt"', 'did you mean "carport"?'),
        ("sun carprt 07:40 10:15", 'there is no spot "carprt"', 'did you mean "carport"?'),
        ("damage peppers snu", '"snu" is no kind of damage', 'did you mean "sun"?'),
        ("damage pepers sun", 'there is no batch "pepers"', 'did you mean "peppers"?'),
        ("damage sun --at carprt", 'there is no spot "carprt"', 'did you mean "carport"?'),
        ("doen", 'log does not know "doen"', 'did you mean "done"?'),
        ("undo", 'log does not know "undo"', 'did you mean "--undo"?'),
        ("xyzzy", 'log does not know "xyzzy"', "see hardenoff log --help"),
        ("in peppers --overnight", "--overnight is no part of this", "leave it out"),
        ("in peppers --at carport", "--at is no part of this", "leave it out"),
        ("out carport", '"out carport" is not all there', "write: hardenoff log out peppers carport 07:15 18:00"),
        ("longer peppers", '"longer peppers" is not all there', "write: hardenoff log longer peppers 20:30"),
        ("low carport", '"low carport" is not all there', 'write: hardenoff log low carport "38 F"'),
        ("low", '"low" is not all there', 'write: hardenoff log low carport "38 F"'),
        ("sun 07:15 10:00", '"sun 07:15 10:00" is not all there', "write: hardenoff log sun carport 07:40 10:15"),
        (
            "damage peppers",
            '"damage peppers" is not all there',
            'hardenoff log damage peppers sun "white patches"',
        ),
        ("planted", '"planted" is not all there', "write: hardenoff log planted peppers"),
        ("finished", '"finished" is not all there', "write: hardenoff log finished peppers"),
        ("note", '"note" is not all there', 'write: hardenoff log note "first true leaves"'),
        ("", "log was told nothing", "see hardenoff log --help"),
        ("done --undo --fix a", "--undo takes one ID, or nothing", "see hardenoff log --help"),
        ("done --list", "--list takes no words", "see hardenoff log --help"),
    ],
)
def test_a_slip_is_told_and_nothing_is_written(home: Path, words: str, what: str, fix: str) -> None:
    """What is wrong, what was expected, what to write."""
    text = refused(*words.split())
    assert text.startswith(what)
    assert fix in text.splitlines()[-1]


def test_a_line_break_in_a_note_is_refused(home: Path) -> None:
    """An entry is a line of words."""
    assert "a text has a line break" in refused("note", "two\nlines")


def test_the_only_batch_need_not_be_named(home: Path) -> None:
    """Not even when it is planted out."""
    Path("garden.toml").write_text(GARDEN.split('[[batch]]\nname = "sun gold"')[0])
    assert recorded("planted").kind == "planted"


def test_names_that_differ_only_in_case_are_told_apart(home: Path) -> None:
    """As written first, in any case then."""
    assert named.same("Bed", ("bed", "Bed")) == "Bed"
    assert named.same("BED", ("bed", "Bed")) == "bed"


def test_a_garden_with_faults_records_nothing(home: Path) -> None:
    """Names and the zone are not known then."""
    Path("garden.toml").write_text("units = 7")
    refused("done")


# --- corrections -----------------------------------------------------------------------------------


def test_fix_replaces_an_entry(home: Path) -> None:
    """It speaks of the same date unless another is told; the old line stays in the file."""
    old = recorded("in", "peppers", "--on", "yesterday")
    result = log("out", "peppers", "carport", "07:15", "18:00", "--fix", old.id)
    new = everything()[-1]
    assert f"recorded in place of {old.id}: Tue 4 May, peppers: out" in result.stdout
    assert (new.corrects, new.on) == (old.id, old.on)
    assert everything()[0] == old
    assert standing(everything()) == (new,)
    assert recorded("in", "--fix", new.id, "--on", "today").on == DAY


def test_undo_takes_back_the_last_that_counts(home: Path) -> None:
    """Again and again, until nothing is left."""
    first, second = recorded("in", "peppers"), recorded("watered")
    assert "taken back: Wed 5 May, all batches: watered. Undo this: hardenoff log --undo" in log("--undo").stdout
    assert standing(everything()) == (first,)
    assert log("--undo").exit_code == Exit.DONE
    assert standing(everything()) == ()
    assert "has no entry that counts" in refused("--undo")
    assert [entry.corrects for entry in everything()] == [None, None, second.id, first.id]


def test_undo_takes_back_the_one_that_is_named(home: Path) -> None:
    """In any case of its letters."""
    first, second = recorded("in", "peppers"), recorded("watered")
    assert log("--undo", first.id.upper()).exit_code == Exit.DONE
    assert standing(everything()) == (second,)


def test_undoing_a_correction_says_what_counts_again(home: Path) -> None:
    """And an undo can be undone."""
    other, old = recorded("watered"), recorded("in", "peppers")
    new = recorded("done", "peppers", "--fix", old.id)
    result = log("--undo")
    assert result.stdout.splitlines()[1:] == ["counts again: Wed 5 May, peppers: inside all day"]
    assert standing(everything()) == (other, old)
    undo = everything()[-1]
    assert (undo.kind, undo.corrects, undo.on, undo.batch) == ("undo", new.id, DAY, "peppers")
    assert log("--undo", undo.id).exit_code == Exit.DONE
    assert standing(everything()) == (other, new)


@pytest.mark.parametrize("option", [("--undo", "{}"), ("in", "--fix", "{}")])
def test_what_does_not_count_can_be_neither_fixed_nor_undone(home: Path, option: tuple[str, ...]) -> None:
    """It says which entry to name instead."""
    old = recorded("in", "peppers")
    new = recorded("done", "peppers", "--fix", old.id)
    text = refused(*(word.format(old.id) for word in option))
    assert text.startswith(f"{old.id} does not count: it was replaced by {new.id}")
    assert f"name {new.id} instead" in text


@pytest.mark.parametrize("option", [("--undo", "b2c3x"), ("in", "--fix", "b2c3x")])
def test_an_id_that_is_not_there_is_told(home: Path, option: tuple[str, ...]) -> None:
    """With the nearest."""
    append(Path("garden.journal.jsonl"), Entry("b2c3d", at(19), DAY, "done"))
    text = refused(*option)
    assert text.startswith('there is no entry "b2c3x"')
    assert 'did you mean "b2c3d"?' in text


def test_an_id_that_is_taken_is_drawn_again(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """So that ids can be short."""
    drawn = iter(["bbbbb", "bbbbb", "bbbbb", "ccccc"])
    monkeypatch.setattr(book, "new_id", lambda: next(drawn))
    assert [recorded("done").id, recorded("in").id] == ["bbbbb", "ccccc"]


def test_ids_are_easy_to_type() -> None:
    """Five letters and digits, none that looks like another."""
    ids = {book.new_id() for _ in range(200)}
    assert all(re.fullmatch("[2-9b-df-hj-km-np-tv-z]{5}", name) for name in ids)
    assert len(ids) > 190


# --- lists -----------------------------------------------------------------------------------------


def test_the_list_is_what_counts_by_date(home: Path) -> None:
    """The very text: dates in order, a correction where the corrected was."""
    journal = Path("garden.journal.jsonl")
    for entry in (
        Entry("b1", at(19), DAY, "in", "peppers"),
        Entry("b2", at(19), DAY, "low", spot="carport", low_c=3.3),
        Entry("b3", at(19), date(2027, 5, 4), "out", None, "long bed", at(18, 0, 4), at(7)),
        Entry("b4", at(19), DAY, "longer", "peppers", end=at(20, 30), corrects="b1"),
        Entry("b5", at(19), DAY, "damage", damage_kind="other", text="chewed"),
        Entry("b6", at(19), DAY, "undo", corrects="b5"),
    ):
        append(journal, entry)
    assert log("--list").stdout == (
        "What was really done\n"
        "\n"
        "Tue 4 May 2027\n"
        "  b3 all batches: out at long bed, 18:00 to Wed 5 May 07:00\n"
        "\n"
        "Wed 5 May 2027\n"
        "  b4 peppers: out longer, until 20:30\n"
        "  b2 morning low at carport: 38°F\n"
        "\n"
        "Take one back: hardenoff log --undo ID. Say it anew: hardenoff log --fix ID ...\n"
    )
    text = log("--list", "--all", "--on", "today").stdout
    assert "  b1 replaced by b4: peppers: inside all day\n" in text
    assert "  b5 undone by b6: all batches: damage: chewed\n" in text
    assert "  b6 takes back b5\n" in text
    assert "b3" not in text


def test_an_empty_list_says_how_to_begin(home: Path) -> None:
    """And makes no file."""
    assert "hardenoff log done" in log("--list").stdout
    assert [path.name for path in home.iterdir()] == ["garden.toml"]


def test_a_list_tells_of_lines_that_cannot_be_read(home: Path) -> None:
    """With their numbers and what is the matter."""
    recorded("done")
    with Path("garden.journal.jsonl").open("a") as journal:
        journal.write('eaten by a snail\n{"id": "b')
    text = log("--list").stdout
    assert re.search(r"^  line 3: it is no JSON", text, re.MULTILINE)
    assert re.search(r"^  line 4: it is cut off; the next entry sets it aside$", text, re.MULTILINE)


def test_a_cut_line_that_was_set_aside_is_told_of_once(home: Path) -> None:
    """On stderr, when the next entry is recorded."""
    recorded("done")
    with Path("garden.journal.jsonl").open("a") as journal:
        journal.write('{"id": "b')
    assert "line 3: it was cut off; what was left of it is in garden.journal.damaged" in log("watered").stderr
    assert log("watered").stderr == ""


EVERY = [
    (Entry("b1", at(19), DAY, "planted", "peppers", "long bed"), "peppers: planted out at long bed"),
    (Entry("b1", at(19), DAY, "finished", "peppers"), "peppers: finished: in for good, or given away"),
    (Entry("b1", at(19), DAY, "sun", None, "porch", at(7, 40), at(10, 15)), "sun seen at porch, 07:40 to 10:15"),
    (
        Entry("b1", at(19), DAY, "out", None, "porch", at(7), at(0, 0, 6)),
        "all batches: out at porch, 07:00 to 24:00",
    ),
    (Entry("b1", at(19), DAY, "longer", end=at(0, 30, 6)), "all batches: out longer, until Thu 6 May 00:30"),
    (Entry("b1", at(19), DAY, "damage", damage_kind="wind"), "all batches: damage by wind"),
    (Entry("b1", at(19), DAY, "done", minutes=12), "all batches: as planned (12 min of carrying)"),
    (Entry("b1", at(19), DAY, "note", text="slugs"), "note: slugs"),
]


@pytest.mark.parametrize(("entry", "text"), EVERY, ids=[text for _, text in EVERY])
def test_an_entry_in_words(entry: Entry, text: str) -> None:
    """Times on the garden's clock, whatever offset the file has."""
    assert view.sentence(entry, ZONE, "metric") == text
    assert view.sentence(entry, "UTC", "metric") != text or entry.end is None


def test_a_list_fits_its_width() -> None:
    """At 40 columns; long words of a grower are wrapped, not lost."""
    words = "the lowest leaves of the two at the edge are pale, the others look as they did"
    entry = Entry("b2c3d", at(19), DAY, "note", text=words)
    text = view.render(Listing("x", ZONE, "us", [(entry, Fate("undone", "k"))], [Complaint(9, words)]), width=40)
    assert max(len(line) for line in text.splitlines()) <= 40
    assert " ".join(text.split()).count(words) == 2


# --- for programs ----------------------------------------------------------------------------------


def document(*words: str) -> dict[str, Any]:
    """The JSON answer, held to its published schema by an independent reader of the standard."""
    told = json.loads(log(*words, "--json").stdout)
    schema = json.loads(resources.files("hardenoff").joinpath("schemas", "log.json").read_text("utf-8"))
    Draft202012Validator(schema).validate(told)
    return dict(told)


def test_a_recorded_entry_as_json(home: Path) -> None:
    """The document of the list, with the one entry; SI, unknown null."""
    told = document("low", "carport", "38 F")
    assert told["schema"] == "hardenoff.log/1"
    assert told["timezone"] == ZONE
    assert told["journal"] == str(home.resolve() / "garden.journal.jsonl")
    (entry,) = told["entries"]
    assert entry == {
        "id": everything()[0].id,
        "on": "2027-05-05",
        "kind": "low",
        "batch": None,
        "spot": "carport",
        "from": None,
        "until": None,
        "low_c": 3.3,
        "forecast_low_c": None,
        "cloud_frac": None,
        "wind_m_s": None,
        "damage": None,
        "text": None,
        "minutes": None,
        "corrects": None,
        "written_at": "2027-05-05T19:00:00-04:00",
        "status": "counts",
        "by": None,
    }


def test_the_list_as_json(home: Path) -> None:
    """What counts; with --all the rest too, and what became of it."""
    old = recorded("in", "peppers")
    new = recorded("done", "peppers", "--fix", old.id)
    assert [entry["id"] for entry in document("--list")["entries"]] == [new.id]
    entries = document("--all")["entries"]
    assert [(entry["status"], entry["by"]) for entry in entries] == [("replaced", new.id), ("counts", None)]
    with Path("garden.journal.jsonl").open("a") as journal:
        journal.write("x\n")
    assert document("--list")["complaints"][0]["line"] == 4


def test_kinds_are_those_of_the_schema() -> None:
    """Neither more nor fewer."""
    schema = json.loads(resources.files("hardenoff").joinpath("schemas", "log.json").read_text("utf-8"))
    entry = schema["$defs"]["entry"]["properties"]
    assert entry["kind"]["enum"] == list(KINDS)
    assert entry["damage"]["enum"] == [*DAMAGE_KINDS, None]


# --- several at once -------------------------------------------------------------------------------


def test_four_programs_at_once_record_four_entries(home: Path) -> None:
    """A family in the garden: each is told what was recorded, and all of it is there."""
    running = [
        subprocess.Popen(
            [sys.executable, "-m", "hardenoff", "log", "note", f"number {number}", "--now", NOW],
            stdout=subprocess.PIPE,
            text=True,
            env=os.environ,
        )
        for number in range(4)
    ]
    answers = [process.communicate(timeout=60)[0] for process in running]
    assert [process.returncode for process in running] == [0] * 4
    assert sorted(entry.text or "" for entry in everything()) == [f"number {number}" for number in range(4)]
    assert {answer.split()[-1] for answer in answers} == {entry.id for entry in everything()}


def test_a_fault_of_the_words_is_a_usage_error() -> None:
    """Also for those who call it from Python."""
    garden = garden_from_text(Path("garden.toml"), GARDEN)
    with pytest.raises(UsageError):
        said.entry_of(["dun"], garden, said.Beside("b", at(19), DAY))
