"""The findings of pin-order: what a wrong mating does, what its lead lacks, what to do."""

from calculators.numbers.rounding import exceeds
from calculators.pin_order.crossing import TroubleKind
from calculators.pin_order.mating import Judgement
from calculators.pin_order.plug import RoleKind
from calculators.pin_order.plugging import FedBoard, PinTrouble
from calculators.pin_order.reasons import CONTACT_WORDS
from calculators.pin_order.solve import SharedPin, SharedSignal, Solved
from calculators.results.case import (
    About,
    AnswerRule,
    FindingRule,
    Listed,
    Rules,
    When,
    Within,
    Wording,
    Words,
)

SERVO_LEAD = "servo lead"
"""The common order whose boards have a resistor before their input as a rule."""

_THROUGH_INPUT = ("fed-through-input", "return-through-input")

_CONTACT = "{source_end} on {board_end}. {reason}"
_MATING: Words[Solved] = {
    "straight": Within("matings.straight.deciding", _CONTACT, CONTACT_WORDS),
    "reversed": Within("matings.reversed.deciding", _CONTACT, CONTACT_WORDS),
    "shifted": Within("shifted.deciding", _CONTACT, CONTACT_WORDS),
    "side": (
        Wording("left", lambda case: case.shifted is case.matings.shifted_left),
        Wording("right"),
    ),
    "advice": (
        Wording(
            "Do not join them directly: make up a lead {crossing} and mark both its ends.",
            lambda case: case.own.is_served,
        ),
        Wording("Do not join them directly. No lead puts it right yet: first mend the other stops here."),
    ),
}


def _damages(judgement: Judgement) -> bool:
    return judgement.verdict == "damages"


def _is_reversed_servo(case: Solved) -> bool:
    board, deciding = case.given.to_pins, case.matings.reversed.deciding
    return board.common and board.name == SERVO_LEAD and deciding.rule in _THROUGH_INPUT


_OTHER_WIRE: Words[Solved] = {
    "other_wire": (
        Wording("Use {fitting_wire.label}.", lambda case: case.fitting_wire),
        Wording("Share the load between leads with a fuse each."),
    ),
}


def _is_fuse_idle(case: Solved) -> bool:
    return case.given.fuse is not None and case.given.fuse >= case.given.source_current


def _stays_fuse_closed(case: Solved) -> bool:
    least, fuse = case.least_fault_current, case.given.fuse
    return least is not None and fuse is not None and least <= fuse and not _is_fuse_idle(case)


def _is_level_low(case: Solved) -> bool:
    return case.level is not None and exceeds(case.level.needed, case.given.signal_level)


def _has_own_supply(case: Solved) -> bool:
    """Whether the board's inputs bear too little to live on what it is fed with."""
    return case.level is not None and exceeds(case.level.rail, case.level.withstood)


def _is(*kinds: TroubleKind) -> When[PinTrouble]:
    return lambda trouble: trouble.kind in kinds


def _misses(*kinds: RoleKind) -> When[PinTrouble]:
    return lambda trouble: trouble.kind == "missing" and trouble.pin.role.kind in kinds


_TROUBLE: Words[PinTrouble] = {
    "pin": (Wording("pin {pin.number} ({pin.label}) of {board}"),),
    "board": (Wording("{board_name}", lambda trouble: trouble.board_name), Wording("the board")),
    "candidates": Listed("candidates", "pin {each.number} ({each.label})", " or "),
}
_MISSING = "Nothing at the source serves {pin}. "
_TROUBLE_FINDINGS: tuple[FindingRule[PinTrouble], ...] = (
    FindingRule(
        "stop", "missing-ground",
        _MISSING + "Bring a ground wire across: without one nothing works and signals burn.",
        when=_misses("ground"), words=_TROUBLE,
    ),
    FindingRule(
        "stop", "missing-supply",
        _MISSING + "Feed it from a supply of its own voltage, and join the grounds.",
        when=_misses("supply"), words=_TROUBLE,
    ),
    FindingRule(
        "stop", "missing-signal", _MISSING + "Bring a signal wire from the controller.",
        when=_misses("data", "clock"), words=_TROUBLE,
    ),
    FindingRule(
        "stop", "missing-speaker", _MISSING + "Bring both wires of one amplifier channel.",
        when=_misses("speaker"), words=_TROUBLE,
    ),
    FindingRule(
        "caution", "two-candidates",
        "{Candidates} of the source could serve {pin}; the lead takes them in order. Number them on both "
        "sides (“data 1”, “data 2”) to settle it.",
        when=_is("two-candidates"), words=_TROUBLE,
    ),
    FindingRule(
        "note", "other-voltage",
        "{Pin} is fed from {candidates}: not its own voltage, but within what it takes.",
        when=_is("other-voltage"), words=_TROUBLE,
    ),
)  # fmt: skip

_LEAD: Words[FedBoard] = {
    "board": (Wording("{name}", lambda board: board.name), Wording("it")),
    "reason": Within("lead.deciding", "{reason}", CONTACT_WORDS),
}


def _fails_unexplained(board: FedBoard) -> bool:
    """Whether a lead does not work, and no missing pin has said so already."""
    missing = any(trouble.kind == "missing" for trouble in board.troubles)
    return board.lead.verdict == "does not work" and not missing


_BOARD_FINDINGS: Rules[FindingRule[FedBoard]] = (
    About("troubles", _TROUBLE_FINDINGS),
    FindingRule(
        "stop", "lead-damages",
        "Even joined pin by pin {board} is damaged: {reason} Change the source or the board.",
        when=lambda board: _damages(board.lead), words=_LEAD,
    ),
    FindingRule(
        "stop", "lead-does-not-work",
        "Even joined pin by pin {board} does not work: {reason} Change the source or the board.",
        when=_fails_unexplained, words=_LEAD,
    ),
)  # fmt: skip


ANSWERS: Rules[AnswerRule[Solved]] = (
    AnswerRule("Plug it in straight.", when=lambda case: case.matings.straight.verdict == "holds"),
    AnswerRule("{advice}", words=_MATING),
)  # fmt: skip


FINDINGS: Rules[FindingRule[Solved]] = (
    FindingRule(
        "note", "straight-holds",
        "The two orders agree: plugged in straight, every pin gets what it needs.",
        when=lambda case: case.matings.straight.verdict == "holds",
    ),
    FindingRule(
        "note", "straight-harmless", "Plugged in straight, it works, though not as drawn: {straight}",
        when=lambda case: case.matings.straight.verdict == "harmless", words=_MATING,
    ),
    FindingRule(
        "caution", "straight-does-not-work", "{advice} Plugged in straight, it does not work: {straight}",
        when=lambda case: case.matings.straight.verdict == "does not work", words=_MATING,
    ),
    FindingRule(
        "stop", "straight-damages", "{advice} Plugged in straight, something burns: {straight}",
        when=lambda case: _damages(case.matings.straight), words=_MATING,
    ),
    FindingRule(
        "note", "reversed-prevented",
        "Plugged in the wrong way round, something burns: {reversed} The plug's shape prevents it; do not "
        "file it off.",
        when=lambda case: _damages(case.matings.reversed) and case.given.keyed, words=_MATING,
    ),
    FindingRule(
        "caution", "reversed-damages",
        "Use a plug with a key, or mark one side of both halves, and plug in only with the battery off. "
        "Plugged in the wrong way round, something burns: {reversed}",
        when=lambda case: _damages(case.matings.reversed) and not case.given.keyed, words=_MATING,
    ),
    FindingRule(
        "note", "servo-resistor",
        "A servo has a kilohm or more before its input as a rule, and then a reversed plug does no harm. "
        "Light boards on such a lead often have none, and here {given.input_resistor:ohm} is reckoned: enter "
        "what yours has under “Resistor before the board's input”.",
        when=_is_reversed_servo,
    ),
    FindingRule(
        "note", "shifted-prevented",
        "Plugged in one place too far {side}, something burns: {shifted} The plug's shape prevents it; do "
        "not file it off.",
        when=lambda case: _damages(case.shifted) and case.given.shrouded, words=_MATING,
    ),
    FindingRule(
        "caution", "shifted-damages",
        "Use a header with a shroud, and plug in only with the battery off. Plugged in one place too far "
        "{side}, something burns: {shifted}",
        when=lambda case: _damages(case.shifted) and not case.given.shrouded, words=_MATING,
    ),
    FindingRule(
        "stop", "wire-too-hot",
        "In air of {lead_air:degC} a pair of {given.lead_gauge.label} carries {judged_wire.capacity:A} for "
        "hours; the board draws {given.board_current:A}. Do not power it. {other_wire}",
        when=lambda case: case.judged_wire and "heat" in case.judged_wire.fails, words=_OTHER_WIRE,
    ),
    FindingRule(
        "stop", "wire-under-fuse",
        "The fuse of this branch is {wanted_fuse:A}, but in air of {lead_air:degC} a pair of "
        "{given.lead_gauge.label} carries only {judged_wire.capacity:A}: on a short the wire burns before "
        "the fuse opens. {other_wire}",
        when=lambda case: (
            case.wanted_fuse and case.judged_wire and case.judged_wire.fails == ("fuse",)
        ),
        words=_OTHER_WIRE,
    ),
    FindingRule(
        "caution", "no-fuse",
        "A wrong mating can drive {fault_current:A} and no fuse is named: fit one at the source of this "
        "branch.",
        when=lambda case: case.fault_current is not None and case.given.fuse is None,
    ),
    FindingRule(
        "caution", "fuse-above-source",
        "The supply gives {given.source_current:A} at most, so the {given.fuse:A} fuse never opens: choose "
        "one well below that.",
        when=lambda case: case.fault_current is not None and _is_fuse_idle(case),
    ),
    FindingRule(
        "note", "fuse-stays-closed",
        "A wrong mating can burn a part with {least_fault_current:A}, at which the {given.fuse:A} fuse stays "
        "closed: a fuse saves wires, only the right order saves the board.",
        when=_stays_fuse_closed,
    ),
    About("own", _BOARD_FINDINGS),
    About("shared", (FindingRule[SharedPin](
        "note", "shared-contact",
        "Pin {pin.number} ({pin.label}) of the source feeds board pins {ends}: splice the wires, never two "
        "in one crimp, and check the contact's rating for both.",
        words={"ends": Listed("ends", "{each.number}", " and ")},
    ),)),
    FindingRule(
        "note", "spare-pins", "Left over at the source: {pins}. Leave these contacts without a wire.",
        when=lambda case: case.spare, words={"pins": Listed("spare", "pin {each.number} ({each.label})")},
    ),
    FindingRule(
        "note", "signal-level-unknown",
        "The board's inputs withstand {level.withstood:V}, so they do not live on its {level.rail:V} but on "
        "a supply that the board makes itself. Look up from what level they read high, often 0.7 of that "
        "supply, and fit a level shifter to that supply if the source's {given.signal_level:V} are less.",
        when=lambda case: _is_level_low(case) and _has_own_supply(case),
    ),
    FindingRule(
        "caution", "signal-level-low",
        "The source's {given.signal_level:V} is below the {level.needed:V} that the board's inputs surely "
        "read as high: fit a level shifter at the source.",
        when=lambda case: _is_level_low(case) and not _has_own_supply(case),
    ),
    About("boards", _BOARD_FINDINGS),
    FindingRule(
        "caution", "break-out-damages", "On the break-out, a straight lead damages: {damaged}. {advice}",
        when=lambda case: case.damaged,
        words={
            "damaged": Listed("damaged", "{each.name}"),
            "helped": Listed("helped", "{each.name}", last=" and "),
            "advice": (
                Wording(
                    "A lead of its own, by the table, serves {helped}; put the board's name on both its "
                    "ends.",
                    lambda case: case.helped,
                ),
                Wording("No lead puts it right yet: first mend the other stops here."),
            ),
        },
    ),
    About("shared_signals", (FindingRule[SharedSignal](
        "note", "shared-signal",
        "{Names} share pin {pin.number} ({pin.label}): they show the same pattern. Split it with a resistor "
        "for each, or use a data line for each.",
        words={"names": Listed("boards", "{each.name}", last=" and ")},
    ),)),
    FindingRule(
        "note", "check-the-print",
        "Common practice, not a standard: {names}. {cautions} Go by the board's own print, or by the sheet "
        "that came with it.",
        when=lambda case: case.common,
        words={
            "names": Listed("common", "{each.name}", "; "),
            "cautions": Listed("common", "{each.caution}", " "),
        },
    ),
)  # fmt: skip
