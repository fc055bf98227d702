"""A feed lost, or one of several contacts open: what the others then carry, and what voltage is left."""

from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

from calculators.led_current.feed_fuse import find_usual_opening
from calculators.led_current.ladder import Feed, UniformLadder, solve_uniform
from calculators.notation.units import Ampere, Ohm, Volt
from calculators.physics.fuse import Opening

PAIRS_TRIED = 4
"""Neighbours of which either is taken away: up to five feeds that is each of them."""


@dataclass(frozen=True, slots=True)
class LostFeed:
    """The worst that losing one feed brings, all channels on.

    With the one at node `lost` gone, that at `bearer` carries `current`, more than any feed with any other
    gone; `opening` is when its fuse opens, None without one. With the one at node `missed` gone, LED
    `lowest_led` is left with `lowest`, the least.
    """

    lost: int
    bearer: int
    current: Ampere
    opening: Opening | None
    missed: int
    lowest_led: int
    lowest: Volt

    @property
    def flows(self) -> bool:
        """False when such currents could never flow."""
        return self.lowest > 0


@lru_cache(maxsize=64)
def find_lost_feed(held: UniformLadder, fuses: tuple[Ampere | None, ...]) -> LostFeed | None:
    """Return what the loss of one feed brings; None where there is only one. `fuses` are the feeds'."""
    nodes = [feed.node for feed in held.feeds]
    if len(nodes) == 1:
        return None
    losses = []
    for index in _list_tried(held.feed_currents):
        others = held.feeds[:index] + held.feeds[index + 1 :]
        left = solve_uniform(held.supply, held.current, held.segment, held.count, others)
        current = max(left.feed_currents)
        most = left.feed_currents.index(current)
        losses.append((index, most if most < index else most + 1, current, *left.find_lowest()))
    lost, bearer, current, _, _ = max(losses, key=lambda loss: loss[2])
    missed, _, _, led, lowest = min(losses, key=lambda loss: loss[-1])
    fuse = fuses[bearer]
    return LostFeed(
        nodes[lost], nodes[bearer], current, find_usual_opening(fuse, current) if fuse else None,
        nodes[missed], led, lowest,
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class OpenContact:
    """One contact of a group open, in the loop of the busiest feed: LED `lowest_led` then has `lowest`."""

    lowest_led: int
    lowest: Volt


def find_open_contact(held: UniformLadder, index: int, more: Ohm) -> OpenContact:
    """Return what is left where the feed of this index has so much more resistance."""
    feeds = list(held.feeds)
    feeds[index] = Feed(feeds[index].node, feeds[index].resistance + more)
    solved = solve_uniform(held.supply, held.current, held.segment, held.count, feeds)
    return OpenContact(*solved.find_lowest())


def _list_tried(currents: tuple[Ampere, ...]) -> list[int]:
    """Return the outer feeds and the pairs that carry most: one of a pair takes over from the other."""
    weights = [left + right for left, right in pairwise(currents)]
    pairs = sorted(range(len(weights)), key=lambda one: -weights[one])[:PAIRS_TRIED]
    return sorted({0, len(currents) - 1, *pairs, *(one + 1 for one in pairs)})
