"""The findings of speaker-load: what is wrong with a channel, and what to do about it."""

import math

from calculators.numbers.rounding import ROUNDING, exceeds
from calculators.results.case import AnswerRule, FindingRule, Listed, Remedy, Wording, Words
from calculators.speaker_load.dc_network import Group, Network
from calculators.speaker_load.mending import LARGE_LOSS, LARGEST_LOSS, MOST_SHARED
from calculators.speaker_load.solve import Solved

UNEVEN, VERY_UNEVEN = 1.5, 4.0
"""Ratio of powers worth a note, and one (6 dB) at which a like speaker is hardly heard; common practice."""

LOUD = 100.0
"""Level in dB at 1 m from which the result warns of hearing damage: 15 minutes a day at most (NIOSH)."""

LARGE_DIP = 3.0
"""Level in dB that the network may take away at some frequency before it is told: half the power."""


def _is_load_too_low(case: Solved) -> bool:
    return case.trouble == "load" and exceeds(case.given.minimum_load, case.drive.load)


def _passes_current_limit(case: Solved) -> bool:
    return exceeds(case.peak_current, case.given.current_limit or math.inf)


def _is_contact(case: Solved, trouble: str) -> bool:
    return case.contact is not None and case.contact.trouble == trouble


def _is_near(case: Solved) -> bool:
    return _is_contact(case, "near rating")


def _can_share(case: Solved) -> bool:
    return case.contact is not None and (case.contact.wanted or MOST_SHARED + 1) <= MOST_SHARED


def _is_lead_too_hot(case: Solved) -> bool:
    return exceeds(case.lasting_current, case.lead_capacity)


def _is_bridge(case: Solved, minus_wire: str) -> bool:
    return case.given.bridge_tied and case.given.minus_wire == minus_wire


def _is_in_ranking(case: Solved) -> bool:
    return case.other_way is not None and case.ranking is not None


def _is_uneven(case: Solved, ratio: float) -> bool:
    return case.drive.evenness * ratio < 1 - ROUNDING


def _has_series(network: Network) -> bool:
    return isinstance(network, Group) and (
        network.joined == "series" or any(_has_series(member) for member in network.members)
    )


def _list_changes(case: Solved) -> tuple[str, ...]:
    """Return the fields in which a better lead differs from the one that is given."""
    given, better = case.given, case.better_lead
    changed = {
        "contacts_shared": better.shared != given.contacts_shared,
        "contact_resistance": better.contact != given.contact_resistance,
        "lead_gauge": better.gauge is not None and better.gauge != given.lead_gauge,
        "lead_length": better.gauge is None,
    }
    return tuple(name for name, differs in changed.items() if differs)


def _is_changed(case: Solved, *names: str) -> bool:
    return any(name in _list_changes(case) for name in names)


_MENDED: Words[Solved] = {
    "joining": (
        Wording("Join them as {other_way.written} ({other_way.load:ohm}), {rank}", _is_in_ranking),
        Wording("Join them as {other_way.written} ({other_way.load:ohm})", lambda case: case.other_way),
        Wording(
            "Use a speaker of higher impedance, {higher_speakers.load:ohm} at least",
            lambda case: case.count == 1 and case.higher_speakers,
        ),
        Wording(
            "Use speakers of higher impedance, such as {higher_speakers.written}",
            lambda case: case.higher_speakers,
        ),
        Wording("Use another amplifier"),
    ),
    "rank": (
        Wording("the only way that holds", lambda case: case.ranking and case.ranking.holding == 1),
        Wording("the most even of {ranking.holding} ways that hold"),
    ),
    "where": (
        Wording(
            "At {curve.lowest_place:Hz} the load falls to {lowest_load:ohm}", lambda case: case.is_measured
        ),
        Wording("At some frequencies the load may fall to {lowest_load:ohm} (80 % of nominal)"),
    ),
    "quieter": (
        Wording("Feed the amplifier {quieter_supply:V} at most", lambda case: case.quieter_supply),
        Wording("Turn the channel's level down for good"),
    ),
    "less": (
        Wording("{quieter}, or join them as {other_way.written}", lambda case: case.other_way),
        Wording("{quieter}"),
    ),
    "subject": (
        Wording("the one that two channels share", lambda case: case.is_contact_shared),
        Wording("each"),
    ),
    "share": (
        Wording(
            "sharing unequally one carries {contact.worst:A}",
            lambda case: case.contact and case.contact.cause == "unequal",
        ),
        Wording(
            "with one of them open each carries {contact.others:A}",
            lambda case: case.contact and case.contact.cause == "one open",
        ),
        Wording("{subject} carries {contact.current:A}"),
    ),
    "contacts": (
        Wording(
            "Put {contact.wanted} contacts side by side, or use some for {stronger_contact:A}",
            lambda case: _can_share(case) and case.stronger_contact,
        ),
        Wording("Use contacts for {stronger_contact:A}", lambda case: case.stronger_contact),
        Wording("{quieter}"),
    ),
    "lead": (
        Wording(
            "Take {better_lead.gauge.label} for the lead", lambda case: _is_changed(case, "lead_gauge")
        ),
        Wording("{quieter}"),
    ),
    "contacts_part": (
        Wording(
            "put {better_lead.shared} contacts side by side",
            lambda case: _is_changed(case, "contacts_shared"),
        ),
        Wording("use contacts of {better_lead.contact:ohm}"),
    ),
    "lead_part": (
        Wording("take {better_lead.gauge.label} for the lead", lambda case: case.better_lead.gauge),
        Wording("shorten the lead to {better_lead.length:m}"),
    ),
    "better": (
        Wording(
            "{lead_part}",
            lambda case: not _is_changed(case, "contacts_shared", "contact_resistance"),
        ),
        Wording(
            "{contacts_part}, and {lead_part}", lambda case: _is_changed(case, "lead_gauge", "lead_length")
        ),
        Wording("{contacts_part}"),
    ),
    "worse": (
        Wording("falls to {lowest_load:ohm}", lambda case: not _is_load_too_low(case)),
        Wording("would be {drive.load:ohm}"),
    ),
    "whole": (
        Wording("Connect {busiest.name}: {shown}{besides}.", lambda case: case.count == 1),
        Wording(
            "Join them as {given.network.written}: {shown}, {rank}{besides}.",
            lambda case: not case.given.network.joined,
        ),
        Wording("Join them as {given.network.written}: {shown}{besides}."),
    ),
    "shown": (Wording("{drive.load:ohm}, {drive.power:W} unclipped"),),
    "besides": (
        Wording(", once Re is checked", lambda case: case.misfits),
        Wording(
            ", with {contact.wanted} contacts side by side",
            lambda case: _is_near(case) and _can_share(case),
        ),
        Wording(
            ", and feed the amplifier {quieter_supply:V} at most",
            lambda case: case.is_strained and case.quieter_supply,
        ),
        Wording(", and set the level so that it does not clip", lambda case: case.is_strained),
        Wording(", and {better}", lambda case: exceeds(case.cable_loss, LARGEST_LOSS)),
        Wording(", with equal speakers", lambda case: _is_uneven(case, VERY_UNEVEN)),
        Wording(""),
    ),
}  # fmt: skip

_LEAD_FIELDS = {
    "lead_gauge": "{better_lead.gauge.label}",
    "lead_length": "{better_lead.length:m}",
    "contacts_shared": "{better_lead.shared}",
    "contact_resistance": "{better_lead.contact:ohm}",
}
_LEAD_WAYS = (
    ("lead_gauge",), ("contacts_shared",), ("contacts_shared", "lead_gauge"), ("contact_resistance",),
    ("contact_resistance", "lead_gauge"), ("lead_length",), ("contacts_shared", "lead_length"),
    ("contact_resistance", "lead_length"),
)  # fmt: skip


def _make_lead_remedy(names: tuple[str, ...]) -> Remedy[Solved]:
    return Remedy({name: _LEAD_FIELDS[name] for name in names}, lambda case: _list_changes(case) == names)


_JOINING = Remedy[Solved]({"network": "{other_way.entry}"})
_QUIETER = Remedy[Solved]({"supply": "{quieter_supply:V}"})
_HIGHER = Remedy[Solved]({"network": "{higher_speakers.entry}"})
_OTHER_LOAD = (_JOINING, _HIGHER)
_STRONGER_CONTACT = Remedy[Solved]({"contact_rating": "{stronger_contact:A}"})
_LARGER_LIMIT = Remedy[Solved]({"current_limit": "{larger_limit:A}"})
_LARGER_POWER = Remedy[Solved]({"rated_power": "{larger_power:W}"})
_SHARED = Remedy[Solved]({"contacts_shared": "{contact.wanted}"})
_OWN_CONTACT = Remedy[Solved]({"minus_wire": "a contact of its own"})
_OTHER_LEAD = tuple(_make_lead_remedy(names) for names in _LEAD_WAYS)

_UNEQUAL_SHARING = (
    "Compare the other arrangements, or take equal speakers: {busiest.name} gets {busiest.power:W}, "
    "{idlest.name} {idlest.power:W}."
)
_LEAD_LOSS = "{Better}: lead and contacts lose {cable_loss:dB,2}."

ANSWERS: tuple[AnswerRule[Solved], ...] = (
    AnswerRule(
        "Give each of the four speaker wires a contact of its own: both wires of a bridge are driven, and "
        "stand at {rest_voltage:V}.",
        when=lambda case: _is_bridge(case, "shares a contact"),
    ),
    AnswerRule(
        "Keep the minus wire off ground: it is a driven output and stands at {rest_voltage:V}.",
        when=lambda case: _is_bridge(case, "joined to ground"),
    ),
    AnswerRule(
        "{joining}: as written the load {worse}, and the amplifier allows {given.minimum_load:ohm}.",
        when=lambda case: case.trouble == "load" and case.given.network.joined, words=_MENDED,
    ),
    AnswerRule(
        "{joining}: the load of these {worse}, and the amplifier allows {given.minimum_load:ohm}.",
        when=lambda case: case.trouble == "load", words=_MENDED,
    ),
    AnswerRule(
        "{less}: of loud music {most_strained.name} would get {most_strained.music:W}, and it is rated "
        "{most_strained.rating:W}.",
        when=lambda case: case.overloaded, words=_MENDED,
    ),
    AnswerRule(
        "{less}: {given.supply:V} drives {peak_current:A} through {drive.load:ohm}, and the amplifier cuts "
        "out at {given.current_limit:A}.",
        when=_passes_current_limit, words=_MENDED,
    ),
    AnswerRule(
        "{contacts}: music sends {lasting_current:A} through the lead, and one is rated {contact.rating:A}.",
        when=lambda case: _is_contact(case, "over rating"), words=_MENDED,
    ),
    AnswerRule(
        "{lead}: music sends {lasting_current:A} through it, and {given.lead_gauge.label} bears "
        "{lead_capacity:A}.",
        when=_is_lead_too_hot, words=_MENDED,
    ),
    AnswerRule("{whole}", words=_MENDED),
)  # fmt: skip


FINDINGS: tuple[FindingRule[Solved], ...] = (
    FindingRule(
        "stop", "load-below-minimum",
        "{joining}. {drive.load:ohm} is less than the {given.minimum_load:ohm} the amplifier allows; it will "
        "shut down or burn.",
        when=_is_load_too_low, words=_MENDED, remedies=_OTHER_LOAD,
    ),
    FindingRule(
        "stop", "lowest-load-below-minimum",
        "{joining}. {where}, too little for an amplifier that allows {given.minimum_load:ohm}.",
        when=lambda case: case.trouble == "load" and not _is_load_too_low(case), words=_MENDED,
        remedies=_OTHER_LOAD,
    ),
    FindingRule(
        "stop", "current-limit",
        "{less}: full level takes {peak_current:A} in peaks, and the amplifier cuts out at "
        "{given.current_limit:A}.",
        when=_passes_current_limit, words=_MENDED, remedies=(_QUIETER, _JOINING, _LARGER_LIMIT),
    ),
    FindingRule(
        "caution", "current-limit",
        "{quieter}: where the load falls to {lowest_load:ohm}, full level takes {lowest_peak:A} in peaks, "
        "and the amplifier cuts out at {given.current_limit:A}.",
        when=lambda case: (
            not _passes_current_limit(case)
            and exceeds(case.lowest_peak, case.given.current_limit or math.inf)
        ),
        words=_MENDED, remedies=(_QUIETER, _LARGER_LIMIT),
    ),
    FindingRule(
        "stop", "speaker-over-rating",
        "{less}, or use a stronger one: {each.name} would get {each.music:W} of loud music and is rated "
        "{each.rating:W}.",
        each="overloaded", words=_MENDED, remedies=(_QUIETER, _JOINING),
    ),
    FindingRule(
        "caution", "speaker-over-rating-clipped",
        "{quieter}, or set the level so that the loudest sound does not clip: clipped music would give "
        "{overloaded_in_clipping} more than the rating.",
        when=lambda case: case.overloaded_in_clipping, words=_MENDED, remedies=(_QUIETER, _JOINING),
    ),
    FindingRule(
        "note", "full-sine-over-rating",
        "Test with music or turn it down: a steady tone at full level gives {overloaded_by_tones} more than "
        "the rating, of which even clipped music stays below.",
        when=lambda case: case.overloaded_by_tones,
    ),
    FindingRule(
        "note", "rating-missing",
        "Whether {unrated} can bear this power is not judged, for no rating is given: read it on the magnet "
        "or in the data sheet and enter it.",
        when=lambda case: case.unrated,
    ),
    FindingRule(
        "caution", "unequal-sharing", _UNEQUAL_SHARING, when=lambda case: _is_uneven(case, VERY_UNEVEN),
        remedies=(
            _JOINING,
            Remedy({"network": "{equal_speakers.entry}"}),
            Remedy({"network": "{equal_chain.entry}"}),
        ),
    ),
    FindingRule(
        "note", "unequal-sharing", _UNEQUAL_SHARING,
        when=lambda case: _is_uneven(case, UNEVEN) and not _is_uneven(case, VERY_UNEVEN),
    ),
    FindingRule(
        "note", "series-resonance",
        "Join speakers of one kind, or turn {quietest_place:Hz} down: there the load rises and the sound "
        "falls by {quietest_by:dB,2}.",
        when=lambda case: case.levels and case.quietest_by >= LARGE_DIP,
    ),
    FindingRule(
        "caution", "amplifier-over-rating",
        "{quieter}, or use a stronger amplifier: clipped music takes {clipped_power:W} of one that is rated "
        "{given.rated_power:W}.",
        when=lambda case: exceeds(case.clipped_power, case.given.rated_power or math.inf), words=_MENDED,
        remedies=(_QUIETER, _JOINING, _LARGER_POWER),
    ),
    FindingRule(
        "note", "amplifier-over-rating",
        "Keep steady tones down: full level takes {drive.power:W}, and the amplifier is rated "
        "{given.rated_power:W}; music stays below.",
        when=lambda case: (
            exceeds(case.drive.power, case.given.rated_power or math.inf)
            and not exceeds(case.clipped_power, case.given.rated_power or math.inf)
        ),
    ),
    FindingRule(
        "note", "rated-power-out-of-reach",
        "The amplifier's {given.rated_power:W} are not reached here: this supply and load give "
        "{drive.power:W}, and {power_at_10_percent:W} at 10 % distortion.",
        when=lambda case: (
            case.given.rated_power and exceeds(case.given.rated_power, case.power_at_10_percent)
        ),
    ),
    FindingRule(
        "stop", "contact-over-rating",
        "{contacts}: {subject} carries {contact.current:A} of clipped music and is rated {contact.rating:A}.",
        when=lambda case: _is_contact(case, "over rating"), words=_MENDED,
        remedies=(_SHARED, _STRONGER_CONTACT, _QUIETER),
    ),
    FindingRule(
        "caution", "contact-near-rating",
        "{contacts}: {share} of clipped music, and is rated {contact.rating:A}.",
        when=_is_near, words=_MENDED,
        remedies=(_SHARED, _STRONGER_CONTACT, _QUIETER),
    ),
    FindingRule(
        "note", "contacts-not-judged",
        "The joint contacts are not judged, for no rating is given: each carries {contact.current:A} of "
        "clipped music. Read in the maker's sheet what it may carry, and enter it.",
        when=lambda case: case.contact and case.contact.rating is None,
    ),
    FindingRule(
        "note", "single-ended-capacitor",
        "A single output stands at half the supply, {loop.peak_voltage:V}. The speakers need a series "
        "capacitor, in the amplifier or in the lead; without it they burn.",
        when=lambda case: not case.given.bridge_tied,
    ),
    FindingRule(
        "stop", "bridge-tied-minus-shared",
        "Give each of the four speaker wires a contact of its own: the minus wires of two channels share "
        "one, and that joins two driven outputs.",
        when=lambda case: _is_bridge(case, "shares a contact"), remedies=(_OWN_CONTACT,),
    ),
    FindingRule(
        "stop", "bridge-tied-minus-grounded",
        "Lead both wires straight to the speakers and keep them off ground, screen and metal parts: joined "
        "to ground, the minus wire shorts a driven output.",
        when=lambda case: _is_bridge(case, "joined to ground"), remedies=(_OWN_CONTACT,),
    ),
    FindingRule(
        "note", "bridge-tied-shares-nothing",
        "Both speaker wires are driven. Join neither to ground, and never put the minus wires of two "
        "channels in one contact; each wire crosses the joint in a contact of its own.",
        when=lambda case: _is_bridge(case, "a contact of its own"),
    ),
    FindingRule(
        "caution", "lead-loss", _LEAD_LOSS, when=lambda case: exceeds(case.cable_loss, LARGEST_LOSS),
        words=_MENDED, remedies=_OTHER_LEAD,
    ),
    FindingRule(
        "note", "lead-loss", _LEAD_LOSS,
        when=lambda case: (
            exceeds(case.cable_loss, LARGE_LOSS) and not exceeds(case.cable_loss, LARGEST_LOSS)
        ),
        words=_MENDED,
    ),
    FindingRule(
        "note", "low-damping",
        "Thicker wire and better contacts make bass drier: the damping factor is {damping_factor:1,2}, and "
        "{lowest_damping:1} is the least asked for in halls. Small speakers and shakers work with less.",
        when=lambda case: (
            # What feedback does is in the data sheet's figure alone.
            case.given.amplifier_damping is not None
            and case.damping_factor is not None
            and case.damping_factor < case.lowest_damping
        ),
    ),
    FindingRule(
        "stop", "lead-over-capacity",
        "{lead}: it carries {lasting_current:A} of clipped music, and two wires of {given.lead_gauge.label} "
        "together bear {lead_capacity:A} for hours (insulation for {lead_limit:degC}, air of "
        "{lead_air:degC}).",
        when=_is_lead_too_hot, words=_MENDED, remedies=(*_OTHER_LEAD, _QUIETER),
    ),
    FindingRule(
        "note", "single-fault-overloads",
        "Have a fuse in the amplifier's supply, and an amplifier that protects itself: one fault can "
        "overload the rest ({overloading_faults}), as the table of faults says.",
        when=lambda case: case.overloading_faults,
    ),
    FindingRule(
        "caution", "re-does-not-fit",
        "Check that the figures belong to this speaker: {each.name} is {each.nominal:ohm} nominal, but Re is "
        "{each.driver.re:ohm}, and a meter usually shows 70 % to 85 % of nominal.",
        each="misfits",
    ),
    FindingRule(
        "note", "parameters-missing",
        "For {unmeasured} no parameters are given; 80 % of nominal is used for the lowest load instead.",
        when=lambda case: case.curve and case.unmeasured,
    ),
    FindingRule(
        "note", "inductance-missing",
        "How low the load falls is not known without Le of {without_inductance}: 80 % of nominal counts, and "
        "the curve is too low above the resonance.",
        when=lambda case: case.without_inductance,
    ),
    FindingRule(
        "note", "names-not-in-network",
        "No speaker here is called {names}; figures given by that name are not used. Check the spelling.",
        when=lambda case: case.given.unknown_names,
        words={"names": Listed("given.unknown_names", "{each}", " or ")},
    ),
    FindingRule(
        "note", "capacitor-beside-others",
        "The capacitors are for a speaker that lies straight across the amplifier. In series with others its "
        "frequency comes out lower; use one capacitor for the whole chain and its whole impedance.",
        when=lambda case: case.given.high_pass is not None and _has_series(case.given.network.tree),
    ),
    FindingRule(
        "caution", "joining-not-said",
        "Join them as {given.network.written}, which leads the table of arrangements, or write down how "
        "yours are joined: that is not said, and all this is for speakers joined so.",
        when=lambda case: not case.given.network.joined, remedies=(Remedy({"network": "{own_way.entry}"}),),
    ),
    FindingRule(
        "note", "arrangements-not-listed",
        "Other arrangements are listed for up to {most_arranged} speakers; here there are {count}.",
        when=lambda case: case.ranking is None,
    ),
    FindingRule(
        "note", "loud",
        "{level:dB} at 1 m harms hearing within minutes. Test at low level, wear ear protection at the "
        "bench, and keep the public at a distance.",
        when=lambda case: case.level is not None and case.level >= LOUD,
    ),
)  # fmt: skip
