"""A result as text for a terminal, and the help that is written from the declarations."""

import textwrap
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from calculators.forms.calculator import Calculator, Output
from calculators.forms.fields import Input
from calculators.forms.rows import RowsInput
from calculators.notation.showing import GAP, write_quantity
from calculators.notation.units import System
from calculators.results.result import Cell, Column, LateTable, Result, Table

_LEVELS = {"stop": "STOP", "caution": "CAUTION", "note": "note"}
_WIDTH = 88


def render_text(
    calculator: Calculator, texts: Mapping[str, str], result: Result, system: System = "metric"
) -> str:
    """Return the whole result as lines for people, outcome first and sources last."""
    parts = [calculator.title, "", *_wrap(result.answer.write(system), ""), ""]
    parts += [*_write_pairs(_list_entries(calculator, texts)), ""]
    for item in calculator.inputs:
        if isinstance(item, RowsInput) and (text := texts.get(item.name, item.default)).strip():
            parts += [item.label, *_write_given_rows(item, text), ""]
    parts += _write_pairs(
        (item.label, write_output(item, result.outputs[item.name], system)) for item in calculator.outputs
    )
    parts += ["", "Holds: no stop and no caution." if result.holds else "Does not hold as it stands:"]
    for finding in result.findings:
        parts += _wrap(f"[{_LEVELS[finding.level]}] {finding.text.write(system)}", "  ")
        if finding.apply:
            mended = " ".join(f'{name}="{text}"' for name, text in finding.apply.items())
            parts.append(f"      mended with {mended}")
    for table in result.tables:
        parts += ["", table.caption, *_write_table(table, system)]
    if result.working:
        parts += ["", "Working"]
        for step in result.working:
            parts += _wrap(f"{step.label}: {step.formula}", "  ")
            parts += _wrap(step.figures.write(system), "      ")
            parts += _wrap(f"= {step.outcome.write(system)}", "      ")
    if result.readings:
        parts += ["", "What a meter should show"]
        for reading in result.readings:
            low, high = reading.low.write(system), reading.high.write(system)
            expected = reading.expected.write(system)
            parts += _wrap(f"{reading.label}: {expected} (passes from {low} to {high})", "  ")
            parts += _wrap(f"battery {reading.battery}; {reading.probes}", "      ")
    for heading, lines in (("Cautions", calculator.cautions), ("Limits", calculator.limits)):
        if lines:
            parts += ["", heading, *(row for line in lines for row in _wrap(f"- {line}", "  "))]
    parts += ["", "Sources"]
    for source in calculator.sources:
        parts += _wrap(f"- {source.title}" + (f", {source.place}" if source.place else ""), "  ")
    return "\n".join(parts).replace(GAP, " ")


def render_help(calculator: Calculator, command: str) -> str:
    """Return the help of one calculator: what it does, every field with its default and what is allowed."""
    first = calculator.inputs[0]
    parts = [
        f"{calculator.title}",
        *_wrap(calculator.summary, ""),
        "",
        f"usage: {command} {calculator.slug} [name=value …] [--imperial] [--json]",
        f'for example: {command} {calculator.slug} {first.name}="{first.default}"',
    ]
    section = None
    for item in calculator.inputs:
        if item.section != section:
            section = item.section
            parts += ["", section or "Fields"]
        parts += _describe_input(item)
    parts += ["", "Outcomes", *_write_pairs((item.name, item.label) for item in calculator.outputs)]
    return "\n".join(parts).replace(GAP, " ")


def render_list(calculators: Iterable[Calculator], command: str) -> str:
    """Return the list of all calculators for the terminal."""
    lines = ["The calculators:", ""]
    for calculator in calculators:
        lines.append(f"  {calculator.slug}")
        lines += _wrap(calculator.summary, "      ")
    lines += [
        "",
        f"usage: {command} SLUG [name=value …] [--imperial] [--json]",
        f"       {command} SLUG --help",
    ]
    return "\n".join(lines)


def write_output(item: Output, value: Cell, system: System) -> str:
    """Return one outcome as text; a dash where it does not apply."""
    return _write_cell(value, item, system)


def write_cell(column: Column, value: Cell, system: System) -> str:
    """Return one cell of a table as text; a dash where it does not apply."""
    return _write_cell(value, column, system)


def _write_cell(value: Cell, shown: Output | Column, system: System) -> str:
    if value is None:
        return "–"
    if shown.kind == "text" or isinstance(value, str):
        return str(value)
    padded = not shown.exact and not isinstance(value, int)
    return write_quantity(value, shown.kind, system, shown.figures, padded=padded)


def _list_entries(calculator: Calculator, texts: Mapping[str, str]) -> list[tuple[str, str]]:
    entries = [
        (item.label, item.name_given(texts.get(item.name, item.default)))
        for item in calculator.inputs
        if not isinstance(item, RowsInput)
    ]
    return [(label, text) for label, text in entries if text.strip()]


def _describe_input(item: Input[Any]) -> list[str]:
    default = f"default {item.default}" if item.default else "may be left out" if item.optional else "needed"
    words = ". ".join(part.rstrip(".") for part in (item.label, item.help) if part)
    if not isinstance(item, RowsInput):
        lines = [f"  {item.name}  ({default})"]
        return lines + _wrap(f"{words}. Allowed: {item.describe_allowed()}.", "      ")
    lines = [f"  {item.name}  (rows; from a file: {item.name}=@rows.csv, from standard input: {item.name}=-)"]
    lines += _wrap(f"{words}. Allowed: {item.describe_allowed()}.", "      ")
    if item.default:
        lines += ["      The default:", *(f"        {line}" for line in item.default.split("\n"))]
    return lines + [f"    {line}" for column in item.columns for line in _describe_input(column)]


def _write_pairs(pairs: Iterable[tuple[str, str]]) -> list[str]:
    listed = list(pairs)
    width = min(40, max((len(label) for label, _ in listed), default=0))
    return [f"  {label:<{width}}  {words}" for label, words in listed]


def _write_table(table: Table | LateTable, system: System) -> list[str]:
    head = [column.label for column in table.columns]
    rows = [
        [write_cell(column, cell, system) for column, cell in zip(table.columns, row, strict=True)]
        for row in table.rows
    ]
    if any(table.marks):
        head.append("")
        rows = [[*row, mark] for row, mark in zip(rows, table.marks, strict=True)]
    return _rule(head, rows)


def _write_given_rows(item: RowsInput[Any], text: str) -> list[str]:
    """Return the cells as they were given, where nothing was with the column's default."""
    rows = [
        [
            column.name_given(cell if cell or column.optional else column.default)
            for column, cell in zip(item.columns, row, strict=True)
        ]
        for row in item.list_rows(text)
    ]
    return _rule([column.label for column in item.columns], rows)


def _rule(head: Sequence[str], rows: Sequence[Sequence[str]]) -> list[str]:
    widths = [max(len(row[index]) for row in [head, *rows]) for index in range(len(head))]
    ruled = [head, ["-" * width for width in widths], *rows]
    return [
        "  " + "  ".join(f"{cell:<{width}}" for cell, width in zip(row, widths, strict=True)).rstrip()
        for row in ruled
    ]


def _wrap(words: str, indent: str) -> list[str]:
    return textwrap.wrap(
        words, _WIDTH, initial_indent=indent, subsequent_indent=indent + "  ", break_on_hyphens=False
    )
