"""LED current: what a string of addressable LEDs draws, what voltage its worst LED gets, how fast it is fed.

Valid for strings of equal LEDs on one pair of conductors with the same resistance from LED to LED, each
LED drawing a constant current from a d.c. supply. All copper is taken at 20 °C. The lowest voltage is
solved with currents that hold whatever voltage is left, which is the cautious figure; beside it stands
the voltage with currents that fall along a straight line below a stated voltage. Currents are averages
over the LEDs' own fast switching; its ripple is left to the capacitors on the strip. Data timing counts
bits and pauses, not what the controller's software adds.
"""

import math
from collections.abc import Mapping
from functools import cache
from typing import cast

from calculators.forms.calculator import Calculator, Output
from calculators.forms.fields import ChoiceInput, GaugeInput, Input, QuantityInput, TextInput, WholeInput
from calculators.led_current.data_level import Shifter, describe_shifter, find_data_level
from calculators.led_current.feed import FEED_FORM, FeedPlan, place_feeds, read_feed_plan
from calculators.led_current.findings import (
    find_data_findings,
    find_feed_findings,
    find_supply_findings,
    find_voltage_findings,
    put_worst_first,
)
from calculators.led_current.pattern import (
    COLOUR_FORM,
    FRAMES_FORM,
    PATTERNS,
    Colour,
    Frame,
    Pattern,
    PatternName,
    check_frames,
    find_percentile,
    read_colour,
    read_frames,
    simulate,
    spread_colour,
)
from calculators.led_current.picture import draw_current, draw_voltage
from calculators.led_current.report import (
    list_feeds,
    list_plans,
    list_power,
    list_rates,
    list_readings,
    write_working,
)
from calculators.led_current.string import Lead, Led, solve_string
from calculators.led_current.timing import PixelTiming
from calculators.notation.errors import InputError, NotationError
from calculators.notation.gauge import Gauge
from calculators.parts import read_rows
from calculators.physics.copper import CONDUCTOR_KINDS, ConductorKind
from calculators.results.result import Result, Source

OWN_FIGURES = "own figures"
NO_SHIFTER = "none"

_DETAILS = "The LED's own figures"
_PATTERN = "Pattern"
_COPPER = "Strip, leads and contacts"
_DATA = "Data"
_SUPPLY = "Supply and battery"

INPUTS: tuple[Input, ...] = (
    ChoiceInput(
        name="led_type", label="LED type", default="RGB 12 mA",
        options=(*(str(row["name"]) for row in read_rows("leds")), OWN_FIGURES),
        help=(
            "Current is per channel, all channels on. “own figures” takes the fields of the next "
            "section."
        ),
    ),
    WholeInput(
        name="count", label="LEDs in the string", default="96", lowest=1, highest=1500,
    ),
    QuantityInput(
        name="supply", label="Supply", default="5 V", kind="voltage", unit="V", lowest=1.0, highest=60.0,
        usual=(4.5, 5.5), help="At the converter's terminals.",
    ),
    TextInput(
        name="feed", label="Fed at", default="both ends", reader=read_feed_plan, form=FEED_FORM, longest=160,
        help="Every feed has its own pair of wires from the supply.",
    ),
    QuantityInput(
        name="segment_resistance", label="Resistance from LED to LED", default="5 mΩ", kind="resistance",
        unit="Ω", lowest=1e-6, highest=10.0, usual=(0.0002, 0.05), optional=True,
        help="Out and back together. No maker prints it: measure it as the page says.",
    ),
    ChoiceInput(
        name="pattern", label="Pattern", default="random rows lit", options=PATTERNS,
    ),
    QuantityInput(
        name="brightness", label="Brightness", default="60 %", kind="fraction", unit="%", lowest=0.0,
        highest=1.0,
        help=(
            "The controller's overall setting, for the pattern only; full current is always computed at "
            "100 %."
        ),
    ),
    QuantityInput(
        name="channel_current", label="Current per channel", kind="current", unit="mA", lowest=1e-6,
        highest=2.0, usual=(0.002, 0.06), optional=True, section=_DETAILS,
        help="Empty: the type's own figure.",
    ),
    WholeInput(
        name="channels", label="Channels per LED", lowest=1, highest=5, optional=True, section=_DETAILS,
        help="Empty: the type's own figure.",
    ),
    QuantityInput(
        name="idle_current", label="Idle current per LED", kind="current", unit="mA", lowest=0.0, highest=0.1,
        usual=(0.0, 0.002), optional=True, section=_DETAILS,
        help="Dark, but powered. Empty: the type's own figure.",
    ),
    QuantityInput(
        name="full_voltage", label="Full current down to", kind="voltage", unit="V", lowest=0.5, highest=60.0,
        optional=True, section=_DETAILS, help="Below this the current falls. Empty: the type's own figure.",
    ),
    QuantityInput(
        name="dark_voltage", label="Dark at", kind="voltage", unit="V", lowest=0.0, highest=60.0,
        optional=True, section=_DETAILS, help="No current at this voltage. Empty: the type's own figure.",
    ),
    TextInput(
        name="colour", label="Colour", default="white", reader=read_colour, form=COLOUR_FORM, longest=40,
        section=_PATTERN, help="For every pattern but all white and own frames.",
    ),
    QuantityInput(
        name="gamma", label="Gamma", default="2.2", kind="number", unit="", lowest=0.5, highest=5.0,
        usual=(1.0, 3.0), section=_PATTERN,
        help="How the controller bends levels into light; 1 switches it off.",
    ),
    WholeInput(
        name="group", label="LEDs in a row or a tail", default="8", lowest=1, highest=1500, section=_PATTERN,
        help="The row that is lit as one, or the length of the chase's tail.",
    ),
    QuantityInput(
        name="lit_share", label="Rows lit", default="50 %", kind="fraction", unit="%", lowest=0.0,
        highest=1.0, section=_PATTERN, help="Each row's chance to be lit in a frame.",
    ),
    TextInput(
        name="own_frames", label="Own frames", default="20: white; 20: 255/120/0; 20: 24 x white",
        reader=read_frames, form=FRAMES_FORM, longest=2000, section=_PATTERN,
        help=(
            "For the pattern “own frames”. Frames are set apart by “;”, runs of LEDs by “,”; LEDs not "
            "named are off."
        ),
    ),
    WholeInput(
        name="frames", label="Frames simulated", default="100", lowest=10, highest=300, section=_PATTERN,
        help="Own frames bring their own number.",
    ),
    WholeInput(
        name="seed", label="Number of the draw", default="1", lowest=0, highest=9999, section=_PATTERN,
        help="Another number draws other rows.",
    ),
    QuantityInput(
        name="strip_resistance", label="Strip's resistance per metre", kind="resistance per length",
        unit="Ω/m", lowest=1e-4, highest=100.0, optional=True, section=_COPPER,
        help="Out and back together. When given, it replaces the resistance from LED to LED.",
    ),
    QuantityInput(
        name="pitch", label="Pitch of the LEDs", default="16.7 mm", kind="length", unit="mm", lowest=0.0005,
        highest=2.0, optional=True, section=_COPPER,
        help="From LED to LED; 60 LEDs in a metre are 16.7 mm apart.",
    ),
    QuantityInput(
        name="floor", label="Lowest voltage wanted", default="4.5 V", kind="voltage", unit="V", lowest=0.5,
        highest=60.0, section=_COPPER,
        help="At every LED with all channels on. Below about 4.5 V white begins to turn yellow.",
    ),
    GaugeInput(
        name="lead_gauge", label="Wire of each feed", default="18 AWG", section=_COPPER,
    ),
    QuantityInput(
        name="lead_length", label="Lead length, one way", default="0.9 m", kind="length", unit="m",
        lowest=0.0, highest=100.0, usual=(0.0, 5.0), section=_COPPER, help="From the supply to one feed.",
    ),
    ChoiceInput(
        name="lead_conductor", label="Kind of wire", default="stranded", options=CONDUCTOR_KINDS,
        section=_COPPER,
    ),
    WholeInput(
        name="contacts", label="Joint contacts in one feed's loop", default="0", lowest=0, highest=20,
        section=_COPPER, help="A loop crosses a joint twice, out and back; 0 without a joint.",
    ),
    QuantityInput(
        name="contact_resistance", label="Resistance of one contact", default="30 mΩ", kind="resistance",
        unit="mΩ", lowest=0.0, highest=2.0, usual=(0.0005, 0.2), section=_COPPER,
    ),
    WholeInput(
        name="contacts_shared", label="Contacts side by side", default="1", lowest=1, highest=20,
        section=_COPPER, help="How many contacts share the current at each crossing.",
    ),
    QuantityInput(
        name="contact_rating", label="Rating of one contact", default="3 A", kind="current", unit="A",
        lowest=0.01, highest=200.0, section=_COPPER,
    ),
    QuantityInput(
        name="lead_drop", label="Drop allowed in a lead", default="3 %", kind="fraction", unit="%",
        lowest=0.001, highest=0.3, section=_COPPER,
        help="For the proposed wire: share of the supply lost in the lead, out and back.",
    ),
    WholeInput(
        name="strings", label="Strings sharing the data line", default="1", lowest=1, highest=16,
        section=_DATA,
        help="Equal strings that show the same. Each is fed as described; the supply carries all.",
    ),
    QuantityInput(
        name="target_rate", label="Frames per second wanted", default="60 Hz", kind="frequency", unit="Hz",
        lowest=1.0, highest=1000.0, usual=(20.0, 120.0), section=_DATA,
    ),
    QuantityInput(
        name="reset_time", label="Reset time", kind="time", unit="µs", lowest=0.0, highest=0.1, optional=True,
        section=_DATA, help="The pause that ends a frame. Empty: the type's own figure.",
    ),
    QuantityInput(
        name="bit_rate", label="Bits per second", kind="frequency", unit="kHz", lowest=1e3, highest=5e7,
        optional=True, section=_DATA, help="800 kHz for one-wire LEDs. Empty: the type's own figure.",
    ),
    QuantityInput(
        name="controller_level", label="Controller's high level", default="3.3 V", kind="voltage", unit="V",
        lowest=0.5, highest=30.0, section=_DATA,
    ),
    ChoiceInput(
        name="level_shifter", label="Level shifter", default="TTL-input buffer",
        options=(NO_SHIFTER, *(str(row["name"]) for row in read_rows("logic"))), section=_DATA,
        help="Between controller and first LED, fed from the LED supply.",
    ),
    QuantityInput(
        name="high_threshold", label="High from", kind="fraction", unit="%", lowest=0.05, highest=0.95,
        optional=True, section=_DATA,
        help="Share of the LED's own supply that counts as high. Empty: the type's own figure.",
    ),
    QuantityInput(
        name="ground_shift", label="Further ground shift", default="0 V", kind="voltage", unit="mV",
        lowest=0.0, highest=5.0, section=_DATA,
        help="What other loads in the same return lift the LEDs' ground.",
    ),
    QuantityInput(
        name="margin", label="Margin of the supply", default="20 %", kind="fraction", unit="%", lowest=0.0,
        highest=2.0, section=_SUPPLY,
    ),
    QuantityInput(
        name="converter_limit", label="Converter's limit", default="15 A", kind="current", unit="A",
        lowest=0.01, highest=1000.0, optional=True, section=_SUPPLY,
    ),
    QuantityInput(
        name="efficiency", label="Converter's efficiency", default="90 %", kind="fraction", unit="%",
        lowest=0.2, highest=1.0, section=_SUPPLY,
    ),
    QuantityInput(
        name="battery_voltage", label="Battery", default="12.8 V", kind="voltage", unit="V", lowest=1.0,
        highest=1000.0, optional=True, section=_SUPPLY,
        help="Ahead of the converter; empty where there is none.",
    ),
)  # fmt: skip

OUTPUTS: tuple[Output, ...] = (
    Output(name="peak_current", label="Full current, all channels on", kind="current", figures=4, main=True),
    Output(name="average_current", label="Average over the pattern", kind="current", figures=3, main=True),
    Output(
        name="lowest_voltage", label="Lowest voltage at full current", kind="voltage", figures=4, main=True
    ),
    Output(
        name="supply_current",
        label="Supply to plan for, all strings, with margin",
        kind="current",
        figures=3,
        main=True,
    ),
    Output(name="frame_rate", label="Frames per second, at most", kind="frequency", figures=4, main=True),
    Output(name="data_margin", label="Margin of the data level", kind="voltage", figures=3, main=True),
    Output(name="high_current", label="Not exceeded in 99 % of the frames", kind="current", figures=3),
    Output(name="lowest_led", label="LED with the lowest voltage", kind="number", figures=6),
    Output(
        name="lowest_voltage_falling", label="The same with currents that fall", kind="voltage", figures=4
    ),
    Output(name="falling_current", label="Full current with currents that fall", kind="current", figures=4),
    Output(name="feeds", label="Feeds", kind="number", figures=6),
    Output(name="feed_current", label="Largest current in one feed", kind="current", figures=4),
    Output(name="feed_resistance", label="Leads and contacts of one feed", kind="resistance", figures=4),
    Output(
        name="feeds_needed",
        label="Feeds needed to stay above the lowest voltage wanted",
        kind="number",
        figures=6,
    ),
    Output(name="feed_spacing", label="LEDs that each of them serves, at most", kind="number", figures=6),
    Output(name="fuse", label="Fuse for each feed", kind="current", exact=True),
    Output(name="wire", label="Wire for each feed", kind="text"),
    Output(name="frame_time", label="Time for one frame", kind="time", figures=4),
    Output(name="send_time", label="Of which bits are sent", kind="time", figures=4),
    Output(name="largest_count", label="Most LEDs at the wanted frame rate", kind="number", figures=6),
    Output(name="memory", label="Memory for one string's levels", kind="memory", figures=6),
    Output(name="data_level", label="High level sent to the LEDs", kind="voltage", figures=3),
    Output(name="return_shift", label="Ground shift at the first LED, all on", kind="voltage", figures=3),
    Output(name="heat", label="Heat in the string, all on", kind="power", figures=3),
    Output(name="average_heat", label="Heat in the string, over the pattern", kind="power", figures=3),
    Output(name="copper_loss", label="Lost in strip, leads and contacts, all on", kind="power", figures=3),
    Output(name="converter_heat", label="Heat in the converter, over the pattern", kind="power", figures=3),
    Output(name="battery_current", label="Battery current, over the pattern", kind="current", figures=3),
    Output(name="battery_peak_current", label="Battery current, all on", kind="current", figures=3),
    Output(name="string_length", label="Length of the string", kind="length", figures=3),
)


def compute(
    *, led_type: str, count: int, supply: float, feed: FeedPlan, segment_resistance: float | None,
    pattern: PatternName, brightness: float, channel_current: float | None, channels: int | None,
    idle_current: float | None, full_voltage: float | None, dark_voltage: float | None, colour: Colour,
    gamma: float, group: int, lit_share: float, own_frames: tuple[Frame, ...], frames: int, seed: int,
    strip_resistance: float | None, pitch: float | None, floor: float, lead_gauge: Gauge, lead_length: float,
    lead_conductor: ConductorKind, contacts: int, contact_resistance: float, contacts_shared: int,
    contact_rating: float, lead_drop: float, strings: int, target_rate: float, reset_time: float | None,
    bit_rate: float | None, controller_level: float, level_shifter: str, high_threshold: float | None,
    ground_shift: float, margin: float, converter_limit: float | None, efficiency: float,
    battery_voltage: float | None,
) -> Result:  # fmt: skip
    """Return currents, voltages and timing; raises InputError for what cannot be built."""
    # The string as a ladder, fed through leads and contacts, all channels on.
    led = _describe_led(
        led_type,
        channels,
        {
            "channel_current": channel_current,
            "idle_current": idle_current,
            "full_voltage": full_voltage,
            "dark_voltage": dark_voltage,
            "high_threshold": high_threshold,
            "reset_time": reset_time,
            "bit_rate": bit_rate,
        },
    )
    segment = _find_segment(segment_resistance, strip_resistance, pitch)
    in_contacts = contacts * contact_resistance / contacts_shared
    lead = Lead(lead_gauge, lead_length, lead_conductor, in_contacts, lead_drop * supply)
    string = solve_string(led, count, supply, segment, _place_feeds(feed, count), lead, floor)
    held = string.held

    # The pattern's frames.
    checked = _make_pattern(
        pattern, count, led.channels, gamma, colour, group, lit_share, frames, seed, own_frames
    )
    dark, step = count * led.idle_current, brightness * led.channel_current
    drawn = tuple(dark + step * lit for lit in simulate(checked))
    average = math.fsum(drawn) / len(drawn)
    high = find_percentile(drawn, 0.99)

    # Supply and battery carry all strings.
    planned = strings * string.peak * (1 + margin)
    to_battery = strings * supply / (efficiency * battery_voltage) if battery_voltage else None
    converter_heat = strings * average * supply * (1 / efficiency - 1)

    # The data line.
    shifters = _list_shifters()
    shifter = next((one for one in shifters if one.name == level_shifter), None)
    data = find_data_level(
        controller_level,
        shifter,
        led.high_threshold,
        supply,
        string.first_voltage,
        string.return_shift,
        ground_shift,
    )
    frame_time = led.timing.find_frame_time(count)

    findings = put_worst_first(
        (
            *find_voltage_findings(string, floor),
            *find_feed_findings(string, lead, contacts, contacts_shared, contact_rating, converter_limit),
            *find_supply_findings(string, strings, planned, converter_limit, brightness, average * supply),
            *find_data_findings(
                string, data, shifter, shifters, controller_level, ground_shift, target_rate, strings
            ),
        )
    )
    return Result(
        outputs={
            "peak_current": string.peak,
            "average_current": average,
            "lowest_voltage": string.lowest,
            "supply_current": planned,
            "frame_rate": 1 / frame_time,
            "data_margin": data.margin,
            "high_current": high,
            "lowest_led": string.lowest_led,
            "lowest_voltage_falling": string.lowest_falling,
            "falling_current": string.falling_current,
            "feeds": len(held.feeds),
            "feed_current": string.feed_current,
            "feed_resistance": string.feed_resistance,
            "feeds_needed": string.feeds_needed,
            "feed_spacing": -(-count // string.feeds_needed) if string.feeds_needed else None,
            "fuse": string.fuse,
            "wire": string.wire.label if string.wire else None,
            "frame_time": frame_time,
            "send_time": led.timing.find_send_time(count),
            "largest_count": led.timing.find_largest_count(target_rate),
            "memory": led.timing.find_memory(count),
            "data_level": data.high,
            "return_shift": string.return_shift + ground_shift,
            "heat": string.peak * supply - string.lead_loss if string.flows else None,
            "average_heat": average * supply,
            "copper_loss": string.copper_loss if string.flows else None,
            "converter_heat": converter_heat if battery_voltage else None,
            "battery_current": to_battery * average if to_battery else None,
            "battery_peak_current": to_battery * string.peak if to_battery else None,
            "string_length": count * pitch if pitch else None,
        },
        working=write_working(
            string, data, shifter, controller_level, ground_shift, strings, margin, planned
        ),
        findings=findings,
        readings=list_readings(
            string, strings, ground_shift, powered=all(finding.level != "stop" for finding in findings)
        ),
        tables=(
            list_feeds(held, lead, floor),
            list_plans(string, feed, floor),
            list_rates(led.timing, target_rate),
            list_power(string, strings, average, converter_heat if battery_voltage else None),
        ),
        pictures=(
            draw_voltage(
                held,
                string.falling,
                None
                if feed.kind == "one end"
                else string.solve_fed_at(place_feeds(FeedPlan("one end"), count)),
                floor,
            ),
            draw_current(drawn, target_rate, average, high, string.peak, pattern),
        ),
    )


def _describe_led(led_type: str, channels: int | None, own: Mapping[str, float | None]) -> Led:
    """Return the LED of the parts table, with the builder's `own` figures where there are any."""
    is_own = led_type == OWN_FIGURES
    if is_own:
        for name, value in (*own.items(), ("channels", channels)):
            if value is None and name in ("channel_current", "idle_current", "channels"):
                raise InputError(name, "own figures need this one; fill it in, or choose an LED type")
    # Own figures are those of the first family in all that is left empty.
    row = read_rows("leds")[0] if is_own else _find_row("leds", led_type)

    def pick(name: str) -> float:
        given = own[name]
        return cast(float, row[name]) if given is None else given

    number = cast(int, row["channels"]) if channels is None else channels
    clocked = cast(bool, row["clocked"])
    # A clocked LED takes one byte more, with its overall brightness.
    bits = 8 * number + (8 if clocked else 0)
    if pick("dark_voltage") >= pick("full_voltage"):
        field = "full_voltage" if own["dark_voltage"] is None else "dark_voltage"
        raise InputError(
            field, "an LED goes dark at a lower voltage than the one down to which it has full current"
        )
    return Led(
        channels=number,
        channel_current=pick("channel_current"),
        idle_current=pick("idle_current"),
        full_voltage=pick("full_voltage"),
        dark_voltage=pick("dark_voltage"),
        lowest_supply=None if is_own else cast(float, row["lowest_supply"]),
        highest_supply=None if is_own else cast(float, row["highest_supply"]),
        high_threshold=pick("high_threshold"),
        timing=PixelTiming(bits, pick("bit_rate"), pick("reset_time"), clocked),
    )


def _find_row(table: str, name: str) -> Mapping[str, object]:
    return next(row for row in read_rows(table) if row["name"] == name)


@cache
def _list_shifters() -> tuple[Shifter, ...]:
    return tuple(describe_shifter(row) for row in read_rows("logic"))


def _find_segment(per_led: float | None, per_metre: float | None, pitch: float | None) -> float:
    if per_metre is not None:
        if pitch is None:
            raise InputError("pitch", "a resistance per metre needs the pitch of the LEDs as well")
        return per_metre * pitch
    if per_led is None:
        raise InputError(
            "segment_resistance", "give the resistance from LED to LED, or the strip's per metre"
        )
    return per_led


def _place_feeds(plan: FeedPlan, count: int) -> tuple[int, ...]:
    try:
        return place_feeds(plan, count)
    except NotationError as error:
        raise InputError("feed", str(error)) from None


def _make_pattern(
    name: PatternName, count: int, channels: int, gamma: float, colour: Colour, group: int, lit_share: float,
    frames: int, seed: int, own: tuple[Frame, ...],
) -> Pattern:  # fmt: skip
    # Figures that a pattern does not use are left out, so that changing them finds the kept simulation.
    if name == "own frames":
        try:
            check_frames(own, count, channels)
        except NotationError as error:
            raise InputError("own_frames", str(error)) from None
        return Pattern(name, count, channels, gamma, own=own)
    if name == "all white":
        return Pattern(name, count, channels, 1.0, frames=frames)
    try:
        spread_colour(colour, channels)
    except NotationError as error:
        raise InputError("colour", str(error)) from None
    return Pattern(name, count, channels, gamma, colour, min(group, count), lit_share, frames, seed)


CALCULATOR = Calculator(
    slug="led-current",
    title="LED current",
    summary="What a string of addressable LEDs draws, what its worst LED gets, where to feed it.",
    inputs=INPUTS,
    outputs=OUTPUTS,
    compute=compute,
    sources=(
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
        Source("FAA AC 43.13-1B", "table 11-9, wires in bundles, 105 °C"),
        Source(
            "Churchill and Chu, Int. J. Heat Mass Transfer 18 (1975)",
            "heat balance of a lead, as in wire-gauge",
        ),
        Source(
            "Fuse makers' guides to UL/CSA 248-14 fuses", "lasting load at most 75 % of the rating at 25 °C"
        ),
        Source("ISO 8820-3", "rated currents of blade fuses"),
    ),
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
