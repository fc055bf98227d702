"""The findings of led-current: what fails, what hangs on luck, what is good to know, and what to do."""

import math
from collections.abc import Iterable

from calculators.led_current.data_level import DataLevel, Shifter
from calculators.led_current.feed import MOST_FEEDS
from calculators.led_current.feed_lead import find_tabled_capacity
from calculators.led_current.ladder import place_evenly
from calculators.led_current.string import Lead, LedString
from calculators.led_current.timing import PixelTiming
from calculators.notation.showing import Figure, Phrase, say
from calculators.physics.wire_run import LEAD_AIR, find_lead_capacity
from calculators.results.result import Finding, Level

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


def find_voltage_findings(string: LedString, floor: float) -> Iterable[Finding]:
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
            lowest=_volts(string.lowest) if string.flows else "nothing",
            least=_volts(least),
            cure=_propose_feeds(string, floor)
            if floor >= least
            else say("Ask for {least} or more everywhere, to see where to feed it.", least=_volts(least)),
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


def find_feed_findings(
    string: LedString,
    lead: Lead,
    contacts: int,
    contacts_shared: int,
    contact_rating: float,
    converter_limit: float | None,
) -> Iterable[Finding]:
    """Yield what is to be said about contacts, fuse and wire of each feed; rating and limit in A."""
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
    if lead.length > 0:
        yield from _judge_wire(string, lead, fuse)
    if converter_limit is not None and fuse >= converter_limit:
        yield _find(
            "caution",
            "fuse-above-converter",
            "The converter ends at {limit}, so a fuse of {fuse} never opens on a short. Add feeds, so that "
            "each has a smaller fuse, or use a larger converter.",
            limit=_amps(converter_limit),
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


def _judge_wire(string: LedString, lead: Lead, fuse: float) -> Iterable[Finding]:
    capacity, tabled = find_lead_capacity(lead.gauge, lead.kind), find_tabled_capacity(lead.gauge)
    shown: dict[str, Figure | Phrase | str] = {
        "gauge": lead.gauge.label,
        "capacity": _amps(capacity),
        "air": Figure(LEAD_AIR, "temperature"),
        "current": _amps(string.feed_current),
        "fuse": _amps(fuse),
        "cure": say("Use {wire}.", wire=string.wire.label) if string.wire else "Add feeds.",
    }
    if capacity < string.feed_current:
        yield _find(
            "stop",
            "wire-too-hot",
            "In air of {air} a pair of {gauge} carries {capacity} for hours; a feed asks {current} of it. Do "
            "not power it. {cure}",
            **shown,
        )
    elif capacity < fuse:
        yield _find(
            "stop",
            "wire-under-fuse",
            "The fuse for a feed is {fuse}, but in air of {air} a pair of {gauge} carries only {capacity}: "
            "on a short the wire burns before the fuse opens. {cure}",
            **shown,
        )
    elif tabled < fuse:
        bundled = say("is only good for {tabled}", tabled=_amps(tabled)) if tabled else "is too thin"
        yield _find(
            "caution",
            "wire-thin-in-bundle",
            "The fuse for a feed is {fuse}; a pair of {gauge} bears that by itself, but in a bundle with "
            "others, in the heat, it {bundled}. {cure} Or lead the pair apart from other wires, and see what "
            "wire-gauge says of it.",
            bundled=bundled,
            **shown,
        )
    if string.wire is None:
        yield _find(
            "caution",
            "no-wire",
            "No size from 24 to 10 AWG both suits a fuse of {fuse} and keeps the drop allowed in the lead. "
            "Shorten the leads or add feeds.",
            fuse=_amps(fuse),
        )


def find_supply_findings(
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


def find_data_findings(
    string: LedString,
    data: DataLevel,
    shifter: Shifter | None,
    shifters: Iterable[Shifter],
    controller_level: float,
    ground_shift: float,
    target_rate: float,
    strings: int,
) -> Iterable[Finding]:
    """Yield what is to be said about the data.

    `shifters` are the families to choose from; `controller_level` and `ground_shift` from other loads in V,
    `target_rate` in Hz.
    """
    supply, timing = string.held.supply, string.led.timing
    at_shifter = data.shifter_margin == data.margin
    if shifter is not None and not shifter.works_at(supply):
        yield _find(
            "stop",
            "shifter-supply",
            "A {kind} works from {low} to {high}, not at {supply}. {cure}",
            kind=shifter.name,
            low=_volts(shifter.lowest_supply),
            high=_volts(shifter.highest_supply),
            supply=_volts(supply),
            cure=_propose_shifter(shifter, shifters, supply, controller_level),
        )
    if data.margin < THIN_MARGIN:
        # What is sent already reaches the supply, or nearly: then only the ground is left to mend.
        sent = shifter is not None or controller_level >= supply
        cure = (
            "Give the LEDs a thicker return lead, or put the level shifter at the string."
            if sent and not at_shifter
            else _propose_shifter(shifter, shifters, supply, controller_level)
        )
        where = "at the level shifter's input" if at_shifter else "at the first LED"
        if data.margin < 0:
            yield _find(
                "stop",
                "data-level-low",
                "The data's high level is {short} too low {where}. It may work on the bench and fail warm, "
                "cold or far from the controller. {cure}",
                short=_volts(-data.margin),
                where=where,
                cure=cure,
            )
        else:
            yield _find(
                "caution",
                "data-margin-thin",
                "The data's high level is only {margin} above what is needed {where}. {cure}",
                margin=_volts(data.margin),
                where=where,
                cure=cure,
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
            "sheets allow {limit}. {cure}",
            over=_volts(data.above_supply),
            limit=_volts(INPUT_OVERDRIVE),
            cure="Feed the level shifter from the string's own start."
            if shifter is not None
            else "Give the LEDs a thicker lead, or put a level shifter at the string, fed from its start.",
        )
    frame_time = timing.find_frame_time(string.count)
    if frame_time * target_rate > 1 + 1e-9:
        yield _find(
            "caution",
            "frame-rate-low",
            "One frame takes {time}, so {rate} is the most; {wanted} is wanted. {cure}",
            time=Figure(frame_time, "time"),
            rate=Figure(1 / frame_time, "frequency"),
            wanted=Figure(target_rate, "frequency"),
            cure=_propose_rate(timing, target_rate),
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
    supply, needed = string.held.supply, string.feeds_needed
    if supply <= floor:
        return say(
            "The supply itself, {supply}, is not above the {floor} wanted: raise it, or ask for less.",
            supply=_volts(supply),
            floor=_volts(floor),
        )
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


def _propose_shifter(
    shifter: Shifter | None, shifters: Iterable[Shifter], supply: float, controller_level: float
) -> Phrase:
    working = [one for one in shifters if one.works_at(supply)]
    for one in working:
        if one != shifter and controller_level - one.find_threshold(supply) >= THIN_MARGIN:
            return say(
                "Use a {kind} (high from {threshold}), fed from the LED supply.",
                kind=one.name,
                threshold=_volts(one.find_threshold(supply)),
            )
    if working:
        return say(
            "Use a controller whose outputs reach {least}, or a level shifter made for inputs of {level}.",
            least=_volts(min(one.find_threshold(supply) for one in working) + THIN_MARGIN),
            level=_volts(controller_level),
        )
    return say(
        "Use a level shifter made for a supply of {supply}, whose input reads {level} as high.",
        supply=_volts(supply),
        level=_volts(controller_level),
    )


def _propose_rate(timing: PixelTiming, target_rate: float) -> Phrase:
    largest = timing.find_largest_count(target_rate)
    if largest:
        return say(
            "Split the string over several data lines: at that rate one line serves {largest} LEDs.",
            largest=largest,
        )
    return say(
        "A single LED takes {time} already: ask for fewer frames, or use LEDs with a shorter reset or faster "
        "bits.",
        time=Figure(timing.find_frame_time(1), "time"),
    )


def _find(level: Level, code: str, template: str, **parts: Figure | Phrase | str | int) -> Finding:
    return Finding(level, code, say(template, **parts))


def _volts(value: float) -> Figure:
    return Figure(value, "voltage", 4)


def _amps(value: float) -> Figure:
    return Figure(value, "current")
