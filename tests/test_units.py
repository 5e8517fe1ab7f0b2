"""Units: the one table against published factors, the laws of conversion, and the reading of a grower's text."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants
from validation import compare, outside

from hardenoff.units import (
    UNITS,
    QuantityError,
    from_si,
    parse_difference,
    parse_duration,
    parse_length,
    parse_rain,
    parse_temperature,
    shown,
    to_si,
)

AS_WRITTEN = st.integers(-10_000_00, 10_000_00).map(lambda hundredths: hundredths / 100)
ANY_UNIT = st.sampled_from(UNITS)

# --- published factors -----------------------------------------------------------------------------

# NIST SP 811 (2008), appendix B.8, the factors printed bold there as exact (from memory).
EXACT = [
    ("length", "ft", 0.3048),
    ("length", "in", 0.0254),
    ("length", "yd", 0.9144),
    ("speed", "mph", 0.44704),
    ("volume", "gal", 3.785411784),
    ("volume", "in3", 0.016387064),
    ("rain", "in/h", 25.4),
]

# scipy.constants, an independent table (its sources: CODATA and NIST).
INDEPENDENT = [
    ("length", "ft", constants.foot),
    ("length", "in", constants.inch),
    ("length", "yd", constants.yard),
    ("difference", "F", constants.degree_Fahrenheit),
    ("speed", "km/h", constants.kmh),
    ("speed", "mph", constants.mph),
    ("speed", "kn", constants.knot),
    ("volume", "gal", constants.gallon * 1000),
    ("volume", "fl oz", constants.fluid_ounce * 1000),
]


@pytest.mark.parametrize(("kind", "symbol", "size"), EXACT)
@outside(
    "NIST SP 811 (2008), appendix B.8, factors printed bold as exact (from memory)",
    "sizes of foot, inch, yard, mile an hour, gallon, cubic inch",
    within="equal",
    because="exact, to the last bit",
)
def test_a_unit_has_its_published_size(kind, symbol, size):
    """Sizes are the exact published ones."""
    compare(to_si(1.0, kind, symbol), size)


@pytest.mark.parametrize(("kind", "symbol", "size"), INDEPENDENT)
@outside("scipy.constants (CODATA, NIST)", "nine units", within="0.000001 %", because="rounding", kind="library")
def test_a_unit_agrees_with_an_independent_table(kind, symbol, size):
    """Sizes agree with scipy's constants to rounding."""
    found = to_si(1.0, kind, symbol)
    compare(found, size)
    assert found == pytest.approx(size, rel=1e-15)


@pytest.mark.parametrize(("pieces", "symbol"), [(4, "qt"), (8, "pt"), (128, "fl oz"), (231, "in3")])
@outside(
    "NIST Handbook 44, appendix C: 4 quarts, 8 pints, 128 fluid ounces, 231 cubic inches (from memory)",
    "parts of a US gallon",
    within="equal",
    because="definitions",
)
def test_a_gallon_holds_its_parts(pieces, symbol):
    """So many of each are one gallon."""
    compare(to_si(pieces, "volume", symbol), to_si(1, "volume", "gal"))


@pytest.mark.parametrize(("fahrenheit", "celsius"), [(32, 0), (212, 100), (-40, -40), (50, 10), (98.6, 37)])
@outside(
    "fixed points of the scale: ice, steam, the crossing of both scales, two round pairs",
    "Fahrenheit to Celsius and back",
    within="equal",
    because="exact",
)
def test_fahrenheit_at_the_fixed_points(fahrenheit, celsius):
    """Both ways."""
    compare(to_si(fahrenheit, "temperature", "F"), celsius)
    compare(from_si(celsius, "temperature", "F"), fahrenheit)


def test_a_difference_of_5_f_is_2_78_k():
    """A difference is converted without the 32: 5 F = 2.78 K."""
    assert parse_difference("5 F") == pytest.approx(2.78, abs=0.005)
    assert parse_difference("3 F") == pytest.approx(1.67, abs=0.005)


# --- laws ------------------------------------------------------------------------------------------


@given(value=AS_WRITTEN, unit=ANY_UNIT)
def test_a_written_value_survives_the_round_trip(value, unit):
    """There and back gives the same hundredth, 0 and negatives included."""
    back = from_si(to_si(value, unit.kind, unit.symbol), unit.kind, unit.symbol)
    assert back == pytest.approx(value, rel=4e-16, abs=2e-14)
    assert round(back, 2) == value


@given(value=st.floats(-1e6, 1e6), unit=ANY_UNIT)
def test_any_si_value_survives_the_round_trip(value, unit):
    """SI to a unit and back moves a float by rounding only."""
    back = to_si(from_si(value, unit.kind, unit.symbol), unit.kind, unit.symbol)
    assert back == pytest.approx(value, rel=4e-16, abs=1e-13)


@given(value=AS_WRITTEN, unit=ANY_UNIT.filter(lambda unit: unit.kind not in ("speed", "volume")))
def test_a_number_with_its_symbol_reads_as_its_conversion(value, unit):
    """Text and table agree for every unit that a text may have, and sign."""
    parsers = {
        "length": parse_length,
        "difference": parse_difference,
        "duration": parse_duration,
        "rain": parse_rain,
        "temperature": parse_temperature,
    }
    si = to_si(value, unit.kind, unit.symbol)
    if unit.kind == "temperature" and si < -273.15:
        return
    assert parsers[unit.kind](f"{value} {unit.symbol}") == pytest.approx(si, rel=1e-15, abs=1e-12)


@given(a=AS_WRITTEN, b=AS_WRITTEN)
def test_a_difference_is_the_difference_of_temperatures(a, b):
    """The two kinds fit together: (a - b) F as a difference = a F - b F as temperatures."""
    gap = to_si(a, "temperature", "F") - to_si(b, "temperature", "F")
    assert to_si(a - b, "difference", "F") == pytest.approx(gap, abs=1e-9)


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_a_missing_value_stays_missing(value):
    """NaN and infinity pass through every kind of conversion."""
    assert from_si(value, "temperature", "F") == pytest.approx(value, nan_ok=True)
    assert to_si(value, "temperature", "F") == pytest.approx(value, nan_ok=True)


def test_zero_degrees_is_a_value():
    """0 C is 32 F, not missing."""
    assert shown(0.0, "temperature", "us") == (32.0, "F")
    assert shown(0.0, "temperature", "metric") == (0.0, "C")


def test_what_is_shown_follows_the_system():
    """Wind in mph or km/h, a difference without the 32, hours in both."""
    assert shown(4.4704, "speed", "us") == (10.0, "mph")
    assert shown(10.0, "speed", "metric") == (36.0, "km/h")
    assert shown(5.0, "difference", "us") == (9.0, "F")
    assert shown(1.5, "duration", "us") == shown(1.5, "duration", "metric") == (1.5, "h")


# --- reading ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "metres"),
    [
        ("8 ft", 2.4384),
        ("8ft", 2.4384),
        ("8 feet", 2.4384),
        ("8 FT.", 2.4384),
        ("2.4 m", 2.4),
        (".5 m", 0.5),
        ("240 cm", 2.4),
        ("5 ft 6 in", 1.6764),
        ("5'6\"", 1.6764),
        ("5′ 6″", 1.6764),
        ("-5 ft 6 in", -1.6764),
        ("−2 m", -2.0),
        ("6 1/2 in", 0.1651),
        ("1 ft 6 1/2 in", 0.4699),
        ("1/2 in", 0.0127),
        ("0 ft", 0.0),
        (" 3 yd ", 2.7432),
    ],
)
def test_lengths_as_people_write_them(text, metres):
    """Feet and inches, fractions, primes, a real minus sign."""
    assert parse_length(text) == metres


@pytest.mark.parametrize(
    "text",
    ["50 F", "50F", "50 °F", "50°F", "50 ºf", "50 ℉", "50 degF", "50 deg F", "50 degrees Fahrenheit", "10 C"],
)
def test_temperatures_as_people_write_them(text):
    """Ten ways to write ten degrees Celsius."""
    assert parse_temperature(text) == 10.0


def test_durations_and_rain():
    """One of each other kind."""
    assert parse_duration("1 h 30 min") == parse_duration("90 min") == 1.5
    assert parse_rain("0.2 in/h") == 5.08


@pytest.mark.parametrize(
    ("parse", "text", "said"),
    [
        (
            parse_length,
            "8",
            '"8" has no unit\n'
            "  expected: a length with its unit (m, cm, mm, ft, in, yd)\n"
            '  do this:  write "8 ft" or "8 m"',
        ),
        (
            parse_temperature,
            50,
            '50 has no unit\n  expected: a temperature with its unit (C, F)\n  do this:  write "50 F" or "50 C"',
        ),
        (
            parse_length,
            "8 F",
            '"8 F": "F" is no unit of length\n'
            "  expected: a length with its unit (m, cm, mm, ft, in, yd)\n"
            '  do this:  write "8 ft" or "8 m"',
        ),
        (
            parse_length,
            "2,4 m",
            '"2,4 m" is not a number with a unit\n'
            "  expected: a length with its unit (m, cm, mm, ft, in, yd)\n"
            '  do this:  write the decimals after a point: "2.4 m"',
        ),
        (
            parse_length,
            "1,200 ft",
            '"1,200 ft" is not a number with a unit\n'
            "  expected: a length with its unit (m, cm, mm, ft, in, yd)\n"
            '  do this:  write "1200 ft" for thousands, or a point for decimals',
        ),
        (
            parse_length,
            "far",
            '"far" is not a number with a unit\n'
            "  expected: a length with its unit (m, cm, mm, ft, in, yd)\n"
            '  do this:  write the number first, then its unit, as in "8 ft" or "8 m" or "5 ft 6 in"',
        ),
    ],
)
def test_an_unreadable_quantity_says_how_to_write_it(parse, text, said):
    """The three parts in full: what is wrong, what is expected, what to write."""
    with pytest.raises(QuantityError) as caught:
        parse(text)
    assert str(caught.value) == said


@pytest.mark.parametrize(
    "text",
    [
        "",
        "ft",
        "ft 8",
        "5 ft 6",
        "5 ft 6 ft",
        "6 in 5 ft",
        "5 ft -6 in",
        "1e3 m",
        "nan m",
        "inf ft",
        "1/0 m",
        "8 K",
        True,
        None,
        ["8 ft"],
        "9" * 6000 + " m",
    ],
)
def test_what_is_no_length_is_refused(text):
    """Nothing is guessed: no unit, two equal units, exponents, infinities, other types."""
    with pytest.raises(QuantityError):
        parse_length(text)


def test_nothing_is_colder_than_absolute_zero():
    """-500 F can't be."""
    with pytest.raises(QuantityError, match="colder than absolute zero"):
        parse_temperature("-500 F")
    assert parse_temperature("-459.67 F") == -273.15
