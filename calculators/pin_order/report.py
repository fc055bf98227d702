"""The working, the readings and the tables of the pin-order calculator, from the judged matings."""

from collections.abc import Sequence
from functools import cache, lru_cache, partial

from calculators.notation.showing import Figure, say
from calculators.parts import read_rows
from calculators.pin_order.crossing import write_wires
from calculators.pin_order.joined_nets import Limits
from calculators.pin_order.mating import RULES, Verdict, find_rule
from calculators.pin_order.plug import Plug, Role, find_pairs
from calculators.pin_order.plugging import WAY_WORDS, WAYS, Branch, BreakOut, PluggedBoard
from calculators.results.result import Cell, Column, LateTable, Reading, Rows, Step, Table

_MARKS: dict[Verdict, str] = {"holds": "", "harmless": "", "does not work": "caution", "damages": "stop"}
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


def write_working(plugged: PluggedBoard, limits: Limits, *, rows: int, mirrored: bool) -> tuple[Step, ...]:
    """Return the steps from the two lists to what touches what, and to the short-circuit current."""
    source, board = plugged.source, plugged.board
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
            say(write_wires(straight)),
        ),
        Step(
            "Turned by half",
            "k takes the place of N + 1 − k",
            say("N = {n} pins of the board", n=len(board.pins)),
            say(write_wires(turned)),
        ),
        Step(
            "Made-up lead",
            "the same role to the same role",
            say(
                "{wires} wires for {pins} pins of the board",
                wires=len(plugged.crossing.wires),
                pins=len(board.pins),
            ),
            say(plugged.crossing.write()),
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


# Readings and tables


def list_readings(plugged: PluggedBoard, limits: Limits) -> tuple[Reading, ...]:
    """Return what a meter shows on the made-up lead: every wire, no joint beside, then the voltages.

    Pins that carry the same share one reading, so that a joint of a dozen contacts stays a list to work down.
    """
    source, board = plugged.source, plugged.board
    ends = [(there, board.pins[there]) for _, there in plugged.crossing.wires]
    feeds = {there: source.pins[here].voltage for here, there in plugged.crossing.wires}
    readings = [
        _read_wires(
            label, [wire for wire in plugged.crossing.wires if board.pins[wire[1]].label == label], limits
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


def list_wires(plugged: PluggedBoard, colours: Sequence[str]) -> Table:
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
            (
                here + 1,
                plugged.source.pins[here].label,
                colours[here],
                there + 1,
                plugged.board.pins[there].label,
            )
            for here, there in plugged.crossing.wires
        ),
    )


def list_contacts(name: str, plugged: PluggedBoard) -> LateTable:
    """Return one way of plugging in, pin by pin."""
    caption = f"Plugged in {WAY_WORDS[name]}, pin by pin"
    return LateTable(f"{name}_pins", caption, _PIN_COLUMNS, partial(_find_contact_rows, name, plugged))


def _find_contact_rows(name: str, plugged: PluggedBoard) -> tuple[Rows, tuple[str, ...]]:
    judgement = plugged.judged[name]
    rows: list[tuple[Cell, ...]] = []
    for contact in judgement.contacts:
        here = None if contact.source is None else plugged.source.pins[contact.source].label
        there = None if contact.board is None else plugged.board.pins[contact.board].label
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


def list_break_out(source: Plug, break_out: BreakOut, colours: Sequence[str]) -> LateTable:
    """Return every pin of every board on a break-out with the source pin that feeds it."""
    columns = (
        Column("board", "Board"),
        Column("to_pin", "Board pin", "number"),
        Column("to_role", "wants"),
        Column("from_pin", "Source pin", "number"),
        Column("from_role", "carries"),
        Column("colour", "Wire (IEC 60757)"),
    )
    find_rows = partial(_find_break_out_rows, source, break_out, colours)
    return LateTable("break_out", "The whole break-out, board by board", columns, find_rows)


def _find_break_out_rows(
    source: Plug, break_out: BreakOut, colours: Sequence[str]
) -> tuple[Rows, tuple[str, ...]]:
    feeds = {there: here for here, there in break_out.crossing.wires}
    rows: list[tuple[Cell, ...]] = []
    for number, (board, pin) in enumerate(break_out.homes):
        here = feeds.get(number)
        joined = (None, None, None) if here is None else (here + 1, source.pins[here].label, colours[here])
        rows.append((board.name, pin + 1, board.pins[pin].label, *joined))
    return tuple(rows), ()


def list_boards(branches: Sequence[Branch]) -> LateTable:
    """Return what each board of a break-out suffers without a lead of its own, and with one."""
    columns = (
        Column("board", "Board"),
        Column("straight", "Straight"),
        Column("reversed", "Wrong way round"),
        Column("shifted_left", "One place left"),
        Column("shifted_right", "One place right"),
        Column("crossing", "Its own lead"),
        Column("lead", "With that"),
    )
    caption = "What a lead without crossing does to each board, and what a lead of its own does"
    return LateTable("boards", caption, columns, partial(_find_board_rows, branches))


def _find_board_rows(branches: Sequence[Branch]) -> tuple[Rows, tuple[str, ...]]:
    rows = tuple(
        (
            branch.plugged.board.name,
            *(branch.plugged.judged[name].verdict for name in WAYS),
            write_wires(branch.wires),
            branch.lead.verdict,
        )
        for branch in branches
    )
    return rows, tuple(_MARKS[branch.plugged.judged["straight"].verdict] for branch in branches)


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
