"""Elementary functions that give the same digits on every machine.

`math.log10`, `math.exp` and `**` call the C library of the machine, and C libraries differ in the last
digit: a page computed on the author's laptop would disagree with the reader's phone. Everything here
uses either the decimal arithmetic that CPython carries itself, or plain float operations (+ - * / and
square root), which IEEE 754 fixes to the last bit.
"""

import math
from decimal import Context, Decimal

_CONTEXT = Context(prec=28)


def find_log10(x: float) -> float:
    """Return the decimal logarithm of `x`; raises ValueError unless `x` is positive."""
    if not x > 0:
        raise ValueError(f"the logarithm needs a positive number, got {x}")
    return float(_CONTEXT.log10(Decimal(x)))


def find_log(x: float) -> float:
    """Return the natural logarithm of `x`; raises ValueError unless `x` is positive."""
    if not x > 0:
        raise ValueError(f"the logarithm needs a positive number, got {x}")
    return float(_CONTEXT.ln(Decimal(x)))


def find_exp(x: float) -> float:
    """Return e raised to `x`."""
    return float(_CONTEXT.exp(Decimal(x)))


def find_power(base: float, exponent: float) -> float:
    """Return `base` raised to `exponent`; raises ValueError for a negative base and for one over nothing."""
    if base < 0:
        raise ValueError(f"a power with any exponent needs a base that is not negative, got {base}")
    if base == 0:
        if exponent < 0:
            raise ValueError("nought raised to a negative exponent has no value")
        return 0.0 if exponent > 0 else 1.0
    return float(_CONTEXT.power(Decimal(base), Decimal(exponent)))


def find_cube_root(x: float) -> float:
    """Return the real cube root of `x` (which must not be negative), by Newton's method.

    About ten times quicker than `find_power(x, 1 / 3)`; heat balances call it thousands of times.
    """
    if x < 0:
        raise ValueError(f"the cube root here needs a number that is not negative, got {x}")
    if x == 0:
        return 0.0
    fraction, exponent = math.frexp(x)
    shift = exponent % 3
    fraction, exponent = math.ldexp(fraction, shift), (exponent - shift) // 3
    root = 0.6 + 0.35 * fraction  # within 30 % over 0.5 to 4, so that six steps reach the last bit
    for _ in range(6):
        root = root - (root * root * root - fraction) / (3.0 * root * root)
    return math.ldexp(root, exponent)
