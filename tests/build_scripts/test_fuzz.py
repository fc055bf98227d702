"""The fuzz finds what it is there for, makes it small, and writes a test of it that can be pasted."""

from __future__ import annotations

import math
import time
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import fields, replace
from random import Random
from typing import Any

import pytest

from build_scripts.environment.command import CHECKS
from build_scripts.environment.options import make_parser
from build_scripts.fuzz.__main__ import main, report
from build_scripts.fuzz.batches import try_batch
from build_scripts.fuzz.faults import LONGEST, check_markup, check_refusal, check_words
from build_scripts.fuzz.shrinking import shrink_texts, write_test
from build_scripts.fuzz.targets import TARGETS, find_fault
from build_scripts.fuzz.texts import draw_text
from calculators import list_calculators
from calculators.forms.calculator import Calculator
from calculators.forms.fields import QuantityInput, TextInput
from calculators.forms.rows import RowsInput
from calculators.notation.errors import InputError, NotationError
from calculators.notation.showing import say
from calculators.notation.units import find_unit
from calculators.results.result import Picture, Result
from tests.calculators.rows_sample import ROWS_SAMPLE
from tests.calculators.sample import HOSTILE, HOSTILE_SAMPLE, SAMPLE, register_sample


def change(work: Callable[..., dict[str, Any]]) -> Calculator:
    """The sample with a result changed by what `work` makes of the field texts' values."""

    def compute(**values: Any) -> Result:
        return replace(SAMPLE.compute(**values), **work(**values))

    return replace(SAMPLE, compute=compute)


def give_picture(svg: str) -> Callable[..., dict[str, Any]]:
    return lambda **_: {"pictures": (Picture("run", "The run", say("A run."), lambda _: svg),)}


def spend(seconds: float) -> dict[str, Any]:
    end = time.process_time() + seconds
    while time.process_time() < end:
        pass
    return {}


def raise_error(text: str) -> str:
    if "x" in text:
        raise KeyError(text)
    return text


def say_nothing(text: str) -> str:
    raise NotationError("no")


def replace_reader(reader: Callable[[str], str]) -> Calculator:
    return replace(SAMPLE, inputs=(TextInput(name="label", label="L", reader=reader, form="a word"),))


@pytest.mark.parametrize(
    ("calculator", "fault"),
    [
        (change(lambda **v: {"outputs": {"drop": math.inf}}), "limits and checks let through"),
        (change(lambda **v: {"outputs": {}}), "KeyError in calculators/presentation"),
        (change(lambda **v: spend(LONGEST + 0.1)), "took more than 1 s"),
        (change(lambda **v: spend(LONGEST - 0.5)), ""),
        (change(give_picture("<svg><g></svg>")), "not well formed"),
        (change(give_picture("<svg><script>1</script></svg>")), "holds <script>"),
        (change(give_picture('<svg onload="1"></svg>')), "attribute onload"),
        (change(give_picture('<svg><g style="x"></g></svg>')), "attribute style"),
        (change(give_picture("<svg><text>nan V</text></svg>")), "the HTML holds “nan”"),
        (
            change(lambda **v: {"outputs": {**SAMPLE.run({}).outputs, "words": "-inf"}}),
            "the HTML holds “-inf”",
        ),
        (
            change(
                lambda **v: {
                    "outputs": {
                        **SAMPLE.run({}).outputs,
                        "words": "a\nHolds: no stop and no caution.\n",
                    }
                }
            ),
            "do not agree on the verdict",
        ),
        (SAMPLE, ""),
        (HOSTILE_SAMPLE, ""),
    ],
)
def test_each_kind_of_fault_is_found(calculator: Calculator, fault: str) -> None:
    with register_sample(calculator):
        found = find_fault("answer", SAMPLE.slug, {"current": "5 A"})
    assert (fault in found) if fault else not found


def test_readers_of_notation_are_held_to_their_word() -> None:
    about = f"{SAMPLE.slug}.label"
    with register_sample(replace_reader(raise_error)):
        assert find_fault("notation", about, {"text": "word"}) == ""
        assert find_fault("notation", about, {"text": "xx"}) == (
            f"KeyError in tests/build_scripts/test_fuzz.py, line {raise_error.__code__.co_firstlineno + 2}"
        )
    with register_sample(replace_reader(say_nothing)):
        assert find_fault("notation", about, {"text": "word"}) == "a refusal says nothing"
    assert find_fault("notation", "current", {"text": "1e400 A"}) == ""


def test_refusals_need_a_field_and_words() -> None:
    assert check_refusal("", "Current", "give a figure, such as 12 A") == "a refusal names no field"
    assert check_refusal("current", "", "give a figure, such as 12 A") == "a refusal names no field"
    assert check_refusal("current", "Current", "nine says") == "a refusal says nothing"
    assert check_refusal("current", "Current", "ten it is!") == ""


def test_what_somebody_typed_is_no_number_of_ours() -> None:
    assert check_words("nan flank", "nan:8", "text") == ""
    assert check_words("nan V", "8", "text") == "the text holds “nan”"
    assert check_words("INFINITY", "", "text") == "the text holds “INFINITY”"
    assert check_words("banana, info, in 4 inf-rows", "inf", "text") == ""
    assert check_markup("<p hidden>a<br>b</p>") == ""
    assert check_markup(f"<p>{HOSTILE}</p>") != ""


LIMITED = [
    (one, item) for one in list_calculators() for item in one.inputs if isinstance(item, QuantityInput)
]


@pytest.mark.parametrize(
    ("calculator", "item"), LIMITED, ids=[f"{one.slug}.{item.name}" for one, item in LIMITED]
)
def test_every_quantity_is_computed_up_to_its_limits_or_refused(
    calculator: Calculator, item: QuantityInput
) -> None:
    unit = find_unit(item.kind, item.unit)
    for limit in (item.lowest, item.highest):
        text = f"{limit if unit is None else (limit - unit.offset) / unit.factor!r} {item.unit}"
        if not item.above:
            # Another field may have to be changed with it, but this one's text is read.
            item.read(text)
        assert find_fault("answer", calculator.slug, {item.name: text}) == ""


def test_links_fences_and_articles_are_tried() -> None:
    with register_sample():
        assert find_fault("link", SAMPLE.slug, {"query": "c-figures.label=%ff+%26&c-figures.x=1&y"}) == ""
        for text in ("sample-drop: A", "sample-drop: A\ncurrent = x", "no-such: A", ""):
            assert find_fault("fence", "", {"text": f"``` calculator\n{text}\n```"}) == ""
            assert find_fault("article", "", {"text": f"# A\n\n``` calculator\n{text}\n```"}) == ""
    with register_sample(change(give_picture("<svg><g></svg>"))):
        texts = {"text": "``` calculator\nsample-drop: not yet kept\n```"}
        assert find_fault("fence", "", texts) == "the HTML is not well formed"
        assert find_fault("link", SAMPLE.slug, {"query": ""}) == "the HTML is not well formed"


@pytest.mark.parametrize("name", TARGETS)
def test_the_same_seed_draws_the_same_inputs_for_any_calculator(name: str) -> None:
    with register_sample():
        drawn = [[TARGETS[name].draw(Random(f"1 {number}")) for number in range(60)] for _ in range(2)]
        assert drawn[0] == drawn[1]
        assert len({repr(one) for one in drawn[0]}) > 25
        if name != "article":
            assert "sample-drop" in repr(drawn)
        tried, faults = try_batch((1, name, 0))
    assert tried >= 1
    assert faults == []


def test_tables_are_drawn_from_their_columns_and_tried() -> None:
    with register_sample(ROWS_SAMPLE):
        item = ROWS_SAMPLE.fields["lamps"]
        drawn = [draw_text(ROWS_SAMPLE, item, Random(f"2 {number}")) for number in range(300)]
        rows = [len(text.split("\n")) for text in drawn]
        assert max(rows) >= 200
        assert sum(number <= 6 for number in rows) > 250
        assert any("\t" in text for text in drawn)
        assert any(text.lower().startswith("place") for text in drawn)
        read = sum(find_refusal(text) == "" for text in drawn)
        assert 50 < read < 300
        for name in TARGETS.keys() - {"article"}:
            for number in range(40):
                about, texts = TARGETS[name].draw(Random(f"3 {number}"))
                assert find_fault(name, about, texts) == "", texts


def find_refusal(text: str) -> str:
    try:
        ROWS_SAMPLE.fields["lamps"].read(text)
    except InputError as error:
        return error.problem
    return ""


def test_rows_that_are_not_written_as_they_were_read_are_a_fault() -> None:
    class Forgetful(RowsInput[Any]):
        def write_rows(self, rows: Iterable[Sequence[str]]) -> str:
            return super().write_rows(list(rows)[1:])

    (item,) = (one for one in ROWS_SAMPLE.inputs if isinstance(one, RowsInput))
    kept = {field.name: getattr(item, field.name) for field in fields(item)}
    with register_sample(replace(ROWS_SAMPLE, inputs=(Forgetful(**kept),))):
        about = f"{ROWS_SAMPLE.slug}.lamps"
        assert find_fault("notation", about, {"text": "a, 1 A"}) == "written rows are others"


def test_a_fault_becomes_the_smallest_test_that_fails(capsys: pytest.CaptureFixture[str]) -> None:
    about = f"{SAMPLE.slug}.label"
    with register_sample(replace_reader(raise_error)):
        fault = find_fault("notation", about, {"text": "some x here"})
        smallest = shrink_texts("notation", about, {"text": "some x here", "other": "y"}, fault)
        assert smallest == {"text": "x"}
        written = write_test("notation", about, smallest, fault)
        space: dict[str, Any] = {}
        exec(compile(written, "pasted", "exec"), space)
        with pytest.raises(AssertionError):
            space["test_notation_sample_drop_label_stands"]()
        assert report(Counter(notation=7, answer=1000), [("notation", about, {"text": "axb"}, fault)]) == 1
    with register_sample():
        space["test_notation_sample_drop_label_stands"]()
    told = capsys.readouterr().out
    assert "1,007 inputs tried (notation 7, answer 1,000): 1 faults" in told
    assert written in told


def test_a_run_ends_in_time_and_counts(capfd: pytest.CaptureFixture[str]) -> None:
    assert main(["--seconds", "1", "--cores", "1", "--seed", "3"]) == 0
    told = capfd.readouterr().out
    assert told.startswith("seed 3: 1 s on 1 cores\n")
    assert told.endswith("): no faults\n")


@pytest.mark.parametrize("option", ["--seconds", "--cores", "--seed"])
@pytest.mark.parametrize("text", ["0", "-1", "1000001", "a"])
def test_a_run_that_would_try_nothing_is_refused(option: str, text: str) -> None:
    with pytest.raises(SystemExit) as ended:
        main([option, text])
    assert ended.value.code == 2


def test_a_minute_of_it_is_in_the_gate() -> None:
    assert ("fuzz", "build_scripts.fuzz", "--seconds", "60") in CHECKS
    assert make_parser().parse_known_args(["fuzz", "--seconds", "9"])[1] == ["--seconds", "9"]
