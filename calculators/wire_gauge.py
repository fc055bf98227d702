"""Wire gauge: the thinnest standard wire that passes voltage drop, heating and fuse for one d.c. run.

Holds for copper wire in still indoor air near sea level, up to 60 V d.c., for a pair of wires (out and
back) of one size. Drop: Ohm's law with the copper at its working temperature. Heating: the balance of
physics/heat_balance.py with the margin of physics/ampacity.py. It knows nothing of sheathed flexible cords
(use the cord's own rating), coiled wire, draughts, or wires under thermal insulation.
"""

import math

from calculators.physics.ampacity import MARGIN, find_bundle_factor, find_smallest_fuse
from calculators.physics.copper import CONDUCTOR_KINDS, WORST_FACTOR, ConductorKind
from calculators.physics.fusing import find_brief_fusing_current, find_fusing_current
from calculators.physics.heat_balance import HOTTEST, find_temperature
from calculators.physics.wire_run import (
    DUST,
    LARGEST_SHARE,
    AllowedDrop,
    Insulation,
    Judged,
    Run,
    find_neighbours,
    find_smallest_size,
    judge_size,
    list_awg,
    list_metric,
    read_allowed_drop,
    read_insulation,
)
from calculators.pictures.wire_gauge import DropLine, draw_drops, draw_temperatures
from calculators.vocabulary.declaration import (
    Calculator,
    ChoiceInput,
    GaugeInput,
    Output,
    QuantityInput,
    TextInput,
    WholeInput,
)
from calculators.vocabulary.errors import InputError
from calculators.vocabulary.gauge import Gauge
from calculators.vocabulary.result import (
    Cell,
    Column,
    Finding,
    Level,
    Picture,
    Reading,
    Result,
    Source,
    Step,
    Table,
)
from calculators.vocabulary.showing import Figure, Phrase, say

SOFT_PLASTIC = 55.0
"""°C; printed PLA softens from about here. Common practice."""

FRAGILE_AREA = 0.3e-6
"""m²; thinner wires than 22 AWG break where they are handled. Common practice."""

SOURCE_DISTANCE = 0.1778
"""m of wire from the source to its fuse, seven inches; 33 CFR 183.455 (b)(1)."""

INPUTS = (
    QuantityInput(
        name="current", label="Current", kind="current", unit="A", default="6.5 A",
        lowest=0, above=True, highest=400, usual=(0.01, 60),
        help="What flows for hours; for a converter, with the battery nearly empty.",
    ),
    QuantityInput(
        name="supply", label="Supply", kind="voltage", unit="V", default="12.8 V",
        lowest=0.5, highest=60, usual=(3, 52), help="Voltage at the feeding end, d.c.",
    ),
    QuantityInput(
        name="length", label="Length, one way", kind="length", unit="m", default="1.2 m",
        lowest=0.005, highest=200, usual=(0.02, 30),
        help="From source to load along the wire; the way back is added.",
    ),
    TextInput(
        name="allowed_drop", label="Allowed drop (% or V)", default="3 %", reader=read_allowed_drop,
        form="per cent of the supply or volts, such as 3 % or 0.4 V", longest=40,
        help="3 % for electronics and motors, 10 % for plain lamps.",
    ),
    GaugeInput(
        name="gauge", label="Size to judge", optional=True,
        help="A wire you have, AWG or mm². Empty: the recommended size is judged.",
    ),
    ChoiceInput(
        name="conductor", label="Conductor", default="solid", options=CONDUCTOR_KINDS, section="Wire",
        help="Stranded and tinned: IEC 60228 class 5. Worst case: hook-up wire, 24 % above solid.",
    ),
    TextInput(
        name="insulation", label="Insulation", default="80 °C", reader=read_insulation, longest=40,
        form="a temperature such as 105 °C, or pvc, pvc 80, pvc 105, xlpe, silicone, ptfe", section="Wire",
        help="Its temperature as printed on the reel, or the material.",
    ),
    QuantityInput(
        name="wall", label="Thickness of the insulation", kind="length", unit="mm", default="0.4 mm",
        lowest=0.00005, highest=0.003, section="Wire",
        help="A thin wall is the cautious guess: there is less surface to cool by.",
    ),
    QuantityInput(
        name="ambient", label="Air round the wire", kind="temperature", unit="°C", default="30 °C",
        lowest=-20, highest=80, usual=(0, 60), section="Place",
        help="Inside the figure, on a hot day, with everything running.",
    ),
    WholeInput(
        name="bundle", label="Loaded wires together", default="2", lowest=1, highest=60, section="Place",
        help="All wires in the bundle that carry current; out and back are two.",
    ),
    WholeInput(
        name="contacts", label="Joint contacts in the loop", default="0", lowest=0, highest=40,
        section="Joint", help="Contacts that the current crosses one after the other, out and back.",
    ),
    QuantityInput(
        name="contact_resistance", label="Resistance of one contact", kind="resistance", unit="mΩ",
        default="30 mΩ", lowest=0, highest=1, usual=(0, 0.1), section="Joint",
        help="For contacts side by side, divide by their number.",
    ),
    QuantityInput(
        name="fuse", label="Fuse", kind="current", unit="A", optional=True, lowest=0, above=True,
        highest=500, section="Fuse and peaks", help="The one at the source end. Empty: one is proposed.",
    ),
    QuantityInput(
        name="peak", label="Peak current", kind="current", unit="A", optional=True, lowest=0, above=True,
        highest=1000, section="Fuse and peaks", help="Returns again and again. Empty: no peaks.",
    ),
    QuantityInput(
        name="duty", label="Share of time at peak", kind="fraction", unit="%", default="10 %",
        lowest=0.001, highest=1, section="Fuse and peaks", help="Counts only when a peak is given.",
    ),
    QuantityInput(
        name="peak_time", label="One peak lasts", kind="time", unit="s", default="1 s",
        lowest=0.001, highest=36000, section="Fuse and peaks",
        help="A peak much longer than the wire takes to warm counts in full.",
    ),
)  # fmt: skip

OUTPUTS = (
    Output(name="gauge", label="Recommended size", kind="text", main=True),
    Output(name="gauge_metric", label="Recommended metric size", kind="text", main=True),
    Output(name="judged", label="The figures here are for", kind="text"),
    Output(name="drop", label="Drop, out and back, warm", kind="voltage", main=True),
    Output(name="drop_percent", label="Share of the supply", kind="percent"),
    Output(name="drop_cold", label="Drop with the wire at 20 °C", kind="voltage"),
    Output(name="capacity", label="Carries for hours", kind="current", main=True),
    Output(name="largest_fuse", label="Largest fuse", kind="current", main=True),
    Output(name="conductor_temperature", label="Copper temperature, cautious", kind="temperature"),
    Output(name="power_lost", label="Power lost in the run", kind="power"),
    Output(name="area", label="Copper area", kind="area"),
    Output(name="diameter", label="Copper diameter, solid", kind="diameter"),
    Output(name="resistance_per_km", label="Resistance at 20 °C", kind="resistance per kilometre", figures=4),
    Output(
        name="resistance_per_km_hot", label="Resistance, warm", kind="resistance per kilometre", figures=4
    ),
    Output(name="fusing_current", label="Bare, it melts at", kind="current"),
    Output(name="fusing_current_1s", label="Melts within 1 s at", kind="current"),
)


def compute(
    *,
    current: float,
    supply: float,
    length: float,
    allowed_drop: AllowedDrop,
    gauge: Gauge | None,
    conductor: ConductorKind,
    insulation: Insulation,
    wall: float,
    ambient: float,
    bundle: int,
    contacts: int,
    contact_resistance: float,
    fuse: float | None,
    peak: float | None,
    duty: float,
    peak_time: float,
) -> Result:
    """Choose a size and judge it, or the one given. Units: A, V, m, °C, Ω, s; shares from 0 to 1.

    Raises InputError for a peak below the lasting current, an allowed drop of more than half the supply,
    and insulation that may hardly be warmer than the air.
    """
    if peak is not None and peak < current:
        raise InputError(
            "peak", "the peak is below the lasting current; give the larger one, or leave it empty"
        )
    allowed = allowed_drop.find_volts(supply)
    if allowed > LARGEST_SHARE * supply:
        raise InputError("allowed_drop", "this is more than half of the supply; give at most half of it")
    if insulation.temperature < ambient + 5:
        raise InputError(
            "insulation", "it bears hardly more than the air's warmth; take a better one or cooler air"
        )
    joint = contacts * contact_resistance
    largest = peak or current
    run = Run(
        current=current, peak=largest, duty=duty, peak_time=peak_time, length=length, allowed=allowed,
        contact_drop=joint * largest, conductor=conductor, insulation=insulation, wall=wall,
        ambient=ambient, bundle=bundle, fuse=fuse,
    )  # fmt: skip
    awg = find_smallest_size(run, list_awg())
    metric = find_smallest_size(run, list_metric())
    judged = judge_size(run, gauge or awg or list_awg()[-1])
    advice = _name_sizes(awg, metric)
    outputs: dict[str, Cell] = {
        "gauge": awg.label if awg else None,
        "gauge_metric": metric.label if metric else None,
        "judged": judged.gauge.label,
        "drop": judged.drop,
        "drop_percent": None if judged.drop is None else 100 * judged.drop / supply,
        "drop_cold": judged.cold_drop,
        "capacity": judged.capacity,
        "largest_fuse": judged.largest_fuse,
        "conductor_temperature": judged.temperature,
        "power_lost": None if judged.hot is None else _find_power(run, judged.hot, joint),
        "area": judged.gauge.area,
        "diameter": judged.gauge.diameter,
        "resistance_per_km": 1000 * judged.cold,
        "resistance_per_km_hot": None if judged.hot is None else 1000 * judged.hot,
        "fusing_current": find_fusing_current(judged.gauge.area),
        "fusing_current_1s": find_brief_fusing_current(judged.gauge.area, ambient=ambient),
    }
    return Result(
        outputs=outputs,
        working=(
            *_list_drop_steps(run, judged, supply, contacts, contact_resistance),
            *_list_capacity_steps(run, judged),
        ),
        findings=(
            *_list_size_findings(run, judged, advice, hopeless=not (awg or metric)),
            *_list_fuse_findings(run, judged, advice),
            *_list_notes(run, judged, awg, given=gauge is not None),
        ),
        readings=_list_readings(run, judged, supply, joint),
        tables=(_make_table(run, judged, awg, metric),),
        pictures=_list_pictures(run, judged),
    )


def _find_power(run: Run, hot: float, joint: float) -> float:
    """Return the mean heat in W of both wires, `hot` Ω/m each, and of the joint's contacts, `joint` Ω."""
    return run.mean_square * (2 * run.length * hot + joint)


def _list_drop_steps(
    run: Run, judged: Judged, supply: float, contacts: int, contact_resistance: float
) -> tuple[Step, ...]:
    cold = Figure(judged.cold, "resistance per length", 4)
    steps = [
        Step(
            "Allowed drop", "ΔU ≤ share × U", say("U = {supply}", supply=Figure(supply, "voltage", 4)),
            Figure(run.allowed, "voltage"),
        ),
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
        figures = say(
            "I₁ = {current}, I₂ = {peak} for {time}, {duty} of the time; w from the wire's time to warm",
            current=Figure(run.current, "current"), peak=Figure(run.peak, "current"),
            time=Figure(run.peak_time, "time"), duty=Figure(run.duty, "fraction"),
        )  # fmt: skip
        steps.append(
            Step("Current that heats", "I² = I₁² + (I₂² − I₁²) w", figures, Figure(judged.heating, "current"))
        )
    balance = say(
        "{current} in a bundle of {bundle} warms like {single} alone; air {air}",
        current=Figure(judged.heating, "current"), bundle=run.bundle, air=Figure(run.ambient, "temperature"),
        single=Figure(judged.heating / (MARGIN * find_bundle_factor(run.bundle)), "current"),
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
        Step("Copper temperature", heat, balance, copper),
        Step(
            "Resistance of one wire, warm", "r(ϑ) = r [1 + 0.00393 (ϑ − 20 °C)]",
            say("r = {cold}, ϑ = {copper}", cold=cold, copper=copper), warm,
        ),
        Step("Drop, out and back", "ΔU = I (2 ℓ r(ϑ) + n R)", loop, Figure(judged.drop, "voltage")),
        Step(
            "Power lost", "P = I² (2 ℓ r(ϑ) + n R), I² averaged over time",
            say("I² as of {steady} without a pause", steady=Figure(math.sqrt(run.mean_square), "current")),
            Figure(_find_power(run, judged.hot, contacts * contact_resistance), "power"),
        ),
    )  # fmt: skip


def _list_capacity_steps(run: Run, judged: Judged) -> tuple[Step, ...]:
    bundled = say(
        "k = {factor} for {bundle} wires, ϑ max = {limit}, A = {area}",
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


def _name_sizes(awg: Gauge | None, metric: Gauge | None) -> Phrase:
    names = " or ".join(size.label for size in (awg, metric) if size)
    return say("take {names}", names=names) if names else say("shorten the run or share it between two pairs")


def _make_finding(level: Level, code: str, template: str, **parts: Figure | Phrase | str | int) -> Finding:
    return Finding(level, code, say(template, **parts))


def _list_size_findings(run: Run, judged: Judged, advice: Phrase, *, hopeless: bool) -> list[Finding]:
    size, heating = judged.gauge.label, Figure(judged.heating, "current")
    allowed = Figure(run.allowed, "voltage")
    found: list[Finding] = []
    if run.contact_drop >= run.allowed:
        found.append(_make_finding(
            "stop", "contacts-alone-fail",
            "The joint contacts alone lose {lost} of the {allowed} allowed, so no wire is thick enough. Put "
            "contacts side by side, or allow more drop.",
            lost=Figure(run.contact_drop, "voltage"), allowed=allowed,
        ))  # fmt: skip
    elif hopeless and judged.fails:
        found.append(_make_finding(
            "stop", "no-size-passes",
            "No size up to 4/0 AWG or 120 mm² passes for {current}. Shorten the run, share it between two "
            "pairs, allow more drop, or raise the supply.",
            current=Figure(run.peak, "current"),
        ))  # fmt: skip
    if judged.temperature is None:
        found.append(_make_finding(
            "stop", "runs-away",
            "{size} finds no steady temperature below {hottest} at {current}: its insulation burns. Do not "
            "power it; {advice}.",
            size=size, hottest=Figure(HOTTEST, "temperature"), current=heating, advice=advice,
        ))  # fmt: skip
    elif "heat" in judged.fails:
        found.append(_make_finding(
            "stop", "too-hot",
            "{size} carries {capacity} for hours here; {current} is asked of it. Do not power it; {advice}.",
            size=size, capacity=Figure(judged.capacity, "current"), current=heating, advice=advice,
        ))  # fmt: skip
    if "drop" in judged.fails and run.contact_drop < run.allowed:
        found.append(_make_finding(
            "caution", "drop-too-large",
            "{size} loses {drop}; {allowed} is allowed. Lamps dim and boards reset; {advice}.",
            size=size, drop=Figure(judged.cold_drop if judged.drop is None else judged.drop, "voltage"),
            allowed=allowed, advice=advice,
        ))  # fmt: skip
    return found


def _list_fuse_findings(run: Run, judged: Judged, advice: Phrase) -> list[Finding]:
    size, capacity, least = (
        judged.gauge.label,
        Figure(judged.capacity, "current"),
        Figure(run.least_fuse, "current"),
    )
    wanted = run.fuse or find_smallest_fuse(run.least_fuse)
    if wanted is None:
        return [_make_finding(
            "stop", "no-fuse-made",
            "This load needs a fuse of {least}, more than any in the table. Share it between circuits with a "
            "fuse each.", least=least,
        )]  # fmt: skip
    fuse = Figure(wanted, "current")
    if run.fuse is None and "fuse" in judged.fails:
        return [_make_finding(
            "stop", "no-fuse-fits",
            "The load needs a fuse of {fuse}, but {size} carries only {capacity}; {advice}.",
            fuse=fuse, size=size, capacity=capacity, advice=advice,
        )]  # fmt: skip
    if run.fuse is None:
        return [_make_finding(
            "note", "add-fuse",
            "Fit a {fuse} fuse in the plus wire, within {near} of the battery or converter; never one above "
            "{capacity}.", fuse=fuse, near=Figure(SOURCE_DISTANCE, "length"), capacity=capacity,
        )]  # fmt: skip
    if "fuse" in judged.fails:
        return [_make_finding(
            "stop", "fuse-too-large",
            "A {fuse} fuse lets more flow than the {capacity} that {size} carries: in a fault the wire burns "
            "before the fuse opens. Fit a smaller fuse if the load allows (at least {least}), or {advice}.",
            fuse=fuse, capacity=capacity, size=size, least=least, advice=advice,
        )]  # fmt: skip
    if run.fuse < run.least_fuse * (1 - DUST):
        return [_make_finding(
            "caution", "fuse-too-small",
            "A {fuse} fuse ages and opens in use: load a fuse to 75 % for hours, to its rating in peaks. Fit "
            "at least {least}.", fuse=fuse, least=least,
        )]  # fmt: skip
    return []


def _list_notes(run: Run, judged: Judged, awg: Gauge | None, *, given: bool) -> list[Finding]:
    found: list[Finding] = []
    size = judged.gauge.label
    if judged.temperature is not None and judged.temperature > SOFT_PLASTIC:
        found.append(_make_finding(
            "note", "softens-plastic",
            "The copper may reach {copper}, and printed PLA softens from {soft}. Keep the wire off printed "
            "parts, or enter {soft} as insulation and take the size that gives.",
            copper=Figure(judged.temperature, "temperature"), soft=Figure(SOFT_PLASTIC, "temperature"),
        ))  # fmt: skip
    if judged.drop is not None and judged.drop / 2 < run.contact_drop < run.allowed:
        found.append(_make_finding(
            "note", "contacts-lose-most",
            "More than half of the drop, {lost}, is lost in the joint contacts. A thicker wire helps little; "
            "contacts side by side help more.", lost=Figure(run.contact_drop, "voltage"),
        ))  # fmt: skip
    if judged.drop is not None and run.conductor != "worst case":
        worst = (judged.drop - run.contact_drop) * WORST_FACTOR / judged.wire.factor + run.contact_drop
        spoils = judged.drop <= run.allowed < worst
        ending = (
            "more than is allowed. Measure the loop, or choose"
            if spoils
            else "within limits. To plan for it, choose"
        )
        if judged.drop > run.allowed:
            ending = "worse still. To plan for it, choose"
        found.append(_make_finding(
            "note", "real-wire",
            "Real stranded hook-up wire has up to 24 % more resistance than solid copper; the drop would be "
            "{worst}, {ending} “worst case” as conductor.", worst=Figure(worst, "voltage"), ending=ending,
        ))  # fmt: skip
    if run.has_peaks and judged.heating * judged.heating > 1.1 * run.mean_square:
        found.append(_make_finding(
            "note", "long-peaks",
            "A peak of {time} is long enough to warm this wire by itself: heating is reckoned with "
            "{heating}, not with the mean.",
            time=Figure(run.peak_time, "time"), heating=Figure(judged.heating, "current"),
        ))  # fmt: skip
    if given and awg and not judged.fails and judged.gauge.area > 1.01 * awg.area:
        found.append(_make_finding(
            "note", "thinner-would-do", "{size} passes; {awg} does as well and is lighter.",
            size=size, awg=awg.label,
        ))  # fmt: skip
    if judged.gauge.area < FRAGILE_AREA:
        found.append(_make_finding(
            "note", "breaks-easily",
            "{size} breaks easily where it is handled or moves. Give it sleeve and strain relief, or use "
            "22 AWG or 0.34 mm² across a joint.", size=size,
        ))  # fmt: skip
    return found


def _list_readings(run: Run, judged: Judged, supply: float, joint: float) -> tuple[Reading, ...]:
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
    alone = find_temperature(judged.wire, judged.heating / find_bundle_factor(run.bundle), run.ambient)
    return (
        *readings,
        Reading(
            "Voltage at the load, lasting current flowing",
            "plus and minus at the load's own terminals, source at its full voltage",
            "on",
            Figure(supply - judged.drop * run.current / run.peak, "voltage", 4),
            Figure(supply - run.allowed, "voltage", 4),
            Figure(supply - least, "voltage", 4),
        ),
        Reading(
            "Warmth after half an hour",
            "thermometer bead taped to the insulation in the middle of the bundle",
            "on",
            Figure(judged.temperature if alone is None else alone, "temperature"),
            Figure(run.ambient, "temperature"),
            Figure(judged.temperature, "temperature"),
        ),
    )


_FAILS = {"drop": "drop too large", "heat": "too hot", "fuse": "no fuse protects it"}


def _make_table(run: Run, judged: Judged, awg: Gauge | None, metric: Gauge | None) -> Table:
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
        Column("largest_fuse", "Largest fuse", "current"),
        Column("resistance", "At 20 °C", "resistance per length"),
        Column("area", "Area", "area"),
    )
    return Table(
        "sizes", "Neighbouring sizes and the limit each one fails", columns, tuple(rows), tuple(marks)
    )


def _list_pictures(run: Run, judged: Judged) -> tuple[Picture, ...]:
    family = list_awg() if judged.gauge.label.endswith("AWG") else list_metric()
    lines = []
    for size in find_neighbours(judged.gauge, family, 1, 1):
        one = judge_size(run, size)
        if one.hot is None:
            # Running away, it has no warm resistance; the cold one is the least that its line can be.
            lines.append(DropLine(f"{size.label}, cold", 2 * one.cold * run.peak))
        else:
            lines.append(DropLine(size.label, 2 * one.hot * run.peak))
    drops = tuple(lines)
    listed = say("at {length}", length=Figure(run.length, "length"))
    for line in drops:
        loss = Figure(line.slope * run.length + run.contact_drop, "voltage")
        listed = say("{before}, {size} loses {loss}", before=listed, size=line.label, loss=loss)
    copper = say("at no steady temperature")
    if judged.temperature is not None:
        copper = say("at {copper}", copper=Figure(judged.temperature, "temperature"))
    return (
        Picture(
            "drop", "Drop against length",
            say(
                "A straight line for each size, the thinnest the steepest: {listed}. Allowed: {allowed}.",
                listed=listed, allowed=Figure(run.allowed, "voltage"),
            ),
            lambda system: draw_drops(drops, run.contact_drop, run.length, run.allowed, system),
        ),
        Picture(
            "temperature", f"Copper temperature against current, {judged.gauge.label}",
            say(
                "A curve that leaves the air's {air} level and rises ever more steeply; at {current} the "
                "copper is {copper}. The insulation bears {limit}.",
                air=Figure(run.ambient, "temperature"), current=Figure(judged.heating, "current"),
                copper=copper, limit=Figure(run.insulation.temperature, "temperature"),
            ),
            lambda system: draw_temperatures(run, judged, system),
        ),
    )  # fmt: skip


SOURCES = (
    Source(
        "IEC 60028, International standard of resistance for copper", "1/58 Ω mm²/m and 0.00393 /K at 20 °C"
    ),
    Source("ASTM B258, American wire gauge", "d = 0.005 in × 92^((36 − n)/39)"),
    Source("IEC 60228, Conductors of insulated cables", "tables 1, 2 and 3: largest resistance at 20 °C"),
    Source("Churchill and Chu, Int. J. Heat Mass Transfer 18 (1975)", "natural convection, level cylinder"),
    Source("Çengel and Ghajar, Heat and Mass Transfer", "table A-15, air at 1 atm"),
    Source(
        "IEC 60287-2-1, Electric cables: thermal resistance", "insulation as a tube; thermal resistivities"
    ),
    Source(
        "US Coast Guard, Electrical System Compliance Guideline to 33 CFR 183", "bundles of 3 to 40 wires"
    ),
    Source("MIL-W-5088B; NEC 2014 table 310.15(B)(3)(a)", "bundles of 2; of 21 to 24 and above 40 wires"),
    Source("MIL-W-5088B, as quoted in the manual of an electronic load", "single 22 and 20 AWG: density"),
    Source("ABYC E-11, Electrical systems on boats", "11.14.2.6: 3 % and 10 % of drop"),
    Source("IEC 60364-4-43, Protection against overcurrent", "433.1: fuse between load and capacity"),
    Source("33 CFR 183.455, Overcurrent protection", "(b)(1): within seven inches of the source"),
    Source("Preece (1884); Onderdonk in Stauffacher, General Electric Review 31 (1928)", "fusing currents"),
)

CALCULATOR = Calculator(
    slug="wire-gauge",
    title="Wire gauge",
    summary="The thinnest wire that passes voltage drop, heating and fuse, and how a wire you have would do.",
    inputs=INPUTS,
    outputs=OUTPUTS,
    compute=compute,
    sources=SOURCES,
    limits=(
        "Copper, d.c. up to 60 V, out and back of the same size.",
        "Still indoor air near sea level; not coiled, not packed in foam, not in a draught.",
        "Single insulated wires, alone or bundled. A sheathed cord has a lower rating of its own: use that.",
        "The copper temperature is cautious: a wire alone in free air stays cooler.",
        "Published tables differ from each other and from this; a code that binds you goes first.",
    ),
    example={"current": "6.5 A", "supply": "12.8 V", "length": "1.2 m", "bundle": "4", "ambient": "40 °C"},
    cautions=(
        "A wire without a fuse at the battery can set the figure on fire. Fit the fuse first, then the wire.",
        "Pull the fuse before you touch the wiring: a battery feeds a short with hundreds of amperes.",
        "In vehicles, boats and public venues local codes apply; leave mains to licensed electricians.",
    ),
)
