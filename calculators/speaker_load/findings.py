"""The findings of speaker-load: what is wrong with a channel, and what to do about it."""

import math

from calculators.numbers.rounding import ROUNDING, exceeds
from calculators.results.case import AnswerRule, FindingRule, Listed, Wording, Words
from calculators.speaker_load.dc_network import Group, Network
from calculators.speaker_load.solve import Solved

UNEVEN, VERY_UNEVEN = 1.5, 4.0
"""Ratio of powers worth a note, and one (6 dB) at which a like speaker is hardly heard; common practice."""

LARGE_LOSS, LARGEST_LOSS = 0.5, 1.0
"""Loss in lead and contacts in dB that is worth a note, and one worth mending (a fifth of the power)."""

LOUD = 100.0
"""Level in dB at 1 m from which the result warns of hearing damage: 15 minutes a day at most (NIOSH)."""


def _is_load_too_low(case: Solved) -> bool:
    return bool(case.load_verdict) and exceeds(case.given.minimum_load, case.drive.load)


def _is_only_way(case: Solved) -> bool:
    return case.ranking is not None and case.ranking.total == 1 and case.ranking.best is None


_REMEDY: Words[Solved] = {
    "where": (
        Wording("At {curve.lowest_place:Hz} the load falls to {lowest_load:ohm}", lambda case: case.curve),
        Wording("At some frequencies the load may fall to {lowest_load:ohm} (80 % of nominal)"),
    ),
    "remedy": (
        Wording(
            "Put more of them in series, use fewer, or use speakers of higher impedance.",
            lambda case: case.ranking is None,
        ),
        Wording("Use a speaker of higher impedance.", _is_only_way),
        Wording(
            "No way to join these speakers holds; the table of arrangements says why. Use others, of a "
            "higher impedance or rating.",
            lambda case: case.ranking and case.ranking.best is None,
        ),
        Wording(
            "Join them as {ranking.best.written} ({ranking.best.load:ohm}), {rank}, or use speakers of "
            "higher impedance."
        ),
    ),
    "rank": (
        Wording("the only way that holds", lambda case: case.ranking and case.ranking.holding == 1),
        Wording("the most even of {ranking.holding} ways that hold"),
    ),
}
_CONTACT: Words[Solved] = {
    "subject": (
        Wording(
            "The contact that two channels share carries",
            lambda case: case.contact and case.contact.is_shared,
        ),
        Wording("Each contact carries"),
    )
}
_UNEQUAL_SHARING = (
    "The speakers do not share equally: {busiest.name} gets {busiest.power:W}, {idlest.name} "
    "{idlest.power:W}. Equal speakers in like places share equally; compare the other arrangements."
)
_LEAD_LOSS = "Lead and contacts take {cable_loss:dB,2}. Use thicker wire, a shorter lead or fewer contacts."


def _is_uneven(case: Solved, ratio: float) -> bool:
    return case.drive.evenness * ratio < 1 - ROUNDING


def _has_series(network: Network) -> bool:
    return isinstance(network, Group) and (
        network.joined == "series" or any(_has_series(member) for member in network.members)
    )


ANSWERS: tuple[AnswerRule[Solved], ...] = (
    AnswerRule(
        "Do not join them so: {remedy}", when=lambda case: case.load_verdict == "stop", words=_REMEDY,
    ),
    AnswerRule("Join them as {given.network.written}: {drive.load:ohm}."),
)  # fmt: skip


FINDINGS: tuple[FindingRule[Solved], ...] = (
    FindingRule(
        "stop", "load-below-minimum",
        "{drive.load:ohm} is less than the {given.minimum_load:ohm} the amplifier allows; it will shut down "
        "or burn. {remedy}",
        when=_is_load_too_low, words=_REMEDY,
    ),
    FindingRule(
        "stop", "lowest-load-below-minimum",
        "{where}, less than the amplifier's {given.minimum_load:ohm} allow. {remedy}",
        when=lambda case: case.load_verdict == "stop" and not _is_load_too_low(case), words=_REMEDY,
    ),
    FindingRule(
        "caution", "lowest-load-below-minimum",
        "{where}. Look in the amplifier's data sheet what its {given.minimum_load:ohm} are: if a speaker's "
        "nominal figure, say so under “That figure is” and this load is fine; if the lowest impedance, it is "
        "not.",
        when=lambda case: case.load_verdict == "caution", words=_REMEDY,
    ),
    FindingRule(
        "stop", "speaker-over-rating",
        "{each.name} gets {each.power:W} and is rated {each.rating:W}. Turn the channel's level down for "
        "good, join the speakers another way, or use a stronger one.",
        each="overloaded",
    ),
    FindingRule(
        "caution", "speaker-over-rating-clipped",
        "When the amplifier is driven into clipping (10 % distortion), {overloaded_in_clipping} would get "
        "more than the rating. Set the level so that the loudest sound does not clip.",
        when=lambda case: case.overloaded_in_clipping,
    ),
    FindingRule(
        "note", "rating-missing",
        "Whether {unrated} can bear this power is not judged, for no rating is given: read it on the magnet "
        "or in the data sheet and enter it.",
        when=lambda case: case.unrated,
    ),
    FindingRule(
        "caution", "unequal-sharing", _UNEQUAL_SHARING, when=lambda case: _is_uneven(case, VERY_UNEVEN)
    ),
    FindingRule(
        "note", "unequal-sharing", _UNEQUAL_SHARING,
        when=lambda case: _is_uneven(case, UNEVEN) and not _is_uneven(case, VERY_UNEVEN),
    ),
    FindingRule(
        "caution", "amplifier-over-rating",
        "This load takes {drive.power:W} at full level, more than the {given.rated_power:W} the amplifier is "
        "rated for; it will run hot and shut down. Keep the level down, cool it, or use a higher load.",
        when=lambda case: exceeds(case.drive.power, case.given.rated_power or math.inf),
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
        "{subject} {contact.current:A} and is rated {contact.rating:A}. Use stronger contacts, or two in "
        "parallel for each wire with something to spare, for they never share equally.",
        when=lambda case: case.contact and case.contact.trouble == "current", words=_CONTACT,
    ),
    FindingRule(
        "caution", "contact-over-rating-at-worst",
        "{subject} {contact.current:A} and is rated {contact.rating:A}, but it would carry "
        "{contact.clipped:A} when the amplifier is driven into clipping (10 % distortion), and "
        "{contact.lowest:A} at a frequency where the load is lowest. Set the level so that the loudest sound "
        "does not clip, or use stronger contacts.",
        when=lambda case: case.contact and case.contact.trouble == "worst", words=_CONTACT,
    ),
    FindingRule(
        "note", "contact-peak-over-rating",
        "The peaks of {contact.peak:A} pass the contact's {contact.rating:A}, but its heating follows the "
        "{contact.current:A} r.m.s. of a full sine, which it holds.",
        when=lambda case: case.contact and case.contact.trouble == "peak",
    ),
    FindingRule(
        "note", "single-ended-capacitor",
        "A single output stands at half the supply, {loop.peak_voltage:V}. The speakers need a series "
        "capacitor, in the amplifier or in the lead; without it they burn.",
        when=lambda case: not case.given.bridge_tied,
    ),
    FindingRule(
        "stop", "bridge-tied-minus-shared",
        "The minus wires of two channels share a contact: that joins two driven outputs. Give each of the "
        "four speaker wires a contact of its own.",
        when=lambda case: case.given.bridge_tied and case.given.minus_wire == "shares a contact",
    ),
    FindingRule(
        "stop", "bridge-tied-minus-grounded",
        "The minus wire is joined to ground: that shorts a driven output. Lead both wires straight to the "
        "speakers and keep them off ground, screen and metal parts.",
        when=lambda case: case.given.bridge_tied and case.given.minus_wire == "joined to ground",
    ),
    FindingRule(
        "note", "bridge-tied-shares-nothing",
        "Both speaker wires are driven. Join neither to ground, and never put the minus wires of two "
        "channels in one contact; each wire crosses the joint in a contact of its own.",
        when=lambda case: case.given.bridge_tied and case.given.minus_wire == "a contact of its own",
    ),
    FindingRule(
        "caution", "lead-loss", _LEAD_LOSS, when=lambda case: exceeds(case.cable_loss, LARGEST_LOSS)
    ),
    FindingRule(
        "note", "lead-loss", _LEAD_LOSS,
        when=lambda case: (
            exceeds(case.cable_loss, LARGE_LOSS) and not exceeds(case.cable_loss, LARGEST_LOSS)
        ),
    ),
    FindingRule(
        "note", "low-damping",
        "The damping factor is {damping_factor:1,2}; {lowest_damping:1} is the least asked for in halls. "
        "Small speakers and shakers work with less, but bass sounds less dry. Thicker wire and better "
        "contacts raise it.",
        when=lambda case: case.damping_factor is not None and case.damping_factor < case.lowest_damping,
    ),
    FindingRule(
        "stop", "lead-over-capacity",
        "The lead carries {current:A} at full level, but two wires of {given.lead_gauge.label} together bear "
        "{lead_capacity:A} for hours (insulation for {lead_limit:degC}, air of {lead_air:degC}): the "
        "insulation would soften. Take a thicker wire; the wire-gauge calculator says which.",
        when=lambda case: case.given.lead_length and exceeds(case.current, case.lead_capacity),
    ),
    FindingRule(
        "note", "single-fault-overloads",
        "One fault can overload the rest: {overloading_faults}. See the table of faults; a fuse in the "
        "amplifier's supply and its own protection have to cover this.",
        when=lambda case: case.overloading_faults,
    ),
    FindingRule(
        "caution", "re-does-not-fit",
        "{each.name} is {each.nominal:ohm} nominal, but Re is {each.driver.re:ohm}; a meter usually shows "
        "70 % to 85 % of nominal. Check that the figures belong to this speaker.",
        each="misfits",
    ),
    FindingRule(
        "note", "parameters-missing",
        "For {unmeasured} no parameters are given; 80 % of nominal is used for the lowest load instead.",
        when=lambda case: case.curve and case.unmeasured,
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
        "How the speakers are joined is not said. All this is for {given.network.written}, which leads the "
        "table of arrangements. Join them so, or write down how yours are joined.",
        when=lambda case: not case.given.network.joined,
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
