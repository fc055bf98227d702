"""Declarations read texts, refuse what cannot be used by name, and every guard fires."""

from __future__ import annotations

import json
import math
import re
from dataclasses import FrozenInstanceError, replace
from typing import Any

import pytest

from calculators.answers import answer
from calculators.forms.calculator import ENDLESS, Calculator, Output
from calculators.forms.fields import (
    ChoiceInput,
    GaugeInput,
    Input,
    QuantityInput,
    TextInput,
    WholeInput,
    YesNoInput,
)
from calculators.notation.errors import InputError, InputErrors, NotationError
from calculators.notation.gauge import make_awg
from calculators.notation.showing import say
from calculators.notation.units import System
from calculators.results.drawing import Canvas
from calculators.results.result import Column, LateTable, Picture, Result, Rows
from tests.calculators.sample import SAMPLE, register_sample

CURRENT = QuantityInput(name="current", label="Current", kind="current", unit="A", lowest=0, highest=10)


def test_a_quantity_is_held_to_its_hard_limits() -> None:
    assert CURRENT.read("0") == 0
    assert CURRENT.read("10 A") == 10
    for text in ("-0.001", "10.0001 A", "10001 mA"):
        with pytest.raises(InputError, match=r"outside what can be computed; allowed: 0.A to 10.A") as caught:
            CURRENT.read(text)
        assert (caught.value.field, caught.value.label, caught.value.given) == ("current", "Current", text)


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ("1.5", "1.5 A"),
        (" 1,5 ", "1,5 A"),
        ("1 1/2", "1 1/2 A"),
        ("5e-1", "5e-1 A"),
        ("500 mA", "500 mA"),
        ("1A5", "1A5"),
        ("", ""),
    ],
)
def test_a_bare_number_is_named_with_the_fields_unit(text: str, named: str) -> None:
    assert CURRENT.name_given(text) == named


def test_above_refuses_the_lowest_itself() -> None:
    item = replace(CURRENT, above=True)
    assert item.read("1 µA") == 1e-6
    with pytest.raises(InputError, match=r"allowed: more than 0.A, at most 10.A"):
        item.read("0")


@pytest.mark.parametrize(
    ("limits", "words"),
    [
        ({"lowest": 1.0}, "at least 1 A"),
        ({"highest": 2.0}, "at most 2 A"),
        ({}, "a current in A"),
        ({"lowest": 0.0, "above": True}, "more than 0 A"),
        ({"lowest": 0.5, "highest": 2.0}, "500 mA to 2 A"),
    ],
)
def test_limits_are_described(limits: dict[str, float], words: str) -> None:
    item = QuantityInput(name="i", label="I", kind="current", unit="A", **limits)  # type: ignore[arg-type]
    assert item.describe_allowed().replace("\u00a0", " ") == words


def test_limits_hold_after_conversion() -> None:
    ambient = SAMPLE.fields["ambient"]
    assert ambient.read("-459.67 °F") == -273.15
    assert ambient.read("212 °F") == 100
    with pytest.raises(InputError, match="outside"):
        ambient.read("212.0001 °F")
    length = QuantityInput(name="l", label="L", kind="length", unit="mm", lowest=0.0005, highest=0.3048)
    assert length.read("0.5") == 0.0005
    assert length.read("1 ft") == 0.3048


def test_a_limit_written_in_another_unit_is_the_limit_itself() -> None:
    # Converting leaves dust of a part in 10^16: 5e-324 over 0.0254 and back is no exception to that.
    wall = QuantityInput(name="w", label="W", kind="length", unit="mm", lowest=0.00005, highest=200)
    assert wall.read("0.001968503937007874 in") == 0.00005
    assert wall.read("200.0000000001 m") == 200
    with pytest.raises(InputError, match="outside"):
        wall.read("200.000000001 m")
    current = QuantityInput(name="i", label="I", kind="current", unit="A", lowest=0, highest=0.1)
    assert current.read("100000.00000000001 µA") == 0.1


def test_a_value_at_a_limit_is_noted_like_any_other() -> None:
    item = QuantityInput(
        name="a", label="A", kind="voltage", unit="V", default="5 V", highest=60, usual=(4, 6)
    )
    calculator = replace(
        SAMPLE, inputs=(item,), compute=lambda **values: Result({"a": values["a"]}, say("Take it."))
    )
    assert [finding.code for finding in calculator.run({"a": "60 V"}).findings] == ["unusual-input"]


def test_a_whole_number_is_whole_and_within_limits() -> None:
    item = WholeInput(name="count", label="Count", lowest=1, highest=12)
    assert [item.read(text) for text in ("1", " 12 ", "+3", "007")] == [1, 12, 3, 7]
    for text in ("1.0", "2,0", "1e1", "three", "0x1", "1_0", "٣", "1 2", "--3"):
        with pytest.raises(InputError, match=r"not a whole number|is not read here"):
            item.read(text)
    with pytest.raises(InputError, match=re.escape("can mean 1500 or 1.5, and a whole number is asked for")):
        item.read("1,500")
    with pytest.raises(InputError, match="write 1500 if that is meant"):
        item.read("1.500")
    for text, digits in (("3 A", "3"), ("96 LEDs", "96"), ("1 000", "1000"), ("1 000 LEDs", "1000")):
        with pytest.raises(InputError, match=f"write {digits}, the digits alone"):
            item.read(text)
    for text in ("0", "13", "-1", "9" * 60):
        with pytest.raises(InputError, match="allowed: a whole number from 1 to 12"):
            item.read(text)


def test_a_choice_takes_its_options_and_offers_the_nearest() -> None:
    item = ChoiceInput(name="metal", label="Metal", options=("copper", "tin plate"))
    assert item.read("COPPER") == "copper"
    assert item.read("  tin   plate ") == "tin plate"
    with pytest.raises(
        InputError,
        match=re.escape("not one of the choices; did you mean “copper”? allowed: copper, tin plate"),
    ):
        item.read("coper")
    with pytest.raises(InputError, match=re.escape("not one of the choices; allowed: copper, tin plate")):
        item.read("zzz")


def test_yes_and_no() -> None:
    item = YesNoInput(name="tinned", label="Tinned")
    assert [item.read(text) for text in ("yes", "Y", "true", "on", "1")] == [True] * 5
    assert [item.read(text) for text in ("no", "N", "False", "off", "0")] == [False] * 5
    with pytest.raises(InputError, match="neither yes nor no"):
        item.read("perhaps")


def test_a_gauge_is_read() -> None:
    assert GaugeInput(name="gauge", label="Gauge").read("22 AWG") == make_awg(22)


def test_a_text_has_a_longest_and_is_not_empty() -> None:
    item = TextInput(name="pins", label="Pins", reader=str.upper, form="a list", longest=5)
    assert item.read("  ab ") == "AB"
    with pytest.raises(InputError, match="6 characters long; allowed: at most 5"):
        item.read("abcdef")
    with pytest.raises(InputError, match="nothing is entered; give a list"):
        item.read("   ")


@pytest.mark.parametrize("sign", ["\x00", "\x08", "\x0b", "\x1b", "\x1f", "\x7f", "\x9f"])
def test_a_text_with_a_control_character_is_refused(sign: str) -> None:
    item = TextInput(name="pins", label="Pins", reader=str.upper, form="a list")
    with pytest.raises(InputError, match=rf"character 2 is the control character U\+00{ord(sign):02X}, "):
        item.read(f"a{sign}b")


@pytest.mark.parametrize("sign", ["\t", "\n", "\r", " ", "~", "\u00a0"])
def test_a_text_keeps_its_spaces_and_lines(sign: str) -> None:
    item = TextInput(name="pins", label="Pins", reader=str.upper, form="a list")
    assert item.read(f"a{sign}b") == f"A{sign}B"


def test_an_optional_field_may_be_empty_and_another_may_not() -> None:
    assert replace(CURRENT, optional=True).read("  ") is None
    with pytest.raises(InputError, match="nothing is entered"):
        CURRENT.read("  ")


def test_a_kind_of_field_that_cannot_read_says_so() -> None:
    with pytest.raises(TypeError, match="Input does not say how it reads"):
        Input(name="a", label="A").read("1")
    assert Input(name="a", label="A").describe_allowed() == ""


def test_all_wrong_fields_are_named_at_once_in_the_forms_order() -> None:
    with pytest.raises(InputErrors) as caught:
        SAMPLE.read({"length": "3 A", "colour": "red", "current": "x", "curent": "2 A"})
    assert [error.field for error in caught.value.errors] == ["colour", "curent", "current", "length"]
    words = str(caught.value)
    assert "did you mean “current”? allowed: current, length" in words
    assert "Length: “3 A” is a current, but a length is asked for" in words


def test_fields_not_given_take_their_defaults() -> None:
    values = SAMPLE.read({"current": "3 A"})
    assert values["current"] == 3
    assert (values["length"], values["count"], values["tinned"], values["gauge"]) == (1.5, 2, False, None)


def test_an_error_in_computing_names_field_label_and_text() -> None:
    with pytest.raises(InputErrors) as caught:
        SAMPLE.run({"count": "6", "current": "11 A"})
    (error,) = caught.value.errors
    assert (error.field, error.label, error.given) == ("count", "Wires", "6")
    assert str(error) == "Wires: more than 5 wires need 10 A or less; lower the count"


def test_a_figure_outside_the_usual_range_adds_a_note() -> None:
    usual = SAMPLE.run({"current": "20 A", "count": "5"})
    assert "unusual-input" not in [finding.code for finding in usual.findings]
    for text in ("20.1 A", "9.9 mA"):
        result = SAMPLE.run({"current": text})
        (note,) = [finding for finding in result.findings if finding.code == "unusual-input"]
        assert note.level == "note"
        assert note.text.write().replace("\u00a0", " ").startswith("Current: ")
        assert "outside the usual 10 mA to 20 A" in note.text.write().replace("\u00a0", " ")


def draw_endless(_: System) -> str:
    canvas = Canvas(20)
    canvas.line((0, 0), (math.inf, 0))
    return canvas.render()


def write_endless(_: System) -> str:
    canvas = Canvas(20)
    canvas.text((math.nan, 0), "here")
    return canvas.render()


def find_endless_rows() -> tuple[Rows, tuple[str, ...]]:
    return ((("a", math.inf),), ())


LATE = LateTable(
    "late", "Late", (Column("size", "Size"), Column("loss", "Loss", "voltage")), find_endless_rows
)


@pytest.mark.parametrize(
    "changes",
    [
        {"outputs": {**SAMPLE.run({}).outputs, "drop": math.nan}},
        {"tables": (LATE,)},
        {"pictures": (Picture("run", "The run", say("A run."), draw_endless),)},
        {"pictures": (Picture("run", "The run", say("A run."), write_endless),)},
        None,
    ],
    ids=["output", "late table", "line", "place", "division"],
)
def test_what_does_not_end_in_numbers_is_refused_by_field(changes: dict[str, Any] | None) -> None:
    def compute(**values: Any) -> Result:
        return replace(SAMPLE.compute(**values), **(changes or {"outputs": {"drop": 1 / 0}}))

    def refuse(**fields: str) -> dict[str, str]:
        question = {"calculator": SAMPLE.slug, "fields": fields, "form": "html"}
        answered = json.loads(answer(json.dumps(question)))
        assert not answered["ok"]
        assert all(error["text"] == ENDLESS for error in answered["errors"])
        return {error["field"]: error["given"] for error in answered["errors"]}

    with register_sample(break_sample(compute=compute)):
        # What is unusual is to blame; else what was changed; else the form's first field.
        assert refuse(current="9 mA", length="1 m") == {"current": "9 mA"}
        assert refuse(current="1 A", length="1 m") == {"current": "1 A", "length": "1 m"}
        assert list(refuse()) == [SAMPLE.inputs[0].name]


def break_sample(**changes: object) -> Calculator:
    return replace(SAMPLE, **changes)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"slug": "Sample"}, "the slug needs small letters and hyphens"),
        ({"slug": "a--b"}, "the slug needs small letters and hyphens"),
        ({"slug": "../x"}, "the slug needs small letters and hyphens"),
        ({"title": ""}, "no title"),
        ({"summary": ""}, "no summary"),
        ({"inputs": ()}, "no inputs"),
        ({"outputs": ()}, "no outputs"),
        ({"sources": ()}, "no sources"),
        ({"limits": ()}, "no limits"),
        ({"inputs": (replace(CURRENT, name="Current"),)}, "bad name 'Current'"),
        ({"inputs": (replace(CURRENT, name='x" onfocus="y'),)}, "bad name"),
        ({"inputs": (CURRENT, CURRENT)}, "'current' stands twice"),
        ({"outputs": (Output(name="a", label="A", kind="text"),) * 2}, "'a' stands twice"),
        ({"outputs": (Output(name="a", label="A", kind="colour"),)}, "unknown kind 'colour'"),
        ({"inputs": (replace(CURRENT, unit="V"),)}, "'V' of 'current' is not a unit of current"),
        ({"inputs": (replace(CURRENT, unit=""),)}, "'' of 'current' is not a unit of current"),
        ({"inputs": (replace(CURRENT, kind="colour"),)}, "unknown kind 'colour'"),
    ],
)
def test_a_wrong_record_is_refused_when_it_is_made(changes: dict[str, object], words: str) -> None:
    with pytest.raises(ValueError, match=re.escape(words)) as caught:
        break_sample(**changes)
    assert str(caught.value).startswith(f"calculator {changes.get('slug', SAMPLE.slug)!r}: ")


def test_a_plain_number_needs_no_unit() -> None:
    item = QuantityInput(name="gamma", label="Gamma", kind="number", unit="", lowest=1, highest=3)
    assert break_sample(inputs=(item,)).read({"gamma": "2.2"}) == {"gamma": 2.2}
    assert item.describe_allowed() == "1 to 3"


def test_records_are_frozen() -> None:
    with pytest.raises(FrozenInstanceError):
        SAMPLE.title = "Other"  # type: ignore[misc]


def test_an_error_without_a_label_goes_by_its_field() -> None:
    assert str(InputError("x", "is wrong")) == "x: is wrong"
    assert issubclass(NotationError, ValueError)


# Converting costs some 1e-16 of a figure; what lies 1e-12 beyond a limit was typed beyond it.
def test_a_limit_is_met_within_what_converting_leaves() -> None:
    assert CURRENT.read_value("10.0000000000098") == 10.0
    with pytest.raises(NotationError, match="outside what can be computed"):
        CURRENT.read_value("10.0000000000102")
