"""The findings of led-current: what fails, what hangs on luck, what is good to know, and what to do."""

import math
from collections.abc import Iterable

from calculators.notation.feed import MOST_FEEDS
from calculators.physics.data_level import DataLevel, Shifter
from calculators.physics.feed_lead import find_tabled_capacity
from calculators.physics.ladder import place_evenly
from calculators.physics.led_string import LedString
from calculators.vocabulary.gauge import Gauge
from calculators.vocabulary.result import Finding, Level
from calculators.vocabulary.showing import Figure, Phrase, say

INPUT_OVERDRIVE = 0.5
"""V that a data input may lie above its own supply or below its ground: makers' data sheets of 5 V LEDs."""

THIN_MARGIN = 0.2
"""V of data margin below which the build hangs on good luck: common practice."""

NEAR_RATING = 0.75
"""Share of a contact's rating from which a caution is given: common practice for contacts side by side."""

SERVO_PULSE = 1e-3
"""Shortest pulse in s to a hobby servo, which a controller cannot time while it sends bits: trade fact."""

NOTICEABLE_FALL = 0.98
"""Share of full current below which a note is given; a meter at the bench shows no less a difference."""

WARM_STRING = 10.0
"""W in a string from which a note on heat is given: common practice."""

LEVELS: tuple[Level, ...] = ("stop", "caution", "note")

PLACES_SHOWN = 12
"""Places that a proposal names; nobody types more."""


def judge_voltage(string: LedString, floor: float) -> Iterable[Finding]:
    """Yield what is to be said about the voltage along the string; `floor` (V) is wanted everywhere."""
    led, supply = string.led, string.held.supply
    if led.highest_supply is not None and supply > led.highest_supply:
        yield _find(
            "stop",
            "supply-too-high",
            "{supply} is more than this LED withstands ({limit}). Lower the supply.",
            supply=_volts(supply),
            limit=_volts(led.highest_supply),
        )
    least = led.lowest_supply if led.lowest_supply is not None else led.dark_voltage
    if string.lowest < least:
        yield _find(
            "stop",
            "string-starves",
            "With everything on, LED {place} would be left with {lowest}; it needs {least} to work at all. "
            "The LEDs there flicker, change colour or lose the data. {cure}",
            place=string.lowest_led,
            lowest=_volts(string.lowest),
            least=_volts(least),
            cure=_propose_feeds(string, floor),
        )
    elif string.lowest < floor:
        yield _find(
            "caution",
            "below-floor",
            "With everything on, LED {place} gets {lowest}, less than the {floor} wanted. {cure}",
            place=string.lowest_led,
            lowest=_volts(string.lowest),
            floor=_volts(floor),
            cure=_propose_feeds(string, floor),
        )
    if string.falling is not None and string.falling_current < NOTICEABLE_FALL * string.peak:
        yield _find(
            "note",
            "current-falls",
            "Below {full} the LEDs draw less and light less. In truth the worst LED then settles near "
            "{settled}, and the string draws {current} instead of {peak}; plan with the larger figure.",
            full=_volts(led.full_voltage),
            settled=_volts(string.lowest_falling),
            current=_amps(string.falling_current),
            peak=_amps(string.peak),
        )


def judge_feeds(
    string: LedString, gauge: Gauge, contacts: int, contacts_shared: int, contact_rating: float
) -> Iterable[Finding]:
    """Yield what is to be said about contacts, fuse and wire of each feed; `contact_rating` in A."""
    current, fuse = string.feed_current, string.fuse
    through = current / contacts_shared
    wanted = math.ceil(current / (NEAR_RATING * contact_rating) - 1e-9)
    if contacts and through > contact_rating:
        yield _find(
            "stop",
            "contact-over-rating",
            "Each contact would carry {through}, more than its rating of {rating}. Put {wanted} contacts "
            "side by side for each feed and each direction, or add feeds.",
            through=_amps(through),
            rating=_amps(contact_rating),
            wanted=wanted,
        )
    elif contacts and through > NEAR_RATING * contact_rating * (1 + 1e-9):
        yield _find(
            "caution",
            "contact-near-rating",
            "Each contact would carry {through} of its {rating}. Contacts side by side never share evenly "
            "and warm each other: use {wanted} for each feed and each direction.",
            through=_amps(through),
            rating=_amps(contact_rating),
            wanted=wanted,
        )
    if fuse is None:
        yield _find(
            "stop",
            "no-fuse",
            "No standard fuse is large enough for {current} in one feed. Add feeds.",
            current=_amps(current),
        )
        return
    capacity = find_tabled_capacity(gauge)
    if capacity < fuse:
        yield _find(
            "caution",
            "wire-under-fuse",
            "The fuse for a feed is {fuse}, but a wire of {gauge} in a bundle is only good for {capacity}: "
            "on a short it could burn before the fuse opens. {cure}",
            fuse=_amps(fuse),
            gauge=gauge.label,
            capacity=_amps(capacity) if capacity else "less than any size in the table",
            cure=say("Use {wire}.", wire=string.wire.label) if string.wire else "Add feeds.",
        )
    if string.wire is None:
        yield _find(
            "caution",
            "no-wire",
            "No size from 24 to 10 AWG both suits a fuse of {fuse} and keeps the drop allowed in the lead. "
            "Shorten the leads or add feeds.",
            fuse=_amps(fuse),
        )
    mean = string.peak / len(string.held.feeds)
    if current > 1.5 * mean:
        yield _find(
            "note",
            "uneven-feeds",
            "One feed carries {current}, while the feeds carry {mean} on average. Even spacing shares the "
            "current better.",
            current=_amps(current),
            mean=_amps(mean),
        )


def judge_supply(
    string: LedString,
    strings: int,
    planned: float,
    converter_limit: float | None,
    brightness: float,
    average_heat: float,
) -> Iterable[Finding]:
    """Yield what is to be said about the supply: `planned`, `converter_limit` in A, `average_heat` in W."""
    total = strings * string.peak
    if converter_limit is not None and total > converter_limit:
        yield _find(
            "stop",
            "converter-over-limit",
            "All channels on take {total}, more than the converter's {limit}. Use a larger converter, or "
            "one for each string; never join the outputs of two converters.",
            total=_amps(total),
            limit=_amps(converter_limit),
        )
    elif converter_limit is not None and planned > converter_limit:
        yield _find(
            "caution",
            "converter-margin",
            "With its margin the supply should be good for {planned}; the converter ends at {limit}. Use a "
            "larger one.",
            planned=_amps(planned),
            limit=_amps(converter_limit),
        )
    if brightness < 1:
        yield _find(
            "note",
            "brightness-limit",
            "The brightness setting lowers the average only. A controller that starts up or crashes can "
            "switch every channel on, so fuses, wires and contacts are computed for {peak} in each string.",
            peak=_amps(string.peak),
        )
    if average_heat > WARM_STRING:
        yield _find(
            "note",
            "heat",
            "Over the pattern {heat} of heat stays in each string. Bond it to metal or leave it moving air; "
            "printed plastic can soften from about {soft}.",
            heat=Figure(average_heat, "power"),
            soft=Figure(55.0, "temperature"),
        )


def judge_data(
    string: LedString,
    data: DataLevel,
    shifter: Shifter | None,
    ground_shift: float,
    target_rate: float,
    strings: int,
) -> Iterable[Finding]:
    """Yield what is to be said about the data: `ground_shift` from other loads in V, `target_rate` in Hz."""
    supply, timing = string.held.supply, string.led.timing
    if shifter is not None and not shifter.lowest_supply <= supply <= shifter.highest_supply:
        yield _find(
            "stop",
            "shifter-supply",
            "A {kind} works from {low} to {high}, not at {supply}. Give it a supply of its own.",
            kind=shifter.name,
            low=_volts(shifter.lowest_supply),
            high=_volts(shifter.highest_supply),
            supply=_volts(supply),
        )
    if data.margin < 0:
        at_shifter = data.shifter_margin == data.margin
        yield _find(
            "stop",
            "data-level-low",
            "The data's high level is {short} too low {where}. It may work on the bench and fail warm, cold "
            "or far from the controller. {cure}",
            short=_volts(-data.margin),
            where="for the level shifter's input" if at_shifter else "for the first LED",
            cure="Use a level shifter with TTL-compatible input (high from 2.0 V), fed from the LED supply."
            if at_shifter or shifter is None
            else "Give the LEDs a thicker return lead, or move the level shifter to the string.",
        )
    elif data.margin < THIN_MARGIN:
        yield _find(
            "caution",
            "data-margin-thin",
            "The data's high level is only {margin} above what is needed. Shorten the return lead or use a "
            "level shifter with TTL-compatible input.",
            margin=_volts(data.margin),
        )
    shift = string.return_shift + ground_shift
    if shift > INPUT_OVERDRIVE:
        yield _find(
            "caution",
            "ground-shift",
            "With everything on, the first LED's ground lies {shift} above the controller's, so a low bit "
            "lies that far below the LED's ground; data sheets allow {limit}. Use a thicker return lead, or "
            "feed the controller at the string.",
            shift=_volts(shift),
            limit=_volts(INPUT_OVERDRIVE),
        )
    if data.above_supply > INPUT_OVERDRIVE:
        yield _find(
            "caution",
            "data-above-supply",
            "With everything on, the data's high level lies {over} above the first LED's own supply; data "
            "sheets allow {limit}. Feed the level shifter from the string's own start.",
            over=_volts(data.above_supply),
            limit=_volts(INPUT_OVERDRIVE),
        )
    frame_time = timing.find_frame_time(string.count)
    if frame_time * target_rate > 1 + 1e-9:
        yield _find(
            "caution",
            "frame-rate-low",
            "One frame takes {time}, so {rate} is the most; {wanted} is wanted. Split the string over "
            "several data lines: at that rate one line serves {largest} LEDs.",
            time=Figure(frame_time, "time"),
            rate=Figure(1 / frame_time, "frequency"),
            wanted=Figure(target_rate, "frequency"),
            largest=timing.find_largest_count(target_rate),
        )
    send = timing.find_send_time(string.count)
    if send > SERVO_PULSE and not timing.clocked:
        yield _find(
            "note",
            "sending-blocks",
            "Sending takes {send}. A controller that counts the bits out itself is deaf that long and "
            "spoils servo pulses of {short} to {long}: send by a hardware peripheral, or give the servos a "
            "controller of their own.",
            send=Figure(send, "time"),
            short=Figure(SERVO_PULSE, "time"),
            long=Figure(2 * SERVO_PULSE, "time"),
        )
    if strings > 1:
        yield _find(
            "note",
            "shared-data",
            "{strings} strings on one data line show the same and need no more time or memory. Run one data "
            "wire with its own series resistor to each, and join all grounds at the supply.",
            strings=strings,
        )


def put_worst_first(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Return the findings with stops before cautions before notes, otherwise in their order."""
    return tuple(sorted(findings, key=lambda finding: LEVELS.index(finding.level)))


def _propose_feeds(string: LedString, floor: float) -> Phrase:
    needed = string.feeds_needed
    if needed is None:
        return say(
            "Not even {most} feeds would keep {floor}: use thicker or shorter leads, more contacts side by "
            "side or a strip with less resistance first.",
            most=MOST_FEEDS,
            floor=_volts(floor),
        )
    places = ", ".join(str(node) for node in place_evenly(string.count, needed)[:PLACES_SHOWN])
    return say(
        "To keep {floor} everywhere, feed it at {places}. Thicker leads help as well.",
        floor=_volts(floor),
        places=f"LED {places}" + (" …" if needed > PLACES_SHOWN else ""),
    )


def _find(level: Level, code: str, template: str, **parts: Figure | Phrase | str | int) -> Finding:
    return Finding(level, code, say(template, **parts))


def _volts(value: float) -> Figure:
    return Figure(value, "voltage", 4)


def _amps(value: float) -> Figure:
    return Figure(value, "current")
