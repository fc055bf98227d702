"""A lead of two wires, for calculators in which it is a detail: the run that wire-gauge has by default."""

from functools import lru_cache

from calculators.notation.gauge import Gauge
from calculators.notation.insulation import make_insulation
from calculators.notation.units import Ampere, Celsius, Metre, Volt
from calculators.physics.copper import ConductorKind
from calculators.physics.wire_run import JudgedSize, Run, judge_size

LEAD_AIR: Celsius = 30.0
"""Of the air round the lead."""

LEAD_LIMIT: Celsius = 80.0
"""What its insulation bears."""

_WALL, _TOGETHER = 0.4e-3, 2
"""m of insulation, and loaded wires in the bundle."""

_WITHOUT_LIMIT: Volt = 1e9


def make_lead_run(
    kind: ConductorKind,
    current: Ampere,
    length: Metre = 0.0,
    allowed: Volt = _WITHOUT_LIMIT,
    fuse: Ampere | None = None,
) -> Run:
    """Return the run of a lead of this kind of wire; without an allowed drop, only heat and fuse count."""
    return Run(
        current=current, peak=current, duty=1.0, peak_time=1.0, length=length, allowed=allowed,
        contact_drop=0.0, conductor=kind, insulation=make_insulation(LEAD_LIMIT), wall=_WALL,
        ambient=LEAD_AIR, bundle=_TOGETHER, fuse=fuse,
    )  # fmt: skip


def judge_lead(gauge: Gauge, kind: ConductorKind, current: Ampere, fuse: Ampere | None = None) -> JudgedSize:
    """Return how two such wires bear this current and their fuse, or the one that it needs."""
    return judge_size(make_lead_run(kind, current, fuse=fuse), gauge)


@lru_cache(maxsize=256)
def find_lead_capacity(gauge: Gauge, kind: ConductorKind) -> Ampere:
    """Return the current in A that a lead of two such wires carries for hours."""
    return judge_lead(gauge, kind, 0.0).capacity
