"""Units: exact factors, reading what people write, refusing what could be two things, showing.

References: the constants module of SciPy (CODATA and the exact conversion factors of NIST Special
Publication 811), a general library; for the definitions themselves the international yard and
pound agreement of 1959 and the 3rd CGPM of 1901, as named in the module.
"""

from __future__ import annotations

from fractions import Fraction
from math import inf, nan, pi

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from analyzer.errors import InputError
from analyzer.units import (
    LengthUnit,
    UnitSystem,
    deg,
    ft,
    inches,
    lbf,
    lbf_per_ft,
    parse_angle,
    parse_force,
    parse_length,
    parse_number,
    parse_pressure,
    parse_weight,
    show_angle,
    show_deviation,
    show_diameter,
    show_force,
    show_length,
    show_number,
    show_pressure,
    show_radius,
    show_share,
    show_stop,
    show_weight,
    to_deg,
    to_ft,
    to_inches,
    to_lbf,
    to_lbf_per_ft,
    written_unit,
)

US, METRIC = UnitSystem.US, UnitSystem.METRIC
INCH = Fraction(254, 10000)
"""Exact length of an inch in meters (1959)."""

# ---------------------------------------------------------------------------------- exactness


@pytest.mark.parametrize(
    ("unit", "meters"),
    [
        (LengthUnit.INCH, constants.inch),
        (LengthUnit.FOOT, constants.foot),
        (LengthUnit.YARD, constants.yard),
        (LengthUnit.MILE, constants.mile),
        (LengthUnit.US_SURVEY_FOOT, constants.survey_foot),
        (LengthUnit.MILLIMETER, constants.milli),
        (LengthUnit.CENTIMETER, constants.centi),
        (LengthUnit.DECIMETER, constants.deci),
        (LengthUnit.METER, 1.0),
        (LengthUnit.KILOMETER, constants.kilo),
    ],
)
def test_length_unit_agrees_with_the_reference(unit, meters):
    assert float(unit.factor) == pytest.approx(meters, rel=4e-16)


def test_length_factors_are_exact_fractions():
    assert LengthUnit.INCH.factor == Fraction(254, 10000)
    assert LengthUnit.FOOT.factor == Fraction(3048, 10000)
    assert LengthUnit.US_SURVEY_FOOT.factor == Fraction(1200, 3937)
    assert LengthUnit.MILE.factor == Fraction(1609344, 1000)


def test_every_length_unit_has_a_factor():
    assert all(unit.factor > 0 for unit in LengthUnit)


def test_pound_force_agrees_with_the_reference():
    assert lbf(1.0) == pytest.approx(constants.pound_force, rel=4e-16)
    # pound 0.453 592 37 kg times 9.806 65 m/s², multiplied out
    assert lbf(1.0) == 4.4482216152605


def test_weights_and_pressures_follow_from_force_and_length():
    per_foot = constants.pound_force / constants.foot
    assert lbf_per_ft(1.0) == pytest.approx(per_foot, rel=4e-16)
    assert parse_weight("1 lbf/ft") == parse_pressure("1 lbf/ft") == lbf_per_ft(1.0)
    assert parse_weight("1 kg/m") == pytest.approx(constants.g, rel=4e-16)
    assert parse_force("1 kgf") == pytest.approx(constants.kilogram_force, rel=4e-16)


def test_older_sidewall_rule_in_metric():
    # the older general rule: 300 lbf/ft is 4.378 kN/m (half the last digit)
    assert lbf_per_ft(300) == pytest.approx(4378, abs=0.5)


@pytest.mark.parametrize(
    ("there", "back"),
    [(ft, to_ft), (inches, to_inches), (lbf, to_lbf), (lbf_per_ft, to_lbf_per_ft), (deg, to_deg)],
)
@given(value=st.floats(-1e9, 1e9))
def test_there_and_back_is_the_same_number(there, back, value):
    assert back(there(value)) == pytest.approx(value, rel=1e-15, abs=1e-300)


# ------------------------------------------------------------------------------------ reading


@pytest.mark.parametrize(
    ("text", "in_inches"),
    [
        ("9-1/2 in", "19/2"),
        ("9 1/2 in", "19/2"),
        ("9 - 1/2 in", "19/2"),
        ("9.5in", "19/2"),
        ('9.5"', "19/2"),
        ("9.5''", "19/2"),
        ("9½ in", "19/2"),
        ("9 ½”", "19/2"),
        ("½ in", "1/2"),
        ("3/8 in.", "3/8"),
        ("⅜″", "3/8"),
        ("1⁄2 in", "1/2"),
        ("1 inch", "1"),
        ("2 inches", "2"),
        ("2 IN", "2"),
        (".5 in", "1/2"),
        ("5. in", "5"),
        ("1e1 in", "10"),
        ("1.5E+2 in", "150"),
        ("+3 in", "3"),
        ("-3 in", "-3"),
        ("−3 in", "-3"),
        ("12'", "144"),
        ("12’", "144"),
        ("12 ft", "144"),
        ("1 foot", "12"),
        ("1-1/2 feet", "18"),
        ("1/2 ft", "6"),
        ("12'-6 1/2\"", "301/2"),
        ("12'-6-1/2\"", "301/2"),
        ("12' 6 1/2\"", "301/2"),
        ("12'6½”", "301/2"),
        ("12′ 6½″", "301/2"),
        ("12‘-6“", "150"),
        ("12' - 6\"", "150"),
        ("12'-6", "150"),
        ("12 ft 6 in", "150"),
        ("12 ft. 6 in.", "150"),
        ("12 feet 6 inches", "150"),
        ("12'-0\"", "144"),
        ("0'-0\"", "0"),
        ("0'-11 63/64\"", "767/64"),
        ("-1'-6\"", "-18"),
        ("10'-6.25\"", "505/4"),
        ("2 yd", "72"),
        ("1 yard", "36"),
        ("  3\t in ", "3"),
        ("3\u00a0in", "3"),
    ],
)
def test_length_in_us_units_is_exact(text, in_inches):
    assert parse_length(text) == float(Fraction(in_inches) * INCH)


@pytest.mark.parametrize(
    ("text", "meters"),
    [
        ("150 mm", 0.15),
        ("15 cm", 0.15),
        ("1.5 dm", 0.15),
        ("0.15 m", 0.15),
        ("1.5e-4 km", 0.15),
        ("3937 us-ft", 1200.0),
        ("1 mi", 1609.344),
        ("1e300 m", 1e300),
        ("1e-300 m", 1e-300),
    ],
)
def test_length_in_other_units(text, meters):
    assert parse_length(text) == meters


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("5'000", "may be feet and inches or thousands"),
        ("5’006", "may be feet and inches or thousands"),
        ("10'-14\"", "12 inches or more"),
        ("10'-12\"", "12 inches or more"),
        ("10.5'-6\"", "decimal feet before inches"),
        ("1/0 in", "divides by zero"),
        ("3 1/0 in", "divides by zero"),
        ("1'-1/0\"", "divides by zero"),
        ("3 5/4 in", "a fraction of one or more"),
        ("3 4/4 in", "a fraction of one or more"),
        ("12", "no unit"),
        ("9-1/2", "no unit"),
        ("12 lbf", "unit 'lbf'"),
        ("12 furlongs", "unit 'furlongs'"),
        ("6--1/2 in", "unit"),
        ("3 -1/2 in", "unit"),
        ("1.5-1/2 in", "unit"),
        ("1/2/3 in", "unit"),
        ("10-12 in", "unit"),
        ("10–12 in", "unit"),
        ("5 1/2' 3\"", "unit"),
        ("5'-6'", "unit"),
        ("5'-", "unit"),
        ("5'--6\"", "unit"),
        ("5 ft 6 mm", "unit"),
        ("1 m 20 cm", "unit"),
        ("1,000 ft", "has a comma"),
        ("2,5 m", "has a comma"),
        ("0x10 in", "unit"),
        ("1_000 in", "unit"),
        ("1 000 in", "unit"),
        ("--5 in", "not a length"),
        ("", "not a length"),
        ("in", "not a length"),
        ("nan in", "not a length"),
        ("inf ft", "not a length"),
        ("∞ ft", "not a length"),
        ("1e309 m", "too large"),
        ("-1e309 m", "too large"),
        ("1e400 km", "too large"),
        ("1e401 m", "too large or too small"),
        ("1e999999999999 m", "too large or too small"),
        ("1e-350 m", "too small"),
        ("9" * 400 + " m", "too long"),
        ("9" * 5000 + " m", "too long"),
    ],
)
def test_length_that_could_be_wrong_is_refused(text, words):
    with pytest.raises(InputError) as caught:
        parse_length(text)
    assert words in str(caught.value)


def test_bare_number_takes_the_unit_of_the_file_only_where_there_is_one():
    assert parse_length("9-1/2", LengthUnit.INCH) == float(Fraction(19, 2) * INCH)
    assert parse_length("-2.5", LengthUnit.MILLIMETER) == -0.0025
    assert parse_length("9-1/2 in", LengthUnit.METER) == float(Fraction(19, 2) * INCH)
    assert parse_length("1'-6\"", LengthUnit.METER) == float(18 * INCH)


@pytest.mark.parametrize("text", ["4 kN", "4000 N", "4e3 N"])
def test_force_is_read(text):
    assert parse_force(text) == 4000.0


def test_pound_is_a_force_only_where_it_says_so():
    assert parse_force("900 lbf") == pytest.approx(900 * constants.pound_force, rel=4e-16)
    for text in ("900 lb", "900", "900 kg", "900 lbf/ft"):
        with pytest.raises(InputError):
            parse_force(text)


def test_weight_per_length_is_read():
    per_foot = constants.pound_force / constants.foot
    for text in ("2.148 lbf/ft", "2.148 lb/ft", "2148 lb/1000 ft", "2148 lb/1000ft"):
        assert parse_weight(text) == pytest.approx(2.148 * per_foot, rel=4e-16)
    assert parse_weight("3.1 kg/m") == pytest.approx(3.1 * constants.g, rel=4e-16)
    assert parse_weight("3100 kg/km") == pytest.approx(3.1 * constants.g, rel=4e-16)
    assert parse_weight("30 N/m") == 30.0
    for text in ("3 lb", "3 kN/m", "3"):
        with pytest.raises(InputError):
            parse_weight(text)


def test_pressure_is_read():
    assert parse_pressure("4.4 kN/m") == 4400.0
    assert parse_pressure("4400 N/m") == 4400.0
    for text in ("4 kg/m", "500 lb/ft", "500 psi", "500"):
        with pytest.raises(InputError):
            parse_pressure(text)


def test_angle_is_read_in_degrees():
    assert parse_angle("22.5 deg") == pytest.approx(pi / 8, rel=4e-16)
    assert parse_angle("22-1/2°") == pytest.approx(pi / 8, rel=4e-16)
    for text in ("22.5", "0.3 rad"):
        with pytest.raises(InputError):
            parse_angle(text)
    for text in ("22.5", "half a turn"):
        with pytest.raises(InputError, match=r"\ban angle\b"):
            parse_angle(text)
    with pytest.raises(InputError, match=r"\ba length\b"):
        parse_length("22.5")


@pytest.mark.parametrize(
    ("text", "number"),
    [("1-1/2", 1.5), ("1 1/2", 1.5), ("½", 0.5), ("1e9", 1e9), ("-0.25", -0.25), ("3/4", 0.75)],
)
def test_plain_number_is_read(text, number):
    assert parse_number(text) == number


@pytest.mark.parametrize("text", ["", "x", "1/0", "nan", "inf", "1e999", "3 in", "1,5", "1 2"])
def test_text_that_is_no_number_is_refused(text):
    with pytest.raises(InputError):
        parse_number(text)


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_every_printed_number_is_read_back_exactly(value):
    assert parse_number(repr(value)) == value
    assert parse_length(f"{value!r} m") == value


@given(
    feet=st.integers(0, 10_000),
    whole=st.integers(0, 11),
    sixty_fourths=st.integers(1, 63),
    sign=st.sampled_from(["", "-"]),
)
def test_feet_inches_and_fraction_are_read_exactly(feet, whole, sixty_fourths, sign):
    exact = (12 * feet + whole + Fraction(sixty_fourths, 64)) * INCH
    expected = -float(exact) if sign else float(exact)
    assert parse_length(f"{sign}{feet}'-{whole} {sixty_fourths}/64\"") == expected
    assert parse_length(f"{sign}{feet} ft {whole}-{sixty_fourths}/64 in") == expected


@given(st.text(max_size=120))
def test_any_text_is_read_or_refused_with_one_of_our_errors(text):
    for parse in (parse_length, parse_force, parse_weight, parse_pressure, parse_angle):
        try:
            value = parse(text)
        except InputError:
            continue
        assert -inf < value < inf


@given(st.text("0123456789 -/.'\"eE½in,ft+", max_size=14))
def test_text_made_of_the_right_signs_is_read_or_refused(text):
    for default in (None, LengthUnit.INCH):
        try:
            value = parse_length(text, default)
        except InputError:
            continue
        assert -inf < value < inf


# ------------------------------------------------------------------------------------ showing


@pytest.mark.parametrize(
    ("value", "decimals", "text"),
    [
        (1234567.0, 0, "1,234,567"),
        (-0.04, 1, "0.0"),
        (-0.0, 0, "0"),
        (-0.06, 1, "-0.1"),
        (999.96, 1, "1,000.0"),
    ],
)
def test_number_is_shown_without_minus_zero(value, decimals, text):
    assert show_number(value, decimals) == text


def test_quantities_are_shown_in_both_systems():
    assert show_length(ft(197.2), US) == "197.2 ft"
    assert show_length(ft(197.2), METRIC) == "60.11 m"
    assert show_radius(inches(9.5), US) == "9.5 in"
    assert show_radius(inches(10), US) == "10 in"
    assert show_radius(0.0, US) == "0 in"
    assert show_radius(inches(9.5), METRIC) == "241 mm"
    assert show_force(lbf(2275), US) == "2,275 lbf"
    assert show_force(lbf(84.2), US) == "84.2 lbf"
    assert show_force(lbf(99.96), US) == "100 lbf"
    assert show_force(10120, METRIC) == "10.12 kN"
    assert show_force(512.4, METRIC) == "512 N"
    assert show_force(999.6, METRIC) == "1.00 kN"
    assert show_pressure(lbf_per_ft(312), US) == "312 lbf/ft"
    assert show_pressure(4553, METRIC) == "4.55 kN/m"
    assert show_weight(lbf_per_ft(2.148), US) == "2.148 lbf/ft"
    assert show_weight(31.34, METRIC) == "31.3 N/m"
    assert show_weight(lbf_per_ft(0.0042), US) == "0.00420 lbf/ft"
    assert show_weight(0.0613, METRIC) == "0.0613 N/m"


@pytest.mark.parametrize(
    ("force_n", "system", "shown"),
    [
        (lbf(138.99), US, "138 lbf"),
        (lbf(99.99), US, "99.9 lbf"),
        (lbf(1200.0), US, "1,200 lbf"),
        (lbf(0.1) * 3.0, US, "0.3 lbf"),
        (999.7, METRIC, "999 N"),
        (1239.9, METRIC, "1.23 kN"),
        (2500.0, METRIC, "2.50 kN"),
        (600.0, METRIC, "600 N"),
    ],
)
def test_stop_value_is_shown_no_greater_than_it_is(force_n, system, shown) -> None:
    assert show_stop(force_n, system) == shown


@pytest.mark.parametrize(
    ("value", "shown"),
    [(1.04, "1.04 N/m"), (8.32, "8.32 N/m"), (9.996, "10.0 N/m"), (123.45, "123.5 N/m"),
     (0.0, "0.0 N/m")],
)  # fmt: skip
def test_weight_is_shown_to_three_digits_at_least(value: float, shown: str) -> None:
    assert show_weight(value, METRIC) == shown


def test_light_weight_in_us_units_is_shown_to_three_digits_too() -> None:
    assert show_weight(lbf_per_ft(0.0713), US) == "0.0713 lbf/ft"
    assert show_weight(lbf_per_ft(0.5), US) == "0.500 lbf/ft"


@pytest.mark.parametrize(
    ("degrees", "text"),
    [(90, "90°"), (22.5, "22.5°"), (89.96, "90°"), (-0.01, "0°"), (360, "360°")],
)
def test_angle_is_shown_with_at_most_one_decimal(degrees, text):
    assert show_angle(deg(degrees)) == text


@pytest.mark.parametrize(
    ("share", "text"),
    [
        (0.47, "47 %"),
        (0.996, "99.6 %"),
        (0.99999, "just under 100 %"),
        (1.0, "100 %"),
        (1.0000001, "just over 100 %"),
        (1.004, "100.4 %"),
        (1.5, "150 %"),
    ],
)
def test_share_is_never_rounded_onto_the_limit(share, text):
    assert show_share(share) == text


@given(st.floats(0.01, 1e5))
def test_shown_length_reads_back_within_half_its_last_digit(feet):
    shown = show_length(ft(feet), US).replace(",", "")
    assert abs(to_ft(parse_length(shown)) - feet) <= 0.05 * (1 + 1e-9)


def test_not_a_number_is_not_shown_as_zero():
    assert show_number(nan, 1) == "nan"


@pytest.mark.parametrize(
    ("text", "unit"),
    [
        ("3", ""),
        ("6 1/2", ""),
        ("3 m", "m"),
        ("10 feet", "ft"),
        ("10 FT.", "ft"),
        ("9-1/2 inches", "in"),
        ("10'", "feet and inches"),
        ('6"', "feet and inches"),
        ("10 ft 6 in", "feet and inches"),
    ],
)
def test_unit_that_a_length_is_written_in(text, unit):
    assert written_unit(text) == unit


@pytest.mark.parametrize(
    ("length_m", "us", "metric"),
    [(0.0004, "0.016 in", "0.40 mm"), (0.014, "0.55 in", "14 mm"), (0.3, "12 in", "300 mm")],
)
def test_deviations_show_two_digits(length_m, us, metric):
    assert show_deviation(length_m, UnitSystem.US) == us
    assert show_deviation(length_m, UnitSystem.METRIC) == metric


def test_diameters_are_shown_so_that_their_ratio_can_be_worked_out() -> None:
    inside, conductor = 0.0525018, 0.0163068  # EMT 2 and 4/0 THHN, NEC chapter 9: 2.067, 0.642 in
    assert show_diameter(inside, UnitSystem.US) == "2.067 in"
    assert show_diameter(conductor, UnitSystem.US) == "0.642 in"
    assert show_diameter(inside, UnitSystem.METRIC) == "52.5 mm"
    assert show_diameter(conductor, UnitSystem.METRIC) == "16.31 mm"
    assert pytest.approx(inside / conductor, abs=1e-3) == 52.5 / 16.31
