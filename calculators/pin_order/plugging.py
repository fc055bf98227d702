"""Plugging in: the likely ways a plug meets a source, each judged, and the made-up lead between them."""

from collections.abc import Sequence
from functools import cached_property, lru_cache
from typing import NamedTuple

from calculators.pin_order.crossing import Crossing, find_crossing
from calculators.pin_order.joined_nets import Limits
from calculators.pin_order.mating import Judgement, judge_mating
from calculators.pin_order.plug import Pairs, Plug, Role, find_pairs

WAYS = ("straight", "reversed", "shifted_left", "shifted_right")
WAY_WORDS = {
    "straight": "straight",
    "reversed": "the wrong way round",
    "shifted_left": "one place too far left",
    "shifted_right": "one place too far right",
}


class JudgedMatings(dict[str, Judgement]):
    """The judgements of one board on a source by way of plugging in, each found when it is asked for."""

    def __init__(
        self, source: tuple[Role, ...], board: tuple[Role, ...], limits: Limits, rows: int, mirrored: bool
    ) -> None:
        super().__init__()
        self.source, self.board, self.limits = source, board, limits
        self.rows, self.mirrored = rows, mirrored
        self.crossing = find_crossing(source, board, limits)

    def __missing__(self, way: str) -> Judgement:
        pairs = find_pairs(
            len(self.source),
            len(self.board),
            rows=self.rows,
            mirrored=self.mirrored,
            turned=way == "reversed",
            shift={"shifted_left": -1, "shifted_right": 1}.get(way, 0),
        )
        self[way] = judge_mating(self.source, self.board, pairs, self.limits)
        return self[way]

    @cached_property
    def lead(self) -> Judgement:
        """The verdict on the made-up lead."""
        return judge_mating(self.source, self.board, self.crossing.wires, self.limits, lead=True)


class PluggedBoard(NamedTuple):
    """One board on a source: both plugs and the four ways of plugging in."""

    source: Plug
    board: Plug
    judged: JudgedMatings

    @property
    def crossing(self) -> Crossing:
        """The made-up lead."""
        return self.judged.crossing

    @property
    def lead(self) -> Judgement:
        """The verdict on it."""
        return self.judged.lead


def judge_ways(
    source: Plug, board: Plug, limits: Limits, *, rows: int = 1, mirrored: bool = False
) -> PluggedBoard:
    """Judge straight, reversed and shifted, and find the lead; supplies must have their voltages."""
    return PluggedBoard(source, board, _judge_pins(source.pins, board.pins, limits, rows, mirrored))


# Boards with the same pins share their judgements, and most keystrokes leave them as they are.
_judge_pins = lru_cache(maxsize=64)(JudgedMatings)


def is_possible(way: str, *, keyed: bool, shrouded: bool) -> bool:
    """Return whether the plug's shape lets it go in this way."""
    return (
        way == "straight" or (way == "reversed" and not keyed) or (way.startswith("shifted") and not shrouded)
    )


class Branch(NamedTuple):
    """One board on a break-out: its ways of plugging in, the wires that lead to it, the verdict on them."""

    plugged: PluggedBoard
    wires: Pairs
    lead: Judgement


class BreakOut(NamedTuple):
    """Several boards on one source; in `crossing` board pins are counted through, board after board."""

    crossing: Crossing
    branches: tuple[Branch, ...]

    @property
    def homes(self) -> list[tuple[Plug, int]]:
        """The board and the pin on it behind each number of `crossing`."""
        boards = (branch.plugged.board for branch in self.branches)
        return [(board, pin) for board in boards for pin in range(len(board.pins))]


def find_break_out(source: Plug, boards: Sequence[PluggedBoard], limits: Limits) -> BreakOut:
    """Find the wires from one source to all boards, and judge each board's share of them."""
    crossing = find_crossing(source.pins, [role for plugged in boards for role in plugged.board.pins], limits)
    branches, first = [], 0
    for plugged in boards:
        pins = plugged.board.pins
        wires = tuple(
            (here, there - first) for here, there in crossing.wires if first <= there < first + len(pins)
        )
        first += len(pins)
        # Alone, a board may be served by another of several like pins; mostly the wires are the same.
        same = wires == plugged.crossing.wires
        lead = plugged.lead if same else judge_mating(source.pins, pins, wires, limits, lead=True)
        branches.append(Branch(plugged, wires, lead))
    return BreakOut(crossing, tuple(branches))
