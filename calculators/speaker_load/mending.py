"""Figures that mend a channel: other ways to join its speakers, other speakers, a supply, a lead."""

import math
from bisect import bisect_left
from dataclasses import dataclass, replace

from calculators.notation.gauge import Gauge
from calculators.notation.units import Ampere, Metre, Ohm, Volt
from calculators.numbers.decibel import find_power_ratio
from calculators.physics.copper import ConductorKind, find_conductor_factor, find_resistance_per_metre
from calculators.physics.lead import find_lead_capacity
from calculators.physics.wire_run import list_awg, list_metric
from calculators.speaker_load.channel import LOWEST_SHARE, MUSIC_SHARE, Channel, Limits, drive_network
from calculators.speaker_load.dc_network import Network, Part, join
from calculators.speaker_load.ranking import Proposal, make_proposal

SUPPLIES = (*(tenths / 10 for tenths in range(10, 100)), *(halves / 2 for halves in range(20, 201)))
"""Voltages in V that are proposed for a supply, such as one sets: tenths below 10 V, halves above."""

IMPEDANCES = (2, 3, 4, 6, 8, 16, 32, 64, 100, 150, 250, 300, 400, 600, 1000, 2000)
"""Nominal impedances in Ω that speakers and headphones are sold with; common practice."""

RATINGS = tuple(step * decade for decade in (0.1, 1, 10, 100, 1000) for step in (1, 1.5, 2, 3, 5, 7.5))
"""Amperes and watts that contacts and amplifiers are sold for, small to large; common practice."""

LARGE_LOSS, LARGEST_LOSS = 0.5, 1.0
"""Loss in lead and contacts in dB that is worth a note, and one worth mending (a fifth of the power)."""

MOST_SHARED = 20
"""Contacts side by side that are proposed at most; the field takes no more."""


def find_quieter_supply(channel: Channel, lowest: Ohm) -> Volt | None:
    """Return the highest of SUPPLIES at which nothing is strained, also in clipping; None below all."""
    fitting = bisect_left(SUPPLIES, True, key=lambda supply: channel.is_strained(supply, lowest))
    return SUPPLIES[fitting - 1] if fitting else None


def find_rating(least: float) -> float | None:
    """Return the smallest of RATINGS that is not below, None beyond them."""
    return next((rating for rating in RATINGS if rating >= least), None)


def find_stronger_contact(limits: Limits, peak: Ampere) -> Ampere | None:
    """Return the smallest of RATINGS with which the contacts bear music with peaks of so many A."""
    enough = (one for one in RATINGS if not replace(limits, contact=one).judge_contact(peak).trouble)
    return next(enough, None)


def find_rows(channel: Channel) -> Proposal | None:
    """Return the speakers as equally long rows in parallel, the shortest that hold; None where none do."""
    nominals, count = channel.network.nominals, len(channel.driven)
    for length in (length for length in range(1, count + 1) if count % length == 0):
        rows = [join("series", _list_parts(first, length)) for first in range(0, count, length)]
        network = join("parallel", rows)
        drive = drive_network(channel.loop, network, nominals)
        trouble = channel.find_trouble(drive.load, channel.find_lowest(network, drive.load))
        if not trouble and not drive.find_overloaded(channel.driven, MUSIC_SHARE):
            return make_proposal(channel, network)
    return None


def find_higher_speakers(channel: Channel) -> Proposal | None:
    """Return speakers of higher impedance, all in series, that the amplifier allows; None if not sold."""
    nominals, network = channel.network.nominals, make_chain(channel)
    least = channel.minimum / (LOWEST_SHARE if channel.meaning == "the lowest impedance" else 1.0)
    ratio = max(1.0, least / math.fsum(nominals))
    higher = [next((one for one in IMPEDANCES if one >= ratio * nominal), 0.0) for nominal in nominals]
    return make_proposal(channel, network, higher) if all(higher) else None


def make_chain(channel: Channel) -> Network:
    """Return all speakers in series."""
    return join("series", _list_parts(0, len(channel.driven)))


def _list_parts(first: int, count: int) -> list[Network]:
    return [Part(number) for number in range(first, first + count)]


@dataclass(frozen=True, slots=True)
class BetterLead:
    """What keeps the loss of lead and contacts small: a `gauge`, or where no wire on sale does, a `length`.

    `shared` contacts lie side by side, each of `contact` Ω.
    """

    gauge: Gauge | None
    length: Metre
    shared: int
    contact: Ohm


@dataclass(frozen=True, slots=True)
class LeadTask:
    """The lead as it is, the current that warms it and the load in Ω behind it."""

    gauge: Gauge
    kind: ConductorKind
    length: Metre
    contacts: int
    contact: Ohm
    shared: int
    current: Ampere
    load: Ohm

    def find_better(self) -> BetterLead:
        """Return what makes its loss LARGE_LOSS at most, or where no wire does that, a shorter lead."""
        allowed = (find_power_ratio(LARGE_LOSS / 2) - 1) * self.load
        single = self.contacts * self.contact
        # Half of what is allowed is left to the wire.
        shared = max(self.shared, math.ceil(single / (allowed / 2) - 1e-9))
        contact = self.contact
        if shared > MOST_SHARED:
            shared, contact = self.shared, _round_down(allowed / 2 * self.shared / self.contacts)
        room = allowed - self.contacts * contact / shared
        sold = list_awg() if self.gauge.label.endswith("AWG") else list_metric()
        sizes = (self.gauge, *(size for size in sold if size.area > self.gauge.area))
        gauge = next((size for size in sizes if self._suits(size, room)), None)
        return BetterLead(gauge, _round_down(room / (2 * self._find_resistance(self.gauge))), shared, contact)

    def _suits(self, size: Gauge, room: Ohm) -> bool:
        return (
            find_lead_capacity(size, self.kind) >= self.current
            and 2 * self.length * self._find_resistance(size) <= room
        )

    def _find_resistance(self, size: Gauge) -> float:
        return find_resistance_per_metre(size.area, factor=find_conductor_factor(size.area, self.kind))


def _round_down(value: float) -> float:
    """Return the largest number of two figures that is not above a positive value."""
    step = 1.0
    while value < 10 * step:
        step /= 10
    while value >= 100 * step:
        step *= 10
    return float(f"{math.floor(value / step) * step:.2g}")
