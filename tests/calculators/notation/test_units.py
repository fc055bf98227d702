"""Every row of the units table against pint, both directions; kinds and spellings without duplicates."""

from __future__ import annotations

import math

import pint
import pytest

from calculators.notation.quantity import read_quantity
from calculators.notation.showing import convert_to
from calculators.notation.units import KINDS, UNITS, Kind, Unit, find_kinds, find_unit, list_units

REGISTRY = pint.UnitRegistry()

SI = {
    "V": "volt",
    "A": "ampere",
    "ohm": "ohm",
    "W": "watt",
    "m": "metre",
    "m2": "metre**2",
    "degC": "degC",
    "K": "delta_degC",
    "s": "second",
    "Hz": "hertz",
    "1": "dimensionless",
    "C": "coulomb",
    "F": "farad",
    "H": "henry",
    "dB": "decibel",
    "ohm/m": "ohm/metre",
    "ohm/km": "ohm/kilometre",
    "W/m": "watt/metre",
    "%": "percent",
    "B": "byte",
}

ROWS = {
    ("V", "voltage"): "volt",
    ("mV", "voltage"): "millivolt",
    ("kV", "voltage"): "kilovolt",
    ("A", "current"): "ampere",
    ("mA", "current"): "milliampere",
    ("µA", "current"): "microampere",
    ("Ω", "resistance"): "ohm",
    ("mΩ", "resistance"): "milliohm",
    ("kΩ", "resistance"): "kiloohm",
    ("MΩ", "resistance"): "megaohm",
    ("W", "power"): "watt",
    ("mW", "power"): "milliwatt",
    ("kW", "power"): "kilowatt",
    ("m", "length"): "metre",
    ("mm", "length"): "millimetre",
    ("cm", "length"): "centimetre",
    ("km", "length"): "kilometre",
    ("in", "length"): "inch",
    ("ft", "length"): "foot",
    ("mm²", "area"): "millimetre**2",
    ("cm²", "area"): "centimetre**2",
    ("m²", "area"): "metre**2",
    ("cmil", "area"): "circular_mil",
    ("kcmil", "area"): "1000*circular_mil",
    ("°C", "temperature"): "degC",
    ("°F", "temperature"): "degF",
    ("K", "temperature"): "kelvin",
    ("K", "temperature difference"): "delta_degC",
    ("Δ°F", "temperature difference"): "delta_degF",
    ("s", "time"): "second",
    ("ms", "time"): "millisecond",
    ("µs", "time"): "microsecond",
    ("min", "time"): "minute",
    ("h", "time"): "hour",
    ("Hz", "frequency"): "hertz",
    ("kHz", "frequency"): "kilohertz",
    ("MHz", "frequency"): "megahertz",
    ("%", "fraction"): "percent",
    ("%", "percent"): "percent",
    ("A h", "charge"): "ampere*hour",
    ("mA h", "charge"): "milliampere*hour",
    ("F", "capacitance"): "farad",
    ("mF", "capacitance"): "millifarad",
    ("µF", "capacitance"): "microfarad",
    ("nF", "capacitance"): "nanofarad",
    ("pF", "capacitance"): "picofarad",
    ("H", "inductance"): "henry",
    ("mH", "inductance"): "millihenry",
    ("µH", "inductance"): "microhenry",
    ("dB", "level"): "decibel",
    ("Ω/m", "resistance per length"): "ohm/metre",
    ("mΩ/m", "resistance per length"): "milliohm/metre",
    ("Ω/1000 ft", "resistance per length"): "ohm/(1000*foot)",
    ("Ω/ft", "resistance per length"): "ohm/foot",
    ("Ω/km", "resistance per kilometre"): "ohm/kilometre",
    ("Ω/1000 ft", "resistance per kilometre"): "ohm/(1000*foot)",
    ("W/m", "power per length"): "watt/metre",
    ("W/ft", "power per length"): "watt/foot",
    ("B", "memory"): "byte",
    ("kB", "memory"): "kilobyte",
}


def convert_by_pint(value: float, given: str, wanted: str) -> float:
    if "*(" in given or "1000*" in given:
        # pint reads a number in a unit's name as part of the quantity.
        return float((value * REGISTRY(given)).to(wanted).magnitude)
    return float(REGISTRY.Quantity(value, given).to(wanted).magnitude)


def test_every_row_has_its_counterpart() -> None:
    assert {(unit.symbol, unit.kind) for unit in UNITS} == set(ROWS)


@pytest.mark.parametrize("unit", UNITS, ids=lambda unit: f"{unit.kind}: {unit.symbol}")
@pytest.mark.parametrize("value", [1.0, 0.37, -12.5, 4700.0])
def test_a_row_agrees_with_pint_in_both_directions(unit: Unit, value: float) -> None:
    si, given = SI[KINDS[unit.kind].si], ROWS[unit.symbol, unit.kind]
    expected = convert_by_pint(value, given, si)
    assert value * unit.factor + unit.offset == pytest.approx(
        expected, rel=1e-12, abs=1e-10 * abs(unit.offset)
    )
    assert convert_to(expected, unit) == pytest.approx(value, rel=1e-11)


@pytest.mark.parametrize("unit", UNITS, ids=lambda unit: f"{unit.kind}: {unit.symbol}")
def test_symbol_and_every_alias_are_read_alike(unit: Unit) -> None:
    for spelling in (unit.symbol, *unit.aliases):
        assert find_unit(unit.kind, spelling) is unit
        assert read_quantity(f"2 {spelling}", unit.kind, unit.symbol) == pytest.approx(
            2 * unit.factor + unit.offset, rel=1e-12
        )


@pytest.mark.parametrize("kind", KINDS.values(), ids=lambda kind: kind.name)
def test_a_kind_shows_units_it_has_from_small_to_large(kind: Kind) -> None:
    (key,) = (name for name, row in KINDS.items() if row is kind)
    for symbols in (kind.metric, kind.imperial):
        if symbols in ((), ("",)):
            continue
        units = [find_unit(key, symbol) for symbol in symbols]
        assert None not in units
        factors = [unit.factor for unit in units if unit]
        assert factors == sorted(set(factors))


def test_names_of_kinds_stand_once() -> None:
    names = [kind.name for kind in KINDS.values()]
    assert sorted(names) == sorted(set(names))
    assert {unit.kind for unit in UNITS} | {"diameter", "number"} == set(KINDS)


def test_a_diameter_reads_as_a_length() -> None:
    assert list_units("diameter") == list_units("length")
    assert read_quantity("1 in", "diameter", "mm") == 0.0254


def test_a_spelling_knows_its_kinds() -> None:
    assert find_kinds("K") == ("resistance", "temperature", "temperature difference")
    assert find_kinds("furlong") == ()


def test_a_circular_mil_is_a_circle_one_mil_across() -> None:
    # NBS Handbook 100: 1 circular mil = 5.067e-4 mm².
    unit = find_unit("area", "cmil")
    assert unit is not None
    assert unit.factor == pytest.approx(5.067e-10, rel=1e-4)
    assert unit.factor == pytest.approx(math.pi * (0.0254e-3 / 2) ** 2, rel=1e-15)
