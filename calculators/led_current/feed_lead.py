"""The fuse and the wire of one feed.

A wire is proposed by a rule that is short enough to check at the bench: it carries at least what its fuse
lets through for ever, by a published table of wires in bundles, and loses no more than the allowed share of
the supply. A wire that is there already is judged by the heat balance (`wire_run.find_lead_capacity`).
"""

from functools import cache

from calculators.notation.gauge import Gauge, make_awg
from calculators.physics.copper import ConductorKind, find_conductor_factor, find_wire_resistance

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
    return find_wire_resistance(2 * length, gauge.area, factor=find_conductor_factor(gauge.area, kind))


def choose_lead(
    fuse: float, current: float, length: float, allowed_drop: float, kind: ConductorKind
) -> Gauge | None:
    """Return the thinnest tabled size that the fuse (A) protects and whose drop (V) is allowed, or None."""
    for gauge, capacity, per_metre in _list_sizes(kind):
        if capacity >= fuse and current * length * per_metre <= allowed_drop:
            return gauge
    return None


@cache
def _list_sizes(kind: ConductorKind) -> tuple[tuple[Gauge, float, float], ...]:
    """Return each tabled size with its capacity in A and the resistance of one metre, out and back, in Ω."""
    sizes = ((make_awg(number), capacity) for number, capacity in TABLED_CAPACITY)
    return tuple((gauge, capacity, find_loop_resistance(gauge, 1.0, kind)) for gauge, capacity in sizes)
