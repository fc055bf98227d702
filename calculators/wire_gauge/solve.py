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
from calculators.numbers.rounding import exceeds
from calculators.physics.ampacity import (
    MARGIN,
    find_bundle_factor,
    find_peak_weight,
    read_fuse_ratings,
)
from calculators.physics.contacts import JudgedContact, find_contact_heat, judge_contact
from calculators.physics.copper import WORST_FACTOR
from calculators.physics.fuse import (
    IN_TIME,
    JudgedFuse,
    Opening,
    find_fitting_fuse,
    find_fuse_kind,
    find_opening,
    judge_fuse,
)
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
from calculators.wire_gauge.mending import Plan, find_plan
from calculators.wire_gauge.readings import Meter, find_meter
from calculators.wire_gauge.task import make_run


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
    the peak; `contact` is None where the run has none. `fuse` is the one given or proposed, or else the
    largest that is made; `lasting_fuse` a rating that bears the `inrush` into each pair. `lost` is what each
    of the other pairs carries when one is lost, and `lost_contact` its contacts if they do not bear that.
    """

    hottest: ClassVar[Celsius] = HOTTEST
    soft_plastic: ClassVar[Celsius] = 55.0  # printed PLA softens from about here; common practice
    fragile_area: ClassVar[SquareMetre] = 0.3e-6  # thinner wire breaks where it is handled; common practice
    source_distance: ClassVar[Metre] = 0.18  # to the fuse; seven inches in 33 CFR 183.455 (b)(1)
    in_time: ClassVar[Second] = IN_TIME

    given: Given
    run: Run
    awg: Gauge | None
    metric: Gauge | None
    judged: JudgedSize
    chosen: JudgedSize | None
    allowed_share: Share | None
    joint: Ohm
    contact: JudgedContact | None
    contact_heat: Watt
    total: Ampere
    lost: Ampere
    lost_contact: JudgedContact | None
    fuse: JudgedFuse
    inrush: Ampere
    inrush_opening: Opening
    lasting_fuse: Ampere | None
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

    @property
    def plan(self) -> Plan:
        """What would hold in its place."""
        return find_plan(self.given)

    @property
    def lasting_total(self) -> Ampere:
        """The lasting current of all pairs, when it is the largest."""
        return self.run.current * self.given.pairs

    @property
    def fuse_to_fit(self) -> Ampere | None:
        """The one given or proposed, unless it does not suit."""
        return self.wanted_fuse if self.is_sound else self.plan.fuse

    @property
    def is_source_overloaded(self) -> bool:
        """Whether the source cannot give what the load draws."""
        return exceeds(self.total, self.given.source_current or self.total)

    @property
    def is_fuse_small(self) -> bool:
        """Whether the fuse that is given opens in use."""
        return exceeds(self.run.least_fuse, self.given.fuse or self.run.least_fuse)

    @property
    def is_fault_weak(self) -> bool:
        """Whether it is the run, and not its source, that keeps a short from opening the fuse."""
        return self.given.source_current is None or self.fuse.fault < self.given.source_current

    @property
    def is_inrush_large(self) -> bool:
        """Whether the fuse may open at switching on."""
        is_made = self.fuse.kind.is_made(self.fuse.rating)
        return is_made and self.inrush > 0 and exceeds(self.given.inrush_time, self.inrush_opening.earliest)

    @property
    def is_sound(self) -> bool:
        """Whether every part of the path that can be judged bears what is asked of it."""
        contacts = (self.contact, self.lost_contact)
        return not (
            self.judged.fails
            or self.run.contact_drop >= self.run.allowed
            or any(contact and contact.trouble for contact in contacts)
            or self.wanted_fuse is None
            or self.fuse.troubles
            or self.is_fuse_small
            or self.is_source_overloaded
            or self.is_inrush_large
        )


def solve(given: Given) -> Solved:
    """Choose a size for the run and judge it, or the one given."""
    run = make_run(given)
    peak = run.peak
    joint = given.contacts * given.contact_resistance / given.contacts_shared
    awg = find_smallest_size(run, list_awg())
    metric = find_smallest_size(run, list_metric())
    size = given.gauge or awg or metric
    # Where nothing passes, the thickest size shows in the table and the pictures how far off it is.
    judged = judge_size(run, size or list_awg()[-1])
    chosen = judged if size else None
    factor = find_bundle_factor(run.bundle)
    single = judged.heating / (MARGIN * factor * judged.cord_share)
    time_constant = find_time_constant(judged.wire, run.insulation.temperature, run.ambient)
    fitting = find_fitting_fuse(run.place, run.least_fuse)
    wanted = run.fuse or fitting
    rating = wanted or read_fuse_ratings()[-1]
    fuse = judge_fuse(run.place, rating, _find_fault(given, judged, joint))
    inrush = (given.inrush or 0.0) / given.pairs
    lost = peak * given.pairs / (given.pairs - 1) if given.pairs > 1 else 0.0
    contact = judge_contact(peak, given.contacts_shared, given.contact_rating) if given.contacts else None
    return Solved(
        given=given, run=run, awg=awg, metric=metric, judged=judged, chosen=chosen, joint=joint,
        contact=contact, total=peak * given.pairs, lost=lost, lost_contact=_judge_lost_contact(given, lost),
        contact_heat=find_contact_heat(contact.worst, given.contact_resistance) if contact else 0.0,
        fuse=fuse, inrush=inrush, inrush_opening=find_opening(fuse.kind, rating, inrush),
        lasting_fuse=_find_lasting_fuse(given, run, fuse) if inrush else None,
        allowed_share=given.allowed_drop.value if given.allowed_drop.is_share else None,
        drop=judged.cold_drop if judged.drop is None else judged.drop,
        drop_percent=100 * judged.drop / given.supply if chosen and judged.drop is not None else None,
        worst_drop=_find_worst_drop(run, judged),
        power_lost=_find_power_lost(given, run, judged, joint),
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


def _find_fault(given: Given, judged: JudgedSize, joint: Ohm) -> Ampere:
    """Return what flows where a pair is shorted at its far end: what source and copper let through."""
    loop = 2 * given.length * (judged.hot or judged.cold) + joint
    through = (given.lowest_supply or given.supply) / loop
    return through if given.source_current is None else min(through, given.source_current)


def _judge_lost_contact(given: Given, lost: Ampere) -> JudgedContact | None:
    """Return the contacts of the other pairs, if what they carry when one is lost is over their rating."""
    if not given.contacts:
        return None
    contact = judge_contact(lost, given.contacts_shared, given.contact_rating)
    return contact if contact.trouble == "over rating" else None


def _find_lasting_fuse(given: Given, run: Run, fuse: JudgedFuse) -> Ampere | None:
    """Return the smallest rating above the fuse's that does not open at switching on."""
    current = (given.inrush or 0.0) / given.pairs
    for rating in read_fuse_ratings():
        opening = find_opening(find_fuse_kind(run.place, rating), rating, current)
        if rating > fuse.rating and not exceeds(given.inrush_time, opening.earliest):
            return rating
    return None


def _find_power_lost(given: Given, run: Run, judged: JudgedSize, joint: Ohm) -> Watt | None:
    """Return what all pairs lose together."""
    if judged.hot is None:
        return None
    return given.pairs * run.mean_square * (2 * run.length * judged.hot + joint)


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
