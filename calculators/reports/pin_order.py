"""What a pin-order result says: working, findings, readings and tables, from the judged matings."""

from collections.abc import Sequence
from functools import cache, lru_cache, partial

from calculators.physics.crossing import Crossing, Trouble
from calculators.physics.joined_nets import Limits
from calculators.physics.mating import RULES, JudgedContact, Judgement, Verdict, find_rule
from calculators.physics.plug import (
    Pairs,
    Plug,
    Role,
    describe_pin,
    find_pairs,
    list_common_plugs,
    start_sentence,
)
from calculators.physics.plugging import WAY_WORDS, WAYS, Ways, is_possible
from calculators.tables import read_rows
from calculators.vocabulary.result import Cell, Column, Finding, LateTable, Level, Reading, Rows, Step, Table
from calculators.vocabulary.showing import Figure, Phrase, say

HIGH_THRESHOLD = 0.7
"""Share of its own supply from which a CMOS input surely reads high; data sheets of 5 V addressable LEDs."""

_MARKS: dict[Verdict, str] = {"holds": "", "harmless": "", "does not work": "caution", "damages": "stop"}
_VERDICT_WORDS: dict[Verdict, str] = {
    "holds": "all is well",
    "harmless": "it works, though not as drawn",
    "does not work": "it does not work",
    "damages": "something burns",
}
_PIN_COLUMNS = (
    Column("from_pin", "Source pin", "number"),
    Column("from_role", "carries"),
    Column("to_pin", "Board pin", "number"),
    Column("to_role", "wants"),
    Column("verdict", "Verdict"),
    Column("reason", "Because"),
    Column("rule", "Rule no.", "number"),
)


@lru_cache(maxsize=64)
def find_colours(pins: tuple[Role, ...]) -> tuple[str, ...]:
    """Return a conductor colour (IEC 60757 code and name) for each pin; one supply has one colour."""
    uses: dict[str, list[str]] = {}
    for row in read_rows("conductor_colours"):
        uses.setdefault(str(row["use"]), []).append(f"{row['code']} {row['name']}")
    for use, plain in uses.items():
        if use != "ground":
            uses[use] = plain + [f"BK{colour[:2]} black and {colour[3:]}" for colour in plain]
    given: dict[tuple[str, object], str] = {}
    colours = []
    for pin, role in enumerate(pins):
        use = f"speaker {role.sign}" if role.kind == "speaker" else role.kind
        if use == "unused":
            colours.append("")
            continue
        net = (use, role.voltage if use == "supply" else "" if use == "ground" else pin)
        if net not in given:
            taken = sum(1 for other, _ in given if other == use)
            given[net] = uses[use][taken % len(uses[use])]
        colours.append(given[net])
    return tuple(colours)


# Working


def write_working(ways: Ways, limits: Limits, *, rows: int, mirrored: bool) -> tuple[Step, ...]:
    """Return the steps from the two lists to what touches what, and to the short-circuit current."""
    source, board = ways.source, ways.board
    straight = find_pairs(len(source.pins), len(board.pins), rows=rows, mirrored=mirrored)
    turned = find_pairs(len(source.pins), len(board.pins), rows=rows, mirrored=mirrored, turned=True)
    width = len(board.pins) // rows
    steps = [
        Step(
            "Which places meet, plugged in straight",
            "k meets n + 1 − k in each row" if mirrored else "k meets k",
            say(
                "n = {n}; the two lists run {way}",
                n=width,
                way="against each other" if mirrored else "the same way",
            ),
            say(_write_pairs(straight)),
        ),
        Step(
            "Turned by half",
            "k takes the place of N + 1 − k",
            say("N = {n} pins of the board", n=len(board.pins)),
            say(_write_pairs(turned)),
        ),
        Step(
            "Made-up lead",
            "the same role to the same role",
            say(
                "{wires} wires for {pins} pins of the board",
                wires=len(ways.crossing.wires),
                pins=len(board.pins),
            ),
            say(ways.crossing.write()),
        ),
    ]
    highest = max((role.voltage for role in source.pins if role.kind == "supply"), default=None)
    if highest is not None:
        steps.append(
            Step(
                "Current of a short circuit through the lead",
                "I = min(U ÷ (2 R), I of the source)",
                say(
                    "min({volts} ÷ (2 × {wire}), {most})",
                    volts=Figure(highest, "voltage"),
                    wire=Figure(limits.lead_resistance, "resistance"),
                    most=Figure(limits.source_current, "current"),
                ),
                Figure(limits.find_short_current(highest), "current"),
            )
        )
    return tuple(steps)


def _write_pairs(pairs: Pairs) -> str:
    return ", ".join(f"{here + 1}-{there + 1}" for here, there in pairs) or "none"


# Findings


def _name_contact(contact: JudgedContact) -> str:
    here = "nothing" if contact.source is None else f"source pin {contact.source + 1}"
    there = "nothing" if contact.board is None else f"board pin {contact.board + 1}"
    return f"{here} on {there}"


def _describe_mating(name: str, judgement: Judgement) -> Phrase:
    contact = judgement.deciding
    if contact is None:
        return say("Plugged in {way}, no pin has anything to do.", way=WAY_WORDS[name])
    return say(
        "Plugged in {way}, {verdict} ({contact}): {reason}",
        way=WAY_WORDS[name],
        verdict=_VERDICT_WORDS[judgement.verdict],
        contact=_name_contact(contact),
        reason=contact.reason,
    )


def find_mating_findings(ways: Ways, limits: Limits, *, keyed: bool, shrouded: bool) -> list[Finding]:
    """Return what the four ways of plugging in do, and what the fuse can and cannot save."""
    straight = ways.judged["straight"]
    lead = ways.crossing.write()
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
                say(
                    "{what} Do not join them directly: make up a lead {lead} and mark both its ends.",
                    what=_describe_mating("straight", straight),
                    lead=lead,
                ),
            )
        )
    reversal = ways.judged["reversed"]
    findings += _find_wrong_way(
        "reversed", "reversed", reversal, keyed, "a plug with a key, or mark one side of both halves"
    )
    left, right = ways.judged["shifted_left"], ways.judged["shifted_right"]
    worse_left = left.verdict == "damages" or right.verdict != "damages"
    name, shifted = ("shifted_left", left) if worse_left else ("shifted_right", right)
    findings += _find_wrong_way(name, "shifted", shifted, shrouded, "a header with a shroud")
    possible = [ways.judged[way] for way in WAYS if is_possible(way, keyed=keyed, shrouded=shrouded)]
    return findings + _find_fuse_findings(possible, limits)


def _find_wrong_way(
    name: str, code: str, judgement: Judgement, prevented: bool, remedy: str
) -> list[Finding]:
    if judgement.verdict != "damages":
        return []
    what = _describe_mating(name, judgement)
    if prevented:
        text = say("{what} The plug's shape prevents it; do not file it off.", what=what)
        return [Finding("note", f"{code}-prevented", text)]
    text = say("{what} Use {remedy}, and plug in only with the battery off.", what=what, remedy=remedy)
    return [Finding("caution", f"{code}-damages", text)]


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


def find_lead_findings(ways: Ways, limits: Limits) -> list[Finding]:
    """Return what is missing, doubtful or left over in the made-up lead."""
    source, board, crossing = ways.source, ways.board, ways.crossing
    findings = [
        _describe_trouble(source, board, board.pins, trouble, "board") for trouble in crossing.troubles
    ]
    if ways.lead.verdict == "damages":
        contact = ways.lead.deciding
        reason = contact.reason if contact is not None else say("")
        findings.append(
            Finding(
                "stop",
                "lead-damages",
                say("Even pin by pin it damages: {reason} Change the source or the board.", reason=reason),
            )
        )
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
    findings += _find_level_findings(board, limits)
    return findings


def _find_level_findings(board: Plug, limits: Limits) -> list[Finding]:
    rails = [role.voltage for role in board.pins if role.kind == "supply"]
    if not rails or not any(role.listens(at_source=False) for role in board.pins):
        return []
    needed = HIGH_THRESHOLD * min(rails)
    if limits.signal_level >= needed * (1 - 1e-9):
        return []
    text = say(
        "The source's {level} is below the {needed} that the board's inputs surely read as high: fit a"
        " level shifter at"
        " the source.",
        level=Figure(limits.signal_level, "voltage"),
        needed=Figure(needed, "voltage"),
    )
    return [Finding("caution", "signal-level-low", text)]


def _describe_trouble(
    source: Plug, board: Plug, pins: Sequence[Role], trouble: Trouble, name: str
) -> Finding:
    role = pins[trouble.pin]
    pin = f"the {name}'s {describe_pin(role, trouble.pin)}"
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


def find_break_out_findings(source: Plug, boards: Sequence[Ways], break_out: Crossing) -> list[Finding]:
    """Return what has to be known about several boards on one source."""
    findings: list[Finding] = []
    homes = [(ways.board, pin) for ways in boards for pin in range(len(ways.board.pins))]
    for trouble in break_out.troubles:
        board, pin = homes[trouble.pin]
        local = Trouble(trouble.kind, pin, trouble.candidates)
        findings.append(_describe_trouble(source, board, board.pins, local, board.name))
    damaged = [ways.board.name for ways in boards if ways.judged["straight"].verdict == "damages"]
    if damaged:
        text = say(
            "On the break-out, a straight lead damages: {names}. Give each board a lead of its own by"
            " the table, with"
            " its name on both ends.",
            names=", ".join(damaged),
        )
        findings.append(Finding("caution", "break-out-damages", text))
    for here, ends in break_out.find_shared().items():
        names = list(dict.fromkeys(homes[pin][0].name for pin in ends))
        if source.pins[here].is_logic and len(names) > 1:
            text = say(
                "{names} share {pin}: they show the same pattern. Split it with a resistor for each, or"
                " use a data line"
                " for each.",
                names=start_sentence(" and ".join(names)),
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
        "Common practice, not a standard: {names}. {cautions}",
        names="; ".join(str(row["name"]) for row in rows),
        cautions=" ".join(str(row["caution"]) for row in rows),
    )
    return [Finding("note", "check-the-print", text)]


# Readings and tables


def find_readings(ways: Ways, limits: Limits) -> tuple[Reading, ...]:
    """Return what a meter shows on the made-up lead: every wire, no joint beside, then the voltages.

    Pins that carry the same share one reading, so that a joint of a dozen contacts stays a list to work down.
    """
    source, board = ways.source, ways.board
    ends = [(there, board.pins[there]) for _, there in ways.crossing.wires]
    feeds = {there: source.pins[here].voltage for here, there in ways.crossing.wires}
    readings = [
        _read_wires(
            label, [wire for wire in ways.crossing.wires if board.pins[wire[1]].label == label], limits
        )
        for label in dict.fromkeys(role.label for _, role in ends)
    ]
    supplies: dict[tuple[Role, float], list[int]] = {}
    for pin, role in ends:
        if role.kind == "supply":
            supplies.setdefault((role, feeds[pin]), []).append(pin)
    for (role, _), pins in supplies.items():
        apart = [end for end in ends if end[1].kind != "supply" or end[1].voltage > role.voltage]
        grounds = [end for end in apart if end[1].kind == "ground"]
        others = [end for end in apart if end[1].kind != "ground"]
        readings += [_read_gap(role, pins, group) for group in (grounds, others) if group]
    ground = next((pin for pin, role in ends if role.kind == "ground"), None)
    if ground is None:
        return tuple(readings)
    for (role, volts), pins in supplies.items():
        low = max(role.voltage * (1 - limits.under), 0.95 * volts)
        high = min(limits.find_highest(role), 1.05 * volts)
        hint = "a minus sign means reversed"
        span = (min(low, volts), volts, max(high, volts))
        readings.append(_read_voltage(role.label, pins, ground, hint, span))
    listening = [(pin, role) for pin, role in ends if role.listens(at_source=False)]
    for label in dict.fromkeys(role.label for _, role in listening):
        pins = [pin for pin, role in listening if role.label == label]
        hint = "a moving signal reads between"
        readings.append(_read_voltage(label, pins, ground, hint, (0.0, 0.0, limits.signal_level)))
    return tuple(readings)


def _count_pins(pins: Sequence[int]) -> str:
    numbers = [str(pin + 1) for pin in pins]
    if len(numbers) == 1:
        return f"pin {numbers[0]}"
    return f"pins {', '.join(numbers[:-1])} and {numbers[-1]}"


def _read_wires(label: str, wires: Sequence[tuple[int, int]], limits: Limits) -> Reading:
    ends = ", ".join(f"{here + 1}-{there + 1}" for here, there in wires)
    here, there = _count_pins([wire[0] for wire in wires]), _count_pins([wire[1] for wire in wires])
    each = "" if len(wires) == 1 else ", wire by wire"
    return Reading(
        f"Wire{'s' if each else ''} {ends} ({label})",
        f"source plug {here} to board plug {there}{each}; lead unplugged at both ends",
        "off",
        Figure(limits.lead_resistance, "resistance"),
        Figure(0.0, "resistance"),
        Figure(limits.lead_resistance + 1.0, "resistance"),
    )


def _read_gap(role: Role, pins: Sequence[int], apart: Sequence[tuple[int, Role]]) -> Reading:
    names = list(dict.fromkeys(other.label for _, other in apart))
    others = [pin for pin, _ in apart]
    each = "" if len(pins) == len(others) == 1 else ", each against each"
    return Reading(
        f"No joint from {role.label} to {names[0] if len(names) == 1 else 'any other wire'}",
        f"board plug {_count_pins(pins)} to {_count_pins(others)}{each}; lead unplugged at both ends"
        " (a meter may show “over range”: that passes)",
        "off",
        Figure(1e7, "resistance"),
        Figure(1e5, "resistance"),
        Figure(1e9, "resistance"),
    )


def _read_voltage(
    label: str, pins: Sequence[int], ground: int, hint: str, span: tuple[float, float, float]
) -> Reading:
    low, expected, high = (Figure(volts, "voltage") for volts in span)
    each = "" if len(pins) == 1 else " in turn"
    return Reading(
        f"{label} before the board is plugged in",
        f"red probe on board plug {_count_pins(pins)}{each}, black probe on pin {ground + 1}; {hint}",
        "on",
        expected,
        low,
        high,
    )


def list_wires(ways: Ways, colours: Sequence[str]) -> Table:
    """Return the wires of the made-up lead."""
    return Table(
        "wires",
        "The made-up lead",
        (
            Column("from_pin", "Source pin", "number"),
            Column("from_role", "carries"),
            Column("colour", "Wire (IEC 60757)"),
            Column("to_pin", "Board pin", "number"),
            Column("to_role", "wants"),
        ),
        tuple(
            (here + 1, ways.source.pins[here].label, colours[here], there + 1, ways.board.pins[there].label)
            for here, there in ways.crossing.wires
        ),
    )


def list_contacts(name: str, ways: Ways) -> LateTable:
    """Return one way of plugging in, pin by pin."""
    caption = f"Plugged in {WAY_WORDS[name]}, pin by pin"
    return LateTable(f"{name}_pins", caption, _PIN_COLUMNS, partial(_find_contact_rows, name, ways))


def _find_contact_rows(name: str, ways: Ways) -> tuple[Rows, tuple[str, ...]]:
    judgement = ways.judged[name]
    rows: list[tuple[Cell, ...]] = []
    for contact in judgement.contacts:
        here = None if contact.source is None else ways.source.pins[contact.source].label
        there = None if contact.board is None else ways.board.pins[contact.board].label
        rows.append(
            (
                None if contact.source is None else contact.source + 1,
                here,
                None if contact.board is None else contact.board + 1,
                there,
                contact.verdict,
                contact.reason.write(),
                RULES.index(find_rule(contact.rule)) + 1,
            )
        )
    return tuple(rows), tuple(_MARKS[contact.verdict] for contact in judgement.contacts)


def list_break_out(
    source: Plug, boards: Sequence[Ways], break_out: Crossing, colours: Sequence[str]
) -> LateTable:
    """Return every pin of every board on a break-out with the source pin that feeds it."""
    columns = (
        Column("board", "Board"),
        Column("to_pin", "Board pin", "number"),
        Column("to_role", "wants"),
        Column("from_pin", "Source pin", "number"),
        Column("from_role", "carries"),
        Column("colour", "Wire (IEC 60757)"),
    )
    find_rows = partial(_find_break_out_rows, source, boards, break_out, colours)
    return LateTable("break_out", "The whole break-out, board by board", columns, find_rows)


def _find_break_out_rows(
    source: Plug, boards: Sequence[Ways], break_out: Crossing, colours: Sequence[str]
) -> tuple[Rows, tuple[str, ...]]:
    homes = [(ways.board, pin) for ways in boards for pin in range(len(ways.board.pins))]
    feeds = {there: here for here, there in break_out.wires}
    rows: list[tuple[Cell, ...]] = []
    for number, (board, pin) in enumerate(homes):
        here = feeds.get(number)
        joined = (None, None, None) if here is None else (here + 1, source.pins[here].label, colours[here])
        rows.append((board.name, pin + 1, board.pins[pin].label, *joined))
    return tuple(rows), ()


def list_boards(boards: Sequence[Ways]) -> LateTable:
    """Return what each board of a break-out suffers without a lead of its own."""
    columns = (
        Column("board", "Board"),
        Column("straight", "Straight"),
        Column("reversed", "Wrong way round"),
        Column("shifted_left", "One place left"),
        Column("shifted_right", "One place right"),
        Column("crossing", "Its lead"),
    )
    caption = "What a lead without crossing does to each board"
    return LateTable("boards", caption, columns, partial(_find_board_rows, boards))


def _find_board_rows(boards: Sequence[Ways]) -> tuple[Rows, tuple[str, ...]]:
    rows = tuple(
        (ways.board.name, *(ways.judged[name].verdict for name in WAYS), ways.crossing.write())
        for ways in boards
    )
    return rows, tuple(_MARKS[ways.judged["straight"].verdict] for ways in boards)


@cache
def list_rules() -> Table:
    """Return the table of rules as people read it."""
    return Table(
        "rules",
        "The rules, in the order in which they are tried",
        (
            Column("rank", "No.", "number"),
            Column("rule", "If"),
            Column("verdict", "it"),
            Column("because", "Because"),
        ),
        tuple((number, rule.title, rule.verdict, rule.because) for number, rule in enumerate(RULES, start=1)),
    )
