"""Quantities are written for people: figures, units that fit, both systems, and back again."""

from __future__ import annotations

import math
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calculators.notation.errors import NotFiniteError
from calculators.notation.quantity import find_meanings, read_quantity
from calculators.notation.showing import (
    GAP,
    Figure,
    choose_unit,
    convert_to,
    say,
    write_number,
    write_quantity,
)
from calculators.notation.units import KINDS


@pytest.mark.parametrize(
    ("value", "kind", "system", "figures", "expected"),
    [
        (0.35, "current", "metric", 3, "350 mA"),
        (0.99996, "current", "metric", 3, "1 A"),
        (0.9994, "current", "metric", 3, "999 mA"),
        (0.0009999, "current", "metric", 3, "1 mA"),
        (-0.99996, "current", "metric", 3, "-1 A"),
        (-0.0, "current", "metric", 3, "0 A"),
        (0.0, "resistance", "metric", 3, "0 Ω"),
        (0.0, "charge", "metric", 3, "0 mA h"),
        (1234.5, "voltage", "metric", 3, "1234 V"),
        (99.96, "voltage", "metric", 3, "100 V"),
        (59.99, "time", "metric", 3, "1 min"),
        (0.85, "fraction", "metric", 3, "85 %"),
        (3.456, "percent", "metric", 3, "3.46 %"),
        (52.96, "resistance per kilometre", "metric", 4, "52.96 Ω/km"),
        # 22 AWG: 52.96 Ω/km and 16.14 Ω/1000 ft stand in the same row of Floyd's table.
        (52.96, "resistance per kilometre", "imperial", 4, "16.14 Ω/1000 ft"),
        (0.05296, "resistance per length", "imperial", 4, "16.14 Ω/1000 ft"),
        (0.3048, "length", "imperial", 3, "1 ft"),
        (0.30479, "length", "imperial", 3, "1 ft"),
        (0.254, "length", "imperial", 3, "10 in"),
        (5e-7, "area", "imperial", 3, "987 cmil"),
        (25.0, "temperature", "imperial", 3, "77 °F"),
        (-160 / 9, "temperature", "imperial", 3, "0 °F"),
        (-17.7777777777, "temperature", "imperial", 3, "0 °F"),
        (37.77777, "temperature", "imperial", 3, "100 °F"),
        (5.0, "temperature difference", "imperial", 3, "9 Δ°F"),
        (2.5, "number", "metric", 3, "2.5"),
        (1e30, "current", "metric", 3, "1.00e+30 A"),
        (1e-12, "current", "metric", 3, "less than 0.0001 µA"),
        (-1e-12, "current", "metric", 3, "less than 0.0001 µA"),
        (0.98e-10, "current", "metric", 3, "less than 0.0001 µA"),
        (1.02e-10, "current", "metric", 3, "0.000102 µA"),
        (1e-10, "current", "metric", 3, "0.0001 µA"),
        (6e-5, "temperature", "metric", 3, "0 °C"),
        (2.25e-8, "voltage", "metric", 3, "less than 0.0001 mV"),
        (2.16e-12, "power per length", "imperial", 3, "less than 0.0001 W/ft"),
    ],
)
def test_a_quantity_is_written(value: float, kind: str, system: str, figures: int, expected: str) -> None:
    assert write_quantity(value, kind, system, figures).replace(GAP, " ") == expected


@pytest.mark.parametrize(
    ("value", "figures", "expected"),
    [
        (0.00012345, 3, "0.000123"),
        (0.000012, 3, "1.20e-05"),
        (1e7, 3, "1.00e+07"),
        (9999999.0, 9, "9999999"),
        (99999.5, 3, "100000"),
        (9.5, 1, "10"),
        (0.0995, 2, "0.1"),
        (120.0, 3, "120"),
        (-0.5, 3, "-0.5"),
    ],
)
def test_a_number_is_written(value: float, figures: int, expected: str) -> None:
    assert write_number(value, figures) == expected


@pytest.mark.parametrize(
    ("value", "kind", "system", "figures", "expected"),
    [
        (9.2, "power", "metric", 3, "9.20 W"),
        (11.5, "power", "metric", 3, "11.5 W"),
        (0.35, "current", "metric", 3, "350 mA"),
        (0.99996, "current", "metric", 3, "1.00 A"),
        (1234.5, "voltage", "metric", 3, "1234 V"),
        (0.0, "voltage", "metric", 3, "0 V"),
        # 7 Ω/1000 ft is what a wire of 22.97 Ω/km has; four figures are shown of all its neighbours.
        (22.966, "resistance per kilometre", "imperial", 4, "7.000 Ω/1000 ft"),
        (25.0, "temperature", "imperial", 3, "77.0 °F"),
        (-17.5, "temperature", "imperial", 3, "0.5 °F"),
        (2.5, "number", "metric", 3, "2.50"),
    ],
)
def test_a_padded_quantity_shows_all_its_figures(
    value: float, kind: str, system: str, figures: int, expected: str
) -> None:
    assert write_quantity(value, kind, system, figures, padded=True).replace(GAP, " ") == expected


@settings(max_examples=400)
@given(st.floats(min_value=1e-3, max_value=9e6), st.integers(min_value=1, max_value=6))
def test_written_numbers_are_right_to_their_figures(value: float, figures: int) -> None:
    text = write_number(value, figures)
    exact = Decimal(value)
    allowed = max(Decimal(10) ** (exact.adjusted() - figures + 1), Decimal(0)) / 2
    assert abs(Decimal(text) - exact) <= min(
        max(allowed, Decimal(0)), Decimal("0.5") if exact >= 1 else allowed
    )
    assert "." not in text or text[-1] not in ".0"


@settings(max_examples=400)
@given(
    st.floats(min_value=1e-9, max_value=1e6),
    st.sampled_from(sorted(KINDS)),
    st.sampled_from(["metric", "imperial"]),
    st.booleans(),
)
def test_what_is_written_reads_back_the_same(value: float, kind: str, system: str, negative: bool) -> None:
    value = -value if negative else value
    text = write_quantity(value, kind, system, 6)
    assert "  " not in text
    sign = "-" if text.startswith("-") else ""
    number, gap, unit = text.removeprefix("-").partition(GAP)
    if readings := find_meanings(number):
        # Three decimals can be thousands to who reads them in a field, which asks back; this is the answer.
        text = f"{sign}{readings[1]}{gap}{unit}"
    if kind == "temperature":
        assert read_quantity(text, kind, "°C") == pytest.approx(value, abs=6e-4, rel=1e-5)
    elif kind == "number" or "e" not in text:
        assert read_quantity(text, kind, "" if kind == "number" else KINDS[kind].metric[-1]) == pytest.approx(
            value, rel=1e-5
        )


@settings(max_examples=300)
@given(st.floats(min_value=1e-6, max_value=1e5), st.sampled_from(sorted(set(KINDS) - {"number"})))
def test_the_unit_leaves_at_least_one_whole_unless_it_is_the_smallest(value: float, kind: str) -> None:
    unit = choose_unit(value, kind)
    assert unit is not None
    smallest = unit.symbol == KINDS[kind].metric[0]
    assert smallest or float(f"{convert_to(value, unit):.2e}") >= 1


def test_a_phrase_writes_its_figures_in_the_readers_system() -> None:
    inner = say("{length} long", length=Figure(0.3048, "length"))
    phrase = say("{name}: {inner}, {count} {{of}} them", name="Lead", inner=inner, count=2)
    assert phrase.write().replace(GAP, " ") == "Lead: 305 mm long, 2 {of} them"
    assert phrase.write("imperial").replace(GAP, " ") == "Lead: 1 ft long, 2 {of} them"


def test_a_phrase_without_parts_and_a_readers_braces_are_taken_as_they_are() -> None:
    assert say("{x} % {0}").write() == "{x} % {0}"
    assert say("{name}", name="{0.__class__}").write() == "{0.__class__}"


@pytest.mark.parametrize("value", [math.inf, -math.inf, math.nan])
def test_what_is_no_finite_number_is_never_written(value: float) -> None:
    with pytest.raises(NotFiniteError, match="cannot be written"):
        write_number(value)
    with pytest.raises(NotFiniteError, match="a figure, a current, is"):
        Figure(value, "current")
    for kind in KINDS:
        with pytest.raises(NotFiniteError):
            write_quantity(value, kind)


@pytest.mark.parametrize(
    ("value", "kind", "written"),
    [
        (4.059, "voltage", "4.0590 V"),
        (4.05, "voltage", "4.05 V"),
        (0.03, "fraction", "3 %"),
        (2.5e-6, "area", "2.5 mm²"),
        (1 / 3, "current", "0.333333333333 A"),
        (3.0, "number", "3"),
    ],
)
def test_a_figure_is_written_as_a_field_reads_it(value: float, kind: str, written: str) -> None:
    assert Figure(value, kind).write_exactly() == written
    if kind != "number":
        assert read_quantity(written, kind, "") == pytest.approx(value, rel=1e-11)
