"""Published cases: read from a calculator's published.toml, computed, compared, written into its page.

A file holds groups of rows. A group names its `source`, what it is a figure `of` (an output of the
calculator, or one of the quantities that the calculator's test defines), its `unit`, and what is `given` in
every row. A row adds what is given in it alone, as texts of fields or of the quantity's arguments, and the
figure as `printed`, kept as a text: half a unit of its last place is the tolerance, unless group or row
states another `within` and why (`because`). A `misprint` says what is wrong with a printed figure, and
`instead` is the right one. A source that answers in words of its own has them in `printed`, and the
calculator's in `means`.

Beside them stand rules that rival: what several sources say to the same question, and which one `decides`.
"""

import tomllib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from calculators.forms.calculator import Calculator
from calculators.notation.units import find_kinds, find_unit

HEADING = "## Published cases"
"""What stands below it, to the page's end, is written by the tests."""

COMMAND = "python3 build_scripts/handbook.py test -- tests/calculators -k published --write-tables"
_INTRODUCTION = (
    "With these you can check a copy of the calculator. Each row is what somebody else printed, and what the "
    "calculator makes of the same input; the tests compute them all. Fields that are not named keep what the "
    "form begins with. A row without a source goes on with the one above it."
)
_OF_FIGURES = "A figure has to agree to half a unit of its last printed place."
_OF_MEASURES = "Where it says *within*, it has to agree to that, for the reason given."
_OF_WORDS = "Where a source answers in words, the calculator has to come to what they mean."
_ROW_KEYS = ("printed", "within", "because", "misprint", "instead", "means")

type Answer = float | str | None
type Quantity = Callable[..., Answer]


@dataclass(frozen=True)
class Case:
    """One published figure and the way to compute it."""

    source: str
    """Who printed it, what it is a figure of, and what holds for all rows of its group."""

    given: Mapping[str, str]
    shared: Mapping[str, str]
    compute: Callable[[Mapping[str, str]], Answer]
    unit: str
    factor: float
    printed: str
    within: str
    misprint: str
    instead: str
    means: str
    remark: str

    def __str__(self) -> str:
        return f"{self.source}: {_write_inputs(self.given)}: {self.printed}"

    def find_ours(self) -> float | str:
        """Return the calculator's figure in the printed unit, or its word."""
        found = self.compute({**self.given, **self.shared})
        assert found is not None, f"{self}: there is no such figure"
        return found if isinstance(found, str) else found / self.factor

    def find_tolerance(self, printed: str) -> float:
        """Return by how much a figure may differ from this printed one."""
        if self.within.endswith("%"):
            return float(self.within[:-1]) / 100 * abs(float(printed))
        return float(self.within) if self.within else 0.5 * 10.0 ** -_count_decimals(printed)

    def check(self) -> None:
        """Compare; a misprint must not be met, but what should stand in its place."""
        ours = self.find_ours()
        if isinstance(ours, str):
            assert ours == (self.means or self.printed), str(self)
            return
        target = self.instead or self.printed
        # What floating point leaves of a figure that lies on the very edge.
        allowed = self.find_tolerance(target) * (1 + 1e-9) + 1e-12
        assert abs(ours - float(target)) <= allowed, f"{self}: {ours!r} is not {target} within {allowed:g}"
        if self.misprint:
            missed = abs(ours - float(self.printed))
            assert missed > self.find_tolerance(self.printed), (
                f"{self}: {ours!r} is no other than the misprint"
            )

    def list_cells(self) -> list[str]:
        """Return the case as a row of the page's table."""
        ours = self.find_ours()
        inputs = _write_inputs(self.given)
        if isinstance(ours, str):
            return [self.source, inputs, self.printed, ours, "none", self.remark]
        places = _count_decimals(self.printed) + 2
        difference = f"{ours - float(self.printed):+.{places}f}".replace("-", "−")
        if float(difference.replace("−", "-")) == 0:
            difference = "0"
        published = f"{self.printed.replace('-', '−')} {self.unit}".strip()
        return [
            *(self.source, inputs, published),
            *(f"{ours:.{places}f}".replace("-", "−"), difference, self.remark),
        ]


@dataclass(frozen=True)
class Rivals:
    """What several sources say to one question; `rows` hold the question's figure, then each rule's."""

    title: str
    text: str
    columns: tuple[str, ...]
    unit: str
    decides: str
    rows: tuple[tuple[str, ...], ...]
    compute: Quantity

    def find_ours(self, row: Sequence[str]) -> float:
        """Return what the calculator does there, in the rules' unit."""
        found = self.compute(row[0])
        assert isinstance(found, float)
        return found / _find_factor(self.unit, None)

    def list_deciding(self, row: Sequence[str]) -> list[str]:
        """Return the rules that decide in this row: the one that is named, or all that print the least."""
        said = {rule: text for rule, text in zip(self.columns[1:], row[1:], strict=True) if text}
        if self.decides != "least":
            return [self.decides]
        least = min(map(float, said.values()))
        return [rule for rule, text in said.items() if float(text) == least]

    def check(self) -> None:
        """Compare what the calculator does with the rules that are said to decide."""
        assert len(self.columns) > 2
        assert self.decides in ("least", *self.columns[1:])
        for row in self.rows:
            said = dict(zip(self.columns, row, strict=True))
            for rule in self.list_deciding(row):
                assert self.find_ours(row) == pytest.approx(float(said[rule]), rel=1e-9), (self.title, row)

    def write(self) -> str:
        """Return the table with its heading."""
        lines = [[*self.columns, "This calculator", "Decides"]]
        for row in self.rows:
            told = [f"{text} {self.unit}" if text else "" for text in row[1:]]
            deciding = ", ".join(self.list_deciding(row))
            lines.append([row[0], *told, f"{self.find_ours(row):.10g} {self.unit}", deciding])
        return f"### {self.title}\n\n{self.text}\n\n{_write_table(lines)}"


@dataclass(frozen=True)
class Published:
    """All that is published for one calculator, and the page that ends with it."""

    calculator: Calculator
    cases: tuple[Case, ...]
    rivals: tuple[Rivals, ...]
    page: Path

    def write_introduction(self) -> str:
        """Say how the table is read; only of what is in it."""
        told = {_OF_FIGURES if isinstance(case.find_ours(), float) else _OF_WORDS for case in self.cases}
        if any(case.within for case in self.cases):
            told.add(_OF_MEASURES)
        return " ".join(
            [_INTRODUCTION, *(each for each in (_OF_FIGURES, _OF_MEASURES, _OF_WORDS) if each in told)]
        )

    def write_page(self) -> str:
        """Return the page as it should be: what stands above the heading, and the tables."""
        above, found, _ = self.page.read_text("utf-8").partition(f"\n{HEADING}\n")
        assert found, f"{self.page.name} has no “{HEADING}”; give it one as its last heading"
        rows = [case.list_cells() for case in self.cases]
        for above_it, row in reversed([*pairwise(rows)]):
            row[0] = "" if row[0] == above_it[0] else row[0]
        table = [["Source", "Inputs", "Published", "Here", "Difference", "Remark"], *rows]
        if not any(row[-1] for row in rows):
            table = [row[:-1] for row in table]
        parts = [
            above.rstrip("\n"),
            HEADING,
            self.write_introduction(),
            _write_table(table),
            *(one.write() for one in self.rivals),
        ]
        return "\n\n".join(parts) + "\n"

    def check_page(self, config: pytest.Config) -> None:
        """Compare the page with its rows; with --write-tables, write it."""
        wanted = self.write_page()
        if config.getoption("--write-tables"):
            self.page.write_text(wanted, "utf-8", newline="\n")
        assert self.page.read_text("utf-8") == wanted, (
            f"the tables of {self.page.name} are not those of published.toml; write them with\n    {COMMAND}"
        )


def read_published(
    calculator: Calculator, file: Path, page: Path, quantities: Mapping[str, Quantity] | None = None
) -> Published:
    """Read a calculator's published.toml; `quantities` are what its groups name besides outputs.

    A quantity takes what is given as texts, by name, and returns its figure in SI units.
    """
    named = quantities or {}
    told = tomllib.loads(file.read_text("utf-8"))
    cases = [_read_case(calculator, named, group, row) for group in told["group"] for row in group["rows"]]
    rivals = [
        Rivals(
            **{name: one[name] for name in ("title", "text", "unit", "decides")},
            columns=tuple(one["columns"]),
            rows=tuple(map(tuple, one["rows"])),
            compute=named[one["of"]],
        )
        for one in told.get("rivals", ())
    ]
    return Published(calculator, tuple(cases), tuple(rivals), page)


def _read_case(
    calculator: Calculator, named: Mapping[str, Quantity], group: Mapping[str, Any], row: Mapping[str, str]
) -> Case:
    name = group["of"]
    output = next((output for output in calculator.outputs if output.name == name), None)
    unit, shared = group.get("unit", ""), group.get("given", {})
    given = {key: text for key, text in row.items() if key not in _ROW_KEYS}
    if len(group["rows"]) == 1:
        given, shared = given | shared, {}

    def compute(texts: Mapping[str, str]) -> Answer:
        return calculator.run(texts).outputs[name] if output else named[name](**texts)

    words = {key: row.get(key, group.get(key, "")) for key in _ROW_KEYS}
    if words["within"] and not words["because"]:
        raise ValueError(f"{group['source']}: a tolerance of its own needs a reason (because)")
    if bool(words["misprint"]) != bool(words["instead"]):
        raise ValueError(f"{group['source']}: a misprint needs what should stand there (instead)")
    figure = output.label if output else name
    told = [
        group["source"],
        f"{figure}, with {_write_inputs(shared)}" if shared else figure,
        _write_measure(group),
    ]
    remarks = [f"misprint: {words['misprint']}" if words["misprint"] else "", _write_measure(row)]
    return Case(
        source=". ".join(filter(None, told)),
        given=given,
        shared=shared,
        compute=compute,
        unit=unit,
        factor=_find_factor(unit, output.kind if output else None),
        remark="; ".join(filter(None, remarks)),
        **{key: text for key, text in words.items() if key != "because"},
    )


def _write_inputs(texts: Mapping[str, str]) -> str:
    return "; ".join(f"{name} = {text}" if text else f"{name} empty" for name, text in texts.items())


def _write_measure(told: Mapping[str, str]) -> str:
    return f"*within* {told['within']}: {told['because']}" if "within" in told else ""


def _find_factor(unit: str, kind: str | None) -> float:
    """Return how much of the SI unit one of these is; a k before a unit that has none is a thousand."""
    if not unit:
        return 1.0
    for spelling, times in ((unit, 1.0), (unit.removeprefix("k"), 1000.0)):
        kinds = [kind] if kind else find_kinds(spelling)
        for one in kinds:
            if found := find_unit(one, spelling):
                return found.factor * times
    raise ValueError(f"“{unit}” is not a unit{f' of {kind}' if kind else ''}")


def _count_decimals(printed: str) -> int:
    return len(printed.partition(".")[2])


def _write_table(rows: Sequence[Sequence[str]]) -> str:
    head, *others = [[cell.replace("|", "\\|") for cell in row] for row in rows]
    lines = [head, ["---"] * len(head), *others]
    return "\n".join(f"| {' | '.join(line)} |" for line in lines)
