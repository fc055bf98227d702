"""What the two wires of a lead carry for hours, for calculators in which the lead is a detail.

It is what wire-gauge says of them at its own defaults.
"""

from functools import lru_cache

from calculators.notation.gauge import Gauge
from calculators.notation.insulation import make_insulation
from calculators.notation.units import Ampere, Celsius
from calculators.physics.ampacity import find_capacity
from calculators.physics.copper import ConductorKind, find_conductor_factor
from calculators.physics.heat_balance import Wire

LEAD_AIR: Celsius = 30.0
"""Of the air round the lead."""

LEAD_LIMIT: Celsius = 80.0
"""What its insulation bears."""

_WALL, _TOGETHER = 0.4e-3, 2
"""m of insulation, and loaded wires in the bundle."""


@lru_cache(maxsize=256)
def find_lead_capacity(gauge: Gauge, kind: ConductorKind) -> Ampere:
    """Return the current in A that a lead of two such wires carries for hours."""
    factor = find_conductor_factor(gauge.area, kind)
    wire = Wire(gauge.area, factor, _WALL, make_insulation(LEAD_LIMIT).thermal_resistivity)
    return find_capacity(wire, LEAD_LIMIT, LEAD_AIR, _TOGETHER)
