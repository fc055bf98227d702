"""Chooses a size for a run and judges it, or the one given: typed figures, no texts."""

import math
from dataclasses import dataclass
from typing import ClassVar

from calculators.notation.gauge import Gauge
from calculators.notation.units import (
    Ampere,
    Celsius,
    Metre,
    Ohm,
    OhmPerKilometre,
    Percent,
    Second,
    Share,
    SquareMetre,
    Volt,
    Watt,
    WattPerMetre,
)
from calculators.physics.ampacity import MARGIN, find_bundle_factor, find_peak_weight, find_smallest_fuse
from calculators.physics.contacts import JudgedContact, judge_contact
from calculators.physics.copper import WORST_FACTOR
from calculators.physics.heat_balance import (
    HOTTEST,
    find_current,
    find_heat_flow,
    find_time_constant,
)
from calculators.physics.wire_run import (
    JudgedSize,
    Run,
    find_neighbours,
    find_smallest_size,
    judge_size,
    list_awg,
    list_metric,
)
from calculators.wire_gauge.fusing import find_brief_fusing_current, find_fusing_current
from calculators.wire_gauge.given import Given
from calculators.wire_gauge.readings import Meter, find_meter


@dataclass(frozen=True, slots=True)
class Heat:
    """The balance of the warm copper: the insulation's surface, and what leaves each metre of wire."""

    surface: Celsius
    total: WattPerMetre
    convected: WattPerMetre
    radiated: WattPerMetre


@dataclass(frozen=True, slots=True)
class DropLine:
    """One size in the picture of drops: its `label`, V per m of run, and what this run loses with it."""

    label: str
    slope: float
    loss: Volt


@dataclass(frozen=True, kw_only=True)
class Solved:
    """The run, the thinnest sizes of both families that pass, and one size judged.

    Where nothing passes and none is given, the thickest is judged, to show how far off it is, and `chosen`
    is None. `drop` is that of warm copper if it finds a steady temperature; `lasting` the steady current
    that heats as much; `single_current` what warms a wire alone, without margin, as much as the bundle is
    warmed; `worst_drop` that of the worst hook-up wire, None where it is planned for; `protected_current`
    what a wire has to carry to suit load and fuse. A joint contact warms within seconds, so it is judged at
    the peak; `contact` is None where the run has none.
    """

    hottest: ClassVar[Celsius] = HOTTEST
    soft_plastic: ClassVar[Celsius] = 55.0  # printed PLA softens from about here; common practice
    fragile_area: ClassVar[SquareMetre] = 0.3e-6  # thinner wire breaks where it is handled; common practice
    source_distance: ClassVar[Metre] = 0.18  # to the fuse; seven inches in 33 CFR 183.455 (b)(1)

    given: Given
    run: Run
    awg: Gauge | None
    metric: Gauge | None
    judged: JudgedSize
    chosen: JudgedSize | None
    allowed_share: Share | None
    joint: Ohm
    contact: JudgedContact | None
    drop: Volt
    drop_percent: Percent | None
    worst_drop: Volt | None
    power_lost: Watt | None
    resistance_per_km: OhmPerKilometre
    resistance_per_km_hot: OhmPerKilometre | None
    fusing_current: Ampere
    fusing_current_1s: Ampere
    fitting_fuse: Ampere | None
    wanted_fuse: Ampere | None
    protected_current: Ampere
    lasting: Ampere
    single_current: Ampere
    alone_current: Ampere
    bundle_factor: Share
    time_constant: Second
    peak_weight: float
    heat: Heat | None
    lines: tuple[DropLine, ...]
    meter: Meter | None

    @property
    def shown(self) -> "Solved | None":
        """This case, if there is a size that its figures are worth showing for."""
        return self if self.chosen else None


def solve(given: Given) -> Solved:
    """Choose a size for the run and judge it, or the one given."""
    peak = given.peak or given.current
    joint = given.contacts * given.contact_resistance / given.contacts_shared
    run = Run(
        current=given.current, peak=peak, duty=given.duty, peak_time=given.peak_time, length=given.length,
        allowed=given.allowed_drop.find_volts(given.supply), contact_drop=joint * peak,
        conductor=given.conductor, insulation=given.insulation, wall=given.wall, ambient=given.ambient,
        bundle=given.bundle, fuse=given.fuse,
    )  # fmt: skip
    awg = find_smallest_size(run, list_awg())
    metric = find_smallest_size(run, list_metric())
    size = given.gauge or awg or metric
    # Where nothing passes, the thickest size shows in the table and the pictures how far off it is.
    judged = judge_size(run, size or list_awg()[-1])
    chosen = judged if size else None
    factor = find_bundle_factor(run.bundle)
    single = judged.heating / (MARGIN * factor)
    time_constant = find_time_constant(judged.wire, run.insulation.temperature, run.ambient)
    fitting = find_smallest_fuse(run.least_fuse)
    wanted = run.fuse or fitting
    return Solved(
        given=given, run=run, awg=awg, metric=metric, judged=judged, chosen=chosen, joint=joint,
        contact=judge_contact(peak, given.contacts_shared, given.contact_rating) if given.contacts else None,
        allowed_share=given.allowed_drop.value if given.allowed_drop.is_share else None,
        drop=judged.cold_drop if judged.drop is None else judged.drop,
        drop_percent=100 * judged.drop / given.supply if chosen and judged.drop is not None else None,
        worst_drop=_find_worst_drop(run, judged),
        power_lost=None if judged.hot is None else run.mean_square * (2 * run.length * judged.hot + joint),
        resistance_per_km=1000 * judged.cold,
        resistance_per_km_hot=None if judged.hot is None else 1000 * judged.hot,
        fusing_current=find_fusing_current(judged.gauge.area),
        fusing_current_1s=find_brief_fusing_current(judged.gauge.area, ambient=run.ambient),
        fitting_fuse=fitting, wanted_fuse=wanted, protected_current=max(wanted or 0.0, run.least_fuse),
        lasting=math.sqrt(run.mean_square), single_current=single, bundle_factor=factor,
        alone_current=find_current(judged.wire, run.insulation.temperature, run.ambient),
        time_constant=time_constant, peak_weight=find_peak_weight(time_constant, run.duty, run.peak_time),
        heat=_find_heat(run, judged, single), lines=_list_lines(run, judged),
        meter=find_meter(given, run, chosen, joint) if chosen else None,
    )  # fmt: skip


def _find_worst_drop(run: Run, judged: JudgedSize) -> Volt | None:
    if judged.drop is None or run.conductor == "worst case":
        return None
    return (judged.drop - run.contact_drop) * WORST_FACTOR / judged.wire.factor + run.contact_drop


def _find_heat(run: Run, judged: JudgedSize, single: Ampere) -> Heat | None:
    if judged.temperature is None:
        return None
    surface, convected, radiated = find_heat_flow(judged.wire, single, judged.temperature, run.ambient)
    return Heat(surface, convected + radiated, convected, radiated)


def _list_lines(run: Run, judged: JudgedSize) -> tuple[DropLine, ...]:
    """The judged size and its neighbours."""
    lines = []
    for size in find_neighbours(
        judged.gauge, list_awg() if judged.gauge.label.endswith("AWG") else list_metric(), 1, 1
    ):
        one = judge_size(run, size)
        # Running away, it has no warm resistance; the cold one is the least that its line can be.
        slope = 2 * (one.cold if one.hot is None else one.hot) * run.peak
        label = f"{size.label}, cold" if one.hot is None else size.label
        lines.append(DropLine(label, slope, slope * run.length + run.contact_drop))
    return tuple(lines)
