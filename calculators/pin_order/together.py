"""Together: what one board that is plugged in wrongly does to the others on the same supply.

The others are taken to hang on leads of their own as they should. All of them share the source's supplies,
its fuse, and those of its signals that their leads have in common.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from calculators.notation.units import Ampere, Volt
from calculators.numbers.rounding import exceeds
from calculators.pin_order.mating import JudgedContact, Judgement
from calculators.pin_order.plugging import FedBoard, Way

type HarmKind = Literal["damages", "starves", "mutes"]


@dataclass(frozen=True, slots=True)
class Harm:
    """What a board plugged in this way does to its `victims`, at the contact that brings it about.

    Where a higher supply comes onto a lower one, `volts` is the higher and `rail` the lower.
    """

    board: FedBoard
    way: Way
    kind: HarmKind
    contact: JudgedContact
    victims: tuple[FedBoard, ...]
    volts: Volt | None = None
    rail: Volt | None = None


def list_harms(
    plugged: Sequence[tuple[FedBoard, Way, Judgement]], boards: Sequence[FedBoard]
) -> tuple[Harm, ...]:
    """Return the gravest that each board in each of these ways does to the others, if it does anything."""
    found = (
        _find_harm(board, way, judgement, [other for other in boards if other is not board])
        for board, way, judgement in plugged
    )
    return tuple(harm for harm in found if harm)


def find_joint_current(judgements: Sequence[Judgement], available: Ampere) -> Ampere | None:
    """Return what flows when all of these are plugged in at once; None where nothing is damaged."""
    worst = [max(judgement.fault_currents) for judgement in judgements if judgement.fault_currents]
    return min(sum(worst), available) if worst else None


def _find_harm(board: FedBoard, way: Way, judgement: Judgement, others: Sequence[FedBoard]) -> Harm | None:
    found: list[Harm] = []
    for contact in judgement.contacts:
        found += filter(
            None, (_find_lift(board, way, contact, others), _find_loss(board, way, contact, others))
        )
    kinds = [harm.kind for harm in found]
    return next((found[kinds.index(kind)] for kind in ("damages", "starves", "mutes") if kind in kinds), None)


def _find_lift(board: FedBoard, way: Way, contact: JudgedContact, others: Sequence[FedBoard]) -> Harm | None:
    """Return whom a higher supply harms that this contact joins to a lower one."""
    here, other = contact.here, contact.effect.other
    if contact.rule != "supply-short" or here is None or other is None:
        return None
    if here.role.kind != "supply" or other.role.kind != "supply":
        return None
    low, high = sorted((here.role.voltage, other.role.voltage))
    victims = tuple(one for one in others if _breaks(one, low, high))
    return Harm(board, way, "damages", contact, victims, high, low) if victims else None


def _breaks(board: FedBoard, low: Volt, high: Volt) -> bool:
    matings = board.matings
    fed = [matings.board[there] for here, there in board.wires if matings.source[here].voltage == low]
    return any(exceeds(high, matings.limits.find_highest(role)) for role in fed if role.kind == "supply")


def _find_loss(board: FedBoard, way: Way, contact: JudgedContact, others: Sequence[FedBoard]) -> Harm | None:
    """Return who loses a supply or a signal by what this contact draws from it."""
    if contact.verdict != "damages" or contact.here is None:
        return None
    shorted = contact.rule in ("supply-short", "amplifier-loaded") or (
        contact.rule == "supply-reversed" and contact.effect.how == ""
    )
    if shorted:
        fed = tuple(one for one in others if any(role.kind == "supply" for role in one.matings.board))
        return Harm(board, way, "starves", contact, fed) if fed else None
    pin = contact.here.index
    sharing = tuple(one for one in others if any(here == pin for here, _ in one.wires))
    held = contact.here.role.is_signal and sharing
    return Harm(board, way, "mutes", contact, sharing) if held else None
