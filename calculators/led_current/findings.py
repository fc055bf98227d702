"""The findings of led-current: what fails, what hangs on luck, what is good to know, and what to do."""

from collections.abc import Callable

from calculators.led_current.data_level import THIN_MARGIN
from calculators.led_current.feed_fuse import opens_in_time
from calculators.led_current.lost_feed import LostFeed
from calculators.led_current.rebuild import PLACES_SHOWN, Rebuild
from calculators.led_current.solve import Solved
from calculators.numbers.rounding import exceeds
from calculators.results.case import AnswerRule, FindingRule, Listed, Remedy, Wording, Words

NOTICEABLE_FALL = 0.98
"""Share of full current below which a note is given; a meter at the bench shows no less a difference."""

WARM_STRING = 10.0
"""W in a string from which a note on heat is given: common practice."""


def _is_refed_best(case: Solved) -> bool:
    """Many feeds are proposed only where other leads would not halve their number."""
    if case.refed is None:
        return False
    feeds = len(case.refed.nodes)
    others = (len(one.nodes) for one in (case.thickened, case.brought_near) if one)
    return feeds <= PLACES_SHOWN or feeds < 2 * min(others, default=feeds)


def _name_place(path: str, find_node: Callable[[LostFeed], int]) -> tuple[Wording[Solved], ...]:
    return (
        Wording("the start", lambda case: case.lost and find_node(case.lost) == 0),
        Wording("the end", lambda case: case.lost and find_node(case.lost) > case.given.count),
        Wording("LED {" + path + "}"),
    )


def _each_of(find: Callable[[Solved], Rebuild | None]) -> tuple[Wording[Solved], ...]:
    return (Wording(" each", lambda case: (found := find(case)) and len(found.nodes) > 1), Wording(""))


_ADVICE: Words[Solved] = {
    "left": (Wording("{string.lowest:V,4}", lambda case: case.string.flows), Wording("nothing")),
    "colour": (
        Wording(
            "green and blue still have their full current, with little in reserve", lambda case: _glows(case)
        ),
        Wording(
            "green and blue have {colour_share:%,2} of their current, so white turns yellow",
            lambda case: case.colour_share > 0,
        ),
        Wording("green and blue are out, so white turns red"),
    ),
    "places": Listed("refed.places", "{each}", last=" and "),
    "thick_places": Listed("thickened.places", "{each}", last=" and "),
    "near_places": Listed("brought_near.places", "{each}", last=" and "),
    "more_places": (
        Wording(" …", lambda case: case.refed and len(case.refed.nodes) > PLACES_SHOWN),
        Wording(""),
    ),
    "feed_it": (
        Wording(
            "Raise the supply of {given.supply:V,4} to {led.nominal_supply:V,4}",
            lambda case: case.given.supply <= case.wanted < case.led.nominal_supply,
        ),
        Wording(
            "Ask for less than {wanted:V,4}, for the supply itself is {given.supply:V,4}, or raise that",
            lambda case: case.given.supply <= case.wanted,
        ),
        Wording("Feed it at LED {places}{more_places}, fuse {refed.fuse:A}{refed_each}", _is_refed_best),
        Wording(
            "Feed it at LED {thick_places} through {thickened.gauge.label}, fuse {thickened.fuse:A}"
            "{thick_each}",
            lambda case: case.thickened and len(case.thickened.nodes) <= PLACES_SHOWN,
        ),
        Wording(
            "Feed it at LED {near_places} from a converter beside it, through {brought_near.length:m} of "
            "{brought_near.gauge.label}, fuse {brought_near.fuse:A}{near_each}",
            lambda case: case.brought_near and len(case.brought_near.nodes) <= PLACES_SHOWN,
        ),
        Wording(
            "Feed it at LED {places}{more_places}, fuse {refed.fuse:A}{refed_each}", lambda case: case.refed
        ),
        Wording("Shorten the string, or take a strip with less resistance and a converter beside it"),
    ),
    "other_wire": (
        Wording("Use {busiest.wire.label} for each feed", lambda case: case.busiest.wire),
        Wording("Shorten the leads or add feeds"),
    ),
    "other_converter": (
        Wording("Use a converter of {enough_converter:A}", lambda case: case.enough_converter is not None),
        Wording("Use a converter for each string"),
    ),
    "other_shifter": (
        Wording(
            "Use a {better_shifter.name}, which reads high from {better_shifter.threshold:V,4}",
            lambda case: case.better_shifter,
        ),
        Wording(
            "Use a controller whose outputs reach {enough_level:V,4}, or a level shifter made for inputs of "
            "{given.controller_level:V,4}",
            lambda case: case.enough_level is not None,
        ),
        Wording(
            "Use a level shifter made for a supply of {logic_supply:V,4}, whose input reads "
            "{given.controller_level:V,4} as high"
        ),
    ),
    "where": (
        Wording("at the level shifter's input", lambda case: _fails_at_shifter(case)),
        Wording("at the first LED"),
    ),
    # What is sent already reaches the supply, or nearly: then only the ground is left to mend.
    "mend_level": (
        Wording(
            "Put the level shifter at the controller",
            lambda case: (
                _fails_at_shifter(case)
                and _sits_at_string(case)
                and case.data.shifter
                and case.given.controller_level - case.data.shifter.high_needed >= THIN_MARGIN
            ),
        ),
        Wording(
            "Put the level shifter at the string, or give the LEDs a thicker return lead",
            lambda case: (
                not _fails_at_shifter(case)
                and (case.shifter or case.given.controller_level >= case.logic_supply)
            ),
        ),
        Wording("{other_shifter}"),
    ),
    "low_where": (
        Wording(
            "at the level shifter's input",
            lambda case: case.data.shifter and case.data.shifter.low_margin == case.data.low_margin,
        ),
        Wording("at the first LED"),
    ),
    "lower_level": (
        Wording(
            "Put the level shifter at the string, fed from its start", lambda case: not _sits_at_string(case)
        ),
        Wording("Give the LEDs a thicker lead"),
    ),
    "fewer_frames": (
        Wording(
            "Ask for fewer frames, or split the string over several data lines: at that rate one serves "
            "{largest_count} LEDs",
            lambda case: case.largest_count,
        ),
        Wording(
            "Ask for fewer frames, or use LEDs with a shorter reset or faster bits: a single one takes "
            "{time_of_one:s}"
        ),
    ),
    "drawn": (
        Wording("at one end", lambda case: case.given.feed.kind == "one end"),
        Wording("at both ends", lambda case: case.given.feed.kind == "both ends"),
        Wording("in the middle", lambda case: case.given.feed.kind == "middle"),
        Wording(
            "at {feed_count} places, from {first_feed.place} to {last_feed.place}",
            lambda case: len(case.feeds) > PLACES_SHOWN,
        ),
        Wording("at the start and at LED {later_places}", lambda case: case.first_feed.node == 0),
        Wording("at LED {drawn_places}"),
    ),
    "drawn_places": Listed("feeds", "{each.node}", last=" and "),
    "later_places": Listed("later_feeds", "{each.node}", last=" and "),
    "refed_each": _each_of(lambda case: case.refed),
    "thick_each": _each_of(lambda case: case.thickened),
    "near_each": _each_of(lambda case: case.brought_near),
    "apiece": (Wording(" each", lambda case: len(case.feeds) > 1), Wording("")),
    "bears": (
        Wording("", lambda case: not case.lost or case.lost.opening is None),
        Wording(
            ", which its fuse bears",
            lambda case: case.lost and case.lost.opening and case.lost.opening.load <= 1,
        ),
        Wording(
            ", {lost.opening.load:%} of its fuse, which need never open",
            lambda case: case.lost and case.lost.opening and case.lost.opening.latest is None,
        ),
        Wording(", {lost.opening.load:%} of its fuse, which may take {lost.opening.latest:s} to open"),
    ),
    "why_near": (
        Wording(
            "the better one of them would carry {contact.worst:A} of its {contact.rating:A}, for they never "
            "share evenly",
            lambda case: case.contact and case.contact.cause == "unequal",
        ),
        Wording(
            "with one open, the others would carry {contact.others:A} each of their {contact.rating:A}",
            lambda case: case.contact and case.contact.cause == "one open",
        ),
        Wording("it alone would carry {contact.current:A} of its {contact.rating:A}"),
    ),
    "when_opens": (
        Wording("need never open", lambda case: case.opening and case.opening.latest is None),
        Wording("may take {opening.latest:s} to open"),
    ),
    "lost_left": (
        Wording("{lost.lowest:V}", lambda case: case.lost and case.lost.flows),
        Wording("nothing"),
    ),
    "lost_at": _name_place("lost.lost", lambda lost: lost.lost),
    "bearer_at": _name_place("lost.bearer", lambda lost: lost.bearer),
    "missed_at": _name_place("lost.missed", lambda lost: lost.missed),
}


def _starves(case: Solved) -> bool:
    return case.string.lowest < case.led.needed_voltage


def _is_below(case: Solved) -> bool:
    return case.string.lowest < case.floor and not _starves(case)


def _glows(case: Solved) -> bool:
    return case.colour_share >= NOTICEABLE_FALL


def _ends_below(case: Solved, current: float) -> bool:
    return case.given.converter_limit is not None and current > case.given.converter_limit


def _fails_at_shifter(case: Solved) -> bool:
    return case.data.shifter is not None and case.data.shifter.margin == case.data.margin


def _sits_at_string(case: Solved) -> bool:
    return case.shifter is not None and case.given.shifter_place == "at the string"


def _is_too_high(case: Solved) -> bool:
    return not case.led.withstands(case.given.supply)


def _is_contact(case: Solved, trouble: str) -> bool:
    return case.contact is not None and case.contact.trouble == trouble


def _overloads_when_lost(case: Solved) -> bool:
    return (
        case.lost_contact is not None
        and exceeds(case.lost_contact.worst, case.given.contact_rating)
        and not _is_contact(case, "over rating")
    )


def _fails_lead(case: Solved, *limits: str) -> bool:
    return case.lead is not None and any(limit in case.lead.fails for limit in limits)


def _is_misfed(case: Solved) -> bool:
    return case.shifter is not None and not case.shifter.works_at(case.logic_supply)


def _needs_converter(case: Solved) -> bool:
    return _ends_below(case, case.supply_current) and not _ends_below(case, case.total_current)


def _burns_behind_fuse(case: Solved) -> bool:
    """On a short, a wire that bears all that the supply gives needs no fuse that opens."""
    return (
        case.opening is not None
        and not opens_in_time(case.opening)
        and case.lead is not None
        and exceeds(case.fault or 0.0, case.lead.capacity)
    )


def _is_slow(case: Solved) -> bool:
    return case.frame_time * case.given.target_rate > 1 + 1e-9


# The best first: what is only soldered, what is bought, what is built anew.
_NEAR = {
    "feed": "{brought_near.feed}", "lead_gauge": "{brought_near.gauge.label}",
    "lead_length": "{brought_near.length:m}", "contacts": "{brought_near.contacts}",
}  # fmt: skip
_ANEW = {
    "feed": "{begun_anew.feed}", "lead_gauge": "{begun_anew.gauge.label}",
    "lead_length": "{begun_anew.length:m}", "contacts": "{begun_anew.contacts}",
    "segment_resistance": "{begun_anew.segment:ohm}", "strip_resistance": "",
    "count": "{begun_anew.count}", "supply": "{begun_anew.supply:V}", "floor": "{begun_anew.floor:V}",
}  # fmt: skip
_ANEW_SUPPLY = {"strings": "1", "converter_limit": "{begun_anew.converter:A}", "lead_drop": "3 %"}
_ANEW_LEVELS = {
    "level_shifter": "TTL-input buffer", "shifter_place": "at the string", "controller_level": "3.3 V",
    "controller_low": "0.4 V", "ground_shift": "0 V", "logic_supply": "", "high_threshold": "",
}  # fmt: skip
_REBUILT: tuple[Remedy[Solved], ...] = (
    Remedy({"supply": "{led.nominal_supply:V}"}, when=lambda case: case.given.supply <= case.wanted),
    Remedy({"feed": "{refed.feed}"}, when=_is_refed_best),
    Remedy(
        {"feed": "{thickened.feed}", "lead_gauge": "{thickened.gauge.label}"},
        when=lambda case: not _is_refed_best(case) or _fails_lead(case, "heat", "fuse", "drop"),
    ),
    Remedy(_NEAR, when=lambda case: not _is_refed_best(case)),
    Remedy({"feed": "{refed.feed}"}, when=lambda case: not _is_refed_best(case)),
    Remedy(_ANEW),
    Remedy({**_ANEW, **_ANEW_SUPPLY}),
)  # fmt: skip
_OTHER_WIRE: tuple[Remedy[Solved], ...] = (
    Remedy({"lead_gauge": "{busiest.wire.label}"}),
    *_REBUILT[1:],
)
_OTHER_CONTACTS: tuple[Remedy[Solved], ...] = (
    Remedy({"contacts_shared": "{contact.wanted}"}),
    Remedy({"contact_rating": "{enough_rating:A}"}),
    *_REBUILT[1:],
)
_LOST_CONTACTS: tuple[Remedy[Solved], ...] = (
    Remedy({"contacts_shared": "{lost_contact.wanted}"}),
    *_OTHER_CONTACTS[1:],
)
_OTHER_CONVERTER: tuple[Remedy[Solved], ...] = (
    Remedy({"converter_limit": "{enough_converter:A}"}),
    Remedy({"converter_limit": "{enough_converter:A}", "strings": "1"}),
    *_REBUILT[-2:],
)
_OTHER_LEVELS: tuple[Remedy[Solved], ...] = (
    Remedy({"level_shifter": "{better_shifter.name}"}),
    Remedy({"shifter_place": "at the string"}, when=lambda case: not _sits_at_string(case)),
    Remedy({"shifter_place": "at the controller"}, when=_sits_at_string),
    Remedy({"level_shifter": "{better_shifter.name}", "shifter_place": "at the string"}),
    Remedy({"level_shifter": "none"}, when=lambda case: case.shifter),
    Remedy({"supply": "{led.nominal_supply:V}"}),
    Remedy({"ground_shift": "0 V"}, when=lambda case: case.given.ground_shift),
)


_ALL_LEVELS: tuple[Remedy[Solved], ...] = (
    *_OTHER_LEVELS, *_REBUILT[1:-1], Remedy({**_ANEW_LEVELS, "supply": "{led.nominal_supply:V}"}),
    Remedy({**_ANEW, **_ANEW_LEVELS, **_ANEW_SUPPLY}),
)  # fmt: skip


ANSWERS: tuple[AnswerRule[Solved], ...] = (
    AnswerRule(
        "Lower the supply to {led.nominal_supply:V,4}: {given.supply:V,4} destroys these LEDs.",
        when=_is_too_high,
    ),
    AnswerRule(
        "{feed_it}: as drawn, LED {string.lowest_led} is left with {left} of the {led.needed_voltage:V,4} it "
        "needs.",
        when=_starves, words=_ADVICE,
    ),
    AnswerRule(
        "Put {contact.wanted} contacts side by side for each feed and direction: each would carry "
        "{contact.current:A} of its {contact.rating:A}.",
        when=lambda case: _is_contact(case, "over rating"),
    ),
    AnswerRule(
        "Do not build it with so few feeds: no standard fuse is large enough for {busiest.current:A}.",
        when=lambda case: case.busiest.fuse is None,
    ),
    AnswerRule(
        "{other_wire}: {given.lead_gauge.label} carries {lead.capacity:A}, the feed's fuse is "
        "{busiest.fuse:A}.",
        when=lambda case: _fails_lead(case, "heat", "fuse"), words=_ADVICE,
    ),
    AnswerRule(
        "{other_converter}: all channels on take {total_current:A} of its {given.converter_limit:A}.",
        when=lambda case: _ends_below(case, case.total_current), words=_ADVICE,
    ),
    AnswerRule(
        "{other_shifter}: this one does not run on {logic_supply:V,4}.", when=_is_misfed, words=_ADVICE,
    ),
    AnswerRule(
        "{mend_level}: the data's high level is {data.shortfall:V} too low {where}.",
        when=lambda case: case.data.margin < 0, words=_ADVICE,
    ),
    AnswerRule(
        "Mend the ground before the data: its low level is {data.low_excess:V} too high {low_where}.",
        when=lambda case: case.data.low_margin < 0, words=_ADVICE,
    ),
    AnswerRule(
        "{feed_it}: as drawn, LED {string.lowest_led} gets {string.lowest:V,4} of the {floor:V,4} wanted.",
        when=_is_below, words=_ADVICE,
    ),
    AnswerRule(
        "Feed it {drawn}, fuse {busiest.fuse:A}{apiece}, with {contact.wanted} contacts side by side in each "
        "direction.",
        when=lambda case: _is_contact(case, "near rating"), words=_ADVICE,
    ),
    AnswerRule(
        "Feed it {drawn}, fuse {busiest.fuse:A}{apiece}, with {lost_contact.wanted} contacts side by side in "
        "each direction, for a feed may be lost.",
        when=_overloads_when_lost, words=_ADVICE,
    ),
    AnswerRule(
        "{other_wire}: the lead of the busiest feed loses {lead_drop:V}, and {allowed_drop:V} is allowed.",
        when=lambda case: _fails_lead(case, "drop"), words=_ADVICE,
    ),
    AnswerRule(
        "Use a wire that carries {fault:A} or a supply that gives more: a fuse of {busiest.fuse:A} "
        "{when_opens}.",
        when=_burns_behind_fuse, words=_ADVICE,
    ),
    AnswerRule(
        "{mend_level}: the data's high level has only {data.margin:V} in hand {where}.",
        when=lambda case: case.data.margin < THIN_MARGIN, words=_ADVICE,
    ),
    AnswerRule("{fewer_frames}.", when=_is_slow, words=_ADVICE),
    AnswerRule(
        "Feed it {drawn}, fuse {busiest.fuse:A}{apiece}, from a converter of "
        "{supply_current:A} or more: {string.lowest:V,4} at the weakest LED.",
        when=_needs_converter, words=_ADVICE,
    ),
    AnswerRule(
        "Feed it {drawn}, fuse {busiest.fuse:A}{apiece}: {string.lowest:V,4} at the weakest LED.",
        words=_ADVICE,
    ),
)  # fmt: skip


FINDINGS: tuple[FindingRule[Solved], ...] = (
    FindingRule(
        "stop", "supply-too-high",
        "Lower the supply to {led.nominal_supply:V,4}: {given.supply:V,4} is more than this LED withstands "
        "({led.highest_supply:V,4}).",
        when=_is_too_high,
        remedies=(Remedy({"supply": "{led.nominal_supply:V}"}), _REBUILT[-1]),
    ),
    FindingRule(
        "stop", "string-starves",
        "{feed_it}. With everything on, LED {string.lowest_led} would be left with {left}; it needs "
        "{led.needed_voltage:V,4} to work at all, and below that LEDs flicker, change colour or lose the "
        "data.",
        when=_starves, words=_ADVICE, remedies=_REBUILT,
    ),
    FindingRule(
        "caution", "below-floor",
        "{feed_it}. With everything on, LED {string.lowest_led} gets {string.lowest:V,4}, less than the "
        "{floor:V,4} wanted: {colour}.",
        when=_is_below, words=_ADVICE, remedies=_REBUILT,
    ),
    FindingRule(
        "note", "current-falls",
        "Plan with {string.peak:A}, though the LEDs draw and light less below {led.full_voltage:V,4}: in "
        "truth the worst one settles near {string.lowest_falling:V,4}, and the string draws "
        "{string.falling_current:A}.",
        when=lambda case: case.string.falling_current < NOTICEABLE_FALL * case.string.peak,
    ),
    FindingRule(
        "stop", "contact-over-rating",
        "Put {contact.wanted} contacts side by side for each feed and each direction, or add feeds: each "
        "would carry {contact.current:A}, more than its rating of {contact.rating:A}.",
        when=lambda case: _is_contact(case, "over rating"), remedies=_OTHER_CONTACTS,
    ),
    FindingRule(
        "caution", "contact-near-rating",
        "Put {contact.wanted} contacts side by side for each feed and each direction: {why_near}.",
        when=lambda case: _is_contact(case, "near rating"), words=_ADVICE, remedies=_OTHER_CONTACTS,
    ),
    FindingRule(
        "caution", "lost-feed-contact",
        "Put {lost_contact.wanted} contacts side by side for each feed and each direction: with the feed at "
        "{lost_at} lost, a contact of that at {bearer_at} carries {lost_contact.worst:A}, more than its "
        "rating of {lost_contact.rating:A}, and nothing tells you.",
        when=_overloads_when_lost, words=_ADVICE, remedies=_LOST_CONTACTS,
    ),
    FindingRule(
        "note", "lost-feed",
        "Measure every feed now and then: with the one at {lost_at} lost, that at {bearer_at} carries "
        "{lost.current:A}{bears}. With the one at {missed_at} lost, LED {lost.lowest_led} is left with "
        "{lost_left}.",
        when=lambda case: case.lost, words=_ADVICE,
    ),
    FindingRule(
        "note", "open-contact",
        "Measure across the joint now and then: with one of {given.contacts_shared} contacts open, the "
        "others carry {contact.others:A} each, and LED {open_contact.lowest_led} keeps "
        "{open_contact.lowest:V,4}.",
        when=lambda case: case.open_contact and case.open_contact.lowest > 0,
    ),
    FindingRule(
        "stop", "no-fuse",
        "Add feeds or shorten the string: no standard fuse is large enough for {busiest.current:A} in one "
        "feed.",
        when=lambda case: case.busiest.fuse is None, remedies=_REBUILT[1:],
    ),
    FindingRule(
        "stop", "wire-too-hot",
        "{other_wire}. In air of {lead_air:degC} a pair of {given.lead_gauge.label} carries "
        "{lead.capacity:A} for hours; a feed asks {busiest.current:A} of it, so do not power it.",
        when=lambda case: _fails_lead(case, "heat"), words=_ADVICE, remedies=_OTHER_WIRE,
    ),
    FindingRule(
        "stop", "wire-under-fuse",
        "{other_wire}. The fuse for a feed is {busiest.fuse:A}, but in air of {lead_air:degC} a pair of "
        "{given.lead_gauge.label} carries only {lead.capacity:A}: on a short the wire burns before the fuse "
        "opens.",
        when=lambda case: _fails_lead(case, "fuse") and not _fails_lead(case, "heat"),
        words=_ADVICE, remedies=_OTHER_WIRE,
    ),
    FindingRule(
        "caution", "lead-drop",
        "{other_wire}. The lead of the busiest feed loses {lead_drop:V}; {allowed_drop:V} is allowed.",
        when=lambda case: _fails_lead(case, "drop") and not _fails_lead(case, "heat", "fuse"), words=_ADVICE,
        remedies=(*_OTHER_WIRE, Remedy({**_NEAR, "lead_drop": "3 %"})),
    ),
    FindingRule(
        "caution", "fuse-stays-shut",
        "Add feeds, so that each has a smaller fuse, or use a wire that carries {fault:A}, or a supply that "
        "gives more: on a short at the string {fault:A} flow, at which a fuse of {busiest.fuse:A} "
        "{when_opens}, and {given.lead_gauge.label} carries {lead.capacity:A}.",
        when=_burns_behind_fuse, words=_ADVICE,
        remedies=(
            Remedy({"converter_limit": "{sure_converter:A}"}),
            Remedy({"lead_gauge": "{fault_wire.label}"}),
            *_REBUILT[1:],
        ),
    ),
    FindingRule(
        "note", "uneven-feeds",
        "Space the feeds evenly to share the current better: one carries {busiest.current:A}, while the "
        "feeds carry {mean_feed_current:A} on average.",
        when=lambda case: case.busiest.fuse and case.busiest.current > 1.5 * case.mean_feed_current,
    ),
    FindingRule(
        "stop", "converter-over-limit",
        "{other_converter}, never two with their outputs joined: all channels on take {total_current:A}, "
        "more than the converter's {given.converter_limit:A}.",
        when=lambda case: _ends_below(case, case.total_current), words=_ADVICE, remedies=_OTHER_CONVERTER,
    ),
    FindingRule(
        "caution", "converter-margin",
        "{other_converter}: with its margin the supply should be good for {supply_current:A}, and this one "
        "ends at {given.converter_limit:A}.",
        when=_needs_converter, words=_ADVICE, remedies=_OTHER_CONVERTER,
    ),
    FindingRule(
        "note", "brightness-limit",
        "Plan fuses, wires and contacts for {string.peak:A} in each string: the brightness setting lowers "
        "the average only, and a controller that starts up or crashes can switch every channel on.",
        when=lambda case: case.given.brightness < 1,
    ),
    FindingRule(
        "note", "heat",
        "Bond each string to metal or leave it moving air: over the pattern {average_heat:W} of heat stays "
        "in it, and printed plastic can soften from about {soft_plastic:degC}.",
        when=lambda case: case.average_heat > WARM_STRING,
    ),
    FindingRule(
        "stop", "shifter-supply",
        "{other_shifter}. A {shifter.name} works from {shifter.lowest_supply:V,4} to "
        "{shifter.highest_supply:V,4}, not at {logic_supply:V,4}.",
        when=_is_misfed, words=_ADVICE, remedies=_ALL_LEVELS,
    ),
    FindingRule(
        "stop", "data-level-low",
        "{mend_level}. The data's high level is {data.shortfall:V,4} too low {where}; it may work on the "
        "bench and fail warm, cold or far from the controller.",
        when=lambda case: case.data.margin < 0, words=_ADVICE, remedies=_ALL_LEVELS,
    ),
    FindingRule(
        "caution", "data-margin-thin",
        "{mend_level}. The data's high level is only {data.margin:V,4} above what is needed {where}.",
        when=lambda case: 0 <= case.data.margin < THIN_MARGIN, words=_ADVICE, remedies=_ALL_LEVELS,
    ),
    FindingRule(
        "stop", "low-level-high",
        "Mend the ground: bring the controller's and the LEDs' together with a thick return, or use a "
        "controller with a lower low level. That of the data is {data.low_excess:V} too high {low_where}, "
        "and LEDs see bits where there are none.",
        when=lambda case: case.data.low_margin < 0, words=_ADVICE, remedies=_ALL_LEVELS,
    ),
    FindingRule(
        "caution", "low-margin-thin",
        "Mend the ground between controller and LEDs, or use a controller with a lower low level: that of "
        "the data is only {data.low_margin:V} below what is allowed {low_where}.",
        when=lambda case: 0 <= case.data.low_margin < THIN_MARGIN, words=_ADVICE, remedies=_ALL_LEVELS,
    ),
    FindingRule(
        "caution", "ground-shift",
        "Use a thicker return lead, or feed the controller at the string: with everything on, the first "
        "LED's ground lies {ground_shift:V,4} above the controller's, so a low bit lies that far below the "
        "LED's ground, and data sheets allow {input_overdrive:V,4}.",
        when=lambda case: case.ground_shift > case.input_overdrive,
        remedies=(Remedy({"ground_shift": "0 V"}), *_REBUILT[1:], _ALL_LEVELS[-1]),
    ),
    FindingRule(
        "caution", "data-above-supply",
        "{lower_level}: with everything on, the data's high level lies {data.above_supply:V,4} above the "
        "supply of the input it reaches, and data sheets allow {input_overdrive:V,4}.",
        when=lambda case: case.data.above_supply > case.input_overdrive, words=_ADVICE, remedies=_ALL_LEVELS,
    ),
    FindingRule(
        "caution", "frame-rate-low",
        "{fewer_frames}. One frame takes {frame_time:s}, so {frame_rate:Hz} is the most; "
        "{given.target_rate:Hz} is wanted.",
        when=_is_slow, words=_ADVICE,
        remedies=(
            Remedy({"target_rate": "{whole_rate} Hz"}, when=lambda case: case.whole_rate > 0),
            Remedy({"bit_rate": "", "reset_time": "", "target_rate": "20 Hz"}),
        ),
    ),
    FindingRule(
        "note", "sending-blocks",
        "Send by a hardware peripheral, or give servos a controller of their own: one that counts the bits "
        "out itself is deaf for {send_time:s} and spoils servo pulses of {servo_pulse:s} to "
        "{longest_servo_pulse:s}.",
        when=lambda case: case.send_time > case.servo_pulse and not case.timing.clocked,
    ),
    FindingRule(
        "note", "shared-data",
        "Run one data wire with its own series resistor to each of the {given.strings} strings, and join all "
        "grounds at the supply: on one data line they show the same, and need no more time or memory.",
        when=lambda case: case.given.strings > 1,
    ),
)  # fmt: skip
