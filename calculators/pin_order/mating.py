"""Mating: what happens when the contacts of a source touch those of a board, by an ordered table of rules.

A d.c. judgement at the worst moment: every signal may be high or low, the supply is on, and every logic
input is taken to have the usual two protection diodes (ground to input, input to the lowest supply). What
is joined is found first (`calculators.pin_order.joined_nets`); then each contact takes the first rule of
RULES that fits it, from the gravest to the harmless.

Not judged: how long a fault may last, sparks and surges while plugging in, alternating and mains voltages.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Literal

from calculators.notation.showing import Figure, Phrase, say
from calculators.pin_order.joined_nets import (
    COIL_RESISTANCE,
    DIODE_DROP,
    OUTPUT_RESISTANCE,
    Contact,
    Limits,
    NetVoltage,
    Place,
    Scene,
    find_net,
    name_terminal,
)
from calculators.pin_order.plug import Pairs, Role, describe_pin, start_sentence

type Verdict = Literal["holds", "harmless", "does not work", "damages"]

VERDICTS: tuple[Verdict, ...] = ("holds", "harmless", "does not work", "damages")
"""From the best to the worst."""


@dataclass(frozen=True, slots=True)
class JudgedContact:
    """A contact, the rule that decided, verdict and reason, and the fault current in A where one flows."""

    source: int | None
    board: int | None
    rule: str
    verdict: Verdict
    reason: Phrase
    current: float | None = None


@dataclass(frozen=True, slots=True)
class Judgement:
    """The verdict on a whole mating (the worst of its contacts) and the contacts themselves."""

    verdict: Verdict
    contacts: tuple[JudgedContact, ...]

    @property
    def fault_current(self) -> float | None:
        """The largest damaging current in A, or None where none flows."""
        return max(
            (c.current for c in self.contacts if c.verdict == "damages" and c.current is not None),
            default=None,
        )

    @property
    def deciding(self) -> JudgedContact | None:
        """The contact that made the verdict: the one with the largest current, then the first."""
        worst = [contact for contact in self.contacts if contact.verdict == self.verdict]
        return max(worst, key=lambda contact: contact.current or 0.0, default=None)


type Outcome = tuple[Phrase, float | None] | None
"""The reason and, where a fault current flows, its size in A; None where the rule does not fit."""


@dataclass(frozen=True, slots=True)
class Rule:
    """One row of the table: `code` for scripts, the `title` and the reason (`because`) for people.

    `find` returns the reason for one place, or None where the rule does not fit it.
    """

    code: str
    verdict: Verdict
    title: str
    because: str
    find: Callable[[Place], Outcome]


def _find_gap(one: NetVoltage, other: NetVoltage) -> float:
    return max(one.high - other.low, other.high - one.low)


def _find_supply_short(place: Place) -> Outcome:
    mine, here = place.drive, place.contact.source
    if mine is None or not mine.stiff or here is None:
        return None
    for pin in place.partners:
        other = place.scene.drives[pin]
        if other is None or not other.stiff:
            continue
        if find_net(place.scene.source, pin) == find_net(place.scene.source, here):
            continue
        gap = _find_gap(mine, other)
        if gap <= 0:
            continue
        current = place.limits.find_short_current(gap)
        reason = say(
            "The board joins the source's {here} to its {other} inside itself: up to {current} flow"
            " through the lead and"
            " the board's"
            " copper; {fuse}.",
            here=place.name("source"),
            other=describe_pin(place.scene.source[pin], pin),
            current=Figure(current, "current"),
            fuse=place.limits.describe_fuse(current),
        )
        return reason, current
    return None


def _find_amplifier_load(place: Place) -> Outcome:
    if (
        place.here is None
        or place.here.kind != "speaker"
        or not (place.kind in ("ground", "supply") or place.board_drives)
    ):
        return None
    current = place.limits.find_short_current(place.limits.battery)
    reason = say(
        "The source's {here} swings up to {supply} and stands on the board's {there}: the amplifier's"
        " output and the board both"
        " suffer.",
        here=place.name("source"),
        supply=Figure(place.limits.battery, "voltage"),
        there=place.name("board"),
    )
    return reason, current


def _find_reversal(place: Place) -> tuple[float, bool]:
    """Return the current in A that flows backwards through the board, and whether both sides are stiff."""
    scene, limits = place.scene, place.limits
    ground, most = scene.ground, limits.source_current
    if ground is None and place.kind == "supply":
        # What the board draws from its highest supply lifts its lost ground and returns through a lower one.
        ground, most = scene.highest_level, min(most, limits.board_current)
    if ground is None or place.kind not in ("ground", "supply"):
        return 0.0, False
    rails = [place.level] if place.kind == "supply" else list(scene.rail_levels)
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


def _find_reversed_supply(place: Place) -> Outcome:
    current, stiff = _find_reversal(place)
    if current <= (0.0 if stiff else place.limits.signal_current):
        return None
    if stiff:
        reason = say(
            "The board's ground stands above its supply: up to {current} flow backwards through every"
            " protection diode"
            " on the board; {fuse}.",
            current=Figure(current, "current"),
            fuse=place.limits.describe_fuse(current),
        )
    else:
        reason = say(
            "The board is fed backwards through a signal output, which must carry up to {current}; it"
            " withstands"
            " {limit}.",
            current=Figure(current, "current"),
            limit=Figure(place.limits.signal_current, "current"),
        )
    return reason, current


def _find_overvoltage(place: Place) -> Outcome:
    level, ground = place.level, place.scene.lowest_ground
    if place.kind != "supply" or place.there is None or level is None or ground is None or not level.stiff:
        return None
    highest, volts = place.limits.find_highest(place.there), level.high - ground
    if volts <= highest * (1 + 1e-9):
        return None
    reason = say(
        "{volts} reach the board's {there}, which withstands {highest}: the board's chips break down,"
        " and no fuse"
        " is quick enough.",
        volts=Figure(volts, "voltage"),
        there=place.name("board"),
        highest=Figure(highest, "voltage"),
    )
    return reason, None


def _find_driver_current(place: Place) -> float:
    """Return the most current in A that a logic output at this place must give or take."""
    scene, limits, drive = place.scene, place.limits, place.drive
    if drive is None:
        return 0.0
    if place.board_drives:
        powered = scene.logic_rail.high if scene.logic_rail is not None else 0.0
        volts = max(drive.high, powered - drive.low)
        if drive.stiff:
            return min(volts / OUTPUT_RESISTANCE, limits.source_current)
        return volts / (OUTPUT_RESISTANCE + drive.resistance)
    if drive.stiff:
        return 0.0
    if place.board_listens:
        return max(_find_current_into_input(place), _find_current_out_of_input(place))
    if place.level is not None and place.level.stiff:
        return _find_gap(place.level, drive) / drive.resistance
    weak = [scene.drives[pin] for pin in place.partners]
    if any(other is not None for other in weak):
        return limits.signal_level / (2 * drive.resistance)
    through_diode = scene.has_held_input
    if place.kind == "supply" and scene.ground is not None:
        current = max(0.0, drive.high - scene.ground.low) / drive.resistance
        return current if through_diode else min(limits.board_current, current)
    if place.kind == "ground" and scene.highest_rail > 0:
        current = max(scene.highest_rail, drive.high) / drive.resistance
        return current if through_diode else min(limits.board_current, current)
    return 0.0


def _find_output_overload(place: Place) -> Outcome:
    current = _find_driver_current(place)
    if current <= place.limits.signal_current:
        return None
    owner = f"board's {place.name('board')}" if place.board_drives else f"source's {place.name('source')}"
    reason = say(
        "The {owner} must carry up to {current} and withstands {limit}: the output burns out.",
        owner=owner,
        current=Figure(current, "current"),
        limit=Figure(place.limits.signal_current, "current"),
    )
    return reason, current


def _find_current_into_input(place: Place) -> float:
    """Return the current in A that an input passes on to the board's supply through its upper diode."""
    scene, limits, drive = place.scene, place.limits, place.drive
    if not place.board_listens or drive is None or not scene.rails:
        return 0.0
    paths, rail, ground = [], scene.logic_rail, scene.ground
    if (rail is None or not rail.stiff) and ground is not None:
        # Nothing stiff holds the supply, so the whole board runs from this input as far as it can.
        paths.append((drive.high - ground.low - DIODE_DROP, ground.resistance, limits.board_current))
    if rail is not None:
        paths.append((drive.high - rail.low - DIODE_DROP, rail.resistance, limits.source_current))
    return _find_diode_current(paths, drive.resistance + limits.input_resistor, limits.source_current)


def _find_current_out_of_input(place: Place) -> float:
    """Return the current in A that comes out of an input through its lower diode, from the board's ground."""
    scene, limits, drive = place.scene, place.limits, place.drive
    if not place.board_listens or drive is None:
        return 0.0
    paths, ground, highest = [], scene.ground, scene.highest_level
    if (ground is None or not ground.stiff) and highest is not None:
        # Nothing stiff holds the board's ground, so what the board draws looks for its way back here.
        paths.append((highest.high - drive.low - DIODE_DROP, highest.resistance, limits.board_current))
    if ground is not None:
        paths.append((ground.high - drive.low - DIODE_DROP, ground.resistance, limits.source_current))
    return _find_diode_current(paths, drive.resistance + limits.input_resistor, limits.source_current)


def _find_diode_current(
    paths: list[tuple[float, float, float]], resistance: float, available: float
) -> float:
    """Return the current in A through a diode fed by several paths (V, Ω, most A), behind `resistance` Ω.

    All paths together carry no more than is `available`, in A.
    """
    currents = [min(max(0.0, volts) / (own + resistance), most) for volts, own, most in paths]
    # However many paths feed it, the resistance before the input sees no more than the highest voltage.
    highest = max((max(0.0, volts) for volts, _, _ in paths), default=0.0)
    return min(math.fsum(currents), highest / resistance, available)


def _find_feed_through_input(place: Place) -> Outcome:
    current = _find_current_into_input(place)
    if current <= place.limits.clamp_current:
        return None
    reason = say(
        "The board's supply is fed from the source's {here} through the protection diode of its own"
        " {there}: up to"
        " {current}, and the diode"
        " withstands {limit}. The input burns out; {fuse}.",
        here=place.name("source"),
        there=place.name("board"),
        current=Figure(current, "current"),
        limit=Figure(place.limits.clamp_current, "current"),
        fuse=place.limits.describe_fuse(current),
    )
    return reason, current


def _find_return_through_input(place: Place) -> Outcome:
    current = _find_current_out_of_input(place)
    if current <= place.limits.clamp_current:
        return None
    reason = say(
        "The board's current returns through the protection diode of its own {there} to the source's"
        " {here}: up to"
        " {current}, and the diode"
        " withstands {limit}. The input burns out; {fuse}.",
        here=place.name("source"),
        there=place.name("board"),
        current=Figure(current, "current"),
        limit=Figure(place.limits.clamp_current, "current"),
        fuse=place.limits.describe_fuse(current),
    )
    return reason, current


def _find_input_excess(place: Place) -> tuple[float, float]:
    """Return the voltage in V at an input above what it withstands, and the current in A that it drives."""
    drive, ground = place.drive, place.scene.ground
    if not place.board_listens or place.there is None or drive is None or ground is None:
        return 0.0, 0.0
    excess = drive.high - ground.low - place.limits.find_highest(place.there)
    if excess <= 1e-9:
        return 0.0, 0.0
    return excess, min(excess / (drive.resistance + place.limits.input_resistor), place.limits.source_current)


def _find_input_overvoltage(place: Place) -> Outcome:
    excess, current = _find_input_excess(place)
    if current <= place.limits.clamp_current or place.there is None:
        return None
    highest = place.limits.find_highest(place.there)
    reason = say(
        "{volts} reach the board's {there}, which withstands {highest}; up to {current} break into the"
        " input.",
        volts=Figure(highest + excess, "voltage"),
        there=place.name("board"),
        highest=Figure(highest, "voltage"),
        current=Figure(current, "current"),
    )
    return reason, current


def _find_controller_overvoltage(place: Place) -> Outcome:
    if not place.source_listens or place.here is None or place.there is None:
        return None
    scene, volts, most = place.scene, 0.0, place.limits.source_current
    if place.board_drives:
        volts = scene.logic_rail.high if scene.logic_rail is not None else place.limits.signal_level
    elif place.level is not None:
        volts = place.level.high
    elif place.kind == "ground":
        # Only what the board itself draws comes back this way.
        volts, most = scene.highest_rail, min(most, place.limits.board_current)
    highest = place.here.maximum if place.here.maximum is not None else place.limits.controller_maximum
    own = OUTPUT_RESISTANCE if place.board_drives else place.limits.lead_resistance
    current = min(max(0.0, volts - highest) / (own + place.limits.source_resistor), most)
    if current <= place.limits.clamp_current:
        return None
    reason = say(
        "{volts} from the board reach the source's {here}, which withstands {highest}: the controller's"
        " input burns out.",
        volts=Figure(volts, "voltage"),
        here=place.name("source"),
        highest=Figure(highest, "voltage"),
    )
    return reason, current


def _find_other_terminal(place: Place) -> list[int]:
    """Return the source pins that stand on the other terminal of this loudspeaker."""
    if place.there is None:
        return []
    other = name_terminal(place.there.tag, "-" if place.there.sign == "+" else "+")
    return place.scene.joined.get(other, [])


def _find_coil_current(place: Place) -> tuple[float, bool]:
    """Return the direct current in A through a loudspeaker, and whether both its ends are stiff."""
    mine, worst = place.drive, (0.0, False)
    if place.kind != "speaker" or mine is None or place.here is None:
        return worst
    for pin in _find_other_terminal(place):
        other = place.scene.drives[pin]
        amplified = place.here.kind == "speaker" and place.scene.source[pin].kind == "speaker"
        if other is None or amplified:
            continue
        loop = mine.resistance + other.resistance + COIL_RESISTANCE
        current = min(max(0.0, _find_gap(mine, other)) / loop, place.limits.source_current)
        worst = max(worst, (current, mine.stiff and other.stiff))
    return worst


def _find_direct_current(place: Place) -> Outcome:
    current, stiff = _find_coil_current(place)
    if current <= (0.0 if stiff else place.limits.signal_current):
        return None
    reason = say(
        "A steady voltage stands across the loudspeaker: up to {current} heat its coil and load the"
        " source; {fuse}.",
        current=Figure(current, "current"),
        fuse=place.limits.describe_fuse(current),
    )
    return reason, current


def _find_lost_ground(place: Place) -> Outcome:
    if place.kind != "ground" or place.scene.ground is not None:
        return None
    if place.scene.highest_rail > 0:
        return say(
            "The board's {there} has no way back while its supply is on: the current looks for one"
            " through the signal"
            " pins.",
            there=place.name("board"),
        ), None
    return say("The board's {there} meets no ground.", there=place.name("board")), None


def _find_raised_ground(place: Place) -> Outcome:
    if place.kind != "ground" or place.here is None or place.drive is None or place.here.kind == "ground":
        return None
    if place.drive.stiff:
        return say(
            "The board's ground stands on the source's {here}; nothing on it can work.",
            here=place.name("source"),
        ), None
    current = _find_driver_current(place)
    if current <= 0:
        return say(
            "The board's ground hangs on the source's {here} and moves with it.",
            here=place.name("source"),
        ), None
    return say(
        "The board's ground hangs on the source's {here} and moves with it; up to {current} return that"
        " way, which"
        " it withstands.",
        here=place.name("source"),
        current=Figure(current, "current"),
    ), None


def _find_missing_supply(place: Place) -> Outcome:
    if place.kind != "supply":
        return None
    if place.level is None:
        return say("The board's {there} meets no supply.", there=place.name("board")), None
    if place.drive is None or place.drive.stiff:
        return None
    current = _find_driver_current(place)
    if current <= 0:
        return say("The board's supply hangs on the source's {here}.", here=place.name("source")), None
    return say(
        "The board's supply hangs on the source's {here}, which gives {current} at most and withstands"
        " it; the board"
        " does not run.",
        here=place.name("source"),
        current=Figure(current, "current"),
    ), None


def _find_low_supply(place: Place) -> Outcome:
    if place.kind != "supply" or place.there is None or place.level is None:
        return None
    ground = place.scene.ground
    volts = place.level.low - (ground.high if ground is not None and ground.stiff else 0.0)
    if volts >= place.there.voltage * (1 - place.limits.under):
        return None
    if volts <= 0:
        return say(
            "No voltage stands between the board's {there} and its ground.", there=place.name("board")
        ), None
    return say(
        "{volts} at the board's {there}; it needs at least {lowest}.",
        volts=Figure(volts, "voltage"),
        there=place.name("board"),
        lowest=Figure(place.there.voltage * (1 - place.limits.under), "voltage"),
    ), None


def _find_contention(place: Place) -> Outcome:
    current = _find_driver_current(place)
    if current <= 0 or not (place.board_drives or place.partners):
        return None
    return say(
        "Two outputs drive one wire with up to {current}, which they withstand; what arrives is neither.",
        current=Figure(current, "current"),
    ), None


def _find_held_input(place: Place) -> Outcome:
    if not place.board_listens or place.drive is None or not place.drive.stiff:
        return None
    return say(
        "The board's {there} is held on the source's {here}: no signal arrives.",
        there=place.name("board"),
        here=place.name("source"),
    ), None


def _find_wrong_signal(place: Place) -> Outcome:
    here, there = place.here, place.there
    if here is None or there is None or not here.is_logic or not there.is_logic:
        return None
    if place.source_listens and place.board_listens:
        return say("Both pins listen and nothing drives the wire."), None
    if here.kind != there.kind or (here.tag and there.tag and here.tag != there.tag):
        return say(
            "{here} meets {there}: the wrong signal arrives.",
            here=start_sentence(here.label),
            there=there.label,
        ), None
    return None


def _find_open_input(place: Place) -> Outcome:
    if not place.board_listens or place.drive is not None:
        return None
    return say("Nothing drives the board's {there}.", there=place.name("board")), None


def _find_stray_board(place: Place) -> Outcome:
    scene = place.scene
    if scene.grounded and (place.kind == "supply" or scene.powered):
        return None
    missing = "supply" if scene.grounded else "ground"
    if place.kind == "supply":
        return say("A supply arrives, but the board's ground stands on no ground: nothing runs."), None
    if not place.board_listens:
        return None
    current = max(_find_current_into_input(place), _find_current_out_of_input(place))
    if current <= 0:
        return say("The board lacks its {missing}: no signal is read.", missing=missing), None
    return say(
        "The board lacks its {missing}: no signal is read, and up to {current} flow through the protection"
        " diode of the board's {there}, which it withstands.",
        missing=missing,
        current=Figure(current, "current"),
        there=place.name("board"),
    ), None


def _find_dead_speaker(place: Place) -> Outcome:
    here, roles = place.here, place.scene.source
    if place.kind != "speaker" or place.there is None:
        return None
    if (here is None or here.kind == "unused") and place.partners:
        return None
    others = [roles[pin] for pin in _find_other_terminal(place) if roles[pin].kind == "speaker"]
    if here is not None and here.kind == "speaker" and others:
        if any(other.tag == here.tag and other.sign != here.sign for other in others):
            return None
        return say("The loudspeaker stands between outputs that do not belong to one channel."), None
    return say("The loudspeaker's {there} gets no sound.", there=place.name("board")), None


def _find_swapped_speaker(place: Place) -> Outcome:
    here, there = place.here, place.there
    if here is None or there is None or here.kind != "speaker" or there.kind != "speaker":
        return None
    if here.sign != there.sign:
        return say("The loudspeaker's polarity is swapped: it plays, but against its neighbours."), None
    if here.tag and there.tag and here.tag != there.tag:
        return say("{here} feeds {there}.", here=start_sentence(here.label), there=there.label), None
    return None


def _find_spare_net_pin(place: Place) -> Outcome:
    own = place.here is not None and place.there is not None and place.here.kind == place.there.kind
    if place.kind in ("ground", "supply", "speaker") and not own:
        return say(
            "The board's {there} is open here; the board's other {label} carries its current too.",
            there=place.name("board"),
            label=place.there.label if place.there else "",
        ), None
    return None


def _find_limited_input(place: Place) -> Outcome:
    excess, current = _find_input_excess(place)
    if place.there is None or excess <= 0:
        return None
    return say(
        "{volts} are above what the board's {there} withstands, but the resistors hold the current to"
        " {current},"
        " which it bears.",
        volts=Figure(place.limits.find_highest(place.there) + excess, "voltage"),
        there=place.name("board"),
        current=Figure(current, "current"),
    ), None


def _find_other_voltage(place: Place) -> Outcome:
    here, there = place.here, place.there
    if here is None or there is None or here.kind != "supply" or there.kind != "supply":
        return None
    if abs(here.voltage - there.voltage) <= 1e-3 * there.voltage:
        return None
    return say(
        "{volts} feed the board's {there}: not its own voltage, but within what it takes.",
        volts=Figure(here.voltage, "voltage"),
        there=place.name("board"),
    ), None


def _find_open_end(place: Place) -> Outcome:
    here, there = place.here, place.there
    if here is not None and here.kind != "unused" and (there is None or there.kind == "unused"):
        if here.kind in ("supply", "speaker"):
            return say(
                "The source's {here} ends bare and live; keep it from touching anything.",
                here=place.name("source"),
            ), None
        return say("The source's {here} ends here; nothing is joined.", here=place.name("source")), None
    if place.board_drives and not place.source_listens:
        return say("The board's {there} is not used.", there=place.name("board")), None
    if place.source_listens and there is not None and not place.board_drives:
        return say("The source's {here} gets nothing to listen to.", here=place.name("source")), None
    return None


def _find_agreement(place: Place) -> Outcome:
    if place.kind == "unused" or place.there is None:
        return say("Not used."), None
    if place.kind == "supply":
        return say("The supply arrives."), None
    if place.kind == "ground":
        return say("Ground meets ground."), None
    return say(
        "{here} meets {there}.", here=start_sentence(place.name("source")), there=place.name("board")
    ), None


RULES: tuple[Rule, ...] = (
    Rule(
        *("supply-short", "damages", "A supply is joined to ground or to another supply"),
        "The board's own copper joins its pins of one kind. Nothing but lead and contacts limits the"
        " current.",
        _find_supply_short,
    ),
    Rule(
        *("amplifier-loaded", "damages", "An amplifier's output stands on a supply, a ground or an output"),
        "Both outputs of a bridge-tied amplifier swing between ground and its full supply; neither is a"
        " ground.",
        _find_amplifier_load,
    ),
    Rule(
        *("supply-reversed", "damages", "The board's ground stands above its supply"),
        "Every chip's protection diodes then conduct forwards from ground to supply and short the source.",
        _find_reversed_supply,
    ),
    Rule(
        *("supply-overvoltage", "damages", "More voltage than the supply input withstands"),
        "Above its absolute maximum a chip breaks down at once; a fuse acts on current and far too late.",
        _find_overvoltage,
    ),
    Rule(
        *("output-overloaded", "damages", "A signal output must carry more than it withstands"),
        "A logic output gives tens of milliamperes. Fed by a supply, another output or a whole board,"
        " it overheats.",
        _find_output_overload,
    ),
    Rule(
        *("fed-through-input", "damages", "The board is fed through an input"),
        "An input above its chip's supply conducts through its upper protection diode, which carries"
        " the whole board.",
        _find_feed_through_input,
    ),
    Rule(
        *("return-through-input", "damages", "The board's current returns through an input"),
        "With its ground lost or raised, an input is the lowest point left; its lower protection diode"
        " carries the return.",
        _find_return_through_input,
    ),
    Rule(
        *("input-overvoltage", "damages", "More voltage than an input withstands"),
        "An input survives above its maximum only while a resistor holds the current below what its"
        " diode bears.",
        _find_input_overvoltage,
    ),
    Rule(
        *("controller-overvoltage", "damages", "More voltage than the controller's input withstands"),
        "The same as above, seen from the source: the board drives or lifts a pin that only listens.",
        _find_controller_overvoltage,
    ),
    Rule(
        *("direct-current", "damages", "A steady voltage across a loudspeaker"),
        "A coil is a few ohms of wire: direct current only heats it, and pulls the cone against its stop.",
        _find_direct_current,
    ),
    Rule(
        *("ground-lost", "does not work", "The board's ground is lost"),
        "Without a way back nothing runs; and what current flows comes back through signal pins (judged"
        " there).",
        _find_lost_ground,
    ),
    Rule(
        *("ground-raised", "does not work", "The board's ground stands on something else"),
        "All the board's levels count from its ground. What the wrong pin has to carry is judged by the"
        " rules above.",
        _find_raised_ground,
    ),
    Rule(
        *("supply-missing", "does not work", "The board's supply is missing or hangs on a signal"),
        "A signal output cannot feed a board.",
        _find_missing_supply,
    ),
    Rule(
        *("supply-low", "does not work", "Less voltage than the supply input needs"),
        "Logic below its lowest supply does nothing or nonsense; it is not harmed.",
        _find_low_supply,
    ),
    Rule(
        *("contention", "does not work", "Two outputs drive one wire"),
        "Within what both withstand nothing breaks, but no signal arrives. It still wears the outputs:"
        " do not leave it.",
        _find_contention,
    ),
    Rule(
        *("input-held", "does not work", "An input stands on a supply or a ground"),
        "An input within its limits may stand high or low for ever; it receives nothing.",
        _find_held_input,
    ),
    Rule(
        *("wrong-signal", "does not work", "An input receives another signal"),
        "The level is legal, the content is not.",
        _find_wrong_signal,
    ),
    Rule(
        *("input-open", "does not work", "Nothing drives an input"),
        "An open input picks up noise: lights flicker, servos twitch.",
        _find_open_input,
    ),
    Rule(
        *("board-astray", "does not work", "The right pin, but the board lacks its ground or its supply"),
        "What a pin gets counts from the board's ground and needs the board's supply. Without them a"
        " protection diode may carry current, within its limit.",
        _find_stray_board,
    ),
    Rule(
        *("speaker-silent", "does not work", "A loudspeaker is not between its channel's two outputs"),
        "A bridge-tied output needs both its wires.",
        _find_dead_speaker,
    ),
    Rule(
        *("speaker-swapped", "harmless", "A loudspeaker's wires or its channel are swapped"),
        "It plays: with its cone moving the other way, or on the wrong side. Beside another speaker the"
        " bass grows thin.",
        _find_swapped_speaker,
    ),
    Rule(
        *("spare-open", "harmless", "One of several grounds or supplies is open"),
        "The others carry its current too; check that they are rated for it.",
        _find_spare_net_pin,
    ),
    Rule(
        *("input-limited", "harmless", "Above an input's maximum, but held by a resistor"),
        "Data sheets allow more voltage while the diode's current stays within its rating.",
        _find_limited_input,
    ),
    Rule(
        *("other-voltage", "harmless", "Another voltage than printed, within the limits"),
        "The supply input runs from it and withstands it.",
        _find_other_voltage,
    ),
    Rule(
        *("open-end", "harmless", "A pin that nothing needs is open"),
        "Nothing flows. A live contact that ends bare must not touch anything.",
        _find_open_end,
    ),
    Rule(
        *("as-intended", "holds", "The pin gets what it needs"),
        "Supply, ground and signal meet their like, within their limits.",
        _find_agreement,
    ),
)
"""The table of rules, in the order in which they are tried."""


def judge_mating(
    source: tuple[Role, ...], board: tuple[Role, ...], pairs: Pairs, limits: Limits, *, lead: bool = False
) -> Judgement:
    """Judge one mating: `pairs` are the contacts that touch. Supplies must have their voltages.

    Every pin of the board is judged, also where nothing stands opposite; so is every pin of the source,
    unless this is a made-up `lead`, in which source pins without a wire are nobody's concern.
    """
    scene = Scene(source, board, pairs, limits)
    contacts = [Contact(here, there) for here, there in sorted(pairs)]
    touched_here, touched_there = {here for here, _ in pairs}, {there for _, there in pairs}
    contacts += [Contact(None, pin) for pin in range(len(board)) if pin not in touched_there]
    if not lead:
        contacts += [Contact(pin, None) for pin in range(len(source)) if pin not in touched_here]
    judged = tuple(_judge_contact(Place(scene, contact)) for contact in contacts)
    worst = max((VERDICTS.index(contact.verdict) for contact in judged), default=0)
    return Judgement(VERDICTS[worst], judged)


def _judge_contact(place: Place) -> JudgedContact:
    for rule in RULES:
        outcome = rule.find(place)
        if outcome is not None:
            break
    else:
        raise ValueError("no rule fits this contact; the last rule of RULES has to fit every one")
    reason, current = outcome
    return JudgedContact(place.contact.source, place.contact.board, rule.code, rule.verdict, reason, current)


def find_rule(code: str) -> Rule:
    """Return the rule of this code; raises KeyError for one that does not exist."""
    return _RULES_BY_CODE[code]


_RULES_BY_CODE: Mapping[str, Rule] = {rule.code: rule for rule in RULES}
