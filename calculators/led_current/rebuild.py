"""The same string built otherwise, so that it holds: what a finding proposes to put in, as round figures."""

import math
from dataclasses import dataclass

from calculators.led_current.feed import MOST_FEEDS
from calculators.led_current.feed_fuse import find_sure_supply
from calculators.led_current.feed_lead import find_loop_resistance
from calculators.led_current.given import Given
from calculators.led_current.ladder import Feed, find_feeds_needed, place_evenly, solve_uniform
from calculators.led_current.led import Led
from calculators.notation.gauge import Gauge, make_awg
from calculators.notation.units import Ampere, Metre, Ohm, Volt
from calculators.numbers.rounding import exceeds
from calculators.physics.ampacity import FUSE_LOADING, find_smallest_fuse
from calculators.physics.lead import find_lead_capacity

PLACES_SHOWN = 12
"""Places that a proposal names; nobody types more."""

FEED_LIMIT: Ampere = 10.0
"""Of one feed that is proposed: more melts the pads of a strip; common practice."""

CONVERTERS: tuple[Ampere, ...] = (
    1.0, 2.0, 3.0, 5.0, 8.0, 10.0, 15.0, 20.0, 25.0, 30.0, 40.0, 60.0, 80.0, 100.0, 150.0, 200.0, 300.0,
    500.0, 750.0, 1000.0,
)  # fmt: skip
"""Currents that converters are sold for: common practice."""

_THICK_AWG, _SHORT_LEAD = 12, 0.3
"""The thickest wire that goes on a strip without trouble, and m of lead from a converter beside it."""

_GOOD_SEGMENT, _STRING_LIMIT = 0.005, 10.0
"""Ω from LED to LED of an ordinary strip, and A of one string, where all is begun anew."""


def find_converter(least: Ampere) -> Ampere | None:
    """Return the smallest converter on sale that gives this current, or None."""
    return next((size for size in CONVERTERS if size >= least), None)


@dataclass(frozen=True, slots=True)
class Rebuild:
    """How the string is fed, with which fuse for each feed, through which leads, and what it is made of.

    `converter` is the one for a single such string, which opens that fuse too.
    """

    nodes: tuple[int, ...]
    gauge: Gauge
    length: Metre
    contacts: int
    segment: Ohm
    count: int
    supply: Volt
    floor: Volt
    fuse: Ampere
    converter: Ampere | None

    @property
    def feed(self) -> str:
        """The places as the form reads them."""
        return "at " + ", ".join(str(node) for node in self.nodes)

    @property
    def places(self) -> tuple[int, ...]:
        """The first of them."""
        return self.nodes[:PLACES_SHOWN]


def refeed(given: Given, led: Led, floor: Volt) -> Rebuild | None:
    """Return the string as it is, fed at as many places as keep this voltage.

    None where none do, or its wire bears no fuse for them.
    """
    return _spread(
        given, led, given.lead_gauge, given.lead_length, given.contacts, given.find_segment(), given.count,
        given.supply, floor,
    )  # fmt: skip


def thicken(given: Given, led: Led, floor: Volt) -> Rebuild | None:
    """Return it with thicker leads."""
    return _spread(
        given, led, _find_thicker(given), given.lead_length, given.contacts, given.find_segment(),
        given.count, given.supply, floor,
    )  # fmt: skip


def bring_near(given: Given, led: Led, floor: Volt) -> Rebuild | None:
    """Return it with thick leads from a converter beside it, and no joint between them."""
    return _spread(
        given, led, _find_thicker(given), min(given.lead_length, _SHORT_LEAD), 0, given.find_segment(),
        given.count, given.supply, floor,
    )  # fmt: skip


def begin_anew(given: Given, led: Led, floor: Volt) -> Rebuild | None:
    """Return it with the supply that the LEDs are sold for, an ordinary strip, no more LEDs than it bears."""
    supply = max(led.nominal_supply, led.full_voltage + 1.0)
    if not led.withstands(supply):
        supply = led.nominal_supply
    wanted = math.floor(10 * min(floor, led.wanted_voltage, 0.9 * supply)) / 10
    count = min(given.count, max(1, math.floor(_STRING_LIMIT / led.full_current)))
    return _spread(
        given, led, _find_thicker(given), min(given.lead_length, _SHORT_LEAD), 0,
        min(given.find_segment(), _GOOD_SEGMENT), count, supply, wanted,
    )  # fmt: skip


def _find_thicker(given: Given) -> Gauge:
    return max(given.lead_gauge, make_awg(_THICK_AWG), key=lambda gauge: gauge.area)


def _spread(
    given: Given,
    led: Led,
    gauge: Gauge,
    length: Metre,
    contacts: int,
    segment: Ohm,
    count: int,
    supply: Volt,
    floor: Volt,
) -> Rebuild | None:
    current = led.full_current
    resistance = (
        find_loop_resistance(gauge, length, given.lead_conductor)
        + contacts * given.contact_resistance / given.contacts_shared
    )
    lowest = max(floor, led.needed_voltage)
    needed = find_feeds_needed(supply, current, segment, count, resistance, lowest, MOST_FEEDS)
    if needed is None:
        return None
    least = min(count, MOST_FEEDS, math.ceil(count * current / FEED_LIMIT))
    nodes = place_evenly(count, max(needed, least))
    feeds = [Feed(node, resistance) for node in nodes]
    busiest = max(solve_uniform(supply, current, segment, count, feeds).feed_currents)
    fuse = find_smallest_fuse(busiest / FUSE_LOADING)
    if fuse is None or exceeds(fuse, find_lead_capacity(gauge, given.lead_conductor)):
        return None
    converter = find_converter(
        max(count * current * (1 + given.margin), find_sure_supply(fuse) or 0.0, given.converter_limit or 0.0)
    )
    return Rebuild(nodes, gauge, length, contacts, segment, count, supply, floor, fuse, converter)
