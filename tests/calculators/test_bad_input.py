"""Whatever is typed, a field answers with a value or a sentence that names it: no traceback, no default."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import calculators
from calculators.answers import answer, warm
from calculators.forms.calculator import Calculator
from calculators.forms.fields import ChoiceInput, GaugeInput, QuantityInput, WholeInput, YesNoInput
from calculators.notation.errors import InputErrors, UnknownCalculatorError
from calculators.results.result import Result
from tests.calculators.sample import SAMPLE, register_sample

NUMBERLESS = [
    "",
    "   ",
    "nan",
    "NaN",
    "inf",
    "-inf",
    "Infinity",
    "∞",
    "1e999",
    "-1e999 A",
    "9" * 61,
    "x" * 10_000,
    "1,500",
    "1 500",
    "1,500,000",
    "1.500,00",
    "1'500",
    "1_500",
    "0x1F",
    "5 5",
    "5 furlongs",
    "five",
    "+-1",
    "1..2",
    "５",
    "٥",
    "५",
    "\u22125",
    "\u20135",
    "5\u200b",
    "\u200b",
    "5\u00ad",
    "1\u20442",
    "½",
    "²",
    "5 А",
    "5 Α",
    "5\x00",
    "5\r\n",
    "5\t6",
    "\ud83d\ude00",
    "\ud800",
    "=1+1",
    "${1}",
    "{0}",
    "%s",
    "<b>5</b>",
    "';--",
    "../../etc",
    "null",
    "2k2k",
    "1/2/3",
]


def list_fields(*listed: Calculator) -> list[tuple[Calculator, str]]:
    number_fields = (QuantityInput, WholeInput, ChoiceInput, YesNoInput, GaugeInput)
    return [(one, item.name) for one in listed for item in one.inputs if isinstance(item, number_fields)]


FIELDS = list_fields(SAMPLE, *calculators.list_calculators())


def find_error(calculator: Calculator, name: str, text: str) -> str:
    """The sentence with which this field refuses the text; fails when it does not, or names another."""
    with pytest.raises(InputErrors) as caught:
        calculator.run({name: text})
    (error,) = caught.value.errors
    assert error.field == name
    assert error.label == calculator.fields[name].label
    assert error.given == text
    return error.problem


@pytest.mark.parametrize(("calculator", "name"), FIELDS, ids=[f"{one.slug}.{name}" for one, name in FIELDS])
def test_every_field_refuses_what_is_no_figure_and_names_itself(calculator: Calculator, name: str) -> None:
    item = calculator.fields[name]
    for text in NUMBERLESS:
        # Edges are trimmed: a line end after a figure is no slip.
        if (item.optional and not text.strip()) or text == "5\r\n":
            continue
        problem = find_error(calculator, name, text)
        assert len(problem) > 15
        assert "Traceback" not in problem
        assert "  " not in problem.replace(text.strip() or "\0", "x")


QUANTITIES = [(one, name) for one, name in FIELDS if isinstance(one.fields[name], QuantityInput)]


@pytest.mark.parametrize(
    ("calculator", "name"), QUANTITIES, ids=[f"{one.slug}.{name}" for one, name in QUANTITIES]
)
def test_every_quantity_refuses_units_of_another_kind_and_what_lies_outside(
    calculator: Calculator, name: str
) -> None:
    item = calculator.fields[name]
    assert isinstance(item, QuantityInput)
    other = "3 A" if item.kind != "current" else "3 kHz"
    assert "is asked for" in find_error(calculator, name, other)
    if item.kind not in ("resistance", "capacitance"):
        assert "IEC 60062 code" in find_error(calculator, name, "4R7")
    unit = f" {item.unit}" if item.unit else ""
    assert "allowed: " in find_error(calculator, name, f"1e300{unit}"), "give this field a highest value"
    assert "allowed: " in find_error(calculator, name, f"-1e300{unit}"), "give this field a lowest value"
    if item.above and item.lowest == 0:
        assert "more than" in find_error(calculator, name, "0")


@pytest.fixture(scope="module", autouse=True)
def sample_registered() -> Iterator[None]:
    with register_sample():
        yield


FORMS = st.sampled_from(["html", "text", "json"])
UNITS = st.sampled_from(["metric", "imperial"])
NAMES = st.one_of(st.sampled_from(sorted(SAMPLE.fields)), st.text(max_size=8))
TEXTS = st.one_of(st.text(max_size=30), st.text(alphabet="0123456789.,/- AWGmVk%°C'\"RftinµΩ", max_size=12))


@settings(max_examples=300)
@given(st.dictionaries(NAMES, TEXTS, max_size=4))
def test_reading_any_texts_gives_values_or_input_errors(texts: dict[str, str]) -> None:
    try:
        values = SAMPLE.read(texts)
    except InputErrors as refused:
        assert {error.field for error in refused.errors} <= set(texts)  # noqa: PT017
        assert all(error.problem and error.given == texts[error.field] for error in refused.errors)  # noqa: PT017
    else:
        assert set(values) == set(SAMPLE.fields)
        assert set(texts) <= set(values)


@settings(max_examples=300)
@given(st.dictionaries(NAMES, TEXTS, max_size=4), UNITS, FORMS)
def test_any_question_gets_an_answer_in_json(texts: dict[str, str], units: str, form: str) -> None:
    question = json.dumps({"calculator": SAMPLE.slug, "fields": texts, "units": units, "form": form})
    answered = json.loads(answer(question))
    if answered["ok"]:
        assert isinstance(answered["result"], str if form == "text" else dict)
    else:
        for error in answered["errors"]:
            assert set(error) == {"field", "label", "given", "text", "cells"}
            assert texts[error["field"]] == error["given"]
            assert error["text"]


def test_an_answer_holds_the_result_in_the_form_asked_for() -> None:
    def ask(**asked: object) -> dict[str, Any]:
        answered = json.loads(
            answer(json.dumps({"calculator": SAMPLE.slug, "fields": {"length": "1 ft"}, **asked}))
        )
        assert answered["ok"] is True
        return dict(answered)

    assert "305\u00a0mm" in str(ask(form="html")["result"]["outputs"])
    assert "1.00\u00a0ft" in str(ask(form="html", units="imperial")["result"]["outputs"])
    assert "305 mm" in str(ask(form="text", units="metric")["result"])
    assert ask(form="json", units="imperial")["result"]["outputs"]["distance"] == {
        "value": 0.3048,
        "unit": "m",
    }


def test_what_was_left_out_is_told_without_computing_again() -> None:
    computed: list[float] = []

    def compute(**values: Any) -> Result:
        computed.append(values["current"])
        return SAMPLE.compute(**values)

    def ask(current: str, **asked: object) -> dict[str, str | None]:
        question = {"calculator": SAMPLE.slug, "fields": {"current": current}, "form": "html", **asked}
        return dict(json.loads(answer(json.dumps(question)))["result"])

    with register_sample(replace(SAMPLE, compute=compute)):
        first = ask("1 A", closed=["working"])
        assert "U = I" not in str(first["working"])
        assert first["provenance"] is None
        later = ask("1 A")
        assert "U = I" in str(later["working"])
        assert "Limits and sources" in str(later["provenance"])
        assert computed == [1.0]
        ask("2 A", closed=["working"])
    assert computed == [1.0, 2.0]


def test_an_unknown_calculator_is_named_with_those_that_exist() -> None:
    with pytest.raises(
        UnknownCalculatorError, match="there is no calculator “sample-drp”; did you mean “sample-drop”"
    ):
        answer(json.dumps({"calculator": "sample-drp", "fields": {}, "form": "html"}))


def test_warming_runs_every_form_and_a_refusal() -> None:
    asked: list[dict[str, str]] = []

    def compute(**values: object) -> Result:
        asked.append({})
        return SAMPLE.compute(**values)

    with register_sample(replace(SAMPLE, compute=compute)):
        warm()
    assert len(asked) == 2  # the page's block; all forms in both systems tell of one result
