"""How a network is laid out in the picture of its wiring: in one row where there is room, else in several."""

import math

import pytest

from calculators.speaker_load.network import read_speaker_network
from calculators.speaker_load.picture import _Layout

CELL = (60.0, 30.0)
"""One speaker's width and height in pixels; 12 lie between two, 9 of rail before and behind branches."""


@pytest.mark.parametrize(
    ("network", "size"),
    [("8", (60, 30)), ("8 + 8", (132, 30)), ("8 || 8", (78, 72)), ("8 + (8 || 8)", (150, 72))],
)
def test_the_size_of_a_network(network: str, size: tuple[float, float]) -> None:
    layout = _Layout(True, CELL)
    tree = read_speaker_network(network).tree
    assert layout.measure(tree, math.inf) == size
    # 42 pixels at either end for the terminals, 22 above and below.
    assert layout.find_width(tree) == size[0] + 2 * 42
    assert layout.find_height(tree) == size[1] + 2 * 22


@pytest.mark.parametrize(("room", "across"), [(132.1, 30), (131.9, 72)])
def test_a_chain_without_room_is_laid_in_rows(room: float, across: float) -> None:
    assert _Layout(True, CELL).measure(read_speaker_network("8 + 8").tree, room)[1] == across


@pytest.mark.parametrize(("room", "across"), [(150.1, 72), (149.9, 114)])
def test_a_branch_has_less_room_by_its_rails(room: float, across: float) -> None:
    assert _Layout(True, CELL).measure(read_speaker_network("(8 + 8) || 8").tree, room)[1] == across
