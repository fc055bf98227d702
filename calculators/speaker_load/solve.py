"""Solves one channel: what its speakers ask of the amplifier and what each of them gets. No texts."""

import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from typing import ClassVar

from calculators.notation.units import Ampere, Celsius, Decibel, Hertz, Ohm, Share, Volt, Watt
from calculators.numbers.decibel import find_decibels
from calculators.numbers.rounding import exceeds
from calculators.physics.contacts import JudgedContact
from calculators.physics.copper import find_conductor_factor, find_wire_resistance
from calculators.physics.lead import LEAD_AIR, LEAD_LIMIT, find_lead_capacity
from calculators.speaker_load.channel import (
    CLIPPED_GAIN,
    CLIPPED_SHARE,
    LEAST_COIL,
    LOWEST_SHARE,
    MUSIC_SHARE,
    Channel,
    Drive,
    DrivenSpeaker,
    Fault,
    Limits,
    Loop,
    Trouble,
    drive_network,
    find_faults,
    find_lasting_current,
    find_weight,
)
from calculators.speaker_load.dc_network import MOST_ARRANGED, Group, Joint, Network, find_resistance
from calculators.speaker_load.driver import Curve, Driver
from calculators.speaker_load.given import Given
from calculators.speaker_load.mending import (
    BetterLead,
    LeadTask,
    find_higher_speakers,
    find_quieter_supply,
    find_rating,
    find_rows,
    find_stronger_contact,
    make_chain,
)
from calculators.speaker_load.network import write_network
from calculators.speaker_load.ranking import Proposal, Ranking, make_proposal, rank_arrangements
from calculators.speaker_load.readings import Meter, find_meter

OUTSIDE_NOMINAL = (0.5, 1.0)
"""Share of nominal outside which a voice coil's resistance belongs to another speaker; common practice."""


@dataclass(frozen=True, slots=True)
class SpeakerAtWork:
    """One speaker and what it gets at full sine; `rating` and `driver` are None where they are not known."""

    name: str
    nominal: Ohm
    current: Ampere
    power: Watt
    rating: Watt | None
    driver: Driver | None

    @property
    def music(self) -> Watt:
        """What it gets of loud music."""
        return MUSIC_SHARE * self.power

    @property
    def is_overloaded(self) -> bool:
        """True when it gets more than its rating of music."""
        return self._gets_more_of(MUSIC_SHARE)

    @property
    def is_overloaded_in_clipping(self) -> bool:
        """True when music gives it more than its rating once it clips."""
        return self._gets_more_of(CLIPPED_SHARE) and not self.is_overloaded

    @property
    def is_overloaded_by_tones(self) -> bool:
        """True when nothing but a steady tone gives it more than its rating."""
        return self._gets_more_of(1.0) and not self._gets_more_of(CLIPPED_SHARE)

    def _gets_more_of(self, share: Share) -> bool:
        return self.rating is not None and exceeds(share * self.power, self.rating)


@dataclass(frozen=True, slots=True)
class GroupLoad:
    """One group of the network, as it is `written`, and the resistances of its members."""

    written: str
    joined: Joint
    members: tuple[Ohm, ...]
    load: Ohm
    is_whole: bool


@dataclass(frozen=True, slots=True)
class DriverImpedance:
    """The impedance of speakers with the same parameters where the whole network's is lowest.

    `detuning` is f/fs − fs/f there; the imaginary part is given by its `sign` and size.
    """

    names: tuple[str, ...]
    driver: Driver
    detuning: float
    real: Ohm
    sign: str
    imaginary: Ohm


@dataclass(frozen=True, slots=True)
class SoundTerm:
    """Speakers that do the same for the sound: how many, what each gets, dB at 1 m with 1 W."""

    count: int
    power: Watt
    sensitivity: Decibel


@dataclass(frozen=True, kw_only=True)
class Solved:
    """The channel at full sine, its faults, and every other way to join its speakers.

    `curve` is None when no driver is measured, `ranking` when there are too many speakers to list.
    `lasting_current` is what clipped music sends through the lead; `lowest_load` the least at any frequency,
    by the curve or by the 80 % rule; `amplifier` its inner resistance as far as it damps. `levels` is the
    level against frequency, where drivers change it.
    """

    lowest_share: ClassVar[float] = LOWEST_SHARE
    clipped_gain: ClassVar[float] = CLIPPED_GAIN
    least_coil: ClassVar[float] = LEAST_COIL
    most_arranged: ClassVar[int] = MOST_ARRANGED
    lead_limit: ClassVar[Celsius] = LEAD_LIMIT
    lead_air: ClassVar[Celsius] = LEAD_AIR
    lowest_damping: ClassVar[float] = 25.0  # of a system; a maker's cable guide, which wants 50 for quality

    given: Given
    channel: Channel
    curve: Curve | None
    ranking: Ranking | None
    faults: tuple[Fault, ...]
    speakers: tuple[SpeakerAtWork, ...]
    groups: tuple[GroupLoad, ...]
    impedances: tuple[DriverImpedance, ...]
    sound: tuple[SoundTerm, ...]
    contact: JudgedContact | None
    lowest_load: Ohm
    trouble: Trouble
    lasting_current: Ampere
    peak_current: Ampere
    levels: tuple[tuple[Hertz, Decibel], ...]
    power_at_plug: Watt
    power_at_10_percent: Watt
    efficiency: Share
    supply_current: Ampere
    cable_loss: Decibel
    amplifier: Ohm
    damping_factor: float | None
    level: Decibel | None
    meter: Meter

    @property
    def loop(self) -> Loop:
        """What the current meets but the speakers."""
        return self.channel.loop

    @property
    def drive(self) -> Drive:
        """The speakers at full sine."""
        return self.channel.drive

    @property
    def count(self) -> int:
        """How many speakers there are."""
        return len(self.speakers)

    @property
    def load_at_plug(self) -> Ohm:
        """Of the speakers with lead and contacts."""
        return self.drive.load + self.loop.wiring

    @property
    def whole_loop(self) -> Ohm:
        """All that the current meets."""
        return self.load_at_plug + self.loop.outputs

    @property
    def is_measured(self) -> bool:
        """True when the lowest load is by the drivers' parameters."""
        return self.channel.is_measured

    @property
    def lead_capacity(self) -> Ampere:
        """What the lead's two wires carry for hours."""
        return self.channel.limits.lead

    @property
    def is_contact_shared(self) -> bool:
        """True when two single outputs return through one contact."""
        return self.channel.limits.channels > 1

    @property
    def lowest_peak(self) -> Ampere:
        """The largest current where the load is lowest."""
        return self.loop.find_peak_current(self.lowest_load)

    @cached_property
    def is_strained(self) -> bool:
        """True when clipped music, or a load at its lowest, is too much for something."""
        return self.channel.is_strained(self.given.supply, self.lowest_load)

    @property
    def clipped_power(self) -> Watt:
        """What clipped music gives to all speakers."""
        return CLIPPED_SHARE * self.drive.power

    @property
    def rest_voltage(self) -> Volt:
        """Of an output above ground, no signal."""
        return self.given.supply / 2

    @property
    def quietest(self) -> tuple[Hertz, Decibel]:
        """Where the speakers are quietest, and how far that is below the level at 1 m."""
        frequency, level = min(self.levels, key=lambda point: point[1], default=(0.0, 0.0))
        return frequency, (self.level or 0.0) - level

    @property
    def quietest_place(self) -> Hertz:
        """The frequency at which the speakers are quietest."""
        return self.quietest[0]

    @property
    def quietest_by(self) -> Decibel:
        """How far they are below the level at 1 m there."""
        return self.quietest[1]

    @cached_property
    def other_way(self) -> Proposal | None:
        """How to join these speakers so that they hold, where they do not."""
        return self.ranking.best if self.ranking else find_rows(self.channel)

    @cached_property
    def higher_speakers(self) -> Proposal | None:
        """Speakers of higher impedance that the amplifier allows."""
        return find_higher_speakers(self.channel)

    @property
    def equal_speakers(self) -> Proposal:
        """As many speakers of the largest impedance among them, joined as these are."""
        return self._make_equal(self.channel.network.tree)

    @property
    def equal_chain(self) -> Proposal:
        """The same, all in series."""
        return self._make_equal(make_chain(self.channel))

    def _make_equal(self, network: Network) -> Proposal:
        nominals = self.channel.network.nominals
        return make_proposal(self.channel, network, [max(nominals)] * len(nominals))

    @property
    def own_way(self) -> Proposal:
        """The network as it is reckoned."""
        return make_proposal(self.channel, self.channel.network.tree)

    @cached_property
    def quieter_supply(self) -> Volt | None:
        """A supply at which nothing is strained, also by clipped music."""
        return find_quieter_supply(self.channel, self.lowest_load)

    @property
    def stronger_contact(self) -> Ampere | None:
        """The rating of contacts that bear it."""
        return find_stronger_contact(self.channel.limits, self.peak_current)

    @property
    def larger_limit(self) -> Ampere | None:
        """The current at which an amplifier for this load may cut out."""
        return find_rating(self.lowest_peak)

    @property
    def larger_power(self) -> Watt | None:
        """The rating of an amplifier for this load."""
        return find_rating(self.clipped_power)

    @cached_property
    def better_lead(self) -> BetterLead:
        """A lead that loses little and bears its current."""
        given = self.given
        return LeadTask(
            given.lead_gauge, given.lead_conductor, given.lead_length, given.contacts,
            given.contact_resistance, given.contacts_shared, self.lasting_current, self.drive.load,
        ).find_better()  # fmt: skip

    @property
    def overloaded(self) -> tuple[SpeakerAtWork, ...]:
        """Those that get more than their rating of music."""
        return tuple(speaker for speaker in self.speakers if speaker.is_overloaded)

    @property
    def most_strained(self) -> SpeakerAtWork:
        """The one that gets most for its rating."""
        return self.speakers[self.drive.find_most_strained(self.channel.driven)]

    @property
    def overloaded_in_clipping(self) -> tuple[str, ...]:
        """Those that get more than their rating of clipped music only."""
        return tuple(speaker.name for speaker in self.speakers if speaker.is_overloaded_in_clipping)

    @property
    def overloaded_by_tones(self) -> tuple[str, ...]:
        """Those that get more than their rating of a steady tone only."""
        return tuple(speaker.name for speaker in self.speakers if speaker.is_overloaded_by_tones)

    @property
    def unrated(self) -> tuple[str, ...]:
        """Those whose rating is not known."""
        return tuple(speaker.name for speaker in self.speakers if speaker.rating is None)

    @property
    def unmeasured(self) -> tuple[str, ...]:
        """Those whose small-signal parameters are not known."""
        return tuple(speaker.name for speaker in self.speakers if speaker.driver is None)

    @property
    def without_inductance(self) -> tuple[str, ...]:
        """Those of whose parameters the inductance is missing."""
        drivers = ((speaker.name, speaker.driver) for speaker in self.speakers)
        return tuple(name for name, driver in drivers if driver and driver.le is None)

    @property
    def misfits(self) -> tuple[SpeakerAtWork, ...]:
        """Those whose coil does not fit their nominal impedance."""
        low, high = OUTSIDE_NOMINAL
        return tuple(
            speaker
            for speaker in self.speakers
            if speaker.driver and not low * speaker.nominal <= speaker.driver.re <= high * speaker.nominal
        )

    @property
    def busiest(self) -> SpeakerAtWork:
        """The one that gets most."""
        return max(self.speakers, key=lambda speaker: speaker.power)

    @property
    def idlest(self) -> SpeakerAtWork:
        """The one that gets least."""
        return min(self.speakers, key=lambda speaker: speaker.power)

    @property
    def overloading_faults(self) -> tuple[str, ...]:
        """The faults that overload something."""
        return tuple(f"{fault.name} {fault.event}" for fault in self.faults if fault.outcome)


def solve(given: Given) -> Solved:
    """Find what the channel's speakers ask of the amplifier, and what each gets.

    Speakers that are only listed are joined in the way that leads the ranking.
    """
    channel = _make_channel(given)
    listed = None if given.network.joined else rank_arrangements(channel, LOWEST_SHARE * channel.drive.load)
    if listed is not None:
        given = replace(given, network=replace(given.network, tree=listed.first))
        channel = _make_channel(given)
    network, loop, drive, driven = channel.network, channel.loop, channel.drive, channel.driven
    lowest = channel.find_lowest(network.tree, drive.load)
    curve = channel.find_curve(network.tree)
    amplifier = loop.outputs if given.amplifier_damping is None else drive.load / given.amplifier_damping
    damping = loop.wiring + amplifier
    peak = loop.find_peak_current(drive.load)
    return Solved(
        given=given, channel=channel, curve=curve, ranking=rank_arrangements(channel, lowest),
        faults=tuple(find_faults(channel)), speakers=_list_speakers(channel),
        groups=tuple(_list_groups(network.tree, channel)),
        impedances=_list_impedances(channel, curve) if curve and channel.is_measured else (),
        sound=_list_sound(channel), contact=channel.limits.judge_contact(peak) if given.contacts else None,
        lowest_load=lowest, trouble=channel.find_trouble(drive.load, lowest),
        lasting_current=find_lasting_current(peak), peak_current=peak,
        levels=channel.list_levels() if len(driven) > 1 else (),
        power_at_plug=peak * peak / 2 * (drive.load + loop.wiring),
        power_at_10_percent=CLIPPED_GAIN * drive.power,
        efficiency=loop.find_efficiency(drive.load, given.efficiency),
        supply_current=loop.find_supply_current(drive.load, given.efficiency),
        cable_loss=2 * find_decibels((drive.load + loop.wiring) / drive.load),
        amplifier=amplifier, damping_factor=drive.load / damping if damping > 0 else None,
        level=drive.find_level(driven), meter=find_meter(given, channel),
    )  # fmt: skip


def _make_channel(given: Given) -> Channel:
    network = given.network
    factor = find_conductor_factor(given.lead_gauge.area, given.lead_conductor)
    lead = find_wire_resistance(2 * given.lead_length, given.lead_gauge.area, factor=factor)
    joint = given.contacts * given.contact_resistance / given.contacts_shared
    loop = Loop(given.supply, given.bridge_tied, given.on_resistance, lead, joint)
    drive = drive_network(loop, network.tree, network.nominals)
    # What two single outputs return through one contact is taken as twice this channel's.
    is_shared = not given.bridge_tied and given.minus_wire == "shares a contact"
    limits = Limits(
        given.current_limit, given.rated_power, given.contact_rating if given.contacts else None,
        given.contacts_shared, 2 if is_shared else 1,
        find_lead_capacity(given.lead_gauge, given.lead_conductor) if given.lead_length else math.inf,
    )  # fmt: skip
    return Channel(
        network, _list_driven(given), loop, given.minimum_load, given.minimum_meaning, limits,
        tuple(given.find_figures(speaker).driver for speaker in network.speakers),
        (given.band_low, given.band_high), drive,
    )  # fmt: skip


def _list_driven(given: Given) -> tuple[DrivenSpeaker, ...]:
    driven = []
    for speaker in given.network.speakers:
        known = given.find_figures(speaker)
        level, per_volts = known.sensitivity, given.sensitivity_reference == "2.83 V"
        weight = None if level is None else find_weight(level, speaker.nominal, per_volts)
        driven.append(DrivenSpeaker(speaker.nominal, known.rating, weight))
    return tuple(driven)


def _list_speakers(channel: Channel) -> tuple[SpeakerAtWork, ...]:
    drive = channel.drive
    return tuple(
        SpeakerAtWork(name, speaker.nominal, current, power, speaker.rating, driver)
        for name, speaker, current, power, driver in zip(
            channel.network.names, channel.driven, drive.currents, drive.powers, channel.drivers, strict=True
        )
    )


def _list_groups(network: Network, channel: Channel) -> Iterator[GroupLoad]:
    """Yield every group, the innermost first."""
    if not isinstance(network, Group):
        return
    for member in network.members:
        yield from _list_groups(member, channel)
    nominals = channel.network.nominals
    yield GroupLoad(
        write_network(network, channel.network.names),
        network.joined,
        tuple(find_resistance(member, nominals) for member in network.members),
        find_resistance(network, nominals),
        network is channel.network.tree,
    )


def _list_impedances(channel: Channel, curve: Curve) -> tuple[DriverImpedance, ...]:
    frequency = curve.lowest_place
    found = []
    for driver in dict.fromkeys(driver for driver in channel.drivers if driver is not None):
        pairs = zip(channel.network.names, channel.drivers, strict=True)
        names = tuple(name for name, own in pairs if own == driver)
        detuning = frequency / driver.fs - driver.fs / frequency
        real, imaginary = driver.find_impedance(frequency)
        sign = "−" if imaginary < 0 else "+"
        found.append(DriverImpedance(names, driver, detuning, real, sign, abs(imaginary)))
    return tuple(found)


def _list_sound(channel: Channel) -> tuple[SoundTerm, ...]:
    sounding = Counter(
        (power, speaker.weight)
        for speaker, power in zip(channel.driven, channel.drive.powers, strict=True)
        if speaker.weight is not None
    )
    return tuple(
        SoundTerm(count, power, find_decibels(weight)) for (power, weight), count in sounding.items()
    )
