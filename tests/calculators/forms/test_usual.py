"""What is far from anything usual is noted in every field: a figure in the wrong unit is still a figure."""

import math

import pytest

from calculators import list_calculators
from calculators.forms.calculator import Calculator
from calculators.forms.fields import GaugeInput, Input, QuantityInput
from calculators.forms.rows import RowsInput
from tests.calculators.guide import load_module

CALCULATORS: tuple[Calculator, ...] = (*list_calculators(), load_module().CALCULATOR)


def list_quantities() -> list[tuple[str, QuantityInput]]:
    """All quantities that are asked for, those in rows included."""
    listed: list[tuple[str, Input[object]]] = []
    for one in CALCULATORS:
        for item in one.inputs:
            columns = item.columns if isinstance(item, RowsInput) else (item,)
            listed += [(f"{one.slug}.{item.name}.{column.name}", column) for column in columns]
    return [(place, item) for place, item in listed if isinstance(item, QuantityInput)]


QUANTITIES = list_quantities()


@pytest.mark.parametrize("item", [item for _, item in QUANTITIES], ids=[place for place, _ in QUANTITIES])
def test_every_quantity_has_a_usual_range_within_its_limits(item: QuantityInput) -> None:
    assert item.usual, "give it the range outside which a builder has probably written the wrong unit"
    low, high = item.usual
    assert item.lowest <= low < high <= item.highest
    # Narrower than what can be computed by far, on one side at least: else nothing would ever be noted.
    assert low > item.lowest or high < item.highest
    for inside in (low, high, math.sqrt(low * high) if low > 0 else high / 2):
        assert not item.list_unusual(inside)
    for outside in (0.99 * low if low > 0 else low - 1, 1.01 * high):
        (noted,) = item.list_unusual(outside)
        assert (noted.value.value, noted.low.value, noted.high.value) == (outside, low, high)


@pytest.mark.parametrize("calculator", CALCULATORS, ids=lambda one: one.slug)
def test_what_a_calculator_begins_with_is_usual(calculator: Calculator) -> None:
    for texts in ({}, calculator.example):
        notes = [
            finding.text.write()
            for finding in calculator.run(texts).findings
            if finding.code == "unusual-input"
        ]
        assert notes == []


SLIPS = [
    (
        "wire-gauge",
        "contact_resistance",
        "0.03",
        "Resistance of one contact: 0.03 mΩ is outside the usual 1 mΩ to 200 mΩ",
    ),
    (
        "wire-gauge",
        "allowed_drop",
        "0.03",
        "Allowed drop (% or V): 0.03 % is outside the usual 0.5 % to 15 %",
    ),
    ("wire-gauge", "allowed_drop", "5 mV", "Allowed drop (% or V): 5 mV is outside the usual 10 mV to 5 V"),
    ("wire-gauge", "gauge", "2", "Size to judge: 33.6 mm² is outside the usual 0.05 mm² to 16 mm²"),
    ("led-current", "brightness", "0.6", "Brightness: 0.6 % is outside the usual 5 % to 100 %"),
    ("led-current", "lead_drop", "0.3", "Drop allowed in a lead: 0.3 % is outside the usual 0.5 % to 10 %"),
    ("pin-order", "supply_over", "0.06", "0.06 % is outside the usual 2 % to 60 %"),
]


@pytest.mark.parametrize(("slug", "name", "text", "words"), SLIPS)
def test_a_slip_of_the_unit_is_noted(slug: str, name: str, text: str, words: str) -> None:
    calculator = next(one for one in CALCULATORS if one.slug == slug)
    notes = [finding for finding in calculator.run({name: text}).findings if finding.code == "unusual-input"]
    assert words in " ".join(note.text.write() for note in notes).replace("\u00a0", " ")
    assert {note.level for note in notes} == {"note"}


@pytest.mark.parametrize(
    ("size", "noted"), [("31 AWG", True), ("30 AWG", False), ("16 mm2", False), ("16.1 mm2", True)]
)
def test_a_wire_that_no_figure_holds_is_noted(size: str, noted: bool) -> None:
    field = GaugeInput(label="Wire")
    assert bool(field.list_unusual(field.read(size))) == noted


def test_nothing_at_all_is_meant() -> None:
    field = next(item for place, item in QUANTITIES if place.startswith("wire-gauge.contact_resistance"))
    assert field.list_unusual(field.read("0")) == ()
    assert field.list_unusual(None) == ()
