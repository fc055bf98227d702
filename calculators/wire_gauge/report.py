"""The working, the readings and the table of sizes of wire-gauge."""

from calculators.physics.meter import CONTACT_PROBES, name_ammeter, word_drive
from calculators.physics.wire_run import find_neighbours, judge_size, list_awg, list_metric
from calculators.results.case import ReadingRule, StepRule, Wording, Words, has_stop
from calculators.results.result import Cell, Column, Table
from calculators.wire_gauge.findings import FINDINGS
from calculators.wire_gauge.solve import Solved


def _is_steady(case: Solved) -> bool:
    return case.judged.temperature is not None


def _is_shared(case: Solved) -> bool:
    return case.contact is not None and case.given.contacts_shared > 1


def _is_cord(case: Solved) -> bool:
    return case.judged.cord_share < 1


WORKING: tuple[StepRule[Solved], ...] = (
    StepRule(
        "Allowed drop", "ΔU ≤ {allowed_share:%|share} × {given.supply:V,4|U}", "{run.allowed:V}",
        when=lambda case: case.given.allowed_drop.is_share,
    ),
    StepRule(
        "Allowed drop", "ΔU ≤ what is given", "{run.allowed:V}", "of {given.supply:V,4}",
        when=lambda case: not case.given.allowed_drop.is_share,
    ),
    StepRule(
        "Current at the load's lowest voltage",
        "I = {given.current:A|I₀} × {given.supply:V|U} / {given.load_voltage:V|U′}", "{lasting_total:A}",
        when=lambda case: case.given.load == "same power",
    ),
    StepRule(
        "Current in each pair", "I = {lasting_total:A|I₀} / {given.pairs|p}", "{run.current:A}",
        when=lambda case: case.given.pairs > 1,
    ),
    StepRule(
        "Resistance of one wire at 20 °C, {judged.gauge.label}", "r = k ρ / A, ρ = 1/58 Ω mm²/m",
        "{judged.cold:ohm/m,4}",
        "k = {judged.wire.factor:1} ({run.conductor}), A = {judged.gauge.area:m2,4}",
    ),
    StepRule(
        "Current that heats", "I² = I₁² + (I₂² − I₁²) w, w = (1 − e^(−t/τ)) / (1 − e^(−t/(d τ)))",
        "{judged.heating:A}",
        "I₁ = {run.current:A}, I₂ = {run.peak:A} for t = {run.peak_time:s}, d = {run.duty:%} of the time; τ "
        "= {time_constant:s}, w = {peak_weight:1}",
        when=lambda case: case.run.has_peaks,
    ),
    StepRule(
        "Copper temperature", "I² r(ϑ) = convection + radiation", "{outcome}",
        "{judged.heating:A} in a bundle of {run.bundle} warms like {single_current:A} alone; air "
        "{run.ambient:degC}{balance}",
        words={
            "balance": (
                Wording(
                    ", surface {heat.surface:degC}: {heat.total:W/m} = {heat.convected:W/m} + "
                    "{heat.radiated:W/m}",
                    _is_steady,
                ),
                Wording(""),
            ),
            "outcome": (
                Wording("{judged.temperature:degC}", _is_steady),
                Wording("no balance below {hottest:degC}"),
            ),
        },
    ),
    StepRule(
        "Resistance of one wire, warm",
        "r(ϑ) = {judged.cold:ohm/m,4|r} × [1 + 0.00393 × ({judged.temperature:degC|ϑ} − 20 °C)]",
        "{judged.hot:ohm/m,4}", when=_is_steady,
    ),
    StepRule(
        "Drop, out and back",
        "ΔU = {run.peak:A|I} × (2 × {run.length:m,4|ℓ} × {judged.hot:ohm/m,4|r(ϑ)} + {given.contacts|n} × "
        "{given.contact_resistance:ohm|R} / {given.contacts_shared|m})",
        "{judged.drop:V}", when=_is_steady,
    ),
    StepRule(
        "Current in one joint contact, shared evenly", "I / m = {run.peak:A|I} / {given.contacts_shared|m}",
        "{contact.current:A}",
        when=lambda case: case.contact,
    ),
    StepRule(
        "The contact with half the resistance of the others",
        "Iw = 2 × {run.peak:A|I} / ({given.contacts_shared|m} + 1)",
        "{contact.worst:A}",
        when=_is_shared,
    ),
    StepRule(
        "The others when one is open", "Io = {run.peak:A|I} / ({given.contacts_shared|m} − 1)",
        "{contact.others:A}",
        when=_is_shared,
    ),
    StepRule(
        "Heat of that contact", "P = {contact.worst:A|Iw}² × {given.contact_resistance:ohm|R}",
        "{contact_heat:W}",
        when=lambda case: case.contact,
    ),
    StepRule(
        "Power lost", "P = p I² (2 ℓ r(ϑ) + n R / m), I² averaged over time", "{power_lost:W}",
        "p = {given.pairs}, I² as of {lasting:A} without a pause", when=_is_steady,
    ),
    StepRule(
        "Carries for hours, two-core cord", "Iz = the cord's table, for cores of A", "{judged.capacity:A}",
        "{judged.cord_share:%} of what single wires carry, A = {judged.gauge.area:m2,4}",
        when=_is_cord,
    ),
    StepRule(
        "Carries for hours", "Iz = k × min(0.8 I(ϑ max), 15 A/mm² × A)", "{judged.capacity:A}",
        "k = {bundle_factor:%} for {run.bundle} wires, I(ϑ max = {run.insulation.temperature:degC}) = "
        "{alone_current:A}, A = {judged.gauge.area:m2,4}",
        when=lambda case: case.chosen and not _is_cord(case),
    ),
    StepRule(
        "Fuse", "I / 0.75 and the peak ≤ fuse ≤ Iz", "{fuse}",
        "{run.least_fuse:A} ≤ fuse ≤ {judged.capacity:A}", when=lambda case: case.chosen,
        words={
            "fuse": (
                Wording("none is made so small", lambda case: case.judged.largest_fuse is None),
                Wording("at most {judged.largest_fuse:A}"),
            )
        },
    ),
    StepRule(
        "Into a short at the far end", "I = U / (2 ℓ r(ϑ) + n R / m), or what the source gives",
        "{fuse.fault:A}",
        "{fuse.sure_current:A} open a {fuse.kind.name} fuse of {fuse.rating:A} within {in_time:s}",
        when=lambda case: case.chosen and case.wanted_fuse and case.fuse.sure_current,
    ),
    StepRule(
        "A bare wire melts (Preece)", "I = 80 A × ({judged.gauge.diameter:mm|d} / mm)^1.5",
        "{fusing_current:A}", "d = {judged.gauge.diameter:mm}", when=lambda case: case.chosen,
    ),
    StepRule(
        "It melts within 1 s (Onderdonk)", "I = A / cmil × √(log₁₀[(1083 − ϑ)/(234 + ϑ) + 1] / 33)",
        "{fusing_current_1s:A}", "A = {judged.gauge.area:m2,4}, ϑ = {run.ambient:degC}",
        when=lambda case: case.chosen,
    ),
)  # fmt: skip


def _may_be_powered(case: Solved) -> bool:
    """What must not be built is not switched on either."""
    return not has_stop(FINDINGS, case)


_PAIRS: Words[Solved] = {
    "alone": (
        Wording("; each pair by itself, the others open", lambda case: case.given.pairs > 1),
        Wording(""),
    ),
}
_TEST: Words[Solved] = {
    **_PAIRS,
    "drive": word_drive("meter.run"),
    "less": (
        Wording(", less what each crossing of the joint shows", lambda case: case.given.contacts > 0),
        Wording(""),
    ),
}
READINGS: tuple[ReadingRule[Solved], ...] = (
    ReadingRule(
        "Both wires, as millivolts at {meter.run.current:A}",
        "fuse out, load unplugged and the wires' ends there joined tightly; {drive}; probes on the copper of "
        "plus and minus at the source end, not on the supply's clips{less}{alone}",
        "off", "meter.run.wire", "V", words=_TEST,
    ),
    ReadingRule(
        "Resistance of both wires",
        "fuse out, load unplugged and the wires' ends there joined; probes on plus and minus at the source "
        "end; take off what the probes read when held together{alone}",
        "off", "meter.run.ohms", "ohm", words=_PAIRS,
    ),
    ReadingRule(
        "Each crossing of the joint, as millivolts at {meter.run.current:A}",
        "joint closed and the same current flowing; probes on the wire's copper on one side of the joint and "
        "on the other, plus and minus each by itself",
        "off", "meter.run.crossing", "V",
    ),
    ReadingRule(
        "Each contact of the joint by itself, as millivolts at {meter.run.current:A}",
        CONTACT_PROBES, "off", "meter.run.contact", "V",
    ),
    ReadingRule(
        "Voltage lost in the run, with {run.current:A} flowing{through}",
        "{ammeter} the plus wire; with another current reckon in proportion. Then volts at the source's "
        "terminals and, at once, on the same range at the load's: the first less the second",
        "on", "meter.lost", "V", when=_may_be_powered,
        words={
            "ammeter": name_ammeter(lambda case: case.run.current),
            "through": (Wording(" through each pair", lambda case: case.given.pairs > 1), Wording("")),
        },
    ),
    ReadingRule(
        "Warmer than the air after half an hour",
        "thermometer bead taped to the insulation in the middle of the bundle; take off what it shows in the "
        "air beside it; cooler is better",
        "on", "meter.warmth", "K", when=_may_be_powered,
    ),
)  # fmt: skip

_FAILS = {"drop": "drop too large", "heat": "too hot", "fuse": "no fuse protects it"}


def list_tables(case: Solved) -> tuple[Table, ...]:
    """Return the sizes round the recommended ones and the judged one, each with the limits it fails."""
    sizes = {
        *find_neighbours(case.awg or list_awg()[-1], list_awg(), 2, 1),
        *find_neighbours(case.metric or list_metric()[-1], list_metric(), 1, 1),
        case.judged.gauge,
    }
    rows: list[tuple[Cell, ...]] = []
    marks = []
    for size in sorted(sizes, key=lambda gauge: (gauge.area, gauge.label)):
        one = judge_size(case.run, size)
        verdict = ", ".join(_FAILS[fail] for fail in one.fails) or "passes"
        figures = (one.drop, one.temperature, one.capacity, one.largest_fuse, one.cold, size.area)
        rows.append((size.label, verdict, *figures))
        unsafe = "heat" in one.fails or "fuse" in one.fails
        recommended = size in (case.awg, case.metric)
        marks.append("stop" if unsafe else "caution" if one.fails else "chosen" if recommended else "")
    columns = (
        Column("size", "Size"),
        Column("verdict", "Verdict"),
        Column("drop", "Drop", "voltage"),
        Column("temperature", "Copper", "temperature"),
        Column("capacity", "Carries", "current"),
        Column("largest_fuse", "Largest fuse", "current", exact=True),
        Column("resistance", "At 20 °C", "resistance per length"),
        Column("area", "Area", "area"),
    )
    caption = "Neighbouring sizes and the limit each one fails"
    return (Table("sizes", caption, columns, tuple(rows), tuple(marks)),)
