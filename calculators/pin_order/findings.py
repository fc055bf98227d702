"""The findings of the pin-order calculator: what a wrong mating does, what its lead lacks, what to do."""

from collections.abc import Iterator, Sequence

from calculators.notation.showing import Figure, Phrase, list_names, say
from calculators.parts import read_rows
from calculators.pin_order.crossing import Trouble
from calculators.pin_order.joined_nets import Limits
from calculators.pin_order.mating import JudgedContact, Judgement, Verdict
from calculators.pin_order.plug import Plug, describe_pin, list_common_plugs, start_sentence
from calculators.pin_order.plugging import WAY_WORDS, WAYS, BreakOut, PluggedBoard, is_possible
from calculators.results.result import Finding, Level

HIGH_THRESHOLD = 0.7
"""Share of its own supply from which a CMOS input surely reads high; data sheets of 5 V addressable LEDs."""

SERVO_LEAD = "servo lead"
"""The common order whose boards have a resistor before their input as a rule."""

SERVING: tuple[Verdict, ...] = ("holds", "harmless")
"""Verdicts with which a lead does its work."""

_THROUGH_INPUT = ("fed-through-input", "return-through-input")

_VERDICT_WORDS: dict[Verdict, str] = {
    "holds": "all is well",
    "harmless": "it works, though not as drawn",
    "does not work": "it does not work",
    "damages": "something burns",
}


def _name_contact(contact: JudgedContact) -> str:
    here = "nothing" if contact.source is None else f"source pin {contact.source + 1}"
    there = "nothing" if contact.board is None else f"board pin {contact.board + 1}"
    return f"{here} on {there}"


def _describe_mating(name: str, judgement: Judgement) -> Phrase:
    contact = judgement.deciding
    if contact is None:
        return say("Plugged in {way}, no pin has anything to do.", way=WAY_WORDS[name])
    return say(
        "Plugged in {way}, {verdict}: {contact}. {reason}",
        way=WAY_WORDS[name],
        verdict=_VERDICT_WORDS[judgement.verdict],
        contact=_name_contact(contact),
        reason=contact.reason,
    )


def find_mating_findings(
    plugged: PluggedBoard, limits: Limits, *, keyed: bool, shrouded: bool
) -> list[Finding]:
    """Return what the four ways of plugging in do, and what the fuse can and cannot save."""
    straight = plugged.judged["straight"]
    findings: list[Finding] = []
    code = f"straight-{straight.verdict.replace(' ', '-')}"
    if straight.verdict == "holds":
        findings.append(
            Finding(
                "note", code, say("The two orders agree: plugged in straight, every pin gets what it needs.")
            )
        )
    elif straight.verdict == "harmless":
        findings.append(Finding("note", code, _describe_mating("straight", straight)))
    else:
        level: Level = "stop" if straight.verdict == "damages" else "caution"
        findings.append(
            Finding(
                level,
                code,
                say("{advice} {what}", what=_describe_mating("straight", straight), advice=_advise(plugged)),
            )
        )
    reversal = plugged.judged["reversed"]
    findings += _find_wrong_way(
        "reversed", "reversed", reversal, keyed, "a plug with a key, or mark one side of both halves"
    )
    findings += _find_servo_note(plugged.board, reversal, limits)
    left, right = plugged.judged["shifted_left"], plugged.judged["shifted_right"]
    worse_left = left.verdict == "damages" or right.verdict != "damages"
    name, shifted = ("shifted_left", left) if worse_left else ("shifted_right", right)
    findings += _find_wrong_way(name, "shifted", shifted, shrouded, "a header with a shroud")
    possible = [plugged.judged[way] for way in WAYS if is_possible(way, keyed=keyed, shrouded=shrouded)]
    return findings + _find_fuse_findings(possible, limits)


def _advise(plugged: PluggedBoard) -> Phrase:
    if plugged.lead.verdict not in SERVING:
        return say("Do not join them directly. No lead puts it right yet: first mend the other stops here.")
    return say(
        "Do not join them directly: make up a lead {lead} and mark both its ends.",
        lead=plugged.crossing.write(),
    )


def _find_wrong_way(
    name: str, code: str, judgement: Judgement, prevented: bool, remedy: str
) -> list[Finding]:
    if judgement.verdict != "damages":
        return []
    what = _describe_mating(name, judgement)
    if prevented:
        text = say("{what} The plug's shape prevents it; do not file it off.", what=what)
        return [Finding("note", f"{code}-prevented", text)]
    text = say("Use {remedy}, and plug in only with the battery off. {what}", what=what, remedy=remedy)
    return [Finding("caution", f"{code}-damages", text)]


def _find_servo_note(board: Plug, reversal: Judgement, limits: Limits) -> Iterator[Finding]:
    """Yield why a reversed servo burns here although practice says that it does not."""
    contact = reversal.deciding
    if (
        not (board.common and board.name == SERVO_LEAD)
        or contact is None
        or contact.rule not in _THROUGH_INPUT
    ):
        return
    yield Finding(
        "note",
        "servo-resistor",
        say(
            "A servo has a kilohm or more before its input as a rule, and then a reversed plug does no harm."
            " Light boards on such a lead often have none, and here {resistor} is reckoned: enter what yours"
            " has under “Resistor before the board's input”.",
            resistor=Figure(limits.input_resistor, "resistance"),
        ),
    )


def _find_fuse_findings(possible: Sequence[Judgement], limits: Limits) -> list[Finding]:
    faults = [
        contact.current
        for judgement in possible
        for contact in judgement.contacts
        if contact.verdict == "damages" and contact.current is not None
    ]
    if not faults:
        return []
    largest = Figure(max(faults), "current")
    if limits.fuse is None:
        text = say(
            "A wrong mating can drive {largest} and no fuse is named: fit one at the source of this branch.",
            largest=largest,
        )
        return [Finding("caution", "no-fuse", text)]
    fuse = Figure(limits.fuse, "current")
    if limits.fuse >= limits.source_current:
        text = say(
            "The supply gives {most} at most, so the {fuse} fuse never opens: choose one well below that.",
            most=Figure(limits.source_current, "current"),
            fuse=fuse,
        )
        return [Finding("caution", "fuse-above-source", text)]
    if min(faults) <= limits.fuse:
        text = say(
            "A wrong mating can burn a part with {least}, at which the {fuse} fuse stays closed: a fuse"
            " saves wires, only"
            " the right order saves the board.",
            least=Figure(min(faults), "current"),
            fuse=fuse,
        )
        return [Finding("note", "fuse-stays-closed", text)]
    return []


def find_lead_findings(plugged: PluggedBoard, limits: Limits) -> list[Finding]:
    """Return what is missing, doubtful or left over in the made-up lead."""
    source, board, crossing = plugged.source, plugged.board, plugged.crossing
    findings = [_describe_trouble(source, board, "the board", trouble) for trouble in crossing.troubles]
    findings += _judge_lead(plugged.lead, crossing.troubles, "it")
    for here, ends in crossing.find_shared().items():
        text = say(
            "{pin} of the source feeds board pins {ends}: splice the wires, never two in one crimp, and"
            " check the"
            " contact's rating for both.",
            pin=start_sentence(describe_pin(source.pins[here], here)),
            ends=" and ".join(str(pin + 1) for pin in ends),
        )
        findings.append(Finding("note", "shared-contact", text))
    if crossing.spare:
        names = ", ".join(describe_pin(source.pins[pin], pin) for pin in crossing.spare)
        text = say("Left over at the source: {names}. Leave these contacts without a wire.", names=names)
        findings.append(Finding("note", "spare-pins", text))
    return findings + _find_level_findings(board, limits)


def _judge_lead(lead: Judgement, troubles: Sequence[Trouble], name: str) -> Iterator[Finding]:
    """Yield what a lead does that serves nothing, as far as no missing pin has said so already."""
    missing = any(trouble.kind == "missing" for trouble in troubles)
    contact = lead.deciding
    if contact is None or lead.verdict in SERVING or (missing and lead.verdict == "does not work"):
        return
    damages = lead.verdict == "damages"
    yield Finding(
        "stop",
        "lead-damages" if damages else "lead-does-not-work",
        say(
            "Even joined pin by pin {what}: {reason} Change the source or the board.",
            what=f"{name} is damaged" if damages else f"{name} does not work",
            reason=contact.reason,
        ),
    )


def _find_level_findings(board: Plug, limits: Limits) -> list[Finding]:
    rails = [role.voltage for role in board.pins if role.kind == "supply"]
    maxima = [limits.find_highest(role) for role in board.pins if role.listens(at_source=False)]
    if not rails or not maxima:
        return []
    # No input withstands much more than its own chip's supply, so one that bears less than the rail does not
    # live on it.
    rail, most = min(rails), min(maxima)
    level, needed = Figure(limits.signal_level, "voltage"), HIGH_THRESHOLD * min(rail, most)
    if limits.signal_level >= needed * (1 - 1e-9):
        return []
    if rail > most * (1 + 1e-9):
        text = say(
            "The board's inputs withstand {most}, so they do not live on its {rail} but on a supply that the"
            " board makes itself. Look up from what level they read high, often 0.7 of that supply, and fit a"
            " level shifter to that supply if the source's {level} are less.",
            most=Figure(most, "voltage"),
            rail=Figure(rail, "voltage"),
            level=level,
        )
        return [Finding("note", "signal-level-unknown", text)]
    text = say(
        "The source's {level} is below the {needed} that the board's inputs surely read as high: fit a"
        " level shifter at"
        " the source.",
        level=level,
        needed=Figure(needed, "voltage"),
    )
    return [Finding("caution", "signal-level-low", text)]


def _describe_trouble(source: Plug, board: Plug, name: str, trouble: Trouble) -> Finding:
    role = board.pins[trouble.pin]
    pin = f"{describe_pin(role, trouble.pin)} of {name}"
    if trouble.kind == "missing":
        what = {"data": "signal", "clock": "signal"}.get(role.kind, role.kind)
        advice = {
            "ground": "Bring a ground wire across: without one nothing works and signals burn.",
            "supply": "Feed it from a supply of its own voltage, and join the grounds.",
            "signal": "Bring a signal wire from the controller.",
            "speaker": "Bring both wires of one amplifier channel.",
        }[what]
        return Finding(
            "stop",
            f"missing-{what}",
            say("Nothing at the source serves {pin}. {advice}", pin=pin, advice=advice),
        )
    names = " or ".join(describe_pin(source.pins[pin], pin) for pin in trouble.candidates)
    if trouble.kind == "two-candidates":
        text = say(
            "{names} of the source could serve {pin}; the lead takes them in order. Number them on both"
            " sides (“data 1”,"
            " “data 2”) to settle it.",
            names=start_sentence(names),
            pin=pin,
        )
        return Finding("caution", "two-candidates", text)
    text = say(
        "{pin} is fed from {names}: not its own voltage, but within what it takes.",
        pin=start_sentence(pin),
        names=names,
    )
    return Finding("note", "other-voltage", text)


def find_break_out_findings(source: Plug, break_out: BreakOut) -> list[Finding]:
    """Return what has to be known about several boards on one source."""
    findings: list[Finding] = []
    homes = break_out.homes
    troubles: dict[str, list[Trouble]] = {branch.plugged.board.name: [] for branch in break_out.branches}
    for trouble in break_out.crossing.troubles:
        board, pin = homes[trouble.pin]
        troubles[board.name].append(Trouble(trouble.kind, pin, trouble.candidates))
    for branch in break_out.branches:
        board = branch.plugged.board
        own = troubles[board.name]
        findings += [_describe_trouble(source, board, board.name, trouble) for trouble in own]
        findings += _judge_lead(branch.lead, own, board.name)
    damaged = [
        branch for branch in break_out.branches if branch.plugged.judged["straight"].verdict == "damages"
    ]
    if damaged:
        helped = [branch.plugged.board.name for branch in damaged if branch.lead.verdict in SERVING]
        text = say(
            "On the break-out, a straight lead damages: {names}. {advice}",
            names=", ".join(branch.plugged.board.name for branch in damaged),
            advice=f"A lead of its own, by the table, serves {list_names(helped, len(helped))}; put the"
            " board's name on both its ends."
            if helped
            else "No lead puts it right yet: first mend the other stops here.",
        )
        findings.append(Finding("caution", "break-out-damages", text))
    for here, ends in break_out.crossing.find_shared().items():
        names = list(dict.fromkeys(homes[pin][0].name for pin in ends))
        if source.pins[here].is_logic and len(names) > 1:
            text = say(
                "{names} share {pin}: they show the same pattern. Split it with a resistor for each, or"
                " use a data line"
                " for each.",
                names=start_sentence(list_names(names, len(names))),
                pin=describe_pin(source.pins[here], here),
            )
            findings.append(Finding("note", "shared-signal", text))
    return findings


def find_common_notes(plugs: Sequence[Plug]) -> list[Finding]:
    """Return the caution that belongs to orders taken from the table of common practice."""
    used = [plug.pins for plug in plugs if plug.common]
    rows = [row for row in read_rows("plugs") if list_common_plugs()[str(row["name"])].pins in used]
    if not rows:
        return []
    text = say(
        "Common practice, not a standard: {names}. {cautions} Go by the board's own print, or by the sheet"
        " that came with it.",
        names="; ".join(str(row["name"]) for row in rows),
        cautions=" ".join(str(row["caution"]) for row in rows),
    )
    return [Finding("note", "check-the-print", text)]
