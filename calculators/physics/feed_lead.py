"""The fuse and the wire of one feed, by a rule that is short enough to check at the bench.

The wire carries at least what its fuse lets through for ever, by a published table of wires in bundles, and
loses no more than the allowed share of the supply. The wire-gauge calculator looks closer.
"""

from calculators.physics.copper import ConductorKind, find_conductor_factor, find_resistance
from calculators.vocabulary.gauge import Gauge, make_awg

TABLED_CAPACITY = ((24, 2.5), (22, 3.0), (20, 4.0), (18, 6.0), (16, 7.0), (14, 10.0), (12, 13.0), (10, 17.0))
"""AWG and A: FAA AC 43.13-1B table 11-9, wires in bundles, 105 °C copper; very cautious on the ground."""


def find_tabled_capacity(gauge: Gauge) -> float:
    """Return the current in A of the largest tabled size that is not thicker than `gauge`; 0 below 24 AWG."""
    fitting = [
        capacity for number, capacity in TABLED_CAPACITY if make_awg(number).area <= gauge.area * (1 + 1e-6)
    ]
    return max(fitting, default=0.0)


def find_loop_resistance(gauge: Gauge, length: float, kind: ConductorKind) -> float:
    """Return the resistance in Ω of a lead of `length` (m, one way), out and back, at 20 °C."""
    return find_resistance(2 * length, gauge.area, factor=find_conductor_factor(gauge.area, kind))


def choose_lead(
    fuse: float, current: float, length: float, allowed_drop: float, kind: ConductorKind
) -> Gauge | None:
    """Return the thinnest tabled size that the fuse (A) protects and whose drop (V) is allowed, or None."""
    for number, capacity in TABLED_CAPACITY:
        gauge = make_awg(number)
        if capacity >= fuse and current * find_loop_resistance(gauge, length, kind) <= allowed_drop:
            return gauge
    return None
