"""The working, the readings and the tables of led-current."""

from bisect import bisect_right
from functools import partial

from calculators.led_current.data_level import DataLevel, Shifter
from calculators.led_current.feed import MOST_FEEDS, FeedPlan, name_node, name_plan, place_feeds
from calculators.led_current.feed_lead import choose_lead
from calculators.led_current.ladder import UniformLadder, place_evenly, share_taps
from calculators.led_current.string import Lead, LedString
from calculators.led_current.timing import START_FRAME_BITS, PixelTiming
from calculators.notation.showing import Figure, say
from calculators.physics.ampacity import FUSE_LOADING, find_smallest_fuse
from calculators.results.result import Cell, Column, LateTable, Reading, Rows, Step, Table

FRAME_RATES = (30.0, 60.0, 120.0)
"""Frame rates in Hz that the table of lengths shows beside the wanted one."""


def _volts(value: float, figures: int = 3) -> Figure:
    return Figure(value, "voltage", figures)


def _amps(value: float, figures: int = 3) -> Figure:
    return Figure(value, "current", figures)


def write_working(
    string: LedString,
    data: DataLevel,
    shifter: Shifter | None,
    controller_level: float,
    ground_shift: float,
    strings: int,
    margin: float,
    planned: float,
) -> tuple[Step, ...]:
    """Return the working: `controller_level`, `ground_shift` in V, `margin` as a share, `planned` in A."""
    led, held = string.led, string.held
    return (
        Step(
            "Full current",
            "I = n · (idle + channels · channel current)",
            say(
                "{n} · ({idle} + {channels} · {channel})",
                n=held.count,
                idle=_amps(led.idle_current),
                channels=led.channels,
                channel=_amps(led.channel_current),
            ),
            _amps(string.peak, 4),
        ),
        *_write_busiest_feed(string),
        _write_lowest_voltage(string),
        Step(
            "Supply to plan for",
            "I = strings · full current · (1 + margin)",
            say(
                "{strings} · {peak} · (1 + {margin})",
                strings=strings,
                peak=_amps(string.peak, 4),
                margin=Figure(margin, "fraction"),
            ),
            _amps(planned),
        ),
        Step(
            "Fuse for each feed",
            "the next standard rating from I / 0.75",
            say("{i} / {share}", i=_amps(string.feed_current), share=Figure(FUSE_LOADING, "number")),
            say("none is large enough") if string.fuse is None else _amps(string.fuse),
        ),
        Step(
            "Time for one frame",
            "t = n · bits / bit rate + reset",
            say(
                "{count} · {bits} / {rate} + {reset}",
                count=held.count,
                bits=led.timing.bits,
                rate=Figure(led.timing.bit_rate, "frequency"),
                reset=Figure(led.timing.reset_time, "time"),
            )
            if not led.timing.clocked
            else say(
                "({start} + {count} · {bits} + {end}) / {rate}, with start and end frame",
                start=START_FRAME_BITS,
                count=held.count,
                bits=led.timing.bits,
                end=(held.count + 1) // 2,
                rate=Figure(led.timing.bit_rate, "frequency"),
            ),
            Figure(led.timing.find_frame_time(held.count), "time", 4),
        ),
        Step(
            "Data margin, all dark",
            "level − further ground shift − share · supply",
            say(
                "{level} − {shift} − {share} · {supply}",
                level=_volts(data.high),
                shift=_volts(ground_shift),
                share=Figure(led.high_threshold, "fraction"),
                supply=_volts(held.supply),
            ),
            _volts(data.dark_margin),
        ),
        Step(
            "Data margin, all on",
            "level − ground shift − share · voltage at LED 1",
            say(
                "{level} − {shift} − {share} · {own}",
                level=_volts(data.high),
                shift=_volts(string.return_shift + ground_shift),
                share=Figure(led.high_threshold, "fraction"),
                own=_volts(string.first_voltage),
            ),
            _volts(data.lit_margin),
        ),
        *_write_shifter_step(data, shifter, controller_level, held.supply),
    )


def _write_busiest_feed(string: LedString) -> tuple[Step, Step]:
    held = string.held
    busiest = held.feed_currents.index(string.feed_current)
    places, drops = [feed.node for feed in held.feeds], held.feed_drops
    formula = "I = n · I(LED)"
    figures = say(
        "{n} · {led}",
        n=Figure(share_taps(places, held.count)[busiest], "number", 6),
        led=_amps(held.current, 4),
    )
    for neighbour in (busiest - 1, busiest + 1):
        if not 0 <= neighbour < len(places):
            continue
        formula += " + (ΔU(neighbour) − ΔU) / (r · s)"
        figures = say(
            "{before} + ({theirs} − {own}) / ({r} · {sections})",
            before=figures,
            theirs=_volts(drops[neighbour], 5),
            own=_volts(drops[busiest], 5),
            r=Figure(held.segment, "resistance", 4),
            sections=abs(places[neighbour] - places[busiest]),
        )
    place = name_node(places[busiest], held.count)
    return (
        Step(
            f"Busiest feed, {place}",
            f"{formula}, n LEDs hang on it: half of those to a neighbour, all beyond",
            figures,
            _amps(string.feed_current, 4),
        ),
        Step(
            "Drop ΔU up to that feed",
            "ΔU = I · (leads + contacts)",
            say(
                "{i} · {r}",
                i=_amps(string.feed_current, 4),
                r=Figure(string.feed_resistance, "resistance", 4),
            ),
            _volts(drops[busiest]),
        ),
    )


def _write_lowest_voltage(string: LedString) -> Step:
    held, node = string.held, string.lowest_led
    places = [feed.node for feed in held.feeds]
    label = f"Lowest voltage, currents that hold, at LED {node}"
    strip = {"supply": _volts(held.supply, 4), "r": Figure(held.segment, "resistance", 4)}
    strip["led"] = _amps(held.current, 4)
    if places[0] < node < places[-1]:
        after = bisect_right(places, node)
        return Step(
            label,
            "V = supply − ΔU₁ − (ΔU₂ − ΔU₁) · x / s − r · I(LED) · x · (s − x) / 2, between two feeds",
            say(
                "{supply} − {near} − ({far} − {near}) · {x} / {s} − {r} · {led} · {x} · {rest} / 2",
                near=_volts(held.feed_drops[after - 1]),
                far=_volts(held.feed_drops[after]),
                x=node - places[after - 1],
                s=places[after] - places[after - 1],
                rest=places[after] - node,
                **strip,
            ),
            _volts(string.lowest, 4),
        )
    outer = 0 if node <= places[0] else -1
    beyond = abs(node - places[outer])
    return Step(
        label,
        "V = supply − ΔU − r · I(LED) · m · (m + 1) / 2, m LEDs beyond the feed",
        say(
            "{supply} − {drop} − {r} · {led} · {m} · {next} / 2",
            drop=_volts(held.feed_drops[outer]),
            m=beyond,
            next=beyond + 1,
            **strip,
        ),
        _volts(string.lowest, 4),
    )


def _write_shifter_step(
    data: DataLevel, shifter: Shifter | None, controller_level: float, supply: float
) -> tuple[Step, ...]:
    if shifter is None or data.shifter_margin is None:
        return ()
    threshold = shifter.find_threshold(supply)
    figures = say("{level} − {threshold}", level=_volts(controller_level), threshold=_volts(threshold))
    return (
        Step(
            "Data margin at the level shifter",
            "controller's level − what its input reads as high",
            figures,
            _volts(data.shifter_margin),
        ),
    )


def list_readings(
    string: LedString, strings: int, ground_shift: float, *, powered: bool
) -> tuple[Reading, ...]:
    """Return what a meter should show; `ground_shift` from other loads in V.

    What must not be powered as it stands is measured with the battery off only.
    """
    held, resistance = string.held, string.feed_resistance
    start = name_node(held.feeds[0].node, held.count)
    lead = Reading(
        "Leads and contacts of one feed",
        f"the feed's two wires off the string and joined at the {start}; probes on their supply ends, "
        "the resistance of the meter's own leads taken off",
        "off",
        Figure(resistance, "resistance"),
        Figure(0.8 * resistance, "resistance"),
        Figure(1.25 * resistance + 0.01, "resistance"),
    )
    if not powered:
        return (lead,)
    dark, full = strings * held.count * string.led.idle_current, strings * string.falling_current
    # A meter sees the currents that flow, which fall where the voltage does.
    at_start = held.supply - string.find_true_drop(held.feeds[0].node)
    shift = string.find_true_drop(1) / 2 + ground_shift
    return (
        lead,
        Reading(
            "Current with all LEDs dark",
            "ammeter in the wire from the converter to all feeds; send a black frame",
            "on",
            _amps(dark),
            _amps(0.5 * dark),
            _amps(1.5 * dark),
        ),
        Reading(
            "Current with all channels on",
            "the same place; send a white frame at full brightness, a few seconds at a time",
            "on",
            _amps(full),
            _amps(0.8 * full),
            _amps(1.05 * strings * string.peak),
        ),
        Reading(
            "Voltage at the first feed, all channels on",
            f"on the + and − pads at the {start}",
            "on",
            _volts(at_start),
            _volts(0.98 * at_start),
            _volts(held.supply),
        ),
        Reading(
            "Lowest voltage, all channels on",
            f"on the + and − pads at LED {string.lowest_led}",
            "on",
            _volts(string.lowest_falling),
            _volts(0.97 * string.lowest_falling),
            _volts(held.supply),
        ),
        Reading(
            "Ground shift, all channels on",
            "from the controller's ground to the − pad at LED 1",
            "on",
            _volts(shift),
            _volts(0.0),
            _volts(1.25 * shift + 0.01),
        ),
    )


def list_feeds(held: UniformLadder, lead: Lead, floor: float) -> Table:
    """Return current, voltage, fuse and wire of each feed; `floor` (V) is wanted everywhere."""
    rows: list[tuple[Cell, ...]] = []
    marks = []
    for feed, drop, current in zip(held.feeds, held.feed_drops, held.feed_currents, strict=True):
        fuse = find_smallest_fuse(current / FUSE_LOADING)
        wire = choose_lead(fuse, current, lead.length, lead.allowed_drop, lead.kind) if fuse else None
        place = name_node(feed.node, held.count)
        rows.append((place, current, held.supply - drop, fuse, wire.label if wire else None))
        marks.append("caution" if held.supply - drop < floor else "")
    columns = (
        Column("place", "Feed at"),
        Column("current", "Current", "current", 4),
        Column("voltage", "Voltage there", "voltage", 4),
        Column("fuse", "Fuse", "current", exact=True),
        Column("wire", "Wire"),
    )
    return Table("feeds", "The feeds, all channels on", columns, tuple(rows), tuple(marks))


def list_plans(string: LedString, chosen: FeedPlan, floor: float) -> LateTable:
    """Return the usual ways to feed this string, compared; `floor` (V) is wanted everywhere."""
    columns = (
        Column("plan", "Fed at"),
        Column("feeds", "Feeds", "number", 6),
        Column("lowest_voltage", "Lowest voltage", "voltage", 4),
        Column("lowest_led", "at LED", "number", 6),
        Column("feed_current", "Most in a feed", "current", 4),
    )
    caption = "Ways to feed this string, with the same leads"
    return LateTable("plans", caption, columns, partial(_compare_plans, string, chosen, floor))


def _compare_plans(string: LedString, chosen: FeedPlan, floor: float) -> tuple[Rows, tuple[str, ...]]:
    plans = [FeedPlan("one end"), FeedPlan("middle"), FeedPlan("both ends")]
    for number in sorted({2, 3, 4, string.feeds_needed or 2}):
        if 1 < number <= min(string.count, MOST_FEEDS):
            plans.append(FeedPlan("at", place_evenly(string.count, number)))
    if chosen not in plans:
        plans.insert(0, chosen)
    rows: list[tuple[Cell, ...]] = []
    marks = []
    for plan in plans:
        solved = string.held if plan == chosen else string.solve_fed_at(place_feeds(plan, string.count))
        led, lowest = solved.find_lowest()
        rows.append((name_plan(plan), len(solved.feeds), lowest, led, max(solved.feed_currents)))
        marks.append("chosen" if plan == chosen else "caution" if lowest < floor else "")
    return tuple(rows), tuple(marks)


def list_rates(timing: PixelTiming, target_rate: float) -> Table:
    """Return how many LEDs one data line serves at `target_rate` (Hz) and at usual rates."""
    rates = sorted({*FRAME_RATES, target_rate})
    rows = tuple((rate, timing.find_largest_count(rate)) for rate in rates)
    columns = (
        Column("frame_rate", "Frames per second", "frequency", exact=True),
        Column("largest_count", "Most LEDs on one data line", "number", 6),
    )
    marks = tuple("chosen" if rate == target_rate else "" for rate in rates)
    return Table("rates", "How many LEDs one data line serves", columns, rows, marks)


def list_power(string: LedString, strings: int, average: float, converter_heat: float | None) -> Table:
    """Return where the power goes: `average` in A for one string, `converter_heat` in W."""
    supply = string.held.supply
    rows: list[tuple[Cell, ...]] = []
    if string.flows:
        rows += [
            ("LEDs, all on", strings * (string.peak * supply - string.copper_loss)),
            ("copper of the strip, all on", strings * (string.copper_loss - string.lead_loss)),
            ("leads and contacts, all on", strings * string.lead_loss),
        ]
    rows.append(("LEDs and copper, over the pattern", strings * supply * average))
    if converter_heat is not None:
        rows.append(("converter, over the pattern", converter_heat))
    columns = (Column("place", "Where"), Column("power", "Heat", "power"))
    return Table("power", "Where the power goes, all strings together", columns, tuple(rows))
