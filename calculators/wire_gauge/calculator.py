"""Wire gauge: the thinnest standard wire that passes voltage drop, heating and fuse for one d.c. run.

Holds for copper wire in still indoor air near sea level, up to 60 V d.c., for a pair of wires (out and
back) of one size, or several such pairs. Drop: Ohm's law with the copper at its working temperature. Heating:
the balance of physics/heat_balance.py with the margin of physics/ampacity.py, for two-core cords a table.
Contacts share unequally (physics/contacts.py); whether the source can open the fuse, and the fuse break the
source, says physics/fuse.py. It knows nothing of coiled wire, draughts, or wires under thermal insulation.
"""

from calculators.forms.calculator import Output, make_calculator
from calculators.results.result import Source
from calculators.wire_gauge.findings import ANSWERS, FINDINGS
from calculators.wire_gauge.given import Given
from calculators.wire_gauge.picture import draw_pictures
from calculators.wire_gauge.report import READINGS, WORKING, list_tables
from calculators.wire_gauge.solve import solve

OUTPUTS = (
    Output(name="gauge", path="awg.label", label="Recommended size", kind="text", main=True),
    Output(name="gauge_metric", path="metric.label", label="Recommended metric size", kind="text", main=True),
    Output(name="judged", path="chosen.gauge.label", label="The figures here are for", kind="text"),
    Output(name="drop", path="chosen.drop", label="Drop, out and back, warm", kind="voltage", main=True),
    Output(name="drop_percent", label="Share of the supply", kind="percent"),
    Output(name="drop_cold", path="chosen.cold_drop", label="Drop with the wire at 20 °C", kind="voltage"),
    Output(name="capacity", path="chosen.capacity", label="Carries for hours", kind="current", main=True),
    Output(
        name="fuse_to_fit",
        path="shown.fuse_to_fit",
        label="Fuse to fit",
        kind="current",
        exact=True,
        main=True,
    ),
    Output(
        name="largest_fuse",
        path="chosen.largest_fuse",
        label="Largest fuse that this wire allows",
        kind="current",
        exact=True,
    ),
    Output(
        name="opening_current",
        path="shown.fuse.sure_current",
        label="Opens the judged fuse within 2 min",
        kind="current",
    ),
    Output(
        name="fault_current", path="shown.fuse.fault", label="Into a short at the far end", kind="current"
    ),
    Output(
        name="contact_worst",
        path="shown.contact.worst",
        label="The worst joint contact carries",
        kind="current",
    ),
    Output(
        name="conductor_temperature",
        path="chosen.temperature",
        label="Copper temperature, cautious",
        kind="temperature",
    ),
    Output(name="power_lost", path="shown.power_lost", label="Power lost in the run", kind="power"),
    Output(name="area", path="chosen.gauge.area", label="Copper area", kind="area"),
    Output(name="diameter", path="chosen.gauge.diameter", label="Copper diameter, solid", kind="diameter"),
    Output(
        name="resistance_per_km",
        path="shown.resistance_per_km",
        label="Resistance at 20 °C",
        kind="resistance per kilometre",
        figures=4,
    ),
    Output(
        name="resistance_per_km_hot",
        path="shown.resistance_per_km_hot",
        label="Resistance, warm",
        kind="resistance per kilometre",
        figures=4,
    ),
    Output(name="fusing_current", path="shown.fusing_current", label="Bare, it melts at", kind="current"),
    Output(
        name="fusing_current_1s", path="shown.fusing_current_1s", label="Melts within 1 s at", kind="current"
    ),
)


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
    Source("UL/CSA 248-14, as a fuse maker's guide has it", "110 % to 200 % of the rating"),
    Source("ISO 8820-3, as makers' data sheets have it", "blade fuses: 110 % to 600 % of the rating"),
    Source("IEC 60127-2, as a fuse maker's guide has it", "150 % to 1000 % of the rating; breaking capacity"),
    Source("A maker's table of two-core PVC cords; BS 7671, table 4F1A", "what a cord carries; warmer air"),
    Source("Common practice", "contacts: spread of 1 : 2, three quarters of a rating"),
    Source("33 CFR 183.455, Overcurrent protection", "(b)(1): within seven inches of the source"),
    Source("Preece (1884); Onderdonk in Stauffacher, General Electric Review 31 (1928)", "fusing currents"),
)

CALCULATOR = make_calculator(
    slug="wire-gauge",
    title="Wire gauge",
    summary="The thinnest wire that passes voltage drop, heating and fuse, and how a wire you have would do.",
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
        "Copper, d.c. up to 60 V, out and back of the same size.",
        "Still indoor air near sea level; not coiled, not packed in foam, not in a draught.",
        "Single insulated wires, alone or bundled, or two-core cords; a cord's own rating goes first.",
        "Fuses by the bands of their standards at 25 °C; what is printed on the fuse goes first.",
        "Contacts side by side: one with half the resistance of all others, or one of them open.",
        "The copper temperature is cautious: a wire alone in free air stays cooler.",
        "Published tables differ from each other and from this; a code that binds you goes first.",
    ),
    example={"current": "8 A", "supply": "24 V", "length": "3 m", "bundle": "4", "ambient": "40 °C"},
    cautions=(
        "A wire without a fuse at the battery can set the figure on fire. Fit the fuse first, then the wire.",
        "Pull the fuse before you touch the wiring: a battery feeds a short with hundreds of amperes.",
        "In vehicles, boats and public venues local codes apply; leave mains to licensed electricians.",
    ),
)
