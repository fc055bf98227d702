"""A small calculator with every kind of field and of outcome, for the tests of what all calculators share."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from types import ModuleType
from unittest.mock import patch

import calculators.answers
from calculators.forms.calculator import Calculator, Output, make_calculator
from calculators.forms.fields import (
    ChoiceInput,
    GaugeInput,
    QuantityInput,
    TextInput,
    WholeInput,
    YesNoInput,
    ask,
)
from calculators.notation.errors import InputError, NotationError
from calculators.notation.gauge import Gauge
from calculators.notation.showing import Figure, say
from calculators.notation.units import Metre
from calculators.results.case import AnswerRule, StepRule
from calculators.results.drawing import Canvas
from calculators.results.result import Column, Finding, Picture, Reading, Result, Source, Step, Table

HOSTILE = "</script><img src=x onerror=alert(1)>\"'&amp;{x}"


def read_label(text: str) -> str:
    if text == "wrong":
        raise NotationError("“wrong” is no label; give another word")
    return text


def compute(
    *,
    current: float,
    length: float,
    count: int,
    metal: str,
    tinned: bool,
    gauge: Gauge | None,
    label: str,
    ambient: float,
) -> Result:
    """Return made-up outcomes: one of every form."""
    if count > 5 and current > 10:
        raise InputError("count", "more than 5 wires need 10 A or less; lower the count")
    drop = current * length * 0.05 / count
    shown = Figure(drop, "voltage")
    return Result(
        outputs={
            "drop": drop,
            "distance": length,
            "share": drop / 12,
            "words": label,
            "nothing": None,
            "percent": drop / 12 * 100,
            "per_km": 50.0,
            "temperature": ambient,
        },
        answer=say("Take {n} of them: {drop} is lost.", n=count, drop=shown),
        working=(
            Step(
                "Drop",
                "U = I · l",
                say("{i} over {l}", i=Figure(current, "current"), l=Figure(length, "length")),
                shown,
            ),
        ),
        findings=(
            Finding("stop", "too-much", say("{drop} is too much for {metal}.", drop=shown, metal=metal)),
            Finding("note", "label", say(label)),
        ),
        readings=(
            Reading(
                "Ends",
                "one probe at either end",
                "off",
                shown,
                Figure(0.0, "voltage"),
                Figure(drop * 2, "voltage"),
            ),
        ),
        tables=(
            Table(
                "sizes",
                "Sizes",
                (Column("size", "Size"), Column("loss", "Loss", "voltage")),
                ((gauge.label if gauge else label, drop), ("none", None)),
                ("chosen", ""),
            ),
        ),
        pictures=(
            Picture(
                "run",
                "The run",
                say("A wire of {l}.", l=Figure(length, "length")),
                lambda system: draw(label),
            ),
        ),
    )


def draw(label: str) -> str:
    canvas = Canvas(20)
    canvas.text((0, 12), label)
    return canvas.render()


SAMPLE = Calculator(
    slug="sample-drop",
    title="Sample drop",
    summary="Voltage lost along a made-up wire.",
    inputs=(
        QuantityInput(
            name="current",
            label="Current",
            kind="current",
            unit="A",
            default="2 A",
            help="Continuous.",
            lowest=0,
            highest=100,
            above=True,
            usual=(0.01, 20),
        ),
        QuantityInput(
            name="length", label="Length", kind="length", unit="m", default="1.5 m", lowest=0, highest=100
        ),
        WholeInput(name="count", label="Wires", default="2", lowest=1, highest=12),
        ChoiceInput(name="metal", label="Metal", default="copper", options=("copper", "tin plate")),
        YesNoInput(name="tinned", label="Tinned", default="no", section="More"),
        GaugeInput(name="gauge", label="Gauge", optional=True, section="More"),
        TextInput(
            name="label", label="Label", default="flank", reader=read_label, form="a word", longest=200
        ),
        QuantityInput(
            name="ambient",
            label="Ambient",
            kind="temperature",
            unit="°C",
            default="25 °C",
            lowest=-273.15,
            highest=100,
            section="More",
        ),
    ),
    outputs=(
        Output(name="drop", label="Drop", kind="voltage", main=True),
        Output(name="distance", label="Distance", kind="length"),
        Output(name="share", label="Share", kind="fraction"),
        Output(name="words", label="Words", kind="text"),
        Output(name="nothing", label="Nothing", kind="power"),
        Output(name="percent", label="Percent", kind="percent"),
        Output(name="per_km", label="Per kilometre", kind="resistance per kilometre"),
        Output(name="temperature", label="Temperature", kind="temperature"),
    ),
    compute=compute,
    example={"current": "3 A"},
    sources=(Source("A made-up handbook", "table 1"),),
    limits=("Made up.",),
    cautions=("Not a real wire.",),
)

HOSTILE_SAMPLE = replace(
    SAMPLE,
    title=HOSTILE,
    summary=HOSTILE,
    inputs=tuple(
        replace(item, label=HOSTILE, help=HOSTILE, section=HOSTILE if item.section else "", **more)
        for item in SAMPLE.inputs
        for more in [
            {"options": ("copper", HOSTILE)}
            if item.name == "metal"
            else {"form": HOSTILE}
            if item.name == "label"
            else {}
        ]
    ),
    outputs=tuple(replace(item, label=HOSTILE) for item in SAMPLE.outputs),
    sources=(Source(HOSTILE, HOSTILE),),
    limits=(HOSTILE,),
    cautions=(HOSTILE,),
)


def hold(calculator: Calculator) -> ModuleType:
    """Return a module as that of a calculator."""
    module = ModuleType(calculator.slug)
    module.CALCULATOR = calculator  # type: ignore[attr-defined]  # as every calculator's module has
    return module


@contextmanager
def register_sample(*listed: Calculator) -> Iterator[None]:
    """Put these calculators (the sample alone, if none is named) in the place of the handbook's."""
    shown = listed or (SAMPLE,)
    with (
        patch.object(calculators, "SLUGS", tuple(one.slug for one in shown)),
        patch.dict(
            sys.modules, {f"calculators.{one.slug.replace('-', '_')}.calculator": hold(one) for one in shown}
        ),
    ):
        yield


def make_single_field() -> Calculator:
    """Return the smallest calculator there can be: one field, one outcome, one step."""

    @dataclass(frozen=True, kw_only=True)
    class Given:
        length: Metre = ask(
            QuantityInput(label="Length", kind="length", unit="m", default="2 m", lowest=0, highest=10)
        )

    @dataclass(frozen=True)
    class Solved:
        given: Given
        there_and_back: Metre

    return make_calculator(
        slug="there-and-back",
        title="There and back",
        summary="Twice a length.",
        form=Given,
        solve=lambda given: Solved(given, 2 * given.length),
        outputs=(Output(name="there_and_back", label="There and back", kind="length", main=True),),
        answers=(AnswerRule[Solved]("Cut {there_and_back:m}."),),
        findings=(),
        working=(StepRule[Solved]("There and back", "2 · {given.length:m|l}", "{there_and_back:m}"),),
        sources=(Source("A made-up handbook", "table 1"),),
        limits=("Made up.",),
        example={"length": "3 m"},
        cautions=("Not a real length.",),
    )
