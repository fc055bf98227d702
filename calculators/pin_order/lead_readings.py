"""Lead readings: what a meter shows on a made-up lead, every wire, no joint beside, then the voltages.

Pins that carry the same share one reading, so that a joint of a dozen contacts stays a list to work down.
"""

from dataclasses import dataclass
from typing import ClassVar

from calculators.notation.units import Share
from calculators.physics.meter import (
    OPEN_CIRCUIT,
    RESISTANCE,
    SOURCE_SPREAD,
    RunTest,
    choose_test_current,
    find_test_error,
    make_span,
    widen,
)
from calculators.pin_order.limits import Limits
from calculators.pin_order.plug import Pin, Role
from calculators.results.case import Span

EMPTY_BATTERY: Share = 0.7
"""Of its highest voltage on the charger, what a battery has when it is nearly empty; common practice."""

RECKONED = 1.25
"""What a wire with its contacts may have over what is reckoned: 1.36 of solid copper, over class 5."""

RESTING: Share = 0.25
"""Of its level, what a data or clock wire shows at most while nothing is sent, or pulses for servos."""


@dataclass(frozen=True, slots=True)
class LeadWire:
    """One wire of a lead, from a pin of the source to one of the board, by its code and its colour."""

    here: Pin
    there: Pin
    colour: str


@dataclass(frozen=True, slots=True)
class WireGroup:
    """The wires to pins of one role, and what a meter shows from end to end of each.

    What carries the board's current has a test current as well.
    """

    label: str
    wires: tuple[LeadWire, ...]
    reading: Span | None
    test: RunTest | None


@dataclass(frozen=True, slots=True)
class Gap:
    """Pins of one supply, and pins that are not joined to them; their role, if they have the same."""

    reading: ClassVar[Span] = OPEN_CIRCUIT

    label: str
    pins: tuple[Pin, ...]
    apart: tuple[Pin, ...]
    apart_label: str | None


@dataclass(frozen=True, slots=True)
class PinVoltage:
    """Pins of one role, and what a meter shows between each of them and a ground, without the board."""

    label: str
    pins: tuple[Pin, ...]
    ground: Pin
    reading: Span | None


def group_wires(wires: tuple[LeadWire, ...], limits: Limits, reckoned: bool) -> tuple[WireGroup, ...]:
    """Return the wires by what their board pins carry; a resistance that was `reckoned` is less sure."""
    resistance = limits.lead_resistance
    most = resistance * (RECKONED if reckoned else 1.0)
    span = widen(resistance, 0.0, most, RESISTANCE.find_error)
    current = choose_test_current(resistance, resistance, max(limits.board_current, 1.0))
    test = RunTest(current, None, None, None, widen(
        current * resistance, 0.0, current * most, lambda volts: find_test_error(current, volts)
    ))  # fmt: skip
    return tuple(
        WireGroup(
            label, tuple(wire for wire in wires if wire.there.label == label), span,
            test if role.kind in ("supply", "ground") else None,
        )
        for label, role in {wire.there.label: wire.there.role for wire in wires}.items()
    )  # fmt: skip


def find_gaps(wires: tuple[LeadWire, ...]) -> tuple[Gap, ...]:
    """Return which pins of each supply must not be joined to which others: grounds first, then the rest."""
    gaps = []
    for supply in _group_supplies(wires):
        role = supply[0].there.role
        apart = [
            wire.there
            for wire in wires
            if wire.there.role.kind != "supply" or wire.there.role.voltage > role.voltage
        ]
        pins = tuple(wire.there for wire in supply)
        for grounds in (True, False):
            others = tuple(pin for pin in apart if (pin.role.kind == "ground") == grounds)
            labels = {pin.label for pin in others}
            if others:
                gaps.append(Gap(role.label, pins, others, others[0].label if len(labels) == 1 else None))
    return tuple(gaps)


def list_voltages(wires: tuple[LeadWire, ...], limits: Limits) -> tuple[PinVoltage, ...]:
    """Return what each supply and each input that rests low shows against the first ground, if any."""
    ground = next((wire.there for wire in wires if wire.there.role.kind == "ground"), None)
    if ground is None:
        return ()
    voltages = []
    for supply in _group_supplies(wires):
        role, source = supply[0].there.role, supply[0].here.role
        span = _find_supply_span(source, role, limits)
        voltages.append(PinVoltage(role.label, tuple(wire.there for wire in supply), ground, span))
    # A bus and a serial line rest high, and line audio may rest at half of its supply.
    listening = [
        wire.there
        for wire in wires
        if wire.there.role.is_logic
        and wire.there.role.listens(at_source=False)
        and wire.there.role.content not in ("serial", "bus")
    ]
    for label in dict.fromkeys(pin.label for pin in listening):
        pins = tuple(pin for pin in listening if pin.label == label)
        resting = RESTING * limits.signal_level
        # A meter's nought may be a few digits off.
        voltages.append(PinVoltage(label, pins, ground, Span(0.0, -0.05, resting)))
    return tuple(voltages)


def _find_supply_span(source: Role, role: Role, limits: Limits) -> Span | None:
    """Return what passes at a supply's pin; nothing where the board would not take what the source gives."""
    volts = source.voltage
    low = (EMPTY_BATTERY if source.feed == "battery" else 1 - SOURCE_SPREAD) * volts
    high = (1 + SOURCE_SPREAD) * volts
    return make_span(volts, max(limits.find_lowest(role), low), min(limits.find_highest(role), high))


def _group_supplies(wires: tuple[LeadWire, ...]) -> list[list[LeadWire]]:
    """Return the wires to supplies, together where role and voltage are the same."""
    supplies: dict[object, list[LeadWire]] = {}
    for wire in wires:
        if wire.there.role.kind == "supply":
            supplies.setdefault((wire.there.role, wire.here.role.voltage), []).append(wire)
    return list(supplies.values())
