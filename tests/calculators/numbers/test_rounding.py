"""Limits: passed by more than rounding alone, and by less."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calculators.numbers.rounding import exceeds, round_down, round_up


@pytest.mark.parametrize("limit", [1e-12, 4.0, 3e8])
def test_a_limit_is_passed_by_more_than_rounding(limit: float) -> None:
    # A thousandth of what a meter with six digits shows.
    assert exceeds(limit * (1 + 1.02e-9), limit)
    assert not exceeds(limit * (1 + 0.98e-9), limit)
    assert not exceeds(limit, limit)


def test_rounding_is_far_above_that_of_sums_and_far_below_what_a_meter_shows() -> None:
    # Forty currents of a tenth and a third of an ampere, summed in another order.
    assert not exceeds(sum([0.1] * 40 + [1 / 3] * 40), sum([0.1, 1 / 3] * 40))
    assert exceeds(4.000001, 4.0)


@pytest.mark.parametrize(
    ("value", "up", "down"),
    [
        (1.0, 1.0, 1.0),
        (1.01, 1.1, 1.0),
        (1.05, 1.1, 1.0),
        (9.91, 10, 9.9),
        (0.0234, 0.024, 0.023),
        (667, 670, 660),
    ],
)
def test_two_digits_are_left_on_the_safe_side(value: float, up: float, down: float) -> None:
    assert round_up(value) == pytest.approx(up)
    assert round_down(value) == pytest.approx(down)


@given(st.floats(1e-9, 1e9))
def test_rounding_to_two_digits_never_misses_its_side(value: float) -> None:
    assert 0.89 * value <= round_down(value) <= value <= round_up(value) <= 1.11 * value
    assert round_down(0.0) == 0.0
