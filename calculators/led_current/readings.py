"""What a meter should show of the feeds, and of all strings dark and all on."""

from dataclasses import dataclass

from calculators.led_current.feed_lead import find_loop_resistance
from calculators.led_current.given import Given
from calculators.led_current.string import LedString
from calculators.notation.units import Ohm, Share, Volt
from calculators.physics.lead import find_lead_capacity
from calculators.physics.meter import (
    SOURCE_SPREAD,
    VOLTAGE,
    WIRE_SHARES,
    RunTest,
    Wires,
    find_current_error,
    find_lost_span,
    find_run_test,
    make_span,
    widen,
)
from calculators.results.case import Span

FULL_SHARES: tuple[Share, Share] = (0.82, 1.1)
"""Of the current that a reel is planned with, what one draws all on; common practice."""

DARK_SHARES: tuple[Share, Share] = (0.4, 1.3)
"""The same for what it draws dark, which differs more from reel to reel."""

STRIP_SPREAD: Share = 0.1
"""By which the copper of a strip may differ from what was measured on another length."""

RETURN_SHARES: tuple[Share, Share] = (0.45, 0.55)
"""Of what a pair of equal wires loses, the part that the return has."""


@dataclass(frozen=True, slots=True)
class Meter:
    """One feed with a test current, and all strings, as long as what is planned would pass."""

    lead: RunTest
    dark: Span | None
    full: Span | None
    start: Span | None
    weakest: Span | None
    lowest: Span | None
    shift: Span | None


def find_meter(given: Given, string: LedString, floor: Volt, most_shift: Volt) -> Meter:
    """Return what to read; a meter sees the currents that flow, which fall where the voltage does.

    `floor` is wanted at every LED, and a ground shift of `most_shift` is the most that the data bear.
    """
    wires, supply, count = _find_wires(given), given.supply, given.strings
    shares = _find_lead_shares(given, wires, string.feed_resistance)
    capacity = find_lead_capacity(given.lead_gauge, given.lead_conductor)
    bears = min(given.contact_rating, capacity) if given.contacts else capacity
    dark, full = count * given.count * string.led.idle_current, count * string.falling_current
    start = string.find_true_drop(string.held.feeds[0].node)
    weakest, allowed = supply - string.lowest_falling, supply - floor
    nearest = min(string.held.feeds, key=lambda feed: abs(feed.node - string.lowest_led))
    feed_part = min(string.find_true_drop(nearest.node), weakest)
    lost = _find_lost(shares, supply, feed_part, weakest - feed_part, allowed)
    limit = string.led.highest_supply or supply * (1 + SOURCE_SPREAD)
    least = max(floor, supply * (1 - SOURCE_SPREAD) - FULL_SHARES[1] * shares[1] * weakest)
    lowest = make_span(string.lowest_falling, least, min(supply * (1 + SOURCE_SPREAD), limit))
    return Meter(
        find_run_test(
            wires, given.contact_resistance, given.contacts_shared, given.contacts, bears
        ),
        widen(dark, DARK_SHARES[0] * dark, DARK_SHARES[1] * dark, find_current_error),
        widen(
            full, FULL_SHARES[0] * full, FULL_SHARES[1] * count * string.peak, find_current_error,
            given.converter_limit or 1e9,
        ),
        _find_lost(shares, supply, start, 0.0, allowed), lost, lowest,
        _find_shift(given, string, shares, most_shift),
    )  # fmt: skip


def _find_wires(given: Given) -> Wires:
    solid = find_loop_resistance(given.lead_gauge, given.lead_length, "solid")
    return Wires(solid, find_loop_resistance(given.lead_gauge, given.lead_length, given.lead_conductor))


def _find_lead_shares(given: Given, wires: Wires, planned: Ohm) -> tuple[Share, Share]:
    """Return what lead and contacts of a feed may have, over what is planned, at least and at most."""
    if planned == 0:
        return 1.0, 1.0
    joint = given.contacts * given.contact_resistance / given.contacts_shared
    # Contacts may be far better than planned.
    return WIRE_SHARES[0] * wires.solid / planned, (WIRE_SHARES[1] * wires.solid + joint) / planned


def _find_lost(
    shares: tuple[Share, Share], supply: Volt, leads: Volt, strip: Volt, allowed: Volt
) -> Span | None:
    """Return what is lost on the way, of which `leads` in leads and contacts, and no more than `allowed`."""
    low, high = (
        current * (share * leads + copper * strip)
        for current, share, copper in zip(
            FULL_SHARES, shares, (1 - STRIP_SPREAD, 1 + STRIP_SPREAD), strict=True
        )
    )
    return find_lost_span(supply, leads + strip, low, high, allowed)


def _find_shift(given: Given, string: LedString, shares: tuple[Share, Share], most: Volt) -> Span | None:
    """Return the lift of the first LED's ground; other loads may be off, so that only its own is sure."""
    half = string.find_true_drop(1) / 2
    low, high = (
        current * share * 2 * part * half
        for current, share, part in zip(FULL_SHARES, shares, RETURN_SHARES, strict=True)
    )
    shift = half + given.ground_shift
    return widen(shift, low, high + given.ground_shift, VOLTAGE.find_error, most)
