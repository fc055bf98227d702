"""Crossing: which source pin a made-up lead joins to which board pin, found from what the pins carry.

Grounds go to grounds and supplies to their own voltage, the first to the first and so on round; signals to
signals, with the tag ("2" in `data 2`) deciding among several. What finds no partner, or two, is reported.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from calculators.pin_order.limits import Limits
from calculators.pin_order.pairs import Pairs, write_pairs
from calculators.pin_order.plug import Role

type TroubleKind = Literal["missing", "two-candidates", "other-voltage"]


@dataclass(frozen=True, slots=True)
class Trouble:
    """What stands in the way of one pin of the board, with the source pins that came into question."""

    kind: TroubleKind
    pin: int
    candidates: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Crossing:
    """The wires of a made-up lead, what was in doubt, and the pins of the source that are left over."""

    wires: Pairs
    troubles: tuple[Trouble, ...]
    spare: tuple[int, ...]

    def write(self) -> str:
        """Return the wires as text."""
        return write_pairs(self.wires)

    def find_shared(self) -> Mapping[int, tuple[int, ...]]:
        """Return the source pins that more than one wire leaves from, with the board pins they go to."""
        ends: dict[int, list[int]] = {}
        for here, there in self.wires:
            ends.setdefault(here, []).append(there)
        return {here: tuple(pins) for here, pins in ends.items() if len(pins) > 1}


def find_crossing(source: Sequence[Role], board: Sequence[Role], limits: Limits) -> Crossing:
    """Find the made-up lead between two plugs whose supplies have their voltages."""
    wires: list[tuple[int, int]] = []
    troubles: list[Trouble] = []
    served: dict[tuple[int, ...], int] = {}
    for pin, role in enumerate(board):
        if role.kind == "unused":
            continue
        candidates = find_candidates(source, role, limits)
        if not candidates:
            # A board's own output may stay open; everything else it has to have.
            if not role.drives(at_source=False):
                troubles.append(Trouble("missing", pin))
            continue
        turn = served.get(candidates, 0)
        served[candidates] = turn + 1
        chosen = candidates[turn % len(candidates)]
        wires.append((chosen, pin))
        tags = {source[candidate].tag for candidate in candidates}
        if len(candidates) > 1 and (role.is_signal or (role.kind == "speaker" and len(tags) > 1)):
            troubles.append(Trouble("two-candidates", pin, candidates))
        if role.kind == "supply" and abs(source[chosen].voltage - role.voltage) > 1e-3 * role.voltage:
            kind: TroubleKind = (
                "two-candidates" if len({source[c].voltage for c in candidates}) > 1 else "other-voltage"
            )
            troubles.append(Trouble(kind, pin, candidates))
    used = {here for here, _ in wires}
    spare = tuple(pin for pin, role in enumerate(source) if pin not in used and role.kind != "unused")
    return Crossing(tuple(sorted(wires)), tuple(troubles), spare)


def find_candidates(source: Sequence[Role], role: Role, limits: Limits) -> tuple[int, ...]:
    """Return the source pins that can serve a pin of the board with this role, best match only."""
    pins = [pin for pin, here in enumerate(source) if here.kind == role.kind]
    match role.kind:
        case "supply":
            same = [pin for pin in pins if abs(source[pin].voltage - role.voltage) <= 1e-3 * role.voltage]
            return tuple(same or [pin for pin in pins if limits.accepts(role, source[pin].voltage)])
        case "data" | "clock" | "line":
            drives = not role.drives(at_source=False)
            pins = [
                pin
                for pin in pins
                if source[pin].drives(at_source=True) == drives and source[pin].agrees(role)
            ]
            pins = [pin for pin in pins if source[pin].content == role.content] or pins
        case "speaker":
            pins = [pin for pin in pins if source[pin].sign == role.sign]
    if role.kind == "ground":
        return tuple([pin for pin in pins if source[pin].content == role.content] or pins)
    same = [pin for pin in pins if source[pin].tag == role.tag]
    plain = [pin for pin in pins if not source[pin].tag]
    return tuple(same or plain or ([] if role.tag else pins))
