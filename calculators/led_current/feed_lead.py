"""The wire of one feed: the thinnest that wire-gauge would take for it, and what a lead's loop measures."""

from functools import cache

from calculators.notation.gauge import Gauge
from calculators.notation.units import Ampere, Metre, Ohm, Volt
from calculators.physics.copper import ConductorKind, find_conductor_factor, find_wire_resistance
from calculators.physics.lead import make_lead_run
from calculators.physics.wire_run import find_smallest_size, list_awg

THINNEST, THICKEST = "24 AWG", "10 AWG"
"""Of what is proposed: thinner wire breaks at a strip's pads, thicker tears them off; common practice."""


def find_loop_resistance(gauge: Gauge, length: Metre, kind: ConductorKind) -> Ohm:
    """Return the resistance in Ω of a lead of `length` (m, one way), out and back, at 20 °C."""
    return find_wire_resistance(2 * length, gauge.area, factor=find_conductor_factor(gauge.area, kind))


def choose_wire(kind: ConductorKind, current: Ampere, length: Metre, allowed: Volt) -> Gauge | None:
    """Return the thinnest size for a feed that bears its current and fuse and keeps the drop, or None."""
    return find_smallest_size(make_lead_run(kind, current, length, allowed), list_proposed())


@cache
def list_proposed() -> tuple[Gauge, ...]:
    """Return the sizes that are proposed, thin to thick."""
    labels = [size.label for size in list_awg()]
    return list_awg()[labels.index(THINNEST) : labels.index(THICKEST) + 1]
