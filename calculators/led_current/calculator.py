"""LED current: what a string of addressable LEDs draws, what voltage its worst LED gets, how fast it is fed.

Valid for strings of equal LEDs on one pair of conductors with the same resistance from LED to LED, each
LED drawing a constant current from a d.c. supply. All copper is taken at 20 °C. The lowest voltage is
solved with currents that hold whatever voltage is left, which is the cautious figure; beside it stands
the voltage with currents that fall along a straight line below a stated voltage. Currents are averages
over the LEDs' own fast switching; its ripple is left to the capacitors on the strip. Data timing counts
bits and pauses, not what the controller's software adds.
"""

from calculators.forms.calculator import Output, make_calculator
from calculators.led_current.findings import ANSWERS, FINDINGS
from calculators.led_current.given import Given
from calculators.led_current.picture import draw_pictures
from calculators.led_current.report import READINGS, WORKING, list_tables
from calculators.led_current.solve import solve
from calculators.results.result import Source

OUTPUTS = (
    Output(
        name="peak_current", path="string.peak", label="Full current of one string, all channels on",
        kind="current", figures=4, main=True,
    ),
    Output(
        name="average_current", label="Average of one string, over the pattern", kind="current", main=True,
    ),
    Output(
        name="lowest_voltage", path="string.lowest", label="Lowest voltage in each string, all on",
        kind="voltage", figures=4, main=True,
    ),
    Output(
        name="supply_current", label="Supply to plan for, all strings, with margin", kind="current",
        main=True,
    ),
    Output(name="frame_rate", label="Frames per second, at most", kind="frequency", figures=4, main=True),
    Output(
        name="data_margin", path="data.margin", label="Margin of the data's high level", kind="voltage",
        main=True,
    ),
    Output(name="total_current", label="Full current of all strings", kind="current", figures=4),
    Output(name="high_current", label="Of one string, not exceeded in 99 % of the frames", kind="current"),
    Output(
        name="lowest_led", path="string.lowest_led", label="LED with the lowest voltage", kind="number",
        figures=6,
    ),
    Output(
        name="lowest_voltage_falling", path="string.lowest_falling",
        label="The same with currents that fall", kind="voltage", figures=4,
    ),
    Output(
        name="colour_share", label="Green and blue of the weakest LED, of their full current",
        kind="fraction",
    ),
    Output(
        name="falling_current", path="string.falling_current",
        label="Full current of one string with currents that fall", kind="current", figures=4,
    ),
    Output(name="feeds", path="feed_count", label="Feeds of one string", kind="number", figures=6),
    Output(
        name="feed_current", path="busiest.current", label="Largest current in one feed", kind="current",
        figures=4,
    ),
    Output(
        name="feed_resistance", path="string.feed_resistance", label="Leads and contacts of one feed",
        kind="resistance", figures=4,
    ),
    Output(
        name="feeds_needed", path="string.feeds_needed",
        label="Feeds of one string needed for the lowest voltage wanted", kind="number", figures=6,
    ),
    Output(name="feed_spacing", label="LEDs that each of them serves, at most", kind="number", figures=6),
    Output(name="fuse", path="busiest.fuse", label="Fuse for each feed", kind="current", exact=True),
    Output(name="wire", path="busiest.wire.label", label="Wire for each feed", kind="text"),
    Output(name="lead_drop", label="Lost in the busiest feed's lead, out and back", kind="voltage"),
    Output(
        name="lost_feed_current", path="lost.current", label="Most in one feed with another one lost",
        kind="current", figures=4,
    ),
    Output(
        name="lost_feed_voltage", path="lost.lowest", label="Lowest voltage with one feed lost",
        kind="voltage", figures=4,
    ),
    Output(
        name="open_contact_voltage", path="open_contact.lowest",
        label="Lowest voltage with one contact open", kind="voltage", figures=4,
    ),
    Output(name="frame_time", label="Time for one frame", kind="time", figures=4),
    Output(name="send_time", label="Of which bits are sent", kind="time", figures=4),
    Output(name="largest_count", label="Most LEDs at the wanted frame rate", kind="number", figures=6),
    Output(name="memory", label="Memory for one string's levels", kind="memory", figures=6),
    Output(name="low_margin", path="data.low_margin", label="Margin of the data's low level", kind="voltage"),
    Output(name="data_level", path="data.high", label="High level sent to the LEDs", kind="voltage"),
    Output(
        name="return_shift", path="ground_shift", label="Ground shift at the first LED, all on",
        kind="voltage",
    ),
    Output(name="heat", label="Heat in one string, all on", kind="power"),
    Output(name="average_heat", label="Heat in one string, over the pattern", kind="power"),
    Output(name="copper_loss", label="Lost in strip, leads and contacts of one string, all on", kind="power"),
    Output(name="converter_heat", label="Heat in the converter, all strings, over the pattern", kind="power"),
    Output(name="battery_current", label="Battery current, all strings, over the pattern", kind="current"),
    Output(
        name="battery_peak_current", label="Battery current, all strings, all on, at its cut-off",
        kind="current",
    ),
    Output(name="string_length", label="Length of one string", kind="length"),
)  # fmt: skip

SOURCES = (
    Source(
        "V. K. Mehta, R. Mehta, Principles of Power System",
        "d.c. distribution, chapter 13: concentrated and uniform loads",
    ),
    Source(
        "Makers' data sheets of 5 V addressable LEDs",
        "absolute maximum ratings, input levels, data transfer time",
    ),
    Source("An open data set of addressable LEDs", "channel and idle currents, data rates"),
    Source("Makers' data sheets of logic buffers", "input high level of TTL- and CMOS-compatible inputs"),
    Source("IEC 60028", "resistivity of copper, 1/58 Ω mm²/m at 20 °C"),
    Source("IEC 60228", "table 3, resistance of flexible conductors"),
    Source(
        "Churchill and Chu, Int. J. Heat Mass Transfer 18 (1975)", "heat balance of a lead, as in wire-gauge"
    ),
    Source("Fuse makers' guides to UL/CSA 248-14 fuses", "lasting load at most 75 % of the rating at 25 °C"),
    Source("ISO 8820-3", "rated currents of blade fuses"),
)

CALCULATOR = make_calculator(
    slug="led-current",
    title="LED current",
    summary="What a string of addressable LEDs draws, what its worst LED gets, where to feed it.",
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
        "Equal LEDs, equal sections, one pair of conductors from end to end.",
        "Copper at 20 °C; a strip at 60 °C has 16 % more resistance.",
        "Every feed has its own leads of the length given and meets the others only at the supply and in "
        "the strip.",
        "A lead's heat is judged in air of 30 °C, insulation for 80 °C, out and back together; wire-gauge "
        "takes your own figures.",
        "The fall of the current with the voltage is a straight line between two stated voltages, alike for "
        "all colours.",
        "The pattern is simulated at the supply's full voltage; frames do not influence each other.",
        "Timing counts bits and pauses only; software, radio and colour arithmetic come on top.",
    ),
    cautions=(
        "A converter gives a short all it has, enough to heat a thin wire until its insulation burns: put a "
        "fuse at the supply end of every feed.",
        "Connect and change feeds with the battery off; a plug reversed on a live string destroys it.",
        "Full white at close range dazzles, and fast flicker can harm people with photosensitive epilepsy: "
        "keep flashes below three a second in shows for the public, and follow the rules of the place.",
    ),
    example={
        "led_type": "RGB 12 mA",
        "count": "60",
        "feed": "middle",
        "strings": "2",
        "pattern": "chase",
        "colour": "255/120/0",
    },
)
