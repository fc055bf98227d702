"""Plugs: the notation of roles, and how views mirror and turn a plug, against published rules and numpy."""

import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calculators.notation.errors import NotationError
from calculators.parts import read_rows
from calculators.pin_order.calculator import CALCULATOR
from calculators.pin_order.pairs import find_pairs, mirror_places, turn_places
from calculators.pin_order.pin_list import read_plug, read_role

BOARDS = CALCULATOR.fields["boards"]
WIDTHS = st.integers(1, 12)
ROWS = st.integers(1, 2)


@pytest.mark.parametrize(
    ("text", "kind", "label"),
    [
        *(("GND", "ground", "ground"), ("0V", "ground", "ground"), ("Vss", "ground", "ground")),
        *(("+5V", "supply", "+5V"), ("5 V", "supply", "+5V"), ("+3V3", "supply", "+3.3V")),
        *(("12v", "supply", "+12V"), ("VCC", "supply", "supply"), ("battery", "supply", "battery")),
        *(("Signal", "data", "signal"), ("DIN", "data", "data in"), ("dout", "data", "data out")),
        *(("data 2", "data", "data 2"), ("CLK", "clock", "clock"), ("-", "unused", "unused")),
        *(("TX", "data", "TX"), ("rxd", "data", "RX"), ("SDA", "data", "SDA"), ("scl", "clock", "SCL")),
        *(("pwm", "data", "PWM"), ("left audio", "line", "audio left"), ("AGND", "ground", "audio ground")),
        *(("nc", "unused", "unused"), ("speaker left +", "speaker", "speaker left +")),
        *(("left speaker -", "speaker", "speaker left -"), ("spk+", "speaker", "speaker +")),
    ],
)
def test_roles_are_read_with_their_usual_spellings(text: str, kind: str, label: str) -> None:
    role = read_role(text)
    assert (role.kind, role.label) == (kind, label)


@pytest.mark.parametrize(
    ("text", "labels"),
    [
        ("G S V", "ground, signal, supply"),
        ("gnd sig 5v", "ground, signal, +5V"),
        ("GND / SIG / 5V", "ground, signal, +5V"),
        ("data in | 5 V | data out | gnd", "data in, +5V, data out, ground"),
        ("data in 5 V data out gnd", "data in, +5V, data out, ground"),
        ("spk + spk -", "speaker +, speaker -"),
        ("data 1 data 2 0 V", "data 1, data 2, ground"),
        ("+ 5V", "+5V"),
    ],
)
def test_a_list_needs_no_commas_where_it_can_be_cut_in_one_way(text: str, labels: str) -> None:
    assert ", ".join(role.label for role in read_plug(text).pins) == labels


def test_a_role_in_a_list_without_commas_has_five_words_at_most() -> None:
    with pytest.raises(
        NotationError, match=re.escape("“data in max 3.6, V, gnd” or “data in max 3.6 V, gnd”")
    ):
        read_plug("data in max 3.6 V gnd")
    with pytest.raises(NotationError, match="put a comma between two pins"):
        read_plug("gnd data in max 12 volts DC")


def test_a_pin_may_carry_its_own_highest_voltage() -> None:
    assert read_role("data in max 3.6 V").maximum == 3.6
    assert read_role("+12V max 24V").maximum == 24.0


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("signal, +5V, gruond", "pin 3: “gruond” is not a role; did you mean “ground”?"),
        ("signal, , ground", "pin 2 is empty; write “-”"),
        ("", "pin 1 is empty"),
        ("signal, +5, ground", "pin 2: “+5” has no unit; write “+5V”"),
        ("signal, -12V, ground", "pin 2: “-12V”: negative supplies"),
        ("signal, 61V, ground", "pin 2: “61V”: a supply here lies between 1 V and 60 V"),
        ("data max 121V, ground", "pin 1: “data max 121V”: the highest voltage must lie"),
        ("signal, 90V, ground", "pin 2: “90V”: a supply here lies between 1 V and 60 V"),
        ("signal, 0.5V", "pin 2: “0.5V”: a supply here lies"),
        ("ground max 5V, data", "pin 1: “ground max 5V”: only a supply"),
        ("data max 500V, ground", "pin 1: “data max 500V”: the highest voltage must lie"),
        ("data max 3 A, ground", "pin 1: “3 A” is a current"),
        ("signal wobble ground", "pin 1: “signal wobble ground” is not a role; put a comma between two pins"),
        ("sig 5 gnd", "put a comma between two pins"),
        ("signal + 5V", "can mean “signal, +, 5V” or “signal, + 5V”; put commas between the pins"),
        ("black, red, white", "mostly “ground, supply, signal”, on other leads “signal, audio right"),
        ("brown blue black", "“brown, blue, black” are colours, which say nothing for certain"),
        (
            "black, +5V, signal",
            "pin 1: “black” is a colour, which says nothing for certain: mostly “ground”, on",
        ),
        ("+ data -", "“-” beside “+” can mean ground or a contact not used; write “ground” or “unused”"),
        ("+5V; data", "put a comma between two pins"),
        ("+, data, -", "“-” beside “+” can mean ground or a contact not used"),
        ("servo laed", "did you mean “servo lead”?"),
        ("wobble", "Or name a common order: “servo lead”"),
        (", ".join(["ground"] * 25), "25 pins are listed"),
        ("sıgnal, ground", "U+0131"),
    ],
)
def test_a_wrong_pin_is_named_by_its_position(text: str, part: str) -> None:
    with pytest.raises(NotationError) as caught:
        read_plug(text)
    assert part in str(caught.value)


def test_what_is_just_within_the_limits_is_read() -> None:
    assert len(read_plug(", ".join(["ground"] * 24)).pins) == 24
    assert len(BOARDS.read("\n".join(f"b{number}; ground" for number in range(12))) or ()) == 12
    assert read_plug("data max 119V, 59V").pins[1].voltage == 59


def test_boards_are_read_with_their_names_and_common_orders() -> None:
    read = BOARDS.read('lantern, "+5V, data, ground"\nspine, servo lead')
    lantern, spine = (board.plug for board in read or ())
    assert [role.label for role in lantern.pins] == ["+5V", "data", "ground"]
    assert (spine.name, spine.common) == ("spine", True)


def test_common_orders_say_what_they_are() -> None:
    for row in read_rows("plugs"):
        assert row["practice"] == "common practice"
        assert str(row["caution"]).endswith(".")


@given(WIDTHS, ROWS)
def test_mirror_and_turn_agree_with_numpy(width: int, rows: int) -> None:
    grid = np.arange(width * rows).reshape(rows, width)
    assert mirror_places(width * rows, rows) == tuple(np.fliplr(grid).ravel().tolist())
    assert turn_places(width * rows) == tuple(np.rot90(grid, 2).ravel().tolist())


@given(WIDTHS, ROWS)
def test_a_mirrored_view_mirrored_again_is_the_plug_itself(width: int, rows: int) -> None:
    mirror = mirror_places(width * rows, rows)
    assert [mirror[mirror[place]] for place in range(width * rows)] == list(range(width * rows))


@given(WIDTHS, ROWS, st.booleans())
def test_turning_twice_is_straight(width: int, rows: int, mirrored: bool) -> None:
    count = width * rows
    straight = dict(find_pairs(count, count, rows=rows, mirrored=mirrored))
    turned = dict(find_pairs(count, count, rows=rows, mirrored=mirrored, turned=True))
    turn = turn_places(count)
    # Turning the plug that is already turned: the source sees each place taken by its opposite once more.
    assert {turn[here]: there for here, there in turned.items()} == straight


@given(WIDTHS, WIDTHS, ROWS, st.integers(-2, 2))
def test_a_shift_moves_every_contact_by_one_place(source: int, board: int, rows: int, shift: int) -> None:
    pairs = find_pairs(source * rows, board * rows, rows=rows, shift=shift)
    expected = {
        (row * source + place + shift, row * board + place)
        for row in range(rows)
        for place in range(board)
        if 0 <= place + shift < source
    }
    assert set(pairs) == expected


def test_workshop_rule_numbers_run_against_each_other_on_mating_faces() -> None:
    """A truck maker's manual: on mating faces, male halves count from the right, female from the left."""
    width = 4
    male = [*range(width, 0, -1), *range(2 * width, width, -1)]
    female = [*range(1, width + 1), *range(width + 1, 2 * width + 1)]
    pairs = find_pairs(2 * width, 2 * width, rows=2, mirrored=True)
    assert all(male[here] == female[there] for here, there in pairs)
    assert len(pairs) == 2 * width
