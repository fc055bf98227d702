"""A result as one JSON-ready object: SI numbers, unrounded, with stable names for scripts."""

from collections.abc import Iterable, Mapping
from typing import Any

from calculators.forms.calculator import Calculator
from calculators.forms.fields import Input, QuantityInput
from calculators.forms.rows import RowsInput
from calculators.notation.gauge import Gauge
from calculators.notation.showing import GAP
from calculators.notation.units import KINDS
from calculators.results.result import Cell, LateTable, Result, Table


def render_json(calculator: Calculator, texts: Mapping[str, str], result: Result) -> dict[str, object]:
    """Return the object that `--json` prints and scripts read: nothing but str, float, int, list and dict."""
    told: dict[str, object] = {
        "calculator": calculator.slug,
        "inputs": _list_inputs(calculator.inputs, texts, calculator.read(texts)),
        "answer": result.answer.write(),
        "outputs": {
            item.name: {"value": result.outputs[item.name], "unit": _name_unit(item.kind)}
            for item in calculator.outputs
        },
        "tables": {table.name: _list_rows(table) for table in result.tables},
        "findings": [
            {"level": finding.level, "code": finding.code, "text": finding.text.write()}
            | ({"apply": dict(finding.apply)} if finding.apply else {})
            for finding in result.findings
        ],
        "readings": [
            {
                "label": reading.label,
                "probes": reading.probes,
                "battery": reading.battery,
                "expected": reading.expected.value,
                "low": reading.low.value,
                "high": reading.high.value,
                "unit": _name_unit(reading.expected.kind),
            }
            for reading in result.readings
        ],
        "working": [
            {
                "label": step.label,
                "formula": step.formula,
                "figures": step.figures.write(),
                "outcome": step.outcome.write(),
            }
            for step in result.working
        ],
        "sources": [{"title": source.title, "place": source.place} for source in calculator.sources],
    }
    return {name: _use_plain_spaces(part) for name, part in told.items()}


def _list_inputs(
    fields: Iterable[Input[Any]], texts: Mapping[str, str], values: Mapping[str, object]
) -> dict[str, object]:
    listed: dict[str, object] = {}
    for item in fields:
        value = values[item.name]
        text = texts.get(item.name, item.default)
        entry: dict[str, object] = {"text": text}
        if isinstance(item, QuantityInput):
            entry |= {"value": value, "unit": _name_unit(item.kind)}
        elif isinstance(item, RowsInput):
            entry["rows"] = _list_given_rows(item, text, values[item.name])
        elif isinstance(value, Gauge):
            entry |= {"value": value.area, "unit": "m2"}
        elif isinstance(value, (bool, int, str)):
            entry |= {"value": value, "unit": ""}
        listed[item.name] = entry
    return listed


def _list_given_rows(item: RowsInput[Any], text: str, records: Any) -> list[dict[str, object]]:
    """Return the rows of a table as objects, each of its cells as a field is listed."""
    names = [column.name for column in item.columns]
    cells = item.list_rows(text)
    return [
        _list_inputs(item.columns, dict(zip(names, row, strict=True)), values)
        for row, values in zip(cells, item.list_values(records or ()), strict=True)
    ]


def _list_rows(table: Table | LateTable) -> list[dict[str, Cell]]:
    names = [column.name for column in table.columns]
    rows: list[dict[str, Cell]] = [dict(zip(names, row, strict=True)) for row in table.rows]
    for row, mark in zip(rows, table.marks, strict=False):
        row["mark"] = mark
    return rows


def _name_unit(kind: str) -> str:
    return "" if kind == "text" else KINDS[kind].si


def _use_plain_spaces(part: object) -> object:
    """Return the same with plain spaces in every text: scripts compare and split what pages keep together."""
    match part:
        case str():
            return part.replace(GAP, " ")
        case list():
            return [_use_plain_spaces(item) for item in part]
        case dict():
            return {name: _use_plain_spaces(item) for name, item in part.items()}
        case _:
            return part
