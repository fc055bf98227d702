"""One d.c. run of two equal wires: its notation, how a wire size does on it, the thinnest size that passes.

A size passes when the drop stays within what is allowed with the copper warm, the current within the wire's
capacity, and a standard fuse fits between the load and that capacity (IEC 60364-4-43, 433.1).
"""

import math
import re
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import cast

from calculators.notation.errors import NotationError
from calculators.notation.gauge import METRIC_SIZES, Gauge, make_awg, make_metric
from calculators.notation.quantity import check_characters, read_quantity
from calculators.notation.units import KINDS, find_kinds
from calculators.numbers.rounding import exceeds
from calculators.parts import read_rows
from calculators.physics.ampacity import (
    FUSE_LOADING,
    LARGEST_DENSITY,
    find_bundle_factor,
    find_bundled_temperature,
    find_capacity,
    find_heating_current,
    find_largest_fuse,
    find_smallest_fuse,
)
from calculators.physics.copper import (
    REFERENCE_TEMPERATURE,
    ConductorKind,
    find_conductor_factor,
    find_resistance_per_metre,
)
from calculators.physics.heat_balance import Wire

_SOLD_AWG = (*range(40, 0, -2), 1, 0, -1, -2, -3)
"""Gauge numbers on sale, thin to thick: the even ones, 1, and 1/0 to 4/0; common practice."""


LEAD_AIR, LEAD_LIMIT = 30.0, 80.0
"""°C of the air round another calculator's lead, and that its insulation bears; wire-gauge's defaults."""

_LEAD_WALL, _LEAD_TOGETHER = 0.4e-3, 2
"""m of insulation, and loaded wires in the bundle: likewise."""

LARGEST_SHARE = 0.5
"""Of the supply that may be lost in the wires; beyond it the load no longer sees a supply worth the name."""


@dataclass(frozen=True, slots=True)
class AllowedDrop:
    """The allowed drop: a share of the supply, or volts."""

    value: float
    is_share: bool

    def find_volts(self, supply: float) -> float:
        """Return the allowed drop in V for this supply in V."""
        return self.value * supply if self.is_share else self.value


@dataclass(frozen=True, slots=True)
class Insulation:
    """What is round the copper: highest lasting `temperature` in °C, `thermal_resistivity` in K m/W."""

    temperature: float
    thermal_resistivity: float


def read_allowed_drop(text: str) -> AllowedDrop:
    """Read `3 %`, `0.4 V` or `300 mV`; a bare number is per cent. Raises NotationError for anything else."""
    cleaned = check_characters(text)
    # The unit is what stands after the last digit, so that 1/2 V and 1e-1 V are read as elsewhere.
    spelling = re.sub(r".*[\d.,]\s*", "", cleaned)
    kinds = find_kinds(spelling) if spelling else ("fraction",)
    if "voltage" in kinds:
        volts = read_quantity(cleaned, "voltage", "V")
        if volts <= 0:
            raise NotationError(f"“{cleaned}” leaves no drop at all; give more than 0 V")
        return AllowedDrop(volts, is_share=False)
    if "fraction" not in kinds:
        unknown = "is not a figure" if spelling == cleaned else "cannot be read"
        found = f"is {KINDS[kinds[0]].name}" if kinds else unknown
        raise NotationError(f"“{cleaned}” {found}; give per cent of the supply (3 %) or volts (0.4 V)")
    share = read_quantity(cleaned, "fraction", "%")
    if not 0 < share <= LARGEST_SHARE:
        raise NotationError(f"“{cleaned}” is outside what can be computed; allowed: above 0 %, at most 50 %")
    return AllowedDrop(share, is_share=True)


def read_insulation(text: str) -> Insulation:
    """Read a temperature (`105 °C`) or a material of parts/insulation.toml.

    A temperature alone says nothing of the material, so the table's largest thermal resistivity is taken.
    Raises NotationError for anything else, and outside 40 °C to 200 °C.
    """
    cleaned = check_characters(text)
    name = " ".join(cleaned.lower().split())
    materials = _read_materials()
    for material, insulation in materials:
        if material == name:
            return insulation
    if name[0].isalpha():
        known = ", ".join(material for material, _ in materials)
        raise NotationError(f"“{cleaned}” is not in the table; give a temperature (105 °C) or one of {known}")
    temperature = read_quantity(cleaned, "temperature", "°C")
    if not 40 <= temperature <= 200:
        raise NotationError(f"“{cleaned}” is outside what can be computed; allowed: 40 °C to 200 °C")
    return Insulation(temperature, max(insulation.thermal_resistivity for _, insulation in materials))


@dataclass(frozen=True, slots=True)
class Run:
    """The task, as far as it is the same for every size that is tried; A, s, m, V and °C.

    `peak` equals `current` where there are no peaks; `length` is one way; `allowed` and `contact_drop` are
    the allowed drop and what the joint contacts take of it at the peak.
    """

    current: float
    peak: float
    duty: float
    peak_time: float
    length: float
    allowed: float
    contact_drop: float
    conductor: ConductorKind
    insulation: Insulation
    wall: float
    ambient: float
    bundle: int
    fuse: float | None

    @property
    def has_peaks(self) -> bool:
        """True when the current is not the same all the time."""
        return self.peak > self.current

    @property
    def mean_square(self) -> float:
        """The current's square averaged over the peaks' cycle, in A²."""
        return self.current * self.current * (1 - self.duty) + self.peak * self.peak * self.duty

    @property
    def least_fuse(self) -> float:
        """Smallest rating in A that lasts: loaded to 75 % on average, to 100 % by peaks (UL/CSA 248-14)."""
        return max(math.sqrt(self.mean_square) / FUSE_LOADING, self.peak)


@dataclass(frozen=True, slots=True)
class JudgedSize:
    """One size, judged for the run; what depends on the copper's temperature is None if it runs away.

    `cold` and `hot` are Ω/m of one wire at 20 °C and warm, `heating` and `capacity` A, drops V,
    `temperature` °C; `fails` holds "drop", "heat" and "fuse" as far as they apply.
    """

    gauge: Gauge
    wire: Wire
    cold: float
    cold_drop: float
    heating: float
    capacity: float
    largest_fuse: float | None
    temperature: float | None
    hot: float | None
    drop: float | None
    fails: tuple[str, ...]


@lru_cache(maxsize=256)
def judge_size(run: Run, gauge: Gauge) -> JudgedSize:
    """Return how this size does on the run."""
    factor = find_conductor_factor(gauge.area, run.conductor)
    wire = Wire(gauge.area, factor, run.wall, run.insulation.thermal_resistivity)
    limit = run.insulation.temperature
    capacity = find_capacity(wire, limit, run.ambient, run.bundle)
    heating = run.current
    if run.has_peaks:
        heating = find_heating_current(
            wire, limit, run.ambient, run.current, run.peak, run.duty, run.peak_time
        )
    temperature = find_bundled_temperature(wire, heating, run.ambient, run.bundle)
    cold = find_resistance_per_metre(gauge.area, factor=factor)
    cold_drop = _find_drop(run, cold)
    hot = None if temperature is None else find_resistance_per_metre(gauge.area, temperature, factor)
    drop = None if hot is None else _find_drop(run, hot)
    fuse = run.fuse or find_smallest_fuse(run.least_fuse)
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


@cache
def _read_materials() -> tuple[tuple[str, Insulation], ...]:
    return tuple(
        (
            cast(str, row["name"]),
            Insulation(cast(float, row["temperature"]), cast(float, row["thermal_resistivity"])),
        )
        for row in read_rows("insulation")
    )


@lru_cache(maxsize=256)
def find_lead_capacity(gauge: Gauge, kind: ConductorKind) -> float:
    """Return the current in A that the two wires of another calculator's lead carry for hours.

    It is what wire-gauge says of them as long as nobody tells it more.
    """
    insulation = read_insulation(f"{LEAD_LIMIT} °C")
    factor = find_conductor_factor(gauge.area, kind)
    wire = Wire(gauge.area, factor, _LEAD_WALL, insulation.thermal_resistivity)
    return find_capacity(wire, insulation.temperature, LEAD_AIR, _LEAD_TOGETHER)
