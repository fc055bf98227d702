"""Notation becomes numbers: every form of the specification is read, everything else is refused in words.

Expected values: exact definitions (inch and foot, 1959 agreement; Fahrenheit's scale, SI Brochure 9th ed.,
table 8 and NIST SP 811, B.9), RKM code as in IEC 60062, and Python's own `fractions` for fractions of inches.
"""

from __future__ import annotations

import math
import re
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calculators.notation.errors import NotationError
from calculators.notation.quantity import check_characters, read_number, read_quantity
from calculators.notation.units import KINDS, UNITS, Unit, list_units

INCH = Fraction(254, 10000)

READ = [
    ("500 mA", "current", "A", 0.5),
    ("0.5A", "current", "A", 0.5),
    ("0,5 A", "current", "A", 0.5),
    ("0,5", "current", "A", 0.5),
    ("350", "current", "mA", 0.35),
    ("- 5 A", "current", "A", -5.0),
    ("+5", "current", "A", 5.0),
    (".5", "current", "A", 0.5),
    (",5", "current", "A", 0.5),
    ("5.", "current", "A", 5.0),
    ("1e5 A", "current", "A", 1e5),
    ("2E-3 A", "current", "A", 0.002),
    ("0,001 A", "current", "A", 0.001),
    ("0,500", "current", "A", 0.5),
    ("0.500", "current", "A", 0.5),
    ("1.5000", "current", "A", 1.5),
    ("1234.567", "current", "A", 1234.567),
    ("0012.500", "current", "A", 12.5),
    ("1000,000", "current", "A", 1000.0),
    ("500 uA", "current", "A", 0.0005),
    ("500 \u03bcA", "current", "A", 0.0005),
    ("500 \u00b5A", "current", "A", 0.0005),
    ("12v", "voltage", "V", 12.0),
    ("4R7", "resistance", "Ω", 4.7),
    ("2k2", "resistance", "Ω", 2200.0),
    ("R47", "resistance", "Ω", 0.47),
    ("1M0", "resistance", "Ω", 1e6),
    ("4k7 ohm", "resistance", "Ω", 4700.0),
    ("4k7\u2126", "resistance", "Ω", 4700.0),
    ("30 mohm", "resistance", "Ω", 0.03),
    ("4.7 k", "resistance", "Ω", 4700.0),
    ("4u7", "capacitance", "F", 4.7e-6),
    ("4µ7F", "capacitance", "F", 4.7e-6),
    ("100n", "capacitance", "F", 1e-7),
    ("10p", "capacitance", "F", 1e-11),
    ("3/8 in", "length", "m", float(INCH * 3 / 8)),
    ('1 1/2"', "length", "m", float(INCH * 3 / 2)),
    ("1 1/2\u2033", "length", "m", float(INCH * 3 / 2)),
    ("1 1/2", "length", "in", float(INCH * 3 / 2)),
    ("2 ft 3 in", "length", "m", float(INCH * 27)),
    ("2ft 3in", "length", "m", float(INCH * 27)),
    ("2' 3\"", "length", "m", float(INCH * 27)),
    ("2\u2032 3\u2033", "length", "m", float(INCH * 27)),
    ("2\u2019 3\u201d", "length", "m", float(INCH * 27)),
    ("2' 3 1/2\"", "length", "m", float(INCH * 55 / 2)),
    ("2' 3/4\"", "length", "m", float(INCH * 99 / 4)),
    ("-2 ft 3 in", "length", "m", float(-INCH * 27)),
    ("2.5 ft 3.5 in", "length", "m", float(INCH * Fraction(67, 2))),
    ("0.5 mm2", "area", "mm²", 5e-7),
    ("0.5 mm²", "area", "mm²", 5e-7),
    ("0.5 mm^2", "area", "mm²", 5e-7),
    ("85 %", "fraction", "%", 0.85),
    ("150 %", "fraction", "%", 1.5),
    ("85", "fraction", "%", 0.85),
    ("3 %", "percent", "%", 3.0),
    ("1.2 h", "time", "s", 4320.0),
    ("90 min", "time", "s", 5400.0),
    ("1/2 h", "time", "s", 1800.0),
    ("20\u00a0Ah", "charge", "A h", 72000.0),
    ("25 °C", "temperature", "°C", 25.0),
    ("77 F", "temperature", "°C", 25.0),
    ("-40 degF", "temperature", "°C", -40.0),
    ("-459.67 °F", "temperature", "°C", -273.15),
    ("0 K", "temperature", "°C", -273.15),
    ("9 °F", "temperature difference", "K", 5.0),
    ("10 °C", "temperature difference", "K", 10.0),
    ("1e-12 mA", "current", "A", 1e-15),
    ("1.02e-15 A", "current", "A", 1.02e-15),
    ("0e-999", "current", "A", 0.0),
    ("12 V DC", "voltage", "V", 12.0),
    ("12Vdc", "voltage", "V", 12.0),
    ("12 volts d.c.", "voltage", "V", 12.0),
    ("3V3", "voltage", "V", 3.3),
    ("3A15", "current", "A", 3.15),
    ("-3V3", "voltage", "V", -3.3),
    ("1.5 Amps", "current", "A", 1.5),
    ("500 milliamps", "current", "A", 0.5),
    ("half an amp", "current", "A", 0.5),
    ("Half-inch", "length", "m", float(INCH / 2)),
    ("a quarter of an inch", "length", "m", float(INCH / 4)),
    ("3/8 of an inch", "length", "m", float(INCH * 3 / 8)),
    ('1-1/2"', "length", "m", float(INCH * 3 / 2)),
    ("3'6", "length", "m", float(INCH * 42)),
    ("3' 11", "length", "m", float(INCH * 47)),
    ("3'-6\"", "length", "m", float(INCH * 42)),
    ("3' 6''", "length", "m", float(INCH * 42)),
    ("3 ft. and 6 in.", "length", "m", float(INCH * 42)),
    ("2h30", "time", "s", 9000.0),
    ("2 h 5 min", "time", "s", 7500.0),
    ("1:30 h", "time", "s", 5400.0),
    ("1:30 min", "time", "s", 90.0),
    ("1m30s", "time", "s", 90.0),
    ("90 Min", "time", "s", 5400.0),
    ("800 KHz", "frequency", "Hz", 8e5),
    ("30 deg. C", "temperature", "°C", 30.0),
    ("30 degrees Celsius", "temperature", "°C", 30.0),
    ("0.5 sq. mm", "area", "mm²", 5e-7),
    ("0.1 ohms per metre", "resistance per length", "Ω/m", 0.1),
    ("20 W RMS", "power", "W", 20.0),
    ("86 dB/W/m", "level", "dB", 86.0),
    ("86 dB (1 W, 1 m)", "level", "dB", 86.0),
    ("0.7", "number", "", 0.7),
    ("7/10", "number", "", 0.7),
    ("52.96 ohm/km", "resistance per kilometre", "Ω/km", 52.96),
    ("52.96 ohm/km", "resistance per length", "Ω/m", 0.05296),
]

REFUSED = [
    ("", "current", "nothing is entered"),
    ("   ", "current", "nothing is entered"),
    ("1,500", "current", "can mean 1500 or 1.5;"),
    ("1.500", "current", "can mean 1500 or 1.5;"),
    ("1,500 mA", "current", "can mean 1500 or 1.5;"),
    ("-1,500", "current", "can mean 1500 or 1.5;"),
    ("12,000 V", "voltage", "can mean 12000 or 12.0;"),
    ("10.500 mA", "current", "“10.500” can mean 10500 or 10.5; write 10500 or 10.5"),
    ("123.456", "current", "write 123456 or 123.4560"),
    ("3 ft 1.500 in", "length", "write 1500 or 1.5"),
    ("1 500", "current", "gap inside the number"),
    ("1\u202f500", "current", "gap inside the number"),
    ("1,500.0", "current", "more than one decimal sign"),
    ("1.500,5", "current", "more than one decimal sign"),
    ("12,345,678", "current", "more than one decimal sign"),
    ("3 m", "current", "is a length, but a current is asked for (in A, mA, µA)"),
    ("2 ft 3 in", "current", "“2 ft 3 in” is a length, but a current is asked for"),
    ("3 A", "number", "is a current, but a number is asked for (in no unit)"),
    ("2k2", "current", "is a resistance (IEC 60062 code), but a current is asked for"),
    ("4n7", "voltage", "is a capacitance (IEC 60062 code), but a voltage is asked for"),
    ("4n7", "resistance", "not a unit"),
    ("500 Ma", "current", "did you mean “mA”?"),
    ("0.8 Mhz", "frequency", "did you mean “MHz”?"),
    ("30 MOHM", "resistance", "“30 MOHM” can mean 30 mΩ or 30 MΩ; write 30 mΩ or 30 MΩ"),
    ("30 degrees", "temperature", "can mean 30 °C or 30 °F;"),
    ("2:30", "time", "“2:30” can mean 2 h 30 min or 2 min 30 s; write 2 h 30 min or 2 min 30 s"),
    ("2:60 h", "time", "not a unit"),
    ("2h5", "time", "not a unit"),
    ("2h30", "current", "“2h30” is a time, but a current is asked for"),
    ("3V3", "current", "“3V3” is a voltage, but a current is asked for"),
    ("12 V AC", "voltage", "not a unit"),
    ("12 DC", "voltage", "not a unit"),
    ("20 W RMS", "current", "is a power, but a current is asked for"),
    ("5 m.m", "length", "not a unit"),
    ("1'500", "length", "not a unit"),
    ("3' 12", "length", "not a unit"),
    ("half", "length", "does not begin with a number"),
    ("half a dozen", "length", "“dozen” in “half a dozen” is not a unit"),
    ("5 A A", "current", "“A A” in “5 A A” is not a unit of a current"),
    ("1/2/3", "length", "“/3” in “1/2/3” is not a unit"),
    ("1/0 in", "length", "divides by zero"),
    ("1_000", "current", "not a unit"),
    ("0x10", "current", "not a unit"),
    ("²", "area", "does not begin with a number"),
    ("5 mm 2", "area", "not a unit"),
    ("2' -3\"", "length", "not a unit"),
    ("1 ft 2 m in", "length", "“ft 2 m in” in “1 ft 2 m in” is not a unit"),
    ("1' 2 cm\"", "length", "not a unit"),
    ("1 ft 1/0 in", "length", "divides by zero"),
    ("--5", "current", "does not begin with a number"),
    ("+-5", "current", "does not begin with a number"),
    ("about 5", "current", "does not begin with a number"),
    ("nan", "current", "is not a figure"),
    ("-inf", "current", "is not a figure"),
    ("Infinity", "current", "is not a figure"),
    ("inf A", "current", "does not begin with a number"),
    ("1e400", "current", "larger than any figure"),
    ("1e308 kV", "voltage", "larger than any figure"),
    ("5e-324", "current", "“5e-324” is smaller than any figure here can be; write 0 for nothing at all"),
    ("2e-25 MΩ", "resistance", "smaller than any figure"),
    ("-1e-16", "current", "smaller than any figure"),
    ("1/" + "9" * 50, "number", "smaller than any figure"),
    ("0R" + "0" * 20 + "1", "resistance", "smaller than any figure"),
    ("1e-320 ft 0 in", "length", "smaller than any figure"),
    ("9.99e-13 mA", "current", "smaller than any figure"),
    ("9" * 61, "current", "61 characters long"),
    ("0.98e-15 A", "current", "smaller than any figure"),
    ("５ A", "current", "fullwidth digit five, U+FF15"),
    ("٥ A", "current", "arabic-indic digit five, U+0665"),
    ("5 \u0410", "current", "cyrillic capital letter a, U+0410"),
    ("\u22125 A", "current", "minus sign, U+2212"),
    ("\u20135 A", "current", "en dash, U+2013"),
    ("5\u200bA", "current", "zero width space, U+200B"),
    ("5\ufeffA", "current", "zero width no-break space, U+FEFF"),
    ("5\tA", "current", "a control character, U+0009"),
    ("5\nA", "current", "a control character, U+000A"),
    ("5\x7fA", "current", "U+007F"),
    ("\ud800", "current", "U+D800"),
    ("½ in", "length", "vulgar fraction one half"),
    ("∞", "current", "infinity, U+221E"),
]


@pytest.mark.parametrize(("text", "kind", "unit", "expected"), READ)
def test_notation_is_read(text: str, kind: str, unit: str, expected: float) -> None:
    assert read_quantity(text, kind, unit) == pytest.approx(expected, rel=4e-16, abs=0)


@pytest.mark.parametrize(("text", "kind", "words"), REFUSED)
def test_anything_else_is_refused_in_words(text: str, kind: str, words: str) -> None:
    with pytest.raises(NotationError, match=re.escape(words)):
        read_quantity(text, kind, KINDS[kind].metric[-1])


def test_twenty_milliampere_is_the_nearest_float() -> None:
    # So that (12 V - 9.6 V) / 20 mA does not begin with dust of its own.
    for number in range(1, 2000):
        assert read_quantity(f"{number} mA", "current", "A") == float(Fraction(number, 1000))


def test_whole_fahrenheit_degrees_stay_within_limits_given_in_celsius() -> None:
    for celsius in range(-270, 500, 5):
        exact = Fraction(celsius) * 9 / 5 + 32
        assert read_quantity(f"{float(exact)!r} °F", "temperature", "°C") == celsius


def test_the_longest_text_is_still_read() -> None:
    assert read_quantity("1" + "0" * 59, "current", "A") == 1e59


def test_negative_zero_becomes_zero() -> None:
    assert math.copysign(1.0, read_quantity("-0 A", "current", "A")) == 1.0


def test_a_number_is_read_with_point_or_comma_only() -> None:
    assert (read_number("2,5"), read_number("2.5")) == (2.5, 2.5)
    with pytest.raises(NotationError, match="more than one decimal sign"):
        read_number("2.5.1")


def test_no_character_beyond_the_keyboard_passes() -> None:
    allowed = set("µΩ°²Δ") | {chr(code) for code in range(32, 127)}
    for code in range(0x20, 0x3000):
        text = f"1{chr(code)}1"
        try:
            cleaned = check_characters(text)
        except NotationError as error:
            assert f"U+{code:04X}" in str(error)  # noqa: PT017  # most characters pass, and none may raise otherwise
        else:
            assert set(cleaned) <= allowed


@settings(max_examples=300)
@given(
    st.decimals(min_value=-(10**6), max_value=10**6, places=4),
    st.sampled_from(UNITS),
    st.sampled_from(["", " ", "  ", "\u00a0"]),
    st.booleans(),
)
def test_any_figure_in_any_unit_is_read_as_the_table_says(
    number: Decimal, unit: Unit, gap: str, comma: bool
) -> None:
    digits = f"{number:f}"
    text = f"{digits.replace('.', ',') if comma else digits}{gap}{unit.symbol}"
    value = read_quantity(text, unit.kind, list_units(unit.kind)[0])
    assert value == pytest.approx(float(digits) * unit.factor + unit.offset, rel=1e-14, abs=1e-10)


@settings(max_examples=400)
@given(st.text(max_size=70), st.sampled_from(sorted(KINDS)))
def test_no_text_at_all_does_more_than_be_refused(text: str, kind: str) -> None:
    try:
        value = read_quantity(text, kind, KINDS[kind].metric[-1])
    except NotationError as error:
        assert str(error)  # noqa: PT017
    else:
        assert math.isfinite(value)


@settings(max_examples=400)
@given(
    st.text(alphabet="0123456789.,/+-eE RrkKMGpnuµmAVhftin'\"%Ω°CF²", max_size=20),
    st.sampled_from(sorted(KINDS)),
)
def test_no_text_of_the_notations_own_signs_does_either(text: str, kind: str) -> None:
    try:
        value = read_quantity(text, kind, KINDS[kind].metric[-1])
    except NotationError as error:
        assert str(error)  # noqa: PT017
    else:
        assert math.isfinite(value)
