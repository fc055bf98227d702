"""Lead readings: what a meter shows on a made-up lead, every wire, no joint beside, then the voltages.

Pins that carry the same share one reading, so that a joint of a dozen contacts stays a list to work down.
"""

from dataclasses import dataclass
from typing import ClassVar

from calculators.pin_order.limits import Limits
from calculators.pin_order.plug import Pin
from calculators.results.case import Span


@dataclass(frozen=True, slots=True)
class LeadWire:
    """One wire of a lead, from a pin of the source to one of the board, by its code and its colour."""

    here: Pin
    there: Pin
    colour: str


@dataclass(frozen=True, slots=True)
class WireGroup:
    """The wires to pins of one role, and what a meter shows from end to end of each."""

    label: str
    wires: tuple[LeadWire, ...]
    reading: Span


@dataclass(frozen=True, slots=True)
class Gap:
    """Pins of one supply, and pins that are not joined to them; their role, if they have the same."""

    reading: ClassVar[Span] = Span(1e7, 1e5, 1e9)

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
    reading: Span


def group_wires(wires: tuple[LeadWire, ...], limits: Limits) -> tuple[WireGroup, ...]:
    """Return the wires by what their board pins carry."""
    span = Span(limits.lead_resistance, 0.0, limits.lead_resistance + 1.0)
    return tuple(
        WireGroup(label, tuple(wire for wire in wires if wire.there.label == label), span)
        for label in dict.fromkeys(wire.there.label for wire in wires)
    )


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
    """Return what each supply and then each input shows against the first ground; nothing without one."""
    ground = next((wire.there for wire in wires if wire.there.role.kind == "ground"), None)
    if ground is None:
        return ()
    voltages = []
    for supply in _group_supplies(wires):
        role, volts = supply[0].there.role, supply[0].here.role.voltage
        low = max(limits.find_lowest(role), 0.95 * volts)
        high = min(limits.find_highest(role), 1.05 * volts)
        span = Span(volts, min(low, volts), max(high, volts))
        voltages.append(PinVoltage(role.label, tuple(wire.there for wire in supply), ground, span))
    listening = [wire.there for wire in wires if wire.there.role.listens(at_source=False)]
    for label in dict.fromkeys(pin.label for pin in listening):
        pins = tuple(pin for pin in listening if pin.label == label)
        voltages.append(PinVoltage(label, pins, ground, Span(0.0, 0.0, limits.signal_level)))
    return tuple(voltages)


def _group_supplies(wires: tuple[LeadWire, ...]) -> list[list[LeadWire]]:
    """Return the wires to supplies, together where role and voltage are the same."""
    supplies: dict[object, list[LeadWire]] = {}
    for wire in wires:
        if wire.there.role.kind == "supply":
            supplies.setdefault((wire.there.role, wire.here.role.voltage), []).append(wire)
    return list(supplies.values())
