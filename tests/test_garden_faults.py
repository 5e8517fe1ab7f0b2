"""The garden file read wrong: each slip is told with line, key, value, what is expected, and what to do."""

import copy
import datetime as dt
from pathlib import Path

import pytest
import tomlkit
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from hardenoff.errors import Exit, GardenError
from hardenoff.garden import check_garden, read_garden
from hardenoff.garden.source import open_source
from hardenoff.records import Garden

GARDENS = Path(__file__).parents[1] / "fixtures" / "gardens"

BASE = """\
units = "us"

[place]
name = "Saltern Steps"
latitude = 43.61
longitude = -72.97
timezone = "America/New_York"

[carer]
weekdays = ["06:30-07:40", "17:45-21:00"]

[[spot]]
name = "porch"
roof = { above = "7 ft", front = "5 ft", back = "2 ft", left = "6 ft", right = "6 ft", open_to = 20 }
shelter = 0.4

[[spot]]
name = "steps"
sun_seen = [ { date = 2027-04-20, from = "07:40", until = "10:15" } ]

[[spot]]
name = "steps, cloth"
like = "steps"
shade = [0.5]

[[batch]]
name = "peppers"
crop = "sweet pepper"
sown = 2027-03-01
plant_out_at = "steps"
"""


@pytest.fixture(autouse=True)
def _folder(tmp_path, monkeypatch):
    """Each test has a folder of its own, so that messages name plain garden.toml."""
    monkeypatch.chdir(tmp_path)


def faults_of(text):
    """The faults of a garden file, as texts."""
    Path("garden.toml").write_text(text, encoding="utf-8")
    with pytest.raises(GardenError) as caught:
        read_garden(Path("garden.toml"))
    assert caught.value.exit_code == Exit.USAGE == 2
    return [str(fault) for fault in caught.value.faults]


def swapped(old, new):
    """The base garden with one piece of it replaced."""
    assert BASE.count(old) == 1, old
    return BASE.replace(old, new)


def test_the_base_garden_is_right():
    """Every fault below comes from the one thing that was changed."""
    Path("garden.toml").write_text(BASE)
    assert isinstance(read_garden(Path("garden.toml")), Garden)


# --- the full text ---------------------------------------------------------------------------------

WHOLE = {
    "a length without its unit": (
        'above = "7 ft"',
        "above = 7",
        'garden.toml, line 14, spot "porch", key roof.above: 7 has no unit\n'
        "  expected: height of the roof above the plant: a length with its unit (m, cm, mm, ft, in, yd), "
        'such as above = "7 ft"\n'
        '  do this:  write above = "7 ft" or "7 m"',
    ),
    "a negative height": (
        'above = "7 ft"',
        'above = "-7 ft"',
        'garden.toml, line 14, spot "porch", key roof.above: "-7 ft" is negative\n'
        '  expected: height of the roof above the plant: a length above 0, such as above = "7 ft"\n'
        "  do this:  check the number, its sign and its unit",
    ),
    "a key misspelt": (
        "shelter = 0.4",
        "sheltr = 0.4",
        'garden.toml, line 15, spot "porch", key sheltr: there is no such key\n'
        "  expected: one of name, roof, walls, trees, skyline, skyline_file, sun_seen, shade, shelter, holds, "
        "colder, cover, like\n"
        '  do this:  did you mean "shelter"?',
    ),
    "a key that slid below a heading": (
        'weekdays = ["06:30-07:40", "17:45-21:00"]',
        'weekdays = []\n[carer.days]\nfri = ["13:00-21:00"]\nmoves_per_day = 4',
        'garden.toml, line 13, [carer], key days.moves_per_day: "moves_per_day" is no day\n'
        '  expected: a weekday (mon, tue, wed, thu, fri, sat, sun) or a date in quotes ("2027-05-05")\n'
        "  do this:  move it: moves_per_day belongs under [carer]",
    ),
    "latitude 95": (
        "latitude = 43.61",
        "latitude = 95",
        "garden.toml, line 5, [place], key latitude: 95 is out of range\n"
        "  expected: latitude of the garden: a number from -90 to 90 (degrees, north positive), without quotes, "
        "such as latitude = 40.01\n"
        "  do this:  is it the longitude? the two may be swapped",
    ),
    "an unknown zone": (
        '"America/New_York"',
        '"New York"',
        'garden.toml, line 7, [place], key timezone: there is no time zone "New York"\n'
        '  expected: a zone of the IANA list, region/city, such as "America/New_York" or "Europe/Berlin"\n'
        '  do this:  did you mean "America/New_York"?',
    ),
    "an unknown crop": (
        '"sweet pepper"',
        '"sweat peper"',
        'garden.toml, line 28, batch "peppers", key crop: "sweat peper" is not in the crop table\n'
        "  expected: the name of a crop\n"
        '  do this:  did you mean "sweet pepper"?',
    ),
    "an unknown spot": (
        'plant_out_at = "steps"',
        'plant_out_at = "stepps"',
        'garden.toml, line 30, batch "peppers", key plant_out_at: there is no spot "stepps"\n'
        '  expected: the name of an outdoor spot ("porch", "steps", "steps, cloth")\n'
        '  do this:  did you mean "steps"?',
    ),
    "sun seen in the dark": (  # by astral 3.2, an independent library: 06:01:34 and 19:40:49
        'from = "07:40"',
        'from = "03:40"',
        'garden.toml, line 19, spot "steps", key sun_seen (entry 1): 2027-04-20 from 03:40 until 10:15: '
        "the sun is below the horizon then\n"
        "  expected: local times between sunrise and sunset (sunrise 06:01 and sunset 19:41 on that date)\n"
        "  do this:  correct the date or the times in sun_seen, and check latitude, longitude and timezone of the "
        "place",
    ),
    "a window over midnight": (
        '"17:45-21:00"',
        '"21:00-06:00"',
        'garden.toml, line 10, [carer], key weekdays (entry 2): "21:00-06:00" ends before it starts\n'
        '  expected: when someone can carry, Monday to Friday: a span of one day, "hh:mm-hh:mm" on the 24-hour '
        'clock, such as weekdays = ["17:45-21:00"]\n'
        '  do this:  swap the two, or over midnight write "21:00-24:00", "00:00-06:00"',
    ),
    "a share in percent": (
        "shade = [0.5]",
        "shade = [50]",
        'garden.toml, line 24, spot "steps, cloth", key shade (entry 1): 50 is not between 0 and 1\n'
        "  expected: share of light that passes each shade layer: a share from 0 (nothing) to 1 (all), "
        "such as shade = [0.5]\n"
        "  do this:  write 50 % as 0.5",
    ),
    "a key missing": (
        'crop = "sweet pepper"\n',
        "",
        'garden.toml, line 26, batch "peppers", key crop: this key is missing\n'
        '  expected: the crop, such as crop = "sweet pepper"\n'
        '  do this:  add crop = "sweet pepper"',
    ),
    "a date of another country": (
        "sown = 2027-03-01",
        'sown = "3/1/2027"',
        'garden.toml, line 29, batch "peppers", key sown: "3/1/2027" is no date\n'
        "  expected: date of sowing: a date, year-month-day, such as sown = 2027-03-01\n"
        "  do this:  write 2027-03-01 (1 Mar) or 2027-01-03 (3 Jan)",
    ),
    "an outing before sowing": (
        "sown = 2027-03-01",
        "sown = 2027-03-01\nstart = 2026-04-24",
        'garden.toml, line 30, batch "peppers", key start: 2026-04-24 is before the batch was sown (2027-03-01)\n'
        "  expected: a date on or after 2027-03-01\n"
        "  do this:  correct one of the two dates",
    ),
    "a name taken": (
        'name = "steps"\n',
        'name = "Porch"\n',
        'garden.toml, line 18, spot "Porch", key name: this name is taken (line 12)\n'
        "  expected: a name of its own for each spot; capitals make no difference\n"
        "  do this:  rename one of the two",
    ),
    "a room for a spot": (
        'name = "porch"',
        'name = "Inside"',
        'garden.toml, line 13, spot "Inside", key name: "inside" is always there: the room where they wait\n'
        "  expected: the name of an outdoor spot\n"
        "  do this:  rename the spot, or describe the room under [inside]",
    ),
    "like itself": (
        'like = "steps"',
        'like = "steps, cloth"',
        'garden.toml, line 23, spot "steps, cloth", key like: "steps, cloth" is like "steps, cloth": '
        "no spot of them has a geometry of its own\n"
        "  expected: a spot that says itself where it stands\n"
        "  do this:  give one of them its roof, walls, skyline or sun_seen, and remove its like",
    ),
    "a rule that isn't there": (
        "sown = 2027-03-01",
        'sown = 2027-03-01\nrule = "twelf days"',
        'garden.toml, line 30, batch "peppers", key rule: there is no ramp rule "twelf days"\n'
        "  expected: one of twelve_days, seven_days, three_steps, half_hour_first\n"
        '  do this:  did you mean "twelve_days"?',
    ),
    "a quantity without quotes": (
        'above = "7 ft"',
        "above = 7 ft",
        "garden.toml, line 14, column 20: broken TOML here\n"
        '    roof = { above = 7 ft, front = "5 ft", back = "2 ft", left = "6 ft", right = "6 ft", open_to = 20 }\n'
        '  expected: TOML: lines of the form key = value, texts and times in quotes, as in name = "carport"\n'
        '  do this:  put a value with a unit in quotes: above = "7 ft"',
    ),
}


@pytest.mark.parametrize(("old", "new", "said"), WHOLE.values(), ids=WHOLE)
def test_a_slip_is_told_in_full(old, new, said):
    """One slip, one fault, and its whole text."""
    if "like = " in new:  # a batch may not be planted at what is no spot any more
        assert faults_of(swapped(old, new)) == [said]
    else:
        assert faults_of(swapped(old, new))[0] == said


@pytest.mark.parametrize("case", [case for case in WHOLE if case not in ("a name taken",)])
def test_a_slip_makes_one_fault_only(case):
    """No fault drags others behind it."""
    old, new, _ = WHOLE[case]
    assert len(faults_of(swapped(old, new))) == 1


# --- files that are no garden ----------------------------------------------------------------------


def test_no_file():
    """Says how to get one."""
    with pytest.raises(GardenError) as caught:
        read_garden(Path("garden.toml"))
    assert str(caught.value) == (
        "there is no garden file at garden.toml\n"
        "  expected: a garden.toml that describes the place, its spots and the plants\n"
        "  do this:  run `hardenoff init` to write one, or name yours with --garden PATH; "
        "`hardenoff demo` needs none"
    )


def test_a_folder():
    """Names the file inside, if there is one."""
    Path("plot").mkdir()
    with pytest.raises(GardenError, match="plot is a folder") as caught:
        read_garden(Path("plot"))
    assert caught.value.fix == "name the file in it: --garden FOLDER/garden.toml"
    Path("plot/garden.toml").write_text(BASE)
    with pytest.raises(GardenError) as caught:
        read_garden(Path("plot"))
    assert caught.value.fix == f"write --garden {Path('plot/garden.toml')}"


@pytest.mark.parametrize("text", ["", "\n\n", "# only a remark\n"])
def test_an_empty_file(text):
    """Nothing, or nothing but remarks."""
    assert faults_of(text) == [
        "garden.toml is empty\n"
        "  expected: a garden file: at least a [place] and one [[batch]]\n"
        "  do this:  run `hardenoff init` in an empty folder and copy from what it writes"
    ]


def test_an_empty_garden_lacks_a_place_and_a_batch():
    """Both are told at once."""
    found = faults_of('units = "us"\n')
    assert [fault.split("\n")[0] for fault in found] == [
        "garden.toml, key place: there is no [place]",
        "garden.toml, key batch: there is no [[batch]]",
    ]


@pytest.mark.parametrize(
    ("content", "said"),
    [
        ("name = 'caf\xe9'\n".encode("latin-1"), "garden.toml, line 1: byte 0xe9 is not UTF-8 text"),
        (BASE.encode("utf-16"), "garden.toml, line 1: byte 0xff is not UTF-8 text"),
    ],
)
def test_other_encodings(content, said):
    """Latin-1 and UTF-16 are named as what they are not."""
    Path("garden.toml").write_bytes(content)
    with pytest.raises(GardenError) as caught:
        read_garden(Path("garden.toml"))
    assert caught.value.what == said
    assert caught.value.fix == "open it in an editor and save it with the encoding UTF-8"


@pytest.mark.parametrize(
    ("text", "where", "fix"),
    [
        ('a = "x\nb = 1\n', "line 1, column 7", "close the quotes on this line"),
        (
            "a = 1\n# remark\nb = [1,\n2\n",
            "line 3: what begins here is never closed",
            "close the list with ] and put a comma between its entries",
        ),
        ("[place\nx = 1\n", "line 1, column 7", "close the bracket of the heading: [place] or [[spot]]"),
        ("a = 1\na = 2\n", "line 2, column 6", "this key is there twice: remove one of the two"),
        (
            '[spot]\nname = "a"\n[spot]\n',
            "line 3, column 6",
            "this heading is there twice: a second spot or batch needs double brackets, as in [[spot]]",
        ),
        ("name = carport\n", "line 1, column 8", 'put texts in quotes: name = "carport"'),
        ("name = “porch”\n", "line 1, column 8", 'replace the curly quotes by straight ones: "'),
        (
            "from = 07:40\n",
            "line 1, column 9",
            'put times in quotes: "07:40", or "06:30-07:40" for a window',
        ),
        ("latitude = 40,01\n", "line 1, column 14", "write decimals after a point: 40.01"),
        ("nights = no\n", "line 1, column 10", "write true or false, in lower case, without quotes"),
        ("sown = 2027-02-30\n", "line 1, column 8", "no such day: check year, month and day, as in 2027-05-01"),
        ("night = 62F\n", "line 1, column 11", 'put a value with a unit in quotes: night = "62F"'),
        ("above = 5 ft 6 in\n", "line 1, column 11", 'put a value with a unit in quotes: above = "5 ft 6 in"'),
        ("roof = { a = 1,\nb = 2 }\n", "line 1, column 16", "keep everything between { and } on one line"),
        (
            "just a thought\n",
            "line 1, column 6",
            "write it as key = value, or put # before it to make it a remark",
        ),
        (
            'file = "C:\\garden\\h.csv"\n',
            "line 1, column 13",
            "write paths with / or in single quotes: 'C:\\garden\\horizon.csv'",
        ),
    ],
)
def test_broken_toml_names_line_and_slip(text, where, fix):
    """Line, column where there is one, and the usual cause."""
    Path("garden.toml").write_text(text, encoding="utf-8")
    with pytest.raises(GardenError) as caught:
        read_garden(Path("garden.toml"))
    assert f"garden.toml, {where}" in caught.value.what
    assert caught.value.fix == fix


@pytest.mark.parametrize("text", ["x = " + "9" * 5000, "x = " + "[" * 5000, "x = " + "{a=" * 3000])
def test_hostile_toml_is_refused(text):
    """Numbers and nesting that break Python's own limits are faults, not tracebacks."""
    assert len(faults_of(text)) == 1


# --- what can't be -------------------------------------------------------------------------------

CANT_BE = [
    # (in the base garden, instead of it, key that is named, part of what is said)
    ("longitude = -72.97", "longitude = 190", "longitude", "190 is out of range"),
    ("longitude = -72.97", 'longitude = "-72.97"', "longitude", '"-72.97" is no number'),
    ("longitude = -72.97", "longitude = nan", "longitude", "nan is no number"),
    ("longitude = -72.97", "longitude = true", "longitude", "true is no number"),
    ('timezone = "America/New_York"', 'timezone = "Europe/Berln"', "timezone", 'did you mean "Europe/Berlin"?'),
    ('timezone = "America/New_York"', 'timezone = "localtime"', "timezone", "write the largest city near you"),
    ('timezone = "America/New_York"', 'timezone = "America"', "timezone", "there is no time zone"),
    ('timezone = "America/New_York"', 'timezone = "../etc/passwd"', "timezone", "there is no time zone"),
    ('name = "Saltern Steps"', "elevation = 790", "elevation", "790 has no unit"),
    ('name = "Saltern Steps"', 'elevation = "790 F"', "elevation", '"F" is no unit of length'),
    ('name = "Saltern Steps"', 'elevation = "90000 ft"', "elevation", "out of range"),
    ('name = "Saltern Steps"', 'name = " "', "name", "the text is empty"),
    ('name = "Saltern Steps"', 'name = "a\\u001b[31mb"', "name", "control character"),
    ('units = "us"', 'units = "metrics"', "units", 'did you mean "metric"?'),
    ('units = "us"', "shelter = 0.4", "shelter", "move it: shelter belongs under [[spot]]"),
    ('units = "us"', "spots = []", "spots", 'did you mean "spot"?'),
    ('weekdays = ["06:30-07:40", "17:45-21:00"]', 'weekdays = "07:00-21:00"', "weekdays", "is not a list"),
    ('weekdays = ["06:30-07:40", "17:45-21:00"]', 'weekdays = ["7-9"]', "weekdays", "is no span of the day"),
    ('weekdays = ["06:30-07:40", "17:45-21:00"]', 'weekdays = ["07:00-07:00"]', "weekdays", "has no length"),
    ('weekdays = ["06:30-07:40", "17:45-21:00"]', 'weekdays = ["07:00-24:01"]', "weekdays", "is no span"),
    ('weekdays = ["06:30-07:40", "17:45-21:00"]', 'away = ["2027-05-03/2027-05-01"]', "away", "ends before"),
    ('weekdays = ["06:30-07:40", "17:45-21:00"]', 'away = ["next week"]', "away", "is no date"),
    ('weekdays = ["06:30-07:40", "17:45-21:00"]', "moves_per_day = 0", "moves_per_day", "0 is less than 1"),
    ('weekdays = ["06:30-07:40", "17:45-21:00"]', "trays_per_trip = 2.5", "trays_per_trip", "no whole number"),
    ('weekdays = ["06:30-07:40", "17:45-21:00"]', "minutes_per_trip = -1", "minutes_per_trip", "out of range"),
    ('weekdays = ["06:30-07:40", "17:45-21:00"]', "days = { frj = [] }", "days.frj", 'did you mean "fri"?'),
    ('weekdays = ["06:30-07:40", "17:45-21:00"]', "days = { fri = [], friday = [] }", "days", "there twice"),
    ("shelter = 0.4", "shelter = 1.4", "shelter", "1.4 is not between 0 and 1"),
    ("shelter = 0.4", "shelter = 40", "shelter", "write 40 % as 0.4"),
    ("shelter = 0.4", "shelter = [{ from = 90, to = 90, share = 0.5 }]", "shelter", "covers no bearing"),
    ("shelter = 0.4", "shelter = [{ from = 90, to = 400, share = 0.5 }]", "shelter.to", "400 is out of range"),
    ("shelter = 0.4", "holds = 0", "holds", "0 is less than 1"),
    ("shelter = 0.4", 'colder = "50 F"', "colder", "out of range"),
    ("shelter = 0.4", 'cover = "-2 F"', "cover", "is negative"),
    (
        "shelter = 0.4",
        "walls = [{ towards = 90, distance = 2, height = '3 m' }]",
        "walls.distance",
        "2 has no unit",
    ),
    ("shelter = 0.4", 'walls = [{ towards = 90, distance = "0 m", height = "2 m" }]', "walls.distance", "range"),
    ("shelter = 0.4", 'walls = { towards = 90, distance = "2 m", height = "2 m" }', "walls", "is not a list"),
    ("shelter = 0.4", "skyline = [[90, 12], [-90, 5]]", "skyline", "bearing -90 is not on the compass"),
    ("shelter = 0.4", "skyline = [[90, -3]]", "skyline", "height -3 is negative"),
    ("shelter = 0.4", "skyline = [[90, 95]]", "skyline", "height 95 is not between 0 and 90"),
    ("shelter = 0.4", "skyline = [90]", "skyline", "90 is no pair of numbers"),
    ("shelter = 0.4", "skyline = [[90, 1], [90, 2], [90, 3]]", "skyline", "bearing 90 has 3 heights"),
    ("shelter = 0.4", 'skyline_file = "gone.csv"', "skyline_file", "there is no such file"),
    (
        "shelter = 0.4",
        "trees = [{ from = 1, to = 2, bottom = 50, top = 10, leafy = 0 }]",
        "trees.top",
        "not above",
    ),
    ("shelter = 0.4", "trees = [{ from = 1, to = 2, bottom = 5, top = 9, leafy = 2 }]", "trees.leafy", "0 and 1"),
    (
        "shelter = 0.4",
        "trees = [{ from = 1, to = 2, bottom = 5, top = 9, leafy = 0, bare = 1 }]",
        "trees",
        "not when it comes into leaf",
    ),
    ("shelter = 0.4", 'above = "7 ft"', "above", "above itself belongs inside roof of [[spot]]"),
    ("shelter = 0.4", 'like = "stairs"', "like", 'there is no spot "stairs"'),
    ("open_to = 20", "open_to = 400", "roof.open_to", "400 is out of range"),
    (", open_to = 20", "", "roof.open_to", "this key is missing"),
    ('roof = { above = "7 ft",', 'roof = { above = "8 F",', "roof.above", '"F" is no unit of length'),
    ('until = "10:15"', 'until = "06:15"', "sun_seen", "ends before it starts"),
    ('until = "10:15"', 'until = "25:15"', "sun_seen.until", "is no time of day"),
    ("date = 2027-04-20", "date = 3027-04-20", "sun_seen.date", "the year of 3027-04-20 is far off"),
    ("date = 2027-04-20", "date = 2027-04-20T10:00:00", "sun_seen.date", "has a time of day"),
    ('plant_out_at = "steps"', 'waits = "cellar"', "waits", 'there is no spot "cellar"'),
    ('plant_out_at = "steps"', "plants = 0", "plants", "0 is less than 1"),
    ('plant_out_at = "steps"', 'trays = "1"', "trays", "remove the quotes: 1"),
    ('plant_out_at = "steps"', 'nights = "no"', "nights", "neither true nor false"),
    ('plant_out_at = "steps"', "lamp = { ppfd = 200 }", "lamp.hours", "this key is missing"),
    ('plant_out_at = "steps"', "lamp = { ppfd = 0, hours = 16 }", "lamp.ppfd", "out of range"),
    ('plant_out_at = "steps"', "lamp = { ppfd = 200, hours = 25 }", "lamp.hours", "out of range"),
    ('plant_out_at = "steps"', "lamp = 200", "lamp", "200 is not a table"),
    (
        'plant_out_at = "steps"',
        "state = { on = 2027-01-01, air = 1, sun = 1 }",
        "state",
        "before the batch was sown",
    ),
    ('plant_out_at = "steps"', "state = { on = 2027-05-01, air = -1, sun = 1 }", "state.air", "out of range"),
    ('plant_out_at = "steps"', 'from = "lampp"', "from", 'did you mean "lamp"?'),
    ('plant_out_at = "steps"', 'way = "short"', "way", '"longer"'),
    ('plant_out_at = "steps"', "check_below = 50", "check_below", 'write check_below = "50 F" or "50 C"'),
    (
        'plant_out_at = "steps"',
        'check_below = "40 F"\ncheck_below_hardened = "50 F"',
        "check_below_hardened",
        "warmer than check_below",
    ),
    ('plant_out_at = "steps"', "weeks_to_transplant = [9, 6]", "weeks_to_transplant", "least and most"),
    ('plant_out_at = "steps"', 'heavy_rain = "5 mm"', "heavy_rain", '"mm" is no unit of rate of rain'),
    ('plant_out_at = "steps"', '[forecast]\nsources = ["open-mateo"]', "sources", 'did you mean "open-meteo"?'),
    ('plant_out_at = "steps"', '[forecast.base_url]\nnws = "127.0.0.1"', "base_url.nws", "is no web address"),
    ('plant_out_at = "steps"', '[forecast.base_url]\nnvs = "http://a"', "base_url.nvs", "no forecast source"),
    ('plant_out_at = "steps"', '[forecast]\ncontact = "a\\r\\nHost: b"', "contact", "control character"),
    ('plant_out_at = "steps"', "[risk]\nharm = 10", "harm", "write 10 % as 0.1"),
    ('plant_out_at = "steps"', "[risk]\ncheck = 0", "check", "0 asks for certainty"),
    ('plant_out_at = "steps"', '[climate]\ndaily = "gone.csv"', "daily", "there is no file gone.csv"),
    ('plant_out_at = "steps"', "[inside]\nnight = 62", "night", 'write night = "62 F" or "62 C"'),
    ('plant_out_at = "steps"', '[inside]\nnight = "62 C"', "night", "out of range"),
]


@pytest.mark.parametrize(("old", "new", "key", "part"), CANT_BE, ids=[f"{case[1]}"[:60] for case in CANT_BE])
def test_what_cannot_be_is_named_by_its_key(old, new, key, part):
    """One fault, at its key, on the line where it stands, with the value or the repair."""
    text = swapped(old, new)
    (found,) = faults_of(text)
    first, expected, todo = found.split("\n")
    line = int(first.split("line ")[1].split(",")[0])
    assert f"key {key}" in first
    assert part in found
    assert expected.startswith("  expected: ")
    assert todo.startswith("  do this:  ")
    assert key.rsplit(".", 1)[-1] in text.split("\n")[line - 1] or "missing" in first


@pytest.mark.parametrize(
    ("content", "said"),
    [
        ("bearing,height\n90,12\n", 'begins with "bearing,height"'),
        ("bearing_deg,height_deg\n", "has no points"),
        ("bearing_deg,height_deg\n90,twelve\n", 'line 2: "90,twelve" are no numbers'),
        ("bearing_deg,height_deg\n90,12\n91,-4\n", "line 3: height -4.0 is negative"),
        ("bearing_deg,height_deg\n90\n", "line 2: [90.0] is no pair of numbers"),
        ("", 'begins with "nothing"'),
    ],
)
def test_a_skyline_file_is_read_as_strictly(content, said):
    """The fault names the CSV file and its line."""
    Path("horizon.csv").write_text(content)
    (found,) = faults_of(swapped("shelter = 0.4", 'skyline_file = "horizon.csv"'))
    assert "key skyline_file: horizon.csv" in found
    assert said in found


def test_a_skyline_in_two_ways():
    """Which of the two is right can't be guessed."""
    Path("horizon.csv").write_text("bearing_deg,height_deg\n90,12\n")
    (found,) = faults_of(swapped("shelter = 0.4", 'skyline_file = "horizon.csv"\nskyline = [[0, 1]]'))
    assert "the spot has skyline and skyline_file" in found


@pytest.mark.parametrize(
    ("heading", "said"),
    [("[spot]", "[spot] has one bracket"), ("[[place]]", "[[place]] has two brackets")],
)
def test_brackets(heading, said):
    """A single [spot] and a double [[place]]."""
    name = heading.strip("[]")
    text = '[place]\nlatitude = 1\nlongitude = 1\ntimezone = "UTC"\n[[batch]]\nname = "a"\ncrop = "leek"\n'
    text = text.replace("[place]", heading) if name == "place" else f'{text}{heading}\nname = "b"\n'
    assert said in faults_of(text)[0]


def test_nothing_is_planted_out_inside():
    """Not even if a spot has that name: the name is refused, and so is what points to it."""
    text = swapped('name = "porch"', 'name = "inside"').replace(
        'plant_out_at = "steps"', 'plant_out_at = "inside"'
    )
    found = faults_of(text)
    assert len(found) == 2
    assert 'the name of an outdoor spot ("steps", "steps, cloth")' in found[1]


def test_a_circle_of_likes_is_told_once():
    """Three spots, each like the next."""
    spots = "".join(f'[[spot]]\nname = "{a}"\nlike = "{b}"\n' for a, b in ("ab", "bc", "ca"))
    (found,) = faults_of(BASE + spots)
    assert '"a" is like "b" is like "c" is like "a"' in found


def test_all_faults_come_at_once_in_the_order_of_the_file():
    """A fault in one table hides none in another, nor in the same one."""
    text = (
        BASE.replace("latitude = 43.61", "latitude = 99")
        .replace('"06:30-07:40"', '"06:30-05:40"')
        .replace('above = "7 ft"', "above = 7")
        .replace("shelter = 0.4", "shelter = 4")
        .replace('like = "steps"', 'like = "stairs"')
        .replace('"sweet pepper"', '"sweat peper"')
        .replace('plant_out_at = "steps"', 'plant_out_at = "stairs"\nstart = 2027-01-01\ntrays = 0')
    )
    lines = [int(fault.split("line ")[1].split(",")[0]) for fault in faults_of(text)]
    assert lines == [5, 10, 14, 15, 23, 28, 30, 31, 32]


def test_check_tells_the_same_faults():
    """`check` prints them all and gives no garden."""
    text = BASE.replace("latitude = 43.61", "latitude = 99").replace("shelter = 0.4", "shelter = 4")
    faults = faults_of(text)
    report = check_garden(Path("garden.toml"))
    assert [str(fault) for fault in report.faults] == faults
    assert report.garden is None


def test_the_error_prints_every_fault():
    """What the command line shows is all of them."""
    Path("garden.toml").write_text(BASE.replace("latitude = 43.61", "latitude = 99").replace("0.4", "4"))
    with pytest.raises(GardenError) as caught:
        read_garden(Path("garden.toml"))
    assert str(caught.value).count("do this:") == 2


# --- laws ------------------------------------------------------------------------------------------

JUNK = st.one_of(
    st.integers(-(10**6), 10**6),
    st.floats(),
    st.booleans(),
    st.text(st.characters(codec="utf-8", exclude_categories=["Cs"]), max_size=8),
    st.sampled_from(["8 ft", "50 F", "07:00-21:00", "2027-05-01", "-1 m", "24:00", "0 C", "1/2 in", "inside"]),
    st.dates(),
    st.times().map(lambda at: at.replace(tzinfo=None, microsecond=0)),
    st.datetimes().map(lambda at: at.replace(microsecond=0)),
    st.lists(st.integers(-400, 400), max_size=3),
    st.dictionaries(st.sampled_from(["from", "to", "share", "on"]), st.integers(-400, 400), max_size=3),
)


def _paths(data, where=()):
    for step, value in data.items() if isinstance(data, dict) else enumerate(data):
        yield (*where, step)
        if isinstance(value, dict | list):
            yield from _paths(value, (*where, step))


DATA = open_source(GARDENS / "every_key.toml").data
PATHS = sorted(_paths(DATA), key=str)


@settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(where=st.sampled_from(PATHS), junk=JUNK)
def test_whatever_a_key_is_given_the_answer_is_a_garden_or_its_faults(where, junk):
    """Random junk at a random place: never another error, and every fault is in three parts and names the file."""
    for name in ("horizon.csv", "minima.csv"):
        Path(name).write_text((GARDENS / name).read_text())
    data = copy.deepcopy(DATA)
    inner = data
    for step in where[:-1]:
        inner = inner[step]
    inner[where[-1]] = junk
    Path("garden.toml").write_text(tomlkit.dumps(data), encoding="utf-8")
    report = check_garden(Path("garden.toml"))
    if not report.faults:
        assert isinstance(read_garden(Path("garden.toml")), Garden)
    for fault in report.faults:
        assert fault.what.startswith("garden.toml")
        assert fault.expected
        assert fault.fix


@given(text=st.text(st.characters(codec="utf-8", exclude_categories=["Cs"])))
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
def test_any_text_is_a_garden_or_its_faults(text):
    """No text makes a traceback."""
    Path("garden.toml").write_bytes(text.encode())
    assert check_garden(Path("garden.toml")).faults


@given(key=st.sampled_from(["sown", "start"]), year=st.integers(1900, 2199))
@settings(max_examples=20, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
def test_any_year_is_read(key, year):
    """No clock in here: what is long past or far ahead is as the grower says, within three centuries."""
    on = dt.date(year, 3, 1)
    Path("garden.toml").write_text(swapped("sown = 2027-03-01", f"{key} = {on}"))
    assert getattr(read_garden(Path("garden.toml")).batches[0], key) == on


TWICE = """
[place]
latitude = 40.01
longitude = -83.02
elevation = "790"
timezone = "America/New_York"
[[spot]]
name = "porch"
[[spot]]
name = "Porch"
like = "nowhere"
[[batch]]
name = "peppers"
crop = "sweet pepper"
[[batch]]
name = "Peppers"
crop = "sweet peper"
"""


def test_a_name_that_is_taken_hides_no_other_fault(tmp_path):
    """The second spot and batch are looked over all the same."""
    (tmp_path / "garden.toml").write_text(TWICE)
    told = [fault.what for fault in check_garden(tmp_path / "garden.toml").faults]
    assert sum("this name is taken" in what for what in told) == 2
    assert sum('there is no spot "nowhere"' in what for what in told) == 1
    assert sum('"sweet peper" is not in the crop table' in what for what in told) == 1
    assert len(told) == 5


def test_an_elevation_with_a_fault_is_not_missing_as_well(tmp_path):
    """One is told of what is there."""
    (tmp_path / "garden.toml").write_text(TWICE)
    assert "no_elevation" not in [advice.code for advice in check_garden(tmp_path / "garden.toml").advice]
    (tmp_path / "garden.toml").write_text(TWICE.replace('elevation = "790"', ""))
    assert "no_elevation" in [advice.code for advice in check_garden(tmp_path / "garden.toml").advice]
