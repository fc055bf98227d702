"""The rules of mating, against graph connectivity (networkx), all permutations, and d.c. runs of ngspice."""

import itertools
import re
from dataclasses import replace
from random import Random
from typing import Any, get_args

import networkx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calculators.pin_order.crossing import find_crossing
from calculators.pin_order.limits import Limits
from calculators.pin_order.mating import JudgedContact, Judgement, judge_mating
from calculators.pin_order.mating_rules import RULES, VERDICTS, How, Verdict
from calculators.pin_order.pairs import Pairs, find_pairs, turn_places
from calculators.pin_order.pin_list import read_plug
from calculators.pin_order.plug import Role
from calculators.pin_order.reasons import CONTACT_WORDS, TOLD_RULES
from calculators.results.case import fill
from tests.calculators.running import run_ngspice

type GraphNode = tuple[str, str, float]

LIMITS = Limits(fuse=2.0)
ROLES = ("+5V", "+12V", "ground", "signal", "data in", "data out", "clock", "speaker +", "speaker -", "-")
DIRECT = st.lists(
    st.sampled_from(("+5V", "+12V", "ground", "signal", "data out", "-")), min_size=1, max_size=8
)
PLUGS = st.lists(st.sampled_from(ROLES), min_size=1, max_size=7)


def read(text: str) -> tuple[Role, ...]:
    return read_plug(text).with_voltages(5.0, 14.6).pins


def judge(
    source: str, board: str, limits: Limits = LIMITS, *, turned: bool = False, shift: int = 0
) -> Judgement:
    here, there = read(source), read(board)
    return judge_mating(here, there, find_pairs(len(here), len(there), turned=turned, shift=shift), limits)


def write_reason(contact: JudgedContact) -> str:
    return fill("{reason}", contact, words=CONTACT_WORDS).write()


CASES: list[tuple[str, str, str, str, dict[str, Any]]] = [
    ("supply-short", "damages", "+5V, ground", "ground, ground", {}),
    ("amplifier-loaded", "damages", "speaker +, +5V, ground", "ground, +5V, data", {}),
    ("supply-reversed", "damages", "+5V, ground, signal", "ground, +5V, data", {}),
    ("supply-overvoltage", "damages", "+12V, signal, ground", "+5V, data, ground", {}),
    ("output-overloaded", "damages", "signal, ground", "data out, ground", {"source_resistor": 0.0}),
    ("fed-through-input", "damages", "signal, +5V, ground", "+5V, data, ground", {}),
    ("return-through-input", "damages", "+5V, ground, -", "+5V, data, ground", {}),
    (
        "input-overvoltage",
        "damages",
        "+5V, signal, ground",
        "+5V, data max 3.6 V, ground",
        {"source_resistor": 0.0},
    ),
    (
        "controller-overvoltage",
        "damages",
        "data in, +12V, ground",
        "ground, +12V, data",
        {"source_resistor": 0.0},
    ),
    ("direct-current", "damages", "+5V, ground", "speaker +, speaker -", {}),
    ("ground-lost", "does not work", "+5V, signal, -", "+5V, data, ground", {}),
    (
        "ground-raised",
        "does not work",
        "signal, +5V, ground",
        "ground, +5V, data",
        {"input_resistor": 1000.0},
    ),
    ("supply-missing", "does not work", "-, signal, ground", "+5V, data, ground", {}),
    ("supply-low", "does not work", "+3V3, signal, ground", "+5V, data, ground", {}),
    ("contention", "does not work", "+5V, signal, ground", "+5V, data out, ground", {}),
    ("input-held", "does not work", "+5V, ground, ground", "+5V, data, ground", {}),
    ("wrong-signal", "does not work", "+5V, clock, ground", "+5V, data, ground", {}),
    ("input-open", "does not work", "+5V, -, ground", "+5V, data, ground", {}),
    ("board-astray", "does not work", "signal, +5V, -", "data, +5V, ground", {"input_resistor": 1000.0}),
    ("speaker-silent", "does not work", "speaker left +, speaker right +", "speaker +, speaker -", {}),
    ("speaker-swapped", "harmless", "speaker +, speaker -", "speaker -, speaker +", {}),
    ("spare-open", "harmless", "+5V, signal, ground, -", "+5V, data, ground, ground", {}),
    ("input-limited", "harmless", "+5V, signal, ground", "+5V, data max 3.6 V, ground", {}),
    ("bus-pulled-up", "harmless", "SDA max 3.6 V, ground, +5V", "SDA, ground, +5V", {}),
    ("sound-on-ground", "harmless", "audio left, ground", "audio left, audio ground", {}),
    ("other-voltage", "harmless", "battery, ground", "+12V max 24V, ground", {}),
    ("open-end", "harmless", "+5V, ground, signal", "+5V, ground", {}),
    ("as-intended", "holds", "+5V, signal, ground", "+5V, data, ground", {}),
]


@pytest.mark.parametrize(
    ("code", "verdict", "source", "board", "changes"), CASES, ids=[case[0] for case in CASES]
)
def test_every_rule_fires(
    code: str, verdict: Verdict, source: str, board: str, changes: dict[str, Any]
) -> None:
    judgement = judge(source, board, replace(LIMITS, **changes))
    assert {contact.verdict for contact in judgement.contacts if contact.rule == code} == {verdict}
    assert VERDICTS.index(judgement.verdict) >= VERDICTS.index(verdict)


# Ohm's law over what data sheets and the trade say of each part, lead and fuse aside.
@pytest.mark.parametrize(
    ("source", "board", "changes", "current"),
    [
        # 5 V over a lead of twice 0.1 Ω and the coil of a speaker of 4 Ω, 80 % of it.
        ("+5V, ground", "speaker +, speaker -", {}, 5 / (0.2 + 3.2)),
        # A logic output, 25 Ω, against ground, and against another of its kind.
        ("signal, ground", "ground, ground", {"source_resistor": 0.0}, 5 / 25),
        ("signal, ground", "data out, ground", {"source_resistor": 0.0}, 5 / (25 + 25)),
        # A silicon diode loses 0.6 V; the lead has twice 1 Ω.
        ("+5V, signal, ground", "ground, data, +5V", {"lead_resistance": 1.0}, (5 - 0.6) / 2),
    ],
)
def test_a_fault_drives_what_ohms_law_says(
    source: str, board: str, changes: dict[str, Any], current: float
) -> None:
    judgement = judge(source, board, replace(LIMITS, **changes))
    assert max(judgement.fault_currents) == pytest.approx(current, rel=1e-9)


def test_every_rule_has_a_case_and_the_table_runs_from_grave_to_harmless() -> None:
    assert [case[0] for case in CASES] == [rule.code for rule in RULES]
    ranks = [VERDICTS.index(rule.verdict) for rule in RULES]
    assert ranks == sorted(ranks, reverse=True)


def test_every_rule_and_every_way_it_comes_about_is_told() -> None:
    assert list(TOLD_RULES) == [rule.code for rule in RULES]
    told = {how for rule in TOLD_RULES.values() for how in rule.found}
    assert told == set(get_args(How.__value__))


@settings(max_examples=200)
@given(PLUGS, PLUGS, st.sampled_from((0.0, 330.0, 1e4)), st.sampled_from((0.001, 0.04, 1.0)))
def test_every_contact_has_a_reason(
    source_text: list[str], board_text: list[str], resistor: float, withstood: float
) -> None:
    source, board = read(", ".join(source_text)), read(", ".join(board_text))
    limits = replace(LIMITS, source_resistor=resistor, signal_current=withstood, clamp_current=withstood)
    for contact in judge_mating(source, board, find_pairs(len(source), len(board)), limits).contacts:
        reason = write_reason(contact)
        assert reason.endswith(".")
        assert reason[0].isupper() or reason[0].isdigit()


def test_published_servo_lead_reversed_neither_works_nor_burns() -> None:
    """A model flyers' association, frequent questions: reversed servo plug, no damage and no function.

    Common practice: the servo's own signal input has a resistor of a kilohm or more.
    """
    servo = replace(LIMITS, input_resistor=1000.0, board_current=0.25)
    assert judge("servo lead", "servo lead", servo).verdict == "holds"
    assert judge("servo lead", "servo lead", servo, turned=True).verdict == "does not work"
    # Robot Builder's Bonanza, p. 256: the supply in the centre stays the supply when the plug is turned.
    turned = judge("servo lead", "servo lead", servo, turned=True)
    assert next(c for c in turned.contacts if c.board == 1).source == 1


def test_published_lookalike_leads_with_red_at_opposite_ends_reverse_the_supply() -> None:
    """A maker's guide on three-wire light leads: the same plug with the supply at opposite ends."""
    judgement = judge("+5V, data, ground", "ground, data, +5V")
    assert judgement.verdict == "damages"
    assert {c.rule for c in judgement.contacts if c.board in (0, 2)} == {"supply-reversed"}


def test_data_sheets_footnote_resistor_saves_an_input_from_overvoltage() -> None:
    """A maker's data sheet of a CMOS switch: voltage ratings give way to the clamp-current rating."""
    bare = replace(LIMITS, source_resistor=0.0)
    assert judge("+5V, signal, ground", "+5V, data max 3.6 V, ground", bare).verdict == "damages"
    assert judge("+5V, signal, ground", "+5V, data max 3.6 V, ground").verdict == "harmless"


def test_a_lost_ground_returns_through_a_lower_supply_and_lifts_the_higher() -> None:
    """One place off: 12 V on the 5 V pin, the source's ground on the 12 V pin; ngspice below agrees."""
    judgement = judge("+5V, +12V, ground", "+5V, +12V, ground", shift=1)
    assert judgement.verdict == "damages"
    five, twelve = (next(c for c in judgement.contacts if c.board == pin) for pin in (0, 1))
    assert (five.rule, twelve.rule) == ("supply-overvoltage", "supply-reversed")
    assert "11.4\u00a0V reach the board's pin 1 (+5V)" in write_reason(five)
    # No more flows back than the board draws.
    assert twelve.current == LIMITS.board_current


def test_a_lost_ground_is_found_at_a_signal_pin_too() -> None:
    """Through a kilohm the input bears its current; what stands across the 5 V part is not less for it."""
    judgement = judge("+12V, signal, -", "+5V, data, ground", replace(LIMITS, input_resistor=1000.0))
    assert [c.rule for c in judgement.contacts] == ["supply-overvoltage", "board-astray", "ground-lost"]
    # Nothing but the supply touches: no current finds a way, and nothing burns.
    assert judge("+12V, -, -", "+5V, data, ground").verdict == "does not work"


@settings(max_examples=200)
@given(PLUGS, PLUGS)
def test_no_row_reads_healthy_on_a_board_without_its_ground(
    source_text: list[str], board_text: list[str]
) -> None:
    source, board = read(", ".join(source_text)), read(", ".join(board_text))
    pairs = find_pairs(len(source), len(board))
    held = {source[here].kind for here, there in pairs if board[there].kind == "ground"}
    if not any(role.kind == "ground" for role in board) or "ground" in held:
        return
    for contact in judge_mating(source, board, pairs, LIMITS).contacts:
        role = None if contact.board is None else board[contact.board]
        if role is not None and (role.kind == "supply" or role.listens(at_source=False)):
            assert contact.verdict in ("does not work", "damages"), contact


def test_what_a_diode_carries_within_its_limit_is_said() -> None:
    """5 V less one diode over 330 Ω and the output's 25 Ω are 12.4 mA; a data sheet allows 15 mA."""
    judgement = judge("signal, +5V, ground", "+5V, data, ground", shift=-1)
    data = next(c for c in judgement.contacts if c.board == 1)
    assert (data.rule, data.verdict) == ("board-astray", "does not work")
    assert "up to 12.4\u00a0mA flow through the protection diode" in write_reason(data)


@settings(max_examples=200)
@given(PLUGS, PLUGS, st.floats(0.001, 2), st.floats(0.001, 500))
def test_no_fault_draws_more_than_the_supply_gives(
    source_text: list[str], board_text: list[str], available: float, drawn: float
) -> None:
    """Only what a signal output of the source gives, which its controller feeds, is not the supply's."""
    source, board = read(", ".join(source_text)), read(", ".join(board_text))
    limits = replace(LIMITS, source_current=available, board_current=drawn)
    for contact in judge_mating(source, board, find_pairs(len(source), len(board)), limits).contacts:
        signal = contact.source is not None and source[contact.source].is_logic
        if contact.rule != "output-overloaded" or not signal:
            assert (contact.current or 0.0) <= available


def test_a_listening_controller_gets_no_more_than_the_board_draws() -> None:
    limits = replace(LIMITS, source_resistor=0.0, board_current=0.9)
    judgement = judge("data in max 3.6 V, +5V, ground", "data out, +5V, ground", limits, turned=True)
    lifted = next(c for c in judgement.contacts if c.source == 0)
    assert (lifted.rule, lifted.current) == ("controller-overvoltage", 0.9)


# Graph connectivity


def build_graph(
    source: tuple[Role, ...], board: tuple[Role, ...], pairs: Pairs
) -> "networkx.Graph[GraphNode]":
    graph: networkx.Graph[GraphNode] = networkx.Graph()

    def net(side: str, pins: tuple[Role, ...], pin: int) -> GraphNode:
        role = pins[pin]
        common = role.kind in ("ground", "supply")
        return (side, role.kind, role.voltage) if common else (side, role.kind, pin)

    for here, there in pairs:
        graph.add_edge(net("source", source, here), net("board", board, there))
    return graph


@settings(max_examples=200)
@given(DIRECT, DIRECT, st.randoms(use_true_random=False))
def test_supply_shorts_agree_with_connected_components(
    source_text: list[str], board_text: list[str], random: Random
) -> None:
    source, board = read(", ".join(source_text)), read(", ".join(board_text))
    places = list(range(max(len(source), len(board))))
    random.shuffle(places)
    pairs = tuple((here, there) for here, there in enumerate(places[: len(source)]) if there < len(board))
    graph = build_graph(source, board, pairs)
    stiff = [node for node in graph if node[0] == "source" and node[1] in ("ground", "supply")]
    shorted = any(networkx.has_path(graph, one, other) for one, other in itertools.combinations(stiff, 2))
    judgement = judge_mating(source, board, pairs, LIMITS)
    assert any(contact.rule == "supply-short" for contact in judgement.contacts) == shorted


@settings(max_examples=200)
@given(PLUGS, PLUGS, st.randoms(use_true_random=False))
def test_judgement_does_not_depend_on_how_pins_are_numbered(
    source_text: list[str], board_text: list[str], random: Random
) -> None:
    source, board = read(", ".join(source_text)), read(", ".join(board_text))
    pairs = find_pairs(len(source), len(board))
    here, there = list(range(len(source))), list(range(len(board)))
    random.shuffle(here)
    random.shuffle(there)
    moved = tuple(sorted((here.index(a), there.index(b)) for a, b in pairs))
    plain = judge_mating(source, board, pairs, LIMITS)
    other = judge_mating(tuple(source[i] for i in here), tuple(board[i] for i in there), moved, LIMITS)
    found = {
        (None if c.source is None else here[c.source], None if c.board is None else there[c.board]): c.rule
        for c in other.contacts
    }
    assert other.verdict == plain.verdict
    assert found == {(c.source, c.board): c.rule for c in plain.contacts}


@settings(max_examples=100)
@given(PLUGS)
def test_reversed_of_reversed_is_judged_as_straight(text: list[str]) -> None:
    source = read(", ".join(text))
    turned = tuple(source[pin] for pin in turn_places(len(source)))
    pairs = find_pairs(len(source), len(source), turned=True)
    straight = find_pairs(len(source), len(source))
    assert (
        judge_mating(source, turned, pairs, LIMITS).verdict
        == judge_mating(source, source, straight, LIMITS).verdict
    )


@settings(max_examples=150)
@given(PLUGS, PLUGS, st.floats(0, 1e4), st.floats(1, 1e4))
def test_more_series_resistance_never_makes_it_worse(
    source_text: list[str], board_text: list[str], resistor: float, more: float
) -> None:
    source, board = read(", ".join(source_text)), read(", ".join(board_text))
    pairs = find_pairs(len(source), len(board))
    low = replace(LIMITS, source_resistor=resistor, input_resistor=resistor)
    high = replace(LIMITS, source_resistor=resistor + more, input_resistor=resistor + more)
    before = judge_mating(source, board, pairs, low).verdict
    after = judge_mating(source, board, pairs, high).verdict
    assert VERDICTS.index(after) <= VERDICTS.index(before)


# Crossing


@given(st.permutations(["+5V", "+12V", "ground", "signal", "clock", "speaker +", "speaker -"]), st.data())
def test_crossing_twice_is_the_identity(first: list[str], data: st.DataObject) -> None:
    second = data.draw(st.permutations(first))
    here, there = read(", ".join(first)), read(", ".join(second))
    out = dict(find_crossing(here, there, LIMITS).wires)
    back = dict(find_crossing(there, here, LIMITS).wires)
    assert {pin: back[out[pin]] for pin in out} == {pin: pin for pin in range(len(here))}


@pytest.mark.parametrize("board", list(itertools.permutations(["+5V", "data", "ground"])))
def test_of_all_permutations_only_the_crossing_holds(board: tuple[str, ...]) -> None:
    """Of the six ways to join three wires one is right (itertools.permutations), and crossing finds it."""
    source, target = read("signal, +5V, ground"), read(", ".join(board))
    holding = [
        pairs
        for order in itertools.permutations(range(3))
        if judge_mating(source, target, pairs := tuple(enumerate(order)), LIMITS).verdict == "holds"
    ]
    assert holding == [find_crossing(source, target, LIMITS).wires]


def test_two_grounds_go_to_two_grounds_in_order() -> None:
    crossing = find_crossing(read("ground, +5V, signal, ground"), read("+5V, ground, ground, data"), LIMITS)
    assert crossing.write() == "1-2, 2-1, 3-4, 4-3"
    assert not crossing.troubles
    one = find_crossing(read("signal, +5V, ground"), read("ground, data, +5V, ground"), LIMITS)
    assert one.write() == "1-2, 2-3, 3-1, 3-4"
    assert one.find_shared() == {2: (0, 3)}
    spare = find_crossing(read("ground, signal, +5V, ground"), read("+5V, data, ground"), LIMITS)
    assert (spare.write(), spare.spare) == ("1-3, 2-2, 3-1", (3,))


# ngspice: every way of joining two or three of the three pins, at both levels of the signal

SETTINGS = [(330.0, 0.0), (0.0, 0.0), (330.0, 1000.0), (1000.0, 1000.0)]
PINS = ("signal", "supply", "ground")


def list_joints() -> list[Pairs]:
    """Return every one-to-one joining of at least two of the source's pins with the board's."""
    joints: list[Pairs] = []
    for count in (2, 3):
        for here in itertools.combinations(range(3), count):
            joints += [
                tuple(zip(here, there, strict=True)) for there in itertools.permutations(range(3), count)
            ]
    return joints


def write_copy(
    name: str,
    pairs: Pairs,
    level: float,
    source_resistor: float,
    input_resistor: float,
    lead: float = 0.1,
    load: float = 12.5,
) -> list[str]:
    """Return one board (load, protection diodes, body diode) on one source as ngspice elements."""
    lines = [f"vs{name} s{name} 0 {level}", f"rs{name} s{name} p0{name} {25 + source_resistor}"]
    lines += [f"vp{name} p1x{name} 0 5", f"rp{name} p1x{name} p1{name} {lead}", f"rg{name} 0 p2{name} {lead}"]
    # Board nodes: 0 supply, 1 data, 2 ground; 10 MΩ, as a meter has, keep open pins defined.
    lines += [f"rj{name}{here} p{here}{name} b{there}{name} 1m" for here, there in pairs]
    lines += [f"rk{name}{pin} b{pin}{name} 0 10meg" for pin in range(3)]
    lines += [f"ri{name} b1{name} i{name} {max(input_resistor, 1e-3)}", f"rl{name} b0{name} b2{name} {load}"]
    lines += [f"vu{name} i{name} u{name} 0", f"du{name} u{name} b0{name} clamp"]
    lines += [f"vd{name} b2{name} d{name} 0", f"dd{name} d{name} i{name} clamp"]
    lines += [f"vb{name} b2{name} y{name} 0", f"db{name} y{name} b0{name} body"]
    return lines


def find_currents(lines: list[str], names: list[str]) -> dict[str, float]:
    """Return the currents in A of the named voltage sources at the d.c. operating point."""
    deck = ["* matings", ".model clamp d(is=1e-14 rs=0.5)", ".model body d(is=1e-12 rs=0.02)", *lines]
    deck += [".control", "op", *(f"print i({name})" for name in names), ".endc", ".end", ""]
    told = run_ngspice("\n".join(deck))
    found = {name: float(value) for name, value in re.findall(r"^i\((\w+)\) = (\S+)", told, re.MULTILINE)}
    assert set(found) == set(names), told[-2000:]
    return found


@pytest.mark.prepared
@pytest.mark.parametrize(("own", "there"), SETTINGS)
def test_ngspice_agrees_on_what_burns_for_every_joining_of_three_pins(own: float, there: float) -> None:
    source, board = read("signal, +5V, ground"), read("+5V, data, ground")
    limits = replace(LIMITS, source_resistor=own, input_resistor=there)
    lines: list[str] = []
    names: list[str] = []
    for number, pairs in enumerate(list_joints()):
        for state, level in (("h", 5), ("l", 0)):
            name = f"{number}{state}"
            lines += write_copy(name, pairs, level, own, there)
            names += [f"v{kind}{name}" for kind in "sudb"]
    currents = find_currents(lines, names)
    verdicts = set()
    for number, pairs in enumerate(list_joints()):
        driver, upper, lower, body = (
            max(abs(currents[f"v{kind}{number}{state}"]) for state in "hl") for kind in "sudb"
        )
        burns = driver > limits.signal_current or max(upper, lower) > limits.clamp_current or body > 0.1
        judgement = judge_mating(source, board, pairs, limits)
        assert (judgement.verdict == "damages") == burns, (pairs, driver, upper, lower, body)
        verdicts.add(judgement.verdict)
    # The comparison is worth something only if all outcomes occur.
    assert verdicts == {"damages", "does not work", "holds"}


@pytest.mark.prepared
def test_ngspice_reversed_supply_current_lies_just_below_the_rule() -> None:
    """Reversed through leads of 1 Ω each: two diodes' worth below 5 V over 2 Ω, out of ngspice about 2 A."""
    limits = replace(LIMITS, lead_resistance=1.0)
    judgement = judge("+5V, signal, ground", "ground, data, +5V", limits)
    lines = write_copy("r", ((1, 2), (2, 0)), 0, 330, 0, lead=1.0)
    current = abs(find_currents(lines, ["vpr"])["vpr"])
    reckoned = max(judgement.fault_currents)
    assert reckoned == pytest.approx((5 - 0.6) / 2, rel=1e-9)
    assert 0.85 * reckoned < current <= reckoned


@pytest.mark.prepared
def test_ngspice_lost_ground_returns_the_boards_current_through_the_data_pin() -> None:
    """Supply on, ground lost, data held low: the board's own current comes out of its data pin."""
    judgement = judge("+5V, ground, -", "+5V, data, ground")
    lines = write_copy("g", ((1, 0), (2, 1)), 0, 330, 0)
    current = abs(find_currents(lines, ["vdg"])["vdg"])
    assert judgement.contacts[1].rule == "return-through-input"
    reckoned = max(judgement.fault_currents)
    assert 0.75 * reckoned < current <= reckoned


@pytest.mark.prepared
def test_ngspice_lifts_a_part_for_5_volts_to_11_when_its_ground_is_lost() -> None:
    """12 V on a 5 V part that idles (1 kΩ); its lost ground returns through the diode of a 12 V part."""
    lines = ["vs s 0 12", "rs s five 0.1", "rl five lost 1k", "db lost twelve body", "rg twelve 0 0.1"]
    lines += ["rk lost 0 10meg", "vm five across 0", "rm across lost 10meg"]
    across = find_currents(lines, ["vm"])["vm"] * 10e6
    judgement = judge("+5V, +12V, ground", "+5V, +12V, ground", shift=1)
    assert judgement.verdict == "damages"
    # The diode loses 0.6 V, give or take what its current makes of it.
    assert across == pytest.approx(12 - 0.6, abs=0.15)
