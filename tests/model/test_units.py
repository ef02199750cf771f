"""Lengths, bearings and frequencies: as people write them, and back."""

from __future__ import annotations

import contextlib
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from footwork.model.units import (
    FACTORS,
    UNITS,
    format_facing,
    format_length,
    in_units,
    parse_facing,
    parse_length,
    parse_times,
    shown,
    times_words,
)


@pytest.mark.parametrize(
    ("text", "metres"),
    [
        ("2400 mm", 2.4),
        ("2400mm", 2.4),
        ("2.4 m", 2.4),
        (".5 m", 0.5),
        ("240 cm", 2.4),
        ("7 ft 6 in", 2.286),
        ("7ft 6in", 2.286),
        ("7' 6-1/2\"", 2.2987),
        ("7' 6 1/2\"", 2.2987),
        ("7'-6\"", 2.286),
        ("7′ 6″", 2.286),
        ("7’ 6”", 2.286),
        ("35 ft", 10.668),
        ("1/2 in", 0.0127),
        ("3/4\"", 0.01905),
        ("6-1/2 in", 0.1651),
        ("90 inches", 2.286),
        ("2 feet", 0.6096),
        ("-0.5 m", -0.5),
        ("-1' 6\"", -0.4572),
        ("  1 m  ", 1.0),
        ("3 metres", 3.0),
    ],
)  # fmt: skip
def test_lengths_with_their_own_unit(text: str, metres: float) -> None:
    for units in UNITS:  # the unit of bare numbers does not matter
        assert parse_length(text, units) == pytest.approx(metres, abs=1e-12)


@pytest.mark.parametrize(
    ("units", "metres"), [("m", 3.0), ("mm", 0.003), ("cm", 0.03), ("ft", 0.9144), ("in", 0.0762)]
)
def test_bare_numbers_are_in_the_units_of_the_file(units: str, metres: float) -> None:
    assert parse_length(3, units) == pytest.approx(metres, abs=1e-15)
    assert parse_length(3.0, units) == pytest.approx(metres, abs=1e-15)


def test_a_length_is_rounded_once() -> None:
    """0.1 mm is the float 0.0001, whichever way it is written."""
    assert parse_length(0.1, "mm") == parse_length("0.1 mm") == parse_length(0.01, "cm") == 0.0001


@pytest.mark.parametrize(
    ("value", "message"),
    [
        ("2400", "'2400' is not a length; give its unit, as in \"2400 mm\", or write it as a number without"),
        ("2,4 m", "'2,4 m' is not a length; write the decimals after a point: \"2.4 m\""),
        ("two metres", "'two metres' is not a length; write it as \"2400 mm\", \"2.4 m\", \"7 ft 6 in\" or"),
        ("", "'' is not a length"),
        ("3 furlongs", "'3 furlongs' is not a length"),
        ("1/0 in", "'1/0 in' is not a length; it divides by zero"),
        ("6 in 7 ft", "'6 in 7 ft' is not a length"),
        ("1 m 20 cm", "'1 m 20 cm' is not a length"),
        ("7 ft 6", "'7 ft 6' is not a length"),
        ("1e3 mm", "'1e3 mm' is not a length"),
        ("--1 m", "'--1 m' is not a length"),
        (True, "true is not a length; write a number"),
        (None, "is not a length"),
        ([1], "a list is not a length"),
        (math.nan, "nan is not a number that can be used"),
        (math.inf, "inf is not a number that can be used"),
        (10**400, "the number is too great"),
        (2400, "2400 is 2,400 m; check its unit, bare numbers are in m"),
    ],
)  # fmt: skip
def test_what_is_no_length_is_told_in_words(value: object, message: str) -> None:
    with pytest.raises(ValueError) as caught:
        parse_length(value, "m")
    assert str(caught.value).startswith(message) or message in str(caught.value)
    assert "\n" not in str(caught.value)


@given(st.floats(-999, 999), st.sampled_from(UNITS))
def test_writing_and_reading_keeps_a_length_to_a_tenth_of_a_millimetre(metres: float, units: str) -> None:
    again = parse_length(in_units(metres, units), units)
    assert abs(again - metres) <= 0.5e-4 + 1e-12
    assert in_units(again, units) == in_units(metres, units)


@given(st.floats(-999, 999), st.sampled_from(UNITS))
def test_a_length_as_text_reads_back(metres: float, units: str) -> None:
    step = {"m": 0.01, "mm": 0.001, "cm": 0.001, "ft": 0.0254 / 16, "in": 0.0254 / 16}[units]
    again = parse_length(format_length(metres, units), units)
    assert abs(again - metres) <= step / 2 + 1e-9


@given(st.text(max_size=30))
def test_any_text_is_a_length_or_a_value_error(text: str) -> None:
    with contextlib.suppress(ValueError):
        assert math.isfinite(parse_length(text))


@pytest.mark.parametrize(
    ("metres", "units", "text"),
    [
        (2.4, "m", "2.40 m"),
        (2.4, "mm", "2400 mm"),
        (2.4, "cm", "240 cm"),
        (2.2987, "ft", "7' 6-1/2\""),
        (2.286, "ft", "7' 6\""),
        (0.0127, "ft", '1/2"'),
        (2.2987, "in", '90-1/2"'),
        (-0.4572, "ft", "-1' 6\""),
        (0.0, "ft", '0"'),
        (-0.0001, "ft", '0"'),
        (0.3047, "ft", "1' 0\""),
        (math.inf, "m", "-"),
    ],
)
def test_lengths_are_shown_as_people_write_them(metres: float, units: str, text: str) -> None:
    assert format_length(metres, units) == text


def test_the_foot_is_the_international_one() -> None:
    assert float(FACTORS["ft"]) == 0.3048
    assert float(FACTORS["in"]) == 0.0254


@pytest.mark.parametrize(
    ("value", "degrees"),
    [("north", 0), ("East", 90), (" south ", 180), ("west", 270), (45, 45), (-90, 270), (720.5, 0.5)],
)
def test_facings(value: object, degrees: float) -> None:
    assert parse_facing(value) == degrees


@pytest.mark.parametrize("value", ["up", "", True, math.nan, math.inf, None, [0]])
def test_what_is_no_facing(value: object) -> None:
    with pytest.raises(ValueError, match=r"not a facing|not a number"):
        parse_facing(value)


@given(st.floats(-720, 720))
def test_facings_are_written_as_words_where_one_fits(degrees: float) -> None:
    written = format_facing(degrees)
    off = (parse_facing(written) - degrees + 180) % 360 - 180
    assert abs(off) <= 1e-4
    assert isinstance(format_facing(round(degrees / 90) * 90.0), str)


@pytest.mark.parametrize(
    ("value", "per_year"),
    [
        ("3 per week", 156),
        ("1 per day", 365),
        ("2 per month", 24),
        ("5 per year", 5),
        ("0.5 per week", 26),
        ("once a week", 52),
        ("twice a month", 24),
        ("3/week", 156),
        ("3 per weeks", 156),
        (0, 0),
        (12.5, 12.5),
    ],
)
def test_frequencies(value: object, per_year: float) -> None:
    assert parse_times(value) == per_year


@pytest.mark.parametrize("value", ["often", "3", "3 per fortnight", "-1 per week", -1, True, math.nan, None])
def test_what_is_no_frequency(value: object) -> None:
    with pytest.raises(ValueError, match=r"frequency|negative|not a number"):
        parse_times(value)


@given(st.one_of(st.text(), st.integers(), st.floats(), st.lists(st.integers()), st.booleans(), st.none()))
def test_values_are_shown_short_and_on_one_line(value: object) -> None:
    text = shown(value)
    assert len(text) <= 40
    assert text.isprintable()


@pytest.mark.parametrize(
    ("per_year", "text"),
    [
        (52.0, "1 per week"),
        (133.3, "2.56 per week"),
        (52.0 * 123.4, "123 per week"),
        (52.0 * 1250.0, "1250 per week"),
        (51.9, "51.9 per year"),
        (0.0251, "0.0251 per year"),
        (0.0, "0 per year"),
    ],
)
def test_a_frequency_in_words_reads_back(per_year: float, text: str) -> None:
    assert times_words(per_year) == text
    assert parse_times(text) == pytest.approx(per_year, rel=5e-3)
