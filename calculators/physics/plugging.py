"""Plugging in: the likely ways a plug meets a source, each judged, and the made-up lead between them."""

from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import NamedTuple

from calculators.physics.crossing import Crossing, find_crossing
from calculators.physics.joined_nets import Limits
from calculators.physics.mating import Judgement, judge_mating
from calculators.physics.plug import Plug, Role, find_pairs

WAYS = ("straight", "reversed", "shifted_left", "shifted_right")
WAY_WORDS = {
    "straight": "straight",
    "reversed": "the wrong way round",
    "shifted_left": "one place too far left",
    "shifted_right": "one place too far right",
}


class Ways(NamedTuple):
    """One board on a source: both plugs, the four ways of plugging in, the made-up lead and its verdict."""

    source: Plug
    board: Plug
    judged: Mapping[str, Judgement]
    crossing: Crossing
    lead: Judgement


def judge_ways(source: Plug, board: Plug, limits: Limits, *, rows: int = 1, mirrored: bool = False) -> Ways:
    """Judge straight, reversed and shifted, and find the lead; supplies must have their voltages."""
    return Ways(source, board, *_judge_pins(source.pins, board.pins, limits, rows, mirrored))


@lru_cache(maxsize=64)
def _judge_pins(
    source: tuple[Role, ...], board: tuple[Role, ...], limits: Limits, rows: int, mirrored: bool
) -> tuple[Mapping[str, Judgement], Crossing, Judgement]:
    def judge(*, turned: bool = False, shift: int = 0) -> Judgement:
        pairs = find_pairs(len(source), len(board), rows=rows, mirrored=mirrored, turned=turned, shift=shift)
        return judge_mating(source, board, pairs, limits)

    judged = {
        "straight": judge(),
        "reversed": judge(turned=True),
        "shifted_left": judge(shift=-1),
        "shifted_right": judge(shift=1),
    }
    crossing = find_crossing(source, board, limits)
    return judged, crossing, judge_mating(source, board, crossing.wires, limits, lead=True)


def is_possible(way: str, *, keyed: bool, shrouded: bool) -> bool:
    """Return whether the plug's shape lets it go in this way."""
    return (
        way == "straight" or (way == "reversed" and not keyed) or (way.startswith("shifted") and not shrouded)
    )


def find_break_out(source: Plug, boards: Sequence[Ways], limits: Limits) -> Crossing:
    """Find the wires from one source to all boards; board pins are counted through, board after board."""
    return find_crossing(source.pins, [role for ways in boards for role in ways.board.pins], limits)
