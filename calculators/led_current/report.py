"""The working, the readings and the tables of led-current."""

from functools import partial

from calculators.led_current.feed import find_plans, name_plan, place_feeds
from calculators.led_current.findings import FINDINGS
from calculators.led_current.solve import Solved
from calculators.physics.meter import CONTACT_PROBES, name_ammeter, word_drive
from calculators.results.case import Listed, ReadingRule, StepRule, Wording, Words, has_stop
from calculators.results.result import Cell, Column, LateTable, Rows, Table

FRAME_RATES = (30.0, 60.0, 120.0)
"""Frame rates in Hz that the table of lengths shows beside the wanted one."""

WORKING: tuple[StepRule[Solved], ...] = (
    StepRule(
        "Full current of one string",
        "I = {given.count|n} · ({led.idle_current:A|idle} + {led.channels|channels} · "
        "{led.channel_current:A|channel current})",
        "{string.peak:A,4}",
    ),
    StepRule(
        "Busiest feed, {busiest.place}",
        "I = {busiest.taps:1,6|n} · {led.full_current:A,4|I(LED)}, n LEDs hang on it",
        "{busiest.current:A,4}", when=lambda case: not case.beside,
    ),
    StepRule(
        "Busiest feed, {busiest.place}",
        "I = n · I(LED) + (ΔU(neighbour) − ΔU) / (r · s) for each neighbour, s sections away; n LEDs hang on "
        "it: half of those to a neighbour, all beyond",
        "{busiest.current:A,4}",
        "{busiest.taps:1,6} · {led.full_current:A,4}{from_neighbours}",
        when=lambda case: case.beside,
        words={
            "from_neighbours": Listed(
                "beside",
                " + ({each.drop:V,5} − {busiest.drop:V,5}) / ({string.held.segment:ohm,4} · {each.sections})",
                between="",
            )
        },
    ),
    StepRule(
        "Drop ΔU up to that feed",
        "ΔU = {busiest.current:A,4|I} · {string.feed_resistance:ohm,4|(leads + contacts)}",
        "{busiest.drop:V}",
    ),
    StepRule(
        "Lowest voltage, currents that hold, at LED {string.lowest_led}",
        "V = {given.supply:V,4|supply} − {between.before:V|ΔU₁} − ({between.after:V|ΔU₂} − "
        "{between.before:V|ΔU₁}) · {between.along|x} / {between.span|s} − {string.held.segment:ohm,4|r} · "
        "{led.full_current:A,4|I(LED)} · {between.along|x} · ({between.span|s} − {between.along|x}) / 2, "
        "between two feeds",
        "{string.lowest:V,4}", when=lambda case: case.between,
    ),
    StepRule(
        "Lowest voltage, currents that hold, at LED {string.lowest_led}",
        "V = {given.supply:V,4|supply} − {beyond.drop:V|ΔU} − {string.held.segment:ohm,4|r} · "
        "{led.full_current:A,4|I(LED)} · {beyond.leds|m} · ({beyond.leds|m} + 1) / 2, m LEDs beyond the feed",
        "{string.lowest:V,4}", when=lambda case: case.beyond,
    ),
    StepRule(
        "Supply to plan for",
        "I = {given.strings|strings} · {string.peak:A,4|full current} · (1 + {given.margin:%|margin})",
        "{supply_current:A}",
    ),
    StepRule(
        "Fuse for each feed", "next standard rating ≥ {busiest.current:A|I} / 0.75", "{fuse}",
        words={
            "fuse": (
                Wording("none is large enough", lambda case: case.busiest.fuse is None),
                Wording("{busiest.fuse:A}"),
            )
        },
    ),
    StepRule(
        "Time for one frame",
        "t = {given.count|n} · {timing.bits|bits} / {timing.bit_rate:Hz|bit rate} + "
        "{timing.reset_time:s|reset}",
        "{frame_time:s,4}", when=lambda case: not case.timing.clocked,
    ),
    StepRule(
        "Time for one frame",
        "t = ({start_bits|start} + {given.count|n} · {timing.bits|bits} + {end_bits|end}) / "
        "{timing.bit_rate:Hz|bit rate} + {timing.reset_time:s|reset}, with start and end frame",
        "{frame_time:s,4}", when=lambda case: case.timing.clocked,
    ),
    StepRule(
        "Lead of the busiest feed",
        "ΔU = 2 · {given.lead_length:m|length} · {lead.hot:ohm/m,4|r} · {busiest.current:A,4|I}, with the "
        "r of warm copper",
        "{lead_drop:V}", when=lambda case: case.lead and case.lead.hot is not None,
    ),
    StepRule(
        "Green and blue of the weakest LED",
        "({string.lowest_falling:V,4|V} − {led.dark_voltage:V|dark at}) / ({led.full_voltage:V|full down to} "
        "− {led.dark_voltage:V|dark at})",
        "{colour_share:%}", when=lambda case: 0 < case.colour_share < 1,
    ),
    StepRule(
        "Battery current at cut-off, all strings, all on",
        "I = {given.strings|strings} · {string.peak:A,4|full current} · {given.supply:V|supply} / "
        "({given.efficiency:%|efficiency} · {cutoff:V|cut-off})",
        "{battery_peak_current:A}", when=lambda case: case.cutoff,
    ),
    StepRule(
        "Data margin at LED 1, all dark",
        "{data.high:V|level} − {data.shift_dark:V|ground shift} − {data.dark.high_needed:V|high from}",
        "{data.dark.margin:V}",
    ),
    StepRule(
        "Data margin at LED 1, all on",
        "{data.lit_high:V|level} − {data.shift_lit:V|ground shift} − {data.lit.high_needed:V|high from}",
        "{data.lit.margin:V}",
    ),
    StepRule(
        "Data margin at the level shifter",
        "{data.shifter.high:V|level that arrives} − {data.shifter.high_needed:V|high from}",
        "{data.shifter.margin:V}", when=lambda case: case.shifter,
    ),
    StepRule(
        "Margin of the low level at LED 1, all on",
        "{data.lit.low_allowed:V|low up to} − {data.lit.low:V|level that arrives}",
        "{data.lit.low_margin:V}",
    ),
    StepRule(
        "Margin of the low level at the level shifter",
        "{data.shifter.low_allowed:V|low up to} − {data.shifter.low:V|level that arrives}",
        "{data.shifter.low_margin:V}", when=lambda case: case.shifter,
    ),
)  # fmt: skip


def _may_be_powered(case: Solved) -> bool:
    return not has_stop(FINDINGS, case)


_TEST: Words[Solved] = {
    "drive": word_drive("meter.lead"),
    "less": (
        Wording(", less what each crossing of the joint shows", lambda case: case.given.contacts > 0),
        Wording(""),
    ),
}
_LOST = (
    "volts at the converter's terminals and, at once, on the same range on the + and − pads at the {place}: "
    "the first less the second"
)
READINGS: tuple[ReadingRule[Solved], ...] = (
    ReadingRule(
        "Both wires of one feed, as millivolts at {meter.lead.current:A}",
        "the feed's two wires off the string and joined tightly at the {first_feed.place}; {drive}; probes "
        "on the copper at their supply ends, not on the supply's clips{less}",
        "off", "meter.lead.wire", "V", words=_TEST,
    ),
    ReadingRule(
        "Resistance of both wires of one feed",
        "the feed's two wires off the string and joined at the {first_feed.place}; probes on their supply "
        "ends; take off what the probes read when held together",
        "off", "meter.lead.ohms", "ohm",
    ),
    ReadingRule(
        "Each crossing of the joint, as millivolts at {meter.lead.current:A}",
        "joint closed and that current in the feed's loop; probes on the wire's copper on one side of the "
        "joint and on the other, plus and minus each by itself",
        "off", "meter.lead.crossing", "V",
    ),
    ReadingRule(
        "Each contact of the joint by itself, as millivolts at {meter.lead.current:A}",
        CONTACT_PROBES, "off", "meter.lead.contact", "V",
    ),
    ReadingRule(
        "Current with all LEDs dark",
        "{ammeter} the wire from the converter to all feeds; send a black frame",
        "on", "meter.dark", "A", when=_may_be_powered,
        words={"ammeter": name_ammeter(lambda case: case.meter.dark.high if case.meter.dark else 0.0)},
    ),
    ReadingRule(
        "Current with all channels on",
        "{ammeter} the wire from the converter to all feeds; send a white frame at full brightness, a few "
        "seconds at a time",
        "on", "meter.full", "A", when=_may_be_powered,
        words={"ammeter": name_ammeter(lambda case: case.total_current)},
    ),
    ReadingRule(
        "Voltage lost up to the first feed, all channels on",
        _LOST.replace("{place}", "{first_feed.place}") + "; without the ammeter in the wire",
        "on", "meter.start", "V", when=_may_be_powered,
    ),
    ReadingRule(
        "Voltage lost up to the weakest LED, all channels on",
        _LOST.replace("the {place}", "LED {string.lowest_led}"),
        "on", "meter.weakest", "V", when=_may_be_powered,
    ),
    ReadingRule(
        "Voltage left at the weakest LED, all channels on", "on the + and − pads at LED {string.lowest_led}",
        "on", "meter.lowest", "V", when=_may_be_powered,
    ),
    ReadingRule(
        "Ground shift, all channels on", "from the controller's ground to the − pad at LED 1",
        "on", "meter.shift", "V", when=_may_be_powered,
    ),
)  # fmt: skip


def list_tables(case: Solved) -> tuple[Table | LateTable, ...]:
    """Return the feeds, other ways to feed the string, what a data line serves and where the power goes."""
    return _list_feeds(case), _list_plans(case), _list_rates(case), _list_power(case)


def _list_feeds(case: Solved) -> Table:
    """Each feed with its current, voltage, fuse and wire."""
    columns = (
        Column("place", "Feed at"),
        Column("current", "Current", "current", 4),
        Column("voltage", "Voltage there", "voltage", 4),
        Column("fuse", "Fuse", "current", exact=True),
        Column("wire", "Wire"),
    )
    rows = tuple(
        (feed.place, feed.current, feed.voltage, feed.fuse, feed.wire.label if feed.wire else None)
        for feed in case.feeds
    )
    marks = tuple("caution" if feed.voltage < case.floor else "" for feed in case.feeds)
    return Table("feeds", "The feeds, all channels on", columns, rows, marks)


def _list_plans(case: Solved) -> LateTable:
    """The usual ways to feed this string, compared."""
    columns = (
        Column("plan", "Fed at"),
        Column("feeds", "Feeds", "number", 6),
        Column("lowest_voltage", "Lowest voltage", "voltage", 4),
        Column("lowest_led", "at LED", "number", 6),
        Column("feed_current", "Most in a feed", "current", 4),
    )
    caption = "Ways to feed this string, with the same leads"
    return LateTable("plans", caption, columns, partial(_compare_plans, case))


def _compare_plans(case: Solved) -> tuple[Rows, tuple[str, ...]]:
    string, count, chosen = case.string, case.given.count, case.given.feed
    rows: list[tuple[Cell, ...]] = []
    marks = []
    for plan in find_plans(count, string.feeds_needed, chosen):
        solved = string.held if plan == chosen else string.solve_fed_at(place_feeds(plan, count))
        led, lowest = solved.find_lowest()
        rows.append((name_plan(plan), len(solved.feeds), lowest, led, max(solved.feed_currents)))
        marks.append("chosen" if plan == chosen else "caution" if lowest < case.floor else "")
    return tuple(rows), tuple(marks)


def _list_rates(case: Solved) -> Table:
    """How many LEDs one data line serves, at the wanted rate and at usual ones."""
    wanted = case.given.target_rate
    columns = (
        Column("frame_rate", "Frames per second", "frequency", exact=True),
        Column("largest_count", "Most LEDs on one data line", "number", 6),
    )
    rates = sorted({*FRAME_RATES, wanted})
    rows = tuple((rate, case.timing.find_largest_count(rate)) for rate in rates)
    marks = tuple("chosen" if rate == wanted else "" for rate in rates)
    return Table("rates", "How many LEDs one data line serves", columns, rows, marks)


def _list_power(case: Solved) -> Table:
    """Where the power goes."""
    string, strings, supply = case.string, case.given.strings, case.given.supply
    rows: list[tuple[Cell, ...]] = []
    if string.flows:
        rows += [
            ("LEDs, all on", strings * (string.peak * supply - string.copper_loss)),
            ("copper of the strip, all on", strings * (string.copper_loss - string.lead_loss)),
            ("leads and contacts, all on", strings * string.lead_loss),
        ]
    rows.append(("LEDs and copper, over the pattern", strings * supply * case.average_current))
    if case.converter_heat is not None:
        rows.append(("converter, over the pattern", case.converter_heat))
    columns = (Column("place", "Where"), Column("power", "Heat", "power"))
    return Table("power", "Where the power goes, all strings together", columns, tuple(rows))
