"""Limits: what the source of a mating can deliver, and what each pin withstands."""

from dataclasses import dataclass

from calculators.notation.units import Ampere, Ohm, Share, Volt
from calculators.numbers.rounding import exceeds
from calculators.pin_order.plug import Role


@dataclass(frozen=True, slots=True)
class Limits:
    """What the source can deliver and what each pin withstands, in V, A and Ω; shares for the supplies.

    A supply input withstands its own voltage and the share `over` above it, and works down to the share
    `under` below, unless its pin has a maximum of its own.
    """

    signal_level: Volt = 5.0
    signal_current: Ampere = 0.04
    source_resistor: Ohm = 330.0
    controller_maximum: Volt = 5.5
    source_current: Ampere = 15.0
    fuse: Ampere | None = None
    lead_resistance: Ohm = 0.1
    input_maximum: Volt = 5.5
    input_resistor: Ohm = 0.0
    clamp_current: Ampere = 0.015
    board_current: Ampere = 0.4
    over: Share = 0.1
    under: Share = 0.25
    battery: Volt = 14.6

    def find_highest(self, role: Role) -> Volt:
        """Return the voltage in V that a supply or logic input withstands."""
        if role.maximum is not None:
            return role.maximum
        return role.voltage * (1 + self.over) if role.kind == "supply" else self.input_maximum

    def find_lowest(self, role: Role) -> Volt:
        """Return the voltage in V that a supply input needs."""
        return role.voltage * (1 - self.under)

    def accepts(self, role: Role, volts: Volt) -> bool:
        """Return whether a supply input runs from `volts` V and withstands it."""
        return self.find_lowest(role) <= volts and not exceeds(volts, self.find_highest(role))

    def find_short_current(self, volts: Volt) -> Ampere:
        """Return the current in A that `volts` V drive out and back through the lead."""
        return min(volts / (2 * self.lead_resistance), self.source_current)
