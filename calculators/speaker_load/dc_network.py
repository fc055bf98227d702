"""Networks of resistances in series and in parallel: resistance, currents, and every way to join given parts.

A network is a tree: a `Part` is one resistance by its number in a list, a `Group` joins two or more
networks. A series group holds no series group and a parallel group no parallel group, so that one circuit
has one tree.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations_with_replacement, product
from typing import Literal

type Joint = Literal["series", "parallel"]
type Network = Part | Group

JOINTS: tuple[tuple[Joint, Joint], ...] = (("series", "parallel"), ("parallel", "series"))
"""Each way to join, with the other one."""

MOST_ARRANGED = 6
"""More parts have too many arrangements to list: seven different ones already have 78 416 (OEIS A006351)."""


@dataclass(frozen=True, slots=True)
class Part:
    """One resistance, by its number in the list of resistances."""

    number: int


@dataclass(frozen=True, slots=True)
class Group:
    """Two or more networks `joined` in series or in parallel."""

    joined: Joint
    members: tuple[Network, ...]


def join(joint: Joint, members: Sequence[Network]) -> Network:
    """Return the members joined; one joined the same way is taken apart, so that the tree stays unique."""
    flat: list[Network] = []
    for member in members:
        if isinstance(member, Group) and member.joined == joint:
            flat.extend(member.members)
        else:
            flat.append(member)
    return flat[0] if len(flat) == 1 else Group(joint, tuple(flat))


def list_numbers(network: Network) -> tuple[int, ...]:
    """Return the numbers of the network's parts, in the order they are met."""
    if isinstance(network, Part):
        return (network.number,)
    return tuple(number for member in network.members for number in list_numbers(member))


def find_resistance(network: Network, resistances: Sequence[float]) -> float:
    """Return the resistance in Ω; a part of 0 is a short circuit and one of infinity is open."""
    if isinstance(network, Part):
        return resistances[network.number]
    values = [find_resistance(member, resistances) for member in network.members]
    return math.fsum(values) if network.joined == "series" else join_parallel(values)


def join_parallel(values: Sequence[float]) -> float:
    """Return the resistance in Ω of these in parallel, short (0) and open (infinite) ones included."""
    if min(values) == 0:
        return 0.0
    conductance = math.fsum(1 / value for value in values)
    return 1 / conductance if conductance else math.inf


def find_currents(network: Network, resistances: Sequence[float], current: float = 1.0) -> tuple[float, ...]:
    """Return the current in A through every part, by number, when `current` in A flows through the network.

    An open network carries none. Several short circuits in parallel share equally.
    """
    currents = [0.0] * len(resistances)
    if find_resistance(network, resistances) < math.inf:
        _share_current(network, resistances, current, currents)
    return tuple(currents)


def _share_current(
    network: Network, resistances: Sequence[float], current: float, currents: list[float]
) -> None:
    if isinstance(network, Part):
        currents[network.number] = current
    elif network.joined == "series":
        for member in network.members:
            _share_current(member, resistances, current, currents)
    else:
        values = [find_resistance(member, resistances) for member in network.members]
        if min(values) == 0:
            weights = [1.0 if value == 0 else 0.0 for value in values]
        else:
            weights = [1 / value for value in values]
        total = math.fsum(weights)
        for member, weight in zip(network.members, weights, strict=True):
            if weight:
                _share_current(member, resistances, current * (weight / total), currents)


@dataclass(frozen=True, slots=True)
class Arrangements:
    """Every distinct way to join parts of a few kinds, as a list in which each network uses earlier ones.

    `steps` are (joint, members): a part has the joint "" and its kind as only member; members of a group
    are numbers of earlier steps. `whole` are the numbers of the steps that use all parts.
    """

    steps: tuple[tuple[Joint | Literal[""], tuple[int, ...]], ...]
    whole: tuple[int, ...]

    def find_resistances(self, kinds: Sequence[float]) -> list[float]:
        """Return the resistance in Ω of every step, for kinds of these positive resistances in Ω."""
        values: list[float] = []
        inverses: list[float] = []
        for joint, members in self.steps:
            if joint == "series":
                values.append(sum(map(values.__getitem__, members)))
                inverses.append(1 / values[-1])
            elif joint == "parallel":
                inverses.append(sum(map(inverses.__getitem__, members)))
                values.append(1 / inverses[-1])
            else:
                values.append(kinds[members[0]])
                inverses.append(1 / values[-1])
        return values

    def make_network(self, step: int, numbers: Sequence[Sequence[int]]) -> Network:
        """Return a step as a network; `numbers` are, for each kind, the numbers of the parts of that kind."""
        waiting = [iter(kind) for kind in numbers]
        return self._make(step, waiting)

    def _make(self, step: int, waiting: Sequence[Iterator[int]]) -> Network:
        joint, members = self.steps[step]
        if joint == "":
            return Part(next(waiting[members[0]]))
        made = [self._make(member, waiting) for member in members]
        # In the order of their parts, so that the same speakers stand where their owner wrote them.
        return Group(joint, tuple(sorted(made, key=lambda member: min(list_numbers(member)))))


@lru_cache(maxsize=32)
def list_arrangements(counts: tuple[int, ...]) -> Arrangements:
    """Return every distinct series-parallel network of `counts[k]` parts of each kind k.

    Networks that differ only in the order of members, or in which of two parts of one kind stands where,
    are one. Raises ValueError for no parts, a negative count, or more than MOST_ARRANGED parts.
    """
    if min(counts, default=0) < 0 or not 1 <= sum(counts) <= MOST_ARRANGED:
        raise ValueError(f"arrangements are listed for 1 to {MOST_ARRANGED} parts, got {counts}")
    steps: list[tuple[Joint | Literal[""], tuple[int, ...]]] = []
    # For each choice of parts: the networks that may be a member of a series group, and of a parallel one.
    members_of: dict[Joint, dict[tuple[int, ...], list[int]]] = {"series": {}, "parallel": {}}
    choices = sorted(
        product(*(range(count + 1) for count in counts)), key=lambda choice: (sum(choice), choice)
    )
    whole: list[int] = []
    for choice in choices[1:]:
        whole = []
        if sum(choice) == 1:
            steps.append(("", (choice.index(1),)))
            whole = [len(steps) - 1]
            members_of["series"][choice] = members_of["parallel"][choice] = whole
            continue
        for joint, other in JOINTS:
            first = len(steps)
            for split in _split_choice(choice, choice):
                if len(split) > 1:
                    steps.extend((joint, members) for members in _pick_members(split, members_of[joint]))
            # A group in series may stand in a parallel group, and the other way about.
            members_of[other][choice] = list(range(first, len(steps)))
            whole.extend(members_of[other][choice])
    return Arrangements(tuple(steps), tuple(whole))


@lru_cache(maxsize=32)
def _index_steps(counts: tuple[int, ...]) -> Mapping[tuple[Joint | Literal[""], tuple[int, ...]], int]:
    return {step: number for number, step in enumerate(list_arrangements(counts).steps)}


def find_step(network: Network, kinds: Sequence[int], counts: tuple[int, ...]) -> int:
    """Return the number of the step of `list_arrangements(counts)` that is this network.

    `kinds` gives the kind of the part at each number.
    """
    if isinstance(network, Part):
        return _index_steps(counts)["", (kinds[network.number],)]
    members = tuple(sorted(find_step(member, kinds, counts) for member in network.members))
    return _index_steps(counts)[network.joined, members]


def _split_choice(choice: tuple[int, ...], largest: tuple[int, ...]) -> Iterator[tuple[tuple[int, ...], ...]]:
    """Yield every way to split a choice of parts into smaller ones, none after a smaller one."""
    if not any(choice):
        yield ()
        return
    for first in product(*(range(count, -1, -1) for count in choice)):
        if any(first) and first <= largest:
            rest = tuple(count - taken for count, taken in zip(choice, first, strict=True))
            for others in _split_choice(rest, first):
                yield (first, *others)


def _pick_members(
    split: tuple[tuple[int, ...], ...], known: dict[tuple[int, ...], list[int]]
) -> Iterator[tuple[int, ...]]:
    """Yield every choice of one network for each choice of parts, equal ones without regard to order."""
    repeats = [(choice, split.count(choice)) for choice in dict.fromkeys(split)]
    picks = (combinations_with_replacement(known[choice], count) for choice, count in repeats)
    for picked in product(*picks):
        yield tuple(sorted(number for group in picked for number in group))
