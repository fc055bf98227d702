"""Limits: passed by more than rounding alone, and by less."""

from __future__ import annotations

import pytest

from calculators.numbers.rounding import exceeds


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
