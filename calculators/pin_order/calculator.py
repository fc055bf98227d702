"""pin-order: which pin goes to which, and what happens when a plug goes in the wrong way.

Two plugs that look alike rarely carry the same things on the same contacts. This calculator takes both
orders, finds the made-up lead between them, and judges every likely mating by the physical rules of
`calculators.pin_order.mating`: straight, turned round, and shifted by one place either way.

Limits of validity: extra-low d.c. voltage up to 60 V; the supply on and every signal at its worst level;
one board at a time on the source; ordinary protection diodes at every logic input. Not judged: surges while
plugging in, how long a fault may last, radio frequencies, mains.
"""

from collections.abc import Sequence

from calculators.forms.calculator import Calculator, Output
from calculators.forms.fields import ChoiceInput, Input, QuantityInput, TextInput, WholeInput, YesNoInput
from calculators.notation.errors import InputError
from calculators.pin_order.findings import (
    find_break_out_findings,
    find_common_notes,
    find_lead_findings,
    find_mating_findings,
)
from calculators.pin_order.joined_nets import Limits
from calculators.pin_order.picture import draw_pictures
from calculators.pin_order.plug import Plug, read_boards, read_plug
from calculators.pin_order.plugging import WAYS, find_break_out, is_possible, judge_ways
from calculators.pin_order.report import (
    find_colours,
    list_boards,
    list_break_out,
    list_contacts,
    list_readings,
    list_rules,
    list_wires,
    write_working,
)
from calculators.results.result import Result, Source

VIEWS = ("mating face", "wire side")
ALIKE, FACING = "plugs that look alike", "a plug and its socket"
PINS_FORM = "roles from left to right, such as “signal, +5V, ground”, or a common order such as “servo lead”"

INPUTS: tuple[Input, ...] = (
    TextInput(
        name="from_pins",
        label="Source: pins in order",
        default="signal, +5V, ground",
        help="The side that gives the power. A highest voltage may follow a pin, such as “data in max"
        " 3.6 V”.",
        reader=read_plug,
        form=PINS_FORM,
    ),
    ChoiceInput(
        name="from_view",
        label="Source: seen from",
        default="mating face",
        help="The side you look at when you count from left to right, key upwards.",
        options=VIEWS,
    ),
    TextInput(
        name="to_pins",
        label="Board: pins in order",
        default="+5V, data, ground",
        help="The side that is fed. Read the board's own print; no order is a standard.",
        reader=read_plug,
        form=PINS_FORM,
    ),
    ChoiceInput(
        name="to_view",
        label="Board: seen from",
        default="mating face",
        help="The side you look at when you count from left to right, key upwards.",
        options=VIEWS,
    ),
    TextInput(
        name="boards",
        label="Boards on one break-out",
        help="Every board fed from this source, with its name and pins; seen from the same side as the"
        " board above. Empty: only the board above.",
        optional=True,
        reader=read_boards,
        form="boards such as “lantern: +5V, data, ground; spine: servo lead”",
        longest=1200,
    ),
    ChoiceInput(
        name="halves",
        label="The two are",
        default=ALIKE,
        help="Two of a kind joined by a lead, or two halves that go straight into one another.",
        options=(ALIKE, FACING),
        section="Plugs",
    ),
    WholeInput(
        name="rows",
        label="Rows of contacts",
        default="1",
        help="With two rows, list the top row from left to right, then the bottom row from left to right.",
        lowest=1,
        highest=2,
        section="Plugs",
    ),
    YesNoInput(
        name="keyed",
        label="A key stops it going in the wrong way round",
        default="no",
        help="Yes only for a key that holds when somebody pushes.",
        section="Plugs",
    ),
    YesNoInput(
        name="shrouded",
        label="A shroud stops it going in one place off",
        default="no",
        help="Bare pin headers have none.",
        section="Plugs",
    ),
    QuantityInput(
        name="rail_voltage",
        label="Voltage of pins named “supply”",
        default="5 V",
        help="For pins marked supply, VCC or V+ without a figure.",
        section="Voltages",
        kind="voltage",
        unit="V",
        lowest=1.0,
        highest=60.0,
    ),
    QuantityInput(
        name="battery_voltage",
        label="Highest battery voltage",
        default="14.6 V",
        help="For pins marked battery, and for what an amplifier's outputs swing up to. Fully charged,"
        " on the charger.",
        section="Voltages",
        kind="voltage",
        unit="V",
        lowest=1.0,
        highest=60.0,
    ),
    QuantityInput(
        name="signal_level",
        label="Level of the source's signals",
        default="5 V",
        help="What a signal output gives when it is high.",
        section="Voltages",
        kind="voltage",
        unit="V",
        lowest=1.0,
        highest=24.0,
    ),
    QuantityInput(
        name="supply_over",
        label="Supply inputs withstand, above their voltage",
        default="6 %",
        help="Absolute maximum from the data sheet; 5.3 V on a 5 V light is 6 %. A pin's own “max” goes"
        " first.",
        section="Voltages",
        kind="fraction",
        unit="%",
        lowest=0.0,
        highest=5.0,
    ),
    QuantityInput(
        name="supply_under",
        label="Supply inputs work, below their voltage",
        default="25 %",
        help="3.75 V on a 5 V light is 25 %.",
        section="Voltages",
        kind="fraction",
        unit="%",
        lowest=0.0,
        highest=0.9,
    ),
    QuantityInput(
        name="input_maximum",
        label="A board's signal input withstands",
        default="5.5 V",
        help="Absolute maximum to the board's ground, from the data sheet. A pin's own “max” goes first.",
        section="Voltages",
        kind="voltage",
        unit="V",
        lowest=0.5,
        highest=60.0,
    ),
    QuantityInput(
        name="controller_maximum",
        label="A controller's input withstands",
        default="5.5 V",
        help="Absolute maximum of a source pin that listens; 3.6 V for most 3.3 V controllers.",
        section="Voltages",
        kind="voltage",
        unit="V",
        lowest=0.5,
        highest=60.0,
    ),
    QuantityInput(
        name="source_current",
        label="The supply can deliver",
        default="15 A",
        help="The converter's limit, or the battery's.",
        section="Currents",
        kind="current",
        unit="A",
        lowest=1e-3,
        highest=5000.0,
    ),
    QuantityInput(
        name="fuse",
        label="Fuse of this branch",
        default="2 A",
        help="Leave empty without one.",
        section="Currents",
        optional=True,
        kind="current",
        unit="A",
        lowest=1e-3,
        highest=1000.0,
    ),
    QuantityInput(
        name="board_current",
        label="The board draws",
        default="900 mA",
        help="At its brightest or busiest; the lantern has 24 LEDs of 37 mA.",
        section="Currents",
        kind="current",
        unit="A",
        lowest=1e-6,
        highest=500.0,
    ),
    QuantityInput(
        name="signal_current",
        label="A signal output withstands",
        default="40 mA",
        help="Absolute maximum per pin, from the controller's data sheet.",
        section="Currents",
        kind="current",
        unit="mA",
        lowest=1e-6,
        highest=10.0,
    ),
    QuantityInput(
        name="clamp_current",
        label="An input's protection diode withstands",
        default="15 mA",
        help="The data sheet calls it injection or clamp current.",
        section="Currents",
        kind="current",
        unit="mA",
        lowest=1e-6,
        highest=10.0,
    ),
    QuantityInput(
        name="source_resistor",
        label="Resistor in the source's signal wire",
        default="330 Ω",
        help="At the controller's pin; 0 without one.",
        section="Currents",
        kind="resistance",
        unit="Ω",
        lowest=0.0,
        highest=1e6,
    ),
    QuantityInput(
        name="input_resistor",
        label="Resistor before the board's input",
        default="0 Ω",
        help="On the board, behind its pin; 0 without one.",
        section="Currents",
        kind="resistance",
        unit="Ω",
        lowest=0.0,
        highest=1e6,
    ),
    QuantityInput(
        name="lead_resistance",
        label="One wire of the lead, with its contacts",
        default="100 mΩ",
        help="Limits a short circuit, and is what a meter shows end to end.",
        section="Currents",
        kind="resistance",
        unit="Ω",
        lowest=0.001,
        highest=10.0,
    ),
)

OUTPUTS = (
    Output(name="straight", label="Plugged in straight", kind="text", main=True),
    Output(name="reversed", label="Plugged in the wrong way round", kind="text", main=True),
    Output(name="crossing", label="The made-up lead, source pin to board pin", kind="text", main=True),
    Output(name="shifted_left", label="Shifted one place to the left", kind="text"),
    Output(name="shifted_right", label="Shifted one place to the right", kind="text"),
    Output(name="lead", label="With the made-up lead", kind="text"),
    Output(name="fault_current", label="Largest current of a wrong mating that is possible", kind="current"),
)


def compute(
    *,
    from_pins: Plug,
    from_view: str,
    to_pins: Plug,
    to_view: str,
    boards: tuple[Plug, ...] | None,
    halves: str,
    rows: int,
    keyed: bool,
    shrouded: bool,
    rail_voltage: float,
    battery_voltage: float,
    signal_level: float,
    supply_over: float,
    supply_under: float,
    input_maximum: float,
    controller_maximum: float,
    source_current: float,
    fuse: float | None,
    board_current: float,
    signal_current: float,
    clamp_current: float,
    source_resistor: float,
    input_resistor: float,
    lead_resistance: float,
) -> Result:
    """Judge every mating of the two plugs and find the made-up lead.

    Voltages in V, currents in A, resistances in Ω, shares as fractions of 1. Raises InputError where a
    plug does not fit the number of rows.
    """
    limits = Limits(
        signal_level=signal_level,
        signal_current=signal_current,
        source_resistor=source_resistor,
        controller_maximum=controller_maximum,
        source_current=source_current,
        fuse=fuse,
        lead_resistance=lead_resistance,
        input_maximum=input_maximum,
        input_resistor=input_resistor,
        clamp_current=clamp_current,
        board_current=board_current,
        over=supply_over,
        under=supply_under,
        battery=battery_voltage,
    )
    _check_rows(from_pins, to_pins, boards or (), rows)
    source = from_pins.with_voltages(rail_voltage, battery_voltage)
    mirrored = (from_view != to_view) != (halves == FACING)
    plugged, *others = (
        judge_ways(
            source, board.with_voltages(rail_voltage, battery_voltage), limits, rows=rows, mirrored=mirrored
        )
        for board in (to_pins, *(boards or ()))
    )
    break_out = find_break_out(source, others, limits)
    colours = find_colours(source.pins)
    possible = [plugged.judged[way] for way in WAYS if is_possible(way, keyed=keyed, shrouded=shrouded)]
    currents = [judgement.fault_current for judgement in possible if judgement.fault_current is not None]
    return Result(
        outputs={
            **{way: plugged.judged[way].verdict for way in WAYS},
            "crossing": plugged.crossing.write(),
            "lead": plugged.lead.verdict,
            "fault_current": max(currents, default=None),
        },
        working=write_working(plugged, limits, rows=rows, mirrored=mirrored),
        findings=(
            *find_mating_findings(plugged, limits, keyed=keyed, shrouded=shrouded),
            *find_lead_findings(plugged, limits),
            *find_break_out_findings(source, break_out),
            *find_common_notes((from_pins, to_pins, *(boards or ()))),
        ),
        readings=list_readings(plugged, limits),
        tables=(
            list_wires(plugged, colours),
            *(list_contacts(way, plugged) for way in WAYS),
            *(
                (list_break_out(source, break_out, colours), list_boards(break_out.branches))
                if others
                else ()
            ),
            list_rules(),
        ),
        pictures=draw_pictures(plugged, (from_view, to_view), rows, colours),
    )


def _check_rows(source: Plug, board: Plug, boards: Sequence[Plug], rows: int) -> None:
    for field, plug in (("from_pins", source), ("to_pins", board), *(("boards", plug) for plug in boards)):
        if len(plug.pins) % rows:
            name = f"{plug.name}: " if field == "boards" else ""
            raise InputError(
                field,
                f"{name}{len(plug.pins)} pins do not fill two rows; name the missing one “-”, or set one row",
            )


EXAMPLE = {
    "from_pins": "servo lead",
    "to_pins": "light board data in the middle",
    "boards": "spine: data, +5V, ground; flanks: data, +5V, ground; lantern: +5V, data, ground",
    "fuse": "2 A",
}

SOURCES = (
    Source(
        "Robot Builder's Bonanza", "p. 256: servo leads carry the supply in the centre; an exception is named"
    ),
    Source(
        "A model flyers' association, frequent questions",
        "receiver order signal, +, -; reversed: no damage, no function",
    ),
    Source(
        "A maker's data sheet of a 5 V addressable LED",
        "pins, absolute maximum 5.3 V, inputs read high from 0.7 of the supply",
    ),
    Source(
        "A maker's data sheet of an 8-bit microcontroller",
        "absolute maximum ratings: pin current ±40 mA, injection ±15 mA",
    ),
    Source(
        "A maker's data sheet of a CMOS analogue switch",
        "voltage ratings may be exceeded within the clamp-current rating",
    ),
    Source(
        "Workshop manual of a small petrol engine, wiring section",
        "female halves numbered from the wire side, male from the terminal side",
    ),
    Source("IEC 60757", "table 1, letter codes for colours"),
    Source(
        "Common practice",
        "orders of light boards and clocked strips; 25 Ω for a logic output, 0.6 V for a protection diode",
    ),
)

CALCULATOR = Calculator(
    slug="pin-order",
    title="Pin order",
    summary="Which pin goes to which between two plugs, and what burns if one is plugged in wrongly.",
    inputs=INPUTS,
    outputs=OUTPUTS,
    compute=compute,
    sources=SOURCES,
    limits=(
        "Extra-low d.c. voltage up to 60 V; not for mains, and not for chargers on the mains side.",
        "The worst steady moment: supply on, each signal high or low. Sparks and surges while plugging"
        " in are not judged.",
        "Inputs are taken to have ordinary protection diodes and outputs 25 Ω; a data sheet goes before"
        " both.",
        "One board at a time; boards fed from two sides at once, or with batteries of their own, are"
        " not judged.",
    ),
    example=EXAMPLE,
    cautions=(
        "Plug and unplug with the battery off. Never try an order out to see whether it works.",
        "A wrong mating can heat a lead until it burns: keep a fuse at the source, and a hand near the"
        " switch at first power.",
        "The print beside a board's own pins goes before every table, this one included.",
    ),
)
