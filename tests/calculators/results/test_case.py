"""Texts name their figures by path and unit; one that is wrong is found before a reader sees it."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from importlib import import_module

import pytest

from calculators import SLUGS
from calculators.notation.errors import NotFiniteError
from calculators.notation.units import Ohm, Volt
from calculators.results.case import (
    About,
    FindingRule,
    Listed,
    ReadingRule,
    Remedy,
    Span,
    StepRule,
    Within,
    Wording,
    Words,
    fill,
    find_findings,
    find_value,
    has_stop,
    list_readings,
    list_steps,
)
from tests.calculators.guide import load_module
from tests.calculators.templates import find_wrong_places


@dataclass(frozen=True)
class Wire:
    name: str
    loop: Ohm
    strands: tuple[Ohm, ...] = ()
    spares: tuple[str, ...] = ()


@dataclass(frozen=True)
class Solved:
    drop: Volt
    count: int
    wires: tuple[Wire, ...]
    spare: Wire | None = None
    reading: Span | None = None

    @property
    def half(self) -> Volt:
        return self.drop / 2


CASE = Solved(1.2, 2, (Wire("red", 0.5), Wire("black", 0.25)))


def test_places_are_filled_by_path_and_unit() -> None:
    assert (
        fill("{count} wires lose {drop:V}, each {half:V}", CASE).write()
        == "2 wires lose 1.2\u00a0V, each 600\u00a0mV"
    )
    assert fill("{half:V,1}", Solved(1.234, 1, ())).write() == "617\u00a0mV"
    assert fill("no place", CASE).write() == "no place"
    assert fill("{each.name}", CASE, CASE.wires[0]).write() == "red"


def test_words_are_chosen_and_listed() -> None:
    words: Words[Solved] = {
        "much": (Wording("much, {drop:V}", lambda case: case.drop > 1), Wording("little")),
        "names": Listed("wires", "{each.name} {each.loop:ohm}", " and "),
    }
    text = "{much}: {names}"
    assert fill(text, CASE, words=words).write() == "much, 1.2\u00a0V: red 500\u00a0mΩ and black 250\u00a0mΩ"
    assert fill("{much}", Solved(0.5, 1, ()), words=words).write() == "little"
    assert fill("{names}.", Solved(0.5, 1, ()), words=words).write() == "."


def test_an_item_stands_for_itself_and_has_words_of_its_own() -> None:
    case = Solved(1.2, 2, (Wire("red", 0.5, (1.0, 1.0)), Wire("black", 0.25)))
    sort: Words[Wire] = {"sort": (Wording("fine", lambda wire: bool(wire.strands)), Wording("solid"))}
    words: Words[Solved] = {
        "wires": Listed("wires", "{wire}", " + "),
        "wire": Within("each", "{sort} {name}", sort),
        "strands": Listed("each.strands", "{each:ohm}", " || "),
    }
    assert fill("{wires}", case, words=words).write() == "fine red + solid black"
    assert fill("{strands}", case, case.wires[0], words).write() == "1\u00a0Ω || 1\u00a0Ω"


def test_several_words_are_listed_as_in_a_sentence() -> None:
    wire = Wire("red", 0.5, spares=("blue", "grey", "pink"))
    case = Solved(1.2, 1, (wire,), spare=wire)
    assert fill("{spare.spares} are left", case).write() == "blue, grey and pink are left"
    either: Words[Solved] = {"either": Listed("spare.spares", "{each}", " or ")}
    assert fill("{either}", case, words=either).write() == "blue or grey or pink"


@pytest.mark.parametrize(("highest", "stopped"), [(1.0, True), (1.2, False)])
def test_a_stop_counts_where_its_rule_applies(highest: float, stopped: bool) -> None:
    rules = (
        FindingRule[Solved]("caution", "one", ""),
        FindingRule[Solved]("stop", "two", "", when=lambda case: case.drop > highest),
    )
    assert has_stop(rules, CASE) is stopped


def test_a_remedy_leaves_alone_what_its_function_does_not_write() -> None:
    fields: dict[str, str | Callable[[Solved], str | None]] = {
        "drop": "{drop:V}",
        "count": lambda case: str(case.count) if case.count > 2 else None,
    }
    rule = FindingRule[Solved]("stop", "one", "", remedies=(Remedy(fields),))
    for case, told in ((CASE, {"drop": "1.2 V"}), (replace(CASE, count=3), {"drop": "1.2 V", "count": "3"})):
        (finding,) = find_findings((rule,), case)
        assert finding.remedies is not None
        assert list(finding.remedies()) == [told]


def test_something_else_may_stand_before_the_last_of_several() -> None:
    words: Words[Solved] = {"names": Listed("wires", "{each.name}", ", ", last=" and ")}
    for count, told in enumerate(
        ("", "red", "red and black", "red, black and red", "red, black, red and black")
    ):
        wires = (CASE.wires * 2)[:count]
        assert fill("{names}", Solved(1, 1, wires), words=words).write() == told


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("{Each.name} wire", "Red wire"),
        ("{Names} are wires", "Red, black are wires"),
        ("{Plain} too", "So is 1.2\u00a0V too"),
        ("{Nested}", "Red, black"),
        ("{Count} wires", "2 wires"),
        ("{Drop:V} are lost", "1.2\u00a0V are lost"),
    ],
)
def test_a_sentence_may_begin_with_a_place(text: str, told: str) -> None:
    words: Words[Solved] = {
        "names": Listed("wires", "{each.name}"),
        "plain": (Wording("so is {drop:V}"),),
        "nested": (Wording("{names}"),),
    }
    assert fill(text, CASE, CASE.wires[0], words).write() == told


def test_words_and_rules_may_be_about_a_part_of_the_case() -> None:
    size: Words[Wire] = {"size": (Wording("thick", lambda wire: wire.loop < 0.3), Wording("thin"))}
    text, words = "{spare}", {"spare": Within("spare", "{name} is {size}", size)}
    for loop, told in ((0.2, "blue is thick"), (0.3, "blue is thin")):
        assert fill(text, Solved(1, 1, (), Wire("blue", loop)), words=words).write() == told
    thin = FindingRule[Wire](
        "note", "thin", "{name} is {size}", when=lambda wire: wire.loop >= 0.3, words=size
    )
    named = FindingRule[Wire]("note", "named", "{name}")
    rules = (About("wires", (thin, named)), FindingRule[Solved]("note", "all", "{count}"))
    found = [one.text.write() for one in find_findings(rules, CASE)]
    assert found == ["red is thin", "red", "black", "2"]
    spare = About("spare", (named,))
    assert find_findings((spare,), CASE) == ()
    assert len(find_findings((spare,), Solved(1, 1, (), Wire("blue", 1)))) == 1


@pytest.mark.parametrize(
    "text",
    [
        "{nothing}",
        "{drop}",
        "{wires}",
        "{spare.name}",
        "{spare.loop:ohm}",
        "{reading:V}",
        "{each}",
    ],
)
def test_what_is_neither_words_nor_a_figure_is_refused(text: str) -> None:
    with pytest.raises((LookupError, AttributeError)):
        fill(text, CASE)


@pytest.mark.parametrize("path", ["__class__", "wires.__len__", "_half"])
def test_only_the_fields_of_records_are_found(path: str) -> None:
    with pytest.raises((LookupError, AttributeError)):
        find_value(CASE, path)


def test_a_figure_that_is_not_finite_is_refused() -> None:
    with pytest.raises(NotFiniteError):
        fill("{drop:V}", Solved(float("inf"), 1, ()))


def test_a_rule_applies_when_it_says_so_and_for_each_item() -> None:
    rules = (
        FindingRule[Solved]("note", "one", "{drop:V}", when=lambda case: case.drop > 1),
        FindingRule[Solved]("caution", "two", "{each.name} of {count}", each="wires"),
        FindingRule[Solved]("stop", "three", "", when=lambda case: case.drop > 2),
    )
    found = [(one.code, one.text.write()) for one in find_findings(rules, CASE)]
    assert found == [("one", "1.2\u00a0V"), ("two", "red of 2"), ("two", "black of 2")]


def test_only_a_stop_that_applies_stops() -> None:
    caution = FindingRule[Solved]("caution", "one", "")
    stop = FindingRule[Solved]("stop", "two", "", when=lambda case: case.drop > 2)
    each = FindingRule[Solved]("stop", "three", "", each="wires")
    assert not has_stop((caution, stop), CASE)
    assert has_stop((caution, stop), Solved(2.5, 1, ()))
    assert has_stop((each,), CASE)
    assert not has_stop((each,), Solved(1.2, 1, ()))


def test_formula_and_figures_come_from_one_template() -> None:
    rule = StepRule[Solved](
        "Loss of {each.name}", "P = {drop:V|U}² / {each.loop:ohm|R}", "{half:V}", each="wires"
    )
    step = list_steps((rule,), CASE)[0]
    assert (step.label, step.formula, step.outcome.write()) == ("Loss of red", "P = U² / R", "600\u00a0mV")
    assert step.figures.write() == "(1.2\u00a0V)² / 500\u00a0mΩ"
    meant = StepRule[Solved]("Loss", "P = {drop:V|U} · {count|n}, n wires, U each", "{drop:V}")
    step = list_steps((meant,), CASE)[0]
    assert (step.formula, step.figures.write()) == ("P = U · n, n wires, U each", "1.2\u00a0V · 2")
    least = StepRule[Solved]("Least", "I = min({drop:V|U}, {half:V|V}), U is lost", "{half:V}")
    assert list_steps((least,), CASE)[0].figures.write() == "min(1.2\u00a0V, 600\u00a0mV)"
    told = StepRule[Solved]("Loss", "U", "{drop:V}", "as measured")
    assert list_steps((told,), CASE)[0].figures.write() == "as measured"


def test_a_reading_is_left_out_without_its_span() -> None:
    rule = ReadingRule[Solved]("Ends", "across {count}", "off", "reading", "V")
    assert list_readings((rule,), CASE) == ()
    (reading,) = list_readings((rule,), Solved(1, 2, (), reading=Span(1.0, 0.5, 2.0)))
    assert (reading.probes, reading.low.value, reading.expected.value, reading.high.value) == (
        "across 2",
        0.5,
        1.0,
        2.0,
    )
    assert reading.expected.kind == "voltage"


@pytest.mark.parametrize(
    ("rule", "words"),
    [
        (FindingRule("note", "x", "{dorp:V}"), "has no “dorp”"),
        (FindingRule("note", "x", "{drop:A}"), "{drop:A} is none in A"),
        (FindingRule("note", "x", "{drop:V,9}"), "has a bracket that is no place"),
        (FindingRule("note", "x", "{drop}"), "{drop} is no word"),
        (FindingRule("note", "x", "{count:V}"), "{count:V} is none in V"),
        (FindingRule("note", "x", "{each.loop:V}", each="wires"), "{each.loop:V} is none in V"),
        (FindingRule("note", "x", "", each="count"), "holds no items"),
        (FindingRule("note", "x", "{each}", each="wires"), "{each} is no word"),
        (FindingRule("note", "x", "{each.strands}", each="wires"), "{each.strands} is no word"),
        (
            FindingRule("note", "x", "{a}", each="wires", words={"a": Listed("each.strands", "{each:V}")}),
            "{each:V} is none in V",
        ),
        (
            FindingRule("note", "x", "{a}", each="wires", words={"a": Listed("each.loop", "{each:ohm}")}),
            "holds no items",
        ),
        (FindingRule("note", "x", "{a}", words={"a": (Wording("{b}"),)}), "has no “b”"),
        (FindingRule("note", "x", "{a}", words={"a": (Wording("b"), Wording("c"))}), "stands behind"),
        (FindingRule("note", "x", "{a}", words={"a": Listed("wires", "{each.drop:V}")}), "has no “drop”"),
        (FindingRule("note", "x", "{Dorp:V}"), "has no “dorp”"),
        (FindingRule("note", "x", "{a}", words={"a": Within("spare", "{drop:V}", {})}), "has no “drop”"),
        (FindingRule("note", "x", "{a}", words={"a": Within("spar", "", {})}), "has no “spar”"),
        (
            FindingRule(
                "note", "x", "{a}", words={"a": Within("spare", "{b}", {"b": (Wording("{count}"),)})}
            ),
            "has no “count”",
        ),
        (About("wires", (FindingRule("note", "x", "{drop:V}"),)), "has no “drop”"),
        (About("wire", ()), "has no “wire”"),
        (StepRule("x", "U = {drop:V}", "{drop:V}"), "has no letter"),
        (StepRule("x", "U", "{drop:ohm}", "u"), "{drop:ohm} is none in ohm"),
        (ReadingRule("x", "y", "off", "drop", "V"), "“drop” is no span"),
        (ReadingRule("x", "y", "off", "reading", "volt"), "“volt” is no unit"),
        (ReadingRule("x", "{z}", "off", "reading", "V"), "has no “z”"),
    ],
)
def test_a_wrong_path_or_unit_is_found(
    rule: FindingRule[Solved] | StepRule[Solved] | ReadingRule[Solved] | About[FindingRule[Wire]], words: str
) -> None:
    (told,) = find_wrong_places([rule], Solved)
    assert words in told


def test_right_ones_are_let_pass() -> None:
    rules: list[FindingRule[Solved] | ReadingRule[Solved]] = [
        FindingRule[Solved]("note", "x", "{count}, {count:1}, {half:V}, {spare.name}, {spare.loop:ohm}"),
        FindingRule[Solved]("note", "x", "{each.name} {each.loop:ohm} {each.spares}", each="wires"),
        FindingRule[Solved](
            "note", "x", "{a}", each="wires", words={"a": Listed("each.strands", "{each:ohm}")}
        ),
        ReadingRule[Solved]("x", "{count}", "off", "reading", "V"),
    ]
    assert find_wrong_places(rules, Solved) == []


@pytest.mark.parametrize("slug", SLUGS)
def test_every_template_of_the_calculators_names_what_there_is(slug: str) -> None:
    package = f"calculators.{slug.replace('-', '_')}"
    case = import_module(f"{package}.solve").Solved
    told = import_module(f"{package}.findings")
    report = import_module(f"{package}.report")
    assert find_wrong_places([*told.ANSWERS, *told.FINDINGS, *report.WORKING, *report.READINGS], case) == []


def test_the_templates_of_the_guides_calculator_name_what_there_is() -> None:
    module = load_module()
    assert (
        find_wrong_places(
            [*module.ANSWERS, *module.FINDINGS, *module.WORKING, *module.READINGS], module.Solved
        )
        == []
    )
