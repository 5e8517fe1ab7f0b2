"""What moved since the last run: a line a change with its cause, and nothing when nothing did."""

import json
from dataclasses import replace

import pytest
from weather import FIRST, Weather, garden, hand_state, plan

from hardenoff.errors import UnreadableError
from hardenoff.keep import kept_path, read_kept, write_kept
from hardenoff.schedule.changes import Inputs, changes, from_document, keep, to_document

THEN = Inputs(forecast="table 1", garden="a", journal="x")
REVISED = replace(THEN, forecast="table 2")
READY = hand_state(air=10.0, sun=10.0, cold=1.0, light_mol=25.0)


@pytest.fixture(scope="module")
def mild():
    """A plan over settled days."""
    return plan(garden(state=READY), Weather(days=6).forecast())


@pytest.fixture(scope="module")
def colder():
    """The same days, ten degrees colder."""
    return plan(garden(state=READY), Weather(days=6, low_c=3.5, high_c=14.0).forecast())


def test_nothing_is_said_when_nothing_moved(mild):
    """The same inputs, or other inputs and the same plan: no line."""
    kept = keep(mild, THEN)
    assert changes(kept, mild, THEN) == ()
    assert changes(kept, mild, REVISED) == ()


def test_a_revised_forecast_names_what_it_moved(mild, colder):
    """Tonight out -> in, hardened later: each with 'forecast revised'."""
    moved = {change.what: change for change in changes(keep(mild, THEN), colder, REVISED)}
    assert (moved["night of Mon 3 May"].was, moved["night of Mon 3 May"].now) == ("out", "in")
    assert (moved["hardened"].was, moved["hardened"].now) == ("Tue 4 May", "Tue 11 May")
    assert {change.why for change in moved.values()} == {"forecast revised"}


def test_every_input_that_moved_is_named(mild, colder):
    """Journal and garden file as well."""
    other = Inputs(forecast="table 2", garden="b", journal="y")
    why = {change.why for change in changes(keep(mild, THEN), colder, other)}
    assert why == {"forecast revised and journal and garden file"}


def test_a_new_batch_is_no_change(mild):
    """What was not there before has not moved."""
    kept = keep(mild, THEN)
    assert changes(replace(kept, batches={}), mild, REVISED) == ()


def test_a_kept_run_reads_back_the_same(mild, tmp_path):
    """Through its document and through its file."""
    kept = keep(mild, THEN)
    assert from_document(json.loads(json.dumps(to_document(kept)))) == kept
    path = kept_path(tmp_path, tmp_path / "garden.toml")
    assert write_kept(path, kept) is None
    assert read_kept(path) == kept
    assert kept.made_on == FIRST.isoformat()


@pytest.mark.parametrize("damaged", ["", "[]", "{}", '{"schema": "hardenoff.kept/9"}', '{"schema"'])
def test_a_damaged_kept_run_counts_as_none(damaged, tmp_path):
    """It is replaced by the next run, without a word."""
    path = tmp_path / "run.json"
    path.write_text(damaged, encoding="utf-8")
    assert read_kept(path) is None


def test_another_schema_is_refused():
    """From code, the refusal is an error in three parts."""
    with pytest.raises(UnreadableError, match="kept run"):
        from_document({"schema": "hardenoff.kept/9"})


def test_a_folder_that_cannot_be_written_is_said(mild, tmp_path):
    """The run goes on; the next one can't compare."""
    blocked = tmp_path / "file"
    blocked.write_text("", encoding="utf-8")
    said = write_kept(blocked / "runs" / "run.json", keep(mild, THEN))
    assert said is not None
    assert "can't be kept" in said
