"""Decibels: ten times the decimal logarithm of a power ratio, quick enough for a table of many rows.

`elementary.find_log10` works in decimal arithmetic and takes some fifty microseconds; a table of levels
needs dozens of logarithms at every keystroke. This one splits off the power of two and sums the series of
the inverse hyperbolic tangent, in plain float operations, so that it gives the same digits everywhere too.
"""

import math
from functools import lru_cache

from calculators.numbers.elementary import find_power

LOG10_OF_2 = 0.30102999566398119521
"""Decimal logarithm of 2; Abramowitz and Stegun, Handbook of Mathematical Functions, table 1.1."""

TWICE_LOG10_OF_E = 0.86858896380650365530
"""Twice the decimal logarithm of e; the same table."""

_ROOT_HALF = math.sqrt(0.5)
_ODD_NUMBERS = tuple(range(21, 0, -2))


def find_decibels(ratio: float) -> float:
    """Return 10 log10(ratio) of two powers, in dB; raises ValueError unless it is positive and finite."""
    if not 0 < ratio < math.inf:
        raise ValueError(f"decibels need a positive ratio, got {ratio}")
    fraction, exponent = math.frexp(ratio)
    if fraction < _ROOT_HALF:
        fraction, exponent = 2 * fraction, exponent - 1
    z = (fraction - 1) / (fraction + 1)
    square = z * z  # at most 0.0295, so that eleven terms reach the last bit
    total = 0.0
    for odd in _ODD_NUMBERS:
        total = total * square + 1 / odd
    return 10 * (exponent * LOG10_OF_2 + TWICE_LOG10_OF_E * z * total)


@lru_cache(maxsize=256)
def find_power_ratio(decibels: float) -> float:
    """Return the ratio of two powers that lie so many decibels apart."""
    return find_power(10.0, decibels / 10)
