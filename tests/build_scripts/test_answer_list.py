"""What live.js lets an answer hold is what the renderers write: nothing more, nothing less."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from html.parser import HTMLParser

import pytest

from calculators import list_calculators
from calculators.answers import answer
from calculators.forms.calculator import Calculator, Output
from calculators.forms.fields import QuantityInput
from calculators.notation.showing import Figure, say
from calculators.notation.units import System
from calculators.presentation.as_html import render_brief, render_parts
from calculators.results.drawing import DASHES, WIDTH, Axis, Canvas, Mark, Series, draw_chart
from calculators.results.result import (
    MARKS,
    Column,
    Finding,
    Level,
    Picture,
    Reading,
    Result,
    Source,
    Step,
    Table,
)
from tests.browser.generated_inputs import make_inputs
from tests.conftest import ROOT

SCRIPT = (ROOT / "build_scripts" / "browser" / "live.js").read_text("utf-8")
TONES = ("", "soft", "good", "caution", "stop", *DASHES)
# Their letters are small where HTML is written, and the browser gives SVG its own back.
VECTOR_NAMES = {name.lower(): name for name in ("viewBox", "textLength", "lengthAdjust")}

ONE = Figure(1.0, "voltage")
LONG = "A sentence so long that it stands below its row and not beside it, on phones above all."


def read_list() -> tuple[set[str], set[str], dict[str, re.Pattern[str]]]:
    """The elements, the classes and the attributes with their values that live.js allows."""
    block = SCRIPT[SCRIPT.index("const ELEMENTS") : SCRIPT.index("const texts")]
    elements, classes, attributes = (
        block[block.index(begin) : block.index(end)]
        for begin, end in (
            ("const ELEMENTS", "const CLASSES"),
            ("const CLASSES", "const ATTRIBUTES"),
            ("const ATTRIBUTES", "].flatMap"),
        )
    )
    words = "".join(re.findall(r'"([\w ]+)"', elements.replace('" "', ""))).split()
    names = "".join(re.findall(r'"([\w|]+)"', classes))
    rows = re.findall(r'\["([\w -]+)", (?:"(.*?)"|`(.*?)`)\]', attributes)
    values = {
        name: re.compile((plain or filled).replace("${CLASSES}", names).replace("\\\\", "\\"), re.DOTALL)
        for group, plain, filled in rows
        for name in group.split()
    }
    return set(words), set(names.split("|")), values


class Reader(HTMLParser):
    """Collects what a fragment holds, with each value that an attribute has."""

    def __init__(self) -> None:
        super().__init__()
        self.elements: set[str] = set()
        self.classes: set[str] = set()
        self.values: dict[str, set[str]] = {}
        self.within = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.within += tag == "svg"
        self.elements.add(tag if self.within else tag.upper())
        for name, value in attrs:
            self.values.setdefault(VECTOR_NAMES.get(name, name), set()).add(value or "")
            if name == "class":
                self.classes |= {word.removeprefix("sl-") for word in (value or "").split()}

    def handle_endtag(self, tag: str) -> None:
        self.within -= tag == "svg"

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)


def draw_everything(_: System) -> str:
    canvas = Canvas(100)
    for tone in TONES:
        canvas.line((0, 0), (1.25, -1), tone, dash=DASHES.get(tone, ""))
        canvas.curve((0, 0), (9, 9), tone, dash="4 4")
        canvas.box((0, 0), (9, 9), tone, filled=True)
        canvas.box((0, 0), (9, 9), tone)
        canvas.dot((0, 0), 3, tone)
        canvas.dot((0, 0), 3, tone, filled=False)
        canvas.text((0, 0), "words", tone, anchor="middle", bold=True, clear=True, within=5)
        canvas.text((0, 0), "words", tone, anchor="end")
    axis, points = Axis("Time", "time"), ((0.0, 0.0), (1.0, 3.0))
    chart = draw_chart(
        axis, axis, (Series("one", points),), (Mark("level", 1.0), Mark("place", 0.5, across=False))
    )
    return canvas.render() + chart


def make_specimen() -> tuple[Calculator, Result]:
    """A calculator and a result of it in which everything occurs that a renderer can write."""
    levels: tuple[Level, ...] = ("stop", "caution", "note")
    columns = (Column("name", "Name"), Column("drop", "Drop", "voltage"), Column("why", "Why"))
    rows = tuple(("row", 1.0, LONG) for _ in MARKS)
    outputs = [
        Output(name=f"output_{place}", label="Output", kind="voltage", main=not place) for place in range(13)
    ]
    calculator = Calculator(
        slug="specimen",
        title="Specimen",
        summary="Everything that can be shown.",
        inputs=(
            QuantityInput(name="a", label="A", kind="voltage", unit="V", default="1 V", lowest=0, highest=2),
        ),
        outputs=tuple(outputs),
        compute=lambda **_: Result({}, say("Take it.")),
        sources=(Source("A book", "page 1"),),
        limits=("None.",),
        example={},
        cautions=("Take care.",),
    )
    result = Result(
        outputs={item.name: 1.0 for item in outputs},
        answer=say("Take “one” & <all>."),
        working=(Step("Sum", "a + b", say("{a} + 1", a=ONE), ONE),),
        findings=tuple(
            Finding(level, "a-code", say("Words, such as 2-1."), lambda: ({"a": "2 V"},), lambda _: True)
            for level in levels
        ),
        readings=(Reading("Voltage", "one probe each", "on", ONE, ONE, ONE),),
        tables=(Table("marked", "Marked", columns, rows, MARKS), Table("plain", "Plain", columns, rows)),
        pictures=(Picture("one", "One", say("It shows “one” & <all>."), draw_everything),),
    )
    return calculator, result


def render_specimens() -> Iterator[str]:
    calculator, full = make_specimen()
    empty = Result(full.outputs, full.answer)
    cautious = Result(full.outputs, full.answer, findings=full.findings[1:])
    for result in (full, cautious, empty):
        yield render_brief(calculator, result)
        yield from filter(None, render_parts(calculator, result).values())
    few = Calculator(
        **{name: getattr(calculator, name) for name in calculator.__dataclass_fields__}
        | {"outputs": calculator.outputs[:3]}
    )
    yield from filter(None, render_parts(few, full, "imperial", ["working"]).values())


def read_fragments(fragments: Iterator[str]) -> Reader:
    reader = Reader()
    for fragment in fragments:
        reader.feed(fragment)
    return reader


def check_values(reader: Reader) -> None:
    _, _, allowed = read_list()
    for name, values in reader.values.items():
        for value in values:
            assert allowed[name].fullmatch(value), f'{name}="{value}"'


def test_the_list_is_what_the_renderers_can_write() -> None:
    elements, classes, attributes = read_list()
    found = read_fragments(render_specimens())
    assert found.elements == elements
    assert found.classes == classes
    assert set(found.values) == set(attributes)
    check_values(found)


@pytest.mark.parametrize("calculator", list_calculators(), ids=lambda calculator: calculator.slug)
def test_every_answer_of_the_calculators_is_within_the_list(calculator: Calculator) -> None:
    elements, classes, attributes = read_list()

    def ask() -> Iterator[str]:
        for place, fields in enumerate([{}, *make_inputs(calculator, 60)]):
            units = "imperial" if place % 2 else "metric"
            asked = {"calculator": calculator.slug, "fields": fields, "units": units, "form": "html"}
            answered = json.loads(answer(json.dumps(asked)))
            if answered["ok"]:
                yield from (answered["brief"], *answered["result"].values())

    found = read_fragments(ask())
    assert found.elements <= elements
    assert found.classes <= classes
    assert set(found.values) <= set(attributes)
    check_values(found)


def test_the_specimen_is_as_wide_as_every_drawing() -> None:
    assert f'width="{WIDTH:.0f}"' in draw_everything("metric")
