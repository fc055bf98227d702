"""The findings of led-current: what fails, what hangs on luck, what is good to know, and what to do."""

from calculators.led_current.data_level import THIN_MARGIN
from calculators.led_current.solve import PLACES_SHOWN, Solved
from calculators.results.case import AnswerRule, FindingRule, Listed, Wording, Words

NOTICEABLE_FALL = 0.98
"""Share of full current below which a note is given; a meter at the bench shows no less a difference."""

WARM_STRING = 10.0
"""W in a string from which a note on heat is given: common practice."""

_ADVICE: Words[Solved] = {
    "left": (Wording("{string.lowest:V,4}", lambda case: case.string.flows), Wording("nothing")),
    "places": Listed("proposed", "{each.node}"),
    "more_places": (
        Wording(" …", lambda case: (case.string.feeds_needed or 0) > PLACES_SHOWN),
        Wording(""),
    ),
    "feed_it": (
        Wording(
            "The supply itself, {given.supply:V,4}, is not above the {given.floor:V,4} wanted: raise it, or "
            "ask for less.",
            lambda case: case.given.supply <= case.given.floor,
        ),
        Wording(
            "Not even {most_feeds} feeds would keep {given.floor:V,4}: use thicker or shorter leads, more "
            "contacts side by side or a strip with less resistance first.",
            lambda case: case.string.feeds_needed is None,
        ),
        Wording(
            "To keep {given.floor:V,4} everywhere, feed it at LED {places}{more_places}. Thicker leads help "
            "as well."
        ),
    ),
    "lift_it": (
        Wording("{feed_it}", lambda case: case.given.floor >= case.led.needed_voltage),
        Wording("Ask for {led.needed_voltage:V,4} or more everywhere, to see where to feed it."),
    ),
    "other_wire": (
        Wording("Use {busiest.wire.label}.", lambda case: case.busiest.wire),
        Wording("Add feeds."),
    ),
    "other_shifter": (
        Wording(
            "Use a {better_shifter.name} (high from {better_shifter.threshold:V,4}), fed from the LED "
            "supply.",
            lambda case: case.better_shifter,
        ),
        Wording(
            "Use a controller whose outputs reach {enough_level:V,4}, or a level shifter made for inputs of "
            "{given.controller_level:V,4}.",
            lambda case: case.enough_level is not None,
        ),
        Wording(
            "Use a level shifter made for a supply of {given.supply:V,4}, whose input reads "
            "{given.controller_level:V,4} as high."
        ),
    ),
    "where": (
        Wording("at the level shifter's input", lambda case: _fails_at_shifter(case)),
        Wording("at the first LED"),
    ),
    # What is sent already reaches the supply, or nearly: then only the ground is left to mend.
    "mend_level": (
        Wording(
            "Give the LEDs a thicker return lead, or put the level shifter at the string.",
            lambda case: (
                not _fails_at_shifter(case)
                and (case.shifter or case.given.controller_level >= case.given.supply)
            ),
        ),
        Wording("{other_shifter}"),
    ),
    "lower_level": (
        Wording("Feed the level shifter from the string's own start.", lambda case: case.shifter),
        Wording("Give the LEDs a thicker lead, or put a level shifter at the string, fed from its start."),
    ),
    "fewer_frames": (
        Wording(
            "Split the string over several data lines: at that rate one line serves {largest_count} LEDs.",
            lambda case: case.largest_count,
        ),
        Wording(
            "A single LED takes {time_of_one:s} already: ask for fewer frames, or use LEDs with a shorter "
            "reset or faster bits."
        ),
    ),
}


def _starves(case: Solved) -> bool:
    return case.string.lowest < case.led.needed_voltage


def _ends_below(case: Solved, current: float) -> bool:
    return case.given.converter_limit is not None and current > case.given.converter_limit


def _fails_at_shifter(case: Solved) -> bool:
    return case.data.shifter_margin == case.data.margin


ANSWERS: tuple[AnswerRule[Solved], ...] = (
    AnswerRule(
        "{feed_it}", when=lambda case: case.string.lowest < case.given.floor, words=_ADVICE,
    ),
    AnswerRule("Feed it as drawn: {string.lowest:V,4} at the weakest LED."),
)  # fmt: skip


FINDINGS: tuple[FindingRule[Solved], ...] = (
    FindingRule(
        "stop", "supply-too-high",
        "{given.supply:V,4} is more than this LED withstands ({led.highest_supply:V,4}). Lower the supply.",
        when=lambda case: not case.led.withstands(case.given.supply),
    ),
    FindingRule(
        "stop", "string-starves",
        "With everything on, LED {string.lowest_led} would be left with {left}; it needs "
        "{led.needed_voltage:V,4} to work at all. The LEDs there flicker, change colour or lose the data. "
        "{lift_it}",
        when=_starves, words=_ADVICE,
    ),
    FindingRule(
        "caution", "below-floor",
        "With everything on, LED {string.lowest_led} gets {string.lowest:V,4}, less than the "
        "{given.floor:V,4} wanted. {feed_it}",
        when=lambda case: case.string.lowest < case.given.floor and not _starves(case), words=_ADVICE,
    ),
    FindingRule(
        "note", "current-falls",
        "Below {led.full_voltage:V,4} the LEDs draw less and light less. In truth the worst LED then settles "
        "near {string.lowest_falling:V,4}, and the string draws {string.falling_current:A} instead of "
        "{string.peak:A}; plan with the larger figure.",
        when=lambda case: case.string.falling_current < NOTICEABLE_FALL * case.string.peak,
    ),
    FindingRule(
        "stop", "contact-over-rating",
        "Each contact would carry {contact.current:A}, more than its rating of {contact.rating:A}. Put "
        "{contact.wanted} contacts side by side for each feed and each direction, or add feeds.",
        when=lambda case: case.contact and case.contact.trouble == "over rating",
    ),
    FindingRule(
        "caution", "contact-near-rating",
        "Each contact would carry {contact.current:A} of its {contact.rating:A}. Contacts side by side "
        "never share evenly and warm each other: use {contact.wanted} for each feed and each direction.",
        when=lambda case: case.contact and case.contact.trouble == "near rating",
    ),
    FindingRule(
        "stop", "no-fuse",
        "No standard fuse is large enough for {busiest.current:A} in one feed. Add feeds.",
        when=lambda case: case.busiest.fuse is None,
    ),
    FindingRule(
        "stop", "wire-too-hot",
        "In air of {lead_air:degC} a pair of {given.lead_gauge.label} carries {lead.capacity:A} for hours; a "
        "feed asks {busiest.current:A} of it. Do not power it. {other_wire}",
        when=lambda case: case.lead and "heat" in case.lead.fails, words=_ADVICE,
    ),
    FindingRule(
        "stop", "wire-under-fuse",
        "The fuse for a feed is {busiest.fuse:A}, but in air of {lead_air:degC} a pair of "
        "{given.lead_gauge.label} carries only {lead.capacity:A}: on a short the wire burns before the fuse "
        "opens. {other_wire}",
        when=lambda case: case.lead and case.lead.fails == ("fuse",),
        words=_ADVICE,
    ),
    FindingRule(
        "caution", "no-wire",
        "No size from 24 to 10 AWG both suits a fuse of {busiest.fuse:A} and keeps the drop allowed in the "
        "lead. Shorten the leads or add feeds.",
        when=lambda case: case.lead and case.busiest.wire is None,
    ),
    FindingRule(
        "caution", "fuse-above-converter",
        "The converter ends at {given.converter_limit:A}, so a fuse of {busiest.fuse:A} never opens on a "
        "short. Add feeds, so that each has a smaller fuse, or use a larger converter.",
        when=lambda case: (
            case.given.converter_limit and case.busiest.fuse
            and case.busiest.fuse >= case.given.converter_limit
        ),
    ),
    FindingRule(
        "note", "uneven-feeds",
        "One feed carries {busiest.current:A}, while the feeds carry {mean_feed_current:A} on average. Even "
        "spacing shares the current better.",
        when=lambda case: case.busiest.fuse and case.busiest.current > 1.5 * case.mean_feed_current,
    ),
    FindingRule(
        "stop", "converter-over-limit",
        "All channels on take {total_current:A}, more than the converter's {given.converter_limit:A}. Use a "
        "larger converter, or one for each string; never join the outputs of two converters.",
        when=lambda case: _ends_below(case, case.total_current),
    ),
    FindingRule(
        "caution", "converter-margin",
        "With its margin the supply should be good for {supply_current:A}; the converter ends at "
        "{given.converter_limit:A}. Use a larger one.",
        when=lambda case: (
            _ends_below(case, case.supply_current) and not _ends_below(case, case.total_current)
        ),
    ),
    FindingRule(
        "note", "brightness-limit",
        "The brightness setting lowers the average only. A controller that starts up or crashes can switch "
        "every channel on, so fuses, wires and contacts are computed for {string.peak:A} in each string.",
        when=lambda case: case.given.brightness < 1,
    ),
    FindingRule(
        "note", "heat",
        "Over the pattern {average_heat:W} of heat stays in each string. Bond it to metal or leave it moving "
        "air; printed plastic can soften from about {soft_plastic:degC}.",
        when=lambda case: case.average_heat > WARM_STRING,
    ),
    FindingRule(
        "stop", "shifter-supply",
        "A {shifter.name} works from {shifter.lowest_supply:V,4} to {shifter.highest_supply:V,4}, not at "
        "{given.supply:V,4}. {other_shifter}",
        when=lambda case: case.shifter and not case.shifter.works_at(case.given.supply), words=_ADVICE,
    ),
    FindingRule(
        "stop", "data-level-low",
        "The data's high level is {data.shortfall:V,4} too low {where}. It may work on the bench and fail "
        "warm, cold or far from the controller. {mend_level}",
        when=lambda case: case.data.margin < 0, words=_ADVICE,
    ),
    FindingRule(
        "caution", "data-margin-thin",
        "The data's high level is only {data.margin:V,4} above what is needed {where}. {mend_level}",
        when=lambda case: 0 <= case.data.margin < THIN_MARGIN, words=_ADVICE,
    ),
    FindingRule(
        "caution", "ground-shift",
        "With everything on, the first LED's ground lies {ground_shift:V,4} above the controller's, so a low "
        "bit lies that far below the LED's ground; data sheets allow {input_overdrive:V,4}. Use a thicker "
        "return lead, or feed the controller at the string.",
        when=lambda case: case.ground_shift > case.input_overdrive,
    ),
    FindingRule(
        "caution", "data-above-supply",
        "With everything on, the data's high level lies {data.above_supply:V,4} above the first LED's own "
        "supply; data sheets allow {input_overdrive:V,4}. {lower_level}",
        when=lambda case: case.data.above_supply > case.input_overdrive, words=_ADVICE,
    ),
    FindingRule(
        "caution", "frame-rate-low",
        "One frame takes {frame_time:s}, so {frame_rate:Hz} is the most; {given.target_rate:Hz} is wanted. "
        "{fewer_frames}",
        when=lambda case: case.frame_time * case.given.target_rate > 1 + 1e-9, words=_ADVICE,
    ),
    FindingRule(
        "note", "sending-blocks",
        "Sending takes {send_time:s}. A controller that counts the bits out itself is deaf that long and "
        "spoils servo pulses of {servo_pulse:s} to {longest_servo_pulse:s}: send by a hardware peripheral, "
        "or give the servos a controller of their own.",
        when=lambda case: case.send_time > case.servo_pulse and not case.timing.clocked,
    ),
    FindingRule(
        "note", "shared-data",
        "{given.strings} strings on one data line show the same and need no more time or memory. Run one "
        "data wire with its own series resistor to each, and join all grounds at the supply.",
        when=lambda case: case.given.strings > 1,
    ),
)  # fmt: skip
