"""The kinds of fields that a calculator may have, as frozen data.

Texts become values here and nowhere else, and every refusal is an InputError that names the field.
"""

import difflib
import math
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, fields, replace
from typing import Any, NamedTuple, cast

from calculators.notation.errors import InputError, NotationError
from calculators.notation.gauge import Gauge, read_gauge
from calculators.notation.quantity import check_characters, find_meanings, read_quantity
from calculators.notation.showing import Figure
from calculators.notation.units import KINDS, find_unit

_WHOLE_AND_MORE = re.compile(r"(?P<digits>\d{1,3}(?: \d{3})+|\d+) *(?:[A-Za-z][A-Za-z ]*)?")
_BARE = re.compile(r"[\d.,/+ -]+([eE][+-]?\d+)?")
"""A text that is read as a number in the field's own unit."""

_FIGURE = re.compile(r"[\d.,/+ -]*\d[.,]?\s*(?P<unit>[^\d\s].*)")
"""A text that is one figure and its unit."""

_CONTROL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f]")
"""What has no glyph, and could tell a terminal to do something; tabs and line ends are spaces."""

_CONVERSION = 1e-12
"""Share by which a figure may differ from a limit through the conversion of its unit alone."""


class Unusual(NamedTuple):
    """A figure outside its usual range, and what it is called."""

    label: str
    value: Figure
    low: Figure
    high: Figure


def find_unusual(label: str, value: float, kind: str, usual: tuple[float, float]) -> Sequence[Unusual]:
    """Return what is said of a value in the SI unit of `kind` outside its `usual` range, and nothing else."""
    if usual[0] <= value <= usual[1]:
        return ()
    return (Unusual(label, *(Figure(figure, kind) for figure in (value, *usual))),)


@dataclass(frozen=True, kw_only=True)
class Input[T]:
    """One field: its `label` for people, its `default` as text in the handbook's notation.

    `name` is what code calls it, that of the form's attribute; `unit` what a bare number takes; `help` is
    one sentence beside the field; `section` the heading it is folded under ("" keeps it in sight); an
    `optional` field may be left empty and is then None.
    """

    label: str
    name: str = ""
    default: str = ""
    unit: str = ""
    help: str = ""
    section: str = ""
    optional: bool = False

    def read(self, text: str) -> T | None:
        """Return the value of `text`; raises InputError that names this field."""
        if self.optional and not text.strip():
            return None
        try:
            return self.read_value(text)
        except NotationError as error:
            raise self.refuse(text, str(error)) from None

    def read_value(self, text: str) -> T:
        """Return the value of a text that is not empty; raises NotationError or InputError."""
        raise TypeError(f"{type(self).__name__} does not say how it reads a text")

    def name_given(self, text: str) -> str:
        """Return `text` as it stands among the figures of a result: a bare number with the field's unit."""
        return f"{text.strip()} {self.unit}" if self.unit and _BARE.fullmatch(text.strip()) else text

    def find_unit(self, text: str) -> str:
        """Return the unit of the one figure in `text`, else the field's: a form's bare numbers take it."""
        return self.unit

    def refuse(self, text: str, problem: str) -> InputError:
        """Return the error that says why this field cannot use `text`."""
        return InputError(self.name, problem, given=text, label=self.label)

    def complete(self, error: InputError, text: str) -> InputError:
        """Return the refusal of this text for an error that a calculator has raised."""
        return self.refuse(text, error.problem)

    def list_unusual(self, value: T | None) -> Sequence[Unusual]:
        """Return what of the value is outside a range that is usual."""
        return ()

    def describe_allowed(self) -> str:
        """Return what may be entered, in a few words for help texts and messages."""
        return ""


@dataclass(frozen=True, kw_only=True)
class QuantityInput(Input[float]):
    """A number with a unit, between the hard limits `lowest` and `highest`.

    Limits are in the coherent SI unit. `above` refuses the lowest value itself as well. `usual` is the
    range outside which the result carries a note; nothing at all, where it may be entered, is meant.
    """

    kind: str
    lowest: float = -math.inf
    highest: float = math.inf
    above: bool = False
    usual: tuple[float, float] | None = None

    def read_value(self, text: str) -> float:
        """Return the value in the coherent SI unit; raises NotationError."""
        value = read_quantity(text, self.kind, self.unit)
        # 200 m in feet and 100 mA in microamperes are the limit itself, whatever converting them has left.
        for limit in (self.lowest, self.highest):
            if math.isfinite(limit) and abs(value - limit) <= _CONVERSION * abs(limit):
                value = float(limit)
        if value < self.lowest or value > self.highest or (self.above and value == self.lowest):
            raise NotationError(
                f"“{text.strip()}” is outside what can be computed; allowed: {self.describe_allowed()}"
            )
        return value

    def list_unusual(self, value: float | None) -> Sequence[Unusual]:
        """Return the value if it is outside the usual range."""
        return (
            () if not value or self.usual is None else find_unusual(self.label, value, self.kind, self.usual)
        )

    def find_unit(self, text: str) -> str:
        """Return the symbol of the unit in `text`, where it has one figure, else the field's own."""
        found = _FIGURE.fullmatch(text.strip())
        unit = find_unit(self.kind, found["unit"]) if found else None
        return unit.symbol if unit else self.unit

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
class WholeInput(Input[int]):
    """A whole number between two hard limits."""

    lowest: int
    highest: int

    def read_value(self, text: str) -> int:
        """Return the whole number; raises NotationError."""
        cleaned = check_characters(text)
        readings = find_meanings(cleaned)
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
class ChoiceInput[C: str](Input[C]):
    """One of a few fixed words."""

    options: tuple[C, ...]

    def read_value(self, text: str) -> C:
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
class YesNoInput(Input[bool]):
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
class GaugeInput(Input[Gauge]):
    """A wire size: American wire gauge or mm²; the value is a Gauge. `usual` are cross-sections in m²."""

    unit: str = "AWG"
    usual: tuple[float, float] = (0.05e-6, 16e-6)

    def read_value(self, text: str) -> Gauge:
        """Return the Gauge; raises NotationError."""
        return read_gauge(text)

    def list_unusual(self, value: Gauge | None) -> Sequence[Unusual]:
        """Return the cross-section if it is outside the usual range."""
        return () if value is None else find_unusual(self.label, value.area, "area", self.usual)

    def find_unit(self, text: str) -> str:
        """Return what the size in `text` is counted in."""
        return read_gauge(text).label.split()[-1] if text.strip() else self.unit

    def describe_allowed(self) -> str:
        """Return the two notations."""
        return "a size such as 22 AWG or 0.5 mm2"


@dataclass(frozen=True, kw_only=True)
class TextInput[T](Input[T]):
    """A text with a notation of its own, read by `reader`, which raises NotationError for a wrong one.

    `form` names the notation for help texts. `longest` characters are accepted.
    """

    reader: Callable[[str], T]
    form: str
    longest: int = 400

    def read_value(self, text: str) -> T:
        """Return what the reader makes of the text; raises NotationError."""
        if len(text) > self.longest:
            raise NotationError(f"this is {len(text)} characters long; allowed: at most {self.longest}")
        if not text.strip():
            raise NotationError(f"nothing is entered; give {self.form}")
        if control := _CONTROL.search(text):
            raise NotationError(
                f"character {control.start() + 1} is the control character U+{ord(control[0]):04X}, which "
                "cannot be seen; delete it"
            )
        return self.reader(text.strip())

    def describe_allowed(self) -> str:
        """Return the notation's name."""
        return self.form


def ask[T](wanted: Input[T]) -> T:
    """Declare an attribute of a form, a frozen dataclass of keywords: it holds what this field reads."""
    return cast(T, field(metadata={"input": wanted}))


def ask_or_none[T](wanted: Input[T]) -> T | None:
    """Declare one that may be left empty, and is then None."""
    return cast(T, field(metadata={"input": replace(wanted, optional=True)}))


def list_fields(form: Any) -> tuple[Input[Any], ...]:
    """Return the fields of a form, in their order, each with the name of its attribute."""
    return tuple(replace(asked.metadata["input"], name=asked.name) for asked in fields(form))
