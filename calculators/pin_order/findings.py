"""The findings of pin-order: what a wrong mating does, what its lead lacks, what to do."""

from calculators.forms.shared_fields import USUAL_KIND
from calculators.numbers.rounding import exceeds
from calculators.physics.fuse import FuseTrouble
from calculators.pin_order.crossing import TroubleKind
from calculators.pin_order.mating import JudgedContact, Judgement
from calculators.pin_order.plug import RoleKind
from calculators.pin_order.plugging import FedBoard, PinTrouble
from calculators.pin_order.reasons import CONTACT_WORDS
from calculators.pin_order.remedies import add_pin, add_pins, number_board, number_source
from calculators.pin_order.report import HARM_WORDS
from calculators.pin_order.solve import SharedPin, SharedSignal, Solved
from calculators.pin_order.together import Harm
from calculators.results.case import (
    About,
    AnswerRule,
    FindingRule,
    Listed,
    Remedy,
    Rules,
    When,
    Within,
    Wording,
    Words,
)

SERVO_LEAD = "servo lead"
"""The common order whose boards have a resistor before their input as a rule."""

_THROUGH_INPUT = ("fed-through-input", "return-through-input")
_BY_LEAD = "by the made-up lead"

_MATING: Words[Solved] = {
    "straight": Within("matings.straight.deciding", "{brief}", CONTACT_WORDS),
    "reason": Within("matings.straight.deciding", "{reason}", CONTACT_WORDS),
    "reversed": Within("matings.reversed.deciding", "{brief}", CONTACT_WORDS),
    "shifted": Within("shifted.deciding", "{brief}", CONTACT_WORDS),
    "direct": Within("direct.deciding", "{brief}", CONTACT_WORDS),
    "side": (
        Wording("left", lambda case: case.shifted is case.matings.shifted_left),
        Wording("right"),
    ),
    "advice": (
        Wording(
            "Do not join them directly: make up a lead {crossing} and mark both its ends.",
            lambda case: case.own.is_served,
        ),
        Wording("Do not join them directly: no lead puts it right yet, so first mend the other stops here."),
    ),
}


def _damages(judgement: Judgement) -> bool:
    return judgement.verdict == "damages"


def _is_straight(verdict: str) -> When[Solved]:
    """Whether this is the verdict on joining them directly, where that is what is meant."""
    return lambda case: case.matings.straight.verdict == verdict and not case.is_by_lead


def _is_reversed_servo(case: Solved) -> bool:
    board, deciding = case.given.to_pins, case.matings.reversed.deciding
    return board.common and board.name == SERVO_LEAD and deciding.rule in _THROUGH_INPUT


def _is_fuse_large(case: Solved) -> bool:
    """Whether a smaller fuse than the one given bears the board."""
    fitting = case.fitting_fuse
    return fitting is not None and case.given.fuse is not None and fitting < case.given.fuse


_OTHER_WIRE: Words[Solved] = {
    "other_wire": (
        Wording("Use {wire.fitting.label}", lambda case: case.wire.fitting),
        Wording("Share the load between leads with a fuse each"),
    ),
    "less_drop": (
        Wording(
            "Make up a lead of no more than {wire.fitting_resistance:ohm} a wire",
            lambda case: case.wire.fitting_resistance,
        ),
        Wording("Use {wire.fitting.label}", lambda case: case.wire.fitting),
        Wording(
            "Make the lead no longer than {wire.fitting_length:m}", lambda case: case.wire.fitting_length
        ),
        Wording("Put contacts side by side, or take better ones"),
    ),
}
_THICKER: Remedy[Solved] = Remedy({"lead_gauge": "{wire.fitting.label}"})
_FUSED: Remedy[Solved] = Remedy({"fuse": "{fitting_fuse:A}"})
_USUAL: Remedy[Solved] = Remedy({"fuse": "{usual_fuse:A}", "fuse_kind": USUAL_KIND})
_THICKER_FUSED: Remedy[Solved] = Remedy({"lead_gauge": "{wire.fitting.label}", "fuse": "{fitting_fuse:A}"})
_SHARED: Remedy[Solved] = Remedy({
    "board_current": "{wire.fitting_current:A}", "fuse": "{wire.fitting_fuse:A}", "fuse_kind": USUAL_KIND,
})  # fmt: skip
"""For one of several leads that share the load."""

_OTHER_FUSE: Words[Solved] = {
    "other_fuse": (
        Wording("Fit a {fitting_fuse:A} fuse", _is_fuse_large),
        Wording("Take a source for {strong_source:A}, or do without a fuse here and limit the current"),
    ),
}
_QUICKER: tuple[Remedy[Solved], ...] = (
    _FUSED,
    Remedy({"source_current": "{strong_source:A}"}),
    Remedy({"source_current": "{strong_source:A}", "fuse": "{fitting_fuse:A}"}),
    _USUAL,
    _THICKER,
    _THICKER_FUSED,
    Remedy({"lead_resistance": "{wire.fitting_resistance:ohm}", "fuse": "{fitting_fuse:A}"}),
)
_BETTER_CONTACTS: tuple[Remedy[Solved], ...] = (Remedy({"contact_rating": "{wire.fitting_rating:A}"}),)
_LESS_DROP: tuple[Remedy[Solved], ...] = (
    Remedy({"lead_resistance": "{wire.fitting_resistance:ohm}"}),
    _THICKER,
    Remedy({"lead_length": "{wire.fitting_length:m}"}),
    Remedy({"contact_resistance": "{wire.fitting_contact:ohm}"}),
    _SHARED,
)


def _is_wire_hot(case: Solved) -> bool:
    return case.wire.judged is not None and "heat" in case.wire.judged.fails


def _is_wire_unprotected(case: Solved) -> bool:
    judged = case.wire.judged
    return judged is not None and "fuse" in judged.fails and not _is_wire_hot(case)


def _is_contact(trouble: str) -> When[Solved]:
    return lambda case: case.wire.contact and case.wire.contact.trouble == trouble


def _has_fuse(trouble: FuseTrouble) -> When[Solved]:
    return lambda case: case.fuse and trouble in case.fuse.troubles


def _stays_fuse_closed(case: Solved) -> bool:
    """Whether a wrong mating burns a part at a current that need never open the fuse."""
    least = case.least_fault_current
    opening = None if least is None else case.limits.find_opening(least)
    return opening is not None and opening.latest is None


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
_ADD: tuple[Remedy[PinTrouble], ...] = (
    Remedy({"from_pins": add_pin}),
    Remedy({"from_pins": add_pins}),
    Remedy({"from_pins": add_pins, "joined": _BY_LEAD}),
)
_TROUBLE_FINDINGS: tuple[FindingRule[PinTrouble], ...] = (
    FindingRule(
        "stop", "missing-ground",
        _MISSING + "Bring a ground wire across: without one nothing works and signals burn.",
        when=_misses("ground"), words=_TROUBLE, remedies=_ADD,
    ),
    FindingRule(
        "stop", "missing-supply",
        _MISSING + "Feed it from a supply of its own voltage, and join the grounds.",
        when=_misses("supply"), words=_TROUBLE, remedies=_ADD,
    ),
    FindingRule(
        "stop", "missing-signal", _MISSING + "Bring a signal wire from the controller.",
        when=_misses("data", "clock", "line"), words=_TROUBLE, remedies=_ADD,
    ),
    FindingRule(
        "stop", "missing-speaker", _MISSING + "Bring both wires of one amplifier channel.",
        when=_misses("speaker"), words=_TROUBLE, remedies=_ADD,
    ),
    FindingRule(
        "caution", "two-candidates",
        "{Candidates} of the source could serve {pin}; the lead takes them in order. Number them on both "
        "sides (“data 1”, “data 2”) to settle it.",
        when=_is("two-candidates"), words=_TROUBLE,
        remedies=(
            Remedy(
                {"from_pins": number_source, "to_pins": number_board},
                when=lambda trouble: not trouble.board_name,
            ),
        ),
    ),
    FindingRule(
        "note", "other-voltage",
        "{Pin} is fed from {candidates}: not its own voltage, but within what it takes.",
        when=lambda trouble: trouble.kind == "other-voltage" and trouble.is_known, words=_TROUBLE,
    ),
    FindingRule(
        "note", "supply-maximum-unknown",
        "Look up what {pin} withstands, and write it as “{pin.label} max … V”: {volts:V} reach it. What it "
        "bears is not known; {withstood:V} are reckoned, as inputs for its voltage bear as a rule.",
        when=lambda trouble: (
            trouble.kind == "other-voltage" and not trouble.is_known
            and exceeds(trouble.volts, trouble.pin.role.voltage)
        ),
        words=_TROUBLE,
    ),
    FindingRule(
        "note", "supply-below-nominal",
        "{Pin} is fed from {candidates}, less than its own voltage: it is taken to run, dimmer or slower.",
        when=lambda trouble: (
            trouble.kind == "other-voltage" and not trouble.is_known
            and not exceeds(trouble.volts, trouble.pin.role.voltage)
        ),
        words=_TROUBLE,
    ),
)  # fmt: skip

_LEAD: Words[FedBoard] = {
    "board": (Wording("{name}", lambda board: board.name), Wording("it")),
    "the_board": (Wording("{name}", lambda board: board.name), Wording("the board")),
    "reason": Within("lead.deciding", "{reason}", CONTACT_WORDS),
    "brief": Within("lead.deciding", "{brief}", CONTACT_WORDS),
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
        remedies=(
            Remedy({"source_resistor": "330 Ω"}),
            Remedy({"source_resistor": "{settled_resistor:ohm}"}),
            Remedy({"source_resistor": "330 Ω", "signal_level": "3.3 V"}),
        ),
    ),
    FindingRule(
        "stop", "lead-does-not-work",
        "Even joined pin by pin {board} does not work: {reason} Change the source or the board.",
        when=_fails_unexplained, words=_LEAD,
    ),
)  # fmt: skip

_BOARD_ANSWERS: Rules[AnswerRule[FedBoard]] = (
    About("troubles", (
        AnswerRule[PinTrouble](
            "Bring a wire for {pin} across first: nothing at the source serves it.", when=_is("missing"),
            words=_TROUBLE,
        ),
    )),
    AnswerRule(
        "Do not join {the_board} to this source: {brief}.", when=lambda board: not board.is_served,
        words=_LEAD,
    ),
)  # fmt: skip
_THEN: Words[Solved] = {
    "made": (
        Wording("make up a lead {crossing} of {wire.fitting.label}", lambda case: case.wire.fitting),
        Wording("share the load between leads with a fuse each"),
    ),
    "gauge": (Wording(" of {given.lead_gauge.label}", lambda case: case.given.lead_gauge), Wording("")),
    **_OTHER_WIRE,
}

ANSWERS: Rules[AnswerRule[Solved]] = (
    About("own", _BOARD_ANSWERS),
    About("boards", _BOARD_ANSWERS),
    AnswerRule(
        "Put {wire.contact.wanted} contacts side by side for {given.board_current:A} before you join them.",
        when=_is_contact("over rating"),
    ),
    AnswerRule(
        "{other_wire} for {given.board_current:A} behind a fuse of {wanted_fuse:A} before you join them.",
        when=lambda case: case.wanted_fuse and (_is_wire_hot(case) or _is_wire_unprotected(case)),
        words=_THEN,
    ),
    AnswerRule(
        "{other_wire} for {given.board_current:A} before you join them.",
        when=lambda case: _is_wire_hot(case) or _is_wire_unprotected(case), words=_THEN,
    ),
    AnswerRule(
        "{less_drop} before you join them: of {wire.path.supply:V} only {wire.arriving:V} would arrive.",
        when=lambda case: case.wire.is_starved, words=_THEN,
    ),
    AnswerRule(
        "Join them by the made-up lead {crossing}{gauge}, with both its ends marked.",
        when=lambda case: case.is_by_lead, words=_THEN,
    ),
    AnswerRule("Plug it in straight: {straight_pairs}.", when=lambda case: case.is_joined_well),
    AnswerRule("Make up a lead {crossing}{gauge}, and mark both ends.", words=_THEN),
)  # fmt: skip

_JOIN: tuple[Remedy[Solved], ...] = (
    Remedy({"joined": _BY_LEAD}), Remedy({"joined": _BY_LEAD, "keyed": "yes", "shrouded": "yes"}),
)  # fmt: skip


FINDINGS: Rules[FindingRule[Solved]] = (
    FindingRule(
        "note", "straight-holds",
        "The two orders agree: plugged in straight, every pin gets what it needs.",
        when=_is_straight("holds"),
    ),
    FindingRule(
        "note", "straight-harmless", "Plugged in straight, it works, though not as drawn: {reason}",
        when=_is_straight("harmless"), words=_MATING,
    ),
    FindingRule(
        "caution", "straight-does-not-work", "{advice} Plugged in straight, it does not work: {straight}.",
        when=_is_straight("does not work"), words=_MATING, remedies=_JOIN,
    ),
    FindingRule(
        "stop", "straight-damages", "{advice} Plugged in straight, something burns: {straight}.",
        when=_is_straight("damages"), words=_MATING, remedies=_JOIN,
    ),
    FindingRule(
        "note", "mark-both-ends",
        "Mark both ends of the lead: one without crossing looks the same, and with it {direct}.",
        when=lambda case: case.is_by_lead and case.direct.verdict in ("does not work", "damages"),
        words=_MATING,
    ),
    FindingRule(
        "note", "reversed-prevented",
        "Leave the plug's key as it is: it prevents the wrong way round, in which {reversed}.",
        when=lambda case: _damages(case.matings.reversed) and case.given.keyed, words=_MATING,
    ),
    FindingRule(
        "caution", "reversed-damages",
        "Use a plug with a key, or mark one side of both halves. The wrong way round, something burns: "
        "{reversed}.",
        when=lambda case: _damages(case.matings.reversed) and not case.given.keyed, words=_MATING,
        remedies=(Remedy({"keyed": "yes"}), Remedy({"keyed": "yes", "joined": _BY_LEAD})),
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
        "Leave the plug's shroud as it is: it prevents one place too far {side}, where {shifted}.",
        when=lambda case: _damages(case.shifted) and case.given.shrouded, words=_MATING,
    ),
    FindingRule(
        "caution", "shifted-damages",
        "Use a header with a shroud. Plugged in one place too far {side}, something burns: {shifted}.",
        when=lambda case: _damages(case.shifted) and not case.given.shrouded, words=_MATING,
        remedies=(Remedy({"shrouded": "yes"}), Remedy({"shrouded": "yes", "joined": _BY_LEAD})),
    ),
    FindingRule(
        "stop", "wire-too-hot",
        "{other_wire}, and do not power this lead: in air of {lead_air:degC} a pair of "
        "{given.lead_gauge.label} carries {wire.judged.capacity:A} for hours; the board draws "
        "{given.board_current:A}.",
        when=_is_wire_hot, words=_OTHER_WIRE, remedies=(_THICKER, _THICKER_FUSED, _SHARED),
    ),
    FindingRule(
        "stop", "wire-under-fuse",
        "{other_wire}: the fuse of this branch is {wanted_fuse:A}, and in air of {lead_air:degC} a pair of "
        "{given.lead_gauge.label} carries only {wire.judged.capacity:A}. On a short the wire burns "
        "before the fuse opens.",
        when=lambda case: case.wanted_fuse and _is_wire_unprotected(case), words=_OTHER_WIRE,
        remedies=(_THICKER, _FUSED, _SHARED),
    ),
    FindingRule(
        "stop", "drop-below-need",
        "{less_drop}: the lead loses {wire.drop:V}, and of {wire.path.supply:V} the board gets "
        "{wire.arriving:V} where it needs {wire.path.needed:V}.",
        when=lambda case: case.wire.is_starved, words=_OTHER_WIRE, remedies=_LESS_DROP,
    ),
    FindingRule(
        "caution", "drop-too-large",
        "{less_drop}: the lead with its contacts loses {wire.drop:V}, more than the "
        "{wire.run.allowed:V} that is allowed.",
        when=lambda case: case.wire.is_drop_large and not case.wire.is_starved, words=_OTHER_WIRE,
        remedies=_LESS_DROP,
    ),
    FindingRule(
        "stop", "contact-over-rating",
        "Put {wire.contact.wanted} contacts side by side for each wire of the supply, or take some for "
        "{wire.fitting_rating:A}: one carries {wire.contact.current:A}, more than its rating of "
        "{wire.contact.rating:A}.",
        when=_is_contact("over rating"), remedies=_BETTER_CONTACTS,
    ),
    FindingRule(
        "caution", "contact-near-rating",
        "Put {wire.contact.wanted} contacts side by side for each wire of the supply, or take some for "
        "{wire.fitting_rating:A}: {strain}.",
        when=_is_contact("near rating"), remedies=_BETTER_CONTACTS,
        words={
            "strain": (
                Wording(
                    "they never share evenly, and one may carry {wire.contact.worst:A} of its "
                    "{wire.contact.rating:A}",
                    lambda case: case.wire.contact and case.wire.contact.cause == "unequal",
                ),
                Wording(
                    "where one has come open, each of the others carries {wire.contact.others:A} of its "
                    "{wire.contact.rating:A}",
                    lambda case: case.wire.contact and case.wire.contact.cause == "one open",
                ),
                Wording("one carries {wire.contact.current:A} of its {wire.contact.rating:A}"),
            ),
        },
    ),
    FindingRule(
        "note", "contacts-not-judged",
        "The contacts themselves are not judged, for no rating is given: one carries {wire.contact.worst:A}. "
        "Read in the maker's sheet what it may carry, and enter it.",
        when=lambda case: case.wire.contact and case.wire.contact.rating is None,
    ),
    FindingRule(
        "caution", "no-fuse",
        "A wrong mating can drive {fault_current:A} and no fuse is named: fit one at the source of this "
        "branch.",
        when=lambda case: case.fault_current is not None and case.given.fuse is None,
        remedies=(_FUSED, _SHARED),
    ),
    FindingRule(
        "caution", "fuse-never-opens",
        "{other_fuse}: a short draws {fuse.fault:A} from this source, at which a fuse of {fuse.rating:A} "
        "need never open.",
        when=_has_fuse("never opens"), words=_OTHER_FUSE, remedies=_QUICKER,
    ),
    FindingRule(
        "caution", "fuse-opens-late",
        "{other_fuse}: a short draws {fuse.fault:A} from this source, and a fuse of {fuse.rating:A} may take "
        "{fuse.opening.latest:s} to open.",
        when=_has_fuse("opens late"), words=_OTHER_FUSE, remedies=_QUICKER,
    ),
    FindingRule(
        "caution", "fuse-cannot-break",
        "Take a fuse that breaks {able_breaking:A}: the source gives {given.source_current:A} into a short, "
        "and this one breaks {fuse.breaking:A} at the most; more may keep burning inside it.",
        when=_has_fuse("breaking"),
        remedies=(Remedy({"fuse_kind": "{able_kind}"}), Remedy({"fuse_breaking": "{able_breaking:A}"})),
    ),
    FindingRule(
        "caution", "fuse-voltage",
        "Take a fuse made for {highest_supply:V} d.c.: this kind is for {fuse.kind.voltage:V}, and above "
        "that an arc may keep burning inside it.",
        when=_has_fuse("voltage"), remedies=(Remedy({"fuse_kind": "{able_kind}"}),),
    ),
    FindingRule(
        "note", "fuse-not-made",
        "A {fuse.kind.name} fuse is not made for {fuse.rating:A}: choose another kind or rating.",
        when=_has_fuse("not made"),
    ),
    FindingRule(
        "caution", "fuse-too-small",
        "Fit a {fitting_fuse:A} fuse: one of {given.fuse:A} ages and opens at the {given.board_current:A} "
        "that the board draws.",
        when=lambda case: (
            case.given.fuse is not None and case.fitting_fuse is not None
            and exceeds(case.wire.run.least_fuse, case.given.fuse)
        ),
        remedies=(_FUSED, _USUAL, _THICKER_FUSED, _SHARED),
    ),
    FindingRule(
        "caution", "source-too-weak",
        "Take a supply for {given.board_current:A} or more: this one gives {given.source_current:A} at most, "
        "and the board draws {given.board_current:A}.",
        when=lambda case: exceeds(case.given.board_current, case.given.source_current),
        remedies=(
            Remedy({"source_current": "{strong_source:A}"}),
            Remedy({"source_current": "{strong_source:A}", "fuse": "{fitting_fuse:A}"}),
            _SHARED,
            Remedy(
                {"source_current": "{strong_source:A}", "fuse": "{fitting_fuse:A}", "keyed": "yes",
                 "shrouded": "yes", "joined": _BY_LEAD},
            ),
        ),
    ),
    FindingRule(
        "note", "fuse-stays-closed",
        "A wrong mating can burn a part with {least_fault_current:A}, at which the {given.fuse:A} fuse need "
        "never open: a diode inside an input bears some milliamperes, and a fuse saves wires only.",
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
        remedies=(
            Remedy({"signal_level": "{level.rail:V}"}), Remedy({"signal_level": "{level.withstood:V}"}),
        ),
    ),
    About("pulled_bus", (FindingRule[JudgedContact](
        "caution", "bus-pulled-up",
        "Lead the board's pull-up resistors to {limits.signal_level:V}, or put a level shifter between: they "
        "lift the source's {here} to {effect.volts:V}, and it withstands {effect.bound:V}.",
        words=CONTACT_WORDS, remedies=(Remedy({"bus_voltage": "{limits.signal_level:V}"}),),
    ),)),
    About("boards", _BOARD_FINDINGS),
    FindingRule(
        "caution", "break-out-damages", "On the break-out, a straight lead damages: {damaged}. {advice}",
        when=lambda case: case.damaged and not case.is_by_lead,
        remedies=_JOIN,
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
    About("grave_harms", (FindingRule[Harm](
        "caution", "others-damaged",
        "Give {board.name} a plug that goes in one way only, and a marked lead: {way}, it {effect}, and they "
        "burn with it.",
        words=HARM_WORDS,
        remedies=(
            Remedy({"keyed": "yes", "shrouded": "yes"}),
            Remedy({"keyed": "yes", "shrouded": "yes", "joined": _BY_LEAD}),
        ),
    ),)),
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
