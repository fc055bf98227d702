"""Solves a string with all channels on, what its pattern draws, its supply and its data: no texts."""

import math
from bisect import bisect_right
from dataclasses import dataclass
from functools import cached_property
from typing import ClassVar

from calculators.led_current.data_level import (
    THIN_MARGIN,
    DataLevel,
    FittingShifter,
    Sender,
    Shifter,
    find_data_level,
    list_fitting,
    list_shifters,
)
from calculators.led_current.feed import MOST_FEEDS, name_node
from calculators.led_current.feed_fuse import find_sure_supply, find_usual_opening
from calculators.led_current.feed_lead import choose_wire, find_loop_resistance, list_proposed
from calculators.led_current.given import Given
from calculators.led_current.ladder import share_taps
from calculators.led_current.led import Led
from calculators.led_current.lost_feed import LostFeed, OpenContact, find_lost_feed, find_open_contact
from calculators.led_current.pattern import find_percentile, simulate
from calculators.led_current.readings import Meter, find_meter
from calculators.led_current.rebuild import Rebuild, begin_anew, bring_near, find_converter, refeed, thicken
from calculators.led_current.string import LedString, solve_string
from calculators.led_current.timing import START_FRAME_BITS, PixelTiming
from calculators.notation.gauge import Gauge
from calculators.notation.units import Ampere, Celsius, Hertz, Metre, Ohm, Second, Share, Volt, Watt
from calculators.physics.ampacity import FUSE_LOADING, find_smallest_fuse
from calculators.physics.contacts import NEAR_RATING, JudgedContact, judge_contact
from calculators.physics.fuse import Opening
from calculators.physics.lead import LEAD_AIR, make_lead_run
from calculators.physics.wire_run import JudgedSize, find_smallest_size, judge_size

RATINGS: tuple[Ampere, ...] = (
    1.0,
    2.0,
    3.0,
    5.0,
    8.0,
    10.0,
    15.0,
    20.0,
    30.0,
    50.0,
    75.0,
    100.0,
    200.0,
    500.0,
)
"""A that contacts are rated for: common practice."""


@dataclass(frozen=True, slots=True)
class FeedLoad:
    """One feed: its node by name, what flows there, what of the supply is lost up to it, and fuse and wire.

    `taps` LEDs hang on it: half of those to a neighbour, all beyond an outer feed.
    """

    place: str
    node: int
    taps: float
    current: Ampere
    drop: Volt
    voltage: Volt
    fuse: Ampere | None
    wire: Gauge | None


@dataclass(frozen=True, slots=True)
class FeedBeside:
    """A feed beside the busiest one: its drop, and so many sections away."""

    drop: Volt
    sections: int


@dataclass(frozen=True, slots=True)
class Between:
    """Where the lowest LED lies between two feeds: `along` of the `span` sections, and the feeds' drops."""

    before: Volt
    after: Volt
    along: int
    span: int


@dataclass(frozen=True, slots=True)
class Beyond:
    """Where it lies beyond an outer feed: that feed's drop, and so many LEDs away."""

    drop: Volt
    leds: int


@dataclass(frozen=True, kw_only=True)
class Solved:
    """One string, all channels on; over its pattern; and what all strings ask of supply and data line.

    A short at the far end of the busiest feed's lead takes `fault`, None where nothing is known to limit it,
    and its fuse opens by `opening`.
    `floor` is the voltage wanted everywhere, `wanted` that or what the LED needs, if more; `contact` is None
    without a joint, `lead` without a lead or a fuse for it, `lost` with one feed only. `drawn` is the current
    of each frame, `colour_share` what green and blue of the weakest LED have of their full current.
    `better_shifter` is one that reads the controller's level, `enough_level` what a controller needs for one
    of those that work on this supply.
    """

    lead_air: ClassVar[Celsius] = LEAD_AIR
    soft_plastic: ClassVar[Celsius] = 55.0  # printed plastic softens from about here; common practice
    input_overdrive: ClassVar[Volt] = 0.5  # beyond its supply, at a data input; makers' data sheets, 5 V LEDs
    servo_pulse: ClassVar[Second] = 1e-3  # the shortest; cannot be timed while bits are sent; trade fact
    longest_servo_pulse: ClassVar[Second] = 2e-3
    most_feeds: ClassVar[int] = MOST_FEEDS
    start_bits: ClassVar[int] = START_FRAME_BITS

    given: Given
    led: Led
    floor: Volt
    wanted: Volt
    timing: PixelTiming
    string: LedString
    feeds: tuple[FeedLoad, ...]
    busiest: FeedLoad
    beside: tuple[FeedBeside, ...]
    between: Between | None
    beyond: Beyond | None
    feed_spacing: int | None
    mean_feed_current: Ampere
    contact: JudgedContact | None
    lead: JudgedSize | None
    lead_drop: Volt | None
    allowed_drop: Volt
    fault: Ampere | None
    opening: Opening | None
    lost: LostFeed | None
    lost_contact: JudgedContact | None
    open_contact: OpenContact | None
    colour_share: Share
    drawn: tuple[Ampere, ...]
    average_current: Ampere
    high_current: Ampere
    total_current: Ampere
    supply_current: Ampere
    heat: Watt | None
    average_heat: Watt
    copper_loss: Watt | None
    converter_heat: Watt | None
    cutoff: Volt | None
    battery_current: Ampere | None
    battery_peak_current: Ampere | None
    string_length: Metre | None
    frame_time: Second
    frame_rate: Hertz
    send_time: Second
    end_bits: int
    largest_count: int
    time_of_one: Second
    memory: int
    shifter: Shifter | None
    logic_supply: Volt
    data: DataLevel
    ground_shift: Volt
    better_shifter: FittingShifter | None
    enough_level: Volt | None
    meter: Meter

    @cached_property
    def refed(self) -> Rebuild | None:
        """It as it is, fed so that it keeps the voltage wanted."""
        return refeed(self.given, self.led, self.wanted)

    @cached_property
    def thickened(self) -> Rebuild | None:
        """The same with thicker leads."""
        return thicken(self.given, self.led, self.wanted)

    @cached_property
    def brought_near(self) -> Rebuild | None:
        """The same with the converter beside it."""
        return bring_near(self.given, self.led, self.wanted)

    @cached_property
    def begun_anew(self) -> Rebuild | None:
        """The same of ordinary parts."""
        return begin_anew(self.given, self.led, self.floor)

    @property
    def enough_converter(self) -> Ampere | None:
        """The smallest on sale that has the margin wanted."""
        return find_converter(self.supply_current)

    @property
    def sure_converter(self) -> Ampere | None:
        """The smallest on sale that opens the busiest feed's fuse in time."""
        sure = find_sure_supply(self.busiest.fuse) if self.busiest.fuse else None
        return find_converter(max(sure, self.supply_current)) if sure else None

    @property
    def fault_wire(self) -> Gauge | None:
        """The thinnest wire that carries all that a short takes."""
        if self.fault is None:
            return None
        run = make_lead_run(self.given.lead_conductor, self.fault, fuse=self.fault)
        return find_smallest_size(run, list_proposed())

    @property
    def enough_rating(self) -> Ampere | None:
        """The smallest rating of contacts that bear what each of those in hand would carry."""
        worst = max((one.worst for one in (self.contact, self.lost_contact) if one), default=0.0)
        return next((size for size in RATINGS if NEAR_RATING * size >= worst), None)

    @property
    def whole_rate(self) -> int:
        """The frames a second that are sent, in whole ones."""
        return math.floor(self.frame_rate * (1 + 1e-9))

    @property
    def feed_count(self) -> int:
        """How many feeds there are."""
        return len(self.feeds)

    @property
    def first_feed(self) -> FeedLoad:
        """The one nearest to the start."""
        return self.feeds[0]

    @property
    def last_feed(self) -> FeedLoad:
        """The one nearest to the end."""
        return self.feeds[-1]

    @property
    def later_feeds(self) -> tuple[FeedLoad, ...]:
        """All but the first."""
        return self.feeds[1:]

    @property
    def feeds_between(self) -> int:
        """How many lie between these two."""
        return len(self.feeds) - 2

    @property
    def frame_count(self) -> int:
        """How many frames the pattern has."""
        return len(self.drawn)

    @property
    def duration(self) -> Second:
        """How long they take at the wanted rate."""
        return len(self.drawn) / self.given.target_rate


def solve(given: Given) -> Solved:
    """Solve the string, its pattern, its supply and its data."""
    led, count, supply = given.find_led(), given.count, given.supply
    floor = led.wanted_voltage if given.floor is None else given.floor
    wanted = max(floor, led.needed_voltage)
    resistance = (
        find_loop_resistance(given.lead_gauge, given.lead_length, given.lead_conductor)
        + given.contacts * given.contact_resistance / given.contacts_shared
    )
    string = solve_string(led, count, supply, given.find_segment(), given.find_nodes(), resistance, wanted)
    feeds = _find_feeds(given, string)
    busiest = max(feeds, key=lambda feed: feed.current)
    needed = string.feeds_needed
    lead = _judge_lead(given, busiest)
    fault = _find_fault(given, resistance)
    lost = find_lost_feed(string.held, tuple(feed.fuse for feed in feeds))

    # One string over the pattern; supply and battery carry all strings.
    dark, step = count * led.idle_current, given.brightness * led.channel_current
    drawn = tuple(dark + step * lit for lit in simulate(given.find_pattern()))
    average = math.fsum(drawn) / len(drawn)
    battery, cutoff, efficiency = given.battery_voltage, given.find_cutoff(), given.efficiency
    to_battery = given.strings * supply / efficiency

    timing = led.timing
    frame_time = timing.find_frame_time(count)

    shifter = next((one for one in list_shifters() if one.name == given.level_shifter), None)
    logic_supply = led.find_logic_supply(supply)
    fitting = list_fitting(logic_supply)
    data = find_data_level(
        Sender(given.controller_level, given.controller_low, shifter, given.shifter_place), led, supply,
        string.first_voltage, string.return_shift, given.ground_shift,
    )  # fmt: skip
    return Solved(
        given=given, led=led, floor=floor, wanted=wanted, timing=timing, string=string, feeds=feeds,
        busiest=busiest,
        beside=_find_beside(feeds, feeds.index(busiest)),
        between=_find_between(string, feeds), beyond=_find_beyond(string, feeds),
        feed_spacing=-(-count // needed) if needed else None, mean_feed_current=string.peak / len(feeds),
        contact=_judge_contact(given, busiest.current),
        lead=lead,
        lead_drop=None if lead is None else lead.cold_drop if lead.drop is None else lead.drop,
        allowed_drop=given.lead_drop * supply, fault=fault,
        opening=find_usual_opening(busiest.fuse, fault) if fault and busiest.fuse else None, lost=lost,
        lost_contact=_judge_contact(given, lost.current) if lost else None,
        open_contact=_open_contact(given, string, feeds.index(busiest)),
        colour_share=led.find_colour_share(string.lowest_falling), drawn=drawn, average_current=average,
        high_current=find_percentile(drawn, 0.99), total_current=given.strings * string.peak,
        supply_current=given.strings * string.peak * (1 + given.margin),
        heat=string.peak * supply - string.lead_loss if string.flows else None, average_heat=average * supply,
        copper_loss=string.copper_loss if string.flows else None,
        converter_heat=given.strings * average * supply * (1 / efficiency - 1) if battery else None,
        cutoff=cutoff, battery_current=to_battery * average / battery if battery else None,
        battery_peak_current=to_battery * string.peak / cutoff if cutoff else None,
        string_length=count * given.pitch if given.pitch else None, frame_time=frame_time,
        frame_rate=1 / frame_time, send_time=timing.find_send_time(count), end_bits=(count + 1) // 2,
        largest_count=timing.find_largest_count(given.target_rate), time_of_one=timing.find_frame_time(1),
        memory=timing.find_memory(count), shifter=shifter, logic_supply=logic_supply,
        data=data,
        ground_shift=string.return_shift + given.ground_shift,
        better_shifter=next((one for one in fitting if _is_better(one, given)), None),
        enough_level=min(one.threshold for one in fitting) + THIN_MARGIN if fitting else None,
        # With more, the data's high level would no longer be reached, or the low one go too far below.
        meter=find_meter(
            given, string, floor,
            min(Solved.input_overdrive, string.return_shift + given.ground_shift + data.margin),
        ),
    )  # fmt: skip


def _find_feeds(given: Given, string: LedString) -> tuple[FeedLoad, ...]:
    held, allowed = string.held, given.lead_drop * given.supply
    nodes = [feed.node for feed in held.feeds]
    feeds = []
    for node, taps, current, drop in zip(
        nodes, share_taps(nodes, held.count), held.feed_currents, held.feed_drops, strict=True
    ):
        fuse = find_smallest_fuse(current / FUSE_LOADING)
        wire = choose_wire(given.lead_conductor, current, given.lead_length, allowed) if fuse else None
        place = name_node(node, held.count)
        feeds.append(FeedLoad(place, node, taps, current, drop, held.supply - drop, fuse, wire))
    return tuple(feeds)


def _find_beside(feeds: tuple[FeedLoad, ...], index: int) -> tuple[FeedBeside, ...]:
    return tuple(
        FeedBeside(feeds[other].drop, abs(feeds[other].node - feeds[index].node))
        for other in (index - 1, index + 1)
        if 0 <= other < len(feeds)
    )


def _find_between(string: LedString, feeds: tuple[FeedLoad, ...]) -> Between | None:
    led = string.lowest_led
    if not feeds[0].node < led < feeds[-1].node:
        return None
    index = bisect_right([feed.node for feed in feeds], led)
    before, after = feeds[index - 1], feeds[index]
    return Between(before.drop, after.drop, led - before.node, after.node - before.node)


def _find_beyond(string: LedString, feeds: tuple[FeedLoad, ...]) -> Beyond | None:
    led = string.lowest_led
    if feeds[0].node < led < feeds[-1].node:
        return None
    outer = feeds[0] if led <= feeds[0].node else feeds[-1]
    return Beyond(outer.drop, abs(led - outer.node))


def _judge_lead(given: Given, busiest: FeedLoad) -> JudgedSize | None:
    if busiest.fuse is None or given.lead_length == 0:
        return None
    allowed = given.lead_drop * given.supply
    run = make_lead_run(given.lead_conductor, busiest.current, given.lead_length, allowed, busiest.fuse)
    return judge_size(run, given.lead_gauge)


def _find_fault(given: Given, resistance: Ohm) -> Ampere | None:
    """Return what the supply sends through a short behind this resistance; None where nothing limits it."""
    limits = [given.supply / resistance] if resistance > 0 else []
    limits += [given.converter_limit] if given.converter_limit is not None else []
    return min(limits, default=None)


def _open_contact(given: Given, string: LedString, index: int) -> OpenContact | None:
    """Return what one open contact leaves; None where there are not several side by side."""
    if not given.contacts or given.contacts_shared == 1:
        return None
    shared = given.contacts_shared
    return find_open_contact(string.held, index, given.contact_resistance / (shared - 1) / shared)


def _judge_contact(given: Given, current: Ampere) -> JudgedContact | None:
    return judge_contact(current, given.contacts_shared, given.contact_rating) if given.contacts else None


def _is_better(shifter: FittingShifter, given: Given) -> bool:
    return shifter.name != given.level_shifter and given.controller_level - shifter.threshold >= THIN_MARGIN
