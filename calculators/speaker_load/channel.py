"""One amplifier channel at work: a sine at the edge of clipping, through the real loop into the speakers.

Nominal impedances are taken as resistances, the convention of every power figure of the trade. Powers are
those of a sine; music of the same peak has a tenth to a quarter of them on average.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal, get_args

from calculators.notation.units import Ampere, Ohm, Share, Volt, Watt
from calculators.numbers.decibel import find_decibels, find_power_ratio
from calculators.numbers.rounding import exceeds
from calculators.speaker_load.dc_network import Network, find_currents, find_resistance
from calculators.speaker_load.driver import Curve, Driver, find_curve
from calculators.speaker_load.network import SpeakerNetwork

CLIPPED_GAIN = 1.25
"""Power at 10 % distortion over unclipped power: two makers' data sheets of class-D amplifier chips."""

LOWEST_SHARE = 0.8
"""An impedance may fall to this share of its rated value: IEC 60268-5, the 80 % rule."""


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

    def find_overloaded(self, driven: Sequence[DrivenSpeaker]) -> tuple[int, ...]:
        """Return the numbers of the speakers that get more than their rating."""
        return tuple(
            number
            for number, (speaker, power) in enumerate(zip(driven, self.powers, strict=True))
            if speaker.rating is not None and exceeds(power, speaker.rating)
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
class Channel:
    """A whole channel: its speakers, its loop, and the smallest load that its amplifier allows.

    `drivers` holds, by number, the small-signal parameters that are known; `drive` is the state at full sine.
    """

    network: SpeakerNetwork
    driven: tuple[DrivenSpeaker, ...]
    loop: Loop
    minimum: Ohm
    meaning: Meaning
    drivers: tuple[Driver | None, ...]
    drive: Drive

    @property
    def measured(self) -> bool:
        """True when the parameters of at least one driver are known."""
        return any(driver is not None for driver in self.drivers)

    def find_curve(self, low: float, high: float) -> Curve | None:
        """Return the impedance between two frequencies in Hz, or None when no driver's parameters are known.

        Speakers without parameters count at 80 % of nominal throughout, so that the minimum stays on the
        safe side.
        """
        if not self.measured:
            return None
        loads = tuple(
            driver or LOWEST_SHARE * speaker.nominal
            for driver, speaker in zip(self.drivers, self.driven, strict=True)
        )
        return find_curve(self.network.tree, loads, low, high)

    def judge_load(self, load: float, lowest: float) -> Literal["stop", "caution", ""]:
        """Return how a load in Ω that falls to `lowest` Ω stands against the amplifier's smallest load."""
        shortfall = exceeds(self.minimum, lowest)
        if self.meaning == "the lowest impedance":
            return "stop" if shortfall else ""
        # A nominal figure allows for the 80 % rule; below that no reading of the data sheet helps.
        if exceeds(self.minimum, load) or exceeds(LOWEST_SHARE * self.minimum, lowest):
            return "stop"
        return "caution" if shortfall and self.meaning == "not known" else ""


@dataclass(frozen=True, slots=True)
class Fault:
    """What a fault of one speaker does: the `load` left, the total `power`, the hardest worked speaker.

    `peak_current` is the amplifier's, were it to give all that the loop takes. `overloaded` is a speaker
    that gets more than its rating, "" for none; `silent` are those that the fault silences too.
    """

    name: str
    event: Literal["opens", "shorts"]
    load: Ohm
    peak_current: Ampere
    power: Watt
    busiest: str
    busiest_power: Watt
    mark: Literal["stop", "caution", ""]
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
    mark, over = _judge_fault(channel, drive)
    return Fault(
        name=names[number], event=event, load=load,
        peak_current=loop.find_peak_current(load) if load else loop.find_short_current(),
        power=drive.power, busiest=names[busiest], busiest_power=powers[busiest],
        mark=mark, overloaded=names[over[0]] if over else "",
        silent=tuple(
            name
            for other, (name, power) in enumerate(zip(names, powers, strict=True))
            if not power and other != number
        ),
    )  # fmt: skip


def _judge_fault(channel: Channel, drive: Drive) -> tuple[Literal["stop", "caution", ""], tuple[int, ...]]:
    """Return the mark of what is left, and the numbers of speakers that get too much of a load that holds."""
    if drive.load == 0:
        return "stop", ()
    if drive.load == math.inf:
        return "", ()
    mark = channel.judge_load(drive.load, LOWEST_SHARE * drive.load)
    over = () if mark == "stop" else drive.find_overloaded(channel.driven)
    return "stop" if over else mark, over
