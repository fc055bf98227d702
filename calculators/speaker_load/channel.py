"""One amplifier channel at work: a sine at the edge of clipping, through the real loop into the speakers.

Nominal impedances are taken as resistances, the convention of every power figure of the trade. Powers are
those of a sine; what gets warm is judged on music of the same peaks.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal, get_args

from calculators.notation.units import Ampere, Hertz, Ohm, Share, Volt, Watt
from calculators.numbers.decibel import find_decibels, find_power_ratio
from calculators.numbers.rounding import exceeds
from calculators.physics.contacts import JudgedContact, judge_contact
from calculators.speaker_load.dc_network import Network, find_currents, find_resistance
from calculators.speaker_load.driver import (
    Curve,
    Driver,
    find_curve,
    find_shares,
    list_frequencies,
)
from calculators.speaker_load.network import SpeakerNetwork

CLIPPED_GAIN = 1.25
"""Power at 10 % distortion over unclipped power: two makers' data sheets of class-D amplifier chips."""

LOWEST_SHARE = 0.8
"""An impedance may fall to this share of its rated value: IEC 60268-5, the 80 % rule."""

LEAST_COIL = 0.65
"""No speaker sold under a nominal impedance measures less than this share of it; common practice."""

MUSIC_SHARE = 0.25
"""Power of loud music over that of a full sine of the same peaks: a tenth to a quarter, common practice."""

CLIPPED_SHARE = 0.5
"""The same of music driven into clipping; hence programme ratings of twice the lasting: common practice."""

LEVELS_END = 2000.0
"""Hz above which real coils have much less than their stated inductance, so that no level is told."""


def find_lasting_current(peak: Ampere) -> Ampere:
    """Return the r.m.s. current in A that warms wires and contacts: clipped music with peaks of so many A."""
    return peak * math.sqrt(CLIPPED_SHARE / 2)


@dataclass(frozen=True, slots=True)
class Loop:
    """All that the current meets but the speakers, and the supply.

    `on_resistance` is that of one output (switch and coil), `lead` out and back, `joint` all contacts.
    """

    supply: Volt
    bridge_tied: bool
    on_resistance: Ohm
    lead: Ohm
    joint: Ohm

    @property
    def peak_voltage(self) -> Volt:
        """Largest voltage across the loop: the supply between two outputs, half of it at one."""
        return self.supply if self.bridge_tied else self.supply / 2

    @property
    def outputs(self) -> Ohm:
        """Resistance of the outputs in the loop."""
        return 2 * self.on_resistance if self.bridge_tied else self.on_resistance

    @property
    def wiring(self) -> Ohm:
        """Resistance between the amplifier's plug and the speakers."""
        return self.lead + self.joint

    def find_peak_current(self, load: float) -> float:
        """Return the largest current in A into a load in Ω; none into an open or a shorted one."""
        return self.peak_voltage / (self.outputs + self.wiring + load) if 0 < load < math.inf else 0.0

    def find_short_current(self) -> float:
        """Return the largest current in A with the load shorted, limited by the rest of the loop."""
        resistance = self.outputs + self.wiring
        return self.peak_voltage / resistance if resistance else math.inf

    def find_efficiency(self, load: float, efficiency: float) -> float:
        """Return the efficiency into this load: the amplifier's, or what its outputs' resistance leaves."""
        outside = load + self.wiring
        return min(efficiency, outside / (outside + self.outputs))

    def find_supply_current(self, load: float, efficiency: float) -> float:
        """Return the mean current in A at full sine; `efficiency` is power at the plug over power drawn."""
        current = self.find_peak_current(load)
        power = current * current / 2 * (load + self.wiring)
        return power / (self.find_efficiency(load, efficiency) * self.supply)


@dataclass(frozen=True, slots=True)
class DrivenSpeaker:
    """One speaker to the channel; its rating and its `weight` in sound per watt where they are known."""

    nominal: Ohm
    rating: Watt | None
    weight: float | None


@dataclass(frozen=True, slots=True)
class Drive:
    """The speakers at full sine: their `load`, and by number r.m.s. `currents` and `powers`."""

    load: Ohm
    currents: tuple[Ampere, ...]
    powers: tuple[Watt, ...]

    @property
    def power(self) -> Watt:
        """Power into all speakers."""
        return math.fsum(self.powers)

    @property
    def evenness(self) -> Share:
        """Smallest power of a speaker over the largest; 1 when all get the same."""
        largest = max(self.powers)
        return min(self.powers) / largest if largest else 0.0

    def find_level(self, driven: Sequence[DrivenSpeaker]) -> float | None:
        """Return the sound pressure level in dB at 1 m, powers added; None when no sensitivity is known."""
        sound = math.fsum(
            [
                speaker.weight * power
                for speaker, power in zip(driven, self.powers, strict=True)
                if speaker.weight is not None
            ]
        )
        return find_decibels(sound) if sound > 0 else None

    def find_overloaded(self, driven: Sequence[DrivenSpeaker], share: Share) -> tuple[int, ...]:
        """Return the numbers of the speakers to which so much of a full sine is more than their rating."""
        return tuple(
            number
            for number, (speaker, power) in enumerate(zip(driven, self.powers, strict=True))
            if speaker.rating is not None and exceeds(share * power, speaker.rating)
        )

    def find_most_strained(self, driven: Sequence[DrivenSpeaker]) -> int:
        """Return the number of the speaker with the most power for its rating."""
        strains = [
            power / speaker.rating if speaker.rating else 0.0
            for speaker, power in zip(driven, self.powers, strict=True)
        ]
        return strains.index(max(strains))


def drive_network(loop: Loop, network: Network, resistances: Sequence[float]) -> Drive:
    """Return the state at full sine; a resistance of 0 is a shorted speaker, infinity an open one."""
    load = find_resistance(network, resistances)
    current = loop.find_peak_current(load) * math.sqrt(0.5)
    currents = find_currents(network, resistances, current)
    powers = tuple(
        [flow * flow * value if flow else 0.0 for flow, value in zip(currents, resistances, strict=True)]
    )
    return Drive(load, currents, powers)


def find_weight(sensitivity: float, nominal: float, per_volts: bool) -> float:
    """Return a speaker's sound at 1 m for one watt, as a power ratio.

    `sensitivity` is in dB at 1 W, or at 2.83 V (the square root of 8 V, 1 W into 8 Ω) if `per_volts`.
    """
    return find_power_ratio(sensitivity) * (nominal / 8 if per_volts else 1.0)


type Meaning = Literal["not known", "a speaker's nominal", "the lowest impedance"]
"""What an amplifier's smallest load is a figure of."""

MEANINGS: tuple[Meaning, ...] = get_args(Meaning.__value__)


@dataclass(frozen=True, slots=True)
class Limits:
    """What amplifier, contacts and lead bear, as far as it is known.

    The amplifier cuts out at `cut_out`, a peak, and is made for the power `rated`; `contact` is one
    contact's rating, of which `shared` lie side by side for the current of so many `channels`; `lead` is
    what its two wires carry for hours.
    """

    cut_out: Ampere | None
    rated: Watt | None
    contact: Ampere | None
    shared: int
    channels: int
    lead: Ampere

    def judge_contact(self, peak: Ampere) -> JudgedContact:
        """Judge one contact for music with peaks of so many A in each channel."""
        return judge_contact(self.channels * find_lasting_current(peak), self.shared, self.contact)

    def is_passed(self, peak: Ampere) -> bool:
        """Return whether peaks of so many A are too much for something."""
        return (
            (self.cut_out is not None and exceeds(peak, self.cut_out))
            or exceeds(find_lasting_current(peak), self.lead)
            or self.judge_contact(peak).trouble == "over rating"
        )


type Trouble = Literal["load", "current", ""]
"""What is wrong with a load: too low for the amplifier, or its current too much for something else."""


@dataclass(frozen=True, slots=True)
class Channel:
    """A whole channel: its speakers, its loop, the smallest load that its amplifier allows, and its limits.

    `drivers` holds, by number, the small-signal parameters that are known, `band` what is played; `drive` is
    the state at full sine.
    """

    network: SpeakerNetwork
    driven: tuple[DrivenSpeaker, ...]
    loop: Loop
    minimum: Ohm
    meaning: Meaning
    limits: Limits
    drivers: tuple[Driver | None, ...]
    band: tuple[Hertz, Hertz]
    drive: Drive

    @property
    def is_measured(self) -> bool:
        """True when the lowest impedance is known from parameters: no coil's inductance is missing."""
        known = [driver for driver in self.drivers if driver is not None]
        return bool(known) and all(driver.le is not None for driver in known)

    def find_curve(self, network: Network) -> Curve | None:
        """Return the impedance over the band, or None when no driver's parameters are known.

        Speakers without parameters count at 80 % of nominal throughout, so that the minimum stays on the
        safe side.
        """
        if not any(self.drivers):
            return None
        return find_curve(network, self._list_loads(LOWEST_SHARE), *self.band)

    def find_lowest(self, network: Network, load: Ohm) -> Ohm:
        """Return the lowest impedance of these speakers so joined, by parameters or by the 80 % rule."""
        curve = self.find_curve(network) if self.is_measured else None
        return curve.lowest[1] if curve else LOWEST_SHARE * load

    def list_levels(self) -> tuple[tuple[Hertz, float], ...]:
        """Return the level in dB at 1 m over the band, a speaker's own response taken as flat.

        That response is stated at a constant voltage: what the network adds is how the voltage across each
        speaker changes. Up to LEVELS_END; empty where nothing changes it, or no level is known.
        """
        if self.drive.find_level(self.driven) is None or not any(self.drivers):
            return ()
        outside = self.loop.outputs + self.loop.wiring
        frequencies = tuple(one for one in list_frequencies(*self.band) if one <= LEVELS_END)
        shares = find_shares(self.network.tree, self._list_loads(1.0), frequencies, outside)
        half = self.loop.peak_voltage * self.loop.peak_voltage / 2
        sounding = [
            (half * speaker.weight / speaker.nominal, share)
            for speaker, share in zip(self.driven, shares, strict=True)
            if speaker.weight is not None
        ]
        return tuple(
            (
                frequency,
                find_decibels(math.fsum([sound * share[at] * share[at] for sound, share in sounding])),
            )
            for at, frequency in enumerate(frequencies)
        )

    def _list_loads(self, share: Share) -> tuple[Driver | Ohm, ...]:
        return tuple(
            driver or share * speaker.nominal
            for driver, speaker in zip(self.drivers, self.driven, strict=True)
        )

    def find_trouble(self, load: Ohm, lowest: Ohm) -> Trouble:
        """Return what is wrong with a load in Ω that falls to `lowest` Ω.

        Unless it is said otherwise, the smallest load is taken as the trade takes it: as a speaker's nominal
        figure, which allows for the 80 % rule. Below what any coil of that figure measures it is another's.
        """
        if self.meaning == "the lowest impedance":
            is_low = exceeds(self.minimum, lowest)
        else:
            is_low = exceeds(self.minimum, load) or exceeds(LEAST_COIL * self.minimum, lowest)
        if is_low:
            return "load"
        return "current" if self.limits.is_passed(self.loop.find_peak_current(load)) else ""

    def is_strained(self, supply: Volt, lowest: Ohm) -> bool:
        """Return whether this supply is too much for something, in clipping or where the load is lowest."""
        loop = replace(self.loop, supply=supply)
        drive, limits = self.drive, self.limits
        if supply != self.loop.supply:
            drive = drive_network(loop, self.network.tree, self.network.nominals)
        peak = loop.find_peak_current(drive.load)
        return (
            limits.is_passed(peak)
            or bool(limits.judge_contact(peak).trouble)
            or (limits.cut_out is not None and exceeds(loop.find_peak_current(lowest), limits.cut_out))
            or (limits.rated is not None and exceeds(CLIPPED_SHARE * drive.power, limits.rated))
            or bool(drive.find_overloaded(self.driven, CLIPPED_SHARE))
        )


type Outcome = Literal["shorted", "load", "current", "rating", ""]


@dataclass(frozen=True, slots=True)
class Fault:
    """What a fault of one speaker does: the `load` left, the total `power`, the hardest worked speaker.

    `peak_current` is the amplifier's, were it to give all that the loop takes. `outcome` is what is wrong
    then; `overloaded` is a speaker that gets more than its rating of music, "" for none; `silent` are those
    that the fault silences too.
    """

    name: str
    event: Literal["opens", "shorts"]
    load: Ohm
    peak_current: Ampere
    power: Watt
    busiest: str
    busiest_power: Watt
    outcome: Outcome
    overloaded: str
    silent: tuple[str, ...]


def find_faults(channel: Channel) -> Iterator[Fault]:
    """Yield what happens when each speaker opens, and when it shorts."""
    for number in range(len(channel.driven)):
        yield _find_fault(channel, number, "opens", math.inf)
        yield _find_fault(channel, number, "shorts", 0.0)


def _find_fault(channel: Channel, number: int, event: Literal["opens", "shorts"], value: Ohm) -> Fault:
    """Return what happens when the resistance of this number becomes `value`."""
    loop, names, nominals = channel.loop, channel.network.names, channel.network.nominals
    drive = drive_network(loop, channel.network.tree, (*nominals[:number], value, *nominals[number + 1 :]))
    load, powers = drive.load, drive.powers
    busiest = powers.index(max(powers))
    outcome, over = _judge_fault(channel, drive)
    return Fault(
        name=names[number], event=event, load=load,
        peak_current=loop.find_peak_current(load) if load else loop.find_short_current(),
        power=drive.power, busiest=names[busiest], busiest_power=powers[busiest],
        outcome=outcome, overloaded=names[over[0]] if over else "",
        silent=tuple(
            name
            for other, (name, power) in enumerate(zip(names, powers, strict=True))
            if not power and other != number
        ),
    )  # fmt: skip


def _judge_fault(channel: Channel, drive: Drive) -> tuple[Outcome, tuple[int, ...]]:
    """Return what is wrong with what is left, and the numbers of speakers that get too much of it."""
    if drive.load == 0:
        return "shorted", ()
    trouble = channel.find_trouble(drive.load, LOWEST_SHARE * drive.load)
    if trouble:
        return trouble, ()
    over = drive.find_overloaded(channel.driven, MUSIC_SHARE)
    return "rating" if over else "", over
