"""The garden file read right: every key, every default, and what `check` and `init` make of it."""

import re
import subprocess
import sys
import tomllib
from datetime import UTC, date, datetime, time
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hardenoff.garden import check_garden, read_garden, starter_text
from hardenoff.garden import schema as file_schema
from hardenoff.garden.asked import keys
from hardenoff.garden.source import open_source
from hardenoff.garden.spots import default_spots
from hardenoff.garden.times import merged
from hardenoff.records import (
    ForecastSettings,
    HandState,
    Inside,
    Lamp,
    Place,
    Risk,
    Roof,
    ShelterArc,
    Span,
    SunSeen,
    Tree,
    Wall,
)
from hardenoff.sun.geometry import share, sky_view
from hardenoff.sun.position import sky
from hardenoff.tables import find_crop

GARDENS = Path(__file__).parents[1] / "fixtures" / "gardens"
PLACE = """
[place]
latitude = 40.01
longitude = -83.02
timezone = "America/New_York"
"""
BATCH = """
[[batch]]
name = "peppers"
crop = "sweet pepper"
"""


@pytest.fixture(scope="module")
def garden():
    """The garden that uses every key."""
    return read_garden(GARDENS / "every_key.toml")


@pytest.fixture
def reading(tmp_path):
    """Reads a garden from a text."""

    def read(text):
        path = tmp_path / "garden.toml"
        path.write_text(text, encoding="utf-8")
        return read_garden(path)

    return read


# --- every key -------------------------------------------------------------------------------------


def test_the_place(garden):
    """Elevation in metres (640 ft), the rest as written."""
    assert garden.place == Place("Saltern Steps", 43.61, -72.97, pytest.approx(195.072), "America/New_York")
    assert garden.units == "us"


def test_windows_of_a_week_are_in_order_and_those_that_overlap_are_one(garden):
    """06:30-07:40 and 07:20-08:00 are one window; Friday has its own; it may end at midnight."""
    monday, friday, saturday = garden.carer.week[0], garden.carer.week[4], garden.carer.week[5]
    assert monday == (Span(390, 480), Span(1065, 1260))
    assert friday == (Span(390, 460), Span(780, 1440))
    assert saturday == (Span(420, 1260),)


def test_dates_of_their_own_and_days_away(garden):
    """A date's windows beat the weekday's, none at all is possible, and away beats both."""
    carer = garden.carer
    assert carer.spans(date(2027, 5, 5)) == (Span(720, 780),)
    assert carer.spans(date(2027, 5, 6)) == ()
    assert carer.away == ((date(2027, 5, 1), date(2027, 5, 3)), (date(2027, 5, 20), date(2027, 5, 20)))
    assert carer.spans(date(2027, 5, 2)) == ()
    assert (carer.moves_per_day, carer.trays_per_trip, carer.minutes_per_trip) == (3, 2, 2.5)


def test_the_room(garden):
    """62 F at night is 16.67 C."""
    assert garden.inside == Inside(pytest.approx(16.667, abs=0.001), 21.0, "window")


def test_a_roof(garden):
    """Feet and inches, metres, north as 360 and no house, in metres and degrees."""
    porch = garden.spot("porch")
    assert porch.roof == Roof(
        pytest.approx(2.1336), pytest.approx(1.6764), 0.0, pytest.approx(1.8288), 2.0, 0.0, house=False
    )
    assert (porch.shelter, porch.holds) == ((ShelterArc(0.0, 360.0, 0.4),), 8)


def test_walls_and_trees(garden):
    """A wall with ends and one without; a maple that sheds its leaves and a yew that doesn't."""
    yard = garden.spot("wash house yard")
    assert yard.walls == (
        Wall(90.0, 2.0, 1.6, 3.0, 4.0),
        Wall(270.0, pytest.approx(2.032), pytest.approx(1.524), None, None),
    )
    maple, yew = yard.trees
    assert maple == Tree(200.0, 250.0, 10.0, 50.0, 0.2, 0.5, (5, 1), (11, 1))
    assert (yew.from_deg, yew.to_deg, yew.leafy, yew.bare) == (340.0, 20.0, 0.1, 0.1)
    assert yard.shelter == (ShelterArc(225.0, 315.0, 0.3), ShelterArc(0.0, 360.0, 0.8))
    assert yard.colder_c == pytest.approx(1.667, abs=0.001)


def test_a_spot_like_another_has_its_geometry_room_and_wind_and_its_own_shade(garden):
    """Two cloths of 0.5 and 0.7 pass 0.35 of the light at the same place."""
    yard, cloth = garden.spot("wash house yard"), garden.spot("wash house yard, two cloths")
    assert cloth.shade == pytest.approx(0.35)
    assert cloth.like == yard.name
    for same in ("roof", "walls", "trees", "skyline", "sun_seen", "shelter", "colder_c", "holds"):
        assert getattr(cloth, same) == getattr(yard, same)


def test_times_seen(garden):
    """Two times of one date that overlap are one; dates and times may be TOML's own or texts."""
    assert garden.spot("south steps").sun_seen == (
        SunSeen(date(2027, 4, 20), time(7, 40), time(10, 15)),
        SunSeen(date(2027, 5, 18), time(7, 10), time(10, 50)),
    )


def test_skylines(garden):
    """Points in order of bearing, 360 as 0, from the file or a CSV beside it; an upright edge keeps its order."""
    assert garden.spot("upper bed").skyline == ((0.0, 3.0), (90.0, 12.0), (180.0, 5.0), (270.0, 20.0))
    assert garden.spot("lower bed").skyline == (
        (0.0, 3.0),
        (90.0, 12.0),
        (180.0, 25.0),
        (180.0, 4.0),
        (270.0, 18.5),
    )
    assert garden.spot("lower bed").cover_c == pytest.approx(1.111, abs=0.001)


def test_a_batch(garden):
    """Everything a batch can say of itself."""
    peppers = garden.batches[0]
    assert (peppers.name, peppers.plants, peppers.trays, peppers.container) == ("peppers", 12, 2, "3 in pot")
    assert (peppers.sown, peppers.start) == (date(2027, 3, 1), date(2027, 4, 24))
    assert peppers.lamp == Lamp(200.0, 16.0, time(6))
    assert peppers.state == HandState(date(2027, 4, 28), 4.0, 2.5, 1.0, 14.0)
    assert (peppers.plant_out_at, peppers.waits) == ("lower bed", "porch")
    assert (peppers.background, peppers.nights, peppers.way, peppers.rule.key) == (
        "lamp",
        False,
        "longer",
        "twelve_days",
    )


def test_crop_values_of_ones_own(garden):
    """Every override reaches its field of the crop, in SI."""
    crop = garden.batches[0].crop
    assert crop.key == "sweet_pepper"
    assert (crop.hardy, crop.weeks_to_transplant) == (False, (7.0, 9.0))
    assert crop.check_below_tender_c == pytest.approx(12.778, abs=0.001)
    assert crop.check_below_hardened_c == pytest.approx(10.0)
    assert (crop.harm_below_tender_c, crop.harm_below_hardened_c) == (5.0, pytest.approx(2.222, abs=0.001))
    assert crop.least_air_c == pytest.approx(11.111, abs=0.001)
    assert (crop.heat_shade_c, crop.heat_in_c) == (30.0, 34.0)
    assert crop.sun_after_cold_night_c == pytest.approx(15.556, abs=0.001)
    assert crop.heavy_rain_mm_h == pytest.approx(5.08)


def test_sources_risk_and_climate(garden):
    """Sources in order, a stand-in server without its last slash, the odds, a file beside the garden."""
    assert garden.forecast == ForecastSettings(
        ("nws", "open-meteo"), "grower@example.org", {"open-meteo": "http://127.0.0.1:8123"}, exact_place=True
    )
    assert garden.risk == Risk(0.2, 0.4, 0.05)
    assert garden.climate_daily == str(GARDENS / "minima.csv")


def _all_tables():
    found = [file_schema.RootTable, *file_schema.TABLES.values()]
    inner = [
        file_schema.RoofTable,
        file_schema.WallTable,
        file_schema.TreeTable,
        file_schema.SunSeenTable,
        file_schema.ShelterTable,
        file_schema.LampTable,
        file_schema.StateTable,
    ]
    return [*found, *inner]


def test_the_fixture_leaves_no_key_out():
    """Each key of the schema stands somewhere in the file that claims to use them all."""
    text = (GARDENS / "every_key.toml").read_text()
    for table in _all_tables():
        for name in keys(table):
            assert re.search(rf"\b{name}\b", text), f"{table.__name__}.{name}"


@pytest.mark.parametrize("table", _all_tables(), ids=lambda table: table.__name__)
def test_every_example_that_an_error_shows_is_valid(table):
    """The line an error message offers can be copied as it stands."""
    given_keys = {}
    for name, field in keys(table).items():
        example = tomllib.loads(field.examples[0])
        given_keys[name] = example if name in ("days", "base_url") else example[name]
    assert table.model_validate(given_keys)


# --- defaults --------------------------------------------------------------------------------------


def test_the_least_garden_has_two_spots_a_carer_and_a_lamp():
    """Place and one batch are enough: a shaded and an open spot, home from 7 to 21, the common lamp."""
    garden = read_garden(GARDENS / "least.toml")
    assert [spot.name for spot in garden.spots] == ["shade", "open"]
    assert garden.spot("shade").shelter == (ShelterArc(0.0, 360.0, 0.4),)
    assert garden.carer.week == ((Span(420, 1260),),) * 7
    assert garden.batches[0].lamp == Lamp(150.0, 16.0)
    assert garden.batches[0].background == "lamp"
    assert garden.batches[0].rule.key == find_crop("tomato").rule
    assert (garden.units, garden.risk, garden.place.elevation_m) == ("metric", Risk(), None)


@pytest.mark.parametrize("latitude", [-65.0, -43.0, -23.4, -5.0, 0.0, 5.0, 23.4, 40.0, 60.0, 65.0])
def test_no_direct_sun_reaches_the_default_shade(latitude):
    """Every ten minutes of a year; the open spot beside it gets the sun whenever it is up."""
    place = Place("anywhere", latitude, 0.0, 0.0, "UTC")
    shade, opened = default_spots(latitude)
    sun = sky(place, datetime(2027, 1, 1, tzinfo=UTC), datetime(2028, 1, 1, tzinfo=UTC), step_min=10)
    assert share(shade, place, sun).max() == 0.0
    assert (share(opened, place, sun) > 0).sum() == (sun.elevation_deg > 0).sum()
    assert 0.05 < sky_view(shade) < 0.5


@pytest.mark.parametrize(
    ("inside", "batch", "lamp", "background"),
    [
        ("", "", Lamp(150.0, 16.0), "lamp"),
        ('[inside]\nlight = "window"', "", None, "window"),
        ('[inside]\nlight = "window"', 'from = "lamp"', Lamp(150.0, 16.0), "lamp"),
        ('[inside]\nlight = "window"', "lamp = { ppfd = 90, hours = 12 }", Lamp(90.0, 12.0), "lamp"),
        ("", 'from = "bought"', Lamp(150.0, 16.0), "bought"),
    ],
)
def test_the_lamp_and_what_plants_are_used_to(reading, inside, batch, lamp, background):
    """Without a word they are used to where they wait."""
    read = reading(f"{PLACE}\n{inside}\n{BATCH}{batch}").batches[0]
    assert (read.lamp, read.background) == (lamp, background)


def test_only_weekdays_given_leaves_weekends_at_home(reading):
    """What isn't said keeps its default."""
    carer = reading(f'{PLACE}[carer]\nweekdays = ["18:00-20:00"]\n{BATCH}').carer
    assert carer.week[0] == (Span(1080, 1200),)
    assert carer.week[6] == (Span(420, 1260),)


def test_one_limit_of_a_pair_takes_the_other_along(reading):
    """Checking at 40 F puts the hardened limit, 50 F in the table, at 40 F as well: never above the tender one."""
    crop = reading(f'{PLACE}{BATCH}check_below = "40 F"\nheat_in = "30 C"').batches[0].crop
    assert crop.check_below_hardened_c == crop.check_below_tender_c == pytest.approx(4.444, abs=0.001)
    assert crop.heat_shade_c == crop.heat_in_c == 30.0
    crop = reading(f'{PLACE}{BATCH}check_below_hardened = "60 F"\nheat_shade = "36 C"').batches[0].crop
    assert crop.check_below_hardened_c == crop.check_below_tender_c == pytest.approx(15.556, abs=0.001)
    assert crop.heat_shade_c == crop.heat_in_c == 36.0


def test_an_upright_edge_due_north_keeps_its_order(reading):
    """Coming clockwise to 360 the skyline stands at 30 degrees, going on from 0 at 2."""
    text = f'{PLACE}[[spot]]\nname = "bed"\nskyline = [[0, 2], [90, 12], [360, 30]]\n{BATCH}'
    assert reading(text).spots[0].skyline == ((0.0, 30.0), (0.0, 2.0), (90.0, 12.0))


def test_a_leap_day_counts_as_the_day_before(reading):
    """29 February is no day of most years."""
    crown = "from = 1, to = 9, bottom = 0, top = 9, leafy = 0, bare = 1"
    tree = f'trees = [{{ {crown}, leaf_out = "2-29", leaf_fall = "11-1" }}]'
    assert reading(f'{PLACE}[[spot]]\nname = "bed"\n{tree}\n{BATCH}').spots[0].trees[0].leaf_out == (2, 28)


def test_windows_that_touch_are_one(reading):
    """Until 12:00 and from 12:00 leaves no gap in which nobody is there."""
    carer = reading(f'{PLACE}[carer]\nweekdays = ["12:00-13:00", "07:00-12:00"]\n{BATCH}').carer
    assert carer.week[0] == (Span(420, 780),)


def test_a_window_just_long_enough_needs_no_advice(tmp_path):
    """Three trips of 3 minutes fit into 9."""
    path = tmp_path / "garden.toml"
    path.write_text(f'{PLACE}[carer]\nweekdays = ["07:00-07:09"]\nweekends = []\n{BATCH}trays = 6')
    assert "no_time_to_carry" not in [advice.code for advice in check_garden(path).advice]


def test_a_chain_of_likes_ends_at_its_root(reading):
    """Two steps away: geometry and room of the first, layers multiplied; a cover must be named again."""
    garden = reading(
        f"""{PLACE}
        [[spot]]
        name = "double cloth"
        like = "cloth"
        shade = [0.5]
        [[spot]]
        name = "cloth"
        like = "bench"
        shade = [0.5]
        shelter = 0.5
        [[spot]]
        name = "bench"
        skyline = [[0, 10]]
        holds = 3
        cover = "2 C"
        colder = "1 C"
        {BATCH}"""
    )
    double = garden.spot("double cloth")
    assert (double.like, double.shade, double.skyline) == ("bench", 0.25, ((0.0, 10.0),))
    assert (double.holds, double.colder_c, double.shelter) == (3, 1.0, (ShelterArc(0.0, 360.0, 0.5),))
    assert double.cover_c is None
    assert garden.spot("bench").like is None


def test_a_batch_sown_in_the_future_is_no_fault(reading):
    """A plan for next spring is what the tool is for."""
    assert reading(f"{PLACE}{BATCH}sown = 2199-03-01").batches[0].sown == date(2199, 3, 1)


def test_to_wait_inside_is_the_default_said_aloud(reading):
    """`inside` is a place to wait, though no spot."""
    assert reading(f'{PLACE}{BATCH}waits = "inside"').batches[0].waits is None


def test_the_default_spots_can_be_named(reading):
    """`open` and `shade` exist where no spot is described."""
    assert reading(f'{PLACE}{BATCH}plant_out_at = "open"').batches[0].plant_out_at == "open"


def test_the_sun_of_a_polar_night_may_pass_midnight(reading):
    """In Tromso in June the sun can be seen from 23:00 until 01:00."""
    garden = reading(
        f"""
        [place]
        latitude = 69.65
        longitude = 18.96
        timezone = "Europe/Oslo"
        [[spot]]
        name = "north steps"
        sun_seen = [ {{ date = 2027-06-20, from = "23:00", until = "01:00" }} ]
        {BATCH}"""
    )
    assert garden.spots[0].sun_seen == (SunSeen(date(2027, 6, 20), time(23), time(1)),)


@pytest.mark.parametrize("rule", ["seven_days", "seven days", "Seven Days, for hardy crops"])
def test_a_rule_goes_by_key_or_title(reading, rule):
    """Capitals, spaces and underscores make no difference."""
    assert reading(f'{PLACE}{BATCH}rule = "{rule}"').batches[0].rule.key == "seven_days"


@pytest.mark.parametrize("ending", ["\n", "\r\n"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_files_of_other_editors(tmp_path, ending, mark):
    """Line ends of two kinds, with and without a byte order mark."""
    path = tmp_path / "garden.toml"
    path.write_bytes((mark + (PLACE + BATCH).replace("\n", ending)).encode())
    assert read_garden(path).batches[0].name == "peppers"


# --- laws ------------------------------------------------------------------------------------------

SPANS = st.lists(
    st.tuples(st.integers(0, 1439), st.integers(1, 300)).map(lambda pair: Span(pair[0], min(1440, sum(pair)))),
    max_size=8,
)


@given(spans=SPANS)
def test_merging_windows_keeps_their_minutes(spans):
    """The same minutes of the day, in order, with a gap between any two."""

    def minutes(windows):
        return {minute for span in windows for minute in range(span.start_min, span.end_min)}

    result = merged(spans)
    assert minutes(result) == minutes(spans)
    assert all(one.end_min < two.start_min for one, two in pairwise(result))


def test_every_key_is_found_on_its_line():
    """The line told for a key is the line on which it is written."""
    source = open_source(GARDENS / "every_key.toml")
    lines = source.text.split("\n")

    def walk(data, where):
        for step, value in data.items() if isinstance(data, dict) else enumerate(data):
            at = (*where, step)
            if isinstance(step, str):
                line = source.line(at)
                statement = source.statement(at)
                assert any(step in text for text in lines[line - 1 : statement.last]), at
            if isinstance(value, dict | list):
                walk(value, at)

    walk(source.data, ())
    assert lines[source.line(("batch", 1, "crop")) - 1] == 'crop = "leek"'
    assert lines[source.line(("spot", 1, "walls", 1, "height")) - 1] == "walls = ["


# --- check -----------------------------------------------------------------------------------------


def _codes(report):
    return [advice.code for advice in report.advice]


def test_check_of_a_right_garden_has_no_faults():
    """What is left is advice, and the garden is there."""
    report = check_garden(GARDENS / "every_key.toml")
    assert report.faults == ()
    assert report.garden is not None
    assert _codes(report) == ["no_shelter", "no_plant_out_at", "no_start", "no_sown"]


def test_check_of_the_least_garden_says_what_would_help():
    """Elevation, carer, spots, and what the batch leaves open."""
    assert _codes(check_garden(GARDENS / "least.toml")) == [
        "no_elevation",
        "no_carer",
        "no_spots",
        "no_plant_out_at",
        "no_start",
        "no_sown",
        "lamp_assumed",
        "no_contact",
    ]


def test_an_advice_reads_in_three_parts():
    """What there is, why it matters, what to do."""
    advice = check_garden(GARDENS / "least.toml").advice[3]
    assert str(advice) == (
        'batch "tomatoes": no plant_out_at\n'
        "  why:      it is hardened for the spot with most open sky\n"
        '  do this:  add plant_out_at = "..." with the name of the spot it will be planted at'
    )


@pytest.mark.parametrize(
    ("code", "text"),
    [
        ("zone_far_from_sun", PLACE.replace("-83.02", "83.02") + BATCH),
        ("no_time_to_carry", f'{PLACE}[carer]\nweekdays = ["07:00-07:05"]\nweekends = []\n{BATCH}trays = 6'),
        ("no_time_to_carry", f"{PLACE}[carer]\nweekdays = []\nweekends = []\n{BATCH}"),
        ("no_roof", f'{PLACE}[[spot]]\nname = "bed"\n{BATCH}'),
        ("no_shade", f'{PLACE}[[spot]]\nname = "bed"\n{BATCH}'),
        (
            "one_date_seen",
            f'{PLACE}[[spot]]\nname = "bed"\n'
            f'sun_seen = [{{ date = 2027-05-01, from = "09:00", until = "11:00" }}]\n{BATCH}',
        ),
        ("harm_above_check", f'{PLACE}{BATCH}harm_below = "60 F"'),
        ("too_many_trays", f'{PLACE}[[spot]]\nname = "sill"\nholds = 2\n{BATCH}trays = 3'),
        ("dim_light", f'{PLACE}[inside]\nlight = "dim"\n{BATCH}'),
        ("no_contact", f'{PLACE}[forecast]\nsources = ["met-norway"]\n{BATCH}'),
        ("no_contact", f"{PLACE}{BATCH}".replace("America/New_York", "Europe/Lisbon")),
    ],
)
def test_check_gives_advice_where_it_is_due_and_not_elsewhere(tmp_path, code, text):
    """Each advice comes for its own reason."""
    path = tmp_path / "garden.toml"
    path.write_text(text)
    report = check_garden(path)
    assert report.faults == ()
    assert code in _codes(report)
    path.write_text(
        f"""{PLACE}elevation = "200 m"
        [carer]
        [[spot]]
        name = "porch"
        roof = {{ above = "2 m", front = "2 m", back = "1 m", left = "2 m", right = "2 m", open_to = 90 }}
        shelter = 0.4
        {BATCH}
        sown = 2027-03-01
        start = 2027-04-20
        lamp = {{ ppfd = 150, hours = 16 }}"""
    )
    assert _codes(check_garden(path)) == []


def test_check_reports_a_missing_file_instead_of_raising(tmp_path):
    """No file is a fault like any other."""
    report = check_garden(tmp_path / "garden.toml")
    assert len(report.faults) == 1
    assert report.garden is None


# --- init ------------------------------------------------------------------------------------------


def _starter(**changes):
    answers = {
        "name": "Saltern Steps",
        "latitude": 43.61,
        "longitude": -72.97,
        "timezone": "America/New_York",
        "today": date(2027, 4, 20),
        "crops": [("tomato", 12), ("leek", 60), ("Tomato", 6)],
        "weekdays": ["06:30-07:40", "17:45-21:00"],
    }
    return starter_text(**(answers | changes))


@pytest.mark.parametrize("units", ["us", "metric"])
def test_the_starter_is_valid_with_and_without_its_examples(reading, units):
    """As written, and with every example uncommented: roof, walls, skyline, times seen, cloth."""
    text = _starter(units=units)
    garden = reading(text)
    assert garden.units == units
    assert [batch.name for batch in garden.batches] == ["tomato", "leek", "Tomato 2"]
    assert [batch.plants for batch in garden.batches] == [12, 60, 6]
    assert garden.carer.week[0] == (Span(390, 460), Span(1065, 1260))
    whole = reading(re.sub(r"(?m)^#(?=\S)", "", text))
    assert [bool(spot.roof or spot.walls or spot.skyline or spot.sun_seen) for spot in whole.spots] == [True] * 5
    assert whole.place.elevation_m == pytest.approx(240, abs=1)
    assert whole.batches[0].start == date(2027, 4, 20)


def test_the_examples_are_about_the_same_size_in_both_systems(reading):
    """Someone who changes the units of a copied example stays near the truth."""
    us, metric = (reading(re.sub(r"(?m)^#(?=\S)", "", _starter(units=units))) for units in ("us", "metric"))
    assert us.spots[0].roof.above_m == pytest.approx(metric.spots[0].roof.above_m, rel=0.05)
    assert us.spots[1].walls[0].height_m == pytest.approx(metric.spots[1].walls[0].height_m, rel=0.05)
    assert us.inside.night_c == pytest.approx(metric.inside.night_c, abs=0.5)


@given(name=st.text(st.characters(exclude_categories=["Cs", "Cc"]), min_size=1).filter(str.strip))
def test_any_name_survives_the_starter(name):
    """Quotes and backslashes in a name are written so that they come back."""
    assert tomllib.loads(_starter(name=name))["place"]["name"] == name


# --- cost ------------------------------------------------------------------------------------------


def test_importing_the_package_loads_nothing_heavy():
    """pydantic, tomlkit, pandas and pvlib wait until a garden needs them."""
    code = (
        "import sys, hardenoff.garden, hardenoff.units\n"
        "heavy = {'pydantic', 'tomlkit', 'numpy', 'pandas', 'pvlib', 'requests_cache'} & set(sys.modules)\n"
        "assert not heavy, heavy\n"
        f"hardenoff.garden.read_garden(__import__('pathlib').Path({str(GARDENS / 'least.toml')!r}))\n"
        "heavy = {'tomlkit', 'numpy', 'pandas', 'pvlib', 'requests_cache'} & set(sys.modules)\n"
        "assert not heavy, heavy\n"
    )
    subprocess.run([sys.executable, "-c", code], check=True)
