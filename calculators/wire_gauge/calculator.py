"""Wire gauge: the thinnest standard wire that passes voltage drop, heating and fuse for one d.c. run.

Holds for copper wire in still indoor air near sea level, up to 60 V d.c., for a pair of wires (out and
back) of one size. Drop: Ohm's law with the copper at its working temperature. Heating: the balance of
physics/heat_balance.py with the margin of physics/ampacity.py. It knows nothing of sheathed flexible cords
(use the cord's own rating), coiled wire, draughts, or wires under thermal insulation.
"""

from calculators.forms.calculator import Calculator, Output
from calculators.forms.fields import ChoiceInput, GaugeInput, QuantityInput, TextInput, WholeInput
from calculators.notation.errors import InputError
from calculators.notation.gauge import Gauge
from calculators.notation.showing import Figure, say
from calculators.physics.copper import CONDUCTOR_KINDS, ConductorKind
from calculators.physics.wire_run import (
    LARGEST_SHARE,
    AllowedDrop,
    Insulation,
    JudgedSize,
    Run,
    find_neighbours,
    find_smallest_size,
    judge_size,
    list_awg,
    list_metric,
    read_allowed_drop,
    read_insulation,
)
from calculators.results.result import Cell, Picture, Result, Source
from calculators.wire_gauge.findings import (
    find_fuse_findings,
    find_notes,
    find_size_findings,
    name_sizes,
)
from calculators.wire_gauge.fusing import find_brief_fusing_current, find_fusing_current
from calculators.wire_gauge.picture import DropLine, draw_drops, draw_temperatures
from calculators.wire_gauge.report import (
    find_mean_power,
    list_capacity_steps,
    list_drop_steps,
    list_readings,
    list_sizes,
)

INPUTS = (
    QuantityInput(
        name="current", label="Current", kind="current", unit="A", default="6.5 A",
        lowest=1e-6, highest=400, usual=(0.01, 60),
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
        name="fuse", label="Fuse", kind="current", unit="A", optional=True, lowest=1e-3,
        highest=500, section="Fuse and peaks", help="The one at the source end. Empty: one is proposed.",
    ),
    QuantityInput(
        name="peak", label="Peak current", kind="current", unit="A", optional=True, lowest=1e-6,
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
    Output(name="largest_fuse", label="Largest fuse", kind="current", exact=True, main=True),
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
    sizes = name_sizes(awg, metric)
    chosen = gauge or awg or metric
    # Where nothing passes, the thickest size shows in the table and the pictures how far off it is.
    judged = judge_size(run, chosen or list_awg()[-1])
    figures: dict[str, Cell] = {
        "judged": judged.gauge.label,
        "drop": judged.drop,
        "drop_percent": None if judged.drop is None else 100 * judged.drop / supply,
        "drop_cold": judged.cold_drop,
        "capacity": judged.capacity,
        "largest_fuse": judged.largest_fuse,
        "conductor_temperature": judged.temperature,
        "power_lost": None if judged.hot is None else find_mean_power(run, judged.hot, joint),
        "area": judged.gauge.area,
        "diameter": judged.gauge.diameter,
        "resistance_per_km": 1000 * judged.cold,
        "resistance_per_km_hot": None if judged.hot is None else 1000 * judged.hot,
        "fusing_current": find_fusing_current(judged.gauge.area),
        "fusing_current_1s": find_brief_fusing_current(judged.gauge.area, ambient=ambient),
    }
    return Result(
        outputs={
            "gauge": awg.label if awg else None,
            "gauge_metric": metric.label if metric else None,
            **(figures if chosen else dict.fromkeys(figures)),
        },
        working=(
            *list_drop_steps(run, judged, supply, allowed_drop, contacts, contact_resistance),
            *(list_capacity_steps(run, judged) if chosen else ()),
        ),
        findings=(
            *find_size_findings(run, judged, supply, sizes),
            *find_fuse_findings(run, judged, sizes, chosen=chosen is not None),
            *(find_notes(run, judged, awg, given=gauge is not None) if chosen else ()),
        ),
        readings=list_readings(run, judged, supply, joint) if chosen else (),
        tables=(list_sizes(run, judged, awg, metric),),
        pictures=_draw_pictures(run, judged, supply),
    )


def _draw_pictures(run: Run, judged: JudgedSize, supply: float) -> tuple[Picture, ...]:
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
                "A straight line for each size, the thinnest the steepest: {listed}. Allowed: {allowed}. No "
                "line goes on beyond the supply, {supply}.",
                listed=listed, allowed=Figure(run.allowed, "voltage"), supply=Figure(supply, "voltage"),
            ),
            lambda system: draw_drops(drops, run.contact_drop, run.length, run.allowed, supply, system),
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
