"""pin-order: which pin goes to which, and what happens when a plug goes in the wrong way.

Two plugs that look alike rarely carry the same things on the same contacts. This calculator takes both
orders, finds the made-up lead between them, and judges every likely mating by the physical rules of
`calculators.pin_order.mating_rules`: straight, turned round, and shifted by one place either way, of the
plug itself or of the made-up lead's. The lead's wire, contacts and fuse are judged as wire-gauge does.

Limits of validity: extra-low d.c. voltage up to 60 V; the supply on and every signal at its worst level;
one board at a time plugged in wrongly; ordinary protection diodes at every logic input. Not judged: surges
while plugging in, how long a fault may last, radio frequencies, mains.
"""

from calculators.forms.calculator import Output, make_calculator
from calculators.pin_order.findings import ANSWERS, FINDINGS
from calculators.pin_order.given import Given
from calculators.pin_order.picture import draw_pictures
from calculators.pin_order.report import READINGS, WORKING, list_tables
from calculators.pin_order.solve import solve
from calculators.results.result import Source

OUTPUTS = (
    Output(
        name="straight", path="matings.straight.verdict", label="Plugged in straight", kind="text", main=True
    ),
    Output(
        name="reversed", path="matings.reversed.verdict", label="Plugged in the wrong way round", kind="text",
        main=True,
    ),
    Output(name="crossing", label="The made-up lead, source pin to board pin", kind="text", main=True),
    Output(
        name="shifted_left", path="matings.shifted_left.verdict", label="Shifted one place to the left",
        kind="text",
    ),
    Output(
        name="shifted_right", path="matings.shifted_right.verdict", label="Shifted one place to the right",
        kind="text",
    ),
    Output(name="lead", path="own.lead.verdict", label="With the made-up lead", kind="text"),
    Output(name="drop", path="wire.drop", label="Lost in the lead and its contacts", kind="voltage"),
    Output(name="fault_current", label="Largest current of a wrong mating that is possible", kind="current"),
)  # fmt: skip

EXAMPLE = {
    "from_pins": "servo lead",
    "to_pins": "light board data in the middle",
    "boards": "left strip; data, +5V, ground\nright strip; data, +5V, ground\ntail; +5V, data, ground",
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
    Source(
        "ISO 16750-2",
        "supply ranges of 12 V and 24 V electronics, up to 16 V and 32 V; from memory",
    ),
    Source(
        "IEC 60947-5-2",
        "conductor colours of three-wire sensors: brown, blue, black; from memory",
    ),
    Source("IEC 60757", "table 1, letter codes for colours"),
    Source(
        "The wire-gauge calculator",
        "what a lead's wires and contacts carry and lose, and when a fuse opens; its sources there",
    ),
    Source(
        "Common practice",
        "orders of light boards and clocked strips; 25 Ω for a logic output, 0.6 V for a protection diode; "
        "2.8 V at its peaks and 470 Ω for a line output; what wires of a colour mostly carry",
    ),
)

CALCULATOR = make_calculator(
    slug="pin-order",
    title="Pin order",
    summary="Which pin goes to which between two plugs, and what burns if one is plugged in wrongly.",
    form=Given,
    solve=solve,
    outputs=OUTPUTS,
    answers=ANSWERS,
    findings=FINDINGS,
    working=WORKING,
    readings=READINGS,
    list_tables=list_tables,
    draw_pictures=draw_pictures,
    sources=SOURCES,
    limits=(
        "Extra-low d.c. voltage up to 60 V; not for mains, and not for chargers on the mains side.",
        "The worst steady moment: supply on, each signal high or low. Sparks and surges while plugging"
        " in are not judged.",
        "Inputs are taken to have ordinary protection diodes and outputs 25 Ω; a data sheet goes before"
        " both. What supplies withstand and nobody gave is taken from inputs for the same voltage.",
        "Inputs of line audio are taken to have a coupling capacitor, and a two-wire bus to be pulled up by"
        " resistors and down by open outputs.",
        "The lead's wire is judged for two wires in still air of 30 °C and insulation for 80 °C; several in a"
        " bundle carry less.",
        "One board plugged in wrongly at a time; boards fed from two sides at once, or with batteries of"
        " their own, are not judged.",
    ),
    example=EXAMPLE,
    cautions=(
        "Plug and unplug with the battery off. Never try an order out to see whether it works.",
        "A wrong mating can heat a lead until it burns: keep a fuse at the source, and a hand near the"
        " switch at first power.",
        "The print beside a board's own pins goes before every table, this one included.",
    ),
)
