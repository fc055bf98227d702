"""A table as one field. A row is itself a form, so that cells are read, checked and described as fields are.

The table's text is its value wherever one is kept or handed on. One row is one line, cells in the order of
the columns; a first line may name the columns instead, in any order. Cells stand between tabs (which a
spreadsheet pastes) if the text has any, else between semicolons if it has any, else between commas. A cell
that holds such a sign, as a decimal comma may be one, stands in quotation marks, and a quotation mark in it
twice (RFC 4180). Lines that are empty or begin with # are passed over. An empty cell takes its column's
default.
"""

import difflib
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from typing import Any, NamedTuple

from calculators.forms.fields import Input, Unusual, list_fields
from calculators.notation.errors import CellProblem, InputError

LONGEST_TEXT = 20_000
"""In characters: more than 200 rows need, and what a shared link or a device's memory is believed to hold."""

_TAB, _SEMICOLON, _COMMA = _SEPARATORS = "\t;,"
_LINE_END = re.compile(r"\r\n|\r|\n")
_QUOTED = r' *"(?P<quoted>(?:[^"]|"")*)" *'
_CELLS: Mapping[str, re.Pattern[str]] = {
    sign: re.compile(rf"(?:{_QUOTED}|(?P<bare>[^{sign}]*))(?P<more>{sign}|$)") for sign in _SEPARATORS
}
_QUOTED_CELL = re.compile(rf"(?P<before>^|[{_SEPARATORS}]){_QUOTED}(?=$|[{_SEPARATORS}])")
_NAMES = {_TAB: "tab", _SEMICOLON: "semicolon", _COMMA: "comma"}
_TORN = "a cell that begins with a quotation mark ends with one, in the same line; one within it stands twice"
_KEPT_ROWS = 1024
_TOLD_PROBLEMS = 8
"""More than these are only counted: who has mended so many looks again anyway."""


class _Line(NamedTuple):
    """A line with cells: its position in the text, from 0, and whether its quotation marks do not pair."""

    position: int
    cells: tuple[str, ...]
    torn: bool


class _Outcome(NamedTuple):
    """What became of one row: its record, or a sentence for each column by name."""

    record: Any
    problems: tuple[tuple[str, str], ...]


@dataclass(frozen=True, kw_only=True)
class RowsInput[R](Input[tuple[R, ...]]):
    """Rows of one form; the value is a tuple of its records.

    `row` is the form of one row, a frozen dataclass whose attributes are declared with `ask`; it may
    refuse, with an InputError that names one of them, what its cells let pass one by one. `lowest` and
    `highest` limit the number of rows. `former` names the fields, itself perhaps among them, that a former
    edition of the calculator had for what its rows hold, each with the text that it held by default.
    `rewrite` takes texts of these by name and returns the lines that say the same, none for what no field
    of them held.
    """

    row: Callable[..., R]
    lowest: int = 1
    highest: int = 200
    former: Mapping[str, str] = field(default_factory=dict)
    rewrite: Callable[[Mapping[str, str]], Sequence[str]] | None = None

    def __post_init__(self) -> None:
        """Refuse columns that could be taken for each other, and tables in tables; raises ValueError."""
        names = [word for item in self.columns for word in {_fold(item.name), _fold(item.label)}]
        if len(names) != len(set(names)):
            raise ValueError(f"{self.label}: two columns have the same name or label")
        if any(isinstance(item, RowsInput) for item in self.columns):
            raise ValueError(f"{self.label}: a row cannot hold rows")

    @cached_property
    def columns(self) -> tuple[Input[Any], ...]:
        """The fields of a row, in their order."""
        return list_fields(self.row)

    def read_value(self, text: str) -> tuple[R, ...]:
        """Return the records; raises InputError whose sentences name the rows and columns to mend."""
        rows = self.list_rows(text)
        if not self.lowest <= len(rows) <= self.highest:
            raise self.refuse(text, f"{_count(len(rows), 'row')}; allowed: {self._describe_number()}")
        outcomes = [self._read_row(cells) for cells in rows]
        problems = [
            CellProblem(number, *problem)
            for number, outcome in enumerate(outcomes, 1)
            for problem in outcome.problems
        ]
        if problems:
            raise self.refuse_cells(text, problems)
        return tuple(outcome.record for outcome in outcomes)

    def list_rows(self, text: str) -> list[tuple[str, ...]]:
        """Return the texts of the cells, row by row, as many in each as there are columns.

        Raises InputError for a text that does not fall into rows and columns.
        """
        if len(text) > LONGEST_TEXT:
            raise self.refuse(text, f"this is {len(text)} characters long; allowed: at most {LONGEST_TEXT}")
        if problem := self.spell_out(self._list_former(text)):
            raise self.refuse(text, problem)
        heading, lines = self._split(text)
        order = self._read_heading(text, heading) if heading else [item.name for item in self.columns]
        numbered = list(enumerate(lines, 1))
        sign = _NAMES[_find_separator(text)]
        problems = [CellProblem(number, "", _TORN) for number, line in numbered if line.torn]
        problems += [
            CellProblem(
                number,
                "",
                f"{_count(len(line.cells), 'cell')} for {_count(len(order), 'column')}; a cell that holds "
                f"a {sign} stands in quotation marks",
            )
            for number, line in numbered
            if len(line.cells) > len(order) and not line.torn
        ]
        if problems:
            raise self.refuse_cells(text, sorted(problems))
        given = [dict(zip(order, line.cells, strict=False)) for line in lines]
        return [tuple(cells.get(item.name, "") for item in self.columns) for cells in given]

    def list_values(self, rows: Iterable[R]) -> list[dict[str, Any]]:
        """Return what is in records of rows, by the names of the columns."""
        return [{item.name: getattr(record, item.name) for item in self.columns} for record in rows]

    def list_unusual(self, value: tuple[R, ...] | None) -> list[Unusual]:
        """Return the first figure of each column that is outside its usual range."""
        found: dict[str, Unusual] = {}
        for number, values in enumerate(self.list_values(value or ()), 1):
            for item in self.columns:
                if item.name not in found:
                    for one in item.list_unusual(values[item.name]):
                        label = f"{self.label}, row {number}, {one.label}"
                        found[item.name] = Unusual(label, one.value, one.low, one.high)
        return list(found.values())

    def spell_out(self, texts: Mapping[str, str]) -> str:
        """Return what to write instead of these texts of former fields, by name; "" for any others."""
        lines = self.rewrite(texts) if self.rewrite else ()
        if not lines:
            return ""
        quoted = ", ".join(f"“{line}”" for line in lines)
        return f"this is written in rows of “{self.name}” now, each in a line of its own: {quoted}"

    def find_line(self, text: str, row: int) -> int:
        """Return the position, from 0, of the line of a row: the first row is 1, a heading 0."""
        heading, lines = self._split(text)
        return lines[row - 1].position if row or not heading else heading.position

    def write_rows(self, rows: Iterable[Sequence[str]]) -> str:
        """Return the text that holds these cells, in the order of the columns."""
        listed = [[_LINE_END.sub(" ", cell) for cell in row] for row in rows]
        if listed and self._is_heading(listed[0]):
            listed.insert(0, [item.label for item in self.columns])
        return "\n".join(_write_line(row) for row in listed)

    def complete(self, error: InputError, text: str) -> InputError:
        """Return the refusal of this text for an error that a calculator has raised."""
        return self.refuse_cells(text, error.cells) if error.cells else super().complete(error, text)

    def refuse_cells(self, text: str, problems: Sequence[CellProblem]) -> InputError:
        """Return the refusal that says of each of these cells what is wrong."""
        labels = {item.name: item.label for item in self.columns}
        told = []
        for row, column, problem in problems[:_TOLD_PROBLEMS]:
            place = f"row {row}" if row else "the line of headings"
            told.append(f"{place}, {labels[column]}: {problem}" if column else f"{place}: {problem}")
        if len(problems) > _TOLD_PROBLEMS:
            told.append(f"and {len(problems) - _TOLD_PROBLEMS} more to mend")
        first, *others = told
        sentences = ". ".join([first, *(words[0].upper() + words[1:] for words in others)])
        return InputError(self.name, sentences, given=text, label=self.label, cells=problems)

    def describe_allowed(self) -> str:
        """Return the number of rows, and how they are written."""
        order = ", ".join(f"[{item.label}]" if _may_be_empty(item) else item.label for item in self.columns)
        return (
            f"{self._describe_number()}, one a line: {order}; what is in brackets may be left empty. Cells "
            "stand between tabs if the text has any, else between semicolons if it has any, else between "
            "commas; a cell that holds such a sign stands in quotation marks"
        )

    def _list_former(self, text: str) -> dict[str, str]:
        """Return the texts of former fields by name: a page that had them puts `name = text` in each line."""
        named = (line.partition(" = ") for line in _LINE_END.split(text))
        return {name: words for name, _, words in named if name in self.former} or {self.name: text}

    def _describe_number(self) -> str:
        highest = _count(self.highest, "row")
        return highest if self.lowest == self.highest else f"{self.lowest} to {highest}"

    @cached_property
    def _read_row(self) -> Callable[[tuple[str, ...]], _Outcome]:
        # From one keystroke to the next all rows but one stay as they are.
        return lru_cache(maxsize=_KEPT_ROWS)(self._compute_row)

    def _compute_row(self, cells: tuple[str, ...]) -> _Outcome:
        values: dict[str, object] = {}
        problems: list[tuple[str, str]] = []
        for item, text in zip(self.columns, cells, strict=True):
            try:
                values[item.name] = item.read(text if text.strip() or item.optional else item.default)
            except InputError as error:
                problems.append((item.name, error.problem))
        if not problems:
            try:
                return _Outcome(self.row(**values), ())
            except InputError as error:
                problems.append((error.field, error.problem))
        return _Outcome(None, tuple(problems))

    def _split(self, text: str) -> tuple[_Line | None, list[_Line]]:
        """Return the line of headings, if there is one, and the lines of the rows."""
        cells = _CELLS[_find_separator(text)]
        lines = [
            _split_line(position, line, cells)
            for position, line in enumerate(_LINE_END.split(text))
            if not _is_passed_over(line)
        ]
        if lines and self._is_heading(lines[0].cells):
            return lines[0], lines[1:]
        return None, lines

    def _read_heading(self, text: str, heading: _Line) -> list[str]:
        """Return the names of the columns in the order of the headings; raises InputError."""
        order: list[str] = []
        problems: list[str] = [_TORN] * heading.torn
        for cell in heading.cells:
            name = self._names.get(_fold(cell), "")
            if not cell:
                problems.append("a column has no heading; name it")
            elif not name:
                near = difflib.get_close_matches(_fold(cell), self._names, 1)
                hint = f"did you mean “{near[0]}”? " if near else ""
                allowed = ", ".join(item.label for item in self.columns)
                problems.append(f"“{cell}” is no column; {hint}allowed: {allowed}")
            elif name in order:
                problems.append(f"“{cell}” names a column that is there already; keep one")
            order.append(name)
        missing = [item for item in self.columns if item.name not in order and not _may_be_empty(item)]
        problems += [f"“{item.label}” is missing, which every row needs; add it" for item in missing]
        if problems:
            raise self.refuse_cells(text, [CellProblem(0, "", problem) for problem in problems])
        return order

    def _is_heading(self, cells: Sequence[str]) -> bool:
        """Whether more of these cells than not are names or labels of columns."""
        named = sum(_fold(cell) in self._names for cell in cells)
        return named > sum(bool(cell) for cell in cells) - named

    @cached_property
    def _names(self) -> Mapping[str, str]:
        return {_fold(word): item.name for item in self.columns for word in (item.name, item.label)}


def refuse_cell(field: str, row: int, column: str, problem: str) -> InputError:
    """Return what a calculator raises for one cell, once its rows are read: the first row is 1."""
    return InputError(field, problem, cells=(CellProblem(row, column, problem),))


def _split_line(position: int, line: str, pattern: re.Pattern[str]) -> _Line:
    cells: list[str] = []
    torn, start, more = False, 0, True
    while more:
        found = pattern.match(line, start)
        if found is None:
            raise ValueError("a line without an end")
        bare = found["bare"]
        cells.append(found["quoted"].replace('""', '"') if bare is None else bare.strip())
        torn = torn or (bare is not None and cells[-1].startswith('"'))
        start, more = found.end(), bool(found["more"])
    # Spreadsheets and hands end rows with empty cells.
    while len(cells) > 1 and not cells[-1]:
        cells.pop()
    return _Line(position, tuple(cells), torn)


def _find_separator(text: str) -> str:
    lines = (
        _QUOTED_CELL.sub(r"\g<before>", line) for line in _LINE_END.split(text) if not _is_passed_over(line)
    )
    bare = "\n".join(lines)
    return next((sign for sign in (_TAB, _SEMICOLON) if sign in bare), _COMMA)


def _is_passed_over(line: str) -> bool:
    return not line.strip() or line.lstrip().startswith("#")


def _write_line(cells: Sequence[str]) -> str:
    filled = list(cells)
    while len(filled) > 1 and not filled[-1]:
        filled.pop()
    # A line of nothing would be passed over.
    return ",".join(map(_write_cell, filled)) if filled != [""] else '""'


def _write_cell(cell: str) -> str:
    quoted = cell != cell.strip() or cell.startswith("#") or any(sign in cell for sign in (*_SEPARATORS, '"'))
    return f'"{cell.replace('"', '""')}"' if quoted else cell


def _may_be_empty(item: Input[Any]) -> bool:
    return item.optional or bool(item.default)


def _fold(words: str) -> str:
    return " ".join(words.casefold().split())


def _count(number: int, what: str) -> str:
    return f"{number} {what}" if number == 1 else f"{number} {what}s"
