"""Preferred values of resistors and capacitors: the series E3 to E96 of IEC 60063, and choosing from them."""

from bisect import bisect_left
from collections.abc import Mapping

E24 = (
    *(10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30),
    *(33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91),
)
E96 = (
    *(100, 102, 105, 107, 110, 113, 115, 118, 121, 124, 127, 130, 133, 137, 140, 143),
    *(147, 150, 154, 158, 162, 165, 169, 174, 178, 182, 187, 191, 196, 200, 205, 210),
    *(215, 221, 226, 232, 237, 243, 249, 255, 261, 267, 274, 280, 287, 294, 301, 309),
    *(316, 324, 332, 340, 348, 357, 365, 374, 383, 392, 402, 412, 422, 432, 442, 453),
    *(464, 475, 487, 499, 511, 523, 536, 549, 562, 576, 590, 604, 619, 634, 649, 665),
    *(681, 698, 715, 732, 750, 768, 787, 806, 825, 845, 866, 887, 909, 931, 953, 976),
)

# IEC 60063 builds each coarser series from every second value of the finer one.
SERIES: Mapping[str, tuple[int, ...]] = {
    "E3": E24[::8],
    "E6": E24[::4],
    "E12": E24[::2],
    "E24": E24,
    "E48": E96[::2],
    "E96": E96,
}
"""The significant figures of each series, in tens (E3 to E24) or hundreds (E48, E96)."""


def remove_dust(value: float) -> float:
    """Return `value` to twelve significant figures: (12 - 9.6) / 0.02 becomes exactly 120."""
    return float(f"{value:.11e}")


def find_next_above(value: float, series: str) -> float:
    """Return the smallest preferred value that is not below `value`, which must be positive.

    Raises ValueError for a value that is not positive and KeyError for an unknown series.
    """
    return _find_neighbours(value, series)[1]


def find_next_below(value: float, series: str) -> float:
    """Return the largest preferred value that is not above `value`; raises as `find_next_above`."""
    return _find_neighbours(value, series)[0]


def _find_neighbours(value: float, series: str) -> tuple[float, float]:
    if not value > 0:
        raise ValueError(f"a preferred value needs a positive figure, got {value}")
    steps = SERIES[series]
    digits, _, exponent = f"{value:.11e}".partition("e")
    figures = len(str(steps[0]))
    power = int(exponent) - (figures - 1)
    size = float(f"{digits}e{figures - 1}")
    index = bisect_left(steps, size)
    if index < len(steps) and steps[index] == size:
        exact = float(f"{steps[index]}e{power}")
        return (exact, exact)
    above = float(f"{steps[index]}e{power}" if index < len(steps) else f"{steps[0]}e{power + 1}")
    return (float(f"{steps[index - 1]}e{power}"), above)
