"""Mating rules: the ordered table by which a contact is judged, from the gravest rule to the harmless.

Each rule finds an effect at a contact, or does not fit it; what is said of rules and effects stands in
`calculators.pin_order.reasons`.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from calculators.notation.units import Ampere, Volt
from calculators.numbers.rounding import exceeds
from calculators.pin_order.fault_currents import (
    find_bus_excess,
    find_coil_current,
    find_current_into_input,
    find_current_out_of_input,
    find_driver_current,
    find_gap,
    find_input_current,
    find_input_excess,
    find_reversal,
    list_other_terminal,
)
from calculators.pin_order.joined_nets import OUTPUT_RESISTANCE, Contact, find_net
from calculators.pin_order.plug import Pin

type Verdict = Literal["holds", "harmless", "does not work", "damages"]

VERDICTS: tuple[Verdict, ...] = ("holds", "harmless", "does not work", "damages")
"""From the best to the worst."""

type How = Literal[
    "", "through an output", "at the board", "at the source", "live", "dead", "held", "hanging", "carrying",
    "nothing", "both listen", "unread", "leaking", "mixed", "polarity", "channel", "bare", "unused",
    "unheard", "supply", "ground", "assumed", "pulled up", "sound",
]  # fmt: skip
"""In which of several ways one rule's effect comes about."""


@dataclass(frozen=True, slots=True)
class Effect:
    """What a rule finds: the figures that decided, `bound` being what `volts` go beyond or fall short of.

    `other` is the pin that the source's own is joined to, `lacks` what the board does without.
    """

    how: How = ""
    current: Ampere | None = None
    volts: Volt | None = None
    bound: Volt | None = None
    other: Pin | None = None
    lacks: Literal["ground", "supply"] | None = None


@dataclass(frozen=True, slots=True)
class MatingRule:
    """One row of the table; `find` returns what it finds at a contact, or None where it does not fit."""

    code: str
    verdict: Verdict
    find: Callable[[Contact], Effect | None]


# Damages


def _find_supply_short(contact: Contact) -> Effect | None:
    mine, scene = contact.drive, contact.scene
    if mine is None or not mine.stiff or contact.here is None:
        return None
    for pin in contact.partners:
        other = scene.drives[pin]
        if other is None or not other.stiff:
            continue
        if find_net(scene.source, pin) == find_net(scene.source, contact.here.index):
            continue
        gap = find_gap(mine, other)
        if gap > 0:
            current = contact.limits.find_short_current(gap)
            return Effect(current=current, other=Pin(pin, scene.source[pin]))
    return None


def _find_amplifier_load(contact: Contact) -> Effect | None:
    loaded = contact.board_kind in ("ground", "supply") or contact.board_drives
    if contact.source_kind != "speaker" or not loaded:
        return None
    return Effect(current=contact.limits.find_short_current(contact.limits.battery))


def _find_reversed_supply(contact: Contact) -> Effect | None:
    current, stiff = find_reversal(contact)
    if current <= (0.0 if stiff else contact.limits.signal_current):
        return None
    return Effect("" if stiff else "through an output", current)


def _find_overvoltage(contact: Contact) -> Effect | None:
    there, level, ground = contact.there, contact.level, contact.scene.lowest_ground
    if contact.board_kind != "supply" or there is None or level is None or ground is None or not level.stiff:
        return None
    highest, volts = contact.limits.find_highest(there.role), level.high - ground
    if not exceeds(volts, highest):
        return None
    how: How = "" if contact.limits.knows_highest(there.role) else "assumed"
    return Effect(how, volts=volts, bound=highest)


def _find_output_overload(contact: Contact) -> Effect | None:
    current = find_driver_current(contact)
    if current <= contact.limits.signal_current:
        return None
    at_board = contact.board_drives or (contact.board_pulls and not contact.is_bus)
    return Effect("at the board" if at_board else "at the source", current)


def _find_feed_through_input(contact: Contact) -> Effect | None:
    current = find_current_into_input(contact)
    return Effect(current=current) if current > contact.limits.clamp_current else None


def _find_return_through_input(contact: Contact) -> Effect | None:
    current = find_current_out_of_input(contact)
    return Effect(current=current) if current > contact.limits.clamp_current else None


def _find_input_overvoltage(contact: Contact) -> Effect | None:
    found = _find_limited_input(contact)
    return found if found and (found.current or 0.0) > contact.limits.clamp_current else None


def _find_controller_overvoltage(contact: Contact) -> Effect | None:
    pulled = _find_pulled_bus(contact)
    if pulled and (pulled.current or 0.0) > contact.limits.clamp_current:
        return pulled
    if not contact.source_listens or contact.here is None or contact.there is None:
        return None
    scene, limits = contact.scene, contact.limits
    volts, most = 0.0, limits.source_current
    if contact.board_drives:
        volts = scene.logic_rail.high if scene.logic_rail is not None else limits.signal_level
    elif contact.level is not None:
        volts = contact.level.high
    elif contact.board_kind == "ground":
        # Only what the board itself draws comes back this way.
        volts, most = scene.highest_rail, min(most, limits.board_current)
    maximum = contact.here.role.maximum
    highest = limits.controller_maximum if maximum is None else maximum
    own = OUTPUT_RESISTANCE if contact.board_drives else limits.lead_resistance
    current = min(max(0.0, volts - highest) / (own + limits.source_resistor), most)
    return Effect(current=current, volts=volts, bound=highest) if current > limits.clamp_current else None


def _find_direct_current(contact: Contact) -> Effect | None:
    current, stiff = find_coil_current(contact)
    return Effect(current=current) if current > (0.0 if stiff else contact.limits.signal_current) else None


# Does not work


def _find_lost_ground(contact: Contact) -> Effect | None:
    if contact.board_kind != "ground" or contact.scene.ground is not None:
        return None
    return Effect("live" if contact.scene.highest_rail > 0 else "dead")


def _find_raised_ground(contact: Contact) -> Effect | None:
    if contact.board_kind != "ground" or contact.drive is None or contact.source_kind == "ground":
        return None
    return Effect("held") if contact.drive.stiff else _find_hanging(contact)


def _find_missing_supply(contact: Contact) -> Effect | None:
    if contact.board_kind != "supply":
        return None
    if contact.level is None:
        return Effect("nothing")
    if contact.drive is None or contact.drive.stiff:
        return None
    return _find_hanging(contact)


def _find_hanging(contact: Contact) -> Effect:
    """Return what a logic output carries that a whole board hangs on, within what it withstands."""
    current = find_driver_current(contact)
    return Effect("carrying", current) if current > 0 else Effect("hanging")


def _find_low_supply(contact: Contact) -> Effect | None:
    there, level, ground = contact.there, contact.level, contact.scene.ground
    if contact.board_kind != "supply" or there is None or level is None:
        return None
    volts = level.low - (ground.high if ground is not None and ground.stiff else 0.0)
    lowest = contact.limits.find_lowest(there.role)
    if volts >= lowest:
        return None
    return Effect("nothing" if volts <= 0 else "", volts=volts, bound=lowest)


def _find_contention(contact: Contact) -> Effect | None:
    current = find_driver_current(contact)
    if current <= 0 or not (contact.board_drives or contact.partners):
        return None
    return Effect(current=current)


def _find_held_input(contact: Contact) -> Effect | None:
    held = contact.board_takes and contact.drive is not None and contact.drive.stiff
    return Effect() if held else None


def _find_wrong_signal(contact: Contact) -> Effect | None:
    if contact.here is None or contact.there is None:
        return None
    here, there = contact.here.role, contact.there.role
    if not here.is_signal or not there.is_signal:
        return None
    if contact.source_listens and contact.board_listens:
        return Effect("both listen")
    differ = not here.agrees(there) or (here.tag and there.tag and here.tag != there.tag)
    return Effect() if differ else None


def _find_open_input(contact: Contact) -> Effect | None:
    return Effect() if contact.board_takes and contact.drive is None else None


def _find_stray_board(contact: Contact) -> Effect | None:
    scene = contact.scene
    if scene.grounded and (contact.board_kind == "supply" or scene.powered):
        return None
    if contact.board_kind == "supply":
        return Effect("supply")
    if not contact.board_takes:
        return None
    current = find_input_current(contact)
    lacks: Literal["ground", "supply"] = "supply" if scene.grounded else "ground"
    return Effect("leaking", current, lacks=lacks) if current > 0 else Effect("unread", lacks=lacks)


def _find_dead_speaker(contact: Contact) -> Effect | None:
    if contact.board_kind != "speaker":
        return None
    if contact.source_kind in (None, "unused") and contact.partners:
        return None
    others = [contact.scene.source[pin] for pin in list_other_terminal(contact)]
    others = [role for role in others if role.kind == "speaker"]
    if contact.here is None or contact.source_kind != "speaker" or not others:
        return Effect()
    here = contact.here.role
    paired = any(other.tag == here.tag and other.sign != here.sign for other in others)
    return None if paired else Effect("mixed")


# Harmless


def _find_swapped_speaker(contact: Contact) -> Effect | None:
    if contact.here is None or contact.there is None:
        return None
    here, there = contact.here.role, contact.there.role
    if here.kind != "speaker" or there.kind != "speaker":
        return None
    if here.sign != there.sign:
        return Effect("polarity")
    return Effect("channel") if here.tag and there.tag and here.tag != there.tag else None


def _find_spare_net_pin(contact: Contact) -> Effect | None:
    netted = contact.board_kind in ("ground", "supply", "speaker")
    return Effect() if netted and contact.source_kind != contact.board_kind else None


def _find_limited_input(contact: Contact) -> Effect | None:
    excess, current = find_input_excess(contact)
    if contact.there is None or excess <= 0:
        return None
    highest = contact.limits.find_highest(contact.there.role)
    return Effect(current=current, volts=highest + excess, bound=highest)


def _find_pulled_bus(contact: Contact) -> Effect | None:
    volts, highest, current = find_bus_excess(contact)
    return Effect("pulled up", current, volts, highest) if current > 0 else None


def _find_shared_return(contact: Contact) -> Effect | None:
    if contact.here is None or contact.there is None or contact.board_kind != "ground":
        return None
    differ = contact.source_kind == "ground" and contact.here.role.content != contact.there.role.content
    return Effect("sound") if differ else None


def _find_other_voltage(contact: Contact) -> Effect | None:
    if contact.here is None or contact.there is None:
        return None
    here, there = contact.here.role, contact.there.role
    if here.kind != "supply" or there.kind != "supply":
        return None
    if abs(here.voltage - there.voltage) <= 1e-3 * there.voltage:
        return None
    return Effect(volts=here.voltage)


def _find_open_end(contact: Contact) -> Effect | None:
    if contact.source_kind not in (None, "unused") and contact.board_kind in (None, "unused"):
        return Effect("live" if contact.source_kind in ("supply", "speaker") else "bare")
    if contact.board_drives and not contact.source_listens:
        return Effect("unused")
    if contact.source_listens and contact.there is not None and not contact.board_drives:
        return Effect("unheard")
    return None


# Holds


def _find_agreement(contact: Contact) -> Effect:
    match contact.board_kind:
        case None | "unused":
            return Effect("unused")
        case "supply" | "ground":
            return Effect(contact.board_kind)
        case _:
            return Effect()


RULES: tuple[MatingRule, ...] = (
    MatingRule("supply-short", "damages", _find_supply_short),
    MatingRule("amplifier-loaded", "damages", _find_amplifier_load),
    MatingRule("supply-reversed", "damages", _find_reversed_supply),
    MatingRule("supply-overvoltage", "damages", _find_overvoltage),
    MatingRule("output-overloaded", "damages", _find_output_overload),
    MatingRule("fed-through-input", "damages", _find_feed_through_input),
    MatingRule("return-through-input", "damages", _find_return_through_input),
    MatingRule("input-overvoltage", "damages", _find_input_overvoltage),
    MatingRule("controller-overvoltage", "damages", _find_controller_overvoltage),
    MatingRule("direct-current", "damages", _find_direct_current),
    MatingRule("ground-lost", "does not work", _find_lost_ground),
    MatingRule("ground-raised", "does not work", _find_raised_ground),
    MatingRule("supply-missing", "does not work", _find_missing_supply),
    MatingRule("supply-low", "does not work", _find_low_supply),
    MatingRule("contention", "does not work", _find_contention),
    MatingRule("input-held", "does not work", _find_held_input),
    MatingRule("wrong-signal", "does not work", _find_wrong_signal),
    MatingRule("input-open", "does not work", _find_open_input),
    MatingRule("board-astray", "does not work", _find_stray_board),
    MatingRule("speaker-silent", "does not work", _find_dead_speaker),
    MatingRule("speaker-swapped", "harmless", _find_swapped_speaker),
    MatingRule("spare-open", "harmless", _find_spare_net_pin),
    MatingRule("input-limited", "harmless", _find_limited_input),
    MatingRule("bus-pulled-up", "harmless", _find_pulled_bus),
    MatingRule("sound-on-ground", "harmless", _find_shared_return),
    MatingRule("other-voltage", "harmless", _find_other_voltage),
    MatingRule("open-end", "harmless", _find_open_end),
    MatingRule("as-intended", "holds", _find_agreement),
)
"""The table of rules, in the order in which they are tried; the last fits every contact."""
