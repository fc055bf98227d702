"""Plugging in: the likely ways a board's plug meets a source, and the leads that serve one board or more."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Literal

from calculators.notation.units import Ohm, Volt
from calculators.numbers.preferred_values import find_next_above
from calculators.pin_order.crossing import Crossing, Trouble, TroubleKind, find_crossing
from calculators.pin_order.limits import Limits
from calculators.pin_order.mating import Judgement, judge_mating
from calculators.pin_order.pairs import Pairs, find_pairs
from calculators.pin_order.plug import Pin, Role, list_pins

type Way = Literal["straight", "reversed", "shifted_left", "shifted_right"]
WAYS: tuple[Way, ...] = ("straight", "reversed", "shifted_left", "shifted_right")


@dataclass(frozen=True)
class Matings:
    """One order of pins on another, in every way of plugging in, each judged when it is asked for.

    Joined `by_lead`, it is the made-up lead's plug that goes into the board in these ways.
    """

    source: tuple[Role, ...]
    board: tuple[Role, ...]
    limits: Limits
    rows: int
    mirrored: bool
    by_lead: bool = False

    def find_pairs(self, *, turned: bool = False, shift: int = 0) -> Pairs:
        """Return the contacts that touch, plugged in so."""
        if self.by_lead:
            count = len(self.board)
            meets = dict(find_pairs(count, count, rows=self.rows, turned=turned, shift=shift))
            return tuple((here, meets[end]) for here, end in self.crossing.wires if end in meets)
        return find_pairs(
            len(self.source), len(self.board), rows=self.rows, mirrored=self.mirrored, turned=turned,
            shift=shift,
        )  # fmt: skip

    def _judge(self, *, turned: bool = False, shift: int = 0) -> Judgement:
        pairs = self.find_pairs(turned=turned, shift=shift)
        return judge_mating(self.source, self.board, pairs, self.limits, lead=self.by_lead)

    @cached_property
    def straight(self) -> Judgement:
        """Plugged in as meant."""
        return self._judge()

    @cached_property
    def reversed(self) -> Judgement:
        """Plugged in the wrong way round."""
        return self._judge(turned=True)

    @cached_property
    def shifted_left(self) -> Judgement:
        """Plugged in one place too far left."""
        return self._judge(shift=-1)

    @cached_property
    def shifted_right(self) -> Judgement:
        """Plugged in one place too far right."""
        return self._judge(shift=1)

    @property
    def ways(self) -> tuple[tuple[Way, Judgement], ...]:
        """All four."""
        return tuple(
            zip(WAYS, (self.straight, self.reversed, self.shifted_left, self.shifted_right), strict=True)
        )

    @cached_property
    def crossing(self) -> Crossing:
        """The made-up lead."""
        return find_crossing(self.source, self.board, self.limits)

    @cached_property
    def lead(self) -> Judgement:
        """The verdict on it."""
        return self.judge_lead(self.crossing.wires)

    def judge_lead(self, wires: Pairs) -> Judgement:
        """Judge a lead with these wires."""
        return judge_mating(self.source, self.board, wires, self.limits, lead=True)


# Boards with the same pins share their judgements, and most keystrokes leave them as they are.
find_matings = lru_cache(maxsize=64)(Matings)


@dataclass(frozen=True, slots=True)
class PinTrouble:
    """What stands in the way of one pin of the board of this name, and the source's pins in question."""

    kind: TroubleKind
    pin: Pin
    candidates: tuple[Pin, ...]
    board_name: str
    matings: Matings

    @property
    def volts(self) -> Volt:
        """The voltage of the first of them, where they are supplies."""
        return self.candidates[0].role.voltage

    @property
    def is_known(self) -> bool:
        """Whether it is known what the pin withstands."""
        return self.matings.limits.knows_highest(self.pin.role)

    @property
    def withstood(self) -> Volt:
        """What the pin is taken to withstand."""
        return self.matings.limits.find_highest(self.pin.role)


@dataclass(frozen=True)
class FedBoard:
    """A board, by its name if it has one, with the wires that lead to it and the verdict on them."""

    name: str
    matings: Matings
    wires: Pairs
    lead: Judgement
    troubles: tuple[PinTrouble, ...]

    @property
    def is_served(self) -> bool:
        """Whether the lead does its work."""
        return self.lead.verdict in ("holds", "harmless")

    @property
    def settled_resistor(self) -> Ohm:
        """A resistor in the signal wire that holds back from its pins whatever the source has."""
        limits = self.matings.limits
        highest = max(limits.signal_level, limits.battery)
        return find_next_above(highest / min(limits.signal_current, limits.clamp_current), "E12")


def feed_board(matings: Matings) -> FedBoard:
    """Return the one board, which has no name, with its made-up lead."""
    crossing = matings.crossing
    troubles = _list_troubles("", matings, crossing.troubles)
    return FedBoard("", matings, crossing.wires, matings.lead, troubles)


def feed_boards(boards: Sequence[tuple[str, Matings]]) -> tuple[FedBoard, ...]:
    """Return several boards on one source, each with its share of the wires that lead to all of them."""
    if not boards:
        return ()
    first = boards[0][1]
    every = [role for _, matings in boards for role in matings.board]
    crossing = find_crossing(first.source, every, first.limits)
    fed, start = [], 0
    for name, matings in boards:
        # In that crossing the boards' pins are counted through, board after board.
        own = range(start, start + len(matings.board))
        wires = tuple((here, there - start) for here, there in crossing.wires if there in own)
        troubles = [
            Trouble(trouble.kind, trouble.pin - start, trouble.candidates)
            for trouble in crossing.troubles
            if trouble.pin in own
        ]
        # Alone, a board may be served by another of several like pins; mostly the wires are the same.
        lead = matings.lead if wires == matings.crossing.wires else matings.judge_lead(wires)
        fed.append(FedBoard(name, matings, wires, lead, _list_troubles(name, matings, troubles)))
        start = own.stop
    return tuple(fed)


def _list_troubles(name: str, matings: Matings, troubles: Sequence[Trouble]) -> tuple[PinTrouble, ...]:
    source, board = list_pins(matings.source), list_pins(matings.board)
    return tuple(
        PinTrouble(
            trouble.kind, board[trouble.pin], tuple(source[pin] for pin in trouble.candidates), name, matings
        )
        for trouble in troubles
    )
