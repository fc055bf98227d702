"""Preferred values against the table of IEC 60063 as an independent library keeps it."""

import math

import eseries
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calculators.numbers.preferred_values import (
    SERIES,
    find_next_above,
    find_next_below,
    remove_dust,
)

KEYS = {name: eseries.ESeries[name] for name in ("E3", "E6", "E12", "E24", "E48", "E96")}
VALUES = st.floats(min_value=1e-12, max_value=1e9).map(remove_dust)


@pytest.mark.parametrize("name", KEYS)
def test_the_series_are_those_of_the_library(name: str) -> None:
    figures = 10 if SERIES[name][0] == 10 else 100
    assert [step / figures for step in SERIES[name]] == [
        value / 10 ** math.floor(math.log10(value)) for value in eseries.series(KEYS[name])
    ]


@given(value=VALUES, name=st.sampled_from(sorted(KEYS)))
def test_next_above_and_below_agree_with_the_library(value: float, name: str) -> None:
    above = eseries.find_greater_than_or_equal(KEYS[name], value)
    below = eseries.find_less_than_or_equal(KEYS[name], value)
    assert find_next_above(value, name) == pytest.approx(above, rel=1e-9)
    assert find_next_below(value, name) == pytest.approx(below, rel=1e-9)


# The series resistors of an LED, worked on an electronics forum page (first row) and by hand: supply V,
# forward voltages V, current A, next value above in E12 and in E24.
@pytest.mark.parametrize(
    ("supply", "forward", "current", "above_e12", "above_e24"),
    [
        (9.0, 3.0, 0.020, 330, 300),
        (9.0, 1.8, 0.005, 1500, 1500),
        (5.0, 2.0, 0.020, 150, 150),
        (5.0, 3.2, 0.020, 100, 91),
        (5.0, 2.1, 0.015, 220, 200),
        (12.0, 9.6, 0.020, 120, 120),
    ],
)
def test_worked_resistors(
    supply: float, forward: float, current: float, above_e12: float, above_e24: float
) -> None:
    exact = (supply - forward) / current
    assert find_next_above(exact, "E12") == above_e12
    assert find_next_above(exact, "E24") == above_e24


def test_floating_point_dust_does_not_skip_a_value() -> None:
    # A published slip: (12 V - 9.6 V) / 20 mA is 120.00000000000001 in floats, so 120 Ω was passed over.
    dusty = (12 - 9.6) / 0.02
    assert dusty > 120
    assert find_next_above(dusty, "E12") == 120
    assert find_next_below(0.1 + 0.2, "E24") == 0.3


@pytest.mark.parametrize("name", SERIES)
@pytest.mark.parametrize("decade", [-12, -6, 0, 3, 6])
def test_a_preferred_value_is_its_own_neighbour(name: str, decade: int) -> None:
    for step in SERIES[name]:
        value = float(f"{step}e{decade}")
        assert find_next_above(value, name) == find_next_below(value, name) == value


@pytest.mark.parametrize("value", [0.0, -1.0, math.nan])
def test_only_positive_values_have_neighbours(value: float) -> None:
    with pytest.raises(ValueError, match="positive"):
        find_next_above(value, "E12")


def test_an_unknown_series_is_refused() -> None:
    with pytest.raises(KeyError, match="E7"):
        find_next_below(1.0, "E7")
