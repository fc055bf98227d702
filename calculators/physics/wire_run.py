"""One d.c. run of two equal wires: how a wire size does on it, and the thinnest size that passes.

A size passes when the drop stays within what is allowed with the copper warm, the current within the wire's
capacity, and a standard fuse fits between the load and that capacity (IEC 60364-4-43, 433.1).
"""

import math
from dataclasses import dataclass
from functools import cache, lru_cache

from calculators.forms.shared_fields import CableKind
from calculators.notation.gauge import METRIC_SIZES, Gauge, make_awg, make_metric
from calculators.notation.insulation import Insulation
from calculators.notation.units import (
    Ampere,
    Celsius,
    Metre,
    OhmPerMetre,
    Second,
    Share,
    Volt,
)
from calculators.numbers.rounding import exceeds
from calculators.physics.ampacity import (
    FUSE_LOADING,
    LARGEST_DENSITY,
    find_bundle_factor,
    find_bundled_temperature,
    find_capacity,
    find_cord_capacity,
    find_heating_current,
    find_largest_fuse,
)
from calculators.physics.copper import (
    REFERENCE_TEMPERATURE,
    ConductorKind,
    find_conductor_factor,
    find_resistance_per_metre,
)
from calculators.physics.fuse import AT_HAND, FusePlace, find_fitting_fuse
from calculators.physics.heat_balance import Wire

_SOLD_AWG = (*range(40, 0, -2), 1, 0, -1, -2, -3)
"""Gauge numbers on sale, thin to thick: the even ones, 1, and 1/0 to 4/0; common practice."""


@dataclass(frozen=True, slots=True)
class Run:
    """The task, as far as it is the same for every size that is tried; A, s, m, V and °C.

    `peak` equals `current` where there are no peaks; `length` is one way; `allowed` and `contact_drop` are
    the allowed drop and what the joint contacts take of it at the peak.
    """

    current: Ampere
    peak: Ampere
    duty: Share
    peak_time: Second
    length: Metre
    allowed: Volt
    contact_drop: Volt
    conductor: ConductorKind
    insulation: Insulation
    wall: Metre
    ambient: Celsius
    bundle: int
    fuse: Ampere | None
    place: FusePlace = AT_HAND
    cable: CableKind = "single wires"

    @property
    def has_peaks(self) -> bool:
        """True when the current is not the same all the time."""
        return self.peak > self.current

    @property
    def mean_square(self) -> float:
        """The current's square averaged over the peaks' cycle, in A²."""
        return self.current * self.current * (1 - self.duty) + self.peak * self.peak * self.duty

    @property
    def least_fuse(self) -> Ampere:
        """Smallest rating in A that lasts: loaded to 75 % on average, to 100 % by peaks (UL/CSA 248-14)."""
        return max(math.sqrt(self.mean_square) / FUSE_LOADING, self.peak)


@dataclass(frozen=True, slots=True)
class JudgedSize:
    """One size, judged for the run; what depends on the copper's temperature is None if it runs away.

    `cold` and `hot` are Ω/m of one wire at 20 °C and warm, `heating` and `capacity` A, drops V,
    `temperature` °C; `cord_share` is what a cord carries of what single wires do. `fails` holds "drop",
    "heat" and "fuse" as far as they apply.
    """

    gauge: Gauge
    wire: Wire
    cold: OhmPerMetre
    cold_drop: Volt
    heating: Ampere
    capacity: Ampere
    cord_share: Share
    largest_fuse: Ampere | None
    temperature: Celsius | None
    hot: OhmPerMetre | None
    drop: Volt | None
    fails: tuple[str, ...]


@lru_cache(maxsize=256)
def judge_size(run: Run, gauge: Gauge) -> JudgedSize:
    """Return how this size does on the run."""
    factor = find_conductor_factor(gauge.area, run.conductor)
    wire = Wire(gauge.area, factor, run.wall, run.insulation.thermal_resistivity)
    limit = run.insulation.temperature
    capacity = alone = find_capacity(wire, limit, run.ambient, run.bundle)
    if run.cable == "two-core cord":
        capacity = min(alone, find_cord_capacity(gauge.area, limit, run.ambient, run.bundle))
    # A cord is as warm as single wires with so much more in them.
    cord_share = capacity / alone
    heating = run.current
    if run.has_peaks:
        heating = find_heating_current(
            wire, limit, run.ambient, run.current, run.peak, run.duty, run.peak_time
        )
    temperature = find_bundled_temperature(wire, heating / cord_share, run.ambient, run.bundle)
    cold = find_resistance_per_metre(gauge.area, factor=factor)
    cold_drop = _find_drop(run, cold)
    hot = None if temperature is None else find_resistance_per_metre(gauge.area, temperature, factor)
    drop = None if hot is None else _find_drop(run, hot)
    fuse = run.fuse or find_fitting_fuse(run.place, run.least_fuse)
    fails = {
        "drop": exceeds(cold_drop if drop is None else drop, run.allowed),
        "heat": exceeds(heating, capacity),
        "fuse": fuse is None or exceeds(fuse, capacity),
    }
    return JudgedSize(
        gauge=gauge,
        wire=wire,
        cold=cold,
        cold_drop=cold_drop,
        heating=heating,
        capacity=capacity,
        cord_share=cord_share,
        largest_fuse=find_largest_fuse(capacity),
        temperature=temperature,
        hot=hot,
        drop=drop,
        fails=tuple(name for name, failed in fails.items() if failed),
    )


def find_smallest_size(run: Run, sizes: tuple[Gauge, ...]) -> Gauge | None:
    """Return the thinnest of `sizes` (thin to thick) that passes, or None.

    Sizes that fail already without any warming, or by current density alone, are passed over quickly.
    """
    coldest = min(run.ambient, REFERENCE_TEMPERATURE)
    densest = LARGEST_DENSITY * find_bundle_factor(run.bundle)
    for gauge in sizes:
        factor = find_conductor_factor(gauge.area, run.conductor)
        least_drop = _find_drop(run, find_resistance_per_metre(gauge.area, coldest, factor))
        hopeless = exceeds(least_drop, run.allowed) or exceeds(run.current, densest * gauge.area)
        if not hopeless and not judge_size(run, gauge).fails:
            return gauge
    return None


def find_neighbours(gauge: Gauge, sizes: tuple[Gauge, ...], below: int, above: int) -> tuple[Gauge, ...]:
    """Return so many of `sizes` below and above `gauge`, and itself, thin to thick.

    At the end of `sizes` the other side makes up for what is missing.
    """
    thinner = tuple(size for size in sizes if size.area < gauge.area * (1 - 1e-6))
    thicker = tuple(size for size in sizes if size.area > gauge.area * (1 + 1e-6))
    above, below = (
        max(above, above + below - len(thinner)),
        max(below, above + below - len(thicker)),
    )
    return (*thinner[max(len(thinner) - below, 0) :], gauge, *thicker[:above])


@cache
def list_awg() -> tuple[Gauge, ...]:
    """Return the American wire gauges on sale, thin to thick."""
    return tuple(make_awg(number) for number in _SOLD_AWG)


@cache
def list_metric() -> tuple[Gauge, ...]:
    """Return the metric sizes, thin to thick."""
    return tuple(make_metric(size) for size in METRIC_SIZES)


def _find_drop(run: Run, resistance_per_metre: float) -> float:
    """Return the drop in V of both wires and the contacts, at the largest current."""
    return 2 * run.length * resistance_per_metre * run.peak + run.contact_drop
