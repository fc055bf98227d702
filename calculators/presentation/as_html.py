"""A calculator on a page: its form and its result as HTML fragments, everything in them escaped here.

The same functions write the built page and, in the reader's browser, every later result, so that there
is no second renderer to keep in step. Class names begin with `sl-`; the script finds fields by `data-field`.
"""

import json
import re
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from functools import cache, partial
from typing import Any
from urllib.parse import urlencode

from calculators.forms.calculator import Calculator, Output
from calculators.forms.fields import (
    ChoiceInput,
    GaugeInput,
    Input,
    QuantityInput,
    TextInput,
    WholeInput,
    YesNoInput,
)
from calculators.forms.rows import RowsInput
from calculators.notation.showing import Figure, Phrase
from calculators.notation.units import System, list_units
from calculators.presentation.as_text import write_cell, write_output
from calculators.results.escaping import escape
from calculators.results.result import (
    FieldTexts,
    Finding,
    Late,
    LateTable,
    Picture,
    Reading,
    Result,
    Step,
    Table,
)

_VERDICTS = {"stop": ("✕", "Stop"), "caution": ("!", "Caution"), "note": ("i", "Note")}
_MARKS = {"chosen": "▸", "stop": "✕", "caution": "!"}
_PLAIN = 'autocapitalize="off" autocorrect="off" spellcheck="false" readonly'
_ROW_ACTS = (
    '<button type="button" data-row="up" data-says="Move row # up">↑</button>'
    '<button type="button" data-row="down" data-says="Move row # down">↓</button>'
    '<button type="button" data-row="copy" data-says="Copy row #">Copy</button>'
    '<button type="button" data-row="remove" data-says="Remove row #">✕</button>'
)
_TABLE_ACTS = (
    '<button type="button" data-row="add">Add a row</button>'
    '<button type="button" data-row="open">Open CSV</button>'
    '<button type="button" data-row="save">Save as CSV</button>'
    '<button type="button" data-row="undo" hidden>Undo</button>'
)
_NO_READING = "No reading tells sound work from a fault here."
_LONG_TEXT = 160
_MANY_OUTPUTS = 10
_LONG_CELL = 60
_LONG_TABLE = 12
"""More rows than these are folded away at first, so that the next thing stays within a thumb's reach."""
_WITHIN_NUMBERS = re.compile(r"(?<=\d)-(?=\d)")
"""The hyphen of “2-1”, which must not be torn apart at the end of a line."""


def render_block(calculator: Calculator, texts: Mapping[str, str], anchor: str, caption: str) -> str:
    """Return form and result for a built page; raises InputErrors for texts that cannot be used.

    `texts` are the article's own figures, `anchor` the block's id, `caption` its heading.
    """
    result = calculator.run(texts)
    return (
        f'<section class="sl-block" id="{escape(anchor)}" data-calculator="{calculator.slug}" '
        f'aria-label="{escape(caption)}">'
        f'<p class="sl-caption"><strong>{escape(caption)}</strong> '
        f'<a class="sl-link" href="{escape(render_link(anchor, texts))}">link to these figures</a></p>'
        f"{render_form(calculator, texts, anchor, render_brief(calculator, result))}"
        '<p class="sl-status" role="status" data-search-exclude>Computed when this page was built.</p>'
        '<noscript><p class="sl-noscript">Scripts are off, so the result below stays as it was built. Allow '
        "scripts on this page to compute with your own figures, or at a terminal type "
        f"<code>python3 build_scripts/handbook.py compute {calculator.slug} --help</code>.</p></noscript>"
        f'<div class="sl-result">{render_result(calculator, result)}</div></section>\n'
    )


def render_link(anchor: str, texts: Mapping[str, str]) -> str:
    """Return the relative address that opens this block with these figures."""
    query = urlencode({f"{anchor}.{name}": text for name, text in texts.items()})
    return f"?{query}#{anchor}" if query else f"#{anchor}"


def render_brief(calculator: Calculator, result: Result, system: System = "metric") -> str:
    """Return verdict and main figures in two lines, which stay in sight while fields below are typed into.

    Of the two, assistive technology is told of the verdict as soon as it changes.
    """
    level, words = _find_verdict(result)
    figures = " · ".join(
        f'<span class="sl-name">{escape(item.label)} </span>'
        f"{_escape_text(write_output(item, result.outputs[item.name], system))}"
        for item in calculator.outputs
        if item.main
    )
    return (
        f'<p class="sl-brief"><strong class="sl-{level}" role="status">{words}</strong>'
        f"<span>{figures}</span></p>"
    )


def render_form(calculator: Calculator, texts: Mapping[str, str], anchor: str, brief: str = "") -> str:
    """Return the form, with `texts` over the defaults; fields are read-only until the script takes over.

    `brief` is what render_brief writes of the result that belongs to it.
    """
    sections: dict[str, list[str]] = {}
    for item in calculator.inputs:
        sections.setdefault(item.section, []).append(
            _render_field(item, texts.get(item.name, item.default), anchor)
        )
    parts = [f'<div class="sl-fields">{"".join(sections.pop("", []))}</div>']
    for heading, fields in sections.items():
        parts.append(
            f'<details class="sl-more" data-key="{escape(heading)}"><summary>{escape(heading)}</summary>'
            f'<div class="sl-fields">{"".join(fields)}</div></details>'
        )
    return (
        f'<form class="sl-form" autocomplete="off" novalidate data-search-exclude>{brief}{"".join(parts)}'
        '<p class="sl-tools" hidden><button type="reset">Reset</button>'
        '<button type="button" data-do="units"></button>'
        '<button type="button" data-do="link">Copy link</button>'
        '<button type="button" data-do="text">Copy as text</button>'
        '<button type="button" data-do="print">Print a bench card</button></p></form>'
    )


def render_result(calculator: Calculator, result: Result, system: System = "metric") -> str:
    """Return the result in this system of units, outcome first and sources last."""
    return "".join(filter(None, render_parts(calculator, result, system).values()))


def render_parts(
    calculator: Calculator, result: Result, system: System = "metric", closed: Collection[str] | None = None
) -> dict[str, str | None]:
    """Return the result's parts by name, one element each, in their order on the page.

    `closed` names the folds that somebody who has read all of it keeps closed: their bodies are left out,
    and parts that no figure changes are None. By default everything is written.
    """
    answer = f'<p class="sl-answer">{_write(result.answer, system)}</p>'
    parts: dict[str, str | None] = {"verdict": _render_verdict(result), "answer": answer}

    def add_fold(key: str, heading: str, write: Callable[[], str], shown: str = "") -> None:
        body = "" if closed is not None and key in closed else write()
        parts[key] = (
            f'<details class="sl-fold" data-key="{key}"{shown}><summary>{heading}</summary>{body}</details>'
        )

    rest = [item for item in calculator.outputs if not item.main]
    parts["main"] = _render_outputs(
        [item for item in calculator.outputs if item.main], result, system, " sl-main"
    )
    if len(rest) > _MANY_OUTPUTS:
        add_fold("outputs", f"{len(rest)} more figures", lambda: _render_outputs(rest, result, system))
    elif rest:
        parts["outputs"] = _render_outputs(rest, result, system)
    # Notes are folded away: what has to be mended must not drown in what is good to know.
    pressing = [finding for finding in result.findings if finding.level != "note"]
    notes = [finding for finding in result.findings if finding.level == "note"]
    # An empty list keeps its place: an element more in a result makes a browser look at all of it anew.
    # Remedies are tried for whoever pauses over the answer; every one of them computes the case once more.
    offered = calculator if closed is None else None
    parts["findings"] = _list_findings(pressing, system, offered)
    if notes:
        heading = f"{len(notes)} notes" if len(notes) > 1 else "1 note"
        add_fold("notes", heading, lambda: _list_findings(notes, system))
    for picture in result.pictures:
        parts[f"picture-{picture.name}"] = _render_picture(picture, system)
    for index, table in enumerate(result.tables):
        shown = " open" if not index and len(table.rows) <= _LONG_TABLE else ""
        add_fold(
            f"table-{escape(table.name)}", escape(table.caption), partial(_render_table, table, system), shown
        )
    # What is found late must not be counted: that would find it.
    if isinstance(result.readings, Late) or result.readings:
        add_fold("readings", "What a meter should show", lambda: _list_readings(result.readings, system))
    if isinstance(result.working, Late) or result.working:
        add_fold("working", "Working, step by step", lambda: _list_steps(result.working, system))
    for name, text in _render_standing(calculator).items():
        parts[name] = text if closed is None else None
    return parts


def _render_field(item: Input[Any], text: str, anchor: str) -> str:
    if isinstance(item, RowsInput):
        return _render_rows_field(item, text, anchor)
    name = f"{anchor}-{item.name}"
    told = f"{escape(name)}-error {escape(name)}-about"
    named = f'id="{escape(name)}" name="{item.name}" aria-describedby="{told}"'
    # A list of choices shows what is allowed by itself.
    allowed = "" if isinstance(item, (ChoiceInput, YesNoInput)) else item.describe_allowed()
    about = [escape(item.help)] if item.help else []
    if allowed:
        about.append(f'<span class="sl-allowed">Allowed: {escape(allowed)}.</span>')
    # The script gives a bare number the unit that is shown; one in a link from a fence has the field's own.
    shown = item.find_unit(text)
    own = f' data-unit="{escape(item.unit)}"' if shown != item.unit else ""
    return (
        f'<div class="sl-field" data-field="{item.name}"{own}>'
        f'<label for="{escape(name)}">{escape(item.label)}</label>'
        f'<span class="sl-entry">{_render_entry(item, text, named)}{_render_unit(shown)}</span>'
        f"{_render_keys(item)}"
        f'<p class="sl-error" id="{escape(name)}-error" role="alert" hidden></p>'
        f'<p class="sl-about" id="{escape(name)}-about">{" ".join(about)}</p></div>'
    )


def _render_rows_field(item: RowsInput[Any], text: str, anchor: str) -> str:
    """Return a table to read, the row that browser/rows.js makes others of, and the text: it is the field."""
    name = escape(f"{anchor}-{item.name}")
    head = "".join(
        f'<th scope="col">{escape(column.label)}{_render_unit(column.unit)}</th>' for column in item.columns
    )
    rows = "".join(
        f'<tr><th scope="row">{number}</th>{_list_given_cells(item, cells)}</tr>'
        for number, cells in enumerate(item.list_rows(text), 1)
    )
    former = escape(json.dumps(dict(item.former)))
    pattern = "".join(
        f"<td{_label_cell(column)}>{_render_cell_entry(column, name)}</td>" for column in item.columns
    )
    return (
        f'<div class="sl-field sl-listed" data-field="{item.name}" data-table data-former="{former}">'
        f'<p class="sl-label" id="{name}-label">{escape(item.label)}</p>'
        f'<div class="sl-given"><table class="sl-cells" aria-labelledby="{name}-label">'
        f'<thead><tr><th scope="col"><span class="sl-unseen">Row</span></th>{head}'
        '<td><span class="sl-unseen">Change the row</span></td></tr></thead>'
        f'<tbody hidden><tr><th scope="row"></th>{pattern}<td class="sl-acts">{_ROW_ACTS}</td></tr></tbody>'
        f"<tbody>{rows}</tbody></table></div>"
        f'<p class="sl-table-acts" hidden>{_TABLE_ACTS}<span class="sl-said" role="status"></span></p>'
        f'<p class="sl-error" id="{name}-error" role="alert" hidden></p>'
        f'<p class="sl-about">{escape(item.help)}</p>'
        f'<details class="sl-as-text"><summary>{escape(item.label)} as text</summary><span class="sl-entry">'
        f'<textarea id="{name}" name="{item.name}" aria-label="{escape(item.label)} as text" '
        f'aria-describedby="{name}-error {name}-about" {_PLAIN} rows="6">{escape(text)}</textarea></span>'
        f'<p class="sl-about" id="{name}-about">Allowed: {escape(item.describe_allowed())}.</p>'
        "</details></div>"
    )


def _list_given_cells(item: RowsInput[Any], cells: Sequence[str]) -> str:
    return "".join(
        f"<td{_label_cell(column)}>{escape(cell if cell or column.optional else column.default)}</td>"
        for column, cell in zip(item.columns, cells, strict=True)
    )


def _label_cell(column: Input[Any]) -> str:
    # On a phone each cell stands below its own label, a long text across the card.
    wide = ' data-wide="yes"' if _is_long_text(column) else ""
    return f' data-label="{escape(column.label)}"{wide}'


def _render_cell_entry(column: Input[Any], name: str) -> str:
    named = f'data-column="{column.name}" data-label="{escape(column.label)}" aria-describedby="{name}-error"'
    if isinstance(column, (YesNoInput, ChoiceInput)):
        options = column.options if isinstance(column, ChoiceInput) else ("yes", "no")
        return f'<span class="sl-entry">{_render_choice(("", *options), "", named, column.default)}</span>'
    keypad = "numeric" if isinstance(column, WholeInput) else "text"
    return (
        f'<span class="sl-entry"><input type="text" {named} {_PLAIN} inputmode="{keypad}" '
        f'placeholder="{escape(column.default)}">{_render_unit(column.unit)}</span>'
    )


def _render_unit(unit: str) -> str:
    return f'<span class="sl-unit">{escape(unit)}</span>' if unit else ""


def _render_entry(item: Input[Any], text: str, named: str) -> str:
    if isinstance(item, (YesNoInput, ChoiceInput)):
        value = item.read(text)
        chosen = "" if value is None else str(value)
        options = item.options if isinstance(item, ChoiceInput) else ("yes", "no")
        if isinstance(value, bool):
            chosen = "yes" if value else "no"
        return _render_choice(("", *options) if item.optional else options, chosen, named)
    if _is_long_text(item):
        return f'<textarea {named} {_PLAIN} rows="2">{escape(text)}</textarea>'
    keypad = (
        "numeric"
        if isinstance(item, WholeInput)
        else "decimal"
        if isinstance(item, QuantityInput)
        else "text"
    )
    return f'<input type="text" {named} {_PLAIN} inputmode="{keypad}" value="{escape(text)}">'


def _is_long_text(item: Input[Any]) -> bool:
    return isinstance(item, TextInput) and item.longest > _LONG_TEXT


def _render_choice(options: Iterable[str], chosen: str, named: str, default: str = "") -> str:
    """Return a list of choices; the empty one is shown as the `default` that it stands for."""
    rows = "".join(
        f'<option value="{escape(option)}"{" selected" if option == chosen else ""}>'
        f"{escape(option or default)}</option>"
        for option in options
    )
    return f"<select {named} disabled>{rows}</select>"


def _render_keys(item: Input[Any]) -> str:
    # A number keypad has no letters: these keys add the unit, and "abc" opens the full keyboard.
    if isinstance(item, QuantityInput):
        return _render_unit_keys(list_units(item.kind))
    return _render_unit_keys(("AWG", "mm²")) if isinstance(item, GaugeInput) else ""


@cache
def _render_unit_keys(units: tuple[str, ...]) -> str:
    keys = "".join(
        f'<button type="button" tabindex="-1" data-unit="{escape(unit)}">{escape(unit)}</button>'
        for unit in units
        if unit
    )
    full = '<button type="button" tabindex="-1" data-do="letters">abc</button>'
    return f'<span class="sl-keys" hidden>{keys}{full}</span>'


def _render_verdict(result: Result) -> str:
    level, words = _find_verdict(result)
    return f'<p class="sl-verdict sl-{level}">{words}</p>'


def _find_verdict(result: Result) -> tuple[str, str]:
    """Return the level and the words, with their sign, as HTML."""
    stops = sum(finding.level == "stop" for finding in result.findings)
    cautions = sum(finding.level == "caution" for finding in result.findings)
    if not stops + cautions:
        return "holds", '<span aria-hidden="true">✓</span> Holds'
    counts = [f"{stops} to mend"] * bool(stops) + [f"{cautions} to look at"] * bool(cautions)
    level = "stop" if stops else "caution"
    sign, word = _VERDICTS[level]
    return level, f'<span aria-hidden="true">{sign}</span> {word}: {", ".join(counts)}'


def _render_outputs(items: Iterable[Output], result: Result, system: System, also: str = "") -> str:
    rows = "".join(
        f'<div data-output="{item.name}"><dt>{escape(item.label)}</dt>'
        f"<dd>{_escape_text(write_output(item, result.outputs[item.name], system))}</dd></div>"
        for item in items
    )
    return f'<dl class="sl-outputs{also}">{rows}</dl>'


def _list_findings(findings: Sequence[Finding], system: System, offered: Calculator | None = None) -> str:
    """Return the findings, with their remedies if they are `offered` for the fields of a calculator.

    What mends several of them is offered with the first.
    """
    remedies = [_render_remedy(offered, finding.apply) if offered else "" for finding in findings]
    rows = "".join(
        f'<li class="sl-finding sl-{finding.level}" data-code="{escape(finding.code)}">'
        f'<strong><span aria-hidden="true">{_VERDICTS[finding.level][0]}</span> '
        f"{_VERDICTS[finding.level][1]}.</strong> {_write(finding.text, system)}"
        f"{remedies[index] if remedies.index(remedies[index]) == index else ''}</li>"
        for index, finding in enumerate(findings)
    )
    return f'<ul class="sl-findings"{"" if rows else " hidden"}>{rows}</ul>'


def _render_remedy(calculator: Calculator, apply: FieldTexts) -> str:
    """Return the button that puts a remedy into the fields; nothing where there is none."""
    if not apply:
        return ""
    named = (
        item.label if isinstance(item := calculator.fields[name], RowsInput) else f"{item.label} {text}"
        for name, text in apply.items()
    )
    told = escape(json.dumps(dict(apply), ensure_ascii=False))
    words = escape(", ".join(named))
    return f'<button type="button" class="sl-apply" data-apply="{told}">Put in: {words}</button>'


def _render_picture(picture: Picture, system: System) -> str:
    described = _write(picture.description, system)
    return (
        f'<figure class="sl-picture" data-picture="{escape(picture.name)}">'
        f'<div role="img" aria-label="{described}">'
        f"{picture.draw(system)}</div><figcaption>{escape(picture.title)}</figcaption></figure>"
    )


def _render_table(table: Table | LateTable, system: System) -> str:
    marked = any(table.marks)
    texts = [
        [write_cell(column, cell, system) for column, cell in zip(table.columns, row, strict=True)]
        for row in table.rows
    ]
    # Sentences stand below their row, as wide as the page: beside it a phone would not show them.
    below = [
        index
        for index, column in enumerate(table.columns)
        if column.kind == "text" and any(len(row[index]) > _LONG_CELL for row in texts)
    ]
    beside = [index for index in range(len(table.columns)) if index not in below]
    styles = ["" if column.kind == "text" else ' class="sl-number"' for column in table.columns]
    state_head = '<th scope="col"><span class="sl-unseen">State</span></th>' if marked else ""
    head = "".join(
        f'<th scope="col"{styles[index]}>{escape(table.columns[index].label)}</th>' for index in beside
    )
    rows = []
    for index, row in enumerate(texts):
        mark = table.marks[index] if marked else ""
        kinds = [f"sl-{mark}"] * bool(mark) + ["sl-explained"] * bool(below)
        # First, because a phone shows the beginning of a row.
        sign = f"{_MARKS[mark]} <span>{mark}</span>" if mark else ""
        state = f'<td class="sl-mark">{sign}</td>' if marked else ""
        cells = "".join(f"<td{styles[column]}>{escape(row[column])}</td>" for column in beside)
        rows.append(f"<tr{_write_class(kinds)}>{state}{cells}</tr>")
        rows += [
            f'<tr{_write_class(kinds[:-1])}><td class="sl-long" colspan="{marked + len(beside)}">'
            f"<div><strong>{escape(table.columns[column].label)}:</strong> {escape(row[column])}</div>"
            "</td></tr>"
            for column in below
        ]
    return (
        f'<div class="sl-table" tabindex="0" role="region" aria-label="{escape(table.caption)}">'
        f'<table class="sl-rows"><thead><tr>{state_head}{head}</tr></thead>'
        f"<tbody>{''.join(rows)}</tbody></table></div>"
    )


def _write_class(names: Sequence[str]) -> str:
    return f' class="{" ".join(names)}"' if names else ""


def _list_readings(readings: Iterable[Reading], system: System) -> str:
    rows = "".join(
        f"<li><strong>{escape(reading.label)}</strong>: {_write(reading.expected, system)} "
        f"(passes from {_write(reading.low, system)} to {_write(reading.high, system)}). "
        f"Battery <strong>{reading.battery}</strong>; {escape(reading.probes)}</li>"
        for reading in readings
    )
    return f'<ol class="sl-readings">{rows}</ol>' if rows else f"<p>{_NO_READING}</p>"


def _list_steps(steps: Iterable[Step], system: System) -> str:
    rows = "".join(
        f"<li><strong>{escape(step.label)}</strong><br><code>{escape(step.formula)}</code><br>"
        f"{_write(step.figures, system)}<br>= <strong>{_write(step.outcome, system)}</strong></li>"
        for step in steps
    )
    return f'<ol class="sl-working">{rows}</ol>'


@cache
def _render_standing(calculator: Calculator) -> Mapping[str, str]:
    """Return what no figure changes: cautions, limits and sources."""
    parts = {}
    if calculator.cautions:
        parts["cautions"] = (
            '<div class="sl-cautions"><p><strong>Take care</strong></p>'
            f"<ul>{_list_lines(calculator.cautions)}</ul></div>"
        )
    sources = (
        f"{source.title}, {source.place}" if source.place else source.title for source in calculator.sources
    )
    parts["provenance"] = (
        '<details class="sl-fold" data-key="provenance"><summary>Limits and sources</summary>'
        f"<p>This holds within these limits:</p><ul>{_list_lines(calculator.limits)}</ul>"
        f"<p>Sources:</p><ul>{_list_lines(sources)}</ul></details>"
    )
    return parts


def _list_lines(lines: Iterable[str]) -> str:
    return "".join(f"<li>{escape(line)}</li>" for line in lines)


def _write(words: Phrase | Figure, system: System) -> str:
    return _escape_text(words.write(system))


def _escape_text(text: str) -> str:
    return _WITHIN_NUMBERS.sub("\u2011", escape(text))
