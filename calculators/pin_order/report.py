"""The working, the readings and the tables of pin-order."""

from functools import cache, partial
from typing import Any

from calculators.physics.meter import word_drive
from calculators.pin_order.colours import find_colours
from calculators.pin_order.lead_readings import Gap, PinVoltage, WireGroup
from calculators.pin_order.mating import Judgement
from calculators.pin_order.mating_rules import RULES, Verdict
from calculators.pin_order.pairs import write_pairs
from calculators.pin_order.plugging import Way
from calculators.pin_order.reasons import CONTACT_WORDS, TOLD_RULES
from calculators.pin_order.solve import Solved
from calculators.pin_order.together import Harm
from calculators.results.case import (
    About,
    Listed,
    ReadingRule,
    Rules,
    StepRule,
    When,
    Wording,
    Words,
    fill,
    find_value,
)
from calculators.results.result import Cell, Column, LateTable, Rows, Table

WAY_WORDS: dict[Way, str] = {
    "straight": "straight",
    "reversed": "the wrong way round",
    "shifted_left": "one place too far left",
    "shifted_right": "one place too far right",
}


def _is_way(way: Way) -> When[Harm]:
    return lambda harm: harm.way == way


HARM_WORDS: Words[Harm] = {
    "way": tuple(Wording(text, _is_way(way)) for way, text in WAY_WORDS.items()),
    "victims": Listed("victims", "{each.name}", last=" and "),
    "effect": (
        Wording("puts {volts:V} on the {rail:V} of {victims}", lambda harm: harm.kind == "damages"),
        Wording("takes the supply from {victims} until a fuse opens", lambda harm: harm.kind == "starves"),
        Wording("takes the signal from {victims}"),
    ),
}
"""How a board is plugged in wrongly, and its `effect` on the others."""


WORKING: tuple[StepRule[Solved], ...] = (
    StepRule(
        "Which places meet, plugged in straight", "k meets n + 1 − k in each row", "{straight_pairs}",
        "n = {row_length}; the two lists run against each other", when=lambda case: case.mirrored,
    ),
    StepRule(
        "Which places meet, plugged in straight", "k meets k", "{straight_pairs}",
        "n = {row_length}; the two lists run the same way", when=lambda case: not case.mirrored,
    ),
    StepRule(
        "Turned by half", "k takes the place of N + 1 − k", "{turned_pairs}",
        "N = {pin_count} pins of the board",
    ),
    StepRule(
        "Made-up lead", "the same role to the same role", "{crossing}",
        "{wire_count} wires for {pin_count} pins of the board",
    ),
    StepRule(
        "Current of a short circuit through the lead",
        "I = min({highest_supply:V|U} ÷ (2 × {limits.lead_resistance:ohm|R}), "
        "{limits.source_current:A|I of the source})",
        "{short_current:A}", when=lambda case: case.highest_supply is not None,
    ),
    StepRule(
        "Lost in the lead and its contacts",
        "U = 2 · {wire.run.length:m|l} · {wire.judged.hot:ohm/m|R of the warm wire} · "
        "{given.board_current:A|I} + {wire.run.contact_drop:V|U of the contacts}",
        "{wire.drop:V}",
        when=lambda case: case.wire.drop is not None and case.wire.judged and case.wire.judged.hot,
    ),
)  # fmt: skip


def _name_pins(name: str, path: str, each: str = "{each.number}") -> Words[Any]:
    """Return the words “pin 1” or “pins 1, 2 and 3” for the pins at a path."""
    numbers = f"{name}_numbers"
    return {
        name: (
            Wording(f"pin {{{numbers}}}", lambda case: not _has_several(case, path)),
            Wording(f"pins {{{numbers}}}"),
        ),
        numbers: Listed(path, each, last=" and "),
    }


def _has_several(case: object, path: str) -> bool:
    items = find_value(case, path)
    return isinstance(items, tuple) and len(items) > 1


_WIRES: Words[WireGroup] = {
    "wires": (Wording("Wires", lambda group: len(group.wires) > 1), Wording("Wire")),
    "ends": Listed("wires", "{each.here.number}-{each.there.number}"),
    "each_wire": (Wording(", wire by wire", lambda group: len(group.wires) > 1), Wording("")),
    "drive": word_drive("test"),
    **_name_pins("source_pins", "wires", "{each.here.number}"),
    **_name_pins("board_pins", "wires", "{each.there.number}"),
}
_GAP: Words[Gap] = {
    "other": (Wording("{apart_label}", lambda gap: gap.apart_label), Wording("any other wire")),
    "each_pair": (
        Wording("", lambda gap: len(gap.pins) == len(gap.apart) == 1),
        Wording(", each against each"),
    ),
    **_name_pins("board_pins", "pins"),
    **_name_pins("other_pins", "apart"),
}
_VOLTAGE: Words[PinVoltage] = {
    "in_turn": (Wording(" in turn", lambda voltage: len(voltage.pins) > 1), Wording("")),
    "hint": (
        Wording("a minus sign means reversed", lambda voltage: voltage.pins[0].role.kind == "supply"),
        Wording("with nothing sent; pulses for a servo read a little more"),
    ),
    **_name_pins("board_pins", "pins"),
}
READINGS: Rules[ReadingRule[Solved]] = (
    About("wire_groups", (ReadingRule[WireGroup](
        "{wires} {ends} ({label})",
        "source plug {source_pins} to board plug {board_pins}{each_wire}; lead unplugged at both ends; take "
        "off what the probes read when held together",
        "off", "reading", "ohm", words=_WIRES,
    ),)),
    About("wire_groups", (ReadingRule[WireGroup](
        "{wires} {ends} ({label}), as millivolts at {test.current:A}",
        "the same pins{each_wire}; {drive}; probes on the contacts themselves, not on the supply's clips",
        "off", "test.contact", "V", words=_WIRES, when=lambda group: group.test is not None,
    ),)),
    About("gaps", (ReadingRule[Gap](
        "No joint from {label} to {other}",
        "board plug {board_pins} to {other_pins}{each_pair}; lead unplugged at both ends (a meter may show "
        "“over range”: that passes)",
        "off", "reading", "ohm", words=_GAP,
    ),)),
    About("voltages", (ReadingRule[PinVoltage](
        "{label} before the board is plugged in",
        "red probe on board plug {board_pins}{in_turn}, black probe on pin {ground.number}; {hint}",
        "on", "reading", "V", words=_VOLTAGE,
    ),)),
)  # fmt: skip

_MARKS: dict[Verdict, str] = {"holds": "", "harmless": "", "does not work": "caution", "damages": "stop"}
_SOURCE_PIN = (Column("from_pin", "Source pin", "number"), Column("from_role", "carries"))
_BOARD_PIN = (Column("to_pin", "Board pin", "number"), Column("to_role", "wants"))
_COLOUR = Column("colour", "Wire (IEC 60757)")
_NUMBERS = {rule.code: number for number, rule in enumerate(RULES, start=1)}


def list_tables(case: Solved) -> tuple[Table | LateTable, ...]:
    """Return the lead, every mating pin by pin, the break-out and its boards, and the rules."""
    contacts = (
        LateTable(
            f"{way}_pins", f"Plugged in {WAY_WORDS[way]}, pin by pin",
            (
                *_SOURCE_PIN, *_BOARD_PIN, Column("verdict", "Verdict"), Column("reason", "Because"),
                Column("rule", "Rule no.", "number"),
            ),
            partial(_list_contacts, judgement),
        )
        for way, judgement in case.matings.ways
    )  # fmt: skip
    break_out = (
        LateTable(
            "break_out", "The whole break-out, board by board",
            (Column("board", "Board"), *_BOARD_PIN, *_SOURCE_PIN, _COLOUR), partial(_list_break_out, case),
        ),
        LateTable(
            "boards", "What a lead without crossing does to each board, and what a lead of its own does",
            (
                Column("board", "Board"), Column("straight", "Straight"),
                Column("reversed", "Wrong way round"), Column("shifted_left", "One place left"),
                Column("shifted_right", "One place right"), Column("crossing", "Its own lead"),
                Column("lead", "With that"),
            ),
            partial(_list_boards, case),
        ),
        LateTable(
            "harms", "What one wrong plug does to the other boards",
            (
                Column("board", "Board"), Column("way", "Plugged in"), Column("contact", "There"),
                Column("effect", "It"),
            ),
            partial(_list_harms, case),
        ),
    )  # fmt: skip
    told = break_out if len(case.boards) > 1 else break_out[:2]
    return (list_wires(case), *contacts, *(told if case.boards else ()), list_rules())


def list_wires(case: Solved) -> Table:
    """Return the wires of the made-up lead."""
    rows = tuple(
        (wire.here.number, wire.here.label, wire.colour, wire.there.number, wire.there.label)
        for wire in case.wires
    )
    return Table("wires", "The made-up lead", (*_SOURCE_PIN, _COLOUR, *_BOARD_PIN), rows)


def _list_contacts(judgement: Judgement) -> tuple[Rows, tuple[str, ...]]:
    rows = []
    for contact in judgement.contacts:
        ends: list[Cell] = []
        for pin in (contact.here, contact.there):
            ends += [pin.number, pin.label] if pin else [None, None]
        reason = fill("{reason}", contact, words=CONTACT_WORDS).write()
        rows.append((*ends, contact.verdict, reason, _NUMBERS[contact.rule]))
    return tuple(rows), tuple(_MARKS[contact.verdict] for contact in judgement.contacts)


def _list_break_out(case: Solved) -> tuple[Rows, tuple[str, ...]]:
    source, colours = case.matings.source, find_colours(case.matings.source)
    rows: list[tuple[Cell, ...]] = []
    for board in case.boards:
        feeds = {there: here for here, there in board.wires}
        for pin, role in enumerate(board.matings.board):
            here = feeds.get(pin)
            fed = (None, None, None) if here is None else (here + 1, source[here].label, colours[here])
            rows.append((board.name, pin + 1, role.label, *fed))
    return tuple(rows), ()


def _list_boards(case: Solved) -> tuple[Rows, tuple[str, ...]]:
    rows = tuple(
        (
            board.name,
            *(judgement.verdict for _, judgement in board.matings.ways),
            write_pairs(board.wires),
            board.lead.verdict,
        )
        for board in case.boards
    )
    return rows, tuple(_MARKS[board.matings.straight.verdict] for board in case.boards)


def _list_harms(case: Solved) -> tuple[Rows, tuple[str, ...]]:
    rows = tuple(
        (
            harm.board.name, WAY_WORDS[harm.way], fill("{brief}", harm.contact, words=CONTACT_WORDS).write(),
            fill("{effect}", harm, words=HARM_WORDS).write(),
        )
        for harm in case.harms
    )  # fmt: skip
    return rows, tuple("stop" if harm.kind == "damages" else "caution" for harm in case.harms)


@cache
def list_rules() -> Table:
    """Return the table of rules as people read it."""
    columns = (
        Column("rank", "No.", "number"), Column("rule", "If"), Column("verdict", "it"),
        Column("because", "Because"),
    )  # fmt: skip
    told = ((rule, TOLD_RULES[rule.code]) for rule in RULES)
    rows = tuple((_NUMBERS[rule.code], words.title, rule.verdict, words.because) for rule, words in told)
    return Table("rules", "The rules, in the order in which they are tried", columns, rows)
