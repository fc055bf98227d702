"""The findings of the speaker-load calculator: what is wrong with a channel, and what to do about it."""

import math
from collections.abc import Iterator, Mapping, Sequence

from calculators.notation.gauge import Gauge
from calculators.notation.showing import Figure, Phrase, list_names, say
from calculators.numbers.rounding import exceeds
from calculators.physics.wire_run import LEAD_AIR, LEAD_LIMIT, find_lead_capacity
from calculators.results.result import Cell, Finding
from calculators.speaker_load.channel import CLIPPED_GAIN, Channel, Fault
from calculators.speaker_load.dc_network import MOST_ARRANGED, Group, Network
from calculators.speaker_load.driver import Curve
from calculators.speaker_load.network import write_network
from calculators.speaker_load.ranking import Ranking

UNEVEN, VERY_UNEVEN = 1.5, 4.0
"""Ratio of powers worth a note, and one (6 dB) at which a like speaker is hardly heard; common practice."""

LOWEST_DAMPING = 25.0
"""Damping factor of a system; a loudspeaker maker's cable guide asks for 25, and 50 for quality work."""

LARGE_LOSS, LARGEST_LOSS = 0.5, 1.0
"""Loss in lead and contacts in dB that is worth a note, and one worth mending (a fifth of the power)."""

LOUD = 100.0
"""Level in dB at 1 m from which the result warns of hearing damage: 15 minutes a day at most (NIOSH)."""

OUTSIDE_NOMINAL = (0.5, 1.0)
"""Share of nominal outside which a voice coil's resistance belongs to another speaker; common practice."""

MINUS_WIRES = ("a contact of its own", "shares a contact", "joined to ground")


def _ohms(value: float) -> Figure:
    return Figure(value, "resistance")


def _watts(value: float) -> Figure:
    return Figure(value, "power")


def _amps(value: float) -> Figure:
    return Figure(value, "current")


def find_channel_findings(
    channel: Channel,
    outputs: Mapping[str, Cell],
    curve: Curve | None,
    ranking: Ranking | None,
    faults: Sequence[Fault],
    *,
    rated_power: float | None,
    lead_length: float,
    lead_gauge: Gauge,
    contacts: int,
    contact_rating: float | None,
    minus_wire: str,
    high_pass: float | None,
    unknown_names: Sequence[str],
) -> tuple[Finding, ...]:
    """Return everything the builder has to know, the gravest first."""
    findings = [
        *_judge_load(channel, curve, outputs, ranking),
        *_judge_speakers(channel),
        *_judge_amplifier(channel, rated_power),
        *_judge_contacts(channel, outputs, contacts, contact_rating, minus_wire),
        *_judge_outputs(channel, minus_wire),
        *_judge_lead(outputs),
        *(_judge_lead_heat(channel, lead_gauge) if lead_length else ()),
        *_judge_faults(faults),
        *_judge_drivers(channel, curve),
        *_note_limits(channel, outputs, high_pass, unknown_names),
    ]
    order = ("stop", "caution", "note")
    return tuple(sorted(findings, key=lambda finding: order.index(finding.level)))


def _judge_load(
    channel: Channel, curve: Curve | None, outputs: Mapping[str, Cell], ranking: Ranking | None
) -> Iterator[Finding]:
    load, lowest = channel.drive.load, float(outputs["lowest_load"] or 0)
    verdict = channel.judge_load(load, lowest)
    if not verdict:
        return
    remedy = _find_remedy(channel, ranking)
    minimum = _ohms(channel.minimum)
    if exceeds(channel.minimum, load):
        yield Finding(
            "stop",
            "load-below-minimum",
            say(
                "{load} is less than the {minimum} the amplifier allows; it will shut down or burn. {remedy}",
                load=_ohms(load),
                minimum=minimum,
                remedy=remedy,
            ),
        )
        return
    where = (
        say(
            "At {place} the load falls to {lowest}",
            place=Figure(curve.lowest[0], "frequency"),
            lowest=_ohms(lowest),
        )
        if curve
        else say("At some frequencies the load may fall to {lowest} (80 % of nominal)", lowest=_ohms(lowest))
    )
    if verdict == "stop":
        text = say(
            "{where}, less than the amplifier's {minimum} allow. {remedy}",
            where=where,
            minimum=minimum,
            remedy=remedy,
        )
    else:
        text = say(
            "{where}. Look in the amplifier's data sheet what its {minimum} are: if a speaker's nominal "
            "figure, "
            "say so under “That figure is” and this load is fine; if the lowest impedance, it is not.",
            where=where,
            minimum=minimum,
        )
    yield Finding(verdict, "lowest-load-below-minimum", text)


def _find_remedy(channel: Channel, ranking: Ranking | None) -> Phrase:
    if ranking is None:
        return say("Put more of them in series, use fewer, or use speakers of higher impedance.")
    best = ranking.best
    if best is None and ranking.total == 1:
        return say("Use a speaker of higher impedance.")
    if best is None:
        return say(
            "No way to join these speakers holds; the table of arrangements says why. Use others, of a "
            "higher impedance or rating."
        )
    network, load = best
    return say(
        "Join them as {network} ({load}), {rank}, or use speakers of higher impedance.",
        network=write_network(network, channel.network.names),
        load=_ohms(load),
        rank="the only way that holds"
        if ranking.holding == 1
        else f"the most even of {ranking.holding} ways that hold",
    )


def _judge_speakers(channel: Channel) -> Iterator[Finding]:
    drive, names = channel.drive, channel.network.names
    over = drive.find_overloaded(channel.driven)
    for place in over:
        yield Finding(
            "stop",
            "speaker-over-rating",
            say(
                "{name} gets {power} and is rated {rating}. Turn the channel's level down for good, join the "
                "speakers another way, or use a stronger one.",
                name=names[place],
                power=_watts(drive.powers[place]),
                rating=_watts(channel.driven[place].rating or 0),
            ),
        )
    clipped = [
        names[place]
        for place, (speaker, power) in enumerate(zip(channel.driven, drive.powers, strict=True))
        if place not in over and speaker.rating is not None and exceeds(CLIPPED_GAIN * power, speaker.rating)
    ]
    if clipped:
        yield Finding(
            "caution",
            "speaker-over-rating-clipped",
            say(
                "When the amplifier is driven into clipping (10 % distortion), {names} would get more than "
                "the rating. "
                "Set the level so that the loudest sound does not clip.",
                names=list_names(clipped),
            ),
        )
    unrated = [name for name, speaker in zip(names, channel.driven, strict=True) if speaker.rating is None]
    if unrated:
        yield Finding(
            "note",
            "rating-missing",
            say(
                "Whether {names} can bear this power is not judged, for no rating is given: read it on the "
                "magnet or in the data sheet and enter it.",
                names=list_names(unrated),
            ),
        )
    if drive.evenness * UNEVEN < 1 - 1e-9:
        low, high = drive.powers.index(min(drive.powers)), drive.powers.index(max(drive.powers))
        very = drive.evenness * VERY_UNEVEN < 1 - 1e-9
        yield Finding(
            "caution" if very else "note",
            "unequal-sharing",
            say(
                "The speakers do not share equally: {high} gets {most}, {low} {least}. Equal speakers in "
                "like places share equally; compare the other arrangements.",
                high=names[high],
                low=names[low],
                most=_watts(drive.powers[high]),
                least=_watts(drive.powers[low]),
            ),
        )


def _judge_amplifier(channel: Channel, rated_power: float | None) -> Iterator[Finding]:
    if rated_power is None:
        return
    power = channel.drive.power
    if exceeds(power, rated_power):
        yield Finding(
            "caution",
            "amplifier-over-rating",
            say(
                "This load takes {power} at full level, more than the {rated} the amplifier is rated for; "
                "it will run "
                "hot and shut down. Keep the level down, cool it, or use a higher load.",
                power=_watts(power),
                rated=_watts(rated_power),
            ),
        )
    elif exceeds(rated_power, CLIPPED_GAIN * power):
        yield Finding(
            "note",
            "rated-power-out-of-reach",
            say(
                "The amplifier's {rated} are not reached here: this supply and load give {power}, and "
                "{clipped} at "
                "10 % distortion.",
                rated=_watts(rated_power),
                power=_watts(power),
                clipped=_watts(CLIPPED_GAIN * power),
            ),
        )


def _judge_contacts(
    channel: Channel,
    outputs: Mapping[str, Cell],
    contacts: int,
    contact_rating: float | None,
    minus_wire: str,
) -> Iterator[Finding]:
    if not contacts or contact_rating is None:
        return
    # What two single outputs return through one contact is taken as twice this channel's.
    shared = not channel.loop.bridge_tied and minus_wire == MINUS_WIRES[1]
    channels = 2 if shared else 1
    peak = channels * channel.loop.find_peak_current(channel.drive.load)
    current = peak * math.sqrt(0.5)
    clipped = current * math.sqrt(CLIPPED_GAIN)
    lowest = channels * channel.loop.find_peak_current(float(outputs["lowest_load"] or 0)) * math.sqrt(0.5)
    subject = "The contact that two channels share carries" if shared else "Each contact carries"
    if exceeds(current, contact_rating):
        yield Finding(
            "stop",
            "contact-over-rating",
            say(
                "{subject} {current} and is rated {rating}. Use stronger contacts, or two in "
                "parallel for "
                "each wire with something to spare, for they never share equally.",
                subject=subject,
                current=_amps(current),
                rating=_amps(contact_rating),
            ),
        )
    elif exceeds(max(clipped, lowest), contact_rating):
        yield Finding(
            "caution",
            "contact-over-rating-at-worst",
            say(
                "{subject} {current} and is rated {rating}, but it would carry {clipped} when the amplifier "
                "is driven into clipping (10 % distortion), and {lowest} at a frequency where the load is "
                "lowest. Set the level so that the loudest sound does not clip, or use stronger contacts.",
                subject=subject,
                current=_amps(current),
                rating=_amps(contact_rating),
                clipped=_amps(clipped),
                lowest=_amps(lowest),
            ),
        )
    elif exceeds(peak, contact_rating):
        yield Finding(
            "note",
            "contact-peak-over-rating",
            say(
                "The peaks of {peak} pass the contact's {rating}, but its heating follows the {current} "
                "r.m.s. of a "
                "full sine, which it holds.",
                peak=_amps(peak),
                rating=_amps(contact_rating),
                current=_amps(current),
            ),
        )


def _judge_outputs(channel: Channel, minus_wire: str) -> Iterator[Finding]:
    if not channel.loop.bridge_tied:
        yield Finding(
            "note",
            "single-ended-capacitor",
            say(
                "A single output stands at half the supply, {half}. The speakers need a series capacitor, "
                "in the "
                "amplifier or in the lead; without it they burn.",
                half=Figure(channel.loop.supply / 2, "voltage"),
            ),
        )
        return
    if minus_wire == MINUS_WIRES[1]:
        yield Finding(
            "stop",
            "bridge-tied-minus-shared",
            say(
                "The minus wires of two channels share a contact: that joins two driven outputs. Give each "
                "of the "
                "four speaker wires a contact of its own."
            ),
        )
    elif minus_wire == MINUS_WIRES[2]:
        yield Finding(
            "stop",
            "bridge-tied-minus-grounded",
            say(
                "The minus wire is joined to ground: that shorts a driven output. Lead both wires straight "
                "to the "
                "speakers and keep them off ground, screen and metal parts."
            ),
        )
    else:
        yield Finding(
            "note",
            "bridge-tied-shares-nothing",
            say(
                "Both speaker wires are driven. Join neither to ground, and never put the minus wires of "
                "two channels "
                "in one contact; each wire crosses the joint in a contact of its own."
            ),
        )


def _judge_lead(outputs: Mapping[str, Cell]) -> Iterator[Finding]:
    loss, damping = float(outputs["cable_loss"] or 0), outputs["damping_factor"]
    if exceeds(loss, LARGE_LOSS):
        yield Finding(
            "caution" if exceeds(loss, LARGEST_LOSS) else "note",
            "lead-loss",
            say(
                "Lead and contacts take {loss}. Use thicker wire, a shorter lead or fewer contacts.",
                loss=Figure(loss, "level", 2),
            ),
        )
    if isinstance(damping, float) and damping < LOWEST_DAMPING:
        yield Finding(
            "note",
            "low-damping",
            say(
                "The damping factor is {damping}; {wanted} is the least asked for in halls. Small speakers "
                "and shakers "
                "work with less, but bass sounds less dry. Thicker wire and better contacts raise it.",
                damping=Figure(damping, "number", 2),
                wanted=Figure(LOWEST_DAMPING, "number"),
            ),
        )


def _judge_lead_heat(channel: Channel, gauge: Gauge) -> Iterator[Finding]:
    current = channel.loop.find_peak_current(channel.drive.load) * math.sqrt(0.5)
    capacity = find_lead_capacity(gauge, "solid")
    if exceeds(current, capacity):
        yield Finding(
            "stop",
            "lead-over-capacity",
            say(
                "The lead carries {current} at full level, but two wires of {gauge} together bear {capacity} "
                "for hours (insulation for {limit}, air of {air}): the insulation would soften. Take a "
                "thicker wire; the wire-gauge calculator says which.",
                current=_amps(current),
                gauge=gauge.label,
                capacity=_amps(capacity),
                limit=Figure(LEAD_LIMIT, "temperature"),
                air=Figure(LEAD_AIR, "temperature"),
            ),
        )


def _judge_faults(faults: Sequence[Fault]) -> Iterator[Finding]:
    bad = [f"{fault.name} {fault.event}" for fault in faults if fault.mark == "stop"]
    if bad:
        yield Finding(
            "note",
            "single-fault-overloads",
            say(
                "One fault can overload the rest: {faults}. See the table of faults; a fuse in the "
                "amplifier's supply "
                "and its own protection have to cover this.",
                faults=list_names(bad),
            ),
        )


def _judge_drivers(channel: Channel, curve: Curve | None) -> Iterator[Finding]:
    if curve is None:
        return
    low, high = OUTSIDE_NOMINAL
    for name, speaker, driver in zip(channel.network.names, channel.driven, channel.drivers, strict=True):
        if driver is not None and not low * speaker.nominal <= driver.re <= high * speaker.nominal:
            yield Finding(
                "caution",
                "re-does-not-fit",
                say(
                    "{name} is {nominal} nominal, but Re is {re}; a meter usually shows 70 % to 85 % of "
                    "nominal. "
                    "Check that the figures belong to this speaker.",
                    name=name,
                    nominal=_ohms(speaker.nominal),
                    re=_ohms(driver.re),
                ),
            )
    unknown = [
        name for name, driver in zip(channel.network.names, channel.drivers, strict=True) if driver is None
    ]
    if unknown:
        yield Finding(
            "note",
            "parameters-missing",
            say(
                "For {names} no parameters are given; 80 % of nominal is used for the lowest load instead.",
                names=list_names(unknown),
            ),
        )


def _note_limits(
    channel: Channel, outputs: Mapping[str, Cell], high_pass: float | None, unknown_names: Sequence[str]
) -> Iterator[Finding]:
    if unknown_names:
        yield Finding(
            "note",
            "names-not-in-network",
            say(
                "No speaker here is called {names}; figures given by that name are not used. Check the "
                "spelling.",
                names=" or ".join(unknown_names),
            ),
        )
    if high_pass is not None and _has_series(channel.network.tree):
        yield Finding(
            "note",
            "capacitor-beside-others",
            say(
                "The capacitors are for a speaker that lies straight across the amplifier. In series with "
                "others its "
                "frequency comes out lower; use one capacitor for the whole chain and its whole impedance."
            ),
        )
    if len(channel.driven) > MOST_ARRANGED:
        yield Finding(
            "note",
            "arrangements-not-listed",
            say(
                "Other arrangements are listed for up to {most} speakers; here there are {count}.",
                most=MOST_ARRANGED,
                count=len(channel.driven),
            ),
        )
    level = outputs["level"]
    if isinstance(level, float) and level >= LOUD:
        yield Finding(
            "note",
            "loud",
            say(
                "{level} at 1 m harms hearing within minutes. Test at low level, wear ear protection at the "
                "bench, "
                "and keep the public at a distance.",
                level=Figure(level, "level"),
            ),
        )


def _has_series(network: Network) -> bool:
    return isinstance(network, Group) and (
        network.joined == "series" or any(_has_series(member) for member in network.members)
    )
