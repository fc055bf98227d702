"""Judges every mating of two plugs and finds the lead between them, and those to several boards: no texts."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import ClassVar

from calculators.forms.shared_fields import USUAL_KIND
from calculators.notation.units import Ampere, Celsius, Volt
from calculators.numbers.preferred_values import find_next_above
from calculators.parts import read_rows
from calculators.physics.fuse import (
    FusePlace,
    JudgedFuse,
    find_fitting_fuse,
    judge_fuse,
    list_fuse_kinds,
)
from calculators.physics.lead import LEAD_AIR
from calculators.pin_order.colours import find_colours
from calculators.pin_order.given import Given
from calculators.pin_order.lead_readings import (
    Gap,
    LeadWire,
    PinVoltage,
    WireGroup,
    find_gaps,
    group_wires,
    list_voltages,
)
from calculators.pin_order.limits import Limits
from calculators.pin_order.mating import JudgedContact, Judgement
from calculators.pin_order.own_wire import OwnWire, find_lead_resistance, find_path, judge_own_wire
from calculators.pin_order.pairs import write_pairs
from calculators.pin_order.pin_list import list_common_plugs
from calculators.pin_order.plug import Pin, Plug, Role, list_pins
from calculators.pin_order.plugging import FedBoard, Matings, Way, feed_board, feed_boards, find_matings
from calculators.pin_order.together import Harm, find_joint_current, list_harms

SOURCE_RESERVE = 3.0
"""How many times what the board draws a source gives that also opens its fuse: common practice."""

HIGH_THRESHOLD = 0.7
"""Share of its own supply from which a CMOS input surely reads high; data sheets of 5 V addressable LEDs."""


@dataclass(frozen=True, slots=True)
class SharedPin:
    """A pin of the source that more than one wire of the lead leaves from, and where they end."""

    pin: Pin
    ends: tuple[Pin, ...]


@dataclass(frozen=True, slots=True)
class SharedSignal:
    """A signal of the source that several boards get."""

    pin: Pin
    boards: tuple[FedBoard, ...]


@dataclass(frozen=True, slots=True)
class InputLevel:
    """The board's lowest supply, what its weakest input withstands, and what inputs surely read as high."""

    rail: Volt
    withstood: Volt
    needed: Volt


@dataclass(frozen=True, slots=True)
class CommonOrder:
    """An order taken from the table of common practice, with what to heed."""

    name: str
    caution: str


@dataclass(frozen=True, kw_only=True)
class Solved:
    """The board plugged in in every way and fed by a lead, and the boards of a break-out.

    `shifted` is the worse of the two shifted matings; `fault_current` and `least_fault_current` are the
    largest and the smallest that damage something in a mating that the plug's shape lets happen. Pairs are
    written as people do, source pin first. A straight lead damages the `damaged` boards; one of their own
    serves the `helped` ones. `direct` is the mating without a made-up
    lead; `joint_current` flows with all `boards` on straight leads. `fuse` is the one given, with a short
    at the lead's far end.
    """

    lead_air: ClassVar[Celsius] = LEAD_AIR

    given: Given
    limits: Limits
    mirrored: bool
    matings: Matings
    shifted: Judgement
    fault_current: Ampere | None
    least_fault_current: Ampere | None
    straight_pairs: str
    turned_pairs: str
    row_length: int
    pin_count: int
    own: FedBoard
    wires: tuple[LeadWire, ...]
    wire_count: int
    crossing: str
    highest_supply: Volt | None
    short_current: Ampere | None
    shared: tuple[SharedPin, ...]
    spare: tuple[Pin, ...]
    level: InputLevel | None
    wire_groups: tuple[WireGroup, ...]
    gaps: tuple[Gap, ...]
    voltages: tuple[PinVoltage, ...]
    boards: tuple[FedBoard, ...]
    damaged: tuple[FedBoard, ...]
    helped: tuple[FedBoard, ...]
    shared_signals: tuple[SharedSignal, ...]
    common: tuple[CommonOrder, ...]
    direct: Judgement
    joint_current: Ampere | None
    wire: OwnWire
    fuse: JudgedFuse | None

    @cached_property
    def fitting_fuse(self) -> Ampere | None:
        """The smallest fuse of this kind that the board's current leaves alone."""
        return find_fitting_fuse(self.limits.fuse_place, self.wire.run.least_fuse)

    @property
    def usual_fuse(self) -> Ampere | None:
        """The same of the kind that is usual."""
        return find_fitting_fuse(replace(self.limits.fuse_place, kind=USUAL_KIND), self.wire.run.least_fuse)

    @property
    def wanted_fuse(self) -> Ampere | None:
        """The fuse given, or the one that fits."""
        return self.given.fuse or self.fitting_fuse

    @property
    def able_kind(self) -> str | None:
        """A kind of fuse that can break what this source gives."""
        return None if self.fuse is None else _find_able_kind(self.limits.fuse_place, self.fuse)

    @property
    def able_breaking(self) -> Ampere:
        """A breaking capacity that is enough here."""
        return find_next_above(self.given.source_current, "E12")

    @property
    def strong_source(self) -> Ampere:
        """What a source should give."""
        return find_next_above(SOURCE_RESERVE * self.given.board_current, "E12")

    @property
    def is_by_lead(self) -> bool:
        """Whether the made-up lead joins them."""
        return self.matings.by_lead

    @property
    def is_joined_well(self) -> bool:
        """Whether they work as they are joined."""
        return self.matings.straight.verdict in ("holds", "harmless")

    @property
    def pulled_bus(self) -> JudgedContact | None:
        """A wire of a bus that the board pulls up too high, as they are to be joined."""
        judged = self.matings.straight if self.is_joined_well else self.own.lead
        return next((contact for contact in judged.contacts if contact.rule == "bus-pulled-up"), None)

    @cached_property
    def harms(self) -> tuple[Harm, ...]:
        """What a wrong plug of one board does to the others, where its shape lets it go in so."""
        if len(self.boards) < 2:
            return ()
        plugged = []
        for board in self.boards:
            told = board.matings
            matings = find_matings(
                told.source, told.board, told.limits, told.rows, told.mirrored, self.is_by_lead
            )
            ways = _list_possible(self.given, matings)
            plugged += [(board, way, found) for way, found in ways if found.verdict == "damages"]
        return list_harms(plugged, self.boards)

    @property
    def grave_harms(self) -> tuple[Harm, ...]:
        """Those that damage the others; only a second, higher supply can."""
        rails = {role.voltage for role in self.matings.source if role.kind == "supply"}
        return tuple(harm for harm in self.harms if harm.kind == "damages") if len(rails) > 1 else ()


def solve(given: Given) -> Solved:
    """Judge the matings and find the leads."""
    mirrored = (given.from_view != given.to_view) != (given.halves == "a plug and its socket")

    def find_roles(plug: Plug) -> tuple[Role, ...]:
        return plug.with_voltages(given.rail_voltage, given.battery_voltage).pins

    source = find_roles(given.from_pins)
    highest = max((role.voltage for role in source if role.kind == "supply"), default=None)
    place = FusePlace(given.fuse_kind, highest or 0.0, given.source_current, given.fuse_breaking)
    limits = _find_limits(given, place)
    plugs = [board.plug for board in given.boards or ()]
    by_lead = given.joined == "by the made-up lead"
    matings = find_matings(source, find_roles(given.to_pins), limits, given.rows, mirrored, by_lead)
    # What a lead without crossing does to each board is shown, however the one above is joined.
    others = [find_matings(source, find_roles(plug), limits, given.rows, mirrored, False) for plug in plugs]
    own = feed_board(matings)
    here, there = list_pins(source), list_pins(matings.board)
    colours = find_colours(source)
    wires = tuple(LeadWire(here[one], there[other], colours[one]) for one, other in own.wires)
    faults = _list_fault_currents(given, matings)
    boards = feed_boards([(plug.name, found) for plug, found in zip(plugs, others, strict=True)])
    damaged = tuple(board for board in boards if board.matings.straight.verdict == "damages")
    pairs = matings.find_pairs() if matings.straight.verdict in ("holds", "harmless") else own.wires
    path = find_path(given, source, matings.board, pairs, limits)
    wire = judge_own_wire(given, path, place)
    fuse = None
    if given.fuse is not None and highest is not None:
        fuse = judge_fuse(place, given.fuse, limits.find_short_current(highest))
    return Solved(
        given=given, limits=limits, mirrored=mirrored, matings=matings, shifted=_find_worse_shift(matings),
        fault_current=max(faults, default=None), least_fault_current=min(faults, default=None),
        straight_pairs=write_pairs(matings.find_pairs()),
        turned_pairs=write_pairs(matings.find_pairs(turned=True)),
        row_length=len(there) // given.rows, pin_count=len(there),
        own=own, wires=wires, wire_count=len(wires), crossing=matings.crossing.write(),
        highest_supply=highest,
        short_current=None if highest is None else limits.find_short_current(highest),
        shared=tuple(
            SharedPin(here[pin], tuple(there[end] for end in ends))
            for pin, ends in matings.crossing.find_shared().items()
        ),
        spare=tuple(here[pin] for pin in matings.crossing.spare), level=_find_level(matings.board, limits),
        wire_groups=group_wires(wires, limits, given.lead_resistance is None),
        gaps=find_gaps(wires), voltages=list_voltages(wires, limits),
        boards=boards, damaged=damaged, helped=tuple(board for board in damaged if board.is_served),
        shared_signals=_list_shared_signals(here, boards),
        common=_list_common_orders((given.from_pins, given.to_pins, *plugs)),
        direct=find_matings(source, matings.board, limits, given.rows, mirrored, False).straight,
        joint_current=find_joint_current(
            [board.matings.straight for board in boards], given.source_current
        ),
        wire=wire,
        fuse=fuse,
    )  # fmt: skip


def _find_limits(given: Given, place: FusePlace) -> Limits:
    return Limits(
        signal_level=given.signal_level, signal_current=given.signal_current,
        source_resistor=given.source_resistor, controller_maximum=given.controller_maximum,
        source_current=given.source_current, fuse=given.fuse, fuse_place=place,
        lead_resistance=find_lead_resistance(given),
        input_maximum=given.input_maximum, input_resistor=given.input_resistor,
        clamp_current=given.clamp_current, board_current=given.board_current, over=given.supply_over,
        under=given.supply_under, battery=given.battery_voltage, pull_up=given.pull_up, bus=given.bus_voltage,
    )  # fmt: skip


def _find_able_kind(place: FusePlace, fuse: JudgedFuse) -> str | None:
    kinds = (kind.name for kind in list_fuse_kinds())
    return next(
        (
            name
            for name in kinds
            if not judge_fuse(replace(place, kind=name, breaking=None), fuse.rating, fuse.fault).troubles
        ),
        None,
    )


def _find_worse_shift(matings: Matings) -> Judgement:
    left, right = matings.shifted_left, matings.shifted_right
    return left if left.verdict == "damages" or right.verdict != "damages" else right


def _list_possible(given: Given, matings: Matings) -> list[tuple[Way, Judgement]]:
    """Return the ways of plugging in that the plug's shape lets happen."""
    prevented: dict[Way, bool] = {
        "reversed": given.keyed, "shifted_left": given.shrouded, "shifted_right": given.shrouded
    }  # fmt: skip
    return [(way, judgement) for way, judgement in matings.ways if not prevented.get(way)]


def _list_fault_currents(given: Given, matings: Matings) -> list[Ampere]:
    """Return what damages something in one of them."""
    return [
        current for _, judgement in _list_possible(given, matings) for current in judgement.fault_currents
    ]


def _find_level(board: tuple[Role, ...], limits: Limits) -> InputLevel | None:
    rails = [role.voltage for role in board if role.kind == "supply"]
    maxima = [limits.find_highest(role) for role in board if role.listens(at_source=False)]
    if not rails or not maxima:
        return None
    # No input withstands much more than its own chip's supply, so one that bears less than the rail does not
    # live on it.
    rail, withstood = min(rails), min(maxima)
    return InputLevel(rail, withstood, HIGH_THRESHOLD * min(rail, withstood))


def _list_shared_signals(source: tuple[Pin, ...], boards: tuple[FedBoard, ...]) -> tuple[SharedSignal, ...]:
    shared = []
    for pin in source:
        fed = tuple(board for board in boards if any(here == pin.index for here, _ in board.wires))
        if pin.role.is_logic and len(fed) > 1:
            shared.append(SharedSignal(pin, fed))
    return tuple(shared)


def _list_common_orders(plugs: Sequence[Plug]) -> tuple[CommonOrder, ...]:
    used = [plug.pins for plug in plugs if plug.common]
    return tuple(
        CommonOrder(str(row["name"]), str(row["caution"]))
        for row in read_rows("plugs")
        if list_common_plugs()[str(row["name"])].pins in used
    )
