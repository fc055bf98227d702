"""What a calculator declares: its inputs, its outputs and itself, as one frozen record.

The page's form, the terminal's help, the Markdown fence and the JSON all read it.
"""

import difflib
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache, cached_property, lru_cache
from typing import Any

from calculators.forms.fields import Input, QuantityInput, list_fields
from calculators.forms.rows import RowsInput
from calculators.notation.errors import InputError, InputErrors
from calculators.notation.units import KINDS, find_unit, list_units
from calculators.results.case import (
    AnswerRule,
    FindingRule,
    ReadingRule,
    Rules,
    StepRule,
    find_answer,
    find_findings,
    find_value,
    list_readings,
    list_steps,
)
from calculators.results.result import (
    Cell,
    Late,
    LateTable,
    Picture,
    Result,
    Source,
    Table,
)

_NAME = re.compile(r"[a-z][a-z0-9_]*")
_SLUG = re.compile(r"[a-z]+(-[a-z]+)*")

ENDLESS = "with this figure the sums do not end in a number; give one that is more usual"
"""What is said where limits and checks of a calculator have let through what it cannot compute."""


@dataclass(frozen=True, kw_only=True)
class Output:
    """One outcome: `name` in JSON, `label` for people, `kind` ("text" for words), `figures` shown.

    `path` is where the solved case holds it; without one its attribute has the output's name.
    `main` outcomes are shown large at the top of the result. An `exact` one is a standard size or what was
    entered, such as a 5 A fuse: no noughts are written after it.
    """

    name: str
    label: str
    kind: str
    figures: int = 3
    exact: bool = False
    main: bool = False
    path: str = ""


@dataclass(frozen=True, kw_only=True, eq=False)
class Calculator:
    """One calculator, as registered in `calculators.SLUGS`.

    `compute` is pure: it takes the inputs' values by name and returns a Result whose `outputs` has
    exactly the declared names. `example` is the worked example of the page, as field texts.
    """

    slug: str
    title: str
    summary: str
    inputs: tuple[Input[Any], ...]
    outputs: tuple[Output, ...]
    compute: Callable[..., Result]
    sources: tuple[Source, ...]
    limits: tuple[str, ...]
    example: Mapping[str, str]
    cautions: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        """Refuse a record that would only fail later; raises ValueError that names the calculator."""
        names = [item.name for item in self.inputs] + [item.name for item in self.outputs]
        problems = [f"bad name {name!r}" for name in names if not _NAME.fullmatch(name)]
        for group in (self.inputs, self.outputs):
            seen = [item.name for item in group]
            problems += [f"{name!r} stands twice" for name in sorted({n for n in seen if seen.count(n) > 1})]
        for field in _list_all(self.inputs):
            if not isinstance(field, QuantityInput):
                continue
            if field.kind not in KINDS:
                problems.append(f"unknown kind {field.kind!r}")
            elif find_unit(field.kind, field.unit) is None and (field.unit or list_units(field.kind)):
                problems.append(f"{field.unit!r} of {field.name!r} is not a unit of {field.kind}")
        problems += [
            f"unknown kind {item.kind!r}"
            for item in self.outputs
            if item.kind != "text" and item.kind not in KINDS
        ]
        if not _SLUG.fullmatch(self.slug):
            problems.append("the slug needs small letters and hyphens")
        given = {
            "title": self.title,
            "summary": self.summary,
            "inputs": self.inputs,
            "outputs": self.outputs,
            "sources": self.sources,
            "limits": self.limits,
        }
        problems += [f"no {what}" for what, value in given.items() if not value]
        if problems:
            raise ValueError(f"calculator {self.slug!r}: " + "; ".join(problems))

    @cached_property
    def fields(self) -> Mapping[str, Input[Any]]:
        """The inputs by name, in the form's order."""
        return {item.name: item for item in self.inputs}

    @cached_property
    def _read_field(self) -> Callable[[str, str], object]:
        # From one keystroke to the next all fields but one stay as they are.
        return lru_cache(maxsize=1024)(lambda name, text: self.fields[name].read(text))

    def read(self, texts: Mapping[str, str]) -> dict[str, object]:
        """Return the inputs' values, with defaults for fields not given.

        Raises InputErrors that hold one error for every field that cannot be used, unknown ones included.
        """
        errors = [self._refuse_unknown(name, texts) for name in texts if name not in self.fields]
        values: dict[str, object] = {}
        for name, item in self.fields.items():
            try:
                values[name] = self._read_field(name, texts.get(name, item.default))
            except InputError as error:
                errors.append(error)
        if errors:
            raise InputErrors(errors)
        return values

    def run(self, texts: Mapping[str, str]) -> Result:
        """Read the texts and compute; raises InputErrors for anything the reader has to mend.

        So do the result's late tables and pictures, when they are looked at.
        """
        values = self.read(texts)

        def guard(work: Callable[[], Any]) -> Any:
            try:
                return work()
            except InputError as error:
                item = self.fields[error.field]
                text = texts.get(item.name, item.default)
                raise InputErrors([item.complete(error, text)]) from None
            except (ArithmeticError, ValueError) as error:
                raise self._refuse_endless(texts, values) from error

        # One remedy often mends several findings.
        @cache
        def try_out(fields: frozenset[tuple[str, str]]) -> Result | None:
            try:
                return self.compute(**self.read({**texts, **dict(fields)}))
            except (InputError, InputErrors, ArithmeticError, ValueError):
                return None

        notes = [note for item in self.inputs for note in item.list_unusual(values[item.name])]
        result: Result = guard(lambda: self.compute(**values))
        return result.complete(notes, guard, lambda fields: try_out(frozenset(fields.items())))

    def _refuse_endless(self, texts: Mapping[str, str], values: Mapping[str, object]) -> InputErrors:
        """Return the refusal of figures from which no result of finite numbers comes.

        Fields outside their usual range are named; where there is none, all that are not at their default.
        """
        unusual = [item for item in self.inputs if item.list_unusual(values[item.name])]
        suspects = unusual or [self.fields[name] for name in texts] or [self.inputs[0]]
        return InputErrors(item.refuse(texts.get(item.name, item.default), ENDLESS) for item in suspects)

    def _refuse_unknown(self, name: str, texts: Mapping[str, str]) -> InputError:
        for item in self.inputs:
            if isinstance(item, RowsInput) and name in item.former:
                former = {one: text for one, text in texts.items() if one in item.former}
                first = next(iter(former))
                problem = f"this goes into the same rows as “{first}”"
                return InputError(
                    name, item.spell_out(former) if name == first else problem, given=texts[name]
                )
        near = difflib.get_close_matches(name, self.fields, 1)
        hint = f"did you mean “{near[0]}”? " if near else ""
        allowed = ", ".join(self.fields)
        problem = f"{self.slug} has no field of this name; {hint}allowed: {allowed}"
        return InputError(name, problem, given=texts[name])


def _list_all(inputs: Iterable[Input[Any]]) -> Iterator[Input[Any]]:
    """Yield the fields, and in the place of one that holds rows its columns."""
    for item in inputs:
        yield from item.columns if isinstance(item, RowsInput) else (item,)


def make_calculator[G, S](
    *,
    form: Callable[..., G],
    solve: Callable[[G], S],
    outputs: tuple[Output, ...],
    answers: Rules[AnswerRule[S]],
    findings: Rules[FindingRule[S]],
    working: Rules[StepRule[S]],
    readings: Rules[ReadingRule[S]] = (),
    list_tables: Callable[[S], tuple[Table | LateTable, ...]] | None = None,
    draw_pictures: Callable[[S], tuple[Picture, ...]] | None = None,
    **described: Any,
) -> Calculator:
    """Make a calculator of a form, of what solves it, and of what is said of the solved case.

    Args:
        form: a frozen dataclass of keywords; its attributes are declared with `ask`. It may refuse, with an
            InputError that names one of them, what its fields let pass one by one.
        solve: computes the case, a frozen dataclass without texts; other calculators may use it as well.
        outputs: where in the case each outcome is.
        answers: the rules of the answer, of which the first that applies is told; the last always does.
        findings, working, readings: the rules, in the order in which they are told.
        list_tables, draw_pictures: what is tabulated and drawn of the case.
        described: slug, title, summary, sources, limits, example and cautions, as in Calculator.
    """

    def compute(**values: Any) -> Result:
        solved = solve(form(**values))
        return Result(
            outputs={item.name: _find_cell(solved, item) for item in outputs},
            answer=find_answer(answers, solved),
            working=Late(lambda: list_steps(working, solved)) if working else (),
            findings=find_findings(findings, solved),
            readings=Late(lambda: list_readings(readings, solved)) if readings else (),
            tables=list_tables(solved) if list_tables else (),
            pictures=draw_pictures(solved) if draw_pictures else (),
        )

    return Calculator(inputs=list_fields(form), outputs=outputs, compute=compute, **described)


def _find_cell(solved: object, item: Output) -> Cell:
    value = find_value(solved, item.path or item.name)
    if value is None or isinstance(value, float | int | str):
        return value
    raise LookupError(f"the output “{item.name}” is neither words nor a number")
