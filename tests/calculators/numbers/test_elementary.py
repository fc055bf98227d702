"""Elementary functions against the C library (`math`) and scipy, to a unit in the last place.

The C library's functions are themselves right to about one unit; two witnesses that differ by less than two
units show that neither is wrong. Exact cases come from arithmetic.
"""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
import scipy.special
from hypothesis import given, settings
from hypothesis import strategies as st

from calculators.numbers.elementary import find_cube_root, find_exp, find_log, find_log10, find_power

POSITIVE = st.floats(min_value=1e-150, max_value=1e150, allow_subnormal=False)
FEW = settings(max_examples=300)


def check_ulps(value: float, expected: float, ulps: int = 2) -> None:
    assert abs(value - expected) <= ulps * math.ulp(expected), (value, expected)


@FEW
@given(POSITIVE)
def test_logarithms(x: float) -> None:
    check_ulps(find_log(x), math.log(x))
    check_ulps(find_log10(x), math.log10(x))
    # scipy's x · ln y with x = 1 is a logarithm of its own making.
    check_ulps(find_log(x), float(scipy.special.xlogy(1.0, x)))


@FEW
@given(st.floats(min_value=-300, max_value=300))
def test_the_exponential_function(x: float) -> None:
    check_ulps(find_exp(x), math.exp(x))
    if x > 0:
        check_ulps(find_exp(x), float(scipy.special.expm1(x)) + 1)


@FEW
@given(st.floats(min_value=1e-6, max_value=1e6), st.floats(min_value=-20, max_value=20))
def test_powers(base: float, exponent: float) -> None:
    check_ulps(find_power(base, exponent), math.pow(base, exponent))


@FEW
@given(POSITIVE)
def test_cube_roots(x: float) -> None:
    check_ulps(find_cube_root(x), float(scipy.special.cbrt(x)), 1)


def test_cubes_come_back_exactly() -> None:
    for root in range(2000):
        assert find_cube_root(float(root**3)) == root


def test_powers_of_ten_and_two_are_exact() -> None:
    for exponent in range(-300, 300):
        assert find_log10(float(f"1e{exponent}")) == exponent
        assert find_power(10.0, float(exponent)) == float(f"1e{exponent}")
    for exponent in range(-1000, 1000):
        assert find_power(2.0, float(exponent)) == math.ldexp(1.0, exponent)
    assert (find_log(1.0), find_exp(0.0), find_exp(1.0)) == (0.0, 1.0, math.e)


@FEW
@given(st.fractions(min_value=Fraction(1, 1000), max_value=1000, max_denominator=1000), st.integers(-12, 12))
def test_whole_powers_of_fractions_are_the_nearest_float(base: Fraction, exponent: int) -> None:
    # Rational arithmetic is exact, so this witness has no last digit to be wrong in.
    exact = Fraction(float(base)) ** exponent
    check_ulps(find_power(float(base), float(exponent)), float(exact), 1)


@FEW
@given(POSITIVE, POSITIVE)
def test_all_rise(a: float, b: float) -> None:
    low, high = sorted((a, b))
    assert find_log(low) <= find_log(high)
    assert find_log10(low) <= find_log10(high)
    # Newton's last step may be one unit off, so neighbours closer than that are left out.
    assert find_cube_root(low) <= find_cube_root(high * (1 + 1e-14))
    assert find_power(low, 0.25) <= find_power(high, 0.25)


@FEW
@given(st.floats(min_value=-700, max_value=700), st.floats(min_value=-700, max_value=700))
def test_the_exponential_function_rises(a: float, b: float) -> None:
    low, high = sorted((a, b))
    assert find_exp(low) <= find_exp(high)


def test_nought() -> None:
    assert (find_power(0.0, 2.0), find_power(0.0, 0.0), find_cube_root(0.0)) == (0.0, 1.0, 0.0)


@pytest.mark.parametrize("x", [0.0, -1.0, math.nan])
def test_logarithms_refuse_what_has_none(x: float) -> None:
    with pytest.raises(ValueError, match="needs a positive number"):
        find_log(x)
    with pytest.raises(ValueError, match="needs a positive number"):
        find_log10(x)


def test_powers_and_roots_refuse_what_has_none() -> None:
    with pytest.raises(ValueError, match="base that is not negative"):
        find_power(-2.0, 3.0)
    with pytest.raises(ValueError, match="negative exponent"):
        find_power(0.0, -1.0)
    with pytest.raises(ValueError, match="not negative"):
        find_cube_root(-8.0)
