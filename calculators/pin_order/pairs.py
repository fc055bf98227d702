"""Pairs: which contact touches which when two plugs meet, by the views they were read in, turned or shifted.

In two rows the first half of the list is the top row, the second half the bottom row, both from left to right
in the view in which they were read.
"""

from collections.abc import Sequence

type Pairs = tuple[tuple[int, int], ...]
"""Contacts that touch: source pin and board pin, counted from 0."""


def write_pairs(pairs: Pairs) -> str:
    """Return pairs as `1-2, 2-1, 3-3`, source pin first; "none" without any."""
    return ", ".join(f"{here + 1}-{there + 1}" for here, there in pairs) or "none"


def mirror_places(count: int, rows: int = 1) -> tuple[int, ...]:
    """Return, for each place, the pin that stands there when the plug is seen from its other side.

    One row of n: place k shows pin n + 1 - k. Two rows: the columns mirror and the rows stay.
    """
    width = count // rows
    return tuple(row * width + width - 1 - column for row in range(rows) for column in range(width))


def turn_places(count: int) -> tuple[int, ...]:
    """Return, for each place, the pin that stands there when the plug is turned by half (one row or two)."""
    return tuple(range(count - 1, -1, -1))


def find_pairs(
    source: int,
    board: int,
    *,
    rows: int = 1,
    mirrored: bool = False,
    turned: bool = False,
    shift: int = 0,
) -> Pairs:
    """Return which of `source` pins touch which of `board` pins when two plugs meet place by place.

    `mirrored` when the lists were read from opposite sides, `turned` for a plug put on the wrong way
    round, `shift` places to the right. Plugs of different lengths meet at their left ends.
    """
    order: Sequence[int] = range(board)
    if mirrored:
        order = mirror_places(board, rows)
    if turned:
        order = [order[place] for place in turn_places(board)]
    source_width, board_width = source // rows, board // rows
    pairs = []
    for pin in range(source):
        row, column = divmod(pin, source_width)
        place = column - shift
        if 0 <= place < board_width:
            pairs.append((pin, order[row * board_width + place]))
    return tuple(pairs)
