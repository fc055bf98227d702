"""Decibels against numpy and against sums of levels printed in courses of acoustics."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calculators.numbers.decibel import find_decibels, find_power_ratio


@given(st.floats(min_value=1e-30, max_value=1e30))
def test_the_logarithm_is_numpys(ratio: float) -> None:
    assert find_decibels(ratio) == pytest.approx(10 * float(np.log10(ratio)), abs=1e-12)


@given(st.floats(min_value=-200, max_value=200))
def test_a_ratio_and_its_decibels_are_inverse(level: float) -> None:
    assert find_decibels(find_power_ratio(level)) == pytest.approx(level, abs=1e-10)


# Incoherent sums: a university lecture on sound levels (80 + 85, 80 + 80) and an audio course (90 + 90).
@pytest.mark.parametrize(("first", "second", "total"), [(80, 85, 86.2), (80, 80, 83.0), (90, 90, 93.0)])
def test_published_sums_of_levels(first: float, second: float, total: float) -> None:
    found = find_decibels(find_power_ratio(first) + find_power_ratio(second))
    assert found == pytest.approx(total, abs=0.05)


@pytest.mark.parametrize("ratio", [0.0, -1.0, math.inf, math.nan])
def test_a_ratio_that_has_no_logarithm_is_refused(ratio: float) -> None:
    with pytest.raises(ValueError, match="positive ratio"):
        find_decibels(ratio)
