"""Fault currents: what flows through one contact of a mating, at the worst moment."""

import math

from calculators.notation.units import Ampere, Ohm, Volt
from calculators.pin_order.joined_nets import (
    DIODE_DROP,
    OUTPUT_RESISTANCE,
    Contact,
    NetVoltage,
    name_terminal,
)

COIL_RESISTANCE = 3.2
"""Ω of a loudspeaker's voice coil: 80 % of 4 Ω, the lowest an IEC 60268-5 rated 4 Ω speaker may have."""


def find_gap(one: NetVoltage, other: NetVoltage) -> Volt:
    """Return the most that may stand between two nets."""
    return max(one.high - other.low, other.high - one.low)


def find_reversal(contact: Contact) -> tuple[Ampere, bool]:
    """Return the current that flows backwards through the board, and whether both sides are stiff."""
    scene, limits = contact.scene, contact.limits
    ground, most = scene.ground, limits.source_current
    if ground is None and contact.board_kind == "supply":
        # What the board draws from its highest supply lifts its lost ground and returns through a lower one.
        ground, most = scene.highest_level, min(most, limits.board_current)
    if ground is None or contact.board_kind not in ("ground", "supply"):
        return 0.0, False
    rails = [contact.level] if contact.board_kind == "supply" else list(scene.rail_levels)
    worst, stiff = 0.0, False
    for rail in rails:
        if rail is None:
            continue
        gap = ground.high - rail.low - DIODE_DROP
        if gap <= 0:
            continue
        both = ground.stiff and rail.stiff
        current = min(gap / (ground.resistance + rail.resistance), most)
        if current > worst:
            worst, stiff = current, both
    return worst, stiff


def find_driver_current(contact: Contact) -> Ampere:
    """Return the most that a logic output at this contact must give or take."""
    scene, limits, drive = contact.scene, contact.limits, contact.drive
    if drive is None:
        return 0.0
    if contact.board_pulls and not contact.is_bus:
        # The board pulls a wire of its bus down while the source holds it up.
        pulled = drive.high / (OUTPUT_RESISTANCE + drive.resistance)
        pulled = min(pulled, limits.source_current)
        return pulled if drive.stiff else max(pulled, find_input_current(contact))
    if contact.board_drives:
        powered = scene.logic_rail.high if scene.logic_rail is not None else 0.0
        volts = max(drive.high, powered - drive.low)
        if drive.stiff:
            return min(volts / OUTPUT_RESISTANCE, limits.source_current)
        return volts / (OUTPUT_RESISTANCE + drive.resistance)
    if drive.stiff:
        return 0.0
    if contact.board_listens:
        return find_input_current(contact)
    if contact.level is not None and contact.level.stiff:
        sunk, given = contact.level.high - drive.low, drive.high - contact.level.low
        return max(sunk / drive.resistance, given / drive.lift)
    weak = [scene.drives[pin] for pin in contact.partners]
    if any(other is not None for other in weak):
        return limits.signal_level / (2 * drive.resistance)
    through_diode = scene.has_held_input
    if contact.board_kind == "supply" and scene.ground is not None:
        current = max(0.0, drive.high - scene.ground.low) / drive.lift
        return current if through_diode else min(limits.board_current, current)
    if contact.board_kind == "ground" and scene.highest_rail > 0:
        current = max(scene.highest_rail, drive.high) / drive.resistance
        return current if through_diode else min(limits.board_current, current)
    return 0.0


def find_input_current(contact: Contact) -> Ampere:
    """Return the larger of what an input's two protection diodes carry."""
    return max(find_current_into_input(contact), find_current_out_of_input(contact))


def find_current_into_input(contact: Contact) -> Ampere:
    """Return what an input passes on to the board's supply through its upper diode."""
    scene, limits, drive = contact.scene, contact.limits, contact.drive
    if not contact.board_listens or drive is None or not scene.rails:
        return 0.0
    paths, rail, ground = [], scene.logic_rail, scene.ground
    if (rail is None or not rail.stiff) and ground is not None:
        # Nothing stiff holds the supply, so the whole board runs from this input as far as it can.
        paths.append((drive.high - ground.low - DIODE_DROP, ground.resistance, limits.board_current))
    if rail is not None:
        paths.append((drive.high - rail.low - DIODE_DROP, rail.resistance, limits.source_current))
    return _find_diode_current(paths, drive.lift + limits.input_resistor, limits.source_current)


def find_current_out_of_input(contact: Contact) -> Ampere:
    """Return what comes out of an input through its lower diode, from the board's ground."""
    scene, limits, drive = contact.scene, contact.limits, contact.drive
    if not contact.board_listens or drive is None:
        return 0.0
    paths, ground, highest = [], scene.ground, scene.highest_level
    if (ground is None or not ground.stiff) and highest is not None:
        # Nothing stiff holds the board's ground, so what the board draws looks for its way back here.
        paths.append((highest.high - drive.low - DIODE_DROP, highest.resistance, limits.board_current))
    if ground is not None:
        paths.append((ground.high - drive.low - DIODE_DROP, ground.resistance, limits.source_current))
    return _find_diode_current(paths, drive.resistance + limits.input_resistor, limits.source_current)


def _find_diode_current(paths: list[tuple[Volt, Ohm, Ampere]], resistance: Ohm, available: Ampere) -> Ampere:
    """Return what a diode carries that several paths feed (V, Ω, most A), behind a resistance.

    All paths together carry no more than is available.
    """
    currents = [min(max(0.0, volts) / (own + resistance), most) for volts, own, most in paths]
    # However many paths feed it, the resistance before the input sees no more than the highest voltage.
    highest = max((max(0.0, volts) for volts, _, _ in paths), default=0.0)
    return min(math.fsum(currents), highest / resistance, available)


def find_input_excess(contact: Contact) -> tuple[Volt, Ampere]:
    """Return what stands at an input above what it withstands, and the current that it drives."""
    drive, ground = contact.drive, contact.scene.ground
    if not contact.board_takes or contact.there is None or drive is None or ground is None:
        return 0.0, 0.0
    limits = contact.limits
    excess = drive.high - ground.low - limits.find_highest(contact.there.role)
    if excess <= 1e-9:
        return 0.0, 0.0
    return excess, min(excess / (drive.lift + limits.input_resistor), limits.source_current)


def find_bus_excess(contact: Contact) -> tuple[Volt, Volt, Ampere]:
    """Return to what the board's pull-up lifts a bus of the source, what that withstands, and the current."""
    scene, limits = contact.scene, contact.limits
    if not contact.is_bus or contact.here is None or scene.logic_rail is None:
        return 0.0, 0.0, 0.0
    volts = scene.logic_rail.high if limits.bus is None else min(limits.bus, scene.logic_rail.high)
    highest = limits.controller_maximum if contact.here.role.maximum is None else contact.here.role.maximum
    return volts, highest, max(0.0, volts - highest) / limits.pull_up


def list_other_terminal(contact: Contact) -> list[int]:
    """Return the source pins that stand on the other terminal of this loudspeaker."""
    if contact.there is None:
        return []
    role = contact.there.role
    return contact.scene.joined.get(name_terminal(role.tag, "-" if role.sign == "+" else "+"), [])


def find_coil_current(contact: Contact) -> tuple[Ampere, bool]:
    """Return the direct current through a loudspeaker, and whether both its ends are stiff."""
    mine, worst = contact.drive, (0.0, False)
    if contact.board_kind != "speaker" or mine is None:
        return worst
    for pin in list_other_terminal(contact):
        other = contact.scene.drives[pin]
        amplified = contact.source_kind == "speaker" and contact.scene.source[pin].kind == "speaker"
        if other is None or amplified:
            continue
        loop = mine.resistance + other.resistance + COIL_RESISTANCE
        current = min(max(0.0, find_gap(mine, other)) / loop, contact.limits.source_current)
        worst = max(worst, (current, mine.stiff and other.stiff))
    return worst
