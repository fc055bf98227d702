"""What a calculator declares: its inputs, its outputs and itself, as frozen data.

The page's form, the terminal's help, the Markdown fence and the JSON all read the same record. Texts
become values here and nowhere else, and every refusal is an InputError that names the field.
"""

import difflib
import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Any

from calculators.vocabulary.errors import InputError, InputErrors, NotationError
from calculators.vocabulary.gauge import read_gauge
from calculators.vocabulary.quantity import check_characters, find_readings, read_quantity
from calculators.vocabulary.result import Result, Source
from calculators.vocabulary.showing import Figure
from calculators.vocabulary.units import KINDS, find_unit, list_units

_NAME = re.compile(r"[a-z][a-z0-9_]*")
_SLUG = re.compile(r"[a-z]+(-[a-z]+)*")
_WHOLE_AND_MORE = re.compile(r"(?P<digits>\d{1,3}(?: \d{3})+|\d+) *(?:[A-Za-z][A-Za-z ]*)?")
_BARE = re.compile(r"[\d.,/+ -]+([eE][+-]?\d+)?")
"""A text that is read as a number in the field's own unit."""

ENDLESS = "with this figure the sums do not end in a number; give one that is more usual"
"""What is said where limits and checks of a calculator have let through what it cannot compute."""

_DUST = 1e-12
"""Share by which a figure may differ from a limit through rounding alone."""


@dataclass(frozen=True, kw_only=True)
class Input:
    """One field: its `name` in code, `label` for people, `default` as text in the handbook's notation.

    `help` is one sentence beside the field; `section` the heading it is folded under ("" keeps it in
    sight); an `optional` field may be left empty and is then None.
    """

    name: str
    label: str
    default: str = ""
    help: str = ""
    section: str = ""
    optional: bool = False

    def read(self, text: str) -> object:
        """Return the value of `text`; raises InputError that names this field."""
        if self.optional and not text.strip():
            return None
        try:
            return self.read_value(text)
        except NotationError as error:
            raise self.refuse(text, str(error)) from None

    def read_value(self, text: str) -> object:
        """Return the value of a text that is not empty; raises NotationError or InputError."""
        raise TypeError(f"{type(self).__name__} does not say how it reads a text")

    def name_given(self, text: str) -> str:
        """Return `text` as it stands among the figures of a result, where its field is not beside it."""
        return text

    def refuse(self, text: str, problem: str) -> InputError:
        """Return the error that says why this field cannot use `text`."""
        return InputError(self.name, problem, given=text, label=self.label)

    def describe_allowed(self) -> str:
        """Return what may be entered, in a few words for help texts and messages."""
        return ""


@dataclass(frozen=True, kw_only=True)
class QuantityInput(Input):
    """A number with a unit. `unit` is what a bare number takes; `lowest` and `highest` are hard limits.

    Limits are in the coherent SI unit. `above` refuses the lowest value itself as well. `usual` is the
    range outside which the result carries a note.
    """

    kind: str
    unit: str
    lowest: float = -math.inf
    highest: float = math.inf
    above: bool = False
    usual: tuple[float, float] | None = None

    def read_value(self, text: str) -> float:
        """Return the value in the coherent SI unit; raises NotationError."""
        value = read_quantity(text, self.kind, self.unit)
        # 200 m in feet and 100 mA in microamperes are the limit itself, whatever converting them has left.
        for limit in (self.lowest, self.highest):
            if math.isfinite(limit) and abs(value - limit) <= _DUST * abs(limit):
                value = limit
        if value < self.lowest or value > self.highest or (self.above and value == self.lowest):
            raise NotationError(
                f"“{text.strip()}” is outside what can be computed; allowed: {self.describe_allowed()}"
            )
        return value

    def name_given(self, text: str) -> str:
        """Return `text`, a bare number with the field's own unit."""
        return f"{text.strip()} {self.unit}" if self.unit and _BARE.fullmatch(text.strip()) else text

    def describe_allowed(self) -> str:
        """Return the hard limits in words."""
        low = "" if self.lowest == -math.inf else Figure(self.lowest, self.kind, 6).write()
        high = "" if self.highest == math.inf else Figure(self.highest, self.kind, 6).write()
        if low and self.above:
            return f"more than {low}" + (f", at most {high}" if high else "")
        if low and high:
            return f"{low} to {high}"
        return (
            f"at least {low}"
            if low
            else f"at most {high}"
            if high
            else f"{KINDS[self.kind].name} in {self.unit}"
        )


@dataclass(frozen=True, kw_only=True)
class WholeInput(Input):
    """A whole number between two hard limits."""

    lowest: int
    highest: int

    def read_value(self, text: str) -> int:
        """Return the whole number; raises NotationError."""
        cleaned = check_characters(text)
        readings = find_readings(cleaned)
        if readings is not None:
            whole, broken = readings
            raise NotationError(
                f"“{cleaned}” can mean {whole} or {broken}, and a whole number is asked for; write {whole} "
                "if that is meant"
            )
        if not re.fullmatch(r"[+-]?\d+", cleaned):
            longer = _WHOLE_AND_MORE.fullmatch(cleaned)
            if longer is not None:
                digits = longer["digits"].replace(" ", "")
                raise NotationError(f"write {digits}, the digits alone and together; “{cleaned}” is not read")
            raise NotationError(f"“{cleaned}” is not a whole number; allowed: {self.describe_allowed()}")
        value = int(cleaned)
        if not self.lowest <= value <= self.highest:
            raise NotationError(
                f"“{cleaned}” is outside what can be computed; allowed: {self.describe_allowed()}"
            )
        return value

    def describe_allowed(self) -> str:
        """Return the limits in words."""
        return f"a whole number from {self.lowest} to {self.highest}"


@dataclass(frozen=True, kw_only=True)
class ChoiceInput(Input):
    """One of a few fixed words."""

    options: tuple[str, ...]

    def read_value(self, text: str) -> str:
        """Return the option as declared; capitals do not matter. Raises NotationError."""
        wanted = " ".join(check_characters(text).lower().split())
        for option in self.options:
            if option.lower() == wanted:
                return option
        near = difflib.get_close_matches(wanted, self.options, 1)
        hint = f"did you mean “{near[0]}”? " if near else ""
        raise NotationError(
            f"“{text.strip()}” is not one of the choices; {hint}allowed: {self.describe_allowed()}"
        )

    def describe_allowed(self) -> str:
        """Return the options in words."""
        return ", ".join(self.options)


@dataclass(frozen=True, kw_only=True)
class YesNoInput(Input):
    """A yes or a no."""

    def read_value(self, text: str) -> bool:
        """Return True for yes and False for no; raises NotationError."""
        word = check_characters(text).lower()
        if word in ("yes", "y", "true", "on", "1"):
            return True
        if word in ("no", "n", "false", "off", "0"):
            return False
        raise NotationError(f"“{text.strip()}” is neither yes nor no; write yes or no")

    def describe_allowed(self) -> str:
        """Return the two words."""
        return "yes, no"


@dataclass(frozen=True, kw_only=True)
class GaugeInput(Input):
    """A wire size: American wire gauge or mm²; the value is a Gauge."""

    def read_value(self, text: str) -> object:
        """Return the Gauge; raises NotationError."""
        return read_gauge(text)

    def describe_allowed(self) -> str:
        """Return the two notations."""
        return "a size such as 22 AWG or 0.5 mm2"


@dataclass(frozen=True, kw_only=True)
class TextInput(Input):
    """A text with a notation of its own, read by `reader`, which raises NotationError for a wrong one.

    `form` names the notation for help texts. `longest` characters are accepted.
    """

    reader: Callable[[str], object]
    form: str
    longest: int = 400

    def read_value(self, text: str) -> object:
        """Return what the reader makes of the text; raises NotationError."""
        if len(text) > self.longest:
            raise NotationError(f"this is {len(text)} characters long; allowed: at most {self.longest}")
        if not text.strip():
            raise NotationError(f"nothing is entered; give {self.form}")
        return self.reader(text.strip())

    def describe_allowed(self) -> str:
        """Return the notation's name."""
        return self.form


@dataclass(frozen=True, kw_only=True)
class Output:
    """One outcome: `name` in JSON, `label` for people, `kind` ("text" for words), `figures` shown.

    `main` outcomes are shown large at the top of the result. An `exact` one is a standard size or what was
    entered, such as a 5 A fuse: no noughts are written after it.
    """

    name: str
    label: str
    kind: str
    figures: int = 3
    exact: bool = False
    main: bool = False


@dataclass(frozen=True, kw_only=True, eq=False)
class Calculator:
    """One calculator, as registered in `calculators.SLUGS`.

    `compute` is pure: it takes the inputs' values by name and returns a Result whose `outputs` has
    exactly the declared names. `example` is the worked example of the page, as field texts.
    """

    slug: str
    title: str
    summary: str
    inputs: tuple[Input, ...]
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
        for field in self.inputs:
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
    def fields(self) -> Mapping[str, Input]:
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
        errors = [self._refuse_unknown(name, text) for name, text in texts.items() if name not in self.fields]
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
                raise InputErrors([item.refuse(text, error.problem)]) from None
            except (ArithmeticError, ValueError) as error:
                raise self._refuse_endless(texts, values) from error

        notes = [
            (item.label, Figure(value, item.kind), Figure(low, item.kind), Figure(high, item.kind))
            for item, value, (low, high) in self._find_unusual(values)
        ]
        result: Result = guard(lambda: self.compute(**values))
        return result.complete(notes, guard)

    def _refuse_endless(self, texts: Mapping[str, str], values: Mapping[str, object]) -> InputErrors:
        """Return the refusal of figures from which no result of finite numbers comes.

        Fields outside their usual range are named; where there is none, all that are not at their default.
        """
        unusual: list[Input] = [item for item, _, _ in self._find_unusual(values)]
        suspects = unusual or [self.fields[name] for name in texts] or [self.inputs[0]]
        return InputErrors(item.refuse(texts.get(item.name, item.default), ENDLESS) for item in suspects)

    def _refuse_unknown(self, name: str, text: str) -> InputError:
        near = difflib.get_close_matches(name, self.fields, 1)
        hint = f"did you mean “{near[0]}”? " if near else ""
        allowed = ", ".join(self.fields)
        return InputError(
            name, f"{self.slug} has no field of this name; {hint}allowed: {allowed}", given=text
        )

    def _find_unusual(
        self, values: Mapping[str, object]
    ) -> list[tuple[QuantityInput, float, tuple[float, float]]]:
        unusual = []
        for item in self.inputs:
            value = values[item.name]
            if isinstance(item, QuantityInput) and item.usual and isinstance(value, float):
                low, high = item.usual
                if not low <= value <= high:
                    unusual.append((item, value, item.usual))
        return unusual
