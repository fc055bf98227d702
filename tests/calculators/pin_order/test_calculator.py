"""pin-order: outputs, findings, readings and refusals, on the tail lantern and on published orders."""

import itertools
import json
import math
import re
import xml.etree.ElementTree as ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calculators.notation.errors import InputErrors
from calculators.parts import read_rows
from calculators.pin_order.calculator import CALCULATOR
from calculators.pin_order.colours import find_colours
from calculators.pin_order.mating_rules import RULES, VERDICTS
from calculators.pin_order.pin_list import read_plug
from calculators.pin_order.reasons import TOLD_RULES
from calculators.pin_order.report import list_rules
from tests.calculators.running import find_text, list_codes, list_rows, make_run

NAMES = ("straight", "reversed", "shifted_left", "shifted_right")


run = make_run(
    CALCULATOR, from_pins="signal, +5V, ground", to_pins="+5V, data, ground", battery_voltage="14.6 V",
    source_current="15 A", fuse="2 A", board_current="900 mA",
)  # fmt: skip


def test_the_tail_lantern_needs_a_crossed_lead() -> None:
    """Chassis: servo-lead order. Lantern: data in the middle. Common practice on both sides."""
    result = run()
    assert {name: result.outputs[name] for name in ("straight", "reversed", "crossing", "lead")} == {
        "straight": "damages",
        "reversed": "damages",
        "crossing": "1-2, 2-1, 3-3",
        "lead": "holds",
    }
    wires = list_rows(result, "wires")
    assert [(row["from_role"], row["to_role"]) for row in wires] == [
        ("signal", "data"),
        ("+5V", "+5V"),
        ("ground", "ground"),
    ]


def test_equal_orders_hold_and_need_no_crossing() -> None:
    result = run(from_pins="+5V, data, ground", to_pins="+5V, data, ground")
    assert (result.outputs["straight"], result.outputs["crossing"]) == ("holds", "1-1, 2-2, 3-3")
    assert list_codes(result)["straight-holds"] == "note"


def test_a_symmetrical_plug_may_be_reversed() -> None:
    """The supply at both ends of one order, ground in the middle: turned round, every pin is the same."""
    result = run(from_pins="+5V, ground, +5V", to_pins="+5V, ground, +5V", keyed="yes", shrouded="yes")
    assert (result.outputs["straight"], result.outputs["reversed"]) == ("holds", "holds")


@pytest.mark.parametrize(
    ("from_view", "to_view", "halves", "straight"),
    [
        # A connector trade guide: the mating-face view is the mirror of the wire-side view.
        ("mating face", "mating face", "plugs that look alike", "holds"),
        ("wire side", "wire side", "plugs that look alike", "holds"),
        ("mating face", "wire side", "plugs that look alike", "damages"),
        # A small engine's workshop manual: female halves are numbered from the wire side, male from the
        # terminal side, so that equal numbers meet.
        ("mating face", "wire side", "a plug and its socket", "holds"),
        ("wire side", "mating face", "a plug and its socket", "holds"),
        ("mating face", "mating face", "a plug and its socket", "damages"),
    ],
)
def test_views_follow_the_published_mirror_rules(
    from_view: str, to_view: str, halves: str, straight: str
) -> None:
    pins = "+5V, data, ground"
    result = run(from_pins=pins, to_pins=pins, from_view=from_view, to_view=to_view, halves=halves)
    assert result.outputs["straight"] == straight
    assert result.outputs["crossing"] == "1-1, 2-2, 3-3"
    if straight == "damages":
        seen_right = run(
            from_pins=pins, to_pins="ground, data, +5V", from_view=from_view, to_view=to_view, halves=halves
        )
        assert seen_right.outputs["straight"] == "holds"


@given(
    st.permutations(["+5V", "ground", "signal", "clock"]),
    st.permutations(["+5V", "ground", "signal", "clock"]),
)
@settings(max_examples=40)
def test_reversed_is_straight_for_the_order_read_backwards(first: list[str], second: list[str]) -> None:
    plain = run(from_pins=", ".join(first), to_pins=", ".join(second))
    backwards = run(from_pins=", ".join(first), to_pins=", ".join(reversed(second)))
    assert plain.outputs["reversed"] == backwards.outputs["straight"]
    assert plain.outputs["straight"] == backwards.outputs["reversed"]
    if plain.outputs["straight"] == "holds":
        assert first == second


@given(st.permutations(["+5V", "ground", "signal", "clock"]))
@settings(max_examples=24)
def test_swapping_the_sides_inverts_the_crossing(order: list[str]) -> None:
    pins = "signal, +5V, ground, clock"
    there = str(run(from_pins=pins, to_pins=", ".join(order)).outputs["crossing"])
    back = str(run(from_pins=", ".join(order), to_pins=pins).outputs["crossing"])
    inverted = sorted(tuple(reversed(pair.split("-"))) for pair in there.split(", "))
    assert inverted == sorted(tuple(pair.split("-")) for pair in back.split(", "))


def test_all_orders_of_a_three_wire_light_lead() -> None:
    """No standard fixes the order (maker's guides): of 36 pairs of orders only the six equal ones hold."""
    orders = [", ".join(order) for order in itertools.permutations(["+5V", "data", "ground"])]
    held = [
        (one, other)
        for one, other in itertools.product(orders, orders)
        if run(from_pins=one, to_pins=other).outputs["straight"] == "holds"
    ]
    assert held == [(order, order) for order in orders]


FINDINGS: list[tuple[str, str, dict[str, str]]] = [
    ("unusual-input", "note", {"supply_over": "0.06"}),
    ("straight-damages", "stop", {}),
    (
        "straight-does-not-work",
        "caution",
        {"from_pins": "clock, +5V, ground", "to_pins": "data, +5V, ground"},
    ),
    ("straight-harmless", "note", {"from_pins": "+5V, ground, signal", "to_pins": "+5V, ground"}),
    ("straight-holds", "note", {"to_pins": "signal, +5V, ground"}),
    ("reversed-damages", "caution", {}),
    ("reversed-prevented", "note", {"keyed": "yes"}),
    ("shifted-damages", "caution", {}),
    ("shifted-prevented", "note", {"shrouded": "yes"}),
    ("wire-too-hot", "stop", {"lead_gauge": "30 AWG"}),
    ("wire-under-fuse", "stop", {"lead_gauge": "26 AWG", "fuse": "4 A"}),
    ("no-fuse", "caution", {"fuse": ""}),
    ("fuse-never-opens", "caution", {"fuse": "15 A"}),
    ("fuse-opens-late", "caution", {"fuse": "10 A", "lead_gauge": "14 AWG"}),
    ("fuse-cannot-break", "caution", {"fuse_breaking": "10 A"}),
    (
        "fuse-voltage",
        "caution",
        {"from_pins": "+36V, ground", "to_pins": "+36V, ground", "fuse_kind": "blade"},
    ),
    ("fuse-not-made", "note", {"fuse_kind": "bolt-in strip"}),
    ("fuse-too-small", "caution", {"fuse": "1 A"}),
    ("source-too-weak", "caution", {"source_current": "0.8 A"}),
    ("drop-below-need", "stop", {"lead_length": "20 m"}),
    ("drop-too-large", "caution", {"lead_length": "2 m"}),
    ("contact-over-rating", "stop", {"contact_rating": "0.8 A"}),
    ("contact-near-rating", "caution", {"contact_rating": "1 A"}),
    ("contacts-not-judged", "note", {}),
    ("mark-both-ends", "note", {"joined": "by the made-up lead"}),
    ("supply-maximum-unknown", "note", {"from_pins": "battery, ground", "to_pins": "+12V, ground"}),
    ("supply-below-nominal", "note", {"from_pins": "+12V, ground", "to_pins": "+13V, ground"}),
    (
        "bus-pulled-up",
        "caution",
        {"from_pins": "+5V, SDA max 3.6 V, SCL max 3.6 V, ground", "to_pins": "+5V, SDA, SCL, ground"},
    ),
    (
        "others-damaged",
        "caution",
        {"from_pins": "+12V, +5V, ground", "boards": "motor; +5V, +5V, ground\nstrip; +5V, ground"},
    ),
    ("fuse-stays-closed", "note", {}),
    ("missing-ground", "stop", {"from_pins": "signal, +5V, -"}),
    ("missing-supply", "stop", {"from_pins": "signal, +12V, ground"}),
    ("missing-signal", "stop", {"from_pins": "clock, +5V, ground"}),
    ("missing-speaker", "stop", {"to_pins": "speaker +, speaker -"}),
    ("two-candidates", "caution", {"from_pins": "data 1, data 2, +5V, ground"}),
    ("other-voltage", "note", {"from_pins": "battery, ground", "to_pins": "+12V max 24V, ground"}),
    ("lead-damages", "stop", {"signal_level": "12 V", "source_resistor": "0"}),
    (
        "lead-does-not-work",
        "stop",
        {"from_pins": "speaker left +, speaker right -", "to_pins": "speaker +, speaker -"},
    ),
    ("servo-resistor", "note", {"to_pins": "servo lead"}),
    ("shared-contact", "note", {"to_pins": "ground, +5V, data, ground"}),
    ("spare-pins", "note", {"from_pins": "signal, +5V, ground, +12V"}),
    ("signal-level-low", "caution", {"signal_level": "3.3 V"}),
    (
        "signal-level-unknown",
        "note",
        {"from_pins": "battery, data, ground", "to_pins": "battery, data, ground", "signal_level": "3.3 V"},
    ),
    ("break-out-damages", "caution", {"boards": "tail; ground, data, +5V"}),
    ("shared-signal", "note", {"boards": "left; data, +5V, ground\nright; data, +5V, ground"}),
    ("check-the-print", "note", {"to_pins": "servo lead"}),
]


@pytest.mark.parametrize(("code", "level", "texts"), FINDINGS, ids=[row[0] for row in FINDINGS])
def test_every_finding_fires_and_says_what_to_do(code: str, level: str, texts: dict[str, str]) -> None:
    result = run(**texts)
    assert list_codes(result).get(code) == level
    text = find_text(result, code)
    assert len(text.split()) > 6
    assert text.endswith(".")
    assert "{" not in text


def test_no_other_finding_code_exists() -> None:
    seen = set()
    for _, _, texts in FINDINGS:
        seen |= set(list_codes(run(**texts)))
    assert seen == {code for code, _, _ in FINDINGS}


@pytest.mark.parametrize(
    ("texts", "field", "part"),
    [
        (
            {"from_pins": "signal, gruond"},
            "from_pins",
            "pin 2: “gruond” is not a role; did you mean “ground”?",
        ),
        ({"to_pins": ""}, "to_pins", "nothing is entered"),
        ({"to_pins": "signal, +5V, ground", "rows": "2"}, "from_pins", "3 pins do not fill two rows"),
        ({"from_pins": "signal, ground", "rows": "2"}, "to_pins", "3 pins do not fill two rows"),
        (
            {
                "from_pins": "signal, ground",
                "to_pins": "data, ground",
                "rows": "2",
                "boards": "lantern; data, ground\ntail; data, +5V, ground",
            },
            "boards",
            "row 2, Its pins in order: 3 pins do not fill two rows",
        ),
        (
            {"boards": "a; ground\nb; ground\na; ground"},
            "boards",
            "row 3, Board: “a” stands twice; give each its own",
        ),
        ({"boards": "a; daat, ground"}, "boards", "row 1, Its pins in order: pin 1: “daat” is not a role"),
        ({"boards": "tail"}, "boards", "row 1, Its pins in order: nothing is entered"),
        ({"boards": "a: b; ground\nc; ground"}, "boards", "row 1, Board: “a: b” holds a colon"),
        ({"boards": "\n".join(f"b{n}; ground" for n in range(13))}, "boards", "13 rows; allowed: 1 to 12"),
        ({"from_view": "front"}, "from_view", "not one of the choices"),
        ({"lead_resistance": "0"}, "lead_resistance", "outside what can be computed"),
        ({"signal_level": "3 A"}, "signal_level", "is a current"),
    ],
)
def test_what_cannot_be_used_is_refused_by_field(texts: dict[str, str], field: str, part: str) -> None:
    with pytest.raises(InputErrors) as caught:
        run(**texts)
    assert [error.field for error in caught.value.errors] == [field]
    assert part in str(caught.value)


@pytest.mark.parametrize(
    ("former", "rows"),
    [
        ("spine: data, +5V, ground", "“spine; data, +5V, ground”"),
        ("tail : ground,data", "“tail; ground,data”"),
        (
            "left lamp: data, +5V;\n right lamp: servo lead; tail:+5V,ground ;",
            "“left lamp; data, +5V”, “right lamp; servo lead”, “tail; +5V,ground”",
        ),
    ],
)
def test_boards_as_they_were_once_written_are_spelt_out_in_rows(former: str, rows: str) -> None:
    with pytest.raises(InputErrors) as caught:
        run(boards=former)
    told = "this is written in rows of “boards” now, each in a line of its own: "
    assert [(error.field, error.problem) for error in caught.value.errors] == [("boards", told + rows)]
    assert run(boards="\n".join(re.findall("“(.*?)”", rows))).outputs


def test_two_rows_mirror_by_columns_and_turn_as_a_whole() -> None:
    pins = "+5V, signal, ground, clock"
    seen_from_behind = run(
        from_pins=pins, to_pins="signal, +5V, clock, ground", rows="2", to_view="wire side"
    )
    assert seen_from_behind.outputs["straight"] == "holds"
    turned = run(from_pins=pins, to_pins="clock, ground, signal, +5V", rows="2")
    assert turned.outputs["reversed"] == "holds"


def test_plugs_of_different_length_leave_pins_open() -> None:
    result = run(from_pins="data, +5V, ground, clock", to_pins="data, +5V, ground")
    assert result.outputs["straight"] == "harmless"
    open_row = list_rows(result, "straight_pins")[-1]
    assert (open_row["from_role"], open_row["to_pin"], open_row["verdict"]) == ("clock", None, "harmless")


def test_one_table_covers_the_whole_break_out() -> None:
    result = run(boards="lantern; +5V, data, ground\nspine; ground, data, +5V, ground")
    rows = list_rows(result, "break_out")
    assert [(row["board"], row["to_pin"], row["from_pin"]) for row in rows] == [
        *(("lantern", 1, 2), ("lantern", 2, 1), ("lantern", 3, 3)),
        *(("spine", 1, 3), ("spine", 2, 1), ("spine", 3, 2), ("spine", 4, 3)),
    ]
    boards = list_rows(result, "boards")
    assert [row["board"] for row in boards] == ["lantern", "spine"]
    assert boards[0]["straight"] == result.outputs["straight"]
    alone = run(to_pins="ground, data, +5V, ground")
    assert [boards[1][name] for name in NAMES] == [alone.outputs[name] for name in NAMES]


def test_every_board_of_a_break_out_is_judged_with_its_own_lead() -> None:
    """5 V through a logic output's 25 Ω put 56 mA into an input for 3.6 V, whatever wire leads there."""
    weak = "x; +5V, data max 3.6 V, ground"
    result = run(source_resistor="0", boards=f"{weak}\ny; +5V, data, ground")
    assert [(row["crossing"], row["lead"]) for row in list_rows(result, "boards")] == [
        ("1-2, 2-1, 3-3", "damages"),
        ("1-2, 2-1, 3-3", "holds"),
    ]
    assert "x is damaged: 5\u00a0V reach the board's pin 2 (data)" in find_text(result, "lead-damages")
    advice = find_text(result, "break-out-damages")
    assert "damages: x, y. A lead of its own, by the table, serves y;" in advice
    alone = find_text(run(source_resistor="0", boards=weak), "break-out-damages")
    assert alone.endswith("No lead puts it right yet: first mend the other stops here.")


def test_a_break_outs_table_of_leads_is_the_table_of_wires() -> None:
    result = run(
        from_pins="data 1, data 2, +5V, ground", boards="left; +5V, data, ground\nright; +5V, data, ground"
    )
    assert [row["crossing"] for row in list_rows(result, "boards")] == ["1-2, 3-1, 4-3", "2-2, 3-1, 4-3"]
    assert [row["lead"] for row in list_rows(result, "boards")] == ["holds", "holds"]


@pytest.mark.parametrize(
    "texts",
    [
        {"from_pins": "+5V", "to_pins": "ground"},
        {"from_pins": "+12V, ground", "to_pins": "+5V, ground"},
        {"to_pins": "+5V, data max 3.6 V, ground", "source_resistor": "0"},
    ],
)
def test_a_lead_is_advised_only_where_it_serves(texts: dict[str, str]) -> None:
    result = run(**texts)
    text = find_text(
        result, "straight-damages" if result.outputs["straight"] == "damages" else "straight-does-not-work"
    )
    assert "make up a lead" not in text
    assert text.startswith(
        "Do not join them directly: no lead puts it right yet, so first mend the other stops here."
    )
    # There is another stop, which says what is missing.
    assert "stop" in {f.level for f in result.findings if not f.code.startswith("straight")}


def test_only_parts_that_were_named_are_spoken_of() -> None:
    result = run(from_pins="+12V, ground", to_pins="+12V, ground")
    assert "boards" not in [table.name for table in result.tables]
    assert not any("spine" in finding.text.write() for finding in result.findings)


def test_boards_are_named_as_people_say_it() -> None:
    boards = "\n".join(f"{name}; data, +5V, ground" for name in ("spine", "flanks", "lantern"))
    shared = find_text(run(boards=boards), "shared-signal")
    assert shared.startswith("Spine, flanks and lantern share pin 1 (signal)")
    missing = find_text(run(boards="flanks; +12V, ground"), "missing-supply")
    assert missing.startswith("Nothing at the source serves pin 1 (+12V) of flanks.")
    assert "pin 2 (+12V) of the board" in find_text(run(to_pins="ground, +12V"), "missing-supply")


def test_a_reversed_servo_is_explained_where_no_resistor_is_reckoned() -> None:
    """A model flyers' association: reversed, no damage; common practice: a kilohm before a servo's input."""
    servo = {"from_pins": "servo lead", "to_pins": "servo lead"}
    assert run(**servo).outputs["reversed"] == "damages"
    assert "here 0\u00a0Ω is reckoned" in find_text(run(**servo), "servo-resistor")
    spared = run(**servo, input_resistor="1 kohm")
    assert spared.outputs["reversed"] == "does not work"
    assert "servo-resistor" not in list_codes(spared)


def test_a_fault_stays_within_what_the_supply_gives() -> None:
    result = run(source_current="0.5 A", fuse="0.75 A")
    assert result.outputs["fault_current"] == 0.5
    assert "up to 500\u00a0mA" in find_text(result, "straight-damages")
    assert "need never open" in find_text(result, "fuse-stays-closed")
    assert "need never open" in find_text(result, "fuse-never-opens")


def test_the_print_is_asked_for_once() -> None:
    text = find_text(run(from_pins="servo lead", to_pins="clocked strip"), "check-the-print")
    assert text.count("print") == 1


def test_each_board_takes_a_data_line_of_its_own_where_there_are_two() -> None:
    result = run(
        from_pins="data 1, data 2, +5V, ground", boards="left; +5V, data, ground\nright; +5V, data, ground"
    )
    joined = [row["from_role"] for row in list_rows(result, "break_out") if row["to_role"] == "data"]
    assert joined == ["data 1", "data 2"]
    settled = run(from_pins="data 1, data 2, +5V, ground", to_pins="+5V, data 2, ground")
    assert settled.outputs["crossing"] == "2-2, 3-1, 4-3"
    assert "two-candidates" not in list_codes(settled)


def test_readings_go_from_wires_over_joints_to_voltages() -> None:
    result = run()
    all_wires = [reading for reading in result.readings if reading.label.startswith("Wire")]
    wires = [reading for reading in all_wires if reading.expected.kind == "resistance"]
    assert [reading.label.split()[1] for reading in wires] == ["1-2", "2-1", "3-3"]
    # A short circuit of supply to ground must fail the reading; a sound lead must pass it.
    (joint,) = [reading for reading in result.readings if reading.label == "No joint from +5V to ground"]
    assert joint.low.value > 100 * wires[0].high.value
    assert joint.low.value <= joint.expected.value <= joint.high.value
    (supply,) = [r for r in result.readings if r.label.startswith("+5V before")]
    assert supply.battery == "on"
    assert (supply.low.value, supply.high.value) == pytest.approx((4.75, 5.25))
    assert "pin 1, black probe on pin 3" in supply.probes
    # What carries the board's current has a reading in millivolts as well.
    driven = [reading for reading in all_wires if reading.expected.kind == "voltage"]
    assert {reading.label.split()[1] for reading in driven} == {
        reading.label.split()[1]
        for reading in wires
        if "(+5V)" in reading.label or "(ground)" in reading.label
    }
    order = [reading.battery for reading in result.readings]
    assert order == sorted(order)
    for reading in result.readings:
        assert reading.low.value <= reading.expected.value <= reading.high.value


def test_a_battery_may_be_nearly_empty_and_a_data_wire_rests() -> None:
    texts = {"from_pins": "battery, ground, signal", "to_pins": "battery, signal, ground"}
    found = {reading.label: reading for reading in run(**texts, battery_voltage="14.4 V").readings}
    battery = found["battery before the board is plugged in"]
    # 0.7 of the highest is 10.08 V; what works down to 25 % below it needs 10.8 V.
    assert battery.low.value == pytest.approx(max(0.7 * 14.4, 0.75 * 14.4))
    assert battery.high.value <= 1.05 * 14.4
    lenient = run(**texts, battery_voltage="14.4 V", supply_under="50 %").readings
    (empty,) = [one for one in lenient if one.label.startswith("battery before")]
    assert empty.low.value == pytest.approx(10.08)
    signal = found["signal before the board is plugged in"]
    # Nothing is sent, or a servo's pulses: 2.5 ms in 20 ms of 5 V are 0.6 V; the plus would be 5 V.
    assert (signal.low.value, signal.high.value) == pytest.approx((-0.05, 1.25))


# Measured, a wire has no more than was entered; reckoned, its copper may be a quarter above class 5.
@pytest.mark.parametrize(("texts", "most"), [({"lead_resistance": "100 mΩ"}, 0.1), ({}, None)])
def test_a_wires_millivolts_pass_up_to_what_is_known_of_it(texts: dict[str, str], most: float | None) -> None:
    (reading,) = [one for one in run(**texts).readings if "(+5V), as millivolts at 1" in one.label]
    known = 1.25 * reading.expected.value if most is None else most
    assert reading.high.value == pytest.approx(1.025 * known + 3e-4)


@pytest.mark.parametrize(("content", "read"), [("data", True), ("TX", False), ("SDA", False)])
def test_only_what_rests_low_is_read_at_rest(content: str, read: bool) -> None:
    other = {"TX": "RX"}.get(content, content)
    result = run(from_pins=f"+5V, ground, {content}", to_pins=f"+5V, ground, {other}")
    rests = [one for one in result.readings if one.label.endswith("plugged in") and one.expected.value == 0]
    assert bool(rests) == read


def test_contacts_that_carry_the_same_share_one_reading() -> None:
    result = run(
        from_pins="data, +5V, +5V, ground, ground, clock", to_pins="data, +5V, +5V, ground, ground, clock"
    )
    found = {reading.label: reading.probes for reading in result.readings}
    assert list(found) == [
        *("Wire 1-1 (data)", "Wires 2-2, 3-3 (+5V)", "Wires 4-4, 5-5 (ground)", "Wire 6-6 (clock)"),
        *(f"Wires {ends}, as millivolts at 1\u00a0A" for ends in ("2-2, 3-3 (+5V)", "4-4, 5-5 (ground)")),
        *("No joint from +5V to ground", "No joint from +5V to any other wire"),
        *(f"{label} before the board is plugged in" for label in ("+5V", "data", "clock")),
    ]
    assert (
        "board plug pins 2 and 3 to pins 4 and 5, each against each" in found["No joint from +5V to ground"]
    )
    assert "board plug pins 2 and 3 to pins 1 and 6" in found["No joint from +5V to any other wire"]
    assert "pins 2 and 3 in turn, black probe on pin 4" in found["+5V before the board is plugged in"]


def test_no_voltage_reading_passes_what_the_board_does_not_withstand() -> None:
    """A maker's data sheet of a 5 V addressable LED: absolute maximum 5.3 V."""
    for reading in run().readings:
        if reading.expected.kind == "voltage":
            assert reading.high.value <= 5.3


def test_colour_codes_are_those_of_the_standard() -> None:
    """IEC 60757 table 1, as reprinted in GOST 28763-90."""
    codes = ["BK", "BN", "RD", "OG", "YE", "GN", "BU", "VT", "GY", "WH", "PK", "TQ"]
    names = [
        "black",
        "brown",
        "red",
        "orange",
        "yellow",
        "green",
        "blue",
        "violet",
        "grey",
        "white",
        "pink",
        "turquoise",
    ]
    published = dict(zip(codes, names, strict=True))
    for row in read_rows("conductor_colours"):
        assert published[str(row["code"])] == row["name"]
        assert row["code"] not in ("GN", "YE")


def test_different_circuits_get_different_colours_and_grounds_one() -> None:
    colours = find_colours(
        read_plug("+5V, ground, data 1, data 2, clock, +12V, ground, speaker +, speaker -").pins
    )
    assert colours[1] == colours[6] == "BK black"
    assert len(set(colours)) == len(colours) - 1


def test_rules_table_is_the_one_that_judges() -> None:
    table = list_rules()
    assert [row[1] for row in table.rows] == [TOLD_RULES[rule.code].title for rule in RULES]
    for row in list_rows(run(), "straight_pins"):
        assert RULES[int(str(row["rule"])) - 1].verdict == row["verdict"]


def test_pictures_name_every_wire_by_role_and_colour() -> None:
    result = run()
    lead = result.pictures[0]
    drawing = lead.draw("metric")
    for text in ("WH", "RD", "BK", "1 signal", "2 +5V", "2 data", "3 ground", "mating face"):
        assert f">{text}<" in drawing
    assert "WH white" in lead.description.write()
    reversal = next(picture for picture in result.pictures if picture.name == "reversed")
    assert ">damages<" in reversal.draw("metric")
    assert "source pin 2 (+5V) on board pin 2 (data): damages" in reversal.description.write()
    assert "&lt;" not in drawing


def test_a_joint_with_many_pins_keeps_all_text_off_its_wires() -> None:
    pins = "signal, data 1, data 2, ground, +5V, data 3, clock, ground, +12V, data 4, data 5, ground"
    result = run(from_pins=pins, to_pins=", ".join(reversed(pins.split(", "))))
    for picture in result.pictures:
        drawing = ElementTree.fromstring(picture.draw("metric"))
        boxes = [(float(box.attrib["x"]), float(box.attrib["width"])) for box in drawing.iter("rect")]
        assert len(boxes) == 2
        baselines: dict[float, list[float]] = {}
        for text in drawing.iter("text"):
            left = float(text.attrib["x"])
            # A title stands over its plug, the rest inside it; no usual font takes 8 pixels for a letter.
            words = "".join(text.itertext())
            (start,) = [x for x, _ in boxes if x <= left < x + 118]
            assert "textLength" in text.attrib or left + 8 * len(words) <= start + 118
            baselines.setdefault(start, []).append(float(text.attrib["y"]))
        for places in baselines.values():
            assert all(
                there - here >= 13 for here, there in zip(sorted(places), sorted(places)[1:], strict=False)
            )


def test_a_long_name_is_set_closer_and_stays_in_its_plug() -> None:
    drawing = run(from_pins="speaker shakerfront +, ground").pictures[0].draw("metric")
    (squeezed,) = re.findall(r"<text [^>]*textLength=[^>]*>([^<]*)<", drawing)
    assert squeezed == "1 speaker shakerfront +"


def test_a_level_is_asked_of_the_supply_that_the_inputs_can_live_on() -> None:
    """A CMOS input reads high from 0.7 of its own supply, and bears little more than that supply."""
    joint = {"from_pins": "battery, data, ground", "to_pins": "battery, data, ground"}
    unknown = run(**joint, signal_level="3.3 V")
    assert "signal-level-low" not in list_codes(unknown)
    text = find_text(unknown, "signal-level-unknown").replace("\u00a0", " ")
    assert "withstand 5.5 V, so they do not live on its 14.6 V" in text
    # 0.7 of 5.5 V are 3.85 V: enough for any supply that such an input can have.
    assert "signal-level-unknown" in list_codes(run(**joint, signal_level="3.84 V"))
    assert "signal-level-unknown" not in list_codes(run(**joint, signal_level="3.85 V"))
    # A pin's own maximum goes first: an input for 15 V may well live on 12 V, and then wants 8.4 V.
    tall = run(from_pins="+12V, data, ground", to_pins="+12V, data max 15 V, ground", signal_level="5 V")
    assert "8.4\u00a0V" in find_text(tall, "signal-level-low")


def test_what_to_do_stands_before_what_would_happen() -> None:
    result = run()
    straight, reversal = find_text(result, "straight-damages"), find_text(result, "reversed-damages")
    assert straight.startswith(
        "Do not join them directly: make up a lead 1-2, 2-1, 3-3 and mark both its ends."
    )
    assert "Plugged in straight, something burns: source pin 2 meets board pin 2 (the " in straight
    assert reversal.startswith("Use a plug with a key")


ROLES = st.sampled_from(
    (
        *(
            "+5V",
            "+12V",
            "+3V3",
            "battery",
            "VCC",
            "ground",
            "signal",
            "data 1",
            "data in",
            "data out",
            "clock",
        ),
        *("speaker left +", "speaker left -", "speaker +", "-", "data max 3.6 V"),
    )
)
PLUGS = st.lists(ROLES, min_size=1, max_size=8).map(", ".join)


@given(
    PLUGS, PLUGS, st.sampled_from(["mating face", "wire side"]), st.sampled_from(["", "a; data, +5V, ground"])
)
@settings(max_examples=80)
def test_any_two_plugs_give_a_sound_result(source: str, board: str, view: str, boards: str) -> None:
    result = run(from_pins=source, to_pins=board, to_view=view, boards=boards)
    assert set(result.outputs) == {output.name for output in CALCULATOR.outputs}
    assert all(result.outputs[name] in VERDICTS for name in (*NAMES, "lead"))
    json.dumps(dict(result.outputs), allow_nan=False)
    wires = re.findall(r"(\d+)-(\d+)", str(result.outputs["crossing"]))
    assert len({end for _, end in wires}) == len(wires)
    for table in result.tables:
        json.dumps(table.rows, allow_nan=False)
    for reading in result.readings:
        assert all(math.isfinite(figure.value) for figure in (reading.expected, reading.low, reading.high))
        assert reading.low.value <= reading.expected.value <= reading.high.value
    for finding in result.findings:
        assert "{" not in finding.text.write("imperial")
    if any("first mend the other stops" in finding.text.write() for finding in result.findings):
        assert any(f.level == "stop" and f.code.startswith(("lead", "missing")) for f in result.findings)
    for picture in result.pictures:
        assert picture.draw("metric").startswith("<svg")
        assert picture.description.write()


def test_the_worked_example_runs() -> None:
    result = CALCULATOR.run(dict(CALCULATOR.example))
    assert result.outputs["crossing"] == "1-2, 2-1, 3-3"
    assert list_codes(result)["check-the-print"] == "note"
