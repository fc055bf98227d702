"""Every way to join a channel's speakers: reckoned once for the speakers, judged for the amplifier, ranked.

How the power is shared depends on the speakers alone, so one pass over all networks, each built from smaller
ones, serves every supply, lead and amplifier. Only the rows that are looked at are worked out in full.
"""

import math
from bisect import bisect_left
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import islice

from calculators.notation.showing import write_quantity
from calculators.notation.units import Decibel, Ohm
from calculators.numbers.rounding import ROUNDING
from calculators.speaker_load.channel import (
    LOWEST_SHARE,
    MUSIC_SHARE,
    Channel,
    Drive,
    DrivenSpeaker,
    Trouble,
    drive_network,
)
from calculators.speaker_load.dc_network import (
    MOST_ARRANGED,
    Network,
    find_resistance,
    find_step,
    list_arrangements,
    list_numbers,
)
from calculators.speaker_load.network import write_network

MOST_ROWS = 500
"""Arrangements that are listed: all 472 of five different speakers, the best of the 5504 of six."""

MOST_TRIED = 12
"""Arrangements whose measured impedance is looked at for one to propose; each takes a curve."""


@dataclass(frozen=True, slots=True)
class Survey:
    """All arrangements of some speakers, the most even first, then by rising load.

    By rank: `steps` are numbers in the list of arrangements, `loads` in Ω, `strains` the largest share of
    the power over the rating in 1/W, 0 where no rating is known. `ranks` leads back from the step;
    `ascending` are the loads sorted, with infinity for what no arrangement reaches.
    """

    steps: tuple[int, ...]
    loads: tuple[float, ...]
    strains: tuple[float, ...]
    ranks: Mapping[int, int]
    ascending: tuple[float, ...]


@lru_cache(maxsize=16)
def survey_arrangements(counts: tuple[int, ...], kinds: tuple[DrivenSpeaker, ...]) -> Survey:
    """Return all arrangements of `counts[k]` speakers of each kind k."""
    arrangements = list_arrangements(counts)
    loads: list[float] = []
    inverses: list[float] = []
    # Of the power into each step: what its least and its most favoured speaker takes, and the worst strain.
    least: list[float] = []
    most: list[float] = []
    strains: list[float] = []
    for joint, members in arrangements.steps:
        if joint == "":
            speaker = kinds[members[0]]
            loads.append(speaker.nominal)
            inverses.append(1 / speaker.nominal)
            least.append(1.0)
            most.append(1.0)
            strains.append(1 / speaker.rating if speaker.rating else 0.0)
            continue
        # Power goes by resistance in series and by its inverse in parallel.
        own, other = (loads, inverses) if joint == "series" else (inverses, loads)
        total, low, high, strain = 0.0, math.inf, 0.0, 0.0
        for member in members:
            weight = own[member]
            total += weight
            low = min(low, weight * least[member])
            high = max(high, weight * most[member])
            strain = max(strain, weight * strains[member])
        own.append(total)
        other.append(1 / total)
        least.append(low / total)
        most.append(high / total)
        strains.append(strain / total)
    # Evenness is rounded, so that what is equal but for dust comes in the order of its load.
    steps = sorted(arrangements.whole, key=lambda step: (-round(least[step] / most[step], 9), loads[step]))
    ranked = [loads[step] for step in steps]
    return Survey(
        tuple(steps),
        tuple(ranked),
        tuple([strains[step] for step in steps]),
        {step: rank for rank, step in enumerate(steps)},
        (*sorted(ranked), math.inf),
    )


@dataclass(frozen=True, slots=True)
class RankedArrangement:
    """One row: a network, the speakers at work in it, what is wrong with it, its level in dB.

    `chosen` marks the network that was given; `overloaded` is the speaker that gets most for its rating,
    where that is why the network does not hold, else "".
    """

    network: Network
    drive: Drive
    chosen: bool
    trouble: Trouble
    overloaded: str
    level: Decibel | None


@dataclass(frozen=True, slots=True)
class Proposal:
    """Another network: how it is `written` for people, what to put into the field, its `load`."""

    written: str
    entry: str
    load: Ohm


def make_proposal(channel: Channel, network: Network, nominals: Sequence[Ohm] | None = None) -> Proposal:
    """Return a network of the channel's speakers as a proposal, or of others with their names."""
    names, own = channel.network.names, channel.network.nominals
    values = own if nominals is None else nominals
    labels = [f"{name}:{value:.12g}" for name, value in zip(names, values, strict=True)]
    shown: Sequence[str] = names
    if nominals is not None:
        shown = [
            f"{name} {write_quantity(value, 'resistance')}" for name, value in zip(names, values, strict=True)
        ]
    load = find_resistance(network, values)
    return Proposal(write_network(network, shown), write_network(network, labels), load)


@dataclass(frozen=True, eq=False)
class Ranking:
    """All arrangements of the channel's speakers: those that hold first, of these the most even on top.

    Speakers with the same figures are one kind: exchanging them is no new arrangement. By kind there are
    `counts` of speakers and their `numbers`; `chosen` is the rank of the network as given and `lowest` its
    lowest load in Ω; the others are judged by the 80 % rule.
    """

    channel: Channel
    lowest: Ohm
    counts: tuple[int, ...]
    numbers: tuple[tuple[int, ...], ...]
    survey: Survey
    chosen: int

    @cached_property
    def marks(self) -> list[bool]:
        """Of every arrangement by rank whether something stops it."""
        channel, loop = self.channel, self.channel.loop
        # The verdict on a load only gets better as the load rises: a threshold stands for it.
        ascending = self.survey.ascending
        allowed = ascending[
            bisect_left(ascending, True, hi=self.total, key=lambda load: not self._find_trouble(load))
        ]
        # Power is V² / 2 · R / (R + r)², and a strain times music's share of it above 1 is too much.
        outside, half = loop.outputs + loop.wiring, loop.peak_voltage * loop.peak_voltage / 2
        music = MUSIC_SHARE * half * (1 - ROUNDING)
        marks = [
            load < allowed or music * load * strain > (load + outside) * (load + outside)
            for load, strain in zip(self.survey.loads, self.survey.strains, strict=True)
        ]
        if not channel.drive.find_overloaded(channel.driven, MUSIC_SHARE):
            marks[self.chosen] = bool(channel.find_trouble(channel.drive.load, self.lowest))
        return marks

    def _find_trouble(self, load: Ohm) -> Trouble:
        return self.channel.find_trouble(load, LOWEST_SHARE * load)

    @property
    def total(self) -> int:
        """How many arrangements there are."""
        return len(self.survey.steps)

    @cached_property
    def holding(self) -> int:
        """How many of them hold."""
        return self.marks.count(False)

    @cached_property
    def first(self) -> Network:
        """The arrangement that leads the ranking, whether it holds or not."""
        return self._make_network(min(range(self.total), key=self.marks.__getitem__))

    @cached_property
    def best(self) -> Proposal | None:
        """The first arrangement that holds, also by what is measured, or None."""
        channel = self.channel
        for rank in islice((rank for rank, stopped in enumerate(self.marks) if not stopped), MOST_TRIED):
            proposal = make_proposal(channel, network := self._make_network(rank))
            lowest = channel.find_lowest(network, proposal.load)
            if not channel.find_trouble(proposal.load, lowest):
                return proposal
        return None

    @cached_property
    def rows(self) -> tuple[RankedArrangement, ...]:
        """The first MOST_ROWS arrangements, the given one always among them."""
        ranks = sorted(range(self.total), key=self.marks.__getitem__)
        shown = ranks[:MOST_ROWS]
        if self.chosen not in shown:
            shown[-1] = self.chosen
        return tuple(self._make_row(rank) for rank in shown)

    def _make_network(self, rank: int) -> Network:
        if rank == self.chosen:
            return self.channel.network.tree
        return list_arrangements(self.counts).make_network(self.survey.steps[rank], self.numbers)

    def _make_row(self, rank: int) -> RankedArrangement:
        channel, chosen = self.channel, rank == self.chosen
        network = self._make_network(rank)
        drive = drive_network(channel.loop, network, channel.network.nominals)
        lowest = self.lowest if chosen else LOWEST_SHARE * drive.load
        trouble = channel.find_trouble(drive.load, lowest)
        over = self.marks[rank] and not trouble
        overloaded = channel.network.names[drive.find_most_strained(channel.driven)] if over else ""
        return RankedArrangement(
            network, drive, chosen, trouble, overloaded, drive.find_level(channel.driven)
        )


def rank_arrangements(channel: Channel, lowest: float) -> Ranking | None:
    """Return the ranking of the channel's arrangements, or None when there are too many speakers to list."""
    if len(channel.driven) > MOST_ARRANGED:
        return None
    kinds = tuple(dict.fromkeys(channel.driven))
    kind_of = tuple(kinds.index(speaker) for speaker in channel.driven)
    counts = tuple(kind_of.count(kind) for kind in range(len(kinds)))
    order = list_numbers(channel.network.tree)
    numbers = tuple(
        tuple(number for number in order if kind_of[number] == kind) for kind in range(len(kinds))
    )
    survey = survey_arrangements(counts, kinds)
    return Ranking(
        channel,
        lowest,
        counts,
        numbers,
        survey,
        survey.ranks[find_step(channel.network.tree, kind_of, counts)],
    )
