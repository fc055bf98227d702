"""Solves one channel: what its speakers ask of the amplifier and what each of them gets. No texts."""

import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import ClassVar, Literal

from calculators.notation.units import Ampere, Celsius, Decibel, Ohm, Share, Watt
from calculators.numbers.decibel import find_decibels
from calculators.numbers.rounding import exceeds
from calculators.physics.copper import find_wire_resistance
from calculators.physics.lead import LEAD_AIR, LEAD_LIMIT, find_lead_capacity
from calculators.speaker_load.channel import (
    CLIPPED_GAIN,
    LOWEST_SHARE,
    Channel,
    Drive,
    DrivenSpeaker,
    Fault,
    Loop,
    drive_network,
    find_faults,
    find_weight,
)
from calculators.speaker_load.dc_network import MOST_ARRANGED, Group, Joint, Network, find_resistance
from calculators.speaker_load.driver import Curve, Driver
from calculators.speaker_load.given import Given
from calculators.speaker_load.network import write_network
from calculators.speaker_load.ranking import Ranking, rank_arrangements
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
    def is_overloaded(self) -> bool:
        """True when it gets more than its rating."""
        return self.rating is not None and exceeds(self.power, self.rating)


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


@dataclass(frozen=True, slots=True)
class ContactLoad:
    """What one contact carries: r.m.s. `current`, `clipped` at 10 % distortion, `lowest` at the lowest load.

    `is_shared` is true for one through which two single outputs return.
    """

    rating: Ampere
    is_shared: bool
    current: Ampere
    peak: Ampere
    clipped: Ampere
    lowest: Ampere

    @property
    def trouble(self) -> Literal["current", "worst", "peak", ""]:
        """The first of its currents that passes the rating: at full level, at worst, or in peaks alone."""
        if exceeds(self.current, self.rating):
            return "current"
        if exceeds(max(self.clipped, self.lowest), self.rating):
            return "worst"
        return "peak" if exceeds(self.peak, self.rating) else ""


@dataclass(frozen=True, kw_only=True)
class Solved:
    """The channel at full sine, its faults, and every other way to join its speakers.

    `curve` is None when no driver is measured, `ranking` when there are too many speakers to list. `current`
    is the r.m.s. one in the lead; `lowest_load` the least at any frequency, by the curve or by the 80 %
    rule; `amplifier` its inner resistance as far as it damps; `load_verdict` how the load stands against
    the smallest allowed.
    """

    lowest_share: ClassVar[float] = LOWEST_SHARE
    clipped_gain: ClassVar[float] = CLIPPED_GAIN
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
    contact: ContactLoad | None
    lowest_load: Ohm
    load_verdict: Literal["stop", "caution", ""]
    current: Ampere
    peak_current: Ampere
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
    def lead_capacity(self) -> Ampere:
        """What the lead's two wires carry for hours."""
        return find_lead_capacity(self.given.lead_gauge, "solid")

    @property
    def overloaded(self) -> tuple[SpeakerAtWork, ...]:
        """Those that get more than their rating."""
        return tuple(speaker for speaker in self.speakers if speaker.is_overloaded)

    @property
    def overloaded_in_clipping(self) -> tuple[str, ...]:
        """Those that would get more than their rating at 10 % distortion only."""
        return tuple(
            speaker.name
            for speaker in self.speakers
            if speaker.rating is not None
            and not speaker.is_overloaded
            and exceeds(CLIPPED_GAIN * speaker.power, speaker.rating)
        )

    @property
    def unrated(self) -> tuple[str, ...]:
        """Those whose rating is not known."""
        return tuple(speaker.name for speaker in self.speakers if speaker.rating is None)

    @property
    def unmeasured(self) -> tuple[str, ...]:
        """Those whose small-signal parameters are not known."""
        return tuple(speaker.name for speaker in self.speakers if speaker.driver is None)

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
        return tuple(f"{fault.name} {fault.event}" for fault in self.faults if fault.mark == "stop")


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
    curve = channel.find_curve(given.band_low, given.band_high)
    lowest = curve.lowest[1] if curve else LOWEST_SHARE * drive.load
    amplifier = loop.outputs if given.amplifier_damping is None else drive.load / given.amplifier_damping
    damping = loop.wiring + amplifier
    peak = loop.find_peak_current(drive.load)
    return Solved(
        given=given, channel=channel, curve=curve, ranking=rank_arrangements(channel, lowest),
        faults=tuple(find_faults(channel)), speakers=_list_speakers(channel),
        groups=tuple(_list_groups(network.tree, channel)),
        impedances=_list_impedances(channel, curve) if curve else (), sound=_list_sound(channel),
        contact=_find_contact(given, loop, drive.load, lowest),
        lowest_load=lowest, load_verdict=channel.judge_load(drive.load, lowest),
        current=peak * math.sqrt(0.5), peak_current=peak,
        power_at_plug=peak * peak / 2 * (drive.load + loop.wiring),
        power_at_10_percent=CLIPPED_GAIN * drive.power,
        efficiency=loop.find_efficiency(drive.load, given.efficiency),
        supply_current=loop.find_supply_current(drive.load, given.efficiency),
        cable_loss=2 * find_decibels((drive.load + loop.wiring) / drive.load),
        amplifier=amplifier, damping_factor=drive.load / damping if damping > 0 else None,
        level=drive.find_level(driven), meter=find_meter(channel),
    )  # fmt: skip


def _make_channel(given: Given) -> Channel:
    network = given.network
    lead = find_wire_resistance(2 * given.lead_length, given.lead_gauge.area)
    joint = given.contacts * given.contact_resistance
    loop = Loop(given.supply, given.bridge_tied, given.on_resistance, lead, joint)
    drive = drive_network(loop, network.tree, network.nominals)
    return Channel(
        network, _list_driven(given), loop, given.minimum_load, given.minimum_meaning,
        tuple(given.find_figures(speaker).driver for speaker in network.speakers), drive,
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


def _find_contact(given: Given, loop: Loop, load: Ohm, lowest: Ohm) -> ContactLoad | None:
    if not given.contacts or given.contact_rating is None:
        return None
    # What two single outputs return through one contact is taken as twice this channel's.
    is_shared = not loop.bridge_tied and given.minus_wire == "shares a contact"
    channels = 2 if is_shared else 1
    peak = channels * loop.find_peak_current(load)
    current = peak * math.sqrt(0.5)
    return ContactLoad(
        given.contact_rating, is_shared, current, peak, current * math.sqrt(CLIPPED_GAIN),
        channels * loop.find_peak_current(lowest) * math.sqrt(0.5),
    )  # fmt: skip
