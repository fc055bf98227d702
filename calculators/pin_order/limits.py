"""Limits: what the source of a mating can deliver, and what each pin withstands."""

from dataclasses import dataclass

from calculators.notation.units import Ampere, Ohm, Share, Volt
from calculators.numbers.rounding import exceeds
from calculators.physics.fuse import AT_HAND, FusePlace, Opening, find_fuse_kind, find_opening
from calculators.pin_order.plug import Role

LEAST_REGULATED: Volt = 7.0
"""From here on an input is made for a battery or feeds a regulator, for ordinary logic bears 7 V at the most:
makers' data sheets of 5 V logic, absolute maximum."""

CHIP_MARGIN: Share = 0.06
"""What chips that live on the supply bear above it: 5.3 V on a 5 V addressable LED, from its data sheet."""

BATTERY_MARGIN: Share = 1 / 3
"""What inputs made for a battery bear above its nominal voltage: 16 V for 12 V and 32 V for 24 V, the upper
ends of ISO 16750-2's supply ranges, from memory."""


@dataclass(frozen=True, slots=True)
class Limits:
    """What the source can deliver and what each pin withstands, in V, A and Ω; shares for the supplies.

    A supply input withstands its own voltage and the share `over` above it, and works down to the share
    `under` below, unless its pin has a maximum of its own. Where neither is known, it is taken to withstand
    what inputs for its voltage do. The wires of a bus are pulled up by `pull_up`, on the board to `bus`, or
    else to its lowest supply.
    """

    signal_level: Volt = 5.0
    signal_current: Ampere = 0.04
    source_resistor: Ohm = 330.0
    controller_maximum: Volt = 5.5
    source_current: Ampere = 15.0
    fuse: Ampere | None = None
    fuse_place: FusePlace = AT_HAND
    lead_resistance: Ohm = 0.1
    input_maximum: Volt = 5.5
    input_resistor: Ohm = 0.0
    clamp_current: Ampere = 0.015
    board_current: Ampere = 0.4
    over: Share | None = 0.1
    under: Share = 0.25
    battery: Volt = 14.6
    pull_up: Ohm = 4700.0
    bus: Volt | None = None

    def find_highest(self, role: Role) -> Volt:
        """Return the voltage in V that a supply or logic input withstands."""
        if role.maximum is not None:
            return role.maximum
        if role.kind != "supply":
            return self.input_maximum
        usual = CHIP_MARGIN if role.voltage < LEAST_REGULATED else BATTERY_MARGIN
        return role.voltage * (1 + (usual if self.over is None else self.over))

    def knows_highest(self, role: Role) -> bool:
        """Return whether that was given, and not taken from what is usual."""
        return role.maximum is not None or role.kind != "supply" or self.over is not None

    def find_lowest(self, role: Role) -> Volt:
        """Return the voltage in V that a supply input needs."""
        return role.voltage * (1 - self.under)

    def accepts(self, role: Role, volts: Volt) -> bool:
        """Return whether a supply input runs from `volts` V and withstands it."""
        return self.find_lowest(role) <= volts and not exceeds(volts, self.find_highest(role))

    def find_opening(self, current: Ampere) -> Opening | None:
        """Return when the fuse opens at this current, None without one."""
        if self.fuse is None:
            return None
        return find_opening(find_fuse_kind(self.fuse_place, self.fuse), self.fuse, current)

    def find_short_current(self, volts: Volt) -> Ampere:
        """Return the current in A that `volts` V drive out and back through the lead."""
        return min(volts / (2 * self.lead_resistance), self.source_current)
