"""A d.c. distributor: loads along two conductors with resistance, fed at one or several places.

The textbook's "distributor" is an LED strip too: taps (LEDs) along a pair of copper tracks, whose out and
back resistance per section is taken together. Everything is solved for the drop below the supply, with
the resistance of each feed's leads and contacts included.

Nodes are numbered along the string. A uniform string of `count` taps has its taps at nodes 1 to `count`
and bare ends at node 0 and node `count` + 1, one section away from the first and the last tap.
Source of the method: the d.c. distributor of textbooks on power systems (sum of moments of the loads,
fed at one or both ends); tridiagonal elimination after L. H. Thomas.
"""

import math
from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise


@dataclass(frozen=True, slots=True)
class Feed:
    """A place where the supply reaches the string: its `node`, and `resistance` of leads and contacts, Ω."""

    node: int
    resistance: float


def solve_tridiagonal(
    lower: Sequence[float], diagonal: Sequence[float], upper: Sequence[float], right: Sequence[float]
) -> list[float]:
    """Return x of the tridiagonal system lower·x[i-1] + diagonal·x[i] + upper·x[i+1] = right, by elimination.

    `lower[0]` and the last of `upper` are not used. The systems here are diagonally dominant, so that no
    pivoting is needed.
    """
    ratios, shares = [], []
    ratio = share = 0.0
    for below, middle, above, target in zip(lower, diagonal, upper, right, strict=True):
        pivot = middle - below * ratio
        ratio = above / pivot
        share = (target - below * share) / pivot
        ratios.append(ratio)
        shares.append(share)
    value = shares[-1]
    values = [value]
    for ratio, share in zip(reversed(ratios[:-1]), reversed(shares[:-1]), strict=True):
        value = share - ratio * value
        values.append(value)
    values.reverse()
    return values


def solve_ladder(
    supply: float,
    segments: Sequence[float],
    taps: Sequence[float],
    feeds: Sequence[Feed],
    slopes: Sequence[float] | None = None,
) -> tuple[float, ...]:
    """Return the voltage in V at every node of any ladder.

    `segments[i]` is the out and back resistance in Ω (above zero) between node i and node i + 1; the tap at
    node i draws `taps[i]` + `slopes[i]` · voltage, in A. Raises ValueError when lists do not fit together or
    nothing feeds the ladder.
    """
    _check_feeds(feeds, len(taps) - 1)
    if len(segments) != len(taps) - 1 or min(segments, default=1.0) <= 0:
        raise ValueError(
            f"{len(taps)} nodes need {len(taps) - 1} sections with resistance, got {len(segments)}"
        )
    slopes = slopes if slopes is not None else [0.0] * len(taps)
    joined = [0.0, *(1.0 / segment for segment in segments), 0.0]
    lower = [-conductance for conductance in joined[:-1]]
    upper = [-conductance for conductance in joined[1:]]
    diagonal = [left + right + slope for left, right, slope in zip(joined, joined[1:], slopes, strict=False)]
    drawn = [tap + slope * supply for tap, slope in zip(taps, slopes, strict=True)]
    for feed in feeds:
        # The whole row is multiplied by the feed's resistance, so that a feed without any is no special case.
        node, resistance = feed.node, feed.resistance
        lower[node] *= resistance
        upper[node] *= resistance
        diagonal[node] = 1.0 + resistance * diagonal[node]
        drawn[node] *= resistance
    return tuple(supply - drop for drop in solve_tridiagonal(lower, diagonal, upper, drawn))


@dataclass(frozen=True, slots=True)
class UniformLadder:
    """A string of equal taps with equal sections, solved in closed form; made by `solve_uniform`.

    `feed_drops` (V) and `feed_currents` (A) stand in the order of `feeds`, which is sorted by node.
    """

    supply: float
    current: float
    segment: float
    count: int
    feeds: tuple[Feed, ...]
    feed_drops: tuple[float, ...]
    feed_currents: tuple[float, ...]

    def find_drops(self, nodes: Iterable[int]) -> list[float]:
        """Return how far below the supply each of the nodes lies, in V."""
        places, at_feeds, outer = [feed.node for feed in self.feeds], self.feed_drops, self.count + 1
        first, last = places[0], places[-1]
        step = self.segment * self.current
        drops = []
        for node in nodes:
            if node <= first:
                drops.append(at_feeds[0] + step * (_sum_below(first) - _sum_below(node)))
            elif node >= last:
                drops.append(at_feeds[-1] + step * (_sum_below(outer - last) - _sum_below(outer - node)))
            else:
                span = bisect_right(places, node)
                start, end = places[span - 1], places[span]
                before, after = at_feeds[span - 1], at_feeds[span]
                along = (node - start) / (end - start)
                drops.append(before + (after - before) * along + step * (node - start) * (end - node) / 2)
        return drops

    def find_drop(self, node: int) -> float:
        """Return how far below the supply `node` lies, in V."""
        return self.find_drops((node,))[0]

    def find_voltages(self, nodes: Iterable[int]) -> list[float]:
        """Return the voltage at each node in V; below zero means that such currents cannot flow at all."""
        return [self.supply - drop for drop in self.find_drops(nodes)]

    def find_voltage(self, node: int) -> float:
        """Return the voltage at one node in V, which may be below zero as well."""
        return self.find_voltages((node,))[0]

    def find_lowest(self) -> tuple[int, float]:
        """Return the tap (1 to `count`) with the lowest voltage and that voltage (V); of equals the first."""
        step = self.segment * self.current
        places = {1, self.count}
        for left, right, before, after in zip(
            self.feeds, self.feeds[1:], self.feed_drops, self.feed_drops[1:], strict=False
        ):
            # Between two feeds the drop is a parabola; its summit lies at or beside this place.
            span = right.node - left.node
            summit = left.node + span / 2 + ((after - before) / (span * step) if step > 0 else 0.0)
            for place in (math.floor(summit), math.ceil(summit)):
                places.add(min(max(place, left.node, 1), right.node, self.count))
        places.update(min(max(feed.node, 1), self.count) for feed in self.feeds)
        worst, worst_drop = 1, -math.inf
        ordered = sorted(places)
        for place, drop in zip(ordered, self.find_drops(ordered), strict=True):
            if drop > worst_drop + 1e-12 * self.supply:
                worst, worst_drop = place, drop
        return worst, self.supply - worst_drop

    def find_total_drop(self) -> float:
        """Return the drops of all taps added up, in V; times the tap current it is the power lost."""
        step = self.segment * self.current
        first, last = self.feeds[0].node, self.count + 1 - self.feeds[-1].node
        total = max(0, first - 1) * self.feed_drops[0] + max(0, last - 1) * self.feed_drops[-1]
        for beyond in (first, last):
            # Past an outer feed: the sum of S(beyond) - S(x) for x = 1 … beyond - 1, S(x) = x (x - 1)/2.
            total += step * beyond * (beyond - 1) * (2 * beyond - 1) / 6
        total += math.fsum(
            drop
            for feed, drop in zip(self.feeds, self.feed_drops, strict=True)
            if 1 <= feed.node <= self.count
        )
        for left, right, before, after in zip(
            self.feeds, self.feeds[1:], self.feed_drops, self.feed_drops[1:], strict=False
        ):
            span = right.node - left.node
            total += (before + after) / 2 * (span - 1) + step * (span * span * span - span) / 12
        return total

    def list_voltages(self) -> tuple[float, ...]:
        """Return the voltages of nodes 0 to `count` + 1 in V."""
        return tuple(self.find_voltages(range(self.count + 2)))


def share_taps(places: Sequence[int], count: int) -> list[float]:
    """Return how many of `count` taps hang on each feed, at `places` from left to right.

    These are its own, half of those between it and its neighbours, and all that lie beyond an outer feed.
    """
    between = [0, *(right - left - 1 for left, right in pairwise(places)), 0]
    shares = [
        (1 if 1 <= place <= count else 0) + (left + right) / 2
        for place, left, right in zip(places, between, between[1:], strict=False)
    ]
    shares[0] += max(0, places[0] - 1)
    shares[-1] += max(0, count - places[-1])
    return shares


def solve_uniform(
    supply: float, current: float, segment: float, count: int, feeds: Sequence[Feed]
) -> UniformLadder:
    """Solve a string of `count` taps that each hold `current` (A), whatever voltage reaches them.

    `segment` is one section's out and back resistance in Ω, above zero. Only the feeds are unknowns, as in
    the sum of moments: each span between two feeds hangs half of its load on either. Raises ValueError for
    feeds outside nodes 0 to `count` + 1 or two at one node.
    """
    if segment <= 0 or count < 1:
        raise ValueError(
            f"a string needs at least one tap and sections with resistance, got {count} and {segment}"
        )
    ordered = tuple(sorted(feeds, key=lambda feed: feed.node))
    _check_feeds(ordered, count + 1)
    places = [feed.node for feed in ordered]
    spans = [right - left for left, right in pairwise(places)]
    conductances = [1.0 / (segment * span) for span in spans]
    leftward, rightward = [0.0, *conductances], [*conductances, 0.0]
    loads = [current * taps for taps in share_taps(places, count)]
    weights = [feed.resistance for feed in ordered]
    drops = solve_tridiagonal(
        [-weight * left for weight, left in zip(weights, leftward, strict=True)],
        [1.0 + w * (left + right) for w, left, right in zip(weights, leftward, rightward, strict=True)],
        [-weight * right for weight, right in zip(weights, rightward, strict=True)],
        [weight * load for weight, load in zip(weights, loads, strict=True)],
    )
    currents = list(loads)
    for index, conductance in enumerate(conductances):
        passing = (drops[index + 1] - drops[index]) * conductance
        currents[index] += passing
        currents[index + 1] -= passing
    return UniformLadder(supply, current, segment, count, ordered, tuple(drops), tuple(currents))


@lru_cache(maxsize=64)
def solve_falling(
    supply: float,
    current: float,
    full: float,
    dark: float,
    segment: float,
    count: int,
    feeds: tuple[Feed, ...],
) -> tuple[float, ...]:
    """Return the voltages of nodes 0 to `count` + 1 when each tap's current falls with its voltage.

    A tap draws `current` (A) from `full` volts upwards, nothing at `dark` volts, and a straight line between.
    Newton's method: with a straight line for every tap below `full`, the system is tridiagonal; the taps on
    the line are chosen anew until the choice stands. The line lies nowhere below the true current, so that
    every round's voltages are too low or right and rise from round to round: a tap that has left the line
    never has to go back, and the rounds end. Raises ValueError unless `full` is above `dark`.
    """
    if not full > dark:
        raise ValueError(
            f"the current has to fall from the full voltage down to the dark one, got {full} and {dark}"
        )
    if supply <= dark:
        return (supply,) * (count + 2)
    held = solve_uniform(supply, current, segment, count, feeds)
    if held.find_lowest()[1] >= full:
        return held.list_voltages()
    # One row per node, multiplied by the section's resistance: both neighbours then have the weight -1.
    firm = [1.0, *([2.0] * count), 1.0]
    for feed in feeds:
        firm[feed.node] += segment / feed.resistance if feed.resistance > 0 else math.inf
    # A string that is the same from either end is solved up to its middle, in half the time.
    mirrored = firm == firm[::-1]
    size = (count + 3) // 2 if mirrored else count + 2
    slope = segment * current / (full - dark)
    on_line = [row + slope for row in firm[:size]]
    held_drop, line_drop = segment * current, slope * (supply - dark)
    falling = [False, *([True] * count), False][:size]  # the bare ends draw nothing
    while True:
        rows = [line if fell else plain for fell, line, plain in zip(falling, on_line, firm, strict=False)]
        drawn = [line_drop if fell else held_drop for fell in falling]
        drawn[0] = 0.0
        if not mirrored:
            drawn[-1] = 0.0
        elif count % 2:  # the middle is a node, and both its neighbours are one
            rows[-1] /= 2
            drawn[-1] /= 2
        else:  # the middle lies between two nodes alike
            rows[-1] -= 1
        voltages = [supply - drop for drop in _solve_unit_couplings(rows, drawn)]
        chosen = [fell and voltage < full for fell, voltage in zip(falling, voltages, strict=True)]
        if chosen == falling:
            return (*voltages, *reversed(voltages[: count + 2 - size]))
        falling = chosen


def place_evenly(count: int, number: int) -> tuple[int, ...]:
    """Return the nodes of `number` feeds, each in the middle of an equal share of `count` taps."""
    edges = [index * count // number for index in range(number + 1)]
    return tuple((start + 1 + end) // 2 for start, end in pairwise(edges))


def find_feeds_needed(
    supply: float, current: float, segment: float, count: int, resistance: float, floor: float, most: int
) -> int | None:
    """Return the smallest number of evenly placed feeds that keeps every tap at `floor` volts or above.

    Each feed has leads and contacts of `resistance` Ω. Returns None where `most` feeds are not enough.
    """
    allowed = (supply - floor) * (1 + 1e-12)

    def find_group_drop(size: int) -> float:
        half = size // 2
        return current * (resistance * size + segment * half * (half + 1) / 2)

    def holds(number: int) -> bool:
        feeds = [Feed(node, resistance) for node in place_evenly(count, number)]
        return supply - solve_uniform(supply, current, segment, count, feeds).find_lowest()[1] <= allowed

    group, large = 0, count
    while group < large:  # the largest group that one feed keeps above the floor on its own
        middle = (group + large + 1) // 2
        group, large = (middle, large) if find_group_drop(middle) <= allowed else (group, middle - 1)
    limit = min(most, count)
    enough = min(limit, -(-count // group)) if group else limit
    # Unequal groups help or burden each other a little, so that the exact solution has the last word.
    while enough < limit and not holds(enough):
        enough += 1
    if not holds(enough):
        return None
    # One group less is hardly ever enough.
    too_few = 0 if enough > 1 and holds(enough - 1) else enough - 1
    while enough - too_few > 1:
        middle = (enough + too_few) // 2
        too_few, enough = (too_few, middle) if holds(middle) else (middle, enough)
    return enough


def _solve_unit_couplings(diagonal: Sequence[float], right: Sequence[float]) -> list[float]:
    """Return x of diagonal·x[i] - x[i-1] - x[i+1] = right, by the same elimination as `solve_tridiagonal`.

    A row whose diagonal is infinite is held at zero.
    """
    ratio = share = 0.0
    rows = []
    for middle, target in zip(diagonal, right, strict=True):
        ratio = 1.0 / (middle - ratio)
        share = (target + share) * ratio
        rows.append((ratio, share))
    value = 0.0
    values = []
    for ratio, share in reversed(rows):
        value = share + ratio * value
        values.append(value)
    values.reverse()
    return values


def _sum_below(node: int) -> float:
    return node * (node - 1) / 2


def _check_feeds(feeds: Sequence[Feed], last_node: int) -> None:
    places = [feed.node for feed in feeds]
    if not places or len(set(places)) != len(places) or min(places) < 0 or max(places) > last_node:
        raise ValueError(f"give one or several feeds at different nodes from 0 to {last_node}, got {places}")
    if min(feed.resistance for feed in feeds) < 0:
        raise ValueError("a feed's resistance cannot be below zero")
