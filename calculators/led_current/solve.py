"""Solves a string with all channels on, what its pattern draws, its supply and its data: no texts."""

import math
from bisect import bisect_right
from dataclasses import dataclass
from typing import ClassVar

from calculators.led_current.data_level import (
    THIN_MARGIN,
    DataLevel,
    FittingShifter,
    Shifter,
    find_data_level,
    list_fitting,
    list_shifters,
)
from calculators.led_current.feed import MOST_FEEDS, name_node
from calculators.led_current.feed_lead import choose_wire, find_loop_resistance
from calculators.led_current.given import Given
from calculators.led_current.ladder import Feed, place_evenly, share_taps
from calculators.led_current.led import Led
from calculators.led_current.pattern import find_percentile, simulate
from calculators.led_current.readings import Meter, find_meter
from calculators.led_current.string import LedString, solve_string
from calculators.led_current.timing import START_FRAME_BITS, PixelTiming
from calculators.notation.gauge import Gauge
from calculators.notation.units import Ampere, Celsius, Hertz, Metre, Second, Volt, Watt
from calculators.physics.ampacity import FUSE_LOADING, find_smallest_fuse
from calculators.physics.contacts import JudgedContact, judge_contact
from calculators.physics.lead import LEAD_AIR, judge_lead
from calculators.physics.wire_run import JudgedSize

PLACES_SHOWN = 12
"""Places that a proposal names; nobody types more."""


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

    `proposed` holds the first of the feeds that keep the wanted voltage; `contact` is None without a joint,
    `lead` without a lead or a fuse for it. `drawn` is the current of each frame.
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
    timing: PixelTiming
    string: LedString
    feeds: tuple[FeedLoad, ...]
    busiest: FeedLoad
    beside: tuple[FeedBeside, ...]
    between: Between | None
    beyond: Beyond | None
    proposed: tuple[Feed, ...]
    feed_spacing: int | None
    mean_feed_current: Ampere
    contact: JudgedContact | None
    lead: JudgedSize | None
    drawn: tuple[Ampere, ...]
    average_current: Ampere
    high_current: Ampere
    total_current: Ampere
    supply_current: Ampere
    heat: Watt | None
    average_heat: Watt
    copper_loss: Watt | None
    converter_heat: Watt | None
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
    data: DataLevel
    ground_shift: Volt
    better_shifter: FittingShifter | None
    enough_level: Volt | None
    meter: Meter

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
    resistance = (
        find_loop_resistance(given.lead_gauge, given.lead_length, given.lead_conductor)
        + given.contacts * given.contact_resistance / given.contacts_shared
    )
    string = solve_string(
        led, count, supply, given.find_segment(), given.find_nodes(), resistance, given.floor
    )
    feeds = _find_feeds(given, string)
    busiest = max(feeds, key=lambda feed: feed.current)
    needed = string.feeds_needed
    places = place_evenly(count, needed) if needed else ()

    # One string over the pattern; supply and battery carry all strings.
    dark, step = count * led.idle_current, given.brightness * led.channel_current
    drawn = tuple(dark + step * lit for lit in simulate(given.find_pattern()))
    average = math.fsum(drawn) / len(drawn)
    battery, efficiency = given.battery_voltage, given.efficiency
    to_battery = given.strings * supply / (efficiency * battery) if battery else None

    timing = led.timing
    frame_time = timing.find_frame_time(count)

    shifter = next((one for one in list_shifters() if one.name == given.level_shifter), None)
    fitting = list_fitting(supply)
    data = find_data_level(
        given.controller_level, shifter, led.high_threshold, supply, string.first_voltage,
        string.return_shift, given.ground_shift,
    )  # fmt: skip
    return Solved(
        given=given, led=led, timing=timing, string=string, feeds=feeds, busiest=busiest,
        beside=_find_beside(feeds, feeds.index(busiest)),
        between=_find_between(string, feeds), beyond=_find_beyond(string, feeds),
        proposed=tuple(Feed(node, resistance) for node in places[:PLACES_SHOWN]),
        feed_spacing=-(-count // needed) if needed else None, mean_feed_current=string.peak / len(feeds),
        contact=(
            judge_contact(busiest.current, given.contacts_shared, given.contact_rating)
            if given.contacts else None
        ),
        lead=_judge_lead(given, busiest), drawn=drawn, average_current=average,
        high_current=find_percentile(drawn, 0.99), total_current=given.strings * string.peak,
        supply_current=given.strings * string.peak * (1 + given.margin),
        heat=string.peak * supply - string.lead_loss if string.flows else None, average_heat=average * supply,
        copper_loss=string.copper_loss if string.flows else None,
        converter_heat=given.strings * average * supply * (1 / efficiency - 1) if battery else None,
        battery_current=to_battery * average if to_battery else None,
        battery_peak_current=to_battery * string.peak if to_battery else None,
        string_length=count * given.pitch if given.pitch else None, frame_time=frame_time,
        frame_rate=1 / frame_time, send_time=timing.find_send_time(count), end_bits=(count + 1) // 2,
        largest_count=timing.find_largest_count(given.target_rate), time_of_one=timing.find_frame_time(1),
        memory=timing.find_memory(count), shifter=shifter,
        data=data,
        ground_shift=string.return_shift + given.ground_shift,
        better_shifter=next((one for one in fitting if _is_better(one, given)), None),
        enough_level=min(one.threshold for one in fitting) + THIN_MARGIN if fitting else None,
        # With more, the data's high level would no longer be reached, or the low one go too far below.
        meter=find_meter(
            given, string, given.floor,
            min(Solved.input_overdrive, string.return_shift + given.ground_shift + data.lit_margin),
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
    return judge_lead(given.lead_gauge, given.lead_conductor, busiest.current, busiest.fuse)


def _is_better(shifter: FittingShifter, given: Given) -> bool:
    return shifter.name != given.level_shifter and given.controller_level - shifter.threshold >= THIN_MARGIN
