"""HTML, JSON and text of a result: everything escaped, well formed, complete, in both systems."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from html.parser import HTMLParser
from urllib.parse import parse_qs, urlsplit

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calculators import find_calculator, list_calculators
from calculators.forms.calculator import Output
from calculators.forms.fields import ChoiceInput, TextInput, YesNoInput
from calculators.forms.rows import RowsInput
from calculators.notation.errors import InputErrors
from calculators.notation.showing import say
from calculators.presentation.as_html import (
    render_block,
    render_brief,
    render_form,
    render_link,
    render_parts,
    render_result,
)
from calculators.presentation.as_json import render_json
from calculators.presentation.as_text import render_help, render_list, render_text, write_cell, write_output
from calculators.results.result import Column, Finding, Table
from tests.calculators.guide import load_example
from tests.calculators.rows_sample import ROWS_SAMPLE
from tests.calculators.sample import HOSTILE, HOSTILE_SAMPLE, SAMPLE

VOID = {"input", "br", "img"}
TAGS = {
    *("section", "p", "strong", "a", "form", "div", "label", "span", "input", "select", "option", "textarea"),
    *("details", "summary", "button", "noscript", "code", "dl", "dt", "dd", "ul", "ol", "li", "figure", "br"),
    *("figcaption", "svg", "text", "table", "thead", "tbody", "tr", "th", "td"),
}


class Page(HTMLParser):
    """Reads a fragment strictly: every tag closed in its turn, every attribute once."""

    def __init__(self, html: str) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.words: list[str] = []
        self.feed(html)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        assert len(attrs) == len(dict(attrs)), f"<{tag}> has an attribute twice"
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.words.append(data)

    def find(self, **wanted: str) -> list[tuple[str, dict[str, str | None]]]:
        names = {name.replace("_", "-").removesuffix("-"): value for name, value in wanted.items()}
        return [
            (tag, had)
            for tag, had in self.tags
            if all(had.get(name) == value for name, value in names.items())
        ]


def check_harmless(html: str) -> Page:
    page = Page(html)
    assert {tag for tag, _ in page.tags} <= TAGS
    for tag, attributes in page.tags:
        assert not [name for name in attributes if name.startswith("on")], (tag, attributes)
        assert (attributes.get("href") or "#").startswith(("#", "?"))
        assert "src" not in attributes
        assert "style" not in attributes
    return page


def test_a_block_is_well_formed_and_complete() -> None:
    page = check_harmless(render_block(SAMPLE, {"current": "3 A"}, "c-lead", "Lead to the shell"))
    assert page.open == []
    ((_, section),) = page.find(class_="sl-block")
    assert (section["id"], section["data-calculator"], section["aria-label"]) == (
        "c-lead",
        "sample-drop",
        "Lead to the shell",
    )
    assert [had["data-field"] for _, had in page.tags if "data-field" in had] == [
        item.name for item in sorted(SAMPLE.inputs, key=lambda item: item.section)
    ]
    assert [had["data-output"] for _, had in page.tags if "data-output" in had] == [
        item.name for item in SAMPLE.outputs
    ]
    ((_, current),) = page.find(id="c-lead-current")
    assert (current["value"], current["inputmode"], "readonly" in current) == ("3 A", "decimal", True)
    labels = {had["for"] for tag, had in page.tags if tag == "label"}
    assert labels == {had["id"] for tag, had in page.tags if tag in ("input", "select", "textarea")}
    controls = [had for tag, had in page.tags if tag in ("input", "select", "textarea")]
    described = {name for had in controls for name in str(had["aria-describedby"]).split()}
    assert len(described) == 2 * len(controls)
    assert described <= {had["id"] for _, had in page.tags if "id" in had}
    ids = [had["id"] for _, had in page.tags if "id" in had]
    assert len(ids) == len(set(ids))
    words = " ".join(page.words)
    for part in (
        "Made up.",
        "A made-up handbook, table 1",
        "Not a real wire.",
        "Scripts are off",
        "Stop: 1 to mend",
    ):
        assert part in words


def test_what_is_allowed_is_marked_apart_from_the_help() -> None:
    html = render_form(SAMPLE, {}, "a")
    assert (
        '<p class="sl-about" id="a-current-about">Continuous. '
        '<span class="sl-allowed">Allowed: more than 0\u00a0A, at most 100\u00a0A.</span></p>'
    ) in html
    assert '<p class="sl-about" id="a-metal-about"></p>' in html


def test_nothing_hostile_survives_in_a_block() -> None:
    texts = {"label": HOSTILE, "metal": HOSTILE}
    html = render_block(HOSTILE_SAMPLE, texts, "c-x", HOSTILE)
    assert "<img" not in html.lower()
    assert "<script" not in html.lower()
    assert "</script" not in html.lower()
    page = check_harmless(html)
    # Escaped once and only once: the reader sees just what was written.
    words = "".join(page.words)
    assert words.count(HOSTILE) > 30
    assert "&amp;amp;" not in html.replace("&amp;amp;{x}", "")
    ((_, section),) = page.find(class_="sl-block")
    assert section["aria-label"] == HOSTILE
    assert [had["value"] for _, had in page.find(value=HOSTILE)] == [HOSTILE]


def test_a_hostile_anchor_stays_an_attribute() -> None:
    page = check_harmless(render_block(SAMPLE, {}, 'x" onload="alert(1)', "Lead"))
    ((_, section),) = page.find(class_="sl-block")
    assert section["id"] == 'x" onload="alert(1)'


@settings(max_examples=150)
@given(st.text(max_size=40), st.text(max_size=40))
def test_no_text_breaks_out_of_a_block(text: str, caption: str) -> None:
    try:
        html = render_block(SAMPLE, {"label": text}, "c-x", caption)
    except InputErrors:
        return
    check_harmless(html)


@settings(max_examples=100)
@given(
    st.dictionaries(
        st.sampled_from(sorted(SAMPLE.fields)),
        st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=20),
        max_size=4,
    )
)
def test_a_link_carries_every_figure(texts: dict[str, str]) -> None:
    parts = urlsplit(render_link("c-x", texts))
    assert parts.fragment == "c-x"
    assert parse_qs(parts.query, keep_blank_values=True) == {
        f"c-x.{name}": [text] for name, text in texts.items()
    }


def test_fields_are_filled_with_the_articles_texts_and_the_defaults() -> None:
    page = Page(render_form(SAMPLE, {"metal": "TIN PLATE", "tinned": "y", "length": '3"'}, "a"))
    chosen = [had["value"] for tag, had in page.tags if tag == "option" and "selected" in had]
    assert chosen == ["tin plate", "yes"]
    ((_, length),) = page.find(id="a-length")
    assert length["value"] == '3"'
    ((_, current),) = page.find(id="a-current")
    assert current["value"] == "2 A"


def test_an_optional_choice_left_empty_chooses_nothing() -> None:
    choice = ChoiceInput(name="metal", label="Metal", options=("copper", "tin"), optional=True)
    answer = YesNoInput(name="tinned", label="Tinned", optional=True)
    both = replace(SAMPLE, inputs=(choice, answer))
    options = [had for tag, had in Page(render_form(both, {}, "a")).tags if tag == "option"]
    assert [(had["value"], "selected" in had) for had in options] == [
        ("", True),
        ("copper", False),
        ("tin", False),
        ("", True),
        ("yes", False),
        ("no", False),
    ]


def test_keys_offer_the_units_of_the_field() -> None:
    page = Page(render_form(SAMPLE, {}, "a"))
    units = [had["data-unit"] for _, had in page.tags if "data-unit" in had]
    assert units[:3] == ["A", "mA", "µA"]
    assert {"AWG", "mm²", "in", "ft", "°F"} <= set(units)


def test_a_result_follows_the_readers_system() -> None:
    result = SAMPLE.run({"length": "1 ft"})
    metric, imperial = (render_result(SAMPLE, result, system) for system in ("metric", "imperial"))
    assert "305\u00a0mm" in metric
    assert "305\u00a0mm" not in imperial
    assert "1.00\u00a0ft" in imperial
    assert "77.0\u00a0°F" in imperial
    assert "<dt>Nothing</dt><dd>–</dd>" in metric


@pytest.mark.parametrize(
    ("levels", "words"),
    [
        ((), "Holds"),
        (("note",), "Holds"),
        (("caution",), "Caution: 1 to look at"),
        (("stop", "stop"), "Stop: 2 to mend"),
    ],
)
def test_the_verdict_is_said_in_words_and_with_a_sign(levels: tuple[str, ...], words: str) -> None:
    result = SAMPLE.run({})
    stop = next(finding for finding in result.findings if finding.level == "stop")
    changed = replace(result, findings=tuple(replace(stop, level=level) for level in levels))  # type: ignore[arg-type]
    html = render_result(SAMPLE, changed)
    verdict = re.search(r'<p class="sl-verdict[^>]*><span aria-hidden="true">(.)</span> ([^<]*)</p>', html)
    assert verdict is not None
    assert verdict[2] == words
    assert verdict[1] in "✓!✕"


def test_the_brief_has_the_verdict_and_the_main_figures_in_the_readers_system() -> None:
    result = SAMPLE.run({"length": "1 ft"})
    page = Page(render_brief(SAMPLE, result, "imperial"))
    words = "".join(page.words)
    assert words.startswith("✕ Stop: ")
    for item in SAMPLE.outputs:
        shown = f"{item.label} {write_output(item, result.outputs[item.name], 'imperial')}"
        assert (shown in words) == item.main
    # Only the verdict is told of at once: figures change with every digit.
    ((tag, had),) = page.find(role="status")
    assert (tag, had["class"]) == ("strong", "sl-stop")


def test_pairs_of_numbers_are_not_torn_apart() -> None:
    crossing = find_calculator("pin-order")
    html = render_result(crossing, crossing.run({"from_pins": "data, ground", "to_pins": "ground, data"}))
    assert "1\u20112, 2\u20111" in html
    assert not re.search(r">[^<]*\d-\d[^<]*</dd>", html)


def test_a_sentence_stands_below_its_row() -> None:
    long = "A reason that takes more than the sixty letters that a cell of a table has room for."
    column = Column("because", "Because", "text")
    result = SAMPLE.run({})
    first = result.tables[0]
    assert isinstance(first, Table)
    rows = tuple((*row, long if place else "short") for place, row in enumerate(first.rows))
    table = replace(first, columns=(*first.columns, column), rows=rows)
    html = render_result(SAMPLE, replace(result, tables=(table,)))
    width = len(first.columns) + 1  # and the mark
    below = f'<td class="sl-long" colspan="{width}"><div><strong>Because:</strong> '
    assert html.count(below) == len(rows)
    assert f"{below}{long}</div></td>" in html
    assert '<th scope="col">Because' not in html
    assert html.count("sl-explained") == len(rows)


def test_closed_folds_are_left_empty_and_nothing_else_changes() -> None:
    result = SAMPLE.run({})
    whole = render_parts(SAMPLE, result)
    assert "".join(str(part) for part in whole.values()) == render_result(SAMPLE, result)
    folds = [name for name, part in whole.items() if part and part.startswith("<details")]
    assert {"readings", "working", "table-sizes", "provenance"} <= set(folds)
    for closed in ([], ["working"], folds):
        told = render_parts(SAMPLE, result, closed=closed)
        assert list(told) == list(whole)
        for name, part in told.items():
            if name in ("cautions", "provenance"):
                assert part is None
            elif name in closed:
                assert [tag for tag, _ in Page(str(part)).tags] == ["details", "summary"]
                assert str(whole[name]).startswith(str(part).removesuffix("</details>"))
            else:
                assert part == whole[name]


def test_rows_are_marked_by_sign_and_word() -> None:
    html = render_result(SAMPLE, SAMPLE.run({}))
    assert '<tr class="sl-chosen">' in html
    assert '<tr class="sl-chosen"><td class="sl-mark">▸ <span>chosen</span></td>' in html
    assert '<td class="sl-number">–</td>' in html


def test_computed_figures_look_alike_and_exact_ones_are_left_as_they_are() -> None:
    assert write_output(Output(name="a", label="A", kind="power"), 9.2, "metric") == "9.20\u00a0W"
    assert write_output(Output(name="a", label="A", kind="current", exact=True), 5.0, "metric") == "5\u00a0A"
    assert write_cell(Column("a", "A", "power"), 9.2, "metric") == "9.20\u00a0W"
    assert write_cell(Column("a", "A", "frequency", exact=True), 60.0, "metric") == "60\u00a0Hz"
    # What is counted has no figures after the point.
    assert write_cell(Column("a", "A", "number"), 8, "metric") == "8"


def test_json_is_one_valid_object_with_si_units() -> None:
    texts = {"length": "1 ft", "gauge": "22 AWG", "current": "500 mA"}
    told = json.loads(json.dumps(render_json(SAMPLE, texts, SAMPLE.run(texts)), allow_nan=False))
    assert list(told) == [
        "calculator",
        "inputs",
        "answer",
        "outputs",
        "tables",
        "findings",
        "readings",
        "working",
        "sources",
    ]
    assert told["outputs"]["distance"] == {"value": 0.3048, "unit": "m"}
    assert told["outputs"]["drop"] == {"value": 0.5 * 0.3048 * 0.05 / 2, "unit": "V"}
    assert told["outputs"]["share"]["unit"] == "1"
    assert told["outputs"]["percent"]["unit"] == "%"
    assert told["outputs"]["per_km"] == {"value": 50.0, "unit": "ohm/km"}
    assert told["outputs"]["temperature"] == {"value": 25.0, "unit": "degC"}
    assert told["outputs"]["words"] == {"value": "flank", "unit": ""}
    assert told["outputs"]["nothing"] == {"value": None, "unit": "W"}
    assert told["inputs"]["current"] == {"text": "500 mA", "value": 0.5, "unit": "A"}
    assert told["inputs"]["gauge"]["unit"] == "m2"
    assert told["inputs"]["tinned"] == {"text": "no", "value": False, "unit": ""}
    assert told["tables"] == {
        "sizes": [
            {"size": "22 AWG", "loss": told["outputs"]["drop"]["value"], "mark": "chosen"},
            {"size": "none", "loss": None, "mark": ""},
        ]
    }
    assert told["findings"][0]["level"] == "stop"
    assert set(told["readings"][0]) == {"label", "probes", "battery", "expected", "low", "high", "unit"}
    assert told["working"][0]["formula"] == "U = I · l"
    assert told["sources"] == [{"title": "A made-up handbook", "place": "table 1"}]
    assert "\u00a0" not in json.dumps(told, ensure_ascii=False)


def test_json_has_plain_spaces_wherever_a_text_stands() -> None:
    texts = {"label": "left\u00a0flank"}
    told = render_json(SAMPLE, texts, SAMPLE.run(texts))
    assert told["outputs"]["words"]["value"] == "left flank"  # type: ignore[index]
    assert told["tables"]["sizes"][0]["size"] == "left flank"  # type: ignore[index]
    for calculator in list_calculators():
        everything = render_json(calculator, {}, calculator.run({}))
        assert "\u00a0" not in json.dumps(everything, ensure_ascii=False)


def test_text_for_people_holds_all_of_it_without_special_spaces() -> None:
    texts = {"length": "1 ft", "current": "2 A"}
    text = render_text(SAMPLE, texts, SAMPLE.run(texts))
    assert "\u00a0" not in text
    for part in (
        "Sample drop",
        "Length   1 ft",
        "305 mm",
        "Does not hold as it stands:",
        "[STOP]",
        "[note] flank",
        "Working",
        "U = I · l",
        "What a meter should show",
        "battery off; one probe at either end",
        "- Not a real wire.",
        "- Made up.",
        "- A made-up handbook, table 1",
        "chosen",
    ):
        assert part in text
    assert "1 ft (passes" not in text
    assert "1 ft" in render_text(SAMPLE, {}, SAMPLE.run({"length": "0.3048"}), "imperial")


def test_help_is_written_from_the_declarations() -> None:
    text = render_help(SAMPLE, "python -m calculators")
    for item in SAMPLE.inputs:
        assert f"  {item.name}  (" in text
        assert item.describe_allowed().replace("\u00a0", " ") in " ".join(text.split())
    for outcome in SAMPLE.outputs:
        assert outcome.name in text
    assert "may be left out" in text
    assert "\nMore\n" in text
    assert "sample-drop" in render_list([SAMPLE], "python -m calculators")


def test_json_lists_rows_as_objects_with_si_values() -> None:
    texts = {"lamps": "Bow; 0,5 A; ; red; 2 ft"}
    told = json.loads(json.dumps(render_json(ROWS_SAMPLE, texts, ROWS_SAMPLE.run(texts))))
    assert told["inputs"]["lamps"] == {
        "text": texts["lamps"],
        "rows": [
            {
                "place": {"text": "Bow", "value": "Bow", "unit": ""},
                "current": {"text": "0,5 A", "value": 0.5, "unit": "A"},
                "count": {"text": "", "value": 1, "unit": ""},
                "colour": {"text": "red", "value": "red", "unit": ""},
                "length": {"text": "2 ft", "value": 2 * 0.3048, "unit": "m"},
            }
        ],
    }


def test_text_for_people_lists_rows_below_their_label() -> None:
    texts = {"lamps": "Bow, 0.5\nStern, 1 A, 2, , 3 m"}
    lines = render_text(ROWS_SAMPLE, texts, ROWS_SAMPLE.run(texts)).split("\n")
    place = lines.index("Lamps")
    assert [line.split() for line in lines[place + 1 : place + 6]] == [
        ["Place", "Current", "Strings", "Colour", "Lead"],
        ["-----", "-------", "-------", "------", "----"],
        ["Bow", "0.5", "A", "1", "warm"],
        ["Stern", "1", "A", "2", "warm", "3", "m"],
        [],
    ]


def test_a_table_is_there_to_be_read_and_its_text_is_the_field() -> None:
    text = "# fore and aft\nBow; 0,5 A\nStern; 1 A; 2; cold; 3 m"
    html = render_block(ROWS_SAMPLE, {"lamps": text}, "c-deck", "Deck")
    page = check_harmless(html)
    ((_, field),) = page.find(**{"data-field": "lamps"})
    assert field["class"] == "sl-field sl-listed"
    assert "data-table" in field
    shown = re.findall(r'<td data-label="(\w+)">([^<]*)</td>', html)
    assert shown == [
        *(("Place", "Bow"), ("Current", "0,5 A"), ("Strings", "1"), ("Colour", "warm"), ("Lead", "")),
        *(("Place", "Stern"), ("Current", "1 A"), ("Strings", "2"), ("Colour", "cold"), ("Lead", "3 m")),
    ]
    ((_, area),) = page.find(name="lamps")
    assert area["id"] == "c-deck-lamps"
    assert f">{text}</textarea>" in html
    # What rows are made of has no name: it is no figure of the form.
    assert len(page.find(**{"data-column": "current"})) == 1
    assert "name" not in page.find(**{"data-column": "current"})[0][1]


def test_nothing_hostile_survives_in_a_table() -> None:
    (item,) = (one for one in ROWS_SAMPLE.inputs if isinstance(one, RowsInput))
    hostile = replace(ROWS_SAMPLE, inputs=(ROWS_SAMPLE.inputs[0], replace(item, label=HOSTILE, help=HOSTILE)))
    page = check_harmless(
        render_block(hostile, {"lamps": item.write_rows([(HOSTILE, "1 A")])}, "c-x", HOSTILE)
    )
    assert "".join(page.words).count(HOSTILE) > 4


@pytest.mark.parametrize(("number", "folded"), [(10, False), (11, True)])
def test_more_than_ten_more_figures_are_folded_away(number: int, folded: bool) -> None:
    names = ["drop", *(f"more_{place}" for place in range(number))]
    outputs = tuple(Output(name=name, label=name, kind="voltage", main=name == "drop") for name in names)
    result = replace(SAMPLE.run({}), outputs=dict.fromkeys(names, 1.0))
    html = render_result(replace(SAMPLE, outputs=outputs), result)
    assert (f"{number} more figures" in html) == folded


@pytest.mark.parametrize(("number", "shown"), [(12, True), (13, False)])
def test_a_first_table_of_up_to_twelve_rows_is_open(number: int, shown: bool) -> None:
    table = Table("rows", "Rows", (Column("a", "A"),), (("one",),) * number)
    (fold,) = Page(render_parts(SAMPLE, replace(SAMPLE.run({}), tables=(table,)))["table-rows"] or "").find()[
        :1
    ]
    assert ("open" in fold[1]) == shown


@pytest.mark.parametrize(("length", "rows"), [(160, []), (161, ["2"])])
def test_a_field_for_more_than_160_letters_has_two_lines(length: int, rows: list[str]) -> None:
    inputs = tuple(replace(item, longest=length) for item in SAMPLE.inputs if isinstance(item, TextInput))
    page = Page(render_form(replace(SAMPLE, inputs=inputs), {}, "c-one"))
    assert [had["rows"] for tag, had in page.tags if tag == "textarea"] == rows


@pytest.mark.parametrize(("length", "below"), [(60, False), (61, True)])
def test_a_cell_of_more_than_60_letters_stands_below_its_row(length: int, below: bool) -> None:
    table = Table("rows", "Rows", (Column("a", "A"), Column("b", "B")), (("one", "x" * length),))
    html = render_parts(SAMPLE, replace(SAMPLE.run({}), tables=(table,)))["table-rows"] or ""
    assert ("colspan" in html) == below


def test_a_remedy_of_several_findings_is_offered_once() -> None:

    def make_finding(index: int, rating: str) -> Finding:
        return Finding(
            "stop", f"code-{index}", say("Too much."), lambda: ({"rating": rating},), lambda _: True
        )

    findings = tuple(make_finding(index, rating) for index, rating in enumerate(("1 A", "1 A", "2 A")))
    calculator = load_example()
    html = render_result(calculator, replace(calculator.run({}), findings=findings))
    assert re.findall(r'data-code="([^"]*)".*?(?:Put in: ([^<]*)</button>)?</li>', html) == [
        ("code-0", "Rated current 1 A"),
        ("code-1", ""),
        ("code-2", "Rated current 2 A"),
    ]
