"""The impedance of a loudspeaker driver, and of a network of drivers, from the small-signal parameters.

The electrical model of Thiele and Small: the voice coil's resistance and inductance in series with a
resonant circuit that stands for the moving mass, the suspension and their losses. It holds for small
signals; the coil's inductance is taken as constant, although eddy currents make it fall as the frequency
rises. Impedances are pairs (real, imaginary) in Ω, because Python's complex division is not the same to
the last bit on every machine.
"""

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache

from calculators.notation.units import Henry, Hertz, Ohm
from calculators.numbers.elementary import find_power
from calculators.speaker_load.dc_network import Joint, Network, Part

type Impedance = tuple[float, float]

type _Step = Driver | float | tuple[Joint, tuple[tuple[int, int], ...]]
"""A load, or a group of earlier steps: (number of the step, how often it stands in the group)."""

CURVE_POINTS = 97
"""Points of a curve; over 20 Hz to 20 kHz 32 in a decade, finer than a curve can be read on a phone."""


@dataclass(frozen=True, slots=True)
class Driver:
    """The small-signal parameters of one driver.

    `re` is the voice coil's d.c. resistance in Ω, `le` its inductance in H, None where it is not known, `fs`
    the resonance in free air in Hz, `qms` and `qes` the mechanical and the electrical Q at `fs`. All but
    `le` are positive.
    """

    re: Ohm
    le: Henry | None
    fs: Hertz
    qms: float
    qes: float

    @property
    def peak(self) -> Ohm:
        """What the resonance adds to `re` at `fs`: Re Qms / Qes."""
        return self.re * self.qms / self.qes

    def find_impedance(self, frequency: float) -> Impedance:
        """Return the impedance at a frequency in Hz above zero; an unknown inductance counts as none."""
        detuning = self.qms * (frequency / self.fs - self.fs / frequency)
        motional = self.peak / (1 + detuning * detuning)
        return (self.re + motional, 2 * math.pi * frequency * (self.le or 0.0) - motional * detuning)


@dataclass(frozen=True, slots=True)
class Curve:
    """Modulus of the impedance against frequency: `points` are (Hz, Ω); `lowest` is the minimum itself.

    `parts` are real and imaginary part there, in Ω.
    """

    points: tuple[tuple[float, float], ...]
    lowest: tuple[float, float]
    parts: Impedance

    @property
    def lowest_place(self) -> Hertz:
        """Where the minimum lies."""
        return self.lowest[0]

    @property
    def real(self) -> Ohm:
        """Size of the real part there."""
        return abs(self.parts[0])

    @property
    def imaginary(self) -> Ohm:
        """Size of the imaginary part there."""
        return abs(self.parts[1])

    @property
    def highest(self) -> Ohm:
        """The largest modulus among the points."""
        return max(modulus for _, modulus in self.points)


@lru_cache(maxsize=16)
def list_frequencies(low: float, high: float) -> tuple[float, ...]:
    """Return CURVE_POINTS frequencies in Hz from `low` to `high`, in equal ratios."""
    ratio = find_power(high / low, 1 / (CURVE_POINTS - 1))
    frequencies = [low]
    for _ in range(CURVE_POINTS - 2):
        frequencies.append(frequencies[-1] * ratio)
    return (*frequencies, high)


@lru_cache(maxsize=16)
def find_curve(network: Network, loads: tuple[Driver | float, ...], low: float, high: float) -> Curve:
    """Return the impedance of a network between two frequencies in Hz, and its lowest point.

    A load is a driver, or a resistance in Ω where nothing is known but that. The lowest point is looked
    for between the curve's points as well.
    """
    steps: dict[_Step, int] = {}
    _list_steps(network, loads, steps)
    frequencies = list_frequencies(low, high)
    points = tuple(zip(frequencies, _find_moduli(steps, frequencies), strict=True))
    at = min(range(len(points)), key=lambda number: points[number][1])
    left, right = frequencies[max(at - 1, 0)], frequencies[min(at + 1, len(points) - 1)]
    lowest = min(_narrow(steps, left, right), points[at], key=lambda point: point[1])
    return Curve(points, lowest, _find_impedances(steps, lowest[:1])[-1][0])


@lru_cache(maxsize=16)
def find_shares(
    network: Network, loads: tuple[Driver | float, ...], frequencies: tuple[float, ...], outside: float
) -> tuple[Sequence[float], ...]:
    """Return the share of the source's voltage across each load, by number, at each frequency in Hz.

    `outside` is the resistance in Ω between source and network.
    """
    steps: dict[_Step, int] = {}
    whole = _list_steps(network, loads, steps)
    known = _find_impedances(steps, frequencies)
    moduli = [[_find_modulus(pair) for pair in pairs] for pairs in known]
    shares: list[Sequence[float]] = [()] * len(loads)

    def share(member: Network, voltages: Sequence[float]) -> None:
        if isinstance(member, Part):
            shares[member.number] = voltages
            return
        own = moduli[_list_steps(member, loads, steps)]
        for inner in member.members:
            part = voltages
            if member.joined == "series":
                sizes = moduli[_list_steps(inner, loads, steps)]
                part = [v * size / all_of_it for v, size, all_of_it in zip(voltages, sizes, own, strict=True)]
            share(inner, part)

    beyond = [_find_modulus((real + outside, imaginary)) for real, imaginary in known[whole]]
    share(network, [size / all_of_it for size, all_of_it in zip(moduli[whole], beyond, strict=True)])
    return tuple(shares)


def _narrow(steps: Iterable[_Step], left: float, right: float) -> tuple[float, float]:
    """Return the lowest point between two frequencies, by cutting the span into smaller and smaller parts."""
    for _ in range(7):
        span = [left + (right - left) * step / 6 for step in range(7)]
        moduli = _find_moduli(steps, span)
        at = moduli.index(min(moduli))
        left, right = span[max(at - 1, 0)], span[min(at + 1, 6)]
    return (span[at], moduli[at])


def _list_steps(network: Network, loads: Sequence[Driver | float], steps: dict[_Step, int]) -> int:
    """Add to `steps` what has to be computed, equal branches once; return the number of the network's own."""
    if isinstance(network, Part):
        return steps.setdefault(loads[network.number], len(steps))
    members = Counter(_list_steps(member, loads, steps) for member in network.members)
    return steps.setdefault((network.joined, tuple(sorted(members.items()))), len(steps))


def _find_moduli(steps: Iterable[_Step], frequencies: Sequence[float]) -> list[float]:
    return [_find_modulus(pair) for pair in _find_impedances(steps, frequencies)[-1]]


def _find_modulus(pair: Impedance) -> float:
    real, imaginary = pair
    return math.sqrt(real * real + imaginary * imaginary)


def _find_impedances(steps: Iterable[_Step], frequencies: Sequence[float]) -> list[list[Impedance]]:
    """Return the impedance of each step at each frequency."""
    known: list[list[Impedance]] = []
    for step in steps:
        if isinstance(step, Driver):
            known.append([step.find_impedance(frequency) for frequency in frequencies])
        elif isinstance(step, (int, float)):
            known.append([(step, 0.0)] * len(frequencies))
        else:
            joint, members = step
            total = [(0.0, 0.0)] * len(frequencies)
            for number, count in members:
                pairs = known[number]
                if joint == "parallel":
                    pairs = [_invert(pair) for pair in pairs]
                total = [(a + count * c, b + count * d) for (a, b), (c, d) in zip(total, pairs, strict=True)]
            known.append([_invert(pair) for pair in total] if joint == "parallel" else total)
    return known


def _invert(pair: Impedance) -> Impedance:
    real, imaginary = pair
    square = real * real + imaginary * imaginary
    return (real / square, -imaginary / square)
