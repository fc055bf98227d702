"""Remedies: pins as texts for the fields, with what was missing or in doubt put right."""

from collections.abc import Sequence
from dataclasses import replace

from calculators.pin_order.plug import Role
from calculators.pin_order.plugging import PinTrouble


def write_pins(roles: Sequence[Role]) -> str:
    """Return a plug's pins as they are entered."""
    return ", ".join(
        role.label if role.maximum is None else f"{role.label} max {role.maximum!r} V" for role in roles
    )


def add_pin(trouble: PinTrouble) -> str:
    """Return the source's pins and one that serves the board's."""
    return _add(trouble, [trouble.pin.role])


def add_pins(trouble: PinTrouble) -> str:
    """Return the source's pins and one for each of the board's, where one alone does not help."""
    return _add(trouble, [role for role in trouble.matings.board if role.kind != "unused"])


def _add(trouble: PinTrouble, roles: Sequence[Role]) -> str:
    """Return the source's pins with what these pins of a board want, in full rows."""
    wanted = [replace(_mirror(role), maximum=None) for role in roles]
    rows = trouble.matings.rows
    source = trouble.matings.source
    width = len(source) // rows
    filled = [*wanted, *([Role("-", "unused")] * (-len(wanted) % rows))]
    more = len(filled) // rows
    parts: list[Role] = []
    for row in range(rows):
        parts += [*source[row * width : (row + 1) * width], *filled[row * more : (row + 1) * more]]
    return write_pins(parts)


def _mirror(role: Role) -> Role:
    """Return what serves this pin from the other side."""
    ends = {"RX": "TX", "TX": "RX"}
    first, space, rest = role.label.partition(" ")
    if first in ends:
        return replace(role, label=ends[first] + space + rest)
    return (
        replace(role, label=role.label.replace(" in", ""), direction="") if role.direction == "in" else role
    )


def number_source(trouble: PinTrouble) -> str:
    """Return the source's pins with the candidates numbered."""
    source = list(trouble.matings.source)
    for number, pin in enumerate(trouble.candidates, 1):
        source[pin.index] = _number(pin.role, number)
    return write_pins(source)


def number_board(trouble: PinTrouble) -> str:
    """Return the board's pins, that in doubt with the number of the first candidate."""
    board = list(trouble.matings.board)
    board[trouble.pin.index] = _number(trouble.pin.role, 1)
    return write_pins(board)


def _number(role: Role, number: int) -> Role:
    if role.tag or role.kind == "supply":
        return role
    if role.kind == "speaker":
        return replace(role, label=f"speaker {number} {role.sign}")
    return replace(role, label=f"{role.label} {number}")
