"""The working, the readings and the table of sizes of wire-gauge."""

import math

from calculators.notation.gauge import Gauge
from calculators.notation.showing import Figure, Phrase, say
from calculators.physics.ampacity import MARGIN, find_bundle_factor, find_peak_weight
from calculators.physics.copper import WORST_FACTOR
from calculators.physics.heat_balance import (
    HOTTEST,
    Wire,
    find_current,
    find_heat_flow,
    find_temperature,
    find_time_constant,
)
from calculators.physics.wire_run import (
    AllowedDrop,
    JudgedSize,
    Run,
    find_neighbours,
    judge_size,
    list_awg,
    list_metric,
)
from calculators.results.result import Cell, Column, Reading, Step, Table
from calculators.wire_gauge.fusing import find_brief_fusing_current, find_fusing_current

THERMOMETER = 2.5
"""K by which a thermometer may be wrong: a type K bead of class 2, IEC 60584-1."""


def find_mean_power(run: Run, hot: float, joint: float) -> float:
    """Return the mean heat in W of both wires, `hot` Ω/m each, and of the joint's contacts, `joint` Ω."""
    return run.mean_square * (2 * run.length * hot + joint)


def list_drop_steps(
    run: Run,
    judged: JudgedSize,
    supply: float,
    allowed_drop: AllowedDrop,
    contacts: int,
    contact_resistance: float,
) -> tuple[Step, ...]:
    """Return the working from the allowed drop to the power lost; supply in V, contact resistance in Ω."""
    cold = Figure(judged.cold, "resistance per length", 4)
    steps = [
        _write_allowed_drop(allowed_drop, supply),
        Step(
            f"Resistance of one wire at 20 °C, {judged.gauge.label}", "r = k ρ / A, ρ = 1/58 Ω mm²/m",
            say(
                "k = {factor} ({kind}), A = {area}", factor=Figure(judged.wire.factor, "number"),
                kind=run.conductor, area=Figure(judged.gauge.area, "area", 4),
            ),
            cold,
        ),
    ]  # fmt: skip
    if run.has_peaks:
        constant = find_time_constant(judged.wire, run.insulation.temperature, run.ambient)
        figures = say(
            "I₁ = {current}, I₂ = {peak} for t = {time}, d = {duty} of the time; τ = {constant}, "
            "w = {weight}",
            current=Figure(run.current, "current"), peak=Figure(run.peak, "current"),
            time=Figure(run.peak_time, "time"), duty=Figure(run.duty, "fraction"),
            constant=Figure(constant, "time"),
            weight=Figure(find_peak_weight(constant, run.duty, run.peak_time), "number"),
        )  # fmt: skip
        steps.append(
            Step(
                "Current that heats", "I² = I₁² + (I₂² − I₁²) w, w = (1 − e^(−t/τ)) / (1 − e^(−t/(d τ)))",
                figures, Figure(judged.heating, "current"),
            )
        )  # fmt: skip
    single = judged.heating / (MARGIN * find_bundle_factor(run.bundle))
    balance = say(
        "{current} in a bundle of {bundle} warms like {single} alone; air {air}",
        current=Figure(judged.heating, "current"), bundle=run.bundle, air=Figure(run.ambient, "temperature"),
        single=Figure(single, "current"),
    )  # fmt: skip
    heat = "I² r(ϑ) = convection + radiation"
    if judged.temperature is None or judged.hot is None or judged.drop is None:
        over = say("no balance below {hottest}", hottest=Figure(HOTTEST, "temperature"))
        return (*steps, Step("Copper temperature", heat, balance, over))
    copper = Figure(judged.temperature, "temperature")
    warm = Figure(judged.hot, "resistance per length", 4)
    loop = say(
        "{current} × (2 × {length} × {warm} + {contacts} × {each})",
        current=Figure(run.peak, "current"), length=Figure(run.length, "length", 4), warm=warm,
        contacts=contacts, each=Figure(contact_resistance, "resistance"),
    )  # fmt: skip
    return (
        *steps,
        Step(
            "Copper temperature",
            heat,
            _write_heat(balance, judged.wire, single, judged.temperature, run.ambient),
            copper,
        ),
        Step(
            "Resistance of one wire, warm", "r(ϑ) = r [1 + 0.00393 (ϑ − 20 °C)]",
            say("r = {cold}, ϑ = {copper}", cold=cold, copper=copper), warm,
        ),
        Step("Drop, out and back", "ΔU = I (2 ℓ r(ϑ) + n R)", loop, Figure(judged.drop, "voltage")),
        Step(
            "Power lost", "P = I² (2 ℓ r(ϑ) + n R), I² averaged over time",
            say("I² as of {steady} without a pause", steady=Figure(math.sqrt(run.mean_square), "current")),
            Figure(find_mean_power(run, judged.hot, contacts * contact_resistance), "power"),
        ),
    )  # fmt: skip


def _write_allowed_drop(allowed_drop: AllowedDrop, supply: float) -> Step:
    allowed, whole = Figure(allowed_drop.find_volts(supply), "voltage"), Figure(supply, "voltage", 4)
    if not allowed_drop.is_share:
        return Step("Allowed drop", "ΔU ≤ what is given", say("of {whole}", whole=whole), allowed)
    share = Figure(allowed_drop.value, "fraction")
    return Step("Allowed drop", "ΔU ≤ share × U", say("{share} × {whole}", share=share, whole=whole), allowed)


def _write_heat(balance: Phrase, wire: Wire, current: float, temperature: float, ambient: float) -> Phrase:
    surface, convected, radiated = find_heat_flow(wire, current, temperature, ambient)
    return say(
        "{balance}, surface {surface}: {heat} = {convected} + {radiated}",
        balance=balance,
        surface=Figure(surface, "temperature"),
        heat=Figure(convected + radiated, "power per length"),
        convected=Figure(convected, "power per length"),
        radiated=Figure(radiated, "power per length"),
    )


def list_capacity_steps(run: Run, judged: JudgedSize) -> tuple[Step, ...]:
    """Return the working of capacity, fuse and melting currents."""
    bundled = say(
        "k = {factor} for {bundle} wires, I(ϑ max = {limit}) = {alone}, A = {area}",
        alone=Figure(find_current(judged.wire, run.insulation.temperature, run.ambient), "current"),
        factor=Figure(find_bundle_factor(run.bundle), "fraction"), bundle=run.bundle,
        limit=Figure(run.insulation.temperature, "temperature"), area=Figure(judged.gauge.area, "area", 4),
    )  # fmt: skip
    capacity = Figure(judged.capacity, "current")
    between = say("{least} ≤ fuse ≤ {most}", least=Figure(run.least_fuse, "current"), most=capacity)
    fuse = say("none is made so small")
    if judged.largest_fuse is not None:
        fuse = say("at most {fuse}", fuse=Figure(judged.largest_fuse, "current"))
    diameter = say("d = {diameter}", diameter=Figure(judged.gauge.diameter, "diameter"))
    return (
        Step("Carries for hours", "Iz = k × min(0.8 I(ϑ max), 15 A/mm² × A)", bundled, capacity),
        Step("Fuse", "I / 0.75 and the peak ≤ fuse ≤ Iz", between, fuse),
        Step(
            "A bare wire melts (Preece)", "I = 80 A × (d / mm)^1.5", diameter,
            Figure(find_fusing_current(judged.gauge.area), "current"),
        ),
        Step(
            "It melts within 1 s (Onderdonk)", "I = A / cmil × √(log₁₀[(1083 − ϑ)/(234 + ϑ) + 1] / 33)",
            say(
                "A = {area}, ϑ = {air}", area=Figure(judged.gauge.area, "area", 4),
                air=Figure(run.ambient, "temperature"),
            ),
            Figure(find_brief_fusing_current(judged.gauge.area, ambient=run.ambient), "current"),
        ),
    )  # fmt: skip


def list_readings(run: Run, judged: JudgedSize, supply: float, joint: float) -> tuple[Reading, ...]:
    """Return what a meter should show; `supply` in V, the joint's contacts together `joint` Ω."""
    # Between solid copper and the worst of hook-up wire, whatever conductor was planned.
    solid = 2 * run.length * judged.cold / judged.wire.factor
    readings = [
        Reading(
            "Resistance of the loop, near 20 °C",
            "fuse out, load unplugged and its two wires joined there; probes on plus and minus at the source "
            "end; take off what the probes read when held together",
            "off",
            Figure(2 * run.length * judged.cold + joint, "resistance"),
            Figure(0.95 * solid, "resistance"),
            Figure(WORST_FACTOR * solid + joint, "resistance"),
        )
    ]
    if judged.drop is None or judged.temperature is None or judged.fails:
        return tuple(readings)
    # Without current there is no drop: a reading as high as the supply means the load is not running.
    least = 0.9 * run.current * solid
    readings.append(
        Reading(
            "Voltage at the load, lasting current flowing",
            "plus and minus at the load's own terminals, source at its full voltage",
            "on",
            Figure(supply - judged.drop * run.current / run.peak, "voltage", 4),
            Figure(supply - run.allowed, "voltage", 4),
            Figure(supply - least, "voltage", 4),
        )
    )
    # The workshop is rarely as warm as the place in use, so what is compared is the rise above its air.
    highest = judged.temperature - run.ambient
    if highest > THERMOMETER:
        alone = find_temperature(judged.wire, judged.heating / find_bundle_factor(run.bundle), run.ambient)
        rise = highest if alone is None else alone - run.ambient
        readings.append(
            Reading(
                "Warmer than the air after half an hour",
                "thermometer bead taped to the insulation in the middle of the bundle; take off what it "
                "shows in the air beside it; cooler is better",
                "on",
                Figure(rise, "temperature difference"),
                Figure(0.0, "temperature difference"),
                Figure(max(highest, rise + THERMOMETER), "temperature difference"),
            )
        )
    return tuple(readings)


_FAILS = {"drop": "drop too large", "heat": "too hot", "fuse": "no fuse protects it"}


def list_sizes(run: Run, judged: JudgedSize, awg: Gauge | None, metric: Gauge | None) -> Table:
    """Return the sizes round the recommended ones and the judged one, each with the limits it fails."""
    sizes = {
        *find_neighbours(awg or list_awg()[-1], list_awg(), 2, 1),
        *find_neighbours(metric or list_metric()[-1], list_metric(), 1, 1),
        judged.gauge,
    }
    rows: list[tuple[Cell, ...]] = []
    marks = []
    for size in sorted(sizes, key=lambda gauge: (gauge.area, gauge.label)):
        one = judge_size(run, size)
        verdict = ", ".join(_FAILS[fail] for fail in one.fails) or "passes"
        rows.append(
            (
                size.label,
                verdict,
                one.drop,
                one.temperature,
                one.capacity,
                one.largest_fuse,
                one.cold,
                size.area,
            )
        )
        unsafe = "heat" in one.fails or "fuse" in one.fails
        marks.append(
            "stop" if unsafe else "caution" if one.fails else "chosen" if size in (awg, metric) else ""
        )
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
    return Table(
        "sizes", "Neighbouring sizes and the limit each one fails", columns, tuple(rows), tuple(marks)
    )
