"""Series capacitors that spare a small speaker the low frequencies, first order, from the usual series."""

import math
from dataclasses import dataclass

from calculators.notation.units import Farad, Hertz, Ohm
from calculators.numbers.preferred_values import find_next_below, remove_dust

SERIES = ("E6", "E12")


@dataclass(frozen=True, slots=True)
class Capacitor:
    """One on sale, and the frequency at which it turns over with its speaker."""

    value: Farad
    frequency: Hertz


def find_capacitors(frequency: Hertz, nominal: Ohm) -> tuple[Farad, tuple[Capacitor, ...]]:
    """Return the exact capacitance for a speaker of this impedance, and one on sale for each of SERIES."""
    exact = remove_dust(1 / (2 * math.pi * frequency * nominal))
    # The next below, so that the frequency comes out above the one that was asked for.
    values = [find_next_below(exact, series) for series in SERIES]
    return exact, tuple(Capacitor(value, 1 / (2 * math.pi * value * nominal)) for value in values)
